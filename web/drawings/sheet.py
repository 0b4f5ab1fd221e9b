"""A sheet on which the framing is drawn: lines, texts and dimensions, y upward, as SVG."""

from xml.etree import ElementTree as Xml

from lcc import units
from lcc.units import System
from web.charts import palette
from web.format import cut_length, shown

# The charts' own colours; dashes and shapes differ besides.
ORANGE, BLUE, GREEN = (palette.look(series)[0] for series in ("s0", "s1", "s2"))
INK, MUTED = palette.INK, palette.MUTED
WIDE, MARGIN, ROW = 520.0, 56.0, 18.0


class DrawingSheet:
    """An SVG being drawn, y upward from a base line in the drawing's own units."""

    def __init__(self, wide: float, high: float, prefix: str, title: str, reading: str) -> None:
        self.high = high
        self.root = Xml.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg", "role": "img", "class": "framing-drawing",
                "viewBox": f"0 0 {_n(wide)} {_n(high)}",
                "font-size": "12", "font-family": "sans-serif",
                "aria-labelledby": f"{prefix}-title {prefix}-desc",
            },
        )  # fmt: skip
        for tag, words in (("title", title), ("desc", reading)):
            Xml.SubElement(self.root, tag, {"id": f"{prefix}-{tag}"}).text = words

    def path(self, points: list[tuple[float, float]], part: str, **look: str) -> None:
        """Draw straight lines through points; an area where the look has a fill."""
        drawn = " ".join(f"{_n(x)},{_n(self.high - y)}" for x, y in points)
        tag = "polygon" if "fill" in look else "polyline"
        attributes = {name.replace("_", "-"): value for name, value in look.items()}
        Xml.SubElement(
            self.root, tag, {"class": part, "points": drawn, "fill": "none", **attributes}
        )

    def words(
        self, x: float, y: float, text: str, anchor: str = "middle", *, upright: bool = False
    ) -> None:
        """Write a text, to be read up the sheet where it is upright."""
        place = {"x": _n(x), "y": _n(self.high - y)}
        turned = {"transform": f"rotate(-90 {place['x']} {place['y']})"} if upright else {}
        Xml.SubElement(
            self.root, "text", {**place, "text-anchor": anchor, "fill": INK, **turned}
        ).text = text

    def dimension(self, x1: float, x2: float, y: float, text: str, off: float = 14) -> None:
        """Draw a level dimension line with end ticks, its text `off` below it."""
        self.path([(x1, y), (x2, y)], "dimension", stroke=MUTED)
        for x in (x1, x2):
            self.path([(x, y - 4), (x, y + 4)], "dimension", stroke=MUTED)
        self.words((x1 + x2) / 2, y - off, text)

    def upright(self, y1: float, y2: float, x: float, text: str, off: float = 6) -> None:
        """Draw an upright dimension line with end ticks, its text `off` to its left, read up."""
        self.path([(x, y1), (x, y2)], "dimension", stroke=MUTED)
        for y in (y1, y2):
            self.path([(x - 4, y), (x + 4, y)], "dimension", stroke=MUTED)
        self.words(x - off, (y1 + y2) / 2, text, upright=True)

    def __str__(self) -> str:
        return Xml.tostring(self.root, encoding="unicode")


def _n(value: float) -> str:
    return f"{round(value, 2) + 0.0:g}"


def length(value_m: float, system: System) -> str:
    """Return a length as people read it: ``120 ft``.

    Examples
    --------
    >>> length(36.576, "ip"), length(36.576, "si")
    ('120 ft', '36.6 m')
    """
    shown_value = shown(units.from_core(value_m, "length", system), "length")
    return f"{shown_value} {units.unit('length', system).display}"


def height(value_m: float, system: System) -> str:
    """Return a height as a tape reads it: in feet and inches, or as `length` in meters.

    Examples
    --------
    >>> print(height(0.254, "ip"), height(0.254, "si"))
    0'-10" 0.254 m
    """
    if system == "si":
        return length(value_m, system)
    return cut_length(units.from_core(value_m, "length", system), system)


def slope_words(slope: float, system: System) -> str:
    """Return a slope in the words of its system.

    Examples
    --------
    >>> slope_words(0.5 / 12, "ip"), slope_words(0.05, "si")
    ('0.5 in 12', '5%')
    """
    if system == "ip":
        return f"{shown(units.from_core(slope, 'slope', 'ip'), 'slope')} in 12"
    return f"{shown(100 * slope, 'slope')}%"
