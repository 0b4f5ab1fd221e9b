"""Factors that bring money of different years together: end-of-year flows in base-year money.

Everything is counted in base-year (constant) money with real rates. A nominal rate is first
freed of inflation; the present values are the same either way, because a flow in money of its
own year, discounted at the nominal rate, equals the flow in base-year money at the real rate.
"""

from dataclasses import replace
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike

from lcc.arrays import Array
from lcc.case.economics import Economics
from lcc.case.fields import known
from lcc.case.resolution import from_row, resolve

Rate = TypeVar("Rate", float, Array)


def real_rate(nominal: Rate, inflation: float) -> Rate:
    """Return the real rate hidden in a nominal one.

    Parameters
    ----------
    nominal : float or Array
        Rate with inflation in it [1/year], more than -1.
    inflation : float
        General inflation [1/year], more than -1.

    Notes
    -----
    d = (1 + D) / (1 + i) - 1.

    References
    ----------
    ASTM E917, discounting with constant and with current money.

    Examples
    --------
    The federal rates of 2010: 4 % nominal and 3 % real leave about 0.97 % of inflation.

    >>> round(real_rate(0.04, 0.0097), 4)
    0.03
    """
    return (1 + nominal) / (1 + inflation) - 1


def nominal_rate(real: float, inflation: float) -> float:
    """Return the nominal rate of a real one: the inverse of `real_rate`.

    Examples
    --------
    >>> round(nominal_rate(0.03, 0.02), 4)
    0.0506
    """
    return (1 + real) * (1 + inflation) - 1


def general_inflation(economics: Economics) -> float:
    """Return the inflation of a case, entered or that of its kind of rate [1/year].

    Examples
    --------
    >>> general_inflation(Economics()), general_inflation(Economics(rate_kind="nominal"))
    (0.0, 0.02)
    """
    return known(resolve(economics).inflation)


def lenders_inflation(economics: Economics) -> float:
    """Return the inflation of payments and write-offs fixed in money: entered, or usual [1/year].

    A lender quotes nominal rates, whichever kind the discount rate is.

    Examples
    --------
    >>> lenders_inflation(Economics()), lenders_inflation(Economics(inflation=0.0))
    (0.02, 0.0)
    """
    whole, usual = resolve(economics), from_row(economics, "inflation")
    if usual and whole.origin("inflation") != usual[1]:
        return known(whole.inflation)
    return general_inflation(replace(economics, rate_kind="nominal", inflation=None))


def real_discount_rate(economics: Economics) -> float:
    """Return the real discount rate of a case, whichever kind was entered [1/year]."""
    if economics.rate_kind == "real":
        return economics.discount_rate
    return real_rate(economics.discount_rate, general_inflation(economics))


def stated_rate(real: float, economics: Economics) -> float:
    """Return a real rate in the kind of rate that the case speaks: real or nominal."""
    if economics.rate_kind == "real":
        return real
    return nominal_rate(real, general_inflation(economics))


def growth(rate: ArrayLike, years: int) -> Array:
    """Return (1 + rate)^t for the years 0 to n, one row for each rate.

    Parameters
    ----------
    rate : array_like, shape (draws,) or scalar
        Rate of growth [1/year], more than -1.
    years : int
        Last year n.

    Returns
    -------
    ndarray, shape (draws, n + 1) or (n + 1,)
        Of a single rate it is kept for the next caller and cannot be written to.

    Examples
    --------
    >>> growth(0.5, 2).tolist()
    [1.0, 1.5, 2.25]
    """
    rates = np.asarray(rate, float)
    if rates.size == 1:
        return _grown(rates.item(), years).reshape(*rates.shape, years + 1)
    return _factors(rates, years)


def present_values(flow: Array, discount_rate: Array) -> Array:
    """Return each year's flow discounted to today.

    Parameters
    ----------
    flow : Array
        What is paid in each year of the study period, year 0 first [$], shape (..., n + 1).
    discount_rate : Array
        Real rate [1/year], more than -1, one or one for each row.

    Returns
    -------
    Array
        The same flows in today's money [$], shape (..., n + 1).

    Notes
    -----
    F / (1 + d)^t, money at the end of its year.

    References
    ----------
    ASTM E917, present value of a single future amount.

    Examples
    --------
    >>> present_values(np.array([0.0, 105.0]), np.array(0.05)).round(6).tolist()
    [0.0, 100.0]
    """
    return flow / growth(discount_rate, flow.shape[-1] - 1)


@lru_cache(maxsize=1024)
def _grown(rate: float, years: int) -> Array:
    factors = _factors(np.asarray(rate), years)
    factors.flags.writeable = False
    return factors


def _factors(rates: Array, years: int) -> Array:
    factors = np.ones((*rates.shape, years + 1))
    factors[..., 1:] = 1 + rates[..., np.newaxis]
    return np.asarray(np.multiply.accumulate(factors, axis=-1))


def uniform_present_value(rate: float, years: int) -> float:
    """Return the present value of one unit of money at the end of each year 1 to n (UPV).

    Notes
    -----
    UPV = Σ (1 + d)^-t for t = 1 to n, which is ((1 + d)^n - 1) / (d (1 + d)^n), or n at d = 0.

    References
    ----------
    ASTM E917; NIST Handbook 135, table of factors.

    Examples
    --------
    >>> round(uniform_present_value(0.03, 10), 4)
    8.5302
    """
    # The closed form loses all its digits as d nears 0, where a nominal rate equals inflation.
    return float(growth(1 / (1 + rate) - 1, years)[1:].sum())


def annual_equivalent(present_value: float, rate: float, years: int) -> float:
    """Return the uniform yearly amount, years 1 to n, worth a present value.

    Parameters
    ----------
    present_value : float
        Present value of costs [money]; costs are positive.
    rate : float
        Real discount rate [1/year].
    years : int
        Study period [years].

    References
    ----------
    ASTM E917, equivalent uniform annual cost.

    Examples
    --------
    >>> round(annual_equivalent(8.5302, 0.03, 10), 4)
    1.0
    """
    return present_value / uniform_present_value(rate, years)
