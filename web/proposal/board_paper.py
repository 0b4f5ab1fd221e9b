"""The board's two pages for a portfolio: what is done when, what waits, and what that costs."""

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import pandas as pd

from api.portfolio.defaults import beside_columns, demo_columns
from api.portfolio.job import PortfolioJob, cautions
from lcc.caution_texts import FOR_THE_CREW
from lcc.figures import in_years, some_of
from lcc.model_notes import BESIDE_METERS
from lcc.portfolio.owner_records import MUST_BY, MUST_NOT, NOT_BEFORE, TO_DO
from lcc.portfolio.plan_tables import BASE_CASE, BEGINS, PATCHING, CapitalPlan, DeferredRoof
from lcc.portfolio.rank_notes import MANY, TOO_CLOSE
from lcc.portfolio.ranking import MOST_NAMED, CapitalProgramme, MustUndone, best_rows
from web.format import money, said
from web.portfolio_words import NAME, lead_in_words, plan_in_words, roofs, saved, trade_off_in_words
from web.proposal.blocks import Block, blanks, bullets, heading, page, small, table, text
from web.proposal.cut_names import cut, cut_middle
from web.proposal.letter import sentences
from web.proposal.typesetting import typeset

LARGEST = 10
WAITING = 10  # roofs that wait, named one by one
WORKS = 14  # of a plan, named one by one
MUSTS = 4  # roofs that must, or must not, be done, named one by one
YEARS_LISTED = 10  # of a plan, listed one by one
LEAST = 3  # lines of a table that has to give way
FIRST_WORKS = 8  # lines of what is proposed
FIRST = 110  # letters of a caution
UNDONE = 20  # must-do roofs that the money does not reach, named one by one
SHORT = 26  # letters
BAD = 6  # rows that could not be used, named one by one
SOURCES = ("Reserve or capital budget", "Bond or loan", "Grants and rebates", "Energy savings",
           "Insurance")  # fmt: skip


def board_pdf(results: pd.DataFrame, whole: CapitalProgramme, job: PortfolioJob) -> bytes:
    """Return the paper for a board as a PDF, on letter paper or A4 by the units."""
    size = "us-letter" if job.query.system == "ip" else "a4"
    return typeset(document(results, whole, job, size))


def document(
    results: pd.DataFrame, whole: CapitalProgramme, job: PortfolioJob, size: str
) -> dict[str, Any]:
    """Return what the template prints: always two pages; years without a calendar are 1, 2, 3."""
    if whole.plan:
        whole = replace(whole, plan=replace(whole.plan, first_year=whole.plan.first_year or 1))
    first = page("Roofs: what is proposed, year by year", _proposed(results, whole, job))
    second = page("What waits, what is left out, and what to know", _rest(results, whole, job))
    return {
        "title": "Roof programme for the board",
        "author": "",
        "size": size,
        "foot": [roofs(results["building"].nunique()), "A budget and a comparison, no design"],
        "parts": [first, second],
    }


def _proposed(results: pd.DataFrame, whole: CapitalProgramme, job: PortfolioJob) -> Iterator[Block]:
    bare = whole  # what more money brings stands beside its table
    if whole.plan:
        yield text(_in_one_sentence(whole.plan, results["building"].nunique()))
        bare = replace(whole, plan=replace(whole.plan, trade_off=()))
    headline, *more = lead_in_words(bare, results, job.budget)
    if more:
        more.insert(0, f"Counted over {in_years(job.base.economics.study_period_y)}.")
    yield text(headline, "open" if whole.must_undone else "")
    for words in (" ".join(more), " ".join(plan_in_words(bare, results))):
        if words:
            yield text(words)
    if whole.plan:
        if musts := " ".join(_musts(results, whole.plan)):
            yield text(musts)
        carry_over = job.query.carry_over == "yes"
        if short := " ".join(_short(results, whole, whole.plan, carry_over)):
            yield text(short)
        yield from _by_year(whole.plan)
        yield from _works(whole, whole.plan, results, job.base.base_case.name)
    elif whole.in_budget:
        yield from _bought(results)
    yield heading("Sources of money")
    yield small("The board names the sources; the tool knows the budget and nothing else.")
    yield blanks(SOURCES)


def _in_one_sentence(plan: CapitalPlan, every: int) -> str:
    """What the board is asked for: how much, for which roofs, over which years."""
    names = dict.fromkeys(cut_middle(one.name, SHORT) for one in _begun(plan))
    spent, given = (sum(years) for years in zip(*((y.spent, y.budget) for y in plan.years),
                                                strict=True))  # fmt: skip
    counted = "year " * (plan.first_year == 1)
    first, last = (f"{counted}{plan.calendar(plan.years[place].year)}" for place in (0, -1))
    years = first + " (this year)" * (plan.first_year == 1) + f" to {last}" * (last != first)
    what = f"new roofs on {len(names):,} of {every:,}: {some_of([*names], LARGEST)}"
    return (f"Asked for: {said(spent)} of {money(given)} in {years}, in the money of each year, "
            f"for {what if names else 'patching'}. {said(_other(plan))} of it is for patching and "
            "later work.")  # fmt: skip


def _begun(plan: CapitalPlan, year: int | None = None) -> list[Any]:
    """The new roofs of a plan, or of one of its years."""
    return [one for one in plan.work
            if one.what in (BEGINS, BASE_CASE) and year in (None, one.year)]  # fmt: skip


def _other(plan: CapitalPlan, year: int | None = None) -> float:
    """What patching and later work cost."""
    spent: float = sum(one.spent for one in plan.years if year in (None, one.year))
    return spent - sum(float(one.cost) for one in _begun(plan, year))


def _musts(results: pd.DataFrame, plan: CapitalPlan) -> Iterator[str]:
    """What the plan makes of the roofs that must, and must not, be done; the first few by name."""
    own = results.drop_duplicates("building").set_index("building")
    begun: dict[Any, int] = {
        one.building: plan.calendar(one.year) for one in reversed(plan.work) if one.what != PATCHING
    }
    for word, said_ in (("must-do", "Must be done"), ("must-not", "Must not be done"),
                        ("not-before", "Must wait")):  # fmt: skip
        rows = own[own["must"].astype(str).str.startswith(word)]
        if rows.empty:
            continue
        told = [
            f"{cut_middle(str(name), NAME)} "
            f"({f'year {begun[number]}' if number in begun else 'not in the plan'}"
            f"{_bound(must, plan)})"
            for number, name, must in rows[["name", "must"]].itertuples()
        ]
        yield f"{said_}: {some_of(told, MUSTS)}."


def _short(
    results: pd.DataFrame, whole: CapitalProgramme, plan: CapitalPlan, carry_over: bool
) -> Iterator[str]:
    """Which other must-do roofs lack money, and which no plan can do."""
    left = [one for one in whole.must_undone_roofs if one.under == "plan"]
    if others := [f"{cut_middle(one.name, SHORT)} ({money(one.cost)})"
                  for one in left[MOST_NAMED:]]:  # fmt: skip
        named = some_of(others, UNDONE - MOST_NAMED)
        yield f"The other must-do roofs not paid for in time: {named}."
    if beyond := sum(one.alone == "no" for one in left):
        kept = "" if carry_over else ", money carried over from year to year"
        yield (
            f"{roofs(beyond).capitalize()} of these cost{'s' * (beyond == 1)} more than "
            f"the budgets pay for even with nothing else done: no plan of these budgets can do "
            f"it. A larger budget{kept} or a loan may."
        )
    if left:
        yield from _must_need(results, left, plan)


def _must_need(
    results: pd.DataFrame, left: Sequence[MustUndone], plan: CapitalPlan
) -> Iterator[str]:
    """What must-do roofs, those left undone too, take by each year by which some must begin."""
    taken = dict[int, float]()
    for one in plan.work:
        taken[one.building] = taken.get(one.building, 0.0) + one.cost
    taken |= {one.building: one.cost for one in left}
    own = results.drop_duplicates("building")[["building", "must"]]
    last = plan.years[-1].year
    needs = [(MUST_BY.get(must, last), taken.get(number, 0.0))
             for number, must in own.itertuples(index=False) if must in TO_DO]  # fmt: skip
    for by in sorted({by for by, _ in needs})[:MUSTS]:
        cost = sum(cost for year, cost in needs if year <= by)
        given = sum(one.budget for one in plan.years if one.year <= by)
        yield (f"The must-do roofs of year {plan.calendar(by)} and before take {said(cost)} in "
               f"all; the budgets until then bring {said(given)}.")  # fmt: skip


def _bound(must: str, plan: CapitalPlan) -> str:
    """The year by which work must begin, or before which it must not."""
    for years, words in ((MUST_BY, "by year"), (NOT_BEFORE, "not before year")):
        if must in years:
            return f", {words} {plan.calendar(years[must])}"
    return ""


def _by_year(plan: CapitalPlan) -> Iterator[Block]:
    yield heading("By year, money of each year")
    rows = [
        (str(plan.calendar(one.year)), money(one.budget), str(len(_begun(plan, one.year))),
         money(sum(each.cost for each in _begun(plan, one.year))), money(_other(plan, one.year)),
         money(one.spent), money(one.carried_over), money(one.unfunded))
        for one in plan.years[:YEARS_LISTED]
    ]  # fmt: skip
    yield table(
        [("Year", 0.4, "left"), ("Budget", 1.0, "right"), ("New roofs begun", 0.7, "right"),
         ("New roofs", 1.0, "right"), ("Patching, later work", 0.9, "right"),
         ("Spent in all", 1.0, "right"), ("Carried over", 0.9, "right"),
         ("Not paid for", 0.9, "right")],
        rows,
    )  # fmt: skip
    if plan.first_year == 1:
        yield small("Year 1 is this year; the ranking’s own files count it as year 0.")
    more = len(plan.years) - YEARS_LISTED
    if more > 0:
        yield small(f"{more} more year{'s' * (more > 1)}: see the ranking’s own files.")


def _works(
    whole: CapitalProgramme, plan: CapitalPlan, results: pd.DataFrame, base: str
) -> Iterator[Block]:
    yield heading("What is proposed, by year")
    works = sorted((one for one in plan.work if one.what != PATCHING),
                   key=lambda one: (one.year, -one.cost))  # fmt: skip
    if not works:
        yield text("No roof in these years: the money pays for none, or none is due.")
        return
    marks = {(one["building"], one["alternative"]): _marks(one)
             for one in results.to_dict("records")}  # fmt: skip
    shown = [(one, marks.get((one.building, one.alternative), "")) for one in works[:WORKS]]
    own = results.drop_duplicates("building").set_index("building")
    yield table(
        [("Year", 0.4, "left"), ("Roof", 2.0, "left"), ("Work", 1.6, "left"),
         ("Due", 0.5, "right"), ("Cost", 0.9, "right"), ("Net savings", 0.9, "right"),
         ("Saved by a dollar", 0.8, "right")],
        (
            (str(plan.calendar(one.year)), cut_middle(one.name, NAME),
             cut(one.alternative or base, NAME), _due(one, own, plan), money(one.cost),
             f"{money(one.net_savings)}{mark}" if one.alternative else "",
             f"${one.net_savings / one.cost:.2f}" if one.what == BEGINS and one.cost else "")
            for one, mark in shown
        ),
        least=FIRST_WORKS, of=len(works),
        rest=f"pieces of work, the last in {plan.calendar(works[-1].year)}",
    )  # fmt: skip
    yield from _marked(mark for _, mark in shown)
    yield small(" ".join(_sums(whole, plan)))


def _due(one: Any, own: pd.DataFrame, plan: CapitalPlan) -> str:
    """When a roof is due, or that it must be done."""
    if own["must"][one.building] in TO_DO:
        return "must"
    due = own["base_work_year"][one.building]
    return "" if pd.isna(due) else str(plan.calendar(int(due)))


def _sums(whole: CapitalProgramme, plan: CapitalPlan) -> Iterator[str]:
    """Why net savings of the works do not add to those of the plan, nor these to all there are."""
    yield "The order is the one found to cost least with the money of each year."
    works = sum(one.net_savings for one in plan.work)
    rest, more = works - plan.net_savings, whole.worthwhile.net_savings - plan.net_savings
    if abs(rest) >= 1:
        yield (f"These net savings add to {money(works)}. The roofs without one cost "
               f"{money(abs(rest))} {'more' if rest > 0 else 'less'} than with their base case on "
               f"time, by waiting: the plan saves {money(plan.net_savings)}.")  # fmt: skip
    if more >= 1:
        yield (f"All {roofs(whole.worthwhile.buildings)} that would save, each done as the ranking "
               f"has it, would save {money(more)} more: that is what too little money "
               "costs.")  # fmt: skip


def _rest(results: pd.DataFrame, whole: CapitalProgramme, job: PortfolioJob) -> Iterator[Block]:
    if whole.plan:
        yield from _waiting(whole.plan, results)
        yield from _further(whole, whole.plan)
    yield from _largest(results, whole.plan)
    yield heading("What to know")
    yield text(" ".join(_known(results, job)))
    yield from _cautions(results)


def _cautions(results: pd.DataFrame) -> Iterator[Block]:
    told = cautions(results)
    own = [one for one in reversed(told) if one["text"] not in FOR_THE_CREW]
    own.sort(key=lambda one: "price" not in one["text"])  # a board decides on its money first
    yield bullets(_named(own, results["building"].nunique()), columns=2)
    yield text(
        f"{len(told) - len(own)} more cautions are for those who climb up, design and build. "
        "Nobody goes on these roofs before reading them; fall protection and a safe way up come "
        "first. "
        "They stand whole in the sheet “Cautions” of the ranking’s workbook, in the notes beside "
        "its CSV, and in each roof’s own proposal.",
        "open",
    )


def _named(told: Iterable[Mapping[str, Any]], every: int) -> Iterator[str]:
    """Each caution in short, for how many roofs if not all, and whose figures it has."""
    found: dict[str, int] = {}
    figures: dict[str, list[str]] = {}
    for one in told:
        words = first_words(one["text"], FIRST)
        found[words] = found.get(words, 0) + one["buildings"]
        whose = f"figures of {cut_middle(one['figures_of'] or '', SHORT)}"
        figures[words] = [whose] * bool(one["figures_of"] and any(map(str.isdigit, words)))
    for words, number in found.items():
        own = [roofs(number)] * (number < every) + figures[words]
        yield f"{words.rstrip('.')} ({'; '.join(own)})." if own else words


def first_words(caution: str, letters: int) -> str:
    """Return the first sentence of a caution of the figures, or what precedes its colon, or less.

    Examples
    --------
    >>> first_words("Wind takes a roof from its edges. Fasten it.", 50)
    'Wind takes a roof from its edges.'
    >>> first_words("Keep every drain open: debris and raised edges hold rain.", 50)
    'Keep every drain open.'
    """
    found = sentences(caution)[0]
    if len(found) > letters and ":" in found:
        found = f"{found.partition(':')[0]}."
    return textwrap.shorten(found, letters, placeholder=" …")


def _waiting(plan: CapitalPlan, results: pd.DataFrame) -> Iterator[Block]:
    yield heading("What waits, and what that costs")
    if not plan.deferred:
        yield text("No roof waits past the year in which it falls due.")
        return
    must = dict(zip(results["building"], results["must"], strict=True))
    worst = sorted(plan.deferred, key=lambda one: -(one.patching + one.leak_risk))
    yield table(
        [("Roof", 2.0, "left"), ("Due", 0.5, "right"), ("Done", 0.7, "right"),
         ("Cost of the work", 0.9, "right"), ("Patching due", 0.8, "right"),
         ("Leak damage to expect", 0.9, "right"), ("Why it waits", 1.9, "left")],
        (
            (cut_middle(one.name, NAME), str(plan.calendar(one.due_year)),
             "not" if one.done_year is None else str(plan.calendar(one.done_year)),
             money(one.cost), money(one.patching), money(one.leak_risk),
             _why_it_waits(one, plan, must.get(one.building)))
            for one in worst[:WAITING]
        ),
        least=LEAST, of=len(worst), rest="roofs that wait",
    )  # fmt: skip


def _why_it_waits(one: DeferredRoof, plan: CapitalPlan, must: Any) -> str:
    """Why a roof is not done when due: the owner's word, or what the plan has left till then."""
    if must == MUST_NOT or must in NOT_BEFORE:
        return "must wait"
    free = _left(plan, one.due_year, one.done_year)
    if one.cost > free:
        return f"only {money(free)} is left {'in the end' if one.done_year is None else 'before'}"
    return "waiting costs less in all"


def _left(plan: CapitalPlan, since: int, until: int | None = None) -> float:
    """The most money that a year leaves; where it is carried over, what the last year leaves."""
    years = plan.years[since:until]
    carried = any(one.carried_over for one in plan.years)
    return years[-1].carried_over if carried else max(one.budget - one.spent for one in years)


def _further(whole: CapitalProgramme, plan: CapitalPlan) -> Iterator[Block]:
    if len(plan.trade_off) < 2:
        return
    yield heading("What more money would bring")
    yield text(" ".join(trade_off_in_words(plan, whole.worthwhile)))
    yield table(
        [("Further money each year", 1.0, "left"), ("Net savings of the plan", 1.0, "right"),
         ("Done late", 1.0, "right"), ("Not done by the end", 1.0, "right"),
         ("Not paid for", 1.0, "right")],
        ((money(one.further_a_year), saved(one), money(one.deferred - one.undone),
          money(one.undone), money(one.unfunded))
         for one in plan.trade_off),
        least=2, of=len(plan.trade_off), rest="sums of further money",
    )  # fmt: skip


def _largest(results: pd.DataFrame, plan: CapitalPlan | None) -> Iterator[Block]:
    """The best alternatives that save, the largest first costs first; of a plan, those not in it.

    So no proposal stands both here and among those by year.
    """
    best = best_rows(results)
    begun = results["planned_year"].notna() if plan else results["in_budget"].eq("yes")
    best = best[~best["building"].isin(results["building"][begun])]
    under = "plan" if plan else "budget" if begun.any() else ""
    rows = best.nlargest(LARGEST, "first_cost", keep="first").to_dict("records")
    yield heading(f"Left out of the {under}: the largest roofs that would save"
                  if under else "The largest proposals, by first cost")  # fmt: skip
    if not rows:
        yield text(
            f"None: the {under} begins every roof that saves." if under else "No roof saves."
        )
        return
    done = {one.building: f"base case, {plan.calendar(one.year)}" for one in plan.work
            if one.what == BASE_CASE} if plan else {}  # fmt: skip
    last = [done.get(row["building"], "no new roof") if plan else "" for row in rows]
    left = f"roofs that would save, not in the {under}" if under else "proposals that save"
    yield _proposals(rows, ("Instead", 0.9, "right") if plan else ("", 0.1, "right"), last,
                     len(best), left)  # fmt: skip
    if plan and (free := _left(plan, 0)) < min(row["first_cost"] for row in rows):
        yield small(f"The plan leaves {money(free)}, less than each of these costs.")
    yield from _marked(map(_marks, rows))


def _bought(results: pd.DataFrame) -> Iterator[Block]:
    """The roofs that one budget renews with an alternative, the largest first costs first."""
    every = results[results["in_budget"].eq("yes")]
    rows = every.nlargest(WORKS, "first_cost", keep="first").to_dict("records")
    yield heading("New roofs under the budget, this year")
    if not rows:
        yield text("No roof gets an alternative.")
        return
    last = ["this year"] * len(rows)
    yield _proposals(rows, ("Year", 0.9, "right"), last, len(every), "roofs in the budget")
    yield from _marked(map(_marks, rows))


def _proposals(
    rows: Sequence[Mapping[Any, Any]], column: tuple[str, float, str], last: Sequence[str],
    of: int, rest: str,
) -> Block:  # fmt: skip
    """The table of some proposals, each with what its last column says of it."""
    return table(
        [("Rank", 0.4, "left"), ("Roof", 2.0, "left"), ("Alternative", 1.7, "left"),
         ("First cost", 0.9, "right"), ("Net savings", 0.9, "right"), column],
        (
            ("" if pd.isna(row["rank"]) else f"{row['rank']:.0f}",
             cut_middle(str(row["name"]), NAME), cut(str(row["alternative"]), NAME),
             money(row["first_cost"]), f"{money(row['net_savings'])}{_marks(row)}", said_last)
            for row, said_last in zip(rows, last, strict=True)
        ),
        least=LEAST, of=of, rest=rest,
    )  # fmt: skip


def _marks(row: Mapping[Any, Any]) -> str:
    """The marks of a result that rests on many defaults, or is too close to call."""
    note = str(row["rank_note"])
    return "*" * ("default" in note) + "†" * (TOO_CLOSE in note)


def _marked(marks: Iterable[str]) -> Iterator[Block]:
    """What the marks of a table mean."""
    found = "".join(marks)
    if "*" in found:
        yield small(f"* Rests on {MANY} or more defaults where other roofs have figures entered.")
    if "†" in found:
        yield small("† Within 2% of what the base case costs: too close to call.")


def _known(results: pd.DataFrame, job: PortfolioJob) -> Iterator[str]:
    left = {name for names in results["defaults"] for name in str(names).split("; ")}
    invented = sorted(left & demo_columns(job))
    if invented:
        yield f"Invented demo figures stand for: {cut(', '.join(invented).replace('_', ' '), 240)}."
    told = (f"{one.title} {one.value} ({one.source})" for one in beside_columns(job))
    yield f"Counted for every roof: {'; '.join(told)}."
    if bad := job.intake.bad_rows:
        rows = "1 row" if len(bad) == 1 else f"{len(bad):,} rows"
        named = [cut_middle(one.name or f"row {one.record}", SHORT) for one in bad]
        yield f"{rows} of the table could not be used, in no figure here: {some_of(named, BAD)}."
    yield f"Net savings hold the energy bills. {BESIDE_METERS}."
