"""The roof that each post carries and the wind on it, from the purlins and posts beside it."""

from collections.abc import Sequence

import numpy as np

from lcc.arrays import Array
from lcc.quantities.polygons import across
from lcc.quantities.post_lines_and_heights import FallFrame, PurlinLine
from lcc.quantities.wind_zones import WindZones


def carried(
    frame: FallFrame, lines: Sequence[PurlinLine], zones: WindZones | None
) -> tuple[Array, Array]:
    """Return the plan area that each post of a fall carries [m²], and the pull of wind on it [kg].

    Parameters
    ----------
    frame : FallFrame
        The fall.
    lines : sequence of PurlinLine
        Its lines with all their posts, those of zones of wind included.
    zones : WindZones, optional
        Zones of wind; without them nothing pulls.

    Notes
    -----
    At each place along the eave a panel hands its load to the nearest purlin that runs there and
    stands on posts, and the purlin to the nearest of its posts: half the space on each side, the
    first and last line out to the edge. The areas of a fall add up to its plan area. Purlins that
    only cross members carry hand their load to the posted lines on both sides. Wind pulls on each
    piece of that area by the zone that it lies in: arithmetic, not a reaction.
    """
    counts = [len(line.posts_m) for line in lines]
    starts = np.concatenate([[0], np.cumsum(counts)])
    none = np.zeros(starts[-1])
    chosen = [k for k, line in enumerate(lines) if line.posts_m.size and line.runs]
    chosen.sort(key=lambda k: lines[k].from_eave_m)
    if not chosen:
        return none, none
    orders = [lines[k].posts_m.argsort() for k in chosen]
    posts = [lines[k].posts_m[order] for k, order in zip(chosen, orders, strict=True)]
    middles = [(each[1:] + each[:-1]) / 2 for each in posts]
    more = [zones.cuts_along(frame)] if zones else []
    cuts = _cuts(frame, [lines[k] for k in chosen], [*posts, *middles, *more])
    at, width = (cuts[1:] + cuts[:-1]) / 2, np.diff(cuts)
    nearest = np.concatenate(
        [
            starts[k] + order[each.searchsorted(at)]
            for k, order, each in zip(chosen, orders, middles, strict=True)
        ]
    )

    def shared(strips: Array) -> Array:
        return np.bincount(nearest, (strips * width).ravel(), minlength=len(none)).astype(float)

    low, high = _strips_m(frame, [lines[k] for k in chosen], at)
    pulled = shared(_pulled(low, high, *zones.pulls(frame, at))) if zones else none
    return shared((high - low).sum(axis=0)), pulled


def _cuts(frame: FallFrame, lines: Sequence[PurlinLine], more: list[Array]) -> Array:
    """Return the places along the eave between which nothing changes but in a straight line."""
    ends = np.array([end for line in lines for run in line.runs for end in run])
    corners = [outline[:, 0] for outline in frame.outlines]
    return np.unique(np.clip(np.concatenate([*more, ends, *corners]), *frame.span_m))


def _strips_m(frame: FallFrame, lines: Sequence[PurlinLine], at: Array) -> tuple[Array, Array]:
    """Return where the strip of roof that each line carries begins and ends up the fall [m].

    Both are of shape (pieces, lines, places along the eave).
    """
    owner, first, last = np.array(
        [(k, a, b) for k, line in enumerate(lines) for a, b in line.runs]
    ).T
    inside = (at > first[:, None]) & (at < last[:, None])
    runs = np.logical_or.reduceat(inside, owner.searchsorted(range(len(lines))))
    runs |= ~runs.any(axis=0)
    level = np.array([line.from_eave_m for line in lines])[:, None]
    none = np.full((1, len(at)), np.inf)
    below = np.maximum.accumulate(np.where(runs, level, -np.inf), axis=0)
    above = np.minimum.accumulate(np.where(runs, level, np.inf)[::-1], axis=0)[::-1]
    low = (np.concatenate([-none, below[:-1]]) + level) / 2
    high = (np.concatenate([above[1:], none]) + level) / 2
    start, end = (each[:, None] for each in np.moveaxis(
        np.array([across(outline[:, ::-1], at) for outline in frame.outlines]), 1, 0))  # fmt: skip
    start, end = np.maximum(low, start), np.minimum(high, end)
    held = runs & (end > start)
    return np.where(held, start, 0.0), np.where(held, end, 0.0)


def _pulled(low: Array, high: Array, levels: Array, pulls: Array) -> Array:
    """Return the pull of each strip for a width of 1 m [kg/m], its pieces together."""
    found = np.zeros(low.shape)
    for start, end, pull in zip(levels[:-1], levels[1:], pulls, strict=True):
        found += pull * np.maximum(np.minimum(high, end) - np.maximum(low, start), 0.0)
    return np.asarray(found.sum(axis=0))
