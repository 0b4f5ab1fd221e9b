// The case kept in this browser, and carried by a link's fragment, which no server sees.

const KEY = "roof-life-cycle-cost.case";
const BEFORE = `${KEY}.before`; // the case that another one, opened or linked, took the place of
const TYPED = `${KEY}.typed`; // a form that was left before its answer came, and its page
export const LINK = /^#case=(.*)$/;
const LONGEST = 16000; // characters; longer links are cut by some mail programs

export function store(document) {
  try { localStorage.setItem(KEY, JSON.stringify(document)); } catch { /* full or refused */ }
}

function kept(key) {
  try { return localStorage.getItem(key); } catch { return null; }
}
export const stored = () => kept(KEY);
export const before = () => kept(BEFORE);

// Keep the case of before beside the one that comes; false where the browser keeps nothing.
export function setAside() {
  try {
    if (stored()) localStorage.setItem(BEFORE, stored());
    return true;
  } catch { return false; }
}

// Exchange the case kept with the one set aside, which is returned.
export function swap() {
  const back = before();
  setAside();
  return back;
}

export function forget() {
  try { localStorage.removeItem(KEY); } catch { /* refused */ }
}

export function hold(form) {
  try { localStorage.setItem(TYPED, JSON.stringify([location.pathname, form])); } catch { /* full or refused */ }
}

// Take the form that this page was left with.
export function held() {
  const [path, form] = JSON.parse(kept(TYPED) || "[]");
  if (path !== location.pathname) return "";
  localStorage.removeItem(TYPED);
  return form;
}

const pipe = async (bytes, through) =>
  new Uint8Array(await new Response(new Blob([bytes]).stream().pipeThrough(through)).arrayBuffer());

export async function link(document) {
  if (!document) return { why: "There is no answered case to share yet." };
  const bytes = await pipe(new TextEncoder().encode(JSON.stringify(document)), new CompressionStream("deflate-raw"));
  const text = btoa(String.fromCharCode(...bytes.slice(0, LONGEST)));
  if (text.length > LONGEST) return { why: "A weather file is too long for a link: save the case as a file instead." };
  const safe = text.replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
  return { link: `${location.origin}${location.pathname}#case=${safe}` };
}

export async function fromLink(hash) {
  const found = LINK.exec(hash);
  if (!found) return {};
  try {
    const text = atob(found[1].replaceAll("-", "+").replaceAll("_", "/"));
    const bytes = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
    const whole = await pipe(bytes, new DecompressionStream("deflate-raw"));
    return { text: new TextDecoder().decode(whole) };
  } catch { return { broken: true }; }
}

export async function copy(text) {
  try { await navigator.clipboard.writeText(text); return true; } catch { return false; }
}
