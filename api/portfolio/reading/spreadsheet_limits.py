"""The parts of a spreadsheet, checked against limits before anything parses them."""

import lzma
import re
import zipfile
import zlib
from dataclasses import dataclass
from typing import BinaryIO
from xml.etree.ElementTree import Element, ParseError, fromstring

from xlsxwriter.utility import xl_cell_to_rowcol

from api.portfolio.reading.fault_kinds import TooManyRows, refuse

SIGNATURE = b"PK\x03\x04"
MAX_PARTS = 1_000
MAX_UNPACKED = 128 << 20
MAX_CONTENTS = 1 << 20
# Of every part but the sheets, which alone are read piece by piece: texts, styles, the workbook.
MAX_WHOLE = 32 << 20
MAX_ROWS = 100_000
MAX_COLUMNS = 200
MAX_EMPTY_ROWS = 1_000
_BLOCK = 1 << 20
_OVERLAP = 64  # longer than what is looked for
_CONTENTS = "[Content_Types].xml"
_SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_ROW = re.compile(rb"<(?:[\w.-]{1,40}:)?row[\s/>]")
# Tags as spreadsheets write them: quoted values, not many of them, none long.
_OPENED = re.compile(rb"<[A-Za-z_]")
_TAG = re.compile(
    rb"<[A-Za-z_][\w:.-]{0,80}"
    rb"(?:\s+[\w:.-]{1,80}\s*=\s*(?:\"[^\"<>]{0,2000}\"|'[^'<>]{0,2000}')){0,40}\s*/?>"
)
_CELL = re.compile(rb"<(?:[\w.-]{1,40}:)?c[\s/>]")
_PLACE = re.compile(rb"\br=[\"']([A-Z]{1,3})\d")
_LATE_ROW = re.compile(rb"\br=[\"'][A-Z]{0,3}0*([1-9]\d{5,})[\"']")
_HIDDEN = re.compile(rb"<(?:[\w.-]{1,40}:)?row\s[^>]*\bhidden=[\"'](?:1|true)")
# Parts that nothing here reads.
_UNREAD = ("xl/drawings/", "xl/media/", "xl/theme/", "xl/charts/", "docProps/", "customXml/")
_DECLARED = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_ENCODING = re.compile(rb"""encoding\s*=\s*["'](?!utf-?8["']|us-ascii["'])""", re.IGNORECASE)


DAMAGED = (
    zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, lzma.LZMAError, NotImplementedError,
    RuntimeError, EOFError, OSError, ValueError,
)  # fmt: skip


def check_archive(file: BinaryIO) -> None:
    """Refuse an archive that unpacks too large or declares entities, before any parsing.

    Raises
    ------
    TableError
        For a file that is damaged, locked, too large, or written to mislead the reader.
    """
    file.seek(0)
    try:
        with zipfile.ZipFile(file) as archive:
            _check_parts(archive)
    except DAMAGED:
        raise refuse("a whole, unlocked spreadsheet; this archive is damaged") from None


def _check_parts(archive: zipfile.ZipFile) -> None:
    parts = archive.infolist()
    unpacked = sum(part.file_size for part in parts)
    if len(parts) > MAX_PARTS or unpacked > MAX_UNPACKED:
        rule = f"a spreadsheet that unpacks to at most {MAX_UNPACKED >> 20} MiB"
        raise refuse(f"{rule}; this one holds {unpacked >> 20} MiB", status=413)
    for part in parts:
        _check_part(archive, part)
    sheets = _sheets(archive)
    if any(part.file_size > MAX_WHOLE for part in parts if part.filename not in sheets):
        raise refuse(f"at most {MAX_WHOLE >> 20} MiB of text in cells, or of styles", status=413)


def _check_part(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> None:
    """Look through a part that is XML whatever it is named: a sheet may have any name."""
    rows, kept, first, shape = 0, b"", True, _Shape()
    with archive.open(part) as stream:  # gives no more than the size that was added up
        while block := stream.read(_BLOCK):
            if first and not _is_xml(block, part.filename):
                return
            seen = kept + block
            if _DECLARED.search(seen) or (first and _ENCODING.search(block[:200])):
                raise refuse("a spreadsheet in UTF-8 without document type declarations", 415)
            rows += len(_ROW.findall(seen)) - len(_ROW.findall(kept))
            if rows <= MAX_ROWS + 1 and not part.filename.startswith(_UNREAD):
                shape.add(block)
            kept, first = block[-_OVERLAP:], False
    if rows > MAX_ROWS + 1:
        raise TooManyRows(f"at most {MAX_ROWS:,} rows; this sheet holds {rows:,}")
    shape.check()


class _Shape:
    """The tags of a part, held to the form that spreadsheets give them, and its extent.

    A reader of XML may take time that grows with the square of the values in one tag, and room for
    every cell between the first and the last.
    """

    def __init__(self) -> None:
        self.open = b""
        self.cells = self.placed = 0
        self.columns: set[bytes] = set()
        self.last_row = 0

    def add(self, block: bytes) -> None:
        """Check one more block; a tag cut by its end is checked with the next."""
        whole = self.open + block
        cut = whole.rfind(b"<")
        closed = cut < 0 or b">" in whole[cut:]
        text, self.open = (whole, b"") if closed else (whole[:cut], whole[cut:])
        if (
            len(self.open) > _BLOCK
            or b"<<" in text
            or len(_OPENED.findall(text)) != len(_TAG.findall(text))
        ):
            raise refuse("a spreadsheet with plain tags; this one is written to be misread", 415)
        places = _PLACE.findall(text)
        self.cells += len(_CELL.findall(text))
        self.placed += len(places)
        self.columns.update(places)
        late = _LATE_ROW.findall(text)
        self.last_row = max([self.last_row, *map(int, late)])

    def check(self) -> None:
        """Refuse cells so far apart that the room between them is out of bounds."""
        if self.open:
            raise refuse("a spreadsheet that can be read; this one is damaged")
        if self.last_row > MAX_ROWS + MAX_EMPTY_ROWS:
            raise refuse(f"rows up to {MAX_ROWS:,}; delete what is in row {self.last_row}", 413)
        if any(_position(one) >= MAX_COLUMNS for one in self.columns):
            raise refuse(f"at most {MAX_COLUMNS} columns", 413)
        if self.cells - self.placed > MAX_COLUMNS:  # cells that do not say where they stand
            raise refuse("a spreadsheet whose cells say where they stand; save it again", 415)


def _is_xml(start: bytes, name: str) -> bool:
    """Tell whether a part is XML in UTF-8; refuse XML in any wider encoding."""
    text = start.removeprefix(b"\xef\xbb\xbf").lstrip(b" \t\r\n")
    named = name.endswith((".xml", ".rels"))
    wide = start[:2] in (b"\xff\xfe", b"\xfe\xff") or text[:2] in (b"<\0", b"\0<")
    if wide or (named and b"\0" in start):
        raise refuse("a spreadsheet in UTF-8 without document type declarations", 415)
    return named or text.startswith(b"<")


def _sheets(archive: zipfile.ZipFile) -> set[str]:
    """Return the names of the parts that are sheets and nothing else."""
    if _CONTENTS not in archive.namelist() or archive.getinfo(_CONTENTS).file_size > MAX_CONTENTS:
        raise refuse("a spreadsheet that can be read; this one has no list of contents", 415)
    try:
        listed = fromstring(archive.read(_CONTENTS))
    except ParseError:
        raise refuse("a spreadsheet that can be read; this one is damaged") from None
    kinds: dict[str, set[str]] = {}
    for one in listed.iter():
        kinds.setdefault(one.get("PartName", "").removeprefix("/"), set()).add(
            one.get("ContentType", "")
        )
    return {name for name, found in kinds.items() if found == {_SHEET}}


@dataclass(frozen=True)
class SheetMarks:
    """What a reader of values does not say of a sheet: cells shown as percent, hidden rows."""

    percent: frozenset[tuple[int, int]]
    hidden_rows: int


def sheet_marks(file: BinaryIO, sheet: str) -> SheetMarks:
    """Return the cells of a sheet that show a percentage, by row from 1 and column from 0.

    Parameters
    ----------
    file : binary file
        A spreadsheet that `check_archive` has accepted.
    sheet : str
        Name of the sheet.
    """
    file.seek(0)
    try:
        with zipfile.ZipFile(file) as archive:
            part = _part_of(archive, sheet)
            styles = _percent_styles(archive)
            text = archive.read(part) if part in archive.namelist() else b""
    except (*DAMAGED, KeyError, ParseError):
        return SheetMarks(frozenset(), 0)
    percent: set[tuple[int, int]] = set()
    if styles:
        numbers = b"|".join(str(one).encode() for one in styles)
        styled = (
            rb"<(?:[\w.-]{1,40}:)?c\s(?=[^>]*\bs=[\"'](?:%b)[\"'])[^>]*?\br=[\"']([A-Z]{1,3})(\d+)"
        )
        for letters, row in re.findall(styled % numbers, text):
            percent.add((int(row), _position(letters)))
    return SheetMarks(frozenset(percent), len(_HIDDEN.findall(text)))


def _position(letters: bytes) -> int:
    position: int = xl_cell_to_rowcol(f"{letters.decode()}1")[1]
    return position


def _root(archive: zipfile.ZipFile, part: str) -> Element:
    if archive.getinfo(part).file_size > MAX_CONTENTS:
        raise KeyError(part)
    return fromstring(archive.read(part))


def _part_of(archive: zipfile.ZipFile, sheet: str) -> str:
    """Return the part in which a sheet is kept."""
    book = _root(archive, "xl/workbook.xml")
    links = _root(archive, "xl/_rels/workbook.xml.rels")
    named = {one.get("name"): one for one in book.iter() if one.tag.endswith("}sheet")}
    wanted = next(v for name, v in named[sheet].attrib.items() if name.endswith("}id"))
    target = next(one.get("Target", "") for one in links if one.get("Id") == wanted)
    return target.removeprefix("/") if target.startswith("/") else f"xl/{target}"


def _percent_styles(archive: zipfile.ZipFile) -> list[int]:
    """Return the numbers of the cell styles that show a percentage."""
    root = _root(archive, "xl/styles.xml")
    custom = {
        one.get("numFmtId")
        for one in root.iter()
        if one.tag.endswith("}numFmt") and "%" in re.sub(r'"[^"]*"', "", one.get("formatCode", ""))
    }
    shown = custom | {"9", "10"}  # the built-in formats 0% and 0.00%
    styles = next((one for one in root if one.tag.endswith("}cellXfs")), ())
    return [number for number, one in enumerate(styles) if one.get("numFmtId") in shown]
