"""The verdict: one paragraph that follows from the figures, whichever way they fall."""

import dataclasses
import re

import pytest

from lcc.case import Coating, Economics, Layer, Membrane, MetalRetrofit, Prices, Uncertainty
from lcc.case.fields import facts_of
from lcc.figures import money
from lcc.narrative import headline, verdict
from lcc.results import Category

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
    share = float(re.search(r"Of the saving, ([\d.]+)% is energy", found.verdict).group(1))
    assert share == pytest.approx(100 * energy / net, abs=0.5)
    assert "turn" in found.verdict


def test_a_retrofit_that_does_not_pay(told):
    found = told(Membrane(), dataclasses.replace(METAL, price_per_m2=400.0))
    own = found.alternatives[1]
    lost = money(-own.measures.net_savings.value)
    assert found.verdict.startswith(f"“Metal retrofit” does not pay: it costs {lost} more")
    assert "has not made up for it by year 50" in found.verdict
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
    assert "at no time more" not in found.verdict
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
    assert f"For comparison: “dear” {money(dear)}, which does not pay." in found.verdict


def test_never_not_a_number(told):
    """Odd cases stay in words: free everything, one year, a rate of nothing."""
    free = Prices(**dict.fromkeys(facts_of(Prices), 0.0))
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


@pytest.fixture(scope="module")
def paid(told):
    """An alternative by what it has spent so far, of which a part is energy or worth at the end."""
    plain = told(Membrane(), Membrane()).alternatives[0]

    def result(name, so_far, residual=0.0, energy=0.0):
        work = so_far[-1] - residual - energy
        parts = {"Residual value": residual, "Gas": energy, "Roof coverings and panels": work}
        return dataclasses.replace(
            plain,
            name=name,
            first_cost=so_far[0],
            cumulative_present_value=tuple(so_far),
            life_cycle_cost=so_far[-1],
            costs=tuple(Category(part, amount, ()) for part, amount in parts.items()),
        )

    return result


BASE = [0.0, 100.0, 200.0, 300.0, 400.0]
# What is said of each course of the costs so far, and in the headline, against the base case's.
COURSES = {
    "made up for in the last year, not by what it is worth": (
        [250.0, 280.0, 310.0, 340.0, 370.0], 0.0,
        "It costs $250 more today, and has made up for it for good by the end of year 4.",
        "and is ahead from year 4."),
    "only by what it is worth": (
        [450.0, 450.0, 450.0, 450.0, 350.0], -100.0,
        "It costs $450 more today, and comes out cheaper only by what it is still worth at the "
        "end: without that it would cost $50 more.",
        "but only by what it is still worth at the end."),
    "never": (
        [450.0, 450.0, 450.0, 450.0, 450.0], 0.0,
        "It costs $450 more today, and has not made up for it by year 4.", "does not pay"),
    "made up for, then undone": (
        [150.0, 150.0, 150.0, 500.0, 500.0], 0.0,
        "It costs $150 more today, but has cost more in all again from year 3 on.",
        "does not pay"),
    "cheaper today, dearer later": (
        [-50.0, 50.0, 250.0, 400.0, 500.0], 0.0,
        "It costs $50 less today, but has cost more in all from year 2 on.", "does not pay"),
    "the same today, dearer for a time": (
        [0.0, 150.0, 150.0, 150.0, 150.0], 0.0,
        "It costs the same today, more in all for a time, and less for good from the end of "
        "year 2.",
        "and is ahead from year 2."),
    "cheaper at all times": (
        [-50.0, 50.0, 150.0, 250.0, 350.0], 0.0,
        "It costs $50 less today, and at no time more in all.", "($350 against $400)."),
    "the same but for the last year": (
        [0.0, 100.0, 200.0, 300.0, 350.0], 0.0,
        "It costs the same today, and at no time more in all.", "($350 against $400)."),
}  # fmt: skip


@pytest.mark.parametrize(("so_far", "residual", "words", "first"), COURSES.values(), ids=COURSES)
def test_each_course_of_the_costs_has_true_words(paid, so_far, residual, words, first):
    results = (paid("base", BASE), paid("own", so_far, residual))
    assert words in verdict(results, 4)
    assert first in headline(results, 4)


def test_a_base_case_that_wins_only_by_what_it_is_worth(paid):
    results = (paid("base", [*BASE[:4], 250.0], -150.0), paid("own", [200.0, 220, 240, 260, 280]))
    assert "dearer only by what “base” is still worth at the end: without that" in verdict(
        results, 4
    )
    assert "it would cost $120 less." in verdict(results, 4)


def test_work_is_not_said_to_be_avoided_where_only_the_residual_value_decides(paid):
    own = paid("own", [450.0, 450, 450, 450, 350], residual=-100.0, energy=70.0)
    said = verdict((paid("base", BASE, energy=100.0), own), 4)
    assert "It saves $30 of energy." in said
    assert "avoided" not in said


def test_energy_and_work_are_told_where_both_cost_about_the_same(paid):
    """The base case is worth 20 at the end, without which the alternative would win by 19."""
    own = paid("own", [450.0, 450, 450, 450, 401], energy=70.0)
    said = verdict((paid("base", [*BASE[:4], 400.0], residual=-20.0, energy=100.0), own), 4)
    assert "cost about the same" in said
    assert "It saves $30 of energy, but its work costs $31 more." in said


def test_a_large_residual_value_within_a_saving_is_told(paid):
    own = paid("own", [250.0, 250, 250, 250, 200], residual=-60.0, energy=50.0)
    said = verdict((paid("base", BASE, energy=100.0), own), 4)
    assert "Of the saving, 25% is energy and 75% is re-roofing" in said
    assert "after the cost of its own work and with $60 that it is worth more at the end." in said


# Energy and work saved, and how they are told where not both are savings.
PARTS = {
    (30.0, -20.0): "It saves $30 of energy, but its work costs $20 more.",
    (30.0, 0.0): "It saves $30 of energy.",
    (0.0, -20.0): "Energy costs the same; re-roofing and repairs cost $20 more.",
    (0.2, -20.0): "Energy costs the same; re-roofing and repairs cost $20 more.",
    (-30.0, -20.0): "Energy costs $30 more with it; re-roofing and repairs cost $20 more.",
    (-30.0, 80.0): "Energy costs $30 more with it; re-roofing and repairs cost $80 less.",
    (-30.0, 0.0): "Energy costs $30 more with it.",
    (0.5, 0.5): "Energy costs the same.",
    (1.0, 0.9): "It saves $1 of energy and $1 of re-roofing and repairs.",
}


@pytest.mark.parametrize(("saved", "words"), PARTS.items())
def test_energy_and_work_are_told_apart(paid, saved, words):
    energy, work = saved
    own = paid("own", [*BASE[:4], 400 - energy - work], energy=100 - energy)
    assert words in verdict((paid("base", BASE, energy=100.0), own), 4)


def test_nothing_is_said_of_inputs_that_were_not_looked_at(paid):
    said = verdict((paid("base", BASE), paid("own", [50.0, 60, 70, 80, 90])), 4)
    assert "turn" not in said


def test_a_break_even_is_told_without_a_likely_range(told):
    """With every range 0 nothing is likely, but the price at which it turns is there."""
    sure = {
        f.name: 0.0
        for f in dataclasses.fields(Uncertainty)
        if f.name.endswith(("_spread", "_range", "_range_y"))
    }
    found = told(Membrane(), MetalRetrofit(), uncertainty=Uncertainty(**sure))
    assert any(each.value for each in found.alternatives[1].break_even)
    assert "the nearest to do so is" in found.verdict


def test_all_and_none_of_the_draws_are_told_as_such(told):
    dear = told(Membrane(), MetalRetrofit(price_per_m2=900.0), uncertainty=Uncertainty(draws=50))
    assert "it costs less in none;" in dear.verdict
    cheap = told(
        Membrane(start="now"), MetalRetrofit(price_per_m2=9.0), uncertainty=Uncertainty(draws=50)
    )
    assert "it costs less in every one;" in cheap.verdict


def test_names_are_told_apart_and_read_on_one_line(told):
    """Twice the same name, none at all, one over two lines, and one that looks like a number."""
    found = told(
        Membrane(name="Roof"), MetalRetrofit(name="Roof"), MetalRetrofit(name=" \n"),
        Coating(name="White\ncoat"), Membrane(name="Roof (2)", start="now"),
    )  # fmt: skip
    names = [each.name for each in found.alternatives]
    assert names == ["Roof", "Roof (2)", "Metal retrofit", "White coat", "Roof (2) (2)"]
    assert "\n" not in found.headline + found.verdict
