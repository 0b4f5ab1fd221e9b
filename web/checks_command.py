"""The command ``roof-lcc checks``: every check against the outside world."""

import click

from lcc.case.document_values import capital
from lcc.checks.run import KINDS, Check, kept_figures, run_checks, tallies
from lcc.units import System
from web import checks_page
from web.format import NOTHING


@click.command()
@click.option("--units", "system", type=click.Choice(["ip", "si"]), default="ip",
              help="Units of the figures.")  # fmt: skip
@click.option("--live", is_flag=True,
              help="Compute the figures of whole years too, in half a minute or more.")  # fmt: skip
def checks(system: System, live: bool) -> None:
    """Show every check by kind of evidence; exit with 1 if one is outside without a reason."""
    done = run_checks(kept=not live)
    counted = tallies(done)
    click.echo(f"{checks_page.headline(counted)}. {checks_page.sources(done)} "
               f"{checks_page.measured(done)}\n")  # fmt: skip
    if not live:
        click.echo(checks_page.KEPT.format(count=len(kept_figures())) + " Add --live to compute "
                   "them now.\n")  # fmt: skip
    click.echo(_points("What this proves:", checks_page.PROVES))
    click.echo(_points("It does not prove:", checks_page.NOT_PROVEN) + "\n")
    for one in counted:
        title = KINDS[one.kind][0]
        click.echo(f"{title}: {one.within} within tolerance, {one.outside} outside, "
                   f"{one.open} not computed, from {one.sources} sources.")  # fmt: skip
    _listed("Outside their tolerance", [one for one in done if one.passed is False], system)
    _listed("Not computed", [one for one in done if one.passed is None], system)
    raise SystemExit(any(one.passed is False and not one.reason for one in done))


def _points(title: str, points: tuple[str, ...]) -> str:
    return "\n".join((title, *(f"- {one}" for one in points)))


def _listed(title: str, listed: list[Check], system: System) -> None:
    """Rows under their reason, which many share."""
    click.echo(f"\n{title}: {len(listed)}")
    for reason in dict.fromkeys(one.reason for one in listed):
        heading = reason or "no reason is known"
        click.echo(f"\n{capital(heading)}:")
        for one in listed:
            if one.reason == reason:
                _row(checks_page.line(one, system))


def _row(line: checks_page.CheckLine) -> None:
    ours = f"{line.ours} against {line.theirs} {line.unit} ({line.difference} apart, "
    figures = f"{ours}{line.tolerance} allowed)" if line.ours != NOTHING else line.theirs
    click.echo(f"- {line.what}: {figures}{line.drawn}. {line.source}")
