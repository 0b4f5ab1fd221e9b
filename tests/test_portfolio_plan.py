"""The plan over years keeps each year's budget, is the best there is, and waits for no failure."""

from itertools import product

import numpy as np
import pandas as pd
import pytest

from lcc.errors import CaseError
from lcc.portfolio.plan import multi_year_plan

YEARS = 3


def portfolio(seed, buildings=5):
    """Invented roofs: each year's retrofit saves differently; most fail within the plan."""
    rng = np.random.default_rng(seed)
    building = np.repeat(np.arange(buildings), YEARS)
    cost = np.repeat(rng.uniform(50, 150, buildings).round(2), YEARS)
    options = pd.DataFrame(
        {
            "building": building,
            "alternative": "metal",
            "year": np.tile(np.arange(YEARS), buildings),
            "first_cost": cost,
            "net_savings": rng.uniform(-20, 120, building.size).round(2),
        }
    )
    failures = pd.DataFrame(
        {
            "building": np.arange(buildings),
            "year": rng.integers(0, YEARS + 2, buildings),
            "first_cost": rng.uniform(30, 80, buildings).round(2),
        }
    )
    return options, failures


def brute_force(options, failures, budgets):
    """Least unfunded, then most savings, over every combination of years and doing nothing."""
    tables = [group.to_dict("records") for _, group in options.groupby("building")]
    due = failures.set_index("building")
    best = (np.inf, np.inf)
    for picks in product([None, *range(YEARS)], repeat=len(tables)):
        spent, savings = np.zeros(len(budgets)), 0.0
        for building, year in enumerate(picks):
            fails = due["year"][building]
            if year is None:
                if fails < len(budgets):
                    spent[fails] += due["first_cost"][building]
            elif year > fails:
                break
            else:
                spent[year] += tables[building][year]["first_cost"]
                savings += tables[building][year]["net_savings"]
        else:
            unfunded = round(np.clip(spent - budgets, 0, None).sum(), 2)
            best = min(best, (unfunded, -savings))
    return best[0], -best[1]


@pytest.mark.parametrize("seed", range(12))
def test_equals_trying_every_combination(seed):
    options, failures = portfolio(seed)
    budgets = np.random.default_rng(seed + 500).uniform(0, 250, YEARS).round(2)
    plan = multi_year_plan(options, failures, budgets.tolist())
    unfunded, savings = brute_force(options, failures, budgets)
    assert plan.years["unfunded"].sum() == pytest.approx(unfunded, abs=0.011)
    assert plan.net_savings == pytest.approx(savings, abs=0.011)
    assert plan.shortfall == 0


@pytest.mark.parametrize("seed", range(12))
def test_keeps_every_budget_and_no_roof_waits_past_its_failure(seed):
    options, failures = portfolio(seed, buildings=9)
    plan = multi_year_plan(options, failures, [260.0, 180.0, 220.0])
    fails = plan.work["building"].map(failures.set_index("building")["year"])
    assert (plan.work["year"] <= fails).all()
    assert plan.work["building"].is_unique
    due = set(failures["building"][failures["year"] < YEARS])
    assert due <= set(plan.work["building"])  # each failing roof is retrofitted or replaced
    over = plan.years["spent"] - plan.years["budget"]
    assert np.allclose(plan.years["unfunded"], over.clip(lower=0), atol=0.006)


def test_without_money_the_roofs_that_fail_are_said_to_be_unfunded():
    options, failures = portfolio(3)
    plan = multi_year_plan(options, failures, [0.0] * YEARS)
    due = failures[failures["year"] < YEARS]
    cheapest = np.minimum(
        due["first_cost"], due["building"].map(options.groupby("building")["first_cost"].min())
    )
    assert plan.years["unfunded"].sum() == pytest.approx(cheapest.sum(), abs=0.02)


def test_no_options_leave_the_replacements_that_fall_due():
    options, failures = portfolio(4)
    plan = multi_year_plan(options.iloc[:0], failures, [1000.0] * YEARS)
    assert (plan.work["alternative"] == "").all()
    assert plan.net_savings == 0


def test_a_budget_that_is_no_sum_is_refused_by_its_year():
    options, failures = portfolio(5)
    with pytest.raises(CaseError, match=r"budgets\.1"):
        multi_year_plan(options, failures, [10.0, -1.0])
