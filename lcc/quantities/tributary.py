"""The roof that each post carries, from the purlins and posts that stand beside it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lcc.quantities.polygons import Array, across
from lcc.quantities.posts_and_purlins import FallFrame, PurlinLine


def carried_m2(frame: FallFrame, lines: Sequence[PurlinLine]) -> Array:
    """Return the plan area that each post of a fall carries, line after line [m²].

    The lines have all their posts, those of zones of wind included.

    Notes
    -----
    At each place along the eave a panel hands its load to the nearest purlin that runs there and
    stands on posts, and the purlin to the nearest of its posts: half the space on each side, the
    first and last line out to the edge. The areas of a fall add up to its plan area. Purlins that
    only cross members carry hand their load to the posted lines on both sides.
    """
    counts = [len(line.posts_m) for line in lines]
    found = np.zeros(sum(counts))
    starts = np.concatenate([[0], np.cumsum(counts)])
    chosen = [k for k, line in enumerate(lines) if line.posts_m.size and line.runs]
    chosen.sort(key=lambda k: lines[k].from_eave_m)
    if not chosen:
        return found
    orders = [np.argsort(lines[k].posts_m) for k in chosen]
    posts = [lines[k].posts_m[order] for k, order in zip(chosen, orders, strict=True)]
    middles = [(each[1:] + each[:-1]) / 2 for each in posts]
    cuts = _cuts(frame, [lines[k] for k in chosen], [*posts, *middles])
    at, width = (cuts[1:] + cuts[:-1]) / 2, np.diff(cuts)
    strips = _strips_m(frame, [lines[k] for k in chosen], at) * width
    for strip, k, order, middle in zip(strips, chosen, orders, middles, strict=True):
        nearest = np.searchsorted(middle, at)
        found[starts[k] + order] = np.bincount(nearest, strip, minlength=len(order))
    return found


def _cuts(frame: FallFrame, lines: Sequence[PurlinLine], more: list[Array]) -> Array:
    """Return the places along the eave between which nothing changes but in a straight line."""
    ends = np.array([end for line in lines for run in line.runs for end in run])
    corners = [outline[:, 0] for outline in frame.outlines]
    return np.unique(np.clip(np.concatenate([*more, ends, *corners]), *frame.span_m))


def _strips_m(frame: FallFrame, lines: Sequence[PurlinLine], at: Array) -> Array:
    """Return the width of roof that each line carries at places along the eave [m]."""
    runs = np.array([
        np.any([(at > a) & (at < b) for a, b in line.runs], axis=0) for line in lines
    ])  # fmt: skip
    runs |= ~runs.any(axis=0)
    level = np.array([line.from_eave_m for line in lines])[:, None]
    none = np.full((1, len(at)), np.inf)
    below = np.maximum.accumulate(np.where(runs, level, -np.inf), axis=0)
    above = np.minimum.accumulate(np.where(runs, level, np.inf)[::-1], axis=0)[::-1]
    low = (np.concatenate([-none, below[:-1]]) + level) / 2
    high = (np.concatenate([above[1:], none]) + level) / 2
    strips = np.zeros(runs.shape)
    for outline in frame.outlines:
        start, end = across(outline[:, ::-1], at)
        held = np.fmin(high, end) - np.fmax(low, start)
        strips += np.where(runs & np.isfinite(start), np.maximum(held, 0.0), 0.0)
    return strips
