// Charts that answer the pointer: the server's picture first, then a live view in its place.
// What is on the screen is drawn at once, the rest when the browser has nothing better to do.

const idle = () => new Promise((done) => (window.requestIdleCallback || setTimeout)(done));

const onScreen = (place) => {
  const { top, bottom } = place.getBoundingClientRect();
  return bottom > 0 && top < window.innerHeight;
};

export class LiveCharts {
  constructor(root, bundle) {
    this.root = root;
    this.bundle = bundle;
    this.charts = {}; // key -> {spec, data}, the newest
    this.views = new Map(); // key -> {view, spec}
    this.ready = false;
    this.round = 0; // a newer answer ends the drawing of an older one
    this.work = Promise.resolve(); // one drawing at a time
  }

  async start() {
    const looks = document.createElement("link"); // of the tooltip
    Object.assign(looks, { rel: "stylesheet", href: new URL("live.css", import.meta.url) });
    document.head.append(looks);
    await import(this.bundle);
    this.ready = true;
    this.drawAll();
  }

  clear() {
    for (const { view } of this.views.values()) view.finalize();
    this.views.clear();
  }

  update(charts) {
    Object.assign(this.charts, charts);
    this.drawAll();
  }

  drawAll() {
    if (!this.ready) return;
    const round = ++this.round;
    this.work = this.work.then(() => this.drawRound(round)).catch((error) => console.error(error));
  }

  async drawRound(round) {
    if (round !== this.round) return;
    const places = [...this.root.querySelectorAll("[data-chart]")];
    const seen = places.filter(onScreen);
    for (const place of seen) {
      if (round !== this.round) return;
      await this.draw(place.dataset.chart);
    }
    for (const place of places.filter((one) => !seen.includes(one))) {
      await idle();
      if (round !== this.round) return;
      await this.draw(place.dataset.chart);
    }
  }

  // New figures go into a view that is there; another specification makes a new view.
  async draw(key) {
    const chart = this.charts[key];
    const place = this.root.querySelector(`[data-chart="${key}"]`);
    if (!chart || !place) return;
    const spec = JSON.stringify(chart.spec);
    const live = this.views.get(key);
    if (!live || live.spec !== spec || !place.contains(live.box)) {
      live?.view.finalize();
      await this.embed(key, place, chart, spec);
      return;
    }
    for (const [name, rows] of Object.entries(chart.data)) live.view.data(name, rows);
    await live.view.runAsync();
  }

  async embed(key, place, chart, spec) {
    const box = document.createElement("div");
    box.className = "live arriving";
    place.append(box);
    const { view } = await window.vegaEmbed(box, { ...chart.spec, datasets: chart.data }, {
      mode: "vega-lite", actions: false, renderer: "svg", logLevel: 1, // errors only
      ast: true, defaultStyle: false, tooltip: { disableDefaultStyle: true },
    });
    for (const old of [...place.children]) if (old !== box) old.remove();
    box.classList.remove("arriving");
    this.views.set(key, { spec, view, box });
  }
}
