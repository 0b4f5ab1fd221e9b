"""What a paper is made of: plain data that the template knows how to set."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

Block = dict[str, Any]
Cell = str | dict[str, str]
Column = tuple[str, float, str]  # title, part of the width (0: as wide as it needs), alignment


def sheet(title: str, lead: str, blocks: Iterable[Block]) -> Block:
    """Return a part of the paper that begins a page."""
    return {"kind": "sheet", "title": title, "lead": lead, "blocks": list(blocks)}


def heading(text: str, level: int = 2) -> Block:
    """Return a heading; level 1 is the title of a part."""
    return {"kind": "heading", "level": level, "text": text}


def text(words: str, mark: str = "") -> Block:
    """Return a paragraph; the mark "open" sets off what is still to be settled."""
    return {"kind": "text", "text": words, "mark": mark}


def small(words: str) -> Block:
    """Return a note in small, muted letters."""
    return {"kind": "small", "text": words}


def bullets(items: Iterable[str]) -> Block:
    """Return a list."""
    return {"kind": "list", "items": list(items)}


def table(columns: Sequence[Column], rows: Iterable[Sequence[Cell]]) -> Block:
    """Return a table whose head repeats on every page."""
    named = [{"title": title, "width": width, "align": align} for title, width, align in columns]
    return {"kind": "table", "columns": named, "rows": [list(row) for row in rows]}


def marked(words: str, mark: str = "", note: str = "") -> Cell:
    """Return a cell with a mark ("open" or "strong") or a note below its words."""
    return {"text": words, "mark": mark, "note": note} if mark or note else words


def blanks(labels: Iterable[str]) -> Block:
    """Return lines to write on."""
    return {"kind": "blanks", "labels": list(labels)}


def drawing(svg: str, reading: str) -> Block:
    """Return a drawing with the words that say what it shows."""
    return {"kind": "drawing", "svg": svg, "reading": reading}
