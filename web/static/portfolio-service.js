// What is asked of the service and comes back: lines, problems in words and by entry, files.

// The problem in words, and what is wrong with each entry of the form by its name.
export async function problemOf(response) {
  const problem = await response.json().catch(() => ({ detail: "The service did not answer." }));
  const lines = (problem.errors || []).map((error) => error.detail);
  const wait = response.headers.get("Retry-After");
  const words = [problem.detail, ...lines, ...(wait ? [`Try again in ${wait} seconds.`] : [])].join("\n");
  const named = (problem.errors || []).filter((error) => error.parameter);
  return { words, entries: Object.fromEntries(named.map((error) => [error.parameter, error.detail])) };
}

export async function* linesOf(response) {
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

export const post = (address, document_) => fetch(address, {
  method: "POST", body: JSON.stringify(document_), headers: { "Content-Type": "application/json" },
});

export async function save(response, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(await response.blob());
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}
