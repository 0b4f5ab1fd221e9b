"""What is asked of a portfolio: the query, and the sums of money in it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from api.problems import Problem
from lcc.case.document_values import SUMS, named
from lcc.case.fields import Choice, Text
from lcc.portfolio.ranking import MEASURES
from lcc.units import SYSTEMS, System

MOST_PLAN_YEARS = 15
_CENTS = r"(?:\.[0-9]{1,2})?"
_PLAIN = rf"[0-9]{{1,12}}{_CENTS}"
_SUM = rf"(?:{_PLAIN}|[1-9][0-9]{{0,2}}(?:,[0-9]{{3}}){{1,3}}{_CENTS})"
# Commas separate years only where each sum has at least four digits or is 0.
_LONG = rf"(?:0|[0-9]{{4,12}}{_CENTS})"
_MORE = rf"{{1,{MOST_PLAN_YEARS - 1}}}"
_YEARS = rf"{_PLAIN}|{_SUM}(?: *; *{_SUM}){_MORE}|{_LONG}(?: *, *{_LONG}){_MORE}"
# What the parameters of money may say.
MONEY = {"budget": f"^({_SUM})?$", "budget_by_year": f"^({_YEARS})?$"}
_SEVERAL = "such as 500,000; 250,000"
_ALLOWED = {
    "budget": "one sum of money, such as 300000 or 300,000.50",
    "budget_by_year": (
        f"at most {MOST_PLAN_YEARS} sums of money separated by semicolons, {_SEVERAL}"
    ),
}

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class PortfolioQuery:
    """The query of a portfolio."""

    units: Annotated[str, Choice(
        "Units", SYSTEMS, help="Of columns that name none, and of the reply.")] = "ip"
    decimal: Annotated[str, Choice(
        "Decimal mark", ("auto", "point", "comma"),
        help="Of a text table; auto goes by what its cells prove, and refuses what stays "
        "open.")] = "auto"
    unknown_columns: Annotated[str, Choice("Unknown columns", ("refuse", "pass-over"))] = "refuse"
    show: Annotated[str, Choice(
        "What to answer", ("results", "check", "bad-rows", "case", "notes", "mapping"),
        help="The results; only what is wrong; the bad rows as a table; one building's case; "
        "as a table, what the results rest on: defaults with bases, cautions, columns; what the "
        "table's columns and words most likely mean.")] = "results"
    building: Annotated[str, Text("Row whose case is wanted", help="Counted from 1.")] = ""
    rank_by: Annotated[str, Choice(
        "Order", ("rows", *MEASURES), help="Of the results in a reply that is no stream.")] = "rows"
    budget: Annotated[str, Text(
        "Budget", kind=SUMS, help="Money for the best set of roofs, such as 300,000.")] = ""
    budget_by_year: Annotated[str, Text(
        "Budget by year", kind=SUMS,
        help="Sums for the years from today on, separated by semicolons: 500,000; 250,000. "
        "Commas may separate sums without thousands marks: 500000,250000. Each in money of its "
        "year; no year of the plan spends more.")] = ""
    carry_over: Annotated[str, Choice(
        "Money left over", ("no", "yes"),
        help="Whether what a year leaves passes to the next.")] = "no"
    heat: Annotated[str, Choice(
        "Heat", ("by-area", "exact"),
        help="by-area: interpolated between five areas for many roofs that differ in area alone; "
        "exact: solved for each roof.")] = "by-area"

    def check(self) -> None:
        """Raise the problem of sums that cannot be read, before the table is."""
        money(self)

    @property
    def system(self) -> System:
        """The unit system."""
        return "si" if self.units == "si" else "ip"


# fmt: on


def sums(name: str, entered: str, most: int) -> list[float]:
    """Return the sums of a query parameter.

    Parameters
    ----------
    name : {"budget", "budget_by_year"}
        The parameter.
    entered : str
        What it says.
    most : int
        How many sums it may hold.

    Raises
    ------
    Problem
        For text that is no such sum, or that could be one sum or several.

    Examples
    --------
    >>> sums("budget_by_year", "100000,25000.50", 15), sums("budget_by_year", "100,000; 0", 15)
    ([100000.0, 25000.5], [100000.0, 0.0])
    """
    parted = ";" if ";" in entered or most == 1 else ","
    parts = [part.strip() for part in entered.split(parted)] if entered else []
    if len(parts) > most or not re.fullmatch(MONEY[name], entered):
        raise Problem("invalid-input", "1 value cannot be used.", [_refused(name, entered)])
    return [float(part.replace(",", "")) for part in parts]


def money(query: PortfolioQuery) -> tuple[float | None, list[float]]:
    """Return the budget, None without one, and the budgets of the years.

    Raises
    ------
    Problem
        With the faults of both.
    """
    found: list[list[float]] = []
    errors: list[Mapping[str, Any]] = []
    for name, entered, most in (
        ("budget", query.budget, 1),
        ("budget_by_year", query.budget_by_year, MOST_PLAN_YEARS),
    ):
        try:
            found.append(sums(name, entered, most))
        except Problem as problem:
            errors += problem.errors
    if errors:
        values = "1 value" if len(errors) == 1 else f"{len(errors)} values"
        raise Problem("invalid-input", f"{values} cannot be used.", errors)
    budget, yearly = found
    return next(iter(budget), None), yearly


def _refused(name: str, entered: str) -> dict[str, str]:
    allowed = _ALLOWED[name]
    if name != "budget" and re.fullmatch(_SUM, entered):
        one = entered.replace(",", "")
        allowed = f"{one} for one year; for several put semicolons between, {_SEVERAL}"
    label = name.replace("_", " ").capitalize()
    detail = f"{label} is {named(entered)}; allowed: {allowed}."
    return {
        "parameter": name,
        "detail": detail,
        "value": entered,
        "allowed": allowed,
        "rule": "type",
    }
