// What if: the roofs that were just ranked, at other terms, without computing their heat again.

import { post, problemOf } from "./portfolio-service.js";
import * as table from "./portfolio-table.js";

const find = (id) => document.querySelector(`#${id}`);
const entries = () => [...find("what-if").querySelectorAll("input, select")];
// What still holds when the money changes.
const KEPT = ["Bad rows", "Defaults", "Cautions"];
let units = "ip";
let firstYear = null;
let asked = null; // the terms of the answer that is shown, null for those of the run

export const terms = () => asked;
export const sheets = (all) => Object.fromEntries(Object.entries(all).filter(([name]) => KEPT.includes(name)));

// Offered for a whole run: the terms it had stand in the entries.
export function offer({ sent, firstYear: first }) {
  if (sent.done) return;
  units = sent.units;
  firstYear = first;
  asked = null;
  table.bind({});
  find("what-if").hidden = false;
  find("what-if-words").textContent = "";
  for (const one of entries()) one.value = sent[one.name] ?? one.dataset.plain ?? "";
}

export function start(form, job, warn, handle) {
  const ask = async () => {
    warn("");
    find("what-if-words").textContent = "The plan is being worked out …";
    const given = Object.fromEntries(entries().map((one) => [one.name, one.value.trim()]));
    const wanted = { units, budget: given.budget, budget_by_year: given.budget_by_year, carry_over: given.carry_over, first_year: firstYear ?? undefined, musts: table.musts() };
    if (given.discount_rate) wanted.discount_rate = Number(given.discount_rate.replace("%", "")) / 100;
    if (given.price_factor) wanted.price_factor = Number(given.price_factor);
    const response = await post(form.dataset.whatIf.replace("JOB", job.address().split("/").pop()), wanted);
    find("what-if-words").textContent = "";
    if (!response.ok) { warn((await problemOf(response)).words); return; }
    asked = wanted;
    handle(await response.json());
    find("what-if-words").textContent = "The answer above, the table, the downloads and the board’s pages are at these terms.";
  };
  find("what-if-ask").addEventListener("click", ask);
  table.bound(ask);
  for (const one of entries()) one.addEventListener("keydown", (event) => { if (event.key === "Enter") ask(); });
}
