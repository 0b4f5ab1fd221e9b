"""Zones of wind on the roof: where they lie, their areas, and the purlins they ask for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, product
from typing import NamedTuple

import numpy as np

from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities.bearing import spaces
from lcc.quantities.framing_layout import FallFrame, PurlinLine
from lcc.quantities.polygons import TOUCH_M, Array, Plane, Polygon, across, area, box, clipped
from lcc.quantities.roof_edges import FLUSH_ROLES, EdgeSums, Numbers
from lcc.quantities.roof_planes import RoofPart
from lcc.quantities.wind_pressure import (
    ALLOWABLE,
    ZoneRule,
    edge_distance,
    uplift_kg_m2,
    zone_rule,
)
from lcc.results.takeoff_result import WindZone

_FREE_ROLES = ("eave", "rake", "high-edge", "eave-above", "step", "wall-gutter")
_DRAINS = 1e-6  # a slope to or from an edge below this is none
_FIELD, _EAVE, _RAKE, _RIDGE, _CORNER, _RIDGE_END = range(6)  # as `wind_pressure.PLACES`
Flags = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


@dataclass(frozen=True)
class Strip:
    """An edge or a ridge of the roof: a line, the direction into the roof, its run and its kind."""

    group: int
    level: bool
    at_m: float
    inward: int
    low_m: float
    high_m: float
    kind: int


class Strips(NamedTuple):
    """Strips as arrays."""

    at: Array
    inward: Array
    low: Array
    high: Array
    level: Flags
    kind: Array

    @classmethod
    def of(cls, strips: Iterable[Strip]) -> Strips:
        """Return strips as arrays, one for each of their figures."""
        table = np.array([(s.at_m, s.inward, s.low_m, s.high_m, s.level, s.kind) for s in strips])
        at, inward, low, high, level, kind = table.astype(float).reshape(-1, 6).T
        return cls(at, inward, low, high, level > 0, kind)

    def far(self, x: Array, y: Array) -> Array:
        """Return how far in from each strip each point lies, inf where it is not beside it."""
        turned = self.level[:, None]
        along, over = np.where(turned, x, y), np.where(turned, y, x)
        far = (over - self.at[:, None]) * self.inward[:, None]
        beside = (along > self.low[:, None] - TOUCH_M) & (along < self.high[:, None] + TOUCH_M)
        held = beside & (far > -TOUCH_M)
        return np.asarray(np.where(held, far, np.inf))


@dataclass(frozen=True)
class Hip:
    """A hip of the roof in plan, wind pulling within a distance of it on both sides."""

    group: int
    start: Array
    end: Array

    def band(self, reach_m: float) -> tuple[Plane, ...]:
        """Return planes that are not negative within a distance of the hip, beside it."""
        run = self.end - self.start
        length = float(np.hypot(*run))
        (along_x, along_y), (x, y) = (run / length).tolist(), self.start.tolist()
        on = Plane(-(along_x * x + along_y * y), along_x, along_y)
        off = Plane(along_y * x - along_x * y, -along_y, along_x)
        far, other = _turned(on).lifted(length), _turned(off).lifted(reach_m)
        return on, far, off.lifted(reach_m), other


class WindZones:
    """The zones of one survey's roof, found by the distance of a point from edges and ridges."""

    def __init__(self, site: WindAndSnow, roof: tuple[RoofPart, ...], edges: EdgeSums) -> None:
        self.site, self.roof, self.edges = site, roof, edges
        self.groups = _groups(len(roof), edges)
        self.free, self.ridges = tuple(self._free()), tuple(self._ridges())
        self.hips = tuple(self._hips())

    @cached_property
    def height_m(self) -> float:
        """Mean roof height [m]."""
        assert self.site.roof_height_m is not None
        return self.site.roof_height_m

    @cached_property
    def least_width_m(self) -> float:
        """Least horizontal dimension of the whole plan [m]."""
        bounds = np.array([part.bounds for part in self.roof])
        return float((bounds[:, 2:].max(axis=0) - bounds[:, :2].min(axis=0)).min())

    @cached_property
    def rules(self) -> tuple[ZoneRule, ...]:
        """The zones of every part, by its slope and by the ends of its ridge."""
        gables = {s.group for s in self.free if s.kind == _RAKE}
        hipped = {each.group for each in self.hips} - gables
        ratio = self.height_m / self.least_width_m
        return tuple(
            zone_rule(self.site.edition, part.slope, hips=self.groups[part.index] in hipped,
                      height_over_width=ratio)
            for part in self.roof
        )  # fmt: skip

    def rule(self, part: RoofPart) -> ZoneRule:
        """Return the zones of a part."""
        return self.rules[part.index]

    def widths_m(self, part: RoofPart) -> tuple[float, ...]:
        """Return the distances from edges at which zones change: corners, edges, the middle [m]."""
        if not self.rule(part).places:
            return 0.2 * self.height_m, 0.6 * self.height_m, 1.2 * self.height_m
        return (edge_distance(self.least_width_m, self.height_m),)

    def _free(self) -> Iterator[Strip]:
        for each, outward in zip(self.edges.stretches, self.edges.outward, strict=True):
            if each.role in _FREE_ROLES:
                upper = self.edges.edges.facets[each.upper]
                down = -float(np.dot(upper.fall.plane[1:], outward))
                kind = _EAVE if down > _DRAINS else _RIDGE if down < -_DRAINS else _RAKE
                inward = -1 if outward.sum() > 0 else 1
                yield self._strip(each.start, each.end, upper.over, inward, kind)

    def _ridges(self) -> Iterator[Strip]:
        for each in self.edges.stretches:
            if each.role == "ridge":
                over = self.edges.edges.facets[each.upper].over
                for inward in (1, -1):
                    yield self._strip(each.start, each.end, over, inward, _RIDGE)

    def _strip(
        self, start: tuple[float, float], end: tuple[float, float], over: int, inward: int,
        kind: int,
    ) -> Strip:  # fmt: skip
        level = abs(end[0] - start[0]) > abs(end[1] - start[1])
        (low, high), at = sorted((start[not level], end[not level])), start[level]
        return Strip(self.groups[over], level, at, inward, low, high, kind)

    def _hips(self) -> Iterator[Hip]:
        for each in self.edges.stretches:
            if each.role == "hip":
                over = self.edges.edges.facets[each.upper].over
                yield Hip(self.groups[over], np.array(each.start), np.array(each.end))

    def near(self, part: RoofPart) -> Strips:
        """Return the edges that pull on a part, and its ridges where it is steeper than 7°."""
        return self._near[self.groups[part.index], bool(self.rule(part).places)]

    @cached_property
    def _near(self) -> dict[tuple[int, bool], Strips]:
        of_slope = {False: self.free, True: (*self.free, *self.ridges)}
        return {
            (group, steep): Strips.of(s for s in every if s.group == group)
            for steep, every in of_slope.items() for group in set(self.groups)
        }  # fmt: skip

    def bands(self, part: RoofPart) -> list[tuple[Plane, ...]]:
        """Return the bands beside the hips of a part steeper than 7°."""
        if not self.rule(part).places:
            return []
        return [hip.band(*self.widths_m(part)) for hip in self.hips
                if hip.group == self.groups[part.index]]  # fmt: skip

    def zones(self, part: RoofPart, x: Array, y: Array) -> Numbers:
        """Return the zone of points over a part, by its place in the part's rule."""
        near, widths, places = self.near(part), self.widths_m(part), self.rule(part).places
        far = near.far(x, y)
        if not places:
            return _low_slope(far[near.level], far[~near.level], widths)
        within = far < widths[0] - TOUCH_M / 2
        eaves = [within[(near.kind == _EAVE) & (near.level == level)] for level in (True, False)]
        in_band = [np.all([plane.at + plane.along_x * x + plane.along_y * y > TOUCH_M / 2
                           for plane in band], axis=0) for band in self.bands(part)]  # fmt: skip
        ridges = [within[near.kind == _RIDGE].any(axis=0), *in_band]
        found = _place(
            np.array([each.any(axis=0) for each in eaves]),
            within[near.kind == _RAKE],
            np.array(ridges),
        )
        return np.array(places)[found]

    def cuts(self, part: RoofPart, level: bool, start: float, end: float) -> Array:
        """Return where zones may begin or end along x (`level`) or y, between two places [m]."""
        near, ends = self.near(part), np.array([start, end])
        along, over = near.level == level, near.level != level
        steps = near.inward[over, None] * np.array([0.0, *self.widths_m(part)])
        places = [ends, near.low[along], near.high[along], (near.at[over, None] + steps).ravel()]
        every = np.concatenate(places)
        return np.unique(np.round(every[(every >= start) & (every <= end)], 6))

    def pieces(self, part: RoofPart) -> tuple[list[Polygon], Numbers]:
        """Return a part cut into pieces that lie in one zone each, and their zones."""
        left, front, right, back = part.bounds
        x = self.cuts(part, True, left, right).tolist()
        y = self.cuts(part, False, front, back).tolist()
        cells = [box(x1, y1, x2, y2) for (x1, x2), (y1, y2) in product(pairwise(x), pairwise(y))]
        pieces = _cut(cells, self.bands(part))
        middles = np.array([np.array(piece).mean(axis=0) for piece in pieces])
        return pieces, self.zones(part, *middles.T)

    @cached_property
    def areas_m2(self) -> dict[tuple[ZoneRule, int], float]:
        """Plan area of every zone, by its rule and its place in it [m²]."""
        found: dict[tuple[ZoneRule, int], float] = {}
        for part, rule in zip(self.roof, self.rules, strict=True):
            pieces, zones = self.pieces(part)
            for piece, zone in zip(pieces, zones.tolist(), strict=True):
                found[rule, zone] = found.get((rule, zone), 0.0) + area(piece)
        return found

    @cached_property
    def table(self) -> tuple[WindZone, ...]:
        """Every zone that the roof has, with its width, area, pressure and purlin spacing."""
        rules = dict.fromkeys(self.rules)
        return tuple(
            self._row(rule, zone, self.areas_m2[rule, zone])
            for rule in rules for zone in range(len(rule.names)) if (rule, zone) in self.areas_m2
        )  # fmt: skip

    def _row(self, rule: ZoneRule, zone: int, area_m2: float) -> WindZone:
        part = self.roof[self.rules.index(rule)]
        corner, *wider = self.widths_m(part)
        widths = (0.0, wider[1], wider[0], corner) if wider else (0.0, *[corner] * 5)
        pressure = uplift_kg_m2(self.site, rule.coefficients[zone])
        return WindZone(rule.names[zone], widths[zone], area_m2, rule.coefficients[zone], pressure,
                        ALLOWABLE * pressure, self.spacing_m(rule, zone), rule.figure)  # fmt: skip

    def spacing_m(self, rule: ZoneRule, zone: int) -> float:
        """Return the purlin spacing of a zone [m]: by the panel's strength, or by a ratio.

        Notes
        -----
        A panel between clips carries uplift in inverse proportion to their spacing, so the spacing
        shrinks by strength over allowable pressure. The spacing of the field is never widened.
        """
        field, site = self.roof[0].framing.purlin_spacing_m, self.site
        if site.panel_uplift_kg_m2 is None:
            ratios = {"field": 1.0, "edge": site.edge_ratio, "corner": site.corner_ratio}
            return field * ratios[rule.strength[zone]]
        uplift = -ALLOWABLE * uplift_kg_m2(site, rule.coefficients[zone])
        return field * min(1.0, site.panel_uplift_kg_m2 / uplift)

    def purlins(self, frame: FallFrame) -> tuple[PurlinLine, ...]:
        """Return the purlins between the lines of the field that zones ask for.

        Notes
        -----
        Each bay between two lines is divided by the zone's spacing, up to the first line at or
        beyond the zone's width; a purlin runs as far as its zone and on to the next post.
        """
        rule = self.rule(frame.part)
        each = [round(self.spacing_m(rule, zone), 9) for zone in range(len(rule.names))]
        found: list[PurlinLine] = []
        for spacing in dict.fromkeys(each):
            held = [zone for zone, one in enumerate(each) if one == spacing]
            for place, (low, high) in enumerate(pairwise(frame.lines.at_m.tolist())):
                found += self._between(frame, place, (low, high), spacing, held)
        return tuple(found)

    def _between(
        self, frame: FallFrame, place: int, bay: tuple[float, float], spacing_m: float,
        held: list[int],
    ) -> Iterator[PurlinLine]:  # fmt: skip
        low, high = bay
        parts = spaces(high - low, spacing_m)
        posted = frame.lines.posted
        carried = parts > 1 and posted[place] and posted[place + 1]
        cross = (high - low) / (parts - 1) * frame.secant if carried else 0.0
        for k in range(1, parts):
            level, gap = low + (high - low) * k / parts, (high - low) / parts
            spans, zone = self._spans(frame, level, gap, held)
            line = frame.short_line(level, spans, self.rule(frame.part).names[zone], cross)
            if line.runs:
                yield line

    def _spans(
        self, frame: FallFrame, level: float, gap: float, held: list[int]
    ) -> tuple[list[tuple[float, float]], int]:
        """Return where a line lies in some zones, up to the next post, and the gentlest of them."""
        spans, zones = [], []
        rows = (level - gap + 2 * TOUCH_M, level, level + gap - 2 * TOUCH_M)
        hips = self._hip_cuts(frame, rows)
        for low, high in frame.spans(level):
            cuts = np.concatenate([self.cuts(frame.part, frame.level, low, high), hips])
            inner = np.unique(cuts[(cuts > low + TOUCH_M) & (cuts < high - TOUCH_M)])
            ends = np.concatenate([[low], inner, [high]])
            zone = self._windiest(frame, (ends[1:] + ends[:-1]) / 2, rows)
            for a, b, z in zip(ends[:-1].tolist(), ends[1:].tolist(), zone.tolist(), strict=True):
                if z in held:
                    spans.append(frame.to_posts(a, b, low, high))
                    zones.append(z)
        return spans, min(zones, default=0)

    def _hip_cuts(self, frame: FallFrame, rows: tuple[float, ...]) -> Array:
        """Return where lines at some distances from the eave enter and leave the bands of hips."""
        bands = [piece for band in self.bands(frame.part)
                 if (piece := _within(box(*frame.part.bounds), band))]  # fmt: skip
        at = np.array([frame.place(0.0, v)[frame.level] for v in rows])
        found = [across(np.array(piece)[:, :: 1 if frame.level else -1], at) for piece in bands]
        cuts = np.array(found).ravel()
        return np.asarray(cuts[np.isfinite(cuts)])

    def _windiest(self, frame: FallFrame, u: Array, rows: tuple[float, ...]) -> Numbers:
        """Return the zone that pulls most within one gap above and below a line."""
        x, y = np.array([frame.place(each, v) for v in rows for each in u.tolist()]).T
        found = self.zones(frame.part, x, y).reshape(len(rows), -1)
        pull = np.array(self.rule(frame.part).coefficients)[found]
        return np.asarray(np.take_along_axis(found, pull.argmin(axis=0)[None, :], axis=0)[0])

    def uplifts_kg(self, frame: FallFrame, lines: Sequence[PurlinLine]) -> list[float]:
        """Return for every line of a fall the most that its zones pull on one of its posts [kg].

        Notes
        -----
        The pressure of strength design of the zone that a post stands in, times the roof that it
        carries: arithmetic, not a reaction. 0 for a line without posts.
        """
        at = [frame.place(u, line.from_eave_m) for line in lines for u in line.posts_m.tolist()]
        if not at:
            return [0.0] * len(lines)
        each = np.array([-uplift_kg_m2(self.site, c) for c in self.rule(frame.part).coefficients])
        pulled = each[self.zones(frame.part, *np.array(at).T)]
        pulled *= np.concatenate([line.carried_m2 for line in lines])
        ends = np.cumsum([len(line.posts_m) for line in lines])[:-1]
        return [float(one.max(initial=0.0)) for one in np.split(pulled, ends)]


def _place(eaves: Flags, rakes: Flags, crests: Flags) -> Numbers:
    """Return the place of points over 7°: at corners eaves go first, at ridges the rake's end."""
    eave, rake, crest = (each.any(axis=0) for each in (eaves, rakes, crests))
    found = np.where(crest, _RIDGE, _FIELD)
    found = np.where(eave, _EAVE, found)
    found = np.where(rake, np.where(crest, _RIDGE_END, np.where(eave, _CORNER, _RAKE)), found)
    return np.asarray(np.where(eaves.all(axis=0), _CORNER, found))


def _low_slope(level: Array, across_it: Array, widths_m: tuple[float, ...]) -> Numbers:
    """Return zones up to 7° from distances to edges of both directions, corners where they meet."""
    corner, edge, middle = widths_m
    depths = [each.min(axis=0, initial=np.inf) for each in (level, across_it)]
    close = [depth < corner - TOUCH_M / 2 for depth in depths]
    beside = [depth < edge - TOUCH_M / 2 for depth in depths]
    found = np.where(np.minimum(*depths) < middle - TOUCH_M / 2, 1, 0)
    found = np.where(beside[0] | beside[1], 2, found)
    both = (close[0] & beside[1]) | (beside[0] & close[1])
    return np.asarray(np.where(both, 3, found))


def _within(polygon: Polygon, band: tuple[Plane, ...]) -> Polygon:
    for plane in band:
        polygon = clipped(polygon, plane)
    return polygon


def _cut(pieces: list[Polygon], bands: list[tuple[Plane, ...]]) -> list[Polygon]:
    """Return convex pieces cut along every band, so that each lies within it or outside."""
    for band in bands:
        found = []
        for whole in pieces:
            piece = whole
            for plane in band:
                found.append(clipped(piece, _turned(plane)))
                piece = clipped(piece, plane)
            found.append(piece)
        pieces = [each for each in found if each]
    return pieces


def _turned(plane: Plane) -> Plane:
    return Plane(-plane.at, -plane.along_x, -plane.along_y)


def _groups(count: int, edges: EdgeSums) -> list[int]:
    """Return for every part the first of the parts whose roofs run on without a step."""
    group = list(range(count))
    facets = edges.edges.facets
    for each in edges.stretches:
        if each.role in FLUSH_ROLES:
            one, other = (group[facets[k].over] for k in (each.upper, each.lower))
            group = [min(one, other) if g in (one, other) else g for g in group]
    return group
