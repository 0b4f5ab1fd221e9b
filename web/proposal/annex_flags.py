"""Annex: every flag of a survey and every caution of the answer."""

from collections.abc import Iterator, Sequence

from web.answer_tables import caution_groups
from web.charts import Reply
from web.proposal.annex_comparison import answered, scope_table
from web.proposal.blocks import Block, bullets, heading, sheet, small
from web.proposal.offer import Offer

CONTINUED = "Letter, continued"
OTHERS = "Other cautions of the comparison"


def flags(offer: Offer) -> Block:
    """Return the annex of flags and cautions."""
    return sheet(offer.title("flags"), _blocks(offer.reply))


def cautioned(offer: Offer, titles: Sequence[str], but: Sequence[str] = ()) -> Iterator[Block]:
    """Yield the cautions of a sheet's own subjects that it has not said, and where others are."""
    groups = caution_groups(offer.reply)
    told = [one for one in groups if one[0] in titles]
    for title, cautions in told:
        if further := [one for one in cautions if one not in but]:
            yield heading(title)
            yield bullets(further)
    left = sum(len(cautions) for _, cautions in groups) - sum(len(some) for _, some in told)
    if left:
        yield small(f"{left} more cautions: see {_place(offer)}.")


def _place(offer: Offer) -> str:
    """Where the cautions are that a sheet leaves out: the letter adds a page for what it lacks."""
    if "flags" in offer.parts:
        return offer.where("flags")
    return "the letter" if "letter" in offer.parts else f"“{OTHERS}”"


def others(offer: Offer, titles: Sequence[str]) -> Block:
    """Return the cautions that sheets printed without letter and annex do not have."""
    return sheet(OTHERS, _blocks(offer.reply, titles))


def continued(offer: Offer) -> Block:
    """Return what a letter may not hold and no annex has: whole answer and scope, cautions."""
    annexed = "comparison" in offer.parts
    sure = bullets(offer.reply["answer"]["certainty"])
    scope = scope_table(offer.reply, ([offer.rival], [offer.place]))
    told = () if annexed else (*answered(offer), sure, scope)
    cautions = () if "flags" in offer.parts else _blocks(offer.reply)
    return sheet(CONTINUED, [*told, *cautions])


def _blocks(reply: Reply, but: Sequence[str] = ()) -> Iterator[Block]:
    for title, cautions in caution_groups(reply):
        if title not in but:
            yield heading(title)
            yield bullets(cautions)
