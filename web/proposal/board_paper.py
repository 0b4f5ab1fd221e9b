"""The board's two pages for a portfolio: what is done when, what waits, and what that costs."""

import textwrap
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import pandas as pd

from api.portfolio.defaults import beside_columns, demo_columns
from api.portfolio.job import PortfolioJob, cautions
from lcc.caution_texts import BRIEF
from lcc.figures import some_of
from lcc.model_notes import BESIDE_METERS
from lcc.portfolio.condition import MUST_BY, NOT_BEFORE, TO_DO
from lcc.portfolio.plan_tables import BASE_CASE, BEGINS, PATCHING, CapitalPlan
from lcc.portfolio.rank_notes import MANY, TOO_CLOSE
from lcc.portfolio.ranking import MOST_NAMED, CapitalProgramme, MustUndone, best_rows
from web.format import money, said
from web.portfolio_words import NAME, lead_in_words, plan_in_words, roofs, saved
from web.proposal.blocks import Block, blanks, bullets, heading, page, small, table, text
from web.proposal.cut_names import cut, cut_middle
from web.proposal.letter import sentences
from web.proposal.typesetting import typeset

LARGEST = 10
WAITING = 10  # roofs that wait, named one by one
WORKS = 14  # of a plan, named one by one
MUSTS = 4  # roofs that must, or must not, be done, named one by one
YEARS = 10  # of a plan, listed one by one
LEAST = 3  # lines of a table that has to give way
FIRST_WORKS = 8  # lines of what is proposed
FIRST, FEWEST = 110, 56  # letters of a caution, where there is room and where there is little
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
    """Return what the template prints: always two pages."""
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
    headline, *more = lead_in_words(whole, results, job.budget)
    if whole.plan:
        yield text(_in_one_sentence(whole.plan))
    yield text(headline, "open" if whole.must_undone else "")
    for words in (" ".join(more), " ".join(plan_in_words(whole, results))):
        if words:
            yield text(words)
    if whole.plan:
        if musts := " ".join(_musts(results, whole.plan)):
            yield text(musts)
        carry_over = job.query.carry_over == "yes"
        if short := " ".join(_short(results, whole, whole.plan, carry_over)):
            yield text(short)
        yield from _by_year(whole.plan)
        yield from _works(whole.plan, results, job.base.base_case.name)
    yield heading("Sources of money")
    yield small(_to_find(whole.plan))
    yield blanks(SOURCES)


def _in_one_sentence(plan: CapitalPlan) -> str:
    """What the board is asked to agree to: how many roofs, by when, for how much."""
    counts = _counts(plan)
    begun = sum(count for (_, new), count in counts.items() if new)
    spent = sum(one.spent for one in plan.years)
    first, last = (plan.calendar(plan.years[place].year) for place in (0, -1))
    return (f"Proposed: {roofs(begun)} begun in {first} to {last} for {said(spent)} in all, later "
            "work and patching in these years included.")  # fmt: skip


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
    """Which other must-do roofs lack money, which no plan can do, and years that begin no roof."""
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
    begun = {one.year for one in plan.work if one.what in (BEGINS, BASE_CASE)}
    idle = [plan.calendar(one.year) for one in plan.years if one.year not in begun]
    if idle and plan.work:
        yield (f"No roof is begun in {', '.join(map(str, idle))}: what is spent then is patching "
               "and later work.")  # fmt: skip


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


def _to_find(plan: CapitalPlan | None) -> str:
    """What the plan takes, whose sources are for the board to name."""
    told = "The board names the sources; the tool knows the budget and nothing else."
    if plan is None:
        return told
    spent, given = (sum(years) for years in zip(*((y.spent, y.budget) for y in plan.years),
                                                strict=True))  # fmt: skip
    return (f"The plan spends {said(spent)} of {money(given)} over {len(plan.years)} years, in "
            f"the money of each year. {told}")  # fmt: skip


def _by_year(plan: CapitalPlan) -> Iterator[Block]:
    yield heading("By year, money of each year")
    counts = _counts(plan)
    rows = [
        (str(plan.calendar(one.year)), money(one.budget), money(one.spent), money(one.carried_over),
         str(counts.get((one.year, True), 0)), str(counts.get((one.year, False), 0)),
         money(one.unfunded))
        for one in plan.years[:YEARS]
    ]  # fmt: skip
    yield table(
        [("Year", 0.5, "left"), ("Budget", 1.0, "right"), ("Spent", 1.0, "right"),
         ("Carried over", 1.0, "right"), ("New roofs begun", 0.8, "right"),
         ("Other work, patching", 0.9, "right"), ("Not paid for", 1.0, "right")],
        rows,
    )  # fmt: skip
    more = len(plan.years) - YEARS
    if more > 0:
        yield small(f"{more} more year{'s' * (more > 1)}: see the ranking’s own files.")
    yield table(
        [("Further money each year", 1.0, "left"), ("Net savings of the plan", 1.0, "right"),
         ("Work put off", 1.0, "right"), ("Not paid for", 1.0, "right")],
        ((money(one.further_a_year), saved(one), money(one.deferred), money(one.unfunded))
         for one in plan.trade_off),
        least=2, of=len(plan.trade_off), rest="sums of further money",
    )  # fmt: skip


def _works(plan: CapitalPlan, results: pd.DataFrame, base: str) -> Iterator[Block]:
    yield heading("What is proposed, by year")
    works = sorted((one for one in plan.work if one.what != PATCHING),
                   key=lambda one: (one.year, -one.cost))  # fmt: skip
    if not works:
        yield text("No roof in these years: the money pays for none, or none is due.")
        return
    marks = {(one["building"], one["alternative"]): _marks(one)
             for one in results.to_dict("records")}  # fmt: skip
    shown = [(one, marks.get((one.building, one.alternative), "")) for one in works[:WORKS]]
    yield table(
        [("Year", 0.4, "left"), ("Roof", 2.2, "left"), ("Work", 2.0, "left"),
         ("Cost", 0.8, "right"), ("Net savings", 0.8, "right")],
        (
            (str(plan.calendar(one.year)), cut_middle(one.name, NAME),
             cut(one.alternative or base, NAME), money(one.cost),
             f"{money(one.net_savings)}{mark}" if one.alternative else "")
            for one, mark in shown
        ),
        least=FIRST_WORKS, of=len(works),
        rest=f"pieces of work, the last in {plan.calendar(works[-1].year)}",
    )  # fmt: skip
    yield from _marked(mark for _, mark in shown)


def _counts(plan: CapitalPlan) -> Mapping[tuple[int, bool], int]:
    return Counter((one.year, one.what in (BEGINS, BASE_CASE)) for one in plan.work)


def _rest(results: pd.DataFrame, whole: CapitalProgramme, job: PortfolioJob) -> Iterator[Block]:
    if whole.plan:
        yield from _waiting(whole.plan)
    yield from _largest(results, whole.plan)
    yield heading("What to know")
    yield text(" ".join(_known(results, job)))
    yield from _cautions(results)


def _cautions(results: pd.DataFrame) -> Iterator[Block]:
    told = cautions(results)
    yield small(
        f"All {len(told)} cautions of these roofs, in short; the ranking’s files and "
        "each roof’s own proposal have them whole."
    )
    every = results["building"].nunique()
    named, brief = (list(_named(told, letters, every)) for letters in (FIRST, FEWEST))
    yield {**bullets(named, columns=2), "brief": brief}


def _named(told: Iterable[Mapping[str, Any]], letters: int, every: int) -> Iterator[str]:
    """Each caution in short, those of most roofs first, for how many if not all, whose figures."""
    found: dict[str, int] = {}
    figures: dict[str, list[str]] = {}
    for one in told:
        words = BRIEF.get(one["text"]) or first_words(one["text"], letters)
        found[words] = found.get(words, 0) + one["buildings"]
        whose = f"figures of {cut_middle(one['figures_of'] or '', SHORT)}"
        figures[words] = [whose] * bool(one["figures_of"] and any(map(str.isdigit, words)))
    for words, number in sorted(found.items(), key=lambda one: -one[1]):
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


def _waiting(plan: CapitalPlan) -> Iterator[Block]:
    yield heading("What waits, and what that costs")
    if not plan.deferred:
        yield text("No roof waits past the year in which it falls due.")
        return
    yield text(
        f"{roofs(len(plan.deferred)).capitalize()} due in these years are put off: "
        f"{said(plan.deferred_cost)} of work, {said(plan.patching)} of patching due meanwhile and "
        f"{said(plan.leak_risk)} of leak damage to expect with it done, all in the money of each "
        "year."
    )
    worst = sorted(plan.deferred, key=lambda one: -(one.patching + one.leak_risk))
    yield table(
        [("Roof", 2.4, "left"), ("Due", 0.5, "right"), ("Done", 0.7, "right"),
         ("Work put off", 1.0, "right"), ("Patching due", 0.9, "right"),
         ("Leak damage to expect", 1.1, "right")],
        (
            (cut_middle(one.name, NAME), str(plan.calendar(one.due_year)),
             "later" if one.done_year is None else str(plan.calendar(one.done_year)),
             money(one.cost), money(one.patching), money(one.leak_risk))
            for one in worst[:WAITING]
        ),
        least=LEAST, of=len(worst), rest="roofs that wait",
    )  # fmt: skip


def _largest(results: pd.DataFrame, plan: CapitalPlan | None) -> Iterator[Block]:
    """The best alternatives that save, the largest first costs first; of a plan, those not in it.

    So no proposal stands both here and among those by year.
    """
    best = best_rows(results)
    if plan:
        best = best[~best["building"].isin(results["building"][results["planned_year"].notna()])]
    rows = best.nlargest(LARGEST, "first_cost", keep="first").to_dict("records")
    yield heading("Left out of the plan: the largest roofs that would save"
                  if plan else "The largest proposals, by first cost")  # fmt: skip
    if not rows:
        yield text("None: the plan begins every roof that saves." if plan else "No roof saves.")
        return
    done = {one.building: f"base case, {plan.calendar(one.year)}" for one in plan.work
            if one.what == BASE_CASE} if plan else {}  # fmt: skip
    yield table(
        [("Rank", 0.4, "left"), ("Roof", 2.0, "left"), ("Alternative", 1.7, "left"),
         ("First cost", 0.9, "right"), ("Net savings", 0.9, "right"),
         ("Instead", 0.9, "right") if plan else ("", 0.1, "right")],
        (
            ("" if pd.isna(row["rank"]) else f"{row['rank']:.0f}",
             cut_middle(str(row["name"]), NAME), cut(str(row["alternative"]), NAME),
             money(row["first_cost"]), f"{money(row['net_savings'])}{_marks(row)}",
             done.get(row["building"], "no new roof") if plan else "")
            for row in rows
        ),
        least=LEAST, of=len(best),
        rest="roofs that would save, not in the plan" if plan else "proposals that save",
    )  # fmt: skip
    yield from _marked(map(_marks, rows))


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
