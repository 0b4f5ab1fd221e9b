"""The count of coverings: which work each history of a roof leads to, and why."""

import dataclasses

import pytest

from lcc import tables
from lcc.case import Coating, DutyPrices, Economics, Layer, Membrane, MetalRetrofit, Prices
from lcc.case.resolution import resolve
from lcc.cost.bid_levelling import Quoted
from lcc.cost.cash_flow import RESIDUAL, flows
from lcc.cost.job_years import timing
from lcc.cost.ledger import ledger
from lcc.cost.programme import levelled, plan
from lcc.cost.result import events
from lcc.cost.roof_states import Setting, insulation_m2k_w
from lcc.cost.scenario import Scenario
from lcc.cost.work import ENERGY
from lcc.errors import CaseError

NO_BILLS = dict.fromkeys(ENERGY, 0.0)
TEN = Membrane(service_life_y=10.0, recover_life_ratio=1.0)
TEAR_OFF = dataclasses.replace(TEN, method="tear-off")
NOW = dataclasses.replace(TEN, start="now")
METAL_NOW = MetalRetrofit(service_interval_y=100.0, finish_interval_y=100.0)

# The rule behind every row: International Building Code 2021, 1511.3.1.1, and up to a quarter
# wet is patched (common practice). Life of each covering laid
# is 10 years, 4 are left of today's, the study period is 30 years, so work falls in years 4, 14
# and 24, or in 0, 10 and 20. Letters: R recover, Tn tear-off of n coverings, W wet insulation
# replaced, I insulation raised to the minimum, M metal roof, N new panels on it, C coating.
HISTORIES = {
    "one dry covering: recover, then tear-off of both, then recover": (
        {"coverings": 1}, TEN, {4: "R", 14: "T2 I", 24: "R"},
    ),
    "two dry coverings: tear-off first, then recover, then tear-off": (
        {"coverings": 2}, TEN, {4: "T2 I", 14: "R", 24: "T2"},
    ),
    "three coverings: all three are torn off": (
        {"coverings": 3}, TEN, {4: "T3 I", 14: "R", 24: "T2"},
    ),
    "one covering, a quarter wet: patched, then a recover": (
        {"coverings": 1, "wet_fraction": 0.25}, TEN, {4: "W R", 14: "T2 I", 24: "R"},
    ),
    "one covering, more than a quarter wet: torn off": (
        {"coverings": 1, "wet_fraction": 0.26}, TEN, {4: "T1 W I", 14: "R", 24: "T2"},
    ),
    "two wet coverings: tear-off once, dry from then on": (
        {"coverings": 2, "wet_fraction": 0.1}, TEN, {4: "T2 W I", 14: "R", 24: "T2"},
    ),
    "tear-off chosen: one covering off every time": (
        {"coverings": 1}, TEAR_OFF, {4: "T1 I", 14: "T1", 24: "T1"},
    ),
    "tear-off chosen over two: two off, then one each time": (
        {"coverings": 2}, TEAR_OFF, {4: "T2 I", 14: "T1", 24: "T1"},
    ),
    "insulation not raised where the choice says so": (
        {"coverings": 2}, dataclasses.replace(TEN, raise_insulation=False),
        {4: "T2", 14: "R", 24: "T2"},
    ),
    "work now: the count starts today": ({"coverings": 1}, NOW, {0: "R", 10: "T2 I", 20: "R"}),
    "no life left: work now without being asked": (
        {"coverings": 2, "remaining_life_y": 0.0}, TEN, {0: "T2 I", 10: "R", 20: "T2"},
    ),
    "metal roof now, over one covering": ({"coverings": 1}, METAL_NOW, {0: "M"}),
    "metal roof now, over three coverings: exempt from removal": (
        {"coverings": 3}, METAL_NOW, {0: "M"},
    ),
    "metal roof, a quarter wet: cut out, the rest stays": (
        {"coverings": 2, "wet_fraction": 0.25}, METAL_NOW, {0: "W M"},
    ),
    "metal roof, more than a quarter wet: cut out too, since it does not rest on the old roof": (
        {"coverings": 2, "wet_fraction": 0.6}, METAL_NOW, {0: "W M"},
    ),
    "metal roof, the old roof torn off by choice": (
        {"coverings": 2, "wet_fraction": 0.26},
        dataclasses.replace(METAL_NOW, wet_insulation="torn-off"), {0: "T2 W I M"},
    ),
    "metal roof over wet insulation that is left by choice": (
        {"coverings": 2, "wet_fraction": 0.6},
        dataclasses.replace(METAL_NOW, wet_insulation="left"), {0: "M"},
    ),
    "metal roof when the covering ends": (
        {"coverings": 2}, dataclasses.replace(METAL_NOW, start="end-of-life"), {4: "M"},
    ),
    "metal roof of 12 years' life: new panels, never a tear-off of the old coverings": (
        {"coverings": 2}, dataclasses.replace(METAL_NOW, service_life_y=12.0),
        {0: "M", 12: "N", 24: "N"},
    ),
    "coating is no covering: renewed at 4 and 8, ends at 4 + 5, then a recover is still allowed": (
        {"coverings": 1}, Coating(renewal_y=4.0, life_gain_y=5.0, replacement=TEN),
        {0: "C", 4: "C", 8: "C", 9: "R", 19: "T2 I", 29: "R"},
    ),
}  # fmt: skip


OVER = "laid over the old membrane"


def work_letters(listed):
    """Return the events of each year as letters, in the order in which they are listed."""
    letters = {
        "Wet": "W", "Insulation": "I", "Metal": "M", "White": "C",
        "New": "N",
    }  # fmt: skip
    years = {}
    for event in listed:
        if "taken out" in event.what:
            continue
        word = event.what.split()[0]
        letter = "T" + event.what.split()[2] if word == "Tear-off" else letters.get(word)
        letter = "R" if event.what.endswith(OVER) else letter
        if letter:
            years.setdefault(event.year, []).append(letter)
    return {year: " ".join(each) for year, each in years.items()}


def listed(programme, years=30):
    book = ledger(programme, [NO_BILLS] * len(programme.steps), years)
    starts = timing(book, Scenario.of(_economics(years))).starts[0]
    return events(programme, starts.tolist(), years)


def _economics(years):
    from lcc.case import Economics

    return Economics(study_period_y=years)


@pytest.mark.parametrize(("roof", "choice", "expected"), HISTORIES.values(), ids=HISTORIES)
def test_a_history_leads_to_its_events(flat_roof, roof, choice, expected):
    """Each history of coverings gives the work that the model code asks for, in its year."""
    surveyed = dataclasses.replace(flat_roof, **({"remaining_life_y": 4.0} | roof))
    programme = plan(choice, surveyed, Prices(), zone=3)
    assert work_letters(listed(programme)) == expected


def test_the_reason_stands_beside_the_work(flat_roof):
    """A tear-off names the rule that forbids a recover, the metal roof its exemption."""
    two = dataclasses.replace(flat_roof, coverings=2)
    torn = next(e for e in listed(plan(TEN, two, Prices(), 3)) if e.what.startswith("Tear-off"))
    assert "no new one may go over two or more" in torn.why
    steps = [step.rulings for step in plan(METAL_NOW, two, Prices(), 3).steps if step.rulings]
    kept = next(each for each in steps[0] if each.duty == "tear-off")
    assert "may stand over any coverings" in kept.reason
    assert "1511.3.1" in kept.source


def test_tear_off_is_paid_by_covering_and_disposal_by_weight(flat_roof):
    """Two coverings of 10 kg/m² (table) on 2,000 m²: 2 x 5 x 2000 and 40,000 kg x 0.1."""
    prices = Prices(tear_off_per_m2=5.0, disposal_per_kg=0.1)
    two = dataclasses.replace(flat_roof, coverings=2)
    costs = {event.what: event.cost for event in listed(plan(TEN, two, prices, 3))[:2]}
    assert costs == {
        "Tear-off of 2 coverings": 20000.0,
        "Disposal of what was torn off": pytest.approx(4000.0, rel=1e-12),
    }


def test_stone_below_another_covering_is_off_already(flat_roof):
    """Nothing is laid on loose stone: what lies below the top covering has none to take off."""
    for covering, below, loose in (
        ("modified-bitumen-cap", "built-up-gravel", False),
        ("built-up-gravel", "modified-bitumen-cap", True),
    ):
        roof = dataclasses.replace(flat_roof, covering=covering, coverings=2, covering_below=below)
        ruled = plan(METAL_NOW, resolve(roof), resolve(Prices()), 3).rulings
        (ballast,) = (one for one in ruled if one.duty == "ballast")
        assert (ballast.cost > 0) == loose


@pytest.mark.parametrize(("zone", "r_ip"), [(1, 20), (3, 25), (5, 30), (8, 35)])
def test_insulation_after_tear_off_is_the_zone_minimum(flat_roof, zone, r_ip):
    """ASHRAE 90.1-2019 Tables 5.5-1 to 5.5-8, above deck: R-20, 25, 30, 35 h·ft²·°F/Btu."""
    programme = plan(TEAR_OFF, flat_roof, Prices(), zone)
    after = programme.steps[1].state
    # Both figures carry four digits: 1 h·ft²·°F/Btu is 0.17611 m²K/W.
    assert insulation_m2k_w(after.layers) == pytest.approx(r_ip * 0.17611, rel=1e-4)
    assert after.layers[0].material == "single-ply-membrane"
    assert sum(layer.material == "built-up-roofing" for layer in after.layers) == 0


def test_insulation_above_the_minimum_is_kept(flat_roof):
    """A roof that already holds more than the minimum gets no board and pays for none."""
    board = (Layer(material="polyiso-board", thickness_m=0.3), *flat_roof.layers)
    thick = dataclasses.replace(flat_roof, coverings=2, layers=board)
    assert "I" not in work_letters(listed(plan(TEN, thick, Prices(), 3)))[15]


def test_a_chosen_insulation_target_replaces_the_minimum(flat_roof):
    """More than the minimum may be asked for at tear-off."""
    generous = dataclasses.replace(TEAR_OFF, insulation_target_m2k_w=8.0)
    after = plan(generous, flat_roof, Prices(), 3).steps[1].state
    assert insulation_m2k_w(after.layers) == pytest.approx(8.0, rel=1e-12)


def test_wet_insulation_is_dry_after_tear_off(flat_roof):
    """The moisture of the survey is gone from the assembly once the wet part is replaced."""
    soaked = tuple(
        dataclasses.replace(layer, moisture=0.1) if layer.material == "perlite-board" else layer
        for layer in flat_roof.layers
    )
    wet = dataclasses.replace(flat_roof, wet_fraction=0.3, layers=soaked)
    programme = plan(TEN, wet, Prices(), 3)
    assert all(layer.moisture == 0 for layer in programme.steps[1].state.layers)


def test_wet_insulation_is_paid_for_by_hand(flat_roof):
    """30 % of 2,000 m² wet: 600 m² of R 0.05/λ at 12 a unit of R, and its wet mass at 0.2 a kg."""
    soaked = tuple(
        dataclasses.replace(layer, moisture=0.1) if layer.material == "perlite-board" else layer
        for layer in flat_roof.layers
    )
    wet = dataclasses.replace(flat_roof, wet_fraction=0.3, layers=soaked)
    prices = Prices(insulation_per_m2=12.0, disposal_per_kg=0.2)
    works = {work.what: work.cost for work in plan(TEN, wet, prices, 3).steps[1].works}
    board = tables.rows("materials")["perlite-board"]
    resistance = 0.05 / board["conductivity_w_mk"]
    mass_kg_m2 = 0.05 * (board["density_kg_m3"] + 1000 * 0.1)
    assert works["Wet insulation replaced by dry"] == pytest.approx(600 * 12 * resistance)
    assert works["Wet insulation taken out and disposed of"] == pytest.approx(
        600 * 0.2 * mass_kg_m2
    )


def test_moisture_stays_where_no_insulation_is_stated_wet(flat_roof):
    """A tear-off of coverings alone replaces no insulation, so what it holds stays in it."""
    damp = tuple(
        dataclasses.replace(layer, moisture=0.02) if layer.material == "perlite-board" else layer
        for layer in flat_roof.layers
    )
    programme = plan(TEAR_OFF, dataclasses.replace(flat_roof, layers=damp), Prices(), 3)
    after = programme.steps[1].state.layers
    assert [x.moisture for x in after if x.material == "perlite-board"] == [0.02]


@pytest.mark.parametrize("wet_fraction", [0.0, 0.3])
@pytest.mark.parametrize(("years", "age"), [(6, 2), (25, 21)])
def test_insulation_wears_by_its_own_life_below_whatever_covers_it(
    flat_roof, wet_fraction, years, age
):
    """Laid in year 4 under coverings of 10 years: of 75 years it has spent 2, or 21 after two more.

    Added insulation counts, and so does the dry insulation put in for the wet.
    """
    left = []
    for price in (0.0, 12.0):
        prices = Prices(insulation_per_m2=price, tear_off_per_m2=0.0, disposal_per_kg=0.0)
        roof = dataclasses.replace(flat_roof, remaining_life_y=4.0, wet_fraction=wet_fraction)
        programme = plan(TEAR_OFF, roof, prices, 3)
        book = ledger(programme, [NO_BILLS] * len(programme.steps), years, stays_y=75.0)
        paid = flows(book, Scenario.of(Economics(study_period_y=years, discount_rate=0.0)))
        left.append(-paid[RESIDUAL][0, -1])
    laid = {work.what: work.cost for work in programme.steps[1].works}
    replaced = laid.get("Wet insulation replaced by dry", 0.0)
    assert (replaced > 0) == (wet_fraction > 0)
    total = replaced + laid["Insulation added above the deck"]
    assert left[1] - left[0] == pytest.approx((1 - age / 75) * total)


@pytest.mark.parametrize(
    ("years", "worth"), [(30, 0.6 * 10 / 40 + 0.4 * 45 / 75), (50, 0.6 * 30 / 40 + 0.4 * 25 / 75)]
)  # fmt: skip
def test_framing_stays_below_new_panels_and_wears_by_the_same_life(flat_roof, years, worth):
    """Of the first price 0.6 is panels of 40 years, renewed once; 0.4 is what stays 75 years."""
    metal = MetalRetrofit(price_per_m2=100.0, service_life_y=40.0, renewal_share=0.6)
    programme = plan(resolve(metal), flat_roof, Prices(), 3)
    book = ledger(programme, [NO_BILLS] * len(programme.steps), years, stays_y=75.0)
    paid = flows(book, Scenario.of(Economics(study_period_y=years)))
    assert -paid[RESIDUAL][0, -1] == pytest.approx(worth * 100.0 * flat_roof.area_m2)


@pytest.mark.parametrize(
    ("inches", "choice", "lifted"),
    [
        # NRCA roofing manual, curb details: 8 in of flashing above the new surface. A recover
        # with a membrane of 1.5 mm (0.06 in): 8.06 in today leave 8 in, 8.05 in do not.
        (8.06, NOW, False),
        (8.05, NOW, True),
        (2.0, Coating(), False),
        (30.0, METAL_NOW, True),
    ],
)
def test_rooftop_units_are_lifted_where_their_flashing_would_be_too_low(
    flat_roof, inches, choice, lifted
):
    """Three units at 2,000 each, lifted, or 450 each (table) re-flashed; a coating does neither."""
    height = inches * 0.0254 - 0.0015 + 0.06 * 0.0254
    units = dataclasses.replace(flat_roof, rooftop_units=3, flashing_height_m=height)
    first = listed(plan(choice, units, Prices(unit_lift=2000.0), 3), 9)
    cost = [event.cost for event in first if event.duty == "units"]
    flashed = [] if isinstance(choice, Coating) else [1350.0]
    assert cost == ([6000.0] if lifted else flashed)


def test_units_on_sleepers_are_lifted_once_and_stand_on_curbs_from_then_on(flat_roof):
    """Sleepers lie on the covering; after that 12 in of flashing stand above each new one."""
    units = dataclasses.replace(flat_roof, rooftop_units=1, units_on="sleepers")
    found = listed(plan(NOW, units, Prices(unit_lift=2000.0), 3))
    assert [e.cost for e in found if e.duty == "units"] == [2000.0, 450.0, 450.0]


def test_the_steps_of_a_membrane_repeat(flat_roof):
    """After the first tear-off, recover and tear-off alternate without end."""
    programme = plan(TEN, flat_roof, Prices(), 3)
    order = programme.order(12)
    works = [[work.what for work in programme.steps[k].works] for k in order[1:]]
    over = [any(what.endswith(OVER) for what in each) for each in works]
    torn = [any(what.startswith("Tear-off") for what in each) for each in works]
    assert over == [True, False] * 5 + [True]
    assert torn == [not each for each in over]
    assert programme.steps[order[4]].state == programme.steps[order[2]].state


@pytest.mark.parametrize(
    ("life", "age", "entered", "left"),
    [(20, 5, None, 15), (20, 30, None, 0), (20, 5, 2.4, 2), (20, 5, 2.5, 3), (20, 5, 0.0, 0)],
)
def test_what_is_left_of_the_covering(flat_roof, life, age, entered, left):
    """Service life (20 years in the table) less age unless entered, whole years, never below 0."""
    roof = dataclasses.replace(flat_roof, age_y=float(age), remaining_life_y=entered)
    assert listed(plan(TEN, roof, Prices(), 3))[0].year == left


def test_repeated_work_stops_with_its_step(flat_roof):
    """Service every 10 years of a metal roof: at 10 and 20, not at the end of the 30."""
    metal = MetalRetrofit(service_interval_y=10.0, finish_interval_y=25.0)
    found = listed(plan(metal, flat_roof, Prices(), 3))
    years = [(e.year, e.what.split()[0]) for e in found if e.duty in ("covering", "service")]
    assert years == [(0, "Metal"), (10, "Sealant"), (20, "Sealant"), (25, "Finish")]


QUOTED = dataclasses.replace(
    TEN, start="now", price_per_m2=100.0, price_includes=("everything",), raise_insulation=False
)


def test_a_quotation_for_everything_is_what_the_first_replacement_costs(flat_roof):
    """Two coverings off for 2 x 5 + 2 x 10 kg x 0.1, so 12 of the 100; 88 are left for laying."""
    prices = Prices(
        tear_off_per_m2=5.0, disposal_per_kg=0.1, disruption_per_m2=0.0,
        duties=DutyPrices(on_costs_rate=0.0),
    )  # fmt: skip
    two = dataclasses.replace(flat_roof, coverings=2, rooftop_units=0)
    choice, (bid,) = levelled(QUOTED, Setting.of(two, prices, 3))
    assert bid.share(100.0) == pytest.approx(1.0, rel=1e-12)
    assert choice.price_per_m2 == pytest.approx(88.0, rel=1e-12)
    spent = {}
    for event in listed(plan(choice, two, prices, 3)):
        spent[event.year] = spent.get(event.year, 0.0) + event.cost
    # In year 20 covering and recover, of 2.5 kg/m² each (table), come off: 88 + 2 x 5 + 0.5.
    assert spent == pytest.approx({0: 200e3, 10: 176e3, 20: 197e3})


def test_a_price_of_laying_stays_as_it_is(flat_roof):
    setting = Setting.of(flat_roof, Prices(), 3)
    choice, (bid,) = levelled(TEN, setting)
    assert (choice, bid.share(100.0)) == (TEN, 1.0)
    alone = dataclasses.replace(QUOTED, price_includes=("laying",))
    choice, (bid,) = levelled(alone, setting)
    assert (choice, bid.share(100.0)) == (alone, 1.0)


@pytest.mark.parametrize(("holds_fees", "share"), [(False, 10 / 55), (True, 10 / 55.5)])
def test_a_bid_that_is_too_low_for_protection_counts_all_it_holds_at_one_share(holds_fees, share):
    """Permit, 10 %, is charged on laying and on 5 $/m² of other work, none on 50 of protection. Of
    a bid of 10 nothing is left for laying; all parts together, with their permit, are 55.5.
    """  # noqa: D205
    bid = Quoted(10.0, 5.0, 50.0, 20.0, 0.1, holds_fees)
    assert (bid.laid(10.0), bid.left_for_laying(10.0)) == (0.0, pytest.approx(-40 / bid.rate - 5))
    assert bid.share(10.0) == pytest.approx(share, rel=1e-12)
    assert bid.taken_off(10.0) == pytest.approx((1 - share) * 55.5, rel=1e-12)


def test_a_quotation_that_its_other_work_exceeds_is_answered(flat_roof):
    """200 $/m² of tear-off for a quotation of 100 for everything, the table's EPDM price besides.

    The first job costs what was quoted; a later one costs the usual price and its own tear-off.
    """
    two = dataclasses.replace(flat_roof, coverings=2, rooftop_units=0)
    prices = Prices(
        tear_off_per_m2=100.0, disposal_per_kg=0.0, disruption_per_m2=0.0,
        duties=DutyPrices(on_costs_rate=0.0, warranty_per_m2=0.0),
    )  # fmt: skip
    choice, (bid,) = levelled(QUOTED, Setting.of(two, prices, 3))
    usual = float(tables.rows("coverings")[QUOTED.covering]["price_per_m2"])
    assert choice.price_per_m2 == usual
    assert bid.share(100.0) == pytest.approx(100 / (usual + 200), rel=1e-12)
    spent = {}
    for event in listed(plan(choice, two, prices, 3, prices_quoted=(bid,))):
        spent[event.year] = spent.get(event.year, 0.0) + event.cost
    area = two.area_m2
    assert spent == pytest.approx({0: 100 * area, 10: usual * area, 20: (usual + 200) * area})
    with pytest.raises(CaseError, match="price is missing"):
        Membrane(price_includes=("everything",))


def test_a_case_is_compared_by_its_quotation(compared, flat_case):
    """The base case's first work costs the quotation; the figure entered stays in the list."""
    now = dataclasses.replace(
        flat_case.base_case, start="now", price_per_m2=150.0, method="tear-off"
    )
    quoted = dataclasses.replace(now, price_includes=("everything",))
    plain, whole = (
        compared(dataclasses.replace(flat_case, base_case=choice)) for choice in (now, quoted)
    )
    first = [event.cost for event in whole.alternatives[0].events if event.year == 0]
    assert sum(first) == pytest.approx(150.0 * flat_case.roof.area_m2, rel=1e-12)
    assert whole.alternatives[0].life_cycle_cost < plain.alternatives[0].life_cycle_cost
    listed_price = [each for each in whole.assumptions if each.field == "base_case.price"]
    assert [each.value for each in listed_price] == [150.0]
    found = {each.field: each for each in whole.alternatives[1].break_even}["base_case.price"]
    assert found.current.value == 150.0


def test_a_coating_is_as_rough_as_what_it_lies_on(flat_roof):
    roof = dataclasses.replace(flat_roof, covering="modified-bitumen-cap", coverings=1)
    programme = plan(Coating(), roof, Prices(), 3)
    coated = [state for state in programme.states if "coating" in state.name]
    assert {state.roughness for state in coated} == {"granular"}


def test_situations_repeat_under_a_recover_board(flat_roof):
    """A board more at every tear-off would be a step without end."""
    roof = dataclasses.replace(flat_roof, remaining_life_y=10.0)
    boarded = Membrane(method="recover-where-allowed", recover_board_m2k_w=1.0)
    assert len(plan(boarded, roof, Prices(), 3).steps) <= 6


@pytest.mark.parametrize("held", [("laying", "tear-off"), ("everything",)])
def test_all_that_a_low_bid_holds_is_counted_at_one_share_and_bears_its_own_fees(
    compared, flat_case, held
):
    """Two coverings off at 60 $/m² each, for a bid of 100 with laying: by hand at one share.

    Fees are 8 % of the work as it is paid, and no line is below nothing. What the bid does not
    hold costs what it does without one.
    """
    roof = dataclasses.replace(flat_case.roof, coverings=2, rooftop_units=0)
    prices = Prices(tear_off_per_m2=60.0, duties=DutyPrices(on_costs_rate=0.08))
    base = dataclasses.replace(flat_case.base_case, start="now", price_per_m2=100.0,
                               method="tear-off", price_includes=held)  # fmt: skip
    usual = float(tables.rows("coverings")[base.covering]["price_per_m2"])
    found, plain = (
        compared(dataclasses.replace(flat_case, roof=roof, prices=prices, base_case=each))
        for each in (
            base, dataclasses.replace(base, price_per_m2=usual, price_includes=("laying",)),
        )
    )  # fmt: skip
    paid, whole = (
        {row.key: row.alternatives[0].first_cost for row in each.scope} for each in (found, plain)
    )
    shares = {key: paid[key] / whole[key] for key in whole if whole[key] and key != "on-costs"}
    in_bid = {"tear-off", *(("insulation", "protection") * (len(held) == 1))}
    for key in shares.keys() - {"covering", "warranty"}:  # laying is at what later jobs cost
        part = shares["tear-off"] if key in in_bid else 1.0
        assert shares[key] == pytest.approx(part, rel=1e-9)
    assert 0 < shares["tear-off"] < 1
    free = {"on-costs", "protection", "warranty"}
    charged = [cost for key, cost in paid.items() if key not in free]
    assert paid["on-costs"] == pytest.approx(0.08 * sum(charged), rel=1e-9)
    assert min(paid.values()) >= 0
    own = found.alternatives[0]
    assert sum(each.alternatives[0].cost for each in found.scope) == pytest.approx(
        sum(event.cost for event in own.events)
    )
    if len(held) == 1:
        assert sum(paid.values()) == pytest.approx(100 * roof.area_m2, rel=1e-12)
        assert own.quotations[0].levelled_cost == pytest.approx(100 * roof.area_m2, rel=1e-12)
