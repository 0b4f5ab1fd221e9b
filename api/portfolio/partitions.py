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
from pathlib import Path
from typing import IO, Any, cast

from api import service
from lcc.portfolio.outcome import Begun, Outcome
from lcc.portfolio.way_costs import WayCosts

_JOB = "job.json"
STEPS = ("results", "plan")  # of which parts are kept


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


def _outcome(row: dict[str, Any]) -> Outcome:
    """Return an outcome as it was: JSON knows no tuples."""
    values: dict[str, Any] = {n: tuple(v) if isinstance(v, list) else v for n, v in row.items()}
    values["ways"] = tuple(tuple(WayCosts(**way) for way in each) for each in values["ways"])
    return Begun(**values) if "work" in row else Outcome(**values)


class Partitions(MutableMapping[int, list[Outcome]]):
    """Results by number of partition, each in a file of its own that is whole or not there.

    Each file names its job; a file of another job, or one that cannot be read, is not there.
    """

    def __init__(self, folder: Path, job: str) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder
        self.job = job

    def _path(self, number: int) -> Path:
        return self.folder / f"part-{number:06d}.json"

    def _rows(self, number: object) -> list[dict[str, Any]] | None:
        try:
            kept = json.loads(self._path(cast("int", number)).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        own = isinstance(kept, dict) and kept.get("job") == self.job
        return kept["rows"] if own else None

    def __contains__(self, number: object) -> bool:
        return isinstance(number, int) and self._rows(number) is not None

    def __getitem__(self, number: int) -> list[Outcome]:
        rows = self._rows(number)
        if rows is None:
            raise KeyError(number)
        return [_outcome(row) for row in rows]

    def __setitem__(self, number: int, rows: list[Outcome]) -> None:
        # JSON writes a float so that it reads back the same to the bit.
        kept = {"job": self.job, "rows": [asdict(row) for row in rows]}
        replace_file(self._path(number), json.dumps(kept))

    def __delitem__(self, number: int) -> None:
        self._path(number).unlink()

    def __iter__(self) -> Iterator[int]:
        return (int(path.stem.removeprefix("part-")) for path in self.folder.glob("part-*.json"))

    def __len__(self) -> int:
        return sum(1 for _ in self)
