"""A table of roofs as cells of text, whatever file it came in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import chain, islice
from typing import NamedTuple

from xlsxwriter.utility import xl_col_to_name

from api.limits import check_time
from api.portfolio.reading.number_text import Marks

MAX_RECORDS = 200_000
READ_AT_ONCE = 1_000  # rows
MOST_CELLS = 300_000  # of the first rows, looked at more than once


class Record(NamedTuple):
    """One row: the line on which it starts, and its cells."""

    line: int
    cells: list[str]


def one_line(title: str) -> str:
    """Return a title without blanks around it, a break of its line as a space."""
    return " ".join(title.split())


@dataclass(frozen=True)
class DataTable:
    """A header and a way to read the records, as often as needed.

    `read_as` says in words how the file was understood, to be shown to its owner; `delimiter` is
    what a table with the same decimal mark is to be written with; `year` is that to which its
    ages are counted, and `passed_over` are the titles not used, where its mapping says so.
    `unused` tells which words of the mapping, with their columns, and which places no row had, once
    all are read. `written` says of each column that a mapping made where its cells stand in the
    owner's file.
    """

    header: tuple[str, ...]
    header_line: int
    records: Callable[[], Iterator[Record]]
    marks: Marks
    read_as: str
    delimiter: str = ","
    year: int | None = None
    passed_over: tuple[str, ...] = ()
    unused: Callable[[], list[tuple[str, str]]] = list
    written: tuple[tuple[str, str], ...] = ()

    def place_of(self, position: int) -> tuple[str, str]:
        """Return the letter and the title of a column in the owner's file; no letter if in none."""
        if self.written:
            return self.written[position]
        return str(xl_col_to_name(position)), self.header[position]

    def remembered(self) -> DataTable:
        """Return the table with its first rows in memory, and the rest read on from the file."""
        most = MOST_CELLS // max(1, len(self.header))
        first = list(islice(self.records(), most))
        if len(first) < most:
            return replace(self, records=lambda: iter(first))
        return replace(self, records=lambda: chain(first, islice(self.records(), most, None)))

    def count(self) -> int:
        """Return the number of records, by reading them."""
        return sum(map(len, self.chunks(READ_AT_ONCE)))

    def chunks(self, rows: int) -> Iterator[list[Record]]:
        """Yield the records in lists of at most `rows`."""
        records = self.records()
        while chunk := list(islice(records, rows)):
            check_time()
            yield chunk
