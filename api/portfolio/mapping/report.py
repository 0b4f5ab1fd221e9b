"""What a mapping makes of a table, in lines to look over and correct."""

from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from statistics import median
from typing import Any

from api.portfolio.mapping.apply import (
    BELOW,
    Cells,
    Reading,
    Unused,
    cell_said,
    climate_of,
    mapped,
    meaning,
    narrowed,
    places_in,
    places_of,
    said_below,
)
from api.portfolio.mapping.cell_forms import age_of_year, area, is_number, middle_of, year_doubt
from api.portfolio.mapping.counted_words import (
    MOST_WORDS,
    ROWS_COUNTED,
    first_rows,
    open_years,
    places_written,
    words,
)
from api.portfolio.mapping.mapping_file import DERIVED, TableMapping
from api.portfolio.mapping.meaning import asks_year, doubt, key_of, located
from api.portfolio.mapping.propose import DEFAULTS
from api.portfolio.reading.cells import IN_PLACES, NUMERIC, CellError, reader_of
from api.portfolio.reading.data_table import DataTable
from api.portfolio.reading.headers import titles
from api.portfolio.table_template import when_left_out
from api.portfolio.vocabulary import one_place
from lcc.place import place_note
from lcc.portfolio.owner_records import MUST_BY, NOT_BEFORE

PARTS = ("column", "word", "place", "line", "default")
UNKNOWN_SAID = "says unknown: taken as an empty cell"
OPEN = "no one year: type an age in years"
NUMBER = "no number that may stand here: type one, in the unit of the column"
MIDDLE = "a range, of which the middle is taken"
SCALE = "a number of a scale: type good, fair, poor or failed"
WHICH_YEAR = "says by when, but which year? type it, as in by 2028; until then taken as unknown"
PLACE_COLUMNS = ("ZIP code", "town", "state", "latitude", "longitude", "climate")
MOST_LINES = 12
TINY = 30  # a roof in squares of 100 ft² among others in ft² is about a hundredth of them


def report(table: DataTable, mapping: TableMapping) -> list[dict[str, Any]]:
    """Return what a mapping makes of a table, grouped and counted, to check.

    Each entry has `part`, one of `PARTS` and in that order, what the table says,
    what it means here, in how many rows, and a `note` where there is more to know.
    """
    whole, table = table, first_rows(narrowed(table, mapping))
    below = said_below(table, mapping)
    found = [
        _line("column", title, target, 0, BELOW if target in below else DERIVED.get(target, ""))
        for title, target in mapping.columns.items()
    ]
    reading = Reading(places_of(table, mapping), mapping)
    said = [(record.line, reading.said(record)) for record in table.records()]
    more = max(0, whole.count() - len(said))
    unused = Unused(mapping, reading.places)
    for _, cells in said:
        unused.strike_off(cells)
    found += [*_words_lines(table, mapping), *_place_lines(table, mapping)]
    found += _at_odds(said, mapping)
    found += [*_unknown_lines(table, reading), *_year_lines(said, mapping)]
    found += _small_lines(table, reading, said)
    found += _unused_lines(unused.left(), mapping, bool(more))
    read = [(line, cells if reading.is_roof(cells) else None) for line, cells in said]
    if lines := [line for line, cells in read if cells is None]:
        note = "totals and notes, no roofs"
        found.append(_line("line", f"lines {_told(lines)}", "", len(lines), note))
    if lines := _alike(read):
        note = "alike in all but the owner's number: if it is the same roof twice, delete one"
        found.append(_line("line", f"lines {_told(lines)}", "", len(lines), note))
    if more:
        note = f"read in the same way, not counted here: the first {ROWS_COUNTED:,} are"
        found.append(_line("line", f"rows after the first {ROWS_COUNTED:,}", "", more, note))
    assumed: Counter[str] = Counter()
    for record in mapped(table, _without_places(mapping)).records():
        assumed.update(name for name in record.cells[-1].split("; ") if name)
    for name, count in assumed.most_common():
        note = DEFAULTS.get(name, ("", ""))[1]
        found.append(_line("default", name, mapping.defaults[name], count, note))
    return sorted(found, key=lambda line: PARTS.index(line["part"]))


def _words_lines(table: DataTable, mapping: TableMapping) -> Iterator[dict[str, Any]]:
    for title, counts in words(table, mapping):
        column = titles("ip")[title][0].name
        for text, count in counts.most_common():
            key = meaning(title, text, mapping)
            yield _line("word", f"{column}: {text}", key, count, _note(column, text, key, mapping))
    for text, count in open_years(table, mapping).most_common():
        age = mapping.values.get("age", {}).get(text) or age_of_year(text, mapping.year)
        yield _line("word", f"age: {text}", age, count, OPEN * (not is_number(age)))


def _note(column: str, text: str, key: str, mapping: TableMapping) -> str:
    """Return what there is to know of a word and of what it is taken as."""
    if not key and column == "condition" and text.isdigit():
        note = SCALE
    elif not key:
        note = _as_nothing(column, mapping)
    elif titles("ip")[column][0].facts.type in NUMERIC:
        note = MIDDLE if middle_of(text) else NUMBER * (key == text)
    else:
        note = doubt(column, text) * (key == key_of(column, text))  # not corrected
    if column != "must":
        return note
    return _of_plan(key, WHICH_YEAR if note and asks_year(text) else note, mapping.year)


def _unknown_lines(table: DataTable, reading: Reading) -> Iterator[dict[str, Any]]:
    """Yield the words that say in a column that nothing is known, such as TBD."""
    for name, at in reading.places.items():
        cells = Counter(record.cells[at].strip() for record in table.records())
        for text, count in cells.most_common():
            if text and not cell_said(name, text):
                yield _line("word", f"{name}: {text}", "", count, UNKNOWN_SAID)


def _year_lines(said: list[tuple[int, Cells]], mapping: TableMapping) -> Iterator[dict[str, Any]]:
    """Yield the years that are read, though their cells may mean another."""
    counts = Counter(cells.get("year of the roof", "") for _, cells in said)
    for text, count in counts.most_common(MOST_WORDS):
        age, note = age_of_year(text, mapping.year), year_doubt(text)
        if note and age.isdigit() and text not in mapping.values.get("age", {}):
            yield _line("word", f"age: {text}", age, count, note)


def _small_lines(
    table: DataTable, reading: Reading, said: list[tuple[int, Cells]]
) -> Iterator[dict[str, Any]]:
    """Yield areas so far below the middle one that they may be in another unit."""
    name = next((one for one in reading.places if one.startswith("roof_area")), "")
    if not name:
        return
    column, unit = titles("ip")[name]
    read = reader_of(column.facts, unit, table.marks)
    sizes: dict[str, float] = {}
    for _, cells in said:
        text = cells.get(name, "")
        with suppress(CellError):
            if text and text not in reading.mapping.values.get("roof_area", {}):
                sizes[text] = float(read(area(text, unit.factor))) / unit.factor
    middle = median(sizes.values()) if sizes else 0.0
    for text, size in [one for one in sizes.items() if one[1] * TINY < middle][:MOST_LINES]:
        note = f"1/{TINY} of the middle roof ({middle:,.0f}) or less: is it in another unit?"
        rows = sum(cells.get(name) == text for _, cells in said)
        yield _line("word", f"roof_area: {text}", f"{size:g}", rows, note)


def _place_lines(table: DataTable, mapping: TableMapping) -> Iterator[dict[str, Any]]:
    for written, count in places_written(table, mapping).most_common():
        key = climate_of({"climate": written}, mapping)
        typed = mapping.places.get(written, "")
        asked = written if key_of("climate", typed) else typed or written
        if key:
            note = " ".join(filter(None, (place_note(asked), located(asked)[1])))
        else:
            note = f"{one_place(asked)}, {IN_PLACES}"
        yield _line("place", written, key, count, note)


def _at_odds(said: list[tuple[int, Cells]], mapping: TableMapping) -> Iterator[dict[str, Any]]:
    """Yield rows whose ZIP code and town lie near different stations; the first of them counts."""
    found = Counter[tuple[str, ...]](
        tuple(places_in({name: cells.get(name, "") for name in ("ZIP code", "town", "state")}))
        for _, cells in said
    )
    for ways, count in found.most_common():
        keys = [climate_of({"climate": one}, mapping) for one in ways if len(ways) > 1]
        if len({*filter(None, keys)}) > 1:
            note = f"ZIP code and town are apart: {ways[1]} is {keys[1]}; the ZIP code is used"
            yield _line("place", " / ".join(ways), keys[0], count, note)


def _unused_lines(
    left: list[tuple[str, str]], mapping: TableMapping, more: bool
) -> Iterator[dict[str, Any]]:
    note = f"in none of the first {ROWS_COUNTED:,} rows" if more else "in no row: is it misspelt?"
    for column, text in left:
        if column:
            yield _line("word", f"{column}: {text}", mapping.values[column][text], 0, note)
        else:
            yield _line("place", text, mapping.places[text], 0, note)


def _of_plan(must: str, note: str, first_year: int) -> str:
    """Return the year of the plan by which a roof must be done, or how to write it."""
    if must in MUST_BY:
        return f"work begun by {first_year + MUST_BY[must]}; the plan's year 0 is {first_year}"
    if must in NOT_BEFORE:
        return f"no work before {first_year + NOT_BEFORE[must]}; the plan's year 0 is {first_year}"
    how = "for a year of the plan write must-do-by-0 to must-do-by-9, or not-before-1 to -9"
    return f"{note}; {how}" if note else ""


def _told(lines: list[int]) -> str:
    return ", ".join(map(str, lines[:MOST_LINES])) + (" ..." if len(lines) > MOST_LINES else "")


def _alike(read: list[tuple[int, Cells | None]]) -> list[int]:
    """Return the lines of rows that differ in nothing but the owner's number."""
    same: dict[tuple[str, ...], dict[str, int]] = {}
    for line, cells in read:
        if cells:
            others = tuple(cell for name, cell in cells.items() if name != "owner_id")
            same.setdefault(others, {}).setdefault(cells.get("owner_id", ""), line)
    return sorted(line for own in same.values() if len(own) > 1 for line in own.values())


def _as_nothing(column: str, mapping: TableMapping) -> str:
    """Return what a word that is not understood is taken as, where that is a value."""
    if column in mapping.defaults:
        return "not understood: taken as unknown"
    taken = when_left_out(titles("ip")[column][0], "ip")[0]
    return "not understood: taken as " + (f"{taken}, as in an empty cell" if taken else "unknown")


def _without_places(mapping: TableMapping) -> TableMapping:
    """Return a mapping that looks up no place, where no default may stand in for one."""
    if "climate" in mapping.defaults:
        return mapping
    kept = {title: to for title, to in mapping.columns.items() if to not in PLACE_COLUMNS}
    return replace(mapping, columns=kept)


def _line(part: str, said: str, means: str, rows: int, note: str) -> dict[str, Any]:
    return {"part": part, "said": said, "means": means, "rows": rows, "note": note}
