"""The cavity as a volume, and the ventilators and inlets that give it its air changes."""

import math

from lcc.case.framing import Framing
from lcc.errors import CaseError
from lcc.heat.cavity import DISCHARGE, WIND_EFFECTIVENESS, series_area
from lcc.heat.outside_film import GRAVITY
from lcc.heat.sky import KELVIN
from lcc.quantities.post_lines_and_heights import FallFrame
from lcc.quantities.roof_frame import PartShape, RoofFrame
from lcc.results.takeoff_result import CavityShape

LEAST_CLEAR_M = 0.02  # the least mean height that the heat model's cavity takes
MOST_MEAN_M = 10.0  # and the greatest
CAVITY_AIR_C = 20.0  # for the density of warm air alone; 20 K more changes the airflow by 3 %


def throat_speed(framing: Framing, stack_height_m: float) -> float:
    """Return the airflow through one square metre of ventilator throat [m/s].

    Parameters
    ----------
    framing : Framing
        Wind, warmth of the cavity air, and inlet area over throat area.
    stack_height_m : float
        Height from inlet to outlet [m].

    Notes
    -----
    The heat model's own relation for one square metre of throat and r square metres of inlet:
    √(Q_wind² + Q_stack²), Q_wind = 0.3 min(1, r) v, Q_stack = C_d A_s √(2 g Δh ΔT / T), with A_s
    the series area of 1 and r.

    References
    ----------
    See `lcc.heat.cavity.VentedCavity.air_changes`.

    Examples
    --------
    No warmth, a wind of 2 m/s and equal openings: 0.3 times 2.

    >>> from lcc.case.rectangle import Rectangle
    >>> round(throat_speed(Framing((Rectangle(10, 10),), warmth_k=0, wind_m_s=2), 1.0), 9)
    0.6
    """
    ratio = framing.inlet_to_outlet
    wind = WIND_EFFECTIVENESS * min(1.0, ratio) * framing.wind_m_s
    lift = framing.warmth_k / (CAVITY_AIR_C + KELVIN)
    stack = DISCHARGE * series_area(1.0, ratio) * math.sqrt(2 * GRAVITY * stack_height_m * lift)
    return math.hypot(wind, stack)


def ventilator_speed(framing: Framing, stack_height_m: float) -> float:
    """Return the airflow of a ventilator over its throat [m/s]: the maker's, if it is more.

    Notes
    -----
    The rated flow is taken in proportion to the wind; the bare throat is the floor.

    Examples
    --------
    Rated 0.146 m³/s at 2 m/s through 0.073 m²: 2 m/s, where the bare throat gives 0.6.

    >>> from lcc.case.other_work import OtherWork
    >>> from lcc.case.rectangle import Rectangle
    >>> rated = OtherWork(ventilator_flow_m3_s=0.146, ventilator_wind_m_s=2.0)
    >>> ventilator_speed(Framing((Rectangle(10, 10),), warmth_k=0, other_work=rated), 1.0)
    2.0
    """
    bare, work = throat_speed(framing, stack_height_m), framing.other_work
    if work.ventilator_flow_m3_s is None:
        return bare
    rated = work.ventilator_flow_m3_s * framing.wind_m_s / work.ventilator_wind_m_s
    return max(bare, rated / framing.ventilator_throat_m2)


def cavity(roof: RoofFrame) -> CavityShape:
    """Return the cavity's volume and the openings for the target air-change rate.

    Raises
    ------
    CaseError
        Where insulation fills the cavity at the eave, the mean cavity is higher than the heat
        model takes, or air changes are asked for with neither wind nor warmth to drive them.

    Notes
    -----
    Volume is the integral over the plan of panel height above the old deck, less insulation. Each
    part has whole ventilators of its own, so the rate reached is the target or a little more.
    """
    framing, shapes = roof.framing, roof.shapes
    volumes = [each.plan_area_m2 * _clear_height(each) for each in shapes]
    speeds = [ventilator_speed(framing, each.rise_m) for each in shapes]
    counts = [ventilators(each) for each in shapes]
    volume, number = math.fsum(volumes), sum(counts)
    throat = number * framing.ventilator_throat_m2
    flow = framing.ventilator_throat_m2 * math.fsum(
        n * speed for n, speed in zip(counts, speeds, strict=True)
    )
    weights = counts if number else volumes
    rises = math.fsum(w * each.rise_m for w, each in zip(weights, shapes, strict=True))
    return CavityShape(
        volume_m3=volume,
        mean_height_m=volume / math.fsum(each.plan_area_m2 for each in shapes),
        stack_height_m=rises / math.fsum(weights),
        airflow_m3_s=framing.air_changes_per_h * volume / 3600,
        ventilators=number,
        throat_area_m2=throat,
        inlet_area_m2=throat * framing.inlet_to_outlet,
        air_changes_per_h=flow * 3600 / volume,
    )


def _clear_height(shape: PartShape) -> float:
    framing = shape.part.framing
    insulation = framing.insulation_thickness_m or 0.0
    room = shape.part.lowest_post_m + framing.purlin_depth_m - LEAST_CLEAR_M
    if insulation > room:
        allowed = "a thickness that leaves 20 mm (0.8 in) under the panel at the eave"
        raise CaseError("insulation_thickness", insulation, allowed)
    mean = shape.mean_height_m - insulation
    if mean > MOST_MEAN_M:
        allowed = "a slope and posts whose mean cavity is at most 10 m (33 ft) high"
        raise CaseError("slope", shape.part.slope, allowed)
    return mean


def ventilator_places(
    roof: RoofFrame, shape: PartShape
) -> tuple[FallFrame, tuple[float, float, int]]:
    """Return a part's first fall, and along its top the first ventilator, the space, how many [m].

    Notes
    -----
    In the middle of equal lengths of the ridge or high edge; over a point, of the whole side. They
    are no list: a survey may ask for millions, which is refused elsewhere.
    """
    frame = next(fall.frame for fall in roof.falls if fall.frame.part == shape.part)
    count = ventilators(shape)
    runs = frame.purlin_lines[-1].runs or (frame.ends_m,)
    start, end = max(runs, key=lambda run: run[1] - run[0])
    space = (end - start) / max(count, 1)
    return frame, (start + space / 2, space, count)


def ventilators(shape: PartShape) -> int:
    """Return the whole ventilators that give one part's cavity its target rate."""
    framing = shape.part.framing
    flow = framing.air_changes_per_h * shape.plan_area_m2 * _clear_height(shape) / 3600
    if flow == 0:
        return 0
    speed = ventilator_speed(framing, shape.rise_m)
    if speed == 0:
        raise CaseError("wind", framing.wind_m_s, "more than 0, or a cavity warmer than outdoors")
    return math.ceil(flow / (speed * framing.ventilator_throat_m2) * (1 - 1e-9))
