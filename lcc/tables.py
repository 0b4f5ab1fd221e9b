"""The one module that knows where the tables are: rows of ``data`` by table name."""

import csv
import gzip
import hashlib
import io
import json
from contextlib import suppress
from functools import cache
from importlib.resources import files
from typing import Any

_DATA = files("data")
# The tables; the first column of each is its key.
_NAMES = (
    "building_uses", "climates", "coverings", "duty_prices", "field_inputs", "heating",
    "inflation", "insulation_minimums", "life_sources", "materials", "metals", "overheads",
    "panels", "place_scatter", "prices", "roof_types", "unit_prices",
)  # fmt: skip


@cache
def rows(table: str) -> dict[str, dict[str, Any]]:
    """Return a table as plain rows by key, each with ``source`` and ``basis``.

    Parameters
    ----------
    table : str
        One of the names of `names`.

    Notes
    -----
    A column whose every cell is a number holds numbers; an empty cell is None. The rows are
    shared; callers do not change them.
    """
    lines = read_text(file_of(table)).splitlines()
    head, *body = csv.reader(line for line in lines if not line.startswith("#"))
    cells = zip(*map(_typed, zip(*body, strict=True)), strict=True)
    return {row[0]: dict(zip(head, own, strict=True)) for row, own in zip(body, cells, strict=True)}


def _typed(column: tuple[str, ...]) -> list[Any]:
    for number in (int, float):
        with suppress(ValueError):
            return [number(cell) if cell or number is int else None for cell in column]
    return [cell or None for cell in column]


def words(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a table of words: sentences, titles and spellings, which hold no figure.

    Examples
    --------
    >>> words("glossary")[0]["word"]
    'Life-cycle cost'
    """
    return tuple(csv.DictReader(io.StringIO(read_text(f"words/{name}.csv"))))


@cache
def keys(table: str) -> tuple[str, ...]:
    """Return the keys of a table in file order."""
    return tuple(rows(table))


def names() -> tuple[str, ...]:
    """Return the names of the tables."""
    return _NAMES


def file_of(table: str) -> str:
    """Return the file of a table, beside others in ``data``."""
    if table not in _NAMES:
        raise KeyError(table)
    return "climates/stations.csv" if table == "climates" else f"{table}.csv"


def read_text(path: str) -> str:
    """Return the text of a file of ``data``, unpacked where its name ends with ``.gz``."""
    held = _held(path)
    return (gzip.decompress(held) if path.endswith(".gz") else held).decode()


def digest() -> str:
    """Return a short hash of every table and climate, the same whatever ends their lines."""
    found = hashlib.sha256()
    for name in map(file_of, _NAMES):
        found.update("\n".join(read_text(name).splitlines()).encode())
    for station in keys("climates"):
        found.update(_held(f"climates/{station}.csv.gz"))
    return found.hexdigest()[:16]


def _held(path: str) -> bytes:
    return _DATA.joinpath(path).read_bytes()


def read_json(path: str) -> Any:
    """Return the parsed JSON of a file of ``data``."""
    return json.loads(read_text(path))
