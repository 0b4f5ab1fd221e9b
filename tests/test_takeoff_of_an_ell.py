"""An ell and a school of three parts, taken off by hand: walls by side, panels, gutters, slopes.

The ell: part 1, 120 by 50 ft, ridge, level 12 ft; behind its left half part 2, 60 by 60 ft, one
fall to the left, level 20 ft. Both fall 1 in 12. Lowest post 1 ft, purlins 4 in deep.
"""

from dataclasses import replace

import pytest

from lcc.case import Layer, MetalRetrofit, Roof
from lcc.case.framing import Framing
from lcc.case.other_work import OtherWork
from lcc.case.rectangle import Rectangle
from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities.takeoff import into_retrofit, quantities
from lcc.quantities.trade_limits import against_roof
from lcc.units import FOOT_M as FOOT
from lcc.units import INCH_M

MPH = 0.44704
PSF = 4.882428
HALL = Rectangle(120 * FOOT, 50 * FOOT, "ridge", "front", roof_level_m=12 * FOOT, slope=1 / 12,
                 bearing_spacing_m=6 * FOOT, parapet_front_m=1 * FOOT)  # fmt: skip
LIBRARY = Rectangle(60 * FOOT, 60 * FOOT, "one-way", "left", 0.0, 50 * FOOT, 20 * FOOT,
                    slope=1 / 12, bearing_spacing_m=6 * FOOT, roof_height_m=24 * FOOT)  # fmt: skip
ELL = Framing(
    (HALL, LIBRARY), lowest_post_m=1 * FOOT, purlin_lap_m=1 * FOOT, rooftop_units=3, penetrations=9,
    wind_and_snow=WindAndSnow(basic_wind_m_s=107 * MPH, roof_height_m=16 * FOOT, exposure="B",
                              ground_snow_kg_m2=20 * PSF),
    other_work=OtherWork(rain_hour_m=3 * INCH_M),
)  # fmt: skip


def _walls(taken):
    """Wall area by the side that it faces [ft²]."""
    found = {}
    for row in taken.trims:
        side = row.where.split(", ")[1]
        found[side] = found.get(side, 0.0) + row.walls_m2 / FOOT**2
    return {side: area for side, area in found.items() if area > 1e-6}


def test_the_wall_of_a_step_is_that_of_the_part_above_and_faces_outward():
    """Part 2 over part 1 along y = 50 ft: 60 by 1 1/3 ft and a gable of 60 by 5/2 ft, 230 ft².

    Front: eave wall behind its parapet, 120 by 1/3 ft, 40. Back: eave of part 1, 60 by 1 1/3 ft,
    80; gable of part 2, 230.
    """
    found = _walls(quantities(ELL))
    assert (found["front"], found["back"]) == pytest.approx((270, 310), abs=1e-6)
    by_row = {row.where: row for row in quantities(ELL).trims}
    assert by_row["Part 2, front"].walls_m2 == pytest.approx(230 * FOOT**2)
    assert not any("against part 2" in row.where and row.walls_m2 for row in quantities(ELL).trims)


def test_no_downspout_stands_in_an_inner_gutter_which_asks_for_outlets():
    """Part 1 drains 1,500 ft² to each half of its back: 3 in an hour on 750 ft², 23.4 gal/min.

    That is more than the 23 of a leader of 2 in: 3 in; and 2,250 ft² at 1 in: half-round of 5 in.
    Outside 60 ft take two downspouts, 15 ft from their ends; inside two outlets.
    """
    taken = quantities(ELL)
    found = {each.where: (each.drained_m2 / FOOT**2, each.eave_m / FOOT, each.downspouts,
                          each.outlets, each.downspout_m / INCH_M, each.gutter_m / INCH_M)
             for each in taken.drainage}  # fmt: skip
    inner = "part 1, back: inner gutter against part 2"
    assert found["part 1, back"] == pytest.approx((1500, 60, 2, 0, 3, 5))
    assert found[inner] == pytest.approx((1500, 60, 0, 2, 3, 5))
    (row,) = (each for each in taken.along if each.mark.startswith("D1.B"))
    assert (row.first_m, row.spacing_m) == pytest.approx((75 * FOOT, 30 * FOOT))
    (told,) = (flag.message for flag in taken.flags if "drains at its back" in flag.message)
    assert "asks for 2 outlets of 3 in, each with an overflow" in told
    assert not any(each.where == inner for each in quantities(DRY).drainage)


DRY = replace(ELL, other_work=OtherWork())


def test_two_falls_to_one_line_share_one_inner_gutter():
    """Two rectangles of 60 by 40 ft that fall to each other drain 4,800 ft² to one gutter."""
    pair = (Rectangle(60 * FOOT, 40 * FOOT, drains_to="back"),
            Rectangle(60 * FOOT, 40 * FOOT, drains_to="front", y_m=40 * FOOT))  # fmt: skip
    (gutter,) = quantities(replace(ELL, rectangles=pair)).drainage
    assert gutter.where == "part 1, back and part 2, front: inner gutter between"
    assert (gutter.drained_m2, gutter.eave_m) == pytest.approx((4800 * FOOT**2, 60 * FOOT))
    assert (gutter.downspouts, gutter.outlets) == (0, 2)


def test_the_slope_of_the_framing_is_that_of_its_parts():
    """Both parts are 1 in 12, whatever the survey's default.

    With 1 and 0.5 in 12 over 6,000 and 3,600 ft² it is (6000 · 1 + 3600 · 0.5) / 9600 = 0.8125 in
    12, and the source says that it is a mean.
    """
    surveyed = MetalRetrofit(framing=ELL)
    made = into_retrofit(surveyed, quantities(ELL))
    assert made.slope == 1 / 12
    assert "mean" not in made.origin("slope").source
    mixed = replace(ELL, rectangles=(HALL, replace(LIBRARY, slope=None)), slope=0.5 / 12)
    made = into_retrofit(replace(surveyed, framing=mixed), quantities(mixed))
    assert made.slope == pytest.approx(0.8125 / 12)
    assert made.origin("slope").source.endswith("the mean of its parts, by their plan areas")


def test_pipes_that_only_the_roof_counts_are_flagged():
    roof = Roof(area_m2=9600 * FOOT**2, layers=(Layer(material="steel-deck"),), rooftop_units=3)
    for counted, there in ((0, 14), (9, 9), (9, None)):
        framing = replace(ELL, penetrations=counted)
        known = roof if there is None else roof.filled(penetrations=(there, roof.origin("area_m2")))
        found = [flag.message for flag in against_roof(quantities(framing), framing, known)
                 if flag.field == "penetrations"]  # fmt: skip
        assert [f"{counted or 'none'}, the roof carries {there}" in each for each in found] == [
            True
        ] * (counted != there is not None)


def test_wind_is_taken_no_lower_than_the_old_deck_and_names_a_single_falls_figure():
    """Part 2 lies at 20 ft: with the survey's 16 ft it is taken at 20 ft, as entered at 24."""
    heights = {zone.parts: (zone.roof_height_m, zone.figure) for zone in quantities(ELL).wind_zones}
    figure = "ASCE 7-16 figure 30.3-2A"
    assert heights["1"] == (pytest.approx(16 * FOOT), figure)
    assert heights["2"] == (pytest.approx(24 * FOOT), f"{figure}, to be 30.3-5A: a single fall")
    low = replace(ELL, rectangles=(HALL, replace(LIBRARY, roof_height_m=None)))
    taken = quantities(low)
    assert {zone.parts: zone.roof_height_m for zone in taken.wind_zones}["2"] == 20 * FOOT
    (told,) = (flag.message for flag in taken.flags if flag.field == "roof_height")
    assert "height of 4.88 m (16.0 ft) entered: wind is taken at that level there" in told


def test_the_balanced_snow_that_a_drift_stands_on_is_said():
    """0.7 · 1.1 · 25 = 19.25 lb/ft², less than the 20 that govern a low slope."""
    site = replace(ELL.wind_and_snow, ground_snow_kg_m2=25 * PSF)
    (told,) = (each for each in quantities(replace(ELL, wind_and_snow=site)).questions
               if each.startswith("Snow:"))  # fmt: skip
    assert "19.25 lb/ft² (94 kg/m²), the balanced load that a drift stands on" in told
    assert "20.0 lb/ft² (98 kg/m²), which governs here" in told


IN_LINE = (
    Rectangle(40 * FOOT, 30 * FOOT, y_m=40 * FOOT, slope=1 / 24, roof_level_m=40 / 24 * FOOT),
    Rectangle(40 * FOOT, 40 * FOOT, slope=1 / 24),
)


def _school():
    """A main roof with a hip at its right, whose face runs on in the right fall of a wing."""
    main = Rectangle(100 * FOOT, 60 * FOOT, "ridge", "front", 60 * FOOT, 50 * FOOT,
                     hip_ends=("right",), bearing_spacing_m=5 * FOOT)  # fmt: skip
    wing = Rectangle(60 * FOOT, 50 * FOOT, "ridge", "left", 100 * FOOT, bearing_runs="left-right",
                     bearing_spacing_m=5 * FOOT)  # fmt: skip
    return Framing((main, wing), slope=0.5 / 12, lowest_post_m=0.8 * FOOT)


@pytest.mark.parametrize("order", [1, -1])
def test_panels_of_one_plane_run_on_into_the_next_parts_fall_without_a_joint(order):
    """Hip face and wing fall to x = 160 ft from y = 0 to 110 ft: 55 strips of 2 ft.

    40 beside the wing's ridge, y 0 to 80 ft, are 30 ft long in plan; 15 beside the hip, 30 to 2 ft.
    """
    framing = _school()
    taken = quantities(replace(framing, rectangles=framing.rectangles[::order]))
    main, wing = (1, 2) if order == 1 else (2, 1)
    lengths = {}
    for piece in taken.cut_list:
        if piece.what == "panel":
            here = lengths.setdefault(piece.mark[:4], [])
            here += [piece.length_m / FOOT] * piece.pieces
    secant = (1 + (0.5 / 12) ** 2) ** 0.5
    assert lengths[f"S{wing}.R"] == pytest.approx([30 * secant] * 40)
    assert lengths[f"S{main}.R"] == pytest.approx([2 * k * secant for k in range(1, 16)])
    assert taken.members.panels == sum(map(len, lengths.values()))
    strips = sum(map(sum, lengths.values())) * 2 * FOOT**2
    assert taken.surface.ordered_area_m2 >= taken.surface.panel_area_m2
    assert strips >= taken.surface.panel_area_m2 * (1 - 1e-9)


def test_water_of_a_plane_runs_on_to_the_eave_at_its_foot():
    """Hip face 60 · 30 / 2 = 900 ft², and 30 · 30 / 2 of the wing above it, run to one eave.

    The wing's own eave, y 0 to 50 ft, has 50 · 30. In a roof of one plane the rear part's water
    runs to the front part's eave.
    """
    taken = quantities(replace(_school(), other_work=ELL.other_work))
    found = {each.where: each.drained_m2 / FOOT**2 for each in taken.drainage}
    assert (found["part 1, right"], found["part 2, right"]) == pytest.approx((1350, 1500))
    (only,) = quantities(replace(ELL, rectangles=IN_LINE)).drainage
    assert (only.where, only.drained_m2) == ("part 2, front", pytest.approx(2800 * FOOT**2))


def test_a_plane_that_runs_down_into_the_next_part_has_panels_of_its_whole_length():
    """Two rectangles 40 and 30 ft deep fall to the front one behind the other: 20 panels of 70 ft.

    The deck of the rear one lies 40 / 24 ft higher, so that both are one plane.
    """
    taken = quantities(replace(ELL, rectangles=IN_LINE))
    assert taken.members.panels == 20
    (piece,) = (each for each in taken.cut_list if each.what == "panel")
    assert (piece.mark[:4], piece.pieces) == ("S2.F", 20)
    assert piece.length_m == pytest.approx(70 * FOOT * (1 + 1 / 24**2) ** 0.5)
