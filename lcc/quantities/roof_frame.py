"""The whole roof laid out: parts, facets, edges, and the frame of every fall."""

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from scipy.spatial import cKDTree

from lcc.arrays import Array, Integers
from lcc.case.framing import Framing
from lcc.quantities.panels import Panels, panels
from lcc.quantities.polygons import TOUCH_M, volume
from lcc.quantities.post_lines_and_heights import FallFrame, PurlinLine
from lcc.quantities.purlin_pieces import SplicedRun, spliced_runs
from lcc.quantities.roof_edges import EdgeSums, RoofEdges
from lcc.quantities.roof_planes import (
    Facet,
    Fall,
    Meeting,
    RoofPart,
    facets,
    frames_alike,
    meetings,
    parts,
)
from lcc.quantities.tributary import carried
from lcc.quantities.wind_zones import WindZones
from lcc.quantities.wing_posts import WingPosts, wing_posts

_CLOSE_M = 1.5e-3


@dataclass(frozen=True)
class FramedFall:
    """A fall with its frame, purlin lines and panels, no post counted twice within a part."""

    frame: FallFrame
    lines: tuple[PurlinLine, ...]
    panels: Panels

    @cached_property
    def spliced_runs(self) -> tuple[SplicedRun, ...]:
        """Every run of its purlins, with splices and pieces."""
        return tuple(spliced_runs(self.frame, self.lines))

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
class Borne:
    """The roof that posts carry before those at one place are one: owner, part, area [m²]."""

    owners: Integers
    part: Integers
    area_m2: Array

    def on_posts_kg(self, load_kg_m2: Array) -> Array:
        """Return what each post kept carries [kg], every area by the load of its own part."""
        weights = self.area_m2 * load_kg_m2[self.part]
        kept = self.owners == np.arange(len(self.owners))
        return np.asarray(np.bincount(self.owners, weights, minlength=len(self.owners))[kept])


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
        self.meetings = meetings(self.parts)
        self.facets = facets(self.parts, self.meetings)

    @cached_property
    def edges(self) -> EdgeSums:
        """Every edge of the new roof."""
        return EdgeSums(RoofEdges(self.parts, self.facets))

    @property
    def falls(self) -> tuple[FramedFall, ...]:
        """Falls of every part, in the order of the parts."""
        return self._framed[0]

    @property
    def borne(self) -> Borne:
        """What posts carry, in the order of the falls and their lines."""
        return self._framed[1]

    @cached_property
    def _framed(self) -> tuple[tuple[FramedFall, ...], Borne]:
        frames = [frame for part in self.parts for frame in self._frames(part)]
        more = [self.zones.purlins(frame) if self.zones else () for frame in frames]
        every = [
            sorted((*frame.purlin_lines, *zoned), key=lambda line: round(line.from_eave_m, 6))
            for frame, zoned in zip(frames, more, strict=True)
        ]
        return _without_doubles(frames, every, self.zones, panels(frames, self.edges))

    @cached_property
    def wing_posts(self) -> tuple[WingPosts, ...]:
        """Posts of wings over the joists or beams of a neighbour."""
        return tuple(wing_posts(self.meetings, [(fall.frame, fall.lines) for fall in self.falls]))

    @cached_property
    def zones(self) -> WindZones | None:
        """Zones of wind, where speed and height are entered."""
        site = self.framing.wind_and_snow
        heights = [part.roof_height_m for part in self.parts if part.roof_height_m is not None]
        if site.basic_wind_m_s is None or len(heights) < len(self.parts):
            return None
        return WindZones(site, self.parts, self.edges, heights)

    @cached_property
    def valleys(self) -> Array:
        """Start and end of every sloping valley in plan [m], of shape (valleys, 2, 2)."""
        chosen = self.edges.role == "valley"
        return np.stack([self.edges.start[chosen], self.edges.end[chosen]], axis=1)

    def _frames(self, part: RoofPart) -> list[FallFrame]:
        own: dict[str, list[Facet]] = {fall.side: [] for fall in part.falls}
        for facet in sorted(self.facets, key=lambda each: each.over != part.index):
            if facet.part == part.index:
                own[facet.fall.side].append(facet)
        return [FallFrame(part, fall, tuple(own[fall.side]), self._braced_ends(part, fall))
                for fall in part.falls if own[fall.side]]  # fmt: skip

    def _braced_ends(self, part: RoofPart, fall: Fall) -> tuple[bool, bool]:
        """Tell which ends of a fall have their own bracing line: of two that meet, the first.

        Both sides of a ridge have it, or neither.
        """
        before = [each for each in self._meetings_of[part.index] if each.other.index < part.index]
        low, high = ("left", "right") if fall.side in ("front", "back") else ("front", "back")
        beside = [each for each in part.falls if each.side not in (low, high)]
        met = {each.side for each in before if all(frames_alike(each, one) for one in beside)}
        return low not in met, high not in met

    @cached_property
    def _meetings_of(self) -> list[list[Meeting]]:
        found: list[list[Meeting]] = [[] for _ in self.parts]
        for each in self.meetings:
            found[each.one.index].append(each)
        return found

    @cached_property
    def shapes(self) -> tuple[PartShape, ...]:
        """Every part's cavity and rise."""
        return tuple(self._shape(part) for part in self.parts)

    def _shape(self, part: RoofPart) -> PartShape:
        over = [facet for facet in self.facets if facet.over == part.index]
        tops = [facet.fall.plane.z(*at) for facet in over for at in facet.polygon]
        filled = math.fsum(volume(one.polygon, one.fall.plane.above(one.deck)) for one in over)
        return PartShape(part, part.rectangle.area_m2, filled, max(tops) - min(tops))


@lru_cache(maxsize=32)
def roof_frame(framing: Framing) -> RoofFrame:
    """Return the geometry of a survey; a few are remembered, as prices are tried over one."""
    return RoofFrame(framing)


def _without_doubles(
    frames: list[FallFrame],
    every: list[list[PurlinLine]],
    zones: WindZones | None,
    laid: list[Panels],
) -> tuple[tuple[FramedFall, ...], Borne]:
    """Return all falls with numbered lines; where posts meet, the first line keeps the post."""
    fallen = [(frame, [line for line in lines if line.posts_m.size])
              for frame, lines in zip(frames, every, strict=True)]  # fmt: skip
    fallen = [(frame, lines) for frame, lines in fallen if lines]
    places = [frame.post_places(lines) for frame, lines in fallen]
    points = np.concatenate([np.stack(each, 1) for each in places])
    heights = np.concatenate([line.heights_m for _, lines in fallen for line in lines])
    tops = np.concatenate([frame.fall.plane.z(*each)
                           for (frame, _), each in zip(fallen, places, strict=True)])  # fmt: skip
    part = np.repeat([frame.part.index for frame, _ in fallen],
                     [len(each[0]) for each in places])  # fmt: skip
    owners = _owners(points, np.stack([heights, tops], 1), part)
    borne = [carried(*each, zones) for each in zip(frames, every, strict=True)]
    raw = [np.concatenate(each) for each in zip(*borne, strict=True)]
    area_m2, pull_kg = (np.bincount(owners, each, minlength=len(owners)) for each in raw)
    own = owners == np.arange(len(owners))
    found, start = [], 0
    for frame, lines, own_panels in zip(frames, every, laid, strict=True):
        kept = []
        for number, line in enumerate(lines, start=1):
            here = slice(start, start := start + len(line.posts_m))
            stays = own[here]
            kept.append(PurlinLine(
                number, line.from_eave_m, line.runs, line.posts_m[stays],
                line.heights_m[stays], line.zone, line.cross_members, line.cross_each_m,
                area_m2[here][stays], pull_kg[here][stays],
            ))  # fmt: skip
        found.append(FramedFall(frame, tuple(kept), own_panels))
    return tuple(found), Borne(owners, part, raw[0])


def off_segments(points: Array, segments: Array) -> Array:
    """Return the distance of every point from every segment [m]."""
    start, run = segments[:, 0], segments[:, 1] - segments[:, 0]
    from_start = points[:, None, :] - start
    part = np.clip((from_start * run).sum(axis=2) / (run**2).sum(axis=1), 0.0, 1.0)
    return np.asarray(np.linalg.norm(from_start - part[..., None] * run, axis=2))


def _owners(points: Array, ends: Array, part: Integers) -> Integers:
    """Return for every post the first that stands at its place, or itself.

    Notes
    -----
    A post of another part is the same one where it is as long and reaches as high: one post carries
    both roofs. Beside a wall, or on two decks, each part keeps its own.
    """
    one, two = cKDTree(points).query_pairs(_CLOSE_M, p=np.inf, output_type="ndarray").T
    alike = np.abs(ends[one] - ends[two]).max(axis=1, initial=0.0) < TOUCH_M
    same = alike | (part[one] == part[two])
    owners = np.arange(len(points))
    np.minimum.at(owners, two[same], one[same])
    return owners[owners]
