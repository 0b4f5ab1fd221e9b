"""Every state that the page of a case can be in: owner's view, undone, started again, zoomed."""

import re

import pytest

pytestmark = pytest.mark.browser

WIDTHS = (1280, 768, 360)
PRICE = "#f-alternatives-0-price"
SLIDER = "#w-economics-discount_rate"
RATE = "#f-economics-discount_rate"


def _enter(visit, field, text):
    visit.expand()
    with visit.page.expect_response("**/answer"):
        visit.page.fill(field, text)
        visit.page.press(field, "Tab")
    visit.settled()


def _reads(page, field, text):
    page.wait_for_function(
        "([field, text]) => document.querySelector(field)?.value === text", arg=[field, text]
    )


@pytest.mark.thorough
def test_the_owners_view_is_the_answer_what_if_why_and_how_sure(visiting):
    """No form, no tools; larger words, the chart in the first screen; and a way back."""
    with visiting(width=1366, height=768) as visit:
        page = visit.open(opened=False)
        visit.settled()
        size = "parseFloat(getComputedStyle(headline).fontSize)"
        before = page.evaluate(size)
        visit.menu("button", "Owner’s view")
        assert page.evaluate("document.activeElement.id") == "headline"
        assert page.evaluate(size) > 1.2 * before
        for gone in ("#case", ".tools", "nav", "#heat", "#the-roof", "#rests"):
            assert not page.locator(gone).first.is_visible(), gone
        box = page.locator("#payback .picture").bounding_box()
        assert box["y"] + box["height"] <= 768
        page.locator("#what-if > summary").click()
        answer = visit.headline()
        page.focus(SLIDER)
        with page.expect_response("**/answer"):
            page.keyboard.press("End")
        visit.settled()
        assert visit.headline() != answer
        page.locator("#how-sure > summary").click()
        assert page.locator("#spread").is_visible()
        page.get_by_role("button", name="Back to all of it").click()
        assert page.evaluate("document.activeElement.id") == "more-button"
        assert page.locator(".tools").is_visible()


@pytest.mark.thorough
def test_undo_and_redo(visiting):
    """One step back and forth for each entry, with its answer."""
    with visiting() as visit:
        page = visit.open()
        visit.settled()
        first = visit.headline()
        undo, redo = (page.get_by_role("button", name=name, exact=True).first
                      for name in ("Undo", "Redo"))  # fmt: skip
        assert undo.is_disabled()
        assert redo.is_disabled()
        _enter(visit, PRICE, "20")
        _enter(visit, PRICE, "21")
        last = visit.headline()
        for price in ("20", "15.5"):
            undo.click()
            _reads(page, PRICE, price)
            visit.settled()
        assert visit.headline() == first
        assert undo.is_disabled()
        for price in ("20", "21"):
            redo.click()
            _reads(page, PRICE, price)
            visit.settled()
        assert visit.headline() == last
        page.locator("#case-panel").evaluate("one => { one.open = false; }")
        assert undo.is_visible()
        assert redo.is_visible()


@pytest.mark.thorough
def test_undo_and_redo_of_a_new_roof_by_keys(visiting):
    """Its two prices and a slider, the questions still asked; letters are the browser's."""
    with visiting(width=1366, height=768) as visit:
        page = visit.open("/new", live=False, opened=False)
        page.fill("[name='site.place']", "61602")
        _enter(visit, "[name='roof.area']", "24000")
        price = "[name='base_case.price']"
        seen = []
        for typed in ("14", "7"):
            _enter(visit, price, typed)
            seen.append(visit.headline())
        page.focus("#w-economics-discount_rate")
        with page.expect_response("**/answer"):
            page.keyboard.press("End")
        visit.settled()
        moved = visit.headline()
        for keys, text, told in (("z", "7", seen[1]), ("z", "14", seen[0]), ("y", "7", seen[1])):
            page.keyboard.press(f"Control+{keys}")
            _reads(page, price, text)
            page.wait_for_function("told => headline.textContent === told", arg=told)
            visit.settled()
            assert page.get_by_role("heading", name="A new roof").is_visible()
        page.keyboard.press("Control+Shift+z")
        page.wait_for_function("told => headline.textContent === told", arg=moved)


@pytest.mark.thorough
def test_a_slider_goes_back_to_where_it_was(visiting):
    """Its button is there once it has moved, and only then."""
    with visiting() as visit:
        page = visit.open()
        visit.settled()
        before, answer = page.input_value(RATE), visit.headline()
        back = page.locator(f".slider:has({SLIDER}) [data-reset]")
        assert not back.is_visible()
        for _ in range(3):
            page.focus(SLIDER)
            with page.expect_response("**/answer"):
                page.keyboard.press("ArrowRight")
        visit.settled()
        assert page.input_value(RATE) != before
        with page.expect_response("**/answer"):
            back.click()
        visit.settled()
        assert page.input_value(RATE) == before
        assert visit.headline() == answer
        assert not back.is_visible()


@pytest.mark.thorough
def test_start_again_starts_again_and_can_be_undone(visiting):
    """After an entry the demo comes back, a reload keeps it, and the notice leads back."""
    with visiting() as visit:
        page = visit.open()
        visit.settled()
        _enter(visit, PRICE, "20")
        visit.menu("link", "Start again")
        _reads(page, PRICE, "15.5")
        page.wait_for_selector("#notice:not([hidden])")
        visit.settled()
        page.locator("#notice [data-undo]").click()
        _reads(page, PRICE, "20")
        visit.settled()
        visit.menu("link", "Start again")
        _reads(page, PRICE, "15.5")
        visit.settled()
        page.reload()
        visit.settled()
        _reads(page, PRICE, "15.5")


@pytest.mark.thorough
def test_no_barrier_beside_the_answer(visiting, barriers):
    """Axe-core on owner's view, menu, notice, questions and the documents of the API."""
    with visiting(bypass_csp=True) as visit:
        page = visit.open()
        visit.settled()
        page.evaluate("document.querySelector('#more').showPopover()")
        found = {"menu": barriers(page, WIDTHS)}
        page.keyboard.press("Escape")
        _enter(visit, PRICE, "20")
        visit.menu("link", "Start again")
        page.wait_for_selector("#notice:not([hidden])")
        visit.settled()
        found["notice"] = barriers(page, WIDTHS)
        visit.menu("button", "Owner’s view")
        found["owner"] = barriers(page, WIDTHS)
        visit.open("/new", live=False, opened=False)
        found["new"] = barriers(page, WIDTHS)
        visit.open("/docs", live=False)
        page.wait_for_selector(".opblock-summary")
        found["docs"] = barriers(page, WIDTHS)
        for number in (0, 4, 9):
            page.locator(".opblock-summary-control").nth(number).click()
        page.wait_for_selector(".opblock-body")
        found["docs, opened"] = barriers(page, WIDTHS)
        assert {state: faults for state, faults in found.items() if faults} == {}


SMALL = """() => [...document.querySelectorAll("button, summary, select, input, a")]
  .filter((one) => one.checkVisibility() && one.tabIndex >= 0 && getComputedStyle(one).display !== "inline")
  .map((one) => [one.closest("label") || one, one])
  .map(([area, one]) => ({ box: area.getBoundingClientRect(), name: one.outerHTML.slice(0, 90) }))
  .filter(({ box }) => box.width > 0 && box.height > 0 && box.left >= 0
    && (box.width < 23.9 || box.height < 23.9)).map((one) => one.name)"""  # noqa: E501


@pytest.mark.thorough
@pytest.mark.parametrize("width", [1366, 390])
def test_targets_are_large_enough(visiting, width):
    """WCAG 2.2, 2.5.8: 24 px each way, whatever is not a link in a sentence."""
    with visiting(width) as visit:
        page = visit.open()
        visit.settled()
        page.evaluate("document.querySelector('#more').showPopover()")
        assert page.evaluate(SMALL) == []


CUT = """() => [...document.querySelectorAll("#answer h1, #answer h2, dt, dd b, dd small, summary, .told,"
  + " .tools > *, .disagree")].filter((one) => one.checkVisibility()
  && (one.scrollWidth > one.clientWidth + 1 && getComputedStyle(one).display !== "inline"
    || one.getBoundingClientRect().right > document.documentElement.clientWidth + 1))
  .map((one) => one.outerHTML.slice(0, 120))"""  # noqa: E501


@pytest.mark.thorough
@pytest.mark.parametrize("enlarged", ["zoom", "letters"])
def test_twice_as_large_nothing_is_cut_or_scrolls_sideways(visiting, enlarged):
    """WCAG 1.4.4 and 1.4.10: a browser zoom of 200 %, and letters alone of 200 %."""
    shape = (683, 384) if enlarged == "zoom" else (1366, 768)
    options = {"device_scale_factor": 2} if enlarged == "zoom" else {}
    with visiting(*shape, **options) as visit:
        page = visit.open(opened=False)
        visit.settled()
        if enlarged == "letters":
            page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert page.evaluate("document.documentElement.scrollWidth") <= shape[0]
        assert page.evaluate(CUT) == []
        if enlarged == "zoom":  # set letters do not reach the layout's own breakpoints
            visit.expand()
            assert page.evaluate("document.documentElement.scrollWidth") <= shape[0]


FORCED = """() => {
  const of = (query, name) => getComputedStyle(document.querySelector(query))[name];
  const ground = getComputedStyle(document.body).backgroundColor;
  const lines = [...document.querySelectorAll(".picture .mark-line path")];
  return { ground, headline: of("#headline", "color"), button: of("#more-button", "borderTopWidth"),
    card: of(".keys > div", "borderTopWidth"),
    pressed: [of(".units [aria-pressed=true]", "borderTopWidth"),
      of(".units [aria-pressed=false]", "borderTopWidth")],
    lines: new Set(lines.map((one) => getComputedStyle(one).stroke)).size,
    hidden: lines.filter((one) => getComputedStyle(one).stroke === ground).length }; }"""


@pytest.mark.thorough
def test_forced_colours_keep_what_colours_say(visiting):
    """Edges where grounds are gone, the pressed unit marked, lines of the chart still three."""
    with visiting(forced_colors="active") as visit:
        page = visit.open()
        visit.settled()
        seen = page.evaluate(FORCED)
        assert seen["headline"] != seen["ground"]
        assert float(re.match(r"[\d.]+", seen["button"])[0]) >= 1
        assert float(re.match(r"[\d.]+", seen["card"])[0]) >= 1
        assert seen["pressed"][0] != seen["pressed"][1]
        assert seen["lines"] >= 3
        assert seen["hidden"] == 0


@pytest.mark.thorough
def test_without_javascript_all_entries_new_roofs_and_the_owners_view_are_reached(visiting):
    """Links and buttons of plain HTML lead there."""
    with visiting(java_script_enabled=False) as visit:
        page = visit.open("/", live=False, opened=False)
        page.get_by_text("Change the case", exact=True).click()
        page.locator("#more-building > summary").click()
        page.locator("#more-building a").click()
        assert page.locator("#f-building-wall_u").count() == 1
        page.goto(f"{visit.site}/new")
        page.fill("#f-site-place", "Tulsa, OK")
        page.fill("#f-roof-area", "24000")
        page.get_by_role("button", name="Show the answer", exact=True).last.click()
        assert re.search("less than|more than|about the same", visit.headline())
        page.goto(f"{visit.site}/?view=owner")
        assert page.locator("#payback").is_visible()
        assert not page.locator("#case").is_visible()
