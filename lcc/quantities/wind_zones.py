"""Zones of wind on the roof: where they lie, their areas, and the purlins they ask for."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from lcc.arrays import Array, Flags, Integers
from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities.polygons import (
    TOUCH_M,
    Plane,
    Polygon,
    across,
    areas,
    box,
    clipped,
    halves,
    heights,
    middles,
    side_by_side,
    together,
)
from lcc.quantities.post_and_purlin_spacing import spaces
from lcc.quantities.post_lines_and_heights import FallFrame, PurlinLine, ShortLine
from lcc.quantities.roof_edges import FLUSH_ROLES, EdgeSums, legs
from lcc.quantities.roof_planes import RoofPart
from lcc.quantities.wind_pressure import ALLOWABLE, ZoneRule, edge_distance, uplift_kg_m2, zone_rule
from lcc.results.takeoff_result import WindZone

_FREE_ROLES = ("eave", "rake", "high-edge", "eave-above", "step", "wall-gutter")
_NOWHERE = (Plane(-1.0, 0.0, 0.0),) * 4  # a band that nothing meets
_DRAINS = 1e-6  # a slope to or from an edge below this is none
_FIELD, _EAVE, _RAKE, _RIDGE, _CORNER, _RIDGE_END = range(6)  # of `ZoneRule.places`


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
    def of(cls, strips: Iterable[Strip]) -> "Strips":
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
        far, other = on.turned().lifted(length), off.turned().lifted(reach_m)
        return on, far, off.lifted(reach_m), other


class WindZones:
    """The zones of one survey's roof, found by the distance of a point from edges and ridges."""

    def __init__(
        self, site: WindAndSnow, roof: tuple[RoofPart, ...], edges: EdgeSums,
        heights_m: Sequence[float],
    ) -> None:  # fmt: skip
        self.site, self.roof, self.edges = site, roof, edges
        self.heights_m = tuple(heights_m)  # mean roof height of every part
        self.groups = _groups(len(roof), edges)
        self.free, self.ridges = tuple(self._free()), tuple(self._ridges())
        self.hips = tuple(self._slanting(("hip",)))

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
        return tuple(
            zone_rule(self.site.edition, part.slope, hips=self.groups[part.index] in hipped,
                      height_over_width=height / self.least_width_m,
                      single=part.rectangle.form == "one-way")
            for part, height in zip(self.roof, self.heights_m, strict=True)
        )  # fmt: skip

    def rule(self, part: RoofPart) -> ZoneRule:
        """Return the zones of a part."""
        return self.rules[part.index]

    def widths_m(self, part: RoofPart) -> tuple[float, ...]:
        """Return the distances from edges at which zones change: corners, edges, the middle [m]."""
        height = self.heights_m[part.index]
        if not self.rule(part).places:
            return 0.2 * height, 0.6 * height, 1.2 * height
        return (edge_distance(self.least_width_m, height),)

    def _free(self) -> Iterator[Strip]:
        for each, outward in zip(self.edges.stretches, self.edges.outward, strict=True):
            if each.role in _FREE_ROLES:
                upper = self.edges.edges.facets[each.upper]
                down = -float(np.dot(upper.fall.plane[1:], outward))
                kind = _EAVE if down > _DRAINS else _RIDGE if down < -_DRAINS else _RAKE
                for start, end, out in legs(each, outward):
                    yield self._strip(start, end, upper.over, -1 if out > 0 else 1, kind)

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

    def _slanting(self, roles: Sequence[str]) -> Iterator[Hip]:
        for each in self.edges.stretches:
            if each.role in roles and each.slants:
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

    @cached_property
    def bands(self) -> tuple[tuple[tuple[Plane, ...], ...], ...]:
        """The bands beside hips and slanting steps of every part that is steeper than 7°."""
        slanting = (*self.hips, *self._slanting(_FREE_ROLES))
        return tuple(
            tuple(each.band(*self.widths_m(part)) for each in slanting
                  if rule.places and each.group == self.groups[part.index])
            for part, rule in zip(self.roof, self.rules, strict=True)
        )  # fmt: skip

    @cached_property
    def _band_planes(self) -> list[Array]:
        return [np.array(each, dtype=float).reshape(-1, 4, 3) for each in self.bands]

    def zones(self, part: RoofPart, x: Array, y: Array) -> Integers:
        """Return the zone of points over a part, by its place in the part's rule."""
        near, widths, places = self.near(part), self.widths_m(part), self.rule(part).places
        far = near.far(x, y)
        if not places:
            return _low_slope(far[near.level], far[~near.level], widths)
        within = far < widths[0] - TOUCH_M / 2
        eaves = [within[(near.kind == _EAVE) & (near.level == level)] for level in (True, False)]
        at, along_x, along_y = self._band_planes[part.index].T[..., None]
        in_band = (at + along_x * x + along_y * y > TOUCH_M / 2).all(axis=0)
        ridges = [within[near.kind == _RIDGE].any(axis=0), in_band.any(axis=0)]
        found = _place(
            np.array([each.any(axis=0) for each in eaves]),
            within[near.kind == _RAKE],
            np.array(ridges),
        )
        return np.array(places)[found]

    def cuts(self, part: RoofPart, level: bool, start: float, end: float) -> Array:
        """Return where zones may begin or end along x (`level`) or y, between two places [m]."""
        near, along = self.near(part), self.near(part).level == level
        steps = near.inward[~along, None] * np.array([0.0, *self.widths_m(part)])
        edges = (near.at[~along, None] + steps).ravel()
        every = np.concatenate([[start, end], near.low[along], near.high[along], edges])
        return np.unique(every[(every >= start) & (every <= end)].round(6))

    def pieces(self, part: RoofPart) -> tuple[Array, Integers]:
        """Return a part cut into pieces that lie in one zone each, and their zones."""
        pieces, owner = self._pieces
        own = pieces[owner == part.index]
        return own, self.zones(part, *middles(own).T)

    @cached_property
    def _pieces(self) -> tuple[Array, Integers]:
        """All parts cut into pieces that lie in one zone each, and the part of each piece."""
        cells = [self._cells(part) for part in self.roof]
        owner = np.repeat(np.arange(len(cells)), [len(each) for each in cells])
        return _cut(np.concatenate(cells), owner, self.bands)

    def _cells(self, part: RoofPart) -> Array:
        """Return a part cut along the lines of its edges' zones, as rectangles."""
        left, front, right, back = part.bounds
        x, y = self.cuts(part, True, left, right), self.cuts(part, False, front, back)
        x1, y1 = (each.ravel() for each in np.meshgrid(x[:-1], y[:-1], indexing="ij"))
        x2, y2 = (each.ravel() for each in np.meshgrid(x[1:], y[1:], indexing="ij"))
        return np.stack(box(x1, y1, x2, y2), axis=0).transpose(2, 0, 1)

    @cached_property
    def areas_m2(self) -> dict[tuple[ZoneRule, float, int], float]:
        """Plan area of every zone, by its rule, the height of its parts and its place [m²]."""
        found: dict[tuple[ZoneRule, float, int], float] = {}
        for part, kind in zip(self.roof, self._kinds, strict=True):
            pieces, zones = self.pieces(part)
            sums = np.bincount(zones, areas(pieces))
            for zone in np.unique(zones).tolist():
                found[*kind, zone] = found.get((*kind, zone), 0.0) + float(sums[zone])
        return found

    @cached_property
    def _kinds(self) -> tuple[tuple[ZoneRule, float], ...]:
        return tuple(zip(self.rules, self.heights_m, strict=True))

    @cached_property
    def table(self) -> tuple[WindZone, ...]:
        """Every zone that the roof has, with its width, area, pressure and purlin spacing."""
        return tuple(
            self._row(rule, height, zone) for rule, height in dict.fromkeys(self._kinds)
            for zone in range(len(rule.names)) if (rule, height, zone) in self.areas_m2
        )  # fmt: skip

    def _row(self, rule: ZoneRule, height: float, zone: int) -> WindZone:
        kinds = zip(self.roof, self._kinds, strict=True)
        alike = [part for part, kind in kinds if kind == (rule, height)]
        corner, *far = self.widths_m(alike[0])
        widths = (0.0, far[1], far[0], corner) if far else (0.0, *[corner] * 5)
        begins = (far[1], far[0], 0.0, 0.0) if far else (corner, *[0.0] * 5)
        pressure = uplift_kg_m2(self.site, factor := rule.coefficients[zone], height)
        return WindZone(
            rule.names[zone], begins[zone], widths[zone], self.areas_m2[rule, height, zone],
            factor, pressure, ALLOWABLE * pressure, self.spacing_m(alike[0], zone), rule.figure,
            height, ", ".join(str(part.index + 1) for part in alike),
        )  # fmt: skip

    def spacing_m(self, part: RoofPart, zone: int) -> float:
        """Return the purlin spacing of a zone [m]: by the panel's strength, or by a ratio.

        Notes
        -----
        A panel between clips carries uplift in inverse proportion to their spacing, so the spacing
        shrinks by strength over allowable pressure. The spacing of the field is never widened.
        """
        field, site, rule = part.framing.purlin_spacing_m, self.site, self.rule(part)
        if site.panel_uplift_kg_m2 is None:
            ratios = {"field": 1.0, "edge": site.edge_ratio, "corner": site.corner_ratio}
            return field * ratios[rule.strength[zone]]
        pressure = uplift_kg_m2(site, rule.coefficients[zone], self.heights_m[part.index])
        return field * min(1.0, site.panel_uplift_kg_m2 / (-ALLOWABLE * pressure))

    def purlins(self, frame: FallFrame) -> tuple[PurlinLine, ...]:
        """Return the purlins between the lines of the field that zones ask for.

        Notes
        -----
        Each bay between two lines is divided by the zone's spacing, up to the first line at or
        beyond the zone's width; a purlin runs as far as its zone and on to the next post.
        """
        rule = self.rule(frame.part)
        each = [round(self.spacing_m(frame.part, zone), 9) for zone in range(len(rule.names))]
        rows = [
            row for spacing in dict.fromkeys(each)
            for row in _rows(frame, spacing, {k for k, one in enumerate(each) if one == spacing})
        ]  # fmt: skip
        spans = self._spans(frame, rows) if rows else []
        short = [
            ShortLine(row.level, tuple(runs), rule.names[min(zones)], row.cross_m)
            for row, (runs, zones) in zip(rows, spans, strict=True) if runs
        ]  # fmt: skip
        return frame.short_lines(short)

    def _spans(
        self, frame: FallFrame, rows: "Sequence[_Row]"
    ) -> list[tuple[list[tuple[float, float]], list[int]]]:
        """Return where each line lies in its zones, up to the next post, and these zones."""
        levels, gaps = np.array([(row.level, row.gap_m - 2 * TOUCH_M) for row in rows]).T
        beside = levels[:, None] + gaps[:, None] * np.array([-1.0, 0.0, 1.0])
        hips = self._hip_cuts(frame, beside)
        cuts = self.cuts(frame.part, frame.level, *frame.span_m).tolist()
        pieces: list[tuple[int, float, float, float, float]] = []
        for k, runs in enumerate(frame.spans(levels)):
            every = sorted({*cuts, *hips[k].tolist()})
            for low, high in runs:
                begin, end = bisect_right(every, low + TOUCH_M), bisect_left(every, high - TOUCH_M)
                inner = every[begin:end]
                pieces += [(k, a, b, low, high) for a, b in pairwise((low, *inner, high))]
        found: list[tuple[list[tuple[float, float]], list[int]]] = [([], []) for _ in rows]
        table = np.array(pieces)
        starts, ends = (each.tolist() for each in frame.to_posts(*table[:, 1:].T))
        windiest = self._windiest(frame, table, beside)
        for (k, *_), zone, start, end in zip(pieces, windiest, starts, ends, strict=True):
            if zone in rows[k].zones:
                found[k][0].append((start, end))
                found[k][1].append(zone)
        return found

    def _hip_cuts(self, frame: FallFrame, beside: Array) -> list[Array]:
        """Return for each line where it and its neighbours enter and leave the bands of hips."""
        bands = self._bands_within[frame.part.index]
        if bands is None:
            return [np.zeros(0)] * len(beside)
        at = frame.place(np.zeros(beside.size), beside.ravel())[frame.level]
        found = across(bands[..., :: 1 if frame.level else -1], at)
        cuts = np.moveaxis(np.array(found).reshape(-1, *beside.shape), 0, 1)
        return [each[np.isfinite(each)] for each in cuts]

    @cached_property
    def _bands_within(self) -> tuple[Array | None, ...]:
        """Corners of the bands of hips that lie over each part, None where none does."""
        found = [[np.array(piece) for band in bands if (piece := _within(part.corners, band))]
                 for part, bands in zip(self.roof, self.bands, strict=True)]  # fmt: skip
        return tuple(side_by_side(each) if each else None for each in found)

    def _windiest(
        self, frame: FallFrame, table: Array, beside: Array
    ) -> list[int]:  # fmt: skip
        """Return for pieces of lines the zone that pulls most within one gap above and below.

        Parameters
        ----------
        frame : FallFrame
            The fall.
        table : array
            A row for each piece: the number of its line, where the piece begins and ends.
        beside : array
            For each line its distance from the eave, a gap less and a gap more.
        """
        v = beside[table[:, 0].astype(np.int64)]
        u = np.broadcast_to((table[:, 1:2] + table[:, 2:3]) / 2, v.shape)
        found = self.zones(frame.part, *frame.place(u.ravel(), v.ravel())).reshape(v.shape)
        pull = np.array(self.rule(frame.part).coefficients)[found]
        windiest = np.take_along_axis(found, pull.argmin(axis=1)[:, None], axis=1)
        return [int(zone) for zone in windiest[:, 0]]

    def pulls(self, frame: FallFrame, at_m: Array) -> tuple[Array, Array]:
        """Return where zones change up a fall, at places along its eave, and the pull between.

        Parameters
        ----------
        frame : FallFrame
            The fall.
        at_m : array
            Places along its eave [m].

        Returns
        -------
        levels_m, pulls_kg_m2 : array
            Distances from the eave, a column for each place, and the pressure of strength design
            between each two, up is positive.
        """
        part, up = frame.part, frame.level
        eave, top = (float(frame.place(0.0, v)[up]) for v in (0.0, frame.run_m))
        cuts = self.cuts(part, not up, *sorted((eave, top)))
        levels = np.broadcast_to(cuts[:, None], (len(cuts), len(at_m)))
        if (bands := self._bands_within[part.index]) is not None:
            hips = np.array(across(bands[..., :: -1 if up else 1], at_m)).reshape(-1, len(at_m))
            within = np.clip(np.nan_to_num(hips, nan=eave), *cuts[[0, -1]])
            levels = np.concatenate([levels, within])
        levels = np.sort(np.abs(levels - eave), axis=0)
        wide = levels[1:] > levels[:-1]
        v, at = ((levels[1:] + levels[:-1]) / 2)[wide], np.broadcast_to(at_m, wide.shape)[wide]
        height, rule, found = self.heights_m[part.index], self.rule(part), np.zeros(wide.shape)
        each = np.array([-uplift_kg_m2(self.site, c, height) for c in rule.coefficients])
        found[wide] = each[self.zones(part, *frame.place(at, v))]
        return levels, found

    def cuts_along(self, frame: FallFrame) -> Array:
        """Return where zones may begin or end along the eave of a fall [m]."""
        bands = self._bands_within[frame.part.index]
        corners = [] if bands is None else [bands[..., 0 if frame.level else 1].ravel()]
        return np.concatenate([self.cuts(frame.part, frame.level, *frame.span_m), *corners])


@dataclass(frozen=True)
class _Row:
    """A purlin that some zones ask for in a bay, if it lies in them."""

    level: float
    gap_m: float
    zones: set[int]
    cross_m: float


def _rows(frame: FallFrame, spacing_m: float, zones: set[int]) -> Iterator[_Row]:
    """Yield the purlins that divide the bays of a fall by the spacing of some zones."""
    posted = frame.lines.posted
    for place, (low, high) in enumerate(pairwise(frame.lines.at_m.tolist())):
        parts = spaces(high - low, spacing_m)
        carried = parts > 1 and posted[place] and posted[place + 1]
        cross = (high - low) / (parts - 1) * frame.secant if carried else 0.0
        for k in range(1, parts):
            yield _Row(low + (high - low) * k / parts, (high - low) / parts, zones, cross)


def _place(eaves: Flags, rakes: Flags, crests: Flags) -> Integers:
    """Return the place of points over 7°: at corners eaves go first, at ridges the rake's end."""
    eave, rake, crest = (each.any(axis=0) for each in (eaves, rakes, crests))
    found = np.where(crest, _RIDGE, _FIELD)
    found = np.where(eave, _EAVE, found)
    found = np.where(rake, np.where(crest, _RIDGE_END, np.where(eave, _CORNER, _RAKE)), found)
    return np.asarray(np.where(eaves.all(axis=0), _CORNER, found))


def _low_slope(level: Array, across_it: Array, widths_m: tuple[float, ...]) -> Integers:
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


def _cut(
    pieces: Array, owner: Integers, bands: Sequence[Sequence[tuple[Plane, ...]]]
) -> tuple[Array, Integers]:
    """Return pieces of all parts cut along their part's bands, and the part of each.

    Notes
    -----
    The first bands of all parts cut at once, then their second ones, and so on. A piece that lies
    beyond one side of a band is left whole.
    """
    for k in range(max(len(each) for each in bands)):
        planes = np.array([each[k] if k < len(each) else _NOWHERE for each in bands])[owner]
        off = [heights(pieces, planes[:, side]).max(axis=1) <= 1e-12 for side in range(4)]
        met = ~np.any(off, axis=0)
        found, owners = [pieces[~met]], [owner[~met]]
        rest, planes, own = pieces[met], planes[met], owner[met]
        for side in range(4):
            beyond, kept = halves(rest, -planes[:, side])
            found, owners = [*found, beyond], [*owners, own[kept]]
            rest, kept = halves(rest, planes[:, side])
            planes, own = planes[kept], own[kept]
        pieces, owner = together([*found, rest]), np.concatenate([*owners, own])
    return pieces, owner


def _groups(count: int, edges: EdgeSums) -> list[int]:
    """Return for every part the first of the parts whose roofs run on without a step."""
    group = list(range(count))
    facets = edges.edges.facets
    for each in edges.stretches:
        if each.role in FLUSH_ROLES:
            one, other = (group[facets[k].over] for k in (each.upper, each.lower))
            group = [min(one, other) if g in (one, other) else g for g in group]
    return group
