"""How the net savings scatter when every input is uncertain at once."""

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import altair as alt

from web import format as fmt
from web.charts import palette, style
from web.charts.figure import Figure, Reply, Row, Table, against_base

KEY = "spread"
HIGH, LETTERS = 190, 13  # of the plot and of a figure [px]
PERCENTILES = {"p10": "10%", "p50": "50%", "p90": "90%"}


def figures(reply: Reply) -> list[Figure]:
    """Return the distribution for the cheapest alternative, or nothing without random draws."""
    base, other = against_base(reply)
    return [_figure(base["name"], other)] if other["spread"] else []


def _figure(base: str, other: Reply) -> Figure:
    chances = other["spread"]["against_base"]
    steps = list(_steps(chances))
    marks: list[Row] = [
        {
            "place": place,
            "name": "Below",
            "part": part,
            "value": fmt.rounded(chances["net_savings"][key], "money"),
            "shown": fmt.shown(chances["net_savings"][key], "money"),
            "said": fmt.said(chances["net_savings"][key]),
        }
        for place, (key, part) in enumerate(PERCENTILES.items())
    ]
    return Figure(
        key=KEY,
        title="How sure it is",
        reading=reading(base, other),
        spec=_spec(),
        data={"spread": steps, "spread_marks": marks, "spread_zero": [{"zero": 0}]},
        table=Table(
            ("Net savings from", "to", "Part of the runs"),
            (
                *((row["name"], row["shown"], row["part"]) for row in marks),
                *((row["from_shown"], row["to_shown"], row["shown"]) for row in steps),
            ),
        ),
    )


def reading(base: str, other: Reply) -> str:
    """Return the chance that the alternative costs less, and the middle of the draws."""
    spread = other["spread"]
    chances = spread["against_base"]
    savings = chances["net_savings"]
    return (
        f"“{other['name']}” costs less than “{base}” in {fmt.chance(chances['costs_less'])} "
        f"of {spread['draws']:,} random runs of the uncertain figures; in eight runs of ten net "
        f"savings are between {fmt.said(savings['p10'])} and {fmt.said(savings['p90'])}."
    )


def _steps(chances: Reply) -> Iterator[Row]:
    edges = chances["edges"]
    for low, high, share in zip(edges, edges[1:], chances["shares"], strict=False):
        yield {
            "from": fmt.rounded(low, "money"),
            "to": fmt.rounded(high, "money"),
            "from_shown": fmt.shown(low, "money"),
            "to_shown": fmt.shown(high, "money"),
            "share": fmt.rounded(share),
            "shown": fmt.chance(share),
            "ahead": low + high > 0,
        }


@lru_cache(maxsize=1)
def _spec() -> dict[str, Any]:
    ahead = alt.Scale(domain=[True, False], range=[palette.look("s1")[0], palette.look("s0")[0]])
    bars = (
        alt.Chart(alt.NamedData("spread"))
        .mark_bar(binSpacing=1)
        .encode(
            x=alt.X(
                "from:Q", title="net savings", axis=style.money_axis(tickCount=5), bin="binned"
            ),
            x2="to:Q",
            y=alt.Y("share:Q", axis=None),
            color=alt.Color("ahead:N", legend=None, scale=ahead),
            tooltip=style.tips(from_shown="From", to_shown="to", shown="Draws"),
        )
    )
    marks = alt.Chart(alt.NamedData("spread_marks")).encode(x="value:Q")
    lines = marks.mark_rule(color=palette.INK, strokeDash=[3, 2]).encode(
        tooltip=style.tips(part="Draws below", shown="Savings")
    )
    below = alt.value(LETTERS)  # the figures stand above it
    zero = alt.Chart(alt.NamedData("spread_zero")).mark_rule(strokeWidth=1.5)
    zero = zero.encode(x="zero:Q", y=below, y2=alt.value(HIGH))
    told = [_told(marks, place, side) for place, side in enumerate(("right", "center", "left"))]
    return style.dressed(alt.layer(bars, lines, *told, zero), HIGH)


def _told(marks: alt.Chart, place: int, side: Any) -> Any:
    """The figure of one percentile, the outer ones beside their lines, the middle one above."""
    return (
        marks.transform_filter(f"datum.place === {place}")
        .mark_text(align=side, dx=5 * (place - 1), dy=-8 if place == 1 else 6, fontSize=11)
        .encode(text="said:N", y=alt.value(0))
    )
