"""Factors of time and money against published tables and numpy-financial."""

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lcc.case import Economics
from lcc.cost import present_value as pv

# NIST Handbook 135, tables of SPV and UPV factors at 3 % (from memory of the formulas
# SPV = 1/(1+d)^n, UPV = ((1+d)^n - 1)/(d(1+d)^n)); agreement to the four printed digits.
FACTORS = {
    1: (0.9709, 0.9709), 5: (0.8626, 4.5797), 10: (0.7441, 8.5302), 15: (0.6419, 11.9379),
    20: (0.5537, 14.8775), 25: (0.4776, 17.4131), 30: (0.4120, 19.6004),
}  # fmt: skip


@pytest.mark.parametrize(("years", "factors"), FACTORS.items())
def test_factors_at_three_percent(years, factors):
    assert 1 / pv.growth(0.03, years)[-1] == pytest.approx(factors[0], abs=5e-5)
    assert pv.uniform_present_value(0.03, years) == pytest.approx(factors[1], abs=5e-5)


# NIST Handbook 135, modified uniform present value, d = 3 %, 20 years (from memory); to 1e-4.
@pytest.mark.parametrize(("escalation", "factor"), [(0.01, 16.3827), (0.02, 18.0812), (0.03, 20)])
def test_modified_uniform_present_value(escalation, factor):
    real = 1.03 / (1 + escalation) - 1
    assert pv.uniform_present_value(real, 20) == pytest.approx(factor, abs=1e-4)


def test_federal_rates_of_2010():
    """US DOE FEMP 2010 discount rates: 3.0 % real, 4.0 % nominal, 0.9 % inflation, to 0.1 %."""
    assert pv.real_rate(0.04, 0.009) == pytest.approx(0.03, abs=1e-3)
    assert pv.nominal_rate(0.03, 0.009) == pytest.approx(0.04, abs=1e-3)


def test_the_default_rate_is_the_federal_floor():
    """10 CFR 436.14(a)(2): the real rate is at least 3 % and at most 10 %."""
    assert Economics().discount_rate == 0.03


@given(
    st.floats(-0.04, 0.5).filter(lambda d: abs(d) > 1e-4), st.integers(1, 100), st.floats(1, 1e6)
)
def test_uniform_factors_agree_with_numpy_financial(rate, years, amount):
    """The numpy-financial pv and pmt lose digits near 0, where the sum is used instead."""
    assert pv.uniform_present_value(rate, years) == pytest.approx(-npf.pv(rate, years, 1), rel=1e-9)
    annual = pv.annual_equivalent(amount, rate, years)
    assert annual == pytest.approx(-npf.pmt(rate, years, amount), rel=1e-9)


@given(st.integers(1, 100))
def test_a_rate_of_zero_is_a_plain_sum(years):
    assert pv.uniform_present_value(0.0, years) == years
    assert pv.annual_equivalent(float(years), 0.0, years) == 1.0


@pytest.mark.parametrize("tiny", [1e-17, 1e-12, -1e-12])
def test_a_rate_next_to_zero_loses_no_digits(tiny):
    """A nominal rate that equals inflation leaves a real rate of rounding size."""
    assert pv.uniform_present_value(tiny, 50) == pytest.approx(50, rel=1e-9)


@given(st.floats(-0.04, 0.5), st.floats(-0.04, 0.5))
def test_real_and_nominal_are_inverse(real, inflation):
    assert pv.real_rate(pv.nominal_rate(real, inflation), inflation) == pytest.approx(
        real, abs=1e-12
    )


def test_growth_has_a_row_for_each_rate():
    table = pv.growth(np.array([0.0, 1.0]), 3)
    assert table.tolist() == [[1, 1, 1, 1], [1, 2, 4, 8]]
