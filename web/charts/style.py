"""Outlines of the chart markers, for the samples that stand beside a series' name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import altair as alt

_PATHS = {
    "circle": "M4 0A4 4 0 1 1-4 0A4 4 0 1 1 4 0Z",
    "square": "M-3.5-3.5H3.5V3.5H-3.5Z",
    "triangle-up": "M0-4.3 4.3 3.4H-4.3Z",
    "triangle-down": "M0 4.3-4.3-3.4H4.3Z",
    "triangle-right": "M4.3 0-3.4 4.3V-4.3Z",
    "diamond": "M0-5 4 0 0 5-4 0Z",
    "cross": "M-1.5-4.5h3v3h3v3h-3v3h-3v-3h-3v-3h3Z",
}


def marker_path(marker: str) -> str:
    """Return the outline of a marker around its centre, as SVG path data."""
    return _PATHS[marker]


INK, MUTED, GRID, PAPER = "#14212b", "#51606c", "#e4e9ed", "#ffffff"

# Okabe and Ito's colour-blind-safe set (2008), only those with 3:1 on white, yellow-greens left
# out; orange and green are darkened, so that words in their colours can be read. Each also has a
# dash and a marker, so that colour is never alone.
TODAY = "today"
_LOOKS: dict[str, tuple[str, list[int], str]] = {
    "s0": ("#b94a00", [1, 0], "square"),
    "s1": ("#0072b2", [1, 0], "circle"),
    "s2": ("#007f5f", [2, 2], "triangle-up"),
    "s3": ("#a3488a", [9, 3, 2, 3], "diamond"),
    "s4": ("#14212b", [4, 2], "triangle-down"),
    "s5": ("#6b5b00", [12, 4], "cross"),
    TODAY: ("#6b7883", [5, 2, 1, 2], "triangle-down"),
}
PADDING = {"left": 2, "right": 2, "top": 8, "bottom": 2}  # px; room for half a label on top
FONT = "'Liberation Sans', Arial, Helvetica, sans-serif"


def look(series_id: str) -> tuple[str, list[int], str]:
    """Return colour, dash and marker of a series.

    After six the alternatives take colours again, with a dash of another; none looks like the
    base case, s0.
    """
    if series_id in _LOOKS:
        return _LOOKS[series_id]
    again = int(series_id[1:]) - 1
    colour, _, marker = _LOOKS[f"s{1 + again % 5}"]
    _, dash, _ = _LOOKS[f"s{1 + (again + again // 5) % 5}"]
    return colour, dash, marker


def color(ids: Sequence[str]) -> alt.Color:
    """Return the colour channel of the series `ids`, without a legend."""
    return alt.Color("series:N", legend=None, scale=_scale(ids, 0))


def dash(ids: Sequence[str]) -> alt.StrokeDash:
    """Return the dash channel of the series `ids`."""
    return alt.StrokeDash("series:N", legend=None, scale=_scale(ids, 1))


def shape(ids: Sequence[str]) -> alt.Shape:
    """Return the marker channel of the series `ids`."""
    return alt.Shape("series:N", legend=None, scale=_scale(ids, 2))


def money_axis(**options: Any) -> alt.Axis:
    """Return an axis in thousands and millions of currency."""
    zero = "datum.value === 0 ? '$0' : datum.label"
    return alt.Axis(format="$~s", labelExpr=zero, labelOverlap=True, **options)


# A title that lies over its axis, where it is read first.
ON_TOP: dict[str, Any] = {"titleAngle": 0, "titleBaseline": "bottom", "titleAlign": "left",
                          "titleAnchor": "start", "titleY": -14, "titleX": 0}  # fmt: skip


def count_axis(**options: Any) -> alt.Axis:
    """Return an axis of plain numbers, in thousands where they are large."""
    large = "abs(datum.value) >= 10000 ? format(datum.value, '~s') : format(datum.value, ',~r')"
    return alt.Axis(labelExpr=large, **ON_TOP, **options)


def _scale(ids: Sequence[str], which: int) -> alt.Scale:
    return alt.Scale(domain=list(ids), range=[look(one)[which] for one in ids])


def dressed(chart: alt.LayerChart | alt.FacetChart | alt.Chart, height: int) -> dict[str, Any]:
    """Return the specification of `chart` with the theme, as wide as its container.

    Parameters
    ----------
    chart : altair.Chart, altair.LayerChart or altair.FacetChart
        Chart on named data, so that the specification stays free of figures.
    height : int
        Height of the plot [px].
    """
    spec = chart.properties(
        width="container",
        height=height,
        autosize=alt.AutoSizeParams(type="fit-x", contains="padding"),
    ).to_dict(validate=False)
    return {**spec, "config": CONFIG, "background": None, "padding": PADDING}


_AXIS = {
    "labelColor": MUTED,
    "titleColor": MUTED,
    "labelFontSize": 11.5,
    "titleFontSize": 11.5,
    "titleFontWeight": 400,
    "gridColor": GRID,
    "domainColor": "#a9b4bd",
    "tickColor": "#a9b4bd",
    "labelPadding": 5,
    "titlePadding": 9,
}
CONFIG: dict[str, Any] = {
    "font": FONT,
    # The figure names the picture; thousands of marks need no names of their own.
    "aria": False,
    "mark": {"aria": False},
    "view": {"stroke": None},
    "axis": _AXIS,
    "axisX": {"grid": False, "tickSize": 4},
    "axisY": {"domain": False, "ticks": False, "tickCount": 5},
    "line": {"strokeWidth": 2.25, "strokeCap": "butt"},
    "point": {"filled": True, "size": 46, "opacity": 1},
    "text": {"color": INK, "fontSize": 11.5},
    "rule": {"color": MUTED},
}
