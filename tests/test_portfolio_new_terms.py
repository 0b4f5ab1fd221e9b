"""A ranking at another rate or price level: as if computed anew, without any heat."""

from dataclasses import replace

import pandas as pd
import pytest

from lcc.comparison import costed
from lcc.errors import CaseError
from lcc.portfolio import heat_by_area
from lcc.portfolio.evaluation import evaluate
from lcc.portfolio.new_terms import changed
from lcc.portfolio.rows import template
from lcc.portfolio.ways_by_year import every_way

FIGURES = [
    "base_life_cycle_cost", "life_cycle_cost", "net_savings", "net_savings_per_cost",
    "savings_to_investment", "simple_payback_y", "discounted_payback_y", "waiting_cost",
    "base_work_cost", "first_cost", "energy_cost_saved", "gas_saved_kwh",
]  # fmt: skip
ROOFS = pd.DataFrame(
    {
        "name": ["old", "young", "failed"],
        "climate": "chicago-il",
        "roof_area_m2": [1000.0, 2500.0, 1800.0],
        "roof_type": "steel-deck-perlite",
        "covering": "epdm-black",
        "age_y": [16.0, 4.0, 25.0],
        "remaining_life_y": [4.0, 14.0, 0.0],
        "repairs_per_m2": 1.0,
        "leaks": [0.0, 0.0, 2.0],
    },
    index=[1, 2, 3],
)


@pytest.fixture(scope="module")
def flat_year():
    """An energy year that is solved once: money alone is looked at here."""
    solved = {}

    def energy(climate, building, area_m2, assembly, prices, terrain="suburban"):
        if assembly not in solved:
            solved[assembly] = heat_by_area.exact(climate, building, 1000.0, assembly, prices)
        return solved[assembly]

    return energy


@pytest.fixture
def kept(flat_year, monkeypatch):
    """Return results, with their ways, of the roofs at a discount rate."""
    monkeypatch.setattr("lcc.portfolio.evaluation.energy_of", lambda low, high: flat_year)

    def results(rate=0.03, years=0, start="now", dearer=0.0):
        done = {}
        base = template()
        terms = replace(base.economics, discount_rate=rate, work_escalation=dearer)
        others = tuple(replace(one, start=start) for one in base.alternatives)
        base = replace(base, economics=terms, alternatives=others)
        frames = list(evaluate(ROOFS, base, start_years=years, done=done, keep_ways=True))
        frame = pd.concat(frames, ignore_index=True)
        assert frame["problem"].isna().all()
        return frame, [row for part in done.values() for row in part]

    return results


def test_unchanged_terms_give_the_results_again(kept):
    frame, outcomes = kept()
    same = changed(outcomes)
    # The rounding of sums in another order.
    pd.testing.assert_frame_equal(same[FIGURES], frame[FIGURES], rtol=1e-9)
    assert same["payback_note"].tolist() == frame["payback_note"].tolist()


def test_work_that_grows_dearer_until_it_is_due_keeps_its_savings_per_dollar(kept):
    frame, outcomes = kept(start="end-of-life", dearer=0.02)
    assert (frame["first_year"] > 0).any()
    pd.testing.assert_frame_equal(changed(outcomes)[FIGURES], frame[FIGURES], rtol=1e-9)


def test_every_way_is_a_way_of_the_comparison(flat_year):
    """At 60 % wet and a dear patch a tear-off under framing costs less; both ways stay."""
    case = template()
    case = replace(
        case,
        roof=replace(case.roof, wet_area_m2=0.6 * case.roof.area_m2, wet_fraction=None),
        prices=replace(case.prices, duties=replace(case.prices.duties, wet_patch_per_m2=400.0)),
    )
    plain = costed(case, flat_year)
    found = [[one.life_cycle_cost for one in ways] for ways in every_way(plain)]
    assert found == [pytest.approx(list(ways)) for ways in plain.ways]
    assert len(found[1]) == 2
    assert found[1][1] < found[1][0]


def test_another_rate_is_as_computed_anew(kept):
    _, outcomes = kept()
    anew, _ = kept(rate=0.06)
    # The cheapest way to lay the old roof's membrane is another at this rate.
    pd.testing.assert_frame_equal(changed(outcomes, 0.06)[FIGURES], anew[FIGURES], rtol=1e-9)


def test_every_price_twice_as_high_doubles_all_but_energy(kept):
    frame, outcomes = kept()
    dear = changed(outcomes, price_factor=2.0)
    assert dear["first_cost"].tolist() == pytest.approx((2 * frame["first_cost"]).tolist())
    # Energy stays, so the whole is less than doubled; the least of straight lines bends down.
    one, two = frame["base_life_cycle_cost"], dear["base_life_cycle_cost"]
    assert (two < 2 * one).all()
    three = changed(outcomes, price_factor=3.0)["base_life_cycle_cost"]
    assert (three <= 2 * two - one + 1e-6).all()
    assert (dear["energy_cost_saved"] != 0).all()


def test_ways_of_a_plan_are_as_computed_anew(kept):
    _, outcomes = kept(years=3)
    anew, _ = kept(rate=0.06, years=3)
    again = changed(outcomes, 0.06)
    money = ["life_cycle_cost", "base_life_cycle_cost", "net_savings", "leak_risk", "due_cost"]
    pd.testing.assert_frame_equal(again[money], anew[money], rtol=1e-9)
    assert again["work"].tolist() == anew["work"].tolist()
    dear = changed(outcomes, price_factor=1.5)
    assert dear["work"].map(sum).tolist() == pytest.approx((1.5 * anew["work"].map(sum)).tolist())


@pytest.mark.parametrize(
    ("terms", "field"),
    [({"discount_rate": 0.5}, "discount_rate"), ({"price_factor": 0.0}, "price_factor")],
)
def test_terms_out_of_range_are_refused(kept, terms, field):
    with pytest.raises(CaseError) as refused:
        changed(kept()[1], **terms)
    assert refused.value.field == field


def test_results_without_ways_are_refused(kept):
    _, outcomes = kept()
    with pytest.raises(CaseError, match="kept their ways"):
        changed([replace(outcomes[0], ways=())], 0.05)
