"""What the charts of a portfolio are made from: one row for each result, in display units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import altair as alt
import pandas as pd

from api.portfolio import results_out
from lcc import units
from lcc.portfolio.one_budget import frontier
from lcc.portfolio.ranking import Ranked, ranked
from lcc.units import System
from web.charts import style

Row = dict[str, Any]
# A result's series: chosen by the budget, saving, costing more.
MOST_MARKS = 1500  # of one chart
CHOSEN, SAVES, COSTS = "s2", "s1", "s0"


@dataclass(frozen=True)
class Roofs:
    """Results as rows of the reply, each building's best first, and the budget's curve."""

    rows: tuple[Row, ...]
    best: tuple[Row, ...]
    curve: tuple[Row, ...]
    system: System
    budget: float | None = None

    @classmethod
    def of(cls, results: pd.DataFrame, system: System, budget: float | None) -> Roofs:
        """Return what charts need of results as they are so far."""
        final = results if "rank" in results else ranked(results, "net-savings")
        has = final[final["net_savings"].notna()]
        best = has.loc[has.groupby("building", sort=False)["net_savings"].idxmax()]
        return cls(
            tuple(results_out.documents(has, Ranked, system)),
            tuple(results_out.documents(ranked(best, "net-savings"), Ranked, system))
            if len(best)
            else (),
            tuple(frontier(final).to_dict("records")),  # type: ignore[arg-type]
            system,
            budget,
        )

    def series(self, row: Row) -> str:
        """Return the series that a result belongs to."""
        if row["in_budget"] == "yes":
            return CHOSEN
        return SAVES if row["net_savings"] > 0 else COSTS

    def unit(self, kind: str) -> str:
        """Return the unit in which figures of a kind are shown."""
        return units.unit(kind, self.system).display


def label(name: str, longest: int = 34) -> str:
    """Return a name short enough for an axis, cut in the middle: names of a kind differ at the end.

    Examples
    --------
    >>> label("Elm Street Elementary school 1 (invented)")
    'Elm Street Elementar…1 (invented)'
    """
    if len(name) <= longest:
        return name
    begin, end = name[: longest - 14].rstrip(), name[-13:].lstrip()
    return f"{begin}…{end}"


def savings_axis() -> alt.Axis:
    """Return an axis of net savings, its title above it."""
    return style.money_axis(
        title="Net savings", titleAngle=0, titleAlign="left", titleAnchor="start", titleY=-10,
        titleX=0,
    )  # fmt: skip


def cost_axis() -> alt.Axis:
    """Return an axis of money to spend, its figures apart from each other."""
    return style.money_axis(labelSeparation=12, labelFlush=14)  # a last figure is not cut
