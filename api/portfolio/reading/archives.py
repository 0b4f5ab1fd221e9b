"""The parts of a spreadsheet, held to bounds before anything parses them."""

from __future__ import annotations

import re
import zipfile
from typing import BinaryIO
from xml.etree.ElementTree import ParseError, fromstring

from api.portfolio.reading.row_faults import TooManyRows, refuse

SIGNATURE = b"PK\x03\x04"
MAX_PARTS = 1_000
MAX_UNPACKED = 128 << 20
MAX_CONTENTS = 1 << 20
# Of every part but the sheets, which alone are read piece by piece: texts, styles, the workbook.
MAX_WHOLE = 32 << 20
MAX_ROWS = 100_000
_BLOCK = 1 << 20
_OVERLAP = 64  # longer than what is looked for
_CONTENTS = "[Content_Types].xml"
_SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_ROW = re.compile(rb"<(?:[\w.-]{1,40}:)?row[\s/>]")
_DECLARED = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_ENCODING = re.compile(rb"""encoding\s*=\s*["'](?!utf-?8["']|us-ascii["'])""", re.IGNORECASE)


def check_archive(file: BinaryIO) -> None:
    """Refuse an archive that unpacks to too much or declares entities, before any parsing.

    Raises
    ------
    TableError
        For what is damaged, locked, too large, or written to be misread.
    """
    file.seek(0)
    try:
        with zipfile.ZipFile(file) as archive:
            _check_parts(archive)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, RuntimeError, EOFError):
        raise refuse("a whole, unlocked spreadsheet; this archive is damaged", 415) from None


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
    rows, kept, first = 0, b"", True
    with archive.open(part) as stream:  # gives no more than the size that was added up
        while block := stream.read(_BLOCK):
            if first and not _is_xml(block, part.filename):
                return
            seen = kept + block
            if _DECLARED.search(seen) or (first and _ENCODING.search(block[:200])):
                raise refuse("a spreadsheet in UTF-8 without document type declarations", 415)
            rows += len(_ROW.findall(seen)) - len(_ROW.findall(kept))
            kept, first = block[-_OVERLAP:], False
    if rows > MAX_ROWS + 1:
        raise TooManyRows(f"at most {MAX_ROWS:,} rows; this sheet holds {rows:,}")


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
        raise refuse("a spreadsheet that can be read; this one is damaged", 415) from None
    kinds: dict[str, set[str]] = {}
    for one in listed.iter():
        kinds.setdefault(one.get("PartName", "").removeprefix("/"), set()).add(
            one.get("ContentType", "")
        )
    return {name for name, found in kinds.items() if found == {_SHEET}}
