"""What stands where on the page: measured boxes in a real browser, under two sets of fonts."""

import copy
import functools
import io
import json
import os
import re
from pathlib import Path

import pytest

from web import new_roof, pages

pytestmark = pytest.mark.browser

FONTS = Path("/usr/share/fonts/truetype")
CONFIG = """<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig><dir>{folder}</dir><cachedir>{cache}</cachedir></fontconfig>"""
BOX = """(query) => { const found = document.querySelector(query);
  if (!found || !found.checkVisibility()) return null;
  const { top, bottom, left, right, height } = found.getBoundingClientRect();
  return { top, bottom, left, right, height }; }"""
# Words of the chart that is seen: which overlap, leave the picture, or are struck through.
WORDS = """() => {
  const svg = [...document.querySelectorAll("#payback .picture svg")]
    .find((one) => one.checkVisibility());
  const frame = svg.getBoundingClientRect();
  const seen = (one) => one.textContent && one.getAttribute("stroke") === null
    && +getComputedStyle(one).opacity > 0 && getComputedStyle(one).stroke === "none";
  const words = [...svg.querySelectorAll("text")].filter(seen)
    .map((one) => ({ text: one.textContent, box: one.getBoundingClientRect() }))
    .filter((one) => one.box.width > 0);
  const wrong = [];
  const meet = (a, b, by) => a.left + by < b.right && b.left + by < a.right
    && a.top + by < b.bottom && b.top + by < a.bottom;
  words.forEach((one, place) => {
    if (one.box.left < frame.left - 1 || one.box.right > frame.right + 1
      || one.box.top < frame.top - 1 || one.box.bottom > frame.bottom + 1)
      wrong.push(`cut: ${one.text}`);
    for (const other of words.slice(place + 1))
      if (meet(one.box, other.box, 1.5)) wrong.push(`over each other: ${one.text} | ${other.text}`);
  });
  const lines = [...svg.querySelectorAll("path[fill='none'][stroke-width='2.25']")];
  for (const line of lines) {
    if (line.getAttribute("stroke") === "#b9c3cb") continue; // the others, in grey
    const at = line.getScreenCTM();
    for (let d = 0, end = line.getTotalLength(); d < end; d += 3) {
      const point = line.getPointAtLength(d).matrixTransform(at);
      for (const { text, box } of words)
        if (point.x > box.left + 2 && point.x < box.right - 2
          && point.y > box.top + 4 && point.y < box.bottom - 4)
          wrong.push(`struck through: ${text}`);
    }
  }
  return [...new Set(wrong)];
}"""


def _demo(document):
    return document


def _twenty(document):
    """Twenty alternatives with long names."""
    retrofit, coating = document["alternatives"]
    document["alternatives"] = [
        {**copy.deepcopy(retrofit if n % 2 else coating), "name": f"{n + 1}: {'a long name ' * 5}"}
        for n in range(20)
    ]
    for one in document["alternatives"]:
        one.pop("framing", None)
    document["uncertainty"] = {"draws": 200}
    return document


def _hundred_million(document):
    document["roof"]["area"] = 5_000_000.0
    document["alternatives"][0].pop("framing")
    document["uncertainty"] = {"draws": 200}
    return document


def _one_million(document):
    document["roof"]["area"] = 31_000.0
    document["alternatives"][0].pop("framing")
    document["base_case"]["price"] = 9.0
    return document


def _first(document):
    """A new roof of which only place and size are known."""
    roof = {"units": "ip", "site": {"place": "74103"}, "roof": {"area": 42_000.0}}
    kinds = {"base_case": {"kind": "membrane"}, "alternatives": [{"kind": "metal-retrofit"}]}
    return new_roof.completed({**roof, **kinds, "uncertainty": {"draws": 200}}, "")


def _two(document):
    """Two alternatives, an early payback, and a study period that ends near a tick."""
    document = _first(document)
    document["economics"] = {"study_period": 30, "discount_rate": 0.07}
    document["base_case"]["price"] = 14.0
    document["alternatives"][0]["price"] = 16.0
    other = {"kind": "metal-retrofit", "price": 18.0, "name": "A second bidder for the metal"}
    document["alternatives"].append(other)
    return document


CASES = {"demo": _demo, "twenty": _twenty, "100M": _hundred_million, "1M": _one_million,
         "first": _first, "two": _two}  # fmt: skip


THOROUGH = pytest.mark.thorough
SOME = [pytest.param(name, marks=THOROUGH if name != "demo" else ()) for name in CASES]


@pytest.fixture(scope="module", params=["dejavu", pytest.param("liberation", marks=THOROUGH)])
def fonted(request, tmp_path_factory, chromium_path, browsers):
    """A browser that knows one family of fonts only."""
    folder = FONTS / request.param
    if not folder.is_dir():
        pytest.skip(f"{request.param} is not installed here")
    home = tmp_path_factory.mktemp("fonts")
    config = home / "fonts.conf"
    config.write_text(CONFIG.format(folder=folder, cache=home / "cache"), encoding="utf-8")
    browser = browsers.launch(
        executable_path=chromium_path, args=("--no-sandbox", "--disable-gpu"),
        env={**os.environ, "FONTCONFIG_FILE": str(config)},
    )  # fmt: skip
    yield browser
    browser.close()


@pytest.fixture(scope="module")
def answered(web_app):
    """Return a function that gives the page of a case as the server makes it, each once."""
    client = web_app.test_client()

    @functools.cache
    def page(name):
        text = json.dumps(CASES[name](copy.deepcopy(pages.demo()))).encode()
        reply = client.post("/open", data={"file": (io.BytesIO(text), "case.json")})
        assert reply.status_code == 200, name
        return reply.text, dict(reply.headers)

    return page


def _look(browser, site, answered, width, height, **options):
    """A tab on the page of a case, without its live part: what the server drew."""
    html, headers = answered
    context = browser.new_context(
        viewport={"width": width, "height": height}, java_script_enabled=True, **options
    )
    tab = context.new_page()
    tab.route("**/page.js", lambda route: route.fulfill(body="", content_type="text/javascript"))
    tab.route("**/looked-at", lambda route: route.fulfill(body=html, headers=headers))
    tab.goto(f"{site}/looked-at")
    return tab


@pytest.mark.parametrize("name", SOME)
def test_the_first_screen_is_the_answer(fonted, site, answered, name):
    """1366 by 768: sentence of two lines, four figures, the chart whole; closed, 2,400 px long."""
    tab = _look(fonted, site, answered(name), 1366, 768)
    headline, chart = tab.evaluate(BOX, "#headline"), tab.evaluate(BOX, "#payback")
    line = float(tab.evaluate("parseFloat(getComputedStyle(headline).lineHeight)"))
    assert headline["height"] <= 2.1 * line
    assert chart["bottom"] <= 768
    assert tab.locator(".keys > div").count() == 4
    assert tab.evaluate("document.documentElement.scrollHeight") <= 2400
    assert tab.evaluate("document.documentElement.scrollWidth") <= 1366
    assert tab.evaluate(WORDS) == []
    tab.context.close()


@pytest.mark.thorough
@pytest.mark.parametrize(("width", "height"), [(1366, 768), (820, 1180), (390, 844)])
@pytest.mark.parametrize("name", SOME)
def test_the_owners_view_is_whole_too(fonted, site, answered, name, width, height):
    """Larger letters, no form and no tools; chart whole in the first screen where it is wide.

    Names of a headline are whole, so a long one takes a third of these lines.
    """
    tab = _look(fonted, site, answered(name), width, height)
    tab.evaluate("document.body.classList.add('owner')")
    headline, chart = tab.evaluate(BOX, "#headline"), tab.evaluate(BOX, "#payback .picture")
    line = float(tab.evaluate("parseFloat(getComputedStyle(headline).lineHeight)"))
    assert tab.evaluate(BOX, "#case") is None
    assert tab.evaluate(BOX, ".tools") is None
    if width == 1366:
        long = len(tab.inner_text("#headline")) > 180
        assert headline["height"] <= (3.1 if long else 2.1) * line
        assert chart["bottom"] <= height
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    assert tab.evaluate(WORDS) == []
    tab.context.close()


@pytest.mark.thorough
@pytest.mark.parametrize(("width", "height"), [(820, 1180), (390, 844)])
@pytest.mark.parametrize("name", SOME)
def test_answer_and_chart_come_before_the_form(fonted, site, answered, name, width, height):
    """The case opens above them by a button, and nothing is cut, covered or struck through."""
    tab = _look(fonted, site, answered(name), width, height)
    headline, chart = tab.evaluate(BOX, "#headline"), tab.evaluate(BOX, "#payback")
    assert tab.evaluate(BOX, "#case") is None
    assert headline["top"] < chart["top"] < height
    if width == 390:  # what else to read takes a line, the chart shows
        assert tab.evaluate(BOX, ".disagree > summary")["height"] <= 40
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    assert tab.evaluate(WORDS) == []
    tab.get_by_text("Change the case", exact=True).click()
    form = tab.evaluate(BOX, "#case")
    assert form["bottom"] <= tab.evaluate(BOX, "#headline")["top"]
    assert tab.evaluate(BOX, ".go.above button")["bottom"] <= height
    assert tab.evaluate(BOX, ".go:not(.above) button")["bottom"] <= form["bottom"]
    tab.context.close()


OUT_OF_SIGHT = """() => {
  for (const one of document.querySelectorAll(".part")) one.open = true;
  return [...document.querySelectorAll(".parts .scroll:has(.own)")].map((table) => {
    const { left, right } = table.getBoundingClientRect();
    const out = [...table.querySelectorAll(".own")].map((one) => one.getBoundingClientRect())
      .filter((box) => box.left < left - 1 || box.right > right + 1);
    return [table.getAttribute("aria-label"), out.length];
  });
}"""


@pytest.mark.parametrize("name", ["demo", pytest.param("twenty", marks=THOROUGH)])
def test_a_phone_shows_the_roof_that_the_answer_speaks_of_in_every_table(
    fonted, site, answered, name
):
    """Each figure stands with its title, so no table goes on to the right, nor is a row endless."""
    tab = _look(fonted, site, answered(name), 390, 844)
    tables = dict(tab.evaluate(OUT_OF_SIGHT))
    assert {"Where the money goes, table", "Measures, table"} <= set(tables)
    assert set(tables.values()) == {0}
    heights = "all => all.map((one) => one.offsetHeight)"
    if name == "demo":
        assert max(tab.locator(".measures tbody tr").evaluate_all(heights)) <= 130
    lines = tab.locator(".measures td").evaluate_all(heights)
    assert max(lines) <= 64  # px; three lines of a name
    cut = "all => all.filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.id)"
    assert tab.locator(".parts .scroll").evaluate_all(cut) == []
    last = tab.locator("#turning tbody tr:first-child td:last-child")
    assert last.evaluate("td => getComputedStyle(td, '::before').content") == '"Range tried"'
    narrow = tab.locator(".parts :is(td, thead th)").evaluate_all(
        "all => all.filter((one) => one.offsetWidth && one.offsetWidth < 40).length"
    )
    assert narrow == 0  # px; no column of one letter a line, however many roofs
    tab.context.close()


def test_twenty_roofs_that_differ_in_price_alone_are_no_wall_of_words(answered):
    """What holds for many is said once, with their names; the line of a heading stays a line."""
    html = answered("twenty")[0]
    (line,) = re.findall(r'data-region="what-if-told">(.*?)</span>', html)
    assert line.count("the answer changes if") == 3
    assert "So it does for 6 more." in line
    assert len(re.findall("does (?:the|each) price include", html)) == 3
    assert html.count(" not tear off the old roofs and dispose of them (") <= 2
