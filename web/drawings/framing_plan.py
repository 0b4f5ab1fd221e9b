"""The framing in plan: edges, purlins, posts, bracing and ventilators at their places."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from lcc import units
from lcc.case.framing import Framing
from lcc.case.rectangle import OPPOSITE
from lcc.quantities.cut_list import cross_places, line_mark, mark_range, valley_supports
from lcc.quantities.drainage import downspout_places, drainage
from lcc.quantities.openings import ventilator_places
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_and_purlin_spacing import structure
from lcc.quantities.post_lines_and_heights import FallFrame, PurlinLine
from lcc.quantities.roof_frame import FramedFall, PartShape, RoofFrame, roof_frame
from lcc.quantities.roof_planes import RoofPart
from lcc.quantities.set_out import even_runs
from lcc.units import System
from web.charts.placing import met
from web.drawings.framing_section import CUT_AT, PARAPET_OUT, cut_parts
from web.drawings.plan_key import (
    BEARING,
    BRACE,
    CROSS,
    CUT,
    DOWNSPOUT,
    DRAIN,
    DRAIN_RING,
    EDGES,
    KEY_WIDE,
    LOW_PARAPET,
    PARAPET,
    POST,
    SHADES,
    VENTILATOR,
    draw_key,
    key_of,
    parapets,
)
from web.drawings.sheet import INK, MARGIN, MUTED, ROW, WIDE, DrawingSheet, length, slope_words
from web.format import shown

LEFT = 44.0  # of the plan, clear of the dimensions beside it
LETTER = 7.0  # about how wide a letter of a dimension is
NOTES_FROM = 4  # rows below the plan, clear of its dimensions
STAGGER = 14.0  # how much farther out a dimension is written that has no room in its line
MARK_WIDE, MARK_HIGH = 36.0, 13.0  # of a mark's words
# Where along its line the mark of the first line and of the last may stand.
FIRST_AND_LAST = ((0.3, 0.2, 0.4, 0.5), (0.8, 0.7, 0.9, 0.6, 0.5, 0.4, 0.3))
Box = tuple[float, float, float, float]
MOST_MARKED = 12  # parts; with more, marks would hide the plan
CLEAR_OF_EDGE = 5.0  # of bracing and ventilators from an edge whose line would hide them
DOWNSPOUT_LONG = 10.0
FRONT = "The front is the edge at the foot of this plan; left and right as seen from there."
RIDGE = "The two purlins at a ridge share one row of posts, which has its mark from one fall."
UNPLACED = "Units, pipes and skylights: counted, their places not surveyed, not drawn."
LEAST_GAP = 3.0  # posts closer than this many units of the drawing run into each other


def plan(framing: Framing, system: System, prefix: str = "framing-plan") -> str:
    """Return the plan of all parts: edges, purlins, posts, bracing and ventilators.

    Parameters
    ----------
    framing : Framing
        The survey.
    system : "ip" or "si"
        Units of the dimensions.
    prefix : str
        Begins the ids of the drawing.

    Notes
    -----
    To one scale, from the same geometry as the bill. Posts are dots at their places; where they
    would run into each other they are left out and the description says so.
    """
    roof = roof_frame(framing)
    right = max(part.bounds[2] for part in roof.parts)
    back = max(part.bounds[3] for part in roof.parts)
    scale = (WIDE - MARGIN) / max(right, back)
    key = key_of(roof)
    shared = any(fall.frame.ends_at_ridge for fall in roof.falls)
    sizes = [f"{part.index + 1}: {part_size(part, system)}" for part in roof.parts]
    notes = (FRONT, *[RIDGE] * shared, *[UNPLACED] * _unplaced(framing), *sizes)
    below = ROW * (-(-len(key) // KEY_WIDE) + len(notes) + NOTES_FROM)
    drawn = PlanDrawing(roof, scale, below)
    reading = _plan_reading(roof, drawn.shows_posts, system)
    sheet = DrawingSheet(WIDE, back * scale + below + ROW, prefix, "Framing plan", reading)
    drawn.lines(sheet)
    drawn.dimensions(sheet, system)
    for part in roof.parts:
        drawn.number(sheet, part)
    draw_key(sheet, notes, key)
    return str(sheet)


def _plan_reading(roof: RoofFrame, with_posts: bool, system: System) -> str:
    sizes = "; ".join(part_size(part, system) for part in roof.parts)
    shaded = " Shaded: edges and corners where the wind pulls." if roof.zones else ""
    hidden = "" if with_posts else " Posts stand too close to be shown at this scale."
    walled = (" Thin line along the edge: parapets, dashed where the roof is flashed to them."
              if parapets(roof) else "")  # fmt: skip
    return f"Parts: {sizes}. {FRONT}{shaded}{walled}{hidden}"


class PlanDrawing:
    """The roof drawn to scale, the plan's front at the bottom."""

    def __init__(self, roof: RoofFrame, scale: float, below: float) -> None:
        self.roof, self.scale, self.below = roof, scale, below
        self.left, self.corner, self.post = LEFT, (0.0, 0.0), POST
        self.parts, self.falls, self.shapes = roof.parts, roof.falls, roof.shapes
        self.turns, self.letters = False, (MARK_HIGH, MARK_HIGH)  # how high marks are, upright ones
        self.written: list[Box] = []

    @property
    def shows_posts(self) -> bool:
        """Whether posts stand far enough apart to be drawn."""
        gaps = (gap for fall in self.falls for gap in _gaps(fall))
        return min(gaps, default=0.0) * self.scale >= LEAST_GAP

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point of the plan is drawn."""
        x0, y0 = self.corner
        return self.left + (x - x0) * self.scale, self.below + (y - y0) * self.scale

    def holds(self, *_points: Sequence[float]) -> bool:
        """Tell whether points of the plan are on the drawing; all are, of the whole roof."""
        return True

    def dimensions(self, sheet: DrawingSheet, system: System) -> None:
        """Draw the distances between the sides of parts, along the foot and the left edge."""
        bounds = np.array([part.bounds for part in self.roof.parts])
        for axis, start, draw, line, off in (
            (0, LEFT, sheet.dimension, self.below - 16, 14),
            (1, self.below, sheet.upright, LEFT - 12, 6),
        ):
            near = False
            sides = np.unique(bounds[:, axis::2])
            for low, high in pairwise(sides[np.diff(sides, prepend=-np.inf) > TOUCH_M].tolist()):
                text = length(high - low, system)
                near = not near and (high - low) * self.scale < LETTER * len(text)
                ends = start + low * self.scale, start + high * self.scale
                draw(*ends, line, text, off + STAGGER * near)

    def lines(self, sheet: DrawingSheet) -> None:
        """Draw structure, framing, edges and ventilators."""
        for part in self.parts:
            self._zones(sheet, part)
            self._structure(sheet, part)
        for fall in self.falls:
            self._cross_members(sheet, fall)
            self._bracing(sheet, fall.frame)
        for fall in self.falls:
            self._purlins(sheet, fall)
        for stretch in self.roof.edges.stretches:
            if stretch.role in EDGES and self.holds(stretch.start, stretch.end):
                name, look = EDGES[stretch.role]
                sheet.path([self.at(*stretch.start), self.at(*stretch.end)], name, **look)
        self._walls(sheet)
        for shape in self.shapes:
            self._ventilators(sheet, shape)
        self._drains(sheet)
        self._downspouts(sheet)
        for letter, place in zip("AB", cut_parts(self.roof.framing), strict=False):
            if self.roof.parts[place] in self.parts:
                self._cut(sheet, self.roof.parts[place], letter)
        self.marks(sheet)

    def marks(self, sheet: DrawingSheet) -> None:
        """Write the marks of the first and the last lines, of ventilators and valleys."""
        if len(self.roof.parts) > MOST_MARKED:
            return
        for part in self.roof.parts:
            x, y = self._number_at(part)
            self.written.append((x - 10, y - 5, x + 10, y + 14))
        for fall in self.roof.falls:
            self._line_marks(sheet, fall)
        for shape in self.roof.shapes:
            self.ventilator_mark(sheet, shape)
        self.valley_marks(sheet)

    def valley_marks(self, sheet: DrawingSheet) -> None:
        """Write the mark of the support under every sloping valley at its middle."""
        for mark, k, _ in valley_supports(self.roof):
            middle = (self.roof.edges.start[k] + self.roof.edges.end[k]) / 2
            if self.holds(middle):
                self.boxed(sheet, *self.at(*middle), mark)

    def _cut(self, sheet: DrawingSheet, part: RoofPart, letter: str) -> None:
        """Draw where the section of a part is cut, its letter at both ends."""
        left, front, right, back = part.bounds
        if part.rectangle.drains_to in ("front", "back"):
            ends = [(left + CUT_AT * (right - left), y) for y in (front, back)]
        else:
            ends = [(x, front + CUT_AT * (back - front)) for x in (left, right)]
        places = [self.at(*end) for end in ends]
        sheet.path(places, "cut", **CUT)
        for (x, y), inward in zip(places, (1, -1), strict=True):
            level = places[0][1] == places[1][1]
            self.boxed(sheet, x + inward * MARK_WIDE / 2 * level,
                        y + inward * MARK_HIGH / 2 * (not level), letter)  # fmt: skip

    def boxed(
        self, sheet: DrawingSheet, x: float, y: float, text: str, *, upright: bool = False
    ) -> None:
        """Write a mark at a place, on white."""
        box = left, foot, right, top = mark_box(
            x, y, text, upright=upright, high=self.letters[upright]
        )
        self.written.append(box)
        back = [(left, foot), (right, foot), (right, top), (left, top)]
        sheet.path(back, "mark", fill="#fff", fill_opacity="0.85", stroke="none")
        sheet.words(x + 4 * upright, y - 4 * (not upright), text, upright=upright)

    def _zones(self, sheet: DrawingSheet, part: RoofPart) -> None:
        """Shade the edges and corners where the wind pulls."""
        zones = self.roof.zones
        if zones is None:
            return
        pieces, found = zones.pieces(part)
        for piece, zone in zip(pieces.tolist(), found.tolist(), strict=True):
            strength = zones.rule(part).strength[zone]
            if strength in SHADES:
                corners = [self.at(*each) for each in piece]
                sheet.path(corners, f"zone-{strength}", **SHADES[strength])

    def _walls(self, sheet: DrawingSheet) -> None:
        """Draw parapets just outside their edges, hatched where they are flashed."""
        edges = self.roof.edges
        for k in parapets(self.roof):
            places = edges.start[k], edges.end[k]
            if not self.holds(*places):
                continue
            ends = np.array([self.at(*at) for at in places]) + PARAPET_OUT * edges.outward[k]
            sheet.path(ends.tolist(), "parapet-wall", **LOW_PARAPET)
            if edges.behind_parapet[k]:
                shares = np.reshape(_flashed(*edges.over_deck_m[k].tolist()), (2, 1))
                sheet.path((ends[0] + shares * (ends[1] - ends[0])).tolist(), "parapet", **PARAPET)

    def _line_marks(self, sheet: DrawingSheet, fall: FramedFall) -> None:
        """Write the marks of the first and the last line of a fall within it, clear of its edge."""
        lines = [line for line in fall.lines if line.posts_m.size and not line.zone]
        clear = (MARK_HIGH if fall.frame.level else MARK_WIDE) / 2
        ends = (*lines[:1], *lines[1:][-1:])
        for line, shares, inward in zip(ends, FIRST_AND_LAST, (1, -1), strict=False):
            # The second row is clear of ventilators.
            rows = [line.from_eave_m + inward * (clear + more) / self.scale
                    for more in (0.0, CLEAR_OF_EDGE)]  # fmt: skip
            first, last = float(line.posts_m.min()), float(line.posts_m.max())
            self.named(sheet, fall.frame, f"P{line_mark(fall.frame, line.number)}",
                       [(first + share * (last - first), at)
                        for at in rows for share in shares])  # fmt: skip

    def named(
        self, sheet: DrawingSheet, frame: FallFrame, mark: str,
        places: Sequence[tuple[float, float]],
    ) -> None:  # fmt: skip
        """Write a mark at the first place of a fall where nothing is in its way, else the first.

        Places are given along the eave and away from it [m].
        """
        upright = self.turns and not frame.level
        found = [self.at(*frame.place(*place)) for place in places]
        boxes = [mark_box(*at, mark, upright=upright, high=self.letters[upright]) for at in found]
        apart = met(np.reshape(boxes, (-1, 4)), np.reshape(self.written, (-1, 4))) == 0
        if found:
            best = int(np.argmax(apart * [1 + (not self.hides(box)) for box in boxes]))
            self.boxed(sheet, *found[best], mark, upright=upright)

    def hides(self, _box: Box) -> bool:
        """Tell whether a mark would hide a post; on the plan of the whole roof that is allowed."""
        return False

    def ventilator_mark(self, sheet: DrawingSheet, shape: PartShape) -> None:
        """Write the marks of a part's ventilators below their line, clear of them."""
        frame, (_, _, count) = ventilator_places(self.roof, shape)
        if count:
            text, (start, end) = mark_range(f"V{shape.part.index + 1}", 1, count), frame.ends_m
            below = (MARK_HIGH if frame.level else mark_wide(text)) / 2 + 2 * CLEAR_OF_EDGE
            places = [(start + share * (end - start), frame.run_m - below / self.scale)
                      for share in (0.2, 0.35, 0.5, 0.65, 0.8)]  # fmt: skip
            self.named(sheet, frame, text, places)

    def _structure(self, sheet: DrawingSheet, part: RoofPart) -> None:
        runs = part.rectangle.bearing_runs
        places = structure(part, runs)
        left, front, right, back = part.bounds
        for at in () if places is None else places.tolist():
            ends = ((at, front), (at, back)) if runs == "front-back" else ((left, at), (right, at))
            sheet.path([self.at(*end) for end in ends], "bearing", **BEARING)

    def _purlins(self, sheet: DrawingSheet, fall: FramedFall) -> None:
        for line in fall.lines:
            for run in line.runs:
                ends = [self.at(*fall.frame.place(u, line.from_eave_m)) for u in run]
                sheet.path(ends, "purlin", stroke=MUTED, stroke_width="0.6")
            if self.shows_posts:
                self._posts(sheet, fall.frame, line)

    def _cross_members(self, sheet: DrawingSheet, fall: FramedFall) -> None:
        for low, high, _, places in cross_places(fall):
            for u in places.tolist():
                ends = [self.at(*fall.frame.place(u, v)) for v in (low, high)]
                sheet.path(ends, "cross-member", **CROSS)

    def _posts(self, sheet: DrawingSheet, frame: FallFrame, line: PurlinLine) -> None:
        """Draw posts as round caps of dashes without length, a path for each even spacing."""
        for first, gap, posts in even_runs(np.sort(line.posts_m).tolist()):
            along = first, first + (posts - 1) * gap
            ends = [self.at(*frame.place(u, line.from_eave_m)) for u in along]
            dash = f"0 {max(gap * self.scale, 1.0):.4f}"
            sheet.path(ends, "post", **self.post, stroke_dasharray=dash)

    def _bracing(self, sheet: DrawingSheet, frame: FallFrame) -> None:
        part = frame.part.rectangle
        if part.form == "ridge" and frame.fall.side == OPPOSITE[part.drains_to]:
            return
        clear = CLEAR_OF_EDGE / self.scale
        places = frame.brace_places_m.clip(frame.ends_m[0] + clear, frame.ends_m[1] - clear)
        depth = frame.part.extent(frame.fall.side)[1]
        top = frame.run_m if frame.is_hip else depth
        for u in places.tolist():
            sheet.path([self.at(*frame.place(u, v)) for v in (0.0, top)], "brace", **BRACE)

    def _ventilators(self, sheet: DrawingSheet, shape: PartShape) -> None:
        """Draw ventilators on their ridge, or below a high edge, clear of its flashing."""
        frame, (first, space, count) = ventilator_places(self.roof, shape)
        below = 0.0 if frame.shares_ridge else CLEAR_OF_EDGE / self.scale
        half = min(7.0 / self.scale, space / 2) / 2
        drawn = min(count, int(space * count * self.scale / LEAST_GAP))  # closer ones run together
        for u in np.linspace(first, first + (count - 1) * space, drawn).tolist():
            ends = [self.at(*frame.place(at, frame.run_m - below)) for at in (u - half, u + half)]
            sheet.path(ends, "ventilator", **VENTILATOR)
            x, y = self.at(*frame.place(u, frame.run_m - below))
            self.written.append((x - 3.5, y - 3.5, x + 3.5, y + 3.5))

    def _drains(self, sheet: DrawingSheet) -> None:
        """Draw old drains over all else, with a ring that sets them off from a line below."""
        for drain in self.roof.framing.drains:
            if not self.holds((drain.x_m, drain.y_m)):
                continue
            x, y = self.at(drain.x_m, drain.y_m)
            sheet.path([(x, y), (x + 0.01, y)], "drain-ring", **DRAIN_RING)
            sheet.path([(x, y), (x + 0.01, y)], "drain", **DRAIN)
            self.written.append((x - 6, y - 6, x + 6, y + 6))

    def _downspouts(self, sheet: DrawingSheet) -> None:
        """Draw each downspout out from its eave."""
        for frame, places in downspout_places(self.roof, drainage(self.roof)):
            for u in places if frame.part in self.parts else ():
                ends = [self.at(*frame.place(u, v / self.scale)) for v in (0.0, -DOWNSPOUT_LONG)]
                sheet.path(ends, "downspout", **DOWNSPOUT)

    def _number_at(self, part: RoofPart) -> tuple[float, float]:
        left, front, right, back = part.bounds
        level = part.rectangle.drains_to in ("front", "back")
        share = (0.62, 0.3) if level else (0.3, 0.62)
        return self.at(left + share[0] * (right - left), front + share[1] * (back - front))

    def number(self, sheet: DrawingSheet, part: RoofPart) -> None:
        """Write the part's number, clear of the ridge."""
        x, y = self._number_at(part)
        half = 4 + 4 * len(str(part.index + 1))
        frame = [(x - half, y - 5), (x + half, y - 5), (x + half, y + 14), (x - half, y + 14)]
        sheet.path(frame, "number", fill="#fff", stroke=INK, stroke_width="0.8")
        sheet.words(x, y, str(part.index + 1))


def _flashed(first: float, last: float) -> tuple[float, float]:
    """Return the shares of an edge between which its panel lies below the parapet.

    Examples
    --------
    >>> _flashed(-1.0, 3.0), _flashed(1.0, -1.0), _flashed(-1.0, -2.0)
    ((0.0, 0.25), (0.5, 1.0), (0.0, 1.0))
    """
    if first * last >= 0:
        return 0.0, 1.0
    crossed = first / (first - last)
    return (0.0, crossed) if first < 0 else (crossed, 1.0)


def mark_wide(mark: str) -> float:
    """Return about how wide a mark is."""
    return 4 + 5.5 * len(mark)


def mark_box(x: float, y: float, mark: str, *, upright: bool, high: float) -> Box:
    """Return left, foot, right and top of a mark written at a place."""
    half, tall = mark_wide(mark) / 2, high / 2
    half, tall = (tall, half) if upright else (half, tall)
    return x - half, y - tall, x + half, y + tall


def _gaps(fall: FramedFall) -> Iterator[float]:
    """Yield the narrowest space along the posts of a fall, and the one between its lines."""
    along = [float(np.diff(line.posts_m).min()) for line in fall.lines if len(line.posts_m) > 1]
    yield from (gap for gap in along[:1] if gap > TOUCH_M)
    yield from np.diff(fall.frame.lines.at_m).tolist()[:1]


def part_size(part: RoofPart, system: System) -> str:
    """Return a part's length, width, falls, slope and level in words."""
    one = part.rectangle
    sizes = (units.from_core(each, "length", system) for each in (one.length_m, one.width_m))
    text = " × ".join(shown(each, "length") for each in sizes)
    if one.form == "one-way":
        fall = f"one fall to the {one.drains_to}"
    else:
        level = one.drains_to in ("front", "back")
        fall = "falls to front and back" if level else "falls to left and right"
        fall += "".join(f", hip at the {end}" for end in one.hip_ends or ())
    at = f", level {length(one.roof_level_m, system)}" if one.roof_level_m else ""
    slope = slope_words(part.slope, system)
    return f"{text} {units.unit('length', system).display}, {fall}, {slope}{at}"


def _unplaced(framing: Framing) -> bool:
    """Whether the roof has what is counted and not measured in place."""
    work = framing.other_work
    counted = framing.rooftop_units, framing.penetrations, framing.curbs
    return any((*counted, work.skylights_carried, work.skylights_covered))
