"""The framing in section: posts, purlins and panel down the falls of one rectangle."""

from __future__ import annotations

from lcc.case.framing import Framing
from lcc.quantities.framing_layout import Layout, layouts
from lcc.quantities.openings import ventilators
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
    length,
    slope_words,
)

MOST_HIGH = 300.0  # of a section before its scale is reduced
STRETCH = (20, 15, 10, 8, 5, 4, 3, 2, 1)
STRETCHED_HIGH = 150.0


def section(
    framing: Framing, system: System, rectangle: int = 0, prefix: str = "framing-section"
) -> str:
    """Return the section down the falls of one rectangle, eave to eave or eave to high edge.

    Parameters
    ----------
    framing : Framing
        The survey.
    system : "ip" or "si"
        Units of the dimensions.
    rectangle : int
        Which rectangle of the survey, from 0.
    prefix : str
        Begins the ids of the drawing.

    Notes
    -----
    Drawn to one scale along and one up. Where a low roof would be a line, heights are stretched
    by a whole number, and the drawing says so.
    """
    layout = layouts(framing)[rectangle]
    across = layout.run_m * layout.falls
    top = layout.eave_height_m + layout.rise_m
    along = min((WIDE - 2 * MARGIN) / across, MOST_HIGH / top)
    stretch = next(k for k in (*STRETCH, 1) if k == 1 or top * along * k <= STRETCHED_HIGH)
    sheet = DrawingSheet(
        WIDE, top * along * stretch + 2 * MARGIN + 2 * ROW, prefix,
        f"Section of rectangle {rectangle + 1}", _section_reading(layout, stretch, system),
    )  # fmt: skip
    draw = _Section(sheet, layout, along, along * stretch)
    draw.all(system, stretch)
    return str(sheet)


def _section_reading(layout: Layout, stretch: int, system: System) -> str:
    form = "From eave to ridge to eave" if layout.falls == 2 else "From eave to high edge"
    heights = (
        f"from {length(layout.heights_m[0], system)} to {length(layout.heights_m[-1], system)}"
    )
    scale = f" Heights are drawn {stretch} times as large as lengths." if stretch > 1 else ""
    return (
        f"{form}: {len(layout.from_eave_m)} purlin lines a fall on posts {heights} high, panel "
        f"at {slope_words(layout.framing.slope, system)} over the old roof.{scale}"
    )


class _Section:
    """The parts of a section, placed by plan distance and height."""

    def __init__(self, sheet: DrawingSheet, layout: Layout, along: float, up: float) -> None:
        self.sheet, self.layout, self.along, self.up = sheet, layout, along, up
        self.across = layout.run_m * layout.falls
        self.left = (WIDE - self.across * along) / 2
        self.base = MARGIN + ROW

    def at(self, distance_m: float, height_m: float) -> tuple[float, float]:
        return self.left + distance_m * self.along, self.base + height_m * self.up

    def all(self, system: System, stretch: int) -> None:
        self._old_roof()
        self._posts()
        self._panel()
        self._ventilator()
        self._dimensions(system, stretch)

    def _old_roof(self) -> None:
        deep = self.layout.framing.insulation_thickness_m or 0.0
        right = self.across
        if deep:
            corners = [self.at(0, 0), self.at(right, 0), self.at(right, deep), self.at(0, deep)]
            self.sheet.path(corners, "insulation", fill=GREEN, fill_opacity="0.25", stroke=GREEN)
        (x1, y), (x2, _) = self.at(0, 0), self.at(right, 0)
        self.sheet.path([(x1 - 8, y), (x2 + 8, y)], "old-roof", stroke=INK, stroke_width="5")

    def _posts(self) -> None:
        depth = self.layout.framing.purlin_depth_m
        places = zip(self.layout.from_eave_m, self.layout.heights_m, strict=True)
        for distance, height in places:
            sides = [distance] if self.layout.falls == 1 else [distance, self.across - distance]
            for side in dict.fromkeys(round(float(each), 9) for each in sides):
                foot, head = self.at(side, 0), self.at(side, float(height))
                self.sheet.path([foot, head], "post", stroke=INK, stroke_width="1.5")
                above = self.at(side, float(height) + depth)
                self.sheet.path([head, above], "purlin", stroke=ORANGE, stroke_width="4")

    def _panel(self) -> None:
        low = self.layout.eave_height_m
        high = low + self.layout.rise_m
        points = [self.at(0, low), self.at(self.layout.run_m, high)]
        if self.layout.falls == 2:
            points.append(self.at(self.across, low))
        self.sheet.path(points, "panel", stroke=BLUE, stroke_width="3.5", stroke_linejoin="round")

    def _ventilator(self) -> None:
        if not ventilators(self.layout):
            return
        x, y = self.at(self.layout.run_m, self.layout.eave_height_m + self.layout.rise_m)
        box = [(x - 6, y + 2), (x + 6, y + 2), (x + 6, y + 11), (x - 6, y + 11)]
        self.sheet.path(box, "ventilator", fill="#fff", stroke=BLUE, stroke_width="2")

    def _dimensions(self, system: System, stretch: int) -> None:
        layout, y = self.layout, self.base - 16
        for fall in range(layout.falls):
            (x1, _), (x2, _) = (self.at(layout.run_m * k, 0) for k in (fall, fall + 1))
            self.sheet.dimension(x1, x2, y, length(layout.run_m, system))
        x, top = self.at(0, layout.eave_height_m)
        self.sheet.words(x - 7, top - 5, length(layout.eave_height_m, system), "end")
        x, top = self.at(layout.run_m, layout.eave_height_m + layout.rise_m)
        anchor = "middle" if layout.falls == 2 else "end"
        high = length(layout.eave_height_m + layout.rise_m, system)
        self.sheet.words(
            x, top + 18, f"{high}, {slope_words(layout.framing.slope, system)}", anchor
        )
        note = f"Heights drawn {stretch} times as large" if stretch > 1 else "Heights to scale"
        self.sheet.words(WIDE / 2, 8, f"{note}; panel heights over the old roof")
