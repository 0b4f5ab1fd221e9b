"""What every test file shares."""

import dataclasses
import functools
import gc
import os
import shutil
import statistics
import subprocess
import sys
import threading
import time
import types
from contextlib import contextmanager, suppress
from html.parser import HTMLParser
from pathlib import Path

import pytest
from _pytest.pathlib import import_path
from hypothesis import settings

# What a process of the tests has compiled serves the next, also where the machine keeps nothing.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# The same examples in every run, and no deadline: the machine may be shared.
settings.register_profile("house", derandomize=True, deadline=None, database=None)
settings.load_profile("house")

# Parts of the product are imported where they are used: pytest-xdist's first process, for which
# the others wait, reads this file too and uses none of them.


def pytest_sessionstart(session):
    """In every other process of a whole run, compile the files of the tests from the last on.

    So two that start at once compile half of them each, and read what the other has written.
    """
    config = session.config
    worker = getattr(config, "workerinput", {}).get("workerid", "gw0").removeprefix("gw")
    if int(worker) % 2 and config.args == config.getini("testpaths"):
        for file in sorted(Path(__file__).parent.glob("test_*.py"), reverse=True):
            with suppress(Exception, pytest.skip.Exception):  # told when the file is collected
                import_path(
                    file, mode="importlib", root=config.rootpath, consider_namespace_packages=False
                )


def pytest_collection_finish():
    """Search for garbage seldom, and never in what was imported: a tenth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture(scope="session")
def flat_roof():
    """A roof of 2,000 m² with one dry covering of age 5 and two inches of board."""
    from lcc.case import Layer, Roof

    layers = (
        Layer(material="built-up-roofing"),
        Layer(material="perlite-board", thickness_m=0.05),
        Layer(material="steel-deck"),
    )
    return Roof(area_m2=2000.0, covering="built-up-smooth", age_y=5.0, layers=layers)


@pytest.fixture(scope="session")
def plain_energy():
    """A stand-in for the heat core: the bill falls with the resistance of the layers."""
    from lcc.heat.assembly import thermal_layer
    from lcc.results import EnergyYear, HotDay, Monthly

    nothing = {f.name: 0.0 for f in dataclasses.fields(EnergyYear)}
    months = Monthly(*[(0.0,) * 12] * 5)
    day = HotDay("July 1", *[(0.0,) * 24] * 3)

    def energy(climate, building, area_m2, assembly, prices, terrain="suburban"):
        resistance = sum(thermal_layer(layer).resistance_m2k_w for layer in assembly.layers)
        electricity, gas = 10.0 * area_m2 / (1 + resistance), 20.0 * area_m2 / (1 + resistance)
        figures = {
            "assembly": assembly.name,
            "years": (),
            "monthly": months,
            "hot_day": day,
            "condensation": None,
            "cooling_electricity_kwh": electricity,
            "gas_kwh": gas,
            "electricity_cost": electricity * prices.electricity_per_kwh,
            "gas_cost": gas * prices.gas_per_kwh,
        }
        return EnergyYear(**(nothing | figures))

    return energy


@pytest.fixture(scope="session")
def compared(plain_energy):
    """Compare a case with the stand-in for the heat core, in climate zone 3A; the last are kept.

    Cases that differ only in where their figures come from are equal, but their answers are not.
    """
    from lcc.case.fields import CasePart
    from lcc.comparison import compare

    zone = types.SimpleNamespace(zone="3A", name="a plain place")

    def origins(part):
        found = [(name, origin) for name, (_, origin) in sorted((part.origins or {}).items())]
        values = (getattr(part, field.name) for field in dataclasses.fields(part))
        inner = (each for one in values for each in (one if isinstance(one, tuple) else (one,)))
        return *found, *(origins(each) for each in inner if isinstance(each, CasePart))

    def fresh(case, **options):
        return compare(case, plain_energy, lambda site: zone, **options)

    kept = functools.lru_cache(maxsize=16)(lambda case, _origins, **options: fresh(case, **options))

    @functools.wraps(fresh)  # which benches call, as `__wrapped__`
    def answered(case, **options):
        return kept(case, origins(case), **options)

    return answered


@pytest.fixture(scope="session")
def flat_case(flat_roof):
    """Membranes against a retrofit on the flat roof, without fees and disruption."""
    from lcc.case import Case, DutyPrices, Prices, Site

    no_fees = DutyPrices(on_costs_rate=0.0, structure_rate=0.0, warranty_per_m2=0.0)
    return Case(
        site=Site(climate="tulsa-ok"),
        roof=flat_roof,
        prices=Prices(disruption_per_m2=0.0, duties=no_fees),
    )


class _Form(HTMLParser):
    """Reads what a browser would send of a form, from its HTML."""

    def __init__(self, form_id):
        super().__init__()
        self.form_id, self.inside, self.select, self.area = form_id, False, None, None
        self.pairs = []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self.inside = given.get("id") == self.form_id
        elif not self.inside or "disabled" in given:
            return
        elif tag == "input" and given.get("name") and given.get("type") != "file":
            if given.get("type") not in ("checkbox", "radio") or "checked" in given:
                self.pairs.append((given["name"], given.get("value", "")))
        elif tag == "select":
            self.select = [given["name"], None]
        elif tag == "option" and self.select and (self.select[1] is None or "selected" in given):
            self.select[1] = given.get("value", "")
        elif tag == "textarea":
            self.area = [given["name"], ""]

    def handle_data(self, data):
        if self.area:
            self.area[1] += data

    def handle_endtag(self, tag):
        if tag == "form":
            self.inside = False
        elif tag == "select" and self.select:
            self.pairs.append(tuple(self.select))
            self.select = None
        elif tag == "textarea" and self.area:
            self.pairs.append(tuple(self.area))
            self.area = None


@pytest.fixture(scope="session")
def form_in():
    """Read the entries that the case form of a page would send."""
    from werkzeug.datastructures import MultiDict

    def read(html):
        parser = _Form("case")
        parser.feed(html)
        return MultiDict(parser.pairs)

    return read


@pytest.fixture(scope="session")
def demo_document():
    """The demo case's document, asking for random draws as the page does; nobody changes it."""
    from web import pages

    document = pages.demo()
    yield document
    assert document == pages.demo()


@pytest.fixture(scope="session")
def ended():
    """Return a function that waits until a submitted job has ended."""
    from api.jobs.job_folder import ENDED

    def wait(client, reply, seconds=120.0):
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            state = client.get(reply.headers["Location"]).json
            if state["state"] in ENDED:
                return state
            time.sleep(0.05)
        raise AssertionError(state)

    return wait


@pytest.fixture(scope="session")
def web_app():
    """The service with its pages."""
    import web

    return web.create_app({"TESTING": False})


@pytest.fixture
def page_client(web_app):
    """A client of the pages, without a browser."""
    return web_app.test_client()


def _read_whole(file, _size=0):
    """Return a file's bytes, closed before any is sent: a browser may leave in the middle."""
    with file:
        return [file.read()]


@pytest.fixture(scope="session")
def site(web_app):
    """The address of the pages, served on this machine for as long as the tests run."""
    from werkzeug.serving import make_server

    def app(environ, start_response):
        return web_app(environ | {"wsgi.file_wrapper": _read_whole}, start_response)

    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture(scope="session")
def pdf_text():
    """Return a function from a PDF to its words in the order they are written, cell by cell."""

    def words(pdf):
        done = subprocess.run(
            ["pdftotext", "-raw", "-", "-"], input=pdf, capture_output=True, check=True
        )
        return " ".join(done.stdout.decode().replace("\u200b", "").split())

    return words


BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")


def browser_path():
    """Return where a Chromium is installed, which the tests of the pages need."""
    return os.environ.get("ROOF_LCC_CHROMIUM") or next(filter(None, map(shutil.which, BROWSERS)))


@pytest.fixture(scope="session")
def chromium_path():
    """Where the browser is."""
    return browser_path()


@pytest.fixture(scope="session")
def browsers():
    """What starts browsers: one for a process, since it keeps a loop of its own."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        yield playwright.chromium


@pytest.fixture(scope="session")
def chromium(browsers):
    """A headless Chromium."""
    flags = (
        "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
        "--disable-background-networking", "--disable-component-update",
    )  # fmt: skip
    browser = browsers.launch(executable_path=browser_path(), args=flags)
    yield browser
    browser.close()


LIVE_CHART = ".picture .live:not(.arriving) svg"
WATCH = """
window.violations = [];
document.addEventListener("securitypolicyviolation", (one) =>
  window.violations.push(`${one.violatedDirective} ${one.blockedURI}`));
"""


OPEN = """() => { for (const one of document.querySelectorAll("#case-panel, .part"))
  one.open = true; }"""


class Visit:
    """A tab, and everything that went wrong in it."""

    def __init__(self, page, site):
        self.page, self.site = page, site
        self.wrong, self.outside = [], []
        page.on("pageerror", lambda error: self.wrong.append(str(error)))
        page.on("dialog", lambda dialog: (self.wrong.append(dialog.message), dialog.dismiss()))
        page.on("console", lambda said: said.type == "error" and self.wrong.append(said.text))
        page.on("request", self._request)
        page.on("response", lambda one: one.status == 404 and self.wrong.append(one.url))
        page.add_init_script(WATCH)

    def _request(self, request):
        if not request.url.startswith((self.site, "data:", "blob:")):
            self.outside.append(request.url)

    def open(self, path="/", live=True, opened=True):
        """Go to a page; with `live`, wait for its first live chart, with `opened`, open it all."""
        self.page.goto(self.site + path)
        if live:
            self.page.wait_for_selector(LIVE_CHART)
        if opened:
            self.expand()
        return self.page

    def expand(self):
        """Open the case and every heading."""
        self.page.evaluate(OPEN)

    def menu(self, role, name):
        """Choose something from the page's menu."""
        self.page.evaluate("document.querySelector('#more').showPopover()")
        self.page.locator("#more").get_by_role(role, name=name).click()

    def headline(self):
        """Return the answer's headline."""
        return self.page.inner_text("#headline")

    def settled(self):
        """Wait until no answer is under way and the random draws have come."""
        self.page.wait_for_function("() => !document.querySelector('[aria-busy=true], .stale')")


QUIET = 0.75  # processes that wait for each processor, at most
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
RUN_AXE = """async (exclude) => (await axe.run({ exclude }, { preload: false,
  runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
  resultTypes: ["violations"] })).violations
  .map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html)}`)"""


@pytest.fixture(scope="session")
def barriers():
    """Return a function that runs axe-core on a page at some widths, which it opens with."""

    def run(page, whole):
        """Run it, where not on the whole on three rows of each table and no insides of charts."""
        if not page.evaluate("Boolean(window.axe)"):
            page.evaluate(AXE)
        result = page.evaluate(RUN_AXE, [] if whole else [".picture > *", "tr:nth-child(n + 4)"])
        return [fault[:400] for fault in result]

    def found(page, widths, whole=False):
        faults = []
        for width in widths:
            page.set_viewport_size({"width": width, "height": 900})
            faults += [f"{width}: {one}" for one in run(page, whole and width == widths[0])]
        page.set_viewport_size({"width": widths[0], "height": 900})
        return faults

    return found


@pytest.fixture(scope="session")
def assert_quick():
    """Return a function that holds the median of some times [ms] to a bound on a quiet machine.

    On a machine with other work each processor waits for more than one process: then time on the
    clock says nothing of the page, and the CPU time of a move (test_web_pages) is what counts.
    """

    def check(took, bound):
        if os.getloadavg()[0] < QUIET * (os.cpu_count() or 1):
            assert statistics.median(took) <= bound

    return check


@pytest.fixture
def visiting(chromium, site):
    """Open tabs whose troubles are asserted to be none when they are left."""

    @contextmanager
    def visit(width=1280, height=900, **options):
        viewport = {"width": width, "height": height}
        context = chromium.new_context(viewport=viewport, **options)
        context.set_default_timeout(60_000)  # the machine may be shared
        one = Visit(context.new_page(), site)
        yield one
        if options.get("java_script_enabled", True):
            one.wrong += one.page.evaluate("window.violations")
        context.close()
        assert one.wrong == []
        assert one.outside == []

    return visit
