"""The plan over years keeps each year's budget, is the best there is, and waits for no failure."""

from itertools import product

import numpy as np
import pandas as pd
import pytest

from lcc.errors import CaseError
from lcc.portfolio.plan import BASE_CASE, BEGINS, PIECES, multi_year_plan

YEARS = 3


def portfolio(seed, buildings=5):
    """Invented roofs: each year's retrofit saves differently; most fail within the plan.

    A retrofit may have later work in the plan, and so may a roof that is replaced.
    """
    rng = np.random.default_rng(seed)
    building = np.repeat(np.arange(buildings), YEARS)
    begin = np.tile(np.arange(YEARS), buildings)
    fails = rng.integers(0, YEARS + 2, buildings)
    cost = np.repeat(rng.uniform(50, 150, buildings).round(2), YEARS)
    options = pd.DataFrame(
        {
            "building": building,
            "alternative": "metal",
            "year": begin,
            "work": [work(*pair, rng) for pair in zip(begin, cost, strict=True)],
            "net_savings": rng.uniform(-20, 120, building.size).round(2),
        }
    )
    renewal = rng.uniform(30, 80, buildings).round(2)
    bases = pd.DataFrame(
        {
            "building": np.arange(buildings),
            "year": np.where(fails > YEARS, np.nan, fails),
            "work": [work(*pair, rng) for pair in zip(fails, renewal, strict=True)],
        }
    )
    return options, bases


def work(begin, cost, rng):
    """Cost by year: work that begins in a year, and perhaps a smaller piece in the last one."""
    costs = [0.0] * YEARS
    if begin < YEARS:
        costs[begin] = float(cost)
        costs[-1] += float(rng.choice([0.0, 10.0]))
    return tuple(costs)


def brute_force(options, bases, budgets):
    """Least unfunded, then most savings, over every combination of years and doing nothing."""
    tables = [group.to_dict("records") for _, group in options.groupby("building")]
    rows = bases.set_index("building").to_dict("index")
    best = (np.inf, np.inf)
    for picks in product([None, *range(YEARS)], repeat=len(tables)):
        spent, savings = np.zeros(len(budgets)), 0.0
        for building, year in enumerate(picks):
            if year is None:
                spent += rows[building]["work"]
            elif year > rows[building]["year"]:
                break
            else:
                spent += tables[building][year]["work"]
                savings += tables[building][year]["net_savings"]
        else:
            unfunded = round(np.clip(spent - budgets, 0, None).sum(), 2)
            best = min(best, (unfunded, -savings))
    return best[0], -best[1]


@pytest.mark.parametrize("seed", range(12))
def test_equals_trying_every_combination(seed):
    options, bases = portfolio(seed)
    budgets = np.random.default_rng(seed + 500).uniform(0, 250, YEARS).round(2)
    plan = multi_year_plan(options, bases, budgets.tolist())
    unfunded, savings = brute_force(options, bases, budgets)
    assert plan.years["unfunded"].sum() == pytest.approx(unfunded, abs=0.011)
    assert plan.net_savings == pytest.approx(savings, abs=0.011)
    assert plan.shortfall == 0


@pytest.mark.parametrize("seed", range(12))
def test_keeps_every_budget_and_no_roof_waits_past_its_failure(seed):
    options, bases = portfolio(seed, buildings=9)
    plan = multi_year_plan(options, bases, [260.0, 180.0, 220.0])
    begun = plan.work[plan.work["what"] == BEGINS]
    fails = begun["building"].map(bases.set_index("building")["year"]).fillna(np.inf)
    assert (begun["year"] <= fails).all()
    assert begun["building"].is_unique
    due = set(bases["building"][bases["year"] < YEARS])
    assert due <= set(plan.work["building"])  # each failing roof is retrofitted or replaced
    over = plan.years["spent"] - plan.years["budget"]
    assert np.allclose(plan.years["unfunded"], over.clip(lower=0), atol=0.006)


@pytest.mark.parametrize("seed", range(6))
def test_all_work_of_what_is_chosen_is_in_the_plan_and_paid(seed):
    options, bases = portfolio(seed, buildings=7)
    plan = multi_year_plan(options, bases, [200.0] * YEARS)
    spent = np.zeros(YEARS)
    begun = plan.work[plan.work["what"] == BEGINS].set_index("building")["year"]
    for building in bases["building"]:
        if building in begun:
            own = options[(options["building"] == building) & (options["year"] == begun[building])]
        else:
            own = bases[bases["building"] == building]
        spent += own["work"].iloc[0]
    assert plan.years["spent"].to_numpy() == pytest.approx(spent)
    assert plan.work["cost"].sum() == pytest.approx(spent.sum())
    assert set(plan.work["what"]) <= set(PIECES)


def test_a_second_replacement_within_the_plan_is_paid_in_its_year():
    """Replaced in year 0 and again in year 2 by its base case; nothing else can be done."""
    bases = pd.DataFrame({"building": [7], "year": [0], "work": [(50.0, 0.0, 60.0)]})
    options, _ = portfolio(4)
    plan = multi_year_plan(options.iloc[:0], bases, [55.0, 55.0, 55.0])
    assert plan.years["spent"].tolist() == [50.0, 0.0, 60.0]
    assert plan.years["unfunded"].tolist() == [0.0, 0.0, 5.0]
    assert plan.work["what"].tolist() == [BASE_CASE, BASE_CASE]


def test_without_money_the_roofs_that_fail_are_said_to_be_unfunded():
    options, bases = portfolio(3)
    plan = multi_year_plan(options, bases, [0.0] * YEARS)
    least = 0.0
    for building, fails, costs in bases.itertuples(index=False):
        own = options[options["building"] == building]
        in_time = own[own["year"] <= (YEARS if np.isnan(fails) else fails)]
        least += min([sum(costs), *map(sum, in_time["work"])])
    assert plan.years["unfunded"].sum() == pytest.approx(least, abs=0.02)


def test_no_options_leave_the_base_cases_to_go_on():
    options, bases = portfolio(4)
    plan = multi_year_plan(options.iloc[:0], bases, [1000.0] * YEARS)
    assert (plan.work["alternative"] == "").all()
    assert plan.net_savings == 0


def test_a_budget_that_is_no_sum_is_refused_by_its_year():
    options, bases = portfolio(5)
    with pytest.raises(CaseError, match=r"budgets\.1"):
        multi_year_plan(options, bases, [10.0, -1.0])
