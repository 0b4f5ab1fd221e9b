"""The framing in plan: eaves, ridges, purlins, posts, bracing and ventilators at their places."""

from __future__ import annotations

from lcc import units
from lcc.case.framing import Framing
from lcc.quantities.framing_layout import Layout, layouts
from lcc.quantities.openings import ventilators
from lcc.units import System
from web.drawings.sheet import BLUE, GREEN, INK, MARGIN, MUTED, ORANGE, ROW, WIDE, DrawingSheet
from web.format import shown

LEAST_GAP = 3.0  # posts closer than this many units of the drawing run into each other


def plan(framing: Framing, system: System, prefix: str = "framing-plan") -> str:
    """Return the plan of all rectangles: eaves, ridges, purlins, posts, bracing and ventilators.

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
    To one scale. Posts are dots at their places; where they would run into each other they are
    left out and the description says so.
    """
    boxes = framing.rectangles
    right = max(box.x_m + box.length_m for box in boxes)
    back = max(box.y_m + box.width_m for box in boxes)
    scale = (WIDE - MARGIN) / max(right, back)
    below = ROW * (len(boxes) + 3)
    drawn = [_Plan(each, scale, below) for each in layouts(framing)]
    reading = _plan_reading(framing, all(each.shows_posts for each in drawn), system)
    sheet = DrawingSheet(WIDE, back * scale + below + ROW, prefix, "Framing plan", reading)
    for each in drawn:
        each.lines(sheet)
    for number, each in enumerate(drawn, start=1):
        each.number(sheet, number)
        text = f"{number}: {_size(each.layout, system)}"
        sheet.words(MARGIN / 2, below - ROW * (number + 1), text, "start")
    _legend(sheet)
    return str(sheet)


def _plan_reading(framing: Framing, with_posts: bool, system: System) -> str:
    sizes = "; ".join(_size(each, system) for each in layouts(framing))
    hidden = "" if with_posts else " Posts stand too close to be shown at this scale."
    return f"Rectangles: {sizes}. The front is at the bottom.{hidden}"


class _Plan:
    """One rectangle of the plan, drawn along its eave (u) and down from its eave (v)."""

    def __init__(self, layout: Layout, scale: float, below: float) -> None:
        self.layout, self.scale, self.below = layout, scale, below
        self.whole = layout.run_m * layout.falls
        gaps = layout.eave_m / (layout.posts_in_row - 1), float(layout.from_eave_m[1])
        self.shows_posts = min(gaps) * scale >= LEAST_GAP

    def at(self, u: float, v: float) -> tuple[float, float]:
        """Return the place of a point `u` along the eave and `v` from the low side."""
        box, low = self.layout.rectangle, self.layout.rectangle.drains_to
        v = self.whole - v if low in ("back", "right") else v
        x, y = (u, v) if self.layout.across else (v, u)
        across, up = (box.x_m + x) * self.scale, (box.y_m + y) * self.scale
        return MARGIN / 2 + across, self.below + up

    def across(self, sheet: DrawingSheet, v: float, part: str, **look: str) -> None:
        """Draw a line along the eave, `v` from the low side."""
        sheet.path([self.at(0, v), self.at(self.layout.eave_m, v)], part, **look)

    def lines(self, sheet: DrawingSheet) -> None:
        """Draw the framing."""
        self._purlins(sheet)
        self._bracing(sheet)
        self._edges(sheet)
        self._top(sheet)

    def _lines(self) -> list[float]:
        one = [float(v) for v in self.layout.from_eave_m]
        return one if self.layout.falls == 1 else [*one, *(self.whole - v for v in one[:-1])]

    def _purlins(self, sheet: DrawingSheet) -> None:
        gap = self.layout.eave_m / (self.layout.posts_in_row - 1) * self.scale
        for v in self._lines():
            self.across(sheet, v, "purlin", stroke=MUTED, stroke_width="0.6")
            if self.shows_posts:
                # Round caps of dashes without length are dots at the posts' exact spacing.
                self.across(sheet, v, "post", stroke=INK, stroke_width="2.4",
                            stroke_linecap="round", stroke_dasharray=f"0 {gap:.4f}")  # fmt: skip

    def _bracing(self, sheet: DrawingSheet) -> None:
        lines = self.layout.bracing_lines
        for k in range(lines):
            u = self.layout.eave_m * k / (lines - 1)
            sheet.path([self.at(u, 0), self.at(u, self.whole)], "brace", stroke=ORANGE,
                       stroke_width="1.8", stroke_dasharray="6 3")  # fmt: skip

    def _edges(self, sheet: DrawingSheet) -> None:
        corners = [self.at(0, 0), self.at(self.layout.eave_m, 0),
                   self.at(self.layout.eave_m, self.whole), self.at(0, self.whole)]  # fmt: skip
        sheet.path([*corners, corners[0]], "rake", stroke=INK, stroke_width="1.2")
        for v in (0.0, self.whole) if self.layout.falls == 2 else (0.0,):
            self.across(sheet, v, "eave", stroke=BLUE, stroke_width="4.5")

    def _top(self, sheet: DrawingSheet) -> None:
        v = self.layout.run_m
        if self.layout.falls == 2:
            self.across(sheet, v, "ridge", stroke=BLUE, stroke_width="2", stroke_dasharray="12 4")
        count = ventilators(self.layout)
        if count:
            step = self.layout.eave_m / count * self.scale
            dash = f"{min(7.0, step / 2):.4f}"
            gap = f"{step - min(7.0, step / 2):.4f}"
            start = f"{min(7.0, step / 2) / 2 - step / 2:.4f}"
            self.across(sheet, v, "ventilator", stroke=GREEN, stroke_width="7",
                        stroke_dasharray=f"{dash} {gap}", stroke_dashoffset=start)  # fmt: skip

    def number(self, sheet: DrawingSheet, number: int) -> None:
        """Write the rectangle's number, clear of the ridge."""
        x, y = self.at(self.layout.eave_m / 2, self.whole * 0.27)
        half = 4 + 4 * len(str(number))
        box = [(x - half, y - 5), (x + half, y - 5), (x + half, y + 14), (x - half, y + 14)]
        sheet.path(box, "number", fill="#fff", stroke=INK, stroke_width="0.8")
        sheet.words(x, y, str(number))


def _size(layout: Layout, system: System) -> str:
    box = layout.rectangle
    sizes = (units.from_core(each, "length", system) for each in (box.length_m, box.width_m))
    text = " × ".join(shown(each, "length") for each in sizes)
    if layout.falls == 1:
        fall = f"one fall to the {box.drains_to}"
    else:
        fall = "falls to front and back" if layout.across else "falls to left and right"
    return f"{text} {units.unit('length', system).display}, {fall}"


def _legend(sheet: DrawingSheet) -> None:
    entries = (
        ("eave", {"stroke": BLUE, "stroke_width": "4.5"}),
        ("ridge", {"stroke": BLUE, "stroke_width": "2", "stroke_dasharray": "12 4"}),
        ("bracing", {"stroke": ORANGE, "stroke_width": "1.8", "stroke_dasharray": "6 3"}),
        ("ventilators", {"stroke": GREEN, "stroke_width": "7", "stroke_dasharray": "7 5"}),
        ("posts", {"stroke": INK, "stroke_width": "2.4", "stroke_linecap": "round",
                   "stroke_dasharray": "0 6"}),
    )  # fmt: skip
    for k, (name, look) in enumerate(entries):
        x = MARGIN / 2 + k * (WIDE - MARGIN) / len(entries)
        sheet.path([(x, 12), (x + 24, 12)], f"legend-{name}", **look)
        sheet.words(x + 28, 8, name, "start")
