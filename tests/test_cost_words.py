"""The verdict: one paragraph that follows from the figures, whichever way they fall."""

import dataclasses
import re

import pytest

from lcc.case import Coating, Economics, Layer, Membrane, MetalRetrofit, Prices, Uncertainty
from lcc.cost.words import money

# Ten inches of blanket on the old roof, more than the minimum that a tear-off brings.
BLANKET = Layer(material="glass-fibre-blanket", thickness_m=0.25)
METAL = MetalRetrofit(layers=(BLANKET,))


@pytest.fixture(scope="module")
def told(compared, flat_case):
    """Compare the base case and alternatives given; return the comparison."""

    def answer(base, *alternatives, **parts):
        return compared(
            dataclasses.replace(flat_case, base_case=base, alternatives=alternatives, **parts)
        )

    return answer


def test_a_retrofit_that_pays(told):
    """What is cheaper, from when, how much is energy, and what could turn it round."""
    found = told(Membrane(price_per_m2=90.0), dataclasses.replace(METAL, price_per_m2=120.0))
    base, own = found.alternatives
    net = own.measures.net_savings.value
    assert f"costs {money(net)} less than" in found.verdict
    assert money(own.life_cycle_cost) in found.verdict
    assert money(base.life_cycle_cost) in found.verdict
    assert f"It costs {money(own.first_cost)} more today" in found.verdict
    energy = sum(
        sign * category.present_value
        for sign, each in ((1, base), (-1, own))
        for category in each.costs
        if category.name in ("Electricity", "Gas")
    )
    share = float(re.search(r"Of the saving, ([\d.]+) % is energy", found.verdict).group(1))
    assert share == pytest.approx(100 * energy / net, abs=0.5)
    assert "turn" in found.verdict


def test_a_retrofit_that_does_not_pay(told):
    found = told(Membrane(), dataclasses.replace(METAL, price_per_m2=400.0))
    own = found.alternatives[1]
    lost = money(-own.measures.net_savings.value)
    assert found.verdict.startswith(f"“Metal retrofit” does not pay: it costs {lost} more")
    assert "has not made up for its cost by year 50" in found.verdict
    assert "of energy, but its work costs" in found.verdict


def test_the_nearest_input_is_named(told):
    """The price at which it turns is inside its range, so it is said to be able to turn it."""
    even = told(Membrane(), MetalRetrofit())
    price = {e.field: e for e in even.alternatives[1].break_even}["alternatives.0.price"]
    close = told(Membrane(), MetalRetrofit(price_per_m2=price.value.value * 0.98))
    own = close.alternatives[1]
    nearest = next(e for e in own.break_even if e.field == "alternatives.0.price").value.value / (
        price.value.value * 0.98
    )
    assert nearest == pytest.approx(1 / 0.98, rel=1e-6)
    assert "What could turn it round: the " in close.verdict


def test_about_the_same(told):
    found = told(Membrane(), Membrane(name="the same"))
    assert "cost about the same" in found.headline
    assert "ever since" not in found.verdict
    assert "Small changes of any input decide between them." in found.verdict


def test_energy_that_gets_dearer_is_said(told):
    """A coated roof waits longer for its insulation: more energy, less work."""
    cheap = Coating(price_per_m2=5.0, life_gain_y=12.0, renewal_y=20.0, replacement=Membrane())
    found = told(Membrane(), cheap, prices=Prices(electricity_per_kwh=0.4))
    assert re.search(r"Energy costs \$[\d,]+ more with it; re-roofing and repairs", found.verdict)


def test_the_draws_are_told(told):
    found = told(Membrane(), MetalRetrofit(), uncertainty=Uncertainty(draws=400))
    against = found.alternatives[1].spread.against_base
    assert "In 400 random draws of all uncertain inputs it costs less in" in found.verdict
    assert money(abs(against.net_savings.p10)) in found.verdict


def test_several_alternatives_are_ranked(told):
    found = told(
        Membrane(), MetalRetrofit(name="dear", price_per_m2=500.0), MetalRetrofit(name="cheap")
    )
    assert found.verdict.startswith("“cheap”")
    dear = found.alternatives[1].life_cycle_cost
    assert f"For comparison: “dear” {money(dear)}." in found.verdict


def test_never_not_a_number(told):
    """Odd cases stay in words: free everything, one year, a rate of nothing."""
    free = Prices(*[0.0] * len(dataclasses.fields(Prices)))
    nothing = told(
        Membrane(price_per_m2=0.0, repairs_per_m2=0.0),
        MetalRetrofit(price_per_m2=0.0, upkeep_per_m2=0.0, service_per_m2=0.0, finish_per_m2=0.0),
        prices=free,
    )
    short = told(Membrane(), MetalRetrofit(), economics=Economics(study_period_y=1))
    for found in (nothing, short):
        for text in (found.headline, found.verdict):
            assert not re.search(r"\b(nan|inf)\b", text, re.IGNORECASE)
            assert text.endswith(".")
    assert "over 1 year," in short.headline
