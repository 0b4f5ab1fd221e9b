"""The one module that knows where the tables are: rows of ``data`` by table name."""

import csv
import gzip
import hashlib
import io
import json
from collections.abc import Hashable
from functools import cache
from importlib.resources import files
from typing import Any

import pandas as pd

_DATA = files("data")
# Table name -> file; the first column of each file is its key.
_FILES = {
    "building_uses": "building_uses.csv",
    "climates": "climates/stations.csv",
    "coverings": "coverings.csv",
    "duty_prices": "duty_prices.csv",
    "field_inputs": "field_inputs.csv",
    "heating": "heating.csv",
    "inflation": "inflation.csv",
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
def frame(table: str) -> pd.DataFrame:
    """Return a table as a frame indexed by its key, each row with ``source`` and ``basis``.

    Parameters
    ----------
    table : str
        One of the names of `names`.

    Notes
    -----
    The frame is shared; callers do not change it.
    """
    rows = pd.read_csv(io.StringIO(read_text(_FILES[table])), comment="#")
    return rows.set_index(rows.columns[0], drop=False)


@cache
def rows(table: str) -> dict[str, dict[Hashable, Any]]:
    """Return a table as plain rows by key, empty cells as None."""
    each = zip(keys(table), frame(table).to_dict("records"), strict=True)
    return {
        key: {name: None if pd.isna(cell) else cell for name, cell in row.items()}
        for key, row in each
    }


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
    return tuple(str(row_key) for row_key in frame(table).index)


def names() -> tuple[str, ...]:
    """Return the names of the tables."""
    return tuple(_FILES)


def read_text(path: str) -> str:
    """Return the text of a file of ``data``, unpacked where its name ends with ``.gz``."""
    held = _held(path)
    return (gzip.decompress(held) if path.endswith(".gz") else held).decode()


def digest() -> str:
    """Return a short hash of every table and climate, the same whatever ends their lines."""
    found = hashlib.sha256()
    for name in _FILES.values():
        found.update("\n".join(read_text(name).splitlines()).encode())
    for station in keys("climates"):
        found.update(_held(f"climates/{station}.csv.gz"))
    return found.hexdigest()[:16]


def _held(path: str) -> bytes:
    return _DATA.joinpath(path).read_bytes()


def read_json(path: str) -> Any:
    """Return the parsed JSON of a file of ``data``."""
    return json.loads(read_text(path))
