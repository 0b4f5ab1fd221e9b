"""Random draws of all uncertain inputs at once, as arrays over draws: no draw is a loop."""

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from scipy.optimize import brentq
from scipy.special import gamma, ndtr

from lcc.arrays import Array
from lcc.case import Alternative, Case, MetalRetrofit, Uncertainty
from lcc.case.fields import facts_of
from lcc.cost.cash_flow import costs_today, unknown_today
from lcc.cost.ledger import Ledger
from lcc.cost.payback_rule import never_pays_back, years_to_payback
from lcc.cost.scenario import FACTORS, UNKNOWNS, Scenario, factors_today
from lcc.heat.climate import stand_in
from lcc.place import width_of, with_place
from lcc.results import Chances, Measure, Percentiles, Spread

# Lives of so many generations of coverings are drawn; later ones repeat them.
GENERATIONS = 10
# No life is drawn below this part of its mean: nobody accepts such a roof.
SHORTEST = 0.1
RANGES = ("_range", "_range_y", "_spread")
# No range is asked for these.
ALWAYS_FIXED = (
    "whether the old membrane is torn off or covered",
    "what the building official asks for",
    "the weather",
    "the use of the building",
    "areas and counts of the survey",
    "intervals of service",
    "inflation",
    "tax",
)
# Factors whose range has their name, in the order in which they are drawn.
OWN_RANGE = FACTORS[FACTORS.index("tear_off") :]
BLOCK = 1000  # draws computed at once
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
    Drawn once for all alternatives: rates, escalations, prices of energy and of every kind of
    work, repairs and upkeep, the energy saving, the years that today's covering has left, the wet
    area, what a coating adds to a life. Roofing work and repairs rise together. Each covering's
    life is drawn on its own but for a share that all coverings of its kind have in common. With
    every range 0 each draw is the point result. What nobody knows of the roof has one answer for
    all alternatives.

    References
    ----------
    ASTM E1369, uncertainty and risk in the economic evaluation of buildings: simulation.
    """
    uncertainty = case.uncertainty
    rng = np.random.default_rng(uncertainty.seed)
    shared = _shared(case, rng)
    in_common = rng.standard_normal((2, uncertainty.draws))
    terms = [_own(case, shared, choice, in_common, rng) for choice in choices]
    # Drawn last, and one answer for all alternatives: the roof is the same under each.
    answers = {
        name: uncertainty.unknown_range * rng.random(uncertainty.draws)
        for name in UNKNOWNS.values()
    }
    costs, paybacks, unknown = _outcomes(ledgers, [replace(each, **answers) for each in terms])
    least = np.argmin(costs, axis=0)

    def against_base(index: int) -> Chances:
        net = costs[0] - costs[index]
        well = net - (unknown[0] - unknown[index]) if unknown.any() else None
        return chances(net, paybacks[index], ledgers[0].years, well)

    return tuple(
        Spread(
            uncertainty.draws,
            uncertainty.seed,
            _percentiles(own),
            float((least == index).mean()),
            not_drawn(uncertainty),
            against_base(index) if index else None,
        )
        for index, own in enumerate(costs)
    )


def _outcomes(ledgers: Sequence[Ledger], terms: Sequence[Scenario]) -> tuple[Array, Array, Array]:
    """Return life-cycle costs, paybacks, and what of the costs open questions make.

    Of all draws, shape (alternatives, draws) each.
    """
    draws, years = terms[0].draws, ledgers[0].years
    costs, paybacks, unknown = np.empty((3, len(ledgers), draws))
    # Blocks that fit the processor's cache take half the time of all draws at once.
    for start in range(0, draws, BLOCK):
        block = slice(start, start + BLOCK)
        cut = [drawn.part(block) for drawn in terms]
        factors = factors_today(cut[0], years)
        base = np.empty(0)
        for index, (ledger, drawn) in enumerate(zip(ledgers, cut, strict=True)):
            paid = costs_today(ledger, drawn, factors)
            base = base if index else paid
            costs[index, block] = paid.sum(axis=1)
            unknown[index, block] = unknown_today(ledger, drawn, factors)
            paybacks[index, block] = years_to_payback(np.cumsum(base - paid, axis=1))
    return costs, paybacks, unknown


def not_drawn(ranges: Uncertainty) -> tuple[str, ...]:
    """Return what stays as it is in every draw, with the inputs whose range is set to 0.

    Examples
    --------
    >>> not_drawn(Uncertainty(repairs_range=0.0))[-1]
    'repairs'
    """
    fixed = (
        facts.label
        for name, facts in facts_of(Uncertainty).items()
        if name.endswith(RANGES) and not getattr(ranges, name)
    )
    plain = (re.sub("^(Range|Spread) of (the )?", "", label) for label in fixed)
    return (*ALWAYS_FIXED, *plain)


def _shared(case: Case, rng: np.random.Generator) -> dict[str, Array]:
    """Draw what holds for all alternatives alike."""
    ranges, point = case.uncertainty, Scenario.of(case.economics)

    def drawn(half_width: float) -> Array:
        return triangular(rng, half_width, ranges.draws)

    work = drawn(ranges.work_escalation_range)
    rises = point.work_escalation + work
    alike = point.repairs_escalation == point.work_escalation
    return {
        "discount_rate": np.maximum(point.discount_rate + drawn(ranges.discount_rate_range), -0.5),
        "work_escalation": rises,
        "repairs_escalation": rises if alike else point.repairs_escalation + work,
        "electricity_escalation": point.electricity_escalation
        + drawn(ranges.energy_escalation_range),
        "gas_escalation": point.gas_escalation + drawn(ranges.energy_escalation_range),
        "electricity_price": 1 + drawn(ranges.energy_price_range),
        "gas_price": 1 + drawn(ranges.energy_price_range),
        "energy_saving": 1 + drawn(saving_range(case)),
        "more_remaining": drawn(ranges.remaining_life_range_y),
        "price": 1 + drawn(ranges.membrane_price_range),
        "coating_price": 1 + drawn(ranges.membrane_price_range),
        "retrofit_price": 1 + drawn(ranges.retrofit_price_range),
        **{name: 1 + drawn(getattr(ranges, f"{name}_range")) for name in OWN_RANGE},
    }


def saving_range(case: Case) -> float:
    """Return half the width of the energy saving, wider where the weather is another place's."""
    station = stand_in(case.site)
    width = width_of(*station) if station else 0.0
    return with_place(case.uncertainty.energy_saving_range, width)


def _own(
    case: Case,
    shared: dict[str, Array],
    choice: Alternative,
    in_common: Array,
    rng: np.random.Generator,
) -> Scenario:
    """Add what is drawn for one alternative alone: lives, and which price its covering has."""
    ranges = case.uncertainty
    metal = isinstance(choice, MetalRetrofit)
    spread = ranges.retrofit_life_spread if metal else ranges.membrane_life_spread
    own = {name: drawn for name, drawn in shared.items() if name != "retrofit_price"}
    own["life"] = lives(rng, spread, ranges, in_common[int(metal)])
    if metal:
        own["price"] = shared["retrofit_price"]
    return Scenario.of(case.economics, **own)


def triangular(rng: np.random.Generator, half_width: float, draws: int) -> Array:
    """Return draws from a symmetric triangle about 0, shape (draws,).

    Examples
    --------
    >>> abs(triangular(np.random.default_rng(1), 0.1, 1000)).max() < 0.1
    np.True_
    """
    return half_width * rng.triangular(-1.0, 0.0, 1.0, draws)


def lives(rng: np.random.Generator, spread: float, ranges: Uncertainty, in_common: Array) -> Array:
    """Return lives over their mean, shape (draws, generations).

    Parameters
    ----------
    rng : Generator
        Source of the draws.
    spread : float
        Standard deviation over the mean, 0 to 1.
    ranges : Uncertainty
        Number of draws, the distribution, and the share of the variance in common.
    in_common : ndarray, shape (draws,)
        Standard normal draws that all coverings of a kind have in common.

    Notes
    -----
    Each life has the quantile Φ(z) of its law, z = √s c + √(1 - s) e, with c in common and e its
    own: a normal copula with the share s as its correlation. Weibull: shape k from the spread,
    scale 1/Γ(1 + 1/k), so that the mean is 1. Triangular: half of the width is √6 standard
    deviations. Both are cut off at a tenth of the mean.
    """
    share = ranges.life_share
    own = rng.standard_normal((ranges.draws, GENERATIONS))
    if spread == 0:
        return np.ones((ranges.draws, GENERATIONS))
    score = np.sqrt(share) * in_common[:, np.newaxis] + np.sqrt(1 - share) * own
    if ranges.life_distribution == "triangular":
        tail = np.sqrt(2 * ndtr(-np.abs(score)))
        drawn = 1 + np.sqrt(6) * spread * np.copysign(1 - tail, score)
    else:
        k = weibull_shape(spread)
        drawn = (-np.log1p(-ndtr(score))) ** (1 / k) / float(gamma(1 + 1 / k))
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


def chances(net: Array, paybacks: Array, study_period: int, well: Array | None = None) -> Chances:
    """Return an alternative's chances from its net savings and paybacks.

    Parameters
    ----------
    net, paybacks : ndarray, shape (draws,)
        Net savings against the base case, and the years in which they begin for good.
    study_period : int
        In years.
    well : ndarray, shape (draws,), optional
        Net savings if nothing bad is found of what is not known of the roof.

    Notes
    -----
    The standard error of a chance p is √(p (1 - p) / draws).
    """
    chance = float((net > 0).mean())
    percentiles = np.percentile(paybacks, PERCENTS, method="inverted_cdf")
    counts, edges = _histogram(net)
    p10, p50, p90 = (_payback(float(years), study_period) for years in percentiles)
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
        None if well is None else float((well > 0).mean()),
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
    return Measure(None, never_pays_back(study_period))
