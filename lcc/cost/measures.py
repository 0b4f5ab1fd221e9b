"""Measures of an alternative against the base case, each a figure or the reason there is none.

Sign convention: a saving is the base case's cost less the alternative's, so positive is good for
the alternative. Flows fall at the ends of years 0 to n, in base-year money, at real rates.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy_financial as npf
from numpy.typing import NDArray
from scipy.optimize import brentq

from lcc.cost.present_value import growth
from lcc.figures import in_years, shown
from lcc.results import Measure

Array = NDArray[np.float64]
Years = NDArray[np.signedinteger]
# Money smaller than this part of the flows' sum is rounding of the arithmetic.
ROUNDING = 1e-9
NOTHING = "both cost the same in every year: there is no investment and no saving"
NO_RATE_FOUND = "no rate between -50% and 2000% a year makes net savings nil"
# Rates at which the present value is looked at to tell whether a rate of return is unique.
RATES = np.concatenate((np.linspace(-0.5, 0.0, 51), np.geomspace(0.001, 20.0, 250)))


def cleaned(saving: Array) -> Array:
    """Return savings with the rounding of the arithmetic set to zero."""
    return np.where(np.abs(saving) <= ROUNDING * np.abs(saving).max(initial=0.0), 0.0, saving)


def net_savings(saving: Array, rate: float) -> Measure:
    """Return the present value of all savings less all extra costs.

    Parameters
    ----------
    saving : ndarray, shape (n + 1,)
        Base case's cost less the alternative's by year [money].
    rate : float
        Real discount rate [1/year].

    References
    ----------
    ASTM E1074, net benefits and net savings.

    Examples
    --------
    >>> net_savings(np.array([-100.0, 60.0, 60.0]), 0.0).value
    20.0
    """
    return Measure(float(npf.npv(rate, saving)))


def savings_to_investment(savings: float, investment: float) -> Measure:
    """Return the ratio of net savings plus extra investment to that investment.

    Parameters
    ----------
    savings : float
        Net savings, present value [money].
    investment : float
        What the alternative's first work costs more than the base case's work up to then,
        present value [money].

    Notes
    -----
    SIR = (NS + I) / I: 1 where the alternative just breaks even.

    References
    ----------
    ASTM E964, benefit-to-cost and savings-to-investment ratios.

    Examples
    --------
    >>> savings_to_investment(50.0, 100.0).value
    1.5
    """
    scale = max(abs(savings), abs(investment))
    if scale == 0:
        return Measure(None, NOTHING)
    if abs(investment) <= ROUNDING * scale:
        return Measure(None, "it costs no more to begin with: there is no extra investment")
    if investment < 0:
        return Measure(None, "it costs less from the first work on: there is no extra investment")
    return Measure((savings + investment) / investment)


def adjusted_rate(ratio: Measure, rate: float, years: int) -> Measure:
    """Return the adjusted internal rate of return, savings reinvested at the discount rate.

    Parameters
    ----------
    ratio : Measure
        Savings-to-investment ratio.
    rate : float
        Discount rate [1/year]; the result is of the same kind, real or nominal.
    years : int
        Study period [years].

    Notes
    -----
    AIRR = (1 + d) SIR^(1/n) - 1.

    References
    ----------
    ASTM E1057, internal rate of return and adjusted internal rate of return.

    Examples
    --------
    >>> round(adjusted_rate(Measure(2.0), 0.03, 20).value, 4)
    0.0663
    """
    if ratio.value is None:
        return Measure(None, ratio.reason)
    if ratio.value <= 0:
        return Measure(None, "savings never outweigh later extra costs: no rate of return exists")
    return Measure(float((1 + rate) * ratio.value ** (1 / years) - 1))


def payback(saving: Array, rate: float) -> Measure:
    """Return the first year by whose end savings have made up for the extra cost.

    Parameters
    ----------
    saving : ndarray, shape (n + 1,)
        Base case's cost less the alternative's by year [money].
    rate : float
        Real discount rate [1/year]; 0 for simple payback.

    Returns
    -------
    Measure
        A whole number of years; beside it a warning where a later cost undoes the payback.

    References
    ----------
    ASTM E1121, payback for investments in buildings.

    Examples
    --------
    >>> payback(np.array([-100.0, 60.0, 60.0]), 0.0).value
    2.0
    >>> payback(np.array([-100.0, 60.0, 30.0]), 0.0).reason
    'never pays back within the study period of 2 years'
    """
    flow = cleaned(saving)
    if not flow.any():
        return Measure(None, NOTHING)
    ahead = balance(flow, rate) >= 0
    behind = np.flatnonzero(~ahead)
    if not behind.size:
        return Measure(None, "it never costs more, from the first day on: nothing to pay back")
    crossings = np.flatnonzero(ahead[1:] & ~ahead[:-1]) + 1
    undone = np.flatnonzero(~ahead[1:] & ahead[:-1]) + 1
    if flow[np.flatnonzero(flow)[0]] > 0:
        return Measure(None, _cheaper_first(undone, crossings))
    if not crossings.size:
        period = in_years(len(flow) - 1)
        return Measure(None, f"never pays back within the study period of {period}")
    undone = undone[undone > crossings[0]]
    warning = _undone(undone, crossings[1:]) if undone.size else None
    return Measure(float(crossings[0]), warning)


def balance(saving: Array, rate: float) -> Array:
    """Return the present value saved so far by the end of each year; rounding is set to zero."""
    parts = saving / growth(rate, saving.shape[-1] - 1)
    so_far = np.cumsum(parts, axis=-1)
    scale = np.abs(parts).sum(axis=-1, keepdims=True)
    return np.where(np.abs(so_far) <= ROUNDING * scale, 0.0, so_far)


def _cheaper_first(undone: Years, crossings: Years) -> str:
    again = f" until year {crossings[0]:.0f}" if crossings.size else " to the end"
    return (
        "it costs less to begin with, so there is no investment to pay back, "
        f"but it has cost more in all from year {undone[0]:.0f}{again}"
    )


def _undone(undone: Years, again: Years) -> str:
    later = f"pays back again in year {again[0]:.0f}" if again.size else "does not pay back again"
    return f"a later cost undoes it in year {undone[0]:.0f}, and it {later}"


def internal_rate(saving: Array, stated: Callable[[float], float] = float) -> Measure:
    """Return the rate at which net savings are nil, where there is exactly one.

    Parameters
    ----------
    saving : ndarray, shape (n + 1,)
        Base case's cost less the alternative's by year [money].
    stated : callable
        What makes a rate found into one of the kind that the case speaks, real or nominal.

    Notes
    -----
    Looked for between -50 % and 2000 % a year. Where several rates fit, the reason names them.

    References
    ----------
    ASTM E1057, internal rate of return and adjusted internal rate of return.

    Examples
    --------
    >>> round(internal_rate(np.array([-100.0, 60.0, 60.0])).value, 4)
    0.1307
    >>> internal_rate(np.array([-100.0, 230.0, -132.0])).reason
    'not unique: costs and savings alternate, and 2 rates fit: 10% and 20%'
    """
    flow = cleaned(saving)
    found = [stated(rate) for rate in _rates(flow)]
    why_not = _no_rate(flow[flow != 0], found)
    return Measure(None, why_not) if why_not else Measure(found[0])


def _rates(flow: Array) -> list[float]:
    """Return every rate at which the present value of flows passes through nothing."""

    def worth(rates: Array) -> Array:
        return np.asarray((flow / growth(rates, len(flow) - 1)).sum(axis=-1))

    at = RATES[worth(RATES) != 0]
    turns = np.flatnonzero(np.diff(np.sign(worth(at))))
    return [float(brentq(lambda rate: float(worth(rate)), at[k], at[k + 1])) for k in turns]


def _no_rate(flow: Array, found: Sequence[float]) -> str | None:
    """Say why flows without zeros, which the rates `found` fit, have no one rate."""
    *others, last = [shown(rate, "rate") for rate in found] or [""]
    fit = f"{len(found)} rates fit: {', '.join(others)} and {last}"
    reasons = (
        (not flow.size, NOTHING),
        ((flow > 0).all(), "it costs less in every year: no rate of return exists"),
        ((flow < 0).all(), "it costs more in every year: no rate of return exists"),
        (len(found) > 1, f"not unique: costs and savings alternate, and {fit}"),
        (flow[:1] > 0, "it costs less to begin with and more later: a rate has no meaning"),
        (not found, NO_RATE_FOUND),
    )
    return next((reason for holds, reason in reasons if holds), None)
