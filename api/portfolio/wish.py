"""What is asked of a portfolio: the query, and the sums of money in it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from api.problems import Problem
from api.units import SYSTEMS, System
from lcc.case.fields import choice, text
from lcc.portfolio.ranking import MEASURES

MOST_PLAN_YEARS = 15
SUM = r"[0-9]{1,12}(?:\.[0-9]{1,2})?"


@dataclass(frozen=True)
class Wish:
    """The query of a portfolio."""

    units: str = choice("Units", SYSTEMS, "ip", help="Of columns that name none, and of the reply.")
    decimal: str = choice(
        "Decimal mark", ("auto", "point", "comma"), "auto",
        help="Of a text table; auto reads a comma where semicolons part the cells.",
    )  # fmt: skip
    unknown_columns: str = choice("Unknown columns", ("refuse", "pass-over"), "refuse")
    show: str = choice(
        "What to answer", ("results", "check", "bad-rows", "case"), "results",
        help="The results; only what is wrong; the bad rows as a table; one building's case.",
    )  # fmt: skip
    building: str = text("Row whose case is wanted", "", help="Counted from 1.")
    rank_by: str = choice(
        "Order", ("rows", *MEASURES), "rows", help="Of the results in a reply that is no stream."
    )
    budget: str = text("Budget", "", help="Money for the best set of roofs.")
    budget_by_year: str = text(
        "Budget by year", "", help="Sums for the years from today on, with commas between."
    )

    @property
    def system(self) -> System:
        """The unit system."""
        return "si" if self.units == "si" else "ip"


def sums(name: str, entered: str, most: int) -> list[float]:
    """Return the sums of a query parameter.

    Examples
    --------
    >>> sums("budget_by_year", "100000,25000.50", 15)
    [100000.0, 25000.5]
    """
    parts = [part.strip() for part in entered.split(",")] if entered else []
    allowed = f"at most {most} sum{'s' if most > 1 else ''} of money, digits and a decimal point"
    if len(parts) > most or not all(re.fullmatch(SUM, part) for part in parts):
        shown = {"parameter": name, "detail": f"{name} is not usable; allowed: {allowed}.",
                 "allowed": allowed, "rule": "type"}  # fmt: skip
        raise Problem("invalid-input", "1 value cannot be used.", [shown])
    return [float(part) for part in parts]
