"""The roof programme: the steps an alternative goes through, in what state each leaves the roof.

The order of the steps follows from the coverings in place and not from the calendar, so a
programme is a list of steps and `lcc.cost.cash_flow` sets it in time: each step lasts its life in
whole years, then the next begins.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lcc.case import Alternative, Coating, Membrane, Prices, Roof, kind_of
from lcc.case.layers import Assembly
from lcc.case.resolution import resolve
from lcc.cost import coating, membrane, metal
from lcc.cost.roof_states import Setting
from lcc.cost.work import Step, whole_years


@dataclass(frozen=True)
class Programme:
    """An alternative's steps; after the last one they repeat from `repeat_from`."""

    name: str
    kind: str
    steps: tuple[Step, ...]
    repeat_from: int

    @property
    def states(self) -> tuple[Assembly, ...]:
        """The distinct states of the roof, in the order in which they come."""
        return tuple(dict.fromkeys(step.state for step in self.steps))

    def states_within(self, years: int) -> tuple[Assembly, ...]:
        """The distinct states that hold in a year of a study period, lives as planned."""
        reached: dict[Assembly, None] = {}
        start = 0
        for generation, index in enumerate(self.order(years + 2)):
            step = self.steps[index]
            end = start + max(min(generation, 1), whole_years(step.life_y))
            if start >= years:
                break
            if end > start:
                reached[step.state] = None
            start = end
        return tuple(reached)

    def order(self, count: int) -> tuple[int, ...]:
        """Return which of `steps` the first `count` generations are."""
        cycle = len(self.steps) - self.repeat_from
        return tuple(
            k if k < len(self.steps) else self.repeat_from + (k - self.repeat_from) % cycle
            for k in range(count)
        )


def plan(alternative: Alternative, roof: Roof, prices: Prices, zone: int) -> Programme:
    """Return the programme of an alternative.

    Parameters
    ----------
    alternative : Membrane, Coating or MetalRetrofit
        What the owner does.
    roof : Roof
        The roof as it is today.
    prices : Prices
        Prices of the case; unset ones take the row of the prices table.
    zone : int
        Number of the climate zone, 0 to 8, for the minimum of insulation.

    Returns
    -------
    Programme
        The steps, of which the first is the roof as it is today.

    Notes
    -----
    A covering ends after its service life less its age, or after the years entered; never below 0.
    Coverings are counted by the rule of `lcc.cost.membrane.recover_refusal`.

    References
    ----------
    International Building Code 2012, 1510.3.
    """
    setting = Setting.of(roof, prices, zone)
    steps, repeat_from = _steps(resolve(alternative), setting)
    return Programme(alternative.name, kind_of(alternative), tuple(steps), repeat_from)


def _steps(alternative: Alternative, setting: Setting) -> tuple[Sequence[Step], int]:
    if isinstance(alternative, Membrane):
        return membrane.steps(alternative, setting)
    if isinstance(alternative, Coating):
        return coating.steps(alternative, setting)
    return metal.steps(alternative, setting)
