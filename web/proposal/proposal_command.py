"""The command ``roof-lcc proposal``."""

from pathlib import Path

import click

from api import service
from api.problems import Problem
from lcc.case.logo import with_logo
from web.case_files import CASE, FILE, WEATHER, Refused, document, read, weathered
from web.proposal import document as printed


@click.command()
@CASE
@WEATHER
@click.option("--out", type=FILE, required=True, help="The PDF to write.")
@click.option("--parts", default=",".join(printed.USUAL), show_default=True,
              help=f"What is printed, of {', '.join(printed.PARTS)}.")  # fmt: skip
@click.option("--paper", type=click.Choice(printed.PAPERS), default=printed.PAPERS[0],
              show_default=True, help="By units: letter for ip, A4 for si.")  # fmt: skip
@click.option(
    "--for",
    "chosen",
    metavar="NAME",
    help="The choice that the letter is for: an alternative or the base case.",
)
@click.option("--logo", type=FILE, help="The company's logo, a PNG or an SVG.")
def proposal(
    case: Path, weather_file: Path | None, out: Path, parts: str, paper: str,
    chosen: str | None, logo: Path | None,
) -> None:  # fmt: skip
    """Typeset the proposal for a CASE file as a PDF."""
    if not out.parent.is_dir():
        raise click.ClickException(f"{out}: there is no folder {out.parent}")
    entered = weathered(document(case), weather_file)
    if chosen and isinstance(entered, dict):
        own = entered.get("proposal") or {}
        entered = {**entered, "proposal": {**own, "recommended": chosen}}
    if logo is not None and isinstance(entered, dict):
        entered = with_logo(entered, read(logo))
    try:
        loaded = service.load_case(entered)
        made = printed.proposal_pdf(loaded.case, loaded.units, printed.parts_of(parts), paper)
        out.write_bytes(made)
    except Problem as problem:
        raise Refused(problem) from None
    except OSError as error:
        raise click.ClickException(f"{out}: {error.strerror}") from None
    click.echo(f"Written: {out}")
