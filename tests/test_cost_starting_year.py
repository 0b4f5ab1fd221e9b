"""When to begin: each starting year is the case begun then, with the leaks at risk by hand."""

import dataclasses

import numpy as np
import pytest

from lcc.case import Coating, Membrane, MetalRetrofit, Uncertainty
from lcc.cost.starting_year import years_past_the_end
from lcc.figures import said


@pytest.fixture(scope="module")
def case(flat_case):
    """A roof of 2,000 m² with six years left, known to the year, and leaks of 1 $/m²."""
    roof = dataclasses.replace(flat_case.roof, remaining_life_y=6.0, leak_damage_per_m2=1.0)
    return dataclasses.replace(
        flat_case,
        roof=roof,
        base_case=Membrane(price_per_m2=66.0),
        alternatives=(MetalRetrofit(price_per_m2=165.0), Coating(), Membrane(start="now")),
        uncertainty=Uncertainty(remaining_life_range_y=0.0),
    )


def test_each_year_is_the_case_begun_in_it(compared, case):
    """Waiting by a time entered on the alternative itself gives the same net savings."""
    found = compared(case).alternatives[1].starting_years
    assert found.years == tuple(range(7))
    assert not any(found.leak_risk)
    for year in found.years:
        waits = dataclasses.replace(case.alternatives[0], wait_y=float(year))
        other = compared(dataclasses.replace(case, alternatives=(waits,))).alternatives[1]
        net = other.measures.net_savings.value
        assert found.net_savings[year] == pytest.approx(net, rel=1e-9, abs=1e-6)
    assert found.best_year == int(np.argmax(found.net_savings))


def test_a_coating_does_not_wait(compared, case):
    assert compared(case).alternatives[2].starting_years is None
    assert compared(case).alternatives[0].starting_years is None


def test_leaks_at_risk_by_hand(compared, case):
    """Six years left within one: past the end by (1/6) of a year in year 6, nothing before.

    E max(0, 6 - L) for a triangle of half width 1 about 6 is 1/6; 2,000 m² at 1 $/m²; 3 %.
    """
    now = dataclasses.replace(case, base_case=Membrane(price_per_m2=66.0, start="now"))
    risky = dataclasses.replace(now, uncertainty=Uncertainty(remaining_life_range_y=1.0))
    plain, found = (compared(each).alternatives[1].starting_years for each in (now, risky))
    assert found.leak_risk[:6] == pytest.approx([0.0] * 6, abs=1e-9)
    assert found.leak_risk[6] == pytest.approx(2000 / 6 / 1.03**6, rel=1e-9)
    lost = np.subtract(plain.net_savings, found.net_savings)
    assert lost == pytest.approx(found.leak_risk, abs=1e-6)
    # A base case that waits as long is at the same risk, so neither is charged for it.
    alike = dataclasses.replace(risky, base_case=case.base_case)
    assert not any(compared(alike).alternatives[1].starting_years.leak_risk)


@pytest.mark.parametrize("year", [3.0, 5.0, 6.0, 7.5, 9.0])
def test_years_past_the_end_are_the_mean_of_draws(year):
    """A million draws of a triangle of half width 2 about 6: within 0.005 years."""
    ends = 6 + 2 * np.random.default_rng(3).triangular(-1, 0, 1, 1_000_000)
    drawn = np.maximum(0.0, year - ends).mean()
    assert years_past_the_end(np.array([year]), 6.0, 2.0)[0] == pytest.approx(drawn, abs=0.005)


def test_the_words_set_the_best_year_beside_the_year_that_is_counted(compared, case):
    """Metal now costs more than at the old roof's end, by the same figures as the table."""
    found = compared(case).alternatives[1].starting_years
    saved = found.net_savings
    assert found.best_year == 6
    assert found.sentence == (
        "The figures here are for work begun now. Begun in year 6, when the old roof is due, it "
        f"would cost about {said(saved[6] - saved[0])} less, but still more than the other choice."
    )
    waits = dataclasses.replace(case.alternatives[0], start="end-of-life")
    later = compared(dataclasses.replace(case, alternatives=(waits,))).alternatives[1]
    assert later.starting_years.sentence == (
        "The figures here are for work begun in year 6. Begun now instead, it would save about "
        f"{said(saved[6] - saved[0])} less."
    )


def test_a_roof_at_its_end_cannot_wait(compared, case):
    roof = dataclasses.replace(case.roof, remaining_life_y=0.0)
    metal = case.alternatives[:1]
    found = compared(dataclasses.replace(case, roof=roof, alternatives=metal)).alternatives[1]
    found = found.starting_years
    assert found.years == (0,)
    assert found.sentence == "The old roof is at its end: there is no waiting."
