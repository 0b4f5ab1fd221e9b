"""Which roofs to do under a budget, exactly, and what each further dollar would bring."""

from dataclasses import dataclass
from itertools import groupby, pairwise
from operator import itemgetter

import numpy as np
import pandas as pd
from scipy.optimize import LinearConstraint

from lcc.arrays import Flags
from lcc.errors import CaseError
from lcc.portfolio.milp_calls import Optimum, minimise, one_of_each
from lcc.portfolio.owner_records import MUST_DO, MUST_NOT, NOT_BEFORE, TO_DO

CHOSEN, RENEWED, PUT_OFF = "alternative", "renewed", "put off"


@dataclass(frozen=True)
class BudgetSet:
    """The rows chosen under a budget, what they cost and save, and what falls due beside them.

    `shortfall` bounds how much more an even better set could save: 0 where the set is proved
    best, more where the search ran into its time limit. `renewed` are the buildings whose base
    case's work is due now and is paid for, `put_off` those that are patched instead, and
    `further_needed` what is missing where the budget does not pay for patching and must-do work.
    `undone` are then the must-do buildings that are not done, with what each costs at least.
    """

    chosen: Flags
    first_cost: float
    net_savings: float
    shortfall: float = 0.0
    renewed: tuple[int, ...] = ()
    put_off: tuple[int, ...] = ()
    further_needed: float = 0.0
    undone: tuple[tuple[int, float], ...] = ()


def best_set(frame: pd.DataFrame, budget: float, time_limit_s: float = 20.0) -> BudgetSet:
    """Return the rows of greatest total net savings that the budget pays for.

    Parameters
    ----------
    frame : DataFrame
        One row for each building and alternative, with columns `building` (its number),
        `first_cost` [money] and `net_savings` [money]; missing figures are never chosen. Where
        there are also `base_work_year`, `base_work_cost`, `waiting_cost` and `patching_cost`,
        what is due in year 0 anyway counts too, and so does `must`.
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
    The binary programme  max Σ s_r x_r,  Σ c_r x_r ≤ budget,  Σ_(r of a building) x_r ≤ 1. A roof
    that is due now is in the sums in any case: with one of its alternatives, with its base case's
    work (saving 0), or put off a year for the cost of patching (saving less what waiting costs).
    So an alternative for a roof that is due takes only what it costs beyond the work due anyway.
    Where the budget does not pay for all must-do work, the most of it by cost is done first.

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
    choices = _choices(frame)
    if choices.empty:
        return BudgetSet(np.zeros(len(frame), dtype=bool), 0.0, 0.0)
    done = choices[~((choices["what"] == PUT_OFF) & (choices["must"] == MUST_DO))]
    found = _searched(done, budget, "needed", time_limit_s)
    if found:
        return _budget_set(frame, done, done[found.flags], found.gap, 0.0)
    least = minimise(done["cost"].to_numpy(float), _limits(done, "needed"), len(done), time_limit_s)
    missing = max(0.0, least.cost - budget) if least else 0.0
    found = _short_of_money(choices, budget, time_limit_s)
    taken = choices[found.flags] if found else choices[:0]
    return _budget_set(frame, choices, taken, found.gap if found else 0.0, missing)


def _searched(
    choices: pd.DataFrame, budget: float, which: str, limit_s: float, *more: LinearConstraint
) -> Optimum | None:
    """Return the choices that save most within the budget, none where nothing fits it."""
    cost = choices["cost"].to_numpy(float)
    limits = [*_limits(choices, which), LinearConstraint(cost[np.newaxis, :], ub=budget), *more]
    return minimise(-choices["savings"].to_numpy(float), limits, cost.size, limit_s)


def _short_of_money(choices: pd.DataFrame, budget: float, limit_s: float) -> Optimum | None:
    """Return what is best where the budget does not pay for all that must be done.

    The most of the must-do work is done; where not even patching is paid for, nothing begins.
    """
    does = (choices["must"] == MUST_DO) & (choices["what"] != PUT_OFF)
    least = choices["cost"].where(does).groupby(choices["building"]).transform("min")
    worth = least.where(does, 0.0).to_numpy(float)
    most = _searched(choices.assign(savings=worth), budget, "due", limit_s)
    if most is None:
        cost = choices["cost"].to_numpy(float)
        return minimise(cost, _limits(choices, "due"), cost.size, limit_s)
    kept = LinearConstraint(worth[np.newaxis, :], lb=(1 - 1e-9) * float(worth[most.flags].sum()))
    return _searched(choices, budget, "due", limit_s, kept) or most


def _limits(choices: pd.DataFrame, which: str) -> list[LinearConstraint]:
    """Return the limits: at most one way for each building, exactly one where it is flagged."""
    group = choices["building"].to_numpy()
    limits = [LinearConstraint(one_of_each(group), ub=1.0)]
    flagged = np.unique(group[choices[which]])
    if flagged.size:
        limits.append(LinearConstraint(one_of_each(group, flagged), lb=1.0, ub=1.0))
    return limits


def _choices(frame: pd.DataFrame) -> pd.DataFrame:
    """Return what can be done for each building: cost, savings, `row` of the frame, `what`.

    `due` marks the buildings whose base case has work now, `needed` those and the must-do ones.
    """
    must = frame["must"] if "must" in frame else pd.Series("", frame.index)
    must = must.replace(dict.fromkeys(TO_DO, MUST_DO) | dict.fromkeys(NOT_BEFORE, MUST_NOT))
    rows = frame.assign(row=np.arange(len(frame)), what=CHOSEN, must=must)
    rows = rows.rename(columns={"first_cost": "cost", "net_savings": "savings"})
    wanted = (rows["savings"] > 0) | ((must == MUST_DO) & rows["savings"].notna())
    parts = [rows[wanted & rows["cost"].notna() & (must != MUST_NOT)]]
    if "waiting_cost" in frame:
        now = rows[frame["waiting_cost"].notna()].drop_duplicates("building").assign(row=-1)
        renewed = now.assign(cost=now["base_work_cost"], savings=0.0, what=RENEWED)
        put_off = now.assign(cost=now["patching_cost"], savings=-now["waiting_cost"], what=PUT_OFF)
        parts += [renewed[now["must"] != MUST_NOT], put_off]
    every = pd.concat(parts, ignore_index=True)[
        ["building", "cost", "savings", "row", "what", "must"]
    ]
    due = every["building"].isin(every.loc[every["what"] != CHOSEN, "building"])
    return every.assign(due=due, needed=due | (every["must"] == MUST_DO))


def _budget_set(
    frame: pd.DataFrame, choices: pd.DataFrame, taken: pd.DataFrame, gap: float, missing: float
) -> BudgetSet:
    chosen = np.zeros(len(frame), dtype=bool)
    chosen[taken.loc[taken["what"] == CHOSEN, "row"]] = True
    renewed, put_off = (
        tuple(int(one) for one in taken.loc[taken["what"] == what, "building"])
        for what in (RENEWED, PUT_OFF)
    )
    first_cost, savings = (
        float(frame.loc[chosen, name].sum()) for name in ("first_cost", "net_savings")
    )
    must = choices[(choices["must"] == MUST_DO) & (choices["what"] != PUT_OFF)]
    left = must[~must["building"].isin(taken.loc[taken["what"] != PUT_OFF, "building"])]
    least = left.groupby("building", as_index=False)["cost"].min()
    undone = tuple(zip(least["building"].tolist(), least["cost"].tolist(), strict=True))
    return BudgetSet(chosen, first_cost, savings, gap, renewed, put_off, missing, undone)


def frontier(frame: pd.DataFrame) -> pd.DataFrame:
    """Return budgets and the greatest net savings each can buy, at the corners of that curve.

    Parameters
    ----------
    frame : DataFrame
        As for `best_set`.

    Returns
    -------
    DataFrame
        Columns `budget` and `net_savings`, both rising, from the least that patching what is due
        costs on; what waiting costs is taken off the savings.

    Notes
    -----
    Steps from one choice of a building to its next dearer one, kept where savings per dollar
    fall, are taken in order of savings per dollar. At the cost of each prefix the linear
    relaxation of `best_set` has that prefix as its whole-number answer, so the points are exact;
    between them the true curve lies on or below the straight line.

    Examples
    --------
    >>> roofs = pd.DataFrame({"building": [1, 2, 3], "first_cost": [10.0, 6.0, 4.0],
    ...                       "net_savings": [9.0, 6.0, 5.0]})
    >>> frontier(roofs)["net_savings"].tolist()
    [0.0, 5.0, 11.0, 20.0]
    """
    choices = _choices(frame)
    rows = sorted(choices[["building", "due", "cost", "savings"]].itertuples(index=False))
    start, steps = np.zeros(2), list[tuple[float, float]]()
    for (_, due), group in groupby(rows, key=itemgetter(0, 1)):
        points = [(cost, savings) for *_, cost, savings in group]
        first = min(points, key=lambda one: (one[0], -one[1])) if due else (0.0, 0.0)
        start += first
        steps += _hull([first, *points])
    steps.sort(key=lambda step: step[1] / step[0] if step[0] else np.inf, reverse=True)
    corners = np.vstack([start[np.newaxis, :], np.array(steps).reshape(-1, 2)]).cumsum(axis=0)
    return pd.DataFrame(corners, columns=["budget", "net_savings"])


def _hull(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return steps of (more cost, more savings) from the first point, worth less and less."""
    corners = points[:1]
    for cost, savings in points[1:]:
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
