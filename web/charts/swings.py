"""What the net savings become when one input alone is off: the swing chart."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import altair as alt

from api import units
from web import format as fmt
from web.charts import style
from web.charts.figure import Data, Figure, Reply, Row, Table, against_base

MOST = 8
LANE = 40  # px


def figures(reply: Reply) -> list[Figure]:
    """Return the swings of the cheapest alternative, widest first, or nothing without them."""
    _, other = against_base(reply)
    return [_figure(reply, other)] if other["swings"] else []


def _figure(reply: Reply, other: Reply) -> Figure:
    rows = [_row(swing, reply) for swing in other["swings"][:MOST]]
    return Figure(
        key="swings",
        title="What would change the answer",
        reading=reading(other, rows),
        spec=_spec(len(rows)),
        data=_data(rows, other["measures"]["net_savings"]["value"]),
        table=Table(
            ("Input", "Low", "Net savings then", "High", "Net savings then"),
            tuple(
                (row["label"], row["low"], row["low_shown"], row["high"], row["high_shown"])
                for row in rows
            ),
        ),
    )


def reading(other: Reply, rows: list[Row]) -> str:
    """Return which input matters most, and how many could turn the answer round."""
    widest = rows[0]
    ends = sorted((widest["low_savings"], widest["high_savings"]))
    turning = sum(row["low_savings"] * row["high_savings"] < 0 for row in rows)
    turns = {0: "no single input turns it round", 1: "one input alone could turn it round"}
    return (
        f"The net savings of “{other['name']}” depend most on “{widest['label']}”, from "
        f"{fmt.shown(ends[0], 'money')} to {fmt.shown(ends[1], 'money')}; "
        f"{turns.get(turning, f'{turning} inputs alone could turn it round')} in its range "
        "(orange: its low value, blue: its high one)."
    )


def _row(swing: Reply, reply: Reply) -> Row:
    return {
        "label": swing["label"],
        "low": amount(swing["low"], reply["units"]),
        "high": amount(swing["high"], reply["units"]),
        "low_savings": fmt.rounded(swing["net_savings_low"], "money"),
        "high_savings": fmt.rounded(swing["net_savings_high"], "money"),
        "low_shown": fmt.shown(swing["net_savings_low"], "money"),
        "high_shown": fmt.shown(swing["net_savings_high"], "money"),
    }


def amount(one: Reply | None, system: units.System) -> str:
    """Return an amount with its unit as people read it.

    Examples
    --------
    >>> amount({"value": 6.4, "kind": "price_per_area"}, "ip"), amount(None, "ip")
    ('$6.40/ft²', '–')
    """
    if one is None or one["value"] is None:
        return fmt.NOTHING
    text = fmt.shown(one["value"], one["kind"])
    unit = units.unit(one["kind"], system).display if one["kind"] in units.KINDS else ""
    if one["kind"] == "years":
        return f"{text} years"
    return text + unit.removeprefix("$") if unit.startswith("$") else f"{text} {unit}".strip()


def _data(rows: list[Row], middle: float) -> Data:
    ends = [
        {
            "label": row["label"],
            "end": end,
            "input": row[end],
            "savings": row[f"{end}_savings"],
            "shown": row[f"{end}_shown"],
            "middle": fmt.rounded(middle, "money"),
            "right": row[f"{end}_savings"]
            >= row["low_savings" if end == "high" else "high_savings"],
        }
        for row in rows
        for end in ("low", "high")
    ]
    return {"swings": ends, "swings_middle": [{"middle": fmt.rounded(middle, "money")}]}


@lru_cache(maxsize=16)
def _spec(count: int) -> dict[str, Any]:
    ends = alt.Chart(alt.NamedData("swings")).encode(
        y=alt.Y("label:N", sort=None, axis=None, scale=alt.Scale(paddingInner=0)),
        x=alt.X("savings:Q", title="net savings", axis=style.money_axis(grid=True, tickCount=5),
                scale=alt.Scale(padding=42)),
    )  # fmt: skip
    kind = alt.Scale(domain=["low", "high"], range=[style.look("s0")[0], style.look("s1")[0]])
    bars = ends.mark_bar(height=9, yOffset=8).encode(
        x2="middle:Q",
        color=alt.Color("end:N", legend=None, scale=kind),
        tooltip=[
            alt.Tooltip("label:N", title="Input"),
            alt.Tooltip("input:N", title="If it is"),
            alt.Tooltip("shown:N", title="Net savings"),
        ],
    )
    once = ends.transform_filter("datum.end === 'low'").encode(x=alt.value(0), text="label:N")
    words: dict[str, Any] = {"align": "left", "dy": -7, "limit": 390}
    middle = alt.Chart(alt.NamedData("swings_middle")).mark_rule(strokeWidth=1.5)
    zero = alt.Chart(alt.NamedData("swings_middle")).mark_rule(color="#8494a0", strokeDash=[4, 3])
    layers = [
        zero.encode(x=alt.datum(0)),
        bars,
        *(_told(ends, right) for right in (True, False)),
        middle.encode(x="middle:Q"),
        once.mark_text(**words, stroke=style.PAPER, strokeWidth=4, strokeJoin="round"),
        once.mark_text(**words),
    ]
    return style.dressed(alt.layer(*layers), LANE * count)


def _told(ends: alt.Chart, right: bool) -> Any:
    return (
        ends.transform_filter(f"datum.right === {str(right).lower()}")
        .mark_text(align="left" if right else "right", dx=5 if right else -5, dy=8,
                   fontSize=10.5, color=style.MUTED)
        .encode(text="input:N")
    )  # fmt: skip
