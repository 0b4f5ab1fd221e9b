"""What a budget and a plan come to, in sentences that page and command line share."""

from collections.abc import Iterator
from itertools import pairwise

import pandas as pd

from lcc.figures import some_of
from lcc.portfolio.owner_records import MUST_BY, MUST_DO
from lcc.portfolio.plan_tables import BEGINS, PATCHING, CapitalPlan, FurtherMoney
from lcc.portfolio.rank_notes import TAKEN, UNSAID, too_close
from lcc.portfolio.ranking import CapitalProgramme, DueNow, Totals, best_rows
from lcc.portfolio.which_roof_when import PROVED
from web.format import money, said
from web.proposal.cut_names import cut_middle

NOTHING_TO_COMPUTE = "No row of this table can be used, so there is nothing to rank."
NARROW = 0.1  # part of a gain up to which one figure tells it
NAME = 38  # letters
WIDE = 0.2  # part of a gain from which a range is called wide
STOPPED = (
    "Where the range is wide the search stopped at its time limit, before the best plan was "
    "proved: count on the lower figure."
)

AGAIN = (
    "The search ended before that was settled to the cent: another run of the same table may find "
    "a slightly different plan."
)
UNPATCHED = (
    "That counts all patching as done: {unpaid} of it is not paid for, and what water then does to "
    "the building has no price in any figure here."
)
CANNOT_WAIT = (
    "Further money goes first to what cannot wait, patching and must-do roofs, even where that "
    "saves less than the plan of less money."
)

MORE_WAITS = (
    "More money can leave more work waiting: the plan is the one that costs least over the study "
    "period, not the one in which least waits."
)


def roofs(count: int) -> str:
    """Return a number of roofs in words."""
    return f"{count:,} roof{'' if count == 1 else 's'}"


def lead_in_words(
    whole: CapitalProgramme, results: pd.DataFrame, budget: float | None
) -> list[str]:
    """Return what comes first: must-do roofs left undone, then what more money would bring."""
    if results.empty:
        return [NOTHING_TO_COMPUTE]
    lead = [whole.must_undone, plan_headline(whole), _headline(whole, results), _unsaid(results)]
    return [*filter(None, lead), *in_words(whole, budget)]


def _unsaid(results: pd.DataFrame) -> str:
    """Return of how many roofs a price does not say what it includes, empty for none."""
    open_ = [any(UNSAID in one for one in told) for told in results["cautions"]]
    if not (count := results.loc[open_, "building"].nunique()):
        return ""
    saves = results.loc[results["net_savings"] > 0, "building"].nunique()
    held = results["net_savings_all_held"]
    then = ", and which roofs save may change."
    if held.notna().any():
        savings = held.fillna(results["net_savings"].mask(results["building"].isin(
            results["building"][held.notna()])))  # fmt: skip
        saving = results.loc[savings > 0, "building"].nunique()
        then = f": if all of them did, {roofs(saving)} would save, against {saves:,} as counted."
    return f"Prices entered for {roofs(count)} do not say what they include: each is {TAKEN}{then}"


def _headline(whole: CapitalProgramme, results: pd.DataFrame) -> str:
    best, done = whole.worthwhile, results["building"].nunique()
    if not best.buildings:
        return f"None of {done:,} roofs has an alternative that costs less than its base case."
    costs = "roof costs" if best.buildings == 1 else "roofs cost"
    return (
        f"{best.buildings:,} of {done:,} {costs} less with an alternative: "
        f"{said(best.net_savings)} of net savings for {said(best.first_cost)} of first cost"
        f"{close_in_words(results)}."
    )


def close_in_words(results: pd.DataFrame) -> str:
    """Return how many of the roofs that save do so by too little to call it, empty for none."""
    close = int(too_close(best_rows(results)).sum())
    return f"; {roofs(close)} of these by 2% or less, too close to call" if close else ""


def in_words(whole: CapitalProgramme, budget: float | None) -> Iterator[str]:
    """Yield at what terms all is reckoned, what a single budget buys, and what falls due too."""
    if whole.discount_rate is not None:
        prices = f", roofing prices times {whole.price_factor:g}" * (whole.price_factor != 1)
        yield f"Discount rate {100 * whole.discount_rate:.3g}% a year above inflation{prices}."
    chosen = whole.in_budget
    if chosen is None or budget is None:
        return
    proof = "proved the best set" + " for the rest" * bool(whole.must_undone)
    if chosen.shortfall:
        proof = f"a better set might save {said(chosen.shortfall)} more"
    yield (
        f"Under a budget of {money(budget)}: {roofs(chosen.buildings)} with an alternative for "
        f"{said(chosen.first_cost)}, saving {said(chosen.net_savings)}; {proof}."
    )
    if whole.due_now and whole.due_now.buildings:
        yield from _due_in_words(whole.due_now)
    if whole.due_now and whole.due_now.further_needed:
        yield (
            "The budget does not pay for patching and must-do work: "
            f"{said(whole.due_now.further_needed)} more would."
        )


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
        are = "is" if due.put_off == 1 else "are"
        yield (
            f"{roofs(due.put_off).capitalize()} {are} patched for {said(due.patching)} and put off "
            f"a year: {said(due.put_off_cost)} of work, and waiting costs "
            f"{said(due.waiting_cost)}."
        )


def plan_headline(whole: CapitalProgramme) -> str:
    """Return what more money would bring and what waits without it, empty without a plan."""
    plan = whole.plan
    if plan is None:
        return ""
    waits = f"With the money there is, {_waits(plan)}"
    if len(plan.trade_off) < 2:
        return waits
    now, more = plan.trade_off[:2]
    return f"{money(more.further_a_year)} more each year would {brings(now, more)}. {waits}"


def brings(before: FurtherMoney, after: FurtherMoney) -> str:
    """Return what further money does: pays for what cannot wait, else saves."""
    if _pays(before, after):
        return f"pay for {gain(before, after)} more of what cannot wait"
    more = gain(before, after)
    return "save nothing more" if more == said(0) else f"save {more}"


def _pays(before: FurtherMoney, after: FurtherMoney) -> bool:
    """Whether further money pays for what cannot wait, a dollar of it or more."""
    return before.unfunded - after.unfunded >= 1


def gain(before: FurtherMoney, after: FurtherMoney) -> str:
    """Return what further money pays for, or saves, as a range where neither plan is proved."""
    least, found, most = _bounds(before, after)
    return said(found) if most - least <= NARROW * most else f"{said(least)} to {said(most)}"


def saved(point: FurtherMoney) -> str:
    """Return what a plan saves, as a range where a better one may save much more."""
    if point.shortfall <= NARROW * abs(point.net_savings + point.shortfall):
        return money(point.net_savings)
    return f"{said(point.net_savings)} to {said(point.net_savings + point.shortfall)}"


def _bounds(before: FurtherMoney, after: FurtherMoney) -> tuple[float, float, float]:
    """Return what further money brings at least, as found, and at most: paid for, else saved."""
    found, less, more = after.net_savings - before.net_savings, before.shortfall, after.shortfall
    if _pays(before, after):
        found = before.unfunded - after.unfunded
        less, more = (one.unfunded - one.unfunded_at_least for one in (before, after))
    return max(0.0, found - less), found, found + more


def _waits(plan: CapitalPlan) -> str:
    if not plan.deferred:
        return "no roof waits past the year in which it falls due."
    verb = "waits" if len(plan.deferred) == 1 else "wait"
    undone = [one.cost for one in plan.deferred if one.done_year is None]
    owed, later = sum(undone), len(plan.deferred) - len(undone)
    parts = [
        f"{later:,} done later in the plan, for {said(plan.deferred_cost - owed)} of what it spends"
    ] * bool(later)
    if undone:
        parts.append(f"{len(undone):,} not done by its end, which would take {said(owed)} more")
    return (
        f"{roofs(len(plan.deferred))} {verb} past the year due: {'; '.join(parts)}. "
        f"{said(plan.leak_risk)} of leak damage is to be expected meanwhile, with patching done. "
        "All in the money of each year."
    )  # fmt: skip


def plan_in_words(whole: CapitalProgramme, results: pd.DataFrame | None = None) -> Iterator[str]:
    """Yield what a plan comes to: what further money brings first, then what is put off.

    `results` are the ranked rows, to say of a must-do roof why it gets what saves nothing.
    """
    plan = whole.plan
    if plan is None:
        return
    yield from trade_off_in_words(plan, whole.worthwhile)
    proof = _proof(plan)
    against = "against every base case done on time with all the money it takes"
    if plan.net_savings < 0:
        yield f"The plan costs {said(-plan.net_savings)} more {against}. {proof}"
    else:
        yield f"The plan saves {said(plan.net_savings)} net {against}. {proof}"
    if unpaid := sum(one.cost for one in plan.fails if one.what == PATCHING):
        yield UNPATCHED.format(unpaid=said(unpaid))
    if plan.deferred:
        yield from _patched(plan)
    if plan.fails:
        needed = sum(year.further_needed for year in plan.years)
        yield f"The money does not pay for everything that cannot wait: {said(needed)} more would."
        if leaking := _named(plan):
            yield f"Left without money: {leaking}."
    if results is not None:
        yield from early_in_words(results, plan)


def _patched(plan: CapitalPlan) -> Iterator[str]:
    """Yield what patching is due and paid for, and how many roofs go without."""
    bare = [one for one in plan.fails if one.what == PATCHING]
    paid = plan.patching - sum(one.cost for one in bare)
    yield (
        f"The roofs that wait need {said(plan.patching)} of patching, in the money of each year; "
        f"the plan pays {said(paid) if bare else 'all'} of it (patching and leak damage are demo "
        "figures unless entered)."
    )
    if bare:
        short = len({one.building for one in bare})
        yield (
            f"{roofs(short).capitalize()} of the {len(plan.deferred):,} that wait "
            f"go{'es' * (short == 1)} without it in some years; the others have it whenever it is "
            "due."
        )


def _proof(plan: CapitalPlan) -> str:
    if not plan.shortfall:
        return "It is proved that no other plan of these budgets saves more."
    if plan.shortfall > PROVED * plan.life_cycle_cost:
        return f"A better plan might save up to {said(plan.shortfall)} more. {AGAIN}"
    return (
        f"Proved: no other plan saves over {said(plan.shortfall)} more, "
        f"less than {100 * PROVED:g}% of the life-cycle cost. {AGAIN}"
    )


def early_in_words(results: pd.DataFrame, plan: CapitalPlan) -> Iterator[str]:
    """Yield why a must-do roof gets an alternative that saves nothing: nothing else is in time."""
    own = results.drop_duplicates("building").set_index("building")
    in_time = dict(MUST_BY) | {MUST_DO: plan.years[-1].year if plan.years else 0}
    for one in plan.work:
        if one.what != BEGINS or one.net_savings >= 0:
            continue
        by, due = in_time.get(own["must"][one.building]), own["base_work_year"][one.building]
        if by is not None and due > by:
            yield (
                f"{cut_middle(one.name, NAME)} gets “{one.alternative}” by {plan.calendar(by)}, as "
                "it must, although that saves nothing: its base case’s work falls due only in "
                f"{plan.calendar(int(due))}, and an earlier membrane is not compared."
            )


def _work(cost: float) -> str:
    return f"work of {said(cost)}" if cost >= 1 else "nothing"


def trade_off_in_words(plan: CapitalPlan, best: Totals) -> Iterator[str]:
    """Yield what each further sum brings, and what would still be put off."""
    if len(plan.trade_off) < 2:
        return
    steps = [
        f"the {'first ' if before.further_a_year == 0 else 'next '}"
        f"{money(point.further_a_year - before.further_a_year)} would "
        f"{brings(before, point)}"
        for before, point in pairwise(plan.trade_off)
    ]
    last = plan.trade_off[-1]
    yield (
        f"Of further money each year {'; '.join(steps)}. "
        f"With {money(last.further_a_year)} more each year, {_work(last.deferred - last.undone)} "
        f"would be done late and {_work(last.undone)} left undone at the end of the plan."
    )
    pairs = list(pairwise(plan.trade_off))
    if any(after.deferred - before.deferred >= 1 for before, after in pairs):
        yield MORE_WAITS
    if any(_pays(*pair) for pair in pairs):
        yield CANNOT_WAIT
        if best.first_cost > 0:
            yield (
                f"Re-roofing the {roofs(best.buildings)} that would save brings "
                f"${best.net_savings / best.first_cost:.2f} of net savings for each dollar of "
                "first cost."
            )
    if any(most - least > WIDE * most for least, _, most in (_bounds(*pair) for pair in pairs)):
        yield STOPPED


def _named(plan: CapitalPlan) -> str:
    """Name the roofs left without patching; must-do roofs have a sentence of their own."""
    years: dict[tuple[int, str], list[str]] = {}
    for one in plan.fails:
        if one.what != MUST_DO:
            years.setdefault((one.building, one.name), []).append(str(plan.calendar(one.year)))
    return some_of([f"{cut_middle(name, NAME)} ({PATCHING}, year{'s' * (len(each) > 1)} "
                    f"{', '.join(each)})" for (_, name), each in years.items()], 5)  # fmt: skip
