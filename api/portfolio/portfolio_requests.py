"""A request that carries a portfolio: a table as body or form part, or JSON rows."""

import shutil
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import asdict, replace
from datetime import date
from tempfile import SpooledTemporaryFile
from typing import IO, Any, BinaryIO, cast

import flask
from werkzeug.exceptions import RequestEntityTooLarge

from api import problems, service, strict_json
from api.jobs.job_runner import asked_of_a_table, job_at_hand, means_of
from api.limits import MOST_BODY_BYTES, MOST_JSON, MOST_UPLOAD, time_limit
from api.portfolio.intake import Intake, from_rows, from_table
from api.portfolio.job import Means, PortfolioJob
from api.portfolio.mapping import TableMapping, as_document, from_text, propose, report
from api.portfolio.query import PortfolioQuery
from api.portfolio.reading.any_table import ARCHIVE, NO_TABLE, open_table, owners_table
from api.portfolio.reading.fault_kinds import RowFault, TableError, TooManyRows, refuse, shorten
from api.portfolio.reading.row_check import Checker
from api.portfolio.tables_out import XLSX
from api.problems import Problem
from api.requests import read_body, to_its_end
from lcc.case import Case
from lcc.case.case_document import unknown_name
from lcc.case.document_values import named
from lcc.errors import MOST_LISTED, CaseError
from lcc.portfolio.rows import template
from lcc.units import SYSTEMS

IN_MEMORY = 1 << 20
NDJSON = "application/x-ndjson"
TABLES = ("text/csv", "text/plain", "text/tab-separated-values", "application/octet-stream", XLSX)
_RECEIVED = "roof_lcc.portfolio_body"
FORM_PARTS = ("file", "case", "mapping")
_NO_FILE = (
    "The form has no file, or its boundary is another than its Content-Type says; send the table "
    "as its part file, with a file name."
)
_NAMES = {413: "body-too-large", 415: "media-type"}


def read_job(request: flask.Request, query: PortfolioQuery) -> PortfolioJob:
    """Return the job that a request asks for, its buildings read and checked.

    Raises
    ------
    Problem
        With every fault of the file as a whole; faults of rows are part of the job.
    """
    if request.mimetype == "application/json":
        request.max_content_length = MOST_JSON
        body = read_body(request)
        with _limited():
            return _job_of_rows(strict_json.loads(body), query)
    with table_of(request, query) as checker:
        intake = from_table(checker)
        return PortfolioJob(intake, _case_part(request), query, _means(intake))


def _means(intake: Intake) -> Means:
    job = job_at_hand()
    return means_of(job, intake.must_refused) if job else Means()


def _limited() -> AbstractContextManager[None]:
    """Bound the reading of what has arrived by the service's time limit."""
    return time_limit(flask.current_app.config["TIME_LIMIT_S"])


def _job_of_rows(payload: Any, query: PortfolioQuery) -> PortfolioJob:
    if not isinstance(payload, dict):
        raise Problem("invalid-input", "A portfolio in JSON is one object with rows.")
    query = _in_units(payload, query)
    try:
        intake = from_rows(payload.get("rows"), query.system)
    except TableError as error:
        raise as_problem(error) from None
    return PortfolioJob(intake, _case_member(payload.get("case")), query, _means(intake))


def _in_units(payload: dict[str, Any], query: PortfolioQuery) -> PortfolioQuery:
    """The query in the body's own units; a query that states other units is refused."""
    members = ["units", "rows", "case"]
    places = [((name,), unknown_name(name, members)) for name in payload if name not in members]
    units = payload.get("units", query.units)
    asked = "units" in flask.request.args
    if units not in SYSTEMS or (asked and units != query.units):
        allowed = f"{query.units}, as the query says" if asked else f"one of {', '.join(SYSTEMS)}"
        detail = f"Units are {named(units)}; allowed: {allowed}."
        rule = "consistency" if units in SYSTEMS else "key"
        places.append((("units",), CaseError("", units, allowed, detail=detail, rule=rule)))
    if places:
        raise problems.invalid(places, payload)
    return replace(query, units=units)


def _case(payload: object) -> Case:
    """The case behind all rows, for what a row does not say; its site and roof are not used."""
    return template() if payload is None else service.load_case(payload).case


def _case_member(payload: object) -> Case:
    """The case inside a body or form, whose faults have their places there."""
    try:
        return _case(payload)
    except Problem as problem:
        errors = [
            {**error, "pointer": "#/case" + error["pointer"].removeprefix("#")}
            for error in problem.errors
        ]
        raise Problem(problem.name, problem.detail, errors) from None


def _case_part(request: flask.Request) -> Case:
    part = _part(request, "case")
    if not part:
        return _case(None)
    try:
        payload = strict_json.loads(part)
    except Problem as problem:
        detail = f"The part of the form that is named case is no exact JSON. {problem.detail}"
        fault = {"detail": problem.detail, "pointer": "#/case", "rule": "json"}
        raise Problem("invalid-input", detail, problem.errors or (fault,)) from None
    return _case_member(payload)


@contextmanager
def table_of(request: flask.Request, query: PortfolioQuery) -> Iterator[Checker]:
    """Give the checker of the table that a request carries.

    Raises
    ------
    Problem
        For a table that is refused, at once or while it is read.
    """
    pass_over = query.unknown_columns == "pass-over"
    try:
        with _file(request) as file, _limited():
            mapping = _mapping_part(request)
            yield open_table(file, query.system, query.decimal, pass_over, mapping)
    except TableError as error:
        raise as_problem(error) from None


def _mapping_part(request: flask.Request) -> TableMapping | None:
    part = _part(request, "mapping")
    return from_text(part) if part else None


def _part(request: flask.Request, name: str) -> bytes:
    """Return a part of a form, sent as a text or as a file; empty without it."""
    if request.mimetype != "multipart/form-data":
        return b""
    if file := request.files.get(name):
        sent = file.stream.read(MOST_BODY_BYTES + 1)
        file.stream.seek(0)
        if len(sent) > MOST_BODY_BYTES:
            raise RequestEntityTooLarge
        return sent
    return request.form.get(name, "").encode()


def check_parts(request: flask.Request) -> None:
    """Refuse a form with a part that nothing reads, or one that is sent twice."""
    if request.mimetype != "multipart/form-data" or asked_of_a_table():
        return
    sent = [name for held in (request.form, request.files) for name, _ in held.items(multi=True)]
    for name in sent:
        if name not in FORM_PARTS:
            allowed = ", ".join(FORM_PARTS)
            called = (name or "")[:60]  # a part may have no name at all
            detail = f"The form has a part {called!r}, which is not known; its parts: {allowed}."
            raise Problem("bad-request", detail)
        if sent.count(name) > 1:
            raise Problem("bad-request", f"The form has the part {name} twice; send it once.")


def mapping_of(request: flask.Request, query: PortfolioQuery) -> dict[str, Any]:
    """Return the mapping that a request's table most likely needs, or has, and what it makes.

    Raises
    ------
    Problem
        For a table that is refused, or a mapping that cannot be used.
    """
    try:
        with _file(request) as file, _limited():
            given = _mapping_part(request)
            table = owners_table(file, query.decimal, given)
            mapping = given or propose(table, query.system, date.today().year)
            return {
                "read_as": table.read_as,
                "mapping": as_document(mapping),
                "report": report(table, mapping),
            }
    except TableError as error:
        raise as_problem(error) from None


@contextmanager
def _file(request: flask.Request) -> Iterator[BinaryIO]:
    if request.mimetype == "multipart/form-data":
        part = request.files.get("file")
        if part is None:
            raise Problem("bad-request", _NO_FILE)
        _refuse_no_workbook(part.stream, str(part.filename).lower().endswith(".xlsx"))
        yield cast("BinaryIO", part.stream)
        return
    if request.mimetype not in TABLES:
        given = f"{request.mimetype[:60]!a}" if request.mimetype else "not given"
        allowed = ", ".join((*TABLES, "application/json", "multipart/form-data"))
        raise Problem("media-type", f"The media type of the body is {given}; send {allowed}.")
    receive(request)
    with request.environ[_RECEIVED] as file:
        _refuse_no_workbook(file, request.mimetype == XLSX)
        yield cast("BinaryIO", file)


def _refuse_no_workbook(file: IO[bytes], stated: bool) -> None:
    """Refuse what is sent as a workbook and does not begin as one, or as another known file."""
    file.seek(0)
    if stated and not file.read(4).startswith((*ARCHIVE, *NO_TABLE)):
        raise refuse("a .xlsx workbook; this one is damaged, or is text to be sent as text/csv")


def receive(request: flask.Request) -> None:
    """Read the whole body of a request, to be parsed later, however slowly it arrives."""
    if _RECEIVED in request.environ:
        return
    request.environ[_RECEIVED] = None
    if request.mimetype == "application/json":
        read_body(request, keep=True)
        return
    request.max_content_length = MOST_UPLOAD
    if request.mimetype == "multipart/form-data":
        with to_its_end():
            request.files  # noqa: B018 (a form is read when its files are first asked for)
    elif request.mimetype in TABLES:
        file = SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 (closed by who reads it)
        flask.after_this_request(lambda response: _closed(file, response))
        request.environ[_RECEIVED] = file
        with to_its_end():
            shutil.copyfileobj(request.stream, file)


def _closed(file: IO[bytes], response: flask.Response) -> flask.Response:
    """Close a body that a refusal may have left open."""
    file.close()
    return response


def as_problem(error: TableError) -> Problem:
    """Return the problem document of a table that is refused."""
    name = _NAMES.get(error.status, "invalid-input")
    if isinstance(error, TooManyRows):
        name = "too-many-rows"
    many = len(error.faults)
    detail = f"The table cannot be read: {many} fault{'s' if many > 1 else ''}."
    return Problem(name, detail, [_listed(fault) for fault in error.faults[:MOST_LISTED]])


def _listed(fault: RowFault) -> dict[str, Any]:
    """Return a fault as an entry of a problem: its words, and its place where it has one."""
    place = {name: value for name, value in asdict(fault).items() if value and name != "rule"}
    if "value" in place:
        place["value"] = shorten(str(place["value"]))
    return {"detail": str(fault), "allowed": fault.rule, "rule": "table", **place}
