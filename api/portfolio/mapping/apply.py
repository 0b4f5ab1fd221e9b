"""An owner's own table, read through its mapping as a table of portfolio columns."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice

from api.portfolio.mapping.cell_forms import (
    NONE_IS_ZERO,
    age_of_year,
    area,
    is_number,
    known,
    number,
    over,
    years_until,
)
from api.portfolio.mapping.mapping_file import DERIVED, NOT_USED, TableMapping
from api.portfolio.mapping.meaning import key_of
from api.portfolio.reading.data_table import DataTable, Record
from api.portfolio.reading.headers import titles
from lcc.place import find
from lcc.units import System

ASSUMED = "assumed"
Cells = dict[str, str]


@dataclass(frozen=True)
class Reading:
    """Where each target stands in a record, with what reads its cells."""

    places: dict[str, int]
    mapping: TableMapping

    def cells(self, record: Record) -> Cells:
        """Return the cells of a record by their targets, empty where unknown."""
        held = record.cells
        found = {name: _said(name, held[at]) for name, at in self.places.items() if at < len(held)}
        if any(_TOTALS.match(found.get(one, "")) for one in ("name", "building_name", "owner_id")):
            return {"name": found.get("name", "")}  # a line of totals is no roof
        return found


_TOTALS = re.compile(
    r"(?:grand |sub-?)?totals?\W*$|total (?:area|roofs?|buildings?)\b|notes?:", re.I
)


def _said(name: str, cell: str) -> str:
    """Return what a cell says, empty where that is unknown; no leaks are 0 leaks."""
    if cell.strip().casefold() == "none" and name not in DERIVED and _stem(name) in NONE_IS_ZERO:
        return "0"
    return known(cell)


FLOOR_AREAS = {"floor area": 0.3048**2, "floor area in m2": 1.0}  # and their units [m²]
LIKE_TITLES = 12  # rows in which the titles are looked for


def headed(table: DataTable) -> DataTable:
    """Return a table that begins with its titles, also where a heading stands above them.

    The titles are the first row with as many texts as any of the first rows, or nearly so.
    """
    first = list(islice(table.records(), LIKE_TITLES))
    texts = [_texts(list(table.header)), *(_texts(record.cells) for record in first)]
    at = next(at for at, count in enumerate(texts) if count >= 0.7 * max(texts))
    if at == 0 or texts[0] > 2:
        return table
    record = first[at - 1]
    return replace(
        table,
        header=tuple(cell.strip() for cell in record.cells),
        header_line=record.line,
        records=lambda: islice(table.records(), at, None),
    )


def _texts(cells: list[str]) -> int:
    return len({cell for cell in cells if re.search(r"[^\W\d]", cell)})


def mapped(table: DataTable, mapping: TableMapping, system: System = "ip") -> DataTable:
    """Return a table with the columns that a mapping makes of it.

    Its records keep their lines. What a row does not say of a column that every roof needs is
    taken from the mapping's defaults, and named in the column `assumed`.
    """
    reading = Reading(places_of(table, mapping), mapping)
    made = [name for name in reading.places if name not in DERIVED]
    known_titles = titles("ip")
    have = {known_titles[name][0].name for name in made}
    for name in _derived(reading.places):
        if known_titles[name][0].name not in have:
            made.append(name)
            have.add(known_titles[name][0].name)
    made += [name for name in mapping.defaults if name not in have]
    return replace(
        table,
        header=(*made, ASSUMED),
        records=lambda: _records(table, reading, made, system),
        read_as=f"{table.read_as}; {len(reading.places)} columns by the mapping",
        year=mapping.year,
    )


def places_of(table: DataTable, mapping: TableMapping) -> dict[str, int]:
    """Return where each target of a mapping stands in a table; the first of its name counts."""
    found: dict[str, int] = {}
    for at, title in enumerate(table.header):
        target = mapping.columns.get(title, "")
        if target and target != NOT_USED:
            found.setdefault(target, at)
    return found


def _derived(places: dict[str, int]) -> Iterator[str]:
    if places.keys() & {"year of the roof", "year built"}:
        yield "age"
    if "warranty end" in places:
        yield "warranty_left"
    if "floor area" in places:
        yield "roof_area_ft2"
    if "floor area in m2" in places:
        yield "roof_area_m2"
    if places.keys() & {"town", "ZIP code", "latitude"}:
        yield "climate"


def _records(
    table: DataTable, reading: Reading, made: list[str], system: System
) -> Iterator[Record]:
    seen: dict[str, int] = {}
    for record in table.records():
        cells = reading.cells(record)
        row = [_cell(name, cells, reading.mapping, system) for name in made]
        assumed = []
        for at, name in enumerate(made):
            stem = _stem(name)
            if not row[at] and reading.mapping.defaults.get(stem):
                row[at] = reading.mapping.defaults[stem]
                assumed.append(stem)
            if name == "name":
                row[at] = _own(row[at], cells.get("owner_id", ""), seen)
        yield Record(record.line, [*row, "; ".join(assumed)])


def _own(name: str, number_: str, seen: dict[str, int]) -> str:
    """Return a name that no other row has: with the owner's number, or counted."""
    name = name or number_
    if name in seen and number_ and f"{name}, {number_}" not in seen:
        name = f"{name}, {number_}"
    seen[name] = seen.get(name, 0) + 1
    return name if seen[name] == 1 or not name else f"{name} ({seen[name]})"


@lru_cache(maxsize=4096)
def _stem(name: str) -> str:
    """Return the column of a title, without its unit."""
    return titles("ip")[name][0].name


def _cell(name: str, cells: Cells, mapping: TableMapping, system: System) -> str:
    stem = _stem(name)
    text = cells.get(name, "")
    if stem == "climate":
        return climate_of(cells, mapping)
    if stem == "age":
        return number(text) or _age(cells, mapping.year)
    if stem == "roof_area":
        return _area(name, cells, system)
    if stem == "warranty_left" and not text:
        return years_until(cells.get("warranty end", ""), mapping.year)
    return _converter(stem)(text, mapping)


def _area(name: str, cells: Cells, system: System) -> str:
    """Return the roof area of a row in its title's unit, else its floor area over storeys."""
    if cells.get(name):
        return area(cells[name], titles(system)[name][1].factor)
    title = next((one for one in FLOOR_AREAS if cells.get(one)), "")
    if not title:
        return ""
    floors = area(cells[title], FLOOR_AREAS[title])
    return over(floors, number(cells.get("storeys", "")))


def _age(cells: Cells, year: int) -> str:
    return age_of_year(cells.get("year of the roof", ""), year) or age_of_year(
        cells.get("year built", ""), year, built=True
    )


def _converter(stem: str) -> Callable[[str, TableMapping], str]:
    facts = titles("ip")[stem][0].facts
    if facts.type in ("quantity", "whole"):
        return lambda text, mapping: quantity(stem, text, mapping)
    if facts.type in ("key", "choice"):
        return lambda text, mapping: word(stem, text, mapping)
    return lambda text, _: text


def quantity(column: str, text: str, mapping: TableMapping) -> str:
    """Return the number that a cell says: as the mapping says, else as it is understood.

    A text without one is left to the default, but where every roof needs a number of its own.
    """
    said = mapping.values.get(column, {})
    if text in said:
        return said[text]
    found = number(text)
    needed = titles("ip")[column][0].required
    return found if needed or is_number(found) else ""


def word(column: str, text: str, mapping: TableMapping) -> str:
    """Return the key that a word means: as the mapping says, else as the word is understood.

    A word that neither knows is left to the default.
    """
    if not text:
        return ""
    said = mapping.values.get(column, {})
    return said[text] if text in said else key_of(column, text)


def meaning(column: str, text: str, mapping: TableMapping) -> str:
    """Return what a word or a number of a column means, empty where it is not understood."""
    return _converter(column)(text, mapping)


def climate_of(cells: Cells, mapping: TableMapping) -> str:
    """Return the key of the climate nearest to where a row says that its roof is."""
    for written in places_in(cells):
        if written in mapping.places:
            return mapping.places[written]
        if key := key_of("climate", written) or located(written)[0]:
            return key
    return ""


def places_in(cells: Cells) -> Iterator[str]:
    """Yield how a row says where its roof is, the most certain first.

    Examples
    --------
    >>> list(places_in({"town": "Joliet", "state": "IL", "ZIP code": "60431"}))
    ['60431', 'Joliet, IL']
    """
    code = re.match(r"\d{4,5}(?:-\d{4})?$", cells.get("ZIP code", "").removesuffix(".0"))
    if code:
        yield code[0].zfill(5)
    town, state = cells.get("town", ""), cells.get("state", "")
    if town:
        yield f"{town}, {state}" if state and "," not in town else town
    if cells.get("latitude") and cells.get("longitude"):
        yield f"{cells['latitude']}, {cells['longitude']}"
    if cells.get("climate"):
        yield cells["climate"]


@lru_cache(maxsize=20_000)
def located(written: str) -> tuple[str, str]:
    """Return the climate nearest to a place, and how far it is; both empty where unknown."""
    found = find(written, alike=False)
    if not found.exact or len(found.places) != 1:
        return "", ""
    return found.places[0].station.key, found.places[0].station.words
