"""When the steps of a programme begin, and which of them holds in each year of each draw."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from lcc.cost.ledger import Ledger
from lcc.cost.terms import Terms

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


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


def timing(ledger: Ledger, terms: Terms) -> Timing:
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


def _lives(ledger: Ledger, terms: Terms) -> Whole:
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
