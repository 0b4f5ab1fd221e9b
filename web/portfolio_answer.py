"""The answer to a portfolio as the page shows it: words, key figures, charts, rows of text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from api.portfolio import results_out
from api.portfolio.job import Job, cautions
from api.units import System, unit
from lcc.cost.cautions import NOTES
from lcc.portfolio.ranking import Programme, Ranked, programme
from web import format as fmt
from web.charts.figure import Figure
from web.charts.portfolio import Roofs, figures

# The columns of the page's table: member of a result, title, kind of quantity.
COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("rank", "Rank", "count"),
    ("name", "Roof", ""),
    ("climate", "Climate", ""),
    ("roof_area", "Area", "area"),
    ("age", "Age", "years"),
    ("base_work_year", "Due in year", "count"),
    ("alternative", "Alternative", ""),
    ("first_cost", "First cost", "money"),
    ("net_savings", "Net savings", "money"),
    ("net_savings_per_cost", "Savings per dollar", "ratio"),
    ("savings_to_investment", "SIR", "ratio"),
    ("discounted_payback", "Payback, years", "years"),
    ("in_budget", "In budget", ""),
    ("planned_year", "Plan year", "count"),
)


@dataclass(frozen=True)
class Key:
    """One key figure under the headline."""

    label: str
    text: str
    note: str = ""


@dataclass(frozen=True)
class PortfolioAnswer:
    """What the answer's template needs."""

    headline: str
    more: str
    keys: tuple[Key, ...]
    figures: tuple[Figure, ...]
    programme: Programme
    cautions: tuple[dict[str, Any], ...]
    notes: tuple[str, ...]


def titles(system: System) -> list[dict[str, str]]:
    """Return the titles of the page's table: member, words, kind."""
    found = []
    for name, title, kind in COLUMNS:
        bare = unit(kind, system).display if kind == "area" else ""
        words = f"{title}, {bare}" if bare else title
        found.append({"name": name, "title": words, "kind": kind})
    return found


def cells(row: dict[str, Any]) -> list[str]:
    """Return a result as the page's table shows it."""
    return [_cell(row.get(name), kind) for name, _, kind in COLUMNS]


def _cell(value: Any, kind: str) -> str:
    if isinstance(value, str):
        return value
    return fmt.shown(value, kind)


def rows(results: pd.DataFrame, system: System) -> Iterator[dict[str, Any]]:
    """Yield results with their cells for the page's table."""
    for row in results_out.documents(results, Ranked, system):
        yield {**row, "cells": cells(row)}


def answer(job: Job, *, final: bool) -> PortfolioAnswer:
    """Return the answer from all results, or from those that are there so far."""
    if final:
        results, whole = job.finished
    else:
        results = job.results
        whole = programme(results)
    system = job.wish.system
    budget = job.budget[0] if job.budget else None
    return PortfolioAnswer(
        headline=_headline(whole, results),
        more=_more(whole, budget),
        keys=_keys(whole, system),
        figures=figures(Roofs.of(results, system, budget if final else None)),
        programme=whole,
        cautions=tuple(cautions(results)),
        notes=NOTES,
    )


def _headline(whole: Programme, results: pd.DataFrame) -> str:
    best, done = whole.worthwhile, results["building"].nunique()
    if not best.buildings:
        return f"None of {done:,} roofs has an alternative that costs less than its base case."
    roofs = "roof costs" if best.buildings == 1 else "roofs cost"
    return (
        f"{best.buildings:,} of {done:,} {roofs} less with an alternative: "
        f"{fmt.shown(best.net_savings, 'money')} of net savings for "
        f"{fmt.shown(best.first_cost, 'money')} of first cost."
    )


def _more(whole: Programme, budget: float | None) -> str:
    chosen = whole.in_budget
    if chosen is None or budget is None:
        return ""
    proof = "proved the best set"
    if chosen.shortfall:
        proof = f"a better set might save {fmt.shown(chosen.shortfall, 'money')} more"
    return (
        f"Under a budget of {fmt.shown(budget, 'money')}: {chosen.buildings:,} roofs for "
        f"{fmt.shown(chosen.first_cost, 'money')}, saving "
        f"{fmt.shown(chosen.net_savings, 'money')}; {proof}."
    )


def _keys(whole: Programme, system: System) -> tuple[Key, ...]:
    best = whole.in_budget or whole.worthwhile
    which = "in the best set under the budget" if whole.in_budget else "best alternatives that save"
    area, mass = unit("area", system), unit("mass", system)
    roof_area = fmt.shown(best.roof_area_m2 / area.factor, "area")
    emissions = fmt.shown(best.emissions_saved_kg / mass.factor, "mass")
    return (
        Key("Roofs", f"{best.buildings:,}", f"{roof_area} {area.display}, {which}"),
        Key("First cost", fmt.shown(best.first_cost, "money"), "base-year money"),
        Key("Net savings", fmt.shown(best.net_savings, "money"), "present value"),
        Key("Energy bill", fmt.shown(best.energy_cost_saved, "money"), "saved, mean of a year"),
        Key("CO₂", f"{emissions} {mass.display}", "saved, mean of a year"),
    )
