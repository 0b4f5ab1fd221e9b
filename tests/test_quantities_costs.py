"""First cost, added load, thermal movement and flags, worked by hand; and what is refused."""

from dataclasses import replace

import pytest

from lcc import tables
from lcc.case import Framing, Rectangle, UnitPrices
from lcc.case.fields import BASES, facts_of
from lcc.errors import CaseError
from lcc.quantities import quantities

BOX = Rectangle(24.0, 12.0)
# The one-way roof of test_quantities_roofs.py, whose quantities are worked there.
SURVEY = Framing(
    (BOX,), slope=9 / 40, lowest_post_m=0.3, purlin_depth_m=0.1, post_spacing_m=2.0,
    purlin_spacing_m=1.5, panel_cover_m=0.6, insulation_thickness_m=0.15, rooftop_units=3,
    penetrations=5, wet_area_m2=20.0, wind_m_s=2.0, warmth_k=0.0, ventilator_throat_m2=0.1,
    panel_thickness_m=0.0006, panel_girth=1.25, trim_girth_m=0.4, post_section_m2=4e-4,
    purlin_section_m2=4e-4, brace_section_m2=0.0, post_base_kg=1.0, clip_kg=0.2, wall_kg_m2=10.0,
    ventilator_kg=12.0, curb_kg=45.0, insulation_density_kg_m3=12.0,
)  # fmt: skip
PRICES = UnitPrices(
    post=10, post_steel_per_m=8, purlin_per_m=7, bracing_per_m=0, clip=2, fastener=0.5,
    panel_per_m2=30, eave_per_m=10, rake_per_m=20, ridge_per_m=25, high_edge_per_m=15,
    gutter_per_m=30, valley_per_m=60, joint_per_m=30, wall_per_m2=50, ventilator=200,
    inlet_per_m2=300, insulation_per_m3=40, curb=500, unit_lift=1500, penetration=100,
    tear_out_per_m2=35, labour_hour=60, crane_day=2000, set_up=5000, permit_rate=0.01,
    engineering_rate=0.03, contingency_rate=0.10, overhead_rate=0.10, profit_rate=0.05,
)  # fmt: skip
PRICED = replace(SURVEY, unit_prices=PRICES, labour_hours_h=400.0)


def costs(taken):
    return {line.key: line.cost for line in taken.first_cost.lines}


def test_every_line_is_quantity_times_price():
    expected = {
        "post": 1170.0,  # 117 · 10
        "post_steel_per_m": 1544.4,  # 193.05 · 8
        "purlin_per_m": 1512.0,  # 216 · 7
        "bracing_per_m": 0.0,
        "clip": 738.0,  # 369 · 2
        "fastener": 800.0,  # 1600 · 0.5
        "panel_per_m2": 9298.8,  # 309.96 · 30
        "eave_per_m": 240.0,  # 24 · 10
        "rake_per_m": 492.0,  # 24.6 · 20
        "ridge_per_m": 0.0,
        "high_edge_per_m": 360.0,  # 24 · 15
        "gutter_per_m": 720.0,  # 24 · 30
        "valley_per_m": 0.0,
        "joint_per_m": 0.0,
        "wall_per_m2": 6300.0,  # 126 · 50
        "ventilator": 2000.0,  # 10 · 200
        "inlet_per_m2": 300.0,  # 1 · 300
        "insulation_per_m3": 1728.0,  # 43.2 · 40
        "curb": 1500.0,  # 3 · 500
        "unit_lift": 4500.0,  # 3 · 1500
        "penetration": 500.0,  # 5 · 100
        "tear_out_per_m2": 700.0,  # 20 · 35
        "crane_day": 2000.0,
        "set_up": 5000.0,
        "labour_hour": 24000.0,  # 400 · 60
        "permit_rate": 654.032,  # 1 % of the direct 65,403.20
        "engineering_rate": 1962.096,  # 3 %
        "contingency_rate": 6801.9328,  # 10 % of 68,019.328
        "overhead_rate": 7482.12608,  # 10 % of 74,821.2608
        "profit_rate": 4115.169344,  # 5 % of 82,303.38688
    }
    assert costs(quantities(PRICED)) == pytest.approx(expected, rel=1e-12)


def test_the_build_up_is_the_sum_of_its_lines():
    cost = quantities(PRICED).first_cost
    assert cost.direct == pytest.approx(65403.2, rel=1e-12)
    assert cost.build_up == pytest.approx(86418.556224, rel=1e-12)
    assert cost.first_cost == cost.build_up
    assert cost.price_per_m2 == pytest.approx(86418.556224 / 288, rel=1e-12)
    assert (cost.quotation, cost.difference) == (None, None)


def test_labour_hours_are_the_lines_hours():
    # Of the table, h a unit: posts 0.25, purlins 0.04, clips 0.01, panels 0.11 and so on.
    taken = quantities(replace(SURVEY, unit_prices=PRICES)).first_cost
    by_key = {line.key: line for line in taken.lines}
    assert by_key["post"].labour_h == pytest.approx(117 * 0.25)
    assert by_key["panel_per_m2"].labour_h == pytest.approx(309.96 * 0.11)
    assert by_key["set_up"].labour_h == 0.0
    assert taken.labour_h == pytest.approx(sum(line.labour_h for line in taken.lines), rel=1e-12)
    assert by_key["labour_hour"].amount.value == taken.labour_h


def test_a_quotation_replaces_the_build_up_and_the_difference_is_shown():
    cost = quantities(replace(PRICED, quotation=90_000.0)).first_cost
    assert cost.first_cost == 90_000.0
    assert cost.build_up == pytest.approx(86418.556224, rel=1e-12)
    assert cost.difference == pytest.approx(3581.443776, rel=1e-9)
    assert cost.price_per_m2 == 312.5  # 90,000 / 288
    assert cost.reading == (
        "The quotation replaces the build-up of this plan and is $3,581 above it, 4% of it."
    )
    named = quantities(replace(PRICED, quotation=9e4, quotation_from="A. Smith, 3 May"))
    assert named.first_cost.reading.startswith("The quotation (A. Smith, 3 May) replaces")
    assert "agrees" in quantities(replace(PRICED, quotation=86418.6)).first_cost.reading
    assert "below" in quantities(replace(PRICED, quotation=80_000.0)).first_cost.reading


def test_unit_prices_unset_are_the_table_s_and_say_demo():
    survey = replace(SURVEY, unit_prices=UnitPrices(clip=2.5))
    lines = {line.key: line for line in quantities(survey).first_cost.lines}
    assert (lines["clip"].price.value, lines["clip"].basis) == (2.5, "entered")
    row = tables.rows("unit_prices")["purlin_per_m"]
    assert (lines["purlin_per_m"].price.value, lines["purlin_per_m"].basis) == (
        row["value"],
        "demo",
    )


def test_the_table_has_a_row_for_every_unit_price_in_the_core_s_unit():
    rows = tables.rows("unit_prices")
    facts = facts_of(UnitPrices)
    assert set(rows) == set(facts)
    units = {"price_per_length": {"m"}, "price_per_area": {"m2"}, "price_per_volume": {"m3"},
             "rate": {"fraction"}, "money": {"each", "h", "day", "lump"}}  # fmt: skip
    for key, row in rows.items():
        assert row["unit"] in units[facts[key].kind], key
        assert row["basis"] == "demo"
        assert row["value"] > 0
        assert facts[key].low <= row["value"] <= facts[key].high
        assert row["labour_h"] >= 0


def test_every_component_s_load_is_its_mass_over_the_plan():
    expected = {
        "Panels": 1737.99,  # 295.2 m² · 1.25 · 0.6 mm · 7850
        "Posts": 723.177,  # 193.05 m · 4 cm² · 7850 + 117 · 1 kg
        "Purlins": 678.24,  # 216 m · 4 cm² · 7850
        "Bracing": 0.0,
        "Clips": 73.8,  # 369 · 0.2
        "Trims and gutters": 181.9944,  # (24 + 24 + 24.6 + 24) m · 0.4 m · 0.6 mm · 7850
        "Walls": 1260.0,  # 126 · 10
        "Insulation": 518.4,  # 43.2 · 12
        "Ventilators": 120.0,  # 10 · 12
        "Curbs": 135.0,  # 3 · 45
    }
    taken = quantities(SURVEY)
    assert {load.component: load.mass_kg for load in taken.loads} == pytest.approx(expected)
    assert taken.total_load_kg_m2 == pytest.approx(5428.6014 / 288, rel=1e-9)
    assert any("structural engineer" in caution for caution in taken.cautions)


# Linear expansion: 12e-6 per K for steel, 23e-6 for aluminium (EN 1993-1-1 3.2.6 and
# EN 1999-1-1 3.2.5, from memory), exact products.
def test_movement_is_expansion_over_the_year_s_range():
    # Panel 12.3 m, -20 to 75 °C: 12e-6 · 12.3 · 95 = 14.022 mm; laid at 20 °C it grows
    # 12e-6 · 12.3 · 55 = 8.118 mm and shrinks 12e-6 · 12.3 · 40 = 5.904 mm.
    moved = quantities(SURVEY, (-20.0, 75.0)).movement
    assert moved.free_length_m == pytest.approx(12.3)
    assert moved.movement_m == pytest.approx(0.014022)
    assert (moved.growth_m, moved.shrinkage_m) == pytest.approx((0.008118, 0.005904))
    assert moved.verdict.startswith("Not judged")
    middle = quantities(replace(SURVEY, fixed_point="middle"), (-20.0, 75.0)).movement
    assert middle.movement_m == pytest.approx(0.007011)
    aluminium = quantities(replace(SURVEY, panel_metal="aluminium"), (-20.0, 75.0)).movement
    assert aluminium.movement_m == pytest.approx(0.014022 * 23 / 12)


@pytest.mark.parametrize(
    ("travel", "flagged", "words"),
    [
        (0.013, True, "exceeds"),
        (0.015, False, "off its centre"),  # 8.118 mm of growth is over half of 15 mm
        (0.018, False, "set at its centre"),
    ],
)
def test_movement_is_judged_against_the_clip(travel, flagged, words):
    taken = quantities(replace(SURVEY, clip_travel_m=travel), (-20.0, 75.0))
    assert words in taken.movement.verdict
    assert ("clip_travel" in [flag.field for flag in taken.flags]) is flagged


def test_without_temperatures_there_is_no_movement():
    assert quantities(replace(SURVEY, clip_travel_m=0.001)).movement is None


def test_a_coldest_panel_hotter_than_the_hottest_is_refused():
    with pytest.raises(CaseError, match="coldest_panel is 80"):
        quantities(SURVEY, (80.0, 10.0))


PRACTICE = Framing((Rectangle(24.0, 12.0),))


def test_an_ordinary_survey_is_not_flagged():
    assert quantities(PRACTICE).flags == ()


@pytest.mark.parametrize(
    ("change", "field", "basis"),
    [
        ({"slope": 0.2 / 12}, "slope", "published"),
        ({"bracing": False}, "bracing", "common practice"),
        ({"brace_spacing_m": 15.0}, "brace_spacing", "common practice"),
        ({"lowest_post_m": 3.0}, "post_height_limit", "demo"),
        ({"post_height_limit_m": 0.5}, "post_height_limit", "entered"),
        ({"fasteners_per_clip": 1}, "fasteners_per_clip", "common practice"),
        ({"air_changes_per_h": 2.0}, "air_changes", "common practice"),
        ({"panel_thickness_m": 0.003}, "loads", "common practice"),
    ],
)
def test_a_survey_outside_practice_is_flagged_with_its_source(change, field, basis):
    flags = quantities(replace(PRACTICE, **change)).flags
    assert [(flag.field, flag.basis) for flag in flags] == [(field, basis)]
    assert flags[0].message
    assert flags[0].source


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"purlin_spacing_m": 0.0}, "purlin_spacing"),
        ({"post_spacing_m": 0.0}, "post_spacing"),
        ({"brace_spacing_m": 0.0}, "brace_spacing"),
        ({"slope": 0.51}, "slope"),  # over 6 in 12
        ({"slope": 0.0}, "slope"),
        ({"lowest_post_m": -0.3}, "lowest_post"),
        ({"air_changes_per_h": -1.0}, "air_changes"),
        ({"waste": 0.6}, "waste"),
        ({"rooftop_units": 1.5}, "rooftop_units"),
        ({"panel_metal": "unobtainium"}, "panel_metal"),
        ({"fixed_point": "nowhere"}, "fixed_point"),
        ({"rectangles": ()}, "rectangles"),
        ({"rectangles": (BOX, BOX)}, "rectangles.1.x"),
        ({"wet_area_m2": 289.0}, "wet_area"),
        ({"slope": float("nan")}, "slope"),
    ],
)
def test_bad_input_is_refused_with_field_and_range(change, field):
    with pytest.raises(CaseError) as caught:
        Framing(**{"rectangles": (BOX,), **change})
    assert caught.value.field == field
    assert caught.value.allowed


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"insulation_thickness_m": 0.39}, "insulation_thickness"),
        ({"wind_m_s": 0.0, "warmth_k": 0.0}, "wind"),
        ({"lowest_post_m": 9.0, "slope": 0.5}, "slope"),
    ],
)
def test_figures_that_do_not_fit_together_are_refused(change, field):
    with pytest.raises(CaseError) as caught:
        quantities(replace(PRACTICE, **change))
    assert caught.value.field == field


def test_a_zero_sized_rectangle_is_refused():
    with pytest.raises(CaseError, match="length is 0"):
        Rectangle(0.0, 12.0)


def test_a_demo_price_brings_its_caution_and_entered_prices_do_not():
    assert any("invented" in caution for caution in quantities(SURVEY).cautions)
    assert not any("invented" in caution for caution in quantities(PRICED).cautions)
    hours_of_the_table = replace(PRICED, labour_hours_h=None)
    assert any("invented" in caution for caution in quantities(hours_of_the_table).cautions)


def test_every_assumption_has_a_basis_and_a_source():
    taken = quantities(replace(SURVEY, quotation_from="Invented Roofing, May"))
    assert {each.basis for each in taken.assumptions} <= set(BASES)
    assert all(each.source and each.label for each in taken.assumptions)
    found = {each.field: each for each in taken.assumptions}
    assert found["framing.slope"].basis == "entered"
    assert found["framing.brace_spacing"].basis == "common practice"
    assert found["framing.bracing"].value == "yes"
    assert found["framing.quotation_from"].value == "Invented Roofing, May"
