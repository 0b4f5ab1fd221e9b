// The cases of this visit, to go back to and forth between.

export class History {
  constructor(root, open) {
    this.cases = []; // as texts
    this.at = -1;
    this.open = open;
    root.addEventListener("click", (event) => {
      if (event.target.closest("[data-undo]")) this.go(-1);
      if (event.target.closest("[data-redo]")) this.go(1);
    });
  }

  add(text) {
    if (this.cases[this.at] === text) return;
    this.cases.splice(this.at + 1, Infinity, text);
    this.cases = this.cases.slice(-50);
    this.at = this.cases.length - 1;
    this.show();
  }

  async go(by) {
    if (!this.cases[this.at + by]) return;
    this.at += by;
    await this.open(this.cases[this.at]);
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
