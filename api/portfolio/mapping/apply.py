"""An owner's own table, read through its mapping as a table of portfolio columns."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from hashlib import blake2b
from itertools import islice

from api.portfolio.mapping.cell_forms import (
    NONE_IS_ZERO,
    age_of_year,
    area,
    is_none,
    is_number,
    known,
    number,
    over,
    price,
    resistance,
    years_until,
)
from api.portfolio.mapping.mapping_file import DERIVED, NOT_USED, TableMapping
from api.portfolio.mapping.meaning import key_of, must_of, stacked, station
from api.portfolio.reading.cells import NUMERIC
from api.portfolio.reading.data_table import READ_AT_ONCE, DataTable, Record, one_line
from api.portfolio.reading.fault_kinds import RowFault, TableError, shorten
from api.portfolio.reading.headers import titles
from lcc.case.fields import nearest_words
from lcc.portfolio.columns import Column
from lcc.units import System, Unit

ASSUMED = "assumed"
Cells = dict[str, str]


@dataclass(frozen=True)
class Reading:
    """Where each target stands in a record, with what reads its cells."""

    places: dict[str, int]
    mapping: TableMapping

    @cached_property
    def titles(self) -> Cells:
        """The title of each target, as a cell that repeats it says it."""
        return {to: known(title) for title, to in self.mapping.columns.items() if to in self.places}

    def said(self, record: Record) -> Cells:
        """Return the cells of a record by their targets, empty where unknown."""
        held = record.cells
        return {
            name: cell_said(name, held[at]) for name, at in self.places.items() if at < len(held)
        }

    def cells(self, record: Record) -> Cells | None:
        """Return the cells of a record by their targets, None of no roof."""
        found = self.said(record)
        return found if self.is_roof(found) else None

    def is_roof(self, cells: Cells) -> bool:
        """Tell whether a row is of a roof: a line of totals, a note or the titles again is not."""
        count = sum(map(bool, cells.values()))
        sums = _TOTALS.match if count > 2 else _SUM.search  # but a name and its sum
        total = any(sums(cells.get(one, "")) for one in IDENTIFIED)
        again = sum(cells.get(one) == title for one, title in self.titles.items()) > 1
        return not total and not again and (bool(cells.get("name")) or count != 1)


class Unused:
    """The words and places of a mapping that no row of its table has had so far.

    Parameters
    ----------
    mapping : TableMapping
        What may be misspelt in it.
    targets : iterable of str
        What the columns of the table are read as.
    """

    def __init__(self, mapping: TableMapping, targets: Iterable[str]) -> None:
        self._columns = {
            name: _WORDS_OF.get(name) or _stem(name)
            for name in targets
            if name in _WORDS_OF or name not in DERIVED
        }
        self._words = {
            column: dict.fromkeys(one for one in words if not _is_zero(column, one))
            for column, words in mapping.values.items()
        }
        self._places = dict.fromkeys(mapping.places)

    def strike_off(self, cells: Cells) -> None:
        """Take what the cells of a row say from the list."""
        for name, column in self._columns.items():
            if words := self._words.get(column):
                words.pop(cells.get(name, ""), None)
        for written in places_in(cells) if self._places else ():
            self._places.pop(written, None)

    def left(self) -> list[tuple[str, str]]:
        """Return the words with their columns, and the places with none."""
        words = [(column, text) for column, left in self._words.items() for text in left]
        return words + [("", written) for written in self._places]


_WORDS_OF = {"year of the roof": "age"}  # columns whose words are those of another
IDENTIFIED = ("name", "building_name", "owner_id", "campus")
_TOTALS = re.compile(
    r"totals?\b\W*(?:(?:of|for|all)\b\W*)*[\d.,]*\W*(?:$|(?:area|roofs?|buildings?|sites?)\b)"
    r"|(?:grand |sub-?)totals?\b|notes?:",
    re.I,
)
_SUM = re.compile(rf"{_TOTALS.pattern}|\btotals?\b", re.I)
_DITTO = frozenset({'"', "''", "″", "”", "〃", "ditto", "do.", "same", "same as above"})


def cell_said(name: str, cell: str) -> str:
    """Return what a cell says, empty where that is unknown; no leaks are 0 leaks."""
    return "0" if name not in DERIVED and _is_zero(_stem(name), cell) else known(cell)


def _is_zero(column: str, text: str) -> bool:
    return column in NONE_IS_ZERO and is_none(text)


FLOOR_AREAS = {"floor area": "roof_area_ft2", "floor area in m2": "roof_area_m2"}  # read into
LOOKED_AT = 5_000  # rows whose cells and places are looked at
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
        header=tuple(map(one_line, record.cells)),
        header_line=record.line,
        records=lambda: islice(table.records(), at, None),
    )


def check_titles(table: DataTable, mapping: TableMapping) -> None:
    """Refuse a mapping that uses columns which the table does not have.

    Raises
    ------
    TableError
        With each of them.
    """
    wrong = [one for one, to in mapping.columns.items() if to not in ("", NOT_USED)
             and one not in table.header]  # fmt: skip
    have = [one for one in table.header if one]
    new = ", ".join(shorten(one) for one in have if one not in mapping.columns) or "none"
    rule = "the mapping names a column that the table does not have; write the title that it has "
    rule += f"now, or take it out; titles of the table that the mapping lacks: {new}"
    faults = [
        RowFault(f"{rule}; nearest: {near}" if near else rule, table.header_line, column=title)
        for title in wrong
        for near in [", ".join(nearest_words(title, have))]
    ]
    if faults:
        raise TableError(faults)


def narrowed(table: DataTable, mapping: TableMapping) -> DataTable:
    """Return a table with no columns but those used; a ditto mark becomes what it repeats."""
    used = sorted(places_of(table, mapping).values())

    def records() -> Iterator[Record]:
        for chunk in table.chunks(READ_AT_ONCE):
            for line, cells in chunk:
                yield Record(line, [cells[at] if at < len(cells) else "" for at in used])

    header = tuple(table.header[at] for at in used)
    return replace(table, header=header, records=lambda: _without_dittos(records()))


def is_ditto(cell: str) -> bool:
    """Tell whether a cell says that it is as the one above."""
    return cell.strip().casefold() in _DITTO


def _without_dittos(records: Iterator[Record]) -> Iterator[Record]:
    """Yield records in which a ditto mark is what its column last said."""
    above: dict[int, str] = {}
    for record in records:
        cells = [
            above.get(at, "") if is_ditto(cell) else cell for at, cell in enumerate(record.cells)
        ]
        above |= {at: cell for at, cell in enumerate(cells) if cell}
        yield Record(record.line, cells)


def _texts(cells: list[str]) -> int:
    return len({cell for cell in cells if re.search(r"[^\W\d]", cell)})


BELOW = "said once, for the rows below it"


def said_below(table: DataTable, mapping: TableMapping) -> frozenset[str]:
    """Return which groups a table says once each, above the rows that belong to them."""
    places = places_of(table, mapping)
    reading = Reading(places, mapping)
    rows = [cells for one in islice(table.records(), LOOKED_AT) if (cells := reading.cells(one))]
    found = set()
    for name in places.keys() & {"campus", "building_name"}:
        said = [cells.get(name, "") for cells in rows]
        groups = [text for text in said if text]
        if 1 < len(groups) == len(set(groups)) and 2 * len(groups) < len(said):
            found.add(name)
    return frozenset(found)


def mapped(table: DataTable, mapping: TableMapping, system: System = "ip") -> DataTable:
    """Return a table with the columns that a mapping makes of it.

    Its records keep their lines. What a row does not say of a column that every roof needs is
    taken from the mapping's defaults, and named in the column `assumed`.
    """
    owned, table = table, narrowed(table, mapping)
    origins = places_of(owned, mapping)
    used = origins.values()
    passed_over = tuple(one for at, one in enumerate(owned.header) if one and at not in used)
    reading = Reading(places_of(table, mapping), mapping)
    below = said_below(table, mapping)
    made = [name for name in reading.places if name not in DERIVED]
    known_titles = titles("ip")
    have = {known_titles[name][0].name for name in made}
    for name, behind in _BEHIND.items():
        if origins.keys() & {*behind} and known_titles[name][0].name not in have:
            made.append(name)
            have.add(known_titles[name][0].name)
    made += [name for name in mapping.defaults if name not in have]
    unused = Unused(mapping, reading.places)
    if "name" not in have and have & {"building_name", "owner_id"}:
        made.append("name")  # of the building and the owner's number
    return replace(
        table,
        header=(*made, ASSUMED),
        records=lambda: _records(table, reading, made, system, below, unused),
        read_as=f"{table.read_as}; {len(reading.places)} columns by the mapping",
        year=mapping.year,
        passed_over=passed_over,
        unused=unused.left,
        written=(*(_written(name, origins, owned) for name in made), ("", ASSUMED)),
    )


def _written(name: str, origins: dict[str, int], table: DataTable) -> tuple[str, str]:
    """Return the letter in the owner's file of the column behind one made, and its title."""
    behind = (name, *_BEHIND.get(name, ()))
    at = next((origins[one] for one in behind if one in origins), None)
    if at is None:
        return "", name
    letter, title = table.place_of(at)
    return letter, title if title == name else f"{title}, read as {name}"


# Columns worked out from others of the owner's table, any one of which is enough.
_BEHIND = {
    "age": ("year of the roof", "year built"),
    "warranty_left": ("warranty end",),
    "roof_area_ft2": ("floor area",),
    "roof_area_m2": ("floor area in m2",),
    "climate": ("ZIP code", "town", "latitude"),
    "coverings_in_place": ("covering",),
}


def places_of(table: DataTable, mapping: TableMapping) -> dict[str, int]:
    """Return where each target of a mapping stands in a table; the first of its name counts."""
    found: dict[str, int] = {}
    for at, title in enumerate(table.header):
        target = mapping.columns.get(title, "")
        if target and target != NOT_USED:
            found.setdefault(target, at)
    return found


def _records(
    table: DataTable, reading: Reading, made: list[str], system: System, below: frozenset[str],
    unused: Unused,
) -> Iterator[Record]:  # fmt: skip
    seen: dict[str, int] = {}
    named: dict[bytes, str] = {}
    above = dict.fromkeys(below, "")
    for record in table.records():
        cells = reading.said(record)
        unused.strike_off(cells)
        if not reading.is_roof(cells):
            continue
        above = {name: cells[name] or above[name] for name in below}
        cells |= above
        row = [_cell(name, cells, reading.mapping, system) for name in made]
        assumed = []
        for at, name in enumerate(made):
            stem = _stem(name)
            if not row[at] and reading.mapping.defaults.get(stem):
                row[at] = reading.mapping.defaults[stem]
                assumed.append(stem)
            if name == "name":
                said = blake2b("\0".join(cells.values()).encode(), digest_size=16).digest()
                if said not in named:  # the same row again is the same roof: it keeps its name
                    named[said] = _own(", ".join(_names(row[at], cells)), seen)
                row[at] = named[said]
        yield Record(record.line, [*row, "; ".join(assumed)])


def _names(name: str, cells: Cells) -> Iterator[str]:
    """Yield what a roof is called: its building, its part of that, and the owner's number."""
    for one in (cells.get("building_name", ""), name, cells.get("owner_id", "")):
        if one and (one == name or one.casefold() not in name.casefold()):
            yield one


def _own(name: str, seen: dict[str, int]) -> str:
    """Return a name that no other row has, counted where it comes again."""
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
        left = "" if mapping.defaults.get(stem) else next(places_in(cells), "")
        return climate_of(cells, mapping) or left  # a fault then names the place
    if stem == "age":
        return number(text) or _age(cells, mapping)
    if stem == "roof_area" and text not in mapping.values.get(stem, {}):
        return _area(name, cells, system)
    if stem == "coverings_in_place" and not text:
        return str(len(stacked(cells.get("covering", ""))) or "")
    if stem == "warranty_left" and not text:
        return years_until(cells.get("warranty end", ""), mapping.year)
    return meaning(name, text, mapping, system)


def _area(name: str, cells: Cells, system: System) -> str:
    """Return the roof area of a row in its title's unit, else its floor area over storeys."""
    if cells.get(name):
        return area(cells[name], titles(system)[name][1].factor)
    title = next((one for one in FLOOR_AREAS if cells.get(one)), "")
    if not title:
        return ""
    floors = area(cells[title], titles(system)[FLOOR_AREAS[title]][1].factor)
    return over(floors, number(cells.get("storeys", "")))


def _age(cells: Cells, mapping: TableMapping) -> str:
    installed, year = cells.get("year of the roof", ""), mapping.year
    if said := mapping.values.get("age", {}).get(installed):
        return said
    return age_of_year(installed, year) or age_of_year(
        cells.get("year built", ""), year, built=True
    )


def meaning(title: str, text: str, mapping: TableMapping, system: System = "ip") -> str:
    """Return what a cell means: as the mapping says, else as it is understood, empty if neither.

    What is not understood is left to the default, but where every roof needs a number of its own.
    """
    column, unit = titles(system)[title]
    said = mapping.values.get(column.name, {})
    if text in said:
        return said[text]
    if column.facts.type in NUMERIC:
        found = sized(column, unit, text)
        return found if column.required or fits(column.name, found) else ""
    if column.facts.type in ("key", "choice"):
        return must_of(text, mapping.year) if column.name == "must" else key_of(column.name, text)
    return text


def sized(column: Column, unit: Unit, text: str) -> str:
    """Return the number of a cell in the unit of its column, also where the cell names another."""
    if column.name == "roof_area":
        return area(text, unit.factor)
    if column.name == "insulation" and (found := resistance(text, unit.factor)):
        return found
    if column.facts.kind == "price_per_area":
        return price(text, unit.factor)
    return "0" if _is_zero(column.name, text) else number(text)


def fits(column: str, found: str) -> bool:
    """Tell whether a text may stand in a column of numbers: a number, whole where that must be."""
    return is_number(found) and not (
        titles("ip")[column][0].facts.type == "whole" and re.search(r"[.,]\d?[1-9]", found)
    )


def climate_of(cells: Cells, mapping: TableMapping) -> str:
    """Return the key of the climate nearest to where a row says that its roof is."""
    for written in places_in(cells):
        if key := station(mapping.places.get(written, written)):
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
        yield code[0]
    town, state = cells.get("town", ""), cells.get("state", "")
    if town:
        yield f"{town}, {state}" if state and "," not in town else town
    if cells.get("latitude") and cells.get("longitude"):
        yield f"{cells['latitude']}, {cells['longitude']}"
    if cells.get("climate"):
        yield cells["climate"]
