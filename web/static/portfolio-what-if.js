// What if: the roofs that were just ranked, at other terms, without computing their heat again.

import { post, problemOf } from "./portfolio-service.js";

const find = (id) => document.querySelector(`#${id}`);
const entries = () => [...find("what-if").querySelectorAll("input, select")];
// What still holds when the money changes.
const KEPT = ["Bad rows", "Defaults", "Cautions"];
let units = "ip";
let firstYear = null;

export const sheets = (all) => Object.fromEntries(Object.entries(all).filter(([name]) => KEPT.includes(name)));

// Offered for a whole run: the terms it had stand in the entries.
export function offer({ sent, firstYear: first }) {
  if (sent.done) return;
  units = sent.units;
  firstYear = first;
  find("what-if").hidden = false;
  find("what-if-words").textContent = "";
  for (const one of entries()) one.value = sent[one.name] ?? one.dataset.plain ?? "";
}

export function start(form, job, warn, handle) {
  const ask = async () => {
    warn("");
    const given = Object.fromEntries(entries().map((one) => [one.name, one.value.trim()]));
    const terms = { units, budget: given.budget, budget_by_year: given.budget_by_year, carry_over: given.carry_over, first_year: firstYear ?? undefined };
    if (given.discount_rate) terms.discount_rate = Number(given.discount_rate.replace("%", "")) / 100;
    if (given.price_factor) terms.price_factor = Number(given.price_factor);
    const response = await post(form.dataset.whatIf.replace("JOB", job.address().split("/").pop()), terms);
    if (!response.ok) { warn((await problemOf(response)).words); return; }
    handle(await response.json());
    find("what-if-words").textContent = "The answer above is at these terms.";
  };
  find("what-if-ask").addEventListener("click", ask);
  for (const one of entries()) one.addEventListener("keydown", (event) => { if (event.key === "Enter") ask(); });
}
