"""The whole roof laid out: parts, facets, edges, and the frame of every fall."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from lcc.case.framing import Framing
from lcc.quantities.framing_layout import FallFrame, PurlinLine
from lcc.quantities.polygons import TOUCH_M, Array, area, volume
from lcc.quantities.roof_edges import EdgeSums, RoofEdges
from lcc.quantities.roof_planes import Facet, RoofPart, facets, parts
from lcc.quantities.tributary import carried_m2
from lcc.quantities.wind_zones import WindZones

_CELL_M, _CLOSE_M = 2e-3, 1.5e-3
_ANY_PART = -1


@dataclass(frozen=True)
class FramedFall:
    """A fall with its frame and its purlin lines, no post counted twice within a part."""

    frame: FallFrame
    lines: tuple[PurlinLine, ...]

    @property
    def cross_members_m(self) -> float:
        """Members up the slope that carry purlins which no post stands under [m]."""
        return self.frame.cross_members_m + math.fsum(
            line.cross_members * line.cross_each_m for line in self.lines
        )

    @property
    def posts(self) -> int:
        """Posts of the fall; those of a shared ridge count to its first fall."""
        return sum(len(line.posts_m) for line in self.lines)


@dataclass(frozen=True)
class PartShape:
    """What lies over one part of the old roof: its area, its cavity, the rise of its panel."""

    part: RoofPart
    plan_area_m2: float
    volume_m3: float
    rise_m: float

    @property
    def mean_height_m(self) -> float:
        """Mean height of the panel above the old roof [m]."""
        return self.volume_m3 / self.plan_area_m2


class RoofFrame:
    """The geometry of a survey, computed once."""

    def __init__(self, framing: Framing) -> None:
        self.framing = framing
        self.parts = parts(framing)
        self.facets = facets(self.parts)

    @cached_property
    def edges(self) -> EdgeSums:
        """Every edge of the new roof."""
        return EdgeSums(RoofEdges(self.parts, self.facets))

    @cached_property
    def falls(self) -> tuple[FramedFall, ...]:
        """Falls of every part, in the order of the parts."""
        frames = [frame for part in self.parts for frame in self._frames(part)]
        more = [self.zones.purlins(frame) if self.zones else () for frame in frames]
        every = [
            _numbered(frame, (*frame.purlin_lines, *zoned))
            for frame, zoned in zip(frames, more, strict=True)
        ]
        return _without_doubles(frames, every, self.shared_lines)

    @cached_property
    def zones(self) -> WindZones | None:
        """Zones of wind, where speed and height are entered."""
        site = self.framing.wind_and_snow
        if site.basic_wind_m_s is None or site.roof_height_m is None:
            return None
        return WindZones(site, self.parts, self.edges)

    @cached_property
    def valleys(self) -> Array:
        """Start and end of every sloping valley in plan [m], of shape (valleys, 2, 2)."""
        chosen = self.edges.role == "valley"
        return np.stack([self.edges.start[chosen], self.edges.end[chosen]], axis=1)

    @cached_property
    def shared_lines(self) -> Array:
        """Start and end of every line on which two parts share posts [m], (lines, 2, 2).

        Sloping valleys, and lines across the plan where one part's plane runs on into another's.
        """
        sums = self.edges
        slants = np.abs(sums.end - sums.start).min(axis=1) > TOUCH_M
        chosen = (sums.role == "through") & slants
        across = np.stack([sums.start[chosen], sums.end[chosen]], axis=1)
        return np.concatenate([self.valleys, across])

    def _frames(self, part: RoofPart) -> list[FallFrame]:
        own: dict[str, list[Facet]] = {fall.side: [] for fall in part.falls}
        for facet in sorted(self.facets, key=lambda each: each.over != part.index):
            if facet.part == part.index:
                own[facet.fall.side].append(facet)
        return [FallFrame(part, fall, tuple(own[fall.side]))
                for fall in part.falls if own[fall.side]]  # fmt: skip

    @cached_property
    def shapes(self) -> tuple[PartShape, ...]:
        """Every part's cavity and rise."""
        return tuple(self._shape(part) for part in self.parts)

    def _shape(self, part: RoofPart) -> PartShape:
        over = [facet for facet in self.facets if facet.over == part.index]
        tops = [facet.fall.plane.z(*at) for facet in over for at in facet.polygon]
        filled = math.fsum(volume(one.polygon, one.fall.plane.above(one.deck)) for one in over)
        plan = part.rectangle.length_m * part.rectangle.width_m
        return PartShape(part, plan, filled, max(tops) - min(tops))

    @cached_property
    def panel_area_m2(self) -> float:
        """Area of the panels on the slope [m²]."""
        slopes = {part.index: math.hypot(1.0, part.slope) for part in self.parts}
        return math.fsum(area(one.polygon) * slopes[one.part] for one in self.facets)


@lru_cache(maxsize=32)
def roof_frame(framing: Framing) -> RoofFrame:
    """Return the geometry of a survey; a few are remembered, as prices are tried over one."""
    return RoofFrame(framing)


def _numbered(frame: FallFrame, lines: tuple[PurlinLine, ...]) -> tuple[PurlinLine, ...]:
    """Return the lines of a fall in order from the eave, and numbered so."""
    order = sorted(lines, key=lambda line: round(line.from_eave_m, 6))
    return tuple(frame.renumbered(line, k) for k, line in enumerate(order, start=1))


def _without_doubles(
    frames: list[FallFrame], every: list[tuple[PurlinLine, ...]], lines_shared: Array
) -> tuple[FramedFall, ...]:
    """Return all falls, each post where several lines meet kept by the first, with its load.

    Notes
    -----
    Two parts that stand beside each other keep their own posts, but for those in a valley between
    them, or where one roof runs on over the other: one post of one length carries both.
    """
    stand = [
        (frame.part.index, *frame.place(u, line.from_eave_m), high)
        for frame, lines in zip(frames, every, strict=True)
        for line in lines
        for u, high in zip(line.posts_m.tolist(), line.heights_m.tolist(), strict=True)
    ]
    off = off_segments(np.array(stand)[:, 1:3], lines_shared)
    shared = np.any(off < 2 * _CLOSE_M, axis=1)
    seen = _Places()
    owners = np.array([
        seen.first(_ANY_PART if in_valley else part, x, y, high)
        for (part, x, y, high), in_valley in zip(stand, shared.tolist(), strict=True)
    ], dtype=np.int64)  # fmt: skip
    borne = np.concatenate([carried_m2(*each) for each in zip(frames, every, strict=True)])
    carried = np.bincount(owners, borne, minlength=len(owners)).astype(np.float64)
    own = owners == np.arange(len(owners))
    found, start = [], 0
    for frame, lines in zip(frames, every, strict=True):
        kept = []
        for line in lines:
            here = slice(start, start := start + len(line.posts_m))
            kept.append(_kept(line, own[here], carried[here]))
        found.append(FramedFall(frame, tuple(kept)))
    return tuple(found)


def off_segments(points: Array, segments: Array) -> Array:
    """Return the distance of every point from every segment [m]."""
    start, run = segments[:, 0], segments[:, 1] - segments[:, 0]
    from_start = points[:, None, :] - start
    part = np.clip((from_start * run).sum(axis=2) / (run**2).sum(axis=1), 0.0, 1.0)
    return np.asarray(np.linalg.norm(from_start - part[..., None] * run, axis=2))


class _Places:
    """Places of posts, by cells of their plan, so that one close by is found at once."""

    def __init__(self) -> None:
        self.cells: dict[tuple[int, int, int], list[tuple[float, float, float, int]]] = {}
        self.count = 0

    def first(self, part: int, x: float, y: float, high: float) -> int:
        """Take a post in, and return the first within 1.5 mm of it, or itself.

        In a valley, posts of other parts count where they are as long.
        """
        number, self.count = self.count, self.count + 1
        across, along = round(x / _CELL_M), round(y / _CELL_M)
        for i in (across - 1, across, across + 1):
            for j in (along - 1, along, along + 1):
                for near in self.cells.get((part, i, j), ()):
                    alike = part != _ANY_PART or abs(near[2] - high) < TOUCH_M
                    if alike and abs(near[0] - x) < _CLOSE_M and abs(near[1] - y) < _CLOSE_M:
                        return near[3]
        self.cells.setdefault((part, across, along), []).append((x, y, high, number))
        return number


def _kept(line: PurlinLine, own: NDArray[np.bool_], carried: Array) -> PurlinLine:
    return replace(
        line, posts_m=line.posts_m[own], heights_m=line.heights_m[own], carried_m2=carried[own]
    )
