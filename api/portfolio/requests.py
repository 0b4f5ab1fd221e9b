"""A request that carries a portfolio: a table as body or form part, or JSON rows."""

from __future__ import annotations

import shutil
from dataclasses import asdict
from tempfile import SpooledTemporaryFile
from typing import Any, BinaryIO, cast

import flask

from api import service, strict_json
from api.portfolio.check import Checker
from api.portfolio.faults import Fault, TableError, shorten
from api.portfolio.intake import Intake, from_rows, from_table
from api.portfolio.job import Job, Wish
from api.portfolio.reading import open_table
from api.problems import MOST_LISTED, Problem
from lcc.case import Case
from lcc.portfolio.rows import template

MOST_UPLOAD = 64 << 20
IN_MEMORY = 1 << 20
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
TABLES = ("text/csv", "text/plain", "text/tab-separated-values", "application/octet-stream", XLSX)
_NAMES = {413: "body-too-large", 415: "media-type"}


def read_job(request: flask.Request, wish: Wish) -> Job:
    """Return the job that a request asks for, its buildings read and checked.

    Raises
    ------
    Problem
        With every fault of the file as a whole; faults of rows are part of the job.
    """
    request.max_content_length = MOST_UPLOAD
    try:
        intake, case = _intake(request, wish)
    except TableError as error:
        raise as_problem(error) from None
    return Job(intake, case, wish)


def _intake(request: flask.Request, wish: Wish) -> tuple[Intake, Case]:
    if request.mimetype == "application/json":
        payload = strict_json.loads(request.get_data(cache=False))
        if not isinstance(payload, dict):
            raise Problem("invalid-input", "A portfolio in JSON is one object with rows.")
        return from_rows(payload.get("rows"), _units(payload, wish)), _case(payload.get("case"))
    return from_table(checker(request, wish)), _case_part(request)


def _units(payload: dict[str, Any], wish: Wish) -> Any:
    """The body's own units, which must be those of the reply."""
    unknown = sorted(set(payload) - {"units", "rows", "case"})
    if unknown:
        raise _unusable("/" + unknown[0], "one of units, rows, case", "unknown-name")
    if payload.get("units", wish.units) != wish.units:
        raise _unusable("/units", f"{wish.units}, as the query says", "consistency")
    return wish.system


def _unusable(pointer: str, allowed: str, rule: str) -> Problem:
    error = {"detail": f"allowed: {allowed}", "pointer": "#" + pointer, "rule": rule}
    return Problem("invalid-input", "1 value cannot be used.", [error])


def _case(payload: object) -> Case:
    """What a row does not say: a case document, whose site and roof stand for no building."""
    return template() if payload is None else service.load_case(payload).case


def _case_part(request: flask.Request) -> Case:
    part = request.form.get("case") or None
    return _case(None if part is None else strict_json.loads(part.encode()))


def checker(request: flask.Request, wish: Wish) -> Checker:
    """Return the checker of the table that a request carries."""
    return open_table(
        _file(request), wish.system, wish.decimal, wish.unknown_columns == "pass-over"
    )


def _file(request: flask.Request) -> BinaryIO:
    if request.mimetype == "multipart/form-data":
        part = request.files.get("file")
        if part is None:
            raise Problem("bad-request", "The form has no file named file.")
        return cast("BinaryIO", part.stream)
    if request.mimetype not in TABLES:
        given = f"{request.mimetype[:60]!a}" if request.mimetype else "not given"
        allowed = ", ".join((*TABLES, "application/json", "multipart/form-data"))
        raise Problem("media-type", f"The media type of the body is {given}; send {allowed}.")
    file = SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 (read on after this returns)
    shutil.copyfileobj(request.stream, file)
    return cast("BinaryIO", file)


def as_problem(error: TableError) -> Problem:
    """Return the problem document of a table that is refused."""
    name = _NAMES.get(error.status, "invalid-input")
    many = len(error.faults)
    detail = f"The table cannot be read: {many} fault{'s' if many > 1 else ''}."
    return Problem(name, detail, [_listed(fault) for fault in error.faults[:MOST_LISTED]])


def _listed(fault: Fault) -> dict[str, Any]:
    """Return a fault as an entry of a problem: its words, and its place where it has one."""
    place = {name: value for name, value in asdict(fault).items() if value and name != "rule"}
    if "value" in place:
        place["value"] = shorten(str(place["value"]))
    return {"detail": str(fault), "allowed": fault.rule, "rule": "table", **place}
