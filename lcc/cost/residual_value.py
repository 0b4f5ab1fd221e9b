"""Residual value: what a roof is worth at the end of the study period."""

import numpy as np

from lcc.arrays import Array
from lcc.cost.job_years import Timing
from lcc.cost.ledger import Ledger, varied
from lcc.cost.scenario import PRICED, WORK_FACTORS, Scenario


def residual_value(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Return what a roof is worth at the end of the study period, shape (draws,) [money].

    Parameters
    ----------
    ledger : Ledger
        The programme's costs.
    terms : Scenario
        What varies between draws.
    when : Timing
        Age and life of the last covering, and the years of all jobs.

    Notes
    -----
    Straight line by the life that is left, at that year's prices: of the last covering by its
    own, of insulation and framing below it by theirs. Of what a low bid holds only what it pays.
    """
    left = np.maximum(0.0, 1 - when.last_age / when.last_life)
    costs = varied(ledger, terms, ledger.lasting)
    covering = costs[np.arange(len(costs)), when.last_step] * terms.price * left
    rise = (1 + terms.work_escalation) ** ledger.years
    return np.asarray((covering + _worth_below(ledger, terms, when)) * rise)


def _worth_below(ledger: Ledger, terms: Scenario, when: Timing) -> Array:
    """Return what insulation and framing below the last covering are worth, shape (draws,).

    Whatever job laid them: later jobs keep them, so they wear by a life of their own.
    """
    if not ledger.stays:
        return np.zeros(1)
    steps = np.array(ledger.programme.order(when.starts.shape[1] + 1))[1:]
    age = ledger.years - when.starts
    left = np.where(age > 0, np.maximum(0.0, 1 - age / ledger.stays_y), 0.0)
    worth = np.zeros(1)
    for name, parts in ledger.stays.items():
        factor = terms.price if name in PRICED else getattr(terms, WORK_FACTORS[name])
        worth = worth + (left * varied(ledger, terms, parts)[:, steps]).sum(axis=1) * factor
    return np.asarray(worth)
