"""``roof-lcc portfolio``: a table of roofs in, a ranking out, resumed after a kill."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, ProcessPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import click

from api import service, strict_json
from api.portfolio import help_out, partitions, results_out
from api.portfolio.faults import TableError
from api.portfolio.intake import Intake, from_table
from api.portfolio.job import Job, Means
from api.portfolio.reading import open_table
from api.portfolio.tables_out import csv_lines, write_xlsx
from api.portfolio.wish import Wish
from api.problems import Problem
from lcc.case import Case
from lcc.heat.memory import keep_freed_memory
from lcc.portfolio.ranking import MEASURES, Programme, Ranked
from lcc.portfolio.rows import template
from web import format as fmt

FILE = click.Path(dir_okay=False, path_type=Path)
PARTITION_ROWS = 50
Writer = Callable[[Path, Any, Programme, Job], None]
HELP = {
    "out": "Where to write the ranking: .csv, .xlsx or .json by the end of its name.",
    "units": "Of columns whose titles name no unit, and of the ranking.",
    "case": "A case file for what the rows do not say; its site and roof stand for no building.",
    "rank_by": "Order of the ranking.",
    "budget": "Money for the best set of roofs.",
    "budget_by_year": "Money for each year from today on, with commas between.",
    "workers": "Processes on this machine.",
    "cluster": "Address of a Dask scheduler, such as tcp://host:8786, to work on instead.",
    "partition_rows": "Buildings computed and kept at a time.",
    "bad_rows": "Where to write rows that cannot be used  [default: beside the ranking].",
    "unknown_columns": "What to do with columns that are not understood.",
    "decimal": "Decimal mark of a text table.",
}


@click.command()
@click.argument("roofs", type=click.Path(dir_okay=False, exists=True, path_type=Path))
@click.option("--out", type=FILE, required=True, help=HELP["out"])
@click.option("--units", type=click.Choice(["ip", "si"]), default="ip", help=HELP["units"])
@click.option("--case", "case_file", type=FILE, help=HELP["case"])
@click.option("--rank-by", type=click.Choice(["rows", *MEASURES]), default="net-savings",
              show_default=True, help=HELP["rank_by"])  # fmt: skip
@click.option("--budget", default="", metavar="SUM", help=HELP["budget"])
@click.option("--budget-by-year", default="", metavar="SUMS", help=HELP["budget_by_year"])
@click.option("--workers", type=click.IntRange(1, 64), default=os.cpu_count(),
              show_default="all cores", help=HELP["workers"])  # fmt: skip
@click.option("--cluster", metavar="ADDRESS", help=HELP["cluster"])
@click.option("--partition-rows", type=click.IntRange(1, 10_000), default=PARTITION_ROWS,
              show_default=True, help=HELP["partition_rows"])  # fmt: skip
@click.option("--bad-rows", type=FILE, help=HELP["bad_rows"])
@click.option("--unknown-columns", type=click.Choice(["refuse", "pass-over"]), default="refuse",
              help=HELP["unknown_columns"])  # fmt: skip
@click.option("--decimal", type=click.Choice(["auto", "point", "comma"]), default="auto",
              help=HELP["decimal"])  # fmt: skip
def portfolio(
    roofs: Path, out: Path, case_file: Path | None, workers: int, cluster: str | None,
    partition_rows: int, bad_rows: Path | None, **wished: Any,
) -> None:  # fmt: skip
    """Rank the roofs of a table: what each alternative costs and saves, best first.

    Parts already computed are kept beside the ranking until it is written, so that a run that was
    stopped goes on from there when it is started again with the same table and options.
    """
    wish = Wish(**wished)
    try:
        intake = _taken_in(roofs, wish, bad_rows or out.with_suffix(".bad-rows.csv"))
        folder = out.with_name(out.name + ".parts")
        base = _case(case_file)
        _open(folder, roofs, base, wish, partition_rows)
        with _workers(workers, cluster) as executor:
            means = Means(
                executor, partition_rows, lambda name: partitions.Partitions(folder / name)
            )
            job = Job(intake, base, wish, means)
            _write(job, out)
        shutil.rmtree(folder)
    except TableError as error:
        raise click.ClickException(
            "\n".join(["The table cannot be read.", *_faults(error)])
        ) from None
    except Problem as problem:
        raise click.ClickException(str(problem)) from None
    except BrokenExecutor:
        text = "A worker died. Start the same command again: it goes on from the parts kept."
        raise click.ClickException(text) from None


def _faults(error: TableError) -> list[str]:
    return [f"  {fault}" for fault in error.faults]


def _taken_in(roofs: Path, wish: Wish, bad: Path) -> Intake:
    """Read and check the table; write the rows that cannot be used beside the ranking."""
    with roofs.open("rb") as file:
        checker = open_table(file, wish.system, wish.decimal, wish.unknown_columns == "pass-over")
        intake = from_table(checker)
        click.echo(f"{roofs.name}: {intake.read_as}; {intake.good:,} of {intake.rows:,} rows good.")
        for fault in intake.faults[:20]:
            click.echo(f"  {fault}", err=True)
        if intake.bad:
            again = open_table(file, wish.system, wish.decimal, bool(intake.passed_over))
            lines = csv_lines(help_out.bad_rows(again), again.table.delimiter)
            bad.write_text("\ufeff" + "".join(lines), encoding="utf-8", newline="")
            click.echo(f"{intake.bad:,} rows to mend and send again: {bad}", err=True)
    return intake


def _case(path: Path | None) -> Case:
    return (
        template() if path is None else service.load_case(strict_json.loads(path.read_bytes())).case
    )


def _open(folder: Path, roofs: Path, base: Case, wish: Wish, partition_rows: int) -> None:
    job = partitions.fingerprint(roofs.read_bytes(), repr(base), repr(wish), partition_rows)
    left = partitions.open_folder(folder, job)
    if left:
        click.echo(f"Going on from {left} parts of an earlier run.")


@contextmanager
def _workers(workers: int, cluster: str | None) -> Iterator[Executor | None]:
    """Give processes on this machine, a cluster, or nothing where one process does the work."""
    if cluster:
        with _client(cluster) as client:
            yield client.get_executor()
    elif workers == 1:
        keep_freed_memory()
        yield None
    else:
        apart = get_context("spawn")
        with ProcessPoolExecutor(workers, apart, initializer=keep_freed_memory) as pool:
            yield pool


def _client(address: str) -> Any:
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        text = "A cluster needs the optional extra: pip install 'roof-lcc[cluster]'."
        raise click.ClickException(text) from None
    return distributed.Client(address, set_as_default=False)


def _write(job: Job, out: Path) -> None:
    """Compute with a progress bar, write the ranking whole or not at all, tell the sums."""
    bar: Any = click.progressbar(length=job.intake.good, label="Roofs", file=sys.stderr)
    with bar:
        for frame in job.run():
            bar.update(frame.attrs["done"] - bar.pos)
    final, whole = job.finished
    waiting = out.with_name(f".{out.name}.{os.getpid()}")
    write: Writer = _WRITERS.get(out.suffix.lower(), _write_csv)
    write(waiting, final, whole, job)
    waiting.replace(out)
    for line in told(whole, job.wish):
        click.echo(line)
    click.echo(f"Written: {out}")


def _table(final: Any, wish: Wish) -> Iterator[list[Any]]:
    yield list(results_out.titles(Ranked, wish.system))
    yield from results_out.rows(final, Ranked, wish.system)


def _write_csv(path: Path, final: Any, whole: Programme, job: Job) -> None:
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        file.writelines(csv_lines(_table(final, job.wish)))


def _write_xlsx(path: Path, final: Any, whole: Programme, job: Job) -> None:
    with path.open("wb") as file:
        write_xlsx(file, {"Ranking": _table(final, job.wish)})


def _write_json(path: Path, final: Any, whole: Programme, job: Job) -> None:
    rows = list(results_out.documents(final, Ranked, job.wish.system))
    document = {**job.head(), "results": rows, **job.tail(final, whole)}
    path.write_text(json.dumps(document, indent=1, allow_nan=False), encoding="utf-8")


_WRITERS: dict[str, Writer] = {
    ".csv": _write_csv,
    ".xlsx": _write_xlsx,
    ".json": _write_json,
}


def told(whole: Programme, wish: Wish) -> Iterator[str]:
    """Yield what a programme comes to, in lines of words."""
    best = whole.worthwhile
    yield (
        f"{best.buildings:,} roofs have an alternative that costs less than the base case: "
        f"{fmt.shown(best.first_cost, 'money')} of first cost, "
        f"{fmt.shown(best.net_savings, 'money')} of net savings."
    )
    if whole.in_budget:
        chosen = whole.in_budget
        proof = f" (a better set might save {fmt.shown(chosen.shortfall, 'money')} more)"
        yield (
            f"Best set under {fmt.shown(float(wish.budget), 'money')}: {chosen.buildings:,} roofs, "
            f"{fmt.shown(chosen.first_cost, 'money')} of first cost, "
            f"{fmt.shown(chosen.net_savings, 'money')} of net savings"
            f"{proof if chosen.shortfall else ', proved best'}."
        )
    if whole.plan_shortfall:
        yield f"A better plan might save {fmt.shown(whole.plan_shortfall, 'money')} more."
    for year in whole.plan_years:
        beyond = f"; {fmt.shown(year.unfunded, 'money')} cannot wait and is beyond it"
        yield (
            f"Year {year.year}: {fmt.shown(year.spent, 'money')} of "
            f"{fmt.shown(year.budget, 'money')} spent{beyond if year.unfunded else ''}."
        )
