"""An ell and a school of three parts, taken off by hand: walls by side, panels, gutters, slopes.

The ell: part 1, 120 by 50 ft, ridge, level 12 ft; behind its left half part 2, 60 by 60 ft, one
fall to the left, level 20 ft. Both fall 1 in 12. Lowest post 1 ft, purlins 4 in deep.
"""

import pytest

from lcc.case.framing import Framing
from lcc.case.other_work import OtherWork
from lcc.case.rectangle import Rectangle
from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities.takeoff import quantities
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
