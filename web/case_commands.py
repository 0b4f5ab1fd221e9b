"""Commands of ``roof-lcc`` on one case or assembly: compare and assembly."""

import json
from pathlib import Path
from typing import Any

import click

from api import assemblies, service
from api.problems import Problem
from lcc.stated_case import with_draws
from web import format as fmt
from web import measures_table
from web.answer_tables import caution_groups
from web.case_files import CASE, FILE, WEATHER, Refused, document, weathered
from web.charts import Reply


@click.command()
@CASE
@WEATHER
@click.option("--json", "as_json", is_flag=True, help="Print all of the reply, as JSON.")
def compare(case: Path, weather_file: Path | None, as_json: bool) -> None:
    """Compare the alternatives of a CASE file, with random runs as the page has them."""
    reply = _reply(weathered(document(case), weather_file))
    click.echo(service.to_json(reply).decode() if as_json else told(reply))


@click.command()
@click.argument("assembly", type=FILE)
def assembly(assembly: Path) -> None:
    """Figure U-value, time lag and more of assemblies in a file, as JSON."""
    try:
        request = service.load(assemblies.AssembliesRequest, document(assembly))
        click.echo(json.dumps(assemblies.reply(*request), indent=2, allow_nan=False))
    except Problem as problem:
        raise Refused(problem) from None


def _reply(case: Any) -> Reply:
    try:
        loaded = service.load_case(case)
        return service.comparison_reply(with_draws(loaded.case), loaded.units, loaded.document)
    except Problem as problem:
        raise Refused(problem) from None


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
    answer = reply["answer"]
    beside = [*answer["disagreements"], *answer["conditions"]]
    before = ["Before you decide", *beside, ""] if beside else []
    said = [line for title, texts in caution_groups(reply) for line in ("", title, *texts)]
    notes = ["", "What the figures leave out", *reply["notes"]]
    return "\n".join([reply["headline"], answer["explanation"], "", *before, *table, *said, *notes])
