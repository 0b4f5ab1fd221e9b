"""Which roofs to do under a budget, exactly, and what each further dollar would bring."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby, pairwise
from operator import itemgetter

import numpy as np
import pandas as pd
from scipy.optimize import LinearConstraint

from lcc.errors import CaseError
from lcc.portfolio.milp import Flags, minimise, one_of_each


@dataclass(frozen=True)
class BudgetSet:
    """The rows chosen under a budget, what they cost, and what they save.

    `shortfall` bounds how much more an even better set could save: 0 where the set is proved
    best, more where the search ran into its time limit.
    """

    chosen: Flags
    first_cost: float
    net_savings: float
    shortfall: float = 0.0


def best_set(frame: pd.DataFrame, budget: float, time_limit_s: float = 20.0) -> BudgetSet:
    """Return the rows of greatest total net savings whose first costs fit in the budget.

    Parameters
    ----------
    frame : DataFrame
        One row for each building and alternative, with columns `building` (its number),
        `first_cost` [money] and `net_savings` [money]; missing figures are never chosen.
    budget : float
        Money to spend, base-year money; at most one alternative of a building is chosen.
    time_limit_s : float
        Seconds of search, after which the best set found so far is returned with its `shortfall`.

    Returns
    -------
    BudgetSet
        `chosen` has one flag for each row of the frame.

    Raises
    ------
    CaseError
        If the budget is no finite number of at least 0.

    Notes
    -----
    The binary programme  max Σ s_r x_r,  Σ c_r x_r ≤ budget,  Σ_(r of a building) x_r ≤ 1.

    References
    ----------
    ASTM E1074 ranks projects under a budget by aggregate net savings of the whole set.

    Examples
    --------
    Ten dollars buy the second and third roof (11 saved) rather than the first (9 saved).

    >>> roofs = pd.DataFrame({"building": [1, 2, 3], "first_cost": [10.0, 6.0, 4.0],
    ...                       "net_savings": [9.0, 6.0, 5.0]})
    >>> best_set(roofs, budget=10.0).chosen.tolist()
    [False, True, True]
    """
    check_budget("budget", budget)
    cost = frame["first_cost"].to_numpy(float)
    savings = frame["net_savings"].to_numpy(float)
    rows = np.flatnonzero((savings > 0) & (cost <= budget))
    chosen = np.zeros(len(frame), dtype=bool)
    shortfall = 0.0
    if rows.size:
        limits = [
            LinearConstraint(cost[np.newaxis, rows], ub=budget),
            LinearConstraint(one_of_each(frame["building"].to_numpy()[rows]), ub=1.0),
        ]
        found = minimise(-savings[rows], limits, rows.size, time_limit_s)
        chosen[rows[found.flags]] = True
        shortfall = found.gap
    return BudgetSet(chosen, float(cost[chosen].sum()), float(savings[chosen].sum()), shortfall)


def frontier(frame: pd.DataFrame) -> pd.DataFrame:
    """Return budgets and the greatest net savings each can buy, at the corners of that curve.

    Parameters
    ----------
    frame : DataFrame
        As for `best_set`.

    Returns
    -------
    DataFrame
        Columns `budget` and `net_savings`, both rising, from the roofs that cost nothing on.

    Notes
    -----
    Steps from one alternative of a building to its next dearer one, kept where savings per
    dollar fall, are taken in order of savings per dollar. At the cost of each prefix the linear
    relaxation of `best_set` has that prefix as its whole-number answer, so the points are exact;
    between them the true curve lies on or below the straight line.

    Examples
    --------
    >>> roofs = pd.DataFrame({"building": [1, 2, 3], "first_cost": [10.0, 6.0, 4.0],
    ...                       "net_savings": [9.0, 6.0, 5.0]})
    >>> frontier(roofs)["net_savings"].tolist()
    [0.0, 5.0, 11.0, 20.0]
    """
    worth = frame[(frame["net_savings"] > 0) & frame["first_cost"].notna()]
    costs = worth["first_cost"].clip(lower=0.0)
    rows = sorted(zip(worth["building"], costs, worth["net_savings"], strict=True))
    steps = [
        step
        for _, group in groupby(rows, key=itemgetter(0))
        for step in _hull([(cost, savings) for _, cost, savings in group])
    ]
    steps.sort(key=lambda step: step[1] / step[0] if step[0] else np.inf, reverse=True)
    corners = np.vstack([np.zeros((1, 2)), np.array(steps).reshape(-1, 2)]).cumsum(axis=0)
    return pd.DataFrame(corners, columns=["budget", "net_savings"])


def _hull(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return one building's steps of (more cost, more savings), savings per dollar falling."""
    corners = [(0.0, 0.0)]
    for cost, savings in points:
        while len(corners) > 1 and _above(corners[-2], corners[-1], (cost, savings)):
            corners.pop()
        if savings > corners[-1][1]:
            corners.append((cost, savings))
    return [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(corners)]


def _above(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    """Tell whether the straight line from a to c passes on or above b."""
    return (b[1] - a[1]) * (c[0] - a[0]) <= (c[1] - a[1]) * (b[0] - a[0])


def check_budget(name: str, budget: object) -> None:
    """Raise `CaseError` unless `budget` is a finite number of at least 0."""
    fits = isinstance(budget, int | float) and not isinstance(budget, bool)
    if not fits or not 0 <= budget < np.inf:  # type: ignore[operator] # a number, as just checked
        raise CaseError(name, budget, "a finite sum of at least 0")
