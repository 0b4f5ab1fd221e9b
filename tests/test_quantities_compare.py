"""A survey's slope, cavity, steel and first cost reach the comparison without a second entry."""

from dataclasses import replace

import pytest

from lcc.case import (
    Assembly,
    Case,
    DutyPrices,
    Framing,
    Layer,
    MetalRetrofit,
    Prices,
    Rectangle,
    Roof,
    Site,
    UnitPrices,
)
from lcc.case.other_work import OtherWork
from lcc.comparison import compare
from lcc.cost.work import UNITS
from lcc.errors import CaseError
from lcc.heat.assembly import steady
from lcc.quantities import framed, left_to_do, of_retrofit, room_m
from lcc.stated_case import surveyed

BLANKET = Layer(material="glass-fibre-blanket", thickness_m=0.15)
ROOF = Roof(
    area_m2=1800.0, covering="built-up-smooth", coverings=2, rooftop_units=4,
    layers=(Layer(material="built-up-roofing"), Layer(material="steel-deck")),
)  # fmt: skip
SURVEY = Framing((Rectangle(60.0, 30.0, form="ridge"),), rooftop_units=4)


def retrofit(**survey):
    survey = {"other_work": OtherWork(general_conditions=True), **survey}
    cavity = replace(MetalRetrofit().cavity, ventilation="openings")
    return MetalRetrofit(layers=(BLANKET,), cavity=cavity, framing=replace(SURVEY, **survey))


def answer(choice, roof=ROOF):
    # Without what is the owner's alone (rooms) and without fees, the job is what is entered.
    fees = DutyPrices(on_costs_rate=0.0, structure_rate=0.0, warranty_per_m2=0.0)
    prices = Prices(disruption_per_m2=0.0, duties=fees)
    case = Case(site=Site(climate="tulsa-ok"), roof=roof, prices=prices, alternatives=(choice,))
    return compare(case)


@pytest.fixture(scope="module")
def low():
    return answer(retrofit(slope=0.5 / 12))


@pytest.fixture(scope="module")
def steep():
    return answer(retrofit(slope=3 / 12))


def year(comparison):
    return comparison.alternatives[1].energy[-1]


def test_a_change_of_slope_changes_heat_cost_and_payback(low, steep):
    assert abs(year(steep).roof_heat_gain_kwh / year(low).roof_heat_gain_kwh - 1) > 1e-3
    assert abs(year(steep).cooling_load_kwh / year(low).cooling_load_kwh - 1) > 1e-6
    mild, tall = low.alternatives[1], steep.alternatives[1]
    assert tall.first_cost > mild.first_cost * 1.05
    assert tall.measures.net_savings.value < mild.measures.net_savings.value
    assert tall.measures.discounted_payback.value >= mild.measures.discounted_payback.value


def test_first_cost_is_the_survey_s_and_units_are_lifted_once(low):
    own = low.alternatives[1]
    assert own.first_cost == pytest.approx(own.quantities.first_cost.first_cost, rel=1e-12)
    assert UNITS not in [cost.name for cost in own.costs]


def test_without_a_survey_of_units_the_roof_s_own_are_lifted():
    own = answer(retrofit(rooftop_units=0)).alternatives[1]
    assert UNITS in [cost.name for cost in own.costs]


def test_a_quotation_is_the_first_cost():
    quoted = answer(retrofit(quotation=300_000.0)).alternatives[1]
    assert quoted.first_cost == pytest.approx(300_000.0, rel=1e-12)


def test_a_survey_beside_an_entered_price_changes_no_first_cost():
    """100 $/m² over 1800 m² and four units at 2500 $, with the survey as without it."""
    priced = replace(retrofit(), price_per_m2=100.0)
    bare, surveyed_too = answer(replace(priced, framing=None)), answer(priced)
    for each in (bare, surveyed_too):
        assert each.alternatives[1].first_cost == pytest.approx(190_000.0, rel=1e-12)


def test_an_entered_price_is_set_beside_the_build_up_for_the_same_work():
    """180,000 $ of laying, the survey's four units at 2,500 $, and the permit of the bill's lines.

    On half of the plan: half of the laying, and all of the units, which stand there.
    """
    built = of_retrofit(retrofit()).first_cost
    found = answer(replace(retrofit(), price_per_m2=100.0)).alternatives[1]
    rows = {event.duty: event.cost for event in found.events if event.year == 0}
    own = 180_000.0 + 10_000.0 + rows.get("structure", 0.0)
    cost = found.quantities.first_cost
    assert cost.build_up == built.build_up
    assert cost.quotation == pytest.approx(own + built.permit_apart, rel=1e-12)
    assert cost.difference == pytest.approx(cost.quotation - built.build_up, rel=1e-9)
    assert cost.reading.startswith("The price entered, with all other work of this bill, replaces")
    plan = replace(SURVEY, rectangles=(Rectangle(30.0, 30.0, form="ridge"),))
    permit = of_retrofit(replace(retrofit(), framing=plan)).first_cost.permit_apart
    half = answer(replace(retrofit(), price_per_m2=100.0, framing=plan)).alternatives[1]
    alone = half.quantities.first_cost.quotation - permit
    assert alone == pytest.approx((own - 10_000.0) / 2 + 10_000.0, rel=1e-9)


def test_a_price_and_a_quotation_are_refused_together():
    both = replace(retrofit(quotation=3e5), price_per_m2=100.0)
    with pytest.raises(CaseError) as caught:
        answer(both)
    assert caught.value.field == "alternatives.0.framing.quotation"


def test_units_that_the_survey_does_not_count_are_lifted_at_their_own_price_and_flagged():
    """The roof has four units: three surveyed leave one at 2500 $, five leave none."""
    for counted, left in ((3, 2500.0), (4, 0.0), (5, 0.0)):
        own = answer(retrofit(rooftop_units=counted)).alternatives[1]
        extra = own.first_cost - own.quantities.first_cost.first_cost
        assert extra == pytest.approx(left, abs=1e-6)
        assert bool(own.quantities.flags) == (counted != 4)
    assert "lifts 5 rooftop units, the roof carries 4" in own.quantities.flags[0].message


def test_wet_insulation_that_the_survey_leaves_is_flagged():
    """A quarter of 1800 m² is wet: 450 m²."""
    wet = replace(ROOF, wet_fraction=0.25)
    assert of_retrofit(retrofit(wet_area_m2=450.0), roof=wet).flags == ()
    (flag,) = of_retrofit(retrofit(wet_area_m2=180.0), roof=wet).flags
    assert flag.field == "wet_area"
    assert flag.message.startswith(
        "25% of the roof's insulation is wet and the survey tears out 10%"
    )


def test_wet_insulation_counted_to_two_percent_leaves_nothing_to_price():
    wet = replace(ROOF, wet_fraction=0.25)
    left = [left_to_do(wet, retrofit(wet_area_m2=each)).wet_fraction for each in (441.0, 438.0)]
    assert left == pytest.approx([0.0, 12 / 1800])
    told = answer(retrofit(wet_area_m2=438.0), roof=wet).scope
    (row,) = (each for each in told if each.key == "wet-insulation")
    assert row.alternatives[1].reason == (
        "1% of the insulation is wet beyond what the survey counts"
    )


def test_stone_on_a_covering_that_has_none_is_flagged():
    stony = retrofit(other_work=OtherWork(ballast_kg_m2=48.8))
    (flag,) = of_retrofit(stony, roof=ROOF).flags
    assert (flag.field, "loose stone" in flag.message) == ("ballast", True)
    taken = of_retrofit(retrofit(), roof=replace(ROOF, covering="epdm-ballasted"))
    assert [text for text in taken.questions if text.startswith("Stone")]
    assert of_retrofit(stony, roof=replace(ROOF, covering="epdm-ballasted")).flags == ()


def test_a_dense_layer_counts_in_the_mean_density():
    """A 2 mm sheet of 1200 kg/m³ on 150 mm of 12 kg/m³: 4.2 kg/m² in all."""
    sheet = Layer(material="single-ply-membrane", thickness_m=0.002)
    taken = of_retrofit(replace(retrofit(), layers=(sheet, BLANKET)))
    loads = {load.component: load.load_kg_m2 for load in taken.loads}
    assert loads["Insulation"] == pytest.approx(0.002 * 1200 + 0.15 * 12, rel=1e-12)


def test_as_much_insulation_fits_as_is_said_and_no_more():
    """The room is what the survey itself takes at the eave, less the layers above the first."""
    board = Layer(material="perlite-board", thickness_m=0.03)
    given = replace(retrofit(), layers=(BLANKET, board))
    room = room_m(given)
    fits = replace(BLANKET, thickness_m=room - 1e-9)
    assert of_retrofit(replace(given, layers=(fits, board)))
    with pytest.raises(CaseError, match="under the panel at the eave"):
        of_retrofit(replace(given, layers=(replace(fits, thickness_m=room + 1e-6), board)))
    assert room_m(replace(given, framing=None)) is None
    assert room_m(retrofit(insulation_thickness_m=0.1)) is None


# Surveys each of whose figures is in range, and what of the retrofit they would bring out of it.
UNFIT = {
    "price": {"rectangles": (Rectangle(1.0, 1.0),)},
    "inlet area": {"air_changes_per_h": 100.0, "inlet_to_outlet": 10.0, "wind_m_s": 0.001,
                   "warmth_k": 0.0, "rectangles": (Rectangle(1000.0, 60.0),)},
}  # fmt: skip


@pytest.mark.parametrize(("named", "change"), UNFIT.items())
def test_a_survey_that_leads_out_of_range_is_named_itself(named, change):
    with pytest.raises(CaseError) as caught:
        framed(retrofit(**change))
    assert caught.value.field == "framing"
    assert f"the {named} of the retrofit" in caught.value.allowed


def test_panel_temperatures_are_those_of_the_heat_model(low):
    moved = low.alternatives[1].quantities.movement
    assert (moved.coldest_c, moved.hottest_c) == (
        year(low).lowest_surface_c,
        year(low).peak_surface_c,
    )
    # 12e-6 per K over 15 m · √(1 + (0.5/12)²).
    hand = 12e-6 * 15 * (1 + (0.5 / 12) ** 2) ** 0.5 * (moved.hottest_c - moved.coldest_c)
    assert moved.movement_m == pytest.approx(hand, rel=1e-12)


def test_a_retrofit_is_filled_from_its_survey():
    filled, taken = framed(retrofit()), of_retrofit(retrofit())
    # Lowest post 0.3048 + purlin 0.1016 + half of 15 · 0.5/12 - insulation 0.15 = 0.5689 m.
    assert filled.cavity.mean_height_m == pytest.approx(0.5689, rel=1e-12)
    assert filled.cavity.stack_height_m == pytest.approx(0.625, rel=1e-12)
    assert filled.cavity.outlet_area_m2 == taken.cavity.throat_area_m2
    assert filled.cavity.inlet_area_m2 == taken.cavity.inlet_area_m2
    assert filled.cavity.ventilation == "openings"
    assert filled.slope == SURVEY.slope
    # Ridge of 60 m by 30 m at 1.524 m: 21 rows of 41 posts over 1800 m².
    assert filled.layers[0].fasteners.number_per_m2 == pytest.approx(21 * 41 / 1800, rel=1e-12)
    assert filled.layers[0].fasteners.section_m2 == SURVEY.post_section_m2
    assert framed(MetalRetrofit()) == MetalRetrofit()


def test_post_steel_raises_the_u_value_as_the_standard_says():
    # ISO 6946:2017 annex F: ΔU = α λ A n / d (R₁ / R)², α = 0.8 for steel through the layer.
    plain, posted = BLANKET, framed(retrofit()).layers[0]
    bare = steady(Assembly(layers=(plain,))).u_w_m2k
    resistance = 0.15 / 0.043
    steel = 0.8 * 50 * SURVEY.post_section_m2 * (21 * 41 / 1800) / 0.15 * (resistance * bare) ** 2
    assert steady(Assembly(layers=(posted,))).u_w_m2k == pytest.approx(bare + steel, rel=1e-6)


def test_steel_entered_by_the_user_and_layers_without_depth_are_left_alone():
    own = replace(BLANKET, fasteners=framed(retrofit()).layers[0].fasteners)
    own = replace(own, fasteners=replace(own.fasteners, number_per_m2=0.1))
    plain = Layer(resistance_m2k_w=2.0)
    filled = framed(replace(retrofit(), layers=(own, plain)))
    assert filled.layers == (own, plain)


def test_openings_are_scaled_to_the_roof_and_the_mismatch_is_flagged():
    twice = framed(retrofit(), roof_area_m2=3600.0)
    once = framed(retrofit())
    assert twice.cavity.outlet_area_m2 == pytest.approx(2 * once.cavity.outlet_area_m2)
    flags = of_retrofit(retrofit(), roof=replace(ROOF, area_m2=3600.0)).flags
    assert [flag.message[:19] for flag in flags] == ["The parts cover 50%"]
    assert of_retrofit(retrofit(), roof=ROOF).flags == ()


def test_figures_worked_out_are_told_from_figures_entered(low):
    found = {each.field: each for each in low.assumptions}
    height = found["alternatives.0.cavity.mean_height"]
    assert (height.basis, height.source.split(" of ")[0]) == (
        "demo",
        "worked out from the framing survey",
    )
    price = found["alternatives.0.price"]
    assert price.basis == "demo"
    assert found["alternatives.0.framing.unit_prices.clip"].basis == "demo"
    quoted = {a.field: a for a in answer(retrofit(quotation=3e5)).assumptions}
    assert quoted["alternatives.0.price"].basis == "entered"
    assert quoted["alternatives.0.framing.quotation"].basis == "entered"


def test_a_fault_of_the_survey_names_its_place_in_the_case():
    faulty = replace(retrofit(), layers=(replace(BLANKET, thickness_m=0.5),))
    case = Case(site=Site(climate="tulsa-ok"), roof=ROOF, alternatives=(faulty,))
    with pytest.raises(CaseError) as caught:
        surveyed(case)
    assert caught.value.field == "alternatives.0.framing.insulation_thickness"


def test_the_layers_weigh_what_their_materials_weigh():
    # 0.15 m of glass-fibre blanket at 12 kg/m³ (ASHRAE, as tabulated): 1.8 kg/m².
    loads = {load.component: load.load_kg_m2 for load in of_retrofit(retrofit()).loads}
    assert loads["Insulation"] == pytest.approx(1.8, rel=1e-12)


def test_unit_prices_reach_the_price():
    dearer = replace(SURVEY, unit_prices=UnitPrices(panel_per_m2=100.0))
    assert (
        framed(replace(retrofit(), framing=dearer)).price_per_m2 > framed(retrofit()).price_per_m2
    )


def test_insulation_surveyed_other_than_laid_is_flagged():
    laid = Layer(material="glass-fibre-blanket", thickness_m=0.1524)
    surveyed = replace(retrofit(insulation_thickness_m=0.0508), layers=(laid,))
    (flag,) = [f for f in of_retrofit(surveyed).flags if f.field == "insulation_thickness"]
    assert "33% as thick as the layers" in flag.message
    for same in (None, 0.1524, 0.15):
        agreeing = replace(retrofit(insulation_thickness_m=same), layers=(laid,))
        assert "insulation_thickness" not in [f.field for f in of_retrofit(agreeing).flags]
    unlaid = replace(surveyed, layers=())
    assert "no layer is laid" in of_retrofit(unlaid).flags[-1].message


def test_what_the_takeoff_s_lines_do_not_hold_is_priced_as_in_every_other_alternative():
    """By hand: no general conditions among the lines, so 8 % of laying and 2 $/m² of warranty.

    The permit of the lines is in the 8 %, so it goes out of them, with its part of the mark-ups.
    """
    duties = DutyPrices(on_costs_rate=0.08, structure_rate=0.03, warranty_per_m2=2.0)
    roof = replace(ROOF, penetrations=3, skylights=1)
    plain = retrofit(other_work=OtherWork(), penetrations=3)
    case = Case(
        site=Site(climate="tulsa-ok"), roof=roof, alternatives=(plain,),
        prices=Prices(disruption_per_m2=0.0, duties=duties),
    )  # fmt: skip
    found = compare(case)
    own = found.alternatives[1]
    lines = {each.key: each.cost for each in own.quantities.first_cost.lines}
    direct = own.quantities.first_cost.direct
    # 8 % contingency, 10 % overhead, 8 % profit on direct cost and 3 % of engineering.
    laid = direct * 1.03 * 1.08 * 1.10 * 1.08
    assert lines["permit_rate"] == pytest.approx(0.01 * direct, rel=1e-12)
    row = {each.key: each.alternatives[1] for each in found.scope}
    assert row["covering"].first_cost == pytest.approx(laid, rel=1e-9)
    assert row["on-costs"].first_cost == pytest.approx(
        0.08 * (laid + row["skylights"].first_cost), rel=1e-9
    )
    assert row["warranty"].first_cost == pytest.approx(2.0 * roof.area_m2, rel=1e-12)
    assert row["skylights"].first_cost > 0
    held = {key for key, each in row.items() if each.reason == "in the take-off"}
    assert held == {"edges", "penetrations", "units", "structure"}
    assert not any("entered" in each.reason for each in row.values())
