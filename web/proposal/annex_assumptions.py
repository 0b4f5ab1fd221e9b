"""Annex: every figure that the answer rests on, what was entered first."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from web import assumptions_table
from web.charts import Reply
from web.proposal.blocks import Block, heading, sheet, small, table
from web.proposal.offer import Offer


def assumptions(offer: Offer) -> Block:
    """Return the annex of assumptions: what, value, whose, and where it comes from."""
    return sheet(
        offer.title("assumptions"),
        "What was entered stands first, then what comes from the tool’s tables.",
        _blocks(offer.reply),
    )


def _blocks(reply: Reply) -> Iterator[Block]:
    found = groupby(assumptions_table.rests(reply), key=lambda one: one.heading)
    for title, ones in found:
        rows = [(item, one.source) for one in ones for item in one.items]
        entered = title == "Entered"
        source = [] if entered else [("Where from", 2.4, "left")]
        yield heading(title)
        yield table(
            [("What", 2.2, "left"), ("Value", 1.3, "right"), ("Whose", 1.7, "left"), *source],
            ((item.label, item.value, item.owner or "all", *([] if entered else [where]))
             for item, where in rows),
        )  # fmt: skip
    yield small("Left out of the model: " + " ".join(reply["notes"]))
