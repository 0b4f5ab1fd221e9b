"""How the charts look: channels, axes and the theme."""

from collections.abc import Sequence
from typing import Any

import altair as alt

from web.charts.palette import GRID, INK, MUTED, look

PADDING = {"left": 2, "right": 2, "top": 8, "bottom": 2}  # px; room for half a label on top
FONT = "'Liberation Sans', Arial, Helvetica, sans-serif"


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


def tips(**titles: str) -> list[alt.Tooltip]:
    """Return the tooltip of a mark: fields of its row, each under its title."""
    return [alt.Tooltip(f"{name}:N", title=title) for name, title in titles.items()]


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
