"""A hall with a lower wing on joists 6 ft apart: posts, long spans, bracing and steps, by hand."""

from dataclasses import replace

import pytest

from lcc.case import Framing
from lcc.case.framing import RoofDrain
from lcc.case.other_work import OtherWork
from lcc.case.rectangle import Rectangle
from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities import quantities
from lcc.quantities.trade_limits import assumptions
from lcc.units import FOOT_M as FOOT
from lcc.units import INCH_M as INCH

JOISTS = {"deck_slope": 0.25 / 12, "bearing_runs": "front-back", "bearing_spacing_m": 6 * FOOT}
HALL = Rectangle(120 * FOOT, 72 * FOOT, "ridge", y_m=40 * FOOT, roof_level_m=18 * FOOT, **JOISTS)
WING = Rectangle(96 * FOOT, 40 * FOOT, x_m=12 * FOOT, roof_level_m=14 * FOOT,
                 deck_drains_to="front", **JOISTS)  # fmt: skip
SCHOOL = Framing(
    (HALL, WING), slope=1 / 12, lowest_post_m=0.5 * FOOT, panel_cover_m=16 * INCH,
    drains=(RoofDrain(30 * FOOT, 76 * FOOT), RoofDrain(90 * FOOT, 76 * FOOT)),
    wind_and_snow=WindAndSnow(basic_wind_m_s=115 * 0.44704, roof_height_m=20 * FOOT, exposure="C"),
    other_work=OtherWork(rain_hour_m=3.8 * INCH),
)  # fmt: skip


def test_posts_stand_on_the_joists_where_no_spacing_is_entered():
    """Joists 6 ft apart carry the posts of light framing: the same roof as with 6 ft entered."""
    left, entered = quantities(SCHOOL), quantities(replace(SCHOOL, post_spacing_m=6 * FOOT))
    assert left.members == entered.members
    assert left.first_cost == entered.first_cost
    assert left.members.heavier_purlins_m == 0
    told = {one.field: one.value for one in assumptions(SCHOOL)}
    assert told["framing.post_spacing"] == 6 * FOOT


def test_a_span_longer_than_light_framing_is_one_allowance_that_holds_nothing_down():
    """Joists 7 ft apart, posts of 5 ft: members (7 / 5)² as heavy, and no post without a joist.

    The allowance is a load of its own: uplift is held by the members alone.
    """
    far = Framing((replace(WING, bearing_spacing_m=7 * FOOT, deck_slope=0.0, length_m=98 * FOOT),),
                  wind_and_snow=SCHOOL.wind_and_snow)  # fmt: skip
    taken, near = quantities(far), quantities(replace(far, post_spacing_m=7 * FOOT))
    purlins_m = taken.members.purlins_m
    assert taken.members.heavier_purlins_m == pytest.approx(purlins_m * ((7 / 5) ** 2 - 1))
    loads = [{one.component: one.mass_kg for one in each.loads} for each in (taken, near)]
    allowed = loads[0].pop("Allowance for members of long spans")
    assert allowed == pytest.approx(taken.members.heavier_purlins_m * far.purlin_section_m2 * 7850)
    assert loads[0] == pytest.approx(loads[1])
    assert [row.net_uplift_kg for row in taken.posts] == pytest.approx(
        [row.net_uplift_kg for row in near.posts])  # fmt: skip
    assert {line.key for line in taken.first_cost.lines} == {
        line.key for line in near.first_cost.lines}  # fmt: skip


def test_a_diagonal_up_the_slope_is_as_long_as_from_its_foot_to_its_head():
    """Wing: posts of 0.5 ft and v (1 - 0.25) / 12; lines at 35 and 40 ft from the eave.

    The post at 35 ft is 2.6875 ft, the panel rises 5 / 12 ft: √(5² + 3.1042²) = 5.8852 ft.
    """
    taken = quantities(SCHOOL)
    up = [piece for piece in taken.cut_list
          if piece.mark.startswith("B2.F") and "up the slope" in piece.what]  # fmt: skip
    assert max(piece.length_m for piece in up) / FOOT == pytest.approx(5.8852, abs=1e-4)


def test_an_eave_too_near_the_roof_below_it_is_flagged_with_the_height_that_fits():
    """Hall: panel 18.8333 ft at its eave; wing: 14.8333 + 40 / 12 = 18.1667 ft at the wall: 8 in.

    4,320 ft² in 3.8 in of rain by 3 downspouts: a half-round of 7 in, 3.5 in deep, that falls 1.25
    in from half way between two. With 8 in of flashing 12.75 in are taken: 4.75 in lack.
    """

    def told(lowest_in):
        hall = replace(HALL, lowest_post_m=lowest_in * INCH)
        return [flag.message for flag in quantities(replace(SCHOOL, rectangles=(hall, WING))).flags
                if "above the panel of" in flag.message]  # fmt: skip

    (flag,) = told(6)
    assert "Frame part 2 0.121 m (0.40 ft) lower or part 1 as much higher" in flag
    assert len(told(10.7)) == 1
    assert not told(10.8)


def test_a_deck_that_falls_to_drains_across_straight_joists_is_asked_about():
    found = [flag.message for flag in quantities(SCHOOL).flags]
    assert sum("which straight joists alone do not give" in each for each in found) == 1
    assert any("7.32 m (24.0 ft) of that eave stand over no other roof" in each for each in found)


def test_the_tops_of_posts_are_levels_of_their_lines():
    """Hall: 18 ft and posts of 6 in at the eave, 3 ft more at the ridge; wing 14.5 and 17.8333."""
    tops = {row.line: row.top_m / FOOT for row in quantities(SCHOOL).set_out}
    ends = [tops[f"P{part}.F{line}"] for part in (1, 2) for line in (1, 17)]
    assert ends == pytest.approx([18.5, 21.5, 14.5, 17 + 10 / 12])
