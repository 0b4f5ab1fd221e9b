"""The mapping file of ``roof-lcc portfolio``: proposed once, looked over, used again."""

import json
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import groupby
from pathlib import Path
from typing import Any

import click

from api import strict_json
from api.portfolio.mapping import TableMapping, as_document, from_document, propose, report
from api.portfolio.mapping.mapping_file import DERIVED, NOT_USED
from api.portfolio.mapping.report import UNKNOWN_SAID
from api.portfolio.partitions import replace_file
from api.portfolio.query import PortfolioQuery
from api.portfolio.reading.any_table import owners_table
from lcc.portfolio.columns import columns

MOST_SHOWN = 30
PARTS = {
    "column": "Columns",
    "word": "Words",
    "place": "Places",
    "line": "Lines passed over",
    "default": "Taken where the table says nothing (common practice; correct what you know better)",
}


def read_mapping(path: Path | None) -> TableMapping | None:
    """Return the mapping of a file, None without one."""
    return None if path is None else from_document(strict_json.loads(path.read_bytes()))


def propose_mapping(roofs: Path, path: Path, query: PortfolioQuery) -> None:
    """Write the mapping that a table most likely needs, and show it grouped."""
    with roofs.open("rb") as file:
        table = owners_table(file, query.decimal)
        mapping = propose(table, query.system, date.today().year)
        lines = report(table, mapping)
    path.parent.mkdir(parents=True, exist_ok=True)
    replace_file(path, json.dumps(as_document(mapping), indent=1, ensure_ascii=False) + "\n")
    for text in in_words(lines):
        click.echo(text)
    click.echo(f"Written: {path}. Look it over, correct it, and run the same command again.")


def open_words(roofs: Path, mapping: TableMapping, query: PortfolioQuery) -> list[str]:
    """Return what a kept mapping leaves without a meaning in a table, in words."""
    with roofs.open("rb") as file:
        lines = report(owners_table(file, query.decimal, mapping), mapping)
    left = [one for one in lines if one["part"] in ("word", "place") and not one["means"]]
    return list(in_words(one for one in left if one["note"] != UNKNOWN_SAID))


def meanings() -> list[tuple[str, str]]:
    """Return what a column of a table may mean, each with words that say it."""
    own = [(column.name, column.facts.label + ", price" * (column.name == "new_covering_price"))
           for column in columns() if column.name != "assumed"]  # fmt: skip
    return [*own, *DERIVED.items(), (NOT_USED, "")]


def in_words(lines: Iterable[dict[str, Any]]) -> Iterator[str]:
    """Yield what a mapping makes of a table, in words: of each part some, open ones first."""
    for part, group in groupby(lines, key=lambda line: str(line["part"])):
        own = sorted(group, key=lambda line: part == "word" and not line["note"])
        yield f"{PARTS[part]}:"
        for line in own[:MOST_SHOWN]:
            rows = f", {line['rows']:,} row{'s' * (line['rows'] > 1)}" if line["rows"] else ""
            note = f" ({line['note']})" if line["note"] else ""
            yield f"  {' '.join(line['said'].split())}{rows}: {line['means'] or 'unknown'}{note}"
        if len(own) > MOST_SHOWN:
            yield f"  and {len(own) - MOST_SHOWN:,} more in the file"
