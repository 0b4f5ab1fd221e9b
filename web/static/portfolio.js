// The page of a portfolio, made live: rows as they are computed, sorting, a building opened.
// Without it the form is sent and the answer comes whole.

import { LiveCharts } from "./live.js";
import * as keep from "./keep.js";

const find = (id) => document.querySelector(`#${id}`);
const form = find("roofs");
const answer = find("answer");
const titles = JSON.parse(form.dataset.titles);
const charts = new LiveCharts(answer, form.dataset.live);
const PAGE = 200; // rows shown at a time
let results = []; // every row so far
let sorted = { name: "net_savings", down: true };
let shownRows = PAGE;
let sent = null; // the form as it was sent, to ask more of the same table
let running = null;
let liveStarted = false;

const tell = (text) => { find("status").textContent = text; };
function warn(text) {
  const notice = find("notice");
  notice.hidden = !text;
  notice.textContent = text;
  notice.style.whiteSpace = "pre-line";
  if (text) notice.focus();
}

async function problemOf(response) {
  const problem = await response.json().catch(() => ({ detail: "The service did not answer." }));
  const lines = (problem.errors || []).map((error) => error.detail);
  const wait = response.headers.get("Retry-After");
  return [problem.detail, ...lines, ...(wait ? [`Try again in ${wait} seconds.`] : [])].join("\n");
}

async function* linesOf(response) {
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) break;
    const parts = (rest + value).split("\n");
    rest = parts.pop();
    for (const part of parts) if (part) yield JSON.parse(part);
  }
}

function cleared() {
  results = [];
  shownRows = PAGE;
  warn("");
  for (const id of ["faults", "rows"]) find(id).hidden = true;
  for (const one of document.querySelectorAll("[data-download]")) one.hidden = true;
  find("progress").hidden = false;
  find("bar").value = 0;
  find("progress-words").textContent = "Reading the table …";
}

async function run() {
  running?.abort();
  const stop = (running = new AbortController());
  sent = new FormData(form);
  cleared();
  find("stop").hidden = false;
  try {
    const response = await fetch(form.dataset.run, { method: "POST", body: sent, signal: stop.signal });
    if (!response.ok) { find("progress").hidden = true; warn(await problemOf(response)); return; }
    await follow(response);
  } catch (error) {
    if (error.name === "AbortError") stopped(stop);
    else warn(`The answer broke off: ${error.message}`);
  } finally {
    if (running === stop) find("stop").hidden = true;
    if (results.length) draw();
  }
}

function stopped(stop) {
  if (running !== stop) return;
  const words = `Stopped after ${results.length} results; they stand below.`;
  find("progress-words").textContent = words;
  tell(words);
}

async function follow(response) {
  let begun = 0;
  let drawn = 0;
  for await (const event of linesOf(response)) {
    if (event.event === "start") { begun = performance.now(); started(event); }
    if (event.event === "result") results.push(event);
    if (event.event === "progress") progressed(event, performance.now() - begun);
    if (event.event === "ranked") { results = event.results; draw(); }
    if (event.event === "view") view(event);
    if (event.event === "problem") { warn(event.detail); return; }
    if (event.event === "end") ended();
    if (results.length && performance.now() - drawn > 400) { drawn = performance.now(); draw(); }
  }
}

function started(event) {
  find("progress-words").textContent = `Read as ${event.read_as}: ${event.good} of ${event.rows} rows can be computed.`;
  find("faults").hidden = !event.bad;
  if (!event.bad) return;
  const more = event.faults_total > event.faults.length ? ` The first ${event.faults.length} of ${event.faults_total} faults are listed.` : "";
  find("faults-words").textContent = `${event.bad} of ${event.rows} rows; the others are computed.${more}`;
  find("bad-rows").hidden = false;
  find("fault-rows").replaceChildren(...event.faults.map((fault) => {
    const place = fault.letter ? `${fault.column} (${fault.letter})` : fault.column;
    return line([fault.line || fault.record, place, fault.value, fault.rule]);
  }));
}

function line(cells) {
  const row = document.createElement("tr");
  for (const text of cells) row.insertCell().textContent = text;
  return row;
}

function progressed({ done, of }, elapsed) {
  find("bar").max = of || 1;
  find("bar").value = done;
  const left = Math.ceil((elapsed / done) * (of - done) / 1000);
  const time = left < 90 ? `${left} seconds` : `${Math.ceil(left / 60)} minutes`;
  find("progress-words").textContent = done < of ? `${done} of ${of} roofs; about ${time} left.` : `${of} roofs computed.`;
}

function view(event) {
  const fresh = new DOMParser().parseFromString(event.html, "text/html").body;
  const names = (root) => [...root.querySelectorAll("[data-region], [data-chart]")]
    .map((one) => one.dataset.region || one.dataset.chart).join("|");
  if (names(fresh) !== names(answer)) {
    charts.clear();
    answer.replaceChildren(...fresh.childNodes);
  } else {
    for (const region of fresh.querySelectorAll("[data-region]")) {
      const old = answer.querySelector(`[data-region="${region.dataset.region}"]`);
      if (old.innerHTML !== region.innerHTML) old.replaceChildren(...region.childNodes);
    }
  }
  charts.update(event.charts);
  if (!liveStarted) { liveStarted = true; charts.start(); }
}

function ended() {
  find("stop").hidden = true;
  tell(`Done. ${find("headline").textContent}`);
}

// The table: sorted by a title, filtered by a text, a page of rows at a time.
function order(one, other) {
  const a = one[sorted.name];
  const b = other[sorted.name];
  if (a === b) return one.building - other.building;
  if (a === null || a === undefined) return 1;
  if (b === null || b === undefined) return -1;
  const way = typeof a === "string" ? a.localeCompare(b) : a - b;
  return sorted.down ? -way : way;
}

function kept() {
  const wanted = find("filter").value.trim().toLowerCase();
  const found = wanted ? results.filter((row) => row.cells.join(" ").toLowerCase().includes(wanted)) : [...results];
  return found.sort(order);
}

function draw() {
  const rows = kept();
  find("rows").hidden = !results.length;
  find("filter-row").hidden = false;
  for (const one of document.querySelectorAll("[data-download]")) one.hidden = !results.length;
  find("count").textContent = `${rows.length} of ${results.length} lines`;
  find("more").hidden = rows.length <= shownRows;
  find("ranking").tBodies[0].replaceChildren(...rows.slice(0, shownRows).map(drawnRow));
  for (const head of find("ranking").tHead.rows[0].cells) {
    const on = head.dataset.name === sorted.name;
    if (on) head.setAttribute("aria-sort", sorted.down ? "descending" : "ascending");
    else head.removeAttribute("aria-sort");
  }
}

function drawnRow(result) {
  const row = line(result.cells);
  const name = row.cells[titles.findIndex((one) => one.name === "name")];
  const button = document.createElement("button");
  Object.assign(button, { type: "button", className: "open-roof", textContent: name.textContent });
  button.dataset.building = result.building;
  button.title = result.problem || `Open as a case. Left to defaults: ${result.defaults || "nothing"}`;
  name.replaceChildren(button);
  if (result.problem) row.cells[row.cells.length - 1].textContent = result.problem;
  return row;
}

for (const head of find("ranking").tHead.rows[0].cells) {
  const button = document.createElement("button");
  Object.assign(button, { type: "button", textContent: head.textContent });
  head.replaceChildren(button);
  button.addEventListener("click", () => {
    const name = head.dataset.name;
    sorted = { name, down: sorted.name === name ? !sorted.down : name !== "rank" && name !== "name" };
    draw();
  });
}

// Ask the service more about the same table.
async function asked(show, more = {}) {
  const query = new URLSearchParams({ show, ...more });
  for (const name of ["units", "decimal", "unknown_columns"]) query.set(name, sent.get(name));
  const response = await fetch(`${form.dataset.service}?${query}`, { method: "POST", body: sent });
  if (!response.ok) throw new Error(await problemOf(response));
  return response;
}

async function open(building) {
  const tab = window.open("", "_blank"); // at once, or the browser takes it for an advertisement
  try {
    const document_ = await (await asked("case", { building })).json();
    const { link, why } = await keep.link(document_);
    if (!link) throw new Error(why);
    tab.location = `${form.dataset.case}${link.slice(link.indexOf("#"))}`;
  } catch (error) { tab?.close(); warn(error.message); }
}

async function save(response, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(await response.blob());
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}

async function download(format) {
  const hidden = new Set(["cells", "event", "cautions"]);
  const rows = kept();
  const names = Object.keys(rows[0] || {}).filter((name) => !hidden.has(name));
  const body = JSON.stringify({ format, rows: [names, ...rows.map((row) => names.map((name) => row[name] ?? null))] });
  const headers = { "Content-Type": "application/json" };
  const response = await fetch(form.dataset.table, { method: "POST", body, headers });
  if (response.ok) await save(response, `ranking.${format}`);
  else warn(await problemOf(response));
}

form.addEventListener("submit", (event) => { event.preventDefault(); run(); });
find("stop").addEventListener("click", () => running?.abort());
find("filter").addEventListener("input", () => { shownRows = PAGE; draw(); });
find("more").addEventListener("click", () => { shownRows += PAGE; draw(); });
find("bad-rows").addEventListener("click", async () => {
  try { await save(await asked("bad-rows"), "bad-rows.csv"); } catch (error) { warn(error.message); }
});
document.addEventListener("click", (event) => {
  const roof = event.target.closest("[data-building]");
  if (roof) open(roof.dataset.building);
  const format = event.target.closest("[data-download]")?.dataset.download;
  if (format) download(format);
});
find("base-file").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  find("case-text").value = file ? await file.text() : "";
});

function take(file) {
  const list = new DataTransfer();
  list.items.add(file);
  find("file").files = list.files;
  run();
}

for (const kind of ["dragenter", "dragover"]) find("drop").addEventListener(kind, (event) => {
  event.preventDefault();
  find("drop").classList.add("over");
});
for (const kind of ["dragleave", "drop"]) find("drop").addEventListener(kind, () => find("drop").classList.remove("over"));
find("drop").addEventListener("drop", (event) => {
  event.preventDefault();
  if (event.dataTransfer.files[0]) take(event.dataTransfer.files[0]);
});
find("file").addEventListener("change", () => { if (find("file").files[0]) run(); });
find("try").hidden = false;
find("try").addEventListener("click", async () => {
  const response = await fetch(form.dataset.demo);
  take(new File([await response.blob()], "demo-portfolio.csv", { type: "text/csv" }));
});
