"""The one module that knows where the tables are: rows of ``data`` by table name."""

from __future__ import annotations

import csv
import gzip
import hashlib
import json
from contextlib import suppress
from functools import cache
from importlib.resources import files
from typing import Any

# Table name -> file; the first column of each file is its key.
FILES = {
    "building_uses": "building_uses.csv",
    "climates": "climates/stations.csv",
    "coverings": "coverings.csv",
    "duty_prices": "duty_prices.csv",
    "field_inputs": "field_inputs.csv",
    "heating": "heating.csv",
    "insulation_minimums": "insulation_minimums.csv",
    "lives": "lives.csv",
    "materials": "materials.csv",
    "overheads": "overheads.csv",
    "metals": "metals.csv",
    "panels": "panels.csv",
    "place_scatter": "place_scatter.csv",
    "prices": "prices.csv",
    "roof_types": "roof_types.csv",
    "unit_prices": "unit_prices.csv",
}


@cache
def rows(table: str) -> dict[str, dict[str, Any]]:
    """Return a table as plain rows by key, each with ``source`` and ``basis``, empty cells as None.

    Parameters
    ----------
    table : str
        One of the names of `names`.

    Notes
    -----
    A column of numbers is of whole ones where every cell is one. The rows are shared; callers do
    not change them.
    """
    lines = [line for line in read_text(FILES[table]).splitlines() if not line.startswith("#")]
    head, *cells = csv.reader(lines)
    typed = [_typed(column) for column in zip(*cells, strict=True)]
    return {str(row[0]): dict(zip(head, row, strict=True)) for row in zip(*typed, strict=True)}


def _typed(cells: tuple[str, ...]) -> list[Any]:
    """Return the cells of a column as whole numbers, numbers or texts, the first that all are.

    Examples
    --------
    >>> _typed(("3", "4")), _typed(("3", "")), _typed(("3A", ""))
    ([3, 4], [3.0, None], ['3A', None])
    """
    for kind in (float, str) if "" in cells else (int, float):
        with suppress(ValueError):
            return [kind(cell) if cell else None for cell in cells]
    return list(cells)


@cache
def keys(table: str) -> tuple[str, ...]:
    """Return the keys of a table in file order."""
    return tuple(rows(table))


def names() -> tuple[str, ...]:
    """Return the names of the tables."""
    return tuple(FILES)


def read_text(path: str) -> str:
    """Return the text of a file of ``data``, unpacked where its name ends with ``.gz``."""
    held = _held(path)
    return (gzip.decompress(held) if path.endswith(".gz") else held).decode()


def digest() -> str:
    """Return a short hash of every table and climate, the same whatever ends their lines."""
    found = hashlib.sha256()
    for name in FILES.values():
        found.update("\n".join(read_text(name).splitlines()).encode())
    for station in keys("climates"):
        found.update(_held(f"climates/{station}.csv.gz"))
    return found.hexdigest()[:16]


def _held(path: str) -> bytes:
    return files("data").joinpath(path).read_bytes()


def read_json(path: str) -> Any:
    """Return the parsed JSON of a file of ``data``."""
    return json.loads(read_text(path))
