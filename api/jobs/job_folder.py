"""Jobs in a folder: what was sent, how far each is, and its answer, for a bounded time.

Every job has a folder of its own, so that any process of the service can answer for it, and the
next process goes on where a killed one stood.
"""

import fcntl
import json
import re
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, BinaryIO

from api.client_shares import SHARE, check_share
from api.portfolio.partitions import replace_file
from api.problems import Problem, later

WAITING, RUNNING, DONE, FAILED, CANCELLED = STATES = (
    "waiting", "running", "done", "failed", "cancelled",
)  # fmt: skip
ENDED = (DONE, FAILED, CANCELLED)
MOST_WAITING = 20
MOST_KEPT = 100
# A request that brings its process down would do so again and again.
MOST_ATTEMPTS = 3
JOB_RETRY_AFTER_S = 60
_ID = re.compile(r"[A-Za-z0-9_-]{22}")
_STATE, BODY, RESULT, _LOCK, _CANCEL = "state.json", "body", "result", "lock", "cancel"


@dataclass(frozen=True)
class JobState:
    """How far a job is. Times are UTC, ISO 8601; `of` is 0 until the size of the work is known.

    `prefix` is that of the proxy before the service, which problem types have in front.
    """

    id: str
    state: str
    submitted: str
    address: str
    query: str
    content_type: str
    accept: str
    client: str = ""
    prefix: str = ""
    done: int = 0
    of: int = 0
    attempts: int = 0
    ended: str = ""
    status: int = 0
    media_type: str = ""
    disposition: str = ""


class KeptJob:
    """One job in its folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @property
    def body(self) -> Path:
        """The body of the request."""
        return self.folder / BODY

    @property
    def result(self) -> Path:
        """The answer; while it is written, what there is of it so far."""
        return self.folder / RESULT

    @property
    def parts(self) -> Path:
        """Where a portfolio keeps its parts, so that a killed job goes on from there."""
        return self.folder / "parts"

    @property
    def must_refused(self) -> Path:
        """Which must-do roofs of a portfolio have rows that cannot be used, in words."""
        return self.parts / "must-refused.txt"

    @property
    def state(self) -> JobState:
        """How far it is."""
        with self.opened(_STATE) as file:
            return JobState(**json.load(file))

    def opened(self, name: str) -> BinaryIO:
        """Return a file of the job, or raise the problem that the job is no longer kept."""
        try:
            return (self.folder / name).open("rb")
        except FileNotFoundError:
            raise _not_kept() from None

    def change(self, **changes: Any) -> JobState:
        """Write a new state and return it."""
        changed = replace(self.state, **changes)
        replace_file(self.folder / _STATE, json.dumps(asdict(changed)))
        return changed

    def end(self, state: str, **changes: Any) -> None:
        """Write that it has ended."""
        self.change(state=state, ended=_now(), **changes)

    @property
    def is_cancelled(self) -> bool:
        """Whether somebody wants it ended."""
        return (self.folder / _CANCEL).exists()

    def cancel(self) -> None:
        """Ask that it ends; one that nobody runs ends now."""
        (self.folder / _CANCEL).touch()
        with self.held() as own:
            if own and self.state.state not in ENDED:
                self.end(CANCELLED)

    def remove(self) -> None:
        """Remove the job's files; another process finds all of them or none."""
        gone = self.folder.with_name(f".{self.folder.name}")
        with suppress(OSError):  # removed by another
            self.folder.rename(gone)
        shutil.rmtree(gone, ignore_errors=True)

    @contextmanager
    def held(self) -> Iterator[bool]:
        """Hold the job, if no other process does; the system lets go when the process ends."""
        with (self.folder / _LOCK).open("a") as file:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                yield False
                return
            yield True


class JobFolder:
    """The jobs of a service."""

    def __init__(self, folder: Path, keep_h: float, share: float = SHARE) -> None:
        self.folder = folder
        self.keep = timedelta(hours=keep_h)
        self.share = share

    def jobs(self) -> list[tuple[KeptJob, JobState]]:
        """Return the jobs and how far each is, the first submitted first."""
        found = []
        for path in self.folder.glob("*"):
            job = KeptJob(path)
            with suppress(OSError, ValueError, Problem):  # removed meanwhile, or not yet whole
                found.append((job, job.state))
        return sorted(found, key=lambda each: (each[1].submitted, each[1].id))

    def job(self, name: str) -> KeptJob:
        """Return a job by its id, or raise the problem that there is none."""
        job = KeptJob(self.folder / name)
        if not _ID.fullmatch(name) or not (job.folder / _STATE).is_file():
            raise _not_kept()
        return job

    def submit(
        self, body: BinaryIO, address: str, query: str, content_type: str, accept: str,
        client: str = "", prefix: str = "",
    ) -> KeptJob:  # fmt: skip
        """Keep a request as a job that waits to be run.

        Raises
        ------
        Problem
            503 "busy" where too many wait already; 429 "past-share" where too many of them are
            this client's.
        """
        waiting = [state.client for _, state in self.jobs() if state.state == WAITING]
        if len(waiting) >= MOST_WAITING:
            raise later("busy", f"{len(waiting)} jobs wait already.", JOB_RETRY_AFTER_S)
        check_share(waiting.count(client), MOST_WAITING, self.share, JOB_RETRY_AFTER_S)
        name = secrets.token_urlsafe(16)
        job = KeptJob(self.folder / name)
        job.folder.mkdir(parents=True, mode=0o700)
        try:
            with job.body.open("wb") as file:
                shutil.copyfileobj(body, file)
            asked = (address, query, content_type, accept, client, prefix)
            state = JobState(name, WAITING, _now(), *asked)
            replace_file(job.folder / _STATE, json.dumps(asdict(state)))
        except BaseException:
            job.remove()
            raise
        return job

    def tidy(self) -> None:
        """Remove jobs that ended longer ago than they are kept, and the oldest beyond the most."""
        ended = [(job, state) for job, state in self.jobs() if state.state in ENDED]
        oldest = (datetime.now(UTC) - self.keep).isoformat(timespec="microseconds")
        beyond = max(0, len(ended) - MOST_KEPT)
        for place, (job, state) in enumerate(ended):
            if place < beyond or state.ended < oldest:
                job.remove()

    def kept_until(self, state: JobState) -> str | None:
        """Return until when the answer of a job that has ended is kept."""
        if not state.ended:
            return None
        return (datetime.fromisoformat(state.ended) + self.keep).isoformat(timespec="seconds")


def _not_kept() -> Problem:
    detail = "No job has this id; jobs are kept for a stated time after they end."
    return Problem("not-found", detail)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")
