"""The after-tax view: repairs and energy deducted at once, work written off over decades.

The switches of `lcc.case.Tax` are choices of the owner's tax adviser; each changes in which year
the cost of work is deducted, never how much of it. There is none for the additional first-year
depreciation of 26 USC 168(k): it takes property written off over 20 years or less (second-hand, tax
press), and the roof of a nonresidential building is written off over 39.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lcc.arrays import Array
from lcc.case import Economics, Tax
from lcc.cost.present_value import growth, lenders_inflation, present_values, real_discount_rate
from lcc.cost.result import Account
from lcc.cost.work import INSULATION, RESIDUAL
from lcc.results import AfterTax

METAL = "metal-retrofit"


def depreciation_shares(month: int, life_y: int = 39) -> Array:
    """Return the part of a cost written off in each tax year by MACRS, the first in service.

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
    tax = economics.tax
    by_line = Tax(tax.rate, tax.depreciation_life_y, tax.month, discount_rate=tax.discount_rate)
    lines = _compared(accounts, economics, by_line)
    if tax == by_line:
        return tuple(lines)
    chosen = _compared(accounts, economics, tax)
    return (
        chosen[0],
        *(
            replace(each, net_savings_by_line=line.net_savings)
            for each, line in zip(chosen[1:], lines[1:], strict=True)
        ),
    )


def _compared(accounts: Sequence[Account], economics: Economics, tax: Tax) -> list[AfterTax]:
    base = after_tax(accounts[0], None, economics, tax)
    return [base, *(after_tax(own, base, economics, tax) for own in accounts[1:])]


def after_tax(own: Account, base: AfterTax | None, economics: Economics, tax: Tax) -> AfterTax:
    """Return the costs of an alternative after income tax.

    Parameters
    ----------
    own : Account
        Its costs before tax.
    base : AfterTax or None
        The base case's result, for net savings; None for the base case itself.
    economics : Economics
        Discount rate, where the tax has none of its own, and inflation.
    tax : Tax
        Tax rate, depreciation and the adviser's switches.

    Notes
    -----
    Running costs lower the tax of their year by rate times cost. Work done at the end of year s
    is written off from year s + 1 on; its deductions are fixed in money of year s, so inflation,
    the usual one where none is entered, shrinks them in base-year money. At the end the residual
    value is taxed like a sale, after what is not written off yet. Without the switch for it, a
    covering that is torn off is written off to its end as if it stayed.

    References
    ----------
    IRS Publication 946; 26 CFR 1.162-4 and 1.263(a)-3 for repairs (from memory).
    """
    residual = own.paid[RESIDUAL]
    running = own.flow - own.capital_work - residual
    repaired, by_year, left = _deductions(own, lenders_inflation(economics), tax)
    saved = running + repaired + by_year
    saved[-1] += residual[-1] + left
    taxed = -tax.rate * saved
    flow = own.flow + taxed
    if tax.discount_rate is not None:
        economics = replace(economics, discount_rate=tax.discount_rate)
    cost = float(present_values(flow, np.asarray(real_discount_rate(economics))).sum())
    return AfterTax(
        tuple(taxed.tolist()),
        tuple((repaired + by_year).tolist()),
        tuple(flow.tolist()),
        cost,
        None if base is None else base.life_cycle_cost - cost,
    )


def _deductions(own: Account, inflation: float, tax: Tax) -> tuple[Array, Array, float]:
    """Return what is deducted of the cost of work in its year, later, and not by the end.

    Base-year money by year, shape (n + 1,), and one sum.
    """
    if own.parts:
        found = [_deductions(part, inflation, _of_part(tax, part)) for part in own.parts]
        at_work, later, never = zip(*found, strict=True)
        return np.asarray(sum(at_work)), np.asarray(sum(later)), sum(never)
    years = own.ledger.years
    prices = growth(inflation, years)
    repaired = repairs_by_choice(own, tax)
    rest = own.capital_work - repaired
    at_once = expensed(rest, own.ledger.programme.kind == METAL, tax)
    written = rest - at_once
    stays = np.minimum(own.paid.get(INSULATION, np.zeros(years + 1)), written)
    shares = depreciation_shares(tax.month, tax.depreciation_life_y)
    torn = _torn_off(own) if tax.partial_disposition else ()
    nominal = written_off((written - stays) * prices, shares, torn)
    nominal += written_off(stays * prices, shares)
    nominal[1 : years + 1] += (at_once * prices)[:-1]
    if tax.partial_disposition:
        nominal[: years + 1] += _of_today(tax, years, torn)
    left = float(nominal[years + 1 :].sum() / prices[-1])
    return repaired, nominal[: years + 1] / prices, left


def _of_part(tax: Tax, part: Account) -> Tax:
    """Return the terms for a part of a roof: its share of today's basis and of the limits."""
    share = part.ledger.programme.share
    return replace(
        tax,
        old_roof_basis=tax.old_roof_basis * share,
        expensing_limit=tax.expensing_limit * share,
        expensing_threshold=tax.expensing_threshold * share,
    )


def repairs_by_choice(own: Account, tax: Tax) -> Array:
    """Return the cost of work that is deducted as a repair in its year, shape (n + 1,).

    Notes
    -----
    A new membrane on the old deck, or a coating, where the case says so; insulation that is
    added is an improvement either way, and a metal roof over the old one is never a repair.
    """
    years = own.ledger.years
    if own.ledger.programme.kind == METAL:
        return np.zeros(years + 1)
    new = own.ledger.new[np.array([*own.in_force[1:], own.in_force[-1]])]
    allowed = np.where(new, float(tax.membrane_as_repair), float(tax.coating_as_repair))
    return np.asarray(allowed * (own.capital_work - own.paid.get(INSULATION, np.zeros(years + 1))))


def expensed(cost: Array, metal: bool, tax: Tax) -> Array:
    """Return what of each year's work is deducted at once under section 179.

    Parameters
    ----------
    cost : ndarray, shape (n + 1,)
        Cost of work that is not a repair [money].
    metal : bool
        Whether it is a metal retrofit.
    tax : Tax
        Which work, the limit, and the cost from which the limit shrinks dollar for dollar.

    References
    ----------
    26 USC 179(b), 179(e)(2): roofs of nonresidential real property; Public Law 119-21, 70306.

    Examples
    --------
    A limit of 100 shrinks from 150 on: of 120 are 100 deducted, of 200 only 50.

    >>> tax = Tax(0.3, expensing="all", expensing_limit=100.0, expensing_threshold=150.0)
    >>> expensed(np.array([120.0, 200.0, 40.0]), False, tax).tolist()
    [100.0, 50.0, 40.0]
    """
    if tax.expensing == "none" or (tax.expensing == "metal" and not metal):
        return np.zeros_like(cost)
    over = np.maximum(0.0, cost - tax.expensing_threshold)
    return np.clip(cost, 0.0, np.maximum(0.0, tax.expensing_limit - over))


def written_off(cost: Array, shares: Array, torn: Sequence[int] = ()) -> Array:
    """Return yearly deductions of work, in money of the year of the work.

    Parameters
    ----------
    cost : ndarray, shape (n + 1,)
        Cost of work by year [money].
    shares : ndarray
        Parts written off in the years after the work.
    torn : sequence of int
        Years in which everything done before is torn off: the rest is then deducted at once.

    Returns
    -------
    ndarray
        Longer than the study period: what stands after it is not written off at its end.

    References
    ----------
    26 CFR 1.168(i)-8(d)(2), election to treat a part of a building as disposed of.

    Examples
    --------
    >>> written_off(np.array([8.0, 0.0, 0.0]), np.array([0.25] * 4), torn=[2]).tolist()
    [0.0, 2.0, 6.0, 0.0, 0.0, 0.0, 0.0]
    """
    total = np.zeros(len(cost) + len(shares))
    for year in np.flatnonzero(cost):
        part = np.zeros_like(total)
        part[year + 1 : year + 1 + len(shares)] = cost[year] * shares
        gone = next((each for each in torn if each > year), None)
        if gone is not None:
            part[gone] += part[gone + 1 :].sum()
            part[gone + 1 :] = 0.0
        total += part
    return total


def _torn_off(own: Account) -> tuple[int, ...]:
    """Return the years in which the coverings in place are torn off."""
    steps, years = own.ledger.programme.steps, own.ledger.years
    order = own.ledger.programme.order(len(own.starts) + 1)[1:]
    begun = zip(own.starts, order, strict=True)
    return tuple(start for start, index in begun if start < years and steps[index].torn_off)


def _of_today(tax: Tax, years: int, torn: Sequence[int]) -> Array:
    """Return the deductions of today's roof, the rest at once where it is torn off."""
    spread = np.full(tax.old_roof_years, 1 / tax.old_roof_years)
    placed = np.concatenate(([tax.old_roof_basis], np.zeros(years)))
    return placed if torn and torn[0] == 0 else written_off(placed, spread, torn)[: years + 1]
