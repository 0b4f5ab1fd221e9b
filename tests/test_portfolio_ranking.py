"""Ranking, totals, the set under a budget and the plan, from results as they come."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from api.portfolio.workbook import plan_sheets
from lcc.errors import CaseError
from lcc.portfolio.outcome import Begun, Outcome, as_frame
from lcc.portfolio.plan_tables import (
    CapitalPlan,
    DeferredRoof,
    FailingRoof,
    FurtherMoney,
    PlannedWork,
)
from lcc.portfolio.ranking import (
    MEASURES,
    CapitalProgramme,
    MustUndone,
    best_rows,
    planned,
    programme,
    ranked,
    totals,
    within_budget,
)
from lcc.portfolio.totals_and_drivers import drivers
from web.portfolio_answer import answer
from web.portfolio_table import rows
from web.portfolio_words import (
    AGAIN,
    CANNOT_WAIT,
    MORE_WAITS,
    STOPPED,
    brings,
    close_in_words,
    early_in_words,
    gain,
    in_words,
    plan_in_words,
    saved,
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


def test_a_rank_says_what_exact_heat_may_make_of_it_and_that_it_rests_on_many_defaults():
    """By hand: interpolated heat may be off by 0.1 % of a first cost of 100, which is 0.1."""
    roofs = [
        outcome(1, savings=30.0, heat="interpolated", defaults="panel"),
        outcome(2, savings=20.05, heat="interpolated", defaults="panel"),
        outcome(3, savings=20.0, heat="solved", defaults="panel; storeys; use"),
        outcome(4, savings=19.96, heat="interpolated", defaults="panel; storeys; use",
                assumed="age"),
        outcome(5, savings=19.8, heat="interpolated", defaults="panel; storeys; use; repairs"),
        outcome(6, savings=10.0, heat="solved", defaults="panel"),
    ]  # fmt: skip
    for by in ("net-savings", "net-savings-per-cost"):
        found = ranked(as_frame(roofs), by).set_index("building")["rank_note"]
        assert found.tolist() == [
            None,
            "2 to 4 by exact heat",  # 19.95 to 20.15: roof 4 may be 20.06
            "2 to 4 by exact heat",  # 20 itself: roof 2 may be 19.95, roof 4 20.06
            "2 to 5 by exact heat; rests on 3 defaults",  # 19.86 to 20.06; age, storeys, use
            "4 to 5 by exact heat; rests on 3 defaults",  # 19.7 to 19.9
            None,
        ]
    by_payback = ranked(as_frame(roofs), "discounted-payback")["rank_note"].dropna()
    assert by_payback.tolist() == ["rests on 3 defaults"] * 2


def test_savings_within_2_percent_of_the_dearer_are_too_close_to_call():
    """Of 1,000: 20 saved is a fiftieth, 20.1 is more, 5 lost is no saving; of 3 roofs 2 save."""
    costs = {1: (20.0, True), 2: (20.1, False), 3: (-5.0, True)}
    roofs = as_frame([
        outcome(k, savings=saved, base_life_cycle_cost=1000.0, life_cycle_cost=1000.0 - saved)
        for k, (saved, _) in costs.items()
    ])  # fmt: skip
    found = ranked(roofs, "net-savings").set_index("building")["rank_note"]
    assert {k: found[k] == "too close to call" for k in costs} == {
        k: close for k, (_, close) in costs.items()
    }
    assert close_in_words(roofs) == "; 1 roof of these by 2% or less, too close to call"
    assert not close_in_words(roofs.iloc[1:])


def test_what_the_order_follows_is_told_for_a_case_made_by_hand():
    """Savings a dollar follow age alone, savings in dollars follow size; ρ = 1 - 6Σd²/(n³ - n)."""
    size, age = np.arange(1.0, 11.0), np.array([2, 1, 4, 3, 6, 5, 8, 7, 10, 9], float)
    frame = pd.DataFrame(
        {"roof_area_m2": size, "age_y": age, "use": ["school"] * 5 + ["office"] * 5}
    )
    best = pd.DataFrame(
        {"building": range(10), "net_savings_per_cost": age / 10, "net_savings": size * 1000}
    )
    found = {one.column: one for one in drivers(frame, best)}
    assert list(found) == ["age", "roof_area", "use"]
    assert found["age"].net_savings_per_cost == pytest.approx(1.0)
    assert found["age"].net_savings == pytest.approx(1 - 6 * 10 / 990)  # every d is 1
    assert found["roof_area"].net_savings == pytest.approx(1.0)
    # Ranks of schools 1 to 4 and 6, of offices 5 and 7 to 10: means 3.2 and 7.8 about 5.5.
    assert found["use"].net_savings_per_cost == pytest.approx((10 * 2.3**2 / 82.5) ** 0.5)


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


def way(building, begins, cost, savings=None, due=1, years=2):
    """One way to treat a roof of base case life-cycle cost 500; without savings the base case."""
    work = [0.0] * years
    if begins is not None:
        work[begins] = cost
    return replace(
        outcome(cls=Begun, building=building, savings=savings or 0.0, first_year=begins),
        alternative="metal" if savings is not None else "",
        begins=begins,
        base_work_year=due,
        due_cost=cost,
        life_cycle_cost=500.0 - (savings or 0.0),
        base_life_cycle_cost=500.0,
        work=tuple(work),
        patching=(0.0,) * years,
    )


def test_the_plan_is_marked_by_year_and_tells_what_falls_due():
    options = as_frame(
        [
            way(1, 1, 60.0), way(1, None, 60.0), way(1, 0, 100.0, 9.0), way(1, 1, 100.0, 10.0),
            way(2, 0, 50.0, due=0), way(2, None, 50.0, -3.0, due=0), way(2, 0, 100.0, -2.0, due=0),
        ],
        Begun,
    )  # fmt: skip
    results = as_frame([outcome(1), outcome(2, savings=-2.0)])
    marked, plan = planned(results, options, [60.0, 100.0], further=[])
    assert marked["planned_year"].tolist()[0] == 1
    assert np.isnan(marked["planned_year"].tolist()[1])
    whole = programme(marked, plan=plan).plan
    assert [(work.name, work.alternative, work.year) for work in whole.work] == [
        ("B2", "", 0),
        ("B1", "metal", 1),
    ]
    assert [row[4] for row in plan_sheets(whole)["Plan"]] == ["year", 0, 1]
    dated = (
        programme(marked, plan=plan).of_table(2027, "", 0.03).plan
    )  # where a mapping says the year
    assert [row[4] for row in plan_sheets(dated)["Plan"]] == ["year", 2027, 2028]
    shown = {row["name"]: row["cells"] for row in rows(ranked(marked), "ip", dated)}
    assert "2028" in shown["B1"]
    assert "2027, base case" in shown["B2"]
    assert [year.spent for year in whole.years] == [50.0, 100.0]
    assert whole.net_savings == 10.0
    assert whole.deferred == ()
    assert pd.isna(ranked(marked)["in_budget"]).all()


def test_what_more_money_brings_is_a_range_where_the_searches_were_cut_off():
    now, more = FurtherMoney(0, 1e6, 0, 4e4), FurtherMoney(1e5, 1.1e6, 0, 2e4)
    assert gain(now, more) == "$60,000 to $120,000"
    close = replace(now, shortfall=0.0), replace(more, shortfall=5e3)
    assert gain(*close) == "$100,000"
    assert saved(close[1]) == "$1,100,000"
    assert saved(replace(more, shortfall=2e5)) == "$1,100,000 to $1,300,000"
    for points, wide in (((now, more), True), (close, False)):
        plan = CapitalPlan(1e6, 1e7, 0.0, 0.0, 0.0, 0.0, trade_off=points)
        said = list(plan_in_words(CapitalProgramme(totals(RESULTS), plan=plan)))
        assert (STOPPED in said) == wide
        assert MORE_WAITS not in said
        later = replace(plan, trade_off=(points[0], replace(points[1], deferred=9.0)))
        assert MORE_WAITS in plan_in_words(CapitalProgramme(totals(RESULTS), plan=later))
    for gap in (0.0, 50.0, 5e4):  # proved, to a small part, and not
        plan = CapitalPlan(1e6, 1e7, gap, 0.0, 0.0, 0.0)
        said = " ".join(plan_in_words(CapitalProgramme(totals(RESULTS), plan=plan)))
        assert (AGAIN in said) == (gap > 0)
    short = (replace(now, unfunded=5e4, unfunded_at_least=5e4), replace(more, net_savings=9e5))
    plan = CapitalPlan(1e6, 1e7, 0.0, 0.0, 0.0, 0.0, trade_off=short)
    said = list(plan_in_words(CapitalProgramme(totals(RESULTS), plan=plan)))
    assert "first $100,000 would pay for $50,000 more of what cannot wait." in said[0]
    assert CANNOT_WAIT in said
    best = totals(RESULTS)
    dollar = f"${best.net_savings / best.first_cost:.2f} of net savings"
    assert any("that would save brings" in one and dollar in one for one in said)
    assert STOPPED not in said
    half = replace(short[0], unfunded_at_least=3e4), short[1]
    assert brings(*half) == "pay for $30,000 to $50,000 more of what cannot wait"
    said = list(
        plan_in_words(CapitalProgramme(totals(RESULTS), plan=replace(plan, trade_off=half)))
    )
    assert STOPPED in said


def test_a_must_do_roof_with_metal_that_saves_nothing_says_why_and_the_terms_are_named():
    results = as_frame([outcome(1, savings=-2.0, must="must-do-by-1", base_work_year=2)])
    work = PlannedWork(1, "B1", "metal", "begins", 1, 100.0, -2.0)
    plan = CapitalPlan(-2.0, 500.0, 0.0, 0.0, 0.0, 0.0, 2026, work=(work,))
    (said,) = early_in_words(results, plan)
    assert said.startswith("B1 gets “metal” by 2027, as it must, although that saves nothing")
    assert "falls due only in 2028" in said
    in_time = results.assign(base_work_year=1.0)
    assert not list(early_in_words(in_time, plan))
    whole = CapitalProgramme(totals(results), plan=plan)
    assert not list(in_words(whole, None))
    (terms,) = in_words(whole.of_table(2026, "", 0.05, 1.2), None)
    assert terms == "Discount rate 5% a year above inflation, roofing prices times 1.2."
    shown = results.assign(base_work_year=np.nan)
    assert terms in answer(shown, whole.of_table(2026, "", 0.05, 1.2), "ip", None).more


def test_patching_that_is_paid_for_and_roofs_that_go_without_are_told_apart():
    waits = [DeferredRoof(one, f"B{one}", 0, None, 100.0, 3000.0, 4000.0) for one in (1, 2, 3)]
    bare = [FailingRoof(2, "B2", year, "patching", 1000.0) for year in (1, 2)]
    plan = CapitalPlan(
        -5e4, 1e7, 0.5, 300.0, 9000.0, 12000.0, 2026, deferred=tuple(waits), fails=tuple(bare)
    )
    said = " ".join(plan_in_words(CapitalProgramme(totals(RESULTS), plan=plan)))
    assert "need $9,000 of patching, in the money of each year; the plan pays $7,000 of it" in said
    assert "1 roof of the 3 that wait goes without it in some years" in said
    assert "Left without money: B2 (patching, years 2027, 2028)." in said
    assert "counts all patching as done: $2,000 of it is not paid for, and what water then" in said
    assert "less than 0.01% of the life-cycle cost" in said
    long = replace(plan, fails=tuple(replace(one, name=200 * "x") for one in bare))
    assert 45 * "x" not in " ".join(plan_in_words(CapitalProgramme(totals(RESULTS), plan=long)))
    alike = replace(plan, fails=tuple(replace(bare[0], building=one) for one in (2, 3)))
    said = " ".join(plan_in_words(CapitalProgramme(totals(RESULTS), plan=alike)))
    assert "money: B2 (patching, year 2027), B2 (patching, year 2027)." in said  # two of one name
    all_paid = " ".join(
        plan_in_words(CapitalProgramme(totals(RESULTS), plan=replace(plan, fails=())))
    )
    assert "the plan pays all of it" in all_paid


def test_a_budget_pays_for_what_is_due_anyway_and_says_so():
    """A due roof takes only what its alternative costs beyond the work that is due."""
    due = {"base_work_year": 0, "base_work_cost": 80.0, "waiting_cost": 9.0, "patching_cost": 5.0}
    rows = [replace(outcome(one, savings=20.0 + one), **due) for one in (1, 2, 3)]
    results = as_frame([*rows, outcome(4, savings=15.0)])
    marked, chosen = within_budget(results, 205.0)  # metal 100, metal 100 and one patched
    assert marked["in_budget"].tolist() == ["no", "yes", "yes", "no"]
    told = programme(marked, chosen).due_now
    assert (told.buildings, told.cost, told.in_set, told.replaced_cost) == (3, 240.0, 2, 160.0)
    assert (told.put_off, told.put_off_cost, told.patching, told.waiting_cost) == (
        1,
        80.0,
        5.0,
        9.0,
    )
    assert (told.renewed, told.further_needed) == (0, 0.0)
    renewed = programme(*within_budget(results, 190.0)).due_now  # 100 + 80 + 5 saves more
    assert (renewed.in_set, renewed.renewed, renewed.put_off) == (1, 1, 1)
    short = programme(*within_budget(results, 12.0)).due_now
    assert (short.put_off, short.further_needed) == (3, 3.0)


def test_a_budget_does_what_must_be_done_and_leaves_what_must_not():
    results = as_frame(
        [
            replace(outcome(1, savings=-5.0), must="must-do"),
            replace(outcome(2, savings=50.0), must="must-not"),
            outcome(3, savings=10.0),
        ]
    )
    assert within_budget(results, 205.0)[0]["in_budget"].tolist() == ["yes", "no", "yes"]
    poor, chosen = within_budget(results, 50.0)
    assert poor["in_budget"].tolist() == ["no", "no", "no"]
    assert chosen.further_needed == 50.0


def test_must_do_work_that_the_money_cannot_do_is_said_in_the_reply_and_in_words():
    """The must-do roof that is due is not counted as renewed: the budget is 60, its work 100."""
    due = {"base_work_year": 0, "base_work_cost": 120.0, "waiting_cost": 5.0, "patching_cost": 2.0}
    results = as_frame(
        [
            replace(outcome(1, savings=5.0, **due), must="must-do"),
            replace(outcome(2, cost=40.0, savings=-9.0), must="must-do"),
            outcome(3, cost=50.0, savings=70.0),
        ]
    )
    marked, chosen = within_budget(results, 60.0)
    assert marked["in_budget"].tolist() == ["no", "yes", "no"]  # the must-do roof it pays for
    assert (chosen.undone, chosen.renewed, chosen.put_off) == (((1, 100.0),), (), (1,))
    assert chosen.further_needed == 100.0 + 40.0 - 60.0
    whole = programme(marked, chosen)
    told = "The budget does not pay for 1 must-do roof: B1 ($100 at least)."
    assert whole.must_undone == told
    assert whole.must_undone_roofs == (MustUndone(1, "B1", None, 100.0, "budget"),)
    assert programme(*within_budget(results, 140.0)).must_undone is None
    assert answer(marked.assign(roof_heat_gain_kwh_m2=1.0), whole, "ip", 60.0).headline == told
    said = list(in_words(whole, 60.0))
    assert said[-1].endswith("$80 more would.")
