"""Grants, insurance premiums and a price of carbon: one line of cost each."""

import dataclasses
import types

import pytest

from lcc.case import Coating, Economics, Membrane, MetalRetrofit
from lcc.comparison import compare


@pytest.fixture(scope="module")
def costs(compared, flat_case):
    """The costs by category of the base case and one alternative, and the results."""

    def by_category(alternative, **economics):
        case = dataclasses.replace(
            flat_case, alternatives=(alternative,), economics=Economics(**economics)
        )
        found = compared(case).alternatives
        return [{each.name: each for each in one.costs} for one in found], found

    return by_category


METAL = MetalRetrofit(price_per_m2=150.0)


def test_a_grant_comes_once_with_the_first_work(costs):
    """20,000 now; a metal roof of 20 years is renewed twice without it."""
    plain = dataclasses.replace(METAL, service_life_y=20.0)
    (_, own), found = costs(dataclasses.replace(plain, grant=20_000.0))
    assert own["Grants and rebates"].by_year == (-20_000.0, *[0.0] * 50)
    _, without = costs(plain)
    saved = without[1].life_cycle_cost - found[1].life_cycle_cost
    assert saved == pytest.approx(20_000.0, rel=1e-9)
    assert found[1].first_cost == pytest.approx(without[1].first_cost - 20_000.0, rel=1e-12)


def test_a_grant_waits_for_its_work(costs):
    (_, own), found = costs(Membrane(name="later", grant=5_000.0))
    first = min(event.year for event in found[1].events)
    assert first > 0
    assert own["Grants and rebates"].by_year[first] == -5_000.0
    assert sum(own["Grants and rebates"].by_year) == -5_000.0


def test_a_coating_and_its_membrane_have_their_own_payments(costs):
    """1,000 and -300 a year under the coating, then 4,000 and -200 under the membrane."""
    after = Membrane(grant=4_000.0, insurance_premium=-200.0)
    (_, own), found = costs(Coating(grant=1_000.0, insurance_premium=-300.0, replacement=after))
    laid = min(event.year for event in found[1].events if "laid" in event.what and event.year)
    grants, premiums = own["Grants and rebates"].by_year, own["Insurance"].by_year
    assert (grants[0], grants[laid], sum(grants)) == (-1_000.0, -4_000.0, -5_000.0)
    assert premiums[1 : laid + 1] == (-300.0,) * laid
    assert premiums[laid + 1 :] == (-200.0,) * (50 - laid)


def test_a_premium_is_paid_every_year_under_the_new_roof(costs):
    """-1,500 a year for 50 years at 3 %: UPV 25.7298 (table of the factor)."""
    (base, own), _ = costs(dataclasses.replace(METAL, insurance_premium=-1_500.0))
    assert "Insurance" not in base
    assert own["Insurance"].present_value == pytest.approx(-1_500.0 * 25.7298, rel=1e-5)


def test_a_price_of_carbon_follows_the_emissions(costs, flat_case, plain_energy):
    """0.1 $/kg on what each year's energy emits; without a price there is no such line."""

    def emitting(*given):
        year = plain_energy(*given)
        return dataclasses.replace(year, emissions_kg=0.4 * year.cooling_electricity_kwh)

    case = dataclasses.replace(
        flat_case, alternatives=(METAL,), economics=Economics(carbon_price_per_kg=0.1)
    )
    zone = types.SimpleNamespace(zone="3A", name="a plain place")
    found = compare(case, energy=emitting, climate=lambda site: zone).alternatives
    for result in found:
        one = {each.name: each for each in result.costs}
        emitted = {year: state.emissions_kg for state in result.energy for year in state.years}
        expected = [0.0, *(0.1 * emitted[year] for year in range(1, 51))]
        assert one["Price of carbon"].by_year == pytest.approx(expected, rel=1e-12)
    assert all("Price of carbon" not in one for one in costs(METAL)[0])
