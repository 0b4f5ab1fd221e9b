"""Letter and sheets of a surveyed job: what was found, what its price holds, what it turns on."""

import copy
import dataclasses
import json
import re
from collections import Counter
from pathlib import Path

import pytest

from api import service
from api.problems import Problem
from lcc.caution_ranking import ranked
from lcc.comparison import compare
from lcc.stated_case import with_draws
from web import pages
from web.charts.figure import subject
from web.charts.jobs import jobs
from web.format import cut_length, said, shown
from web.proposal import document as printed
from web.proposal.engineer_sheet import QUESTIONS, SIDES
from web.proposal.letter import DEARER, NOTHING_DUE, PROPOSED, first_work, price_of
from web.quantities_table import takeoffs

pytestmark = pytest.mark.thorough

DEMO = json.loads(
    (Path(__file__).parents[1] / "data" / "demo" / "case.json").read_text(encoding="utf-8")
)
SCHOOL = json.loads((Path(__file__).parent / "surveyed_school.json").read_text(encoding="utf-8"))


def _document(price=15.5, **roof):
    made = copy.deepcopy(DEMO)
    made["uncertainty"] = {"draws": 100}
    made["roof"].update({"area": 12600, "covering": "modified-bitumen-cap", "coverings": 2, **roof})
    metal = made["alternatives"][0]
    metal["framing"] = copy.deepcopy(SCHOOL)
    metal.pop("price", None)
    if price is not None:
        metal.update(price=price, price_includes=["laying"])
    return made


def _answered(document):
    loaded = service.load_case(document)
    return loaded.case, service.comparison_reply(loaded.case, loaded.units)


@pytest.fixture(scope="module")
def school():
    return _answered(_document())


def _letter(case, reply, **words):
    own = dataclasses.replace(case, proposal=dataclasses.replace(case.proposal, **words))
    return printed.document(own, reply, ("letter",), "us-letter")["parts"][0]


def _entries(reply, key):
    return next(row["alternatives"] for row in reply["scope"] if row["key"] == key)


def test_skylights_that_only_the_survey_counts_reach_every_alternatives_scope(school):
    """Tables: re-flashed 350, raised 2,000, covered over 180 dollars each."""
    base, metal, *_ = _entries(school[1], "skylights")
    assert base["first_cost"] == pytest.approx(10 * 350, abs=0.01)
    assert metal["first_cost"] == pytest.approx(4 * 2000 + 6 * 180, abs=0.01)
    assert metal["reason"] == "4 raised to the new roof, 6 covered over, as surveyed"
    (counted,) = [one for one in school[1]["assumptions"] if one["field"] == "roof.skylights"]
    assert (counted["value"], counted["source"]) == (10, "counted by the framing survey")


def test_a_count_of_the_roof_stands_against_that_of_the_survey():
    _, reply = _answered(_document(skylights=3))
    assert _entries(reply, "skylights")[0]["first_cost"] == pytest.approx(3 * 350, abs=0.01)
    assert any("do not agree on the count of skylights" in one for one in reply["cautions"])


def test_stone_of_the_survey_comes_off_in_every_alternative_at_the_price_of_its_bill(school):
    base, metal = _entries(school[1], "ballast")[:2]
    for each in (base, metal):
        assert each["status"] == "done"
        assert "found by the framing survey; taken off is 10 lb/ft² (49 kg/m²)" in each["reason"]
    added = school[1]["alternatives"][1]["quantities"]["total_load"]
    assert f"once it is weighed; the new roof adds {added:.0f} lb/ft² (" in metal["reason"]
    assert "adds" not in base["reason"]
    assert 0 < base["first_cost"] == pytest.approx(metal["first_cost"])
    _, built = _answered(_document(price=None))
    again, held = _entries(built, "ballast")[:2]
    assert (held["status"], held["reason"]) == ("done", "in the take-off")
    assert again["first_cost"] == pytest.approx(base["first_cost"])
    assert _entries(built, "skylights")[1]["reason"] == "in the take-off"
    for _, reply in (school, (None, built)):
        assert any("do not agree on the loose stone" in one for one in reply["cautions"])


def test_the_letter_says_the_answer_at_the_take_offs_price(school):
    """Against the same case as a document without its price, compared anew."""
    made = _letter(*school)
    (told,) = (one for one in made["disagreements"] if "the take-off’s price" in one)
    plain = compare(service.load_case(_document(price=None)).case, explore=False).alternatives
    more = plain[1].life_cycle_cost - plain[0].life_cycle_cost
    assert f"costs about {said(abs(more))} {'more' if more > 0 else 'less'} than" in told
    cost = school[1]["alternatives"][1]["quantities"]["first_cost"]
    assert abs(cost["difference"]) > 0.03 * cost["build_up"]
    part = f"{abs(cost['difference']) / cost['build_up']:.0%}"
    side = "below" if cost["difference"] < 0 else "above"
    assert f"{part} {side} the take-off for the same work" in made["cards"][0]["mark"]
    assert f"{said(abs(cost['difference']))} ({part}) {side} the take-off’s" in told


@pytest.mark.parametrize(
    ("price", "told"), [(15.5, "the take-off of 52% of the roof for"), (None, "a take-off of 52%")]
)
def test_a_take_off_of_half_of_the_roof_says_so_beside_the_price_for_all_of_it(price, told):
    """12,600 of 24,000 ft²; the price that is the take-off's is scaled up, and says so too."""
    case, reply = _answered(_document(price, area=24000))
    made = _letter(case, reply, recommended=reply["alternatives"][1]["name"])
    assert told in made["cards"][0]["mark"]
    assert "Take-off:" not in made["cards"][0]["mark"]
    said_so = [one for one in reply["answer"]["conditions"] if "The parts cover 52%" in one]
    assert bool(said_so) == (price is not None)


def test_a_price_is_set_against_the_take_off_without_work_that_the_survey_does_not_hold(school):
    """A wet roof makes both dearer alike: their difference does not move, nor does its permit."""
    wet = _answered(_document(wet_fraction=0.2))
    apart, work = ([_of_metal(reply, key) for _, reply in (school, wet)]
                   for key in ("difference", "wet-insulation"))  # fmt: skip
    assert work[0] == 0 < work[1]
    assert apart[1] == pytest.approx(apart[0], abs=0.01)


def _of_metal(reply, key):
    """The difference of price and take-off, or what a duty of the first job costs."""
    if key == "difference":
        return reply["alternatives"][1]["quantities"]["first_cost"]["difference"]
    row = next(row for row in reply["scope"] if row["key"] == key)
    return row["alternatives"][1]["first_cost"]


def test_nothing_is_said_where_the_take_off_is_the_price():
    made = _letter(*_answered(_document(price=None)))
    assert "ake-off" not in " ".join([*made["disagreements"], made["cards"][0]["mark"]])


def test_a_choice_that_costs_more_is_not_called_what_is_proposed(school):
    case, reply = _answered(_document(price=40))
    metal = reply["alternatives"][1]
    more = metal["life_cycle_cost"] - reply["alternatives"][0]["life_cycle_cost"]
    made = _letter(case, reply, recommended=metal["name"])
    work, least = made["work"], min(reply["alternatives"], key=lambda one: one["life_cycle_cost"])
    apart = said(metal["life_cycle_cost"] - least["life_cycle_cost"])
    assert f"it costs {apart} more over the years than “{least['name']}”." in made["agreed"]
    assert work["title"] == f"{DEARER}: {metal['name']}"
    assert f"is {said(more)} cheaper over the study period" in work["demo"]
    cheap, answer = _answered(_document(price=8))
    own = _letter(cheap, answer, recommended=metal["name"])["work"]
    assert own["title"] == f"{PROPOSED}: {metal['name']}"
    assert "cheaper" not in own["demo"]


@pytest.mark.parametrize(("price", "title"), [(40, PROPOSED), (8, DEARER)])
def test_a_letter_for_the_base_case_is_of_its_own_work_price_and_scope(price, title):
    """A metal roof at 40 $/ft² costs more than membranes, at 8 less: the titles change places."""
    document = _document(price=price)
    case, reply = _answered({**document, "alternatives": document["alternatives"][:1]})
    base, metal = reply["alternatives"][0], reply["alternatives"][subject(reply)]
    made = _letter(case, reply, recommended=base["name"])
    assert made["work"]["title"] == f"{title}: {base['name']}"
    assert made["work"]["text"].startswith(next(jobs(base)).parts[0])
    assert price_of(base)[0] in made["work"]["price"]
    assert [one["title"] for one in made["scope"]["columns"][1:3]] == ["This proposal",
                                                                      metal["name"]]  # fmt: skip
    sums = [first_work(one).cost for one in (base, metal)]
    total = [shown(one, "money") for one in sums]
    assert [cell["text"] for cell in made["scope"]["total"][1:3]] == total
    rows = {row["duty"]: row["alternatives"][0]["reason"] for row in reply["scope"]}
    assert all(row[3] == rows[row[0]] for row in made["scope"]["rows"])
    assert base["name"] in made["agreed"]
    apart = said(base["life_cycle_cost"] - metal["life_cycle_cost"])
    cheaper = f"“{metal['name']}” is {apart} cheaper over the study period" in made["work"]["demo"]
    assert cheaper == (title == DEARER)


def test_a_letter_for_a_cheap_membrane_names_the_membrane():
    """At 1 $/ft² for the whole job each part is cheap, insulation dearer than the membrane."""
    document = _document()
    document["base_case"].update(price=1.0, price_includes=["everything"])
    case, reply = _answered({**document, "alternatives": document["alternatives"][:1]})
    text = _letter(case, reply, recommended=reply["alternatives"][0]["name"])["work"]["text"]
    assert text.startswith("EPDM single-ply, black laid, with all")


def test_a_letter_for_a_base_case_without_work_prices_nothing_and_nobody_lends_for_it():
    """One year, in which the membrane of today still lasts."""
    document = _document()
    document["economics"] |= {"study_period": 1, "financing": {"how": "loan"}}
    case, reply = _answered({**document, "alternatives": document["alternatives"][:1]})
    made = _letter(case, reply, recommended=reply["alternatives"][0]["name"])
    assert (made["work"]["text"], made["work"]["demo"]) == (NOTHING_DUE, "")
    assert (made["cards"][0]["note"], made["cards"][0]["mark"]) == ("no work", "")
    assert made["agreed"].startswith("Nothing to agree on yet: “New membrane” has no work")
    paid = made["cards"][1]["note"]
    assert paid.startswith("in 1 year; ")
    assert "with a loan $" in paid


def test_the_scope_note_names_only_base_case_and_proposal(school):
    case, reply = school
    names = [one["name"] for one in reply["alternatives"]]
    for name in names[1:]:
        note = _letter(case, reply, recommended=name)["scope"]["said"]
        assert not [one for one in names[1:] if one != name and f"“{one}”" in note]


def test_the_letter_names_slopes_posts_levels_and_parapets(school):
    """Part 3: 1 ft lowest post, 30 ft at 3 in 12: 8'-6" at the ridge."""
    text = _letter(*school, recommended=school[1]["alternatives"][1]["name"])["work"]["text"]
    for told in ("0.5 in 12 (parts 1 and 2), 3 in 12 (part 3)", "posts up to 8'-6\" high",
                 "levels 14 ft and 26 ft", "parapets up to 3 ft",
                 "part 3 drains to gutters above the lower roof of part 1"):  # fmt: skip
        assert told in text
    assert "above its parapets" not in text
    low = copy.deepcopy(_document())
    survey = next(one for one in low["alternatives"] if one.get("framing"))["framing"]
    survey["rectangles"][0]["parapet_back"] = 0.5
    case, reply = _answered(low)
    text = _letter(case, reply, recommended=reply["alternatives"][1]["name"])["work"]["text"]
    assert "parapets up to 0.5 ft, the new roof up to" in text


FOUND = {
    "asbestos": ({"asbestos": "found"}, "Asbestos was found"),
    "water": ({"ponding": "stands-48-hours"}, "Water stands on this roof"),
    "wet": ({"wet_fraction": 0.1}, "Wet insulation hides a weak deck"),
    "solar": ({"solar_panels": True}, "Solar panels are live"),
    "coal tar": ({"covering": "coal-tar-gravel"}, "Coal-tar pitch"),
    "skylights": ({"skylights": 2}, "Falls through skylights"),
}


@pytest.mark.parametrize("found", FOUND)
def test_what_was_found_on_the_roof_stands_before_what_every_roof_gets(found, pdf_text):
    """In the ranking, and on the second page of the letter."""
    stated, begins = FOUND[found]
    document = copy.deepcopy(DEMO)
    document["building"]["use"] = "warehouse-heated"
    document["alternatives"] = document["alternatives"][:1]
    document["uncertainty"] = {"draws": 100}
    document["roof"].update({"asbestos": "none-found", "ponding": "none", "wet_fraction": 0.0,
                             "skylights": 0, **stated})  # fmt: skip
    case, reply = _answered(document)
    first, count = ranked(case, reply["cautions"])
    assert first[0].startswith(begins)
    assert sorted(first) == sorted(reply["cautions"])
    assert 1 <= count < len(first)
    words = pdf_text(printed.pdf(case, reply, ("letter", "flags")))
    page = words.partition("Before anyone climbs up")[2].partition("Terms")[0]
    assert begins.split()[0] in page


def test_all_findings_together_stand_on_the_letter(pdf_text):
    document = _document(asbestos="found", ponding="stands-48-hours", wet_fraction=0.1,
                         solar_panels=True)  # fmt: skip
    document["building"]["use"] = "hospital-ward"
    document["alternatives"] = document["alternatives"][:1]
    case, reply = _answered(document)
    words = " ".join(pdf_text(printed.pdf(case, reply, ("letter", "flags"))).split())
    page = words.partition("Before anyone climbs up")[2].partition(" Terms ")[0]
    for begins in ("Asbestos was found", "Water stands", "Wet insulation", "Solar panels are live",
                   "At a hospital", "Children, patients"):  # fmt: skip
        assert begins in page


def test_a_paper_says_how_sure_where_the_case_does_not_ask_for_draws():
    """As many draws as the page asks for, and from the same place; a number stated is kept."""
    bare = {key: value for key, value in DEMO.items() if key != "uncertainty"}
    asked = with_draws(service.load_case(bare).case).uncertainty
    page = service.load_case(pages.with_draws(bare)).case.uncertainty
    assert (asked, asked.origin("draws")) == (page, page.origin("draws"))
    assert asked.draws == 10000
    none = service.load_case({**bare, "uncertainty": {"draws": 0}}).case
    assert with_draws(none).uncertainty.draws == 0


@pytest.mark.parametrize("parts", [("crew",), ("engineer",), ("engineer", "crew")])
def test_a_sheet_without_a_survey_is_refused_with_what_to_enter(parts):
    document = copy.deepcopy(DEMO)
    document["alternatives"][0].pop("framing", None)
    case, reply = _answered({**document, "uncertainty": {"draws": 0}})
    with pytest.raises(Problem) as refused:
        printed.pdf(case, reply, parts)
    assert "framing survey" in str(refused.value.errors)
    assert "rectangles" in str(refused.value.errors)


def _sheet(school, part):
    return printed.document(*school, (part,), "us-letter")["parts"][0]["blocks"]


def _rows(blocks):
    return [row for one in blocks if one["kind"] == "table" for row in one["rows"]]


def _plain(cell):
    return cell["text"] if isinstance(cell, dict) else cell


def test_the_crews_sheet_places_every_post_once_at_the_length_it_is_cut(school):
    """A line that stands on two parts has a row for each; together they are what is cut.

    5 ft up 3 in 12 from a lowest post of 1 ft: 2.25 ft, its top that much above a deck at 26 ft.
    """
    taken = school[1]["alternatives"][1]["quantities"]
    rows = [[_plain(cell) for cell in row] for row in _rows(_sheet(school, "crew"))]
    placed = [row for row in rows if len(row) == 8 and row[0].startswith("P")]
    assert ["P3.R3-1 to 13", "joist or beam", "55'-0\"", "0'-0\" to 60'-0\"", "5'-0\"", "13",
            "2'-3\"", "28'-3\""] in placed  # fmt: skip
    stands, cut = Counter(), Counter()
    for row in placed:
        stands[row[0].partition("-")[0], row[6]] += int(row[5])
    for one in taken["cut_list"]:
        if one["what"] == "post":
            line = one["mark"].partition("-")[0]
            cut[line, cut_length(one["length"], "ip")] += one["pieces"]
    assert stands == cut
    assert stands.total() == taken["members"]["posts"]


def test_the_crew_finds_each_old_drain_once_though_two_parts_meet_at_it():
    """Part 1 begins 60 ft from the left and 50 ft from the front, where part 2 ends."""
    document = _document()
    document["alternatives"][0]["framing"]["drains"] = [{"x": 100, "y": 60}, {"x": 130, "y": 50}]
    lists = [one["items"] for one in _sheet(_answered(document), "crew") if one["kind"] == "list"]
    (told,) = (one for items in lists for one in items if one.startswith("Old drains: part"))
    assert "part 1 at x 40'-0\" and y 10'-0\", part 1 at x 70'-0\" and y 0'-0\". They" in told
    assert told.endswith("closes them below the deck. The survey counts 0 to close.")


def test_the_crew_reads_where_every_panel_begins(school):
    """Front fall of part 1: whole panels as far as 42 ft, then 14 to the valley, each shorter."""
    sheet = _sheet(school, "crew")
    rows = [tuple(map(_plain, row)) for row in _rows(sheet) if len(row) == 8]
    assert [row for row in rows if row[0].startswith("S1.F")] == [
        ("S1.F15", "panel, front eave", "0'-0\" to 40'-0\"", "", "2'-0\"", "21", "", ""),
        ("S1.F14 to 1", "panel, front eave", "42'-0\" to 68'-0\"", "", "2'-0\"", "14", "", ""),
    ]
    words = " ".join(one["text"] for one in sheet if "text" in one)
    assert "verify the run of the eave in the field before the first panel" in words


def test_the_crews_sheet_has_what_the_takeoff_prices(school):
    (sized,) = [one["sides"] for one in _sheet(school, "crew") if one["kind"] == "beside"]
    told = {_plain(row[0]): _plain(row[1]) for side in sized for row in _rows(side)}
    for name in ("Rake, along the slope", "Walls together", "Inlets together, free area",
                 "Insulation by volume", "Scuppers through parapets"):  # fmt: skip
        assert float(told[name].partition(" ")[0].replace(",", "")) > 0, name
    assert told["Eave"] == "320 ft"


def test_the_engineer_reads_the_uplift_of_every_line(school, pdf_text):
    words = " ".join(pdf_text(printed.pdf(*school, ("engineer",))).split())
    assert "not listed by post" not in words
    assert "Uplift on one" in words
    posts = school[1]["alternatives"][1]["quantities"]["posts"]
    rows = [[_plain(cell) for cell in row] for row in _rows(_sheet(school, "engineer"))]
    for one in posts:
        (row,) = [each for each in rows if each[0] == one["mark"]]
        assert float(row[-1].replace(",", "")) == pytest.approx(one["uplift"], rel=0.006)


def test_the_engineer_gets_the_weight_added_and_the_new_walls_by_elevation(school):
    """Every wall of the survey once; weight over plan area; pressure and base shear are asked."""
    taken = school[1]["alternatives"][1]["quantities"]
    blocks = _sheet(school, "engineer")
    (told,) = [one["text"] for one in blocks if "earthquake moves" in one.get("text", "")]
    mass = sum(one["mass"] for one in taken["loads"])
    assert f"{shown(mass)} lb, " in told
    assert "over 12,600 ft² of plan area" in told
    walls = {row[0]: row[1] for row in _rows(blocks) if row[0] in SIDES}
    found = sum(float(area.replace(",", "")) for area in walls.values())
    assert found == pytest.approx(taken["edges"]["walls"], rel=0.002)
    asked = " ".join(QUESTIONS)
    assert all(one in asked for one in ("Base shear", "Roof live load", "Wind on new end"))


def test_the_crew_reads_where_each_header_lies(school):
    """Posts of part 2 that no joist of part 1 is under: the list has their headers by mark."""
    taken = school[1]["alternatives"][1]["quantities"]
    (header,) = [one for one in taken["cut_list"] if one["what"] == "header under posts"]
    off = [one for one in taken["set_out"] if one["stands_on"] == "header between two"]
    assert header["pieces"] == sum(one["posts"] for one in off) == 3
    assert {one["mark"][:4] for one in off} == {"P2.R"}
    words = [one["text"] for one in _sheet(school, "crew") if one["kind"] == "small"]
    assert [one for one in words if one.startswith("X2.R1-1 to 3: a header")]


def test_the_crew_reads_gauge_and_sections_on_its_own_sheet(school):
    rows = {_plain(row[0]): row[1] for row in _rows(_sheet(school, "crew")) if len(row) == 3}
    assert rows["Panel sheet"] == "0.0239 in"
    for name in ("Width that a panel covers", "Depth of a purlin", "Throat of one ventilator",
                 "Steel cross-section of a post", "Steel cross-section of a purlin"):  # fmt: skip
        assert float(rows[name].split()[0]) > 0, name


def test_a_roof_that_was_tested_is_not_called_untested_by_its_survey():
    document = _document()
    assert _asbestos(document)[0] == ["roof.asbestos"]
    document["alternatives"][0]["framing"]["other_work"]["asbestos"] = "found"
    fields, cautions = _asbestos(document)
    assert len(fields) == 2
    assert any("do not agree on the asbestos" in one for one in cautions)


def _asbestos(document):
    loaded = service.load_case(document)
    reply = service.comparison_reply(loaded.case, loaded.units, include=printed.PRINTED)
    fields = [one["field"] for one in reply["assumptions"] if one["field"].endswith("asbestos")]
    return fields, reply["cautions"]


def test_gas_is_swung_by_the_therm_and_no_skylight_is_denied_that_nobody_counted():
    case, reply = _answered({**copy.deepcopy(DEMO), "uncertainty": {"draws": 100}})
    made = printed.document(case, reply, ("comparison",), "us-letter")["parts"][0]["blocks"]
    (gas,) = {_plain(row[1]) for row in _rows(made) if _plain(row[0]) == "Price of gas"}
    assert gas == "$0.84/therm (US)"
    assert _entries(reply, "skylights")[2]["reason"] == "coating leaves skylights as they are"


def test_what_is_alike_of_several_roofs_is_asked_and_told_once():
    document = {**copy.deepcopy(DEMO), "uncertainty": {"draws": 0}}
    metal = document["alternatives"][0]
    document["alternatives"] += [{**copy.deepcopy(metal), "name": f"Metal {n}"} for n in (2, 3)]
    _, reply = _answered(document)
    names = f"“{metal['name']}”, “Metal 2”, “Metal 3”"
    assert reply["scope_note"].count("a framed roof over it is no roof replacement") == 1
    assert f"{names} do not tear off" in reply["scope_note"]
    (bid,) = [one for one in reply["questions"] if "“Metal 2”" in one]
    assert bid.startswith(f"The bidder, for {names}: does each price include “")
    (check,) = [one for one in reply["questions"] if one.startswith("Structural check")]
    assert "in year" not in check


def test_the_crew_sets_out_then_orders_then_cuts(school):
    titles = [one["text"] for one in _sheet(school, "crew") if one["kind"] == "heading"]
    order = ["Part 3", "To order, by length", "Cut list by mark, without posts"]
    assert [one for one in titles if one in order] == order


def test_the_tallest_part_is_shown_in_section_too(school):
    case, reply = school
    taken = next(iter(takeoffs(case, reply)))
    assert len(taken.sections) == 2
    assert "Section A-A, part 1" in taken.sections[0]
    assert "Section B-B, part 3" in taken.sections[1]
    assert taken.plan.count(">B</") == 2
    assert "level 26 ft" in taken.plan


def test_quantity_times_price_gives_the_printed_cost_of_every_line(school):
    """Within a dollar, on the page and on paper, which print the same figures."""
    case, reply = school
    paper = json.dumps(printed.document(case, reply, ("quantities",), "us-letter")["parts"],
                       ensure_ascii=False)  # fmt: skip
    checked = 0
    for _, many, each, cost, _ in takeoffs(case, reply)[0].lines.rows[:-1]:
        bought, price, whole = (float(re.sub(r"[^0-9.]", "", re.sub("[²³]", "", text)) or 0)
                                for text in (many, each, cost))  # fmt: skip
        if not each.endswith("%"):
            assert bought * price == pytest.approx(whole, abs=1.0), (many, each, cost)
            assert not whole or each in paper
            checked += 1
    assert checked > 20


def test_feet_stand_before_metres_on_paper_in_feet(school):
    words = json.dumps(printed.document(*school, ("letter", "flags"), "us-letter")["parts"],
                       ensure_ascii=False)  # fmt: skip
    assert "10 lb/ft² (49 kg/m²)" in words
    assert " m (" not in words
