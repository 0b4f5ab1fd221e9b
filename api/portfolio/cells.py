"""Cells of text as values of the core, each distinct text of a column looked at once."""

from __future__ import annotations

import re
from collections.abc import Callable
from difflib import get_close_matches
from typing import Any

from api import units
from lcc import tables
from lcc.case.fields import Facts, in_range

MAX_TEXT = 200
_NUMBER = {
    "point": re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d{1,3})?", re.ASCII),
    "comma": re.compile(r"[-+]?(?:\d+(?:,\d*)?|,\d+)(?:[eE][-+]?\d{1,3})?", re.ASCII),
}
_MARK = {
    "point": "a plain number with a point for decimals and no thousands separators",
    "comma": "a plain number with a comma for decimals (the file's) and no thousands separators",
}
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


class CellError(ValueError):
    """A cell that cannot be used; its text is the rule that it breaks."""


Reader = Callable[[str], Any]


def reader_of(facts: Facts, unit: units.Unit, decimal: str) -> Reader:
    """Return the function that reads one stripped, non-empty cell of a column.

    Parameters
    ----------
    facts : Facts
        What the column may hold.
    unit : Unit
        Unit of its numbers.
    decimal : {"point", "comma"}
        Decimal mark.

    Returns
    -------
    callable
        From text to a value of the core; raises `CellError` with the rule that is broken.
    """
    if facts.type in ("quantity", "whole"):
        return lambda text: _number(text, facts, unit, decimal)
    if facts.type == "key":
        return _key_reader(facts.table)
    if facts.type == "choice":
        return lambda text: _one_of(text, {option: option for option in facts.options})
    return _name


def _number(text: str, facts: Facts, unit: units.Unit, decimal: str) -> float | int:
    if not _NUMBER[decimal].fullmatch(text):
        raise CellError(f"{_MARK[decimal]}, {allowed(facts, unit)}")
    value = (float(text.replace(",", ".")) - unit.zero) * unit.factor
    whole = facts.type == "whole"
    if (whole and value != int(value)) or not in_range(value, facts):
        raise CellError(f"{'a whole number ' if whole else ''}{allowed(facts, unit)}")
    return int(value) if whole else value


def allowed(facts: Facts, unit: units.Unit) -> str:
    """Return the range of a number in the unit of its column.

    Examples
    --------
    >>> allowed(Facts("quantity", "Area", low=1, high=1e6), units.spelled("area", "ft^2"))
    'from 10.7639 to 1.07639e+07 ft²'
    """
    low, high = (
        None if bound is None else f"{bound / unit.factor + unit.zero:g}"
        for bound in (facts.low, facts.high)
    )
    lower = f"{'more than' if facts.low_open else 'from'} {low}" if low else ""
    upper = f"{'less than' if facts.high_open else 'to'} {high}" if high else ""
    return " ".join(part for part in (lower, upper, unit.display) if part)


def _key_reader(table: str) -> Reader:
    known = {key.casefold(): key for key in tables.keys(table)}
    if table == "climates":
        known |= _places()
    return lambda text: _one_of(text, known)


def _places() -> dict[str, str]:
    """Return climates by place: ``Tulsa, OK``."""
    return {
        f"{row['city']}, {row['state']}".casefold(): key
        for key, row in tables.rows("climates").items()
    }


def _one_of(text: str, known: dict[str, str]) -> str:
    found = known.get(text.casefold())
    if found is None:
        near = get_close_matches(text.casefold(), known, n=3, cutoff=0.5)
        some = near or list(known)[:5]
        more = "" if near or len(known) <= 5 else ", ... (see the data dictionary)"
        raise CellError(f"one of the known words, such as {', '.join(some)}{more}")
    return found


def _name(text: str) -> str:
    if len(text) > MAX_TEXT:
        raise CellError(f"a text of at most {MAX_TEXT} characters")
    if _CONTROL.search(text):
        raise CellError("a text without control characters")
    return text
