"""The header of a table of roofs: which column is which, and in what unit its numbers are."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache

from api import units
from api.portfolio.faults import Fault, TableError, column_letter
from api.portfolio.tables import Table
from lcc.portfolio.columns import Column, columns

# Columns that the tables given back carry beside those of the roofs; reading passes over them.
PASSED_OVER = ("line", "error")
_OF_ONE_UNIT = ("eer", "money", "years")
_BRACKETED = re.compile(r"(.+?)\s*[\[(]\s*(.*?)\s*[\])]", re.DOTALL)


@dataclass(frozen=True)
class Place:
    """A column of the file: its position, the column it is, and the unit of its numbers."""

    position: int
    column: Column
    unit: units.Unit
    title: str

    @property
    def letter(self) -> str:
        """The letter that a spreadsheet gives the column."""
        return column_letter(self.position)


@dataclass(frozen=True)
class Header:
    """The columns found, the titles passed over, and the number of cells a row should have."""

    places: tuple[Place, ...]
    passed_over: tuple[str, ...]
    width: int


@cache
def titles(system: units.System) -> dict[str, tuple[Column, units.Unit]]:
    """Return every title that is understood, with its column and unit.

    A title is a column's name, alone (its numbers are then in the unit of `system`) or followed
    by a spelling of a unit: ``roof_area_ft2``, ``electricity_price_per_kwh``.
    """
    found: dict[str, tuple[Column, units.Unit]] = {}
    for column in columns():
        kind = column.facts.kind
        found[column.name] = (column, units.unit(kind, system) if kind else units.Unit(""))
        for spelling in units.spellings(kind) if kind else ():
            title = f"{column.name}_{slug(spelling)}"
            found.setdefault(title, (column, units.spelled(kind, spelling)))
    return found


def title_of(column: Column, system: units.System) -> str:
    """Return the title that a table written by the service gives a column.

    Examples
    --------
    >>> [title_of(column, "ip") for column in columns()[:3]]
    ['name', 'climate', 'roof_area_ft2']
    """
    return with_unit(column.name, column.facts.kind, system)


def with_unit(name: str, kind: str, system: units.System) -> str:
    """Return a title: a name and its unit, where numbers of its kind could be in another."""
    bare = units.unit(kind, system).text if kind and kind not in _OF_ONE_UNIT else ""
    return f"{name}_{slug(bare)}" if bare else name


def slug(spelling: str) -> str:
    """Return a unit as the end of a title.

    Examples
    --------
    >>> [slug(text) for text in ("ft^2", "$/kWh", "h*ft^2*degF/Btu", "%", "m^2*K/W")]
    ['ft2', 'per_kwh', 'h_ft2_degf_btu', 'percent', 'm2_k_w']
    """
    words = spelling.casefold().replace("$/", "per ").replace("10^6", "million")
    words = words.replace("%", "percent").replace("$", "usd").replace("^", "")
    return re.sub(r"[^a-z0-9]+", "_", words).strip("_")


def plain(title: str) -> str:
    """Return a title as it is looked up: small letters, underscores, unit at the end.

    Examples
    --------
    >>> [plain(title) for title in ("Roof area [ft²]", "roof-area (m2)", " Age ")]
    ['roof_area_ft2', 'roof_area_m2', 'age']
    """
    text = unicodedata.normalize("NFKC", title).strip()
    if bracketed := _BRACKETED.fullmatch(text):
        text = f"{bracketed[1]}_{slug(bracketed[2])}"
    return re.sub(r"[\s_-]+", "_", text.casefold()).strip("_")


def known_cells(cells: list[str]) -> int:
    """Return how many of a row's cells are titles that are understood."""
    return sum(plain(cell) in titles("si") for cell in cells)


def read_header(table: Table, system: units.System, ignore_unknown: bool = False) -> Header:
    """Return the columns of a table.

    Parameters
    ----------
    table : Table
        What was read.
    system : {"ip", "si"}
        Unit system of columns whose title names no unit.
    ignore_unknown : bool
        Whether columns that are not understood are passed over rather than refused.

    Raises
    ------
    TableError
        With every column that is unknown, missing or repeated.
    """
    known = titles(system)
    places: list[Place] = []
    passed: list[str] = []
    faults: list[Fault] = []
    for position, title in enumerate(table.header):
        name = plain(title)
        if name in known:
            places.append(Place(position, *known[name], title))
        elif ignore_unknown or name in PASSED_OVER or not name:
            passed.append(title)
        else:
            faults.append(_unknown(title, name, position, table.header_line, known))
    faults += _repeated(places, table.header_line) + _missing(places, table.header_line)
    if faults:
        raise TableError(faults)
    return Header(tuple(places), tuple(title for title in passed if title), len(table.header))


def _unknown(
    title: str, name: str, position: int, line: int, known: dict[str, tuple[Column, units.Unit]]
) -> Fault:
    near = get_close_matches(name, known, n=3, cutoff=0.6)
    hint = f"the nearest known names are {', '.join(near)}" if near else "no known name is near"
    return Fault(
        f"unknown column; {hint}", line, column=title, letter=column_letter(position), value=title
    )


def _repeated(places: list[Place], line: int) -> list[Fault]:
    first: dict[str, Place] = {}
    faults = []
    for place in places:
        before = first.setdefault(place.column.name, place)
        if before is not place:
            rule = f"{place.column.name} is given twice; column {before.letter} has it too"
            faults.append(Fault(rule, line, 0, place.title, place.letter, place.title))
    return faults


def _missing(places: list[Place], line: int) -> list[Fault]:
    have = {place.column.name for place in places}
    return [
        Fault("missing column; every building needs it", line, column=column.name)
        for column in columns()
        if column.required and column.name not in have
    ]
