"""The events sent to the page of a portfolio: rows, progress, views, the plan."""

import time
from collections.abc import Iterator
from typing import Any

import pandas as pd
from flask import render_template
from markupsafe import Markup

from api.portfolio import results_out, workbook
from api.portfolio.defaults import defaults_taken
from api.portfolio.job import PortfolioJob, settled
from lcc.portfolio.ranking import CapitalProgramme, programme
from lcc.units import System
from web.portfolio_answer import PortfolioAnswer, answer
from web.portfolio_table import columns_out, rows

VIEW_EVERY_S = 2.0
# A view of many rows takes a while itself: at most one part in ten of the time goes to views.
TIMES = 10


def events(job: PortfolioJob) -> Iterator[dict[str, Any]]:
    """Yield the API's events, results as the page's cells, and views of what is there so far.

    A plan is worked out last, after ranks and the budget's set are sent, so that a page that
    stops there keeps them.
    """
    yield {"event": "start", **job.head(), **_about(job)}
    yield from _computed(job)
    if job.yearly and job.intake.good:
        final, whole = settled(job.results, None, job.query)
        yield from finished(final, whole, job.query.system, job.budget, job)
        yield from _planning(job)
    yield from finished(*job.finished, job.query.system, job.budget, job)
    yield {"event": "end"}


def _about(job: PortfolioJob) -> dict[str, Any]:
    """Return what the page tells of the table and needs for its downloads."""
    return {
        "plan_years": len(job.yearly),
        "first_year": job.intake.year,
        "defaults": [list(line) for line in defaults_taken(job)],
        "columns": columns_out(job.query.system),
        "dictionary": list(results_out.dictionary(job.query.system)),
    }


def _computed(job: PortfolioJob) -> Iterator[dict[str, Any]]:
    due = time.monotonic() + VIEW_EVERY_S
    for frame in job.run():
        found = frame.assign(rank=None, rank_note=None, in_budget=None, planned_year=None)
        for row in rows(found, job.query.system):
            yield {"event": "result", **row}
        yield {"event": "progress", "done": frame.attrs["done"], "of": job.intake.good}
        if time.monotonic() > due:
            began = time.monotonic()
            yield _view(answer(job.results, programme(job.results), job.query.system, None))
            took = time.monotonic() - began
            due = began + max(VIEW_EVERY_S, TIMES * took)


def _planning(job: PortfolioJob) -> Iterator[dict[str, Any]]:
    """Tell again and again that the plan is being worked out, until it is there."""
    began = time.monotonic()
    for done in job.finish():
        seconds = round(time.monotonic() - began)
        yield {"event": "planning", "done": done, "of": job.intake.good, "seconds": seconds}


def finished(
    final: pd.DataFrame,
    whole: CapitalProgramme,
    system: System,
    budget: float | None,
    job: PortfolioJob | None = None,
) -> Iterator[dict[str, Any]]:
    """Yield ranked results with what their downloads hold beside them, and the view of them."""
    results, more = list(rows(final, system, whole.plan)), dict[str, Any]()
    if job is None:
        more = {"sheets": workbook.of_terms(final, whole, system)}
    else:
        for row, note in zip(results, workbook.invented(final, job), strict=True):
            row["note"] = note
        more = {"sheets": workbook.beside(final, whole, job), "below": list(workbook.below(job))}
    yield {"event": "ranked", "results": results, **more}
    yield _view(answer(final, whole, system, budget))


def _view(found: PortfolioAnswer) -> dict[str, Any]:
    parts = {name: Markup(render_template(f"portfolio_{name}.html", answer=found, pictures={}))
             for name in ("answer", "rests")}  # fmt: skip
    charts = {figure.key: {"spec": figure.spec, "data": figure.data} for figure in found.figures}
    return {"event": "view", "html": parts["answer"], "rests": parts["rests"], "charts": charts}
