"""Spreadsheets (Office Open XML) as records of text, within limits that stop a hostile file."""

import datetime
from collections.abc import Callable, Iterator
from itertools import islice
from typing import Any, BinaryIO

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook

from api.portfolio.reading.data_table import DataTable, Record, one_line
from api.portfolio.reading.fault_kinds import refuse
from api.portfolio.reading.number_text import Marks, proof
from api.portfolio.reading.spreadsheet_limits import (
    MAX_COLUMNS,
    MAX_EMPTY_ROWS,
    SheetMarks,
    check_archive,
    sheet_marks,
)

SHEET = "Roofs"
LOOKED_AT = 20  # rows of a sheet in which its header is looked for


def read(file: BinaryIO, score: Callable[[list[str]], int], sheet: str = "") -> DataTable:
    """Return the sheet of roofs: the one asked for, named Roofs, or whose header is best known.

    Parameters
    ----------
    file : binary file
        Seekable, and left open.
    score : callable
        How many cells of a row are known column names.
    sheet : str
        Name of the sheet wanted.

    Raises
    ------
    TableError
        If it is no spreadsheet, has no such sheet, or is beyond the bounds of `archives`.
    """
    check_archive(file)
    file.seek(0)
    try:
        book = CalamineWorkbook.from_filelike(file)
        names = [one.name for one in book.sheets_metadata if str(one.typ).endswith("WorkSheet")]
        name = _chosen(book, names, score, sheet)
        found = book.get_sheet_by_name(name)
    except (CalamineError, OSError, ValueError):
        raise refuse("a spreadsheet that can be read; this one is damaged") from None
    except BaseException as error:  # the reader's own panic is no Exception
        if type(error).__name__ != "PanicException":
            raise
        raise refuse("a spreadsheet that can be read; this one is damaged") from None
    return _table(found, names, sheet_marks(file, name))


def _chosen(
    book: CalamineWorkbook, names: list[str], score: Callable[[list[str]], int], wanted: str
) -> str:
    if wanted and wanted not in names:
        raise refuse(f"one of the sheets {', '.join(map(repr, names))}", column="sheet")
    if wanted or SHEET in names:
        return wanted or SHEET
    if not names:
        raise refuse("a spreadsheet with a sheet of cells", 415)

    def known(name: str) -> tuple[int, int]:
        rows = islice(book.get_sheet_by_name(name).iter_rows(), LOOKED_AT)
        texts = [[_text(cell, shown=False) for cell in row] for row in rows]
        return max(((score(row), sum(map(bool, row))) for row in texts), default=(0, 0))

    return max(names, key=known) if len(names) > 1 else names[0]


def _table(sheet: CalamineSheet, names: list[str], marks: SheetMarks) -> DataTable:
    line, header = next(_rows(sheet, marks), (0, []))
    if not header:
        raise refuse(f"the sheet {sheet.name!r} has no header row")
    others = ", ".join(repr(name) for name in names if name != sheet.name)
    read_as = "spreadsheet (.xlsx), numbers as stored"
    if others:
        read_as = f"spreadsheet (.xlsx), sheet {sheet.name!r} (not read: {others})"
    if marks.hidden_rows:
        several = marks.hidden_rows > 1
        read_as += f"; {marks.hidden_rows:,} hidden row{'s are' if several else ' is'} read too"
    width = len(header)
    return DataTable(
        header=tuple(map(one_line, header)),
        header_line=line,
        records=lambda: _records(sheet, marks, width),
        marks=Marks("point", "proved"),
        read_as=read_as,
    )


def _records(sheet: CalamineSheet, marks: SheetMarks, width: int) -> Iterator[Record]:
    """Yield the rows after the header; a spreadsheet does not store empty cells at their end."""
    rows = _rows(sheet, marks)
    next(rows, None)
    for line, cells in rows:
        yield Record(line, cells + [""] * (width - len(cells)))


def _rows(sheet: CalamineSheet, marks: SheetMarks) -> Iterator[tuple[int, list[str]]]:
    """Yield the rows that hold anything, with their numbers, as text."""
    if sheet.start is None:
        return
    left, empty = sheet.start[1], 0
    if left + sheet.width > MAX_COLUMNS:
        raise refuse(f"at most {MAX_COLUMNS} columns", 413)
    for number, row in enumerate(sheet.iter_rows(), start=1):
        percent = marks.percent
        cells = [""] * left + [
            _text(value, (number, at) in percent) for at, value in enumerate(row, start=left)
        ]
        empty = 0 if any(cells) else empty + 1
        if empty > MAX_EMPTY_ROWS:
            rule = (
                f"no gap of more than {MAX_EMPTY_ROWS:,} empty rows; delete them and what follows"
            )
            raise refuse(rule, 413, line=number)
        if not empty:
            while cells and not cells[-1]:
                cells.pop()
            yield number, cells


def _text(value: Any, shown: bool) -> str:
    """Return a cell as the text that it shows: whole numbers without a point, percentages with %.

    A number stored with three decimals gets a fourth: as a text it could be thousands.
    """
    if isinstance(value, bool):
        return str(value)
    if isinstance(value, datetime.datetime) and value.time() == datetime.time():
        return str(value.date())
    if not isinstance(value, float | int):
        return str(value).strip()
    if shown:
        return f"{_text(round(value * 100, 10), shown=False)}%"
    if float(value).is_integer() and abs(value) < 1e15:
        return str(int(value))
    text = repr(value)
    return f"{text}0" if proof(text.lstrip("-")) is None else text
