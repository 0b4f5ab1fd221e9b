"""What a programme costs at the end of each year, in one scenario or in many at once.

A `Ledger` holds the costs of each step by age; `timing` says when each step begins; `flows` lays
the costs on the years. One calculation serves the point result, the break-even search and the
draws: everything that may vary is an array over draws. Time runs along the last axis, year 0
(today) to n.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lcc.case.economics import Economics
from lcc.cost.present_value import growth, real_discount_rate
from lcc.cost.programme import Programme
from lcc.cost.work import (
    CARBON,
    COVERING,
    DEMAND,
    DISRUPTION,
    ELECTRICITY,
    ENERGY,
    FEES,
    FEES_ON_LAYING,
    FLASHINGS,
    GAS,
    GRANT,
    INSULATION,
    INSURANCE,
    REPAIRS,
    RESIDUAL,
    TEAR_OFF,
    UNITS,
    UPKEEP,
    Step,
    Work,
    whole_years,
)

Array = NDArray[np.float64]
# The duty whose work is paid by the wet area.
WET = "wet-insulation"
# Factor of a scenario on each category of work; the others keep their cost.
WORK_FACTORS = {
    TEAR_OFF: "tear_off",
    INSULATION: "insulation",
    UNITS: "units",
    DISRUPTION: "disruption",
    FLASHINGS: "other_work",
    FEES: "other_work",
}
FACTORS = (
    "electricity_price",
    "gas_price",
    "energy_saving",
    "price",
    "coating_price",
    *dict.fromkeys(WORK_FACTORS.values()),
    "repairs",
    "upkeep",
    "wet_area",
    "life_gain",
)
ESCALATIONS = (
    "work_escalation",
    "repairs_escalation",
    "electricity_escalation",
    "gas_escalation",
)


@dataclass(frozen=True)
class Scenario:
    """What may vary between draws, each of shape (draws,) but for `life`.

    Rates are real [1/year]. `more_remaining` [years] is added to what is left of the covering in
    place today. The others are factors on the figures of the case: `price` on what coverings and
    panels cost, `coating_price` on coatings, `tear_off` to `other_work` on other work, `wet_area`
    on the work on wet insulation, `life` (draws, generations) on the life of each covering laid,
    `life_gain` on the years that a coating adds, `energy_saving` on the difference that a state
    of the roof makes to the energy bill of today's.
    """

    discount_rate: Array
    work_escalation: Array
    repairs_escalation: Array
    electricity_escalation: Array
    gas_escalation: Array
    electricity_price: Array
    gas_price: Array
    energy_saving: Array
    price: Array
    coating_price: Array
    tear_off: Array
    insulation: Array
    units: Array
    disruption: Array
    other_work: Array
    repairs: Array
    upkeep: Array
    wet_area: Array
    life_gain: Array
    life: Array
    more_remaining: Array

    @classmethod
    def of(cls, economics: Economics, **varied: Any) -> Scenario:
        """Return the terms of a case, in which `varied` replaces some by arrays over draws."""
        terms: dict[str, Array] = dict.fromkeys(FACTORS, np.ones(1))
        terms["life"], terms["more_remaining"] = np.ones((1, 1)), np.zeros(1)
        terms["discount_rate"] = np.array([real_discount_rate(economics)])
        for name in ESCALATIONS:
            terms[name] = np.array([getattr(economics, name)])
        return cls(**(terms | varied))

    def part(self, start: int, end: int) -> Scenario:
        """Return some of the draws; what is one array stays one."""
        cut = {id(array): array[start:end] for array in vars(self).values() if len(array) > 1}
        return Scenario(**{name: cut.get(id(array), array) for name, array in vars(self).items()})

    @property
    def draws(self) -> int:
        """The number of draws: the longest of the arrays."""
        return max(len(array) for array in vars(self).values())


Whole = NDArray[np.int64]
Bill = Mapping[str, float]
LASTING = (COVERING, INSULATION)
# What follows the price of what is laid.
PRICED = (COVERING, FEES_ON_LAYING)


@dataclass(frozen=True)
class Ledger:
    """A programme's costs by step and age, from which any timing can be looked up.

    `works` fall at the beginning of a step, and a part of them is `wet` insulation; `repeated`
    work falls at the end of the year in which it reaches an age; `running` costs are paid through
    the year that ends at that age. The last two have shape (steps, n + 1), the others, by
    category, shape (steps,). `gains` are the years of a life that a coating adds.
    """

    programme: Programme
    years: int
    lives: Array
    new: NDArray[np.bool_]
    cut_short: NDArray[np.bool_]
    gains: Array
    works: dict[str, Array]
    wet: dict[str, Array]
    repeated: tuple[tuple[Work, Array], ...]
    running: dict[str, Array]
    bills: dict[str, Array]
    grants: Array
    lasting: dict[str, Array]


def ledger(programme: Programme, bills: Sequence[Bill], years: int) -> Ledger:
    """Return the ledger of a programme over a study period.

    Parameters
    ----------
    programme : Programme
        The steps.
    bills : sequence of mapping
        For each step, the yearly energy bill by category of `ENERGY`, base-year money.
    years : int
        Study period [years].
    """
    steps = programme.steps
    return Ledger(
        programme,
        years,
        np.array([step.life_y for step in steps]),
        np.array([step.new for step in steps]),
        np.array([step.cut_short for step in steps]),
        np.array([step.gain_y for step in steps]),
        _works(steps),
        _works(steps, wet_alone=True),
        _repeated(steps, years),
        _by_category([_running(step, years) for step in steps], years),
        {name: np.array([bill.get(name, 0.0) for bill in bills]) for name in (*ENERGY, CARBON)},
        np.array([step.grant for step in steps]),
        {name: np.array([_lasting(step, name) for step in steps]) for name in LASTING},
    )


def _works(steps: Sequence[Step], *, wet_alone: bool = False) -> dict[str, Array]:
    """Return the cost of the work that begins each step, by category."""
    table: dict[str, Array] = {}
    for index, step in enumerate(steps):
        for work in step.works:
            if work.duty == WET or not wet_alone:
                category = FEES_ON_LAYING if work.on_laying else work.category
                table.setdefault(category, np.zeros(len(steps)))[index] += work.cost
    return {name: costs for name, costs in table.items() if costs.any()}


def _repeated(steps: Sequence[Step], years: int) -> tuple[tuple[Work, Array], ...]:
    """Return each piece of repeated work with its costs by step and age."""
    works = dict.fromkeys(work for step in steps for work in step.repeated)
    tables = {work: np.zeros((len(steps), years + 1)) for work in works}
    for index, step in enumerate(steps):
        for work in step.repeated:
            np.add.at(tables[work][index], repeat_ages(work, years), work.cost)
    return tuple(tables.items())


def repeat_ages(work: Work, years: int) -> list[int]:
    """Return the ages at which repeated work falls due, in whole years up to `years`.

    Examples
    --------
    >>> repeat_ages(Work("Coating renewed", "", COVERING, 1.0, every_y=7.5), 30)
    [8, 15, 23, 30]
    """
    every = float(work.every_y or years + 1)
    ages = (whole_years(every * (k + 1)) for k in range(int(years / every) + 1))
    return [age for age in ages if age <= years]


def is_worth(work: Work, years_left: Whole) -> NDArray[np.bool_]:
    """Tell whether work due is done, by the years until its step ends.

    Notes
    -----
    It is left out within a quarter of its interval of the end: nobody renews a coating the year
    before the roof is replaced.
    """
    return years_left > float(work.every_y or 0) / 4


def _running(step: Step, years: int) -> dict[str, Array]:
    repairs = step.repairs * growth(step.repairs_growth, years)
    repairs = repairs + step.leaks * np.maximum(0.0, np.arange(years + 1) + 1 - step.leaks_from_y)
    return {
        REPAIRS: np.concatenate(([0.0], repairs[:-1])),
        UPKEEP: np.where(np.arange(years + 1) > 0, step.upkeep, 0.0),
        INSURANCE: np.where(np.arange(years + 1) > 0, step.premium, 0.0),
    }


def _lasting(step: Step, category: str) -> float:
    return sum(work.cost for work in step.works if work.lasts and work.category == category)


def _by_category(tables: list[dict[str, Array]], years: int) -> dict[str, Array]:
    names = dict.fromkeys(name for table in tables for name in table)
    empty = np.zeros(years + 1)
    stacked = {name: np.stack([table.get(name, empty) for table in tables]) for name in names}
    return {name: table for name, table in stacked.items() if table.any()}


@dataclass(frozen=True)
class Timing:
    """When each generation begins and which one holds, shape (draws, n + 1) where by year.

    `during` and `after` index the ledger's tables flattened (step, age): through the year, and
    at its end after any work; `years_left` counts from then to the end of the step in place.
    `last_life` and `last_age` are those of the step at the end.
    """

    starts: Whole
    step_during: Whole
    step_after: Whole
    during: Whole
    after: Whole
    years_left: Whole
    last_step: Whole
    last_life: Array
    last_age: Array


def timing(ledger: Ledger, terms: Scenario) -> Timing:
    """Return when the steps of a programme begin.

    Notes
    -----
    A covering lasts its life rounded to whole years, at least one; what is left of today's may
    be none. Work falls at the end of the last year of the life before it, and not at all in
    the last year of the study period, which it would not serve.
    """
    years = ledger.years
    lives = _lives(ledger, terms)
    starts = np.cumsum(lives, axis=1)
    begun = np.zeros((len(starts), years + 2), dtype=bool)
    np.put_along_axis(begun, np.minimum(starts, years + 1), values=True, axis=1)
    begun = begun[:, : years + 1]
    generation = np.cumsum(begun, axis=1)
    calendar = np.arange(years + 1)
    age = calendar - np.maximum.accumulate(np.where(begun, calendar, 0), axis=1)
    order = np.array(ledger.programme.order(lives.shape[1] + 1))
    step = np.take(order, generation)
    # The step that holds through a year is the one in place at the end of the year before.
    step_during = np.concatenate((step[:, :1], step[:, :-1]), axis=1)
    age_during = np.concatenate((np.zeros((len(age), 1), int), age[:, :-1] + 1), axis=1)
    last = np.minimum(generation[:, -2:-1], lives.shape[1] - 1)
    return Timing(
        starts,
        step_during,
        step,
        step_during * (years + 1) + age_during,
        step * (years + 1) + age,
        np.take_along_axis(starts, np.minimum(generation, lives.shape[1] - 1), axis=1) - calendar,
        step[:, -2],
        np.take_along_axis(lives, last, axis=1)[:, 0].astype(float),
        (age[:, -2] + 1).astype(float),
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


def flows(ledger: Ledger, terms: Scenario) -> dict[str, Array]:
    """Return what is paid at the end of each year, by category.

    Parameters
    ----------
    ledger : Ledger
        The programme's costs.
    terms : Scenario
        What varies between draws.

    Returns
    -------
    dict of str to ndarray, shape (draws, n + 1)
        Base-year money with the escalation above inflation of each category; the residual value
        is negative. Categories without any cost are left out.
    """
    when = timing(ledger, terms)
    work = growth(terms.work_escalation, ledger.years)
    same = terms.repairs_escalation is terms.work_escalation
    keeping = work if same else growth(terms.repairs_escalation, ledger.years)
    paid = _begun(ledger, terms, when, work)
    for name, flow in _repeated_work(ledger, terms, when, work, keeping):
        paid[name] = paid.get(name, 0.0) + flow
    for name, flow in _kept(ledger, terms, when, keeping):
        paid[name] = paid.get(name, 0.0) + flow
    if ledger.grants.any():
        paid[GRANT] = _granted(ledger, terms, when)
    paid |= _bills(ledger, terms, when)
    paid[RESIDUAL] = _residual(ledger, terms, when)
    shape = (terms.draws, ledger.years + 1)
    return {name: np.broadcast_to(flow, shape) for name, flow in paid.items()}


def _begun(ledger: Ledger, terms: Scenario, when: Timing, rising: Array) -> dict[str, Array]:
    """Return what the work that begins each step costs, in the year in which it begins."""
    steps = np.array(ledger.programme.order(when.starts.shape[1] + 1))[1:]
    # Work at the very end of the period, or after it, is not done.
    at = np.where(when.starts < ledger.years, when.starts, ledger.years + 1)
    paid: dict[str, Array] = {}
    for name in ledger.works:
        cost = _cost_of_steps(ledger, terms, name)[:, steps]
        flow = np.zeros((terms.draws, ledger.years + 2))
        np.put_along_axis(flow, at, np.broadcast_to(cost, (len(flow), len(steps))), axis=1)
        shown = FEES if name == FEES_ON_LAYING else name
        paid[shown] = paid.get(shown, 0.0) + flow[:, : ledger.years + 1] * rising
    return paid


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


def _repeated_work(
    ledger: Ledger, terms: Scenario, when: Timing, rising: Array, keeping: Array
) -> Iterator[tuple[str, Array]]:
    """Yield what is renewed and serviced while a step lasts."""
    for work, table in ledger.repeated:
        due = np.take(table, when.after) * is_worth(work, when.years_left)
        due[:, -1] = 0.0
        if work.category == UPKEEP:
            yield UPKEEP, due * keeping * terms.upkeep[:, np.newaxis]
        else:
            yield work.category, due * rising * _price_by_year(ledger, terms, when)


def _granted(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Return grants as negative costs, once each, in the year in which their step first begins."""
    flow = np.zeros((max(terms.draws, len(when.starts)), ledger.years + 2))
    at = np.where(when.starts < ledger.years, when.starts, ledger.years + 1)
    for step in np.flatnonzero(ledger.grants):
        np.put_along_axis(flow, at[:, step - 1 : step], -ledger.grants[step], axis=1)
    return flow[:, : ledger.years + 1]


def _price_by_year(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    price, coating = terms.price[:, np.newaxis], terms.coating_price[:, np.newaxis]
    return np.where(np.take(ledger.new, when.step_after), price, coating)


def _kept(
    ledger: Ledger, terms: Scenario, when: Timing, keeping: Array
) -> Iterator[tuple[str, Array]]:
    """Yield repairs and upkeep of every year."""
    factors = {REPAIRS: terms.repairs, UPKEEP: terms.upkeep}
    for name, table in ledger.running.items():
        flow = np.take(table, when.during)
        factor = factors.get(name)
        yield name, flow if factor is None else flow * keeping * factor[:, np.newaxis]


def _bills(ledger: Ledger, terms: Scenario, when: Timing) -> dict[str, Array]:
    """Return the energy bills; the energy saving acts on the difference to today's roof."""
    electricity = growth(terms.electricity_escalation, ledger.years)
    gas = growth(terms.gas_escalation, ledger.years)
    plain = np.ones(1)
    prices = {
        ELECTRICITY: (electricity, terms.electricity_price),
        DEMAND: (electricity, plain),
        GAS: (gas, terms.gas_price),
        CARBON: (np.ones(ledger.years + 1), plain),
    }
    paid = {}
    for name, bills in ledger.bills.items():
        if bills.any():
            rising, price = prices[name]
            difference = np.take(bills - bills[0], when.step_during)
            changed = difference * _column(terms.energy_saving, price)
            paid[name] = (changed + _column(np.full(1, bills[0]), price)) * rising
            paid[name][:, 0] = 0.0
    return paid


def _column(one: Array, other: Array) -> Array:
    return (one * other)[:, np.newaxis]


def _residual(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Straight line by the life that is left at the end, at that year's prices."""
    left = np.maximum(0.0, 1 - when.last_age / when.last_life)
    covering = ledger.lasting[COVERING][when.last_step] * terms.price
    insulation = ledger.lasting[INSULATION][when.last_step] * terms.insulation
    value = (covering + insulation) * left * (1 + terms.work_escalation) ** ledger.years
    residual = np.zeros((len(value), ledger.years + 1))
    residual[:, -1] = -value
    return residual


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
