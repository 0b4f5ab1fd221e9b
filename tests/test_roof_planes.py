"""Planes over several parts: closed forms, conservation, turning and mirroring, named faults.

All expected values are our own arithmetic from the definitions, written beside each check; the
routes that compare two ways share no code: heights come from distances to the sides, areas from
coordinates. Tolerances are rounding, fixed beforehand.
"""

import itertools
import math
from collections import Counter
from dataclasses import asdict, replace

import numpy as np
import pytest
from hypothesis import Phase, example, given, settings
from hypothesis import strategies as st
from processor_time import runs_within

from lcc.case import Framing, MetalRetrofit, Rectangle, UnitPrices
from lcc.case.other_work import OtherWork
from lcc.case.rectangle import RoofDrain
from lcc.case.wind_and_snow import WindAndSnow
from lcc.errors import CaseError
from lcc.quantities import quantities
from lcc.quantities.drainage import valley_discharges
from lcc.quantities.roof_frame import RoofFrame
from lcc.quantities.takeoff import framed
from lcc.units.typed_quantities import both

SIDES = ("front", "back", "left", "right")
OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}
SWAP = {"front": "left", "left": "front", "back": "right", "right": "back", "middle": "middle"}
MIRROR = {"front": "front", "back": "back", "left": "right", "right": "left", "middle": "middle"}
modest = settings(max_examples=15, deadline=None)
many = settings(max_examples=60, deadline=None, phases=(Phase.explicit, Phase.generate))

# -- closed forms ---------------------------------------------------------------------------------


def test_a_hip_roof_has_the_lengths_of_its_diagonals():
    """30 m by 12 m, both ends hips, slope 1/2: the hips run 45° in plan, 6 m each way and 3 m up.

    Hip √(36 + 36 + 9) = 9 m exactly, four of them; ridge 30 - 12 = 18 m; eaves all round, 84 m;
    every panel lies at one slope, so 360 · √1.25.
    """
    hip = Rectangle(30.0, 12.0, "ridge", hip_ends=("left", "right"))
    taken = quantities(Framing((hip,), slope=0.5, panel_cover_m=0.5))
    assert taken.edges.hip_m == pytest.approx(36.0, rel=1e-12)
    assert taken.edges.ridge_m == pytest.approx(18.0, rel=1e-12)
    assert taken.edges.eave_m == pytest.approx(84.0, rel=1e-12)
    assert taken.edges.rake_m == taken.edges.high_edge_m == 0.0
    assert taken.surface.panel_area_m2 == pytest.approx(360 * math.sqrt(1.25), rel=1e-12)
    # Volume: prism and two half pyramids. Box 360 · eave, roof above it: 18 · 12 · 3 / 2 + 1/3 of
    # 144 · 3 for the two ends together.
    eave = 0.3048 + 0.1016
    assert taken.cavity.volume_m3 == pytest.approx(360 * eave + 324 + 144, rel=1e-12)
    # Panels of 0.5 m: 60 columns front and back, 24 at each end. A cut column is ordered to its
    # longer side: each hip cuts 12 columns on both its sides, 0.25 m² of plan more each.
    assert taken.members.panels == 2 * 60 + 2 * 24
    cut = 4 * 2 * 12 * (0.5 * 0.5 / 2) * math.sqrt(1.25)
    net = taken.surface.panel_area_m2
    assert taken.surface.ordered_area_m2 == pytest.approx(net * 1.05 + cut, rel=1e-12)


def test_an_l_has_two_true_valleys_to_the_ridge_of_its_wing():
    """Main 40 m by 16 m, ridge along it; wing 10 m wide behind, ridge from front to back.

    Slope 1/3. The wing's ridge is 5/3 m over the eaves, so it runs 5 m into the main slope; each
    valley is 5 m across, 5 m in, 5/3 m up: √(25 + 25 + 25/9). Main's back eave keeps 30 m.
    """
    parts = (
        Rectangle(40.0, 16.0, "ridge"),
        Rectangle(10.0, 14.0, "ridge", "left", x_m=12.0, y_m=16.0),
    )
    taken = quantities(Framing(parts, slope=1 / 3))
    valley = math.sqrt(25 + 25 + 25 / 9)
    assert taken.edges.valley_m == pytest.approx(2 * valley, rel=1e-12)
    assert taken.edges.inner_gutter_m == taken.edges.joint_m == 0.0
    assert taken.edges.ridge_m == pytest.approx(40 + 14 + 5, rel=1e-12)
    assert taken.edges.eave_m == pytest.approx(40 + 30 + 2 * 14, rel=1e-12)
    secant = math.hypot(1, 1 / 3)
    assert taken.edges.rake_m == pytest.approx((4 * 8 + 2 * 5) * secant, rel=1e-12)
    assert taken.surface.panel_area_m2 == pytest.approx((640 + 140) * secant, rel=1e-12)
    assert not [flag for flag in taken.flags if flag.field == "rectangles"]


def test_two_wings_at_one_level_meet_in_a_whole_valley_though_their_decks_fall_to_drains():
    """120 by 60 ft, a wing of 50 by 80 ft at its back left, 1/2 in 12, drains in both decks.

    By hand, eaves at one height: the valleys run 25 ft in and 25 ft across on both sides of the
    wing's ridge, 2 x 25 sqrt(2 + 1/24^2) = 70.7 ft; ridges 120 and 80 + 25 ft; no step.
    """
    foot = 0.3048
    main = Rectangle(120 * foot, 60 * foot, "ridge", deck_slope=1 / 48)
    wing = Rectangle(50 * foot, 80 * foot, "ridge", "left", y_m=60 * foot, deck_slope=1 / 48)
    drains = tuple(RoofDrain(x * foot, y * foot)
                   for x, y in ((30, 30), (90, 30), (25, 80), (25, 120)))  # fmt: skip
    taken = quantities(Framing((main, wing), 1 / 24, foot, drains=drains))
    assert taken.edges.valley_m / foot == pytest.approx(70.7, rel=0.01)
    assert taken.edges.ridge_m / foot == pytest.approx(225, rel=0.01)
    assert taken.edges.gutter_m / foot == pytest.approx(350, rel=0.01)
    assert taken.edges.step_wall_m2 == pytest.approx(0, abs=1e-9)
    assert "onto the lower roof" not in _words(taken)


def test_decks_that_fall_to_a_side_leave_eaves_at_one_height_and_whole_valleys():
    """The same L without drains: decks at 1/4 in 12 fall to the front, and the wing's to the left.

    By hand: over the front's level the main deck is 60/48 = 1.25 ft high at the back, so the eaves
    stand at 1.25 + 1 + 1/3 ft. The wing's deck is 50/48 ft high at its right: its posts there are
    1 + 1.25 - 50/48 = 1.2083 ft. Lengths as over level decks. Main ridge 2.25 + 30/24 - 30/48.
    Walls: eaves 120 (2.5833) + 70 (1.3333) + 80 (2.5833 + 1.5417) = 733.33 ft2; gables 2 x 155 of
    the main, 129.17 of the wing (2.5833, 3.1042 and 1.5417 ft). All to 1e-4, rounding.
    """
    foot = 0.3048
    main = Rectangle(120 * foot, 60 * foot, "ridge", deck_slope=1 / 48)
    wing = Rectangle(50 * foot, 80 * foot, "ridge", "left", y_m=60 * foot, deck_slope=1 / 48)
    taken = quantities(Framing((main, wing), 1 / 24, foot))
    edges = taken.edges
    lengths = edges.valley_m, edges.ridge_m, edges.gutter_m, taken.members.tallest_post_m
    valley = 2 * 25 * math.sqrt(2 + 1 / 24**2)
    assert np.array(lengths) / foot == pytest.approx([valley, 225, 350, 2.875], rel=1e-4)
    walls = np.array([edges.eave_wall_m2, edges.end_wall_m2]) / foot**2
    assert walls == pytest.approx([733.333, 439.167], rel=1e-4)
    assert (edges.step_wall_m2, edges.joint_m) == pytest.approx((0, 0), abs=1e-9)
    lowest = min(row.shortest_m for row in taken.posts if row.mark.startswith("P2.R"))
    assert lowest / foot == pytest.approx(1.2083, rel=1e-4)
    words = _words(taken)
    assert "onto the lower roof" not in words
    assert ("Part 2 is framed 0.064 m (0.21 ft) higher, so that its eaves meet its neighbour's at "
            "one height: its lowest post is 0.368 m (1.21 ft).") in words  # fmt: skip
    # 3 in higher the wing is framed as entered, and the step of 1/4 + 1.0417 - 1.25 ft is named.
    apart = _words(quantities(Framing((main, replace(wing, roof_level_m=foot / 4)), 1 / 24, foot)))
    assert "The eaves of part 1 and part 2 meet 0.013 m (0.04 ft) out of level" in apart
    assert "A lowest post of 0.318 m (1.04 ft) in part 1" in apart


def test_a_corner_closed_by_a_hip_has_one_hip_and_one_valley():
    """Two wings of 10 m at a right angle, slope 1/2, the outer corner a hip of the main part.

    Hip and valley are both 5 m by 5 m in plan and 2.5 m up: 7.5 m exactly.
    """
    main = Rectangle(30.0, 10.0, "ridge", hip_ends=("left",))
    wing = Rectangle(10.0, 20.0, "ridge", "left", y_m=10.0)
    taken = quantities(Framing((main, wing), slope=0.5))
    # Front left corner: a hip. Back left: the main's hip end and the wing's left fall are one
    # plane. Re-entrant corner: a valley.
    assert taken.edges.hip_m == pytest.approx(7.5, rel=1e-9)
    assert taken.edges.valley_m == pytest.approx(7.5, rel=1e-9)
    assert taken.edges.ridge_m == pytest.approx(25 + 20 + 5, rel=1e-9)
    assert taken.edges.eave_m == pytest.approx(30 + 20 + 10 + 20 + 20, rel=1e-9)
    area = math.sqrt(1.25) * 500
    assert taken.surface.panel_area_m2 == pytest.approx(area, rel=1e-12)


def test_two_levels_meet_in_a_wall_only_above_the_upper_deck():
    """Roofs at 4 and 7 m, both falling to the front at 1 in 10, the upper one behind.

    Lower panel: 0.5 m over its deck at the front, 10 m deep, so 4 + 0.5 + 1 = 5.5 m at the back.
    Upper eave panel: 7.5 m, over a deck at 7 m: the wall is 0.5 m high over 20 m, not 2 m, for
    the building's own wall stands up to 7 m.
    """
    parts = (
        Rectangle(20.0, 10.0, roof_level_m=4.0),
        Rectangle(20.0, 8.0, y_m=10.0, roof_level_m=7.0),
    )
    taken = quantities(Framing(parts, slope=0.1, lowest_post_m=0.4, purlin_depth_m=0.1))
    assert taken.edges.step_wall_m2 == pytest.approx(20 * 0.5, rel=1e-12)
    assert taken.edges.joint_m == pytest.approx(20.0, rel=1e-12)
    assert taken.edges.eave_m == pytest.approx(40.0, rel=1e-12)
    assert taken.edges.valley_m == 0.0
    assert "Part 2 drains at its front onto the lower roof of part 1" in _words(taken)


def test_a_ridge_out_of_the_middle_leaves_the_far_eave_higher():
    """24 m deep, ridge 16 m from the front, 1 in 12: far eave (16 - 8) / 12 m above the near."""
    part = Rectangle(30.0, 24.0, "ridge", ridge_at_m=16.0)
    taken = quantities(Framing((part,), slope=1 / 12, lowest_post_m=0.3, purlin_spacing_m=2.0))
    far = [row for row in taken.posts if row.fall == "back"]
    near = [row for row in taken.posts if row.fall == "front"]
    assert near[0].height_m == pytest.approx(0.3, rel=1e-12)
    assert far[0].height_m == pytest.approx(0.3 + 8 / 12, rel=1e-12)
    assert taken.members.tallest_post_m == pytest.approx(0.3 + 16 / 12, rel=1e-12)
    assert len(near) == 9
    assert len(far) == 4  # its ridge row stands with the near fall


def test_an_old_fall_along_the_new_one_shortens_every_post():
    """Deck 1/4 in 12 to the front, panel 1/2 in 12 to the front: posts grow by 1/4 in 12 alone."""
    part = Rectangle(24.0, 12.0, deck_slope=0.25 / 12)
    heights = [row.height_m for row in quantities(Framing((part,))).posts]
    expected = [0.3048 + 0.25 / 12 * 1.5 * k for k in range(9)]
    assert heights == pytest.approx(expected, rel=1e-12)


def test_posts_follow_the_fall_of_the_deck_to_a_drain():
    """40 by 40 ft, 1/2 in 12 to the front, a drain in the middle of a deck at 1/4 in 12.

    Posts every 5 ft are 1 + 20/48 + v/24 less the longer distance to the drain over 48: 81 of
    1.41667 ft, 81 times 20/24, less 40 (1 + 4 + 9 + 16) / 48, as ring k has 8 k posts 5 k ft away.
    """
    foot = 0.3048
    part = Rectangle(40 * foot, 40 * foot, deck_slope=1 / 48)
    drain = RoofDrain(20 * foot, 20 * foot)
    taken = quantities(Framing((part,), 1 / 24, foot, 5 * foot, 5 * foot, drains=(drain,)))
    assert taken.members.posts == 81
    assert taken.members.posts_height_m / foot == pytest.approx(114.75 + 67.5 - 25, rel=1e-9)
    assert taken.members.tallest_post_m / foot == pytest.approx(1 + 20 / 48 + 40 / 24 - 20 / 48)
    # Each of the four walls stands on a level edge of the deck, 20/48 over the drain.
    assert taken.edges.walls_m2 / foot**2 == pytest.approx(
        40 * 4 / 3 + 2 * 40 * (4 / 3 + 20 / 24) + 40 * (4 / 3 + 40 / 24), rel=1e-9
    )
    assert "Old drains: 1 placed, 0 closed" in _words(taken)


def test_a_parapet_hides_the_wall_behind_it():
    """High wall of 24 m: panel 0.4064 + 0.5 = 0.9064 m; a parapet of 0.6 m leaves 0.3064 m."""
    part = Rectangle(24.0, 12.0, parapet_back_m=0.6)
    edges = quantities(Framing((part,))).edges
    assert edges.high_wall_m2 == pytest.approx(24 * 0.3064, rel=1e-12)
    hidden = quantities(Framing((replace(part, parapet_back_m=1.0),))).edges
    assert (hidden.high_wall_m2, hidden.high_edge_m) == (0.0, 0.0)
    assert hidden.parapet_flashing_m == pytest.approx(24.0, rel=1e-12)


@pytest.mark.parametrize(("rain_in", "scuppers"), [(None, 5), (8, 8)])
def test_an_eave_behind_a_parapet_is_an_inner_gutter_with_scuppers(rain_in, scuppers):
    """240 by 60 ft to the front, parapet 4 ft over a panel at 1 1/3 ft: 240 / 50, so 5 scuppers.

    At 8 in an hour a gutter of 10 in drains 14,400 / 8 ft2 of the 14,400: 8. As many overflows.
    """
    foot = 0.3048
    part = Rectangle(240 * foot, 60 * foot, parapet_front_m=4 * foot)
    rain = OtherWork(rain_hour_m=rain_in and rain_in * foot / 12)
    taken = quantities(Framing((part,), 1 / 24, foot, other_work=rain,
                               unit_prices=UnitPrices(scupper=500.0)))  # fmt: skip
    assert (taken.edges.eave_m, taken.edges.inner_gutter_m) == pytest.approx((0, 240 * foot))
    assert (taken.services.scuppers, taken.services.overflow_scuppers) == (scuppers, scuppers)
    (line,) = [each for each in taken.first_cost.lines if each.key == "scupper"]
    assert (line.amount.value, line.cost) == (2 * scuppers, 1000.0 * scuppers)
    assert (
        "The eave of part 1 at the front lies behind a parapet: it needs an inner gutter, with "
        f"scuppers and as many overflow scuppers: {scuppers} of each"
    ) in _words(taken)
    # A coping 1 ft high is 4 in below the panel. A gutter 6 in deep falls 24 ft / 16 = 1.5 in; that
    # of 10 in by rain is 5 in deep and falls 15 ft / 16: posts of 1.292 ft, of 1.161 ft are needed.
    taken_in, post = (5 + 15 / 16, "1.2 ft") if rain_in else (7.5, "1.3 ft")
    low = Framing((replace(part, parapet_front_m=foot),), 1 / 24, foot, other_work=rain)
    free = quantities(low)
    assert free.services.scuppers == 0
    assert "scupper" not in [each.key for each in free.first_cost.lines]
    assert (f"eave of part 1 at the front stands only {both(foot / 3)} above the coping of its "
            f"parapet; purlin, or gutter with its fall, takes {both(taken_in * foot / 12)}. "
            ) in _words(free)  # fmt: skip
    assert f"({post}), or a lower panel behind the parapet with an inner gutter, {scuppers} " in (
        _words(free)
    )
    clear = replace(low, lowest_post_m=float(post.split()[0]) * foot)
    assert "coping" not in _words(quantities(clear))


@pytest.mark.parametrize(
    ("parts", "posts"),
    [
        # One roof of 80 by 30 ft entered as two: 7 lines of 17, not of 9 and 9.
        ((Rectangle(40.0, 30.0), Rectangle(40.0, 30.0, x_m=40.0)), 7 * 17),
        # Two falls back to back: a ridge, 6 lines of 9 on each side of its one row.
        ((Rectangle(40.0, 30.0, drains_to="front"),
          Rectangle(40.0, 30.0, drains_to="back", y_m=30.0)), 13 * 9),
        # Eave to eave over an inner gutter: one row stands under both.
        ((Rectangle(40.0, 30.0, drains_to="back"), Rectangle(40.0, 30.0, y_m=30.0)), 13 * 9),
        # Four in a square, all to the front: the eaves behind stand beside the high edges before
        # them, 30/24 ft lower: 13 rows and one more, of 17.
        (tuple(Rectangle(40.0, 30.0, x_m=x, y_m=y) for x in (0.0, 40.0) for y in (0.0, 30.0)),
         14 * 17),
        # On decks 2 ft apart each keeps its posts, though they are as long.
        ((Rectangle(40.0, 30.0), Rectangle(40.0, 30.0, x_m=40.0, roof_level_m=2.0)), 7 * 18),
    ],
)  # fmt: skip
def test_one_post_stands_where_the_posts_of_two_parts_meet(parts, posts):
    """Posts and purlins every 5 ft, 1/2 in 12, level decks; counted by hand, in feet."""
    foot = 0.3048
    sizes = ("length_m", "width_m", "x_m", "y_m", "roof_level_m")
    parts = tuple(replace(one, **{name: getattr(one, name) * foot for name in sizes})
                  for one in parts)  # fmt: skip
    taken = quantities(Framing(parts, 1 / 24, foot, 5 * foot, 5 * foot))
    assert taken.members.posts == posts
    if posts == 7 * 17:  # bracing lines 40 ft apart: 3, as of one roof, not 2 and 2
        whole = quantities(Framing((Rectangle(80 * foot, 30 * foot),), 1 / 24, foot,
                                   5 * foot, 5 * foot)).members  # fmt: skip
        assert taken.members.bracing_lines == whole.bracing_lines == 3
        assert taken.members.bracing_m == pytest.approx(whole.bracing_m, rel=1e-9)
        assert taken.members.posts_height_m == pytest.approx(whole.posts_height_m, rel=1e-9)
    assert sum(row.posts for row in taken.posts) == posts
    assert sum(row.posts for row in taken.set_out) == posts
    assert sum(each.pieces for each in taken.cut_list if each.what == "post") == posts


# -- structure ------------------------------------------------------------------------------------


def test_posts_stand_on_joists_and_on_nothing_else():
    """352 ft along joists at 5 ft: 70 spaces and one of 2 ft, 72 stations, not 4.958 ft."""
    foot = 0.3048
    part = Rectangle(352 * foot, 100 * foot, bearing_spacing_m=5 * foot)
    frame = RoofFrame(Framing((part,))).falls[0].frame
    assert len(frame.stations.at_m) == 72
    assert np.allclose(np.diff(frame.stations.at_m)[:70], 5 * foot)
    assert frame.stations.at_m[-2:] == pytest.approx([350 * foot, 352 * foot])


def test_joists_along_the_purlins_carry_them_and_the_ridge_rests_on_cross_members():
    """Joists 1.4 m apart along a ridge roof of 12 m: purlins at 0, 1.4, ... 5.6 m and at the ridge.

    The ridge at 6 m is no joist: a purlin without posts, carried 0.4 m from each side at each of
    the 17 stations of 24 m; √(1 + 1/576) along the slope.
    """
    part = Rectangle(24.0, 12.0, "ridge", bearing_runs="left-right", bearing_spacing_m=1.4)
    roof = RoofFrame(Framing((part,)))
    near = roof.falls[0]
    assert near.frame.lines.at_m == pytest.approx([0, 1.4, 2.8, 4.2, 5.6, 6.0])
    assert near.frame.lines.posted.tolist() == [True] * 5 + [False]
    assert near.frame.cross_members_m == pytest.approx(17 * 0.4 * math.hypot(1, 0.5 / 12))
    pieces = [each for each in quantities(Framing((part,))).cut_list if each.what == "cross member"]
    assert [(each.mark, each.pieces) for each in pieces] == [
        ("X1.F1-1 to 17", 17), ("X1.B1-1 to 17", 17)
    ]  # fmt: skip
    ridge = [row for row in quantities(Framing((part,))).laid if row.what.startswith("purlin")]
    assert [(row.mark, row.what) for row in ridge] == [
        ("U1.F6", "purlin on cross members"), ("U1.B6", "purlin on cross members")
    ]  # fmt: skip
    assert [(row.from_eave_m, row.first_m, row.last_m) for row in ridge] == [
        pytest.approx((6.0, 0.0, 24.0))] * 2  # fmt: skip


@modest
@given(
    st.one_of(st.floats(0.5, 3.5), st.floats(3.5, 30.0)),
    st.sampled_from(("front-back", "left-right")), st.floats(0.0, 0.4),
    st.sampled_from((None, ("right",))),
)  # fmt: skip
def test_a_coarser_structure_is_a_flag_and_never_a_lower_price(spacing, runs, first, hips):
    """Posts stand on lines alone; beyond the stated spacing the build-up is no lower than at it."""
    part = Rectangle(36.0, 18.0, "ridge", hip_ends=hips)
    free = quantities(Framing((part,), post_spacing_m=1.524))
    tied = quantities(
        Framing(
            (replace(part, bearing_spacing_m=spacing, bearing_runs=runs, bearing_first_m=first),),
            post_spacing_m=1.524,
        )
    )
    flagged = "bearing_spacing" in [flag.field for flag in tied.flags]
    assert flagged == (spacing > 1.524 * (1 + 1e-6))
    assert tied.first_cost.build_up >= free.first_cost.build_up * (1 - 1e-9)


@pytest.mark.parametrize(("spacing_ft", "span_ft"), [(70, 60), (59, 59), (40, 40), (30, 30)])
def test_structure_at_the_eaves_alone_is_flagged_and_dearer_than_at_every_line(spacing_ft, span_ft):
    """60 by 60 ft with a ridge, joists along the purlins: cross members span to the next of them.

    At 70 ft the two walls alone bear, and the members span 60 ft over the ridge.
    """
    foot = 0.3048
    part = Rectangle(60 * foot, 60 * foot, "ridge", "left", slope=1 / 4)
    near, far = (quantities(Framing((replace(part, bearing_spacing_m=each * foot),)))
                 for each in (5, spacing_ft))  # fmt: skip
    assert far.members.posts < near.members.posts
    assert far.first_cost.build_up > near.first_cost.build_up
    for side in ("left", "right"):
        assert (f"Cross members of part 1, fall to the {side}: the structure gives purlin lines "
                f"only every {both(span_ft * foot)}") in _words(far)  # fmt: skip
    assert any(note.startswith("Structure farther apart") for note in far.price_notes)
    assert not any(note.startswith("Structure farther apart") for note in near.price_notes)


# -- conservation, turning and mirroring ----------------------------------------------------------


@st.composite
def plans(draw):
    """Up to eight parts that do not overlap: cells of an uneven grid, each with its own fall."""
    columns = draw(st.lists(st.floats(4.0, 20.0), min_size=1, max_size=4))
    rows = draw(st.lists(st.floats(4.0, 20.0), min_size=1, max_size=2))
    x, y = np.cumsum([0.0, *columns]), np.cumsum([0.0, *rows])
    cells = [(i, j) for i in range(len(columns)) for j in range(len(rows))]
    kept = draw(st.lists(st.sampled_from(cells), min_size=1, max_size=8, unique=True))
    slope = draw(st.sampled_from((1 / 48, 1 / 12, 0.25)))
    windy = WindAndSnow(basic_wind_m_s=50.0, roof_height_m=draw(st.sampled_from((3.0, 9.0))),
                        edition=draw(st.sampled_from(("7-16", "7-22"))))  # fmt: skip
    parts = tuple(_part(draw, x[i], y[j], columns[i], rows[j]) for i, j in kept)
    share = st.floats(0.1, 0.9)
    drains = tuple(
        RoofDrain(one.x_m + one.length_m * draw(share), one.y_m + one.width_m * draw(share))
        for one in parts if one.deck_drains_to is None for _ in range(draw(st.integers(0, 3)))
    )  # fmt: skip
    return Framing(parts, slope=slope, drains=drains,
                   wind_and_snow=draw(st.sampled_from((WindAndSnow(), windy))))  # fmt: skip


def _part(draw, x, y, length, width):
    form, side = draw(st.sampled_from(("one-way", "ridge"))), draw(st.sampled_from(SIDES))
    ends = ("left", "right") if side in ("front", "back") else ("front", "back")
    hips = draw(st.sampled_from((None, ends[:1], ends))) if form == "ridge" else None
    return Rectangle(
        length, width, form, side, x_m=float(x), y_m=float(y), hip_ends=hips,
        roof_level_m=draw(st.sampled_from((0.0, 0.0, 0.0, 1.5))),
        deck_slope=draw(st.sampled_from((0.0, 1 / 48))),
        deck_drains_to=draw(st.sampled_from((None, side, OPPOSITE[side], "middle"))),
        parapet_front_m=draw(st.sampled_from((0.0, 0.5, 1.2))),
    )  # fmt: skip


def _from_sides(part, x, y):
    return {"front": y - part.y_m, "back": part.y_m + part.width_m - y,
            "left": x - part.x_m, "right": part.x_m + part.length_m - x}  # fmt: skip


def _by_sides(framing, part, x, y):
    """Clear height of a part's panel over its deck from distances to its sides, no planes."""
    return _panel(framing, part, x, y) - _deck(framing, part, x, y)


def _panel(framing, part, x, y):
    from_side = _from_sides(part, x, y)
    low = {part.drains_to, *(part.hip_ends or ())}
    if part.form == "ridge":
        low.add(OPPOSITE[part.drains_to])
    return framing.slope * np.minimum.reduce([from_side[side] for side in low])


def _deck(framing, part, x, y):
    from_side = _from_sides(part, x, y)
    drains = [each for each in framing.drains if part.holds(each.x_m, each.y_m)]
    if drains:
        return part.deck_slope * (_far(drains, x, y) - _far(drains, *_edge_points(part)).max())
    if part.deck_drains_to == "middle":
        depth = part.width_m if part.drains_to in ("front", "back") else part.length_m
        return part.deck_slope * (np.abs(from_side[part.drains_to] - depth / 2) - depth / 2)
    return part.deck_slope * from_side[part.deck_drains_to or part.drains_to]


def _far(drains, x, y):
    return np.minimum.reduce(
        [np.maximum(np.abs(x - each.x_m), np.abs(y - each.y_m)) for each in drains]
    )


def _edge_points(part):
    """Points round the part at most 1/1000 of a side apart: its level is the highest of them."""
    along, ones = np.linspace(0, 1, 1001), np.ones(1001)
    x = np.concatenate([along, along, 0 * ones, ones])
    y = np.concatenate([0 * ones, ones, along, along])
    return part.x_m + x * part.length_m, part.y_m + y * part.width_m


def _lift(framing, part, room=None):
    """How far the roof is lifted so that its lowest post is as stated: lowest at a corner.

    A deck that falls to drains may leave least room anywhere, and a part may be raised to the eaves
    of its neighbour: then it is taken from one post, and a net of points shows the least room.
    """
    drained = any(part.holds(each.x_m, each.y_m) for each in framing.drains)
    raised = RoofFrame(framing).parts[framing.rectangles.index(part)].raised_m
    points = [np.linspace(start, start + long, 401 if drained else 2)
              for start, long in ((part.x_m, part.length_m), (part.y_m, part.width_m))]  # fmt: skip
    least = _by_sides(framing, part, *np.meshgrid(*points)).min()
    if not drained and not raised:
        return framing.lowest_post_m - least
    (x, y), height = room
    lift = height - _by_sides(framing, part, x, y)
    assert -2e-3 <= least + lift - raised - framing.lowest_post_m <= 0.02 * drained + 2e-3
    return lift


@modest
@given(plans())
def test_plan_areas_and_panel_areas_add_up(framing):
    """Facets cover each part once; all panels lie at one slope, so area is plan over cosine."""
    rain = replace(framing, other_work=OtherWork(rain_hour_m=0.05))
    taken = quantities(rain)
    plan = sum(part.length_m * part.width_m for part in framing.rectangles)
    assert taken.surface.panel_area_m2 == pytest.approx(
        plan * math.hypot(1, framing.slope), rel=1e-6
    )
    assert taken.surface.ordered_area_m2 >= taken.surface.panel_area_m2 * (1 + framing.waste)
    assert sum(row.posts for row in taken.posts) == taken.members.posts
    lost = [each.drained_m2 for each in valley_discharges(RoofFrame(rain)) if each.gutter < 0]
    drained = sum(each.drained_m2 for each in taken.drainage) + sum(lost)
    assert drained == pytest.approx(plan, rel=1e-6)
    assert sum(row.together_m2 for row in taken.posts) == pytest.approx(plan, rel=1e-6)
    if taken.wind_zones:
        zoned = sum(zone.plan_area_m2 for zone in taken.wind_zones)
        assert zoned == pytest.approx(plan, rel=1e-6)


HIPPED = Rectangle(24.0, 15.0, "ridge", hip_ends=("left", "right"), deck_slope=1 / 48)
PIECED = {
    "hips over a deck that falls to drains": Framing(
        (HIPPED,), slope=0.25, drains=(RoofDrain(7.0, 4.0), RoofDrain(13.0, 11.0))
    ),
    "hips over a deck to its middle, in wind": Framing(
        (replace(HIPPED, deck_drains_to="middle"),), slope=0.25,
        wind_and_snow=WindAndSnow(basic_wind_m_s=50.0, roof_height_m=3.0),
    ),
    "a wing that runs on to its valleys": Framing(
        (HIPPED, Rectangle(8.0, 9.0, "ridge", "left", x_m=6.0, y_m=15.0, deck_slope=1 / 48,
                           deck_drains_to="middle")), slope=1 / 3,
    ),
    "joists along the eaves": Framing(
        (replace(HIPPED, bearing_spacing_m=1.3, bearing_runs="left-right"),), slope=0.25
    ),
}  # fmt: skip


@pytest.mark.parametrize("framing", PIECED.values(), ids=PIECED)
def test_every_purlin_line_runs_over_the_whole_of_its_fall(framing):
    """Pieces of the cut list, against the fall's polygons cut by the line: 2 mm.

    With laps at the splices, the pieces are longer by all laps together and by nothing else.
    """
    _lines_run_whole(framing)


@pytest.mark.thorough
@many
@given(plans())
def test_every_purlin_line_of_a_random_plan_runs_over_the_whole_of_its_fall(framing):
    _lines_run_whole(framing)


def _lines_run_whole(framing):
    cut, checked = _cut_by_line(quantities(framing)), 0
    lapped = quantities(replace(framing, purlin_lap_m=0.3))
    laps = lapped.members.purlin_laps_m
    assert sum(_cut_by_line(lapped).values()) - laps == pytest.approx(sum(cut.values()))
    for fall in RoofFrame(framing).falls:
        frame = fall.frame
        for line in fall.lines:
            ends = [frame.place(u, line.from_eave_m) for u in frame.span_m]
            whole = _length_within([piece.polygon for piece in frame.pieces], *ends)
            mark = f"U{frame.part.index + 1}.{frame.fall.side[0].upper()}{line.number}"
            if not line.zone:
                assert cut.get(mark, 0.0) == pytest.approx(whole, abs=2e-3), mark
                checked += 1
            assert cut.get(mark, 0.0) <= whole + 2e-3, mark
    assert checked >= 2 * len(framing.rectangles)


def _cut_by_line(taken):
    """Length of the pieces of every purlin line and valley support, by its mark."""
    found = {}
    for piece in taken.cut_list:
        if piece.what.startswith(("purlin", "valley")):
            mark = piece.mark.partition("-")[0]
            found[mark] = found.get(mark, 0.0) + piece.pieces * piece.length_m
    return found


def _length_within(polygons, start, end):
    """Length of a segment that lies in convex polygons, each by the half planes of its sides."""
    (x, y), (run_x, run_y) = start, np.subtract(end, start)
    length, found = math.hypot(run_x, run_y), []
    for polygon in polygons:
        low, high = 0.0, 1.0
        for (x1, y1), (x2, y2) in zip(polygon, polygon[1:] + polygon[:1], strict=True):
            side = math.hypot(x2 - x1, y2 - y1)
            inside = ((x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)) / side + 1e-5
            rate = ((x2 - x1) * run_y - (y2 - y1) * run_x) / side
            if abs(rate) < 1e-9 * length:
                low = low if inside >= 0 else 2.0
            elif rate > 0:
                low = max(low, -inside / rate)
            else:
                high = min(high, -inside / rate)
        found += [(low, high)] if high > low else []
    whole = reach = 0.0
    for low, high in sorted(found):
        whole, reach = whole + max(0.0, high - max(low, reach)), max(reach, high)
    return whole * length


# A hip that is deeper than its own part, over the part behind it.
DEEP_HIP = Framing((
    Rectangle(16.0, 5.5, "ridge", "right", hip_ends=("front",)),
    Rectangle(16.0, 15.0, "ridge", "right", y_m=5.5, hip_ends=("front", "back"),
              deck_slope=1 / 48, deck_drains_to="left"),
), slope=0.25)  # fmt: skip


@modest
@example(DEEP_HIP)
@given(plans())
def test_every_post_is_set_out_once_and_as_long_as_the_room_at_its_place(framing):
    """By planes in the cut list; here by the place that the set-out gives, and distances there."""
    taken = quantities(framing)
    lengths = {mark: piece.length_m for piece in taken.cut_list if piece.what == "post"
               for mark in _each(piece.mark)}  # fmt: skip
    places = {}
    for row in taken.set_out:
        part = framing.rectangles[row.rectangle - 1]
        up = {
            "front": row.from_eave_m,
            "back": part.width_m - row.from_eave_m,
            "left": row.from_eave_m,
            "right": part.length_m - row.from_eave_m,
        }[row.fall]
        marks = _each(row.mark)
        assert len(marks) == row.posts
        cut = [lengths[mark] for mark in marks]
        assert cut == pytest.approx([row.length_m] * len(cut), abs=1e-3)
        for k, mark in enumerate(marks):
            along = row.first_m + k * row.spacing_m
            assert row.edge == ("left" if row.fall in ("front", "back") else "front")
            x, y = (along, up) if row.edge == "left" else (up, along)
            places[mark] = part, part.x_m + x, part.y_m + y
            assert framing.rectangles[row.over - 1].holds(*places[mark][1:])
    assert sorted(places) == sorted(lengths)
    assert len(places) == taken.members.posts == sum(row.posts for row in taken.posts)
    lifts, wings = {}, []
    for mark, (part, x, y) in places.items():
        below = [one for one in framing.rectangles
                 if -1e-3 <= x - one.x_m <= one.length_m + 1e-3
                 and -1e-3 <= y - one.y_m <= one.width_m + 1e-3]  # fmt: skip
        if below == [part]:
            room = (x, y), lengths[mark]
            lift = (
                lifts[part] if part in lifts else lifts.setdefault(part, _lift(framing, part, room))
            )
            clear = _by_sides(framing, part, x, y) + lift
            assert lengths[mark] == pytest.approx(clear, abs=2e-3)
        elif part not in below:
            wings.append((mark, part, x, y, *below))
        assert lengths[mark] >= framing.lowest_post_m - 2e-3
    _wing_posts_fit_the_deck_below(framing, lengths, lifts, wings)


def _wing_posts_fit_the_deck_below(framing, lengths, lifts, wings):
    """Posts of a wing over its neighbour: from the wing's panel down to the neighbour's deck."""
    for mark, part, x, y, below, *more in wings:
        if part in lifts and not more:
            panel = part.roof_level_m + _panel(framing, part, x, y) + lifts[part]
            deck = below.roof_level_m + _deck(framing, below, x, y)
            assert lengths[mark] == pytest.approx(panel - deck, abs=2e-3)


@modest
@example(DEEP_HIP)
@given(plans())
def test_panels_are_set_out_side_by_side_in_full_covers(framing):
    """As many of each mark as the cut list has; only the last before a free end is narrower."""
    taken = quantities(framing)
    rows = [row for row in taken.along if row.what.startswith("panel")]
    found = Counter()
    for row in rows:
        name, _, numbers = row.mark.rpartition(".")
        first, _, last = numbers[1:].partition(" to ")
        step = 0 if not last else 1 if int(last) > int(first) else -1
        assert not last or abs(int(last) - int(first)) == row.number - 1
        for k in range(row.number):
            found[f"{name}.{numbers[0]}{int(first) + step * k}"] += 1
        full = row.spacing_m == pytest.approx(framing.panel_cover_m, abs=1e-3)
        assert full == (row.what == "panel")
        assert full or (row.number == 1 and row.spacing_m < framing.panel_cover_m)
    cut = {one.mark: one.pieces for one in taken.cut_list if one.what == "panel"}
    assert dict(found) == cut
    by_eave = itertools.groupby(rows, key=lambda row: (row.rectangle, row.along))
    for _, along in by_eave:
        for one, nxt in itertools.pairwise(along):
            end = one.first_m + one.number * one.spacing_m
            above = one.number == 1 and nxt.first_m == pytest.approx(one.first_m, abs=1e-3)
            assert above or nxt.first_m >= end - 1e-3


def _each(mark):
    """Every single mark of a range: "P1.F3-2 to 4" is three."""
    line, _, numbers = mark.partition("-")
    first, _, last = numbers.partition(" to ")
    return [f"{line}-{k}" for k in range(int(first), int(last or first) + 1)]


@st.composite
def tied_plans(draw):
    """Plans whose parts may stand on joists or beams, of either direction."""
    framing = draw(plans())
    spacing, runs = st.sampled_from((None, 0.9, 2.0)), st.sampled_from(("left-right", "front-back"))
    parts = tuple(
        replace(one, bearing_spacing_m=draw(spacing), bearing_runs=draw(runs),
                bearing_first_m=draw(st.sampled_from((0.0, 0.4))))
        for one in framing.rectangles
    )  # fmt: skip
    return replace(framing, rectangles=parts)


# A wing whose plane crosses the hips of its neighbour in slanting steps.
CROSSED = Framing(
    (Rectangle(18.0, 9.5, drains_to="back"),
     Rectangle(7.4, 9.5, "ridge", "left", x_m=18.0, roof_level_m=1.5, hip_ends=("front", "back"))),
    slope=0.25, wind_and_snow=WindAndSnow(basic_wind_m_s=50.0, roof_height_m=3.0),
)  # fmt: skip


@pytest.mark.thorough
@many
@example(CROSSED)
@given(tied_plans())
def test_a_plan_turned_or_mirrored_has_the_same_bill(framing):
    """Raised parts, posts of two parts, headers, valley supports and scuppers are among them."""
    whole = max(part.x_m + part.length_m for part in framing.rectangles)
    framing = replace(framing, purlin_lap_m=0.2, other_work=OtherWork(rain_hour_m=0.1))
    here = quantities(framing)
    for turn in (_swapped, _mirror):
        parts = tuple(turn(part, whole) for part in framing.rectangles)
        drains = tuple(
            RoofDrain(each.y_m, each.x_m)
            if turn is _swapped
            else RoofDrain(whole - each.x_m, each.y_m)
            for each in framing.drains
        )
        there = quantities(replace(framing, rectangles=parts, drains=drains))
        zones = [{each.zone: each.plan_area_m2 for each in taken.wind_zones}
                 for taken in (here, there)]  # fmt: skip
        assert zones[1] == pytest.approx(zones[0], rel=1e-6, abs=1e-3)
        for name in ("surface", "members", "edges", "cavity", "services"):
            one, two = asdict(getattr(here, name)), asdict(getattr(there, name))
            for field in BY_START if turn is _mirror else ():
                one.pop(field, None), two.pop(field, None)
            assert two == pytest.approx(one, rel=1e-6, abs=1e-6), (name, turn)
        level = 0.02 if turn is _mirror else 1e-6  # sums that near are called the same
        assert there.first_cost.build_up == pytest.approx(here.first_cost.build_up, rel=level)
    _differs_by_its_start_alone(framing, here, there)


# Panels begin at the left or front: mirrored, another end of a hip or valley holds the cut one.
BY_START = ("waste_area_m2", "ordered_area_m2", "clips", "fasteners")


def _differs_by_its_start_alone(framing, here, mirrored):
    """A purlin's run meets a seam more or less; a fall has another panel cut at each end."""
    clips = mirrored.members.clips - here.members.clips
    fasteners = mirrored.members.fasteners - here.members.fasteners
    assert fasteners == framing.fasteners_per_clip * clips
    assert abs(clips) <= 2 * here.members.purlin_lines
    longest = max(max(part.length_m, part.width_m) for part in framing.rectangles)
    ordered = mirrored.surface.ordered_area_m2 - here.surface.ordered_area_m2
    assert ordered == pytest.approx(
        mirrored.surface.waste_area_m2 - here.surface.waste_area_m2, abs=1e-6
    )
    assert abs(ordered) <= 4 * len(framing.rectangles) * 2 * framing.panel_cover_m * longest


def _sides(part, names):
    """A part with its sides renamed: fall, deck, hips and parapets."""
    high = {names[side]: getattr(part, f"parapet_{side}_m") for side in SIDES}
    return replace(
        part, drains_to=names[part.drains_to],
        deck_drains_to=part.deck_drains_to and names[part.deck_drains_to],
        hip_ends=part.hip_ends and tuple(names[side] for side in part.hip_ends),
        **{f"parapet_{side}_m": value for side, value in high.items()},
    )  # fmt: skip


def _mirror(part, whole):
    first, spacing = part.bearing_first_m, part.bearing_spacing_m
    if spacing and part.bearing_runs == "front-back":
        first = (part.length_m - first) % spacing
    return replace(_sides(part, MIRROR), x_m=max(0.0, whole - part.x_m - part.length_m),
                   bearing_first_m=first)  # fmt: skip


def _swapped(part, *_):
    """Mirrored about the diagonal: the front becomes the left. With a mirror, a quarter turn."""
    return replace(
        _sides(part, SWAP), length_m=part.width_m, width_m=part.length_m,
        x_m=part.y_m, y_m=part.x_m,
        bearing_runs={"left-right": "front-back"}.get(part.bearing_runs, "left-right"),
    )  # fmt: skip


def test_a_mirrored_structure_has_the_same_posts():
    """Joists 0.5 m from the left and 0.8 m from the right, under a deck that falls along the eave.

    Lines at 0.5 + 1.4 k up to 35.5 m of 36.3 m; seen from the other side they begin at 0.8 m.
    """
    part = Rectangle(36.3, 12.0, bearing_spacing_m=1.4, bearing_first_m=0.5,
                     deck_slope=1 / 96, deck_drains_to="left")  # fmt: skip
    other = replace(part, bearing_first_m=0.8, deck_drains_to="right")
    one, two = (quantities(Framing((each,))) for each in (part, other))
    assert asdict(two.members) == pytest.approx(asdict(one.members), rel=1e-9)
    assert two.members.posts_height_m > 0


# -- named faults ---------------------------------------------------------------------------------


def _words(taken):
    return " ".join(flag.message for flag in taken.flags)


@pytest.mark.parametrize(
    ("build", "field", "words"),
    [
        (lambda: Rectangle(20.0, 10.0, hip_ends=("left",)), "hip_ends",
         "no hip at the left: the part has a single fall, to the front"),
        (lambda: Rectangle(20.0, 10.0, "ridge", hip_ends=("front",)), "hip_ends",
         "the front is an eave"),
        (lambda: Rectangle(20.0, 10.0, "ridge", ridge_at_m=10.0), "ridge_at",
         "less than 10.00 m (32.8 ft), from the low side at the front to the back"),
        (lambda: Rectangle(20.0, 10.0, ridge_at_m=4.0), "ridge_at", "a single fall"),
        (lambda: Rectangle(20.0, 10.0, "ridge", hip_ends=("left",), ridge_at_m=4.0), "ridge_at",
         "5.00 m (16.4 ft), the middle"),
        (lambda: Rectangle(20.0, 10.0, bearing_spacing_m=2.0, bearing_first_m=30.0),
         "bearing_first", "less than 20.00 m (65.6 ft), the part's size from its left edge"),
        (lambda: Framing((Rectangle(20.0, 10.0),), drains=(RoofDrain(21.0, 5.0),)),
         "drains.0.x", "no part holds drain 1"),
        (lambda: Framing((Rectangle(20.0, 10.0, deck_drains_to="front"),),
                         drains=(RoofDrain(5.0, 5.0),)),
         "rectangles.0.deck_drains_to", "part 1, whose deck falls to its drains"),
        (lambda: Framing((Rectangle(20.0, 10.0),),
                         other_work=OtherWork(skylights_carried=5000)),
         "other_work.skylights_carried", "at most 21 as roofs usually have on this plan"),
    ],
)  # fmt: skip
def test_what_cannot_be_framed_is_refused_by_name_edge_and_span(build, field, words):
    with pytest.raises(CaseError) as refused:
        build()
    assert refused.value.field == field
    assert words in refused.value.allowed


def test_a_build_up_beyond_reason_names_its_dearest_line_or_the_structure_behind_it():
    """1,500 skylights of $90,000 on 600 m²; beams 29 m apart in the second of two parts."""
    survey = Framing((Rectangle(30.0, 20.0),), other_work=OtherWork(skylights_carried=1500),
                     unit_prices=UnitPrices(skylight_carried=90_000.0))  # fmt: skip
    with pytest.raises(CaseError) as refused:
        framed(MetalRetrofit(name="retrofit", framing=survey))
    assert "most of it" in refused.value.allowed
    assert "at $135,000,000" in refused.value.allowed
    parts = Rectangle(60.0, 30.0), Rectangle(60.0, 36.0, y_m=30.0, bearing_spacing_m=29.0)
    survey = Framing(parts, unit_prices=UnitPrices(purlin_per_m=200.0))
    with pytest.raises(CaseError) as refused:
        framed(MetalRetrofit(name="retrofit", framing=survey))
    assert refused.value.field == "framing.rectangles.1.bearing_spacing"
    assert "Joists or beams 29.00 m (95.1 ft) apart" in refused.value.detail


@pytest.mark.parametrize(
    ("part", "survey", "words"),
    [
        ({}, {"rooftop_units": 2, "curbs": 0}, "Rooftop units lifted: 2; new curbs: 0."),
        ({}, {"other_work": OtherWork(skylights_covered=60)}, "one for every 36 ft² (3.3 m²)"),
        ({"parapet_left_m": 40 * 0.3048}, {},
         "The parapet of part 1 at the left is 12.19 m (40.0 ft) high"),
        ({"deck_slope": 1 / 48, "deck_drains_to": "left"}, {},
         "The old deck of part 1 falls 0.42 m (1.4 ft) to the left, along the new eave at the"),
        ({"roof_level_m": 8.0}, {"wind_and_snow": WindAndSnow(roof_height_m=6.0)},
         "The old roof of part 1 is at level 8.00 m (26.2 ft), above the mean roof height of"),
        ({"deck_slope": 1 / 48, "deck_drains_to": "back"}, {},
         "part 1 falls to the front, away from the drains at the back: posts are tall and the "
         "storm line is at the other side. Let it drain to the back, or count new downspouts at "
         "the front tied into the storm drain."),
        ({"bearing_spacing_m": 3.0}, {}, "Purlins of part 1, fall to the front: the structure "
         "gives posts only every 3.00 m"),
    ],
)  # fmt: skip
def test_what_is_doubtful_is_flagged_with_part_and_edge(part, survey, words):
    assert words in _words(quantities(Framing((Rectangle(20.0, 10.0, **part),), **survey)))
    assert words not in _words(quantities(Framing((Rectangle(20.0, 10.0),), rooftop_units=2)))


def test_what_needs_a_decision_is_flagged_with_part_and_edge():
    point = quantities(Framing((Rectangle(10.0, 10.0), Rectangle(9.0, 9.0, x_m=10.0, y_m=10.0))))
    assert "Part 1 and part 2 touch at a corner alone" in _words(point)
    into_wall = quantities(Framing((
        Rectangle(20.0, 10.0, drains_to="back"),
        Rectangle(20.0, 10.0, drains_to="back", y_m=10.0, roof_level_m=2.0),
    )))  # fmt: skip
    assert "Part 1 drains at its back against the wall of part 2" in _words(into_wall)
    walled = Rectangle(20.0, 10.0, parapet_back_m=1.0), Rectangle(20.0, 10.0, y_m=10.0)
    met = _words(quantities(Framing((walled[0], replace(walled[1], length_m=8.0)))))
    for length, words in (("20.00", _words(quantities(Framing(walled)))), ("8.00", met)):
        assert f"The parapet of part 1 at the back is left out along {length} m" in words


def test_parts_that_do_not_touch_are_flagged_with_the_gap():
    """40 by 30 ft behind 80 by 50 ft, typed at 50.5 ft; a third part 5 ft to the right of both."""
    foot = 0.3048
    main, wing, lone = (Rectangle(length * foot, width * foot, x_m=x * foot, y_m=y * foot)
                        for length, width, x, y in
                        ((80, 50, 0, 0), (40, 30, 40, 50.5), (20, 20, 85, 0)))  # fmt: skip
    words = _words(quantities(Framing((main, wing, lone))))
    assert "Part 1 and part 2 do not touch: the gap is 0.15 m (0.5 ft)." in words
    assert "Part 1 and part 3 do not touch: the gap is 1.52 m (5.0 ft)." in words
    joined = (main, replace(wing, y_m=50 * foot), replace(lone, x_m=80 * foot))
    assert "do not touch" not in _words(quantities(Framing(joined)))


def test_an_overlap_names_both_parts_and_its_size():
    with pytest.raises(CaseError) as refused:
        Framing((Rectangle(20.0, 10.0), Rectangle(5.0, 5.0, x_m=20.0), Rectangle(9.0, 9.0, x_m=19)))
    assert refused.value.field == "rectangles.2.x"
    assert refused.value.allowed == (
        "a place clear of part 1: part 3 overlaps part 1 by 1.00 m (3.3 ft) along x and "
        "9.00 m (29.5 ft) along y"
    )


@pytest.mark.thorough
@pytest.mark.parametrize("slope", [1 / 24, 0.25])
@pytest.mark.parametrize("windy", [False, True])
def test_forty_parts_are_taken_off_in_under_three_tenths_of_a_second(slope, windy):
    parts = tuple(
        Rectangle(20.0, 15.0, ("ridge", "one-way")[k % 2], SIDES[k % 4],
                  x_m=20.0 * (k % 8), y_m=15.0 * (k // 8), hip_ends=None,
                  roof_level_m=0.5 * (k % 3), deck_slope=1 / 96)
        for k in range(40)
    )  # fmt: skip
    site = WindAndSnow(basic_wind_m_s=50.0, roof_height_m=9.0) if windy else WindAndSnow()
    quantities(Framing(parts[:1]))
    runs_within(
        0.3, lambda k: quantities(Framing(parts, slope, 0.3 + 0.01 * k, wind_and_snow=site))
    )
