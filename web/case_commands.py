"""Commands of ``roof-lcc`` on one case: compare, assembly, checks, proposal."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from api import assemblies, service, strict_json
from api.problems import Problem
from lcc.case.logo import with_logo
from lcc.checks import KINDS, Check, run_checks, tallies
from lcc.units import System
from web import checks_page, measures_table, weather
from web import format as fmt
from web.answer import caution_groups
from web.charts import Reply
from web.proposal import document as printed

FILE = click.Path(dir_okay=False, path_type=Path)
CASE = click.argument("case", type=FILE)
WEATHER = click.option(
    "--weather",
    "weather_file",
    type=FILE,
    metavar="FILE",
    help="An EPW, TMY3 or TMY2 file in place of the case's climate.",
)


class _Refused(click.ClickException):
    """A problem told in words, one line for each fault."""

    def __init__(self, problem: Problem, path: Path | None = None) -> None:
        faults = (f"  {error.get('pointer', '')}  {error['detail']}" for error in problem.errors)
        said = problem.detail
        if path is not None:
            said = f"{path}: {said.replace('The body', 'The file').replace('the body', 'the file')}"
        super().__init__("\n".join([said, *faults]))


@click.command()
@CASE
@WEATHER
@click.option("--json", "as_json", is_flag=True, help="Print the API's reply.")
def compare(case: Path, weather_file: Path | None, as_json: bool) -> None:
    """Compare the alternatives of a CASE file."""
    reply = _reply(_weathered(document(case), weather_file))
    click.echo(service.to_json(reply).decode() if as_json else told(reply))


@click.command()
@click.argument("assembly", type=FILE)
def assembly(assembly: Path) -> None:
    """Figure U-value, time lag and more of assemblies in a file, as JSON."""
    try:
        request = service.load(assemblies.AssembliesRequest, document(assembly))
        click.echo(json.dumps(assemblies.reply(*request), indent=2, allow_nan=False))
    except Problem as problem:
        raise _Refused(problem) from None


@click.command()
@click.option("--units", "system", type=click.Choice(["ip", "si"]), default="ip",
              help="Units of the figures.")  # fmt: skip
def checks(system: System) -> None:
    """Compute every check, by kind of evidence; exit with 1 if one is outside without a reason."""
    done = run_checks()
    counted = tallies(done)
    click.echo(f"{checks_page.headline(counted)}.\n")
    for one in counted:
        title = KINDS[one.kind][0]
        click.echo(f"{title}: {one.within} within tolerance, {one.outside} outside, "
                   f"{one.open} not computed, from {one.sources} sources.")  # fmt: skip
    _listed("Outside their tolerance", [one for one in done if one.passed is False], system)
    _listed("Not computed", [one for one in done if one.passed is None], system)
    raise SystemExit(any(one.passed is False and not one.reason for one in done))


def _listed(title: str, listed: list[Check], system: System) -> None:
    click.echo(f"\n{title}: {len(listed)}")
    for one in listed:
        line = checks_page.line(one, system)
        click.echo(f"- {line.what}: {line.ours} against {line.theirs} {line.unit} "
                   f"({line.difference} apart, {line.tolerance} allowed); {line.verdict}; "
                   f"{line.source}")  # fmt: skip


@click.command()
@CASE
@WEATHER
@click.option("--out", type=FILE, required=True, help="The PDF to write.")
@click.option("--parts", default=",".join(printed.USUAL), show_default=True,
              help=f"What is printed, of {', '.join(printed.PARTS)}.")  # fmt: skip
@click.option("--paper", type=click.Choice(printed.PAPERS), default=printed.PAPERS[0],
              show_default=True, help="By units: letter for ip, A4 for si.")  # fmt: skip
@click.option("--logo", type=FILE, help="The company's logo, a PNG or an SVG.")
def proposal(
    case: Path, weather_file: Path | None, out: Path, parts: str, paper: str,
    logo: Path | None,
) -> None:  # fmt: skip
    """Typeset the proposal for a CASE file as a PDF."""
    if not out.parent.is_dir():
        raise click.ClickException(f"{out}: there is no folder {out.parent}")
    entered = _weathered(document(case), weather_file)
    if logo is not None and isinstance(entered, dict):
        entered = with_logo(entered, _read(logo))
    try:
        loaded = service.load_case(entered)
        made = printed.proposal_pdf(loaded.case, loaded.units, printed.parts_of(parts), paper)
        out.write_bytes(made)
    except Problem as problem:
        raise _Refused(problem) from None
    except OSError as error:
        raise click.ClickException(f"{out}: {error.strerror}") from None
    click.echo(f"Written: {out}")


def document(path: Path) -> Any:
    """Return the JSON document of a file, or refuse it in words."""
    content = _read(path)
    if not content.strip():
        raise click.ClickException(f"{path}: the file is empty")
    try:
        return strict_json.loads(content)
    except Problem as problem:
        raise _Refused(problem, path) from None


def _weathered(case: Any, path: Path | None) -> Any:
    if path is None or not isinstance(case, dict):
        return case
    text = _read(path).decode("utf-8", errors="replace")
    changed, zone = weather.into(case, path.name, text)
    if zone:
        click.echo(f"Climate zone {zone} is used with this weather file; site.climate_zone in the "
                   "case sets another.", err=True)  # fmt: skip
    return changed


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise click.ClickException(f"{path}: {error.strerror}") from None


def _reply(case: Any) -> Reply:
    try:
        loaded = service.load_case(case)
        return service.comparison_reply(loaded.case, loaded.units, loaded.document)
    except Problem as problem:
        raise _Refused(problem) from None


def told(reply: Reply) -> str:
    """Return a comparison's answer as lines of text."""
    names = [alternative["name"] for alternative in reply["alternatives"]]
    rows = [("", *names)] + [
        (line.label, *(cell.text or fmt.NOTHING for cell in line.cells))
        for line in measures_table.lines(reply)
    ]
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    table = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    said = [line for title, texts in caution_groups(reply) for line in ("", title, *texts)]
    return "\n".join([reply["headline"], "", *table, *said])
