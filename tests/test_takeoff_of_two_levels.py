"""A school wing under a ridge, and beside it a gym 8 ft higher that falls onto the wing."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from lcc.case import Layer, Roof
from lcc.case.framing import Framing
from lcc.case.other_work import OtherWork
from lcc.case.rectangle import Rectangle
from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities.takeoff import quantities
from lcc.quantities.trade_limits import against_roof
from lcc.units import FOOT_M as FOOT
from lcc.units import INCH_M

POUND = 0.45359237
PSF = POUND / FOOT**2
JOISTS = {"bearing_runs": "front-back"}
WING = Rectangle(
    160 * FOOT, 90 * FOOT, "ridge", "front", roof_level_m=14 * FOOT, deck_slope=0.125 / 12,
    deck_drains_to="front", bearing_spacing_m=6 * FOOT, roof_height_m=16 * FOOT,
    ballast_kg_m2=0.0, **JOISTS,
)  # fmt: skip
GYM = Rectangle(
    80 * FOOT, 70 * FOOT, "one-way", "left", 160 * FOOT, 10 * FOOT, 22 * FOOT,
    roof_height_m=24.5 * FOOT, parapet_front_m=3 * FOOT, parapet_back_m=3 * FOOT,
    parapet_right_m=3 * FOOT, bearing_spacing_m=5.5 * FOOT, ballast_kg_m2=11 * PSF, **JOISTS,
)  # fmt: skip
SCHOOL = Framing(
    (WING, GYM), slope=0.5 / 12, lowest_post_m=0.5 * FOOT, post_spacing_m=6 * FOOT,
    purlin_spacing_m=5 * FOOT, panel_cover_m=16 * INCH_M, insulation_thickness_m=6 * INCH_M,
    wind_and_snow=WindAndSnow(basic_wind_m_s=51.4, exposure="C", risk_category="III",
                              ground_snow_kg_m2=25 * PSF),
    other_work=OtherWork(rain_hour_m=3.2 * INCH_M),
)  # fmt: skip
PLAN = {1: 160 * 90 * FOOT**2, 2: 80 * 70 * FOOT**2}


def messages(framing=SCHOOL):
    return [flag.message for flag in quantities(framing).flags]


def test_each_part_weighs_what_it_weighs_alone():
    """Of components with no part in the other's: within 3 %, the wall between them apart."""
    taken = quantities(SCHOOL)
    for row, alone in zip(taken.part_loads, (WING, replace(GYM, x_m=0.0, y_m=0.0)), strict=True):
        by_itself = quantities(replace(SCHOOL, rectangles=(alone,)))
        assert row.load_kg_m2 == pytest.approx(by_itself.total_load_kg_m2, rel=0.03)
    wing, gym = taken.part_loads
    assert gym.load_kg_m2 > 1.3 * wing.load_kg_m2


@pytest.mark.parametrize(
    "rectangles",
    [(WING, GYM),
     (Rectangle(60 * FOOT, 100 * FOOT, "ridge", "left", bearing_runs="left-right",
                bearing_spacing_m=4 * FOOT),
      Rectangle(40 * FOOT, 30 * FOOT, "ridge", "front", 60 * FOOT, 35 * FOOT, slope=0.03,
                bearing_spacing_m=5 * FOOT, ballast_kg_m2=30.0, **JOISTS)),
     (Rectangle(20.0, 10.0, bearing_spacing_m=1.5, **JOISTS),
      Rectangle(20.0, 10.0, x_m=20.0, lowest_post_m=0.4, bearing_spacing_m=1.5, **JOISTS))],
)  # fmt: skip
def test_loads_of_parts_posts_and_joists_add_up_to_what_is_added(rectangles):
    """Where a wing runs on over its neighbour, and where two parts have a row of posts, too."""
    taken = quantities(replace(SCHOOL, rectangles=rectangles, slope=0.25, lowest_post_m=0.3))
    added = sum(each.mass_kg for each in taken.loads)
    assert sum(each.added_kg for each in taken.part_loads) == pytest.approx(added, rel=1e-9)
    joists = sum(row.lines * row.dead_kg for row in taken.bearing_loads)
    assert joists == pytest.approx(added, rel=1e-6)
    off = sum(each.mass_kg for each in taken.removed)
    assert sum(each.removed_kg for each in taken.part_loads) == pytest.approx(off, rel=1e-9)
    net = sum(each.net_load_kg_m2 * each.plan_area_m2 for each in taken.part_loads)
    plan = taken.surface.plan_area_m2
    assert net == pytest.approx(taken.net_load_kg_m2 * plan, abs=1e-6 * added)


def test_posts_without_weight_have_no_share_in_it():
    """What is entered as weighing nothing adds nothing, by part as in all."""
    taken = quantities(replace(SCHOOL, post_section_m2=0.0))
    added = sum(each.mass_kg for each in taken.loads)
    assert sum(each.added_kg for each in taken.part_loads) == pytest.approx(added, rel=1e-9)


def test_a_post_and_a_joist_carry_the_load_of_their_own_part():
    taken = quantities(SCHOOL)
    for row in taken.posts:
        load = taken.part_loads[row.rectangle - 1].load_kg_m2
        assert row.reaction_kg == pytest.approx(load * row.carried_m2, rel=1e-9)
    for row in taken.bearing_loads:
        load = taken.part_loads[row.rectangle - 1].load_kg_m2
        assert row.dead_kg == pytest.approx(load * row.carried_m2, rel=1e-9)


def test_stone_is_credited_where_it_lies():
    """11 lb/ft² on the gym: nothing off the wing, whose net load is all that is added there."""
    wing, gym = quantities(SCHOOL).part_loads
    assert wing.net_load_kg_m2 == wing.load_kg_m2
    assert gym.net_load_kg_m2 == pytest.approx(gym.load_kg_m2 - 11 * PSF, rel=1e-9)
    assert gym.removed_kg == pytest.approx(61_600 * POUND, rel=1e-6)


def test_stone_on_one_part_agrees_with_a_covering_that_has_none():
    roof = Roof(area_m2=sum(PLAN.values()), covering="modified-bitumen-cap",
                layers=(Layer(material="steel-deck"),))  # fmt: skip
    for own, flagged in ((0.0, []), (11 * PSF, ["ballast"])):
        framing = replace(SCHOOL, rectangles=(replace(WING, ballast_kg_m2=own), GYM))
        taken = quantities(framing)
        assert [flag.field for flag in against_roof(taken, framing, roof)] == flagged
        (asked,) = (each for each in taken.questions if each.startswith("Stone"))
        assert "which parts" not in asked
    framing = replace(
        SCHOOL, rectangles=tuple(replace(one, ballast_kg_m2=None) for one in (WING, GYM)),
        other_work=OtherWork(ballast_kg_m2=11 * PSF),
    )  # fmt: skip
    (asked,) = (each for each in quantities(framing).questions if each.startswith("Stone"))
    assert "which parts have stone" in asked


def test_drift_lies_along_a_parapet_as_far_as_it_stands_above_the_panel():
    """3 ft of parapet over a panel of 6 and 4 in at the eave that rises 1/2 in a foot: 52 ft.

    The purlin is as deep as stated: 4 in would leave 3 ft - 10 in, which is 26 in over 1/24.
    """
    depth = SCHOOL.purlin_depth_m
    length = (3 * FOOT - 0.5 * FOOT - depth) * 24
    places = {each.where: each.length_m for each in quantities(SCHOOL).drifts}
    for side in ("front", "back"):
        assert places[f"part 2, parapet at the {side}"] == pytest.approx(length, rel=1e-6)
    flashing = quantities(SCHOOL).edges.parapet_flashing_m
    assert flashing == pytest.approx(2 * length * math.hypot(1, 1 / 24), rel=1e-6)


@pytest.mark.parametrize("joists", [5.5, 6.0, 7.0])
def test_bracing_lines_stand_at_most_the_stated_distance_apart(joists):
    """On joists every 6 ft, the nearest to even 40 ft are 42 ft apart: one line more is laid."""
    wing = replace(WING, bearing_spacing_m=joists * FOOT)
    framing = replace(SCHOOL, rectangles=(wing, GYM), brace_spacing_m=40 * FOOT,
                      post_spacing_m=8 * FOOT)  # fmt: skip
    rows = quantities(framing).bracing
    for fall, ends in (((1, "front"), 160), ((1, "back"), 160), ((2, "left"), 70)):
        at = [row.at_m / FOOT for row in rows if (row.rectangle, row.fall) == fall]
        assert (at[0], at[-1]) == pytest.approx((0, ends))
        assert max(b - a for a, b in pairwise(at)) <= 40 + 1e-6


def test_downspouts_of_an_eave_over_a_neighbour_stand_at_its_ends_or_the_flag_says_where():
    """The gym's 70 ft take two; at 12 in an hour more, which stand over the wing."""
    spouts = [row for row in quantities(SCHOOL).along if row.mark.startswith("D2.L")]
    at = sorted(row.first_m + k * row.spacing_m for row in spouts for k in range(row.number))
    assert at == pytest.approx([0.0, 70 * FOOT], abs=1e-9)
    (told,) = (each for each in messages() if "onto the lower roof" in each)
    assert "go down beside that roof" in told
    assert "(5600 ft²) of roof runs on to the gutters of part 1, which are not sized" in told
    cloudburst = replace(SCHOOL, other_work=OtherWork(rain_hour_m=12 * INCH_M))
    (told,) = (each for each in messages(cloudburst) if "onto the lower roof" in each)
    assert "Downspouts over that roof, from the front of part 2: " in told


BOTH = "The eaves of part 1 at the back and of part 2 at the left let no air"


def test_an_eave_too_low_for_its_insulation_is_flagged():
    """6 in of blanket under posts of 6 in; with 7 in of post an inch is left, and 0.7 in needed."""
    for post, edges in ((6, [BOTH]), (7, [])):
        found = [each for each in messages(replace(SCHOOL, lowest_post_m=post * INCH_M))
                 if "no air in" in each]  # fmt: skip
        assert [each[: each.index(" in as")] for each in found] == edges


def test_flat_diagonals_and_sliding_snow_are_asked_about_by_place():
    """A diagonal over 6 ft of bay rises 6 in: 4.8°; on posts of 3 ft, 26.6°."""
    asked = quantities(SCHOOL).questions
    (flat,) = (each for each in asked if "less than 15°" in each)
    assert "the flattest at 5°" in flat
    tall = quantities(replace(SCHOOL, lowest_post_m=3 * FOOT)).questions
    assert not any("less than 15°" in each for each in tall)
    (slides,) = (each for each in asked if each.startswith("Sliding snow"))
    assert "part 2 sheds its fall to the left, 24.38 m (80.0 ft) long" in slides
    assert "along 21.34 m (70.0 ft) of eave onto part 1" in slides


def test_purlins_laid_closer_than_wind_asks_are_said():
    """Joists every 5.5 ft: halves of 2.75 ft in the field, halved again where 2.5 ft are asked.

    Thirds, 1.83 ft, would do. Joists every 5 ft are divided once, into 2.5 ft: nothing is said.
    """
    (told,) = (each for each in messages() if "would do" in each and "0.76 m (2.5 ft)" in each)
    assert "laid 0.42 m (1.4 ft) apart, and 0.56 m (1.8 ft) would do" in told
    even = replace(GYM, bearing_spacing_m=5 * FOOT)
    assert not any(
        "would do" in each for each in messages(replace(SCHOOL, rectangles=(WING, even)))
    )
