"""A sentence beside the headline, with what in it turns the answer: the one list of both."""

from collections.abc import Iterable
from math import inf
from typing import NamedTuple

import numpy as np

from lcc.cost.verdict import LIKELY, UNLIKELY, difference, point_state
from lcc.results import AlternativeResult, TurningChoice

UNSURE = " as entered, too close to call in the random runs"
SMALLEST = 1.0  # differences below this are left out [money]


class Remark(NamedTuple):
    """A sentence that stands beside the headline, and what it names that turns the answer.

    `proviso` is what would turn the headline, after “unless”. `assumed` is what the random runs
    take for granted, since they do not vary it. A remark that `leads` stands first. What is
    `likelier` than the headline's reading, the answer and what is then read, stands in the
    headline, turning or not.
    """

    text: str
    turns: tuple[TurningChoice, ...] = ()
    proviso: str = ""
    assumed: str = ""
    leads: bool = False
    likelier: tuple[str, ...] = ()

    @property
    def worst(self) -> float:
        """The least net savings among what turns the answer, infinite where nothing does."""
        return min((each.net_savings for each in self.turns), default=inf)

    @property
    def only_close(self) -> bool:
        """Whether all that turns the answer makes it too close to call, and none the other way."""
        return all(each.too_close for each in self.turns)


def decisive(remarks: Iterable[Remark], name: str) -> list[Remark]:
    """Return those remarks that turn the answer of the alternative of that name."""
    return [one for one in remarks
            if one.proviso and any(each.alternative == name for each in one.turns)]  # fmt: skip


def beside_the_best(best: AlternativeResult, own: AlternativeResult, cost: float) -> str:
    """Say what an alternative at another cost is beside the best; nothing of the best itself."""
    if own is best:
        return ""
    return f" That is {difference(best.life_cycle_cost, cost, best.name)}."


def costs_then(base: AlternativeResult, costs: tuple[float, float], *, turned: bool) -> str:
    """Say what an alternative costs beside the base case at other costs, and if that is no news."""
    return f"{'' if turned else 'still '}costs {difference(*costs, base.name)}"


def unsure(own: AlternativeResult, more: float) -> bool:
    """Tell whether the random runs say nothing either way if each saves so much more [money].

    Notes
    -----
    The runs are those of the case, each moved by what the point result moves.
    """
    drawn = own.spread.against_base if own.spread else None
    if drawn is None:
        return False
    dearer = np.concatenate(([0.0], np.cumsum(drawn.shares)))
    return UNLIKELY <= 1 - float(np.interp(-more, drawn.edges, dearer)) <= LIKELY


def turned_by(
    base: AlternativeResult, own: AlternativeResult, readings: Iterable[tuple[str, float, float]]
) -> tuple[TurningChoice, ...]:
    """Return those readings at which the point result has another verdict than as entered.

    Parameters
    ----------
    base, own : AlternativeResult
        The base case and the alternative that is set against it.
    readings : iterable of (str, float, float)
        What is read or chosen otherwise, and what both then cost over the study period.
    """
    entered = point_state(base.life_cycle_cost, own.life_cycle_cost)
    saved = base.life_cycle_cost - own.life_cycle_cost
    return tuple(
        TurningChoice(
            own.name,
            what,
            base_cost - cost,
            close or doubtful,
            f"{what} ({difference(base_cost, cost)}{UNSURE * doubtful})",
        )
        for what, base_cost, cost in readings
        if (then := point_state(base_cost, cost)) != entered
        for close in (then == "too-close",)
        for doubtful in (not close and unsure(own, base_cost - cost - saved),)
    )
