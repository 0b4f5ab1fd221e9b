"""The roofs that save most, as bars."""

from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import altair as alt

from web.charts import style
from web.charts.figure import Figure, Series, Table
from web.charts.portfolio.roofs import CHOSEN, COSTS, SAVES, Roofs, Row, label
from web.format import money, said

MOST_BARS = 20
NAMES = {CHOSEN: "In the best set", SAVES: "Saves", COSTS: "Costs more"}


def figure(roofs: Roofs) -> Figure:
    """Return the roofs of greatest net savings, each with its best alternative."""
    top = roofs.best[:MOST_BARS]
    rows = [
        {
            "place": place,
            "roof": f"{row['building']} {words}",
            "full": row["name"],
            "alternative": row["alternative"],
            "net_savings": row["net_savings"],
            "shown": money(row["net_savings"]),
            "cost": money(row["first_cost"]),
            "series": roofs.series(row),
        }
        for place, (row, words) in enumerate(zip(top, labels(top), strict=True), start=1)
    ]
    present = {row["series"] for row in rows}
    return Figure(
        key="ranked",
        title="Net savings, the roofs that save most",
        reading=reading(roofs),
        spec=_spec(),
        data={"ranked": rows},
        table=Table(
            ("Roof", "Alternative", "Net savings", "First cost"),
            tuple((row["full"], row["alternative"], row["shown"], row["cost"]) for row in rows),
        ),
        series=tuple(Series(one, name) for one, name in NAMES.items() if one in present),
        wide=True,
    )


def labels(rows: Sequence[Row]) -> list[str]:
    """Return a label for each roof; those that read alike also show their row.

    Examples
    --------
    >>> labels([{"building": 4, "name": "Shed"}, {"building": 9, "name": "Shed"}])
    ['Shed, row 4', 'Shed, row 9']
    """
    short = [label(row["name"]) for row in rows]
    alike = Counter(short)
    return [
        f"{words}, row {row['building']}" if alike[words] > 1 else words
        for words, row in zip(short, rows, strict=True)
    ]


def reading(roofs: Roofs) -> str:
    """Return the chart in one sentence."""
    saving = [row["net_savings"] for row in roofs.best if row["net_savings"] > 0]
    if not saving:
        return "No roof has an alternative that costs less than its base case."
    half = next(
        count for count in range(1, len(saving) + 1) if sum(saving[:count]) >= sum(saving) / 2
    )
    roofs_of = "one roof holds" if half == 1 else f"{half} roofs hold"
    return (
        f"{len(saving)} of {len(roofs.best)} roofs save with their best alternative, "
        f"{said(sum(saving))} in all; {roofs_of} half of that."
    )


@lru_cache(maxsize=1)
def _spec() -> dict[str, Any]:
    # The axis is keyed on the building's number, which the label leaves out, and has an order of
    # its own: without one, new figures in a chart that is there would keep the old order.
    name = "substring(datum.label, 1 + indexof(datum.label, ' '))"
    base = alt.Chart(alt.NamedData("ranked")).encode(
        y=alt.Y("roof:N", sort=alt.EncodingSortField("place", op="min"), title=None,
                axis=alt.Axis(labelLimit=260, labelExpr=name, domain=False, ticks=False)),
    )  # fmt: skip
    bars = base.mark_bar(height={"band": 0.62}).encode(
        x=alt.X("net_savings:Q", title=None, stack=None, axis=style.money_axis(grid=True)),
        color=style.color(tuple(NAMES)),
        tooltip=style.tips(full="Roof", alternative="Alternative", shown="Net savings",
                           cost="First cost"),
    )  # fmt: skip
    marks = base.mark_point(size=60, xOffset=10).encode(
        x="net_savings:Q", shape=style.shape(tuple(NAMES)), color=style.color(tuple(NAMES))
    )
    spec = style.dressed(alt.layer(bars, marks), 420)
    # New figures bring other names: the room for them is measured anew.
    return {**spec, "autosize": {**spec["autosize"], "resize": True}}
