"""Cash flows against a slow plain implementation, and the relations that must hold."""

import dataclasses
from decimal import ROUND_FLOOR, Decimal, getcontext

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lcc.case import Economics
from lcc.case.layers import Assembly
from lcc.cost.cash_flow import costs_today, flows, total
from lcc.cost.ledger import ledger
from lcc.cost.present_value import present_values
from lcc.cost.programme import Programme
from lcc.cost.scenario import Scenario, factors_today
from lcc.cost.work import (
    CAPITAL,
    COVERING,
    DEMAND,
    DISRUPTION,
    ELECTRICITY,
    GAS,
    INSULATION,
    RESIDUAL,
    UPKEEP,
    Ruling,
    Step,
    Work,
    growth_over,
)

getcontext().prec = 50
NOTHING = {ELECTRICITY: 0.0, DEMAND: 0.0, GAS: 0.0}


def programme(*steps, repeat_from=None):
    last = len(steps) - 1
    return Programme("a", "membrane", steps, last if repeat_from is None else repeat_from)


def life_cycle_cost(plan, economics, bills=None, **varied):
    terms = Scenario.of(economics, **varied)
    bills = bills or [NOTHING] * len(plan.steps)
    book = ledger(plan, bills, economics.study_period_y, economics.stays_y)
    flow = present_values(total(flows(book, terms)), terms.discount_rate)
    today = costs_today(book, terms, factors_today(terms, book.years))
    np.testing.assert_allclose(today, flow, rtol=1e-9, atol=1e-6)  # two sums of one thing
    return flow.sum(axis=1)


# --- A slow plain implementation: one year after another, in decimal arithmetic ------------------


def exact(number):
    return Decimal(float(number))


def rounded(number):
    return int((exact(number) + Decimal("0.5")).to_integral_value(ROUND_FLOOR))


def decimal_cost(plan, economics, bills):
    """Walk through the years with a step in hand; add what is paid at each year's end."""
    n, one = economics.study_period_y, Decimal(1)
    rate, work = exact(economics.discount_rate), one + exact(economics.work_escalation)
    keeping = one + exact(economics.repairs_escalation)
    power, gas = (
        one + exact(economics.electricity_escalation),
        one + exact(economics.gas_escalation),
    )
    index, age, term = 0, 0, rounded(plan.steps[0].life_y)
    total, below = Decimal(0), []
    for year in range(n + 1):
        paid = Decimal(0)
        step = plan.steps[index]
        if year > 0:
            age += 1
            repairs = exact(step.repairs) * (one + exact(step.repairs_growth)) ** (age - 1)
            paid += (repairs + exact(step.upkeep)) * keeping**year
            bill = bills[index]
            paid += (exact(bill[ELECTRICITY]) + exact(bill[DEMAND])) * power**year
            paid += exact(bill[GAS]) * gas**year
        if year < n and age == term:
            index = index + 1 if index + 1 < len(plan.steps) else plan.repeat_from
            step, age = plan.steps[index], 0
            term = max(1, rounded(step.life_y))
            paid += sum(exact(each.cost) for each in step.works) * work**year
            below += [(year, exact(each.cost) * exact(each.stays)) for each in step.works]
        elif year < n:
            paid += (
                sum(exact(w.cost) * part(w, term - age) for w in step.repeated if is_due(w, age))
                * keeping**year
            )
        if year == n:
            worn = sum(exact(w.cost) * (one - exact(w.stays)) for w in step.works if w.lasts)
            kept = worn * max(Decimal(0), one - Decimal(age) / Decimal(term))
            for laid, cost in below:
                kept += cost * max(Decimal(0), one - (n - laid) / exact(economics.stays_y))
            paid -= kept * work**year
        total += paid / (one + rate) ** year
    return total


def part(work, left):
    """All of it down to a quarter of its interval, from there by the years left."""
    return min(Decimal(1), 4 * Decimal(left) / exact(work.every_y))


def is_due(work, age):
    """Repeated work is due at multiples of its interval."""
    count = 1
    while rounded(work.every_y * count) < age:
        count += 1
    return rounded(work.every_y * count) == age


def random_programme(rng):
    steps = [Step(Assembly("0"), float(rng.uniform(0, 20)), new=False, **_keeping(rng))]
    for k in range(int(rng.integers(1, 5))):
        works = tuple(
            Work("w", "y", str(rng.choice(CAPITAL[1:])), float(rng.uniform(0, 1e5)), None, False)
            for _ in range(rng.integers(0, 4))
        )
        laid = tuple(
            Work("w", "y", name, float(rng.uniform(1, 1e6)), None, name == COVERING, stays)
            for name, stays in ((COVERING, float(rng.uniform())), (INSULATION, 1.0))
        )
        repeated = tuple(
            Work("w", "y", UPKEEP, float(rng.uniform(0, 1e4)), float(rng.uniform(1.5, 40)))
            for _ in range(rng.integers(0, 3))
        )
        life = float(rng.uniform(0.2, 60))
        steps.append(
            Step(
                Assembly(str(k + 1)),
                life,
                True,
                repeated,
                rulings=done(*works, *laid),
                **_keeping(rng),
            )
        )
    bills = [
        {name: float(rng.uniform(0, 5e4)) for name in (ELECTRICITY, DEMAND, GAS)} for _ in steps
    ]
    return programme(*steps, repeat_from=int(rng.integers(1, len(steps)))), bills


def _keeping(rng):
    return {
        "repairs": float(rng.uniform(0, 5e3)),
        "repairs_growth": float(rng.uniform(-0.1, 0.15)),
        "upkeep": float(rng.uniform(0, 1e3)),
    }


@pytest.mark.parametrize("count", [200, pytest.param(1000, marks=pytest.mark.thorough)])
def test_random_programmes_agree_with_decimal_arithmetic(count):
    """An independent year-by-year walk in 50 digits; agreement to 1e-9 of the cost."""
    rng = np.random.default_rng(20)
    for _ in range(count):
        plan, bills = random_programme(rng)
        economics = Economics(
            study_period_y=int(rng.integers(1, 71)),
            discount_rate=float(rng.uniform(-0.02, 0.15)),
            work_escalation=float(rng.uniform(-0.03, 0.05)),
            repairs_escalation=float(rng.uniform(-0.03, 0.05)),
            stays_y=float(rng.uniform(1, 100)),
            electricity_escalation=float(rng.uniform(-0.03, 0.05)),
            gas_escalation=float(rng.uniform(-0.03, 0.05)),
        )
        slow = float(decimal_cost(plan, economics, bills))
        assert life_cycle_cost(plan, economics, bills)[0] == pytest.approx(slow, rel=1e-9)


# --- Relations that must hold --------------------------------------------------------------------


def done(*works):
    return (Ruling("covering", "done", "", "", works),)


def membranes(life, cost=1e5, before=5.0, **keeping):
    """A membrane laid again at each end of its life, after the years left of today's."""
    laid = Work("laid", "end of life", COVERING, cost, lasts=True)
    return programme(
        Step(Assembly("today"), before, new=False),
        Step(Assembly("new"), life, new=True, rulings=done(laid), **keeping),
    )


def test_a_rate_of_zero_is_the_plain_sum():
    """Life 10 from year 5 over 30 years: three laid, of which the last has five of ten years."""
    plan = membranes(10.0, repairs=100.0)
    cost = life_cycle_cost(plan, Economics(study_period_y=30, discount_rate=0.0))
    assert cost[0] == 3 * 1e5 - 0.5 * 1e5 + 25 * 100


def test_costs_scale_with_the_currency():
    economics = Economics(study_period_y=40)
    one = life_cycle_cost(membranes(12.0, repairs=300.0), economics)
    ten = life_cycle_cost(membranes(12.0, cost=1e6, repairs=3000.0), economics)
    assert ten == pytest.approx(10 * one, rel=1e-12)


def test_splitting_a_cost_in_two_changes_nothing():
    economics = Economics(study_period_y=33, work_escalation=0.01)
    whole = membranes(9.0)
    step = whole.steps[1]
    halves = tuple(dataclasses.replace(step.works[0], cost=5e4) for _ in range(2))
    split = programme(whole.steps[0], dataclasses.replace(step, rulings=done(*halves)))
    assert life_cycle_cost(split, economics) == pytest.approx(
        life_cycle_cost(whole, economics), rel=1e-12
    )


@given(st.integers(0, 20), st.floats(-0.02, 0.2))
@settings(max_examples=40)
def test_a_year_later_at_flat_prices_costs_one_years_discount_less(left, rate):
    """Everything moved by a year, the study period's end with it: the cost is over 1 + d."""
    soon = life_cycle_cost(membranes(11.0, before=left), _flat(40, rate))
    late = life_cycle_cost(membranes(11.0, before=left + 1), _flat(41, rate))
    assert late == pytest.approx(soon / (1 + rate), rel=1e-9)


def _flat(years, rate):
    return Economics(study_period_y=years, discount_rate=rate)


@given(
    st.floats(1, 60), st.floats(0, 10), st.floats(0, 20), st.integers(1, 80), st.floats(0, 0.15),
    st.floats(0.3, 1.0),
)  # fmt: skip
@settings(max_examples=200)
def test_a_longer_life_never_costs_more_at_equal_price(life, more, left, years, rate, ratio):
    """Recovers, tear-offs and their residual values, each at its own price, kept at flat repairs.

    Repairs that grow with age are left out: there a longer life also means an older membrane.
    """

    def cost(life_y):
        torn = Work("torn off", "two in place", DISRUPTION, 4e4)
        laid = Work("laid", "end of life", COVERING, 1e5, lasts=True)
        plan = programme(
            Step(Assembly("today"), left, new=False),
            Step(Assembly("recover"), life_y * ratio, new=True, rulings=done(laid)),
            Step(Assembly("tear-off"), life_y, new=True, rulings=done(torn, laid)),
            repeat_from=1,
        )
        return life_cycle_cost(plan, _flat(years, rate))[0]

    assert cost(life + more) <= cost(life) + 1e-6


def test_a_study_period_shorter_than_the_life_left_costs_no_work():
    """Nothing is laid within three years when five are left of today's covering."""
    assert life_cycle_cost(membranes(12.0), Economics(study_period_y=3))[0] == 0.0


def test_work_at_the_very_end_is_not_done():
    """A covering that ends with the study period is not replaced within it."""
    assert life_cycle_cost(membranes(12.0), Economics(study_period_y=5))[0] == 0.0
    one_more = life_cycle_cost(membranes(12.0), Economics(study_period_y=6, discount_rate=0.0))[0]
    assert one_more == pytest.approx(1e5 * (1 - 11 / 12), rel=1e-12)


# Life 30 and study 20 years: what is left of 30 years when laid today, in year 10, in year 1.
@pytest.mark.parametrize(("laid_at", "left"), [(0.0, 10), (10.0, 20), (1.0, 11)])
def test_the_residual_value_is_straight_line_by_remaining_life(laid_at, left):
    book = ledger(membranes(30.0, before=laid_at), [NOTHING] * 2, 20)
    paid = flows(book, Scenario.of(Economics(study_period_y=20)))
    assert -paid[RESIDUAL][0, -1] == pytest.approx(1e5 * left / 30, rel=1e-12)


@pytest.mark.parametrize("factor", [0.5, 1.5, 3.0])
def test_a_covering_that_lasts_longer_ages_slower(factor):
    """A life drawn longer is the programme of that life, its repairs as far on at its end."""
    plan = membranes(12.0, repairs=200.0, repairs_growth=0.08)
    growth = growth_over(12.0 * factor, 0.08, 12.0)
    longer = membranes(12.0 * factor, repairs=200.0, repairs_growth=growth)
    drawn = life_cycle_cost(plan, Economics(), life=np.array([[factor]]))
    assert drawn == pytest.approx(life_cycle_cost(longer, Economics()), rel=1e-12)


def test_real_and_nominal_rates_give_the_same_cost():
    """3 % real with 2 % inflation is 5.06 % nominal; costs are in base-year money either way."""
    plan = membranes(12.0, repairs=200.0, repairs_growth=0.08)
    bills = [{ELECTRICITY: 100.0, DEMAND: 5.0, GAS: 30.0}] * 2
    real = Economics(discount_rate=0.03, work_escalation=0.01, gas_escalation=-0.01)
    nominal = dataclasses.replace(
        real, discount_rate=1.03 * 1.02 - 1, rate_kind="nominal", inflation=0.02
    )
    assert life_cycle_cost(plan, real, bills) == pytest.approx(
        life_cycle_cost(plan, nominal, bills), rel=1e-12
    )


def test_a_uniform_bill_is_the_escalated_factor():
    """NIST Handbook 135, UPV* at 3 %, 20 years, 2 % escalation: 18.0812 (from memory), 1e-4."""
    plan = programme(Step(Assembly("a"), 50.0, new=False), Step(Assembly("b"), 50.0, new=True))
    bills = [{ELECTRICITY: 1.0, DEMAND: 0.0, GAS: 0.0}] * 2
    economics = Economics(study_period_y=20, electricity_escalation=0.02)
    assert life_cycle_cost(plan, economics, bills)[0] == pytest.approx(18.0812, abs=1e-4)


def test_the_energy_bill_changes_with_the_state_of_the_roof():
    """100 a year for the five years that today's covering has left, 60 from then on."""
    bills = [
        {ELECTRICITY: 100.0, DEMAND: 0.0, GAS: 0.0}, {ELECTRICITY: 60.0, DEMAND: 0.0, GAS: 0.0},
    ]  # fmt: skip
    book = ledger(membranes(20.0), bills, 8)
    paid = flows(book, Scenario.of(Economics(study_period_y=8)))
    assert paid[ELECTRICITY][0].tolist() == [0, 100, 100, 100, 100, 100, 60, 60, 60]


def test_repairs_grow_with_age_and_restart():
    """100 in a covering's first year, 10 % more each year, 100 again after its replacement."""
    plan = membranes(3.0, before=0.0, repairs=100.0, repairs_growth=0.1)
    book = ledger(plan, [NOTHING] * 2, 7)
    repairs = flows(book, Scenario.of(Economics(study_period_y=7)))["Repairs"][0]
    assert repairs == pytest.approx([0, 100, 110, 121, 100, 110, 121, 100], rel=1e-12)


def test_many_draws_are_many_single_draws():
    """Each draw's cost is what it costs alone, whatever the others are."""
    rng = np.random.default_rng(3)
    plan, bills = random_programme(rng)
    economics = Economics(study_period_y=45)
    varied = {
        "discount_rate": rng.uniform(0.01, 0.08, 40),
        "work_escalation": rng.uniform(-0.01, 0.02, 40),
        "price": rng.uniform(0.7, 1.4, 40),
        "energy_saving": rng.uniform(0.5, 1.5, 40),
        "more_remaining": rng.uniform(-5, 5, 40),
        "life": rng.uniform(0.4, 2, (40, 60)),
    }
    together = life_cycle_cost(plan, economics, bills, **varied)
    for draw in range(40):
        alone = {name: values[draw : draw + 1] for name, values in varied.items()}
        assert life_cycle_cost(plan, economics, bills, **alone)[0] == pytest.approx(
            together[draw], rel=1e-12
        )
