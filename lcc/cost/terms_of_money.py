"""What the answer becomes on other terms of money: a loan, a rate with inflation in it."""

from collections.abc import Iterator
from dataclasses import replace

from lcc.case import Economics, Prices, Tax
from lcc.case.document_values import capital
from lcc.case.fields import known
from lcc.case.resolution import resolve
from lcc.cost.cash_flow import life_cycle_costs
from lcc.cost.costed import Costed
from lcc.cost.present_value import (
    general_inflation,
    lenders_inflation,
    nominal_rate,
    real_discount_rate,
)
from lcc.cost.remarks import SMALLEST, Remark, costs_then, turned_by
from lcc.cost.scenario import Scenario
from lcc.figures import CENTS, more_or_less, said, shown
from lcc.results import AlternativeResult
from lcc.units import as_read

# Chosen: a rate above inflation of this or more is probably a bank's, inflation included [1/year].
HIGH = 0.05
# Chosen: an energy price so many times its table's, or that part of it, is probably typed wrong.
MANY_TIMES = 5.0
CARRIERS = (
    ("Electricity", "electricity_per_kwh", "price_per_energy", "kWh"),
    ("Gas", "gas_per_kwh", "price_of_gas", "therm"),
)


def as_lent(found: Costed) -> Iterator[Remark]:
    """Yield what the answer is where the work is not paid in cash: the headline counts that.

    Said of the best, and of others whose answer changes. A lender's rate has inflation in it, so
    its payments are set against the discount rate with inflation.
    """
    economics, (base, best) = found.case.economics, found.pair
    inflation = lenders_inflation(economics)
    rate = shown(nominal_rate(real_discount_rate(economics), inflation), "rate")
    usual = ", the usual one, since none is entered" * (found.asked.economics.inflation is None)
    for own in (found.alternatives[place] for place in found.best_first):
        paid = own.financed
        if paid is None or paid.financed < SMALLEST:
            continue
        more, by = paid.more_than_cash, f"paid by {paid.how} as entered"
        others = base.financed.more_than_cash if base.financed else 0.0
        lent, beside = base.financed and base.financed.financed > 0, _beside_cash(others)
        both = f", and “{base.name}” {beside} in cash: both borrow for the first work"
        then = base.life_cycle_cost + others, own.life_cycle_cost + more
        turned = turned_by(base, own, [(f"if the first work is {by}", *then)])
        if turned or own is best:
            yield Remark(
                f"{capital(by)}, “{own.name}” costs {_beside_cash(more)} in cash in today’s money"
                f"{both if lent else ''}. “{own.name}” then "
                f"{costs_then(base, then, turned=bool(turned))}. The headline counts cash."
                f"{_before_tax((base, own), economics.tax)} Payments are discounted by the month "
                f"at {rate} a year, the discount rate with inflation "
                f"({shown(inflation, 'rate')}{usual}).",
                turned,
                f"the work is {by}",
                "the work is paid in cash",
            )


def _beside_cash(more: float) -> str:
    return "the same as" if abs(more) <= CENTS else f"about {more_or_less(-more)} than"


def _before_tax(pair: tuple[AlternativeResult, AlternativeResult], tax: Tax | None) -> str:
    """Say that a loan's sums are before tax, and how much tax the interest of each saves."""
    if tax is None:
        return ""
    interest = {one.name: one.financed.total_interest for one in pair[::-1] if one.financed}
    saved = " and ".join(
        f"{said(tax.rate * paid)} for “{name}”" for name, paid in interest.items() if paid > CENTS
    )
    told = f": the tax that interest saves, about {saved} over the years, is in none of the figures"
    return f" These sums are before tax{told * bool(saved)}."


def as_taxed(economics: Economics) -> Iterator[Remark]:
    """Yield at what rate sums after tax are discounted, and tax terms that are unequal."""
    tax, real = economics.tax, real_discount_rate(economics)
    if tax is None:
        return
    if tax.expensing == "metal":
        yield Remark(
            "Only metal roofs are deducted at once under section 179 here. A new membrane of a "
            "business building may qualify too, so the choices are not taxed alike: choose “all” "
            "to compare like with like, and ask your tax adviser."
        )
    if tax.discount_rate is not None or real <= 0 or not tax.rate:
        return
    inflation, is_real = lenders_inflation(economics), economics.rate_kind == "real"
    nominal = nominal_rate(real, inflation)
    less = nominal * (1 - tax.rate)
    if is_real:
        nominal, less = real, (1 + less) / (1 + inflation) - 1
    above = " above inflation" * is_real
    yield Remark(
        f"Sums after tax are discounted at the rate before tax, {shown(nominal, 'rate')}{above}. "
        f"Less the tax it is {shown(less, 'rate')}{above}: to use that, enter it as “Discount rate "
        "after tax”."
    )


def energy_prices(prices: Prices) -> Iterator[str]:
    """Yield for each energy price entered far outside its table's that it is to be checked.

    Examples
    --------
    >>> next(energy_prices(Prices(gas_per_kwh=0.92)))[:54]
    'Gas is entered at $26.96 a therm, 25 times the usual $'
    """
    both = resolve(prices), resolve(Prices())
    for name, field, kind, each in CARRIERS:
        entered, usual = (as_read(known(getattr(one, field)), kind, "ip") for one in both)
        times = entered / usual
        if entered and not 1 / MANY_TIMES <= times <= MANY_TIMES:
            cents = f" If {entered:.4g} cents a {each} is meant, type {entered / 100:.4g}."
            yield (
                f"{name} is entered at {shown(entered, 'price_')} a {each}, {times:.2g} times the "
                f"usual {shown(usual, 'price_')}. Check its decimal point and its unit."
                f"{cents * (1 / MANY_TIMES <= times / 100 <= MANY_TIMES)}"
            )


def as_quoted_by_a_bank(found: Costed) -> Iterator[Remark]:
    """Yield what a high rate above inflation means, and the answer if it has inflation in it.

    Notes
    -----
    Banks quote nominal rates, and a rate above inflation of 5 % or more is rare. Each is done in
    the way that is cheapest at the other rate.
    """
    economics = found.asked.economics
    rate, as_entered = economics.discount_rate, economics.inflation or None
    quoted = replace(economics, rate_kind="nominal", inflation=as_entered)
    inflation, terms = general_inflation(quoted), Scenario.of(quoted)
    if economics.rate_kind == "nominal" and economics.inflation is None:
        goal, *_ = resolve(quoted).origin("inflation").source.partition(" (")
        yield Remark(
            f"Inflation is not entered: {shown(inflation, 'rate')} a year is taken out of the "
            f"{shown(rate, 'rate')} that the bank quotes, the "
            f"{goal}. Enter the inflation that you expect."
        )
    if economics.rate_kind != "real" or rate < HIGH or not economics.states("discount_rate"):
        return
    base, own = found.pair
    by_way = [[float(life_cycle_costs(way, terms)[0]) for way in ways] for ways in found.books]
    then = min(by_way[0]), min(by_way[found.best])
    typed, rises = (shown(each, "rate") for each in (rate, inflation))
    turned = turned_by(base, own, [(f"if {typed} is a rate with inflation in it", *then)])
    yield Remark(
        f"The discount rate of {typed} is read as above inflation: with inflation of {rises} that "
        f"is {shown(nominal_rate(rate, inflation), 'rate')} as a bank quotes it. If {typed} is "
        f"what a bank quotes, “{own.name}” {costs_then(base, then, turned=bool(turned))}: say "
        "then that the rate is nominal.",
        turned,
        "the discount rate has inflation in it",
        "the discount rate is above inflation",
    )
