"""What a programme costs at the end of each year, in one scenario or in many at once.

A `Ledger` holds the costs of each step by age; `timing` says when each step begins; `flows` lays
the costs on the years. One calculation serves the point result, the break-even search and the
draws: everything that may vary is an array over draws. Time runs along the last axis, year 0
(today) to n.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import ceil

import numpy as np
from numpy.typing import NDArray

from lcc.cost.ledger import Ledger, part_done
from lcc.cost.present_value import growth
from lcc.cost.scenario import (
    ESCALATIONS,
    KEEPING_RISES,
    UNKNOWNS,
    WORK_FACTORS,
    WORK_RISES,
    Scenario,
    factors_today,
)
from lcc.cost.work import (
    COVERING,
    DEMAND,
    ELECTRICITY,
    FEES,
    FEES_ON_LAYING,
    GAS,
    GRANT,
    REPAIRS,
    RESIDUAL,
    UNKNOWN,
    UPKEEP,
)

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
# What follows the price of what is laid.
PRICED = (COVERING, FEES_ON_LAYING)


@dataclass(frozen=True)
class Timing:
    """When each generation ends and which step holds in which year.

    `starts` (draws, generations) is the year in which a generation ends and the next one starts;
    as many generations as the study period sees. `place` (draws, n + 1) indexes the ledger's
    tables flattened (step, age), at the end of each year after any work; `last_step`, `last_life`
    and `last_age` are those of the step that holds through the last year.
    """

    starts: Whole
    counts: Whole
    place: Whole
    last_step: Whole
    last_life: Array
    last_age: Array

    @property
    def step_during(self) -> Whole:
        """The step that holds through each year: that in place at the end of the year before."""
        steps = self.place // self.place.shape[1]
        return np.concatenate((steps[:, :1], steps[:, :-1]), axis=1)

    @property
    def years_left(self) -> Whole:
        """Years from the end of each year to the end of the step then in place."""
        ends = np.repeat(self.starts.ravel(), self.counts.ravel()).reshape(self.place.shape)
        return np.asarray(ends - np.arange(self.place.shape[1]))


def timing(ledger: Ledger, terms: Scenario) -> Timing:
    """Return when the steps of a programme begin.

    Notes
    -----
    A covering lasts its life rounded to whole years, at least one; what is left of today's may
    be none. Work falls at the end of the last year of the life before it, and not at all in
    the last year of the study period, which it would not serve.
    """
    count = ledger.years + 1
    lives = _lives(ledger, terms)
    ends = np.cumsum(lives, axis=1)
    # Generations that no draw lives to see are left out.
    seen = int((ends < count).sum(axis=1).max()) + 1
    lives, ends = lives[:, :seen], ends[:, :seen]
    begins = ends - lives
    order = np.array(ledger.programme.order(seen))
    counts = np.diff(np.minimum(ends, count), axis=1, prepend=0)
    first = np.repeat((order * count - begins).ravel(), counts.ravel())
    last = (ends < ledger.years).sum(axis=1)
    rows = np.arange(len(ends))
    return Timing(
        ends,
        counts,
        first.reshape(len(ends), count) + np.arange(count),
        order[last],
        lives[rows, last].astype(float),
        (ledger.years - begins[rows, last]).astype(float),
    )


def _lives(ledger: Ledger, terms: Scenario) -> Whole:
    """Return the whole years that each generation lasts, enough of them to fill the period."""
    typical = max(1.0, float(ledger.lives[1:].min()))
    count = 2 + ceil(1.5 * ledger.years / typical)
    lives = _first_lives(ledger, terms, count)
    while lives.sum(axis=1).min() <= ledger.years:
        count *= 2
        lives = _first_lives(ledger, terms, count)
    return lives


def _first_lives(ledger: Ledger, terms: Scenario, count: int) -> Whole:
    order = np.array(ledger.programme.order(count))
    life = terms.life[:, np.arange(count) % terms.life.shape[1]]
    more = np.where(ledger.cut_short, 0.0, 1.0)[order] * terms.more_remaining[:, np.newaxis]
    gained = ledger.gains[order] * (terms.life_gain - 1)[:, np.newaxis]
    left = np.maximum(0.0, ledger.lives[order] + more + gained)
    years = np.where(ledger.new[order], ledger.lives[order] * life, left)
    lives = np.floor(years + 0.5).astype(np.int64)
    lives[:, 1:] = np.maximum(lives[:, 1:], 1)
    return np.asarray(lives)


def flows(ledger: Ledger, terms: Scenario, when: Timing | None = None) -> dict[str, Array]:
    """Return what is paid at the end of each year, by category.

    Parameters
    ----------
    ledger : Ledger
        The programme's costs.
    terms : Scenario
        What varies between draws.
    when : Timing, optional
        Their timing where it is known already, of a roof done in one part.

    Returns
    -------
    dict of str to ndarray, shape (draws, n + 1)
        Base-year money with the escalation above inflation of each category; the residual value
        is negative. Categories without any cost are left out.
    """
    if ledger.rest is not None:
        both: dict[str, Array] = {}
        for each in (replace(ledger, rest=None), ledger.rest):
            for name, flow in flows(each, terms).items():
                both[name] = both[name] + flow if name in both else flow
        return both
    when = when or timing(ledger, terms)
    rising = {name: growth(getattr(terms, name), ledger.years) for name in ESCALATIONS}
    paid: dict[str, Array] = {}
    for name, cost in _begun(ledger, terms, when):
        shown = FEES if name == FEES_ON_LAYING else name
        flow = _laid(ledger, when, cost) * rising[WORK_RISES]
        paid[shown] = paid.get(shown, 0.0) + flow
    for name, rises, cost in _through_the_years(ledger, terms, when):
        flow = cost * rising[rises] if rises else cost
        paid[name] = paid.get(name, 0.0) + flow
    paid[RESIDUAL] = np.zeros((terms.draws, ledger.years + 1))
    paid[RESIDUAL][:, -1] = -_residual(ledger, terms, when)
    shape = (terms.draws, ledger.years + 1)
    return {name: np.broadcast_to(flow, shape) for name, flow in paid.items()}


def costs_today(ledger: Ledger, terms: Scenario, factors: Mapping[str, Array]) -> Array:
    """Return what is paid in each year over all categories, discounted to today.

    Parameters
    ----------
    ledger : Ledger
        The programme's costs.
    terms : Scenario
        What varies between draws.
    factors : mapping of str to ndarray
        `factors_today` of the same rates.

    Returns
    -------
    ndarray, shape (draws, n + 1)
        The sum of `flows` over categories, discounted. Costs that rise alike are added before
        they are multiplied, so that thousands of draws take a part of the time.
    """
    if ledger.rest is not None:
        first = costs_today(replace(ledger, rest=None), terms, factors)
        return first + costs_today(ledger.rest, terms, factors)
    when = timing(ledger, terms)
    shape = (terms.draws, ledger.years + 1)
    sums: dict[str, Array] = {}
    begun = [cost for _, cost in _begun(ledger, terms, when)]
    if begun:
        sums[WORK_RISES] = _rows(_laid(ledger, when, np.sum(np.broadcast_arrays(*begun), 0)), shape)
    for _, rises, cost in _through_the_years(ledger, terms, when):
        if rises in sums:
            sums[rises] += cost
        else:
            sums[rises] = _rows(cost, shape)
    paid = np.zeros(shape)
    for rises, cost in sums.items():
        paid += np.multiply(cost, factors[rises], out=cost)
    paid[:, -1] -= _residual(ledger, terms, when) * factors[""][:, -1]
    return paid


def _rows(cost: Array, shape: tuple[int, int]) -> Array:
    """Return costs with a row for each draw, where one row may stand for all."""
    return cost if cost.shape == shape else np.array(np.broadcast_to(cost, shape))


def _begun(ledger: Ledger, terms: Scenario, when: Timing) -> Iterator[tuple[str, Array]]:
    """Yield what the work that begins each generation after the first costs, by category."""
    steps = np.array(ledger.programme.order(when.starts.shape[1] + 1))[1:]
    for name in ledger.works:
        yield name, _cost_of_steps(ledger, terms, name)[:, steps]
    found = sum(cost * getattr(terms, UNKNOWNS[duty]) for duty, cost in ledger.open.items())
    if np.any(found):
        first = np.arange(len(steps)) == 0
        yield UNKNOWN, np.asarray(found)[:, np.newaxis] * first


def _laid(ledger: Ledger, when: Timing, cost: Array) -> Array:
    """Lay costs by generation, shape (draws or 1, generations), on the years they begin in."""
    # Work at the very end of the period, or after it, is not done.
    at = np.where(when.starts < ledger.years, when.starts, ledger.years + 1)
    draws = max(len(cost), len(at))
    flow = np.zeros((draws, ledger.years + 2))
    flow[np.arange(draws)[:, np.newaxis], at] = cost
    return flow[:, : ledger.years + 1]


def _cost_of_steps(ledger: Ledger, terms: Scenario, name: str) -> Array:
    """Return the cost of one category of work by draw and step, shape (draws, steps)."""
    cost = ledger.works[name][np.newaxis, :]
    if name in ledger.wet:
        cost = cost + ledger.wet[name] * (terms.wet_area - 1)[:, np.newaxis]
    if name in PRICED:
        return np.asarray(cost * _price_factor(ledger, terms))
    factor = WORK_FACTORS.get(name)
    return np.asarray(cost * getattr(terms, factor)[:, np.newaxis] if factor else cost)


def _price_factor(ledger: Ledger, terms: Scenario) -> Array:
    """Return the factor on what each step lays, shape (draws, steps): coatings have their own."""
    price, coating = terms.price[:, np.newaxis], terms.coating_price[:, np.newaxis]
    return np.where(ledger.new, price, coating)


Costs = Iterator[tuple[str, str, Array]]


def _through_the_years(ledger: Ledger, terms: Scenario, when: Timing) -> Costs:
    """Yield category, escalation, and cost by draw and year, but for work that begins a step."""
    yield from _repeated_work(ledger, terms, when)
    yield from _kept(ledger, terms, when)
    yield from _bills(ledger, terms, when)
    if ledger.grants.any():
        yield GRANT, "", _granted(ledger, terms, when)


def _repeated_work(ledger: Ledger, terms: Scenario, when: Timing) -> Costs:
    """Yield what is renewed and serviced while a step lasts."""
    if not ledger.repeated:
        return
    left = when.years_left
    for work, table in ledger.repeated:
        due = np.take(table, when.place)
        due[:, -1] = 0.0
        at = np.nonzero(due)
        due[at] *= part_done(work, left[at])
        if work.category == UPKEEP:
            yield UPKEEP, KEEPING_RISES, due * terms.upkeep[:, np.newaxis]
        else:
            yield work.category, WORK_RISES, due * _price_by_year(ledger, terms, when)


def _granted(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Return grants as negative costs, once each, in the year in which their step first begins."""
    flow = np.zeros((max(terms.draws, len(when.starts)), ledger.years + 2))
    at = np.where(when.starts < ledger.years, when.starts, ledger.years + 1)
    for step in np.flatnonzero(ledger.grants):
        if step <= at.shape[1]:
            np.put_along_axis(flow, at[:, step - 1 : step], -ledger.grants[step], axis=1)
    return flow[:, : ledger.years + 1]


def _price_by_year(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    price, coating = terms.price[:, np.newaxis], terms.coating_price[:, np.newaxis]
    new = np.repeat(ledger.new, ledger.years + 1)
    return np.where(np.take(new, when.place), price, coating)


def _through(table: Array, when: Timing) -> Array:
    """Return what a table (steps, n + 1) by age gives through each year; nothing in year 0.

    The step that holds through a year is the one in place at the end of the year before.
    """
    following = np.roll(table.ravel(), -1)
    found = np.empty(when.place.shape)
    found[:, 0] = 0.0
    found[:, 1:] = np.take(following, when.place[:, :-1])
    return found


def _held(values: Array, when: Timing) -> Array:
    """Return what each generation gives through each year of its own, nothing in year 0."""
    shape = (max(len(values), len(when.counts)), values.shape[1])
    counts = np.broadcast_to(when.counts, shape).ravel()
    by_year = np.repeat(np.broadcast_to(values, shape).ravel(), counts).reshape(shape[0], -1)
    held = np.zeros(by_year.shape)
    held[:, 1:] = by_year[:, :-1]
    return held


def _kept(ledger: Ledger, terms: Scenario, when: Timing) -> Costs:
    """Yield repairs, upkeep and insurance of every year."""
    factors = {REPAIRS: terms.repairs, UPKEEP: terms.upkeep}
    for name, table in ledger.running.items():
        aged = name == REPAIRS and bool(np.any(terms.life != 1.0))
        cost = _repairs_aged(ledger, terms, when) if aged else _through(table, when)
        if name in factors:
            yield name, KEEPING_RISES, cost * factors[name][:, np.newaxis]
        else:
            yield name, "", cost


def _repairs_aged(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Return repairs through each year where lives are not the planned ones.

    A covering that lasts longer ages slower, by the same factor; today's roof keeps its own age.
    """
    order = np.array(ledger.programme.order(when.starts.shape[1]))
    life = terms.life[:, np.arange(len(order)) % terms.life.shape[1]]
    slope = ledger.growth[order] / np.where(ledger.new[order], life, 1.0)
    begun = np.concatenate((np.zeros((len(when.starts), 1)), when.starts[:, :-1]), axis=1)
    with np.errstate(divide="ignore"):  # no repairs are the exponential of minus infinity
        first = np.log(ledger.repairs)[order] - slope * (begun + 1)
    power = _held(slope, when) * np.arange(ledger.years + 1)
    power += _held(first, when)
    cost = np.exp(power, out=power)
    cost[:, 0] = 0.0
    return cost + _through(ledger.leaks, when) if ledger.leaks.any() else cost


def _bills(ledger: Ledger, terms: Scenario, when: Timing) -> Costs:
    """Yield the energy bills; the energy saving acts on the difference to today's roof."""
    plain = np.ones(1)
    prices = {ELECTRICITY: terms.electricity_price, GAS: terms.gas_price}
    rises = {
        ELECTRICITY: "electricity_escalation",
        DEMAND: "electricity_escalation",
        GAS: "gas_escalation",
    }
    order = np.array(ledger.programme.order(when.starts.shape[1]))
    for name, bills in ledger.bills.items():
        if bills.any():
            price = prices.get(name, plain)
            changed = (bills - bills[0])[order] * (terms.energy_saving * price)[:, np.newaxis]
            cost = _held(changed + bills[0] * price[:, np.newaxis], when)
            yield name, rises.get(name, ""), cost


def _residual(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Straight line by the life that is left at the end, at that year's prices, shape (draws,)."""
    left = np.maximum(0.0, 1 - when.last_age / when.last_life)
    covering = ledger.lasting[when.last_step] * terms.price * left
    rise = (1 + terms.work_escalation) ** ledger.years
    return np.asarray((covering + _worth_below(ledger, terms, when)) * rise)


def _worth_below(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Return what insulation and framing below the last covering are worth, shape (draws,).

    Whatever job laid them: later jobs keep them, so they wear by a life of their own.
    """
    if not ledger.stays:
        return np.zeros(1)
    steps = np.array(ledger.programme.order(when.starts.shape[1] + 1))[1:]
    age = ledger.years - when.starts
    left = np.where(age > 0, np.maximum(0.0, 1 - age / ledger.stays_y), 0.0)
    worth = np.zeros(1)
    for name, costs in ledger.stays.items():
        factor = terms.price if name in PRICED else getattr(terms, WORK_FACTORS[name])
        each = left @ costs[steps]
        if name in ledger.stays_wet:
            each = each + left @ ledger.stays_wet[name][steps] * (terms.wet_area - 1)
        worth = worth + each * factor
    return np.asarray(worth)


def life_cycle_costs(ledger: Ledger, terms: Scenario) -> Array:
    """Return the life-cycle cost of every draw, shape (draws,)."""
    paid = costs_today(ledger, terms, factors_today(terms, ledger.years))
    return np.asarray(paid.sum(axis=-1))


def total(paid: Mapping[str, Array]) -> Array:
    """Return the sum over categories, shape (draws, n + 1)."""
    first, *others = paid.values()
    summed = np.array(first, float)
    for flow in others:
        summed += flow
    return summed


def present_values(flow: Array, discount_rate: Array) -> Array:
    """Return each year's flow discounted to today, shape (draws, n + 1)."""
    return flow / growth(discount_rate, flow.shape[-1] - 1)
