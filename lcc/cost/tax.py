"""The after-tax view: repairs and energy deducted at once, work written off over decades."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lcc.case import Economics, Tax
from lcc.cost.cash_flow import present_values
from lcc.cost.present_value import growth, real_discount_rate
from lcc.cost.result import Account
from lcc.cost.work import RESIDUAL
from lcc.results import AfterTax

Array = NDArray[np.float64]


def depreciation_shares(month: int, life_y: int = 39) -> Array:
    """Return the part of a cost that is written off in each tax year, the first in service.

    Parameters
    ----------
    month : int
        Month placed in service, 1 to 12.
    life_y : int
        Depreciation life [years]; 39 for nonresidential real property.

    Returns
    -------
    ndarray, shape (life_y + 1,)
        Shares that add up to 1.

    Notes
    -----
    Straight line with the mid-month convention: (12.5 - m) / 12 of a year in the first year, the
    rest of that year after the last full one.

    References
    ----------
    IRS Publication 946, Table A-7a.

    Examples
    --------
    >>> (100 * depreciation_shares(7)[[0, 1, 39]]).round(3).tolist()
    [1.175, 2.564, 1.389]
    """
    first = (12.5 - month) / 12
    return np.array([first, *[1.0] * (life_y - 1), 1 - first]) / life_y


def taxed(accounts: Sequence[Account], economics: Economics) -> tuple[AfterTax | None, ...]:
    """Return every alternative after tax, the base case first; none without a tax rate."""
    if economics.tax is None:
        return (None,) * len(accounts)
    base = after_tax(accounts[0], None, economics, economics.tax)
    others = (after_tax(own, base, economics, economics.tax) for own in accounts[1:])
    return (base, *others)


def after_tax(own: Account, base: AfterTax | None, economics: Economics, tax: Tax) -> AfterTax:
    """Return the costs of an alternative after income tax.

    Parameters
    ----------
    own : Account
        Its costs before tax.
    base : AfterTax or None
        The base case's result, for net savings; None for the base case itself.
    economics : Economics
        Discount rate, taken as the owner's after-tax rate, and inflation.
    tax : Tax
        Tax rate and depreciation.

    Notes
    -----
    Running costs lower the tax of their year by rate times cost. Work done at the end of year s
    is written off from year s + 1 on; its deductions are fixed in money of year s, so inflation
    shrinks them in base-year money. At the end the residual value is taxed like a sale, after
    what is not written off yet. A covering that is torn off is written off to its end as if it
    stayed.

    References
    ----------
    IRS Publication 946; IRS Publication 535 for repairs (from memory).
    """
    residual = own.paid[RESIDUAL]
    running = own.flow - own.capital - residual
    deducted, left = _written_off(own.capital, economics.inflation, tax)
    saved = running + deducted
    saved[-1] += residual[-1] + left
    taxed = -tax.rate * saved
    flow = own.flow + taxed
    rate = np.asarray(real_discount_rate(economics))
    cost = float(present_values(flow, rate).sum())
    return AfterTax(
        tuple(taxed.tolist()),
        tuple(deducted.tolist()),
        tuple(flow.tolist()),
        cost,
        None if base is None else base.life_cycle_cost - cost,
    )


def _written_off(capital: Array, inflation: float, tax: Tax) -> tuple[Array, float]:
    """Return deductions by year and what is left at the end, both in base-year money."""
    prices = growth(inflation, len(capital) - 1)
    shares = depreciation_shares(tax.month, tax.depreciation_life_y)
    nominal = np.convolve(capital * prices, np.concatenate(([0.0], shares)))
    years = len(capital)
    deducted = nominal[:years] / prices
    return deducted, float(nominal[years:].sum() / prices[-1])
