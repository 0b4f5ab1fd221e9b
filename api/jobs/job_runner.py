"""Runs the jobs of a service one after the other, in a thread of each of its processes."""

import atexit
import os
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Event, Lock, Thread
from typing import BinaryIO

from flask import Flask, current_app, g, has_request_context, request
from werkzeug.datastructures import Headers
from werkzeug.test import EnvironBuilder, run_wsgi_app

from api import service
from api.jobs.job_folder import (
    CANCELLED,
    DONE,
    ENDED,
    FAILED,
    MOST_ATTEMPTS,
    RUNNING,
    JobFolder,
    JobState,
    KeptJob,
)
from api.limits import Calculations
from api.portfolio.job import Means
from api.portfolio.partitions import fingerprint, kept_in, open_folder, replace_file
from api.portfolio.plan_kept import KeptPlan
from api.problems import MEDIA_TYPE, Problem

LOOK_FOR_JOBS_S = 1.0
TELL_EVERY_S = 0.5
GIVE_WAY_S = 1.0  # after each part of a job, at most, to comparisons in hand
# What a request is that a job makes: the job itself, found here by the views that it reaches.
JOB = "roof_lcc.job"
_TOO_OFTEN = "The service ended in the middle of this job too often; it is not tried again."


def job_at_hand() -> KeptJob | None:
    """Return the job whose request this is, or None for a request of a client."""
    found: KeptJob | None = request.environ.get(JOB)
    return found


def asked_of_a_table() -> bool:
    """Tell whether the request asks again of the table that a job was sent, maybe by a page."""
    return JOB in request.environ and job_at_hand() is None


def means_of(job: KeptJob, must_refused: str) -> Means:
    """Return the means of a portfolio in a job: parts are kept, and progress is reported.

    `must_refused`, which must-do roofs have rows that cannot be used, is kept for a what-if.
    """
    name = fingerprint(job.body.read_bytes(), job.state.query, job.state.content_type)
    open_folder(job.parts, name)
    replace_file(job.must_refused, must_refused)
    plan = KeptPlan(job.parts / "plan.json", name)
    return Means(kept=kept_in(job.parts, name), keep_ways=True, told=_telling(job), plan=plan)


def _telling(job: KeptJob) -> Callable[[int, int], None]:
    due = time.monotonic()
    calculations: Calculations = current_app.extensions["calculations"]

    def told(done: int, of: int) -> None:
        nonlocal due
        if job.is_cancelled:
            raise Problem("not-ready", "The job was cancelled.")
        if time.monotonic() >= due or done == of:
            due = time.monotonic() + TELL_EVERY_S
            job.change(done=done, of=of)
        calculations.give_way("comparisons", GIVE_WAY_S)

    return told


class JobRunner:
    """The thread that runs jobs; it begins with the first job, after the server's fork."""

    def __init__(self, app: Flask, folder: JobFolder) -> None:
        self.app = app
        self.folder = folder
        self._wake = Event()
        self._lock = Lock()
        self._thread: Thread | None = None

    def wake(self) -> None:
        """Look for jobs now."""
        with self._lock:
            if self._thread is None:
                self._thread = Thread(target=self._run, name="jobs", daemon=True)
                self._thread.start()
        self._wake.set()

    def go_on(self) -> None:
        """Take up the jobs that an ended process left; the application must be whole by then."""
        if any(state.state not in ENDED for _, state in self.folder.jobs()):
            self.wake()

    def _run(self) -> None:
        while True:
            self.folder.tidy()
            for job, _ in self.folder.jobs():
                # On a disk too full for its state a job stays, and is looked at again; one may be
                # removed meanwhile.
                with suppress(OSError, Problem), job.held() as own:
                    if own and job.state.state not in ENDED:
                        run(self.app, job)
            self._wake.wait(LOOK_FOR_JOBS_S)
            self._wake.clear()


def run(app: Flask, job: KeptJob) -> None:
    """Run a job to its end: its request is answered as any other, and the answer is kept."""
    state = job.state
    if job.is_cancelled or state.attempts >= MOST_ATTEMPTS:
        _refuse(job)
        return
    state = job.change(state=RUNNING, attempts=state.attempts + 1)
    try:
        status = _answered(app, job, state)
    except OSError:  # the disk is full
        job.result.unlink(missing_ok=True)
        job.end(FAILED)
        return
    job.end(CANCELLED if job.is_cancelled else DONE if status < 400 else FAILED)


def _refuse(job: KeptJob) -> None:
    if job.is_cancelled:
        job.end(CANCELLED)
        return
    problem = Problem("internal-error", _TOO_OFTEN)
    job.result.write_bytes(service.to_json(problem.document(job.state.prefix)))
    job.end(FAILED, status=problem.status, media_type=MEDIA_TYPE)


def _answered(app: Flask, job: KeptJob, state: JobState) -> int:
    """Make the request of a job, keep its answer, and return its status."""
    with job.body.open("rb") as body:
        answer, status, headers = send(app, state, body, job)
        code = int(status.split()[0])
        kind, name = headers.get("Content-Type", ""), headers.get("Content-Disposition", "")
        job.result.touch()  # a state that says it can be read finds the file
        job.change(status=code, media_type=kind, disposition=name)
        _keep(job, answer)
    return code


def send(
    app: Flask, state: JobState, body: BinaryIO, job: KeptJob | None = None
) -> tuple[Iterable[bytes], str, Headers]:
    """Send the request of a job to the application itself; return answer, status and headers.

    With `job`, the views know that they work for it.
    """
    own = [("X-Request-ID", g.request_id)] if has_request_context() else []
    made = EnvironBuilder(
        state.address, method="POST", query_string=state.query, input_stream=body,
        content_type=state.content_type, headers=[("Accept", state.accept), *own],
    ).get_environ()  # fmt: skip
    own_size = {"CONTENT_LENGTH": str(os.fstat(body.fileno()).st_size)}
    behind = {"SCRIPT_NAME": state.prefix}
    return run_wsgi_app(app.wsgi_app, {**made, **own_size, **behind, JOB: job})


def _keep(job: KeptJob, answer: Iterable[bytes]) -> None:
    """Write an answer as it comes, so that it can be read while it is made."""
    with job.result.open("wb") as file:
        try:
            for piece in answer:
                file.write(piece)
                file.flush()
                if job.is_cancelled:
                    return
        finally:
            getattr(answer, "close", lambda: None)()


def runner() -> JobRunner:
    """Return the runner of the application at hand."""
    found: JobRunner = current_app.extensions["jobs"]
    return found


def jobs_of(app: Flask) -> JobRunner:
    """Return the runner of an application."""
    named = app.config["JOBS_FOLDER"]
    if named:
        folder = Path(named)
        folder.mkdir(parents=True, exist_ok=True)
    else:
        own = TemporaryDirectory(prefix="roof-lcc-jobs-", ignore_cleanup_errors=True)
        atexit.register(own.cleanup)
        folder = Path(own.name)
    settings = float(app.config["JOBS_KEPT_H"]), app.config["CLIENT_SHARE"]
    return JobRunner(app, JobFolder(folder, *settings))
