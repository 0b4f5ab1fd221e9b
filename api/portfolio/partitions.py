"""Results kept in a folder while a run lasts, so that a run that was killed goes on from there."""

from __future__ import annotations

import errno
import hashlib
import json
import os
from collections.abc import Callable, Iterator, MutableMapping
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from typing import Any

from api import service
from lcc.portfolio.outcome import Begun, Outcome

_JOB = "job.json"
STEPS = ("results", "plan")  # of which parts are kept


def fingerprint(table: bytes, *rest: Any) -> str:
    """Return what tells one job from another: its input, what is asked, and the versions."""
    stated = json.dumps([service.versions(), *rest], sort_keys=True)
    return hashlib.sha256(table + stated.encode()).hexdigest()


def is_of(folder: Path, job: str) -> bool:
    """Tell whether a folder holds the parts of a job."""
    marker = folder / _JOB
    return marker.is_file() and marker.read_text() == job


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


def kept_in(folder: Path) -> Callable[[str], Partitions]:
    """Return what keeps the parts of each of the `STEPS` of a job in a folder."""
    return lambda step: Partitions(folder / step)


def replace_file(path: Path, text: str) -> None:
    """Write a file whole or not at all, whatever happens in between."""
    waiting = path.with_name(f".{path.name}.{os.getpid()}")
    with waiting.open("w", encoding="utf-8", newline="") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    waiting.replace(path)


def _outcome(row: dict[str, Any]) -> Outcome:
    """Return an outcome as it was: JSON knows no tuples."""
    values: dict[str, Any] = {n: tuple(v) if isinstance(v, list) else v for n, v in row.items()}
    return Begun(**values) if "work" in row else Outcome(**values)


class Partitions(MutableMapping[int, list[Outcome]]):
    """Results by number of partition, each in a file of its own that is whole or not there."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder

    def _path(self, number: int) -> Path:
        return self.folder / f"part-{number:06d}.json"

    def __contains__(self, number: object) -> bool:
        return isinstance(number, int) and self._path(number).is_file()

    def __getitem__(self, number: int) -> list[Outcome]:
        if number not in self:
            raise KeyError(number)
        rows = json.loads(self._path(number).read_text(encoding="utf-8"))
        return [_outcome(row) for row in rows]

    def __setitem__(self, number: int, rows: list[Outcome]) -> None:
        # JSON writes a float so that it reads back the same to the bit.
        replace_file(self._path(number), json.dumps([asdict(row) for row in rows]))

    def __delitem__(self, number: int) -> None:
        self._path(number).unlink()

    def __iter__(self) -> Iterator[int]:
        return (int(path.stem.removeprefix("part-")) for path in self.folder.glob("part-*.json"))

    def __len__(self) -> int:
        return sum(1 for _ in self)
