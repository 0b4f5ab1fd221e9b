// The cases of this visit, to go back to and forth between.

export class History {
  constructor(root, open) {
    this.cases = []; // each as text, and what opens it: the case or the form that asks for it
    this.at = -1;
    this.typing = false; // letters that no answer has taken in
    this.open = open;
    root.addEventListener("click", (event) => {
      if (event.target.closest("[data-undo]")) this.go(-1);
      if (event.target.closest("[data-redo]")) this.go(1);
    });
    root.addEventListener("focusin", () => { this.typing = false; });
    root.addEventListener("input", (event) => { this.typing = event.target.matches("textarea, input:not([type=range])"); });
    root.addEventListener("change", () => { this.typing = false; });
    root.addEventListener("keydown", (event) => {
      const key = event.key.toLowerCase();
      const back = key === "z" && !event.shiftKey;
      if (!(event.ctrlKey || event.metaKey) || event.altKey || !(back || key === "y" || key === "z")) return;
      if (this.typing) return; // the browser takes back letters that are being typed
      event.preventDefault();
      this.go(back ? -1 : 1);
    });
  }

  add(text, opens) {
    if (this.cases[this.at]?.text === text) { this.cases[this.at].opens = opens; return; }
    this.cases.splice(this.at + 1, Infinity, { text, opens });
    this.cases = this.cases.slice(-50);
    this.at = this.cases.length - 1;
    this.show();
  }

  async go(by) {
    if (!this.cases[this.at + by]) return;
    this.at += by;
    await this.open(this.cases[this.at].opens);
    this.show();
  }

  show() {
    for (const [name, by] of [["undo", -1], ["redo", 1]]) {
      for (const one of document.querySelectorAll(`.history [data-${name}]`)) {
        one.disabled = !this.cases[this.at + by];
      }
    }
  }
}
