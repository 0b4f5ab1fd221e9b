"""What a programme costs at the end of each year, in one scenario or in many at once.

A `Ledger` holds the costs of each step by age; `timing` says when each step begins; `flows` lays
the costs on the years, less the residual value at the end. One calculation serves the point
result, the break-even search and the draws: everything that may vary is an array over draws. Time
runs along the last axis, year 0 (today) to n.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lcc.arrays import Array
from lcc.cost.job_years import Timing, first_begins, timing
from lcc.cost.ledger import Ledger, of_new, part_done, varied
from lcc.cost.present_value import growth
from lcc.cost.residual_value import residual_value
from lcc.cost.scenario import (
    AT_BID,
    ESCALATIONS,
    KEEPING_RISES,
    PRICED,
    UNKNOWNS,
    WORK_FACTORS,
    WORK_RISES,
    Scenario,
    factors_today,
)
from lcc.cost.work import (
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
    paid[RESIDUAL][:, -1] = -residual_value(ledger, terms, when)
    shape = (terms.draws, ledger.years + 1)
    return {name: _wide(flow, shape) for name, flow in paid.items()}


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
    paid[:, -1] -= residual_value(ledger, terms, when) * factors[""][:, -1]
    return paid


def _wide(values: NDArray[Any], shape: tuple[int, ...]) -> NDArray[Any]:
    return values if values.shape == shape else np.broadcast_to(values, shape)


def _rows(cost: Array, shape: tuple[int, int]) -> Array:
    """Return costs with a row for each draw, where one row may stand for all."""
    return cost if cost.shape == shape else np.array(np.broadcast_to(cost, shape))


def _begun(ledger: Ledger, terms: Scenario, when: Timing) -> Iterator[tuple[str, Array]]:
    """Yield what the work that begins each generation after the first costs, by category."""
    steps = np.array(ledger.programme.order(when.starts.shape[1] + 1))[1:]
    for name in ledger.works:
        yield name, _cost_of_steps(ledger, terms, name)[:, steps]
    if np.any(found := _found(ledger, terms)):
        first = np.arange(len(steps)) == 0
        yield UNKNOWN, found[:, np.newaxis] * first


def _found(ledger: Ledger, terms: Scenario) -> Array:
    """Return what the open questions of the first job cost, shape (draws or 1,)."""
    each = (cost * getattr(terms, UNKNOWNS[duty]) for duty, cost in ledger.open.items())
    return np.asarray(sum(each, np.zeros(1)))


def unknown_today(ledger: Ledger, terms: Scenario, factors: Mapping[str, Array]) -> Array:
    """Return the part of `costs_today` that open questions cost, in all, shape (draws,)."""
    if ledger.rest is not None:
        first = unknown_today(replace(ledger, rest=None), terms, factors)
        return first + unknown_today(ledger.rest, terms, factors)
    if not ledger.open:
        return np.zeros(1)
    begins, worth = first_begins(ledger, terms), factors[WORK_RISES]
    worth = worth[np.arange(len(worth)), np.minimum(begins, ledger.years)]
    return _found(ledger, terms) * worth * (begins < ledger.years)


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
    cost = varied(ledger, terms, ledger.works[name])
    if name in PRICED:
        return np.asarray(cost * of_new(ledger, terms, AT_BID))
    factor = WORK_FACTORS.get(name)
    return np.asarray(cost * getattr(terms, factor)[:, np.newaxis] if factor else cost)


Costs = Iterator[tuple[str, str, Array]]


def _through_the_years(ledger: Ledger, terms: Scenario, when: Timing) -> Costs:
    """Yield category, escalation, and cost by draw and year, but for work that begins a step."""
    yield from _repeated_work(ledger, terms, when)
    yield from _kept(ledger, terms, when)
    yield from _bills(ledger, terms, when)
    if ledger.grants.any():
        once = np.zeros((1, max(len(ledger.grants) - 1, when.starts.shape[1])))
        once[0, : len(ledger.grants) - 1] = -ledger.grants[1:]
        yield GRANT, "", _laid(ledger, when, once[:, : when.starts.shape[1]])


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


def _price_by_year(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    price, coating = terms.price[:, np.newaxis], terms.coating_price[:, np.newaxis]
    new = np.repeat(ledger.new, ledger.years + 1)
    return np.where(np.take(new, when.place), price, coating)


def _through(table: Array, when: Timing) -> Array:
    """Return what a table (steps, n + 1) by age gives through each year; nothing in year 0.

    The step that holds through a year is the one in place at the end of the year before.
    """
    flat = table.ravel()
    following = np.concatenate((flat[1:], flat[:1]))
    found = np.empty(when.place.shape)
    found[:, 0] = 0.0
    found[:, 1:] = np.take(following, when.place[:, :-1])
    return found


def _held(values: Array, when: Timing) -> Array:
    """Return what each generation gives through each year of its own, nothing in year 0."""
    shape = (max(len(values), len(when.counts)), values.shape[1])
    counts = _wide(when.counts, shape).ravel()
    by_year = np.repeat(_wide(values, shape).ravel(), counts).reshape(shape[0], -1)
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


def life_cycle_costs(ledger: Ledger, terms: Scenario) -> Array:
    """Return the life-cycle cost of every draw, shape (draws,)."""
    paid = costs_today(ledger, terms, factors_today(terms, ledger.years))
    return np.asarray(paid.sum(axis=-1))


def total(paid: Mapping[str, Array]) -> Array:
    """Return the sum over categories, shape (draws, n + 1)."""
    return np.asarray(sum(paid.values()), float)
