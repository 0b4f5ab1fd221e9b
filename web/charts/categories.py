"""What the money is spent on: present value by category, alternative beside alternative."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import altair as alt

from web import format as fmt
from web.charts import style
from web.charts.figure import Figure, Reply, Row, Series, against_base, pivot, series_of


def figure(reply: Reply) -> Figure:
    """Return the present value of each category of cost, largest category first."""
    series = series_of(reply)
    rows = _rows(reply, series)
    names = list(dict.fromkeys(row["category"] for row in rows))
    return Figure(
        key="categories",
        title="Where the money goes",
        reading=reading(reply),
        spec=_spec(tuple(one.id for one in series), len(names)),
        data={"categories": rows},
        table=pivot(rows, series, "category", "Present value"),
        series=series,
    )


def reading(reply: Reply) -> str:
    """Return in which category the cheapest alternative saves and costs most."""
    base, other = (_by_name(alternative) for alternative in against_base(reply))
    more = {name: other.get(name, 0.0) - base.get(name, 0.0) for name in {**base, **other}}
    dearest, cheapest = max(more, key=more.__getitem__), min(more, key=more.__getitem__)
    names = [alternative["name"] for alternative in against_base(reply)]
    return (
        f"Against “{names[0]}”, “{names[1]}” spends {_more(more[dearest])} on {dearest.lower()} "
        f"and {_more(more[cheapest])} on {cheapest.lower()}."
    )


def _more(amount: float) -> str:
    return f"{fmt.shown(abs(amount), 'money')} {'more' if amount >= 0 else 'less'}"


def _by_name(alternative: Reply) -> dict[str, float]:
    return {cost["name"]: cost["present_value"] for cost in alternative["costs"]}


def _rows(reply: Reply, series: Sequence[Series]) -> list[Row]:
    costs = [_by_name(alternative) for alternative in reply["alternatives"]]
    names = dict.fromkeys(name for line in costs for name in line)
    size = {name: max(abs(line.get(name, 0.0)) for line in costs) for name in names}
    return [
        {
            "category": name,
            "series": one.id,
            "name": one.name,
            "cost": fmt.rounded(line.get(name, 0.0), "money"),
            "shown": fmt.shown(line.get(name, 0.0), "money"),
        }
        for name in sorted(names, key=lambda name: -size[name])
        if size[name] >= 0.5
        for one, line in zip(series, costs, strict=True)
    ]


@lru_cache(maxsize=32)
def _spec(ids: tuple[str, ...], count: int) -> dict[str, Any]:
    rows = alt.Chart(alt.NamedData("categories")).encode(
        y=alt.Y(
            "category:N",
            sort=None,
            title=None,
            scale=alt.Scale(paddingInner=0.5),
            axis=alt.Axis(labelLimit=150, labelColor=style.INK),
        )
    )
    span = rows.mark_rule(strokeWidth=3, color=style.GRID).encode(
        x=alt.X("min(cost):Q"), x2="max(cost):Q"
    )
    marks = rows.mark_point(size=70, stroke=style.PAPER, strokeWidth=0.5).encode(
        x=alt.X("cost:Q", title=None, axis=style.money_axis(grid=True)),
        color=style.color(ids),
        shape=style.shape(ids),
        yOffset=alt.YOffset("series:N", sort=list(ids)),
        tooltip=[
            alt.Tooltip("name:N", title="Alternative"),
            alt.Tooltip("category:N", title="Category"),
            alt.Tooltip("shown:N", title="Present value"),
        ],
    )
    return style.dressed(alt.layer(span, marks), (20 + 8 * len(ids)) * count)
