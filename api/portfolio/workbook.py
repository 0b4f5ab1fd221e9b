"""A ranking as tables that stand alone: sheets, or one table with its notes below."""

from collections.abc import Iterable, Iterator
from dataclasses import fields
from typing import Any

import pandas as pd

from api.portfolio import results_out
from api.portfolio.defaults import Taken, defaults_taken, demo_columns
from api.portfolio.intake import BadRow
from api.portfolio.job import PortfolioJob, cautions
from api.portfolio.reading.headers import with_unit
from api.portfolio.results_out import NOTE
from api.portfolio.tables_out import Cell
from lcc import units
from lcc.case.fields import case_name, facts_of
from lcc.model_notes import NOTES
from lcc.portfolio.plan_tables import CapitalPlan
from lcc.portfolio.rank_notes import own_defaults
from lcc.portfolio.ranking import YEAR_COLUMNS, CapitalProgramme, Ranked, best_rows
from lcc.portfolio.totals_and_drivers import GroupTotal, group_totals

Table = Iterator[list[Any]]
_PARTS = {
    "Money by year": "years",
    "Plan": "work",
    "Deferred": "deferred",
    "Not paid for": "fails",
    "Further money": "trade_off",
}
_YEARS = ("year", "due_year", "done_year")
# In the order of a workbook.
SHEETS = ("Ranking", "Groups", *_PARTS, "Bad rows", "Defaults", "Cautions", "Columns")


def sheets(
    final: pd.DataFrame, programme: CapitalProgramme, job: PortfolioJob
) -> dict[str, Iterable[list[Any]]]:
    """Return the sheets of a ranking, those that hold anything, in the order of `SHEETS`."""
    system = job.query.system
    found: dict[str, Iterable[list[Any]]] = {
        "Ranking": one_table(final, job, bad_rows=False),
        **beside(final, programme, job),
        "Columns": results_out.dictionary(system),
    }
    return {name: found[name] for name in SHEETS if name in found}


def beside(
    final: pd.DataFrame, programme: CapitalProgramme, job: PortfolioJob
) -> dict[str, list[list[Any]]]:
    """Return the sheets that go with a ranking: plan, groups, bad rows, defaults, cautions."""
    taken = defaults_taken(job)
    found: dict[str, list[list[Any]]] = {
        **of_terms(final, programme, job.query.system),
        "Bad rows": list(_bad_rows(job.intake.bad_rows)),
        "Defaults": list(_defaults(taken)),
        "Cautions": [["text", "figures_of", "roofs"], *_cautions(final), *([one] for one in NOTES)],
    }
    return {name: rows for name, rows in found.items() if len(rows) > 1}


def of_terms(
    final: pd.DataFrame, programme: CapitalProgramme, system: units.System
) -> dict[str, list[list[Any]]]:
    """Return the sheets that a what-if changes: groups and plan."""
    return {"Groups": list(_groups(final, system)), **plan_sheets(programme.plan)}


def plan_sheets(plan: CapitalPlan | None) -> dict[str, list[list[Any]]]:
    """Return the tables of a plan; their figures are money and counts in every system."""
    found: dict[str, list[list[Any]]] = {}
    if plan is None:
        return found
    for name, part in _PARTS.items():
        rows = getattr(plan, part)
        if rows:
            names = [field.name for field in fields(rows[0])]
            found[name] = [names, *([_dated(plan, row, one) for one in names] for row in rows)]
    return found


def _dated(plan: CapitalPlan, row: object, name: str) -> Any:
    """Return a cell of a plan, with calendar years where they are known."""
    value = getattr(row, name)
    return plan.calendar(value) if name in _YEARS and value is not None else value


def one_table(final: pd.DataFrame, job: PortfolioJob, bad_rows: bool = True) -> Iterator[list[Any]]:
    """Yield a ranking as one table: results, then rows that were not used.

    What all rows leave to defaults stands with the notes, what a row alone leaves in the row. A
    row that was not used has its faults under `problem`. The `note` of a result
    names its invented figures; `notes` hold what applies to all. Years are of the
    calendar where a mapping says which is year 0, as in the sheets of the plan.
    """
    system = job.query.system
    yield [*results_out.titles(Ranked, system), NOTE]
    dated = {name: final[name] + (job.intake.year or 0) for name in YEAR_COLUMNS}
    own = final.assign(defaults=own_defaults(final), **dated)
    noted = zip(results_out.rows(own, Ranked, system), invented(final, job), strict=True)
    yield from ([*row, note] for row, note in noted)
    yield from below(job) if bad_rows else ()


def invented(final: pd.DataFrame, job: PortfolioJob) -> Iterator[str]:
    """Yield for each result which of the defaults that it rests on are invented."""
    demo = demo_columns(job)
    for names in final["defaults"]:
        own = [one for one in str(names).split("; ") if one in demo]
        yield f"demo figures: {', '.join(own)}" if own else ""


def below(job: PortfolioJob) -> Table:
    """Yield what stands below the results in one table: rows that were not used."""
    titles = results_out.titles(Ranked, job.query.system)
    for bad in job.intake.bad_rows:
        known: dict[str, Cell] = {"building": bad.record, "name": bad.name, "problem": bad.told}
        yield [*(known.get(title) for title in titles), "not used"]


def notes(final: pd.DataFrame, job: PortfolioJob) -> Table:
    """Yield what a ranking rests on as one table: defaults with bases, cautions, the columns."""
    yield ["kind", "subject", "text", "source", "rows"]
    for one in defaults_taken(job):
        yield ["default", one.title, one.value, one.source, one.rows]
    yield from (["caution", None, text, of, count] for text, of, count in _cautions(final))
    yield from (["note", None, text, None, None] for text in NOTES)
    for title, meaning, unit in list(results_out.dictionary(job.query.system))[1:]:
        yield ["column", title, meaning, unit, None]


def _groups(final: pd.DataFrame, system: units.System) -> Table:
    """Yield the sums of campuses and buildings in the units of the request."""
    facts = facts_of(GroupTotal)
    yield [with_unit(case_name(n, one), one.kind, system) for n, one in facts.items()]
    for total in group_totals(final, best_rows(final)):
        values = [getattr(total, name) for name in facts]
        yield [
            units.from_core(value, one.kind, system) if one.type == "quantity" else value
            for value, one in zip(values, facts.values(), strict=True)
        ]


def _bad_rows(rows: Iterable[BadRow]) -> Table:
    yield ["row", "line", "name", "faults"]
    yield from ([one.record, one.line, one.name, one.told] for one in rows)


def _defaults(taken: Iterable[Taken]) -> Table:
    yield ["column", "taken", "source", "rows"]
    yield from ([*one] for one in taken)


def _cautions(final: pd.DataFrame) -> list[list[Any]]:
    return [[one["text"], one["figures_of"], one["buildings"]] for one in cautions(final)]
