"""Every edge of the new roof from its planes: eaves, rakes, ridges, hips, valleys, steps, walls."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from lcc.arrays import Array, Integers
from lcc.quantities.polygons import TOUCH_M, positive_part
from lcc.quantities.roof_planes import Facet, RoofPart
from lcc.results.takeoff_result import Edges

_LEVEL = 1e-6  # a slope below this is none
ABOVE = ("eave-above", "rake-above", "high-edge-above")  # of the upper roof, over a wall
RAKES = ("rake", "rake-above")
HIGH_EDGES = ("high-edge", "high-edge-above")
JOINTS = ("step", "break")
FREE_EDGES = ("eave", "rake", "high-edge")
FLUSH_ROLES = ("through", "ridge", "hip", "valley", "inner-gutter", "break")


@dataclass(frozen=True)
class Stretch:
    """A piece of an edge: its role, the facets beside it, and where it runs.

    `upper` owns the edge and lies to the left of it; `lower` is the other facet, or -1 at a free
    edge.
    """

    role: str
    upper: int
    lower: int
    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def slants(self) -> bool:
        """Whether it runs neither along nor across the plan."""
        return min(abs(a - b) for a, b in zip(self.start, self.end, strict=True)) > TOUCH_M


class RoofEdges:
    """Edges of a roof's facets as arrays, and what becomes of each."""

    def __init__(self, roof: tuple[RoofPart, ...], facets: tuple[Facet, ...]) -> None:
        self.roof, self.facets = roof, facets
        counts = [len(each.polygon) for each in facets]
        self.owner: Integers = np.repeat(np.arange(len(facets)), counts)
        self.start = np.array([point for each in facets for point in each.polygon], dtype=float)
        self.end = np.array(
            [point for each in facets for point in (*each.polygon[1:], each.polygon[0])],
            dtype=float,
        )
        run = self.end - self.start
        self.length = np.hypot(run[:, 0], run[:, 1])
        self.along = run / self.length[:, None]
        self.outward = np.stack([self.along[:, 1], -self.along[:, 0]], axis=1)
        self.planes = np.array([each.fall.plane for each in facets], dtype=float)
        self.decks = np.array([each.deck for each in facets], dtype=float)

    def heights(self, planes: Array, facet: Integers, at: Array) -> Array:
        """Return the height of each facet's plane over its point."""
        chosen = planes[facet]
        return np.asarray(chosen[:, 0] + (chosen[:, 1:] * at).sum(axis=1))

    @cached_property
    def contacts(self) -> tuple[Integers, Integers, Array, Array]:
        """Pairs of edges that lie on each other, with the start and end of what they share."""
        along, offset = self.along, (self.outward * self.start).sum(axis=1)
        facing = along @ along.T < -1 + 1e-9
        close = np.abs(offset[:, None] + offset[None, :]) <= TOUCH_M
        one, two = np.nonzero(np.triu(facing & close, 1))
        low = (along[one] * self.start[one]).sum(axis=1)
        first = (along[one] * self.end[two]).sum(axis=1)
        last = first + self.length[two]
        begin, finish = np.maximum(low, first), np.minimum(low + self.length[one], last)
        kept = finish - begin > TOUCH_M
        one, two = one[kept], two[kept]
        places = [
            self.start[one] + (at[kept] - low[kept])[:, None] * along[one] for at in (begin, finish)
        ]
        return one, two, places[0], places[1]

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """Every free and every shared piece of an edge."""
        return (*self._free(), *self._shared())

    def _free(self) -> list[Stretch]:
        one, two, begin, finish = self.contacts
        taken: dict[int, list[tuple[float, float]]] = {}
        for edge in (one, two):
            places = [
                (self.along[edge] * (at - self.start[edge])).sum(axis=1) for at in (begin, finish)
            ]
            for k, a, b in zip(edge.tolist(), *(each.tolist() for each in places), strict=True):
                taken.setdefault(k, []).append((min(a, b), max(a, b)))
        roles = self._free_roles()
        found = []
        for k, length in enumerate(self.length.tolist()):
            for a, b in _gaps(length, taken.get(k, [])):
                ends = [self.start[k] + at * self.along[k] for at in (a, b)]
                found.append(Stretch(roles[k], int(self.owner[k]), -1, *map(_point, ends)))
        return found

    def _free_roles(self) -> list[str]:
        fall = -(self.planes[self.owner, 1:] * self.outward).sum(axis=1)
        return [_free_role(each) for each in fall.tolist()]

    def _shared(self) -> list[Stretch]:
        one, two, begin, finish = self.contacts
        first, second = self.owner[one], self.owner[two]
        gaps = [
            self.heights(self.planes, first, at) - self.heights(self.planes, second, at)
            for at in (begin, finish)
        ]
        flush = np.maximum(*np.abs(gaps)) < TOUCH_M
        to_edge = -(self.planes[first, 1:] * self.outward[one]).sum(axis=1)
        from_edge = -(self.planes[second, 1:] * self.outward[two]).sum(axis=1)
        level = np.abs((self.planes[first, 1:] * self.along[one]).sum(axis=1)) < _LEVEL
        found: list[Stretch] = []
        for k in range(len(one)):
            ends = begin[k], finish[k]
            drains = float(to_edge[k]), float(from_edge[k])
            pair = int(first[k]), int(second[k])
            if flush[k]:
                role = _flush_role(*drains, bool(level[k]))
                found.append(Stretch(role, *pair, *map(_point, ends)))
                continue
            for sign, start, end in _by_sign(float(gaps[0][k]), float(gaps[1][k]), *ends):
                upper, lower = pair if sign > 0 else pair[::-1]
                high, low = drains if sign > 0 else drains[::-1]
                run = (start, end) if sign > 0 else (end, start)
                found += [Stretch(role, upper, lower, *run) for role in _step(high, low)]
        return found


def _free_role(drains: float) -> str:
    """Return what the edge of a roof is from how it drains to it."""
    return "eave" if drains > _LEVEL else "high-edge" if drains < -_LEVEL else "rake"


def _flush_role(to_edge: float, from_other: float, level: bool) -> str:
    """Return what two planes make that meet without a step, from how each drains to the edge."""
    meeting = to_edge + from_other
    if abs(meeting) < _LEVEL:
        return "through"
    if to_edge * from_other < -(_LEVEL**2) and level:
        return "break"
    if meeting > 0:
        return "inner-gutter" if level else "valley"
    return "ridge" if level else "hip"


def _step(upper_drains: float, lower_drains: float) -> list[str]:
    """Return the upper's eave, rake or high edge over a wall, and the lower's gutter or step."""
    lower = "wall-gutter" if lower_drains > _LEVEL else "step"
    return [f"{_free_role(upper_drains)}-above", lower]


def _by_sign(
    first: float, last: float, start: Array, end: Array
) -> list[tuple[int, tuple[float, float], tuple[float, float]]]:
    if abs(first) < TOUCH_M or abs(last) < TOUCH_M or first * last > 0:
        return [(1 if first + last > 0 else -1, _point(start), _point(end))]
    middle = start + first / (first - last) * (end - start)
    sign = 1 if first > 0 else -1
    return [(sign, _point(start), _point(middle)), (-sign, _point(middle), _point(end))]


def _point(at: Array) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def _gaps(length: float, taken: list[tuple[float, float]]) -> list[tuple[float, float]]:
    gaps, start = [], 0.0
    for low, high in sorted(taken):
        gaps.append((start, low))
        start = max(start, high)
    gaps.append((start, length))
    return [(low, high) for low, high in gaps if high - low > TOUCH_M]


class EdgeSums:
    """Lengths and walls of the stretches, summed by role."""

    def __init__(self, edges: RoofEdges) -> None:
        self.edges, self.stretches = edges, edges.stretches
        each = self.stretches
        self.role = np.array([one.role for one in each])
        self.upper = np.array([one.upper for one in each], dtype=np.int64)
        self.lower = np.array([one.lower for one in each], dtype=np.int64)
        self.start = np.array([one.start for one in each], dtype=float)
        self.end = np.array([one.end for one in each], dtype=float)
        run = self.end - self.start
        self.plan_m = np.hypot(run[:, 0], run[:, 1])
        self.outward = np.stack([run[:, 1], -run[:, 0]], axis=1) / self.plan_m[:, None]

    def _ends(self, planes: Array, facet: Integers) -> Array:
        ends = [self.edges.heights(planes, facet, at) for at in (self.start, self.end)]
        return np.stack(ends, axis=1)

    @cached_property
    def along_roof_m(self) -> Array:
        """Length along the roof that has the edge, of a wall the lower one [m]."""
        owns = (self.lower < 0) | np.isin(self.role, ABOVE)
        facet = np.where(owns, self.upper, self.lower)
        heights = self._ends(self.edges.planes, facet)
        return np.asarray(np.hypot(self.plan_m, heights[:, 1] - heights[:, 0]))

    @cached_property
    def parapet_m(self) -> Array:
        """Height of the parapet at each stretch [m]."""
        return np.array([self._parapet(k) for k in range(len(self.role))])

    def _parapet(self, k: int) -> float:
        over = self.edges.roof[self.edges.facets[self.upper[k]].over]
        side = side_of(self.outward[k]) if self.lower[k] < 0 else ""
        return float(getattr(over.rectangle, f"parapet_{side}_m")) if side else 0.0

    @cached_property
    def over_deck_m(self) -> Array:
        """Height of the panel over the deck, at a free edge over its parapet, at both ends [m]."""
        panel = self._ends(self.edges.planes, self.upper)
        deck = self._ends(self.edges.decks, self.upper)
        return panel - deck - np.where(self.lower < 0, self.parapet_m, 0.0)[:, None]

    @cached_property
    def over_panel_m(self) -> Array:
        """Height of the panel over that of the lower roof beside it, at both ends [m]."""
        upper, lower = (self._ends(self.edges.planes, each) for each in (self.upper, self.lower))
        return np.asarray(upper - lower)

    @cached_property
    def closed(self) -> tuple[Array, Array]:
        """Mean height of the wall that a stretch needs [m], and the part of it that needs one.

        Notes
        -----
        At a free edge the wall stands from the parapet, or the deck, to the panel. Between two
        roofs it stands from the higher of the lower panel and the upper deck to the upper panel:
        below that deck the building's own wall stands.
        """
        over_deck = self.over_deck_m
        over_panel = np.where((self.lower < 0)[:, None], over_deck, self.over_panel_m)
        return positive_part(np.stack([over_deck, over_panel], axis=1))

    @cached_property
    def wall_m2(self) -> Array:
        """Wall that closes the cavity at each stretch [m²]."""
        walls = self.plan_m * self.closed[0]
        none = np.isin(self.role, (*FLUSH_ROLES, *ABOVE))
        return np.asarray(np.where(none, 0.0, walls))

    @cached_property
    def behind_parapet(self) -> Array:
        """Part of a free edge that stands below the top of its parapet."""
        return np.where((self.lower < 0) & (self.parapet_m > 0), 1.0 - self.closed[1], 0.0)

    def lengths_m(self, *roles: str) -> Array:
        """Return each stretch of some roles along the roof [m], without what a parapet hides."""
        return self.along_roof_m * (1 - self.behind_parapet) * np.isin(self.role, roles)

    def hidden_m(self, *roles: str) -> Array:
        """Return what a parapet stands above of each stretch of some roles [m]."""
        return self.along_roof_m * self.behind_parapet * np.isin(self.role, roles)

    @cached_property
    def trim_m(self) -> Array:
        """Trim, flashing and gutter of each stretch along the roof [m], an eave's two."""
        eaves = self.lengths_m("eave", "eave-above")
        inner = self.lengths_m("inner-gutter", "wall-gutter") + self.hidden_m("eave")
        roles = ("ridge", "hip", "valley", *RAKES, *HIGH_EDGES, *JOINTS)
        return 2 * eaves + inner + self.lengths_m(*roles) + self.hidden_m(*FREE_EDGES)

    def length(self, *roles: str) -> float:
        """Return the length of some roles along the roof [m], without what a parapet hides."""
        return float(self.lengths_m(*roles).sum())

    def wall(self, *roles: str) -> float:
        """Return the walls of some roles [m²]."""
        return float(self.wall_m2[np.isin(self.role, roles)].sum())

    def total(self) -> Edges:
        """Return edge lengths and wall areas of the whole plan."""
        inner = self.length("inner-gutter", "wall-gutter") + float(self.hidden_m("eave").sum())
        eave = self.length("eave", "eave-above")
        return Edges(
            eave_m=eave,
            gutter_m=eave,
            rake_m=self.length(*RAKES),
            ridge_m=self.length("ridge"),
            high_edge_m=self.length(*HIGH_EDGES),
            valley_m=self.length("valley"),
            joint_m=self.length(*JOINTS),
            eave_wall_m2=self.wall("eave"),
            high_wall_m2=self.wall("high-edge"),
            end_wall_m2=self.wall("rake"),
            step_wall_m2=self.wall("step", "wall-gutter"),
            walls_m2=float(self.wall_m2.sum()),
            hip_m=self.length("hip"),
            inner_gutter_m=inner,
            parapet_flashing_m=float(self.hidden_m(*FREE_EDGES).sum()),
        )


def side_of(outward: Array) -> str:
    """Return the side of the plan that an outward direction faces.

    Examples
    --------
    >>> side_of(np.array([0.0, -1.0])), side_of(np.array([1.0, 0.0]))
    ('front', 'right')
    """
    x, y = outward
    if abs(x) > abs(y):
        return "right" if x > 0 else "left"
    return "back" if y > 0 else "front"


def legs(
    each: Stretch, outward: Array
) -> tuple[tuple[tuple[float, float], tuple[float, float], float], ...]:
    """Return an edge with the sign of its outward side; one that slants as two, round its outside.

    Notes
    -----
    Planes of two parts may cross in a slanting step, for which the figures say nothing.
    """
    (out_x, out_y), start, end = outward.tolist(), each.start, each.end
    if not each.slants:
        return ((start, end, out_x + out_y),)
    x, y = (max(pair) if out > 0 else min(pair) for out, *pair in zip(outward, start, end,
                                                                      strict=True))  # fmt: skip
    return ((start[0], y), (end[0], y), out_y), ((x, start[1]), (x, end[1]), out_x)
