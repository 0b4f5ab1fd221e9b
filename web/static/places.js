// Places that fit what is typed, offered while it is typed, each with the climate that it gets.

const offered = document.createElement("datalist");
offered.id = "places-offered";
document.body.append(offered);
let waiting = 0;

async function offer(typed, address) {
  const response = await fetch(`${address}?query=${encodeURIComponent(typed)}`);
  if (!response.ok) return;
  const { matches } = await response.json();
  offered.replaceChildren(...matches.map((one) =>
    Object.assign(document.createElement("option"), { value: one.name, label: one.climate.words })));
}

export function follow(form) {
  form.addEventListener("input", ({ target }) => {
    if (target.name !== "site.place") return;
    target.setAttribute("list", offered.id);
    clearTimeout(waiting);
    if (target.value.trim().length > 2) waiting = setTimeout(offer, 250, target.value, form.dataset.places);
  });
}
