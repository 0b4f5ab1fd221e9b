"""Zones of wind on the roof: where they lie, their areas, and the purlins they ask for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, product

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

    def near(self, part: RoofPart) -> list[Strip]:
        """Return the edges that pull on a part, and its ridges where it is steeper than 7°."""
        every = (*self.free, *self.ridges) if self.rule(part).places else self.free
        return [s for s in every if s.group == self.groups[part.index]]

    def bands(self, part: RoofPart) -> list[tuple[Plane, ...]]:
        """Return the bands beside the hips of a part steeper than 7°."""
        if not self.rule(part).places:
            return []
        return [hip.band(*self.widths_m(part)) for hip in self.hips
                if hip.group == self.groups[part.index]]  # fmt: skip

    def zones(self, part: RoofPart, x: Array, y: Array) -> Numbers:
        """Return the zone of points over a part, by its place in the part's rule."""
        near, widths, places = self.near(part), self.widths_m(part), self.rule(part).places
        if not places:
            return _low_slope(near, widths, x, y)
        beside = [_beside(near, kind, widths[0], x, y) for kind in (_EAVE, _RAKE, _RIDGE)]
        in_band = [np.all([plane.at + plane.along_x * x + plane.along_y * y > TOUCH_M / 2
                           for plane in band], axis=0) for band in self.bands(part)]  # fmt: skip
        crest = np.asarray(np.array([beside[2].any(axis=0), *in_band]).any(axis=0))
        rake = np.asarray(beside[1].any(axis=0))
        return np.array(places)[_place(beside[0], rake, crest)]

    def cuts(self, part: RoofPart, level: bool, start: float, end: float) -> Array:
        """Return where zones may begin or end along x (`level`) or y, between two places [m]."""
        places, widths = [start, end], self.widths_m(part)
        for strip in self.near(part):
            if strip.level == level:
                places += [strip.low_m, strip.high_m]
            else:
                places += [strip.at_m, *(strip.at_m + strip.inward * width for width in widths)]
        inside = [place for place in places if start <= place <= end]
        return np.unique(np.round(inside, 6))

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
        for low, high in frame.spans(level):
            cuts = np.concatenate([
                self.cuts(frame.part, frame.level, low, high), self._hip_cuts(frame, rows)
            ])  # fmt: skip
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
        found = []
        for v in rows:
            x, y = zip(*(frame.place(float(each), v) for each in u), strict=True)
            found.append(self.zones(frame.part, np.array(x), np.array(y)))
        pull = np.array(self.rule(frame.part).coefficients)[np.array(found)]
        chosen = np.take_along_axis(np.array(found), pull.argmin(axis=0)[None, :], axis=0)
        return np.asarray(chosen[0])

    def uplift_kg(self, frame: FallFrame, line: PurlinLine) -> Array:
        """Return the uplift of its zone times the roof that each post of a line carries [kg]."""
        if not line.posts_m.size:
            return np.zeros(0)
        x, y = zip(*(frame.place(u, line.from_eave_m) for u in line.posts_m.tolist()), strict=True)
        rule = self.rule(frame.part)
        each = np.array([-uplift_kg_m2(self.site, one) for one in rule.coefficients])
        return each[self.zones(frame.part, np.array(x), np.array(y))] * line.carried_m2


def _reached(strips: list[Strip], x: Array, y: Array) -> tuple[Flags, Array]:
    """Return whether each strip lies beside each point, and how far off it is."""
    table = [(s.at_m, s.inward, s.low_m, s.high_m, s.level) for s in strips]
    at, inward, low, high, level = np.array(table, dtype=float).reshape(-1, 5).T[..., None]
    along, over = np.where(level, x, y), np.where(level, y, x)
    far = (over - at) * inward
    return (along >= low) & (along <= high) & (far > -TOUCH_M), far


def _beside(strips: list[Strip], kind: int, reach_m: float, x: Array, y: Array) -> Flags:
    """Return whether points lie within reach of strips of a kind: those left to right, others."""
    found = []
    for level in (True, False):
        held, far = _reached([s for s in strips if s.kind == kind and s.level == level], x, y)
        found.append((held & (far < reach_m - TOUCH_M / 2)).any(axis=0))
    return np.array(found)


def _place(eaves: Flags, rake: Flags, crest: Flags) -> Numbers:
    """Return the place of points over 7°: at corners eaves go first, at ridges the rake's end."""
    eave = eaves.any(axis=0)
    found = np.where(crest, _RIDGE, _FIELD)
    found = np.where(eave, _EAVE, found)
    found = np.where(rake, np.where(crest, _RIDGE_END, np.where(eave, _CORNER, _RAKE)), found)
    return np.asarray(np.where(eaves.all(axis=0), _CORNER, found))


def _low_slope(strips: list[Strip], widths_m: tuple[float, ...], x: Array, y: Array) -> Numbers:
    """Return zones up to 7°: edges, and corners of an L where edges meet."""
    corner, edge, middle = widths_m
    depths = []
    for level in (True, False):
        held, far = _reached([s for s in strips if s.level == level], x, y)
        depths.append(np.where(held, far, np.inf).min(axis=0, initial=np.inf))
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
