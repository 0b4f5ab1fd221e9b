"""Annex: every flag of a survey and every caution of the answer."""

from __future__ import annotations

from collections.abc import Iterator

from web.answer import caution_groups
from web.charts import Reply
from web.proposal.blocks import Block, bullets, heading, sheet
from web.proposal.offer import Offer


def flags(offer: Offer) -> Block:
    """Return the annex of flags and cautions."""
    return sheet(offer.title("flags"), "", _blocks(offer.reply))


def _blocks(reply: Reply) -> Iterator[Block]:
    for title, cautions in caution_groups(reply):
        yield heading(title)
        yield bullets(cautions)
