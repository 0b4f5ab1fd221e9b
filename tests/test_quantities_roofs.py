"""Four roofs worked by hand: every length, area, count and opening against the arithmetic.

All are our own arithmetic from the definitions; the slopes 9/40 and 7/24 make the hypotenuse
rational (41/40 and 25/24), so that the figures in the comments are exact.
"""

import math
from dataclasses import asdict

import pytest

from lcc.case import Framing, Rectangle
from lcc.quantities import quantities

# A wind of 2 m/s alone drives 0.3 · 2 = 0.6 m/s through a throat with inlets as large or larger,
# so a throat of 0.1 m² carries 0.06 m³/s.
AIR = {"wind_m_s": 2.0, "warmth_k": 0.0, "ventilator_throat_m2": 0.1}
EXACT = 1e-12
# What these roofs have none of: hips, inner gutters, parapets, structure that posts are tied to.
NONE_OF = {
    "members": {
        "cross_members_m": 0.0,
        "heavier_purlins_m": 0.0,
        "valley_support_m": 0.0,
        "purlin_laps_m": 0.0,
    },
    "edges": {"hip_m": 0.0, "inner_gutter_m": 0.0, "parapet_flashing_m": 0.0},
}


def diagonals(lines, down, heights, along, rows):
    """Bracing by its definition: down the falls, and along each row, at every bracing line."""
    falls = rows[0]
    sloping = falls * sum(math.hypot(down, h) for h in heights[1:])
    level = sum(n * math.hypot(along, h) for n, h in zip(rows, heights, strict=True))
    return lines * (sloping + level)


@pytest.fixture(scope="module")
def one_way():
    """24 m by 12 m, fall of 9/40 to the front."""
    return quantities(
        Framing(
            (Rectangle(24.0, 12.0),), slope=9 / 40, lowest_post_m=0.3, purlin_depth_m=0.1,
            post_spacing_m=2.0, purlin_spacing_m=1.5, panel_cover_m=0.6, brace_spacing_m=12.0,
            insulation_thickness_m=0.15, rooftop_units=3, penetrations=5, wet_area_m2=20.0, **AIR,
        )
    )  # fmt: skip


def test_one_way_posts(one_way):
    # Run 12 m in 8 spaces of 1.5 m: 9 lines. Heights 0.3 + 0.225 · 1.5 k = 0.3 + 0.3375 k.
    # Along the eave 24 / 2 = 12 spaces, 13 posts a line.
    heights = [0.3, 0.6375, 0.975, 1.3125, 1.65, 1.9875, 2.325, 2.6625, 3.0]
    assert [row.height_m for row in one_way.posts] == pytest.approx(heights, rel=EXACT)
    assert [row.from_eave_m for row in one_way.posts] == [1.5 * k for k in range(9)]
    assert [(row.rows, row.posts) for row in one_way.posts] == [(1, 13)] * 9


def test_one_way_members(one_way):
    expected = {
        "posts": 117,  # 9 · 13
        "posts_height_m": 193.05,  # 13 (9 · 0.3 + 0.3375 · 36) = 13 · 14.85
        "tallest_post_m": 3.0,
        "purlin_lines": 9,
        "purlins_m": 216.0,  # 9 · 24
        "purlin_splices": 27,  # over every third post of 2 m: 4 pieces of 6 m a line
        "purlin_sticks": 36,  # a piece of 6 m each
        "bracing_lines": 3,  # 24 / 12 = 2 spaces
        "bracing_m": diagonals(3, 1.5, [0.3 + 0.3375 * k for k in range(9)], 2.0, [1] * 9),
        "panels": 40,  # 24 / 0.6
        "clips": 369,  # 41 seams and rakes · 9 lines
        "fasteners": 1600,  # 369 · 2 + 117 · 6 + 40 · 4
    }
    expected |= NONE_OF["members"]
    assert asdict(one_way.members) == pytest.approx(expected, rel=EXACT)


def test_one_way_areas(one_way):
    expected = {
        "plan_area_m2": 288.0,
        "panel_area_m2": 295.2,  # 288 · 41/40
        "waste_area_m2": 14.76,  # 5 %
        "ordered_area_m2": 309.96,
        "longest_panel_m": 12.3,  # 12 · 41/40
        "insulation_area_m2": 288.0,
        "insulation_volume_m3": 43.2,  # 288 · 0.15
    }
    assert asdict(one_way.surface) == pytest.approx(expected, rel=EXACT)


def test_one_way_edges(one_way):
    # Panel over the old roof: 0.4 m at the eave, 0.4 + 0.225 · 12 = 3.1 m at the high edge.
    expected = {
        "eave_m": 24.0, "gutter_m": 24.0, "high_edge_m": 24.0,
        "rake_m": 24.6,  # 2 · 12.3
        "ridge_m": 0.0, "valley_m": 0.0, "joint_m": 0.0,
        "eave_wall_m2": 9.6,  # 24 · 0.4
        "high_wall_m2": 74.4,  # 24 · 3.1
        "end_wall_m2": 42.0,  # 2 · 12 · (0.4 + 3.1) / 2
        "step_wall_m2": 0.0,
        "walls_m2": 126.0,
    }  # fmt: skip
    expected |= NONE_OF["edges"]
    assert asdict(one_way.edges) == pytest.approx(expected, rel=EXACT)


def test_one_way_cavity(one_way):
    # Mean panel height 1.75 m less 0.15 m: 1.6 m over 288 m² = 460.8 m³. 4.5 an hour are
    # 0.576 m³/s, 9.6 throats: 10, which give 0.6 · 3600 / 460.8 = 4.6875 an hour.
    expected = {
        "volume_m3": 460.8, "mean_height_m": 1.6, "stack_height_m": 2.7,
        "airflow_m3_s": 0.576, "ventilators": 10, "throat_area_m2": 1.0, "inlet_area_m2": 1.0,
        "air_changes_per_h": 4.6875,
    }  # fmt: skip
    assert asdict(one_way.cavity) == pytest.approx(expected, rel=EXACT)


def test_one_way_services(one_way):
    # One curb a unit; 288 m² of 1000 m² a crane day.
    assert asdict(one_way.services) == {
        "rooftop_units": 3, "curbs": 3, "penetrations": 5, "tear_out_m2": 20.0, "crane_days": 1,
        "skylights_carried": 0, "skylights_covered": 0, "ballast_kg_m2": 0.0,
        "ballast_area_m2": 0.0, "expansion_joint_m": 0.0,
        "storm_ties": 0, "drains_abandoned": 0, "access_m2": 0.0,
        "set_up_m2": 0.0, "scuppers": 0, "overflow_scuppers": 0,
    }  # fmt: skip


@pytest.fixture(scope="module")
def ridge():
    """30 m by 20 m, falls of 7/24 to front and back from a ridge of 30 m."""
    return quantities(
        Framing(
            (Rectangle(30.0, 20.0, form="ridge"),), slope=7 / 24, lowest_post_m=0.5,
            purlin_depth_m=0.1, post_spacing_m=3.0, purlin_spacing_m=2.5, panel_cover_m=0.6,
            brace_spacing_m=12.0, fasteners_per_clip=3, air_changes_per_h=4.0,
            inlet_to_outlet=2.0, curbs=2, crane_area_m2=300.0, **AIR,
        )
    )  # fmt: skip


def test_ridge_posts(ridge):
    # Run 10 m in 4 spaces of 2.5 m; heights 0.5 + 7/24 · 2.5 k. Both sides are alike: two rows
    # each, and one at the ridge. Along the eave 30 / 3 = 10 spaces, 11 posts a row.
    heights = [0.5 + 17.5 / 24 * k for k in range(5)]
    assert [row.height_m for row in ridge.posts] == pytest.approx(heights, rel=EXACT)
    assert [(row.rows, row.posts) for row in ridge.posts] == [(2, 22)] * 4 + [(1, 11)]


def test_ridge_members(ridge):
    heights = [0.5 + 17.5 / 24 * k for k in range(5)]
    expected = {
        "posts": 99,  # 9 rows · 11
        "posts_height_m": 11 * (97 / 6),  # rows: 2 (2 + 17.5/24 · 6) + 0.5 + 70/24 = 97/6
        "tallest_post_m": 0.5 + 70 / 24,
        "purlin_lines": 10,  # 5 a fall: the ridge has two
        "purlins_m": 300.0,
        "purlin_splices": 40,  # over every second post of 3 m: 5 pieces of 6 m a line
        "purlin_sticks": 50,  # a piece of 6 m each
        "bracing_lines": 4,  # 30 / 12 = 2.5: 3 spaces
        "bracing_m": diagonals(4, 2.5, heights, 3.0, [2, 2, 2, 2, 1]),
        "panels": 100,  # 2 · 30 / 0.6
        "clips": 510,  # 51 · 10
        "fasteners": 2524,  # 510 · 3 + 99 · 6 + 100 · 4
    }
    expected |= NONE_OF["members"]
    assert asdict(ridge.members) == pytest.approx(expected, rel=EXACT)


def test_ridge_areas_and_edges(ridge):
    assert ridge.surface.plan_area_m2 == 600.0
    assert ridge.surface.panel_area_m2 == pytest.approx(625.0, rel=EXACT)  # 600 · 25/24
    assert ridge.surface.longest_panel_m == pytest.approx(250 / 24, rel=EXACT)
    # Mean panel height of an end: 0.6 + (7/24 · 10) / 2 = 0.6 + 35/24.
    mean = 0.6 + 35 / 24
    expected = {
        "eave_m": 60.0, "gutter_m": 60.0, "ridge_m": 30.0, "high_edge_m": 0.0,
        "rake_m": 1000 / 24,  # 4 · 10 · 25/24
        "valley_m": 0.0, "joint_m": 0.0,
        "eave_wall_m2": 36.0,  # 60 · 0.6
        "high_wall_m2": 0.0,
        "end_wall_m2": 40 * mean,  # 2 · 20 · mean
        "step_wall_m2": 0.0,
        "walls_m2": 36.0 + 40 * mean,
    }  # fmt: skip
    expected |= NONE_OF["edges"]
    assert asdict(ridge.edges) == pytest.approx(expected, rel=EXACT)


def test_ridge_cavity_and_services(ridge):
    # 600 (0.6 + 35/24) = 1235 m³; 4 an hour are 1.3722 m³/s, 22.87 throats: 23. Twice the inlet
    # area does not help the wind, which is held by the smaller opening.
    expected = {
        "volume_m3": 1235.0, "mean_height_m": 1235 / 600, "stack_height_m": 70 / 24,
        "airflow_m3_s": 1235 / 900, "ventilators": 23, "throat_area_m2": 2.3,
        "inlet_area_m2": 4.6, "air_changes_per_h": 23 * 0.06 * 3600 / 1235,
    }  # fmt: skip
    assert asdict(ridge.cavity) == pytest.approx(expected, rel=EXACT)
    assert (ridge.services.curbs, ridge.services.crane_days) == (2, 2)  # 600 / 300


@pytest.fixture(scope="module")
def l_shape():
    """20 m by 10 m that drains to the front, and 8 m by 12 m behind its left that drains left."""
    return quantities(
        Framing(
            (Rectangle(20.0, 10.0), Rectangle(8.0, 12.0, drains_to="left", y_m=10.0)),
            slope=9 / 40, lowest_post_m=0.3, purlin_depth_m=0.1, post_spacing_m=4.0,
            purlin_spacing_m=2.5, panel_cover_m=0.5, brace_spacing_m=12.0, **AIR,
        )
    )  # fmt: skip


def test_l_shape_posts(l_shape):
    # First: run 10 m, 4 spaces of 2.5 m, heights 0.3 + 0.5625 k, 20 / 4 = 5 spaces, 6 posts.
    # Second: run 8 m at 2.5 m at most, so 4 spaces of 2 m, heights 0.3 + 0.45 k, 3 spaces, 4 posts.
    shown = [(row.rectangle, row.line, row.height_m, row.posts) for row in l_shape.posts]
    expected = [(1, k + 1, 0.3 + 0.5625 * k, 6) for k in range(5)]
    expected += [(2, k + 1, 0.3 + 0.45 * k, 4) for k in range(5)]
    for row, hand in zip(shown, expected, strict=True):
        assert row == pytest.approx(hand, rel=EXACT)


def test_l_shape_members(l_shape):
    first = diagonals(3, 2.5, [0.3 + 0.5625 * k for k in range(5)], 4.0, [1] * 5)
    second = diagonals(2, 2.0, [0.3 + 0.45 * k for k in range(5)], 4.0, [1] * 5)
    expected = {
        "posts": 50,  # 5 · 6 + 5 · 4
        "posts_height_m": 66.75,  # 6 (1.5 + 5.625) + 4 (1.5 + 4.5)
        "tallest_post_m": 2.55,
        "purlin_lines": 10,
        "purlins_m": 160.0,  # 5 · 20 + 5 · 12
        "purlin_splices": 30,  # 6.096 m reach one post of 4 m: 5 and 3 pieces a line
        "purlin_sticks": 40,  # 5 · 5 + 5 · 3 pieces of 4 m, one to a stick
        "bracing_lines": 5,  # 20 / 12: 2 spaces, 3 lines; 12 / 12: 1 space, 2 lines
        "bracing_m": first + second,
        "panels": 64,  # 40 + 24
        "clips": 330,  # 41 · 5 + 25 · 5
        "fasteners": 1216,  # 330 · 2 + 50 · 6 + 64 · 4
    }
    expected |= NONE_OF["members"]
    assert asdict(l_shape.members) == pytest.approx(expected, rel=EXACT)


def test_l_shape_edges(l_shape):
    # Panel heights: first 0.4 m at the eave, 2.65 m at the back; second 0.4 m at its left,
    # 2.2 m at its right. They meet over 8 m of the first's high edge: a step that closes from
    # 2.65 - 0.4 = 2.25 m to 2.65 - 2.2 = 0.45 m, and the first's high edge is trimmed above it.
    expected = {
        "eave_m": 32.0,  # 20 + 12
        "gutter_m": 32.0,
        "rake_m": 28.7,  # (2 · 10 + 8) · 41/40: the second's front is the step
        "ridge_m": 0.0,
        "high_edge_m": 32.0,  # 20 and 12
        "valley_m": 0.0,
        "joint_m": 8.2,  # 8 · 41/40
        "eave_wall_m2": 12.8,  # 32 · 0.4
        "high_wall_m2": 58.2,  # 12 · 2.65 + 12 · 2.2
        "end_wall_m2": 40.9,  # 2 · 10 · 1.525 + 8 · 1.3
        "step_wall_m2": 10.8,  # 8 · (2.25 + 0.45) / 2
        "walls_m2": 122.7,
    }
    expected |= NONE_OF["edges"]
    assert asdict(l_shape.edges) == pytest.approx(expected, rel=EXACT)


def test_l_shape_areas_and_cavity(l_shape):
    assert l_shape.surface.plan_area_m2 == 296.0  # 200 + 96
    assert l_shape.surface.panel_area_m2 == pytest.approx(303.4, rel=EXACT)  # 296 · 41/40
    assert l_shape.surface.longest_panel_m == pytest.approx(10.25, rel=EXACT)
    # Volumes 200 · 1.525 = 305 and 96 · 1.3 = 124.8 m³. At 4.5 an hour 6.35 and 2.6 throats: 7 + 3.
    expected = {
        "volume_m3": 429.8, "mean_height_m": 429.8 / 296,
        "stack_height_m": 2.115,  # (7 · 2.25 + 3 · 1.8) / 10
        "airflow_m3_s": 0.53725, "ventilators": 10, "throat_area_m2": 1.0, "inlet_area_m2": 1.0,
        "air_changes_per_h": 2160 / 429.8,
    }  # fmt: skip
    assert asdict(l_shape.cavity) == pytest.approx(expected, rel=EXACT)


@pytest.fixture(scope="module")
def least_slope():
    """24 m wide, 48 m of fall to the right at 1/4 in 12, which rises 1 m."""
    return quantities(
        Framing(
            (Rectangle(48.0, 24.0, drains_to="right"),), slope=0.25 / 12, lowest_post_m=0.2,
            purlin_depth_m=0.1, post_spacing_m=1.5, purlin_spacing_m=1.6, panel_cover_m=0.4,
            brace_spacing_m=10.0, **AIR,
        )
    )  # fmt: skip


def test_least_slope_members(least_slope):
    heights = [0.2 + k / 30 for k in range(31)]
    expected = {
        "posts": 527,  # 31 lines · 17
        "posts_height_m": 368.9,  # 17 (31 · 0.2 + 15.5)
        "tallest_post_m": 1.2,
        "purlin_lines": 31,  # 48 / 1.6 = 30 spaces
        "purlins_m": 744.0,
        "purlin_splices": 93,  # over every fourth post of 1.5 m: 4 pieces of 6 m a line
        "purlin_sticks": 124,  # a piece of 6 m each
        "bracing_lines": 4,  # 24 / 10: 3 spaces
        "bracing_m": diagonals(4, 1.6, heights, 1.5, [1] * 31),
        "panels": 60,
        "clips": 1891,  # 61 · 31
        "fasteners": 7184,  # 1891 · 2 + 527 · 6 + 60 · 4
    }
    expected |= NONE_OF["members"]
    assert asdict(least_slope.members) == pytest.approx(expected, rel=EXACT)


def test_least_slope_areas_edges_and_cavity(least_slope):
    panel = math.sqrt(2305)  # 48 √(1 + 1/48²)
    assert least_slope.surface.longest_panel_m == pytest.approx(panel, rel=EXACT)
    assert least_slope.surface.panel_area_m2 == pytest.approx(24 * panel, rel=EXACT)
    expected = {
        "eave_m": 24.0, "gutter_m": 24.0, "high_edge_m": 24.0, "rake_m": 2 * panel,
        "ridge_m": 0.0, "valley_m": 0.0, "joint_m": 0.0,
        "eave_wall_m2": 7.2,  # 24 · 0.3
        "high_wall_m2": 31.2,  # 24 · 1.3
        "end_wall_m2": 76.8,  # 2 · 48 · 0.8
        "step_wall_m2": 0.0, "walls_m2": 115.2,
    }  # fmt: skip
    expected |= NONE_OF["edges"]
    assert asdict(least_slope.edges) == pytest.approx(expected, rel=EXACT)
    # 1152 · 0.8 = 921.6 m³, 1.152 m³/s, 19.2 throats: 20.
    assert least_slope.cavity.volume_m3 == pytest.approx(921.6, rel=EXACT)
    assert least_slope.cavity.ventilators == 20
    assert least_slope.services.crane_days == 2  # 1152 / 1000


def test_least_slope_is_still_practice(least_slope):
    """Exactly 1/4 in 12 is not flagged; any less is."""
    assert [flag.field for flag in least_slope.flags if flag.field == "slope"] == []
    flatter = quantities(Framing((Rectangle(48.0, 24.0),), slope=0.2499 / 12))
    assert [flag.basis for flag in flatter.flags if flag.field == "slope"] == ["published"]
