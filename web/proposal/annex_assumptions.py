"""Annex: every figure that the answer rests on, what was entered first."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from lcc.case.document_values import capital
from web import assumptions_table
from web.assumptions_table import Assumed, Rests
from web.charts import Reply
from web.proposal.blocks import Block, Cell, Column, heading, sheet, small, table, text
from web.proposal.offer import Offer

COLUMNS: list[Column] = [("What", 2.4, "left"), ("Value", 1.1, "right"), ("Whose", 2.0, "left")]
FIRST = "What was entered stands first, then what comes from the tool’s tables."
NOTHING_ENTERED = "No figure here was entered: the surest stand first, demo figures last."
PAIR: list[Column] = [("What", 2.0, "left"), ("Value", 1.75, "right")]


def assumptions(offer: Offer) -> Block:
    """Return the annex of assumptions: what, value, whose, and where it comes from."""
    return sheet(offer.title("assumptions"), _blocks(offer.reply))


def _blocks(reply: Reply) -> Iterator[Block]:
    told = assumptions_table.rests(reply)
    own = any(one.heading == "Entered" for one in told)
    yield text(FIRST if own else NOTHING_ENTERED)
    for title, ones in groupby(told, key=lambda one: one.heading):
        yield heading(title)
        yield from _of_basis(tuple(ones))
    yield small("Left out of the model: " + " ".join(reply["notes"]))


def _of_basis(ones: Iterable[Rests]) -> Iterator[Block]:
    """The sources of one figure each in one table; a source of several said once, above them."""
    single = [(one.source, item) for one in ones if len(one.items) == 1 for item in one.items]
    if single:
        yield table(
            [*COLUMNS, ("Where from", 3.2, "left")],
            ((item.label, item.value, _owner(item), where) for where, item in single),
            dense=True,
        )
    several = [one for one in ones if len(one.items) > 1]
    if several:
        rows = (row for one in several for row in _of_source(one))
        yield table(PAIR * 2, rows, dense=True)


def _of_source(one: Rests) -> Iterator[Sequence[Cell]]:
    """A source's figures by what they belong to, two beside each other."""
    source = f"{capital(one.source)}. "
    for owner, items in groupby(sorted(one.items, key=_owner), key=_owner):
        cells = [cell for item in items for cell in (item.label, item.value)]
        yield [f"{source}{capital(owner)}:"]
        yield from ([*cells[at : at + 4], "", ""][:4] for at in range(0, len(cells), 4))
        source = ""


def _owner(item: Assumed) -> str:
    return item.owner or "the whole case"
