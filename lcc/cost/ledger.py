"""A programme's costs by step and age, from which any timing of its steps can be looked up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lcc.cost.present_value import growth
from lcc.cost.programme import Programme
from lcc.cost.steps import COVERING, ENERGY, INSULATION, REPAIRS, UPKEEP, Step, Work, whole_years

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Bill = Mapping[str, float]
LASTING = (COVERING, INSULATION)


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
    other = [table for name, table in ledger.works.items() if name != COVERING]
    works = {COVERING: ledger.works[COVERING]} if COVERING in ledger.works else {}
    works |= {"other": np.sum(other, axis=0)} if other else {}
    running = list(ledger.running.values())
    return replace(
        ledger, works=works, running={"running": np.sum(running, axis=0)} if running else {}
    )


def _works(step: Step, years: int) -> dict[str, Array]:
    table: dict[str, Array] = {}
    for work in step.works:
        table.setdefault(work.category, np.zeros(years + 1))[0] += work.cost
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
