"""In which year each job on a roof falls, and how old the roof is in every year.

Everything that may vary is an array over draws. Time runs along the last axis, year 0 (today)
to n.
"""

from dataclasses import dataclass
from math import ceil

import numpy as np

from lcc.arrays import Array, Integers
from lcc.cost.ledger import Ledger
from lcc.cost.scenario import Scenario


@dataclass(frozen=True)
class Timing:
    """When each generation ends and which step holds in which year.

    `starts` (draws, generations) is the year in which a generation ends and the next one starts;
    as many generations as the study period sees. `place` (draws, n + 1) indexes the ledger's
    tables flattened (step, age), at the end of each year after any work; `last_step`, `last_life`
    and `last_age` are those of the step that holds through the last year.
    """

    starts: Integers
    counts: Integers
    place: Integers
    last_step: Integers
    last_life: Array
    last_age: Array

    @property
    def step_during(self) -> Integers:
        """The step that holds through each year: that in place at the end of the year before."""
        steps = self.place // self.place.shape[1]
        return np.concatenate((steps[:, :1], steps[:, :-1]), axis=1)

    @property
    def years_left(self) -> Integers:
        """Years from the end of each year to the end of the step then in place."""
        ends = np.repeat(self.starts.ravel(), self.counts.ravel()).reshape(self.place.shape)
        return np.asarray(ends - np.arange(self.place.shape[1]))


def timing(ledger: Ledger, terms: Scenario) -> Timing:
    """Return when the steps of a programme begin.

    Notes
    -----
    A covering lasts its life rounded to whole years, at least one; what is left of today's may
    be none. Work falls at the end of the last year of the life before it, and not at all in
    the last year of the study period, which it would not serve.
    """
    count = ledger.years + 1
    lives = _lives(ledger, terms)
    ends = np.cumsum(lives, axis=1)
    # Generations that begin after the study period in every draw are left out.
    seen = int((ends < count).sum(axis=1).max()) + 1
    lives, ends = lives[:, :seen], ends[:, :seen]
    begins = ends - lives
    order = np.array(ledger.programme.order(seen))
    counts = np.minimum(ends, count) - np.minimum(begins, count)
    first = np.repeat((order * count - begins).ravel(), counts.ravel())
    last = (ends < ledger.years).sum(axis=1)
    rows = np.arange(len(ends))
    return Timing(
        ends,
        counts,
        first.reshape(len(ends), count) + np.arange(count),
        order[last],
        lives[rows, last].astype(float),
        (ledger.years - begins[rows, last]).astype(float),
    )


def first_begins(ledger: Ledger, terms: Scenario) -> Integers:
    """Return the year in which today's roof ends and the first job begins, shape (draws or 1,)."""
    return np.asarray(_first_lives(ledger, terms, 1)[:, 0])


def _lives(ledger: Ledger, terms: Scenario) -> Integers:
    """Return the whole years that each generation lasts, enough of them to fill the period."""
    typical = max(1.0, float(ledger.lives[1:].min()))
    count = 2 + ceil(1.5 * ledger.years / typical)
    lives = _first_lives(ledger, terms, count)
    while lives.sum(axis=1).min() <= ledger.years:
        count *= 2
        lives = _first_lives(ledger, terms, count)
    return lives


def _first_lives(ledger: Ledger, terms: Scenario, count: int) -> Integers:
    order = np.array(ledger.programme.order(count))
    life = terms.life[:, np.arange(count) % terms.life.shape[1]]
    more = np.where(ledger.cut_short, 0.0, 1.0)[order] * terms.more_remaining[:, np.newaxis]
    gained = ledger.gains[order] * (terms.life_gain - 1)[:, np.newaxis]
    left = np.maximum(0.0, ledger.lives[order] + more + gained)
    years = np.where(ledger.new[order], ledger.lives[order] * life, left)
    lives = np.floor(years + 0.5).astype(np.int64)
    lives[:, 1:] = np.maximum(lives[:, 1:], 1)
    return np.asarray(lives)
