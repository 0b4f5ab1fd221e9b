"""A fifth roof worked by hand: a ridge roof of 30 m by 12 m with a wing that falls away from it.

The wing of 9 m by 7.5 m stands against the right rake from y = 2 to 9.5 m and drains to the right.
Slope 1 in 12; lowest post 0.4 m, purlins 0.15 m deep, insulation 0.1 m; posts every 1.8 m, purlins
every 1.5 m, bracing every 10 m at most; panels of 0.5 m. The secant is √(1 + 1/144).

Panel heights over the old roof: eaves 0.55 m, ridge 0.55 + 6/12 = 1.05 m, high edge of the wing
0.55 + 9/12 = 1.3 m. Under the main rake between 2 and 9.5 m: from 0.71667 up to 1.05 over 4 m and
down to 0.75833 over 3.5 m, 3.53333 + 3.16458 = 6.69792 m²; under the whole rake 12 · 0.8 = 9.6 m².
"""

from math import hypot, sqrt

import pytest

from lcc.case import Framing, Rectangle
from lcc.quantities import quantities

SECANT = sqrt(1 + 1 / 144)
RECTANGLES = (
    Rectangle(30.0, 12.0, form="ridge", drains_to="front"),
    Rectangle(9.0, 7.5, form="one-way", drains_to="right", x_m=30.0, y_m=2.0),
)


@pytest.fixture(scope="module")
def taken():
    return quantities(
        Framing(
            RECTANGLES, slope=1 / 12, lowest_post_m=0.4, purlin_depth_m=0.15, post_spacing_m=1.8,
            purlin_spacing_m=1.5, brace_spacing_m=10.0, panel_cover_m=0.5,
            insulation_thickness_m=0.1,
        )
    )  # fmt: skip


def test_posts_and_purlins(taken):
    """Main: 9 rows of 18, wing: 7 rows of 6; heights 18 (2 · 2.35 + 0.9) + 6 · 5.425 m."""
    members = taken.members
    assert members.posts == 9 * 18 + 7 * 6
    assert members.posts_height_m == pytest.approx(100.8 + 32.55, rel=1e-12)
    assert members.tallest_post_m == pytest.approx(0.4 + 9 / 12, rel=1e-12)
    assert members.purlin_lines == 10 + 7
    assert members.purlins_m == pytest.approx(300 + 52.5, rel=1e-12)


def test_panels_clips_and_bracing(taken):
    """Panels 2 · 60 and 15; a clip at every seam and rake: 61 · 10 and 16 · 7.

    Posts are 30/17 m apart: in three spaces of bracing the widest would be 6 of them, 10.59 m.
    """
    members = taken.members
    assert (members.panels, members.clips) == (135, 722)
    assert members.fasteners == 722 * 2 + 204 * 6 + 135 * 4
    down = 2 * sum(hypot(1.5, height) for height in (0.525, 0.65, 0.775, 0.9))
    heights = ((2, 0.4), (2, 0.525), (2, 0.65), (2, 0.775), (1, 0.9))
    along = sum(rows * hypot(30 / 17, height) for rows, height in heights)
    wing = [hypot(1.5, 0.4 + 0.125 * line) for line in range(7)]
    assert members.bracing_lines == 5 + 2
    expected = 5 * (down + along) + 2 * (2 * sum(wing) - wing[0])
    assert members.bracing_m == pytest.approx(expected, rel=1e-12)


def test_edges_and_walls(taken):
    """The wing's left side stands over the main rake: its high edge is trimmed above the step."""
    edges = taken.edges
    assert edges.eave_m == edges.gutter_m == pytest.approx(30 + 30 + 7.5, rel=1e-12)
    assert edges.rake_m == pytest.approx((12 + 4.5 + 9 + 9) * SECANT, rel=1e-12)
    assert edges.ridge_m == 30.0
    assert (edges.high_edge_m, edges.valley_m) == (7.5, 0.0)
    assert edges.joint_m == pytest.approx(7.5 * SECANT, rel=1e-12)
    assert edges.eave_wall_m2 == pytest.approx(67.5 * 0.55, rel=1e-12)
    assert edges.step_wall_m2 == pytest.approx(7.5 * 1.3 - 6.697917, abs=1e-6)
    assert edges.end_wall_m2 == pytest.approx(9.6 + 9.6 - 6.697917 + 2 * 8.325, abs=1e-6)


def test_areas_and_cavity(taken):
    """Mean heights less insulation: 0.55 + 0.25 - 0.1 and 0.55 + 0.375 - 0.1 m."""
    surface, cavity = taken.surface, taken.cavity
    assert surface.plan_area_m2 == 360 + 67.5
    assert surface.panel_area_m2 == pytest.approx(427.5 * SECANT, rel=1e-12)
    assert surface.longest_panel_m == pytest.approx(9 * SECANT, rel=1e-12)
    assert cavity.volume_m3 == pytest.approx(360 * 0.7 + 67.5 * 0.825, rel=1e-12)
    assert cavity.air_changes_per_h >= 4.5
