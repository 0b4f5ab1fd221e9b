"""A file of roofs, text or spreadsheet, as a table and its header."""

from collections.abc import Iterator
from dataclasses import replace
from typing import BinaryIO

from api.portfolio.mapping import TableMapping, check_titles, headed, mapped
from api.portfolio.reading import spreadsheets, text_tables
from api.portfolio.reading.cells import NUMERIC, digits_of
from api.portfolio.reading.data_table import DataTable
from api.portfolio.reading.fault_kinds import refuse, shorten
from api.portfolio.reading.headers import Header, known_cells, read_header
from api.portfolio.reading.number_text import settle
from api.portfolio.reading.row_check import CHUNK, Checker
from api.portfolio.reading.spreadsheet_limits import SIGNATURE
from api.portfolio.tables_out import unguarded
from lcc import units

SPREADSHEET = "spreadsheet"  # how `read_as` begins, whose numbers need no settling
ARCHIVE = tuple(b"PK" + bytes([mark]) for mark in range(9))  # no letter of a title follows
# The first bytes of files that people may take for a table, and what to say of them.
NO_TABLE = {
    b"%PDF": "a PDF",
    b"\xd0\xcf\x11\xe0": "an old .xls or a locked workbook; save it as .xlsx or .csv",
    b"\x1f\x8b": "a compressed file",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
}


def open_table(
    file: BinaryIO,
    system: units.System = "ip",
    decimal: str = "auto",
    ignore_unknown: bool = False,
    mapping: TableMapping | None = None,
) -> Checker:
    """Return the checker of a file of roofs, its header read.

    Parameters
    ----------
    file : binary file
        Seekable; left open, and read again for each pass.
    system : {"ip", "si"}
        Unit system of columns whose title names no unit.
    decimal : {"auto", "point", "comma"}
        Decimal mark of a text file; "auto" goes by what its cells prove (`numbers.settle`).
    ignore_unknown : bool
        Whether columns that are not understood are passed over rather than refused.
    mapping : TableMapping, optional
        What the columns and words of the table mean.

    Raises
    ------
    TableError
        If the file is no table, or for every fault of its header.
    """
    if mapping:
        table = mapped(owners_table(file, decimal, mapping), mapping, system)
    else:
        table = any_table(file, decimal)
    header = read_header(table, system, ignore_unknown)
    if not table.read_as.startswith(SPREADSHEET):
        table = _settled(table, header, decimal)
    return Checker(table, header)


def owners_table(
    file: BinaryIO, decimal: str = "auto", mapping: TableMapping | None = None
) -> DataTable:
    """Return a file whose titles are the owner's, as a table that begins at them.

    Raises
    ------
    TableError
        If it is no table, or a column or a sheet that its mapping uses is not there.
    """
    table = headed(any_table(file, decimal, mapping.sheet if mapping else "")).remembered()
    if mapping:
        check_titles(table, mapping)
    return table


def any_table(file: BinaryIO, decimal: str = "auto", sheet: str = "") -> DataTable:
    """Return a file of text or a spreadsheet as a table, whatever its titles.

    Raises
    ------
    TableError
        If it is no table.
    """
    file.seek(0)
    start = file.read(4)
    for mark, what in NO_TABLE.items():
        if start.startswith(mark):
            raise refuse(f"a CSV or XLSX file; this is {what}", status=415)
    if start.startswith(SIGNATURE):
        return spreadsheets.read(file, known_cells, sheet)
    if start.startswith(ARCHIVE):
        raise refuse("a whole .xlsx workbook; this one is damaged")
    if sheet:
        rule = (
            f"a workbook, for the mapping names its sheet {shorten(sheet)!r}; a text has no sheets"
        )
        raise refuse(rule)
    return text_tables.read(file, known_cells, decimal)


def _settled(table: DataTable, header: Header, stated: str) -> DataTable:
    """Return a text table whose cells have settled what the marks of its numbers mean.

    A table of decimal commas is written back with semicolons between its cells, so that it reads
    the same again.
    """
    marks = settle(stated, table.delimiter, _digits(table, header))
    comma = marks.decimal == "comma" and table.delimiter == ","
    return replace(
        table,
        marks=marks,
        read_as=f"{table.read_as}, {marks}",
        delimiter=";" if comma else table.delimiter,
    )


def _digits(table: DataTable, header: Header) -> Iterator[str]:
    numeric = [place for place in header.places if place.column.facts.type in NUMERIC]
    for chunk in table.chunks(CHUNK):
        for place in numeric:
            facts, at = place.column.facts, place.position
            texts = {record.cells[at].strip() for record in chunk if at < len(record.cells)}
            for text in texts:
                if "," in text or "." in text:
                    yield digits_of(unguarded(text), facts, place.unit).digits
