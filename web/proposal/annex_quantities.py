"""Annex: the bill of quantities of a surveyed retrofit, with its section and plan."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree import ElementTree as Xml

from web.charts import Table
from web.proposal.blocks import Block, Column, bullets, drawing, heading, sheet, table, text
from web.proposal.offer import Offer, surveyed
from web.quantities_table import Takeoff

FONT = "Source Sans 3"


def quantities(offer: Offer) -> Block:
    """Return the annex of everything that was surveyed."""
    blocks = (one for taken, _, _ in surveyed(offer) for one in _taken(taken))
    return sheet(offer.title("quantities"), "", blocks)


def _taken(one: Takeoff) -> Iterator[Block]:
    yield heading(one.name)
    yield text(one.reading)
    yield figure(one.section)
    yield figure(one.plan)
    yield heading("Bill of quantities", 3)
    yield as_table(one.lines, (2.0, 1.0, 1.0, 0.9, 1.8))
    for title, rows in one.tables:
        yield heading(title, 3)
        yield as_table(rows, (3.0, 1.2))
    yield bullets(one.words)


def as_table(one: Table, widths: tuple[float, ...]) -> Block:
    """Return a table of the page as a table of the paper: the first column to the left."""
    last = len(one.columns) - 1
    words = {0, last} if last > 1 else {0}
    columns: list[Column] = [
        (title, width, "left" if place in words else "right")
        for place, (title, width) in enumerate(zip(one.columns, widths, strict=True))
    ]
    return table(columns, one.rows)


def figure(svg: str) -> Block:
    """Return a drawing of the page for paper: in the paper's font, read by its own description."""
    root = Xml.fromstring(svg)
    root.set("font-family", FONT)
    said = [node.text or "" for node in root if str(node.tag).rpartition("}")[2] == "desc"]
    return drawing(svg.replace("sans-serif", FONT, 1), said[0] if said else "Drawing")
