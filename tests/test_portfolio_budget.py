"""The best set of roofs under a budget is the one that trying every set finds."""

from itertools import product

import numpy as np
import pandas as pd
import pytest

from lcc.errors import CaseError
from lcc.portfolio.one_budget import best_set, frontier
from web.charts.portfolio import curve


def roofs(seed, buildings=12, alternatives=1):
    """Invented roofs: costs and savings of the size of real programmes, to the cent."""
    rng = np.random.default_rng(seed)
    rows = buildings * alternatives
    cost = rng.uniform(20_000, 400_000, rows).round(2)
    return pd.DataFrame(
        {
            "building": np.repeat(np.arange(buildings), alternatives),
            "first_cost": cost,
            "net_savings": (cost * rng.uniform(-0.4, 1.2, rows)).round(2),
        }
    )


def brute_force(frame, budget):
    """The greatest total over all 2^n sets that fit."""
    bits = (np.arange(2 ** len(frame))[:, np.newaxis] >> np.arange(len(frame))) & 1
    cost = bits @ frame["first_cost"].to_numpy()
    savings = bits @ frame["net_savings"].to_numpy()
    return savings[cost <= budget].max()


@pytest.mark.parametrize("count", [50, pytest.param(200, marks=pytest.mark.thorough)])
def test_equals_brute_force_on_random_portfolios(count):
    for seed in range(count):
        frame = roofs(seed)
        budget = float(np.random.default_rng(seed + 1000).uniform(0, 2e6))
        found = best_set(frame, budget)
        assert found.net_savings == pytest.approx(brute_force(frame, budget), abs=0.005), seed
        assert frame["first_cost"][found.chosen].sum() <= budget
        assert found.shortfall == 0


def test_takes_at_most_one_alternative_of_a_building_and_still_the_best():
    for seed in range(20):
        frame = roofs(seed, buildings=5, alternatives=2)
        budget = 500_000.0
        found = best_set(frame, budget)
        assert frame["building"][found.chosen].is_unique
        best = 0.0
        for picks in product((None, 0, 1), repeat=5):
            rows = [2 * building + pick for building, pick in enumerate(picks) if pick is not None]
            if frame["first_cost"].iloc[rows].sum() <= budget:
                best = max(best, frame["net_savings"].iloc[rows].sum())
        assert found.net_savings == pytest.approx(best, abs=0.005)


def test_a_roof_that_saves_nothing_or_has_no_figure_is_never_chosen():
    frame = pd.DataFrame(
        {
            "building": [1, 2, 3, 4],
            "first_cost": [1.0, 1.0, np.nan, 1.0],
            "net_savings": [-1.0, 0.0, 5.0, np.nan],
        }
    )
    assert not best_set(frame, 100.0).chosen.any()


def test_no_budget_buys_only_what_is_free():
    frame = pd.DataFrame({"building": [1, 2], "first_cost": [0.0, 1.0], "net_savings": [2.0, 3.0]})
    assert best_set(frame, 0.0).chosen.tolist() == [True, False]


@pytest.mark.parametrize("budget", [-1.0, float("nan"), float("inf"), "much", True])
def test_a_budget_that_is_no_sum_is_refused(budget):
    with pytest.raises(CaseError, match="budget"):
        best_set(roofs(1), budget)


@pytest.mark.parametrize("alternatives", [1, 3])
def test_each_corner_of_the_frontier_is_what_the_exact_set_saves_at_that_budget(alternatives):
    frame = roofs(7, buildings=8, alternatives=alternatives)
    corners = frontier(frame)
    assert corners["budget"].is_monotonic_increasing
    for budget, savings in corners.itertuples(index=False):
        found = best_set(frame, budget + 0.001)  # a tenth of a cent: sums of cents are not exact
        assert found.net_savings == pytest.approx(savings, rel=1e-9)


def test_the_frontier_lies_on_or_above_every_exact_set():
    frame = roofs(11, buildings=10, alternatives=2)
    corners = frontier(frame)
    for budget in np.linspace(0, corners["budget"].max(), 15):
        bound = np.interp(budget, corners["budget"], corners["net_savings"])
        assert best_set(frame, float(budget)).net_savings <= bound + 0.005


def test_the_frontier_costs_what_its_roofs_cost():
    """By hand: roofs of 4, 6 and 10 bought in the order of savings per dollar."""
    frame = pd.DataFrame(
        {"building": [1, 2, 3], "first_cost": [10.0, 6.0, 4.0], "net_savings": [9.0, 6.0, 5.0]}
    )
    assert frontier(frame)["budget"].tolist() == [0.0, 4.0, 10.0, 20.0]
    assert curve.DUE not in curve.reading(*frontier(frame).to_numpy().T, None)


@pytest.mark.parametrize(
    ("patching_cost", "corners"),
    [
        # Least: patch one roof for 1 and lose 2 by waiting. To renew it for 5 gains 2 for 4
        # dollars, less a dollar than its alternative at 9, which gains 6 for 8. The other roof
        # gives 6 for 3.
        (1.0, [[1, -2], [4, 4], [12, 10]]),
        # Where patching costs as much as renewing, nothing is lost by waiting.
        (5.0, [[5, 0], [8, 6], [12, 10]]),
    ],
)
def test_the_frontier_begins_at_the_cost_of_what_is_due(patching_cost, corners):
    """By hand: a roof due now costs money in any set, so all sets begin at its least cost."""
    frame = pd.DataFrame(
        {
            "building": [1, 2],
            "first_cost": [9.0, 3.0],
            "net_savings": [4.0, 6.0],
            "base_work_year": [0, 5],
            "base_work_cost": [5.0, np.nan],
            "waiting_cost": [2.0, np.nan],
            "patching_cost": [patching_cost, np.nan],
        }
    )
    assert frontier(frame).to_numpy().tolist() == corners
    assert curve.DUE in curve.reading(*frontier(frame).to_numpy().T, None)
