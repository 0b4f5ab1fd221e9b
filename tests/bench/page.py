"""How fast the page is in a real browser: first paint, live charts, a slider's redraw.

Run with ``python tests/bench/page.py``; prints milliseconds and sizes, asserts nothing.
"""

import gzip
import os
import shutil
import statistics
import threading
from pathlib import Path

import pvlib
from playwright.sync_api import sync_playwright
from werkzeug.serving import WSGIRequestHandler, make_server

import web
from web.pages import make_ready

FLAGS = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking")
SLIDERS = {
    "discount rate (money only)": "economics-discount_rate",
    "retrofit price (money only)": "alternatives-0-price",
    "panel reflectance (heat too)": "alternatives-0-solar_reflectance",
    "insulation (heat too)": "alternatives-0-layers-0-thickness",
}
MEASURE = """(slider) => {
  window.took = null;
  const chart = document.querySelector("[data-chart=payback]");
  const start = performance.now();
  new MutationObserver((_, watch) => { watch.disconnect();
    requestAnimationFrame(() => { window.took = performance.now() - start; }); })
    .observe(chart, { childList: true, subtree: true, attributes: true });
  document.querySelector(slider).focus();
}"""


class _Quiet(WSGIRequestHandler):
    def log_request(self, *_):
        """Say nothing."""


def _served():
    app = web.create_app()
    make_ready(app)  # as `roof-lcc serve` does before it answers
    server = make_server("127.0.0.1", 0, app, threaded=True, request_handler=_Quiet)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


def _moves(page, slider, count=12):
    took = []
    for step in range(count):
        page.evaluate(MEASURE, slider)
        page.keyboard.press("ArrowRight" if step % 4 < 2 else "ArrowLeft")
        page.wait_for_function("() => window.took !== null")
        took.append(page.evaluate("window.took"))
    return took


def _with_weather(page):
    """Put the hourly file that pvlib ships into the case on the page."""
    page.locator("#case-panel > summary").click()
    page.locator("#more-building > summary").click()
    page.get_by_role("button", name="Add Weather file").click()
    page.wait_for_selector("#case input[type=file]")
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    page.set_input_files("#case input[type=file]", path)
    page.wait_for_function(
        "() => document.querySelector('[name=\"site.weather.text\"]')?.value.length > 1e6"
    )


def _visit(browser, address):
    """Open the page in a window of its own; when its first chart was painted, in ms."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    html = page.goto(address).text()
    page.wait_for_selector(".picture .live:not(.arriving) svg")
    page.wait_for_function("() => !document.querySelector('[aria-busy=true]')")
    painted = "performance.getEntriesByName('first-contentful-paint')[0].startTime"
    return page, html, page.evaluate(painted)


def _redraws(page, case):
    page.wait_for_function("() => !document.querySelector('[aria-busy=true]')")
    page.wait_for_timeout(3000)
    page.evaluate("document.querySelector('#what-if').open = true")
    for name, slider in SLIDERS.items():
        took = _moves(page, f"#w-{slider}")
        print(
            f"{case}, {name}: median {statistics.median(took):.0f} ms, "
            f"{min(took):.0f} to {max(took):.0f} ms"
        )


def main():
    """Measure and print."""
    server = _served()
    address = f"http://127.0.0.1:{server.server_port}/"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
        painted = []
        for _ in range(9):
            page, html, took = _visit(browser, address)
            painted.append(took)
            page.close()
        print(f"page {len(gzip.compress(html.encode(), 6)) / 1000:.1f} kB compressed")
        print(
            f"first chart painted after {painted[0]:.0f} ms by a fresh server and browser, then "
            f"median {statistics.median(painted[1:]):.0f}, at most {max(painted[1:]):.0f} ms"
        )
        page, *_ = _visit(browser, address)
        _redraws(page, "demo")
        _with_weather(page)
        _redraws(page, "hourly weather file")
        browser.close()
    server.shutdown()


if __name__ == "__main__":
    main()
