"""The framing in section: old deck, posts, purlins and panel across one part of the plan."""

import numpy as np

from lcc.case.framing import Framing
from lcc.case.rectangle import OPPOSITE
from lcc.quantities.cut_list import line_mark
from lcc.quantities.openings import ventilators
from lcc.quantities.polygons import TOUCH_M, Plane
from lcc.quantities.post_lines_and_heights import FallFrame
from lcc.quantities.roof_edges import side_of
from lcc.quantities.roof_frame import RoofFrame, roof_frame
from lcc.quantities.snow_and_drift import step_m
from lcc.units import System
from web.drawings.sheet import (
    BLUE,
    GREEN,
    INK,
    MARGIN,
    ORANGE,
    ROW,
    WIDE,
    DrawingSheet,
    height,
    length,
    slope_words,
)

MOST_HIGH = 300.0  # of a section before its scale is reduced
STRETCH = (20, 15, 10, 8, 5, 4, 3, 2, 1)
STRETCHED_HIGH = 150.0
_DECK_STEPS = 60  # of a deck that falls to its middle or to drains
CUT_AT = 0.42  # where along a part its section is cut, clear of bracing in the middle
PARAPET_OUT = 6.0  # of a parapet from its edge, clear of the post there and of the eave's line
STEP_HIGH = 32.0  # of a wall that is drawn broken off, at a step to another part
STEP_WIDE = 30.0  # of the panel beyond a step
MARK_WIDE = 40.0  # of a purlin line's mark


def cut_parts(framing: Framing) -> tuple[int, ...]:
    """Return the parts that are shown in section, from 0: the first, and that of tallest posts."""
    tallest: dict[int, float] = {}
    for fall in roof_frame(framing).falls:
        part = fall.frame.part.index
        for line in fall.lines:
            if line.heights_m.size:
                tallest[part] = max(tallest.get(part, 0.0), float(line.heights_m.max()))
    first = tallest.get(0, 0.0)
    part = max(tallest, key=lambda one: tallest[one], default=0)
    return (0, part) if tallest.get(part, 0.0) > first + TOUCH_M else (0,)


def section(
    framing: Framing, system: System, rectangle: int = 0, prefix: str = "framing-section"
) -> str:
    """Return the section across one part, eave to eave or eave to high edge.

    Parameters
    ----------
    framing : Framing
        The survey.
    system : "ip" or "si"
        Units of the dimensions.
    rectangle : int
        Which part of the survey, from 0.
    prefix : str
        Begins the ids of the drawing.

    Notes
    -----
    Drawn to one scale along and one up. Where a low roof would be a line, heights are stretched
    by a whole number, and the drawing says so.
    """
    cut = _Cut(roof_frame(framing), rectangle)
    along = min((WIDE - 2 * MARGIN) / cut.across_m, MOST_HIGH / cut.top_m)
    stretch = next(k for k in (*STRETCH, 1) if k == 1 or cut.top_m * along * k <= STRETCHED_HIGH)
    sheet = DrawingSheet(
        WIDE, cut.top_m * along * stretch + 2 * MARGIN + (3 if cut.left_out else 2) * ROW, prefix,
        f"Section of part {rectangle + 1}", _section_reading(cut, stretch, system),
    )  # fmt: skip
    _Section(sheet, cut, along, along * stretch).all(system, stretch)
    return str(sheet)


class _Cut:
    """One part cut across its falls, heights from the lowest point of its old deck."""

    def __init__(self, roof: RoofFrame, number: int) -> None:
        self.part = roof.parts[number]
        side = self.part.rectangle.drains_to
        mains = (side, OPPOSITE[side])
        found = {
            fall.frame.fall.side: fall for fall in roof.falls
            if fall.frame.part == self.part and fall.frame.fall.side in mains
        }  # fmt: skip
        self.falls = [found[each] for each in mains if each in found]
        self.steps = {out: step for each, out in zip(mains, (-1, 1), strict=True)
                      if (step := _step(roof, number, each))}  # fmt: skip
        self.shape = roof.shapes[number]
        self.near = FallFrame(self.part, self.part.falls[0], self.part.facets[:1])
        self.across_m, self.ridge_m = self.part.rectangle.depth_m, self.part.rectangle.top_m
        start, end = self.near.ends_m
        self.cut_m = start + CUT_AT * (end - start)
        steps = [k / _DECK_STEPS * self.across_m for k in range(_DECK_STEPS + 1)]
        self.zero_m = min(self.deck_m(v) for v in steps)
        self.top_m = max(self.panel_m(v) for v in self.breaks)

    @property
    def breaks(self) -> list[float]:
        """Distances from the low side at which the panel begins, breaks and ends [m]."""
        ridge = [self.ridge_m] if self.part.rectangle.form == "ridge" else []
        return [0.0, *ridge, self.across_m]

    def panel_m(self, v: float) -> float:
        """Return the panel's height at a distance from the low side [m]."""
        at = self.near.place(self.cut_m, v)
        falls = [fall for fall in self.part.falls
                 if fall.side not in (self.part.rectangle.hip_ends or ())]  # fmt: skip
        return min(fall.plane.z(*at) for fall in falls) - self.zero_m

    def deck_m(self, v: float) -> float:
        """Return the old deck's height [m], from the plan's zero."""
        return self.part.deck_z(*self.near.place(self.cut_m, v))

    @property
    def marks(self) -> dict[float, str]:
        """Marks of the purlin lines by their distance from the low side [m].

        Empty where all posts of a line are those of another part that it meets.
        """
        found: dict[float, str] = {}
        for fall in self.falls:
            near = fall.frame.fall.side == self.part.rectangle.drains_to
            posted = {line.from_eave_m for line in fall.frame.purlin_lines if line.posts_m.size}
            for line in fall.lines:
                if line.from_eave_m in posted and not line.zone:
                    v = line.from_eave_m if near else self.across_m - line.from_eave_m
                    mark = f"P{line_mark(fall.frame, line.number)}" if line.posts_m.size else ""
                    found[round(v, 6)] = found.get(round(v, 6)) or mark
        return dict(sorted(found.items()))

    @property
    def left_out(self) -> int:
        """Purlin lines of zones of wind that the cut crosses and the section does not draw."""
        return sum(any(a <= self.cut_m <= b for a, b in line.runs)
                   for fall in self.falls for line in fall.lines if line.zone)  # fmt: skip


def _step(roof: RoofFrame, number: int, side: str) -> tuple[str, float, Plane] | None:
    """Return the part that a side meets in a step, how much higher its panel is [m], and that."""
    sums, found = roof.edges, list[tuple[str, float, Plane]]()
    for k in np.flatnonzero(np.isin(sums.role, ("step", "wall-gutter"))).tolist():
        upper, lower = (roof.facets[each[k]].over for each in (sums.upper, sums.lower))
        faces = side_of(sums.outward[k])
        if upper != lower and (number, side) in ((upper, faces), (lower, OPPOSITE[faces])):
            other, sign, facet = (upper, 1, sums.upper[k]) if lower == number else (
                lower, -1, sums.lower[k])  # fmt: skip
            plane = roof.facets[facet].fall.plane
            found.append((roof.parts[other].name, sign * step_m(roof, k), plane))
    return max(found, key=lambda each: abs(each[1]), default=None)


def _section_reading(cut: _Cut, stretch: int, system: System) -> str:
    form = "From eave to ridge to eave" if len(cut.breaks) > 2 else "From eave to high edge"
    posts = [cut.panel_m(v) + cut.zero_m - cut.deck_m(v) - cut.part.framing.purlin_depth_m
             for v in cut.marks]  # fmt: skip
    heights = f"from {height(min(posts), system)} to {height(max(posts), system)}"
    lines = len(cut.falls[0].lines) if cut.falls else 0
    scale = f" Heights are drawn {stretch} times as large as lengths." if stretch > 1 else ""
    return (
        f"{form}: {lines} purlin lines a fall on posts {heights} high, panel "
        f"at {slope_words(cut.part.slope, system)} over the old roof.{scale}"
    )


class _Section:
    """The parts of a section, placed by plan distance and height."""

    def __init__(self, sheet: DrawingSheet, cut: _Cut, along: float, up: float) -> None:
        self.sheet, self.cut, self.along, self.up = sheet, cut, along, up
        self.left = (WIDE - cut.across_m * along) / 2
        self.lower = ROW if cut.left_out else 0.0  # room for a second line of the note
        self.base = MARGIN + ROW + self.lower

    def at(self, distance_m: float, height_m: float) -> tuple[float, float]:
        return self.left + distance_m * self.along, self.base + height_m * self.up

    def all(self, system: System, stretch: int) -> None:
        self._old_roof()
        self._posts()
        panel = [self.at(v, self.cut.panel_m(v)) for v in self.cut.breaks]
        self.sheet.path(panel, "panel", stroke=BLUE, stroke_width="3.5", stroke_linejoin="round")
        self._ventilator()
        self._steps(system)
        self._dimensions(system, stretch)

    def _deck(self, raised_m: float = 0.0) -> list[tuple[float, float]]:
        cut = self.cut
        steps = 1 if len(cut.part.bowls[0]) == 1 else _DECK_STEPS
        places = [k / steps * cut.across_m for k in range(steps + 1)]
        return [self.at(v, cut.deck_m(v) - cut.zero_m + raised_m) for v in places]

    def _old_roof(self) -> None:
        deep = self.cut.part.framing.insulation_thickness_m or 0.0
        deck = self._deck()
        if deep:
            corners = [*deck, *self._deck(deep)[::-1]]
            self.sheet.path(corners, "insulation", fill=GREEN, fill_opacity="0.25", stroke=GREEN)
        (x1, y1), (x2, y2) = deck[0], deck[-1]
        ends = [(x1 - 8, y1), *deck, (x2 + 8, y2)]
        self.sheet.path(ends, "old-roof", stroke=INK, stroke_width="5")
        self._parapets()

    def _parapets(self) -> None:
        side = self.cut.part.rectangle.drains_to
        for v, each, out in ((0.0, side, -1), (self.cut.across_m, OPPOSITE[side], 1)):
            high = float(getattr(self.cut.part.rectangle, f"parapet_{each}_m"))
            if high:
                foot = self.cut.deck_m(v) - self.cut.zero_m
                ends = [self.at(v, at) for at in (foot, foot + high)]
                self.sheet.path([(x + out * PARAPET_OUT, y) for x, y in ends], "parapet",
                                stroke=INK, stroke_width="5")  # fmt: skip

    def _steps(self, system: System) -> None:
        """Draw the wall of a higher or lower part, broken off, and its panel where that is near."""
        for out, (name, rise, plane) in self.cut.steps.items():
            v = 0.0 if out < 0 else self.cut.across_m
            x, y = self.at(v, self.cut.panel_m(v))
            x, foot = x + out * PARAPET_OUT, self.at(v, self.cut.deck_m(v) - self.cut.zero_m)[1]
            ends = [(x, y), (x, y + STEP_HIGH if rise > 0 else foot)]
            self.sheet.path(ends, "step", stroke=INK, stroke_width="3")
            beyond = [v, v + out * STEP_WIDE / self.along]
            other = [self.at(u, plane.z(*self.cut.near.place(self.cut.cut_m, u)) - self.cut.zero_m)
                     for u in beyond]  # fmt: skip
            if all(self.base - 10 < y < self.at(0, self.cut.top_m)[1] + ROW for _, y in other):
                self.sheet.path(other, "panel-beside", stroke=BLUE, stroke_width="3.5")
            at_most = height(abs(rise), system)
            text = f"{name}: up to {at_most} {'higher' if rise > 0 else 'lower'}"
            clear = max(y + STEP_HIGH, self.at(0, self.cut.top_m)[1] + 2 * ROW)
            self.sheet.words(x, clear, text, "start" if out < 0 else "end")

    def _posts(self) -> None:
        depth = self.cut.part.framing.purlin_depth_m
        marks = self.cut.marks
        wide = self.along * self.cut.across_m / max(len(marks), 1)
        step = max(1, round(MARK_WIDE / wide + 0.5)) if wide < MARK_WIDE else 1
        for place, (v, mark) in enumerate(marks.items()):
            if place % step == 0:
                x, y = self.at(v, self.cut.deck_m(v) - self.cut.zero_m)
                self.sheet.words(x, y - 15, mark)
            under = self.cut.panel_m(v) - depth
            foot, head = self.at(v, self.cut.deck_m(v) - self.cut.zero_m), self.at(v, under)
            self.sheet.path([foot, head], "post", stroke=INK, stroke_width="1.5")
            self.sheet.path([head, self.at(v, under + depth)], "purlin", stroke=ORANGE,
                            stroke_width="4")  # fmt: skip

    def _ventilator(self) -> None:
        if not ventilators(self.cut.shape):
            return
        x, y = self.at(self.cut.ridge_m, self.cut.panel_m(self.cut.ridge_m))
        box = [(x - 6, y + 2), (x + 6, y + 2), (x + 6, y + 11), (x - 6, y + 11)]
        self.sheet.path(box, "ventilator", fill="#fff", stroke=BLUE, stroke_width="2")

    def _dimensions(self, system: System, stretch: int) -> None:
        cut, y = self.cut, self.base - 30
        for start, end in zip(cut.breaks[:-1], cut.breaks[1:], strict=True):
            self.sheet.dimension(self.at(start, 0)[0], self.at(end, 0)[0], y,
                                 length(end - start, system))  # fmt: skip
        eave = cut.panel_m(0.0) + cut.zero_m - cut.deck_m(0.0)
        x, top = self.at(0, cut.panel_m(0.0))
        self.sheet.words(x - 7, top - 5, height(eave, system), "end")
        x, top = self.at(cut.ridge_m, cut.panel_m(cut.ridge_m))
        anchor = "middle" if len(cut.breaks) > 2 else "end"
        high = height(cut.panel_m(cut.ridge_m) + cut.zero_m - cut.deck_m(cut.ridge_m), system)
        slope = slope_words(cut.part.slope, system)
        self.sheet.words(x, top + 18, f"{high}, {slope}", anchor)
        cut_at = f"Section {'A-A' if cut.part.index == 0 else 'B-B'}, part {cut.part.index + 1}"
        scale = f"drawn {stretch} times as large" if stretch > 1 else "to scale"
        self.sheet.words(WIDE / 2, 8 + self.lower,
                         f"{cut_at}. Heights {scale}; panel heights over the old roof")  # fmt: skip
        if cut.left_out:
            self.sheet.words(WIDE / 2, 8, f"Purlins of wind zones, not drawn: {cut.left_out}")
