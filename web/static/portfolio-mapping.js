// What the columns, words and places of a table mean: proposed by the service, corrected, kept.

import { problemOf, save } from "./portfolio-service.js";
import { line } from "./portfolio-table.js";

const find = (id) => document.querySelector(`#${id}`);
const PARTS = { column: "columns", place: "places", default: "defaults" };
let mapping = null;

// A word stands under its column: "use: Storage".
function put({ part, said }, means) {
  if (part !== "word") { mapping[PARTS[part]][said] = means; return; }
  const at = said.indexOf(": ");
  (mapping.values[said.slice(0, at)] ??= {})[said.slice(at + 2)] = means;
}

function drawn(entry) {
  const row = line([entry.part, entry.said, "", entry.rows || "", entry.note]);
  const input = document.createElement("input");
  Object.assign(input, { type: "text", value: entry.means });
  input.setAttribute("aria-label", `${entry.said} means`);
  input.addEventListener("change", () => { put(entry, input.value.trim()); used(); });
  row.cells[2].replaceChildren(input);
  return row;
}

const used = () => { find("mapping-text").value = JSON.stringify(mapping); };

export function forget() {
  mapping = null;
  find("mapping-text").value = "";
  find("mapping").hidden = true;
}

// Without a mapping of its own the table's most likely one comes back.
export async function propose(form, warn) {
  const query = new URLSearchParams({ show: "mapping", units: form.elements.units.value, decimal: form.elements.decimal.value });
  const response = await fetch(`${form.dataset.service}?${query}`, { method: "POST", body: new FormData(form) });
  if (!response.ok) { warn((await problemOf(response)).words); return; }
  const found = await response.json();
  mapping = found.mapping;
  used();
  find("mapping").hidden = false;
  find("mapping-rows").replaceChildren(...found.report.map(drawn));
  find("mapping-title").focus();
}

export function start(form, warn) {
  find("propose").addEventListener("click", () => propose(form, warn));
  find("mapping-save").addEventListener("click", () => {
    const text = new Blob([JSON.stringify(mapping, null, 1)], { type: "application/json" });
    save({ blob: async () => text }, "mapping.json");
  });
  find("mapping-file").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    if (!file) return;
    find("mapping-text").value = await file.text();
    propose(form, warn);
  });
}
