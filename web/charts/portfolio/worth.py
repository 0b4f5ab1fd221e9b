"""Net savings against first cost, each roof a mark."""

from functools import lru_cache
from typing import Any

import altair as alt

from web.charts import style
from web.charts.figure import Figure, Series, Table
from web.charts.portfolio.ranked import NAMES
from web.charts.portfolio.roofs import MOST_MARKS, Roofs, cost_axis, savings_axis
from web.format import money


def figure(roofs: Roofs) -> Figure:
    """Return every result by what it costs and what it saves."""
    rows = [
        {
            "name": row["name"],
            "alternative": row["alternative"],
            "first_cost": row["first_cost"],
            "net_savings": row["net_savings"],
            "cost": money(row["first_cost"]),
            "saved": money(row["net_savings"]),
            "series": roofs.series(row),
        }
        for row in roofs.rows
        if row["first_cost"] is not None
    ]
    kept = sorted(rows, key=lambda row: row["net_savings"], reverse=True)[:MOST_MARKS]
    present = {row["series"] for row in kept}
    return Figure(
        key="worth",
        title="Net savings against first cost",
        reading=reading(rows),
        spec=_spec(),
        data={"worth": kept},
        table=Table(
            ("Roof", "Alternative", "First cost", "Net savings"),
            tuple(
                (row["name"], row["alternative"], row["cost"], row["saved"]) for row in kept[:100]
            ),
        ),
        series=tuple(Series(one, name) for one, name in NAMES.items() if one in present),
    )


def reading(rows: list[dict[str, Any]]) -> str:
    """Return the chart in one sentence: what a dollar of first cost brings at best."""
    paid = [row for row in rows if row["first_cost"] > 0 and row["net_savings"] > 0]
    if not paid:
        return "No alternative that costs anything saves anything."
    best = max(paid, key=lambda row: row["net_savings"] / row["first_cost"])
    ratio = best["net_savings"] / best["first_cost"]
    return (
        f"The most for its money is “{best['name']}”: each dollar of first cost brings "
        f"${ratio:,.2f} of net savings."
    )


@lru_cache(maxsize=1)
def _spec() -> dict[str, Any]:
    ids = tuple(NAMES)
    marks = (
        alt.Chart(alt.NamedData("worth"))
        .mark_point(opacity=0.8, size=44)
        .encode(
            x=alt.X("first_cost:Q", title="First cost", axis=cost_axis()),
            y=alt.Y("net_savings:Q", axis=savings_axis()),
            color=style.color(ids),
            shape=style.shape(ids),
            tooltip=style.tips(name="Roof", alternative="Alternative", cost="First cost",
                               saved="Net savings"),
        )
    )  # fmt: skip
    zero = alt.Chart(alt.NamedData("worth")).mark_rule(strokeWidth=1).encode(y=alt.datum(0))
    return style.dressed(alt.layer(zero, marks), 260)
