"""Sheets and annex of a surveyed retrofit, whatever of the survey is entered."""

import copy
import json
from fractions import Fraction
from itertools import groupby
from pathlib import Path

import pytest

from api import schemas, service
from lcc import compare
from lcc.case import Framing, Rectangle
from lcc.case.fields import case_name, facts_of
from lcc.case.other_work import OtherWork
from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities import Quantities, of_retrofit
from lcc.stated_case import with_draws
from lcc.units import from_core
from web import format as fmt
from web.format import cut_length
from web.proposal import document as printed
from web.proposal.blocks import text
from web.proposal.crew_sheet import by_length
from web.proposal.engineer_sheet import on_all_posts, posts, retraced
from web.proposal.typesetting import typeset

DEMO = Path(__file__).parents[1] / "data" / "demo" / "case.json"
PART = {
    "roof_level": 3, "slope": 1, "lowest_post": 1.5, "roof_height": 25, "ridge_at": 30,
    "hip_ends": ["left"],
    "deck_slope": 0.1, "deck_drains_to": "front", "parapet_front": 1, "parapet_back": 1,
    "parapet_left": 2, "parapet_right": 2, "bearing_runs": "left-right", "bearing_spacing": 5,
    "bearing_first": 2.5, "ballast": 10,
}  # fmt: skip
SURVEY = {
    "slope": 1, "lowest_post": 1, "post_spacing": 5, "purlin_spacing": 4, "purlin_depth": 6,
    "bracing": False, "brace_spacing": 30, "post_height_limit": 5, "panel_metal": "aluminium",
    "panel_thickness": 0.04, "panel_cover": 16, "panel_girth": 1.3, "trim_girth": 1.5,
    "purlin_stock": 25, "purlin_lap": 1,
    "waste": 0.1, "post_section": 1, "purlin_section": 1, "brace_section": 0.5, "post_base": 4,
    "clip": 0.3, "wall": 2, "ventilator": 90, "curb": 60, "fasteners_per_clip": 3,
    "fasteners_per_post": 6, "fasteners_per_fixed_end": 2, "fixed_point": "middle",
    "clip_travel": 1.25, "laid_at": 60, "insulation_thickness": 6, "insulation_density": 1,
    "air_changes": 8, "ventilator_throat": 1, "inlet_to_outlet": 1.5, "wind": 5, "warmth": 6,
    "rooftop_units": 2, "curbs": 2, "penetrations": 5, "wet_area": 500, "crane_area": 9000,
    "drains": [{"x": 50, "y": 100}],
    "labour_hours": 900, "quotation": 400000, "quotation_from": "a bidder",
}  # fmt: skip
SITE = {
    "basic_wind": 115, "roof_height": 20, "edition": "7-22", "exposure": "B",
    "risk_category": "III",
    "panel_uplift": 60, "edge_ratio": 0.6, "corner_ratio": 0.4, "ground_snow": 25,
}  # fmt: skip
WORK = {
    "skylights_carried": 3, "skylights_covered": 2, "ballast": 10, "torn_off": 5,
    "expansion_joint": 50, "rain_hour": 3.5, "storm_ties": True, "drains_abandoned": 4,
    "ventilator_flow": 500, "ventilator_wind": 5, "access_height": 18, "scaled_set_up": True,
    "general_conditions": True, "productivity": "low", "deck_kind": "steel",
    "asbestos": "found", "solar_panels": "yes", "lightning_protection": "yes",
}  # fmt: skip
ENTRIES = [("part", PART), ("", SURVEY), ("wind_and_snow", SITE), ("other_work", WORK)]
WIND = {"basic_wind": 115, "roof_height": 20}  # zones of wind take both
EACH = [
    (into, {name: value}) for into, all_of in ENTRIES for name, value in all_of.items()
] + [("wind_and_snow", WIND)]  # fmt: skip


@pytest.fixture(scope="module")
def hall():
    """The demo with the metal retrofit alone, surveyed in two parts, few draws."""
    case = json.loads(DEMO.read_text(encoding="utf-8"))
    case["alternatives"], case["uncertainty"] = case["alternatives"][:1], {"draws": 200}
    case["alternatives"][0].pop("price", None)
    case["alternatives"][0]["framing"] = {"rectangles": [
        {"length": 200, "width": 60, "form": "ridge"},
        {"length": 100, "width": 90, "form": "ridge", "drains_to": "left", "y": 60},
    ]}  # fmt: skip
    return case


def _with(hall, *entries):
    case = copy.deepcopy(hall)
    framing = case["alternatives"][0]["framing"]
    for into, values in entries:
        if into == "part":
            framing["rectangles"][0].update(values)
        else:
            (framing.setdefault(into, {}) if into else framing).update(values)
    return service.load_case(case)


@pytest.fixture(scope="module")
def answered(hall):
    loaded = _with(hall)
    return service.comparison_reply(loaded.case, loaded.units)


GIVEN = {
    Rectangle: {"length", "width", "form", "drains_to", "x", "y"},
    Framing: {"rectangles", "unit_prices", "wind_and_snow", "other_work"},
}


@pytest.mark.parametrize(
    ("cls", "entry"), [*zip((Rectangle, Framing, WindAndSnow, OtherWork), ENTRIES, strict=True)]
)
def test_every_field_of_the_survey_is_tried_here(cls, entry):
    """So that a new one is tried on paper too."""
    names = {case_name(name, facts) for name, facts in facts_of(cls).items()}
    assert names == set(entry[1]) | GIVEN.get(cls, set())


@pytest.mark.thorough  # all of them at once is in the default run
@pytest.mark.parametrize("entry", EACH, ids=lambda entry: " ".join(entry[1]))
def test_every_part_of_the_paper_is_made_whatever_is_entered(hall, answered, entry):
    """One field of the survey at a time: every table has the cells that its columns ask for."""
    loaded = _with(hall, entry)
    taken = of_retrofit(loaded.case.alternatives[0])
    dump = schemas.schema_for(Quantities, loaded.units, reply=True)().dump
    base, metal = answered["alternatives"]
    reply = {**answered, "alternatives": [base, {**metal, "quantities": dump(taken)}]}
    made = printed.document(loaded.case, reply, tuple(printed.PARTS), "us-letter")
    assert {part["kind"] for part in made["parts"]} == {"letter", "sheet"}
    for one in _tables(made["parts"]):
        assert {len(row) for row in one["rows"]} <= {1, len(one["columns"])}


def _tables(blocks):
    for block in blocks:
        if block["kind"] == "table":
            yield block
        yield from _tables(block.get("blocks", []))
        for side in block.get("sides", []):
            yield from _tables(side)


@pytest.mark.parametrize("units", ["ip", pytest.param("si", marks=pytest.mark.thorough)])
def test_the_whole_survey_entered_is_typeset(hall, units, pdf_text):
    case = _with(hall, *ENTRIES).case
    words = pdf_text(printed.proposal_pdf(case, units, tuple(printed.PARTS)))
    for heading in ("Zones of wind", "Where snow may drift", "Gutters and downspouts"):
        assert heading in words
    assert "what it weighs, is not worked out here" in " ".join(words.split())


def test_posts_and_cut_list_give_a_line_of_posts_the_same_length(hall, answered, pdf_text):
    """Rounded up to the next sixteenth, or millimetre, never to three digits."""
    for units, step, per in (("ip", 192, "ft"), ("si", 1000, "m")):
        taken = of_retrofit(_with(hall, ("", SLOPED)).case.alternatives[0])
        found = schemas.schema_for(Quantities, units, reply=True)().dump(taken)
        rows = {mark: row for row in found["posts"] for mark in row["mark"].split(", ")}
        level = [one for one in found["cut_list"] if one["mark"].partition("-")[0] in rows]
        assert len(level) >= 10, per
        for one in level:
            row = rows[one["mark"].partition("-")[0]]
            assert row["shortest"] - 0.001 <= one["length"] <= row["tallest"] + 1e-9
            if one["pieces"] == row["posts"]:
                assert cut_length(one["length"], units) == cut_length(row["tallest"], units)
            over = _read(cut_length(one["length"], units)) / step - one["length"]
            assert -1e-4 < over <= 1 / step


def test_every_piece_of_the_cut_list_is_ordered_once_by_its_length(answered):
    taken = answered["alternatives"][1]["quantities"]
    rows = by_length(taken, 6.096, "ip")["rows"]
    ordered = {what: 0 for what, *_ in rows}
    for what, _, pieces, _ in rows:
        ordered[what] += int(pieces.replace(",", ""))
    cut = {what: sum(one["pieces"] for one in taken["cut_list"] if one["what"].startswith(what))
           for what in ("diagonal", "cross member", "valley support")}  # fmt: skip
    members = taken["members"]
    assert ordered == {
        "post": members["posts"], "panel": members["panels"],
        "diagonals, cut in place, the longest": cut.pop("diagonal"),
        "purlin, stock length": members["purlin_sticks"],
        **{what: pieces for what, pieces in cut.items() if pieces},
    }  # fmt: skip
    lengths = [_read(long) for what, long, *_ in rows if what == "post"]
    assert lengths == sorted(set(lengths))


SLOPED = {"slope": 0.37, "lowest_post": 1.23}


def _read(text):
    """Sixteenths of an inch, or millimetres, of a length on paper."""
    if "'" not in text:
        return int(text.replace(",", ""))
    feet, inches = text.rstrip('"').split("'-")
    return 192 * int(feet.replace(",", "")) + float(16 * sum(map(Fraction, inches.split())))


def test_the_crew_alone_reads_no_prices_on_its_sheet(hall, pdf_text):
    case = _with(hall, *ENTRIES).case
    words = pdf_text(printed.proposal_pdf(case, "ip", ("crew",)))
    own, _, rest = words.rpartition("Other cautions of the comparison")
    assert "prices are invented" in rest
    assert "prices are invented" not in own
    assert own.index("Anchor points") < own.index("Cut list")
    first = own.partition("Found on the roof")[0]
    assert "Work at height" in first  # before anything is lifted or set out
    assert own.count("Work at height: fall protection") == 1
    for work in ("Loose stone, over the whole roof: about", "Rooftop units to lift: 2"):
        assert work in own


@pytest.mark.parametrize("step", [12, pytest.param(4, marks=pytest.mark.thorough)])
@pytest.mark.parametrize("part", ["engineer", "crew"])
def test_lists_and_drawings_share_pages_wherever_a_page_ends(hall, part, step):
    """A drawing that comes between two items of one tagged list is refused by PDF/UA."""
    case = _with(hall, *ENTRIES).case
    reply = service.comparison_reply(with_draws(case), "ip", include=printed.PRINTED)
    made = printed.document(case, reply, (part,), "us-letter")
    first = made["parts"][0]
    assert any(one["kind"] == "list" and one["apart"] for one in first["blocks"])
    for lines in range(0, 40, step):
        moved = [*[text("Line.")] * lines, *first["blocks"]]
        assert typeset({**made, "parts": [{**first, "blocks": moved}]})


def test_the_engineer_gets_what_was_entered_and_signs_for_information_only(hall, pdf_text):
    case = _with(hall, *ENTRIES).case
    words = " ".join(pdf_text(printed.proposal_pdf(case, "ip", ("engineer",))).split())
    for told in ("Received for information only", "115 mph", "Risk category", "III", "Exposure",
                 "every 5 ft", "left 2 ft", "Steel cross-section of a post", "1 in²",
                 "1.25 in is entered",
                 "not to be relied on until it is weighed"):  # fmt: skip
        assert told in words, told
    assert "Within the travel" not in words
    assert "less taken off" not in words


def test_the_engineer_reads_the_deck_of_the_roofs_layers_where_the_survey_names_none(hall):
    """The demo's roof lies on a steel deck; what the survey names stands before that."""
    for entered, kind, by_layers in ((None, "steel", True), ("wood", "wood", False)):
        loaded = _with(hall, ("other_work", {"deck_kind": entered} if entered else {}))
        reply = service.comparison_reply(loaded.case, loaded.units)
        sheet = printed.document(loaded.case, reply, ("engineer",), "us-letter")["parts"]
        (row,) = (row for one in _tables(sheet[0]["blocks"]) for row in one["rows"]
                  if row[0] == "Old deck")  # fmt: skip
        assert (row[1], "layers of the roof" in row[2]) == (kind, by_layers)


@pytest.mark.parametrize(
    ("own", "told"),
    [
        ({}, {"Mean roof height above the ground": "23 ft"}),
        ({0: 23.5}, {"Mean roof height above the ground, of every other part": "23 ft",
                     "Mean roof height of part 1": "23.5 ft"}),
        ({0: 23.5, 1: 15}, {"Mean roof height of part 1": "23.5 ft",
                            "Mean roof height of part 2": "15 ft"}),
    ],
)  # fmt: skip
def test_the_engineer_reads_the_mean_heights_by_which_wind_is_taken(hall, answered, own, told):
    """A height of the survey that every part's own replaces is in no figure, so it is not told."""
    case = copy.deepcopy(hall)
    framing = case["alternatives"][0]["framing"]
    framing["wind_and_snow"] = {"basic_wind": 115, "roof_height": 23}
    for part, height in own.items():
        framing["rectangles"][part]["roof_height"] = height
    loaded = service.load_case(case)
    sheet = printed.document(loaded.case, answered, ("engineer",), "us-letter")["parts"]
    rows = {row[0]: row[1] for one in _tables(sheet[0]["blocks"]) for row in one["rows"]
            if str(row[0]).startswith("Mean roof height")}  # fmt: skip
    assert rows == told


def test_the_engineer_can_retrace_the_uplift_of_a_zone():
    """115 mph, exposure C, 23.5 ft: Kz = 2.01 (23.5 / 900)^(2 / 9.5) = 0.933.

    qh = 0.00256 · 0.933 · 0.85 · 115² = 26.85 lb/ft², 26.84 by 0.613 in SI; -1.7 less 0.18 of it
    is 50.45.
    """
    zone = {"roof_height": 23.5, "parts": "1", "coefficient": -1.7, "pressure": -50.45}
    words = " ".join(retraced(WindAndSnow(basic_wind_m_s=115 * 0.44704), [zone], "ip"))
    assert "GCpi 0.18 of an enclosed building, qh by exposure C, Kd 0.85" in words
    assert "Part 1, 23.5 ft high: Kz 0.933, qh 26.84 lb/ft²." in words
    assert 26.84 * (zone["coefficient"] - 0.18) == pytest.approx(zone["pressure"], abs=0.02)


def test_the_roof_that_posts_carry_adds_up_to_the_plan_on_the_engineers_sheet(answered):
    """Two parts of 12,000 and 9,000 ft²; the last row is the sum of those above it."""
    taken = answered["alternatives"][1]["quantities"]
    made = posts(taken, "ip")
    place = [column["title"] for column in made["columns"]].index("Roof all carry, ft²")
    assert made["rows"][-1][place]["text"] == "21,000"
    assert made["rows"][-1][place - 1]["text"] == f"{taken['members']['posts']:,}"
    added = sum(one["mass"] for one in taken["loads"])
    assert f"carry {fmt.shown(added)} lb of dead load" in on_all_posts(taken, "ip")
    falls = [mark["text"] if isinstance(mark, dict) else mark for mark, *_ in made["rows"][:-1]]
    assert [name for name, _ in groupby(mark[:4] for mark in falls)] == ["P1.F", "P2.L"]


@pytest.mark.parametrize("stone", ["", "surveyed", "usual"])
def test_the_bill_goes_on_from_the_build_up_to_the_price_of_the_letter(hall, stone):
    """Direct cost 100: permit 1, engineering 3; the permit is 1/104 of all with its rates.

    Stone that the survey enters has the bill's weight and sum in the letter; of stone that only the
    covering has the bill says that it holds none, and the letter's sum.
    """
    roof = hall["roof"] | ({"covering": "epdm-ballasted"} if stone else {})
    loaded = _with(
        {**hall, "roof": roof}, ("other_work", {"ballast": 10} if stone == "surveyed" else {})
    )
    reply = service.comparison_reply(loaded.case, loaded.units)
    taken = reply["alternatives"][1]["quantities"]
    cost, plan = taken["first_cost"], taken["surface"]["plan_area"]
    assert cost["permit_apart"] == pytest.approx(cost["build_up"] / 104, rel=1e-9)
    blocks = printed.document(loaded.case, reply, ("quantities",), "us-letter")["parts"][0][
        "blocks"
    ]
    rows = {row[0]: row[3] for one in blocks if one["kind"] == "table"
            for row in one["rows"] if len(row) == 5}  # fmt: skip
    (laid,) = (row for row in reply["scope"] if row["key"] == "covering")
    told = float(rows["In the letter under Lay the new roof"].lstrip("$").replace(",", ""))
    share = plan / from_core(loaded.case.roof.area_m2, "area", "ip")
    assert told == pytest.approx(share * laid["alternatives"][1]["first_cost"], abs=1)
    (duty,) = (row["alternatives"][1] for row in reply["scope"] if row["key"] == "ballast")
    bill = {one["key"]: one["cost"] for one in cost["lines"]}
    less, apart = (f"{words} loose stone{more} in the letter under Take off ballast"
                   for words, more in (("Less", ":"), ("Not in this bill:", ",")))  # fmt: skip
    assert (less in rows, apart in rows) == (stone == "surveyed", stone == "usual")
    if stone == "surveyed":
        assert fmt.money(bill["ballast_per_m2"]) == rows[less].lstrip(fmt.MINUS)
        assert share * duty["first_cost"] == pytest.approx(bill["ballast_per_m2"], rel=1e-9)
        assert "10 lb/ft²" in duty["reason"]
    if stone == "usual":
        assert fmt.money(share * duty["first_cost"]) == rows[apart]
        # 53 kg/m² on the top covering of two: nothing is laid on loose stone.
        assert "11 lb/ft²" in duty["reason"]
        assert taken["removed"][-1]["load"] == pytest.approx(53 / 4.882428, rel=1e-3)
    own = f"counts {fmt.shown(cost['labour'])} hours and comes to {fmt.money(cost['build_up'])}."
    assert own in f"{blocks}"  # the sum used; those of other crews stand there to compare
    assert "For comparison only" in f"{blocks}"
    letter = printed.document(loaded.case, reply, ("letter",), "us-letter")["parts"][0]
    holds, lacks = (one["text"] for one in letter["included"])
    assert holds.startswith("As counted:")  # nothing but what the survey counts
    assert "Strengthening of joists, beams or deck that the engineer asks for" in lacks
    held = _with(hall, ("other_work", {"general_conditions": True}))
    assert of_retrofit(held.case.alternatives[0]).first_cost.permit_apart == 0


@pytest.mark.parametrize(
    ("hours", "told"), [(None, True), ("likely", False), (21_000 * 0.05, True)]
)
def test_unusual_hours_are_said_beside_the_price_with_what_the_likely_ones_cost(hall, hours, told):
    """0.06, 0.075 and 0.09 h/ft² on 21,000 ft²: 1,575 hours are likely."""
    field = {"likely": ("other_work", {"productivity": "likely"}), None: ("", {})}
    loaded = _with(hall, field.get(hours, ("", {"labour_hours": hours})))
    found = compare(loaded.case, explore=False)
    taken = found.alternatives[1].quantities
    assert taken.labour[1].hours_h == pytest.approx(1575, rel=1e-4)
    said = [one for one in found.answer.conditions if "h/ft² is usual" in one]
    assert len(said) == told
    sums = (taken.labour[1].build_up, taken.first_cost.build_up)
    words = "likely ${:,.0f}, not ${:,.0f}.".format(*sums)
    assert all(one.endswith(words) and "; 0.06 to 0.09 h/ft² is usual" in one for one in said)


def test_the_wind_of_the_survey_settles_whether_a_tear_off_needs_the_deck_evaluated(hall):
    """At 115 mph it does not, at 120 it does; the wind is the place's, so the base case has it."""
    found = {}
    for mph in (115, 120):
        loaded = _with(hall, ("wind_and_snow", {**WIND, "basic_wind": mph}))
        (row,) = (one for one in compare(loaded.case, explore=False).scope
                  if one.key == "structure")  # fmt: skip
        found[mph] = row.alternatives[0].status
    assert found == {115: "not-needed", 120: "open-question"}
