"""``roof-lcc portfolio``: a table of roofs in, a ranking out, resumed after a kill."""

import os
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import BrokenExecutor
from datetime import date
from pathlib import Path
from typing import Any

import click

from api import service, strict_json
from api.portfolio import partitions, table_template
from api.portfolio.intake import Intake, from_table
from api.portfolio.job import Means, PortfolioJob
from api.portfolio.mapping import TableMapping
from api.portfolio.query import PortfolioQuery
from api.portfolio.reading.any_table import open_table
from api.portfolio.reading.fault_kinds import TableError
from api.portfolio.tables_out import csv_lines
from api.problems import Problem
from lcc.case import Case
from lcc.portfolio.plan_tables import CapitalPlan
from lcc.portfolio.ranking import MEASURES, CapitalProgramme
from lcc.portfolio.rows import template
from web import format as fmt
from web.portfolio_mapping import open_words, propose_mapping, read_mapping
from web.portfolio_outputs import (
    check_places,
    keep_or_write,
    make_room,
    notes_beside,
    solver_silent,
    write,
    write_notes,
)
from web.portfolio_words import lead_in_words, plan_in_words
from web.portfolio_workers import workers as at_work

FILE = click.Path(dir_okay=False, path_type=Path)
READ = click.Path(dir_okay=False, exists=True, path_type=Path)
ROWS_OF_A_PART = 50
MOST_TOLD = 20
DEMO = (
    "These figures rest on defaults, some of them invented; the ranking says which, and the "
    "cautions that go with it."
)
OWN_TITLES = (
    "If the column titles are your own, add --mapping mapping.json: the command then writes to "
    "that file what each title most likely means, for you to look over."
)
MERGE = "Put them back into the table once mended: sent alone they are ranked alone."
HELP = {
    "out": "Where to write: a ranking as .csv, .xlsx or .json, or as .pdf two pages for a board.",
    "units": "Of columns whose titles name no unit, and of the ranking.",
    "case": "A case file for what the rows do not say; its site and roof stand for no building.",
    "rank_by": "Order of the ranking.",
    "budget": "Money for the best set of roofs.",
    "budget_by_year": "Money for each year from today on, separated by semicolons in quotes.",
    "carry_over": "Whether what a year leaves passes to the next.",
    "heat": "by-area: interpolated for many roofs that differ in area alone; exact: each solved.",
    "workers": "Processes on this machine.",
    "cluster": "Address of a Dask scheduler, such as tcp://host:8786, to work on instead.",
    "partition_rows": "Buildings computed and kept at a time.",
    "bad_rows": "Where to write rows that cannot be used  [default: beside the ranking].",
    "unknown_columns": "What to do with columns that are not understood.",
    "decimal": "Decimal mark of a text table; auto goes by what its cells prove.",
    "mapping": "What the columns and words of the table mean. Where the file is not there yet, one "
    "is proposed and written to be looked over.",
    "force": "Replace files that are there already.",
}


@click.command()
@click.argument("roofs", type=READ)
@click.option("--out", type=FILE, required=True, help=HELP["out"])
@click.option("--units", type=click.Choice(["ip", "si"]), default="ip", help=HELP["units"])
@click.option("--case", "case_file", type=READ, help=HELP["case"])
@click.option("--rank-by", type=click.Choice(["rows", *MEASURES]), default="net-savings-per-cost",
              show_default=True, help=HELP["rank_by"])  # fmt: skip
@click.option("--budget", default="", metavar="SUM", help=HELP["budget"])
@click.option("--budget-by-year", default="", metavar="SUMS", help=HELP["budget_by_year"])
@click.option("--carry-over", type=click.Choice(["no", "yes"]), default="no",
              help=HELP["carry_over"])  # fmt: skip
@click.option("--heat", type=click.Choice(["by-area", "exact"]), default="by-area",
              help=HELP["heat"])  # fmt: skip
@click.option("--workers", type=click.IntRange(1, 64), default=os.cpu_count(),
              show_default="all cores", help=HELP["workers"])  # fmt: skip
@click.option("--cluster", metavar="ADDRESS", help=HELP["cluster"])
@click.option("--partition-rows", type=click.IntRange(1, 10_000), default=ROWS_OF_A_PART,
              show_default=True, help=HELP["partition_rows"])  # fmt: skip
@click.option("--bad-rows", type=FILE, help=HELP["bad_rows"])
@click.option("--unknown-columns", type=click.Choice(["refuse", "pass-over"]), default="refuse",
              help=HELP["unknown_columns"])  # fmt: skip
@click.option("--decimal", type=click.Choice(["auto", "point", "comma"]), default="auto",
              help=HELP["decimal"])  # fmt: skip
@click.option("--mapping", "mapping_file", type=FILE, help=HELP["mapping"])
@click.option("--force", is_flag=True, help=HELP["force"])
def portfolio(
    roofs: Path, out: Path, case_file: Path | None, workers: int, cluster: str | None,
    partition_rows: int, bad_rows: Path | None, force: bool, mapping_file: Path | None,
    **asked: Any,
) -> None:  # fmt: skip
    """Rank the roofs of a table: what each alternative costs and saves, best first.

    Parts already computed are kept beside the ranking until it is written, so that a run that was
    stopped goes on from there when it is started again with the same table and options. Inputs
    are never overwritten, and other files that are there already only with --force.
    """
    bad, query = bad_rows or out.with_suffix(".bad-rows.csv"), PortfolioQuery(**asked)
    check_places((roofs, case_file, mapping_file), out, bad)
    try:
        if mapping_file and not mapping_file.exists():
            propose_mapping(roofs, mapping_file, query)
            return
        mapping, base = _mapping(mapping_file, roofs, query), _case(case_file)
        sent = roofs.read_bytes() + (case_file.read_bytes() if case_file else b"")
        name = partitions.fingerprint(sent, repr(base), repr(query), repr(mapping), partition_rows)
        folder = out.with_name(f"{out.name}.parts")
        make_room(out, force or partitions.is_of(folder, name))
        with partitions.held(out, str(roofs)):
            job = PortfolioJob(_taken_in(roofs, query, bad, force, mapping), base, query)
            if left := partitions.open_folder(folder, name):
                click.echo(f"Going on from {left} parts of an earlier run.")
            with at_work(workers, cluster) as executor:
                job.means = Means(executor, partition_rows, partitions.kept_in(folder, name))
                _compute(job, out)
            partitions.remove_folder(folder)
    except TableError as error:
        faults = [*map(str, error.faults)]
        if not mapping_file and any(one.value or one.column for one in error.faults):
            faults.append(OWN_TITLES)
        raise _refused("The table cannot be read.", faults) from None
    except Problem as problem:
        raise _refused(problem.detail, (str(one["detail"]) for one in problem.errors)) from None
    except BrokenExecutor:
        text = "A worker died. Start the same command again: it goes on from the parts kept."
        raise click.ClickException(text) from None
    except OSError as error:
        raise click.ClickException(f"{error.filename or out}: {error.strerror}.") from None


def _refused(said: str, faults: Iterable[str]) -> click.ClickException:
    return click.ClickException("\n".join([said, *(f"  {fault}" for fault in faults)]))


def _mapping(path: Path | None, roofs: Path, query: PortfolioQuery) -> TableMapping | None:
    """Read a mapping, and say to which year it counts and what of the table it leaves open."""
    mapping = read_mapping(path)
    if mapping and mapping.year != date.today().year:
        click.echo(f"{path}: ages are counted to {mapping.year}, its year.")
    if unread := open_words(roofs, mapping, query) if mapping else []:
        lines = [f"{path} has no meaning for these; write one there:", *unread]
        click.echo("\n".join(lines), err=True)
    return mapping


def _taken_in(
    roofs: Path, query: PortfolioQuery, bad: Path, force: bool, mapping: TableMapping | None
) -> Intake:
    """Read and check the table; write the rows that cannot be used beside the ranking."""
    with roofs.open("rb") as file:
        pass_over = query.unknown_columns == "pass-over"
        checker = open_table(file, query.system, query.decimal, pass_over, mapping)
        intake = from_table(checker)
        click.echo(f"{roofs.name}: {intake.read_as}; {intake.good:,} of {intake.rows:,} rows good.")
        for one in intake.mapping_unused[:MOST_TOLD]:
            click.echo(f"  In no row of the table, in the mapping: {one}", err=True)
        for group in intake.fault_groups[:MOST_TOLD]:
            click.echo(f"  {group}", err=True)
        for fault in intake.faults[:MOST_TOLD]:
            click.echo(f"  {fault}", err=True)
        if intake.bad:
            again = open_table(file, query.system, query.decimal, bool(intake.passed_over), mapping)
            lines = csv_lines(table_template.bad_rows(again), again.table.delimiter)
            keep_or_write(bad, "\ufeff" + "".join(lines), force)
            click.echo(f"{intake.bad:,} rows to mend: {bad}. {MERGE}", err=True)
    if not intake.good:
        raise click.ClickException("No row can be used, so no ranking is written.")
    return intake


def _case(path: Path | None) -> Case:
    return (
        template() if path is None else service.load_case(strict_json.loads(path.read_bytes())).case
    )


def _compute(job: PortfolioJob, out: Path) -> None:
    """Compute with a progress bar, write the ranking whole or not at all, tell the sums."""
    bar: Any = click.progressbar(length=job.intake.good, label="Roofs computed", file=sys.stderr)
    with bar:
        for frame in job.run():
            bar.update(frame.attrs["done"] - bar.pos)
    with solver_silent():
        final, whole = job.finished
    notes = notes_beside(out)
    if notes:
        write_notes(notes, final, job)
        click.echo(f"What the ranking rests on, invented figures marked: {notes}")
    write(out, final, whole, job)
    for line in (*told(whole, job, final), *decided(job, final)):
        click.echo(line)
    click.echo(f"Written: {out}")


def told(whole: CapitalProgramme, job: PortfolioJob, final: Any) -> Iterator[str]:
    """Yield what a programme comes to, in lines of words."""
    yield from lead_in_words(whole, final, job.budget)
    yield from plan_in_words(whole, final)
    if whole.plan:
        yield from _spent(whole.plan)
    if whole.worthwhile.buildings:
        yield DEMO


def _spent(plan: CapitalPlan) -> Iterator[str]:
    before = 0.0
    for year in plan.years:
        had = f" and {fmt.shown(before, 'money')} from the year before" if before else ""
        kept = f", {fmt.shown(year.carried_over, 'money')} carried over"
        yield (
            f"Year {plan.calendar(year.year)}: {fmt.shown(year.spent, 'money')} spent of "
            f"{fmt.shown(year.budget, 'money')}{had}{kept if year.carried_over else ''}."
        )
        before = year.carried_over


def decided(job: PortfolioJob, final: Any) -> Iterator[str]:
    """Yield which inputs decide the order, so that size does not pass for worth."""
    found = job.drivers(final)
    if found:
        first = ", ".join(f"{one.column} {one.net_savings_per_cost:+.2f}" for one in found[:4])
        yield f"Savings per dollar follow: {first} (rank correlation; 0 none, 1 alone)."
        size = next((one for one in found if one.column == "roof_area"), None)
        if size and abs(size.net_savings) > 0.7:
            yield f"Savings in dollars follow roof area ({size.net_savings:+.2f}): size first."
