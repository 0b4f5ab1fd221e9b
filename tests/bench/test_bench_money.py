"""How long money takes once heat is known; run as ``python -m pytest tests/bench``.

Limits are the goals: a what-if of two alternatives under 15 ms, 10,000 draws under 200 ms.
The ratio against a plain walk through one programme in decimal arithmetic travels between machines.
"""

import dataclasses
import time
from decimal import Decimal

import numpy as np
import pytest

from lcc.case import Coating, Membrane, MetalRetrofit, Uncertainty
from lcc.cost.cash_flow import life_cycle_costs
from lcc.cost.ledger import ledger
from lcc.cost.programme import plan
from lcc.cost.scenario import Scenario
from lcc.cost.work import ENERGY

BILLS = dict.fromkeys(ENERGY, 1000.0)


def median_ms(work, times=31):
    """Return the median processor time of a piece of work [ms], after one run to warm up."""
    work()
    spent = []
    for _ in range(times):
        start = time.process_time()
        work()
        spent.append(1e3 * (time.process_time() - start))
    return float(np.median(spent))


@pytest.fixture(scope="module")
def three(flat_case):
    alternatives = (MetalRetrofit(), Coating())
    return dataclasses.replace(flat_case, base_case=Membrane(), alternatives=alternatives)


def test_a_what_if_of_two_alternatives(compared, three):
    spent = median_ms(lambda: compared.__wrapped__(three))  # not the one that is kept
    print(f"\nbase case and two alternatives with break-evens and swings: {spent:.1f} ms")
    assert spent < 15


def test_ten_thousand_draws(compared, three):
    drawn = dataclasses.replace(three, uncertainty=Uncertainty(draws=10000))
    spent = median_ms(lambda: compared.__wrapped__(drawn), 7)
    spent -= median_ms(lambda: compared.__wrapped__(three), 7)
    print(f"\n10,000 draws of three programmes: {spent:.0f} ms")
    assert spent < 200


def test_a_draw_against_a_plain_walk(flat_roof, flat_case):
    """One draw among 10,000 against the same years walked in decimal arithmetic."""
    programme = plan(Membrane(), flat_roof, flat_case.prices, 3)
    book = ledger(programme, [BILLS] * len(programme.steps), 50)
    terms = Scenario.of(flat_case.economics, discount_rate=np.full(10000, 0.03))
    draw = median_ms(lambda: life_cycle_costs(book, terms), 7) / 10000
    plain = median_ms(lambda: walk(programme.steps[1]), 7)
    print(
        f"\none draw {1e3 * draw:.2f} us, plain walk {1e3 * plain:.0f} us: {plain / draw:.0f} times"
    )
    assert plain > 10 * draw


def walk(step):
    """Walk through fifty years of one step in decimal arithmetic."""
    total, rate = Decimal(0), Decimal("1.03")
    for year in range(1, 51):
        growth = Decimal(str(1 + step.repairs_growth)) ** (year - 1)
        paid = Decimal(step.repairs) * growth + sum(Decimal(bill) for bill in BILLS.values())
        paid += sum(Decimal(work.cost) for work in step.works) if year % 14 == 0 else 0
        total += paid / rate**year
    return total
