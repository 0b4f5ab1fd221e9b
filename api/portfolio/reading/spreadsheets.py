"""Spreadsheets (Office Open XML) as records of text, with bounds a hostile file runs into."""

from __future__ import annotations

import warnings
import zipfile
import zlib
from collections.abc import Generator, Iterator
from typing import Any, BinaryIO
from xml.etree.ElementTree import ParseError

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from api.portfolio.reading.archives import check_archive
from api.portfolio.reading.data_table import DataTable, Record
from api.portfolio.reading.number_text import Marks, proof
from api.portfolio.reading.row_faults import refuse

SHEET = "Roofs"
MAX_COLUMNS = 200
MAX_EMPTY_ROWS = 1_000


def read(file: BinaryIO) -> DataTable:
    """Return the first sheet, or the one named Roofs, whose records are read as asked for.

    Parameters
    ----------
    file : binary file
        Seekable; read again for each pass over the records, and left open.

    Raises
    ------
    TableError
        If it is no spreadsheet, or unpacks to more than the bounds of this module.
    """
    check_archive(file)
    rows = _rows(file)
    line, header = next(rows, (0, []))
    rows.close()
    if not header:
        raise refuse("the sheet has no header row")
    return DataTable(
        header=tuple(header),
        header_line=line,
        records=lambda: _records(file, len(header)),
        marks=Marks("point", "proved"),
        read_as="spreadsheet (.xlsx), numbers as stored",
    )


def _records(file: BinaryIO, width: int) -> Iterator[Record]:
    """Yield the rows after the header; a spreadsheet does not store empty cells at their end."""
    rows = _rows(file)
    next(rows, None)
    for line, cells in rows:
        yield Record(line, cells + [""] * (width - len(cells)))


def _rows(file: BinaryIO) -> Generator[tuple[int, list[str]]]:
    """Yield the rows that hold anything, with their numbers, as text."""
    file.seek(0)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # styles that the reader does not know
            book = load_workbook(file, read_only=True, data_only=True, keep_links=False)
        sheet = book[SHEET] if SHEET in book.sheetnames else book.worksheets[0]
        sheet.reset_dimensions()  # what the file says of its own size is not to be trusted
        empty = 0
        for number, row in enumerate(sheet.iter_rows(values_only=True), start=1):
            cells = [_text(value) for value in row[:MAX_COLUMNS]]
            empty = 0 if any(cells) else empty + 1
            _check_extent(number, empty, row)
            if not empty:
                yield number, cells
    except _DAMAGED:
        raise refuse("a spreadsheet that can be read; this one is damaged", 415) from None


_DAMAGED = (
    InvalidFileException, ParseError, zipfile.BadZipFile, zlib.error,
    EOFError, IndexError, KeyError, OSError, TypeError, ValueError,
)  # fmt: skip


def _check_extent(number: int, empty: int, row: tuple[Any, ...]) -> None:
    if empty > MAX_EMPTY_ROWS:
        rule = f"no gap of more than {MAX_EMPTY_ROWS:,} empty rows; delete them and what follows"
        raise refuse(rule, 413, line=number)
    if any(value is not None for value in row[MAX_COLUMNS:]):
        raise refuse(f"at most {MAX_COLUMNS} columns", 413, line=number)


def _text(value: Any) -> str:
    """Return a cell as the text that a CSV would hold; whole numbers without a decimal point.

    A number stored with three decimals gets a fourth: as a text it could be thousands.
    """
    if value is None:
        return ""
    if not isinstance(value, float):
        return str(value).strip()
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    text = repr(value)
    return f"{text}0" if proof(text.lstrip("-")) is None else text
