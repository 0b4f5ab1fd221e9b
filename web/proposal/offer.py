"""What every part of a proposal is written from: the case, its reply, and who offers it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from lcc.case import Case, MetalRetrofit
from lcc.case.proposal import Proposal
from lcc.errors import CaseError
from web.charts.figure import Reply, subject
from web.quantities_table import Takeoff, takeoffs

ANNEXES = {
    "comparison": "Comparison",
    "quantities": "Quantities and drawings",
    "assumptions": "What the figures rest on",
    "flags": "Flags and cautions",
}


@dataclass(frozen=True)
class Offer:
    """A case, the reply to it, and the parts that are printed."""

    case: Case
    reply: Reply
    proposal: Proposal
    parts: tuple[str, ...]

    @cached_property
    def place(self) -> int:
        """Place of the proposed alternative in the reply: as named, or that of the answer."""
        names = [one["name"] for one in self.reply["alternatives"]]
        wanted = self.proposal.recommended
        if not wanted:
            return subject(self.reply)
        if wanted not in names[1:]:
            raise CaseError("proposal.recommended", wanted, "one of " + ", ".join(names[1:]))
        return names.index(wanted, 1)

    @property
    def base(self) -> Reply:
        """The base case as answered."""
        found: Reply = self.reply["alternatives"][0]
        return found

    @property
    def proposed(self) -> Reply:
        """The proposed alternative as answered."""
        found: Reply = self.reply["alternatives"][self.place]
        return found

    def title(self, part: str) -> str:
        """The title of an annex with its letter, counted among those printed."""
        printed = [one for one in ANNEXES if one in self.parts]
        if part not in printed:
            return ANNEXES[part]
        return f"Annex {'ABCD'[printed.index(part)]}: {ANNEXES[part]}"

    def where(self, part: str) -> str:
        """Where the reader finds what an annex holds."""
        return f"“{self.title(part)}”" if part in self.parts else "the pages that follow"


def surveyed(offer: Offer) -> Iterator[tuple[Takeoff, MetalRetrofit, Reply]]:
    """Return every surveyed retrofit: its takeoff for print, as entered, and as answered."""
    taken = {one.id: one for one in takeoffs(offer.case, offer.reply)}
    for place, retrofit in enumerate(offer.case.alternatives):
        one = taken.get(f"takeoff-{place}")
        if one and isinstance(retrofit, MetalRetrofit):
            yield one, retrofit, offer.reply["alternatives"][place + 1]
