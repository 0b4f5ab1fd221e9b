"""The base case and one alternative side by side: who is ahead when, and by what."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lcc.cost.measures import ROUNDING
from lcc.cost.steps import ENERGY, RESIDUAL
from lcc.results import AlternativeResult

# Two costs that differ by less than this part are called the same.
SAME = 0.005


@dataclass(frozen=True)
class Race:
    """An alternative against the base case through the years, in present value.

    A saving is the base case's cost less the alternative's.
    """

    base: AlternativeResult
    own: AlternativeResult

    @property
    def saved(self) -> float:
        """Net savings over the study period."""
        return self.base.life_cycle_cost - self.own.life_cycle_cost

    @property
    def same(self) -> bool:
        """Whether both cost about the same."""
        return abs(self.saved) <= SAME * abs(self.base.life_cycle_cost)

    @property
    def extra(self) -> float:
        """What the alternative costs more today."""
        return self.own.first_cost - self.base.first_cost

    @property
    def energy(self) -> float:
        """The part of the saving that is energy."""
        return _part(self.base, ENERGY) - _part(self.own, ENERGY)

    @property
    def worth(self) -> float:
        """The part of the saving that is a residual value at the end."""
        return _part(self.base, (RESIDUAL,)) - _part(self.own, (RESIDUAL,))

    @property
    def by_residual(self) -> bool:
        """Whether the residual values at the end alone decide which costs less."""
        return (self.saved > 0) != (self.saved - self.worth > 0)

    @cached_property
    def behind(self) -> NDArray[np.intp]:
        """The years by whose end the alternative has cost more in all."""
        so_far = np.array(self.base.cumulative_present_value) - np.array(
            self.own.cumulative_present_value
        )
        scale = np.abs(np.diff(so_far, prepend=0.0)).sum()
        return np.flatnonzero(so_far < -ROUNDING * scale)

    @property
    def ahead_from(self) -> int | None:
        """The year by whose end it has cost less for good, 0 for always; None where it does not."""
        if not self.behind.size:
            return 0
        last = int(self.behind[-1])
        return last + 1 if last + 1 < len(self.base.cumulative_present_value) else None

    @property
    def behind_from(self) -> int:
        """The year in which the last spell of having cost more begins, where there is one."""
        gaps = np.flatnonzero(np.diff(self.behind) > 1)
        return int(self.behind[gaps[-1] + 1] if gaps.size else self.behind[0])


def _part(result: AlternativeResult, names: tuple[str, ...]) -> float:
    return sum(each.present_value for each in result.costs if each.name in names)
