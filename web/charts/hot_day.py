"""The hottest day: heat through the roof into the space."""

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import altair as alt

from lcc import units
from web import format as fmt
from web.charts import style
from web.charts.figure import Figure, Reply, Row, Series, pivot, states, subject
from web.charts.palette import TODAY


def figure(reply: Reply) -> Figure:
    """Return the heat flow of every roof over the hot day; drawn are those the answer speaks of."""
    named = states(reply)
    other = f"s{subject(reply)}"
    told = {TODAY, "s0", other}
    drawn = [pair for pair in named if pair[0].id in told]
    unit = units.unit("flux", reply["units"]).display
    rows = [row for one, year in named for row in _rows(one, year["hot_day"]["roof_flux"])]
    peaks = {one.id: max(year["hot_day"]["roof_flux"]) for one, year in named}
    series = tuple(
        Series(one.id, one.name, f"peak {fmt.shown(peaks[one.id], 'flux')} {unit}")
        for one, _ in named
    )
    first, second = named[0], next(pair for pair in named if pair[0].id == other)
    return Figure(
        key="heat-flow",
        title="Heat through the roof on a hot day",
        reading=(
            f"On {first[1]['hot_day']['date']} the most heat that comes in is "
            f"{fmt.shown(peaks[first[0].id], 'flux')} {unit} under “{first[0].name}” and "
            f"{fmt.shown(peaks[second[0].id], 'flux')} under “{second[0].name}”."
        ),
        spec=_spec(tuple(one.id for one, _ in drawn), unit),
        data={"heat_flow": [row for row in rows if row["series"] in told]},
        table=pivot(rows, series, "hour", f"Hour, {unit}"),
        series=tuple(one for one in series if one.id in told),
    )


def _rows(one: Series, fluxes: Sequence[float]) -> list[Row]:
    return [
        {"hour": hour, "series": one.id, "name": one.name,
         "value": fmt.rounded(flux, "flux"), "shown": fmt.shown(flux, "flux")}
        for hour, flux in enumerate(fluxes)
    ]  # fmt: skip


@lru_cache(maxsize=32)
def _spec(ids: tuple[str, ...], unit: str) -> dict[str, Any]:
    hours = (
        "datum.value % 24 === 0 ? 'midnight' : datum.value === 12 ? 'noon' : datum.value + ':00'"
    )
    base = alt.Chart(alt.NamedData("heat_flow")).encode(
        x=alt.X("hour:Q", title=None, scale=alt.Scale(domain=[0, 24]),
                axis=alt.Axis(values=[0, 6, 12, 18, 24], labelExpr=hours, labelFlush=True)),
        y=alt.Y("value:Q", title=unit, scale=alt.Scale(zero=True),
                axis=style.count_axis()),
        color=style.color(ids),
    )  # fmt: skip
    lines = base.mark_line().encode(strokeDash=style.dash(ids))
    marks = (
        base.transform_filter("datum.hour % 3 === 0")
        .mark_point()
        .encode(shape=style.shape(ids), tooltip=style.tips(name="Roof", hour="Hour", shown=unit))
    )
    return style.dressed(alt.layer(lines, marks), 210)
