"""The ledger of a programme: what each of its steps costs, by age.

All that follows from the steps alone stands here; `lcc.cost.cash_flow` sets it in time.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from lcc.arrays import Array, Flags, Integers
from lcc.case.economics import Economics
from lcc.cost.present_value import growth
from lcc.cost.programme import Programme
from lcc.cost.scenario import AT_BID, Scenario
from lcc.cost.work import (
    CARBON,
    COVERING,
    ENERGY,
    FEES_ON_LAYING,
    INSURANCE,
    REPAIRS,
    UPKEEP,
    Step,
    Work,
    whole_years,
)

Bill = Mapping[str, float]


class StepCosts(NamedTuple):
    """Costs by step, and in them what follows the wet area and what a price entered holds."""

    cost: Array
    wet: Array
    in_bid: Array


@dataclass(frozen=True)
class Ledger:
    """A programme's costs by step and age, from which any timing can be looked up.

    `works` fall at the beginning of a step; `repeated` work falls at the end of the year in which
    it reaches an age; `running` costs are paid through the year that ends at that age. The last two
    have shape (steps, n + 1), the others, by category, shape (steps,). `gains` are the years of a
    life that a coating adds; `lasting` is what wears with its step, and `stays` by category what
    stays below later coverings for `stays_y` years; `repairs` are those of a step's first year,
    `growth` the logarithm of what they grow by, `leaks` leak damage by age; `open` is what the
    first job's open questions cost, by duty, if their answers are the bad ones; `rest` the ledger
    of the rest of a roof done in two.
    """

    programme: Programme
    years: int
    lives: Array
    new: Flags
    cut_short: Flags
    gains: Array
    works: dict[str, StepCosts]
    repeated: tuple[tuple[Work, Array], ...]
    running: dict[str, Array]
    bills: dict[str, Array]
    grants: Array
    lasting: StepCosts
    stays: dict[str, StepCosts]
    stays_y: float
    repairs: Array
    growth: Array
    leaks: Array
    open: dict[str, float]
    rest: "Ledger | None" = None


def ledger(
    programme: Programme, bills: Sequence[Bill], years: int, stays_y: float = Economics.stays_y
) -> Ledger:
    """Return the ledger of a programme over a study period.

    Parameters
    ----------
    programme : Programme
        The steps.
    bills : sequence of mapping
        For each step, the yearly energy bill by category of `ENERGY`, base-year money.
    years : int
        Study period [years].
    stays_y : float
        Life of what stays below later coverings: insulation, framing [years].
    """
    steps = programme.steps
    return Ledger(
        programme=programme,
        years=years,
        lives=np.array([step.life_y for step in steps]),
        new=np.array([step.new for step in steps]),
        cut_short=np.array([step.cut_short for step in steps]),
        gains=np.array([step.gain_y for step in steps]),
        works=_by_step(steps, lambda work: 1.0),
        bills={
            name: np.array([bill.get(name, 0.0) for bill in bills]) for name in (*ENERGY, CARBON)
        },
        grants=np.array([step.grant for step in steps]),
        lasting=_by_step(steps, _wearing).get(COVERING, StepCosts(*np.zeros((3, len(steps))))),
        stays=_by_step(steps, lambda work: work.stays),
        stays_y=stays_y,
        repairs=np.array([step.repairs for step in steps]),
        growth=np.log1p([step.repairs_growth for step in steps]),
        open={each.duty: each.exposure for each in steps[1].rulings if each.exposure},
        **_by_age(steps, years),
    )


def of_new(ledger: Ledger, terms: Scenario, names: Iterable[str]) -> Array:
    """Return a term of what each step lays, shape (draws, steps): coatings have their own."""
    price, coating = (getattr(terms, name)[:, np.newaxis] for name in names)
    return np.asarray(np.where(ledger.new, price, coating))


def varied(ledger: Ledger, terms: Scenario, parts: StepCosts) -> Array:
    """Return costs by draw and step as wet area and bid make them, shape (draws or 1, steps)."""
    cost = parts.cost[np.newaxis, :]
    if parts.wet.any():
        cost = cost + parts.wet * (terms.wet_area - 1)[:, np.newaxis]
    if parts.in_bid.any() and any(np.any(getattr(terms, at) != 1) for at in AT_BID.values()):
        cost = cost + parts.in_bid * (of_new(ledger, terms, AT_BID.values()) - 1)
    return cost


def over(book: Ledger, years: int) -> Ledger:
    """Return the same ledger over another study period [years]: what goes by age is made anew."""
    rest = over(book.rest, years) if book.rest else None
    return replace(book, years=years, rest=rest, **_by_age(book.programme.steps, years))


def _by_age(steps: Sequence[Step], years: int) -> dict[str, Any]:
    """Return the members of a ledger that have a column for each age."""
    leaks = _leaks(steps, years)
    running = _running(steps, years, leaks)
    works = dict.fromkeys(work for step in steps for work in step.repeated)
    tables = {work: np.zeros((len(steps), years + 1)) for work in works}
    for index, step in enumerate(steps):
        for work in step.repeated:
            np.add.at(tables[work][index], repeat_ages(work, years), work.cost)
    return {"repeated": tuple(tables.items()), "running": running, "leaks": leaks}


def _wearing(work: Work) -> float:
    return 1 - work.stays if work.lasts else 0.0


def _by_step(steps: Sequence[Step], part: Callable[[Work], float]) -> dict[str, StepCosts]:
    """Return a part of the cost of the work that begins each step, by category."""
    table: dict[str, Array] = {}
    for index, step in enumerate(steps):
        for work in step.works:
            if share := part(work):
                category = FEES_ON_LAYING if work.on_laying else work.category
                own = np.array((work.cost, work.wet_cost, work.in_bid))
                table.setdefault(category, np.zeros((3, len(steps))))[:, index] += share * own
    return {name: StepCosts(*costs) for name, costs in table.items() if costs[0].any()}


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


def part_done(work: Work, years_left: Integers | int) -> Array:
    """Return the part of work due that is done, by the years until its step ends, 0 to 1.

    Notes
    -----
    All of it down to a quarter of its interval, and from there in proportion to the years left:
    nobody renews all of a finish five years before new panels, and nobody lets it fail for nine.

    Examples
    --------
    A finish of 35 years with five left, and with nine.

    >>> finish = Work("Finish renewed", "", UPKEEP, 1.0, every_y=35.0)
    >>> [round(float(part_done(finish, left)), 3) for left in (5, 9)]
    [0.571, 1.0]
    """
    return np.clip(np.asarray(years_left) / (float(work.every_y or 1) / 4), 0.0, 1.0)


def _leaks(steps: Sequence[Step], years: int) -> Array:
    """Return the leak damage of the year that ends at each age, by step."""
    damage = np.zeros((len(steps), years + 1))
    for index, step in enumerate(steps):
        if step.leaks:
            past = np.arange(1, years + 1) - step.leaks_from_y
            damage[index, 1:] = step.leaks * np.maximum(0.0, past)
    return damage


def _running(steps: Sequence[Step], years: int, leaks: Array) -> dict[str, Array]:
    """Return what each step costs to keep in the year that ends at each age, by category."""
    repairs = leaks.copy()
    for row, step in zip(repairs, steps, strict=True):
        row[1:] += step.repairs * growth(step.repairs_growth, years)[:-1]
    found = {} if not repairs.any() else {REPAIRS: repairs}
    yearly = {UPKEEP: [step.upkeep for step in steps], INSURANCE: [step.premium for step in steps]}
    for name, costs in yearly.items():
        if any(costs):
            found[name] = np.zeros(repairs.shape)
            found[name][:, 1:] = np.array(costs)[:, np.newaxis]
    return found
