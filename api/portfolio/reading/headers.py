"""The header of a table of roofs: which column is which, and in what unit its numbers are."""

import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from itertools import islice

from xlsxwriter.utility import xl_col_to_name

from api.portfolio.column_aliases import AGE_TOLD, meant, tells_a_year
from api.portfolio.reading.data_table import DataTable
from api.portfolio.reading.fault_kinds import RowFault, TableError
from lcc import units
from lcc.case.fields import nearest_words
from lcc.portfolio.columns import Column, columns

# Columns that the tables given back carry beside those of the roofs; reading passes over them.
PASSED_OVER = ("line", "error")
MOST_TITLE_ROWS = 10
MOST_NOT_USED = 12  # titles, named where a column is missing
# Prices that users have per another unit than the system's energies, as on their bills.
_TRADE = {("gas_price", "ip"): "$/therm"}
_OF_ONE_UNIT = ("eer", "money", "years")
_BRACKETED = re.compile(r"(.+?)\s*[\[(]\s*(.*?)\s*[\])]", re.DOTALL)


@dataclass(frozen=True)
class HeaderCell:
    """A column of the table: its position, the column it is, and the unit of its numbers.

    `letter` is the one that a spreadsheet gives it in the owner's file, `title` what stands there.
    """

    position: int
    column: Column
    unit: units.Unit
    letter: str
    title: str


@dataclass(frozen=True)
class Header:
    """The columns found, the titles passed over, and the number of cells a row should have."""

    places: tuple[HeaderCell, ...]
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
            for ending in _endings(slug(spelling)):
                found.setdefault(f"{column.name}_{ending}", (column, units.spelled(kind, spelling)))
    return found


def _endings(unit: str) -> tuple[str, ...]:
    """Return a unit's ending and its like: ``ft2`` is also ``sq_ft`` and ``sf``."""
    feet, metres = unit.replace("ft2", "sq_ft"), unit.replace("m2", "sq_m")
    return tuple(dict.fromkeys((unit, feet, unit.replace("ft2", "sf"), metres)))


def title_of(column: Column, system: units.System) -> str:
    """Return the title that a table written by the service gives a column.

    Examples
    --------
    >>> [title_of(column, "ip") for column in columns()[:3]]
    ['name', 'climate', 'roof_area_ft2']
    """
    trade = _TRADE.get((column.name, system))
    if trade:
        return f"{column.name}_{slug(trade)}"
    return with_unit(column.name, column.facts.kind, system)


def unit_of(column: Column, system: units.System) -> units.Unit:
    """Return the unit of the title that a table written by the service gives a column."""
    kind, trade = column.facts.kind, _TRADE.get((column.name, system))
    if trade:
        return units.spelled(kind, trade)
    return units.unit(kind, system) if kind else units.Unit("")


def other_titles(column: Column, system: units.System) -> list[str]:
    """Return the titles that are understood besides, one for each other unit.

    Examples
    --------
    >>> other_titles(next(one for one in columns() if one.name == "gas_price"), "ip")
    ['gas_price_per_kwh', 'gas_price_per_mwh', 'gas_price_per_million_btu']
    """
    seen = {unit_of(column, system).factor}
    found = []
    for title, (owner, unit) in titles(system).items():
        if owner is column and title != column.name and unit.factor not in seen:
            seen.add(unit.factor)
            found.append(title)
    return found


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
    >>> [plain(title) for title in ("Roof area [ft²]", "roof-area (m2)", " Age ", "Wet %")]
    ['roof_area_ft2', 'roof_area_m2', 'age', 'wet_percent']
    """
    text = unicodedata.normalize("NFKC", title).strip().replace("%", " percent")
    if bracketed := _BRACKETED.fullmatch(text):
        text = f"{bracketed[1]}_{slug(bracketed[2])}"
    return re.sub(r"[\s_-]+", "_", text.casefold()).strip("_")


def known_cells(cells: list[str]) -> int:
    """Return how many of a row's cells are titles that are understood."""
    return sum(plain(cell) in titles("si") for cell in cells)


def read_header(table: DataTable, system: units.System, ignore_unknown: bool = False) -> Header:
    """Return the columns of a table.

    Parameters
    ----------
    table : DataTable
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
    _refuse_title_row(table)
    known = titles(system)
    places: list[HeaderCell] = []
    passed: list[str] = []
    faults: list[RowFault] = []
    for position, title in enumerate(table.header):
        name = plain(title)
        if name in known:
            places.append(HeaderCell(position, *known[name], *table.place_of(position)))
        elif ignore_unknown or name in PASSED_OVER or not name:
            passed.append(title)
        else:
            faults.append(_unknown(title, name, position, table, known))
    faults += _repeated(places, table.header_line) + _missing(places, table)
    if faults:
        raise TableError(faults)
    return Header(tuple(places), tuple(title for title in passed if title), len(table.header))


def _refuse_title_row(table: DataTable) -> None:
    """Refuse a table whose header stands below rows of something else, naming those."""
    if known_cells(list(table.header)) > 1:
        return
    for record in islice(table.records(), MOST_TITLE_ROWS):
        parted = re.split(r"[;\t]", record.cells[0]) if len(record.cells) == 1 else record.cells
        if like_header(parted):
            first, last = table.header_line, record.line - 1
            rows = f"row {first} looks" if first == last else f"rows {first} to {last} look"
            rule = f"{rows} like a title; delete it, so that the table begins with row {last + 1}"
            raise TableError([RowFault(rule, first, value=next(filter(None, table.header), ""))])


def like_header(cells: list[str]) -> bool:
    """Tell whether a row holds titles of columns: some understood, or several that are meant."""
    names = [plain(cell) for cell in cells]
    return known_cells(cells) > 1 or sum(bool(meant(name)[0]) for name in names) > 2


def _unknown(
    title: str,
    name: str,
    position: int,
    table: DataTable,
    known: dict[str, tuple[Column, units.Unit]],
) -> RowFault:
    hint = suggestion(name, known)
    if len(table.header) == 1:
        hint = "the only one; put commas, semicolons or tabs between the cells"
    letter = xl_col_to_name(position)
    return RowFault(
        f"unknown column; {hint}", table.header_line, column=title, letter=letter, value=title
    )


def suggestion(name: str, known: dict[str, tuple[Column, units.Unit]]) -> str:
    """Return what to do about a title that is not understood."""
    if tells_a_year(name):
        return AGE_TOLD
    column, rest = meant(name)
    if column:
        return f"if it is the {column}, name it {_named(column, rest, known)}"
    near = nearest_words(name, list(known))
    if near:
        return f"the nearest known names are {', '.join(near)}"
    return (
        "no known name is near; delete it, or have columns that are not understood passed over: "
        "unknown_columns=pass-over in a request"
    )


def _named(column: str, rest: str, known: dict[str, tuple[Column, units.Unit]]) -> str:
    """Return a column's title with the unit that another title named, or with those there are."""
    if rest and f"{column}_{rest}" in known:
        return f"{column}_{rest}"
    (found,) = (one for one in columns() if one.name == column)
    both = dict.fromkeys(title_of(found, system) for system in units.SYSTEMS)
    return " or ".join(both)


def _repeated(places: list[HeaderCell], line: int) -> list[RowFault]:
    first: dict[str, HeaderCell] = {}
    faults = []
    for place in places:
        before = first.setdefault(place.column.name, place)
        if before is not place:
            rule = f"{place.column.name} is given twice; column {before.letter} has it too"
            faults.append(RowFault(rule, line, 0, place.title, place.letter, place.title))
    return faults


def _missing(places: list[HeaderCell], table: DataTable) -> list[RowFault]:
    have = {place.column.name for place in places}
    rule = "missing column; every building needs it"
    if table.written:
        rule += "; say in the mapping which column it is, or give it among its defaults"
        rule += (
            f"; not used: {', '.join(table.passed_over[:MOST_NOT_USED])}"
            if table.passed_over
            else ""
        )
    return [
        RowFault(rule, table.header_line, column=column.name)
        for column in columns()
        if column.required and column.name not in have
    ]
