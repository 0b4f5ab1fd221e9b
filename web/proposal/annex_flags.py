"""Annex: every flag of a survey and every caution of the answer."""

from __future__ import annotations

from collections.abc import Iterator

from web.caution_list import caution_groups
from web.charts import Reply
from web.proposal.annex_comparison import scope_table
from web.proposal.blocks import Block, bullets, heading, sheet
from web.proposal.offer import Offer


def flags(offer: Offer) -> Block:
    """Return the annex of flags and cautions."""
    return sheet(offer.title("flags"), "", _blocks(offer.reply))


def continued(offer: Offer) -> Block:
    """Return what a letter without annexes may not hold: whole answer, scope, cautions."""
    return sheet(
        "Letter, continued: answer, scope, cautions",
        offer.reply["verdict"],
        [scope_table(offer.reply, offer.place), *_blocks(offer.reply)],
    )


def _blocks(reply: Reply) -> Iterator[Block]:
    for title, cautions in caution_groups(reply):
        yield heading(title)
        yield bullets(cautions)
