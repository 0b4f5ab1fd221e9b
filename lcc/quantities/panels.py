"""Panels of every fall: their seams, the strips between these, and the clips at each seam."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from lcc.arrays import Array, Integers
from lcc.quantities.polygons import TOUCH_M, across
from lcc.quantities.post_lines_and_heights import FallFrame, PurlinLine, continued
from lcc.quantities.roof_edges import EdgeSums


@dataclass(frozen=True)
class Panels:
    """Panels of one fall.

    Parameters
    ----------
    seams_m : array
        Seams and rakes along its eave [m], in the plan's own x or y: full covers from the left or
        the front, and what is left.
    numbers, lengths_m : array
        Its panels in each column between two seams, and their length in plan together [m].
    """

    seams_m: Array
    numbers: Integers
    lengths_m: Array

    def clips(self, lines: Sequence[PurlinLine]) -> int:
        """Return the clips of purlin lines: one at every seam and rake that each passes."""
        a, b = np.array([run for line in lines for run in line.runs]).reshape(-1, 2).T
        past = self.seams_m.searchsorted(b + TOUCH_M, "right")
        return int((past - self.seams_m.searchsorted(a - TOUCH_M)).sum())


def panels(frames: Sequence[FallFrame], edges: EdgeSums) -> list[Panels]:
    """Return the panels of every fall.

    Notes
    -----
    A plane that runs on into the fall of another part, as a hip face does into the fall of a wing,
    has one panel in each column, eave to top, with no joint across it. Such falls share their
    seams. A column is listed with the fall of the lowest eave; of two as low, with that of the part
    that runs on over the other, as far as that reaches.
    """
    found: dict[int, Panels] = {}
    for plane in _planes(frames, edges):
        for place, laid in zip(plane, _laid([frames[k] for k in plane]), strict=True):
            found[place] = laid
    return [found[k] for k in range(len(frames))]


def _planes(frames: Sequence[FallFrame], edges: EdgeSums) -> list[list[int]]:
    """Return falls by their places, those together whose panels run on into each other."""
    facets, group = edges.edges.facets, list(range(len(frames)))
    place = {(each.part.index, each.fall.side): k for k, each in enumerate(frames)}
    for k in np.flatnonzero(edges.role == "through").tolist():
        one, two = facets[edges.upper[k]], facets[edges.lower[k]]
        along = 0 if one.fall.side in ("front", "back") else 1
        at_seam = abs(edges.start[k, along] - edges.end[k, along]) <= TOUCH_M
        if one.part != two.part and not at_seam:
            kept, gone = (group[place[each.part, each.fall.side]] for each in (one, two))
            group = [kept if each == gone else each for each in group]
    return [_leader_first(frames, [k for k, each in enumerate(group) if each == one])
            for one in dict.fromkeys(group)]  # fmt: skip


def _leader_first(frames: Sequence[FallFrame], plane: Iterable[int]) -> list[int]:
    def key(place: int) -> tuple[float, bool, int]:
        one = frames[place]
        stays = all(each.over == one.part.index for each in one.pieces)
        return round(one.inward * one.eave_at_m, 3), stays, place

    return sorted(plane, key=key)


def _laid(plane: Sequence[FallFrame]) -> list[Panels]:
    """Return the panels of falls in one plane, by the seams of the first of them."""
    first, spans = plane[0], np.array([each.span_m for each in plane])
    ends = spans[:, 0].min(), spans[:, 1].max()
    cover = first.part.framing.panel_cover_m
    seams = continued(np.array(first.ends_m[:1]), ends, cover).clip(*ends)
    outlines = [(k, outline) for k, each in enumerate(plane) for outline in _from(first, each)]
    columns = np.array([_column(outline, seams) for _, outline in outlines])
    held = np.isfinite(columns[:, 0])
    whose = np.array([k for k, _ in outlines])[held.argmax(axis=0)]
    low, high = (np.take_along_axis(columns[:, k], columns[:, 0].argsort(axis=0), axis=0)
                 for k in (0, 1))  # fmt: skip
    before = np.maximum.accumulate(high, axis=0)[:-1]
    before = np.concatenate([np.full((1, low.shape[1]), -np.inf), before])
    piece = np.where(np.isfinite(low), np.maximum(high - np.maximum(low, before), 0.0), 0.0)
    numbers = ((piece > TOUCH_M) & (low > before + TOUCH_M)).sum(axis=0)
    return [Panels(seams, numbers * mine, piece.sum(axis=0) * mine)
            for mine in (whose == k for k in range(len(plane)))]  # fmt: skip


def _from(first: FallFrame, frame: FallFrame) -> Iterable[Array]:
    """Return the outlines of a fall as (u, v), measured from the eave of another in its plane."""
    up = frame.inward * (frame.eave_at_m - first.eave_at_m)
    return frame.outlines if frame is first else [each + np.array([0.0, up])
                                                  for each in frame.outlines]  # fmt: skip


def _column(outline: Array, seams_m: Array) -> tuple[Array, Array]:
    """Return the lowest and highest point of a piece in each column, inf where it has none."""
    low, high = across(outline[:, ::-1], seams_m)
    low, high = np.fmin(low[:-1], low[1:]), np.fmax(high[:-1], high[1:])
    u, v = outline.T
    within = (u >= seams_m[:-1, None]) & (u <= seams_m[1:, None])
    low = np.fmin(low, np.where(within, v, np.inf).min(axis=1))
    high = np.fmax(high, np.where(within, v, -np.inf).max(axis=1))
    held = (seams_m[1:] > u.min() + TOUCH_M) & (seams_m[:-1] < u.max() - TOUCH_M)
    return np.where(held, low, np.inf), np.where(held, high, -np.inf)
