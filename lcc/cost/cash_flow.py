"""What a programme costs at the end of each year, in one draw or in many.

One calculation serves the point result, the break-even search and the uncertainty: everything
that may vary is an array over draws, the point result being a single draw. Time runs along the
last axis, year 0 (today) to year n.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from lcc.cost.ledger import Ledger, is_worth
from lcc.cost.present_value import growth
from lcc.cost.steps import COVERING, DEMAND, ELECTRICITY, GAS, INSULATION, RESIDUAL, UPKEEP
from lcc.cost.terms import Terms
from lcc.cost.timing import Timing, timing

Array = NDArray[np.float64]


def flows(ledger: Ledger, terms: Terms) -> dict[str, Array]:
    """Return what is paid at the end of each year, by category.

    Parameters
    ----------
    ledger : Ledger
        The programme's costs.
    terms : Terms
        What varies between draws.

    Returns
    -------
    dict of str to ndarray, shape (draws, n + 1)
        Base-year money with the escalation above inflation of each category; the residual value
        is negative. Categories without any cost are left out.
    """
    when = timing(ledger, terms)
    paid = _roofing(ledger, terms, when) | _bills(ledger, terms, when)
    paid[RESIDUAL] = _residual(ledger, terms, when)
    shape = (terms.draws, ledger.years + 1)
    return {name: np.broadcast_to(flow, shape) for name, flow in paid.items()}


def _roofing(ledger: Ledger, terms: Terms, when: Timing) -> dict[str, Array]:
    """Return what work, repairs and upkeep cost, each at its escalation."""
    work = growth(terms.work_escalation, ledger.years)
    keeping = growth(terms.repairs_escalation, ledger.years)
    paid: dict[str, Array] = {}
    for name, table in ledger.works.items():
        paid[name] = _at_end(table, when) * work
    for repeated, table in ledger.repeated:
        due = _at_end(table, when) * is_worth(repeated, when.years_left)
        rising = keeping if repeated.category == UPKEEP else work
        paid[repeated.category] = paid.get(repeated.category, 0.0) + due * rising
    if COVERING in paid:
        paid[COVERING] = paid[COVERING] * _price_factor(ledger, terms, when)
    for name, table in ledger.running.items():
        paid[name] = paid.get(name, 0.0) + table.ravel()[when.during] * keeping
    return paid


def _at_end(table: Array, when: Timing) -> Array:
    """Look up what falls at each year's end; work at the very end of the period is not done."""
    found = table.ravel()[when.after]
    found[:, -1] = 0.0
    return found


def _price_factor(ledger: Ledger, terms: Terms, when: Timing) -> Array:
    """Return the factor on what is laid each year: coatings have one of their own."""
    if ledger.new[1:].all():
        return terms.price[:, np.newaxis]
    laid_new = ledger.new[when.step_after]
    return np.where(laid_new, terms.price[:, np.newaxis], terms.coating_price[:, np.newaxis])


def _bills(ledger: Ledger, terms: Terms, when: Timing) -> dict[str, Array]:
    electricity = growth(terms.electricity_escalation, ledger.years)
    series = {
        ELECTRICITY: electricity * terms.electricity_price[:, np.newaxis],
        DEMAND: electricity,
        GAS: growth(terms.gas_escalation, ledger.years) * terms.gas_price[:, np.newaxis],
    }
    saving = terms.energy_saving[:, np.newaxis]
    paid = {}
    for name, bills in ledger.bills.items():
        if bills.any():
            difference = (bills - bills[0])[when.step_during]
            paid[name] = (bills[0] + saving * difference) * series[name]
            paid[name][:, 0] = 0.0
    return paid


def _residual(ledger: Ledger, terms: Terms, when: Timing) -> Array:
    """Straight line by the life that is left at the end, at that year's prices."""
    work = growth(terms.work_escalation, ledger.years)
    left = np.maximum(0.0, 1 - when.last_age / when.last_life)
    covering = ledger.lasting[COVERING][when.last_step] * terms.price
    value = (covering + ledger.lasting[INSULATION][when.last_step]) * left
    residual = np.zeros(np.broadcast_shapes((len(value), 1), work.shape))
    residual[:, -1] = -value * work[:, -1]
    return residual


def total(paid: Mapping[str, Array]) -> Array:
    """Return the sum over categories, shape (draws, n + 1)."""
    return np.asarray(np.sum(list(paid.values()), axis=0))


def present_values(flow: Array, discount_rate: Array) -> Array:
    """Return each year's flow discounted to today, shape (draws, n + 1)."""
    return flow / growth(discount_rate, flow.shape[-1] - 1)
