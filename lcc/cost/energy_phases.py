"""Energy saved by spells of years: it changes whenever one of the two roofs changes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lcc.figures import CENTS, more_or_less
from lcc.results import AlternativeResult, EnergyByPhase, EnergyPhase

Array = NDArray[np.float64]
BILL = ("electricity_cost", "demand_cost", "gas_cost")
ELECTRICITY = ("cooling_electricity_kwh", "heating_electricity_kwh", "fan_electricity_kwh")
GAS = ("gas_kwh",)
MOST_NAMED = 4  # spells in one sentence
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
    used = np.array([_by_year(base, part) for part in (BILL, ELECTRICITY, GAS)])
    saved = used - [_by_year(own, part) for part in (BILL, ELECTRICITY, GAS)]
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
    if len(phases) == 1:
        return f"The energy bill is {_amount(average)} in every year."
    if len(phases) <= MOST_NAMED:
        told = ", ".join(_spell(one) for one in phases)
    else:
        best, worst = (pick(phases, key=lambda one: one.bill_saved) for pick in (max, min))
        told = f"from {_spell(best)} to {_spell(worst)}"
    return f"The yearly energy bill is {_amount(average)} on average: {told}."


def _spell(phase: EnergyPhase) -> str:
    years = f"year {phase.first_year}"
    if phase.last_year > phase.first_year:
        years = f"years {phase.first_year} to {phase.last_year}"
    return f"{_amount(phase)} in {years}"


def _amount(phase: EnergyPhase) -> str:
    if abs(phase.bill_saved) < CENTS:
        return "the same"
    return f"about {more_or_less(phase.bill_saved)}"


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
