// The sliders of "What if": each moves one entry of the form, and follows it.

const starts = new Map(); // the value of each entry before its slider first moved
export const forget = () => starts.clear();

let last = null; // the slider that was moved last
export const moved = () => last;

const line = (slider) => slider.closest(".slider");

// A value as people say it, without its unit; `said` of sliders.py follows the same rule.
function asSaid(value, unit) {
  if (!Number.isFinite(+value)) return value;
  const size = Math.abs(value);
  const said = Number(value).toFixed(size >= 100 || unit === "mm" ? 0 : size >= 1 ? 2 : 3);
  return unit.startsWith("$") ? `$${said}` : `${Number(said)}`;
}

function say(slider, value) {
  const { unit } = slider.dataset;
  const said = asSaid(value, unit);
  line(slider).querySelector("output b").textContent = said;
  slider.setAttribute("aria-valuetext", said.startsWith("$") ? said + unit.slice(1) : `${said} ${unit}`.trim());
}

// Put a slider's value into its entry; whether there was one.
export function move(slider) {
  const entry = document.getElementById(slider.dataset.entry);
  if (!entry) return false;
  last = slider;
  if (!starts.has(entry.id)) starts.set(entry.id, entry.value);
  const kind = entry.parentElement.querySelector("[data-usual]");
  if (kind && !entry.value) kind.value = kind.dataset.usual; // it moves on from the usual figure
  entry.value = slider.value;
  say(slider, slider.value);
  return true;
}

// Put an entry back to where it was before its slider moved.
export function reset(button) {
  const slider = document.getElementById(button.dataset.reset);
  const entry = document.getElementById(slider.dataset.entry);
  if (!entry) return false;
  entry.value = starts.get(entry.id);
  starts.delete(entry.id);
  slider.focus();
  return true;
}

// Put every slider where its entry is.
export function follow(root) {
  for (const slider of root.querySelectorAll("[data-entry]")) {
    const entry = document.getElementById(slider.dataset.entry);
    const value = entry && (entry.value || entry.placeholder);
    if (value && slider !== document.activeElement) slider.value = value;
    if (value) say(slider, value);
    document.querySelector(`[data-reset="${slider.id}"]`).hidden = !starts.has(slider.dataset.entry);
  }
}

// Take over range and unit of new sliders. Not while one moves: the range would move along.
export function range(fresh) {
  for (const slider of fresh.querySelectorAll("[data-entry]")) {
    const old = document.getElementById(slider.id);
    for (const name of ["min", "max", "step", "data-unit"]) old.setAttribute(name, slider.getAttribute(name));
    old.value = slider.value;
    line(old).querySelector("output").replaceChildren(...line(slider).querySelector("output").childNodes);
  }
}
