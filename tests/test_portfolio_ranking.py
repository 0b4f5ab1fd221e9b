"""Ranking, totals, the set under a budget and the plan, from results as they come."""

import numpy as np
import pandas as pd
import pytest

from lcc.errors import CaseError
from lcc.portfolio.outcome import Begun, Outcome, as_frame
from lcc.portfolio.ranking import (
    MEASURES,
    best_rows,
    planned,
    programme,
    ranked,
    totals,
    within_budget,
)


def outcome(building, alternative="metal", cost=100.0, savings=10.0, cls=Outcome, **more):
    return cls(
        building=building, name=f"B{building}", alternative=alternative, first_cost=cost,
        net_savings=savings, net_savings_per_cost=savings / cost, roof_area_m2=500.0,
        electricity_saved_kwh=1.0, gas_saved_kwh=2.0, energy_cost_saved=3.0,
        emissions_saved_kg=4.0, **more,
    )  # fmt: skip


RESULTS = as_frame(
    [
        outcome(1, savings=10.0, discounted_payback_y=9.0, savings_to_investment=1.1),
        outcome(1, "coating", cost=20.0, savings=15.0, discounted_payback_y=3.0),
        outcome(2, savings=90.0, discounted_payback_y=20.0, savings_to_investment=1.9),
        outcome(3, savings=-5.0, savings_to_investment=0.95),
        Outcome(building=4, name="B4", problem="refused"),
    ]
)


@pytest.mark.parametrize(
    ("by", "order", "has"),
    [
        ("net-savings", [90.0, 15.0, 10.0, -5.0], 4),
        ("savings-to-investment", [15.0, 90.0, 10.0, -5.0], 4),
        ("discounted-payback", [15.0, 10.0, 90.0], 3),
        ("net-savings-per-cost", [90.0, 15.0, 10.0, -5.0], 4),
    ],
)
def test_the_best_is_first_and_what_has_no_figure_and_saves_nothing_last(by, order, has):
    found = ranked(RESULTS, by)
    assert found["net_savings"].tolist()[: len(order)] == order
    assert found["rank"].dropna().tolist() == list(range(1, has + 1))
    assert len(found) == len(RESULTS)


def test_what_never_pays_back_is_not_taken_for_what_has_nothing_to_pay_back():
    """With a residual value net savings can be positive and the investment never recovered."""
    found = ranked(
        as_frame(
            [
                outcome(1, savings=50.0, savings_to_investment=1.5),
                outcome(2, savings=5.0, savings_to_investment=1.1, discounted_payback_y=9.0),
                outcome(3, savings=1.0),
            ]
        ),
        "discounted-payback",
    )
    assert found["building"].tolist() == [3, 2, 1]
    assert found["rank"].tolist()[:2] == [1, 2]
    assert np.isnan(found["rank"].tolist()[2])


def test_equal_figures_keep_the_order_of_the_buildings():
    equal = as_frame([outcome(building) for building in range(6)])
    assert ranked(equal)["building"].tolist() == list(range(6))


def test_an_unknown_measure_is_refused_with_the_known_ones():
    with pytest.raises(CaseError, match="net-savings"):
        ranked(RESULTS, "luck")
    assert len(MEASURES) == 4


def test_totals_take_each_building_once_and_only_where_it_saves():
    best = best_rows(RESULTS)
    assert best[["building", "alternative"]].to_numpy().tolist() == [[1, "coating"], [2, "metal"]]
    found = totals(best)
    assert (found.buildings, found.first_cost, found.net_savings) == (2, 120.0, 105.0)
    assert found.roof_area_m2 == 1000.0


def test_no_results_come_to_nothing():
    none = totals(best_rows(RESULTS.iloc[:0]))
    assert (none.buildings, none.net_savings) == (0, 0.0)


def test_the_set_under_a_budget_is_marked():
    marked, chosen = within_budget(RESULTS, 119.0)
    assert marked["in_budget"].tolist() == ["no", "no", "yes", "no", None]
    whole = programme(marked, chosen)
    assert whole.in_budget.net_savings == 90.0
    assert whole.in_budget.shortfall == 0.0
    assert ranked(marked)["in_budget"].tolist()[0] == "yes"


def test_the_plan_is_marked_by_year_and_tells_what_falls_due():
    due = {"base_work_year": 1, "base_work": (0.0, 60.0)}
    now = {"base_work_year": 0, "base_work": (50.0, 0.0)}
    options = as_frame(
        [
            outcome(cls=Begun, building=1, savings=9.0, first_year=0, work=(100.0, 0.0), **due),
            outcome(cls=Begun, building=1, savings=10.0, first_year=1, work=(0.0, 100.0), **due),
            outcome(cls=Begun, building=2, savings=-2.0, first_year=0, work=(100.0, 0.0), **now),
        ],
        Begun,
    )
    results = as_frame([outcome(1), outcome(2, savings=-2.0)])
    marked, plan = planned(results, options, [60.0, 100.0])
    assert marked["planned_year"].tolist()[0] == 1
    assert np.isnan(marked["planned_year"].tolist()[1])
    whole = programme(marked, plan=plan)
    assert [(work.name, work.alternative, work.year) for work in whole.plan_work] == [
        ("B2", "", 0),
        ("B1", "metal", 1),
    ]
    assert [year.spent for year in whole.plan_years] == [50.0, 100.0]
    assert whole.plan_net_savings == 10.0
    assert pd.isna(ranked(marked)["in_budget"]).all()
