"""Tables written for spreadsheets, in which no text can become a formula."""

import codecs
import csv
import io
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any, BinaryIO

import xlsxwriter

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
Cell = str | float | int | None
# What a spreadsheet may take for the start of a formula or a command, full-width forms included.
_LIVE = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "'", "＝", "＋", "－", "＠")  # noqa: RUF001
# A workbook must state when it was made.
_CREATED = datetime(2000, 1, 1, tzinfo=UTC)
_NUMBER = re.compile(r"[-+]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][-+]?\d+)?", re.ASCII)


def guarded(text: str) -> str:
    """Return a text that a spreadsheet shows as it is: live ones behind an apostrophe.

    References
    ----------
    OWASP ASVS 5.0.0, 1.2.10, which names = + - @ tab and NUL.

    Examples
    --------
    >>> [guarded(text) for text in ("=1+1", "-5", "Hall 1", "'quoted'")]
    ["'=1+1", '-5', 'Hall 1', "''quoted'"]
    """
    live = text.startswith(_LIVE) and not _NUMBER.fullmatch(text)
    return f"'{text}" if live else text


def unguarded(text: str) -> str:
    """Return what `guarded` was given.

    Examples
    --------
    >>> [unguarded(text) for text in ("'=1+1", "-5", "'07", "''quoted'")]
    ['=1+1', '-5', "'07", "'quoted'"]
    """
    return text[1:] if text.startswith("'") and text[1:].startswith(_LIVE) else text


def as_text(value: Cell) -> str:
    """Return a cell of a CSV: floats exactly, whole ones without a point, nothing for no figure."""
    if value is None:
        return ""
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, float):
        return "" if math.isnan(value) else repr(value).removesuffix(".0")
    return str(value)


def csv_lines(rows: Iterable[Sequence[Cell]], delimiter: str = ",") -> Iterator[str]:
    """Yield rows as lines of CSV (RFC 4180)."""
    for row in rows:
        line = io.StringIO()
        csv.writer(line, delimiter=delimiter).writerow([as_text(cell) for cell in row])
        yield line.getvalue()


def as_csv(rows: Iterable[Sequence[Cell]], delimiter: str = ",") -> bytes:
    """Return rows as a CSV file, whose mark tells spreadsheets that the text is UTF-8."""
    return codecs.BOM_UTF8 + "".join(csv_lines(rows, delimiter)).encode()


def as_xlsx(sheets: Mapping[str, Iterable[Sequence[Cell]]]) -> bytes:
    """Return sheets as a spreadsheet file; see `write_xlsx`."""
    file = io.BytesIO()
    write_xlsx(file, sheets)
    return file.getvalue()


def write_xlsx(file: BinaryIO, sheets: Mapping[str, Iterable[Sequence[Cell]]]) -> None:
    """Write sheets whose first rows are titles; every text is stored as text.

    The same sheets are the same bytes: the file states no real time.

    Parameters
    ----------
    file : binary file
        Where to.
    sheets : mapping of str to rows
        Rows by name of the sheet.
    """
    with xlsxwriter.Workbook(file, {"constant_memory": True, "in_memory": False}) as book:
        book.set_properties({"created": _CREATED})
        bold = book.add_format({"bold": True})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            sheet.freeze_panes(1, 0)
            for number, row in enumerate(rows):
                _write_row(sheet, number, row, None if number else bold)


def _write_row(sheet: Any, number: int, row: Sequence[Cell], style: Any) -> None:
    for column, cell in enumerate(row):
        if isinstance(cell, str):
            sheet.write_string(number, column, cell, style)
        elif cell is not None and math.isfinite(cell):
            sheet.write_number(number, column, cell, style)
