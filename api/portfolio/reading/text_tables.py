"""Delimited text of any common encoding and delimiter as records with their line numbers."""

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from itertools import chain, islice
from typing import BinaryIO

from api.portfolio.reading.data_table import MAX_RECORDS, DataTable, Record, one_line
from api.portfolio.reading.fault_kinds import TooManyRows, refuse
from api.portfolio.reading.number_text import settle

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}
BLOCK = 1 << 20
MAX_CELL = 10_000
MAX_LINES = 400_000
MAX_LINE = 2_000_000  # characters of one line
MAX_COLUMNS = 1_000
MAX_HEADER = 100_000  # below what the parser takes for one cell
MAX_TITLE_LINES = 20  # over which quoted titles may break
# The longest mark first: that of UTF-32 begins with that of UTF-16.
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_STATED_DELIMITER = re.compile(r"sep=(.)", re.IGNORECASE)


def read(file: BinaryIO, score: Callable[[list[str]], int], decimal: str = "auto") -> DataTable:
    """Return a text table whose records are read as they are asked for.

    Parameters
    ----------
    file : binary file
        Seekable; read again for each pass over the records, and left open.
    score : callable
        How many cells of a row are known column names: the delimiter with the most is taken.
    decimal : {"auto", "point", "comma"}
        Decimal mark of numbers; "auto" leaves it to the cells (`settled`).

    Raises
    ------
    TableError
        If the bytes are no text, or there is no header.
    """
    encoding = encoding_of(file)
    with _lines(file, encoding) as lines:
        line, first = _header(lines)
        if len(first) > MAX_HEADER:
            raise refuse(f"a header of at most {MAX_HEADER:,} characters", 413, line=line)
        head = [first, *islice(lines, MAX_TITLE_LINES)]
        parsed = {mark: _titles(head, mark) for mark in DELIMITERS}
        delimiter = max(DELIMITERS, key=lambda mark: (score(parsed[mark][0]), len(parsed[mark][0])))
        header, taken = parsed[delimiter]
        if len(header) < 2 and ([], 0) in parsed.values():
            raise refuse(_UNCLOSED, line=line)
        if len(header) > MAX_COLUMNS:
            raise refuse(f"at most {MAX_COLUMNS} columns", 413, line=line)
        _refuse_many(chain(head[taken:], lines), delimiter)
    return DataTable(
        header=tuple(map(one_line, header)),
        header_line=line,
        records=lambda: _records(file, encoding, delimiter, line + taken - 1),
        marks=settle(decimal, delimiter, ()),
        read_as=f"{encoding.removesuffix('-sig')}, {DELIMITERS[delimiter]}",
        delimiter=delimiter,
    )


def encoding_of(file: BinaryIO) -> str:
    """Return the encoding of a text file, read to its end in blocks.

    A byte-order mark decides; then UTF-16 where every other byte is 0, UTF-8 if every byte fits,
    else Windows code page 1252.
    """
    file.seek(0)
    start = file.read(4096)
    candidates: tuple[str, ...] = ("utf-8", "cp1252")
    if start.count(0) > len(start) / 4:  # every other byte of plain letters in UTF-16 is 0
        first = start[::2].count(0) > start[1::2].count(0)
        candidates = ("utf-16-be",) if first else ("utf-16-le",)
    candidates = next(((name,) for mark, name in _MARKS if start.startswith(mark)), candidates)
    for name in candidates:
        if _decodes(file, name):
            return name
    file.seek(0)
    lines = enumerate(file, start=1)  # where it is text but for one character
    line = next((number for number, text in lines if b"\0" in text), 0)
    rule = "a text in UTF-8, UTF-16 or Windows-1252, without NUL characters"
    raise refuse(rule, status=415, line=line)


def _decodes(file: BinaryIO, encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    file.seek(0)
    try:
        while block := file.read(BLOCK):
            if "\0" in decoder.decode(block):
                return False
        decoder.decode(b"", final=True)
    except UnicodeError:
        return False
    return True


@contextmanager
def _lines(file: BinaryIO, encoding: str) -> Iterator[Iterator[str]]:
    file.seek(0)
    text = io.TextIOWrapper(file, encoding=encoding, newline="")
    try:
        yield _bounded(text)
    finally:
        text.detach()


def _bounded(text: io.TextIOWrapper) -> Iterator[str]:
    """Yield the lines of a text, none of them longer than is looked at."""
    number = 1
    while lines := text.readlines(BLOCK):
        if max(map(len, lines)) > MAX_LINE:
            number += next(at for at, line in enumerate(lines) if len(line) > MAX_LINE)
            raise refuse(f"lines of at most {MAX_LINE:,} characters", 413, line=number)
        number += len(lines)
        yield from lines


def _header(lines: Iterator[str]) -> tuple[int, str]:
    """Return the line where the header begins, past empty lines and one such as ``sep=;``."""
    for number, line in enumerate(lines, start=1):
        bare = line.strip("\r\n \ufeff")
        if bare.strip(",;\t") and not _STATED_DELIMITER.fullmatch(bare):
            return number, line
    raise refuse("the file has no header row")


def _refuse_many(lines: Iterator[str], delimiter: str) -> None:
    """Refuse more rows than a request may have, before any is looked at."""
    rows = filter(any, csv.reader(islice(lines, MAX_LINES), delimiter=delimiter))
    with suppress(csv.Error):  # whose place is found as the rows are read
        if next(islice(rows, MAX_RECORDS, None), None):
            raise TooManyRows(f"at most {MAX_RECORDS:,} rows; cut the table in parts")


def _titles(head: list[str], delimiter: str) -> tuple[list[str], int]:
    """Return the titles with which a text begins, and over how many lines; none if not closed."""
    reader = csv.reader(head, delimiter=delimiter, strict=True)
    with suppress(csv.Error):
        return next(reader), reader.line_num
    return [], 0


def _records(file: BinaryIO, encoding: str, delimiter: str, header_line: int) -> Iterator[Record]:
    with _lines(file, encoding) as lines:
        next(islice(lines, header_line - 1, None))
        reader = csv.reader(lines, delimiter=delimiter, strict=True)
        start = header_line + 1
        try:
            for cells in reader:
                if reader.line_num > MAX_LINES:
                    raise TooManyRows(f"at most {MAX_LINES:,} lines, empty ones counted too")
                if max(map(len, cells), default=0) > MAX_CELL:
                    raise refuse(_UNCLOSED, line=start)
                if any(cells):
                    yield Record(start, cells)
                start = header_line + reader.line_num + 1
        except csv.Error:
            raise refuse(_UNCLOSED, line=start) from None


_UNCLOSED = (
    f"a quotation mark that is opened here is not closed, or a cell is over {MAX_CELL} characters"
)
