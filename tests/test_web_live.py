"""What the live page keeps, tells and follows, in a real browser."""

import json
import re
from pathlib import Path

import pvlib
import pytest

pytestmark = pytest.mark.browser

WEATHER = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
INSULATION = "#w-alternatives-0-layers-0-thickness"
PRICE = "#f-alternatives-0-price"
SLIDERS = """() => Object.fromEntries([...document.querySelectorAll(".slider input")].map((one) =>
  [one.id.replace("w-", ""), { low: +one.min, high: +one.max, step: +one.step, at: +one.value,
    entry: +document.getElementById(one.dataset.entry).value ||
      +document.getElementById(one.dataset.entry).placeholder,
    told: one.closest(".slider").querySelector("output").textContent.trim(),
    spoken: one.getAttribute("aria-valuetext") }]))"""

TYPED = """(field) => {
  const entry = document.querySelector(field);
  entry.value = "19";
  for (const what of ["input", "change"]) entry.dispatchEvent(new Event(what, { bubbles: true }));
  return document.querySelector("#answer").matches(".waiting");
}"""


def _enter(visit, field, text):
    visit.expand()
    with visit.page.expect_response("**/answer"):
        visit.page.fill(field, text)
        visit.page.press(field, "Tab")
    visit.page.wait_for_function("() => !document.querySelector('[aria-busy=true]')")


def _press_key(visit, slider, key):
    visit.expand()
    visit.page.focus(slider)
    with visit.page.expect_response("**/answer"):
        visit.page.keyboard.press(key)
    visit.page.wait_for_function("() => !document.querySelector('[aria-busy=true]')")


def _assert_true(sliders):
    """Every slider stands where its entry is, on a step of its range, and says so."""
    for name, one in sliders.items():
        assert one["at"] == pytest.approx(one["entry"]), name
        assert one["low"] <= one["at"] <= one["high"], name
        told = float(re.match(r"\$?([\d.]+)", one["told"])[1])
        assert told == pytest.approx(one["entry"], rel=5e-3), name  # as people say it: 76 mm
        assert one["spoken"] == one["told"].strip(), name


@pytest.mark.thorough
def test_sliders_change_their_units_and_ranges_with_the_case(visiting, tmp_path):
    """By the button, by a price beyond the range, by a file in SI, and by a reload."""
    with visiting(accept_downloads=True) as visit:
        page = visit.open()
        visit.settled()
        _assert_true(page.evaluate(SLIDERS))
        _enter(visit, PRICE, "40")
        sliders = page.evaluate(SLIDERS)
        _assert_true(sliders)
        assert sliders["alternatives-0-price"]["high"] >= 60
        _enter(visit, PRICE, "15.5")
        page.get_by_role("button", name="m, °C").click()
        page.wait_for_function("() => document.querySelector('#f-roof-area').value === '2229.673'")
        visit.settled()
        sliders = page.evaluate(SLIDERS)
        _assert_true(sliders)
        assert sliders["alternatives-0-price"]["told"].endswith("/m²")
        thickness = sliders["alternatives-0-layers-0-thickness"]
        assert thickness["told"] == "152 mm"
        assert thickness["high"] < 370
        _press_key(visit, INSULATION, "ArrowRight")
        assert page.input_value("#f-alternatives-0-layers-0-thickness") == "162.4"
        assert page.locator(".stale").count() == 0
        page.reload()
        page.wait_for_function("() => document.querySelector('#f-roof-area').value === '2229.673'")
        visit.settled()
        _assert_true(page.evaluate(SLIDERS))
        with page.expect_download() as saving:
            visit.menu("button", "Save case file")
        saving.value.save_as(tmp_path / "si.json")
    with visiting() as other:
        page = other.open()
        page.set_input_files("[data-open-file]", tmp_path / "si.json")
        page.wait_for_function("() => document.querySelector('#f-roof-area').value === '2229.673'")
        other.settled()
        sliders = page.evaluate(SLIDERS)
        _assert_true(sliders)
        assert sliders["alternatives-0-layers-0-thickness"]["told"] == "162 mm"


@pytest.mark.thorough
def test_a_way_back_leads_to_where_a_slider_was(visiting):
    """0.118 $/kWh lies between round steps; right and left again must not leave 0.12."""
    with visiting() as visit:
        page = visit.open()
        visit.settled()
        for name in page.evaluate(SLIDERS):
            before = page.evaluate(SLIDERS)[name]["entry"]
            _press_key(visit, f"#w-{name}", "ArrowRight")
            assert page.evaluate(SLIDERS)[name]["entry"] != before
            _press_key(visit, f"#w-{name}", "ArrowLeft")
            assert page.evaluate(SLIDERS)[name]["entry"] == pytest.approx(before), name


@pytest.mark.parametrize(
    ("form", "step"),
    [
        ("new roof", 3),
        *(
            pytest.param(one, 1, marks=pytest.mark.thorough)
            for one in ("new roof", "all entries", "demo")
        ),
    ],
)
def test_every_slider_of_every_form_moves_its_words_and_the_answer(visiting, form, step):
    """A new roof too, whose questions ask for fewer figures than sliders move.

    Of its seven sliders every third by default.
    """
    with visiting(width=1366, height=768) as visit:
        page = visit.open("/" if form == "demo" else "/new", live=form == "demo", opened=False)
        if form != "demo":
            _enter(visit, "[name='site.place']", "87102")
            _enter(visit, "[name='roof.area']", "14,800")
        if form == "all entries":
            page.get_by_role("button", name="All entries of the case").click()
            page.wait_for_selector("#case [name='document']", state="attached")
        visit.settled()
        names = page.evaluate(SLIDERS)
        assert len(names) == 8
        for name in [*names][::step]:
            before, answer = page.evaluate(SLIDERS)[name], visit.headline()
            _press_key(visit, f"#w-{name}", "Home")
            after = page.evaluate(SLIDERS)[name]
            assert after["told"] != before["told"], name
            assert after["at"] == pytest.approx(after["low"]), name
            assert visit.headline() != answer, name
            assert page.is_enabled(".history [data-undo]"), name
            with page.expect_response("**/answer"):
                page.click(f".slider:has(#w-{name}) [data-reset]")
            visit.settled()
            assert page.evaluate(SLIDERS)[name]["told"] == before["told"], name


@pytest.mark.thorough
def test_the_insulation_ends_at_what_fits_under_the_panel(visiting):
    """And a fault that comes while a slider moves stands beneath it and is announced."""
    with visiting() as visit:
        page = visit.open()
        visit.settled()
        _press_key(visit, INSULATION, "End")
        assert page.locator(".stale").count() == 0
        assert "Adds R 4" in page.inner_text(f".slider:has({INSULATION}) small")
        page.evaluate("document.querySelector('#more-alternative-0').open = true")
        _enter(visit, "#f-alternatives-0-framing-lowest_post", "0.6")
        page.evaluate("document.querySelector('#more-alternative-0').open = false")
        _press_key(visit, INSULATION, "ArrowLeft")
        fault = page.locator(f".slider:has({INSULATION}) .fault")
        assert fault.is_visible()
        assert "under the panel at the eave" in fault.inner_text()
        assert fault.inner_text() in page.inner_text("#status")
        note = page.locator(".stale-note")
        assert 0 <= note.bounding_box()["y"] < 900
        assert fault.inner_text() in note.inner_text()  # which entry it waits for
        _press_key(visit, INSULATION, "Home")
        assert page.locator(".fault, .stale").count() == 0
        assert page.inner_text("#status") == visit.headline()
        assert page.evaluate(TYPED, PRICE)  # grey at once, not when the answer comes
        visit.settled()
        assert page.locator("#answer.waiting").count() == 0


@pytest.mark.thorough
def test_a_typed_fault_opens_what_hides_it(visiting):
    """Insulation that no longer fits is reported at the survey's own entry, in a closed part."""
    with visiting() as visit:
        page = visit.open()
        visit.settled()
        _press_key(visit, INSULATION, "End")
        assert not page.locator("#more-alternative-0").get_attribute("open")
        _enter(visit, "#f-alternatives-0-name", "Roof")
        page.evaluate(
            "document.querySelector('#f-alternatives-0-framing-lowest_post').value = '0.6'"
        )
        _enter(visit, "#f-alternatives-0-name", "Metal roof")
        assert page.locator("#f-alternatives-0-framing-insulation_thickness-fault").is_visible()


def _shared(visit):
    visit.menu("button", "Copy link")
    visit.page.wait_for_selector("#share-link:not([hidden])")
    return visit.page.input_value("#share-link")


def _price_is(page, text):
    page.wait_for_function(f"(id) => document.querySelector(id).value === '{text}'", arg=PRICE)


def _looked_at(visit, link):
    """Follow a link to the demo case from elsewhere, and wait for its answer."""
    visit.page.goto("about:blank")
    visit.page.goto(link)
    _price_is(visit.page, "15.5")
    visit.settled()


@pytest.mark.thorough
def test_an_edited_link_is_kept_and_the_own_case_is_not_lost(visiting):
    """Looking at a link changes nothing; its edited case survives a reload, the own one beside."""
    with visiting() as visit:
        page = visit.open()
        visit.settled()
        link = _shared(visit)
        _enter(visit, PRICE, "20")
        _looked_at(visit, link)
        visit.open()
        _price_is(page, "20")
        _looked_at(visit, link)
        _enter(visit, PRICE, "21")
        page.reload()
        _price_is(page, "21")
        visit.settled()
        assert page.input_value(PRICE) == "21"
        visit.menu("button", "Back to the case before")
        _price_is(page, "20")


@pytest.mark.thorough
@pytest.mark.parametrize("text", ["20", "-1"])
def test_what_no_answer_has_taken_in_survives_a_reload(visiting, text):
    """Typed and not left, so that nothing was asked yet; and a fault, with what is beside it."""
    with visiting() as visit:
        page = visit.open(live=False)
        visit.settled()
        said = visit.headline()
        visit.expand()
        page.fill(PRICE, text)
        page.reload()
        _price_is(page, text)
        if text == "-1":
            page.wait_for_selector(f"{PRICE}[aria-invalid]", state="attached")
            return
        page.wait_for_function(
            "(said) => document.querySelector('#headline').innerText !== said", arg=said
        )


@pytest.mark.thorough
def test_what_is_typed_before_the_kept_case_has_come_stays(visiting):
    with visiting() as visit:
        page = visit.open(live=False)
        visit.settled()
        _enter(visit, "#f-name", "Hall")
        page.reload(wait_until="commit")
        page.wait_for_selector(PRICE, state="attached")
        visit.expand()
        page.fill(PRICE, "21")
        page.wait_for_function("() => document.querySelector('#f-name').value === 'Hall'")
        visit.settled()
        assert page.input_value(PRICE) == "21"
        assert page.input_value("#f-name") == "Hall"


@pytest.mark.thorough
def test_a_link_is_of_what_is_shown_or_none(visiting):
    """It goes when the case changes, waits for the answer, and is refused for a fault."""
    with visiting() as visit:
        page = visit.open()
        visit.settled()
        first = _shared(visit)
        _enter(visit, PRICE, "20")
        assert not page.locator("#share-link").is_visible()
        page.fill(PRICE, "21")
        assert _shared(visit) != first
        _enter(visit, PRICE, "-1")
        visit.menu("button", "Copy link")
        page.wait_for_selector("#notice:not([hidden])")
        assert "Correct the marked entries" in page.inner_text("#notice")
        assert not page.locator("#share-link").is_visible()
        _enter(visit, PRICE, "15.5")
        assert not page.locator("#notice").is_visible()


@pytest.mark.thorough
def test_compare_leads_to_the_answer_on_a_phone(visiting):
    with visiting(360, 740) as visit:
        page = visit.open(live=False)
        page.wait_for_selector("#what-if .whatif:not([hidden])")
        visit.settled()
        page.get_by_role("button", name="Show the answer", exact=True).last.click()
        page.wait_for_function("() => document.activeElement.id === 'headline'")
        box = page.locator("#headline").bounding_box()
        assert 0 <= box["y"] < 740 - box["height"]


@pytest.mark.thorough
def test_without_javascript_a_new_layer_is_seen_and_nothing_dead_is(visiting):
    with visiting(java_script_enabled=False) as visit:
        page = visit.open("/?all=yes", live=False)
        for dead in ("[data-share]", "[data-before]", "#share-link", "#notice"):
            assert not page.locator(dead).is_visible()
        page.locator("#more-roof > summary").click()
        page.get_by_role("button", name="Add a layer").first.click()
        page.wait_for_load_state()
        assert page.locator("#f-roof-layers-4-material").is_visible()
        page.get_by_role("button", name="Remove Layer 5").click()
        page.wait_for_load_state()
        assert page.locator("#f-roof-layers-3-material").is_visible()
        assert page.locator("#f-roof-layers-4-material").count() == 0


@pytest.mark.thorough
def test_a_weather_file_does_not_come_back_at_a_move(visiting, assert_quick):
    """It goes up as it is, the answer leaves it out, and the page still keeps it."""
    with visiting() as visit:
        page = visit.open()
        visit.settled()
        page.locator("#more-building > summary").click()
        page.get_by_role("button", name="Add Weather file").click()
        page.wait_for_selector("#case input[type=file]")
        page.set_input_files("#case input[type=file]", WEATHER)
        page.wait_for_function(
            "() => document.querySelector('[name=\"site.weather.text\"]')?.value.length > 1e6"
        )
        visit.settled()
        with page.expect_response("**/answer") as answered:
            page.focus("#w-economics-discount_rate")
            page.keyboard.press("ArrowRight")
        reply = answered.value.json()
        assert reply["moving"]
        assert reply["document"]["site"]["weather"] == {"name": WEATHER.name}
        sent = answered.value.request.headers["content-type"]
        assert sent == "application/x-form-and-weather"
        visit.settled()
        kept = json.loads(page.evaluate("localStorage['roof-life-cycle-cost.case']"))
        text = WEATHER.read_text(encoding="utf-8")
        assert kept["site"]["weather"]["text"].split() == text.split()
        assert kept["economics"]["discount_rate"] == 0.0325
        took = [_asked(page, key) for key in ("ArrowRight", "ArrowLeft", "ArrowRight")]
        assert_quick(took, 140)


def _asked(page, key):
    """Milliseconds from a key to the answer in the page."""
    page.focus("#w-economics-discount_rate")
    page.evaluate("""() => { window.from = performance.now(); window.took = null;
      new MutationObserver((_, watch) => { watch.disconnect();
        window.took = performance.now() - window.from; })
        .observe(document.querySelector("[data-region=verdict]"), { childList: true }); }""")
    page.keyboard.press(key)
    page.wait_for_function("() => window.took !== null")
    return page.evaluate("window.took")
