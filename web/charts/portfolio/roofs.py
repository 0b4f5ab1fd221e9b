"""What the charts of a portfolio are made from: one row for each result, in display units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from api import units
from api.portfolio import results_out
from api.units import System
from lcc.portfolio.budget import frontier
from lcc.portfolio.ranking import Ranked, ranked
from web import format as fmt

Row = dict[str, Any]
# A result's series: chosen by the budget, saving, costing more.
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
        final = results if "rank" in results else ranked(results)
        has = final[final["net_savings"].notna()]
        best = has.loc[has.groupby("building", sort=False)["net_savings"].idxmax()]
        return cls(
            tuple(results_out.documents(has, Ranked, system)),
            tuple(results_out.documents(ranked(best), Ranked, system)) if len(best) else (),
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


def money(value: float | None) -> str:
    """Return money as it is shown."""
    return fmt.shown(value, "money")


def label(name: str, longest: int = 34) -> str:
    """Return a name short enough for an axis.

    Examples
    --------
    >>> label("Elm Street Elementary school 1 (invented)")
    'Elm Street Elementary school 1 (i…'
    """
    return name if len(name) <= longest else name[: longest - 1] + "…"
