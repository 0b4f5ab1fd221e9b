"""What must hold of any framed roof: sums, integrals, doubling, halving, turning and cutting."""

import math
from dataclasses import asdict, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lcc.case import Cavity, Framing, Rectangle
from lcc.heat.cavity import VentedCavity
from lcc.quantities import quantities

SIDES = ("front", "back", "left", "right")
lengths = st.floats(3.0, 60.0)
slopes = st.floats(0.01, 0.25)
forms = st.sampled_from(("one-way", "ridge"))
sides = st.sampled_from(SIDES)
modest = settings(max_examples=40)


@st.composite
def framings(draw):
    box = Rectangle(draw(lengths), draw(lengths), draw(forms), draw(sides))
    return Framing(
        (box,),
        slope=draw(slopes),
        lowest_post_m=draw(st.floats(0.1, 1.5)),
        post_spacing_m=draw(st.floats(0.8, 4.0)),
        purlin_spacing_m=draw(st.floats(0.8, 3.0)),
    )


def panel_height(framing, box, x, y):
    """Height of the panel over the old roof, straight from what a fall is."""
    across = box.drains_to in ("front", "back")
    at, whole = (y, box.width_m) if across else (x, box.length_m)
    from_low = whole - at if box.drains_to in ("back", "right") else at
    if box.form == "ridge":
        from_low = np.minimum(at, whole - at)
    return framing.lowest_post_m + framing.purlin_depth_m + framing.slope * from_low


@modest
@given(framings())
def test_panel_area_is_plan_area_over_the_cosine(framing):
    taken = quantities(framing).surface
    cosine = math.cos(math.atan(framing.slope))
    assert taken.panel_area_m2 == pytest.approx(taken.plan_area_m2 / cosine, rel=1e-12)
    assert taken.ordered_area_m2 == pytest.approx(taken.panel_area_m2 + taken.waste_area_m2)


@modest
@given(framings())
def test_the_schedule_sums_to_the_posts(framing):
    taken = quantities(framing)
    assert sum(row.posts for row in taken.posts) == taken.members.posts
    heights = sum(row.posts * row.height_m for row in taken.posts)
    assert heights == pytest.approx(taken.members.posts_height_m, rel=1e-12)
    assert max(row.height_m for row in taken.posts) == taken.members.tallest_post_m


@modest
@given(framings())
def test_cavity_volume_is_the_integral_of_its_height(framing):
    """Midpoints of an even grid integrate planes exactly, a ridge in the middle too."""
    box = framing.rectangles[0]
    x, y = np.meshgrid(*[(np.arange(60) + 0.5) / 60] * 2)
    heights = panel_height(framing, box, x * box.length_m, y * box.width_m)
    taken = quantities(framing).cavity
    assert taken.volume_m3 == pytest.approx(heights.mean() * box.length_m * box.width_m, rel=1e-9)


@modest
@given(framings())
def test_walls_are_the_integral_of_the_height_around_the_plan(framing):
    box = framing.rectangles[0]
    middle = (np.arange(200) + 0.5) / 200
    x, y = middle * box.length_m, middle * box.width_m
    walls = sum(
        panel_height(framing, box, x, np.full(200, edge)).mean() * box.length_m
        for edge in (0.0, box.width_m)
    ) + sum(
        panel_height(framing, box, np.full(200, edge), y).mean() * box.width_m
        for edge in (0.0, box.length_m)
    )
    assert quantities(framing).edges.walls_m2 == pytest.approx(walls, rel=1e-9)


@pytest.mark.thorough
@modest
@given(framings())
def test_twice_as_long_along_the_eave_doubles_what_should(framing):
    box = framing.rectangles[0]
    along = "length_m" if box.drains_to in ("front", "back") else "width_m"
    longer = replace(box, **{along: 2 * getattr(box, along)})
    one, two = quantities(framing), quantities(replace(framing, rectangles=(longer,)))
    for part, fields in {
        "surface": ("plan_area_m2", "panel_area_m2"),
        "members": ("purlins_m",),
        "edges": ("eave_m", "gutter_m", "ridge_m", "high_edge_m", "eave_wall_m2", "high_wall_m2"),
        "cavity": ("volume_m3", "airflow_m3_s"),
    }.items():
        for field in fields:
            single, double = (getattr(getattr(taken, part), field) for taken in (one, two))
            assert double == pytest.approx(2 * single, rel=1e-12), field
    # One panel a fall is cut to width and ordered whole: of the longer fall no more is cut off.
    whole = framing.panel_cover_m * one.surface.panel_area_m2 / getattr(box, along)
    fewer = 2 * one.surface.waste_area_m2 - two.surface.waste_area_m2
    assert -1e-9 <= fewer <= (1 + framing.waste) * whole
    for same in ("rake_m", "end_wall_m2"):
        assert getattr(two.edges, same) == pytest.approx(getattr(one.edges, same), rel=1e-12)
    assert two.cavity.mean_height_m == pytest.approx(one.cavity.mean_height_m, rel=1e-12)
    assert two.members.purlin_lines == one.members.purlin_lines


@pytest.mark.thorough
@modest
@given(framings(), st.sampled_from(("post_spacing_m", "purlin_spacing_m", "brace_spacing_m",
                                    "panel_cover_m")))  # fmt: skip
def test_half_the_spacing_never_lowers_a_count(framing, spacing):
    closer = replace(framing, **{spacing: getattr(framing, spacing) / 2})
    wide, close = asdict(quantities(framing).members), asdict(quantities(closer).members)
    for field in ("posts", "purlin_lines", "purlins_m", "bracing_lines", "panels", "clips",
                  "fasteners"):  # fmt: skip
        assert close[field] >= wide[field], field


@modest
@given(framings())
def test_a_roof_turned_or_mirrored_keeps_its_quantities(framing):
    box = framing.rectangles[0]
    turned = {"front": "left", "back": "right", "left": "front", "right": "back"}
    mirrored = {"front": "back", "back": "front", "left": "right", "right": "left"}
    here = quantities(framing)
    for other in (
        Rectangle(box.width_m, box.length_m, box.form, turned[box.drains_to]),
        replace(box, drains_to=mirrored[box.drains_to], x_m=7.0, y_m=3.0),
    ):
        there = quantities(replace(framing, rectangles=(other,)))
        for part in ("surface", "members", "edges", "cavity"):
            left, right = asdict(getattr(here, part)), asdict(getattr(there, part))
            assert left == pytest.approx(right, rel=1e-12)


@pytest.mark.thorough
@modest
@given(framings(), st.floats(0.2, 0.8))
def test_a_roof_cut_along_its_fall_keeps_its_areas_edges_and_volume(framing, part):
    """Where two rakes of one height meet the roof runs through: no wall, no trim."""
    box = replace(framing.rectangles[0], length_m=60.0, width_m=30.0, drains_to="front")
    left = replace(box, length_m=60.0 * part)
    right = replace(box, length_m=60.0 * (1 - part), x_m=60.0 * part)
    whole = quantities(replace(framing, rectangles=(box,)))
    cut = quantities(replace(framing, rectangles=(left, right)))
    assert asdict(cut.edges) == pytest.approx(asdict(whole.edges), rel=1e-9, abs=1e-9)
    assert cut.surface.panel_area_m2 == pytest.approx(whole.surface.panel_area_m2, rel=1e-12)
    assert cut.cavity.volume_m3 == pytest.approx(whole.cavity.volume_m3, rel=1e-12)


@modest
@given(framings())
def test_two_falls_back_to_back_are_a_ridge(framing):
    roof = Rectangle(40.0, 24.0, "ridge", "front")
    halves = (
        Rectangle(40.0, 12.0, "one-way", "front"),
        Rectangle(40.0, 12.0, "one-way", "back", y_m=12.0),
    )
    one = quantities(replace(framing, rectangles=(roof,)))
    two = quantities(replace(framing, rectangles=halves))
    assert asdict(two.edges) == pytest.approx(asdict(one.edges), rel=1e-9, abs=1e-9)
    assert two.members.purlin_lines == one.members.purlin_lines
    assert two.cavity.volume_m3 == pytest.approx(one.cavity.volume_m3, rel=1e-12)


def test_a_step_whose_heights_cross_is_the_integral_of_their_difference():
    # A one-way roof that drains left (0.4 to 0.4 + 0.2 · 10 = 2.4 m along the contact) against
    # one that drains right (2.4 to 0.4 m): |difference| runs 2, 0, 2 over 10 m, area 10 m².
    framing = Framing(
        (Rectangle(10, 6, drains_to="left"), Rectangle(10, 6, drains_to="right", y_m=6)),
        slope=0.2, lowest_post_m=0.3, purlin_depth_m=0.1,
    )  # fmt: skip
    edges = quantities(framing).edges
    assert edges.step_wall_m2 == pytest.approx(10.0, rel=1e-12)
    assert edges.joint_m == pytest.approx(10 * math.hypot(1, 0.2), rel=1e-12)


def test_an_eave_against_a_neighbour_is_an_inner_gutter_and_is_flagged():
    framing = Framing((Rectangle(20, 10, drains_to="back"), Rectangle(20, 10, y_m=10)))
    taken = quantities(framing)
    assert (taken.edges.valley_m, taken.edges.inner_gutter_m) == (0.0, 20.0)
    assert taken.edges.eave_m == 0.0
    priced = {line.key: line.amount.value for line in taken.first_cost.lines}
    assert priced["valley_per_m"] == 20.0
    (flag,) = (flag for flag in taken.flags if "drain to the same line" in flag.message)
    assert (flag.field, "The gutter is priced" in flag.message) == ("rectangles", True)


@modest
@given(framings(), st.floats(0.5, 6.0), st.floats(0.0, 10.0), st.floats(0.3, 3.0),
       st.floats(1.0, 12.0))  # fmt: skip
def test_ventilators_reach_the_target_rate_and_one_fewer_would_not(
    framing, wind, warmth, ratio, target
):
    framing = replace(
        framing, wind_m_s=wind, warmth_k=warmth, inlet_to_outlet=ratio, air_changes_per_h=target
    )
    shape = quantities(framing).cavity
    assert shape.air_changes_per_h >= target * (1 - 1e-9)
    assert shape.air_changes_per_h * (shape.ventilators - 1) / shape.ventilators < target


class _Weather:
    """Outdoor air and wind for one hour, as the heat model's cavity asks for them."""

    def __init__(self, air_c, wind_m_s):
        self.air_c = np.array([air_c])
        self.wind_m_s = np.array([wind_m_s])


class _Panel:
    def __init__(self, outdoors):
        self.outdoors = outdoors


@modest
@given(framings(), st.floats(0.0, 6.0), st.floats(0.5, 10.0))
def test_the_heat_model_finds_the_rate_that_the_openings_were_sized_for(framing, wind, warmth):
    """Through the cavity of the heat model itself: cavity air at 20 °C, outdoors cooler."""
    framing = replace(framing, wind_m_s=wind, warmth_k=warmth)
    taken = quantities(framing)
    shape = taken.cavity
    cavity = Cavity(
        mean_height_m=shape.mean_height_m, ventilation="openings",
        inlet_area_m2=shape.inlet_area_m2, outlet_area_m2=shape.throat_area_m2,
        stack_height_m=shape.stack_height_m,
    )  # fmt: skip
    model = VentedCavity(cavity, _Panel(_Weather(20.0 - warmth, wind)), taken.surface.plan_area_m2)
    rate = model.air_changes(np.array([20.0])).item()
    assert rate == pytest.approx(shape.air_changes_per_h, rel=1e-9)
    assert rate >= framing.air_changes_per_h * (1 - 1e-9)


def test_a_sealed_target_needs_no_openings():
    taken = quantities(Framing((Rectangle(20, 10),), air_changes_per_h=0.0)).cavity
    assert (taken.ventilators, taken.inlet_area_m2, taken.air_changes_per_h) == (0, 0.0, 0.0)
