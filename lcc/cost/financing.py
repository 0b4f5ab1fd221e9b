"""How a roof is paid for: cash, a loan or a lease, by year in the money of each year.

Sign convention: a difference is what the base case costs in a year less what the alternative
costs, so positive means that the owner pays less than under the base case.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy_financial as npf

from lcc.arrays import Array
from lcc.case.economics import Financing
from lcc.cost.payback_rule import years_to_payback
from lcc.cost.present_value import growth, nominal_rate
from lcc.cost.work import CAPITAL, RESIDUAL
from lcc.figures import in_years, said, when
from lcc.results import Financed

MONTHS = 12
HALF_A_CENT = 0.005


def monthly_payments(principal: float, terms: Financing) -> Array:
    """Return the payment of each month, the first a month after the money is lent.

    Parameters
    ----------
    principal : float
        Sum lent [money].
    terms : Financing
        Yearly rate, charged by the month, years, and a lease's yearly rise.

    Returns
    -------
    ndarray, shape (12 years,)

    Notes
    -----
    A loan's payments are level: P r / (1 - (1 + r)^-m) with the monthly rate r and m months. A
    lease's rise once a year by g: the first year's are P / Σ (1 + g)^y (1 + r)^-k over months k
    of years y, so that their present value at the lease's own rate is the sum lent.

    References
    ----------
    NIST Handbook 135 counts financed projects by their contract payments.

    Examples
    --------
    The example of the Consumer Financial Protection Bureau's `amortize`: $180,000 at 4.25 % over
    30 years are $885.49 a month.

    >>> terms = Financing("loan", rate=0.0425, years=30, down_payment=0.0)
    >>> round(float(monthly_payments(180_000.0, terms)[0]), 2)
    885.49
    """
    escalation = terms.escalation if terms.how == "lease" else 0.0
    rise = (1 + escalation) ** (np.arange(MONTHS * terms.years) // MONTHS)
    return np.asarray(principal * rise / npf.npv(terms.rate / MONTHS, [0.0, *rise]))


def interest_by_month(principal: float, payments: Array, rate: float) -> Array:
    """Return the interest within each monthly payment.

    Notes
    -----
    A month's interest is its opening balance times the monthly rate; the balance after k months
    is P (1 + r)^k - Σ payment_j (1 + r)^(k - j).

    Examples
    --------
    >>> terms = Financing("loan", rate=0.12, years=1, down_payment=0.0)
    >>> payments = monthly_payments(1000.0, terms)
    >>> interest_by_month(1000.0, payments, 0.12)[:2].round(2).tolist()
    [10.0, 9.21]
    """
    grown = growth(rate / MONTHS, len(payments))
    opening = (principal - np.cumsum(np.concatenate(([0.0], payments)) / grown)) * grown
    return np.asarray(opening[:-1] * rate / MONTHS)


Costs = tuple[Mapping[str, Array], int | None]


def financed(base: Costs, own: Costs, terms: Financing, inflation: float, rate: float) -> Financed:
    """Return what an owner pays each year with the first work of each choice paid alike.

    Parameters
    ----------
    base, own : tuple of mapping of str to ndarray, shape (n + 1,), and int or None
        Costs by category and year, base-year money, and the year of the first work; None where
        there is none.
    terms : Financing
        How that work is paid.
    inflation : float
        General inflation [1/year]: makes base-year money into that of each year.
    rate : float
        Real discount rate [1/year].

    Notes
    -----
    The residual value is left out: nobody pays it. Payments that fall after the study period are
    listed apart, not counted.
    """
    _, theirs_lent, _, theirs = _lent(*base, terms, inflation)
    cost, lent, payments, ours = _lent(*own, terms, inflation)
    years, start = len(ours) - 1, own[1] or 0
    interest = interest_by_month(lent, payments, terms.rate)
    difference = theirs - ours
    ahead = float(years_to_payback(np.cumsum(difference)))
    found = Financed(
        how=terms.how,
        paid_at_once=cost - lent,
        financed=lent,
        monthly_payment=float(payments[0]),
        last_monthly_payment=float(payments[-1]),
        total_interest=float(interest.sum()),
        interest_by_year=tuple(_by_year(interest, start, years).tolist()),
        yearly_difference=tuple(difference.tolist()),
        first_positive_year=next(iter(np.flatnonzero(difference > HALF_A_CENT).tolist()), None),
        ahead_from=int(ahead) if np.isfinite(ahead) and own is not base else None,
        due_later=float(payments.sum() - _by_year(payments, start, years).sum()),
        more_than_cash=_more_than_cash(payments, lent, nominal_rate(rate, inflation), start),
    )
    compared = "" if base is own else _compared(found, lent > 0 and theirs_lent > 0)
    return replace(found, sentence=f"{_payments(found, terms, start)} {compared}".strip())


def _lent(
    costs: Mapping[str, Array], first_work: int | None, terms: Financing, inflation: float
) -> tuple[float, float, Array, Array]:
    """Return what the first work costs, what is lent, each payment, and what is paid by year."""
    cash, start = _cash(costs), first_work or 0
    prices = growth(inflation, len(cash) - 1)
    cost = _first_work_cost(costs, first_work) * float(prices[start])
    lent = 0.0 if terms.how == "cash" else cost * (1 - terms.down_payment)
    payments = monthly_payments(lent, terms) if lent > 0 else np.zeros(MONTHS)
    paid = cash * prices + _by_year(payments, start, len(cash) - 1)
    paid[start] -= lent
    return cost, lent, payments, paid


def _more_than_cash(payments: Array, lent: float, rate: float, start: int) -> float:
    """Return by how much payments are worth more today than the sum lent at `start`.

    All of them count, those after the study period too, each in its month: at a twelfth of the
    nominal discount rate a month, as a bank charges, so that a loan at that rate costs what cash
    does. From `start` to today a year counts as in all other sums.
    """
    return float(npf.npv(rate / MONTHS, [-lent, *payments]) / (1 + rate) ** start)


def _payments(found: Financed, terms: Financing, start: int) -> str:
    """Say what is paid at first, by the month and in interest, which no other sum counts."""
    if found.paid_at_once + found.financed <= 0:
        return "No first work falls within the study period."
    if found.financed <= 0:
        due = f"in year {start}, in the money of that year" if start else "at once"
        return f"Paid in cash: about {said(found.paid_at_once)} {due}."
    since = f" from year {start} on, in the money of that year" if start else ""
    at_once = f"about {said(found.paid_at_once)} at first, then " if found.paid_at_once > 1 else ""
    rises = found.last_monthly_payment > found.monthly_payment * (1 + 1e-9)
    rising = f", rising to about {said(found.last_monthly_payment)}" if rises else ""
    years = len(found.yearly_difference) - 1
    return (
        f"Paid by {terms.how}{since}: {at_once}about {said(found.monthly_payment)} a month for "
        f"{in_years(terms.years)}{rising}. Of that about {said(found.total_interest)} is interest, "
        f"which the costs over {in_years(years)} do not count: they take the work as paid in cash."
    )


def _compared(found: Financed, both: bool) -> str:
    """Say when less is paid than under the base case, lent for too or not, and by how much."""
    other = f"for the other choice{f', by {found.how} too' * both}"
    if found.first_positive_year is None:
        return f"In no year is less paid than {other}."
    flows, year = found.yearly_difference, found.ahead_from
    amount = f"about {said(abs(sum(flows)))} {'more' if year is None else 'less'}"
    total = f"{amount} by year {len(flows) - 1}, in the money of each year"
    total += " (the headline is in today’s money)"
    added = f"All payments added up{', with interest' if found.financed > 0 else ''},"
    if year is None:
        first = found.first_positive_year
        less = f"though less is paid {when(first)}"
        return f"{added} more is paid than {other}: {total}, {less}."
    since = f"from year {year} on" if year else "at all times"
    at_first = "at first, then more, and for good " if year and flows[0] > HALF_A_CENT else ""
    return f"{added} less is paid than {other}, {at_first}{since}: {total}."


def _cash(paid: Mapping[str, Array]) -> Array:
    return np.asarray(sum(flow for name, flow in paid.items() if name != RESIDUAL))


def _first_work_cost(own: Mapping[str, Array], year: int | None) -> float:
    if year is None:
        return 0.0
    return max(0.0, sum(float(flow[year]) for name, flow in own.items() if name in CAPITAL))


def _by_year(monthly: Array, start: int, years: int) -> Array:
    """Sum months into the years after `start`; what falls after the last year is left out."""
    paid = np.zeros(years + 1)
    yearly = monthly.reshape(-1, MONTHS).sum(axis=1)[: years - start]
    paid[start + 1 : start + 1 + len(yearly)] = yearly
    return paid
