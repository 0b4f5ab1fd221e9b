"""The addresses of portfolios: results as stream, document or table, and templates to fill."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import flask
from flask import Blueprint, Response, current_app, request

from api import service
from api.client_shares import Places, TakenPlace
from api.handlers import failure
from api.jobs.job_routes import may_be_a_job
from api.jobs.job_runner import job_at_hand
from api.limits import MOST_JSON
from api.portfolio import results_out, table_template, workbook
from api.portfolio.job import PortfolioJob
from api.portfolio.portfolio_requests import (
    NDJSON,
    as_problem,
    check_parts,
    mapping_of,
    read_job,
    receive,
    table_of,
)
from api.portfolio.query import PortfolioQuery
from api.portfolio.reading.fault_kinds import TableError
from api.portfolio.tables_out import XLSX, Cell, as_csv, as_xlsx
from api.problems import Problem
from api.requests import NoQuery, answers_as, client_at_hand, json_answer, query
from lcc import tables
from lcc.case.fields import Choice
from lcc.units import SYSTEMS

REPLIES = ("application/json", NDJSON, "text/csv", XLSX)
blueprint = Blueprint("portfolios", __name__, url_prefix="/v1/portfolios")


@dataclass(frozen=True)
class HelpQuery:
    """The query of the template, the data dictionary and the demo portfolio."""

    units: Annotated[str, Choice("Units", SYSTEMS, help="Of the columns.")] = "ip"
    format: Annotated[str, Choice("Format", ("csv", "xlsx"))] = "csv"


@blueprint.post("")
@answers_as(*REPLIES)
@query(PortfolioQuery)
@may_be_a_job
def post_portfolios(query: PortfolioQuery) -> Response:
    """Compute a portfolio; the media types that the request accepts say in what form."""
    if request.mimetype == "application/json":
        request.max_content_length = MOST_JSON
    place = enter("portfolio_streams" if query.show in ("results", "notes") else "portfolio_checks")
    try:
        check_parts(request)
        return answer(query, place)
    except BaseException:
        place.leave()
        raise


def enter(kind: str = "portfolio_streams") -> TakenPlace:
    """Take one of the places for portfolios, or raise the problem that there is none.

    The body is read first, so a slow upload cannot hold a place. Requests that compute nothing
    have their own places, "portfolio_checks".
    """
    places: Places = current_app.extensions["portfolio_jobs" if job_at_hand() else kind]
    client = client_at_hand()
    places.look(client)
    receive(request)
    return places.take(client)


def answer(query: PortfolioQuery, place: TakenPlace) -> Response:
    """Return the answer to this request; only a stream keeps its place afterwards."""
    media_type = request.accept_mimetypes.best_match(REPLIES, REPLIES[0])
    if query.show == "results" and media_type == NDJSON:
        return stream(usable_job(query).events(), place)
    response = _whole(query, media_type)
    place.leave()
    return response


def usable_job(query: PortfolioQuery) -> PortfolioJob:
    """Return the job of the request at hand; without one good row it is refused."""
    job = read_job(request, query)
    if not job.intake.good:
        raise as_problem(TableError(job.intake.faults))
    return job


def _whole(query: PortfolioQuery, media_type: str) -> Response:
    if query.show == "bad-rows":
        return _bad_rows(query)
    if query.show == "mapping":
        return json_answer(mapping_of(request, query))
    if query.show in ("check", "case"):
        job = read_job(request, query)
        return json_answer(job.head() if query.show == "check" else job.case())
    job = usable_job(query)
    if query.show == "results" and media_type in ("application/json", NDJSON):
        return json_answer(job.document())
    return _tables(query, job, media_type)


def _tables(query: PortfolioQuery, job: PortfolioJob, media_type: str) -> Response:
    for _ in job.run():
        pass
    final, programme = job.finished
    if query.show == "notes":
        return csv_file(workbook.notes(final, job), "notes")
    if media_type == "text/csv":
        return csv_file(workbook.one_table(final, job), "ranked")
    return xlsx_file(workbook.sheets(final, programme, job), "ranked")


def stream(events: Iterator[dict[str, Any]], place: TakenPlace) -> Response:
    """Return events as lines of JSON, each sent as soon as it is known; a failure is an event."""
    response = Response(flask.stream_with_context(_lines(events, place)), mimetype=NDJSON)
    response.call_on_close(place.leave)  # a stream that was never begun does not close itself
    return response


def _lines(events: Iterator[dict[str, Any]], place: TakenPlace) -> Iterator[bytes]:
    try:
        for event in events:
            yield service.to_json(event) + b"\n"
    except Exception as error:  # the status is sent already: a failure can only be one more line
        problem = error if isinstance(error, Problem) else failure(error)
        yield service.to_json({"event": "problem", **problem.document(request.root_path)}) + b"\n"
    finally:
        place.leave()


def _bad_rows(query: PortfolioQuery) -> Response:
    with table_of(request, query) as checker:
        return csv_file(table_template.bad_rows(checker), "bad-rows", checker.table.delimiter)


def csv_file(rows: Iterable[Sequence[Cell]], name: str, delimiter: str = ",") -> Response:
    """Return rows as a CSV that is saved under a name."""
    return attached(as_csv(rows, delimiter), "text/csv; charset=utf-8", f"{name}.csv")


def xlsx_file(sheets: Mapping[str, Iterable[Sequence[Cell]]], name: str) -> Response:
    """Return sheets as a spreadsheet that is saved under a name."""
    return attached(as_xlsx(sheets), XLSX, f"{name}.xlsx")


def attached(body: bytes, media_type: str, name: str) -> Response:
    """Return a file that is saved under a name."""
    response = Response(body, content_type=media_type)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _help(name: str, rows: Callable[[Any], Iterator[list[Cell]]]) -> Any:
    @query(HelpQuery)
    def view(wanted: HelpQuery) -> Response:
        made = rows(wanted.units)
        return csv_file(made, name) if wanted.format == "csv" else xlsx_file({"Roofs": made}, name)

    view.__doc__ = f"Serve the {name.replace('-', ' ')} as a table."
    return view


for _name, _rows in {
    "template": table_template.template_rows,
    "dictionary": table_template.dictionary_rows,
    "results-dictionary": results_out.dictionary,
}.items():
    blueprint.add_url_rule(f"/{_name}", _name, _help(f"portfolio-{_name}", _rows))


@blueprint.get("/demo")
@query(NoQuery)
def demo(_: NoQuery) -> Response:
    """Serve the demo portfolio, invented, as it is."""
    text = tables.read_text("demo/portfolio.csv").encode()
    return attached(text, "text/csv; charset=utf-8", "demo-portfolio.csv")
