"""The addresses of jobs: a request kept with ``Prefer: respond-async``, its state, its answer."""

import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import wraps
from typing import Annotated, Any, BinaryIO

import flask
from flask import Blueprint, Response, current_app, request, url_for

from api.jobs.job_folder import BODY, ENDED, RESULT, RUNNING, JobState, KeptJob
from api.jobs.job_runner import job_at_hand, runner, send
from api.limits import MOST_UPLOAD
from api.portfolio.portfolio_requests import NDJSON
from api.portfolio.query import PortfolioQuery
from api.problems import Problem, later
from api.requests import NoQuery, View, accepts, client_at_hand, json_answer, query, to_its_end
from lcc.case.fields import Choice

PORTFOLIOS = "/v1/portfolios"
ASYNC = "respond-async"  # RFC 7240, section 4.1
READ = 64 << 10
LOOK_AT_JOB_S = 0.2
ASK_AGAIN_S = 2
blueprint = Blueprint("jobs", __name__, url_prefix="/v1/jobs")


def may_be_a_job(view: View) -> View:
    """Keep a request that asks for it as a job, in place of answering it at once."""

    @wraps(view)
    def kept(*arguments: Any, **named: Any) -> Response:
        wanted = {each.strip() for each in request.headers.get("Prefer", "").split(",")}
        if ASYNC not in wanted or job_at_hand():
            return view(*arguments, **named)
        return accept()

    return kept


def accept() -> Response:
    """Keep the request at hand as a job and tell where it is."""
    request.max_content_length = MOST_UPLOAD
    own = runner()
    with to_its_end():
        job = own.folder.submit(
            request.stream,  # type: ignore[arg-type]
            address=request.path,
            query=request.query_string.decode("latin-1"),
            content_type=request.content_type or "",
            accept=request.headers.get("Accept", "*/*"),
            client=client_at_hand(),
            prefix=request.root_path,
        )
    own.wake()
    state = job.state
    response = _state(state)
    response.status_code = 202
    response.headers["Location"] = url_for("jobs.state", name=state.id)
    response.headers["Preference-Applied"] = ASYNC
    return response


def _state(state: JobState, kept: bool = True) -> Response:
    document = {
        "id": state.id,
        "state": state.state,
        "submitted": state.submitted,
        "done": state.done,
        "of": state.of,
        "ready": kept and (state.state in ENDED or _is_followed(state)),
        "ended": state.ended or None,
        "kept_until": runner().folder.kept_until(state) if kept else None,
        "result": url_for("jobs.result", name=state.id),
    }
    response = json_answer(document)
    response.headers["Cache-Control"] = "no-store"
    if state.state not in ENDED:
        response.headers["Retry-After"] = str(ASK_AGAIN_S)
    return response


@blueprint.get("/<name>")
@query(NoQuery)
def state(_: NoQuery, name: str) -> Response:
    """Tell how far a job is."""
    runner().wake()
    return _state(runner().folder.job(name).state)


@blueprint.delete("/<name>")
@query(NoQuery)
def cancel(_: NoQuery, name: str) -> Response:
    """End a job; one that has ended is removed, with what it was sent."""
    job = runner().folder.job(name)
    state = job.state
    if state.state in ENDED:
        job.remove()
        return _state(state, kept=False)
    job.cancel()
    return _state(job.state)


@blueprint.get("/<name>/result")
@query(NoQuery)
def result(_: NoQuery, name: str) -> Response:
    """Serve the answer of a job; lines of events also while it is made, as they come."""
    job = runner().folder.job(name)
    state = job.state
    if state.state in ENDED:
        return _whole(job, state)
    if _is_followed(state):
        return _answer(job, NDJSON)
    raise later("not-ready", f"The job is {state.state}; ask again.", ASK_AGAIN_S)


@dataclass(frozen=True)
class TableOfJobQuery(PortfolioQuery):
    """What else to answer of the table that a job was sent."""

    show: Annotated[str, Choice(
        "What to answer", ("check", "bad-rows", "case", "mapping"),
        help="As of a portfolio; nothing is computed.")] = "check"  # fmt: skip


@blueprint.get("/<name>/table")
@query(TableOfJobQuery)
def table(_: TableOfJobQuery, name: str) -> Response:
    """Answer something else of the table that a job was sent, as if it were sent again."""
    job = runner().folder.job(name)
    # The page of a portfolio has an address of its own; its jobs keep the parts of one too.
    if job.state.address != PORTFOLIOS and not job.parts.is_dir():
        raise Problem("not-found", "This job was sent no table of roofs.")
    with job.opened(BODY) as body:
        asked = request.query_string.decode("latin-1")
        state = replace(
            job.state, address=PORTFOLIOS, query=asked, accept="*/*", prefix=request.root_path
        )
        answer, status, headers = send(current_app, state, body)
        return Response(b"".join(answer), status, headers)


def _is_followed(state: JobState) -> bool:
    """Whether the answer can be read while it is made."""
    return state.state == RUNNING and state.media_type.startswith(NDJSON)


def _whole(job: KeptJob, state: JobState) -> Response:
    if not job.result.is_file() or not state.status:
        raise Problem("not-found", f"The job was {state.state} before it had an answer.")
    kind = state.media_type.partition(";")[0]
    if state.status < 400 and not accepts(kind):
        detail = (
            f"The answer of this job is {kind}, as its request accepted; send the request again "
            "with the Accept that is wanted."
        )
        raise Problem("not-acceptable", detail)
    response = _answer(job, state.media_type)
    response.status_code = state.status
    with suppress(FileNotFoundError):  # the open file can be read though the job is removed
        response.content_length = job.result.stat().st_size
    if state.disposition:
        response.headers["Content-Disposition"] = state.disposition
    return response


def _answer(job: KeptJob, media_type: str) -> Response:
    file = job.opened(RESULT)  # once open it can be read even if the job is removed
    lines = flask.stream_with_context(_followed(job, file))
    response = Response(lines, content_type=media_type)
    response.headers["Cache-Control"] = "no-store"
    response.call_on_close(file.close)
    return response


def _followed(job: KeptJob, file: BinaryIO) -> Iterator[bytes]:
    """Yield an answer as it grows, until its job has ended or is removed."""
    with file:
        while True:
            try:  # looked at before reading, so that no line is missed
                ended = job.state.state in ENDED
            except Problem:
                ended = True
            while piece := file.read(READ):
                yield piece
            if ended:
                return
            time.sleep(LOOK_AT_JOB_S)
