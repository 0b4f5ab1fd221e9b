"""A part of the roof now and the rest later: two programmes, each on its part of the area."""

import dataclasses
import math

import pytest

from lcc.case import DutyPrices, Layer, Membrane, MetalRetrofit, Prices, Roof, Tax
from lcc.case.duty_prices import DUTIES
from lcc.cost.programme import parts_of
from lcc.errors import CaseError

CHOICES = {
    "metal": MetalRetrofit(price_per_m2=170.0, insurance_premium=900.0),
    "membrane": Membrane(price_per_m2=70.0, start="now", method="recover-where-allowed"),
    "end-of-life": Membrane(price_per_m2=70.0, method="tear-off"),
}
SURVEYED = {"wet_fraction": 0.1, "ponding": "none", "asbestos": "found", "remaining_life_y": 3.0}


@pytest.fixture
def cost(compared, flat_case):
    """The result of an alternative on a roof without things counted, setting up again free."""

    def answer(choice, **terms):
        case = dataclasses.replace(
            flat_case,
            roof=dataclasses.replace(flat_case.roof, rooftop_units=0, **SURVEYED),
            prices=Prices(duties=DutyPrices(second_setup=0.0)),
            economics=dataclasses.replace(flat_case.economics, study_period_y=35, **terms),
            alternatives=(choice,),
        )
        return compared(case, explore=False)

    return answer


@pytest.mark.parametrize("choice", CHOICES.values(), ids=CHOICES)
def test_two_parts_cost_what_both_programmes_cost_by_area(cost, choice):
    """Energy, repairs, leaks, work and residual value, with a price rise and a tax; to 1e-9."""
    tax = Tax(0.27, partial_disposition=True, old_roof_basis=40_000.0, old_roof_years=20)
    terms = {"work_escalation": 0.01, "tax": tax}
    in_two = dataclasses.replace(choice, share_first=0.3, rest_after_y=8.0)
    whole, later, both = (
        cost(each, **terms).alternatives[1]
        for each in (choice, dataclasses.replace(choice, wait_y=8.0), in_two)
    )
    for read in (
        lambda one: one.life_cycle_cost,
        lambda one: one.residual_value,
        lambda one: one.measures.net_savings.value,
        lambda one: one.after_tax.life_cycle_cost,
        lambda one: sum(len(y.years) * (y.electricity_cost + y.gas_cost) for y in one.energy),
    ):
        mean = 0.3 * read(whole) + 0.7 * read(later)
        assert read(both) == pytest.approx(mean, rel=1e-9)
    flows = zip(whole.cash_flow, later.cash_flow, both.cash_flow, strict=True)
    assert all(c == pytest.approx(0.3 * a + 0.7 * b, rel=1e-9, abs=1e-6) for a, b, c in flows)


@pytest.mark.parametrize("price", [0.0, 20.0])
def test_a_low_bid_for_two_parts_bears_the_fees_of_what_each_part_has(compared, flat_case, price):
    """Of five units, two stand on the first 0.3 of the roof: not 0.3 of five. Fees are 8 %."""
    whole = MetalRetrofit(price_per_m2=price, price_includes=("everything",))
    case = dataclasses.replace(
        flat_case,
        roof=dataclasses.replace(flat_case.roof, rooftop_units=5, **SURVEYED),
        prices=Prices(duties=DutyPrices(second_setup=0.0, on_costs_rate=0.08)),
        alternatives=(dataclasses.replace(whole, share_first=0.3, rest_after_y=8.0),),
    )
    events = compared(case, explore=False).alternatives[1].events
    free, paid = ("on-costs", "protection", "warranty"), 0.0
    for year in (0, 8):
        job = [each for each in events if each.year == year and each.duty != "service"]
        fees = sum(each.cost for each in job if each.duty == "on-costs")
        work = sum(each.cost for each in job if each.duty not in free)
        assert fees == pytest.approx(0.08 * work, rel=1e-9, abs=1e-9)
        assert min(each.cost for each in job) >= 0
        paid += sum(each.cost for each in job)
    assert paid == pytest.approx(price * flat_case.roof.area_m2, rel=1e-9, abs=1e-6)


def test_the_rest_waits_with_repairs_and_leaks(cost):
    """Three years left, the rest waits until year 8: 0.5 $/m² more leaks each year from the 4th."""
    early, late = (
        cost(
            dataclasses.replace(
                CHOICES["metal"], share_first=0.5, rest_after_y=year, repairs_per_m2=0.0
            )
        )
        for year in (3.0, 8.0)
    )
    repairs = [
        next(c for c in one.alternatives[1].costs if c.name == "Repairs").by_year
        for one in (early, late)
    ]
    roof_repairs = 1.0 * 1000  # $/m² today on the half that waits, 8 % more each year
    for year in range(4, 9):
        grown = roof_repairs * 1.08 ** (year - 1)
        assert repairs[1][year] - repairs[0][year] == pytest.approx(grown + 500 * (year - 3))


def test_every_year_has_its_energy_and_the_scope_adds_up(cost):
    told = cost(dataclasses.replace(CHOICES["metal"], share_first=0.25, rest_after_y=10.0))
    own = told.alternatives[1]
    assert sorted(year for state in own.energy for year in state.years) == list(range(1, 36))
    assert own.energy[0].assembly == "Metal retrofit on 25%, Roof today on the rest"
    assert own.energy[-1].assembly == "Metal retrofit"
    spent = math.fsum(event.cost for event in own.events)
    entries = [row.alternatives[1] for row in told.scope]
    assert math.fsum(entry.cost for entry in entries) == pytest.approx(spent, rel=1e-12)
    assert [row.key for row in told.scope] == list(DUTIES)
    assert {event.year for event in own.events} >= {0, 10}


def test_setting_up_again_is_paid_with_the_rest(compared, flat_case):
    in_two = dataclasses.replace(CHOICES["metal"], share_first=0.5, rest_after_y=5.0)
    case = dataclasses.replace(flat_case, prices=Prices(), alternatives=(in_two,))
    found = [e for e in compared(case).alternatives[1].events if "Setting up again" in e.what]
    assert [(event.year, event.cost) for event in found] == [(5, 6000.0)]


def test_its_invented_price_is_named_and_listed_where_it_is_paid(compared, flat_case):
    """A roof done at once has none to name, though its other invented prices are named."""
    choice, label = CHOICES["metal"], "Setting up again for the rest of a roof done in two parts"
    for one, expected in (
        (choice, False),
        (dataclasses.replace(choice, share_first=0.3, rest_after_y=8.0), True),
    ):
        found = compared(dataclasses.replace(flat_case, alternatives=(one,)))
        (named,) = (told for told in found.cautions if "are invented" in told)
        assert "Sealant and ventilator service" in named
        assert (label in named) is expected
        assert (label in [each.label for each in found.assumptions]) is expected


def test_draws_and_swings_count_both_parts(compared, flat_case):
    """With every range at 0 each draw is the point result of both parts."""
    still = {
        f.name: 0.0
        for f in dataclasses.fields(flat_case.uncertainty)
        if f.name.endswith(("_range", "_range_y", "_spread"))
    }
    in_two = dataclasses.replace(CHOICES["metal"], share_first=0.4, rest_after_y=7.0)
    ranges = dataclasses.replace(flat_case.uncertainty, draws=5, **still)
    own = compared(
        dataclasses.replace(flat_case, uncertainty=ranges, alternatives=(in_two,))
    ).alternatives[1]
    assert own.spread.life_cycle_cost.p50 == pytest.approx(own.life_cycle_cost, rel=1e-9)
    assert own.starting_years is None
    price = next(each for each in own.swings if each.field.endswith(".price"))
    assert price.net_savings_low == pytest.approx(own.measures.net_savings.value, rel=1e-9)


def test_nothing_until_a_year_is_the_limit_of_no_first_part(cost):
    """A first part of a twentieth lies between the whole now and the whole in year 8."""
    metal = CHOICES["metal"]
    in_two = dataclasses.replace(metal, share_first=0.05, rest_after_y=8.0)
    now, later, both = (
        cost(each).alternatives[1].life_cycle_cost
        for each in (metal, dataclasses.replace(metal, wait_y=8.0), in_two)
    )
    assert min(now, later) < both < max(now, later)


def test_parts_that_make_no_sense_are_refused():
    with pytest.raises(CaseError, match=r"rest_after is missing; allowed: the year of the rest"):
        MetalRetrofit(share_first=0.5)
    with pytest.raises(CaseError, match="nothing where all is done first"):
        Membrane(rest_after_y=5.0)
    with pytest.raises(CaseError, match="no year before the first part, 6"):
        Membrane(share_first=0.5, wait_y=6.0, rest_after_y=5.0)
    with pytest.raises(CaseError, match="share_first"):
        parts_of(Roof(10.0, layers=(Layer("steel-deck"),)), 0.05)


def test_a_grant_is_paid_once_with_the_first_part(cost):
    in_two = dataclasses.replace(
        CHOICES["metal"], grant=10_000.0, share_first=0.5, rest_after_y=5.0
    )
    costs = cost(in_two).alternatives[1].costs
    (paid,) = (each.by_year for each in costs if each.name == "Grants and rebates")
    assert paid[0] == -10_000.0
    assert not any(paid[1:])
