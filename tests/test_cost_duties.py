"""The duties of a job: every rule at its boundary, and the same for every alternative."""

import dataclasses
import itertools
import math
import re

import pytest

from lcc.case import (
    Building,
    Coating,
    DutyPrices,
    Economics,
    Layer,
    Membrane,
    MetalRetrofit,
    Prices,
    Quotation,
    Uncertainty,
)
from lcc.case.duty_prices import DUTIES, EVERYTHING
from lcc.case.fields import Origin, facts_of
from lcc.cost.job_years import timing
from lcc.cost.ledger import ledger
from lcc.cost.payback_sentence import of_hundred
from lcc.cost.programme import levelled, plan
from lcc.cost.roof_states import Setting
from lcc.cost.scenario import Scenario
from lcc.cost.work import ENERGY, REPAIRS
from lcc.errors import CaseError

NO_BILLS = dict.fromkeys(ENERGY, 0.0)

RECOVER = Membrane(method="recover-where-allowed", start="now", price_per_m2=70.0)
TEAR_OFF = dataclasses.replace(RECOVER, method="tear-off")
METAL = MetalRetrofit(price_per_m2=170.0)
COATED = Coating(price_per_m2=30.0)
JOBS = {"tear-off": TEAR_OFF, "recover": RECOVER, "coating": COATED, "metal": METAL}
KNOWN = {"wet_fraction": 0.0, "ponding": "none", "asbestos": "none-found", "flashing_height_m": 0.4}


def first_job(roof, choice, zone=3, building=None, prices=None, wind=None, **surveyed):
    """Return the rulings of the first job of an alternative, by duty."""
    roof = dataclasses.replace(roof, **(KNOWN | surveyed))
    programme = plan(choice, roof, prices or Prices(), zone, building, wind)
    rulings = next(step.rulings for step in programme.steps if step.rulings)
    return {each.duty: each for each in rulings}


def test_every_job_rules_on_every_duty(flat_roof):
    for choice in JOBS.values():
        assert list(first_job(flat_roof, choice)) == [each for each in DUTIES if each != "service"]


# International Building Code 2021, 1511.3.1.1: no recover over two or more coverings, or over a
# water-soaked roof; a quarter of the area is the limit of patching (common practice).
@pytest.mark.parametrize(
    ("surveyed", "status"),
    [
        ({"coverings": 1}, "not-needed"),
        ({"coverings": 2}, "done"),
        ({"wet_fraction": 0.25}, "not-needed"),
        ({"wet_fraction": 0.2501}, "done"),
    ],
)
def test_a_recover_turns_into_a_tear_off(flat_roof, surveyed, status):
    assert first_job(flat_roof, RECOVER, **surveyed)["tear-off"].status == status


@pytest.mark.parametrize("job", ["recover", "coating", "metal"])
def test_wet_area_costs_the_same_in_every_job_that_covers_it(flat_roof, job):
    """A fifth of 2,000 m²: one covering of 10 kg/m² at 21.5 and 0.12 $/kg, board of 50 mm perlite.

    Board: 0.05 m of 140 kg/m³ is 7 kg/m², 0.05/0.052 m²K/W at 12 $; patching 22 $/m² (tables).
    """
    found = first_job(flat_roof, JOBS[job], wet_fraction=0.2)["wet-insulation"]
    by_m2 = 21.5 + 0.12 * (10 + 7) + 22 + 12 * 0.05 / 0.052
    assert found.cost == pytest.approx(400 * by_m2, rel=1e-12)
    dry = first_job(flat_roof, JOBS[job], wet_fraction=0.0)["wet-insulation"]
    assert (dry.status, dry.cost) == ("not-needed", 0.0)


@pytest.mark.parametrize(
    ("job", "share", "asked", "said"),
    [
        ("metal", 0.25, "1511.3.1.1, no recover", False),
        ("metal", 0.2501, "complete and separate roof systems", True),
        ("recover", 0.25, "1511.3.1.1, no recover", False),
        ("recover", 0.2501, "1511.3.1.1, no recover", False),
    ],
)
def test_what_asks_wet_insulation_out_at_exactly_a_quarter_and_above(
    flat_roof, job, share, asked, said
):
    """Up to a quarter, and in a tear-off, the limit of a recover asks it.

    Above it under metal, the code for a system that does not rest on the old roof, with a word to
    the building official.
    """
    found = first_job(flat_roof, JOBS[job], wet_fraction=share)["wet-insulation"]
    assert asked in found.source
    assert ("ask the building official" in found.reason) == said


def test_wet_insulation_left_under_metal_is_a_choice_that_is_told(flat_roof, compared, flat_case):
    left = dataclasses.replace(METAL, wet_insulation="left")
    found = first_job(flat_roof, left, wet_fraction=0.6)["wet-insulation"]
    assert (found.status, found.cost) == ("left-out", 0.0)
    roof = dataclasses.replace(flat_roof, wet_fraction=0.6)
    told = compared(dataclasses.replace(flat_case, roof=roof, alternatives=(left,)))
    assert "“Metal retrofit” leaves out “take out and replace wet insulation”" in told.scope_note


# IECC 2021 C503.3.1 (as reported in the trade press): roof replacements meet the minimum where
# the insulation lies entirely above the deck; recovers are exempt. ASHRAE 90.1-2019 asks R-25
# (4.4028 m²K/W) in zone 3.
@pytest.mark.parametrize(
    ("choice", "building", "under", "status"),
    [
        ("tear-off", None, (), "done"),
        ("recover", None, (), "not-needed"),
        ("metal", None, (), "not-needed"),
        ("coating", None, (), "not-needed"),
        ("tear-off", Building(conditioning="none"), (), "not-needed"),
        ("tear-off", Building(overhead="suspended-ceiling"), (), "done"),
        ("tear-off", Building(overhead="attic"), (), "not-needed"),
        ("tear-off", None, (Layer(resistance_m2k_w=0.29),), "done"),
        ("tear-off", None, (Layer(resistance_m2k_w=0.3),), "not-needed"),
    ],
)
def test_who_owes_the_insulation_minimum(flat_roof, choice, building, under, status):
    layers = (*flat_roof.layers, *under)
    found = first_job(flat_roof, JOBS[choice], building=building, layers=layers)
    assert found["insulation"].status == status


def test_what_is_there_counts_toward_the_minimum(flat_roof):
    """R-25 less 50 mm of perlite of 0.052 W/mK and a deck of 0.9 mm of steel, at 12 $."""
    found = first_job(flat_roof, TEAR_OFF)["insulation"]
    added = 4.4028 - 0.05 / 0.052 - 0.0009 / 50
    assert found.cost == pytest.approx(2000 * 12 * added, rel=1e-9)
    chosen = dataclasses.replace(TEAR_OFF, raise_insulation=False)
    assert first_job(flat_roof, chosen)["insulation"].status == "left-out"


# International Building Code 2015 and later, 1511.1, exception 1: 1/4 in 12, or positive drainage.
@pytest.mark.parametrize(
    ("surveyed", "status"),
    [
        ({"ponding": "none"}, "not-needed"),
        ({"ponding": "stands-48-hours"}, "done"),
        ({"ponding": "stands-48-hours", "deck_fall": 0.25 / 12}, "not-needed"),
        ({"ponding": "stands-48-hours", "deck_fall": 0.24 / 12}, "done"),
        ({"ponding": "not-known"}, "open-question"),
    ],
)
@pytest.mark.parametrize("job", ["tear-off", "recover"])
def test_who_owes_a_fall(flat_roof, job, surveyed, status):
    assert first_job(flat_roof, JOBS[job], **surveyed)["drainage"].status == status


def test_tapered_boards_are_priced_and_count_as_insulation(flat_roof):
    """9 m of run at 1/48 is 0.09375 m in the mean: 3.63 m²K/W at 12 $ and a quarter dearer."""
    found = first_job(flat_roof, TEAR_OFF, ponding="stands-48-hours")
    resistance = 9.0 / 48 / 2 / 0.0258
    assert found["drainage"].cost == pytest.approx(2000 * 12 * 1.25 * resistance, rel=1e-9)
    flat = first_job(flat_roof, TEAR_OFF)["insulation"].cost
    saved = flat - found["insulation"].cost
    assert saved == pytest.approx(min(flat, 2000 * 12 * resistance), rel=1e-9)


def test_ballast_comes_off_once_and_is_credited(flat_roof):
    """EPDM under 53 kg/m² of stone (table), 0.13 $/kg: in every job that covers the roof."""
    for choice in (TEAR_OFF, RECOVER, METAL):
        found = first_job(flat_roof, choice, covering="epdm-ballasted")["ballast"]
        assert found.cost == pytest.approx(0.13 * 53 * 2000, rel=1e-12)
        assert "taken off is 53 kg/m² (11 lb/ft²)" in found.reason
        assert found.reason.endswith("only once it is weighed")
    programme = plan(RECOVER, dataclasses.replace(flat_roof, covering="epdm-ballasted"),
                     Prices(), 3)  # fmt: skip
    later = [step.rulings[0].status for step in programme.steps[2:]]
    assert set(later) == {"not-needed"}


@pytest.mark.parametrize(
    ("job", "share"), [("tear-off", 1.0), ("recover", 0.0), ("metal", 0.05), ("coating", 0.0)]
)
def test_asbestos_is_abated_where_it_is_disturbed(flat_roof, job, share):
    """65 $/m² (table) of the old roof that the job opens; posts pierce a twentieth of it.

    Not tested, it may cost that and the 8 % of permit and general conditions that a job bears.
    """
    found = first_job(flat_roof, JOBS[job], asbestos="found")["asbestos"]
    assert found.cost == pytest.approx(65 * 2000 * share, rel=1e-12)
    unknown = first_job(flat_roof, JOBS[job], asbestos="not-tested")["asbestos"]
    assert unknown.exposure == pytest.approx(1.08 * 65 * 2000 * share, rel=1e-9)
    assert unknown.status == ("open-question" if share else "not-needed")
    # The cautions call every untested roof asbestos, so the table asks too; but nothing is counted.
    single_ply = {"asbestos": "not-tested", "covering": "epdm-black", "coverings": 1}
    sheets = first_job(flat_roof, JOBS[job], **single_ply)["asbestos"]
    assert (sheets.status, sheets.cost, sheets.exposure) == (unknown.status, 0.0, 0.0)
    assert ("nothing is counted" in sheets.reason) == bool(share)


def test_asbestos_is_abated_once(flat_roof):
    roof = dataclasses.replace(flat_roof, **(KNOWN | {"asbestos": "found"}))
    steps = plan(TEAR_OFF, roof, Prices(), 3).steps[1:]
    paid = [each.cost for step in steps for each in step.rulings if each.duty == "asbestos"]
    assert [cost > 0 for cost in paid] == [True, *[False] * (len(paid) - 1)]


@pytest.mark.parametrize(
    ("job", "opened"), [("tear-off", 1.0), ("recover", 0.1), ("metal", 0.15), ("coating", 0.1)]
)
def test_rooms_are_protected_by_the_area_opened(flat_roof, job, opened):
    """A tenth is wet and cut out; 4 $/m² (table) of what is opened, in every alternative."""
    found = first_job(flat_roof, JOBS[job], wet_fraction=0.1)["protection"]
    assert found.cost == pytest.approx(4.0 * 2000 * opened, rel=1e-9)


# International Existing Building Code 2021, 706.2: a second layer of 3 lb/ft² or less is exempt.
# 706.3.2 (from memory): the deck's diaphragm is evaluated above 115 mph of wind, not at 115.
def test_who_owes_a_structural_check(flat_roof):
    assert first_job(flat_roof, RECOVER)["structure"].status == "not-needed"
    heavy = dataclasses.replace(RECOVER, covering="built-up-gravel")
    assert first_job(flat_roof, heavy)["structure"].status == "open-question"
    metal = first_job(flat_roof, METAL)["structure"]
    assert metal.cost == pytest.approx(0.03 * 170 * 2000, rel=1e-12)
    mph = 0.44704
    for wind, status, told in (
        (None, "open-question", "where the design wind is above 115 mph"),
        (115 * mph, "not-needed", "the design wind entered is 115 mph or less"),
        (116 * mph, "open-question", "as the design wind entered is above 115 mph"),
    ):
        found = first_job(flat_roof, TEAR_OFF, wind=wind)["structure"]
        assert (found.status, told in found.reason) == (status, True)


@pytest.mark.parametrize(
    ("surveyed", "why"),
    [
        ({"covering": "epdm-ballasted"}, "loose stone"),
        ({"covering": "built-up-gravel"}, "loose stone"),
        ({"wet_fraction": 0.26}, "more than a quarter"),
        ({"remaining_life_y": 0.0}, "no years left"),
    ],
)
def test_a_roof_that_cannot_be_coated_is_refused_with_the_reason(flat_roof, surveyed, why):
    with pytest.raises(CaseError, match=why):
        first_job(flat_roof, COATED, **surveyed)
    assert first_job(flat_roof, COATED, wet_fraction=0.25)["covering"].status == "done"


def test_a_coating_is_no_membrane_and_a_membrane_no_coating():
    with pytest.raises(CaseError, match="enter a coating as a coating"):
        Membrane(covering="white-coating")
    with pytest.raises(CaseError, match="enter a membrane as a membrane"):
        Coating(covering="tpo-white")


# --- Quotations brought to one scope -----------------------------------------------------------


@pytest.mark.parametrize("job", ["tear-off", "recover", "coating", "metal"])
@pytest.mark.parametrize("count", [0, 3, 6, len(EVERYTHING)])
def test_a_quotation_split_into_its_duties_costs_what_it_did_whole(flat_roof, job, count):
    """Whatever a price includes, the first job costs the price and the duties that it leaves."""
    surveyed = KNOWN | {"coverings": 1, "wet_fraction": 0.1, "asbestos": "found",
                        "rooftop_units": 4, "skylights": 3}  # fmt: skip
    roof = dataclasses.replace(flat_roof, **surveyed)
    held = ("laying", *EVERYTHING[:count])
    prices = Prices(duties=DutyPrices(structure_rate=0.0))
    quoted = dataclasses.replace(JOBS[job], price_per_m2=400.0, price_includes=held)
    setting = Setting.of(roof, prices, 3)
    rulings = next(s.rulings for s in plan(levelled(quoted, setting)[0], roof, prices, 3).steps
                   if s.rulings)  # fmt: skip
    rate = 0.08
    apart = math.fsum(
        each.cost * (1 if each.duty in ("protection", "warranty") else 1 + rate)
        for each in rulings
        if each.duty not in (*held, "covering", "edges", "penetrations", "on-costs")
    )
    fees = 0.0 if "on-costs" in held else rate * (400.0 * 2000 - (
        first_job(flat_roof, JOBS[job], prices=prices, **surveyed)["protection"].cost
        if "protection" in held else 0.0))  # fmt: skip
    total = math.fsum(each.cost for each in rulings)
    assert total == pytest.approx(400.0 * 2000 + apart + fees, rel=1e-9)


# --- The same for every alternative ------------------------------------------------------------


def costs(compared, case, **surveyed):
    roof = dataclasses.replace(case.roof, **(KNOWN | surveyed))
    found = compared(dataclasses.replace(case, roof=roof), explore=False)
    return [each.life_cycle_cost for each in found.alternatives]


@pytest.fixture(scope="module")
def rivals(flat_case):
    """A base case and alternatives of every kind, at the prices of the tables."""
    return dataclasses.replace(
        flat_case,
        prices=Prices(),
        base_case=Membrane(),
        alternatives=(
            MetalRetrofit(), Coating(), Membrane(name="Foam", covering="spray-foam"),
            Membrane(name="Torn off", method="tear-off", start="now"),
            Membrane(name="Waits", wait_y=18.0),
            Membrane(name="Boards", recover_board_m2k_w=1.0, tapered=True),
            Membrane(name="In two parts", start="now", share_first=0.4, rest_after_y=6.0),
            MetalRetrofit(name="Metal in two parts", share_first=0.7, rest_after_y=9.0),
            MetalRetrofit(name="Metal over wet", wet_insulation="left"),
            Membrane(name="Quoted", quotations=(
                Quotation("Anders", 90.0), Quotation("Best", 95.0, ("laying", "warranty")))),
        ),
    )  # fmt: skip


@pytest.mark.parametrize("coverings", [1, 2])
def test_more_wet_area_never_makes_any_alternative_cheaper(compared, rivals, coverings):
    uncoated = dataclasses.replace(
        rivals, alternatives=tuple(a for a in rivals.alternatives if not isinstance(a, Coating))
    )
    shares = (0.0, 0.01, 0.1, 0.25, 0.26, 0.5, 1.0)
    found = [costs(compared, uncoated, wet_fraction=each, coverings=coverings) for each in shares]
    for less, more in itertools.pairwise(found):
        assert all(one <= other + 1e-6 for one, other in zip(less, more, strict=True))
    coated = [costs(compared, rivals, wet_fraction=each)[2] for each in (0.0, 0.1, 0.25)]
    assert coated == sorted(coated)


@pytest.mark.parametrize("high_m", [0.262, 0.276, 0.283])
def test_a_flashing_just_under_the_rule_says_by_how_much(compared, rivals, high_m):
    """What stands and what lacks add up to the 8 in of the rule, each as it is shown."""
    roof = dataclasses.replace(rivals.roof, rooftop_units=2, flashing_height_m=high_m)
    case = dataclasses.replace(
        rivals, roof=roof, base_case=dataclasses.replace(TEAR_OFF, start="now")
    )
    row = {one.key: one for one in compared(case, explore=False).scope}["units"]
    told = row.alternatives[0].reason
    stands, lacks = map(
        float, re.findall(r"only ([\d.]+) in .*, ([\d.]+) in under the rule", told)[0]
    )
    assert 0 < lacks < 1
    assert stands + lacks == pytest.approx(8.0, abs=0.011)


def test_a_sum_added_to_every_first_job_alike_never_turns_the_order(compared, rivals):
    """Five units lifted, or none, in jobs that all begin today: each pays the same more."""
    now = dataclasses.replace(
        rivals, prices=Prices(unit_lift=9000.0), base_case=dataclasses.replace(TEAR_OFF),
        alternatives=(METAL, dataclasses.replace(TEAR_OFF, covering="tpo-white")),
        economics=dataclasses.replace(rivals.economics, study_period_y=15),
    )  # fmt: skip
    without, with_units = (
        costs(compared, now, rooftop_units=count, units_on="sleepers") for count in (0, 5)
    )
    more = [one - other for one, other in zip(with_units, without, strict=True)]
    assert more == pytest.approx([5 * 9000.0 * 1.08] * 3, rel=1e-9)


def test_the_scope_table_adds_up_to_the_programme(compared, rivals):
    roof = dataclasses.replace(rivals.roof, wet_fraction=0.1, rooftop_units=4, skylights=2,
                               penetrations=9, asbestos="found", coverings=2)  # fmt: skip
    found = compared(dataclasses.replace(rivals, roof=roof))
    for place, each in enumerate(found.alternatives):
        entries = [row.alternatives[place] for row in found.scope]
        assert {entry.name for entry in entries} == {each.name}
        spent = math.fsum(event.cost for event in each.events)
        assert math.fsum(entry.cost for entry in entries) == pytest.approx(spent, rel=1e-12)
        assert all(entry.reason and entry.source for entry in entries)
        assert all(entry.cost == 0 for entry in entries
                   if entry.status in ("not-needed", "left-out"))  # fmt: skip
    assert [row.key for row in found.scope] == list(DUTIES)


def test_what_nobody_knows_is_asked(compared, rivals):
    """A roof of which nothing was surveyed raises the questions; one that was, none."""
    blank = compared(rivals)
    words = ("Abate asbestos", "Take out and replace wet insulation", "Slope the roof to drain",
             "Lift or re-flash rooftop units", "Re-flash or raise skylights")  # fmt: skip
    assert all(any(each.startswith(word) for each in blank.questions) for word in words)
    none = dict.fromkeys(("rooftop_units", "skylights", "penetrations"),
                         (0, Origin("entered", "the case")))  # fmt: skip
    roof = dataclasses.replace(rivals.roof, **KNOWN).filled(**none)
    surveyed = dataclasses.replace(rivals, roof=roof)
    asked = compared(surveyed).questions
    assert not any(each.startswith(word) for each in asked for word in words)


def test_what_nobody_knows_widens_the_range(compared, rivals):
    """Asbestos in metal's twentieth and in all of a tear-off now: 65 $/m² of it, from 0 to 1."""
    now = dataclasses.replace(rivals, base_case=TEAR_OFF, alternatives=(METAL,))
    still = {
        f.name: 0.0
        for f in dataclasses.fields(Uncertainty)
        if f.name.endswith(("_range", "_range_y", "_spread"))
    }
    roof = dataclasses.replace(rivals.roof, **(KNOWN | {"asbestos": "not-tested"}))
    for known, width in ((0.0, 0.0), (1.0, 0.8 * 65 * 2000)):
        ranges = Uncertainty(draws=4000, **(still | {"unknown_range": known}))
        found = compared(dataclasses.replace(now, roof=roof, uncertainty=ranges)).alternatives
        for each, share in zip(found, (1.0, 0.05), strict=True):
            cost = each.spread.life_cycle_cost
            # Nine tenths of a uniform range less a tenth of it, with 8 % of on-costs.
            assert cost.p90 - cost.p10 == pytest.approx(1.08 * width * share, rel=0.06)
            assert cost.p10 >= each.life_cycle_cost - 1e-6


def test_the_chance_without_what_nobody_knows_is_that_of_the_case_that_knows(compared, rivals):
    """Asbestos untested moves the chance by much: said with the chance of a roof without any."""
    now = dataclasses.replace(rivals, base_case=TEAR_OFF, alternatives=(METAL,))
    saved = compared(now).alternatives[1].measures.net_savings.value
    base = dataclasses.replace(TEAR_OFF, grant=saved + 20_000.0)
    case = dataclasses.replace(now, base_case=base, uncertainty=Uncertainty(draws=2000))
    untested, known = (
        compared(dataclasses.replace(case, roof=dataclasses.replace(rivals.roof, **answers)))
        for answers in (KNOWN | {"asbestos": "not-tested"}, KNOWN)
    )
    drawn, there = (found.alternatives[1].spread.against_base for found in (untested, known))
    assert drawn.costs_less_if_well == there.costs_less
    assert there.costs_less_if_well is None
    assert drawn.costs_less >= there.costs_less + 0.1
    (told,) = (one for one in untested.answer.disagreements if "If nothing bad is found" in one)
    assert f"costs less in {of_hundred(drawn.costs_less)} random runs" in told
    assert f"in {of_hundred(there.costs_less)}. Find out" in told
    assert "asbestos, not tested" in told
    assert not any("nothing bad" in one for one in known.answer.disagreements)


def test_a_question_that_only_a_later_job_opens_has_its_year(compared, rivals):
    """A recover exposes no deck: the wind on it is asked about for the tear-off that follows."""
    recover = Membrane(start="now", method="recover-where-allowed")
    roof = dataclasses.replace(rivals.roof, **(KNOWN | {"coverings": 1}))
    found = compared(
        dataclasses.replace(rivals, roof=roof, base_case=recover, alternatives=(METAL,))
    )
    (row,) = (each for each in found.scope if each.key == "structure")
    torn = min(one.year for one in found.alternatives[0].events if one.duty == "tear-off")
    assert torn > 0
    assert row.alternatives[0].status == "open-question"
    assert row.alternatives[0].reason.startswith(f"in year {torn}: more than half of the deck")


def test_what_nobody_knows_is_among_swings_and_turning_inputs(compared, rivals):
    """Alone at its worst it moves the net savings by both exposures; known, it moves nothing."""
    now = dataclasses.replace(rivals, base_case=TEAR_OFF, alternatives=(METAL,))
    roof = dataclasses.replace(rivals.roof, **(KNOWN | {"asbestos": "not-tested"}))
    own = compared(dataclasses.replace(now, roof=roof)).alternatives[1]
    swing = next(each for each in own.swings if each.field == "roof.asbestos")
    saved = own.measures.net_savings.value
    assert swing.net_savings_low == pytest.approx(saved, rel=1e-9)
    # 65 $/m² on all of 2,000 m² under the base case, on a twentieth of it under metal; both now,
    # with 8 % of on-costs.
    assert swing.net_savings_high == pytest.approx(saved + 1.08 * 0.95 * 65 * 2000, rel=1e-9)
    found = next(each for each in own.break_even if each.field == "roof.asbestos")
    within = 0 <= -saved / (0.95 * 65 * 2000) <= 1
    assert (found.value is not None) == within
    known = compared(dataclasses.replace(now, roof=dataclasses.replace(rivals.roof, **KNOWN)))
    assert "roof.asbestos" not in {each.field for each in known.alternatives[1].swings}


def test_an_unknown_turns_the_answer_in_plain_words(compared, rivals):
    """Metal 60,000 dearer than a tear-off now: asbestos at 45 % of 133,380 turns it."""
    now = dataclasses.replace(rivals, base_case=TEAR_OFF, alternatives=(METAL,))
    roof = dataclasses.replace(rivals.roof, **(KNOWN | {"asbestos": "not-tested"}))
    case = dataclasses.replace(now, roof=roof)
    saved = compared(case).alternatives[1].measures.net_savings.value
    base = dataclasses.replace(TEAR_OFF, grant=saved + 60_000.0)
    told = compared(dataclasses.replace(case, base_case=base)).turning
    (one,) = (each for each in told.inputs if each.field == "roof.asbestos")
    assert one.value.value == pytest.approx(60_000 / (1.08 * 0.95 * 65 * 2000), rel=1e-6)
    said = "Asbestos, not tested, if it costs $60,000 or more (the random runs allow up to $"
    assert one.sentence.startswith(said)


def test_the_membrane_after_a_coating_follows_its_end():
    """What would be refused is not offered: no start, no wait, no quotation years ahead."""
    offered = set(facts_of(type(Coating().replacement)))
    assert offered.isdisjoint({"start", "wait_y", "quotations", "quotation_taken"})


def test_waiting_past_the_expected_life_costs_more_leaks_each_year(flat_roof):
    """Two years are left, work waits five: 0.5 $/m² more each year from the third on (demo)."""
    roof = dataclasses.replace(flat_roof, remaining_life_y=2.0, repairs_per_m2=0.0)
    waiting = dataclasses.replace(TEAR_OFF, start="end-of-life", wait_y=5.0)
    steps = plan(waiting, roof, Prices(), 3)
    book = ledger(steps, [NO_BILLS] * len(steps.steps), 10)
    assert book.running[REPAIRS][0][1:6].tolist() == [0.0, 0.0, 1000.0, 2000.0, 3000.0]
    assert timing(book, Scenario.of(Economics(study_period_y=10))).starts[0][0] == 5


def test_spray_foam_is_recoated_and_insulates(flat_roof):
    """Every 12 years at 26.9 $/m² (table), 38 mm of 0.0235 W/mK."""
    foam = dataclasses.replace(RECOVER, covering="spray-foam")
    step = plan(foam, flat_roof, Prices(), 3).steps[1]
    assert [(work.every_y, work.cost) for work in step.repeated] == [(12.0, 26.9 * 2000)]
    assert step.state.layers[0].material == "spray-polyurethane-foam"


def test_boards_under_a_recover_are_paid_and_laid(flat_roof):
    boarded = dataclasses.replace(RECOVER, recover_board_m2k_w=1.0)
    found = first_job(flat_roof, boarded)["insulation"]
    assert (found.status, found.source) == ("done", "the owner's choice")
    assert found.cost == pytest.approx(12 * 2000, rel=1e-12)
    step = plan(boarded, flat_roof, Prices(), 3).steps[1]
    assert step.state.layers[1].material == "polyiso-board"


# What is open, the answer that is bad, and the same as entered.
BAD = {
    "roof.ponding": ({"ponding": "not-known"}, {"ponding": "stands-48-hours"}),
    "roof.asbestos": ({"asbestos": "not-tested"}, {"asbestos": "found"}),
    "roof.wet_fraction": ({"wet_fraction": None}, {"wet_fraction": 0.26}),
    "roof.flashing_height": ({"flashing_height_m": None}, {"flashing_height_m": 0.0}),
}


@pytest.mark.parametrize("field", BAD)
def test_the_worst_of_an_open_question_is_the_case_with_the_bad_answer(compared, rivals, field):
    """In one year, with nothing after the first job, both cost the same to the dollar."""
    now = dataclasses.replace(
        rivals, base_case=RECOVER, alternatives=(METAL, TEAR_OFF), economics=Economics(1)
    )
    still = Prices(electricity_per_kwh=0.0, gas_per_kwh=0.0)
    unknown, bad = (
        compared(dataclasses.replace(
            now, prices=still,
            roof=dataclasses.replace(rivals.roof, rooftop_units=3, **(KNOWN | answer)),
        ))
        for answer in BAD[field]
    )  # fmt: skip
    moved = False
    for own, entered in zip(unknown.alternatives[1:], bad.alternatives[1:], strict=True):
        worst = [each.net_savings_high for each in own.swings if each.field == field]
        found = worst[0] if worst else own.measures.net_savings.value
        moved = moved or bool(worst)
        ahead, behind = (
            each.residual_value - one.alternatives[0].residual_value
            for one, each in ((bad, entered), (unknown, own))
        )
        kept = (ahead - behind) / 1.03
        assert found == pytest.approx(entered.measures.net_savings.value - kept, abs=1.0)
    assert moved


def test_the_strength_of_the_deck_is_no_cost_of_the_roof_that_adds_no_load(flat_roof):
    """A tear-off asks the engineer, and nothing is counted for it; a heavy recover is priced."""
    assert first_job(flat_roof, TEAR_OFF)["structure"].exposure == 0.0
    heavy = dataclasses.replace(RECOVER, covering="epdm-ballasted")
    assert first_job(flat_roof, heavy)["structure"].exposure > 0.0
