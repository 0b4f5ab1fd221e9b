// What is wrong, said beside the entries and, while a slider moves, beneath it, where the eye is.

function say(text, place) {
  const told = document.createElement("p");
  Object.assign(told, { className: "fault", textContent: text });
  place.append(told);
  return told;
}

// Without moving the focus while somebody types. What is closed is opened for a fault, but not
// while a slider moves, which would run away from under the finger.
export function mark(form, faults, slider) {
  for (const old of document.querySelectorAll(".fault")) old.remove();
  for (const old of form.querySelectorAll(".faulty")) old.classList.remove("faulty");
  for (const old of form.querySelectorAll("[aria-invalid]")) old.removeAttribute("aria-invalid");
  for (const [path, text] of Object.entries(faults)) {
    const entry = form.elements.namedItem(path);
    const control = entry instanceof RadioNodeList ? entry[entry.length - 1] : entry;
    const field = control?.closest(".field");
    if (!field) continue;
    const id = `${control.id}-fault`;
    say(text, field).id = id;
    for (let one = field; !slider && one; one = one.parentElement.closest("details")) one.open = true;
    field.classList.add("faulty");
    control.setAttribute("aria-invalid", "true");
    const known = (control.getAttribute("aria-describedby") || "").split(" ").filter(Boolean);
    control.setAttribute("aria-describedby", [...new Set([...known, id])].join(" "));
  }
  const all = Object.values(faults).join(" ");
  if (slider && all) say(all, slider.closest(".slider"));
}
