"""Gutters and downspouts of every eave by the rain of one hour, from a plumbing code's tables."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from lcc.arrays import Array, Integers
from lcc.quantities.polygons import TOUCH_M, across
from lcc.quantities.post_and_purlin_spacing import spaces
from lcc.quantities.post_lines_and_heights import FallFrame
from lcc.quantities.roof_frame import RoofFrame, off_segments
from lcc.results.takeoff_result import Drainage
from lcc.units import FOOT_M, INCH_M, System, as_read, from_core, unit_read

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
class Gutter:
    """A gutter: the falls that drain to it, and where it lies along their eave.

    Parameters
    ----------
    falls : tuple of int
        One of the roof's falls, or the two between which it lies.
    lies : str
        Empty where it hangs outside; else what an inner gutter lies against or behind.
    stretches : tuple of int
        Its edges of the roof; none where a fall keeps no eave.
    """

    falls: tuple[int, ...]
    lies: str = ""
    stretches: tuple[int, ...] = ()


BEHIND = "behind its parapet"
BETWEEN = "between"


@lru_cache(maxsize=32)
def gutters(roof: RoofFrame) -> tuple[Gutter, ...]:
    """Return every gutter: of a fall outside, behind a parapet, at a wall, or between two falls."""
    sums, found = roof.edges, dict[tuple[tuple[int, ...], str], list[int]]()
    key: tuple[tuple[int, ...], str]
    falls = {(one.frame.part.index, one.frame.fall.side): k for k, one in enumerate(roof.falls)}
    for k, role in enumerate(sums.role.tolist()):
        upper, lower = (roof.facets[each[k]] for each in (sums.upper, sums.lower))
        over, under = (falls[each.part, each.fall.side] for each in (upper, lower))
        if role in ("eave", "eave-above"):
            key = (over,), BEHIND if role == "eave" and sums.behind_parapet[k] > 0 else ""
        elif role == "wall-gutter":
            key = (under,), f"against {roof.parts[upper.part].name}"
        elif role == "inner-gutter":
            key = (min(over, under), max(over, under)), BETWEEN
        else:
            continue
        found.setdefault(key, []).append(k)
    kept = {fall for several, _ in found for fall in several}
    found |= {((fall,), ""): [] for fall in range(len(roof.falls)) if fall not in kept}
    return tuple(Gutter(*key, tuple(each)) for key, each in sorted(found.items()))


def gutter_name(roof: RoofFrame, gutter: Gutter) -> str:
    """Return the part and side of a gutter, and where an inner one lies."""
    named = " and ".join(_named(roof.falls[fall].frame) for fall in gutter.falls)
    return f"{named}: inner gutter {gutter.lies}" if gutter.lies else named


def _named(frame: FallFrame) -> str:
    return f"{frame.part.name}, {frame.fall.side}"


def _runs(roof: RoofFrame, gutter: Gutter, fall: int) -> Array:
    """Return the start and end of each piece of a gutter along the eave of its fall, in order."""
    chosen, across_it = list(gutter.stretches), 0 if roof.falls[fall].frame.level else 1
    if not chosen:
        return np.array([roof.falls[fall].frame.ends_m])
    ends = [each[chosen, across_it] for each in (roof.edges.start, roof.edges.end)]
    return np.sort(np.sort(np.stack(ends, axis=1), axis=1), axis=0)


@lru_cache(maxsize=32)
def _along(roof: RoofFrame) -> tuple[list[tuple[int, Array]], ...]:
    """Return the gutters of every fall, each with where it runs: that outside last."""
    found: list[list[tuple[int, Array]]] = [[] for _ in roof.falls]
    every = sorted(enumerate(gutters(roof)), key=lambda one: not one[1].lies)
    for place, gutter in every:
        for fall in gutter.falls:
            runs = _runs(roof, gutter, fall) if gutter.stretches else np.zeros((0, 2))
            found[fall].append((place, runs))
    return tuple(found)


def _at(roof: RoofFrame, fall: int, u_m: Array) -> Integers:
    """Return the gutter at places along the eave of a fall, or -1; where two end, that outside."""
    found = np.full(len(u_m), -1)
    for place, runs in _along(roof)[fall]:
        low, high = runs[..., None].swapaxes(0, 1)
        found[((u_m > low - TOUCH_M) & (u_m < high + TOUCH_M)).any(axis=0)] = place
    return found


@dataclass(frozen=True)
class Discharge:
    """A valley's water: which roofs it lies between, how much of them, and into which gutter.

    `gutter` is the place of its gutter among `gutters`, or -1 where the valley ends at no eave.
    """

    between: str
    drained_m2: float
    gutter: int
    into: str


@lru_cache(maxsize=32)
def drainage(roof: RoofFrame) -> tuple[Drainage, ...]:
    """Return the size of every gutter, and its downspouts or outlets, where rain is entered.

    Notes
    -----
    A gutter takes the roof above its own eave, and what every valley that ends there gathers.
    Downspouts stand at most 50 ft apart, more of them where the largest gutter of the table would
    not drain what lies between; so do the outlets of an inner gutter, which has no downspouts. Half
    of a wall above a roof also drains to it; that is left to the plumber, as is every overflow.
    """
    rain = roof.framing.other_work.rain_hour_m
    if rain is None:
        return ()
    drained = _flow(roof)[0].copy()
    for _, area_m2, gutter, _ in valley_waters(roof):
        if gutter >= 0:
            drained[gutter] += area_m2
    return tuple(_sized(roof, each, area_m2, rain)
                 for each, area_m2 in zip(gutters(roof), drained.tolist(), strict=True)
                 if area_m2 > TOUCH_M)  # fmt: skip


def _sized(roof: RoofFrame, gutter: Gutter, drained: float, rain_m: float) -> Drainage:
    long = float(np.diff(_runs(roof, gutter, gutter.falls[0])).sum())
    number = spaces(long, MOST_APART_M)
    while (size := gutter_m(drained / number, rain_m)) is None or (
        leader := leader_m(drained / number, rain_m)
    ) is None:
        number += 1
    outside = not gutter.lies
    return Drainage(gutter_name(roof, gutter), drained, long, number * outside, leader, size,
                    number * (not outside))  # fmt: skip


def sized_by(rain_m: float | None, system: System) -> str:
    """Return the sentence beside the gutters: the rain and the rules, or that no rain is entered.

    Examples
    --------
    >>> sized_by(0.0889, "ip").partition(":")[0]
    'For 3.5 in of rain in one hour'
    """
    if rain_m is None:
        return ("No rain of one hour is entered: gutters and downspouts are in the bill by length, "
                "and none is sized, counted or placed. Enter the rain, or have them sized before "
                "they are ordered.")  # fmt: skip
    read = as_read(from_core(rain_m, "thickness", system), "thickness", system)
    rain = f"{read:.3g} {unit_read('thickness', system).display}"
    leaders = ", ".join(f"{inch} in {flow}" for inch, flow in LEADERS)
    return (f"For {rain} of rain in one hour: the roof drained times the rain is the flow; 1 in on "
            "1,000 ft² is 10.4 gal/min. A downspout or outlet is the smallest round one whose flow "
            f"is enough, in gal/min: {leaders} (National Standard Plumbing Code 2006, table "
            "13.6.1). A gutter is half-round and falls 1/16 in in a foot (Uniform Plumbing Code, "
            "from memory). Downspouts and outlets are at most 50 ft (15.2 m) apart. An inner "
            "gutter is a box of at least the section of its half-round, and has an overflow beside "
            "each outlet. The trade often sizes by the hardest five minutes, which asks for more: "
            "settle which. The plumber confirms all.")  # fmt: skip


def scuppers(roof: RoofFrame) -> dict[str, int]:
    """Return the scuppers of every eave that a parapet stands before, by the name of its gutter.

    Notes
    -----
    At most 50 ft apart, as downspouts; as many as downspouts where rain is entered. An overflow
    scupper stands beside each: its inlet 2 in above the low point, three times as large as the
    drain and at least 4 in high. Its own size is left to the plumber.

    References
    ----------
    Washington Administrative Code 51-51-0903 (2021), R903.4.1, read there.
    """
    sums, sized = roof.edges, {each.where: each for each in drainage(roof)}
    hidden_m = {gutter_name(roof, each): sums.hidden_m("eave")[list(each.stretches)].sum()
                for each in gutters(roof) if each.lies == BEHIND}  # fmt: skip
    return {name: _through(sized.get(name), float(long)) for name, long in hidden_m.items()}


@dataclass(frozen=True)
class LowEave:
    """An eave just above its parapet: room over the coping and what a gutter outside takes [m]."""

    frame: FallFrame
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
    sums = roof.edges
    above = (sums.role == "eave") & (sums.parapet_m > 0)
    for gutter in (one for one in gutters(roof) if not one.lies):
        if not (low := [k for k in gutter.stretches if above[k]]):
            continue
        long, room = float(sums.plan_m[low].sum()), float(sums.over_deck_m[low].min())
        count, taken = _outside(roof, gutter, long)
        if room < taken - TOUCH_M:
            yield LowEave(roof.falls[gutter.falls[0]].frame, long, room, taken, count)


def _outside(roof: RoofFrame, gutter: Gutter, long_m: float) -> tuple[int, float]:
    """Return the outlets of a length of gutter outside, and how deep it or the purlin hangs [m]."""
    drain = {each.where: each for each in drainage(roof)}.get(gutter_name(roof, gutter))
    count, deep = _through(drain, long_m), drain.gutter_m / 2 if drain else GUTTER_DEEP_M
    return count, max(roof.framing.purlin_depth_m, deep + GUTTER_FALL * long_m / count / 2)


def _through(drain: Drainage | None, long_m: float) -> int:
    """Return the scuppers of a length of eave: at most 50 ft apart, as close as by rain."""
    close = (drain.downspouts + drain.outlets) / drain.eave_m if drain else 0.0
    return max(spaces(long_m, MOST_APART_M), math.ceil(close * long_m * (1 - 1e-9)))


def downspout_places(
    roof: RoofFrame, drains: Sequence[Drainage]
) -> Iterator[tuple[FallFrame, list[float]]]:
    """Yield falls with gutters outside and where their downspouts stand: amid equal lengths.

    Places are along the eave [m]. Where it is broken, its pieces count as one length. Two that
    serve an eave above another roof stand at its ends, to pass that roof on their way down.
    """
    outside = {gutter_name(roof, each): each for each in gutters(roof) if not each.lies}
    for each in (one for one in drains if one.downspouts):
        gutter = outside[each.where]
        roles = set(roof.edges.role[list(gutter.stretches)])
        ends = _runs(roof, gutter, gutter.falls[0])
        long = ends[:, 1] - ends[:, 0]
        ends_alone = each.downspouts == 2 and roles == {"eave-above"}
        at = np.arange(each.downspouts) + (0.0 if ends_alone else 0.5)
        at = at / (each.downspouts - ends_alone) * long.sum()
        run = np.minimum(long.cumsum().searchsorted(at), len(long) - 1)
        frame = roof.falls[gutter.falls[0]].frame
        yield frame, (ends[run, 0] + at - (long.cumsum() - long)[run]).tolist()


@dataclass(frozen=True)
class EaveAbove:
    """An eave above another roof: its fall, that roof, its length, and the roof it drains.

    `downspouts_m` are the places of those over that roof, along the eave from its part's edge, or
    None where no rain is entered; `free_m` of the eave stand over no other roof. The panel is
    `step_m` above that of the other roof, and gutter or purlin take `taken_m` of it.
    """

    frame: FallFrame
    other: int
    length_m: float
    drained_m2: float
    downspouts_m: list[float] | None
    free_m: float
    step_m: float
    taken_m: float


def eaves_above(roof: RoofFrame) -> Iterator[EaveAbove]:
    """Yield every eave that stands above another roof, one for each roof below it."""
    sums = roof.edges
    drains = drainage(roof) if "eave-above" in sums.role else ()
    spouts = {_named(frame): at for frame, at in downspout_places(roof, drains)}
    for place, gutter in enumerate(gutters(roof)):
        frame = roof.falls[gutter.falls[0]].frame
        above = [k for k in gutter.stretches if sums.role[k] == "eave-above"]
        free = [k for k in gutter.stretches if sums.role[k] == "eave"]
        long = float(sums.plan_m[list(gutter.stretches)].sum())
        for other in dict.fromkeys(roof.facets[sums.lower[k]].over for k in above):
            these = [k for k in above if roof.facets[sums.lower[k]].over == other]
            runs = _runs(roof, replace(gutter, stretches=tuple(these)), gutter.falls[0])
            found = [at - frame.ends_m[0] for at in spouts.get(_named(frame), ())
                     if any(low + TOUCH_M < at < high - TOUCH_M for low, high in runs)]  # fmt: skip
            yield EaveAbove(frame, other, float(np.diff(runs).sum()),
                            float(_flow(roof)[0][place]), found if drains else None,
                            float(sums.plan_m[free].sum()), float(sums.over_panel_m[these].min()),
                            _outside(roof, gutter, long)[1])  # fmt: skip


@lru_cache(maxsize=32)
def _flow(roof: RoofFrame) -> tuple[Array, Array]:
    """Return the roof that runs straight to every gutter, and into every valley [m²]."""
    rows, gutter = list[tuple[float, ...]](), list[Integers]()
    for k, fall in enumerate(roof.falls):
        ends = np.concatenate([runs.ravel() for _, runs in _along(roof)[k]])
        strips = np.array(list(_columns(fall.frame, ends)))
        rows += [(k, u, *fall.frame.place(u, foot), foot, strip)
                 for u, foot, strip in strips.tolist()]  # fmt: skip
        gutter.append(_at(roof, k, strips[:, 0]))
    (_, along, x, y, foot, strip), into = np.array(rows).T, np.concatenate(gutter)
    off = off_segments(np.stack([x, y], axis=1), roof.valleys)
    nearest = np.insert(off, 0, 10 * TOUCH_M, axis=1).argmin(axis=1)  # 0 where none is as near
    valley = np.where(foot > TOUCH_M, nearest, 0)
    straight = valley == 0
    for one in np.flatnonzero(straight & ((foot > TOUCH_M) | (into < 0))).tolist():
        last = _below(roof, int(rows[one][0]), rows[one][1])
        at_foot = int(_at(roof, last, along[[one]])[0])
        into[one] = at_foot if at_foot >= 0 else _along(roof)[last][-1][0]
    direct = np.bincount(into[straight], strip[straight], len(gutters(roof)))
    gathered = np.bincount(valley, strip, len(roof.valleys) + 1)[1:]
    return direct.astype(float), gathered.astype(float)


def _below(roof: RoofFrame, fall: int, u_m: float) -> int:
    """Return the fall at whose eave the plane of a fall ends, at a place along it.

    It is that of another part where the plane runs on down into it.
    """
    own, found = roof.falls[fall].frame, {fall: np.inf}
    for k, one in enumerate(each.frame for each in roof.falls):
        low, high = one.ends_m
        if (
            one.fall.side == own.fall.side
            and low - TOUCH_M < u_m < high + TOUCH_M
            and (max(map(abs, one.fall.plane.above(own.fall.plane))) < TOUCH_M)
        ):
            found[k] = one.inward * one.eave_at_m
    return min(found, key=lambda k: found[k])


def _columns(frame: FallFrame, more: Array) -> Iterator[tuple[float, float, float]]:
    """Yield strips up a fall, also cut at some places: middle, end from the eave, and area."""
    cuts = np.unique(np.concatenate([*(outline[:, 0] for outline in frame.outlines), more]))
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
    for between, area_m2, gutter, foot in valley_waters(roof):
        key = between, gutter, (round(foot[0], 2), round(foot[1], 2))
        found[key] = found.get(key, 0.0) + area_m2
    return tuple(Discharge(between, drained, gutter, discharges_into(roof, gutter))
                 for (between, gutter, _), drained in found.items())  # fmt: skip


def discharges_into(roof: RoofFrame, gutter: int) -> str:
    """Return the name of a gutter by its place, or nothing where there is none."""
    return gutter_name(roof, gutters(roof)[gutter]) if gutter >= 0 else ""


@lru_cache(maxsize=32)
def valley_waters(roof: RoofFrame) -> tuple[tuple[str, float, int, tuple[float, float]], ...]:
    """Return each valley's parts, the roof that drains into it, its gutter and its foot."""
    sums, found = roof.edges, []
    chosen = np.flatnonzero(sums.role == "valley").tolist()
    for k, area_m2 in zip(chosen, _flow(roof)[1].tolist(), strict=True):
        pair = sorted({roof.facets[i].part for i in (sums.upper[k], sums.lower[k])})
        foot = _foot(roof, k, chosen)
        between = " and ".join(roof.parts[i].name for i in pair)
        found.append((between, area_m2, _receiver(roof, foot, pair), foot))
    return tuple(found)


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
    """Return the gutter of a pair of parts that a valley ends at: the later part's first, or -1."""
    found = -1
    for k, fall in enumerate(roof.falls):
        frame = fall.frame
        if frame.part.index in pair:
            low, high = frame.ends_m
            u = foot[0] if frame.level else foot[1]
            at_eave = math.dist(frame.place(u, 0.0), foot) < 10 * TOUCH_M
            if at_eave and low - TOUCH_M <= u <= high + TOUCH_M:
                found = int(_at(roof, k, np.array([u]))[0])
    return found
