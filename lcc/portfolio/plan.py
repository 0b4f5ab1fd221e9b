"""Which roof in which year under a budget for each year, when some roofs cannot wait."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.optimize import LinearConstraint
from scipy.sparse import csr_array, hstack, identity

from lcc.portfolio.capital_budget import check_budget
from lcc.portfolio.milp import Flags, Floats, minimise, one_of_each

HALF_A_CENT = 0.005
PIECES = BEGINS, LATER, BASE_CASE = ("begins", "later work", "base case")
_WORK = ("building", "alternative", "what", "year", "cost", "net_savings")


@dataclass(frozen=True)
class Plan:
    """What is done in each year of a programme and what it costs.

    `work` has one row for each piece of work: `building`, `alternative` (empty for the base
    case's), `what` it is (one of `PIECES`), `year`, `cost` and, where an alternative begins, its
    `net_savings`. `years` has one row a year: `year`, `budget`, `spent`, `unfunded`: work that
    cannot wait and exceeds the budget. `shortfall` is how much more a better plan could save, 0
    where proved best.
    """

    work: pd.DataFrame
    years: pd.DataFrame
    net_savings: float
    shortfall: float


def multi_year_plan(
    options: pd.DataFrame,
    bases: pd.DataFrame,
    budgets: Sequence[float],
    time_limit_s: float = 30.0,
) -> Plan:
    """Return the plan of greatest net savings within each year's budget.

    Parameters
    ----------
    options : DataFrame
        One row for each way to act: `building` (its number), `alternative`, the `year` from 0 in
        which it begins, `net_savings` [money] against that building's base case, and `work`: a
        sequence of what its work costs in each year of the plan [money].
    bases : DataFrame
        One row for each building: `building`, the `year` in which its base case first replaces
        the roof, NaN where it never does, and the base case's `work`.
    budgets : sequence of float
        Money for years 0, 1, 2, ...; what is left of one year does not pass to the next.
    time_limit_s : float
        Seconds of search for each of the two steps.

    Returns
    -------
    Plan

    Notes
    -----
    Binary programme: x for each option, none that begins later than the year its roof fails. A
    roof with no option chosen goes on as its base case, out of the same budgets; with c the
    option's work in year t and m its building's base work:
    Σ_options c_t x + Σ_buildings m_t (1 - Σ x) ≤ budget_t + unfunded_t.
    First the total unfunded is made least, then net savings greatest with no more than that.

    Examples
    --------
    Both roofs fail in year 1, whose budget holds one retrofit; the other is done a year early.

    >>> options = pd.DataFrame({"building": [1, 1, 2, 2], "alternative": ["metal"] * 4,
    ...     "year": [0, 1, 0, 1], "work": [(9.0, 0.0), (0.0, 9.0)] * 2,
    ...     "net_savings": [3.0, 5.0, 4.0, 5.0]})
    >>> bases = pd.DataFrame({"building": [1, 2], "year": [1, 1], "work": [(0.0, 6.0)] * 2})
    >>> plan = multi_year_plan(options, bases, [10.0, 10.0])
    >>> plan.work["building"].tolist(), plan.work["year"].tolist(), plan.net_savings
    ([2, 1], [0, 1], 9.0)
    """
    for year, budget in enumerate(budgets):
        check_budget(f"budgets.{year}", budget)
    allowed = _in_time(options, bases, len(budgets))
    forced = _costs(bases, len(budgets))
    base = pd.DataFrame(forced, index=bases["building"].to_numpy())
    spared = base.reindex(allowed["building"], fill_value=0.0).to_numpy()
    spend = csr_array((_costs(allowed, len(budgets)) - spared).T)
    room = np.asarray(budgets, float) - forced.sum(axis=0)
    chosen, shortfall = _choose(allowed, spend, room, time_limit_s)
    return _plan(allowed[chosen], bases, budgets, shortfall)


def _in_time(options: pd.DataFrame, bases: pd.DataFrame, years: int) -> pd.DataFrame:
    """Return the options that begin inside the plan and no later than their roof's failure."""
    fails = options["building"].map(bases.set_index("building")["year"]).fillna(np.inf)
    kept = options["net_savings"].notna() & (options["year"] < years) & (options["year"] <= fails)
    return options[kept].reset_index(drop=True)


def _costs(rows: pd.DataFrame, years: int) -> Floats:
    """Return the cost of work by row and year of the plan."""
    costs = np.zeros((len(rows), years))
    for place, work in enumerate(rows["work"]):
        costs[place, : len(work)] = work[:years]
    return costs


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
    chosen: pd.DataFrame, bases: pd.DataFrame, budgets: Sequence[float], shortfall: float
) -> Plan:
    left = bases[~bases["building"].isin(chosen["building"])]
    going_on = _pieces(left.assign(alternative="", net_savings=0.0, year=-1), len(budgets))
    begun = _pieces(chosen, len(budgets))
    work = pd.concat([begun, going_on.assign(what=BASE_CASE)])[list(_WORK)]
    work = work.sort_values(["year", "building"], kind="stable", ignore_index=True)
    spent = work.groupby("year")["cost"].sum().reindex(range(len(budgets)), fill_value=0.0)
    years = pd.DataFrame({"year": range(len(budgets)), "budget": budgets, "spent": spent})
    over = years["spent"] - years["budget"]
    years["unfunded"] = over.where(over > HALF_A_CENT, 0.0)
    return Plan(work, years, float(work["net_savings"].sum()), shortfall)


def _pieces(rows: pd.DataFrame, years: int) -> pd.DataFrame:
    """Return one row for each year in which there is work, or in which an option begins."""
    costs = _costs(rows, years)
    begins = rows["year"].to_numpy()[:, np.newaxis] == np.arange(years)
    row, year = np.nonzero((costs > 0) | begins)
    first = begins[row, year]
    pieces = rows.iloc[row]
    return pieces.assign(
        year=year,
        cost=costs[row, year],
        what=np.where(first, BEGINS, LATER),
        net_savings=np.where(first, pieces["net_savings"], 0.0),
    )
