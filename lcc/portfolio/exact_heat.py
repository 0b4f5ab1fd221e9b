"""Roofs near a tie: where interpolated heat could change a choice, it is solved exactly."""

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from lcc.cost.costed import Costed
from lcc.cost.energy_phases import first_work
from lcc.portfolio.one_budget import BudgetSet
from lcc.portfolio.plan_tables import Plan

# Interpolated heat moves net savings by less than this part of the cost of the roof's first work.
ERROR = 0.001
# Rounds of a set or plan, each with the roofs solved exactly on which the last one hung.
MOST_ROUNDS = 12
MOST_AT_ONCE = 100
SETTLE_S = 30.0  # after which a plan is not searched again for a near tie


def near_tie(found: Costed) -> bool:
    """Tell whether the error of interpolated heat could change which way or alternative is best.

    That is so where the cheapest way of an alternative, or the cheapest alternative, lies so close
    to another, or an alternative so close to the base case that it may save or not.

    Parameters
    ----------
    found : Costed
        A building's case with interpolated heat.
    """
    work = [first_work(each)[1] or 0.0 for each in found.alternatives]
    margin = ERROR * max(work)
    best = [min(costs) for costs in found.ways]
    # Ways that cost the same are the same work done in the same state.
    apart = [cost - min(costs) for costs in (*found.ways, best) for cost in costs]
    apart += [abs(cost - best[0]) for cost in best[1:]]
    return any(0 < each < margin for each in apart)


@dataclass(frozen=True)
class Exactly:
    """What solves roofs exactly: those whose heat is interpolated, and how to do it.

    `solved` takes numbers of buildings and the years of a plan, 0 without one, and returns the
    rows of `lcc.portfolio.evaluate` for them.
    """

    interpolated: frozenset[int]
    solved: Callable[[list[int], int], pd.DataFrame]


ALL_EXACT = Exactly(frozenset(), lambda *_: pd.DataFrame())


def settled_set(
    results: pd.DataFrame, choose: Callable[[pd.DataFrame], BudgetSet], exactly: Exactly
) -> tuple[pd.DataFrame, BudgetSet]:
    """Return results and the set chosen of them, which exact heat for all would choose too.

    Parameters
    ----------
    results : DataFrame
        Rows of `lcc.portfolio.evaluate`.
    choose : callable
        What chooses a set of such rows.
    exactly : Exactly
        How to solve a roof exactly.

    Notes
    -----
    Every saving is moved by its error bound against the choice: down where it is chosen, up
    where it is not. A set that is still the best is the best for any savings within the bounds.
    Otherwise the roofs in which the two sets differ are solved exactly, and the set is chosen
    again. A set that is not proved best stays as it is; where too many roofs decide it, what
    the error might hide is its `shortfall`.
    """
    doubtful, chosen = set(exactly.interpolated), choose(results)
    for rounds_left in reversed(range(MOST_ROUNDS)):
        if not doubtful or chosen.shortfall:
            break
        moved = _against(results, chosen, doubtful)
        other = choose(moved)
        rows = results.loc[chosen.chosen != other.chosen, "building"]
        ways = ({*chosen.renewed} ^ {*other.renewed}) | ({*chosen.put_off} ^ {*other.put_off})
        again = sorted(({int(each) for each in rows} | ways) & doubtful)
        if not again:
            return results, replace(chosen, shortfall=other.shortfall)
        if not rounds_left or len(again) > MOST_AT_ONCE:
            more = other.shortfall + _worth(moved, other) - _worth(moved, chosen)
            return results, replace(chosen, shortfall=max(0.0, more))
        results = replaced(results, exactly.solved(again, 0), again)
        doubtful -= set(again)
        chosen = choose(results)
    return results, chosen


def _worth(results: pd.DataFrame, one: BudgetSet) -> float:
    """Return what a set saves, less what waiting costs."""
    late = results[results["building"].isin(one.put_off)].drop_duplicates("building")
    return float(results.loc[one.chosen, "net_savings"].sum() - late["waiting_cost"].sum())


def _against(results: pd.DataFrame, chosen: BudgetSet, doubtful: Iterable[int]) -> pd.DataFrame:
    """Return results with savings and costs of waiting moved against a set, within their error."""
    error = _error(results, ["first_cost", "base_work_cost"], doubtful)
    waits = results["building"].isin(chosen.put_off)
    return results.assign(
        net_savings=results["net_savings"] + error.where(~chosen.chosen, -error),
        waiting_cost=results["waiting_cost"] + error.where(waits, -error),
    )


def _error(rows: pd.DataFrame, costs: list[str], doubtful: Iterable[int]) -> pd.Series:
    own = rows[costs].max(axis=1).groupby(rows["building"]).transform("max").fillna(0.0)
    return ERROR * own.where(rows["building"].isin(list(doubtful)), 0.0)


def settled_plan(
    options: pd.DataFrame, years: int, plan_of: Callable[[pd.DataFrame], Plan], exactly: Exactly
) -> tuple[pd.DataFrame, Plan, list[int]]:
    """Return options, the plan that exact heat would choose too, and what was solved exactly.

    Parameters
    ----------
    options : DataFrame
        As of `lcc.portfolio.plan_tables.multi_year_plan`.
    years : int
        Years of the plan.
    plan_of : callable
        What makes a plan of options.
    exactly : Exactly
        How to solve a roof exactly.

    Notes
    -----
    As `settled_set`, with the life-cycle cost of every option but the base case on time, against
    which all are measured. The plan's `shortfall` holds what
    rounds or time left open.
    """
    doubtful, plan, done = set(exactly.interpolated), plan_of(options), list[int]()
    until = time.monotonic() + SETTLE_S
    for rounds_left in reversed(range(MOST_ROUNDS)):
        if not doubtful or plan.shortfall:
            break
        error = _error(options, ["first_cost", "due_cost"], doubtful)
        error = error.where(options["life_cycle_cost"] != options["base_life_cycle_cost"], 0.0)
        taken = np.zeros(len(options), dtype=bool)
        taken[list(plan.taken)] = True
        moved = options["life_cycle_cost"] + error.where(taken, -error)
        other = plan_of(options.assign(life_cycle_cost=moved))
        differ = options["building"].to_numpy()[sorted({*plan.taken} ^ {*other.taken})]
        again = sorted({int(each) for each in differ} & doubtful)
        if not again:
            return options, replace(plan, shortfall=other.shortfall), done
        hidden = float(moved[taken].sum()) - other.life_cycle_cost + other.shortfall
        found = replace(plan, shortfall=max(0.0, hidden))
        if not rounds_left or len(again) > MOST_AT_ONCE or time.monotonic() > until:
            return options, found, done
        fresh = exactly.solved(again, years).rename(columns={"base_work_year": "due_year"})
        exact = replaced(options, fresh, again)
        settled = plan_of(exact)
        if settled.shortfall > found.shortfall:  # found in a hurry
            return options, found, done
        options, plan, doubtful, done = exact, settled, doubtful - set(again), done + again
    return options, plan, done


def replaced(rows: pd.DataFrame, fresh: pd.DataFrame, buildings: list[int]) -> pd.DataFrame:
    """Return rows with those of some buildings exchanged for fresh ones, in the same order.

    Columns that fresh rows lack, such as what a budget reaches, stay.
    """
    again = rows["building"].isin(buildings)
    own = [str(name) for name in rows.columns if name not in fresh]
    fresh = fresh.assign(**{name: rows[name][again].to_numpy() for name in own})
    whole = pd.concat([rows[~again], fresh[rows.columns]], ignore_index=True)
    return whole.sort_values("building", kind="stable", ignore_index=True)
