// Charts that answer the pointer: the server's picture first, a live view in its place when near.

export class LiveCharts {
  constructor(root, bundle) {
    this.root = root;
    this.bundle = bundle;
    this.charts = {}; // key -> {spec, data}, the newest
    this.views = new Map(); // key -> {view, spec}
    this.ready = false;
    this.watcher = new IntersectionObserver(
      (seen) => seen.filter((one) => one.isIntersecting).forEach((one) => this.draw(one.target.dataset.chart)),
      { rootMargin: "300px" },
    );
  }

  async start() {
    await import(this.bundle);
    this.ready = true;
    this.watch();
  }

  watch() {
    if (!this.ready) return;
    for (const place of this.root.querySelectorAll("[data-chart]")) this.watcher.observe(place);
  }

  clear() {
    for (const { view } of this.views.values()) view.finalize();
    this.views.clear();
    this.watcher.disconnect();
  }

  update(charts) {
    this.charts = charts;
    for (const key of this.views.keys()) this.draw(key);
    this.watch();
  }

  // New figures go into a view that is there; another specification makes a new view.
  async draw(key) {
    const chart = this.charts[key];
    const place = this.root.querySelector(`[data-chart="${key}"]`);
    if (!this.ready || !chart || !place) return;
    const spec = JSON.stringify(chart.spec);
    const live = this.views.get(key);
    if (live && live.spec === spec) {
      if (!live.view) return;
      for (const [name, rows] of Object.entries(chart.data)) live.view.data(name, rows);
      await live.view.runAsync();
      return;
    }
    this.views.set(key, { spec, view: null });
    live?.view?.finalize();
    await this.embed(key, place, chart, spec);
  }

  async embed(key, place, chart, spec) {
    const box = document.createElement("div");
    box.className = "live arriving";
    place.append(box);
    const { view } = await window.vegaEmbed(box, { ...chart.spec, datasets: chart.data }, {
      mode: "vega-lite", actions: false, renderer: "svg",
      ast: true, defaultStyle: false, tooltip: { disableDefaultStyle: true },
    });
    for (const old of [...place.children]) if (old !== box) old.remove();
    box.classList.remove("arriving");
    this.views.set(key, { spec, view });
    if (this.charts[key] !== chart) this.draw(key);
  }
}
