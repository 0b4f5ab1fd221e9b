"""Gutters and downspouts of every eave by the rain of one hour, from a plumbing code's tables."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from lcc.arrays import Array, Flags
from lcc.quantities.fall_frame import FallFrame
from lcc.quantities.polygons import TOUCH_M, across
from lcc.quantities.post_and_purlin_spacing import spaces
from lcc.quantities.roof_frame import RoofFrame, off_segments
from lcc.results.takeoff_result import Drainage
from lcc.units import FOOT_M, INCH_M

FOOT_M2 = FOOT_M**2
GALLON_M3 = 231 * INCH_M**3
# Flow of a vertical leader by its nominal diameter, 7/24 full: diameter [in], flow [gal/min].
LEADERS = ((2, 23), (3, 67), (4, 144), (5, 261), (6, 424), (8, 913), (10, 1655))
# Roof that a half-round gutter drains, 1/16 in a foot, 1 in of rain an hour: [in], [ft²].
GUTTERS = ((3, 680), (4, 1440), (5, 2500), (6, 3840), (7, 5520), (8, 7960), (10, 14400))
MOST_APART_M = 15.24  # downspouts along a gutter
GUTTER_FALL = 1 / 192  # 1/16 in a foot, for which the table stands
GUTTER_DEEP_M = 6 * INCH_M  # common practice, where no rain is entered to size it


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


@dataclass(frozen=True)
class Discharge:
    """A valley's water: which roofs it lies between, how much of them, and into which gutter.

    `into` is a fall by its place among the roof's falls, or -1 where the valley ends at no eave.
    """

    between: str
    drained_m2: float
    fall: int
    into: str


def drainage(roof: RoofFrame) -> tuple[Drainage, ...]:
    """Return gutter and downspouts of every fall, where rain is entered.

    Notes
    -----
    A gutter takes the roof above its own eave, and what every valley that ends there gathers.
    Downspouts stand at most 50 ft apart, more of them where the largest gutter of the table would
    not drain what lies between. Half of a wall above a roof also drains to it; that is left to the
    plumber, as is every overflow.
    """
    rain = roof.framing.other_work.rain_hour_m
    if rain is None:
        return ()
    direct = _flow(roof)[0].copy()
    for each in valley_discharges(roof):
        if each.fall >= 0:
            direct[each.fall] += each.drained_m2
    return tuple(
        _gutter(fall.frame, float(drained), _eave_m(roof, fall.frame), rain)
        for fall, drained in zip(roof.falls, direct, strict=True)
        if drained > TOUCH_M
    )


def scuppers(roof: RoofFrame) -> dict[tuple[int, str], int]:
    """Return the scuppers of every eave that a parapet stands before, by part and side.

    Notes
    -----
    At most 50 ft apart, as downspouts; as many as downspouts where rain is entered. An overflow
    scupper stands beside each: its inlet 2 in above the low point, three times as large as the
    drain and at least 4 in high. Its own size is left to the plumber.

    References
    ----------
    Washington Administrative Code 51-51-0903 (2021), R903.4.1, read there.
    """
    sums, hidden_m = roof.edges, dict[tuple[int, str], float]()
    for k in np.flatnonzero((sums.role == "eave") & (sums.behind_parapet > 0)).tolist():
        key = _part_and_side(roof, k)
        length = float(sums.plan_m[k] * sums.behind_parapet[k])
        hidden_m[key] = hidden_m.get(key, 0.0) + length
    sized = _sized(roof) if hidden_m else {}
    return {key: _through(sized.get(key), long) for key, long in hidden_m.items()}


@dataclass(frozen=True)
class LowEave:
    """An eave just above its parapet: room over the coping and what a gutter outside takes [m]."""

    part: int
    side: str
    length_m: float
    room_m: float
    taken_m: float
    scuppers: int


def low_eaves(roof: RoofFrame) -> Iterator[LowEave]:
    """Yield eaves above their parapet that leave a purlin or an outside gutter no room over it.

    Notes
    -----
    From the coping to the panel there must be room for the deeper of the purlin and the gutter
    with its fall, 1/16 in a foot from half way between two downspouts. A half-round gutter is half
    as deep as wide.
    """
    sums, found = roof.edges, dict[tuple[int, str], list[tuple[float, float]]]()
    above = (sums.role == "eave") & (sums.parapet_m > 0) & (sums.behind_parapet == 0)
    for k in np.flatnonzero(above).tolist():
        room = float(sums.over_deck_m[k].min())
        found.setdefault(_part_and_side(roof, k), []).append((float(sums.plan_m[k]), room))
    sized = _sized(roof) if found else {}
    for key, pieces in found.items():
        long, room = math.fsum(each for each, _ in pieces), min(room for _, room in pieces)
        drain, count = sized.get(key), _through(sized.get(key), long)
        deep = drain.gutter_m / 2 if drain else GUTTER_DEEP_M
        taken = max(roof.framing.purlin_depth_m, deep + GUTTER_FALL * long / count / 2)
        if room < taken - TOUCH_M:
            yield LowEave(*key, long, room, taken, count)


def _part_and_side(roof: RoofFrame, stretch: int) -> tuple[int, str]:
    facet = roof.facets[roof.edges.upper[stretch]]
    return facet.part, facet.fall.side


def _sized(roof: RoofFrame) -> dict[tuple[int, str], Drainage]:
    """Return gutters and downspouts by part and side, where rain is entered."""
    by_name = {each.where: each for each in drainage(roof)}
    frames = [fall.frame for fall in roof.falls if _named(fall.frame) in by_name]
    return {(frame.part.index, frame.fall.side): by_name[_named(frame)] for frame in frames}


def _through(drain: Drainage | None, long_m: float) -> int:
    """Return the scuppers of a length of eave: at most 50 ft apart, as close as downspouts."""
    close = drain.downspouts / drain.eave_m if drain else 0.0
    return max(spaces(long_m, MOST_APART_M), math.ceil(close * long_m * (1 - 1e-9)))


def _gutter(frame: FallFrame, drained: float, eave_m: float, rain_m: float) -> Drainage:
    number = spaces(eave_m, MOST_APART_M)
    while (gutter := gutter_m(drained / number, rain_m)) is None or (
        leader := leader_m(drained / number, rain_m)
    ) is None:
        number += 1
    return Drainage(_named(frame), drained, eave_m, number, leader, gutter)


def _named(frame: FallFrame) -> str:
    return f"{frame.part.name}, {frame.fall.side}"


def downspout_places(
    roof: RoofFrame, drains: Sequence[Drainage]
) -> Iterator[tuple[FallFrame, list[float]]]:
    """Yield falls with gutters and where their downspouts stand: in the middle of equal lengths.

    Places are along the eave [m]. Where it is broken, its pieces count as one length. Two that
    serve an eave above another roof stand at its ends, to pass that roof on their way down.
    """
    frames = {_named(fall.frame): fall.frame for fall in roof.falls}
    for each in drains:
        frame, across = frames[each.where], 0 if frames[each.where].level else 1
        chosen = _is_eave(roof, frame)
        ends = np.stack([roof.edges.start[chosen, across], roof.edges.end[chosen, across]], axis=1)
        if not ends.size:
            ends = np.array([frame.ends_m])
        ends = np.sort(np.sort(ends, axis=1), axis=0)
        long = ends[:, 1] - ends[:, 0]
        ends_alone = each.downspouts == 2 and set(roof.edges.role[chosen]) == {"eave-above"}
        at = np.arange(each.downspouts) + (0.0 if ends_alone else 0.5)
        at = at / (each.downspouts - ends_alone) * long.sum()
        run = np.minimum(long.cumsum().searchsorted(at), len(long) - 1)
        yield frame, (ends[run, 0] + at - (long.cumsum() - long)[run]).tolist()


@dataclass(frozen=True)
class EaveAbove:
    """An eave above another roof: its fall, that roof, its length, and the roof it drains.

    `downspouts_m` are the places of those over that roof, along the eave from its part's edge, or
    None where no rain is entered.
    """

    frame: FallFrame
    other: int
    length_m: float
    drained_m2: float
    downspouts_m: list[float] | None


def eaves_above(roof: RoofFrame) -> Iterator[EaveAbove]:
    """Yield every eave that stands above another roof, one for each roof below it."""
    sums, spans = roof.edges, dict[tuple[int, int], list[tuple[float, float]]]()
    falls = {(one.frame.part.index, one.frame.fall.side): k for k, one in enumerate(roof.falls)}
    for k in np.flatnonzero(sums.role == "eave-above").tolist():
        key = falls[_part_and_side(roof, k)], roof.facets[sums.lower[k]].over
        across = 0 if roof.falls[key[0]].frame.level else 1
        low, high = sorted((float(sums.start[k, across]), float(sums.end[k, across])))
        spans.setdefault(key, []).append((low + TOUCH_M, high - TOUCH_M))
    drains = drainage(roof) if spans else ()
    spouts = {_named(frame): at for frame, at in downspout_places(roof, drains)}
    for (fall, other), over in spans.items():
        frame = roof.falls[fall].frame
        found = [at - frame.ends_m[0] for at in spouts.get(_named(frame), ())
                 if any(low < at < high for low, high in over)]  # fmt: skip
        long = math.fsum(high - low + 2 * TOUCH_M for low, high in over)
        drained = float(_flow(roof)[0][fall])
        yield EaveAbove(frame, other, long, drained, found if drains else None)


def _is_eave(roof: RoofFrame, frame: FallFrame) -> Flags:
    """Tell which stretches are an eave of a fall: free, above another roof or an inner gutter."""
    sums = roof.edges
    own = np.array([one.part == frame.part.index and one.fall.side == frame.fall.side
                    for one in roof.facets])  # fmt: skip
    upper = np.isin(sums.role, ("eave", "eave-above", "inner-gutter")) & own[sums.upper]
    lower = np.isin(sums.role, ("wall-gutter", "inner-gutter")) & own[sums.lower]
    return np.asarray(upper | (lower & (sums.lower >= 0)))


def _eave_m(roof: RoofFrame, frame: FallFrame) -> float:
    """Return the eave that a fall keeps [m]."""
    return float(roof.edges.plan_m[_is_eave(roof, frame)].sum()) or frame.eave_m


@lru_cache(maxsize=32)
def _flow(roof: RoofFrame) -> tuple[Array, Array]:
    """Return the roof that runs straight to the eave of every fall, and into every valley [m²]."""
    valleys = roof.valleys
    direct, gathered = np.zeros(len(roof.falls)), np.zeros(len(valleys))
    for k, fall in enumerate(roof.falls):
        for u, foot, strip in _columns(fall.frame):
            at = np.array(fall.frame.place(u, foot))
            off = off_segments(at[None, :], valleys)[0] if foot > TOUCH_M else np.array([])
            if off.size and off.min() < 10 * TOUCH_M:
                gathered[int(off.argmin())] += strip
            else:
                direct[k] += strip
    return direct, gathered


def _columns(frame: FallFrame) -> Iterator[tuple[float, float, float]]:
    """Yield strips up a fall: their middle, how far from the eave they end, and their area."""
    cuts = np.unique(np.concatenate([outline[:, 0] for outline in frame.outlines]))
    middles = (cuts[1:] + cuts[:-1]) / 2
    ends = np.array([across(outline[:, ::-1], middles) for outline in frame.outlines])
    for k, (a, b) in enumerate(pairwise(cuts.tolist())):
        pieces = sorted((low, high) for low, high in ends[:, :, k].tolist() if math.isfinite(low))
        foot = reach = -math.inf
        for low, high in pieces:
            foot = low if low > reach + TOUCH_M else foot
            reach = max(reach, high)
            yield (a + b) / 2, foot, (high - low) * (b - a)


def valley_discharges(roof: RoofFrame) -> tuple[Discharge, ...]:
    """Return what every sloping valley gathers, and the gutter at its foot."""
    found: dict[tuple[str, int, tuple[float, float]], float] = {}
    for between, area_m2, fall, foot in valley_waters(roof):
        key = between, fall, (round(foot[0], 2), round(foot[1], 2))
        found[key] = found.get(key, 0.0) + area_m2
    return tuple(Discharge(between, drained, fall, gutter_name(roof, fall))
                 for (between, fall, _), drained in found.items())  # fmt: skip


def valley_waters(roof: RoofFrame) -> Iterator[tuple[str, float, int, tuple[float, float]]]:
    """Yield each valley's parts, the roof that drains into it, the fall at its foot, its foot."""
    _, gathered = _flow(roof)
    sums = roof.edges
    chosen = np.flatnonzero(sums.role == "valley").tolist()
    for k, area_m2 in zip(chosen, gathered.tolist(), strict=True):
        pair = sorted({roof.facets[i].part for i in (sums.upper[k], sums.lower[k])})
        foot = _foot(roof, k, chosen)
        yield (" and ".join(roof.parts[i].name for i in pair), area_m2,
               _receiver(roof, foot, pair), foot)  # fmt: skip


def gutter_name(roof: RoofFrame, fall: int) -> str:
    """Return the part and side of a fall's gutter, or nothing where there is none."""
    return _named(roof.falls[fall].frame) if fall >= 0 else ""


def _foot(roof: RoofFrame, k: int, valleys: list[int]) -> tuple[float, float]:
    """Return the lowest point of a valley, through those that go on from it."""
    sums = roof.edges
    plane = roof.facets[sums.upper[k]].fall.plane
    ends = sorted((tuple(at[k].tolist()) for at in (sums.start, sums.end)),
                  key=lambda at: plane.z(*at))  # fmt: skip
    for other in valleys:
        starts = [np.hypot(*(at[other] - ends[0])) < TOUCH_M for at in (sums.start, sums.end)]
        if other != k and any(starts):
            far = (sums.end if starts[0] else sums.start)[other]
            if roof.facets[sums.upper[other]].fall.plane.z(*far) < plane.z(*ends[0]) - TOUCH_M:
                return _foot(roof, other, valleys)
    return ends[0]


def _receiver(roof: RoofFrame, foot: tuple[float, float], pair: list[int]) -> int:
    """Return the fall of a pair of parts whose eave a valley ends at: the later part's first."""
    found = -1
    for k, fall in enumerate(roof.falls):
        frame = fall.frame
        low, high = frame.ends_m
        u = foot[0] if frame.level else foot[1]
        eave = frame.place(u, 0.0)
        at_eave = math.dist(eave, foot) < 10 * TOUCH_M and low - TOUCH_M <= u <= high + TOUCH_M
        found = k if at_eave and frame.part.index in pair else found
    return found
