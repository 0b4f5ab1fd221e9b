// What the columns, words and places of a table mean: proposed by the service, corrected, kept.

import { problemOf, save } from "./portfolio-service.js";
import { line } from "./portfolio-table.js";

const find = (id) => document.querySelector(`#${id}`);
const YEAR = "Ages are counted to the year";
const PARTS = { column: "columns", place: "places", default: "defaults" };
let mapping = null;
let at = null; // the entry in which the typist is, whose line is drawn anew

// A word stands under its column: "use: Storage".
function put({ part, said }, means) {
  if (part === "year") { mapping.year = Number(means) || mapping.year; return; }
  if (part !== "word") { mapping[PARTS[part]][said] = means; return; }
  const at = said.indexOf(": ");
  (mapping.values[said.slice(0, at)] ??= {})[said.slice(at + 2)] = means;
}

function drawn(entry) {
  const row = line([entry.part, entry.said, "", entry.rows || "", entry.note]);
  if (entry.part === "line") return row;
  const input = document.createElement("input");
  Object.assign(input, { type: "text", value: entry.means });
  input.setAttribute("aria-label", `${entry.said} means`);
  if (entry.part === "column") input.setAttribute("list", "meanings");
  input.addEventListener("change", () => {
    put(entry, input.value.trim());
    used();
    if (["column", "place"].includes(entry.part)) again();
  });
  row.cells[2].replaceChildren(input);
  return row;
}

const ask = { form: null, warn: null };

// A column that means something else has other words, and other rows without a value.
async function again() {
  await propose(ask.form, ask.warn, false);
  find("mapping-rows").querySelector(`[aria-label="${CSS.escape(at || "")}"]`)?.focus();
}

const used = () => { find("mapping-text").value = JSON.stringify(mapping); };

export function forget() {
  mapping = null;
  find("mapping-text").value = "";
  find("mapping").hidden = true;
}

// Without a mapping of its own the table's most likely one comes back; nothing where another table
// was chosen before it came.
export async function propose(form, warn, first = true) {
  const button = find("propose");
  const [table] = form.elements.file.files;
  button.disabled = true;
  find("mapping-read").textContent = "Reading the table …";
  const query = new URLSearchParams({ show: "mapping", units: form.elements.units.value, decimal: form.elements.decimal.value });
  if (first) { find("mapping").hidden = false; find("mapping-title").focus(); }
  const body = new FormData(form);
  for (const name of [...body.keys()]) if (name !== "file" && name !== "mapping") body.delete(name);
  const response = await fetch(`${form.dataset.service}?${query}`, { method: "POST", body })
    .finally(() => { button.disabled = false; find("mapping-read").textContent = ""; });
  if (form.elements.file.files[0] !== table) return undefined;
  if (!response.ok) { find("mapping").hidden = !mapping; warn((await problemOf(response)).words); return null; }
  warn("");
  const found = await response.json();
  if (form.elements.file.files[0] !== table) return undefined;
  mapping = found.mapping;
  used();
  at = document.activeElement?.getAttribute("aria-label");
  find("mapping-read").textContent = `Read as ${found.read_as}.`;
  const year = { part: "year", said: YEAR, means: mapping.year, note: "a year of laying becomes an age" };
  find("mapping-rows").replaceChildren(...[year, ...found.report].map(drawn));
  return found;
}

export function start(form, warn) {
  Object.assign(ask, { form, warn });
  find("propose").addEventListener("click", () => propose(form, warn));
  find("mapping-save").addEventListener("click", () => {
    const text = new Blob([JSON.stringify(mapping, null, 1)], { type: "application/json" });
    save({ blob: async () => text }, "mapping.json");
  });
  find("mapping-file").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    if (!file) return;
    find("mapping-text").value = await file.text();
    await propose(form, warn);
    if (mapping && mapping.year !== new Date().getFullYear()) warn(`The mapping counts ages to ${mapping.year}. For a table of another year type that year in the first line.`);
  });
}
