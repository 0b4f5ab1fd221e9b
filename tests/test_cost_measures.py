"""Measures of economic merit: agreement with numpy-financial, and words where none exists."""

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lcc.cost import measures, payback_rule

FLOWS = st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=60).map(np.array)


@given(FLOWS, st.floats(-0.04, 0.5))
def test_net_savings_are_a_plain_discounted_sum(flow, rate):
    """Independent of numpy-financial: each flow over (1 + d)^t, added one by one."""
    expected = sum(amount / (1 + rate) ** year for year, amount in enumerate(flow))
    scale = np.abs(flow).sum() * max(1.0, (1 + rate) ** -len(flow))
    assert measures.net_savings(flow, rate).value == pytest.approx(expected, abs=1e-9 * scale)


@given(st.floats(1, 1e6), st.lists(st.floats(1, 1e6), min_size=1, max_size=50))
def test_a_conventional_investment_has_the_rate_of_numpy_financial(cost, savings):
    flow = np.array([-cost, *savings])
    rate = measures.internal_rate(flow)
    if rate.value is None:
        assert rate.reason == measures.NO_RATE_FOUND
    else:
        assert rate.value == pytest.approx(npf.irr(flow), abs=1e-9)


@given(st.floats(100, 1e6), st.lists(st.floats(1, 1e6), min_size=1, max_size=50), st.floats(0, 0.3))
def test_the_adjusted_rate_is_mirr_at_one_rate(cost, savings, rate):
    """AIRR (ASTM E1057) is the modified rate of return, financed and reinvested at the rate."""
    flow = np.array([-cost, *savings])
    years = len(savings)
    ratio = measures.savings_to_investment(measures.net_savings(flow, rate).value, cost)
    adjusted = measures.adjusted_rate(ratio, rate, years)
    assert adjusted.value == pytest.approx(npf.mirr(flow, rate, rate), rel=1e-7, abs=1e-9)


def against(saving):
    """Costs of a base case and of an alternative that differ by a saving in each year."""
    saving = np.array(saving, float)
    return np.maximum(saving, 0.0), np.maximum(-saving, 0.0)


# A complete example worked by hand: 1000 spent now saves 300 a year for 5 years at 10 %.
# UPV(10 %, 5) = 3.7908 (any table of the factor), so NS = 1137.24 - 1000 = 137.24,
# SIR = 1.13724, AIRR = 1.1 x 1.13724^(1/5) - 1 = 12.866 %; simple payback 1000/300, by the end
# of year 4; discounted savings by year 4 are 950.96, so payback is by the end of year 5.
HAND = np.array([-1000.0, 300, 300, 300, 300, 300])


def test_a_hand_worked_example():
    net = measures.net_savings(HAND, 0.1)
    ratio = measures.savings_to_investment(net.value, 1000.0)
    assert net.value == pytest.approx(137.24, abs=0.01)
    assert ratio.value == pytest.approx(1.13724, abs=1e-5)
    assert measures.adjusted_rate(ratio, 0.1, 5).value == pytest.approx(0.12866, abs=1e-5)
    assert measures.payback_years(*against(HAND), 0.0).value == 4
    assert measures.payback_years(*against(HAND), 0.1).value == 5
    assert measures.internal_rate(HAND).value == pytest.approx(0.15238, abs=1e-5)


# Published examples of the internal rate: the documentation of numpy-financial 1.0 (56.723 %), and
# from memory the article on the internal rate of return in Wikipedia (5.96 %), as printed.
@pytest.mark.parametrize(
    ("flow", "rate", "digits"),
    [
        ([-250000, 100000, 150000, 200000, 250000, 300000], 0.5672303344358536, 1e-12),
        ([-123400, 36200, 54800, 48100], 0.0596, 5e-5),
    ],
)
def test_published_rates_of_return(flow, rate, digits):
    found = measures.internal_rate(np.array(flow, float))
    assert found.value == pytest.approx(rate, abs=digits)


# What is said of each history of savings: (payback value, words of its reason or warning, words
# of the internal rate's reason or None where it has a value).
EDGES = {
    "never pays back": ([-100, 20, 20, 20], None, "never pays back within the study period of 3",
                        None),
    "pays back and is undone by a later cost": (
        [-100, 120, 0, -60, 10], None, "ahead at times between years 1 and 2 only: a later cost",
        "no rate between"),
    "pays back twice": (
        [-100, 120, 0, -60, 90], 4, "ahead as early as year 1, but a later cost undoes it", None),
    "no difference at all": ([0, 0, 0], None, "cost the same in every year", "same in every year"),
    "cheaper from the first day": ([50, 10, 10], 0, None, "costs less in every year"),
    "the same first cost, then savings": ([0, 10, 10], 0, None, "less in every"),
    "cheaper first, dearer later": (
        [50, -40, -40], None, "ahead at times between years 0 and 1 only", "less to begin with"),
    "cheaper first, dearer for a while": (
        [50, -60, 0, 30], 3, "ahead as early as year 0", "less to begin with"),
    "only ever dearer": ([-50, -1, -1], None, "never pays back", "costs more in every year"),
    "exactly at the end": ([-100, 50, 50], 2, None, None),
}  # fmt: skip


@pytest.mark.parametrize(("flow", "value", "words", "rate_words"), EDGES.values(), ids=EDGES)
def test_each_edge_has_its_words(flow, value, words, rate_words):
    found = measures.payback_years(*against(flow), 0.0)
    assert found.value == value
    assert (found.reason is None) == (value is not None)
    said = found.reason or found.warning
    assert said is words is None or words in said
    rate = measures.internal_rate(np.array(flow, float))
    if rate_words:
        assert rate.value is None
        assert rate_words in rate.reason


@given(FLOWS, st.floats(0.0, 0.2))
def test_no_payback_where_net_savings_are_negative(flow, rate):
    """The one rule: behind at the end is no payback, whatever was crossed before."""
    saved = sum(amount / (1 + rate) ** year for year, amount in enumerate(flow))
    found = measures.payback_years(*against(flow), rate)
    if saved < -1e-6 * np.abs(flow).sum():
        assert found.value is None
    elif saved > 1e-6 * np.abs(flow).sum():
        assert found.value is not None


# The federal example of an HVAC replacement, NIST Handbook 135 (from memory), printed SIR 12.57
# and AIRR 16.9 %: replacements and residual value stand in the denominator.
def test_the_ratio_has_replacements_and_residual_value_in_the_denominator():
    yearly = 7000 * 15.13 - 1000 * 14.88
    investment = 7000 + 500 * 0.701 - 200 * 0.554
    ratio = measures.savings_to_investment(yearly - investment, investment)
    assert ratio.value == pytest.approx(12.57, abs=0.01)
    assert measures.adjusted_rate(ratio, 0.03, 20).value == pytest.approx(0.169, abs=0.0005)


def test_savings_per_dollar_do_not_jump_with_the_year_of_the_work():
    """150 spent now or 145.6 in present value a year later: 3 % apart, not twentyfold."""
    now, later = (measures.savings_per_dollar(100.0, cost).value for cost in (150.0, 145.6))
    assert later / now == pytest.approx(150 / 145.6, rel=1e-12)
    assert "no work" in measures.savings_per_dollar(100.0, None).reason


def test_the_one_rate_that_is_not_negative_is_given():
    """(x - 1.1)(x - 0.6) = x² - 1.7 x + 0.66: 10 % and -40 %; an owner wants the first alone."""
    found = measures.internal_rate(np.array([-100.0, 170.0, -66.0]))
    assert found.value == pytest.approx(0.1, abs=1e-9)
    assert found.warning is None


def test_a_rate_that_is_not_unique_is_not_given():
    """The text-book flow -1000, 2500, -1540 has the rates 10 % and 40 %: 1.1 x 1.4 = 1.54."""
    flow = np.array([-1000.0, 2500.0, -1540.0])
    for rate in (0.1, 0.4):
        assert measures.net_savings(flow, rate).value == pytest.approx(0, abs=1e-9)
    found = measures.internal_rate(flow)
    assert found.value is None
    assert "not unique" in found.reason
    assert "2 rates fit: 10% and 40%" in found.reason


def test_a_rate_outside_the_range_is_not_given_for_the_one_inside():
    """(x - 11)(x - 0.4) = x² - 11.4 x + 4.4: 1000 % and -60 %, of which -50 % cuts one off."""
    flow = np.array([-1.0, 11.4, -4.4])
    assert measures.internal_rate(flow).value == pytest.approx(10.0, rel=1e-9)


def test_rates_found_are_told_in_the_kind_asked_for():
    """10 % and 40 % real are 12.2 % and 42.8 % nominal at 2 % of inflation."""
    found = measures.internal_rate(
        np.array([-1000.0, 2500.0, -1540.0]), lambda real: 1.02 * (1 + real) - 1
    )
    assert "12.2% and 42.8%" in found.reason


def test_signs_that_alternate_may_still_have_one_rate():
    """A small late cost does not make the rate ambiguous within the range looked at."""
    flow = np.array([-100.0, 60.0, 60.0, -1.0, 5.0])
    assert measures.internal_rate(flow).value == pytest.approx(npf.irr(flow), abs=1e-12)


@pytest.mark.parametrize(
    ("savings", "investment", "words"),
    [
        (0.0, 0.0, "no investment and no saving"),
        (50.0, 0.0, "costs no more than the other choice"),
        (50.0, -10.0, "costs no more than the other choice"),
    ],
)
def test_a_ratio_without_an_investment_is_words(savings, investment, words):
    ratio = measures.savings_to_investment(savings, investment)
    assert ratio.value is None
    assert words in ratio.reason
    assert measures.adjusted_rate(ratio, 0.03, 10).reason == ratio.reason


def test_savings_below_nothing_have_no_adjusted_rate():
    ratio = measures.savings_to_investment(-150.0, 100.0)
    assert ratio.value == -0.5
    assert "no rate exists" in measures.adjusted_rate(ratio, 0.03, 10).reason


@given(FLOWS)
def test_swapping_two_alternatives_flips_the_sign(flow):
    forth, back = measures.net_savings(flow, 0.05).value, measures.net_savings(-flow, 0.05).value
    assert forth == pytest.approx(-back, abs=0)


def test_rounding_does_not_pay_back():
    """A difference in the last digits is no investment and no saving."""
    flow = np.array([-100.0, 100.0 - 1e-12, 1e-13])
    assert measures.payback_years(*against(flow), 0.0).value == 1
    assert (
        measures.payback_years(np.ones(4), np.ones(4), 0.03).reason
        == payback_rule.NOTHING_TO_PAY_BACK
    )
