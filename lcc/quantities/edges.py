"""The outline of the plan: which edge is eave, rake or high edge, and what walls it needs."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lcc.case.framing import SIDES
from lcc.quantities.framing_layout import Layout
from lcc.results.takeoff_result import Edges

Array = NDArray[np.float64]
_OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}
_TOUCH_M = 1e-3  # rectangles this close share an edge


@dataclass(frozen=True)
class Side:
    """One side of a rectangle: where it lies, its role, and the panel's height along it."""

    name: str
    role: str
    at_m: float
    positions_m: Array
    heights_m: Array
    secant: float

    @property
    def start_m(self) -> float:
        """Where the side starts along the plan [m]."""
        return float(self.positions_m[0])

    @property
    def end_m(self) -> float:
        """Where it ends [m]."""
        return float(self.positions_m[-1])


@dataclass(frozen=True)
class Stretch:
    """A piece of an edge with its role, its length along the roof and the wall below it."""

    role: str
    length_m: float
    wall_m2: float


def sides(layout: Layout) -> tuple[Side, ...]:
    """Return the four sides of a laid-out rectangle, heights above the old roof."""
    return tuple(_side(layout, name) for name in SIDES)


def _side(layout: Layout, name: str) -> Side:
    box = layout.rectangle
    level = name in ("front", "back")
    start, length = (box.x_m, box.length_m) if level else (box.y_m, box.width_m)
    at = {
        "front": box.y_m, "back": box.y_m + box.width_m,
        "left": box.x_m, "right": box.x_m + box.length_m,
    }[name]  # fmt: skip
    role = _role(layout, name)
    positions, heights = _profile(layout, role, length)
    return Side(name, role, at, start + positions, heights, layout.secant)


def _role(layout: Layout, name: str) -> str:
    low = layout.rectangle.drains_to
    if name == low:
        return "eave"
    if name == _OPPOSITE[low]:
        return "eave" if layout.falls == 2 else "high-edge"
    return "rake"


def _profile(layout: Layout, role: str, length: float) -> tuple[Array, Array]:
    low, high = layout.eave_height_m, layout.eave_height_m + layout.rise_m
    ends = np.array([0.0, length])
    if role != "rake":
        return ends, np.full(2, low if role == "eave" else high)
    if layout.falls == 2:
        return np.array([0.0, length / 2, length]), np.array([low, high, low])
    upward = layout.rectangle.drains_to in ("front", "left")
    return ends, np.array([low, high] if upward else [high, low])


def outline(layouts: tuple[Layout, ...]) -> tuple[Stretch, ...]:
    """Return every free and shared stretch of the rectangles' edges.

    Parameters
    ----------
    layouts : tuple of Layout
        The rectangles, none overlapping another.

    Notes
    -----
    The wall under a free stretch is the integral of the panel's height along it; between two
    rectangles it is that of the difference of their heights. Where two rakes of equal height
    meet, the roof runs through and there is no stretch; where two high edges of equal height
    meet, they are a ridge; where an eave meets anything, a valley; all else is a step.
    """
    every = [sides(layout) for layout in layouts]
    shared = [
        (one, other, span)
        for first, second in combinations(every, 2)
        for one in first
        for other in second
        if (span := _contact(one, other)) is not None
    ]
    free = [
        _free(side, gap)
        for group in every
        for side in group
        for gap in _gaps(side, [span for *pair, span in shared if any(s is side for s in pair)])
    ]
    return (*free, *(_met(one, other, span) for one, other, span in shared))


def _contact(one: Side, other: Side) -> tuple[float, float] | None:
    if other.name != _OPPOSITE[one.name] or abs(one.at_m - other.at_m) > _TOUCH_M:
        return None
    start, end = max(one.start_m, other.start_m), min(one.end_m, other.end_m)
    return (start, end) if end - start > _TOUCH_M else None


def _gaps(side: Side, taken: list[tuple[float, float]]) -> list[tuple[float, float]]:
    gaps, start = [], side.start_m
    for low, high in sorted(taken):
        gaps.append((start, low))
        start = high
    gaps.append((start, side.end_m))
    return [(low, high) for low, high in gaps if high - low > _TOUCH_M]


def _within(side: Side, span: tuple[float, float]) -> Array:
    inner = side.positions_m[(side.positions_m > span[0]) & (side.positions_m < span[1])]
    return np.concatenate([[span[0]], inner, [span[1]]])


def _height(side: Side, positions: Array) -> Array:
    return np.interp(positions, side.positions_m, side.heights_m)


def _free(side: Side, span: tuple[float, float]) -> Stretch:
    positions = _within(side, span)
    wall = float(np.trapezoid(_height(side, positions), positions))
    factor = side.secant if side.role == "rake" else 1.0
    return Stretch(side.role, (span[1] - span[0]) * factor, wall)


def _met(one: Side, other: Side, span: tuple[float, float]) -> Stretch:
    positions = np.union1d(_within(one, span), _within(other, span))
    step = _height(one, positions) - _height(other, positions)
    wall = _absolute_integral(positions, step)
    flush = bool(np.abs(step).max() < _TOUCH_M)
    role = _meeting(one.role, other.role, flush)
    sloping = role == "step" and "rake" in (one.role, other.role)
    return Stretch(role, (span[1] - span[0]) * (one.secant if sloping else 1.0), wall)


def _meeting(one: str, other: str, flush: bool) -> str:
    if "eave" in (one, other):
        return "valley"
    if flush and one == other:
        return "through" if one == "rake" else "ridge"
    return "step"


def _absolute_integral(positions: Array, values: Array) -> float:
    """Return the exact integral of |values|, linear between positions."""
    left, right = values[:-1], values[1:]
    width = np.diff(positions)
    crossing = left * right < 0
    plain = width * (np.abs(left) + np.abs(right)) / 2
    span = np.where(crossing, np.abs(left) + np.abs(right), 1.0)
    crossed = width * (left**2 + right**2) / (2 * span)
    return float(np.where(crossing, crossed, plain).sum())


def edges(layouts: tuple[Layout, ...]) -> Edges:
    """Return edge lengths and wall areas of the whole plan."""
    stretches = outline(layouts)

    def length(role: str) -> float:
        return sum((s.length_m for s in stretches if s.role == role), 0.0)

    def wall(*roles: str) -> float:
        return sum((s.wall_m2 for s in stretches if s.role in roles), 0.0)

    own_ridges = sum((each.eave_m for each in layouts if each.falls == 2), 0.0)
    return Edges(
        eave_m=length("eave"),
        gutter_m=length("eave"),
        rake_m=length("rake"),
        ridge_m=own_ridges + length("ridge"),
        high_edge_m=length("high-edge"),
        valley_m=length("valley"),
        joint_m=length("step"),
        eave_wall_m2=wall("eave"),
        high_wall_m2=wall("high-edge"),
        end_wall_m2=wall("rake"),
        step_wall_m2=wall("step", "valley", "through", "ridge"),
        walls_m2=sum((s.wall_m2 for s in stretches), 0.0),
    )
