"""The page of a portfolio: a file dropped, rows as they come, charts, a building opened."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from io import BytesIO
from typing import Any

from flask import Blueprint, Response, render_template, request
from markupsafe import Markup

from api import schemas, strict_json
from api.portfolio.job import Job
from api.portfolio.requests import MOST_UPLOAD, XLSX, read_job
from api.portfolio.routes import enter, stream
from api.portfolio.tables_out import Cell, csv_lines, write_xlsx
from api.portfolio.wish import Wish
from api.problems import Problem
from api.requests import read_body
from lcc.case.fields import facts_of
from lcc.portfolio.columns import columns
from web.charts.svg import draw
from web.portfolio_answer import PortfolioAnswer, answer, rows, titles

blueprint = Blueprint("portfolio", __name__, url_prefix="/portfolio")
VIEW_EVERY_S = 2.0
# A view of many rows takes a while itself: at most one part in ten of the time goes to views.
TIMES = 10
# Without a script the whole answer is waited for: more rows than this take too long for that.
MOST_AT_ONCE = 300
MOST_TABLE = 32 << 20
MOST_CELLS = 2_000_000


@blueprint.get("")
def portfolio() -> Response:
    """Show the page, nothing computed."""
    return page({"units": "ip"})


def page(entered: Mapping[str, str], status: int = 200, **shown: Any) -> Response:
    """Return the page with what was entered, and the answer or the problem with it."""
    empty: dict[str, Any] = {
        "job": None,
        "answer": None,
        "problem": None,
        "pictures": {},
        "results": [],
    }
    html = render_template(
        "portfolio.html",
        entered=entered,
        titles=titles("si" if entered.get("units") == "si" else "ip"),
        needed=[column.name for column in columns() if column.required],
        **(empty | shown),
    )
    return Response(html, status, mimetype="text/html")


def entered_wish() -> Wish:
    """Return what the form asks for, its empty entries left out."""
    given = {name: value for name, value in request.form.items() if name in facts_of(Wish)}
    wish: Wish = schemas.load(schemas.schema_for(Wish, "si")(), given)
    return wish


@blueprint.post("")
def compute() -> Response:
    """Compute a portfolio and show it whole, for browsers without a script."""
    request.max_content_length = MOST_UPLOAD
    place = enter()
    try:
        job = read_job(request, entered_wish())
        if job.intake.rows > MOST_AT_ONCE:
            detail = f"Without a script at most {MOST_AT_ONCE} rows are computed at once."
            raise Problem("too-many-rows", detail)
        for _ in job.run():
            pass
        return _whole(job)
    except Problem as problem:
        return page(request.form, problem.status, problem=problem)
    finally:
        place.leave()


def _whole(job: Job) -> Response:
    found = answer(job, final=True)
    results = sorted(
        rows(job.finished[0], job.wish.system), key=lambda row: row["rank"] or float("inf")
    )
    pictures = {figure.key: draw(figure) for figure in found.figures}
    return page(request.form, job=job, answer=found, pictures=pictures, results=results)


@blueprint.post("/run")
def run() -> Response:
    """Compute a portfolio, telling rows, progress and now and then the charts, line by line."""
    request.max_content_length = MOST_UPLOAD
    place = enter()
    try:
        job = read_job(request, entered_wish())
    except BaseException:
        place.leave()
        raise
    return stream(events(job), place)


def events(job: Job) -> Iterator[dict[str, Any]]:
    """Yield the API's events, results as the page's cells, and views of what is there so far."""
    due = time.monotonic() + VIEW_EVERY_S
    yield {"event": "start", **job.head()}
    for frame in job.run():
        found = frame.assign(rank=None, in_budget=None, planned_year=None)
        for row in rows(found, job.wish.system):
            yield {"event": "result", **row}
        yield {"event": "progress", "done": frame.attrs["done"], "of": job.intake.good}
        if time.monotonic() > due:
            began = time.monotonic()
            yield _view(answer(job, final=False))
            took = time.monotonic() - began
            due = began + max(VIEW_EVERY_S, TIMES * took)
    final = job.finished[0]
    yield {"event": "ranked", "results": list(rows(final, job.wish.system))}
    yield _view(answer(job, final=True))
    yield {"event": "end"}


def _view(found: PortfolioAnswer) -> dict[str, Any]:
    html = render_template("portfolio_answer.html", answer=found, pictures={})
    charts = {figure.key: {"spec": figure.spec, "data": figure.data} for figure in found.figures}
    return {"event": "view", "html": Markup(html), "charts": charts}


@blueprint.post("/table")
def table() -> Response:
    """Return rows that the page holds as CSV or XLSX, in the page's order and units."""
    request.max_content_length = MOST_TABLE
    payload = strict_json.loads(read_body(request))
    found = _rows_of(payload)
    if payload.get("format") == "xlsx":
        file = BytesIO()
        write_xlsx(file, {"Ranking": found})
        return _attached(file.getvalue(), XLSX, "ranking.xlsx")
    body = "\ufeff" + "".join(csv_lines(found))
    return _attached(body.encode(), "text/csv; charset=utf-8", "ranking.csv")


def _rows_of(payload: Any) -> list[list[Cell]]:
    """Return a list of lists of texts, numbers and nulls, or refuse it."""
    found = payload.get("rows") if isinstance(payload, dict) else None
    if not isinstance(found, list) or not all(isinstance(row, list) for row in found):
        raise Problem("invalid-input", "A table is rows of cells.")
    if sum(map(len, found)) > MOST_CELLS:
        raise Problem("too-many-rows", f"At most {MOST_CELLS:,} cells.")
    plain = all(
        cell is None or (isinstance(cell, str | int | float) and not isinstance(cell, bool))
        for row in found
        for cell in row
    )
    if not plain:
        raise Problem("invalid-input", "A cell is a text, a number or null.")
    return found


def _attached(body: bytes, media_type: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(body, content_type=media_type, headers=headers)
