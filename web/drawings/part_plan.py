"""The plan of one part of a framed roof, so large that every line, post and opening is named."""

from collections.abc import Sequence

import numpy as np

from lcc.case.framing import Framing
from lcc.quantities.cut_list import cross_places, mark_range
from lcc.quantities.drainage import downspout_places, drainage
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_lines_and_heights import PurlinLine
from lcc.quantities.roof_frame import FramedFall, RoofFrame, roof_frame
from lcc.quantities.set_out import even_runs
from lcc.units import System
from web.drawings.framing_plan import MARK_HIGH, Box, PlanDrawing, mark_wide, part_size
from web.drawings.plan_key import POST, draw_key, key_of
from web.drawings.sheet import ROW, DrawingSheet, length

WIDE, DEEP = 640.0, 620.0  # of the sheet, and of the part on it at most: letters print at 9 point
AROUND = 64.0  # left and right of the part, for marks and dimensions
DIMENSIONED = 44.0  # how far out its dimensions stand, clear of the marks at its eaves
KEY_WIDE = 5  # entries of the key in a row
OUT = 17.0  # how far outside its eave the mark of a bracing line or downspout stands
LINE_TEXT = (11.0, 15.2)  # how high a mark is, and one that is read up the sheet
SHORT = "Marks: F3 is P1.F3 of posts and U1.F3 of purlins; XF2 is X1.F2, BF1 is B1.F1, DF is D1.F."
NUMBERED = "Posts of a line, and what else is alike, are numbered from the left or the front edge."
PANELS = (
    "Panels (S), not drawn, run up from the eave; the first is set at the left or the front edge."
)


def part_plan(framing: Framing, system: System, place: int, prefix: str = "part-plan") -> str:
    """Return the plan of one part with the mark of every line.

    Parameters
    ----------
    framing : Framing
        The survey.
    system : "ip" or "si"
        Units of the dimensions.
    place : int
        Place of the part in the survey, from 0.
    prefix : str
        Begins the ids of the drawing.
    """
    roof = roof_frame(framing)
    key = [one for one in key_of(roof) if not one[0].startswith("section")]
    rows = -(-len(key) // KEY_WIDE)
    notes = (SHORT.replace("1.", f"{place + 1}."), NUMBERED, PANELS)
    drawn = _PartDrawing(roof, place, ROW * (rows + len(notes) + 1) + DIMENSIONED + 18)
    part = drawn.parts[0]
    title = f"Plan of part {place + 1}: {part_size(part, system)}"
    sheet = DrawingSheet(WIDE, drawn.high, prefix, title, f"{title}. {' '.join(notes)}")
    drawn.lines(sheet)
    (left, front), (right, back) = drawn.at(*part.bounds[:2]), drawn.at(*part.bounds[2:])
    wide, deep = (length(part.extent(side)[0], system) for side in ("front", "left"))
    sheet.dimension(left, right, drawn.below - DIMENSIONED, wide)
    sheet.upright(front, back, drawn.left - DIMENSIONED, deep)
    draw_key(sheet, notes, key, KEY_WIDE, WIDE - 16)
    return str(sheet)


class _PartDrawing(PlanDrawing):
    """One part to scale, with what its posts stand on, and a mark on every line."""

    def __init__(self, roof: RoofFrame, place: int, below: float) -> None:
        super().__init__(roof, 1.0, below)
        self.parts = roof.parts[place : place + 1]
        self.shapes = roof.shapes[place : place + 1]
        self.falls = tuple(fall for fall in roof.falls if fall.frame.part.index == place)
        corners = np.reshape(self.parts[0].bounds, (2, 2))
        reached = np.vstack([corners, *(_run_ends(fall) for fall in self.falls)])
        self.corner, self.far = tuple(reached.min(axis=0).tolist()), reached.max(axis=0)
        wide, deep = (self.far - self.corner).tolist()
        self.scale = min((WIDE - 2 * AROUND) / wide, DEEP / deep)
        self.left = (WIDE - wide * self.scale) / 2
        self.high = below + deep * self.scale + OUT + 2 * MARK_HIGH
        self.turns, self.letters = True, LINE_TEXT
        self.post = {**POST, "stroke_width": "4"}
        places = np.hstack([np.zeros((2, 0)), *(
            fall.frame.post_places(fall.lines) for fall in self.falls if fall.posts)])  # fmt: skip
        self.posts = np.array([[self.left], [below]]) + self.scale * (places.T - self.corner).T

    def holds(self, *points: Sequence[float]) -> bool:
        """Tell whether points of the plan are on the drawing."""
        low, high = np.array(self.corner) - TOUCH_M, self.far + TOUCH_M
        return bool(np.all((low <= points) & (points <= high)))

    def marks(self, sheet: DrawingSheet) -> None:
        """Write the marks of all that is drawn, each clear of posts and of other marks."""
        for fall in self.falls:
            lengths = fall.frame.brace_lengths_m.tolist()
            for number, (u, long) in enumerate(
                zip(fall.frame.brace_places_m.tolist(), lengths, strict=True), start=1
            ):
                if long:
                    mark = f"B{fall.frame.fall.side[0].upper()}{number}"
                    self.named(sheet, fall.frame, mark, self._outside(u))
        self._downspout_marks(sheet)
        for shape in self.shapes:
            self.ventilator_mark(sheet, shape)
        self.valley_marks(sheet)
        for fall in self.falls:
            side = fall.frame.fall.side[0].upper()
            for line in fall.lines:
                if line.runs:
                    self.named(sheet, fall.frame, f"{side}{line.number}", self._along_line(line))
            for number, (low, high, _, places) in enumerate(cross_places(fall), start=1):
                middles = (places[1:] + places[:-1]) / 2
                self.named(sheet, fall.frame, f"X{side}{number}",
                           [(u, (low + high) / 2) for u in middles.tolist()])  # fmt: skip

    def _along_line(self, line: PurlinLine) -> list[tuple[float, float]]:
        """Return where a line's mark may stand: between posts or its ends, then beyond them."""
        start, end = line.runs[0][0], line.runs[-1][1]
        posts = np.sort(line.posts_m) if len(line.posts_m) > 1 else np.linspace(start, end, 6)
        beyond = [at for step in (14.0, 34.0, 54.0)
                  for at in (start - step / self.scale, end + step / self.scale)]  # fmt: skip
        return [(u, line.from_eave_m)
                for u in (*((posts[1:] + posts[:-1]) / 2).tolist(), *beyond)]  # fmt: skip

    def hides(self, box: Box) -> bool:
        """Tell whether a mark would hide a post."""
        (left, foot, right, top), (x, y) = box, self.posts
        return bool(((x > left) & (x < right) & (y > foot) & (y < top)).any())

    def _downspout_marks(self, sheet: DrawingSheet) -> None:
        for frame, places in downspout_places(self.roof, drainage(self.roof)):
            number, mark = 1, f"D{frame.fall.side[0].upper()}"
            for first, _, count in even_runs(places) if frame.part in self.parts else ():
                off = (mark_wide(mark_range(mark, number, count)) / 2 + 6) / self.scale
                self.named(sheet, frame, mark_range(mark, number, count),
                            [*self._outside(first + off), *self._outside(first - off)])  # fmt: skip
                number += count

    def _outside(self, u: float) -> list[tuple[float, float]]:
        """Return places outside an eave, one farther out than the other."""
        return [(u, -far / self.scale) for far in (OUT, OUT + LINE_TEXT[1] + 1)]


def _run_ends(fall: FramedFall) -> np.ndarray:
    """Return the plan's x and y of the ends of all purlins of a fall."""
    ends = [fall.frame.place(u, line.from_eave_m)
            for line in fall.lines for run in line.runs for u in run]  # fmt: skip
    return np.reshape(ends, (-1, 2))
