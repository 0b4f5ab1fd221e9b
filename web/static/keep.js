// The case kept in this browser, and carried by a link's fragment, which no server sees.

const KEY = "roof-life-cycle-cost.case";
const LONGEST = 16000; // characters; longer links are cut by some mail programs

export function store(document) {
  try { localStorage.setItem(KEY, JSON.stringify(document)); } catch { /* full or refused */ }
}

export function stored() {
  try { return localStorage.getItem(KEY); } catch { return null; }
}

export function forget() {
  try { localStorage.removeItem(KEY); } catch { /* refused */ }
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
  const found = /^#case=(.*)$/.exec(hash);
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
