"""Break-evens put back into the case, swings against the case with one figure changed."""

import dataclasses
from functools import partial

import numpy as np
import pytest
from scipy.optimize import brentq

from lcc.case import Coating, Membrane, MetalRetrofit, Prices, Uncertainty
from lcc.case.fields import facts_of
from lcc.cost.monte_carlo import RANGES
from lcc.cost.sensitivity import crossings, interpolated

# What nobody knows of the roof: not a figure about which a range lies.
ANSWERS = "unknown_range"


@pytest.fixture(scope="module")
def case(flat_case):
    """Prices that leave the choice open: a break-even exists for most inputs."""
    return dataclasses.replace(
        flat_case,
        base_case=Membrane(service_life_y=14.0, price_per_m2=66.0, recover_life_ratio=1.0),
        alternatives=(MetalRetrofit(price_per_m2=165.0),),
        prices=Prices(electricity_per_kwh=0.12, gas_per_kwh=0.04),
    )


# How each input is put into a case.
PUT = {
    "base_case.price": lambda c, v: put(c, "base_case", price_per_m2=v),
    "base_case.service_life": lambda c, v: put(c, "base_case", service_life_y=v),
    "alternatives.0.price": lambda c, v: retrofit(c, price_per_m2=v),
    "alternatives.0.service_life": lambda c, v: retrofit(c, service_life_y=v),
    "roof.remaining_life": lambda c, v: put(c, "roof", remaining_life_y=v),
    "economics.discount_rate": lambda c, v: put(c, "economics", discount_rate=v),
    "economics.work_escalation": lambda c, v: put(c, "economics", work_escalation=v),
    "economics.repairs_escalation": lambda c, v: put(c, "economics", repairs_escalation=v),
    "economics.electricity_escalation": lambda c, v: put(c, "economics", electricity_escalation=v),
    "economics.gas_escalation": lambda c, v: put(c, "economics", gas_escalation=v),
    "prices.electricity": lambda c, v: put(c, "prices", electricity_per_kwh=v),
    "prices.gas": lambda c, v: put(c, "prices", gas_per_kwh=v),
}
SMOOTH = [name for name in PUT if "life" not in name]


def put(case, part, **figures):
    changed = dataclasses.replace(getattr(case, part), **figures)
    return dataclasses.replace(case, **{part: changed})


def retrofit(case, **figures):
    changed = dataclasses.replace(case.alternatives[0], **figures)
    return dataclasses.replace(case, alternatives=(changed,))


def saved(compared, case):
    return compared(case, explore=False).alternatives[1].measures.net_savings.value


@pytest.mark.parametrize("field", SMOOTH)
def test_at_the_break_even_both_cost_the_same(compared, case, field):
    """Half a unit of the fifth digit either side of the value, the cheaper choice changes."""
    own = compared(case).alternatives[1]
    found = {each.field: each for each in own.break_even}[field]
    if found.value is None:
        ends = (found.least.value, found.most.value)
        signs = {np.sign(saved(compared, PUT[field](case, within(field, end)))) for end in ends}
        assert len(signs) == 1
        assert "at every value in its range" in found.reason
    else:
        value = found.value.value
        below, above = (
            saved(compared, PUT[field](case, value * (1 + step))) for step in (-5e-5, 5e-5)
        )
        assert below * above <= 0


def within(field, value):
    """Bring an end of the range into what the case accepts."""
    return max(value, -0.049) if "rate" in field else value


@pytest.mark.parametrize(
    ("field", "price"),
    [
        ("base_case.service_life", 165.0),
        ("alternatives.0.service_life", 120.0),
        ("roof.remaining_life", 165.0),
    ],
)
def test_a_life_turns_the_answer_between_two_whole_years(compared, case, field, price):
    case = retrofit(case, price_per_m2=price)
    found = {each.field: each for each in compared(case).alternatives[1].break_even}[field]
    below, above = np.floor(found.value.value), np.ceil(found.value.value)
    one, other = (saved(compared, PUT[field](case, life)) for life in (below, above))
    assert one * other <= 0
    straight = below + one / (one - other) * (above - below)
    assert found.value.value == pytest.approx(straight, rel=1e-9)
    assert "whole years" in found.reason


def test_the_discount_rate_agrees_with_an_independent_root(compared, case):
    """Brent's method over whole comparisons finds the same rate."""
    own = compared(case).alternatives[1]
    found = {each.field: each for each in own.break_even}["economics.discount_rate"].value.value
    put_rate = PUT["economics.discount_rate"]
    root = brentq(lambda rate: saved(compared, put_rate(case, rate)), 0.0, 0.2, xtol=1e-10)
    assert found == pytest.approx(root, rel=5e-5)


def test_a_nominal_break_even_rate_is_nominal(compared, case):
    real = {e.field: e for e in compared(case).alternatives[1].break_even}
    spoken = put(
        case, "economics", rate_kind="nominal", inflation=0.02, discount_rate=1.03 * 1.02 - 1
    )
    nominal = {e.field: e for e in compared(spoken).alternatives[1].break_even}
    field = "economics.discount_rate"
    expected = (1 + real[field].value.value) * 1.02 - 1
    assert nominal[field].value.value == pytest.approx(expected, rel=5e-5)


@pytest.mark.parametrize("field", PUT)
def test_a_swing_is_the_case_with_that_figure_changed(compared, case, field):
    found = {each.field: each for each in compared(case).alternatives[1].swings}[field]
    for value, savings in (
        (found.low.value, found.net_savings_low),
        (found.high.value, found.net_savings_high),
    ):
        assert savings == pytest.approx(saved(compared, PUT[field](case, value)), rel=1e-9)


def test_swings_come_widest_first_with_the_source_of_their_range(compared, case):
    swings = compared(case).alternatives[1].swings
    widths = [abs(each.net_savings_high - each.net_savings_low) for each in swings]
    assert widths == sorted(widths, reverse=True)
    assert all(each.basis and each.source for each in swings)


def test_a_coating_and_the_membrane_after_it_have_levers_of_their_own(compared, case):
    coated = Coating(name="Coating", replacement=Membrane(price_per_m2=70.0, service_life_y=18.0))
    with_coating = dataclasses.replace(case, alternatives=(coated,))
    own = compared(with_coating).alternatives[1]
    found = {each.field: each for each in own.swings}
    for field, change in {
        "alternatives.0.price": lambda v: dataclasses.replace(coated, price_per_m2=v),
        "alternatives.0.replacement.price": lambda v: dataclasses.replace(
            coated, replacement=dataclasses.replace(coated.replacement, price_per_m2=v)
        ),
    }.items():
        low = dataclasses.replace(with_coating, alternatives=(change(found[field].low.value),))
        assert found[field].net_savings_low == pytest.approx(saved(compared, low), rel=1e-9)


def test_an_input_without_effect_says_so(compared, case):
    """With both choices begun today, what is left of the old covering does not matter."""
    now = put(case, "base_case", start="now")
    found = {each.field: each for each in compared(now).alternatives[1].break_even}
    assert found["roof.remaining_life"].value is None
    assert found["roof.remaining_life"].reason == "it does not matter here"


@pytest.fixture(scope="module")
def rich(flat_case):
    """A case with every kind of work: wet boards, rooftop units, edges, a coating."""
    wet = dataclasses.replace(flat_case.roof.layers[1], moisture=0.1)
    roof = dataclasses.replace(
        flat_case.roof, rooftop_units=3, skylights=4, wet_fraction=0.1, remaining_life_y=6.0,
        layers=(flat_case.roof.layers[0], wet, *flat_case.roof.layers[2:]),
    )  # fmt: skip
    choices = (MetalRetrofit(upkeep_per_m2=1.0), Coating())
    prices = dataclasses.replace(flat_case.prices, disruption_per_m2=5.0)
    return dataclasses.replace(flat_case, roof=roof, alternatives=choices, prices=prices)


# A factor of an amount, and the categories of the reply that it multiplies.
PLAIN = {
    "tear_off": ("Tear-off and disposal",),
    "units": ("Rooftop units",),
    "disruption": ("Disruption and interior damage",),
    "other_work": ("Edges, skylights and flashings", "Engineering, permit and fees"),
    "repairs": ("Repairs",),
    "upkeep": ("Upkeep and service",),
}


@pytest.mark.parametrize("field", PLAIN)
def test_a_factor_multiplies_its_costs_and_no_other(compared, rich, field):
    """By hand from the present values of the reply: net savings move by part times difference."""
    base, *others = compared(rich).alternatives
    varied = [own for own in others if field in {each.field for each in own.swings}]
    assert varied
    for own in varied:
        found = {each.field: each for each in own.swings}[field]
        paid = [
            sum(one.present_value for one in each.costs if one.name in PLAIN[field])
            for each in (base, own)
        ]
        net = own.measures.net_savings.value
        for part, saved_then in (
            (found.low.value, found.net_savings_low),
            (found.high.value, found.net_savings_high),
        ):
            expected = net + (part - 1) * (paid[0] - paid[1])
            assert saved_then == pytest.approx(expected, rel=1e-9, abs=1e-6)


def test_amounts_that_have_a_figure_of_their_own_are_the_case_with_it_changed(compared, rich):
    """Wet area and the years that a coating adds."""
    other = compared(rich).alternatives[2]
    found = {each.field: each for each in other.swings}
    wet, gain = found["wet_area"], found["alternatives.1.life_gain"]
    for value, expected in ((wet.low, wet.net_savings_low), (wet.high, wet.net_savings_high)):
        case = put(rich, "roof", wet_fraction=0.1 * value.value)
        after = compared(case, explore=False).alternatives[2].measures.net_savings.value
        assert expected == pytest.approx(after, rel=1e-9)
    for value, expected in ((gain.low, gain.net_savings_low), (gain.high, gain.net_savings_high)):
        coated = dataclasses.replace(rich.alternatives[1], life_gain_y=value.value)
        case = dataclasses.replace(rich, alternatives=(rich.alternatives[0], coated))
        after = compared(case, explore=False).alternatives[2].measures.net_savings.value
        assert expected == pytest.approx(after, rel=1e-9)


@pytest.mark.parametrize(
    "name", [name for name in facts_of(Uncertainty) if name.endswith(RANGES) and name != ANSWERS]
)
def test_each_range_of_the_draws_is_a_range_of_the_swings(compared, rich, name):
    """Set one range to 0, and a swing that had a width has none."""
    fixed = dataclasses.replace(rich, uncertainty=Uncertainty(**{name: 0.0}))
    widths = [
        {(k, each.field): each.high.value - each.low.value
         for k, one in enumerate(compared(case).alternatives) for each in one.swings}
        for case in (rich, fixed)
    ]  # fmt: skip
    closed = [field for field, width in widths[1].items() if width == 0 and widths[0][field] > 0]
    assert closed


def test_energy_that_costs_nothing_has_no_lever(compared, case):
    free = put(case, "prices", gas_per_kwh=0.0)
    assert "prices.gas" not in {e.field for e in compared(free).alternatives[1].break_even}


def test_crossings_are_counted_once():
    """A value of exactly nothing is one place, not two."""
    savings = np.array([2.0, 0.0, -2.0, -1.0, 1.0])
    assert interpolated(np.arange(5.0), savings) == [1.0, 3.5]
    assert crossings(np.zeros(4)).size == 0


NOMINAL = {"rate_kind": "nominal", "discount_rate": 0.065, "inflation": 0.025}
# Each rate and two of the prices; all other pairs are thorough.
RATES_AND_PRICES = [
    ({}, 70.0),
    (NOMINAL, 105.0),
    *(pytest.param(*each, marks=pytest.mark.thorough)
      for each in (({}, 105.0), ({}, 190.0), (NOMINAL, 70.0), (NOMINAL, 190.0))),
]  # fmt: skip


@pytest.mark.parametrize("place", ["base_case", "alternatives.0"])
@pytest.mark.parametrize("includes", [(), ("tear-off",), ("tear-off", "insulation", "on-costs"),
                                      ("everything",)])  # fmt: skip
@pytest.mark.parametrize(("rate", "price"), RATES_AND_PRICES)
def test_the_price_as_entered_at_its_break_even_makes_net_savings_nothing(
    compared, case, rate, includes, price, place
):
    """Whatever a price holds, and however low it is for it, its break-even is in its own terms."""
    entered = {"price_per_m2": price, "price_includes": ("laying", *includes)}
    asked = put(case, "economics", **rate)
    asked = put(asked, "roof", coverings=2)
    change = retrofit if place == "alternatives.0" else partial(put, part="base_case")
    asked = change(asked, **entered)
    own = compared(asked).alternatives[1]
    found = {each.field: each for each in own.break_even}[f"{place}.price"]
    assert found.current.value == price
    if found.value is not None:
        there = change(asked, price_per_m2=found.value.value)
        assert saved(compared, there) == pytest.approx(0.0, abs=0.01)
    ends = [saved(compared, change(asked, price_per_m2=each.value))
            for each in (found.least, found.most)]  # fmt: skip
    assert (found.value is None) == (ends[0] * ends[1] > 0)
    swing = {each.field: each for each in own.swings}[f"{place}.price"]
    there = change(asked, price_per_m2=swing.high.value)
    assert swing.net_savings_high == pytest.approx(saved(compared, there), abs=0.01)
