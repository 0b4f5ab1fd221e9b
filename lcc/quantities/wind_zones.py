"""Zones of wind on the roof: their widths, pressures and areas, and the purlins they ask for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities.bearing import spaces
from lcc.quantities.framing_layout import FallFrame, PurlinLine
from lcc.quantities.polygons import TOUCH_M, Array
from lcc.quantities.roof_edges import FLUSH_ROLES, EdgeSums, Numbers
from lcc.quantities.roof_planes import RoofPart
from lcc.results.takeoff_result import WindZone

ZONES = ("middle", "field", "edge", "corner")  # 1', 1, 2 and 3 of the standard
LOW_SLOPE = math.tan(math.radians(7))
# External pressure coefficients for 10 ft² by zone; from memory, see `coefficients`.
_LOW = (-0.9, -1.7, -2.3, -3.2)
_STEEPER = (-2.0, -2.0, -3.0, -3.6)
INSIDE = 0.18  # internal coefficient of an enclosed building
DIRECTIONALITY = 0.85
ALLOWABLE = 0.6  # of a wind load of strength design, in allowable stress design
GRAVITY = 9.80665
_EXPOSURE = {"B": (7.0, 365.76, 9.144), "C": (9.5, 274.32, 4.572), "D": (11.5, 213.36, 4.572)}
_LEAST_A_M = 0.9144
_FREE_ROLES = ("eave", "rake", "high-edge", "eave-above", "step", "wall-gutter")


def edge_distance(least_width_m: float, height_m: float) -> float:
    """Return the distance a of the standard [m], the edge width of roofs steeper than 7°.

    Parameters
    ----------
    least_width_m : float
        Least horizontal dimension of the building [m].
    height_m : float
        Mean roof height [m].

    Notes
    -----
    The lesser of 10 % of the least width and 0.4 h, but at least 4 % of that width and 3 ft.

    References
    ----------
    SEI/ASCE 7-02, components and cladding, method 1, notation, as printed in Structural Steel
    Designer's Handbook, figure 4.3 (read there); ASCE 7-16 figure 30.3-1 from memory.

    Examples
    --------
    >>> round(edge_distance(30.0, 6.0), 9), edge_distance(10.0, 6.0)
    (2.4, 1.0)
    """
    return max(min(0.1 * least_width_m, 0.4 * height_m), 0.04 * least_width_m, _LEAST_A_M)


def velocity_pressure(site: WindAndSnow) -> float:
    """Return the velocity pressure at the mean roof height [Pa].

    Notes
    -----
    q = 0.613 Kz Kd V², Kz = 2.01 (z / zg)^(2/α), Kd 0.85, flat ground; z at least 15 ft, and 30 ft
    in exposure B.

    References
    ----------
    ASCE 7-16 equation 26.10-1 and table 26.10-1, from memory.

    Examples
    --------
    115 mph, exposure C, 30 ft: Kz 0.98, 28.2 lb/ft².

    >>> site = WindAndSnow(basic_wind_m_s=51.41, roof_height_m=9.144)
    >>> round(velocity_pressure(site) / 47.88, 1)
    28.3
    """
    assert site.roof_height_m is not None
    assert site.basic_wind_m_s is not None
    power, top, least = _EXPOSURE[site.exposure]
    kz = 2.01 * (max(site.roof_height_m, least) / top) ** (2 / power)
    return float(0.613 * kz * DIRECTIONALITY * site.basic_wind_m_s**2)


def coefficients(slope: float) -> tuple[float, ...]:
    """Return the uplift coefficients of middle, field, edge and corner for 10 ft².

    References
    ----------
    ASCE 7-16 figures 30.3-2A (to 7°) and 30.3-2B (7° to 20°), from memory.
    """
    return _LOW if slope <= LOW_SLOPE else _STEEPER


@dataclass(frozen=True)
class Strip:
    """An edge of the roof seen from inside: a line, its inward direction and its run."""

    group: int
    level: bool
    at_m: float
    inward: int
    low_m: float
    high_m: float


class WindZones:
    """The zones of one survey's roof, found by the distance of a point from the edges."""

    def __init__(self, site: WindAndSnow, roof: tuple[RoofPart, ...], edges: EdgeSums) -> None:
        self.site, self.roof, self.edges = site, roof, edges
        self.groups = _groups(len(roof), edges)
        self.strips = tuple(self._strips())

    @cached_property
    def steep(self) -> bool:
        """Whether any part is steeper than 7°, so that all are zoned by the distance a."""
        return max(part.slope for part in self.roof) > LOW_SLOPE

    @cached_property
    def widths_m(self) -> tuple[float, float, float]:
        """Width of corners, of edges, and the distance from which the middle begins [m]."""
        assert self.site.roof_height_m is not None
        height = self.site.roof_height_m
        if not self.steep:
            return 0.2 * height, 0.6 * height, 1.2 * height
        bounds = np.array([part.bounds for part in self.roof])
        whole = bounds[:, 2:].max(axis=0) - bounds[:, :2].min(axis=0)
        a = edge_distance(float(whole.min()), height)
        return a, a, math.inf

    def _strips(self) -> list[Strip]:
        found = []
        for each, outward in zip(self.edges.stretches, self.edges.outward, strict=True):
            if each.role not in _FREE_ROLES:
                continue
            owner = self.edges.edges.facets[each.upper].over
            level = abs(outward[1]) > 0.5
            along = (each.start[0], each.end[0]) if level else (each.start[1], each.end[1])
            at = each.start[1] if level else each.start[0]
            inward = -1 if outward[1 if level else 0] > 0 else 1
            found.append(Strip(self.groups[owner], level, at, inward, min(along), max(along)))
        return found

    def zones(self, part: RoofPart, x: Array, y: Array) -> Numbers:
        """Return the zone of points over a part, by its place in `ZONES`."""
        corner, edge, middle = self.widths_m
        near = [s for s in self.strips if s.group == self.groups[part.index]]
        reach = [self._within(near, x, y, level) for level in (True, False)]
        depths = [np.where(held, far, np.inf).min(axis=0, initial=np.inf) for held, far in reach]
        close = [depth < corner - TOUCH_M / 2 for depth in depths]
        beside = [depth < edge - TOUCH_M / 2 for depth in depths]
        least = np.minimum(*depths)
        found = np.where(least < middle - TOUCH_M / 2, 1, 0)
        found = np.where(beside[0] | beside[1], 2, found)
        both = (close[0] & beside[1]) | (beside[0] & close[1])
        return np.asarray(np.where(both, 3, found))

    def _within(
        self, strips: list[Strip], x: Array, y: Array, level: bool
    ) -> tuple[np.ndarray[tuple[int, ...], np.dtype[np.bool_]], Array]:
        chosen = [s for s in strips if s.level == level]
        table = np.array([(s.at_m, s.inward, s.low_m, s.high_m) for s in chosen]).reshape(-1, 4)
        at, inward, low, high = (column[:, None] for column in table.T)
        along, across = (x, y) if level else (y, x)
        far = (across[None, :] - at) * inward
        held = (along >= low) & (along <= high) & (far > -TOUCH_M)
        return held, far

    def cuts(self, part: RoofPart, level: bool) -> Array:
        """Return where zones may begin or end along x (`level`) or y, within a part [m]."""
        left, front, right, back = part.bounds
        start, end = (left, right) if level else (front, back)
        places = [start, end]
        for strip in (s for s in self.strips if s.group == self.groups[part.index]):
            if strip.level == level:
                places += [strip.low_m, strip.high_m]
            else:
                depths = [depth for depth in self.widths_m if math.isfinite(depth)]
                places += [strip.at_m + strip.inward * depth for depth in depths]
        inside = [place for place in places if start <= place <= end]
        return np.unique(np.round(inside, 6))

    @cached_property
    def areas_m2(self) -> tuple[float, ...]:
        """Plan area of every zone, in the order of `ZONES` [m²]."""
        whole = np.zeros(len(ZONES))
        for part in self.roof:
            x, y = self.cuts(part, True), self.cuts(part, False)
            mid_x, mid_y = ((each[1:] + each[:-1]) / 2 for each in (x, y))
            grid = np.meshgrid(mid_x, mid_y)
            zone = self.zones(part, grid[0].ravel(), grid[1].ravel())
            cells = np.outer(np.diff(y), np.diff(x)).ravel()
            whole += np.bincount(zone, cells, minlength=len(ZONES))
        return tuple(float(each) for each in whole)

    @cached_property
    def table(self) -> tuple[WindZone, ...]:
        """Every zone that the roof has, with its width, area, pressure and purlin spacing."""
        slope = max(part.slope for part in self.roof)
        pressure = velocity_pressure(self.site)
        corner, edge, middle = self.widths_m
        wide = (0.0, middle if math.isfinite(middle) else 0.0, edge, corner)
        return tuple(
            WindZone(name, wide[k], self.areas_m2[k], coefficient,
                     pressure * (coefficient - INSIDE) / GRAVITY,
                     ALLOWABLE * pressure * (coefficient - INSIDE) / GRAVITY, self.spacing_m(k))
            for k, (name, coefficient) in enumerate(zip(ZONES, coefficients(slope), strict=True))
            if self.areas_m2[k] > 0
        )  # fmt: skip

    def spacing_m(self, zone: int) -> float:
        """Return the purlin spacing of a zone [m]: by the panel's strength, or by a ratio.

        Notes
        -----
        A panel between clips carries uplift in inverse proportion to their spacing, so the spacing
        shrinks by strength over allowable pressure. The spacing of the field is never widened.
        """
        field = self.roof[0].framing.purlin_spacing_m
        if self.site.panel_uplift_kg_m2 is None:
            return field * (1.0, 1.0, self.site.edge_ratio, self.site.corner_ratio)[zone]
        slope = max(part.slope for part in self.roof)
        uplift = -velocity_pressure(self.site) * (coefficients(slope)[zone] - INSIDE) / GRAVITY
        return field * min(1.0, self.site.panel_uplift_kg_m2 / (ALLOWABLE * uplift))

    def purlins(self, frame: FallFrame) -> tuple[PurlinLine, ...]:
        """Return the purlins between the lines of the field that zones ask for.

        Notes
        -----
        Each bay between two lines is divided by the zone's spacing, up to the first line at or
        beyond the zone's width; a purlin runs as far as its zone and on to the next post.
        """
        spacings = [self.spacing_m(zone) for zone in range(len(ZONES))]
        asked = {2: [2, 3]} if spacings[2] == spacings[3] else {2: [2], 3: [3]}
        found: list[PurlinLine] = []
        number = len(frame.lines.at_m)
        for zone, held in asked.items():
            for place, (low, high) in enumerate(pairwise(frame.lines.at_m.tolist())):
                parts = spaces(high - low, spacings[zone])
                for k in range(1, parts):
                    level = low + (high - low) * k / parts
                    gap = (high - low) / parts
                    spans = self._spans(frame, level, gap, held)
                    carried = frame.lines.posted[place] and frame.lines.posted[place + 1]
                    cross = (high - low) / (parts - 1) * frame.secant if carried else 0.0
                    line = frame.short_line(level, spans, ZONES[zone], cross)
                    if line.runs:
                        number += 1
                        found.append(frame.renumbered(line, number))
        return tuple(found)

    def _spans(
        self, frame: FallFrame, level: float, gap: float, held: list[int]
    ) -> list[tuple[float, float]]:
        spans = []
        for low, high in frame.spans(level):
            cuts = self.cuts(frame.part, frame.level)
            inner = cuts[(cuts > low + TOUCH_M) & (cuts < high - TOUCH_M)]
            ends = np.concatenate([[low], inner, [high]])
            zone = self._beside(frame, (ends[1:] + ends[:-1]) / 2, level, gap - 2 * TOUCH_M)
            spans += [frame.to_posts(float(a), float(b), low, high)
                      for a, b, z in zip(ends[:-1], ends[1:], zone, strict=True)
                      if z in held]  # fmt: skip
        return spans

    def _beside(self, frame: FallFrame, u: Array, level: float, gap: float) -> Numbers:
        """Return the windiest zone within one gap above and below a line, at places along it."""
        rows = []
        for v in (level - gap, level, level + gap):
            x, y = zip(*(frame.place(float(each), v) for each in u), strict=True)
            rows.append(self.zones(frame.part, np.array(x), np.array(y)))
        return np.asarray(np.max(rows, axis=0))


def _groups(count: int, edges: EdgeSums) -> list[int]:
    """Return for every part the first of the parts whose roofs run on without a step."""
    group = list(range(count))
    facets = edges.edges.facets
    for each in edges.stretches:
        if each.role in FLUSH_ROLES:
            one, other = (group[facets[k].over] for k in (each.upper, each.lower))
            group = [min(one, other) if g in (one, other) else g for g in group]
    return group
