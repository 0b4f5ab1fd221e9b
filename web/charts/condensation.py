"""How long the underside of a metal panel is cold enough for dew, and how long it stays wet."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import altair as alt

from api import units
from web import format as fmt
from web.charts import energy_chart, style
from web.charts.figure import Figure, Reply, Row, Series, pivot, series_of

MEASURES = {
    "hours_below_dew_point": "Below the dew point",
    "hours_wet": "Wet",
    "longest_wet_spell": "Longest wet spell",
}


def figures(reply: Reply) -> list[Figure]:
    """Return the hours of condensation, or nothing where no roof has a panel over a cavity."""
    wet = [
        (one, year["condensation"])
        for one, alternative in zip(series_of(reply), reply["alternatives"], strict=True)
        if (year := energy_chart.typical(alternative))["condensation"]
    ]
    return [_figure(reply, wet)] if wet else []


def _figure(reply: Reply, wet: Sequence[tuple[Series, Reply]]) -> Figure:
    rows = [row for one, result in wet for row in _rows(one, result)]
    series = tuple(one for one, _ in wet)
    return Figure(
        key="condensation",
        title="Dew under the metal panel",
        reading=reading(reply, *wet[0]),
        spec=_spec(tuple(one.id for one in series)),
        data={"condensation": rows},
        table=pivot(rows, series, "measure", "Hours in a year"),
        series=series,
    )


def reading(reply: Reply, one: Series, result: Reply) -> str:
    """Return the hours below the dew point and the thickest film in one sentence."""
    unit = units.unit("film", reply["units"]).display
    return (
        f"The underside of “{one.name}” is below the dew point for "
        f"{fmt.shown(result['hours_below_dew_point'], 'hours')} hours of a year; the longest wet "
        f"spell lasts {fmt.shown(result['longest_wet_spell'], 'hours')} hours and the thickest "
        f"film weighs {fmt.shown(result['peak_film'], 'film')} {unit}{_drying(result)}."
    )


def _drying(result: Reply) -> str:
    """How long the water stated in the old roof takes to leave, ventilated and sealed."""
    if not result["drying"]:
        return ""
    vented, sealed = (_days(result[key]) for key in ("drying", "drying_sealed"))
    return f"; the water stated in the old roof leaves {vented}, under a sealed cavity {sealed}"


def _days(drying: Reply | None) -> str:
    days = drying and drying["days_to_dry"]
    return f"in about {fmt.shown(days, 'count')} days" if days else "never"


def _rows(one: Series, result: Reply) -> list[Row]:
    return [
        {
            "measure": label,
            "series": one.id,
            "name": one.name,
            "hours": fmt.rounded(result[key], "hours"),
            "shown": fmt.shown(result[key], "hours"),
        }
        for key, label in MEASURES.items()
    ]


@lru_cache(maxsize=16)
def _spec(ids: tuple[str, ...]) -> dict[str, Any]:
    base = alt.Chart(alt.NamedData("condensation")).encode(
        y=alt.Y("measure:N", sort=list(MEASURES.values()), title=None,
                axis=alt.Axis(labelColor=style.INK)),
        yOffset=alt.YOffset("series:N", sort=list(ids)),
        x=alt.X("hours:Q", title="hours in a year", axis=alt.Axis(grid=True, format=",~r"),
                scale=alt.Scale(domainMin=0)),
    )  # fmt: skip
    bars = base.mark_bar(height=9, cornerRadiusEnd=2).encode(
        color=style.color(ids),
        tooltip=[alt.Tooltip("name:N", title="Roof"), alt.Tooltip("shown:N", title="Hours")],
    )
    told = base.mark_text(align="left", dx=6).encode(text="shown:N")
    return style.dressed(alt.layer(bars, told), 44 * len(MEASURES))
