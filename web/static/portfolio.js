// The page of a portfolio, made live: rows as they are computed, sorting, a building opened.
// Without it the form is sent and the answer comes whole.

import { LiveCharts } from "./live.js";
import * as keep from "./keep.js";
import * as job from "./portfolio-job.js";
import * as mapping from "./portfolio-mapping.js";
import * as progress from "./portfolio-progress.js";
import { linesOf, post, problemOf, save } from "./portfolio-service.js";
import * as table from "./portfolio-table.js";
import * as whatIf from "./portfolio-what-if.js";

const find = (id) => document.querySelector(`#${id}`);
const form = find("roofs");
const answer = find("answer");
const charts = new LiveCharts(answer, form.dataset.live);
let shown = null; // what is on the page: what was asked, the table's name, its plan, its job
let running = null;
let liveStarted = false;

const tell = (text) => { find("status").textContent = text; };
function warn(text) {
  const notice = find("notice");
  notice.hidden = !text;
  notice.textContent = text;
  if (text) notice.focus();
}

// What an earlier run left stays until the next table is taken, and is marked as that of before.
function older(words) {
  find("older").hidden = !words;
  find("older").textContent = words;
}

// Faults of the budgets stand beside their entries too.
function mark(entries) {
  for (const name of ["budget", "budget_by_year"]) {
    const fault = find(`${name}-fault`);
    fault.textContent = entries[name] || "";
    fault.hidden = !entries[name];
    fault.parentElement.classList.toggle("faulty", Boolean(entries[name]));
    if (entries[name]) find(name).setAttribute("aria-invalid", "true");
    else find(name).removeAttribute("aria-invalid");
  }
}

function waiting() {
  warn("");
  mark({});
  find("chosen").hidden = true;
  progress.reading();
  find("stop").hidden = false;
  if (shown) older(`Below are still the results of “${shown.name}”, from before.`);
}

function accepted(event, sent) {
  find("what-if").hidden = true;
  if (sent.done) { shown.sent = sent; progress.started(event); return; }
  shown = { sent, name: sent.name, columns: event.columns, dictionary: event.dictionary, sheets: {}, below: [], seen: 0, firstYear: event.first_year };
  older("");
  table.clear();
  charts.clear();
  charts.update({});
  answer.replaceChildren(find("no-answer").content.cloneNode(true));
  find("rests").replaceChildren();
  progress.started(event);
}

// Buildings whose results are all here, in row order: a run that goes on begins behind them.
const doneRows = () => Math.max(0, ...table.all().map((row) => row.building));

// What identifies a run: the entries, and the file by its name and time.
function entered() {
  const { file, ...entries } = Object.fromEntries(new FormData(form));
  return { ...entries, name: file.name, changed: file.lastModified };
}

async function run(on = false) {
  running?.abort();
  find("done").value = on ? doneRows() : "";
  find("go-on").hidden = true;
  const sent = entered();
  await follow(sent, (signal) => job.submit(form.dataset.run, new FormData(form), sent, signal));
}

async function follow(sent, begin) {
  const stop = (running = new AbortController());
  waiting();
  try {
    await begin(stop.signal);
    const response = await job.lines(stop.signal, () => progress.queued());
    if (response.ok) await read(response, sent);
    else {
      const problem = await problemOf(response);
      refused(problem);
      const own = form.elements.file.files[0] && !find("mapping-text").value;
      if (response.status === 422 && own && !Object.keys(problem.entries).length) await unread(problem.words);
    }
  } catch (error) {
    if (error.name === "AbortError") await stopped(stop, sent);
    else if (error.words) refused(error);
    else warn(`The answer broke off: ${error.message}`);
  } finally {
    if (running === stop) find("stop").hidden = true;
    if (shown) table.draw();
  }
}

// A table with titles of its own is no dead end: what they most likely mean is shown to correct.
async function unread(words) {
  const found = await mapping.propose(form, () => {});
  if (found) warn(`${words}\nOr leave the table as it is: what its columns most likely mean stands below. Look it over, then compare again.`);
  else if (found === null) mapping.forget();
}

function refused({ words, entries }) {
  find("progress").hidden = true;
  warn(words);
  mark(entries);
  if (shown) older(`Below are the results of “${shown.name}”, from before, not of what was just refused.`);
}

// The rows so far get their ranks, the budget's set and the charts from the service.
async function stopped(stop, sent) {
  if (running !== stop) return;
  if (shown?.sent !== sent) { find("progress").hidden = true; return; }
  const count = table.all().length;
  tell(progress.stopped(count, shown.ranked));
  find("go-on").hidden = !count || Boolean(shown.ranked);
  if (count && !shown.ranked) await settle(count);
}

async function settle(count) {
  const results = table.all().map(({ cells, event, rank, in_budget, planned_year, note, ...row }) => row);
  const { units, budget = "" } = shown.sent;
  const response = await post(form.dataset.soFar, { units, budget, results }).catch(() => null);
  if (response?.ok) for (const event of await response.json()) handle(event);
  else older(`The sentence, the key figures and the charts below are those of the first ${shown.seen} of ${count} results.`);
}

async function read(response, sent) {
  let begun = 0;
  let drawn = 0;
  for await (const event of linesOf(response)) {
    if (event.event === "start") { begun = performance.now(); accepted(event, sent); }
    if (event.event === "result") table.all().push(event);
    if (event.event === "progress") progress.progressed(event, performance.now() - begun);
    if (event.event === "planning") progress.planning(event);
    if (event.event === "problem") { warn(event.detail); return; }
    if (event.event === "end") {
      if (sent.done) await settle(table.all().length);
      ended();
      whatIf.offer(shown);
    }
    if (!sent.done || event.event !== "ranked") handle(event);
    if (performance.now() - drawn > 400) { drawn = performance.now(); table.draw(); }
  }
}

function handle(event) {
  if (event.event === "ranked") {
    Object.assign(shown, { ranked: true, sheets: { ...shown.sheets, ...event.sheets }, below: event.below || shown.below });
    table.take(event.results);
  }
  if (event.event === "view") view(event);
}

mapping.start(form, warn);
whatIf.start(form, job, warn, (events) => {
  shown.sheets = whatIf.sheets(shown.sheets);
  const notes = new Map(table.all().map((row) => [`${row.building} ${row.alternative}`, row.note]));
  for (const event of events) {
    for (const row of event.results || []) row.note = notes.get(`${row.building} ${row.alternative}`);
    handle(event);
  }
});
find("go-on").addEventListener("click", () => run(true));

const parsed = (html) => new DOMParser().parseFromString(html, "text/html").body;

function view(event) {
  const fresh = parsed(event.html);
  for (const one of fresh.querySelectorAll("[data-live-only]")) one.hidden = false;
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
  const rests = parsed(event.rests);
  if (rests.innerHTML !== find("rests").innerHTML) find("rests").replaceChildren(...rests.childNodes);
  shown.seen = table.all().length;
  charts.update(event.charts);
  if (!liveStarted) { liveStarted = true; charts.start(); }
}

function ended() {
  find("stop").hidden = true;
  progress.ended();
  tell(`Done. ${find("headline").textContent}`);
}

// Ask the service more about the same table.
async function asked(show, more = {}) {
  const query = new URLSearchParams({ show, ...more });
  for (const name of ["units", "decimal", "unknown_columns"]) if (shown.sent[name]) query.set(name, shown.sent[name]);
  const response = await fetch(`${job.address()}/table?${query}`);
  if (!response.ok) throw new Error((await problemOf(response)).words);
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

// Whether table, budget and years are still those of the run on the page; after a reload no table is chosen.
function asShown() {
  if (!shown?.ranked || shown.sent.done) return false;
  const { done, ...now } = entered();
  return !form.elements.file.files.length || Object.keys(now).every((name) => now[name] === shown.sent[name]);
}

// The paper of what is entered: of the run that is kept if it is the same, else all is sent again.
async function board(address) {
  warn("");
  tell("The two pages are being made.");
  const button = find("board");
  const words = button.textContent;
  Object.assign(button, { disabled: true, textContent: "The two pages are being made …" });
  try { await boardOf(address); } finally { Object.assign(button, { disabled: false, textContent: words }); }
}

async function boardOf(address) {
  const ask = (where, body, headers = {}) => fetch(where, { method: "POST", body, headers });
  const terms = whatIf.terms();
  const kept = asShown() && job.address()?.split("/").pop();
  let response = kept && await ask(address.replace("board.pdf", `jobs/${kept}/board.pdf`), terms && JSON.stringify(terms), terms ? { "Content-Type": "application/json" } : {});
  if (!response || response.status === 404) response = await ask(address, new FormData(form));
  if (response.ok) { await save(response, "board.pdf"); tell("The two pages are saved."); }
  else refused(await problemOf(response));
}

// All results, whatever is filtered, under the titles that the service gives them.
async function download(format, sheet) {
  const cell = (row, { name, year }) => (year && row[name] !== null ? row[name] + (shown.firstYear ?? 0) : row[name] ?? null);
  const every = {
    Ranking: [shown.columns.map((one) => one.title),
      ...table.inOrder().map((row) => shown.columns.map((one) => cell(row, one)))],
    ...shown.sheets,
    Columns: shown.dictionary,
  };
  if (format === "csv" && sheet === "Ranking") every.Ranking.push(...shown.below);
  const wanted = format === "csv" ? [sheet] : Object.keys(every);
  const sheets = Object.fromEntries(wanted.map((name) => [name, every[name]]).filter(([, rows]) => rows?.length));
  const response = await post(form.dataset.table, { format, sheets });
  if (response.ok) await save(response, `${sheet.toLowerCase()}.${format}`);
  else warn((await problemOf(response)).words);
}

for (const one of document.querySelectorAll("[data-live-only]")) one.hidden = false;
form.addEventListener("submit", (event) => {
  event.preventDefault();
  if (event.submitter === find("board")) board(event.submitter.formAction);
  else run();
});
find("stop").addEventListener("click", () => { running?.abort(); job.end(); });
find("bad-rows").addEventListener("click", async () => {
  try { await save(await asked("bad-rows"), "bad-rows.csv"); } catch (error) { warn(error.message); }
});
document.addEventListener("click", (event) => {
  const roof = event.target.closest("[data-building]");
  if (roof) open(roof.dataset.building);
  const wanted = event.target.closest("[data-download]")?.dataset;
  if (wanted) download(wanted.download, wanted.sheet);
});
find("base-file").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  find("case-text").value = file ? await file.text() : "";
});

// A table that is chosen waits for the budget to be typed.
function chosen() {
  const [file] = find("file").files;
  find("propose").hidden = !file;
  mapping.forget();
  find("chosen").hidden = !file;
  if (!file) return;
  find("chosen").textContent = `“${file.name}” is ready. Type a budget if there is one, then “${find("start").textContent}”.`;
  tell(find("chosen").textContent);
}

function take(file) {
  const list = new DataTransfer();
  list.items.add(file);
  find("file").files = list.files;
  chosen();
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
find("file").addEventListener("change", chosen);
find("try").hidden = false;
find("try").addEventListener("click", async () => {
  const response = await fetch(form.dataset.demo);
  take(new File([await response.blob()], "demo-portfolio.csv", { type: "text/csv" }));
  run();
});

// A page that is loaded again goes on with the run of before.
const before = job.before();
if (before) follow(before, (signal) => job.known(signal));
