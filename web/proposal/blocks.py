"""What a paper is made of: plain data that the template knows how to set."""

from collections.abc import Iterable, Sequence
from typing import Any

from web.charts import Table

FEW_LINES = 12  # lines of a table that is not parted

Block = dict[str, Any]
Cell = Any  # a text, a text with a mark or a note, or several of these below each other
Column = tuple[str, float, str]  # title, part of the width (0: as wide as it needs), alignment


def sheet(title: str, blocks: Iterable[Block]) -> Block:
    """Return a part of the paper that begins a page.

    A drawing that floats may come to stand between two items of a list, which a tagged list does
    not allow: each item there is a list of its own.
    """
    made, floating = list(blocks), False
    for one in made:
        floating = (floating or one.get("floats", False)) and one["kind"] != "drawn"
        if one["kind"] == "list":
            one["apart"] = floating
    return {"kind": "sheet", "title": title, "blocks": made}


def page(title: str, blocks: Iterable[Block]) -> Block:
    """Return a part that is one page: its tables with a "least" give up rows until it fits."""
    return {"kind": "page", "title": title, "blocks": list(blocks)}


def heading(text: str, level: int = 2) -> Block:
    """Return a heading; level 1 is the title of a part."""
    return {"kind": "heading", "level": level, "text": text}


def text(words: str, mark: str = "") -> Block:
    """Return a paragraph; the mark "open" sets off what is still to be settled."""
    return {"kind": "text", "text": words, "mark": mark}


def small(words: str) -> Block:
    """Return a note in small, muted letters."""
    return {"kind": "small", "text": words}


def bullets(items: Iterable[str], columns: int = 1) -> Block:
    """Return a list, in one column or two."""
    return {"kind": "list", "items": list(items), "columns": columns}


def table(
    columns: Sequence[Column], rows: Iterable[Sequence[Cell]], *, dense: bool = False,
    halves: bool = False, least: int = 0, of: int = 0, rest: str = "",
) -> Block:  # fmt: skip
    """Return a table whose head repeats on every page; a row of one cell heads those below it.

    A table of few lines stays on one page; in `halves` two rows stand beside each other. On a
    `page` one with a `least` gives up rows down to so many; `of` is how many there are in all, and
    `rest` what they are.
    """
    named = [{"title": title, "width": width, "align": align} for title, width, align in columns]
    filled = [list(row) for row in rows]
    whole = sum(_lines(row, columns) for row in filled) <= FEW_LINES * (1 + halves)
    return {"kind": "table", "columns": named, "rows": filled, "whole": whole, "dense": dense,
            "halves": halves, "least": least, "of": of, "rest": rest}  # fmt: skip


def _lines(row: Sequence[Cell], columns: Sequence[Column]) -> float:
    """Return about how many lines a row takes, rather too many."""
    across = sum(width for _, width, _ in columns)
    shares = (width / across for _, width, _ in columns)
    return max((_letters(cell) / (80 * share) for cell, share in zip(row, shares, strict=False)),
               default=0) // 1 + 1  # fmt: skip


def _letters(cell: Cell) -> int:
    if isinstance(cell, list):
        return sum(map(_letters, cell))
    return sum(map(len, as_cell(cell).values()))


def as_table(one: Table, widths: Sequence[float]) -> Block:
    """Return a table of the page as one of the paper: first and last column to the left."""
    last = len(one.columns) - 1
    words = {0, last} if last > 1 else {0}
    columns: list[Column] = [
        (title, width, "left" if place in words else "right")
        for place, (title, width) in enumerate(zip(one.columns, widths, strict=True))
    ]
    return table(columns, one.rows)


def as_cell(one: Cell) -> dict[str, str]:
    """Return a cell with all its members."""
    return {"mark": "", "note": "", **({"text": one} if isinstance(one, str) else one)}


def marked(words: str, mark: str = "", note: str = "") -> Cell:
    """Return a cell with a mark ("open" or "strong") or a note below its words."""
    return {"text": words, "mark": mark, "note": note} if mark or note else words


def beside(left: Iterable[Block], right: Iterable[Block]) -> Block:
    """Return two columns of blocks."""
    return {"kind": "beside", "sides": [list(left), list(right)]}


def together(some: Iterable[Block]) -> Block:
    """Return blocks that stay on one page."""
    return {"kind": "together", "blocks": list(some)}


def blanks(labels: Iterable[str]) -> Block:
    """Return lines to write on."""
    return {"kind": "blanks", "labels": list(labels)}


def drawn() -> Block:
    """Return the place where all drawings that float have been set."""
    return {"kind": "drawn"}


def drawing(svg: str, reading: str, *, wide: bool = False, floats: bool = False) -> Block:
    """Return a drawing with the words that say what it shows, three quarters wide or all.

    A drawing that floats stands at the foot of a page. The text after it fills the room above it,
    or the page before.
    """
    return {"kind": "drawing", "svg": svg, "reading": reading, "wide": wide, "floats": floats}
