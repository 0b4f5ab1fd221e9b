"""What a programme costs at the end of each year, in one scenario or in many at once.

A `Ledger` holds the costs of each step by age; `timing` says when each step begins; `flows` lays
the costs on the years. One calculation serves the point result, the break-even search and the
draws: everything that may vary is an array over draws. Time runs along the last axis, year 0
(today) to n.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lcc.case.economics import Economics
from lcc.cost.present_value import growth, real_discount_rate
from lcc.cost.programme import Programme
from lcc.cost.work import (
    COVERING,
    DEMAND,
    ELECTRICITY,
    ENERGY,
    FEES,
    FEES_ON_LAYING,
    GAS,
    INSULATION,
    REPAIRS,
    RESIDUAL,
    UPKEEP,
    Step,
    Work,
    whole_years,
)

Array = NDArray[np.float64]
FACTORS = ("electricity_price", "gas_price", "energy_saving", "price", "coating_price")
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
    panels cost, `coating_price` on coatings, `life` (draws, generations) on the life of each
    covering laid, `energy_saving` on the difference that a state of the roof makes to the energy
    bill of today's.
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
        """Return some of the draws."""
        cut = {
            name: array[start:end] if len(array) > 1 else array
            for name, array in vars(self).items()
        }
        return Scenario(**cut)

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

    `works` fall at the beginning of a step, age 0, and `repeated` work at the end of the year in
    which it reaches an age; `running` costs are paid through the year that ends at that age. All
    have shape (steps, n + 1); `bills` and `lasting`, by category, have shape (steps,).
    """

    programme: Programme
    years: int
    lives: Array
    new: NDArray[np.bool_]
    cut_short: NDArray[np.bool_]
    works: dict[str, Array]
    repeated: tuple[tuple[Work, Array], ...]
    running: dict[str, Array]
    bills: dict[str, Array]
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
        _by_category([_works(step, years) for step in steps], years),
        _repeated(steps, years),
        _by_category([_running(step, years) for step in steps], years),
        {name: np.array([bill[name] for bill in bills]) for name in ENERGY},
        {name: np.array([_lasting(step, name) for step in steps]) for name in LASTING},
    )


def condensed(ledger: Ledger) -> Ledger:
    """Return a ledger with the same totals in fewer categories, for many draws at once.

    Notes
    -----
    Work and running costs rise with one escalation; only what is laid has a price of its own.
    """
    other = [table for name, table in ledger.works.items() if name not in PRICED]
    works = {name: table for name, table in ledger.works.items() if name in PRICED}
    works |= {"other": np.sum(other, axis=0)} if other else {}
    running = list(ledger.running.values())
    return replace(
        ledger, works=works, running={"running": np.sum(running, axis=0)} if running else {}
    )


def _works(step: Step, years: int) -> dict[str, Array]:
    table: dict[str, Array] = {}
    for work in step.works:
        category = FEES_ON_LAYING if work.on_laying else work.category
        table.setdefault(category, np.zeros(years + 1))[0] += work.cost
    return table


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
    step = order[generation]
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
    shortest = ledger.lives[1:].min() * terms.life.min()
    count = 1 + ceil(ledger.years / max(1.0, np.floor(shortest + 0.5)))
    order = np.array(ledger.programme.order(count + 1))
    life = terms.life[:, np.arange(count + 1) % terms.life.shape[1]]
    more = np.where(ledger.cut_short, 0.0, 1.0)[order] * terms.more_remaining[:, np.newaxis]
    left = np.maximum(0.0, ledger.lives[order] + more)
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
    paid = _roofing(ledger, terms, when) | _bills(ledger, terms, when)
    paid[RESIDUAL] = _residual(ledger, terms, when)
    shape = (terms.draws, ledger.years + 1)
    return {name: np.broadcast_to(flow, shape) for name, flow in paid.items()}


def _roofing(ledger: Ledger, terms: Scenario, when: Timing) -> dict[str, Array]:
    """Return what work, repairs and upkeep cost, each at its escalation."""
    work = growth(terms.work_escalation, ledger.years)
    keeping = growth(terms.repairs_escalation, ledger.years)
    paid: dict[str, Array] = {}
    for name, table in ledger.works.items():
        paid[name] = _at_end(table, when) * work
    for repeated, table in ledger.repeated:
        due = _at_end(table, when) * is_worth(repeated, when.years_left)
        rising = keeping if repeated.category == UPKEEP else work
        paid[repeated.category] = paid.get(repeated.category, 0.0) + due * rising
    for name in PRICED:
        if name in paid:
            paid[name] = paid[name] * _price_factor(ledger, terms, when)
    if FEES_ON_LAYING in paid:
        paid[FEES] = paid.get(FEES, 0.0) + paid.pop(FEES_ON_LAYING)
    for name, table in ledger.running.items():
        paid[name] = paid.get(name, 0.0) + table.ravel()[when.during] * keeping
    return paid


def _at_end(table: Array, when: Timing) -> Array:
    """Look up what falls at each year's end; work at the very end of the period is not done."""
    found = table.ravel()[when.after]
    found[:, -1] = 0.0
    return found


def _price_factor(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Return the factor on what is laid each year: coatings have one of their own."""
    if ledger.new[1:].all():
        return terms.price[:, np.newaxis]
    laid_new = ledger.new[when.step_after]
    return np.where(laid_new, terms.price[:, np.newaxis], terms.coating_price[:, np.newaxis])


def _bills(ledger: Ledger, terms: Scenario, when: Timing) -> dict[str, Array]:
    electricity = growth(terms.electricity_escalation, ledger.years)
    series = {
        ELECTRICITY: electricity * terms.electricity_price[:, np.newaxis],
        DEMAND: electricity,
        GAS: growth(terms.gas_escalation, ledger.years) * terms.gas_price[:, np.newaxis],
    }
    saving = terms.energy_saving[:, np.newaxis]
    paid = {}
    for name, bills in ledger.bills.items():
        if bills.any():
            difference = (bills - bills[0])[when.step_during]
            paid[name] = (bills[0] + saving * difference) * series[name]
            paid[name][:, 0] = 0.0
    return paid


def _residual(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Straight line by the life that is left at the end, at that year's prices."""
    work = growth(terms.work_escalation, ledger.years)
    left = np.maximum(0.0, 1 - when.last_age / when.last_life)
    covering = ledger.lasting[COVERING][when.last_step] * terms.price
    value = (covering + ledger.lasting[INSULATION][when.last_step]) * left
    residual = np.zeros(np.broadcast_shapes((len(value), 1), work.shape))
    residual[:, -1] = -value * work[:, -1]
    return residual


def total(paid: Mapping[str, Array]) -> Array:
    """Return the sum over categories, shape (draws, n + 1)."""
    return np.asarray(np.sum(list(paid.values()), axis=0))


def present_values(flow: Array, discount_rate: Array) -> Array:
    """Return each year's flow discounted to today, shape (draws, n + 1)."""
    return flow / growth(discount_rate, flow.shape[-1] - 1)
