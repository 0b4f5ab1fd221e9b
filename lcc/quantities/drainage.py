"""Gutters and downspouts of every eave by the rain of one hour, from a plumbing code's tables."""

from __future__ import annotations

import math

from lcc.quantities.bearing import spaces
from lcc.quantities.polygons import area
from lcc.quantities.roof_frame import FramedFall, RoofFrame
from lcc.results.takeoff_result import Drainage

INCH_M = 0.0254
FOOT_M2 = 0.3048**2
GALLON_M3 = 231 * INCH_M**3
# Flow of a vertical leader by its nominal diameter, 7/24 full: diameter [in], flow [gal/min].
LEADERS = ((2, 23), (3, 67), (4, 144), (5, 261), (6, 424), (8, 913), (10, 1655))
# Roof that a half-round gutter drains, 1/16 in a foot, 1 in of rain an hour: [in], [ft²].
GUTTERS = ((3, 680), (4, 1440), (5, 2500), (6, 3840), (7, 5520), (8, 7960), (10, 14400))
MOST_APART_M = 15.24  # downspouts along a gutter
LEADER_SOURCE = "National Standard Plumbing Code 2006, table 13.6.1"
GUTTER_SOURCE = "half-round gutters at 1/16 in a foot, Uniform Plumbing Code, from memory"


def leader_m(drained_m2: float, rain_m: float) -> float | None:
    """Return the diameter of the smallest leader for a roof [m], or None where none is enough.

    Parameters
    ----------
    drained_m2 : float
        Plan area that drains to it [m²].
    rain_m : float
        Rain of one hour [m].

    References
    ----------
    National Standard Plumbing Code 2006, table 13.6.1.

    Examples
    --------
    At 1 in an hour 4 in drain 13,840 ft², and not 13,900.

    >>> [round(leader_m(feet * 0.3048**2, 0.0254) / 0.0254) for feet in (13840, 13900)]
    [4, 5]
    """
    flow = drained_m2 * rain_m / GALLON_M3 / 60
    return next((inch * INCH_M for inch, most in LEADERS if flow <= most * (1 + 2e-3)), None)


def gutter_m(drained_m2: float, rain_m: float) -> float | None:
    """Return the diameter of the smallest half-round gutter for a roof [m], or None.

    References
    ----------
    Uniform Plumbing Code, sizing of gutters, from memory.

    Examples
    --------
    >>> round(gutter_m(1000 * 0.3048**2, 0.1016) / 0.0254)
    7
    """
    feet = drained_m2 / FOOT_M2 * rain_m / INCH_M
    return next((inch * INCH_M for inch, most in GUTTERS if feet <= most), None)


def drainage(roof: RoofFrame) -> tuple[Drainage, ...]:
    """Return gutter and downspouts of every fall, where rain is entered.

    Notes
    -----
    Downspouts stand at most 50 ft apart, more of them where the largest gutter of the table would
    not drain what lies between. Half of a wall above a roof also drains to it; that is left to the
    plumber, as is every overflow.
    """
    rain = roof.framing.other_work.rain_hour_m
    if rain is None:
        return ()
    return tuple(_fall(fall, rain) for fall in roof.falls)


def _fall(fall: FramedFall, rain_m: float) -> Drainage:
    frame = fall.frame
    drained = math.fsum(area(piece.polygon) for piece in frame.pieces)
    number = spaces(frame.eave_m, MOST_APART_M)
    while (gutter := gutter_m(drained / number, rain_m)) is None or (
        leader := leader_m(drained / number, rain_m)
    ) is None:
        number += 1
    where = f"{frame.part.name}, {frame.fall.side}"
    return Drainage(where, drained, frame.eave_m, number, leader, gutter)
