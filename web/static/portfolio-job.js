// The run of a portfolio as a job of the service: it goes on when the page is left, and is found again.

import { problemOf } from "./portfolio-service.js";

const KEY = "portfolio-job";
const AGAIN_MS = 400;
let where = null; // address of the job

export const address = () => where;

// What an earlier load of this page asked, if it ran a job.
export function before() {
  try {
    const kept = JSON.parse(sessionStorage.getItem(KEY));
    where = kept?.where || null;
    return where && kept.sent;
  } catch { return null; }
}

export function forget() {
  try { sessionStorage.removeItem(KEY); } catch { /* without storage nothing was kept */ }
}

export async function submit(run, body, sent, signal) {
  forget();
  where = null;
  const response = await fetch(run, { method: "POST", body, signal, headers: { Prefer: "respond-async" } });
  if (!response.ok) throw await problemOf(response);
  where = response.headers.get("Location");
  // A run that goes on holds the last roofs alone: a page loaded again could not show the first.
  if (sent.done) return;
  try { sessionStorage.setItem(KEY, JSON.stringify({ where, sent })); } catch { /* not kept, then */ }
}

export async function known(signal) {
  const response = await fetch(where, { signal });
  if (response.ok && (await response.json()).state !== "cancelled") return;
  forget();
  throw Object.assign(new Error(), { words: "The run of before is no longer kept. Choose the table again.", entries: {} });
}

// The lines of the answer, as soon as the job has begun.
export async function lines(signal, waits) {
  for (;;) {
    const response = await fetch(where, { signal });
    if (!response.ok) return response;
    const { state, ready } = await response.json();
    if (ready) return fetch(`${where}/result`, { signal });
    if (state === "waiting") waits();
    await new Promise((done) => { setTimeout(done, AGAIN_MS); });
  }
}

export function end() {
  forget();
  if (where) fetch(where, { method: "DELETE" }).catch(() => {});
}
