"""Which roof in which year under a budget for each year, when some roofs cannot wait."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.optimize import LinearConstraint
from scipy.sparse import csr_array, hstack, identity

from lcc.portfolio.binary import Flags, Floats, minimise, one_of_each
from lcc.portfolio.budget import check_budget

HALF_A_CENT = 0.005


@dataclass(frozen=True)
class Plan:
    """What is done in each year of a programme and what it costs.

    `work` has one row for each roof touched: `building`, `alternative` (empty where the base
    case's replacement falls due instead), `year`, `first_cost`, `net_savings`. `years` has one
    row a year: `year`, `budget`, `spent`, `unfunded`: work that cannot wait and exceeds the
    budget. `shortfall` is how much more a better plan could save, 0 where proved best.
    """

    work: pd.DataFrame
    years: pd.DataFrame
    net_savings: float
    shortfall: float


def multi_year_plan(
    options: pd.DataFrame,
    failures: pd.DataFrame,
    budgets: Sequence[float],
    time_limit_s: float = 30.0,
) -> Plan:
    """Return the plan of greatest net savings within each year's budget.

    Parameters
    ----------
    options : DataFrame
        One row for each way to act: `building` (its number), `alternative`, `year` from 0,
        `first_cost` [money] and `net_savings` [money] against that building's base case.
    failures : DataFrame
        One row for each building whose base case replaces the roof: `building`, `year` and
        `first_cost` [money] of that replacement.
    budgets : sequence of float
        Money for years 0, 1, 2, ...; what is left of one year does not pass to the next.
    time_limit_s : float
        Seconds of search for each of the two steps.

    Returns
    -------
    Plan

    Notes
    -----
    Binary programme: x for each option, none later than the year its roof fails. A roof that
    fails within the plan and has no option chosen is replaced then, out of the same budget:
    Σ_(options in t) c x + Σ_(roofs failing in t) m (1 − Σ x) ≤ budget_t + unfunded_t.
    First the total unfunded is made least, then net savings greatest with no more than that.

    Examples
    --------
    Both roofs fail in year 1, whose budget holds one retrofit; the other is done a year early.

    >>> options = pd.DataFrame({"building": [1, 1, 2, 2], "alternative": ["metal"] * 4,
    ...     "year": [0, 1, 0, 1], "first_cost": [9.0] * 4, "net_savings": [3.0, 5.0, 4.0, 5.0]})
    >>> failures = pd.DataFrame({"building": [1, 2], "year": [1, 1], "first_cost": [6.0, 6.0]})
    >>> plan = multi_year_plan(options, failures, [10.0, 10.0])
    >>> plan.work["building"].tolist(), plan.work["year"].tolist(), plan.net_savings
    ([2, 1], [0, 1], 9.0)
    """
    for year, budget in enumerate(budgets):
        check_budget(f"budgets.{year}", budget)
    allowed = _in_time(options, failures, len(budgets))
    due = failures[(failures["year"] < len(budgets)) & failures["first_cost"].notna()]
    spend, forced = _spending(allowed, due, len(budgets))
    chosen, shortfall = _choose(allowed, spend, np.asarray(budgets, float) - forced, time_limit_s)
    return _plan(allowed[chosen], due, budgets, shortfall)


def _in_time(options: pd.DataFrame, failures: pd.DataFrame, years: int) -> pd.DataFrame:
    """Return the options inside the plan and no later than their roof's failure."""
    fails = options["building"].map(failures.set_index("building")["year"]).fillna(np.inf)
    usable = options["first_cost"].notna() & options["net_savings"].notna()
    kept = usable & (options["year"] < years) & (options["year"] <= fails)
    return options[kept].reset_index(drop=True)


def _spending(options: pd.DataFrame, due: pd.DataFrame, years: int) -> tuple[csr_array, Floats]:
    """Return what each option adds to each year's spending, and what is spent without any."""
    replaced = due.set_index("building")
    columns = np.arange(len(options))
    spared = options["building"].map(replaced["first_cost"])
    in_year = options["building"].map(replaced["year"])
    fails = spared.notna().to_numpy()
    values = np.concatenate([options["first_cost"], -spared[fails]])
    at = np.concatenate([options["year"], in_year[fails]]).astype(int)
    spend = csr_array(
        (values, (at, np.concatenate([columns, columns[fails]]))), shape=(years, len(options))
    )
    forced = np.bincount(due["year"].astype(int), weights=due["first_cost"], minlength=years)
    return spend, np.asarray(forced, float)


def _choose(
    options: pd.DataFrame, spend: csr_array, room: Floats, time_limit_s: float
) -> tuple[Flags, float]:
    """Return the flags of the options chosen: least unfunded first, then most net savings."""
    years, count = spend.shape
    if count == 0:
        return np.zeros(0, dtype=bool), 0.0
    once = one_of_each(options["building"].to_numpy())
    limits = [
        LinearConstraint(hstack([spend, -identity(years)]), ub=room),
        LinearConstraint(hstack([once, csr_array((once.shape[0], years))]), ub=1.0),
    ]
    unfunded = np.repeat([0.0, 1.0], [count, years])
    least = minimise(unfunded, limits, count, time_limit_s)
    enough = LinearConstraint(unfunded[np.newaxis, :], ub=least.cost + HALF_A_CENT)
    worth = np.concatenate([options["net_savings"], np.zeros(years)])
    best = minimise(-worth, [*limits, enough], count, time_limit_s)
    return best.flags, best.gap


def _plan(
    chosen: pd.DataFrame, due: pd.DataFrame, budgets: Sequence[float], shortfall: float
) -> Plan:
    replaced = due[~due["building"].isin(chosen["building"])]
    work = pd.concat([chosen, replaced.assign(alternative="", net_savings=0.0)])[list(_WORK)]
    work = work.sort_values(["year", "building"], ignore_index=True)
    spent = work.groupby("year")["first_cost"].sum().reindex(range(len(budgets)), fill_value=0.0)
    years = pd.DataFrame({"year": range(len(budgets)), "budget": budgets, "spent": spent})
    over = years["spent"] - years["budget"]
    years["unfunded"] = over.where(over > HALF_A_CENT, 0.0)
    return Plan(work, years, float(work["net_savings"].sum()), shortfall)


_WORK = ("building", "alternative", "year", "first_cost", "net_savings")
