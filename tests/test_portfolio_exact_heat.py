"""What a set, a plan or an alternative chooses by interpolated heat is what exact heat chooses."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from lcc.cost.work import COVERING
from lcc.portfolio import exact_heat
from lcc.portfolio.exact_heat import ERROR, Exactly, near_tie, settled_plan, settled_set
from lcc.portfolio.one_budget import best_set
from lcc.portfolio.plan_tables import multi_year_plan

BUDGETS = [60.0, 30.0, 45.0]


def roofs(rng, rows=14):
    """Invented roofs in even thousands, so that many sets nearly tie; some are due now."""
    cost = 1000.0 * rng.integers(20, 60, rows)
    due = rng.random(rows) < 0.3
    return pd.DataFrame(
        {
            "building": np.arange(rows),
            "first_cost": cost,
            "net_savings": 1000.0 * rng.integers(-2, 12, rows),
            "base_work_cost": np.where(due, 0.7 * cost, np.nan),
            "waiting_cost": np.where(due, 1000.0 * rng.integers(1, 6, rows), np.nan),
            "patching_cost": np.where(due, 500.0, np.nan),
        }
    )


def ways(rng, buildings=6, years=3):
    """Invented ways of a plan, their life-cycle costs in even dollars so that many tie."""
    rows = []
    for building in range(buildings):
        first = float(rng.integers(15, 40))
        rows.append((building, "", np.nan, 0.0, (0.0,) * years))
        for year in range(years):
            work = tuple(first * (year == one) for one in range(years))
            rows.append((building, "metal", float(year), float(rng.integers(-2, 9)), work))
    frame = pd.DataFrame(rows, columns=["building", "alternative", "begins", "saves", "work"])
    return frame.assign(
        due_year=np.nan, due_cost=np.nan, leak_risk=0.0, base_life_cycle_cost=100.0,
        life_cycle_cost=100.0 - frame["saves"], first_cost=frame["work"].map(sum),
        patching=[(0.0,) * years] * len(frame),
    )  # fmt: skip


def moved(frame, column, rng):
    """Figures off by up to their error bound, as interpolation might have them."""
    error = ERROR * frame.groupby("building")["first_cost"].transform("max")
    return frame.assign(**{column: frame[column] + error * rng.uniform(-1, 1, len(frame))})


def exactly(frame):
    asked = []

    def solved(buildings, years):
        asked.append((tuple(buildings), years))
        return frame[frame["building"].isin(buildings)]

    return Exactly(frozenset(int(one) for one in frame["building"]), solved), asked


THOROUGH = pytest.mark.thorough


@pytest.mark.parametrize(
    "seed", [0, 1, *(pytest.param(seed, marks=THOROUGH) for seed in range(2, 25))]
)
def test_a_set_chosen_by_interpolated_heat_saves_what_the_exact_set_saves(seed):
    """The set found from moved figures, valued exactly, is as good as the set of exact figures."""
    rng = np.random.default_rng(seed)
    exact = roofs(rng)
    rough = moved(exact, "net_savings", rng)
    budget = float(rng.uniform(60_000, 300_000))
    how, asked = exactly(exact)
    settled, found = settled_set(rough, lambda rows: best_set(rows, budget), how)
    best = best_set(exact, budget)
    lost = exact.set_index("building")["waiting_cost"]
    worth = [
        exact.loc[one.chosen, "net_savings"].sum() - lost.loc[list(one.put_off)].sum()
        for one in (found, best)
    ]
    assert worth[0] == pytest.approx(worth[1], abs=0.01)
    again = {one for buildings, _ in asked for one in buildings}
    own = settled["building"].isin(again)
    assert (settled.loc[own, "net_savings"] == exact.loc[own, "net_savings"]).all()
    assert (settled.loc[~own, "net_savings"] == rough.loc[~own, "net_savings"]).all()


@THOROUGH
def test_some_of_these_sets_hang_on_a_near_tie():
    """Else the test above would hold without any roof solved again."""
    hung = 0
    for seed in range(25):
        rng = np.random.default_rng(seed)
        exact = roofs(rng)
        how, asked = exactly(exact)
        rough = moved(exact, "net_savings", rng)
        settled_set(rough, lambda rows: best_set(rows, 150_000.0), how)
        hung += bool(asked)
    assert hung >= 5


@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(seed, marks=THOROUGH) for seed in range(1, 12))]
)
def test_a_plan_by_interpolated_heat_costs_what_the_exact_plan_costs(seed):
    rng = np.random.default_rng(seed)
    exact = ways(rng)
    rough = moved(exact, "life_cycle_cost", rng)
    rough["life_cycle_cost"] = rough["life_cycle_cost"].where(exact["alternative"] != "", 100.0)
    how, _ = exactly(exact)
    _, plan, _ = settled_plan(rough, 3, lambda rows: multi_year_plan(rows, BUDGETS), how)
    best = multi_year_plan(exact, BUDGETS)
    cost = exact.loc[list(plan.taken), "life_cycle_cost"].sum()
    assert cost == pytest.approx(best.life_cycle_cost, abs=0.01)


@pytest.mark.parametrize("calls", [1, 2])
def test_a_plan_whose_search_runs_out_of_time_while_it_is_settled_says_how_far_it_may_be_off(calls):
    """A plan found in a hurry replaces no plan that is nearer to proof."""
    rng = np.random.default_rng(7)
    exact = ways(rng)
    rough = moved(exact, "life_cycle_cost", rng)
    rough["life_cycle_cost"] = rough["life_cycle_cost"].where(exact["alternative"] != "", 100.0)
    how, asked = exactly(exact)
    made = []

    def plan_of(rows):
        hurried = 0.9 * (len(made) >= calls)
        made.append(replace(multi_year_plan(rows, BUDGETS), shortfall=hurried))
        return made[-1]

    _, plan, done = settled_plan(rough, 3, plan_of, how)
    best = multi_year_plan(exact, BUDGETS).life_cycle_cost
    assert asked
    assert plan.taken == made[2 if calls == 1 else 0].taken
    assert bool(done) == (calls == 1)
    cost = exact.loc[list(plan.taken), "life_cycle_cost"].sum()
    assert 0 < plan.shortfall < 1
    assert cost - best <= plan.shortfall + 0.01


@THOROUGH
def test_a_set_that_too_many_roofs_hang_on_says_what_the_error_may_hide(monkeypatch):
    monkeypatch.setattr(exact_heat, "MOST_AT_ONCE", 0)
    told = []
    for seed in range(25):
        rng = np.random.default_rng(seed)
        exact = roofs(rng)
        rough = moved(exact, "net_savings", rng)
        how, asked = exactly(exact)
        _, found = settled_set(rough, lambda rows: best_set(rows, 150_000.0), how)
        lost = best_set(exact, 150_000.0).net_savings - exact.loc[found.chosen, "net_savings"].sum()
        assert not asked
        told.append(found.shortfall)
        if not found.put_off:
            assert lost <= found.shortfall + 0.01
    assert max(told) > 0


@pytest.mark.parametrize(
    ("ways", "tied"),
    [
        (((1000.0, 1000.05), (900.0,)), True),  # two ways of the base case, 0.05 of 0.1 apart
        (((1000.0, 1000.2), (900.0,)), False),
        (((1000.0, 1000.0), (900.0,)), False),  # the same work
        (((1000.0,), (1000.05,)), True),  # the alternative and the base case
        (((1000.0,), (900.0,), (900.05,)), True),  # two alternatives
    ],
)
def test_what_lies_closer_than_the_error_is_a_near_tie(ways, tied):
    """By hand: a first work of 100 makes an error of 0.1."""
    work = SimpleNamespace(events=[SimpleNamespace(year=0, cost=100.0, category=COVERING)])
    found = SimpleNamespace(alternatives=(work,) * len(ways), ways=ways)
    assert near_tie(found) is tied
