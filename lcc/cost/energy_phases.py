"""Energy saved by spells of years: it changes whenever one of the two roofs changes."""

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from lcc.arrays import Array
from lcc.cost.work import CAPITAL, DEMAND, ELECTRICITY, GAS
from lcc.figures import CENTS, in_years, more_or_less, said
from lcc.results import AlternativeResult, EnergyByPhase, EnergyPhase

BILL_OF = {ELECTRICITY: "electricity_cost", DEMAND: "demand_cost", GAS: "gas_cost"}
BILL = tuple(BILL_OF.values())
POWER_KWH = ("cooling_electricity_kwh", "heating_electricity_kwh", "fan_electricity_kwh")
GAS_KWH = ("gas_kwh",)
SAME_BILL = "the same"
ABOUT_SAME = f"about {SAME_BILL}"
MOST_NAMED = 3  # spells in one sentence or on one card
ALIKE = 0.05  # bills closer together than this part are given as one figure, their mean
# Savings that differ by less than this part of the bill are the same.
SAME = 1e-9


def energy_by_phase(base: AlternativeResult, own: AlternativeResult) -> EnergyByPhase:
    """Return the energy that an alternative saves against the base case, spell by spell.

    Parameters
    ----------
    base, own : AlternativeResult
        With the energy years of each state of the roof and the years in which each holds.

    Notes
    -----
    A spell ends where the saving changes, as when the base roof is insulated at a tear-off.
    Base-year money: prices as of today.
    """
    used = np.array([_by_year(base, part) for part in (BILL, POWER_KWH, GAS_KWH)])
    saved = used - [_by_year(own, part) for part in (BILL, POWER_KWH, GAS_KWH)]
    most = np.abs(used).max(axis=1, keepdims=True)
    moved = (np.abs(np.diff(saved, axis=1)) > SAME * most).any(axis=0)
    starts = np.concatenate(([0], np.flatnonzero(moved) + 1))
    ends = np.concatenate((starts[1:], [saved.shape[1]]))
    phases = tuple(_phase(saved, int(a), int(b)) for a, b in zip(starts, ends, strict=True))
    average = _phase(saved, 0, saved.shape[1])
    return EnergyByPhase(phases, average, _sentence(phases, average))


def _sentence(phases: Sequence[EnergyPhase], average: EnergyPhase) -> str:
    """Say what the bill saves on average and in each spell, or in those that save most and least.

    Examples
    --------
    >>> spells = [EnergyPhase("", 1, 2, 900.0, 0, 0), EnergyPhase("", 3, 9, -0.2, 0, 0)]
    >>> _sentence(spells, EnergyPhase("", 1, 9, 200.0, 0, 0))
    'The yearly energy bill is about $200 less on average: about $900 less in years 1 to 2, the \
same in years 3 to 9.'
    """
    spells = spells_of((one.first_year, one.last_year, one.bill_saved) for one in phases)
    mean = ABOUT_SAME if evens_out(spells, average.bill_saved) else _amount(average.bill_saved)
    if len(spells) == 1:
        return f"The energy bill is {mean} in every year."
    if len(spells) <= MOST_NAMED:
        told = ", ".join(map(_spell, spells))
    else:
        told = f"from {' to '.join(map(_spell, best_and_worst(spells)))}"
    return f"The yearly energy bill is {mean} on average: {told}."


class Spell(NamedTuple):
    """Years in a row in which an energy bill changes by about as much."""

    first: int
    last: int
    saved: float
    merged: bool = False

    @property
    def years(self) -> str:
        """The years in words."""
        one = self.first == self.last
        return f"year {self.first}" if one else f"years {self.first} to {self.last}"

    def joined(self, more: "Spell") -> "Spell":
        """Return the two as one, at their mean."""
        own, other = (one.last - one.first + 1 for one in (self, more))
        mean = (own * self.saved + other * more.saved) / (own + other)
        return Spell(self.first, more.last, mean, merged=True)


def spells_of(phases: Iterable[tuple[int, int, float]]) -> list[Spell]:
    """Return the phases of a bill by first year, last year and saving, those alike as one."""
    found: list[Spell] = []
    for one in phases:
        spell = Spell(*one)
        if found and abs(found[-1].saved - spell.saved) < ALIKE * abs(spell.saved):
            spell = found.pop().joined(spell)
        found.append(spell)
    return found


def evens_out(spells: Sequence[Spell], mean: float) -> bool:
    """Tell whether years that save and years that lose leave next to nothing on average.

    Examples
    --------
    >>> spells = [Spell(1, 5, 5350.0), Spell(6, 50, -582.0)]
    >>> evens_out(spells, 12.0), evens_out(spells, 600.0), evens_out(spells[:1], 12.0)
    (True, False, False)
    """
    savings = [one.saved for one in spells]
    return min(savings) < 0 < max(savings) and abs(mean) < ALIKE * max(map(abs, savings))


def best_and_worst(spells: Sequence[Spell]) -> tuple[Spell, Spell]:
    """Return the spells that save most and least, for where they are too many to name."""
    most, least = (pick(spells, key=lambda one: one.saved) for pick in (max, min))
    return most, least


def _spell(one: Spell) -> str:
    return f"{_amount(one.saved)} in {one.years}"


def _amount(saved: float) -> str:
    return SAME_BILL if abs(saved) < CENTS else f"about {more_or_less(saved)}"


def _by_year(result: AlternativeResult, names: tuple[str, ...]) -> Array:
    """Return the sum of some figures of the energy year that holds in each year from 1 on."""
    years = sum(len(state.years) for state in result.energy)
    found = np.zeros(years)
    for state in result.energy:
        found[np.array(state.years, int) - 1] = sum(getattr(state, name) for name in names)
    return found


def _phase(saved: Array, start: int, end: int) -> EnergyPhase:
    first, last = start + 1, end
    bill, electricity, gas = saved[:, start:end].mean(axis=1).tolist()
    what = f"Year {first}" if first == last else f"Years {first} to {last}"
    return EnergyPhase(what, first, last, bill, electricity, gas)


def energy_by_start(
    base: AlternativeResult, own: AlternativeResult, rate: float, least: float
) -> Iterator[str]:
    """Say how much of the energy goes by who begins first, and what most years save.

    Parameters
    ----------
    base, own : AlternativeResult
        The base case, and an alternative with its energy by phase.
    rate : float
        Real discount rate [1/year].
    least : float
        Sums up to this are not worth a sentence [money].
    """
    (base_year, _), (own_year, _) = map(first_work, (base, own))
    phases = own.energy_by_phase
    if base_year is None or own_year is None or base_year == own_year or phases is None:
        return
    since, until = sorted((base_year, own_year))
    saved = _energy_between(base, own, since, until, rate)
    if abs(saved) <= least:
        return
    sooner = own if own_year < base_year else base
    later = [each for each in phases.phases if each.first_year > until] or phases.phases
    most = max(spells_of((one.first_year, one.last_year, one.bill_saved) for one in later),
               key=lambda one: abs(one.saved) * (one.last - one.first + 1))  # fmt: skip
    bill = _amount(most.saved)
    bill += " a year" * (bill != SAME_BILL)
    yield (
        f"About {said(abs(saved))} of energy is {'saved' if saved > 0 else 'lost'} in the "
        f"{in_years(until - since)} in which only “{sooner.name}” has begun; in "
        f"{most.years} the bill is {bill}."
    )


def first_work(result: AlternativeResult) -> tuple[int | None, float | None]:
    """Return the year of the first job and what is spent in it, base-year money."""
    year = min((event.year for event in result.events if event.category in CAPITAL), default=None)
    if year is None:
        return None, None
    return year, math.fsum(event.cost for event in result.events if event.year == year)


def _energy_between(
    base: AlternativeResult, own: AlternativeResult, since: int, until: int, rate: float
) -> float:
    """Return what is saved of the bills from one year to another, present value."""
    return math.fsum(
        by * each.by_year[year] / (1 + rate) ** year
        for result, by in ((base, 1), (own, -1))
        for each in result.costs
        if each.name in BILL_OF
        for year in range(since + 1, until + 1)
    )
