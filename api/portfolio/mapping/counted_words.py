"""The words, places and open years of an owner's table, counted over its first rows."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

from api.portfolio.mapping.apply import LOOKED_AT, places_in, places_of, sized
from api.portfolio.mapping.cell_forms import age_of_year, known, middle_of, number
from api.portfolio.mapping.mapping_file import DERIVED, TableMapping
from api.portfolio.mapping.meaning import station
from api.portfolio.reading.cells import NUMERIC, CellError, Reader, reader_of
from api.portfolio.reading.data_table import DataTable
from api.portfolio.reading.headers import titles

# Bounds of the work that a table can ask for, above what tables of roofs hold.
ROWS_COUNTED = 10_000  # rows whose words, places and defaults are counted
MOST_WORDS = 1_000  # listed of a column; others are understood as they are read


def first_rows(table: DataTable) -> DataTable:
    """Return a table of the rows whose words are counted, read once."""
    rows = list(islice(table.records(), ROWS_COUNTED))
    return replace(table, records=lambda: iter(rows))


def words(table: DataTable, mapping: TableMapping) -> Iterator[tuple[str, Counter[str]]]:
    """Yield the titles of columns of words with their words, the commonest first."""
    counted = {
        at: (target, *titles("ip")[target], Counter[str]())
        for target, at in places_of(table, mapping).items()
        if target not in DERIVED
    }
    nothing = ("", *_titles(table))
    for record in table.records():
        for at, (*_, counts) in counted.items():
            counts[record.cells[at]] += 1
    for title, column, unit, cells in counted.values():
        if column.facts.type == "text" or column.name == "climate":
            continue
        counts = Counter[str]()
        for cell, count in cells.items():
            counts[known(cell)] += count
        for none in nothing:
            counts.pop(none, None)
        if column.facts.type in NUMERIC:
            read = reader_of(column.facts, unit, table.marks)
            for text in [*counts]:
                plain = number(text) if column.name == "insulation" else sized(column, unit, text)
                if column.name == "age" or (_is_read(plain, read) and not middle_of(text)):
                    del counts[text]
        yield title, Counter(dict(counts.most_common(MOST_WORDS)))


def _is_read(text: str, read: Reader) -> bool:
    try:
        read(text)
    except CellError:
        return False
    return True


def _titles(table: DataTable) -> set[str]:
    """Return the titles of a table as cells say them again where a page begins."""
    return {known(title) for title in table.header}


def open_years(table: DataTable, mapping: TableMapping) -> Counter[str]:
    """Count the cells that name no one year, such as a decade; one age corrects them all."""
    at = places_of(table, mapping).get("year of the roof")
    if at is None:
        return Counter()
    cells, again = Counter(known(record.cells[at]) for record in table.records()), _titles(table)
    ages = {text: age_of_year(text, mapping.year) for text, _ in cells.most_common(MOST_WORDS)
            if text not in again}  # fmt: skip
    return Counter({text: cells[text] for text, age in ages.items() if age and not age.isdigit()})


def places_written(table: DataTable, mapping: TableMapping) -> Counter[str]:
    """Count the places of a table as it writes them, the most certain way of each row."""
    places = places_of(table, mapping)
    counts: Counter[str] = Counter()
    for record in islice(table.records(), LOOKED_AT):
        held = record.cells
        cells = {name: known(held[at]) if at < len(held) else "" for name, at in places.items()}
        ways = list(places_in(cells))
        usable = (one for one in ways if len(ways) > 1 and station(one))
        if ways:
            counts[next(usable, ways[0])] += 1
    return counts
