"""What each budget can buy at best: budget against net savings."""

from functools import lru_cache
from typing import Any

import altair as alt
import numpy as np

from web.charts import palette, style
from web.charts.figure import Figure, Table
from web.charts.portfolio.roofs import Roofs, cost_axis, savings_axis
from web.format import money

MOST_POINTS = 400
DUE = (
    " Each budget here also pays for what falls due now on the other roofs, their base case's work "
    "or patching, so it is more than the first cost of the alternatives alone, and what waiting "
    "costs is taken off its savings."
)
SHARES = (0.1, 0.25, 0.5, 0.75, 1.0)


def figure(roofs: Roofs) -> Figure:
    """Return the curve of budgets and the greatest net savings that each buys."""
    budgets = np.array([point["budget"] for point in roofs.curve])
    savings = np.array([point["net_savings"] for point in roofs.curve])
    step = max(1, len(budgets) // MOST_POINTS)
    shown = sorted({*range(0, len(budgets), step), len(budgets) - 1})
    points = ((float(budgets[at]), float(savings[at])) for at in shown)
    rows = [
        {"budget": paid, "net_savings": saved, "Budget": money(paid), "Net savings": money(saved)}
        for paid, saved in points
    ]
    given = _given(roofs.budget, budgets, savings)
    return Figure(
        key="curve",
        title="What a budget buys at best",
        reading=reading(budgets, savings, roofs.budget),
        spec=_spec(bool(given)),
        data={"curve": rows} | ({"given": given} if given else {}),
        table=Table(
            ("Share of the net savings", "Budget that buys it"),
            tuple((f"{share:.0%}", money(needed(budgets, savings, share))) for share in SHARES),
        ),
    )


def needed(budgets: Any, savings: Any, share: float) -> float:
    """Return the least corner budget that buys a share of all net savings.

    Examples
    --------
    >>> needed(np.array([0.0, 4.0, 10.0]), np.array([0.0, 5.0, 11.0]), 0.5)
    10.0
    """
    return float(budgets[int(np.argmax(savings >= share * savings[-1]))])


def _given(budget: float | None, budgets: Any, savings: Any) -> list[dict[str, Any]]:
    if budget is None or len(budgets) < 2:
        return []
    bought = float(np.interp(budget, budgets, savings))
    return [{"budget": budget, "net_savings": bought, "text": f"budget {money(budget)}"}]


def reading(budgets: Any, savings: Any, budget: float | None) -> str:
    """Return the chart in one sentence."""
    if savings[-1] <= 0:
        return "There is nothing to buy: no alternative costs less than its base case."
    half = needed(budgets, savings, 0.5)
    words = (
        f"{money(half)} spent on the right roofs buys half of the {money(float(savings[-1]))} that "
        f"{money(float(budgets[-1]))} would buy"
    )
    due = DUE if budgets[0] > 0 else ""
    if budget is None:
        return f"{words}.{due}"
    share = float(np.interp(budget, budgets, savings)) / savings[-1]
    return f"{words}; {money(budget)} buys at most {share:.0%}.{due}"


@lru_cache(maxsize=2)
def _spec(with_budget: bool) -> dict[str, Any]:
    blue = palette.look("s1")[0]
    line = (
        alt.Chart(alt.NamedData("curve"))
        .mark_line(color=blue, point=alt.OverlayMarkDef(color=blue, size=26))
        .encode(
            x=alt.X("budget:Q", title="Budget", axis=cost_axis()),
            y=alt.Y("net_savings:Q", axis=savings_axis()),
            tooltip=["Budget:N", "Net savings:N"],
        )
    )
    given = alt.Chart(alt.NamedData("given")).encode(x="budget:Q")
    rule = given.mark_rule(strokeDash=[4, 3]).encode(y="net_savings:Q", y2=alt.datum(0))
    text = given.mark_text(align="left", dx=6, dy=14, fontWeight=600).encode(
        y="net_savings:Q", text="text:N"
    )
    return style.dressed(alt.layer(line, *((rule, text) if with_budget else ())), 260)
