"""The new roof and the old deck as planes over each part of the plan, and where they meet."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lcc.case.framing import Framing
from lcc.case.rectangle import OPPOSITE, Rectangle
from lcc.quantities.old_deck import Bowl, around, pieces
from lcc.quantities.polygons import TOUCH_M, Plane, Polygon, box, clipped
from lcc.units import FOOT_M

# Posts of light framing along a purlin, and the farthest that joists may set them: common practice.
USUAL_POSTS_M = (5 * FOOT_M, 6 * FOOT_M)


@dataclass(frozen=True)
class Fall:
    """One slope of a part: the side it drains to and its plane, heights from the plan's zero."""

    side: str
    plane: Plane


@dataclass(frozen=True)
class Facet:
    """A piece of new roof over one plane of old deck.

    `part` owns the panel, `over` is the part whose deck lies below: they differ where a wing
    runs on over its neighbour up to a valley.
    """

    part: int
    fall: Fall
    over: int
    deck: Plane
    polygon: Polygon


@dataclass(frozen=True)
class RoofPart:
    """A rectangle of the plan with its planes: new falls, and planes of the old deck.

    `raised_m` is how much longer all its posts are, so that its eaves meet its neighbours'.
    """

    index: int
    rectangle: Rectangle
    framing: Framing
    raised_m: float = 0.0

    @property
    def corners(self) -> Polygon:
        """Corners of the rectangle, counter-clockwise from the front left."""
        return box(*self.bounds)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, front, right and back of the rectangle [m]."""
        one = self.rectangle
        return one.x_m, one.y_m, one.x_m + one.length_m, one.y_m + one.width_m

    @property
    def slope(self) -> float:
        """Slope of its panels: its own, or that of the survey."""
        return self.framing.slope_of(self.rectangle)

    @property
    def lowest_post_m(self) -> float:
        """Its lowest post [m]: its own, or that of the survey."""
        own = self.rectangle.lowest_post_m
        return self.framing.lowest_post_m if own is None else own

    @property
    def roof_height_m(self) -> float | None:
        """Its mean roof height for wind [m]: as stated, and at least its old deck's level."""
        stated = self.stated_height_m
        return None if stated is None else max(stated, self.rectangle.roof_level_m)

    @property
    def stated_height_m(self) -> float | None:
        """The mean roof height entered for it [m]: its own, or that of the survey."""
        own = self.rectangle.roof_height_m
        return self.framing.wind_and_snow.roof_height_m if own is None else own

    @property
    def post_spacing_m(self) -> float:
        """Posts along a purlin, at most [m]: as entered, or as light framing stands on joists."""
        usual, farthest = USUAL_POSTS_M
        joists = self.rectangle.bearing_spacing_m or 0.0
        own = max(usual, joists) if joists <= farthest + TOUCH_M else usual
        return self.framing.post_spacing_m or own

    @property
    def name(self) -> str:
        """How a message calls it: the first is part 1."""
        return f"part {self.index + 1}"

    def extent(self, side: str) -> tuple[float, float]:
        """Return length along a side and depth behind it [m]."""
        one = self.rectangle
        level = side in ("front", "back")
        return (one.length_m, one.width_m) if level else (one.width_m, one.length_m)

    def rising_from(self, side: str, slope: float, start_m: float = 0.0) -> Plane:
        """Return the plane that is `start_m` high at a side and rises away from it."""
        left, front, right, back = self.bounds
        return {
            "front": Plane(start_m - slope * front, 0.0, slope),
            "back": Plane(start_m + slope * back, 0.0, -slope),
            "left": Plane(start_m - slope * left, slope, 0.0),
            "right": Plane(start_m + slope * right, -slope, 0.0),
        }[side]

    @property
    def drains(self) -> tuple[tuple[float, float], ...]:
        """The old drains that are placed in it."""
        return tuple((each.x_m, each.y_m) for each in self.framing.drains
                     if self.rectangle.holds(each.x_m, each.y_m))  # fmt: skip

    @cached_property
    def bowls(self) -> tuple[Bowl, ...]:
        """The old deck from the plan's zero: the lowest of bowls, each the highest of its planes.

        Notes
        -----
        Around every drain placed in the part four planes rise, so that each point of the deck
        drains to the nearest, by the longer of its distances along and across the plan. A deck
        that falls inward has the level entered at the highest point of its edge.
        """
        one, level = self.rectangle, self.rectangle.roof_level_m
        side = one.deck_drains_to or one.drains_to
        if one.deck_slope == 0:
            return ((Plane(level, 0.0, 0.0),),)
        if self.drains:
            bowls = tuple(around(each, 0.0, one.deck_slope) for each in self.drains)
            edge = [at for _, piece in pieces(self.corners, bowls, self.drains) for at in piece
                    if self._on_edge(*at)]  # fmt: skip
            start = level - max(_deck_z(bowls, *at) for at in edge)
            return tuple(around(each, start, one.deck_slope) for each in self.drains)
        if side != "middle":
            return ((self.rising_from(side, one.deck_slope, level),),)
        start = level - one.deck_slope * one.depth_m
        sides = (one.drains_to, OPPOSITE[one.drains_to])
        return (tuple(self.rising_from(each, one.deck_slope, start) for each in sides),)

    def deck_z(self, x: float, y: float) -> float:
        """Return the height of the old deck over a point [m], from the plan's zero."""
        return _deck_z(self.bowls, x, y)

    def _on_edge(self, x: float, y: float) -> bool:
        left, front, right, back = self.bounds
        return min(x - left, right - x, y - front, back - y) <= TOUCH_M

    @cached_property
    def deck_pieces(self) -> tuple[tuple[Plane, Polygon], ...]:
        """Every plane of the old deck, and where it is the deck."""
        return pieces(self.corners, self.bowls, self.drains)

    @cached_property
    def falls(self) -> tuple[Fall, ...]:
        """Falls of the new roof, the lowest of which is the roof; from the plan's zero.

        Notes
        -----
        The roof is set so high that its lowest post is as stated, or higher by `raised_m`.
        """
        lift = self.eave_level_m + self.raised_m
        return tuple(Fall(side, plane.lifted(lift)) for side, plane in self._shapes())

    @cached_property
    def eave_level_m(self) -> float:
        """Height of the panel at the eave where its lowest post is as stated, from the plan's zero.

        Notes
        -----
        Over one plane of the deck the room is the least of planes, so it is lowest at a corner of
        where that plane is the deck.
        """
        shapes = self._shapes()
        clear = min(
            min(plane.z(*at) for _, plane in shapes) - deck.z(*at)
            for deck, polygon in self.deck_pieces
            for at in polygon
        )
        return self.lowest_post_m + self.framing.purlin_depth_m - clear

    def _shapes(self) -> list[tuple[str, Plane]]:
        one, slope = self.rectangle, self.slope
        shapes = [(one.drains_to, self.rising_from(one.drains_to, slope))]
        if one.form == "ridge":
            far, start = OPPOSITE[one.drains_to], slope * (2 * one.top_m - one.depth_m)
            shapes.append((far, self.rising_from(far, slope, start)))
        return [*shapes, *((end, self.rising_from(end, slope)) for end in one.hip_ends or ())]

    @cached_property
    def facets(self) -> tuple[Facet, ...]:
        """The part's own roof, each fall where it is the lowest, over each plane of its deck."""
        return tuple(
            Facet(self.index, fall, self.index, deck, polygon)
            for fall in self.falls
            for deck, below in self.deck_pieces
            if (polygon := self._where(fall, below))
        )

    def _where(self, fall: Fall, polygon: Polygon) -> Polygon:
        for other in self.falls:
            polygon = clipped(polygon, other.plane.above(fall.plane)) if other != fall else polygon
        return polygon

    def is_gable(self, side: str) -> bool:
        """Tell whether the falls run along a side, so that it ends in a gable or a rake."""
        return side not in [fall.side for fall in self.falls] and not self.is_high(side)

    def is_high(self, side: str) -> bool:
        """Tell whether a side is the high edge of a single fall."""
        one = self.rectangle
        return one.form == "one-way" and side == OPPOSITE[one.drains_to]


def _deck_z(bowls: tuple[Bowl, ...], x: float, y: float) -> float:
    return min(max(plane.z(x, y) for plane in bowl) for bowl in bowls)


@dataclass(frozen=True)
class Meeting:
    """Two parts that share a piece of a side: `low` to `high` along it, at `at`."""

    one: RoofPart
    side: str
    other: RoofPart
    low_m: float
    high_m: float


def parts(framing: Framing) -> tuple[RoofPart, ...]:
    """Return the parts of a survey, those raised whose eaves meet at one height.

    Notes
    -----
    Where decks fall to a side, the lowest posts of two parts at one level stand at different
    heights. The eaves of parts that meet in a valley, or whose ridges are in line, are brought to
    the highest of them, as over level decks: posts of the others are longer.
    """
    each = tuple(RoofPart(k, one, framing) for k, one in enumerate(framing.rectangles))
    group = list(range(len(each)))
    if any(one.deck_slope for one in framing.rectangles):
        for meeting in meetings(each):
            if _at_one_level(meeting) and (is_wing(meeting) or _in_line(meeting)):
                kept, gone = group[meeting.one.index], group[meeting.other.index]
                group = [kept if number == gone else number for number in group]
    highest = {number: max(part.eave_level_m for part in each if group[part.index] == number)
               for number in set(group)}  # fmt: skip
    raised = [highest[group[part.index]] - part.eave_level_m for part in each]
    return tuple(replace(part, raised_m=up) if up > TOUCH_M else part
                 for part, up in zip(each, raised, strict=True))  # fmt: skip


def _at_one_level(meeting: Meeting) -> bool:
    one, other = meeting.one, meeting.other
    level = one.rectangle.roof_level_m - other.rectangle.roof_level_m
    return max(abs(level), abs(one.lowest_post_m - other.lowest_post_m)) <= TOUCH_M


def is_wing(meeting: Meeting) -> bool:
    """Tell whether the gable of `one` meets an eave of `other`."""
    facing = OPPOSITE[meeting.side] in [fall.side for fall in meeting.other.falls]
    return facing and meeting.one.is_gable(meeting.side)


def _in_line(meeting: Meeting) -> bool:
    """Tell whether two ridge roofs meet at their gables with the same planes but for height."""
    one, other = meeting.one, meeting.other
    if not (one.is_gable(meeting.side) and other.is_gable(OPPOSITE[meeting.side])):
        return False
    if {one.rectangle.form, other.rectangle.form} != {"ridge"}:
        return False
    far = {fall.side: fall.plane for fall in other.falls}
    gaps = [fall.plane.above(far[fall.side]) for fall in one.falls if fall.side in far]
    steps = [(gap.at - gaps[0].at, gap.along_x, gap.along_y) for gap in gaps]
    return bool(gaps[1:]) and all(max(map(abs, step)) <= TOUCH_M for step in steps)


def meetings(roof: tuple[RoofPart, ...]) -> tuple[Meeting, ...]:
    """Return every piece of a side that two parts share, once from each of the two."""
    bounds = np.array([part.bounds for part in roof])
    low, high = bounds[:, None, :2], bounds[:, None, 2:]
    near = (bounds[:, :2] - high <= TOUCH_M) & (low - bounds[:, 2:] <= TOUCH_M)
    found = []
    for i, j in np.argwhere(near.all(axis=2)).tolist():
        one, other = roof[i], roof[j]
        (left, front, right, back), (x1, y1, x2, y2) = one.bounds, other.bounds
        across, along = (max(left, x1), min(right, x2)), (max(front, y1), min(back, y2))
        for side, gap, shared in (
            ("left", left - x2, along), ("right", x1 - right, along),
            ("front", front - y2, across), ("back", y1 - back, across),
        ):  # fmt: skip
            if abs(gap) <= TOUCH_M and shared[1] - shared[0] > TOUCH_M:
                found.append(Meeting(one, side, other, *shared))
    return tuple(found)


def facets(roof: tuple[RoofPart, ...], meets: tuple[Meeting, ...]) -> tuple[Facet, ...]:
    """Return all pieces of the new roof, wings run on over their neighbours up to the valleys."""
    found = [facet for part in roof for facet in part.facets]
    for meeting in meets:
        if runs_on(meeting):
            found = [new for facet in found for new in _overlaid(facet, meeting)]
    return tuple(found)


def runs_on(meeting: Meeting) -> bool:
    """Tell whether the gable of `one` runs on over the rising slope of `other` to a valley.

    Notes
    -----
    It does where it meets an eave, stands above that eave, and is no higher than the slope
    reaches: a wing that stands above its neighbour's ridge ends in a wall.
    """
    if not is_wing(meeting):
        return False
    eave = _facing(meeting)
    reach = max(
        eave.plane.z(*at)
        for facet in meeting.other.facets if facet.fall == eave
        for at in facet.polygon
    )  # fmt: skip
    low = min(eave.plane.z(*at) for at in _ends(meeting))
    return TOUCH_M < crest_over_eave_m(meeting) <= reach - low + TOUCH_M


def crest_over_eave_m(meeting: Meeting) -> float:
    """Return how high the gable of `one` stands over the eave of `other` where they meet [m]."""
    low = min(_facing(meeting).plane.z(*at) for at in _ends(meeting))
    return max(_height(meeting.one, at) for at in _crests(meeting)) - low


def frames_alike(meeting: Meeting, fall: Fall) -> bool:
    """Tell whether a fall of `one` goes on in `other`, over one deck, along the whole of a side."""
    one, other = meeting.one, meeting.other
    mine, theirs = ((each.bearing_spacing_m, each.bearing_spacing_m and each.bearing_runs)
                    for each in (one.rectangle, other.rectangle))  # fmt: skip
    shared = meeting.high_m - meeting.low_m
    depths = [one.extent(meeting.side)[0], other.extent(meeting.side)[0]]
    if fall.side == meeting.side or mine != theirs or max(depths) > shared + TOUCH_M:
        return False
    gaps = [fall.plane.z(*at) - each.plane.z(*at) for each in other.falls
            if each.side == fall.side for at in _ends(meeting)]  # fmt: skip
    gaps += [one.deck_z(*at) - other.deck_z(*at) for at in _ends(meeting)]
    return len(gaps) > len(_ends(meeting)) and max(map(abs, gaps)) <= TOUCH_M


def eaves_apart_m(meeting: Meeting) -> float:
    """Return how high the eave of `other` stands over that of the wing that meets it [m]."""
    wing = meeting.one
    near = wing.eave_level_m + wing.raised_m
    return min(_facing(meeting).plane.z(*at) for at in _ends(meeting)) - near


def _facing(meeting: Meeting) -> Fall:
    return next(fall for fall in meeting.other.falls if fall.side == OPPOSITE[meeting.side])


def _ends(meeting: Meeting) -> tuple[tuple[float, float], tuple[float, float]]:
    left, front, right, back = meeting.one.bounds
    at = {"left": left, "right": right, "front": front, "back": back}[meeting.side]
    if meeting.side in ("left", "right"):
        return (at, meeting.low_m), (at, meeting.high_m)
    return (meeting.low_m, at), (meeting.high_m, at)


def _crests(meeting: Meeting) -> list[tuple[float, float]]:
    """Return the ends of a shared piece, and its ridge if that lies between them."""
    (x1, y1), (x2, y2) = ends = _ends(meeting)
    falls = meeting.one.falls
    if len(falls) < 2:
        return [*ends]
    gap = falls[0].plane.above(falls[1].plane)
    first, last = gap.z(x1, y1), gap.z(x2, y2)
    if first * last >= 0:
        return [*ends]
    part = first / (first - last)
    return [*ends, (x1 + part * (x2 - x1), y1 + part * (y2 - y1))]


def _height(part: RoofPart, at: tuple[float, float]) -> float:
    return min(fall.plane.z(*at) for fall in part.falls)


def _overlaid(facet: Facet, meeting: Meeting) -> list[Facet]:
    """Return a piece of the neighbour's slope divided into what the wing covers and the rest."""
    main, wing = meeting.other.index, meeting.one
    if facet.part != main or facet.over != main or facet.fall.side != OPPOSITE[meeting.side]:
        return [facet]
    level = meeting.side in ("front", "back")
    from_low = Plane(-meeting.low_m, float(level), float(not level))
    to_high = Plane(meeting.high_m, -float(level), -float(not level))
    inside = clipped(clipped(facet.polygon, from_low), to_high)
    rest = [clipped(facet.polygon, from_low.turned()), clipped(facet.polygon, to_high.turned())]
    covered = []
    for fall in wing.falls:
        strip = inside
        for other in wing.falls:
            strip = clipped(strip, other.plane.above(fall.plane)) if other != fall else strip
        higher = fall.plane.above(facet.fall.plane)
        covered.append(Facet(wing.index, fall, main, facet.deck, clipped(strip, higher)))
        rest.append(clipped(strip, higher.turned()))
    left = [Facet(main, facet.fall, main, facet.deck, polygon) for polygon in rest]
    return [each for each in (*covered, *left) if each.polygon]
