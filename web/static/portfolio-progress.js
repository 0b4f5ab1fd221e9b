// What is shown while a portfolio is computed: how the table was read, how far it is, the plan.

import { line } from "./portfolio-table.js";

const find = (id) => document.querySelector(`#${id}`);
const say = (text) => { find("progress-words").textContent = text; };
const many = (count, word) => `${count} ${word}${count === 1 ? "" : "s"}`;
let years = 0; // of the plan that follows the rows, 0 without one

export function reading() {
  find("progress").hidden = false;
  find("bar").value = 0;
  say("Reading the table …");
}

export function started(event) {
  years = event.plan_years;
  say(`Read as ${event.read_as}: ${event.good} of ${many(event.rows, "row")} can be computed.`);
  find("defaults").hidden = !event.defaults.length;
  find("default-rows").replaceChildren(...event.defaults.map(headed));
  find("faults").hidden = !event.bad;
  find("mend").hidden = !event.bad;
  const more = event.faults_total > event.faults.length ? ` The first ${event.faults.length} of ${event.faults_total} faults are listed.` : "";
  const others = event.good ? "the others are computed" : "there is nothing to compute";
  find("faults-words").textContent = `${event.bad} of ${many(event.rows, "row")}; ${others}.${more}`;
  find("fault-rows").replaceChildren(...event.faults.map((fault) => {
    const place = fault.letter ? `${fault.column} (${fault.letter})` : fault.column;
    return headed([fault.line || fault.record, place, fault.value, fault.rule]);
  }));
}

function headed(cells) {
  const row = line(cells);
  const first = document.createElement("th");
  Object.assign(first, { scope: "row", textContent: row.cells[0].textContent });
  row.cells[0].replaceWith(first);
  return row;
}

export function queued() {
  say("Other portfolios are before this one; it begins by itself.");
}

export function progressed({ done, of }, elapsed) {
  find("bar").max = of || 1;
  find("bar").value = done;
  const left = Math.ceil((elapsed / done) * (of - done) / 1000);
  const time = left < 90 ? many(left, "second") : many(Math.ceil(left / 60), "minute");
  const then = years ? ", then the plan" : "";
  say(done < of ? `${done} of ${many(of, "roof")}; about ${time} left${then}.` : `${many(of, "roof")} computed.`);
}

export function planning({ seconds }) {
  find("bar").removeAttribute("value"); // how long is not known
  const so = seconds ? `, ${many(seconds, "second")} so far` : "";
  say(`Every roof is computed and ranked. The plan over ${many(years, "year")} is being worked out${so}. Stop keeps the ranks and the budget’s set.`);
}

export function stopped(count, ranked) {
  const words = ranked ? "Stopped: every roof is ranked and the budget’s set is whole; the plan is not worked out."
    : `Stopped after ${many(count, "result")}; they stand below, ranked among themselves.${years ? " The plan is not worked out." : ""} “Go on” computes the rest${years ? "; the plan needs a whole run" : ""}.`;
  if (ranked) find("bar").value = find("bar").max;
  say(words);
  return words;
}

export function ended() {
  find("bar").value = find("bar").max;
  if (years) say("Every roof is computed, and the plan is worked out.");
}
