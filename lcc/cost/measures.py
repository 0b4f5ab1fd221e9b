"""Measures of an alternative against the base case, each a figure or the reason there is none.

Sign convention: a saving is the base case's cost less the alternative's, so positive is good for
the alternative. Flows fall at the ends of years 0 to n, in base-year money, at real rates.
"""

from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np
import numpy_financial as npf
from scipy.optimize import brentq

from lcc.arrays import Array
from lcc.cost.payback_rule import ROUNDING, SAME_EVERY_YEAR, course
from lcc.cost.payback_sentence import why_none
from lcc.cost.present_value import growth
from lcc.figures import shown
from lcc.results import Measure

NO_SAVING = f"{SAME_EVERY_YEAR}: there is no investment and no saving"
NO_WORK = "it does no work within the study period: there is no investment"
NO_INVESTMENT = (
    "no ratio: over the study period its work, less the value left in the roof, costs no more than "
    "the other choice's, so nothing extra is invested"
)
NO_RATE_FOUND = "no rate between -50% and 2000% a year makes net savings nil"
UNEARNED = (
    "none, since net savings are negative: with no interest counted it pays back in year "
    "{year:.0f}, with interest never"
)
# How each figure is counted, said beside it.
NET_SAVINGS = "the life-cycle cost of the other choice less its own (ASTM E1074)"
RATIO = (
    "savings of energy, repairs and upkeep over the extra investment: all capital work of the "
    "study period less residual value, present value (NIST Handbook 135, ASTM E964)"
)
PER_DOLLAR = "net savings over the cost of its first work, both present value"
ADJUSTED = "from the savings-to-investment ratio, savings reinvested at the discount rate (E1057)"
PAYBACK = (
    "first year from which all that is spent so far stays at or below what {base} has cost, {how} "
    "(ASTM E1121); an earlier year that a later cost undoes does not count"
)
RETURN = "the rate at which both cost the same; of several, the one that is not negative (E1057)"
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
    return Measure(float(npf.npv(rate, saving)), convention=NET_SAVINGS)


def savings_to_investment(savings: float, investment: float) -> Measure:
    """Return what each unit of extra investment saves of energy, repairs and upkeep.

    Parameters
    ----------
    savings : float
        Net savings, present value [money].
    investment : float
        Capital work less residual value over the study period, the alternative's less the base
        case's, present value [money].

    Notes
    -----
    SIR = (NS + I) / I. All costs but the investment are the yearly savings, and net savings are
    those less the investment, so NS + I is their present value. 1 where it just breaks even.

    References
    ----------
    NIST Handbook 135, savings-to-investment ratio: replacements and residual value stand in the
    denominator. ASTM E964, benefit-to-cost and savings-to-investment ratios.

    Examples
    --------
    >>> savings_to_investment(50.0, 100.0).value
    1.5
    """
    scale = max(abs(savings), abs(investment))
    if scale == 0:
        return Measure(None, NO_SAVING, convention=RATIO)
    if investment <= ROUNDING * scale:
        return Measure(None, NO_INVESTMENT, convention=RATIO)
    return Measure((savings + investment) / investment, convention=RATIO)


def savings_per_dollar(savings: float, first_cost: float | None) -> Measure:
    """Return the net savings for each unit of money that the first work costs.

    Parameters
    ----------
    savings : float
        Net savings, present value [money].
    first_cost : float or None
        Cost of the alternative's first work, present value [money]; None where it does none.

    Notes
    -----
    The cost does not depend on what the base case does when, so the figure moves little where
    work is begun a year earlier or later.

    Examples
    --------
    >>> savings_per_dollar(50.0, 200.0).value
    0.25
    """
    if first_cost is None:
        return Measure(None, NO_WORK, convention=PER_DOLLAR)
    if first_cost <= 0:
        return Measure(None, "its first work costs nothing", convention=PER_DOLLAR)
    return Measure(savings / first_cost, convention=PER_DOLLAR)


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
        return Measure(None, ratio.reason, convention=ADJUSTED)
    if ratio.value <= 0:
        return Measure(None, "it saves nothing from year to year: no rate exists", None, ADJUSTED)
    value = float((1 + rate) * ratio.value ** (1 / years) - 1)
    return Measure(value, convention=ADJUSTED)


def payback_years(base: Array, own: Array, rate: float, against: str = "the base case") -> Measure:
    """Return the year after which an alternative has never again cost more in all.

    Parameters
    ----------
    base, own : ndarray, shape (n + 1,)
        Costs of the base case and of the alternative by year [money].
    rate : float
        Real discount rate [1/year]; 0 for simple payback.
    against : str
        Name of the base case.

    Returns
    -------
    Measure
        A whole number of years by the rule of `lcc.cost.payback_rule`; 0 where it is never behind.
        Beside it a warning where it is ahead earlier and a later cost undoes that.

    References
    ----------
    ASTM E1121, payback for investments in buildings.

    Examples
    --------
    >>> payback_years(np.array([0.0, 60.0, 60.0]), np.array([100.0, 0.0, 0.0]), 0.0).value
    2.0
    >>> payback_years(np.array([0.0, 60.0, 30.0]), np.array([100.0, 0.0, 0.0]), 0.0).reason
    'never pays back within the study period of 2 years'
    """
    how = "present value" if rate else "not discounted, and none where net savings are negative"
    convention = PAYBACK.format(base=against, how=how)
    years = len(base) - 1
    prices = growth(rate, years)
    run = course(np.cumsum(base / prices), np.cumsum(own / prices))
    reason = why_none(run, years)
    if reason is not None or run.year is None:
        return Measure(None, reason, None, convention)
    earlier = [year for year in run.ahead_years if year < run.year]
    undone = f"ahead as early as year {earlier[0]}, but a later cost undoes it" if earlier else None
    return Measure(float(run.year), None, undone, convention)


def earned(simple: Measure, discounted: Measure) -> Measure:
    """Return the simple payback, or none where the discounted one never comes.

    Net savings are negative there, and a simple payback beside them would say the opposite.

    Examples
    --------
    >>> earned(Measure(20.0), Measure(None, "never pays back")).value is None
    True
    """
    if discounted.value is not None or simple.value is None:
        return simple
    return Measure(None, UNEARNED.format(year=simple.value), None, simple.convention)


def internal_rate(saving: Array, stated: Callable[[float], float] = float) -> Measure:
    """Return the rate at which net savings are nil, where one alone is not negative.

    Parameters
    ----------
    saving : ndarray, shape (n + 1,)
        Base case's cost less the alternative's by year [money].
    stated : callable
        What makes a rate found into one of the kind that the case speaks, real or nominal.

    Notes
    -----
    Looked for between -50 % and 2000 % a year. Negative rates that fit beside it are left out;
    where several that are not negative fit, the reason names them.

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
    every = [stated(rate) for rate in _rates(flow)]
    found = [rate for rate in every if rate >= 0] or every
    why_not = _no_rate(flow[flow != 0], found)
    if why_not:
        return Measure(None, why_not, convention=RETURN)
    return Measure(found[0], convention=RETURN)


def _rates(flow: Array) -> list[float]:
    """Return every rate at which the present value of flows passes through nothing."""
    worth, backwards = (flow / _growth_at_rates(len(flow) - 1)).sum(axis=-1), flow[::-1].tolist()

    def worth_at(rate: float) -> float:
        found = 0.0
        for paid in backwards:  # of one rate this takes a fifth of the time of arrays
            found = found / (1 + rate) + paid
        return found

    at, worth = RATES[worth != 0], worth[worth != 0]
    turns = np.flatnonzero(np.diff(np.sign(worth)))
    return [float(brentq(worth_at, at[k], at[k + 1])) for k in turns]


@lru_cache(maxsize=16)
def _growth_at_rates(years: int) -> Array:
    return growth(RATES, years)


def _no_rate(flow: Array, found: Sequence[float]) -> str | None:
    """Say why flows without zeros, which the rates `found` fit, have no one rate."""
    *others, last = [shown(rate, "rate") for rate in found] or [""]
    fit = f"{len(found)} rates fit: {', '.join(others)} and {last}"
    reasons = (
        (not flow.size, NO_SAVING),
        ((flow > 0).all(), "it costs less in every year: no rate of return exists"),
        ((flow < 0).all(), "it costs more in every year: no rate of return exists"),
        (len(found) > 1, f"not unique: costs and savings alternate, and {fit}"),
        (flow[:1] > 0, "it costs less to begin with and more later: a rate has no meaning"),
        (not found, NO_RATE_FOUND),
    )
    return next((reason for holds, reason in reasons if holds), None)
