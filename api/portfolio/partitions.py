"""Results kept in a folder while a run lasts, so that a run that was killed goes on from there."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Iterator, MutableMapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from api import service
from lcc.portfolio.outcome import Begun, Outcome

_JOB = "job.json"


def fingerprint(table: bytes, *rest: Any) -> str:
    """Return what tells one job from another: its input, what is asked, and the versions."""
    stated = json.dumps([service.versions(), *rest], sort_keys=True)
    return hashlib.sha256(table + stated.encode()).hexdigest()


def open_folder(folder: Path, job: str) -> int:
    """Make a folder ready for a job; return how many partitions an earlier run left of it.

    What a different job left there is removed.
    """
    marker = folder / _JOB
    if marker.is_file() and marker.read_text() == job:
        return sum(1 for _ in folder.glob("*/part-*.json"))
    if marker.is_file():
        shutil.rmtree(folder)
    folder.mkdir(parents=True, exist_ok=True)
    replace_file(marker, job)
    return 0


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
