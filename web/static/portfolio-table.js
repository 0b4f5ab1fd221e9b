// The table of every roof: sorted by a title, filtered by a text, a page of rows at a time.

const find = (id) => document.querySelector(`#${id}`);
const PAGE = 200; // rows shown at a time
const head = find("ranking").tHead.rows[0];
const names = [...head.cells].map((one) => one.dataset.name);
const titles = [...head.cells].map((one) => one.textContent);
let results = [];
let sorted = { name: "rank", down: false };
let shown = PAGE;
let set = null; // what the manager says of roofs by row: must-do, must-not or neither; null while none can be set
// The years of the plan by which a roof can be set to be done.
const BY = Array.from({ length: 10 }, (_, year) => [`must-do-by-${year}`, `must do by year ${year} of the plan`]);
const LATER = Array.from({ length: 9 }, (_, year) => [`not-before-${year + 1}`, `not before year ${year + 1} of the plan`]);
let follow = () => {};

export const all = () => results;

// Once a run has ended its roofs can be set to be done, or not; then the plan follows.
export function bind(musts) { set = musts; draw(); }
export function bound(ask) { follow = ask; }
export const musts = () => Object.entries(set || {}).map(([building, must]) => ({ building: Number(building), must }));

export function take(rows) {
  results = rows;
  draw();
}

export function clear() {
  shown = PAGE;
  set = null;
  take([]);
}

export function line(cells) {
  const row = document.createElement("tr");
  for (const text of cells) row.insertCell().textContent = text;
  return row;
}

// What needs no extra investment has no ratio and no payback, and yet is better than any.
const NOTE = { savings_to_investment: "savings_to_investment_note", discounted_payback: "payback_note" };
function figure(row, name) {
  const value = row[name] ?? null;
  if (value !== null || !NOTE[name]) return value;
  const free = row.net_savings > 0 && row[NOTE[name]] && !row[NOTE[name]].startsWith("never");
  if (!free) return null;
  return name === "discounted_payback" ? -Infinity : Infinity;
}

function order(one, other) {
  const a = figure(one, sorted.name);
  const b = figure(other, sorted.name);
  if (a === b) return one.building - other.building;
  if (a === null) return 1;
  if (b === null) return -1;
  const way = typeof a === "string" ? a.localeCompare(b) : a < b ? -1 : 1;
  return sorted.down ? -way : way;
}

// Every result in the order of the table, whatever the filter shows of it.
export const inOrder = () => [...results].sort(order);

function kept() {
  const wanted = find("filter").value.trim().toLowerCase();
  const rows = inOrder();
  return wanted ? rows.filter((row) => row.cells.join(" ").toLowerCase().includes(wanted)) : rows;
}

export function draw() {
  const rows = kept();
  find("rows").hidden = !results.length;
  find("filter-row").hidden = false;
  for (const one of document.querySelectorAll("[data-download]")) one.hidden = !results.length;
  const cut = rows.length < results.length ? `; downloads hold all ${results.length}` : "";
  find("count").textContent = `${rows.length} of ${results.length} lines${cut}`;
  find("more").hidden = rows.length <= shown;
  find("ranking").tBodies[0].replaceChildren(...rows.slice(0, shown).map(drawn));
  for (const one of head.cells) {
    const on = one.dataset.name === sorted.name;
    if (on) one.setAttribute("aria-sort", sorted.down ? "descending" : "ascending");
    else one.removeAttribute("aria-sort");
  }
}

function choice(result) {
  const select = document.createElement("select");
  select.setAttribute("aria-label", `${result.name}: must or must not`);
  for (const [value, words] of [["neither", "–"], ["must-do", "must do"], ["must-not", "must not"], ...BY, ...LATER]) select.add(new Option(words, value));
  select.value = set[result.building] ?? result.must ?? "neither";
  select.addEventListener("change", () => { set[result.building] = select.value; draw(); follow(); });
  return select;
}

function drawn(result) {
  const row = line(result.cells);
  names.forEach((name, at) => Object.assign(row.cells[at].dataset, { of: name, head: titles[at] }));
  const name = row.cells[names.indexOf("name")];
  const button = document.createElement("button");
  Object.assign(button, { type: "button", className: "open-roof", textContent: name.textContent });
  button.dataset.building = result.building;
  button.title = "Open as a case";
  name.replaceChildren(button);
  if (set) row.cells[names.indexOf("must")].replaceChildren(choice(result));
  if (result.problem) row.cells[names.indexOf("alternative")].textContent = result.problem;
  return row;
}

for (const one of head.cells) {
  const button = document.createElement("button");
  Object.assign(button, { type: "button", textContent: one.textContent });
  one.replaceChildren(button);
  button.addEventListener("click", () => {
    const name = one.dataset.name;
    const up = ["rank", "name", "alternative", "must", "climate", "discounted_payback"].includes(name);
    sorted = { name, down: sorted.name === name ? !sorted.down : !up };
    draw();
  });
}
find("filter").addEventListener("input", () => { shown = PAGE; draw(); });
find("more").addEventListener("click", () => { shown += PAGE; draw(); });
