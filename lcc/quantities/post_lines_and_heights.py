"""One fall of the new roof laid out: its purlin lines, posts, panels, clips and bracing."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

import numpy as np

from lcc.arrays import Array, Flags
from lcc.quantities.polygons import TOUCH_M, Place, across, area, side_by_side
from lcc.quantities.post_and_purlin_spacing import (
    FrameLines,
    SetOut,
    purlins,
    set_out_from,
    spaces,
    stations,
    structure,
)
from lcc.quantities.roof_planes import Facet, Fall, RoofPart

Interval = tuple[float, float]
_LEVEL = ("front", "back")
_TIE = 1e-5  # decides between posts that are as near


@dataclass(frozen=True)
class PurlinLine:
    """One purlin line of a fall: where it runs, and the posts that it stands on.

    Parameters
    ----------
    number : int
        Counted from the eave, from 1.
    from_eave_m : float
        Distance from the eave in plan [m].
    runs : tuple of intervals
        Where it runs along the eave [m], in the plan's own x or y.
    posts_m, heights_m : array
        Place of each post along the line, and its height [m].
    zone : str
        Empty for a line of the field; else the zone of wind that asks for it.
    cross_members, cross_each_m : int, float
        Cross members that carry it where no post may stand under it, and their length [m].
    carried_m2, pulled_kg : array
        Plan area that each of its posts carries [m²], and the pull of wind on it [kg].
    """

    number: int
    from_eave_m: float
    runs: tuple[Interval, ...]
    posts_m: Array
    heights_m: Array
    zone: str = ""
    cross_members: int = 0
    cross_each_m: float = 0.0
    carried_m2: Array = field(default_factory=lambda: np.zeros(0))
    pulled_kg: Array = field(default_factory=lambda: np.zeros(0))

    @property
    def length_m(self) -> float:
        """Length of the purlin [m]."""
        return math.fsum(b - a for a, b in self.runs)


@dataclass(frozen=True)
class ShortLine:
    """A purlin that a zone of wind asks for: where it runs, and its cross members' length [m]."""

    level: float
    runs: tuple[Interval, ...]
    zone: str
    cross_m: float


@dataclass(frozen=True)
class FallFrame:
    """One fall of a part with all its pieces; u runs along its eave, v up from it in plan.

    Parameters
    ----------
    part : RoofPart
        The part that owns the fall.
    fall : Fall
        Side and plane.
    pieces : tuple of Facet
        Where the fall is the roof, over its own deck and over a neighbour's.
    braced_ends : tuple of bool
        Whether the ends of its eave have bracing lines, which an earlier part may have already.
    """

    part: RoofPart
    fall: Fall
    pieces: tuple[Facet, ...]
    braced_ends: tuple[bool, bool] = (True, True)

    @cached_property
    def level(self) -> bool:
        """Whether the eave runs left to right."""
        return self.fall.side in _LEVEL

    @cached_property
    def ends_m(self) -> Interval:
        """Start and end of the side along the plan [m]."""
        left, front, right, back = self.part.bounds
        return (left, right) if self.level else (front, back)

    @property
    def end_sides(self) -> tuple[str, str]:
        """Sides of the part at which they lie."""
        return ("left", "right") if self.level else ("front", "back")

    @property
    def eave_m(self) -> float:
        """Length of the side [m]."""
        return self.part.extent(self.fall.side)[0]

    @property
    def secant(self) -> float:
        """Length along the slope over length in plan: 1 over the cosine of the slope."""
        return math.hypot(1.0, self.part.slope)

    @property
    def panel_area_m2(self) -> float:
        """Area of its panels on the slope [m²]."""
        return math.fsum(area(each.polygon) for each in self.pieces) * self.secant

    @property
    def is_hip(self) -> bool:
        """Whether the fall closes an end of a ridge."""
        return self.fall.side in (self.part.rectangle.hip_ends or ())

    @property
    def shares_ridge(self) -> bool:
        """Whether its top line is a ridge, shared with the opposite fall."""
        return self.part.rectangle.form == "ridge" and not self.is_hip

    def place(self, u: Place, v: Place) -> tuple[Place, Place]:
        """Return the plan's x and y of a point of the fall, or of points."""
        far = self.eave_at_m + self.inward * v
        return (u, far) if self.level else (far, u)

    @cached_property
    def eave_at_m(self) -> float:
        """Where its eave lies across the plan, in its y where the eave is level [m]."""
        return self.part.bounds[("left", "front", "right", "back").index(self.fall.side)]

    @cached_property
    def inward(self) -> int:
        """Sign of the way up the fall, along the plan's x or y."""
        return 1 if self.fall.side in ("front", "left") else -1

    def post_places(self, lines: Sequence[PurlinLine]) -> tuple[Array, Array]:
        """Return the plan's x and y of all posts of some lines of the fall."""
        u = np.concatenate([line.posts_m for line in lines])
        v = np.repeat([line.from_eave_m for line in lines], [len(line.posts_m) for line in lines])
        return self.place(u, v)

    @cached_property
    def outlines(self) -> tuple[Array, ...]:
        """Corners of every piece as (u, v)."""
        found = []
        for piece in self.pieces:
            x, y = np.array(piece.polygon, dtype=float).T
            u, far = (x, y) if self.level else (y, x)
            found.append(np.stack([u, self.inward * (far - self.eave_at_m)], axis=1))
        return tuple(found)

    @cached_property
    def run_m(self) -> float:
        """Plan length of the fall, eave to its highest point [m]."""
        return max(float(each[:, 1].max()) for each in self.outlines)

    @cached_property
    def span_m(self) -> Interval:
        """Start and end of the fall along its eave, past its side where it runs on [m]."""
        u = np.concatenate([each[:, 0] for each in self.outlines])
        return float(u.min()), float(u.max())

    @cached_property
    def stations(self) -> FrameLines:
        """Where posts stand along the purlins within the side."""
        return stations(self.part, "front-back" if self.level else "left-right", *self.ends_m)

    @cached_property
    def places_m(self) -> Array:
        """Where posts may stand along the purlins, over a neighbour too [m]."""
        at = self.stations.at_m
        return continued(at, self.span_m, self.eave_m / (len(at) - 1))

    @cached_property
    def lines(self) -> FrameLines:
        """Purlin lines by their distance from the eave."""
        runs = "left-right" if self.level else "front-back"
        places = structure(self.part, runs)
        if places is not None:
            places = (self.inward * (places - self.eave_at_m))[:: self.inward]
        return purlins(self.part, runs, places, self.run_m)

    def crossings(self, levels: Array) -> tuple[Array, Array]:
        """Return where lines at some distances from the eave enter and leave each piece."""
        return across(side_by_side(self.outlines), levels)

    def heights(self, u: Array, v: Array) -> Array:
        """Return post heights at points, by piece [m]: panel less purlin less deck."""
        return np.array([self._height(piece, u, v) for piece in self.pieces])

    def _height(self, piece: Facet, u: Array, v: Array) -> Array:
        clear = self.fall.plane.above(piece.deck)
        x, y = self.place(0.0, 0.0)
        along = (clear.along_x, clear.along_y) if self.level else (clear.along_y, clear.along_x)
        at, along_u, along_v = clear.z(x, y), along[0], self.inward * along[1]
        return np.asarray(at + along_u * u + along_v * v - self.part.framing.purlin_depth_m)

    @cached_property
    def purlin_lines(self) -> tuple[PurlinLine, ...]:
        """Purlin lines of the field with their posts, those of a shared ridge on both falls."""
        levels, along = self.lines.at_m, self.places_m
        (first, last), (inside, heights) = self._crossed, self._stood(self._crossed, levels, along)
        every, found = _joined(first, last), []
        for k, (level, runs) in enumerate(zip(levels.tolist(), every, strict=True)):
            at, high = along[:0], along[:0]
            if self.lines.posted[k]:
                at, high = _first_of(inside[:, k], heights[:, k], along)
                if self.part.rectangle.bearing_spacing_m is None:
                    ends = first[:, k : k + 1], last[:, k : k + 1]
                    at, high = self._with_ends(runs, level, ends, at, high)
            found.append(PurlinLine(k + 1, level, _long(runs), at, high))
        return tuple(found)

    @cached_property
    def _crossed(self) -> tuple[Array, Array]:
        return self.crossings(self.lines.at_m)

    def _stood(
        self, crossed: tuple[Array, Array], levels: Array, along: Array
    ) -> tuple[Flags, Array]:
        """Return which places along lines lie on each piece that they cross, and how high."""
        first, last = (each[..., None] for each in crossed)
        inside = (along >= first - TOUCH_M) & (along <= last + TOUCH_M)
        return inside, self.heights(along[None, :], levels[:, None])

    def spans(self, levels: Array) -> list[tuple[Interval, ...]]:
        """Return where lines at some distances from the eave lie on the fall [m]."""
        return list(map(_long, _joined(*self.crossings(levels))))

    def to_posts(self, low: Array, high: Array, first: Array, last: Array) -> tuple[Array, Array]:
        """Return runs lengthened to the next post at both their ends, within the fall [m]."""
        places = np.concatenate([[-np.inf], self.places_m, [np.inf]])
        start = places[places.searchsorted(low + TOUCH_M, "right") - 1]
        end = places[places.searchsorted(high - TOUCH_M)]
        return np.maximum(start, first), np.minimum(end, last)

    def short_lines(self, short: Sequence[ShortLine]) -> tuple[PurlinLine, ...]:
        """Return purlins over some of their posts alone.

        Where structure runs along the purlins no post may stand between its lines: a cross member
        at each station carries the purlin.
        """
        if not short:
            return ()
        along, way = self.places_m, "left-right" if self.level else "front-back"
        stands = structure(self.part, way) is None
        levels = np.array([line.level for line in short])
        inside, heights = self._stood(self.crossings(levels), levels, along)
        found = []
        for k, line in enumerate(short):
            runs = tuple(_touching(line.runs))
            held = np.any(
                [(along >= a - TOUCH_M) & (along <= b + TOUCH_M) for a, b in runs], axis=0
            )
            at = high = along[:0]
            if stands:
                at, high = _first_of(inside[:, k] & held, heights[:, k], along)
            borne = int(held.sum()) if line.cross_m and not stands else 0
            found.append(PurlinLine(0, line.level, runs, at, high, line.zone, borne, line.cross_m))
        return tuple(found)

    def _with_ends(
        self, runs: list[Interval], level: float, pieces: tuple[Array, Array], at: Array,
        high: Array,
    ) -> tuple[Array, Array]:  # fmt: skip
        """Add a post where a purlin ends at a hip or valley between two stations."""
        ends = np.array(runs).ravel()
        lone = ends[np.abs(ends[:, None] - at).min(axis=1, initial=np.inf) > TOUCH_M]
        if not lone.size:
            return at, high
        lone = np.unique(lone)
        first, last = pieces
        inside = (lone >= first - TOUCH_M) & (lone <= last + TOUCH_M)
        more = _first_of(inside, self.heights(lone, np.full(len(lone), level)), lone)
        return np.concatenate([at, more[0]]), np.concatenate([high, more[1]])

    @property
    def loose_ends(self) -> int:
        """Purlin ends at a hip or valley that the structure puts no post under."""
        if self.part.rectangle.bearing_spacing_m is None:
            return 0
        ends = [end for line in self.purlin_lines for run in line.runs for end in run]
        gaps = np.abs(np.array(ends)[:, None] - self.places_m[None, :]).min(axis=1)
        return int((gaps > TOUCH_M).sum())

    @cached_property
    def cross_bays_m(self) -> Array:
        """Member up the slope in each bay between lines on posts, at one station [m].

        It carries purlins without posts; 0 where there are none.
        """
        ends = np.minimum(self.lines.held_m, self.run_m)
        crossed = [not self._posted_between(a, b) for a, b in pairwise(ends.tolist())]
        return np.diff(ends) * self.secant * crossed

    @property
    def cross_members_m(self) -> float:
        """Cross members of all bays and stations together [m]."""
        return math.fsum(self.cross_bays_m) * len(self.stations.at_m)

    def _posted_between(self, low: float, high: float) -> bool:
        """Tell whether posts carry every line past one place, up to another."""
        at = self.lines.at_m
        within = (at > low + TOUCH_M) & (at <= high + TOUCH_M)
        return bool(self.lines.posted[within].all())

    @cached_property
    def brace_places_m(self) -> Array:
        """Bracing lines along the eave, each running up the fall over posts; both ends have one.

        Notes
        -----
        Each stands on the line of posts nearest to its even space; of two as near, on that nearer
        to the middle of the eave, then to the end where posts are set out from. Where that leaves
        lines farther apart than stated, one line more is tried, as far as there are posts.
        """
        framing, posts = self.part.framing, self.stations.at_m
        if not framing.bracing:
            return np.zeros(0)
        number, at_most = spaces(self.eave_m, framing.brace_spacing_m), framing.brace_spacing_m
        at = self._near_even(number)
        while np.diff(at).max(initial=0.0) > at_most + TOUCH_M and number < len(posts) - 1:
            number += 1
            at = self._near_even(number)
        first, last = self.braced_ends
        return np.asarray(at[not first : len(at) - (not last)])

    def _near_even(self, number: int) -> Array:
        """Return the posts along the eave nearest to the ends of a number of equal spaces [m]."""
        posts, even = self.stations.at_m, np.linspace(*self.ends_m, number + 1)
        sign = -1.0 if self.set_out == "end" else 1.0
        apart = np.abs(posts[:, None] - even) + _TIE * np.abs(posts - sum(self.ends_m) / 2)[:, None]
        return np.asarray(
            posts[np.unique((apart + sign * _TIE**2 * posts[:, None]).argmin(axis=0))]
        )

    @cached_property
    def set_out(self) -> SetOut:
        """End of the eave from which posts, splices and bracing are set out."""
        return set_out_from(self.part, "front-back" if self.level else "left-right")

    @cached_property
    def brace_bays_m(self) -> Array:
        """The other post of the bay that each bracing line braces along the purlins [m].

        Notes
        -----
        On the wider side, the next post at least half the stated space off: a first joist close to
        the edge makes no bay.
        """
        posts, at = self.stations.at_m, self.brace_places_m
        half = self.part.post_spacing_m / 2 - TOUCH_M
        ends = np.concatenate([posts[:1], posts, posts[-1:]])
        after = ends[1:][posts.searchsorted(at + half)]
        before = ends[posts.searchsorted(at - half, "right")]
        return np.where(after - at > at - before - TOUCH_M, after, before)

    @property
    def bracing_m(self) -> float:
        """Length of diagonals of all bracing lines [m]."""
        return float(self.brace_lengths_m.sum())

    @cached_property
    def brace_lengths_m(self) -> Array:
        """Length of diagonals of each bracing line [m].

        Notes
        -----
        A ridge has one row of posts, of which each of its two falls counts half.
        """
        up, along = self.diagonals_m
        weight = np.ones((len(along), 1))
        if self.ends_at_ridge:
            weight[-1] = 0.5
        return np.asarray(up.sum(axis=0) + (along * weight).sum(axis=0))

    @property
    def ends_at_ridge(self) -> bool:
        """Whether its highest row of posts is that of a ridge."""
        levels = self.lines.at_m[self.lines.posted]
        return bool(self.shares_ridge and levels[-1] > self.run_m - TOUCH_M)

    @cached_property
    def diagonals_m(self) -> tuple[Array, Array]:
        """Length of every diagonal up the slope and along a row of posts [m], 0 for none.

        Notes
        -----
        A bracing line, a column, has one diagonal between each two neighbouring rows of posts, from
        the foot of the lower to the head of the higher, and one at each row along its bay. From
        foot to head it rises by the lower post and by the fall of the panel between them.
        """
        levels, posted = self.lines.at_m[self.lines.posted], self.lines.posted
        first, last = self._crossed
        crossed = first[:, posted], last[:, posted]
        inside, heights = self._stood(crossed, levels, self.brace_places_m)
        high = np.where(inside, heights, -np.inf).max(axis=0, initial=-np.inf)
        stands = np.isfinite(high)
        high = np.where(stands, high, 0.0)
        run = np.diff(levels)[:, None]
        up = np.hypot(run, high[:-1] + self.part.slope * run)
        along = np.hypot(self.brace_bays_m - self.brace_places_m, high)
        return up * (stands[:-1] & stands[1:]), along * stands


def continued(places: Array, span: Interval, step_m: float) -> Array:
    """Return places continued at even steps until they reach past both ends of a span."""
    before = math.ceil((places[0] - span[0]) / step_m - TOUCH_M)
    after = math.ceil((span[1] - places[-1]) / step_m - TOUCH_M)
    first = places[0] - step_m * np.arange(before, 0, -1)
    return np.concatenate([first, places, places[-1] + step_m * np.arange(1, after + 1)])


def _joined(first: Array, last: Array) -> list[list[Interval]]:
    """Return the intervals of each column that are there, joined where they touch."""
    columns = np.moveaxis(np.array([first, last]), 0, -1).swapaxes(0, 1).tolist()
    return [_touching((a, b) for a, b in column if not math.isnan(a)) for column in columns]


def _touching(intervals: Iterable[Interval]) -> list[Interval]:
    """Return intervals joined where they touch."""
    joined: list[Interval] = []
    for a, b in sorted(intervals):
        if joined and a <= joined[-1][1] + TOUCH_M:
            joined[-1] = joined[-1][0], max(joined[-1][1], b)
        else:
            joined.append((a, b))
    return joined


def _long(runs: list[Interval]) -> tuple[Interval, ...]:
    return tuple(run for run in runs if run[1] - run[0] > TOUCH_M)


def _first_of(inside: Flags, values: Array, along: Array) -> tuple[Array, Array]:
    """Return the places that any piece holds, and the value by the first piece that does."""
    if len(inside) == 1:
        return along[inside[0]], values[0, inside[0]]
    held = np.flatnonzero(inside.any(axis=0))
    return along[held], values[inside[:, held].argmax(axis=0), held]
