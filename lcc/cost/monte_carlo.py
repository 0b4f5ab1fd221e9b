"""Random draws of all uncertain inputs at once, as arrays over draws: no draw is a loop."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import gamma

from lcc.case import Alternative, Case, MetalRetrofit, Uncertainty
from lcc.cost.cash_flow import Ledger, Scenario, flows, present_values, total
from lcc.cost.payback_rule import years_to_payback
from lcc.figures import in_years
from lcc.results import Chances, Measure, Percentiles, Spread

Array = NDArray[np.float64]
# Lives of so many generations of coverings are drawn; later ones repeat them.
GENERATIONS = 10
# No life is drawn below this part of its mean: nobody accepts such a roof.
SHORTEST = 0.1
PERCENTS = (10, 50, 90)
STEPS = 30  # of the histogram of net savings
LOOKS = (8, 4, 2, 1)  # at the estimate on its way: after a part of the draws


def spreads(
    case: Case, choices: Sequence[Alternative], ledgers: Sequence[Ledger]
) -> tuple[Spread, ...]:
    """Return what random draws make of every alternative's cost.

    Parameters
    ----------
    case : Case
        The case, with the number of draws, the seed and the ranges in its `uncertainty`.
    choices, ledgers : sequence
        The base case first, then the alternatives, with their costs.

    Notes
    -----
    Drawn once for all alternatives: the discount rate, escalations, energy prices, the energy
    saving, the years that today's covering has left, and membrane prices; roofing work and
    repairs rise together. Drawn for each alternative: the lives of its coverings, each
    generation on its own, and a retrofit's price. With every range 0 each draw is the point
    result.

    References
    ----------
    ASTM E1369, uncertainty and risk in the economic evaluation of buildings: simulation.
    """
    uncertainty = case.uncertainty
    rng = np.random.default_rng(uncertainty.seed)
    shared = _shared(case, rng)
    terms = [_own(case, shared, choice, rng) for choice in choices]
    paid = [
        present_values(total(flows(ledger, drawn)), drawn.discount_rate)
        for ledger, drawn in zip(ledgers, terms, strict=True)
    ]
    costs = np.array([flow.sum(axis=1) for flow in paid])
    least = np.argmin(costs, axis=0)
    return tuple(
        Spread(
            uncertainty.draws,
            uncertainty.seed,
            _percentiles(costs[index]),
            float((least == index).mean()),
            chances(paid[0] - flow) if index else None,
        )
        for index, flow in enumerate(paid)
    )


def _shared(case: Case, rng: np.random.Generator) -> dict[str, Array]:
    """Draw what holds for all alternatives alike."""
    ranges, point = case.uncertainty, Scenario.of(case.economics)

    def drawn(half_width: float) -> Array:
        return triangular(rng, half_width, ranges.draws)

    work = drawn(ranges.work_escalation_range)
    return {
        "discount_rate": np.maximum(point.discount_rate + drawn(ranges.discount_rate_range), -0.5),
        "work_escalation": point.work_escalation + work,
        "repairs_escalation": point.repairs_escalation + work,
        "electricity_escalation": point.electricity_escalation
        + drawn(ranges.energy_escalation_range),
        "gas_escalation": point.gas_escalation + drawn(ranges.energy_escalation_range),
        "electricity_price": 1 + drawn(ranges.energy_price_range),
        "gas_price": 1 + drawn(ranges.energy_price_range),
        "energy_saving": 1 + drawn(ranges.energy_saving_range),
        "more_remaining": drawn(ranges.remaining_life_range_y),
        "price": 1 + drawn(ranges.membrane_price_range),
        "coating_price": 1 + drawn(ranges.membrane_price_range),
    }


def _own(
    case: Case, shared: dict[str, Array], choice: Alternative, rng: np.random.Generator
) -> Scenario:
    """Add what is drawn for one alternative alone."""
    ranges = case.uncertainty
    own = dict(shared)
    metal = isinstance(choice, MetalRetrofit)
    spread = ranges.retrofit_life_spread if metal else ranges.membrane_life_spread
    own["life"] = lives(rng, spread, ranges)
    if metal:
        own["price"] = 1 + triangular(rng, ranges.retrofit_price_range, ranges.draws)
    return Scenario.of(case.economics, **own)


def triangular(rng: np.random.Generator, half_width: float, draws: int) -> Array:
    """Return draws from a symmetric triangle about 0, shape (draws,).

    Examples
    --------
    >>> abs(triangular(np.random.default_rng(1), 0.1, 1000)).max() < 0.1
    np.True_
    """
    return half_width * rng.triangular(-1.0, 0.0, 1.0, draws)


def lives(rng: np.random.Generator, spread: float, ranges: Uncertainty) -> Array:
    """Return lives over their mean, shape (draws, generations).

    Parameters
    ----------
    rng : Generator
        Source of the draws.
    spread : float
        Standard deviation over the mean, 0 to 1.
    ranges : Uncertainty
        Number of draws and the distribution.

    Notes
    -----
    Weibull: shape k from the spread, scale 1/Γ(1 + 1/k), so that the mean is 1. Triangular:
    half of the width is √6 standard deviations. Both are cut off at a tenth of the mean.
    """
    shape = (ranges.draws, GENERATIONS)
    if spread == 0:
        return np.ones(shape)
    if ranges.life_distribution == "triangular":
        drawn = 1 + np.sqrt(6) * spread * rng.triangular(-1.0, 0.0, 1.0, shape)
    else:
        k = weibull_shape(spread)
        drawn = rng.weibull(k, shape) / float(gamma(1 + 1 / k))
    return np.asarray(np.maximum(SHORTEST, drawn))


@cache
def weibull_shape(spread: float) -> float:
    """Return the shape of the Weibull distribution whose standard deviation is `spread` means.

    Notes
    -----
    spread² = Γ(1 + 2/k) / Γ(1 + 1/k)² - 1; k = 1 (exponential) has a spread of 1.

    Examples
    --------
    >>> round(weibull_shape(1.0), 6), round(weibull_shape(0.25), 2)
    (1.0, 4.54)
    """

    def excess(k: float) -> float:
        return float(gamma(1 + 2 / k) / gamma(1 + 1 / k) ** 2 - 1 - spread**2)

    return float(brentq(excess, 0.9, max(2.0, 2 / spread)))


def _percentiles(amounts: Array) -> Percentiles:
    p10, p50, p90 = np.percentile(amounts, PERCENTS).tolist()
    error = float(amounts.std() / np.sqrt(len(amounts)))
    return Percentiles(p10, p50, p90, float(amounts.mean()), error)


def chances(saving: Array) -> Chances:
    """Return an alternative's chances from its present-value savings by draw and year.

    Parameters
    ----------
    saving : ndarray, shape (draws, n + 1)
        Base case's cost less the alternative's, discounted.

    Notes
    -----
    The standard error of a chance p is √(p (1 - p) / draws).
    """
    net = saving.sum(axis=1)
    chance = float((net > 0).mean())
    paybacks = years_to_payback(np.cumsum(saving, axis=1))
    percentiles = np.percentile(paybacks, PERCENTS, method="inverted_cdf")
    counts, edges = _histogram(net)
    p10, p50, p90 = (_payback(float(years), saving.shape[1] - 1) for years in percentiles)
    return Chances(
        _percentiles(net),
        chance,
        float(np.sqrt(chance * (1 - chance) / len(net))),
        tuple(float((net[: max(1, len(net) // part)] > 0).mean()) for part in LOOKS),
        worst_tenth(net),
        p10,
        p50,
        p90,
        tuple(edges.tolist()),
        tuple((counts / len(net)).tolist()),
    )


def worst_tenth(net: Array) -> float:
    """Return the mean of the lowest tenth of net savings: what it costs to be wrong.

    Examples
    --------
    >>> worst_tenth(np.arange(20.0))
    0.5
    """
    count = max(1, len(net) // 10)
    return float(np.partition(net, count - 1)[:count].mean())


def _histogram(amounts: Array) -> tuple[Array, Array]:
    """Count amounts in steps of equal width, one unit in all where they do not differ."""
    low, high = float(amounts.min()), float(amounts.max())
    if high - low <= 1e-9 * max(abs(low), abs(high)):
        low, high = low - 0.5, high + 0.5
    counts, edges = np.histogram(amounts, STEPS, (low, high))
    return counts.astype(float), edges


def _payback(years: float, study_period: int) -> Measure:
    if np.isfinite(years):
        return Measure(years)
    period = in_years(study_period)
    return Measure(None, f"never pays back within the study period of {period}")
