"""The page's table of results, read and written: cells, titles, and rows that come back."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from api.portfolio import results_out
from api.problems import Problem
from lcc.case.fields import Facts, case_name
from lcc.portfolio.outcome import Outcome, as_frame
from lcc.portfolio.plan_tables import BASE_CASE, CapitalPlan
from lcc.portfolio.rank_notes import own_defaults
from lcc.portfolio.ranking import YEAR_COLUMNS, Ranked
from lcc.units import System, to_core, unit
from web import format as fmt

# The columns of the page's table: member of a result, title, kind of quantity. What decides comes
# first, so that it is seen without scrolling sideways.
COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("rank", "Rank", "count"),
    ("name", "Roof", ""),
    ("net_savings_per_cost", "Savings per dollar", "ratio"),
    ("net_savings", "Net savings", "money"),
    ("alternative", "Alternative", ""),
    ("first_cost", "First cost", "money"),
    ("discounted_payback", "Payback, years", "years"),
    ("in_budget", "In budget", ""),
    ("planned_year", "Plan year", "count"),
    ("must", "Must or must not", ""),
    ("savings_to_investment", "SIR", "ratio"),
    ("energy_cost_saved", "Energy bill saved a year, mean of the study period", "money"),
    ("base_work_year", "Due in, years", "count"),
    ("age", "Age", "years"),
    ("roof_area", "Area", "area"),
    ("climate", "Climate", ""),
    ("defaults", "Left to defaults, beyond what all roofs leave", ""),
)
# Where there is no figure, the member that says why; beside a figure it is a warning.
NOTES = {
    "rank": "rank_note",
    "savings_to_investment": "savings_to_investment_note",
    "discounted_payback": "payback_note",
}
LARGEST = 1e15  # sums of figures this large are still numbers


def titles(system: System) -> list[dict[str, str]]:
    """Return the titles of the page's table: member, words, kind."""
    area = f", {unit('area', system).display}"
    return [{"name": name, "title": title + (area if kind == "area" else ""), "kind": kind}
            for name, title, kind in COLUMNS]  # fmt: skip


def cells(row: dict[str, Any]) -> list[str]:
    """Return a result as the page's table shows it: figures, or the reason why there is none."""
    return [_cell(row, name, kind) for name, _, kind in COLUMNS]


def _cell(row: dict[str, Any], name: str, kind: str) -> str:
    value, note = row.get(name), row.get(NOTES.get(name, ""))
    if isinstance(value, str):
        return value
    if not note:
        return fmt.shown(value, kind)
    return str(note) if value is None else f"{fmt.shown(value, kind)}; {note}"


def rows(
    results: pd.DataFrame, system: System, plan: CapitalPlan | None = None
) -> Iterator[dict[str, Any]]:
    """Yield results with their cells for the page's table."""
    documents = results_out.documents(results, Ranked, system)
    renewed = _renewed(plan) if plan else {}
    for row, own in zip(documents, own_defaults(results), strict=True):
        year = row.get("planned_year")
        calendar = plan.calendar if plan else int
        when = renewed.get(row["building"]) if year is None else str(calendar(year))
        yield {**row, "cells": cells({**row, "defaults": own, "planned_year": when})}


def _renewed(plan: CapitalPlan) -> dict[int, str]:
    """Return when the plan does the base case's work, by row of the roof."""
    works = (one for one in plan.work if one.what == BASE_CASE)
    return {one.building: f"{plan.calendar(one.year)}, base case" for one in works}


def columns_out(system: System) -> list[dict[str, str]]:
    """Return the columns of a ranking that is taken away: member, title with its unit.

    Columns of years say so: the page makes them those of the calendar.
    """
    names = [case_name(name, facts) for name, facts in results_out.shown(Ranked).items()]
    return [
        {"name": name, "title": title, "year": "yes" if name in YEAR_COLUMNS else ""}
        for name, title in zip(names, results_out.titles(Ranked, system), strict=True)
    ] + [{"name": results_out.NOTE, "title": results_out.NOTE}]


def frame_of(documents: Any, system: System) -> pd.DataFrame:
    """Return results as `evaluate` gave them, from the rows that the page was sent.

    Parameters
    ----------
    documents : list of dict
        As of `api.portfolio.results_out.documents`; members that no result has are passed over.
    system : {"ip", "si"}
        Unit system of their figures.

    Raises
    ------
    Problem
        If they are anything else.
    """
    facts = results_out.shown(Outcome)
    if not isinstance(documents, list) or not all(isinstance(row, dict) for row in documents):
        raise _no_results()
    found = [
        Outcome(
            **{
                name: _core(row.get(case_name(name, one)), one, system)
                for name, one in facts.items()
            },
            cautions=_texts(row.get("cautions")),
        )
        for row in documents
    ]
    if any(row.building is None or row.name is None for row in found):
        raise _no_results()
    return as_frame(found)


def _core(value: Any, facts: Facts, system: System) -> Any:
    if value is None:
        return None
    if facts.type not in ("quantity", "whole"):
        if not isinstance(value, str):
            raise _no_results()
        return value
    if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > LARGEST:
        raise _no_results()
    return int(value) if facts.type == "whole" else to_core(float(value), facts.kind, system)


def _texts(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(text, str) for text in value):
        raise _no_results()
    return tuple(value)


def _no_results() -> Problem:
    return Problem("invalid-input", "Results are objects of figures and texts, as they were sent.")
