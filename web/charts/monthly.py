"""Cooling and heating of the space under the roof by month."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import altair as alt

from api import units
from web import format as fmt
from web.charts import energy_chart, style
from web.charts.figure import Figure, Reply, Row, Series, against_base, pivot

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_KINDS = {"cooling_electricity": "electricity", "heating_electricity": "electricity",
          "gas": "gas_energy"}  # fmt: skip
_TITLES = {
    "cooling_electricity": "Cooling by month",
    "heating_electricity": "Heating by month",
    "gas": "Heating by month",
}
_VERBS = {
    "cooling_electricity": "cooling electricity",
    "heating_electricity": "heating electricity",
    "gas": "gas for heating",
}


def figures(reply: Reply) -> list[Figure]:
    """Return a chart of cooling and one of heating, each where there is any."""
    named = energy_chart.states(reply)
    return [
        _figure(reply, what, named) for what in _KINDS if any(_total(y, what) for _, y in named)
    ]


def _figure(reply: Reply, what: str, named: Sequence[tuple[Series, Reply]]) -> Figure:
    kind = _KINDS[what]
    unit = units.unit(kind, reply["units"]).display
    series = tuple(
        Series(one.id, one.name, f"{fmt.shown(_total(year, what), kind)} {unit}")
        for one, year in named
    )
    rows = [row for one, year in named for row in _rows(one, year["monthly"][what], kind)]
    return Figure(
        key=what.replace("_", "-"),
        title=_TITLES[what],
        reading=reading(reply, what, unit),
        spec=_spec(what, energy_chart.ids_of(named), unit),
        data={what: rows},
        table=pivot(rows, series, "month", f"Month, {unit}"),
        series=series,
    )


def reading(reply: Reply, what: str, unit: str) -> str:
    """Return how the cheapest alternative changes a year's energy against the base case."""
    base, other = against_base(reply)
    change = _total(energy_chart.typical(other), what) - _total(energy_chart.typical(base), what)
    amount = fmt.shown(abs(change), _KINDS[what])
    if amount == "0":
        return f"Both roofs use the same {_VERBS[what]} in a typical year."
    more = "more" if change > 0 else "less"
    return (
        f"In a typical year “{other['name']}” uses {amount} {unit} {more} {_VERBS[what]} "
        f"than “{base['name']}”."
    )


def _total(year: Reply, what: str) -> float:
    total: float = year[what]
    return total


def _rows(one: Series, values: Sequence[float], kind: str) -> list[Row]:
    return [
        {
            "month": month,
            "series": one.id,
            "name": one.name,
            "energy": fmt.rounded(value, kind),
            "shown": fmt.shown(value, kind),
        }
        for month, value in zip(MONTHS, values, strict=True)
    ]


@lru_cache(maxsize=32)
def _spec(what: str, ids: tuple[str, ...], unit: str) -> dict[str, Any]:
    initial = "substring(datum.label, 0, 1)"
    base = alt.Chart(alt.NamedData(what)).encode(
        x=alt.X(
            "month:O",
            sort=list(MONTHS),
            title=None,
            scale=alt.Scale(type="point", padding=0.4),
            axis=alt.Axis(labelExpr=initial, labelAngle=0),
        ),
        y=alt.Y("energy:Q", title=unit, axis=style.count_axis()),
        color=style.color(ids),
    )
    marks = base.mark_point().encode(
        shape=style.shape(ids),
        tooltip=[
            alt.Tooltip("name:N", title="Roof"),
            alt.Tooltip("month:O", title="Month"),
            alt.Tooltip("shown:N", title=unit),
        ],
    )
    return style.dressed(alt.layer(base.mark_line().encode(strokeDash=style.dash(ids)), marks), 210)
