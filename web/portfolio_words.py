"""What a budget and a plan come to, in sentences that page and command line share."""

from __future__ import annotations

from collections.abc import Iterator

from lcc.portfolio.plan_report import CapitalPlan
from lcc.portfolio.ranking import CapitalProgramme, DueNow
from web import format as fmt
from web.format import said


def money(value: float) -> str:
    """Return a sum that was entered, as it is shown."""
    return fmt.shown(value, "money")


def roofs(count: int) -> str:
    """Return a number of roofs in words."""
    return f"{count:,} roof{'' if count == 1 else 's'}"


def in_words(whole: CapitalProgramme, budget: float | None) -> Iterator[str]:
    """Yield what a single budget buys, and what falls due beside it."""
    chosen = whole.in_budget
    if chosen is None or budget is None:
        return
    proof = "proved the best set"
    if chosen.shortfall:
        proof = f"a better set might save {said(chosen.shortfall)} more"
    yield (
        f"Under a budget of {money(budget)}: {roofs(chosen.buildings)} with an alternative for "
        f"{said(chosen.first_cost)}, saving {said(chosen.net_savings)}; {proof}."
    )
    if whole.due_now and whole.due_now.buildings:
        yield from _due_in_words(whole.due_now)


def _due_in_words(due: DueNow) -> Iterator[str]:
    yield f"Due this year anyway: {roofs(due.buildings)} with {said(due.cost)} of base case work."
    if due.in_set:
        yield f"The set replaces {said(due.replaced_cost)} of it on {roofs(due.in_set)}."
    if due.renewed:
        yield (
            f"Out of the same budget {roofs(due.renewed)} get their base case's work for "
            f"{said(due.renewed_cost)}."
        )
    if due.put_off:
        yield (
            f"{roofs(due.put_off).capitalize()} are patched for {said(due.patching)} and put off "
            f"a year: {said(due.put_off_cost)} of work, and waiting costs "
            f"{said(due.waiting_cost)}."
        )
    if due.further_needed:
        yield (
            f"The budget does not pay for patching and must-do work: {said(due.further_needed)} "
            "more would."
        )


def plan_in_words(whole: CapitalProgramme) -> Iterator[str]:
    """Yield what a plan comes to: what further money brings first, then what is put off."""
    plan = whole.plan
    if plan is None:
        return
    yield from _trade_off(plan)
    proof = "Proved the best plan."
    if plan.shortfall:
        proof = f"A better plan might save up to {said(plan.shortfall)} more."
    against = "against every base case done on time with all the money it takes"
    if plan.net_savings < 0:
        yield f"The plan costs {said(-plan.net_savings)} more {against}. {proof}"
    else:
        yield f"The plan saves {said(plan.net_savings)} net {against}. {proof}"
    if plan.deferred:
        yield (
            f"{roofs(len(plan.deferred)).capitalize()} due in these years are put off: "
            f"{said(plan.deferred_cost)} of work, {said(plan.patching)} of patching, and "
            f"{said(plan.leak_risk)} of leak damage to expect (demo figures unless entered)."
        )
    else:
        yield "No roof waits past the year in which it falls due."
    if plan.fails:
        needed = sum(year.further_needed for year in plan.years)
        yield (
            f"The money does not pay for everything that cannot wait: {said(needed)} more would. "
            f"Left without money: {_named(plan)}."
        )


def _trade_off(plan: CapitalPlan) -> Iterator[str]:
    now, *more = plan.trade_off or (None,)
    if now is None or not more:
        return
    first = more[0]
    gain = first.net_savings - now.net_savings
    yield (
        f"{money(first.further_a_year)} more each year would bring {said(gain)} of net savings "
        f"and leave {said(first.deferred)} of work put off instead of {said(now.deferred)}."
    )


def _named(plan: CapitalPlan, most: int = 5) -> str:
    names = list(dict.fromkeys(f"{one.name} ({one.what}, year {one.year})" for one in plan.fails))
    left = f" and {len(names) - most:,} more" if len(names) > most else ""
    return f"{', '.join(names[:most])}{left}"
