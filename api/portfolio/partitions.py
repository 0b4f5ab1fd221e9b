"""Results kept in a folder while a run lasts, so that a run that was killed goes on from there."""

from __future__ import annotations

import errno
import fcntl
import hashlib
import json
import os
import socket
from collections.abc import Callable, Iterator, MutableMapping
from contextlib import contextmanager, suppress
from dataclasses import asdict
from functools import lru_cache
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import IO, Any, cast

from api import service
from lcc.portfolio.outcome import Begun, Outcome
from lcc.portfolio.way_costs import WayCosts

_JOB = "job.json"
STEPS = ("results", "plan")  # of which parts are kept
REMEMBERED_BYTES = 64_000_000  # of the parts of a step that stay in memory once read


def fingerprint(table: bytes, *rest: Any) -> str:
    """Return what identifies a job: its input, its query, and the versions."""
    stated = json.dumps([service.versions(), *rest], sort_keys=True)
    return hashlib.sha256(table + stated.encode()).hexdigest()


@contextmanager
def held(out: Path, what: str) -> Iterator[None]:
    """Lock an output for one run; the system frees the lock when the process ends, in any way.

    Parameters
    ----------
    out : Path
        The file to be written. The lock is a hidden file beside it.
    what : str
        What the run reads, for the message that a second run gets.

    Raises
    ------
    BlockingIOError
        If another run holds it; its text says which.
    """
    path = out.with_name(f".{out.name}.lock")
    file = _locked(path, out)
    try:
        file.truncate(0)
        file.write(f"process {os.getpid()} on {socket.gethostname()}, which reads {what}")
        file.flush()
        yield
    finally:
        path.unlink(missing_ok=True)
        file.close()


def _locked(path: Path, out: Path) -> IO[str]:
    """Return the lock file, opened and held."""
    while True:
        file = path.open("a+", encoding="utf-8")
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if path.exists() and os.path.samestat(os.fstat(file.fileno()), path.stat()):
                return file
            file.close()  # the run that held it has just ended and removed it
        except OSError as error:
            file.seek(0)
            holder = file.read() or "another process"
            file.close()
            if error.errno not in (errno.EAGAIN, errno.EACCES):
                raise
            said = f"another run writes it: {holder}. Wait for that run, or name another output"
            raise BlockingIOError(errno.EAGAIN, said, str(out)) from None


def is_of(folder: Path, job: str) -> bool:
    """Tell whether a folder holds the parts of a job."""
    marker = folder / _JOB
    return marker.is_file() and marker.read_text() == job


def job_of(folder: Path) -> str:
    """Return the job whose parts a folder holds."""
    return (folder / _JOB).read_text()


def open_folder(folder: Path, job: str) -> int:
    """Make a folder ready for a job; return how many partitions an earlier run left of it.

    Parts of a different job are removed from it; whatever else is there is left alone.

    Raises
    ------
    FileExistsError
        If it holds files named like parts that no job of ours has marked.
    """
    parts = _parts(folder)
    if is_of(folder, job):
        return sum(not path.name.startswith(".") for path in parts)
    if parts and not (folder / _JOB).is_file():
        said = "it has files named as the parts of a run, but not of ours; move them away"
        raise FileExistsError(errno.EEXIST, said, str(folder))
    for path in parts:
        path.unlink()
    folder.mkdir(parents=True, exist_ok=True)
    replace_file(folder / _JOB, job)
    return 0


def remove_folder(folder: Path) -> None:
    """Remove the parts of a job that has ended, and the folder unless it holds anything else."""
    for path in (*_parts(folder), *folder.glob(f".{_JOB}.*"), folder / _JOB):
        path.unlink(missing_ok=True)
    for emptied in (*(folder / name for name in STEPS), folder):
        with suppress(OSError):  # not there, or not empty
            emptied.rmdir()


def _parts(folder: Path) -> list[Path]:
    """Return the files of parts in a folder, also those that a kill left half written."""
    return [
        path
        for name in STEPS
        for pattern in ("part-*.json", ".part-*.json.*")
        for path in sorted((folder / name).glob(pattern))
    ]


def kept_in(folder: Path, job: str) -> Callable[[str], Partitions]:
    """Return what keeps the parts of each of the `STEPS` of a job in a folder."""
    return lambda step: Partitions(folder / step, job)


def replace_file(path: Path, text: str) -> None:
    """Write a file whole or not at all."""
    waiting = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with waiting.open("w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        waiting.replace(path)
    finally:
        waiting.unlink(missing_ok=True)


def _outcome(row: dict[str, Any], cautions: list[tuple[str, ...]]) -> Outcome:
    """Return an outcome as it was: JSON knows no tuples."""
    values: dict[str, Any] = {n: tuple(v) if isinstance(v, list) else v for n, v in row.items()}
    values["cautions"] = cautions[row["cautions"]]
    values["ways"] = tuple(tuple(WayCosts(**way) for way in each) for each in values["ways"])
    return Begun(**values) if "work" in row else Outcome(**values)


def kept_rows(folder: Path, job: str) -> tuple[Outcome, ...]:
    """Return all rows kept of a step in order of their buildings, from memory if read before.

    Of a building that was solved again, exactly, its later part holds.
    """
    states = [path.stat() for path in folder.glob("part-*.json")]
    newest = max((one.st_mtime_ns for one in states), default=0)
    small = sum(one.st_size for one in states) <= REMEMBERED_BYTES
    return (_all_rows if small else _all_rows.__wrapped__)(folder, job, len(states), newest)


@lru_cache(maxsize=len(STEPS))
def _all_rows(folder: Path, job: str, count: int, newest: int) -> tuple[Outcome, ...]:
    """`count` and `newest` are of the files, so that what changes is read again."""
    del count, newest
    parts = Partitions(folder, job)
    found: dict[int, list[Outcome]] = {}
    for number in sorted(parts):
        for building, rows in groupby(parts[number], key=attrgetter("building")):
            found[building] = list(rows)
    return tuple(row for building in sorted(found) for row in found[building])


class Partitions(MutableMapping[int, list[Outcome]]):
    """Results by number of partition, each in a file of its own that is whole or not there.

    Each file names its job; a file of another job, or one that cannot be read, is not there.
    Cautions, most of a row's text, stand once in a file.
    """

    def __init__(self, folder: Path, job: str) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder
        self.job = job

    def _path(self, number: int) -> Path:
        return self.folder / f"part-{number:06d}.json"

    def _kept(self, number: object) -> dict[str, Any] | None:
        try:
            kept = json.loads(self._path(cast("int", number)).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        own = isinstance(kept, dict) and kept.get("job") == self.job and "cautions" in kept
        return kept if own else None

    def __contains__(self, number: object) -> bool:
        return isinstance(number, int) and self._kept(number) is not None

    def __getitem__(self, number: int) -> list[Outcome]:
        kept = self._kept(number)
        if kept is None:
            raise KeyError(number)
        cautions = [tuple(told) for told in kept["cautions"]]
        return [_outcome(row, cautions) for row in kept["rows"]]

    def __setitem__(self, number: int, rows: list[Outcome]) -> None:
        # JSON writes a float so that it reads back the same to the bit.
        places: dict[tuple[str, ...], int] = {}
        plain = [
            asdict(row) | {"cautions": places.setdefault(row.cautions, len(places))} for row in rows
        ]
        kept = {"job": self.job, "cautions": list(places), "rows": plain}
        replace_file(self._path(number), json.dumps(kept))

    def __delitem__(self, number: int) -> None:
        self._path(number).unlink()

    def __iter__(self) -> Iterator[int]:
        return (int(path.stem.removeprefix("part-")) for path in self.folder.glob("part-*.json"))

    def __len__(self) -> int:
        return sum(1 for _ in self)
