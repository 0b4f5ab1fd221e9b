"""Net savings as single inputs vary, all of them in one calculation over draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from lcc.case import Economics
from lcc.cost.cash_flow import flows, present_values, total
from lcc.cost.ledger import Ledger
from lcc.cost.levers import Lever
from lcc.cost.terms import Terms

Array = NDArray[np.float64]
Trial = tuple[Lever, Array]


def net_savings(
    base: Ledger, own: Ledger, economics: Economics, trials: Sequence[Trial]
) -> list[Array]:
    """Return the net savings at each value of each input, the others as in the case.

    Parameters
    ----------
    base, own : Ledger
        Costs of the base case and of the alternative.
    economics : Economics
        Terms of the case.
    trials : sequence of (Lever, ndarray)
        Inputs and the values to try, each of shape (values,).

    Returns
    -------
    list of ndarray
        For each trial, net savings of shape (values,).
    """
    costs = [
        life_cycle_costs(ledger, _terms(economics, trials, side))
        for ledger, side in ((base, "base"), (own, "own"))
    ]
    bounds = np.cumsum([len(values) for _, values in trials])[:-1]
    return np.split(costs[0] - costs[1], bounds)


def life_cycle_costs(ledger: Ledger, terms: Terms) -> Array:
    """Return the life-cycle cost of every draw, shape (draws,)."""
    paid = total(flows(ledger, terms))
    return np.asarray(present_values(paid, terms.discount_rate).sum(axis=-1))


def _terms(economics: Economics, trials: Sequence[Trial], side: str) -> Terms:
    """Return one draw for each value of each trial, in which only that trial's term differs."""
    point = Terms.of(economics)
    size = sum(len(values) for _, values in trials)
    terms: dict[str, Array] = {
        f.name: np.repeat(getattr(point, f.name), size, axis=0) for f in fields(point)
    }
    start = 0
    for lever, values in trials:
        if lever.side in (side, "both"):
            terms[lever.term][start : start + len(values)] = lever.as_term(values)
        start += len(values)
    return Terms(**terms)
