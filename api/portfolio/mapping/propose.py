"""What the columns and words of a table most likely mean, to check once."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

from rapidfuzz import fuzz, process

from api.portfolio.column_aliases import meant
from api.portfolio.mapping.apply import (
    FLOOR_AREAS,
    LOOKED_AT,
    is_ditto,
    meaning,
    narrowed,
    said_below,
    sized,
)
from api.portfolio.mapping.cell_forms import age_of_year, known, number, years_until
from api.portfolio.mapping.counted_words import first_rows, open_years, places_written, words
from api.portfolio.mapping.mapping_file import DERIVED, NOT_USED, TableMapping
from api.portfolio.mapping.meaning import asks_year, key_of, located, must_of, station
from api.portfolio.reading.cells import CellError, reader_of
from api.portfolio.reading.data_table import MOST_CELLS, DataTable
from api.portfolio.reading.headers import PASSED_OVER, plain, titles
from api.portfolio.reading.number_text import Marks
from lcc import tables
from lcc.case.fields import Facts, Quantity
from lcc.units import System, Unit

# Bounds of the work that a table can ask for, above what tables of roofs hold.
MOST_TRIED = 8  # columns tried as one thing
LONGEST_TITLE = 100  # characters of a title that are looked at
MOST_PARTS = 7  # words of a part of a title, and one
FITTING = 0.6  # part of a column's known cells that must be readable as what its title says
SURE = 95.0  # of 100, above which a title is a known one: then half of that will do
ALIKE = 86.0  # of 100, how alike a title must be to a known one
# Used where a table lacks what every roof needs: common practice of surveys without better data;
# the range is what they find.
DEFAULTS: dict[str, tuple[str, str]] = {
    "roof_type": ("steel-deck-polyiso", "any deck and insulation; steel deck is the commonest"),
    "covering": ("epdm-black", "any covering; single-ply and built-up are the commonest"),
    "age": ("10", "0 to 25 years"),
}
_TITLES = {
    each["column"]: each["titles"] for each in tables.words("mapped_columns") if each["titles"]
}
# Titles that name an amount used or a date of the data, not a price or an age.
_NO_FIELD = re.compile(
    r"usage|consumption|kbtu|eui|intensity|emission|ghg|data_?year|reporting|fiscal|percent_(leased|occ|of)|score|"
    r"(electricity|gas|energy|fuel)_use|use_(electricity|gas)|updated|comment|note|phone|email|contact|manager"
)


# Titles of what a roof is or when it was seen, which is no name of it.
_NAMES = ("name", "building_name")
_KIND = re.compile(
    r"kind|type|system|material|construct|class|status|condition|colou?r|date|year|inspect|function|"
    r"(^|_)(use|fn)($|_)"
)
# Titles of a roof to come, or of what is no roof.
_NOT_TODAY = re.compile(
    r"new(?!_old)|propos|planned|replacement|future|recommend|comment|note|remark"
)


def words_of(title: str) -> str:
    """Return a title as it is looked up, joined words split where a capital begins one.

    Examples
    --------
    >>> words_of("YearBuilt"), words_of("RoofAreaSF"), words_of("Sq. Ft. (roof)")
    ('year_built', 'roof_area_sf', 'sq_ft_roof')
    """
    said = title.strip()[:LONGEST_TITLE].replace("#", " number ")
    said = re.sub(r"(?<=\b[A-Z]{3})s\b", "", re.sub(r"^No\.? (?=[A-Z])", "", said))
    parted = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])", "_", said)
    words = re.sub(r"_+", "_", re.sub(r"[.#:/(),?]+", "_", plain(parted))).strip("_")
    return re.sub(r"_no$", "_number", words.replace("$_", "per_"))


def propose(table: DataTable, system: System, year: int) -> TableMapping:
    """Return the mapping that a table most likely needs.

    Parameters
    ----------
    table : DataTable
        As it was read, whatever its titles.
    system : {"ip", "si"}
        Unit system of titles that name no unit.
    year : int
        The year from which ages are counted.

    Notes
    -----
    A title is taken where it is a known one, another name of one, or spelled much like one, and
    most of its cells can be read as that; each target is taken once, by the surest title.
    """
    found = _found(table, system, year)
    named = {
        title: found.get(at, NOT_USED)
        for at, title in reversed([*enumerate(table.header)])
        if title
    }
    mapping = _grouped(table, TableMapping(year, columns=dict(reversed(named.items()))))
    table = first_rows(narrowed(table, mapping))
    values = {
        titles(system)[title][0].name: {
            text: meaning(title, text, mapping, system) for text, _ in counts.most_common()
        }
        for title, counts in words(table, mapping)
    }
    if ages := open_years(table, mapping):
        values["age"] = {text: age_of_year(text, year) for text in ages}
    places = {one: station(one) for one, _ in places_written(table, mapping).most_common()}
    lacking = {name: default for name, (default, _) in DEFAULTS.items()}
    return replace(mapping, values=values, places=places, defaults=lacking)


def _grouped(table: DataTable, mapping: TableMapping) -> TableMapping:
    """Return a mapping in which a name said once for the roofs below it is their building's."""
    name = {one: "building_name" for one, to in mapping.columns.items() if to == "name"}
    said_once = replace(mapping, columns={**mapping.columns, **name})
    if "building_name" in mapping.columns.values():
        return mapping
    return said_once if "building_name" in said_below(table, said_once) else mapping


def _found(table: DataTable, system: System, year: int) -> dict[int, str]:
    """Return what the columns of a table most likely are, by their places."""
    cells = _columns(table)
    candidates = [
        (sure, at, target)
        for at, title in enumerate(table.header)
        for target, sure in _targets(words_of(title), system)
    ]
    found: dict[int, str] = {}
    taken: set[str] = set()
    tried: Counter[str] = Counter()
    for sure, at, target in sorted(candidates, key=lambda one: (-one[0], one[1])):
        stem = target if target in DERIVED else titles(system)[target][0].name
        if at in found or stem in taken or tried[target] == MOST_TRIED:
            continue
        tried[target] += 1
        if _readable(target, cells[at], table.marks, year, FITTING / (1 + (sure >= SURE))):
            found[at] = target
            taken.add(stem)
    for _, at, target in sorted(_by_content(table, cells), key=lambda one: (-one[0], one[1])):
        if at not in found and target not in taken:
            found[at] = target
            taken.add(target)
    for at, title in enumerate(map(plain, table.header)):  # ours, whatever its cells say
        stem = titles(system)[title][0].name if title in titles(system) else ""
        if at not in found and stem and stem not in taken:
            found[at] = title
            taken.add(stem)
    # A table of one roof a building names its roofs by their buildings, or by numbers.
    for stem in ("building_name", "owner_id") if "name" not in taken else ():
        if stem in taken and "name" not in taken:
            found[next(at for at, target in found.items() if target == stem)] = "name"
            taken.add("name")
    return found


def _by_content(table: DataTable, cells: list[list[str]]) -> Iterator[tuple[float, int, str]]:
    """Yield columns whose words are those of coverings, decks or uses, whatever their titles."""
    for at, title in enumerate(table.header):
        some = _some(cells[at], 50)
        few = len(some) < (1 if _KIND.search(words_of(title)) else 2)
        if few or _NOT_TODAY.search(words_of(title)):
            continue
        for target in ("covering", "roof_type", "use"):
            if not any(key_of(target, cell) for cell in some[::6]):
                continue
            reads = sum(bool(key_of(target, cell)) for cell in some)
            if reads >= FITTING * len(some):
                yield reads / len(some), at, target


def _columns(table: DataTable) -> list[list[str]]:
    """Return the distinct known cells of each column, of the first rows."""
    held: list[dict[str, None]] = [{} for _ in table.header]
    for record in islice(table.records(), min(LOOKED_AT, MOST_CELLS // len(held))):
        for column, cell in zip(held, record.cells, strict=False):
            column[cell] = None
    return [list(dict.fromkeys(filter(None, map(known, column)))) for column in held]


def _some(cells: list[str], count: int) -> list[str]:
    """Return so many of the cells at most, from all parts of the column."""
    return [cell for cell in cells[:: -(-len(cells) // count) or 1] if not is_ditto(cell)]


def _targets(name: str, system: System) -> Iterator[tuple[str, float]]:
    """Yield what a title may be, and how sure that is."""
    known_titles = titles(system)
    if name in known_titles:
        yield name, 100.0
    if name in PASSED_OVER or _NO_FIELD.search(name):
        return
    for target, pattern in _TITLES.items():
        if re.search(pattern, name):
            yield target, 96.0 if not name.startswith("roof") or target != "floor area" else 50.0
    column, rest = meant(name)
    if column == "owner_id" and meant(rest)[0] not in ("", "name", "building_name"):
        column = ""  # a number of what the rest of the title counts
    if column and (f"{column}_{rest}" in known_titles or not rest.startswith("per_")):
        yield (f"{column}_{rest}" if f"{column}_{rest}" in known_titles else column), 95.0
    inside = {part: meant(part)[0] or part for part in _parts_of(name)
              if meant(part)[0] or part in known_titles}  # fmt: skip
    if _KIND.search(name):
        inside = {part: one for part, one in inside.items() if one not in _NAMES}
    if inside:  # a count of things has "number" in it, and is no number of the owner's
        part = max(inside, key=lambda part: (inside[part] != "owner_id", len(part)))
        yield inside[part], 80.0 + 10.0 * len(part) / len(name)
        if inside[part] == "name" and not re.search("roof|section|area", name):
            yield "building_name", 70.0  # of several roofs, where another column names each
    near = process.extractOne(name, known_titles.keys(), scorer=fuzz.token_sort_ratio)
    if near and near[1] >= ALIKE:
        yield near[0], near[1]
    for stem, spelled in (("roof_area", "roof"), ("age", "roof")):
        others = ("area", "sf", "sq_ft", "sqft", "size") if stem == "roof_area" else ("age",)
        if spelled in name and any(re.search(rf"(^|_){one}($|_)", name) for one in others):
            yield stem, 97.0


def _parts_of(name: str) -> Iterator[str]:
    """Yield the runs of words inside a title.

    Examples
    --------
    >>> list(_parts_of("a_b_c"))
    ['a', 'b', 'c', 'a_b', 'b_c']
    """
    words = name.split("_")
    for count in range(1, min(len(words), MOST_PARTS)):
        yield from ("_".join(words[at : at + count]) for at in range(len(words) - count + 1))


def _readable(target: str, cells: list[str], marks: Marks, year: int, fitting: float) -> bool:
    """Tell whether enough of a column's cells can be read as what its title says."""
    if not cells:
        return target in titles("ip") and titles("ip")[target][0].name == "name"
    some = _some(cells, 100)
    reads = sum(_reads(target, cell, marks, year) for cell in some)
    return reads >= fitting * len(some)


def _reads(target: str, cell: str, marks: Marks, year: int) -> bool:
    if target in _SHAPES:
        return bool(re.match(_SHAPES[target], cell.removesuffix(".0")))
    if target == "warranty end":
        return bool(years_until(cell, year))
    if target in ("year of the roof", "year built"):
        return age_of_year(cell, year, built=target == "year built").isdigit() or cell == "0"
    facts_, unit = _facts_of(target)
    if facts_.type in ("key", "choice"):
        column = titles("ip")[target][0].name
        named = located(cell)[0] if column == "climate" else ""
        dated = column == "must" and (must_of(cell, year) or asks_year(cell))
        scale = column == "condition" and cell.isdigit()
        return bool(key_of(column, cell) or named or dated or scale)
    known_one = titles("ip").get(target)
    said = sized(known_one[0], unit, cell) if known_one else number(cell)
    try:
        reader_of(facts_, unit, marks)(cell if facts_.type == "text" else said)
    except CellError:
        return False
    return True


_SHAPES = {"ZIP code": r"\d{4,5}(-\d{4})?$", "town": r"\D.{0,40}$", "state": r"\D.{1,20}$"}


def _facts_of(target: str) -> tuple[Facts, Unit]:
    if target in ("latitude", "longitude"):
        return _DEGREES, Unit("")
    column, unit = titles("ip")[FLOOR_AREAS.get(target, target)]
    return column.facts, unit


_DEGREES = Quantity("ratio", "Degrees", low=-180, high=180)
