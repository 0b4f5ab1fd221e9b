"""The page of a portfolio: a file dropped, rows as they come, charts, a building opened."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, current_app, render_template, request, url_for

from api import service, strict_json
from api.client_shares import TakenPlace
from api.jobs.changed_terms import WhatIf, answered
from api.jobs.job_folder import DONE
from api.jobs.job_routes import may_be_a_job
from api.jobs.job_runner import job_at_hand, runner, send
from api.limits import MOST_TABLE, MOST_UPLOAD
from api.portfolio.defaults import defaults_taken
from api.portfolio.job import Means, PortfolioJob, settled
from api.portfolio.portfolio_requests import read_job
from api.portfolio.portfolio_routes import attached, csv_file, enter, stream, xlsx_file
from api.portfolio.query import PortfolioQuery, money, sums
from api.portfolio.tables_out import Cell
from api.portfolio.workbook import SHEETS
from api.problems import Problem
from api.requests import json_answer, read_body
from lcc.case.fields import facts_of
from lcc.portfolio.columns import columns
from web.charts.svg import draw
from web.portfolio_answer import answer
from web.portfolio_events import events, finished
from web.portfolio_mapping import meanings
from web.portfolio_table import frame_of, rows, titles
from web.proposal.board_paper import board_pdf
from web.proposal.document import PDF

blueprint = Blueprint("portfolio", __name__, url_prefix="/portfolio")
# Without a script the whole answer is waited for: more rows than this take too long for that.
MOST_AT_ONCE = 300
MOST_ON_PAPER = 1000  # rows, a few seconds of a wait
MOST_CELLS = 2_000_000


@blueprint.get("")
def portfolio() -> Response:
    """Show the page, nothing computed."""
    return page({"units": "ip"})


def page(entered: Mapping[str, str], status: int = 200, **shown: Any) -> Response:
    """Return the page with what was entered, and the answer or the problem with it."""
    empty: dict[str, Any] = {"job": None, "answer": None, "problem": None, "pictures": {},
                             "results": [], "defaults": ()}  # fmt: skip
    html = render_template(
        "portfolio.html",
        entered=entered,
        titles=titles("si" if entered.get("units") == "si" else "ip"),
        kept_h=f"{current_app.config['JOBS_KEPT_H']:g}",
        needed=[column.name for column in columns() if column.required],
        meanings=meanings(),
        **(empty | shown),
    )
    return Response(html, status, mimetype="text/html")


def entered_query() -> PortfolioQuery:
    """Return what the form asks for, its empty entries left out."""
    given = {
        name: value for name, value in request.form.items() if name in facts_of(PortfolioQuery)
    }
    return _query(given)


def _query(given: Mapping[str, Any]) -> PortfolioQuery:
    query: PortfolioQuery = service.read(PortfolioQuery, given, "si")
    return query


def _place() -> TakenPlace:
    """Take a place for the table of the request, once it is read."""
    request.max_content_length = MOST_UPLOAD
    return enter()


@blueprint.post("")
def compute() -> Response:
    """Compute a portfolio and show it whole, for browsers without a script."""
    with _place():
        try:
            job = read_job(request, entered_query())
            if job.intake.rows > MOST_AT_ONCE:
                detail = f"Without a script at most {MOST_AT_ONCE} rows are computed at once."
                raise Problem("too-many-rows", detail)
            for _ in job.run():
                pass
            return _whole(job)
        except Problem as problem:
            return page(request.form, problem.status, problem=problem)


def _whole(job: PortfolioJob) -> Response:
    final, whole = job.finished
    found = answer(final, whole, job.query.system, job.budget)
    return page(
        request.form,
        job=job,
        answer=found,
        pictures={figure.key: draw(figure) for figure in found.figures},
        results=sorted(
            rows(final, job.query.system, whole.plan), key=lambda row: row["rank"] or float("inf")
        ),
        defaults=defaults_taken(job),
    )


@blueprint.post("/run")
@may_be_a_job
def run() -> Response:
    """Compute a portfolio, telling rows, progress and now and then the charts, line by line."""
    place = _place()
    try:
        job = read_job(request, entered_query())
    except BaseException:
        place.leave()
        raise
    done = request.form.get("done", "")
    if done.isdecimal() and len(done) < 9:  # a page that goes on holds the results before
        rest = job.intake.frame[job.intake.frame.index > int(done)]
        job.intake, job.yearly = replace(job.intake, frame=rest), []
    return stream(events(job), place)


@blueprint.post("/what-if/<name>")
def what_if(name: str) -> Response:
    """Rank the roofs of a job again at other terms, with the charts and words of that."""
    wanted, system, _ = service.load(WhatIf, strict_json.loads(read_body(request)))
    with enter():
        found = answered(runner().folder.job(name), wanted, system)
        budget = [*sums("budget", wanted.budget, 1), None][0]
        told = list(finished(*found, system, budget))
        return json_answer(told)


@blueprint.post("/board.pdf")
def board() -> Response:
    """Compute a portfolio and typeset its two pages for a board; `terms` are those of a what-if."""
    with _place():
        job = read_job(request, entered_query())
        if request.form.get("done"):  # the parts of a run that went on are of its last rows alone
            job.means = Means()
        if job.intake.rows > MOST_ON_PAPER and not job_at_hand():
            detail = f"The page makes paper for at most {MOST_ON_PAPER:,} rows; the command is "
            raise Problem("too-many-rows", f"{detail}roof-lcc portfolio roofs.csv --out board.pdf.")
        if (kept := job_at_hand()) and (terms := request.args.get("terms")):
            wanted, system, _ = service.load(WhatIf, strict_json.loads(terms.encode()))
            job = replace(job, query=replace(job.query, budget=wanted.budget))
            return attached(board_pdf(*answered(kept, wanted, system), job), PDF, "board.pdf")
        for _ in job.run():
            pass
        return attached(board_pdf(*job.finished, job), PDF, "board.pdf")


@blueprint.post("/jobs/<name>/board.pdf")
def board_of_job(name: str) -> Response:
    """Typeset the two pages of a job that has ended, at the terms of a what-if where sent."""
    kept = runner().folder.job(name)
    if kept.state.state != DONE:
        raise Problem("not-found", f"The job is {kept.state.state}: it has no results to print.")
    with kept.body.open("rb") as body:
        terms = read_body(request).decode() or None
        where = url_for("portfolio.board")
        query = urlencode({"terms": terms}) if terms else ""
        state = replace(kept.state, address=where, query=query, accept="*/*")
        paper, status, headers = send(current_app, state, body, kept)
        return Response(b"".join(paper), status, headers)


@blueprint.post("/so-far")
def so_far() -> Response:
    """Answer from the results that a stopped page holds: ranks, the budget's set, charts."""
    request.max_content_length = MOST_TABLE
    payload = strict_json.loads(read_body(request))
    if not isinstance(payload, dict):
        raise Problem("invalid-input", "What is so far is one object with results.")
    query = _query({name: value for name, value in payload.items() if name != "results"})
    with enter():
        found = settled(frame_of(payload.get("results"), query.system), None, query)
        told = list(finished(*found, query.system, money(query)[0]))
        return json_answer(told)


@blueprint.post("/table")
def table() -> Response:
    """Return sheets of rows that the page holds, as XLSX, or the first of them as CSV."""
    request.max_content_length = MOST_TABLE
    payload = strict_json.loads(read_body(request))
    sheets = _sheets_of(payload)
    name = "plan" if next(iter(sheets)) == "Plan" else "ranking"
    if payload.get("format") == "xlsx":
        return xlsx_file(sheets, name)
    return csv_file(next(iter(sheets.values())), name)


def _sheets_of(payload: Any) -> dict[str, list[list[Cell]]]:
    """Return sheets of known names, or refuse them."""
    found = payload.get("sheets") if isinstance(payload, dict) else None
    if not isinstance(found, dict) or not found or not set(found) <= set(SHEETS):
        raise Problem("invalid-input", f"Sheets are named {', '.join(SHEETS)}.")
    if sum(len(row) for sheet in found.values() for row in _checked(sheet)) > MOST_CELLS:
        raise Problem("too-many-rows", f"At most {MOST_CELLS:,} cells.")
    return {name: found[name] for name in SHEETS if name in found}


def _checked(sheet: Any) -> list[list[Cell]]:
    """Return a list of lists of texts, numbers and nulls, or refuse it."""
    if not isinstance(sheet, list) or not all(isinstance(row, list) for row in sheet):
        raise Problem("invalid-input", "A table is rows of cells.")
    plain = all(
        cell is None or (isinstance(cell, str | int | float) and not isinstance(cell, bool))
        for row in sheet
        for cell in row
    )
    if not plain:
        raise Problem("invalid-input", "A cell is a text, a number or null.")
    return sheet
