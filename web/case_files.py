"""Files that commands take: a case, its weather, and what is said of one that cannot be used."""

from pathlib import Path
from typing import Any

import click

from api import strict_json
from api.problems import Problem
from web import weather_upload

FILE = click.Path(dir_okay=False, path_type=Path)
CASE = click.argument("case", type=FILE)
_WEATHER_HELP = "An EPW, TMY3 or TMY2 file in place of the case's climate."
WEATHER = click.option("--weather", "weather_file", type=FILE, metavar="FILE", help=_WEATHER_HELP)


class Refused(click.ClickException):
    """A problem in words, one line for each fault."""

    def __init__(self, problem: Problem, path: Path | None = None) -> None:
        faults = (f"  {error.get('pointer', '')}  {error['detail']}" for error in problem.errors)
        said = problem.detail
        if path is not None:
            said = f"{path}: {said.replace('The body', 'The file').replace('the body', 'the file')}"
        super().__init__("\n".join([said, *faults]))


def document(path: Path) -> Any:
    """Return the JSON document of a file, or refuse it in words."""
    content = read(path)
    if not content.strip():
        raise click.ClickException(f"{path}: the file is empty")
    try:
        return strict_json.loads(content)
    except Problem as problem:
        raise Refused(problem, path) from None


def weathered(case: Any, path: Path | None) -> Any:
    """Return a case document with a weather file, if one is given, in place of its climate."""
    if path is None or not isinstance(case, dict):
        return case
    text = read(path).decode("utf-8", errors="replace")
    changed, zone = weather_upload.into(case, path.name, text)
    if zone:
        click.echo(f"Climate zone {zone} is used with this weather file; site.climate_zone in the "
                   "case sets another.", err=True)  # fmt: skip
    return changed


def read(path: Path) -> bytes:
    """Return what a file holds, or say in words why not."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise click.ClickException(f"{path}: {error.strerror}") from None
