// The one thing on the proposal that needs a script: a button that opens the print dialogue.

const button = document.querySelector("[data-print]");
button.hidden = false;
button.addEventListener("click", () => window.print());
