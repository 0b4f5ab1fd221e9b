// The page of a case, made live: answers without a reload, sliders, the case kept and shared.
// Everything here also works without it, by sending the form.

import { LiveCharts } from "./live.js";
import { mark } from "./faults.js";
import * as keep from "./keep.js";
import * as places from "./places.js";
import * as sliders from "./sliders.js";
import { History } from "./history.js";

const form = document.querySelector("#case");
const answer = document.querySelector("#answer");
const status = document.querySelector("#status");
const notice = document.querySelector("#notice");
const charts = new LiveCharts(answer, form.dataset.live);
let current = null; // the case document behind what is shown
let touched = false; // whether something was entered here, and not only looked at
let changes = 0; // how often something was entered
let answered = 0; // how many of them the last answer took in
let asking = null; // the question under way
let headline = ""; // of the last answer
let again = ""; // what changed meanwhile: "move" for a slider, "change" for an entry
let pressed = Promise.resolve(); // ends when every button pressed so far has been answered
let still = 0; // waits for the sliders to stand still

const WEATHER = "site.weather.text";
const tell = (text) => { status.textContent = text; };
const past = new History(document, (text) => (text.startsWith("{") ? open(text, true) : goOn(text, entries("load"))));
function warn(text, mild = false) {
  notice.hidden = !text;
  notice.classList.toggle("mild", mild);
  notice.querySelector("p").textContent = text;
  notice.querySelector("[data-undo]").hidden = !mild;
  if (text && !mild) notice.focus();
}
let warned = false; // by a question that failed; the next answer takes the warning back
let noted = -1; // how often something had been entered when the last answer said what it did by itself

function fail(error) {
  warned = true;
  const away = error instanceof TypeError; // no answer came at all
  warn(away ? "The service cannot be reached. Check the connection and try again; your entries are still here." : error.message);
}

// What the form holds, with a file only where one was chosen.
function entries(action) {
  const data = new FormData(form);
  data.set("do", action);
  if (action === "move") for (const one of answer.querySelectorAll(".part[open]")) data.append("seen", one.id);
  const files = [...data].filter(([, value]) => value instanceof File);
  if (!files.some(([, file]) => file.size)) files.forEach(([name]) => data.delete(name));
  return data;
}

// A form as it is sent. A weather file follows it as it is: escaped, or as a part among parts, it
// takes longer to read than to answer.
function packed(data) {
  if (!(data instanceof FormData) || [...data.values()].some((value) => value instanceof File)) return data;
  const rest = new URLSearchParams(data);
  if (!data.get(WEATHER)) return rest;
  rest.delete(WEATHER);
  return new Blob([`${rest}\n`, data.get(WEATHER)], { type: "application/x-form-and-weather" });
}

async function ask(sent, signal, headers = {}) {
  const response = await fetch(form.dataset.answer, { method: "POST", body: packed(sent), headers, signal });
  const reply = await response.json();
  if (!response.ok) throw new Error(reply.detail || "The service did not answer.");
  return reply;
}

// One question at a time; a newer one ends an older one, whose answer would come too late.
async function question(what, send, use) {
  clearTimeout(still);
  if (what !== "settle") document.querySelector("#share-link").hidden = true; // it holds another case
  asking?.stop.abort();
  const mine = { what, stop: new AbortController() };
  const asked = changes;
  asking = mine;
  again = "";
  answer.setAttribute("aria-busy", "true");
  answer.classList.toggle("waiting", touched && what !== "move" && what !== "settle"); // at once grey
  try {
    const reply = await send(mine.stop.signal);
    if (asking === mine) use(reply);
    if (asking === mine && reply.ok) answered = asked;
  } catch (error) { if (error.name !== "AbortError") fail(error); }
  if (asking !== mine) return;
  asking = null;
  answer.classList.remove("waiting");
  if (again) { await follow(again); return; }
  if (what === "move") still = setTimeout(follow, 300, "settle"); // busy until it stands still
  else answer.removeAttribute("aria-busy");
}

// Something changed. While a slider moves each question is let finish, so that the charts follow,
// and the random draws are left out; they come when it stands still, or give way to a new move.
async function follow(what) {
  if (asking && asking.what !== "settle") { again = again === "change" ? again : what; return; }
  let sent;
  await question(what, (signal) => ask(sent = entries(what), signal), (reply) => show(reply, what, sent));
}

// Presses wait for each other, so that what an earlier one does to the form is not lost.
function act(action) {
  touched = true;
  pressed = pressed.then(() => press(action));
}

function press(action) {
  const sent = entries(action);
  return question("press", (signal) => ask(sent, signal), (reply) => {
    if (action.startsWith("add:")) document.querySelector("#case-panel").open = true;
    replaceForm(reply.form, action, sent);
    show(reply, "press");
    if (!reply.ok) return;
    tell(`Answer updated. ${reply.headline}`);
    if (action === "compare") toHeadline();
  });
}

const JSON_BODY = { "Content-Type": "application/json" };
const load = (body, headers, sent = entries("load")) => question("load", (signal) => ask(body, signal, headers), (reply) => {
  replaceForm(reply.form, "load", sent);
  show(reply, "load");
  if (reply.ok) tell(`Case opened. ${reply.headline}`);
});

function show(reply, what, sent) {
  const moved = what === "move" || what === "settle";
  if (reply.form && what === "change") replaceForm(reply.form, "change", sent);
  const told = Object.values(reply.faults).join(" ");
  mark(form, reply.faults, moved && sliders.moved());
  if (what !== "press" && (told || answer.matches(".stale"))) tell(told); // a press has its list
  if (!reply.ok && reply.html && !answer.querySelector("#payback")) put(reply.html, moved);
  if (reply.ok && what === "change" && headline !== reply.headline) tell(reply.headline); // no noise where nothing changed
  if (reply.ok) headline = reply.headline;
  answer.classList.toggle("stale", !reply.ok && !!answer.querySelector("#payback"));
  if (reply.missing.length) answer.querySelector(".stale-note").textContent = notUpdated(reply.missing);
  if (!reply.ok) return;
  if (warned || (notice.matches(".mild") && noted !== changes)) warn("");
  warned = false;
  current = whole(reply.document);
  const was = form.elements.namedItem("was");
  if (was && !reply.moving) was.value = reply.was;
  if (!reply.moving) remember();
  if (reply.notice) {
    warn(reply.notice, true);
    noted = changes;
  }
  put(reply.html, moved, reply.moving);
  keepInSight();
  if (what === "settle") tell(reply.headline); // what the slider came to
  document.title = `${current.name || "A roof"} – Roof life-cycle cost`;
  charts.update(reply.charts);
  reveal();
  if (!reply.moving) cuts();
}

// Which entry keeps the answer from being renewed.
const notUpdated = ([first, ...more]) =>
  `Not updated: ${first}${more.length ? ` (and ${more.length} more)` : ""} These are the figures from before.`;

// The case with the text of its weather file, which the form holds and no answer sends back.
function whole(document) {
  const text = form.elements.namedItem(WEATHER)?.value;
  if (text && document.site?.weather) document.site.weather.text = text;
  return document;
}

// Keep what was entered here. A case of a link leaves the address when it is changed, so that a
// reload shows the change, and the case kept before is set aside.
function remember() {
  if (!current) return;
  const text = JSON.stringify(current);
  past.add(text, form.elements.namedItem("new") ? asked() : text);
  if (!touched) return;
  if (keep.LINK.test(location.hash) && keep.setAside()) history.replaceState(null, "", location.pathname);
  keep.store(current);
}

// The answer's shortest figure above the form, where that hides the answer itself, with the
// headline's condition or, where it has none, how sure it is.
function keepInSight() {
  const condition = /(, unless |; more likely ).*/.exec(document.querySelector("#headline")?.textContent ?? "");
  const [less, , sure] = [...answer.querySelectorAll(".keys > div")].map((one) => ["dt", "b"].map((part) => one.querySelector(part).textContent).join(" "));
  document.querySelector("#in-sight").textContent = less ? `${less}${condition?.[0] ?? `; ${sure.replace(/^.*?: /, "")}`}` : "";
}

// To the answer where a pressed “Show the answer” would else change nothing that is seen.
function toHeadline() {
  const headline = document.querySelector("#headline");
  const panel = document.querySelector("#case-panel");
  if (panel.open && window.matchMedia("(max-width: 67.99rem)").matches) { // it lies above the answer
    panel.open = false;
    headline.focus();
    headline.parentElement.scrollIntoView(); // with whose figures they are
  }
  const { top, bottom } = headline.getBoundingClientRect();
  if (top < 0 || bottom > window.innerHeight) headline.focus();
}

// Put the new answer in: only regions that changed, or all of it where its parts are others.
// While a slider moves only what is seen comes.
function put(html, moved, partly) {
  const fresh = new DOMParser().parseFromString(html, "text/html").body;
  const names = (root) => [...root.querySelectorAll("[data-region], [data-chart], [data-entry]")]
    .map((one) => one.dataset.region || one.dataset.chart || one.dataset.entry).join("|");
  if (!partly && names(fresh) !== names(answer)) {
    charts.clear();
    const open = [...answer.querySelectorAll("details[open]")].map((one) => one.id);
    answer.replaceChildren(...fresh.childNodes);
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
    return;
  }
  for (const region of fresh.querySelectorAll("[data-region]")) {
    const old = answer.querySelector(`[data-region="${region.dataset.region}"]`);
    if (!old || old.innerHTML === region.innerHTML) continue;
    for (const one of old.querySelectorAll("details[open]")) region.querySelector(`[id="${one.id}"]`)?.setAttribute("open", "");
    old.replaceChildren(...region.childNodes);
  }
  if (!moved) sliders.range(fresh);
}

// The plan of the answer stands beside the parts that are typed too.
function showPlans() {
  for (const place of form.querySelectorAll("[data-plan]")) {
    const drawn = [...document.getElementById(place.dataset.plan)?.closest(".takeoff")?.querySelectorAll(".framing svg") ?? []]
      .find((one) => one.querySelector(".number")); // the plan, beside one or two sections
    if (!drawn) continue;
    const copy = drawn.cloneNode(true);
    for (const one of copy.querySelectorAll("[id]")) one.removeAttribute("id");
    for (const name of ["role", "aria-labelledby"]) copy.removeAttribute(name);
    place.replaceChildren(copy);
    place.hidden = false;
  }
}

function reveal() {
  const proposal = document.querySelector(".tools .primary");
  proposal.disabled = !answer.querySelector("#payback");
  if (!proposal.disabled) proposal.removeAttribute("title");
  showPlans();
  for (const one of document.querySelectorAll("[data-live-only]")) one.hidden = false;
  for (const one of document.querySelectorAll("[data-plain-only]")) one.hidden = true;
  document.querySelector("[data-before]").hidden = !keep.before();
  sliders.follow(answer);
  past.show();
}

// Put the new form in. What was typed since the question was sent stays, and so does the focus.
function replaceForm(html, action, sent) {
  const now = entries(action);
  const typed = [...now.keys()].filter((name) => `${now.getAll(name)}` !== `${sent.getAll(name)}`);
  const open = new Set([...form.querySelectorAll("details[open]")].map((one) => one.id));
  const here = form.contains(document.activeElement) ? document.activeElement : null;
  const scroll = form.scrollTop;
  const plain = html.replace(" autofocus", ""); // the focus is moved below
  form.replaceChildren(...new DOMParser().parseFromString(plain, "text/html").body.childNodes);
  for (const one of form.querySelectorAll("details")) if (open.has(one.id)) one.open = true;
  for (const name of typed) {
    const entry = form.elements.namedItem(name);
    if (entry instanceof HTMLElement && entry.type !== "file") entry.value = now.get(name);
  }
  if (action === "change") asTyped(sent);
  form.scrollTop = scroll;
  showPlans();
  refocus(here, action);
  if (typed.length) again = "change";
}

// A number stays as it was typed, 7.80 and 24,000 too.
function asTyped(sent) {
  const number = (text) => Number(text.replace(/,/g, ""));
  for (const [name, text] of sent) {
    const entry = form.elements.namedItem(name);
    if (entry instanceof HTMLInputElement && entry.inputMode === "decimal" && entry.value
      && number(entry.value) === number(text)) entry.value = text;
  }
}

// After a press to the faults if there are any; who types on stays where he types. Else where the focus was, else near what was removed.
function refocus(here, action) {
  const place = here?.id ? document.getElementById(here.id)
    : [...form.querySelectorAll("button[name=do]")].filter((one) => one.value === here?.value).at(-1);
  const list = action.startsWith("remove:") && action.slice(7).replace(/\.[^.]*$/, "");
  const typing = action === "change" && place;
  const target = (!typing && form.querySelector("#errors")) || place
    || (list ? form.querySelector(`[data-path="${list}"] button`) : null)
    || (action.startsWith("add:economics.") ? form.querySelector(`[name^="${action.slice(4)}."]`) : null);
  target?.focus({ preventScroll: target.id !== "errors" && !action.startsWith("add:economics.") });
}

const entered = () => { touched = true; changes += 1; };

form.addEventListener("input", entered);
form.addEventListener("submit", (event) => {
  const action = event.submitter?.value || "compare";
  if (event.submitter?.hasAttribute("formaction")) return;
  event.preventDefault();
  act(action);
});
form.addEventListener("change", (event) => {
  const lays = ["build", "roof.covering", "roof.coverings", "roof.covering_below", "roof.age"].includes(event.target.name)
    && !form.elements.namedItem("new");
  entered();
  if (lays) act("layers"); else if (event.target.type === "file") act("weather"); else follow("change");
});

places.follow(form);

answer.addEventListener("input", (event) => {
  entered();
  if (sliders.move(event.target)) follow("move");
});

document.addEventListener("change", async (event) => {
  if (!event.target.matches("[data-open-file]") || !event.target.files[0]) return;
  keep.setAside();
  await open(await event.target.files[0].text(), true);
  event.target.value = "";
});

document.addEventListener("click", async (event) => {
  if (event.target.closest("[data-share]")) await share();
  if (event.target.closest("[data-before]")) await open(keep.swap(), true);
  if (event.target.closest("[data-fresh]")) await startAgain(event);
  if (event.target.closest("[data-view]")) owners(event);
  if (event.target.closest("[data-reset]") && sliders.reset(event.target.closest("[data-reset]"))) follow("change");
  if (event.target.closest("[data-print]")) window.print();
});

// The demo again, at once; what was entered can be had back.
async function startAgain(event) {
  event.preventDefault();
  keep.setAside();
  closeMenu();
  const demo = await (await fetch(form.dataset.demo)).text();
  sliders.forget();
  await open(demo, false);
  keep.forget();
  warn("The demo is shown. Your case is still here:", true);
}

// A table that goes on to the right says so.
function cuts() {
  for (const one of document.querySelectorAll(".scroll")) one.classList.toggle("cut", one.scrollWidth > one.clientWidth + 1);
}
document.addEventListener("toggle", cuts, true);
window.addEventListener("resize", cuts);

// Charts take the width of their places anew.
const refit = () => window.dispatchEvent(new Event("resize"));
document.querySelector("#case-panel").addEventListener("toggle", refit);

const closeMenu = () => document.querySelector("#more")?.hidePopover?.();

// The page for two before one screen, and back.
function owners(event) {
  event.preventDefault();
  closeMenu();
  const on = document.body.classList.toggle("owner");
  document.querySelector(on ? "#headline" : "#more-button").focus();
  refit();
}

// A link to what is shown, once it is the answer to what is entered.
async function share() {
  while (asking) await new Promise((done) => setTimeout(done, 50));
  const faulty = answer.matches(".stale") && "Correct the marked entries first, then copy the link.";
  const { link, why } = faulty ? { why: faulty } : await keep.link(current);
  if (!link) { fail({ message: why }); return; }
  const field = document.querySelector("#share-link");
  field.hidden = false;
  field.value = link;
  const copied = await keep.copy(link);
  field.select();
  const told = copied ? "Copied. It holds the whole case; nothing is stored on the server." : "Copy this link; it holds the whole case.";
  tell(document.querySelector("#share-told").textContent = told);
}

// Show a case that comes whole; it is kept where it is the reader's own.
function open(text, own, sent) {
  touched = own;
  return load(text, JSON_BODY, sent);
}

// What was entered last and not answered, else the case of the link, else the one kept from an
// earlier visit, else the one on the page. What is typed while it comes stays.
async function start() {
  const { origin } = form.dataset;
  const shared = await linked();
  const kept = origin === "demo" ? keep.stored() : null;
  const left = reloaded() || (origin === "demo" && !shared) ? keep.held() : "";
  if (origin === "new") keep.setAside();
  if (origin === "new" && !left && keep.before()) {
    past.add(keep.before(), keep.before());
    past.add("", asked());
    warn("A new roof. Your case of before is still here:", true);
  }
  if (shared || kept) await open(shared || kept, !shared || touched, untouched());
  else if (!left) await follow("change");
  if (left) await goOn(left);
  await charts.start();
}

const reloaded = () => performance.getEntriesByType("navigation")[0]?.type === "reload";

// The form as it came, without what was typed since.
function untouched() {
  const copy = form.cloneNode(true);
  copy.reset();
  return new FormData(copy);
}

// Go on with the form that was left.
async function goOn(left, now = untouched()) {
  const sent = new URLSearchParams(left);
  entered();
  await load(sent, {}, now);
  asTyped(sent);
}

// What an answer has taken in is kept as a case; what none has taken in yet, as it stands in the form.
// The questions of a new roof are no whole case, so they are kept as they stand too.
function leave() {
  remember();
  if (!touched || (changes === answered && form.dataset.origin !== "new")) return;
  keep.hold(asked());
}

// The form as text: the questions of a new roof are no whole case.
function asked() {
  const data = new FormData(form);
  data.set("do", "compare");
  return `${new URLSearchParams([...data].filter(([, value]) => typeof value === "string"))}`;
}

async function linked() {
  const { text, broken } = await keep.fromLink(location.hash);
  if (broken) warn("This link is not complete: its end may be missing. Copy it again, all of it.");
  return text;
}

window.addEventListener("hashchange", async () => {
  const shared = await linked();
  if (shared) open(shared, false);
});
window.addEventListener("pagehide", leave);
window.addEventListener("pageshow", (event) => { if (event.persisted) keep.held(); });
// After the first paint, so that the picture made by the server is not kept waiting.
requestAnimationFrame(() => setTimeout(start));
