"""The files that ``roof-lcc portfolio`` writes: where they may go, and what goes into them."""

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from api.portfolio import results_out, workbook
from api.portfolio.job import PortfolioJob
from api.portfolio.tables_out import as_csv, csv_lines, write_xlsx
from lcc.portfolio.ranking import CapitalProgramme, Ranked
from web.proposal.board_paper import board_pdf

Writer = Callable[[Path, Any, CapitalProgramme, PortfolioJob], object]
TEXTS = (".csv", ".tsv", ".txt")


def check_places(inputs: tuple[Path | None, ...], out: Path, bad: Path) -> None:
    """Refuse outputs that are inputs or one another, or whose names promise another format.

    Raises
    ------
    UsageError
        With what to change.
    """
    if out.suffix.lower() not in WRITERS:
        raise click.UsageError(f"--out ends in {', '.join(WRITERS)}, not {out.name!a}.")
    if bad.suffix.lower() not in TEXTS:
        raise click.UsageError(f"--bad-rows ends in {', '.join(TEXTS)}, not {bad.name!a}.")
    read = {path.resolve() for path in inputs if path is not None}
    for name, path in (("--out", out), ("--bad-rows", bad)):
        if path.resolve() in read:
            raise click.UsageError(f"{name} would overwrite {path}, which is read; name another.")
    if out.resolve() == bad.resolve():
        raise click.UsageError("--out and --bad-rows are the same file; name another.")


def make_room(out: Path, force: bool) -> None:
    """Make the folder of an output, and refuse to replace a file unless asked to.

    Raises
    ------
    ClickException
        With what to do about it.
    """
    blocked = next((one for one in out.parents if one.exists() and not one.is_dir()), None)
    if blocked:
        raise click.ClickException(f"{blocked} is a file and can hold no {out.name}.")
    out.parent.mkdir(parents=True, exist_ok=True)
    if out.exists() and not force:
        text = f"{out} is there already; name another file, or replace it with --force."
        raise click.ClickException(text)


def keep_or_write(path: Path, text: str, force: bool) -> None:
    """Write a file that is not there yet, or holds just this already, or may be replaced."""
    content = text.encode()
    if not (path.is_file() and path.read_bytes() == content):
        make_room(path, force)
        _whole(path, lambda waiting: waiting.write_bytes(content))


def write(out: Path, final: Any, programme: CapitalProgramme, job: PortfolioJob) -> None:
    """Write a ranking whole or not at all, in the format that the name ends in."""
    writer = WRITERS[out.suffix.lower()]
    _whole(out, lambda waiting: writer(waiting, final, programme, job))


def _whole(path: Path, fill: Callable[[Path], object]) -> None:
    waiting = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        fill(waiting)
        waiting.replace(path)
    finally:
        waiting.unlink(missing_ok=True)


@contextmanager
def solver_silent() -> Iterator[None]:
    """Keep what a compiled library writes on its own out of the standard output."""
    try:
        kept = os.dup(1)
    except OSError:  # there is no standard output
        yield
        return
    nothing = os.open(os.devnull, os.O_WRONLY)
    sys.stdout.flush()
    os.dup2(nothing, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nothing)


def _write_csv(path: Path, final: Any, programme: CapitalProgramme, job: PortfolioJob) -> None:
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        file.writelines(csv_lines(workbook.one_table(final, job)))


def notes_beside(out: Path) -> Path | None:
    """Return where the notes of a ranking go that has no sheets for them."""
    return out.with_suffix(".notes.csv") if out.suffix.lower() == ".csv" else None


def write_notes(path: Path, final: Any, job: PortfolioJob) -> None:
    """Write what a ranking rests on beside it, whole or not at all."""
    _whole(path, lambda waiting: waiting.write_bytes(as_csv(workbook.notes(final, job))))


def _write_xlsx(path: Path, final: Any, programme: CapitalProgramme, job: PortfolioJob) -> None:
    with path.open("wb") as file:
        write_xlsx(file, workbook.sheets(final, programme, job))


def _write_json(path: Path, final: Any, programme: CapitalProgramme, job: PortfolioJob) -> None:
    rows = list(results_out.documents(final, Ranked, job.query.system))
    document = {**job.head(), "results": rows, **job.tail(final, programme)}
    path.write_text(json.dumps(document, indent=1, allow_nan=False), encoding="utf-8")


WRITERS: dict[str, Writer] = {
    ".csv": _write_csv,
    ".xlsx": _write_xlsx,
    ".json": _write_json,
    ".pdf": lambda path, *ranking: path.write_bytes(board_pdf(*ranking)),
}
