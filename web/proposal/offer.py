"""What every part of a proposal is written from: the case, its reply, and who offers it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from lcc import units
from lcc.case import Case, MetalRetrofit
from lcc.case.proposal import Proposal
from lcc.errors import CaseError
from web.charts.figure import Reply, subject
from web.proposal.blocks import Block, heading, table
from web.proposal.cut_names import shortened
from web.quantities_table import Takeoff, takeoffs

ANNEXES = {
    "comparison": "Comparison",
    "quantities": "Quantities and drawings",
    "assumptions": "What the figures rest on",
    "flags": "Flags and cautions",
}


@dataclass(frozen=True)
class Offer:
    """A case, the whole reply to it, and the parts that are printed."""

    case: Case
    whole: Reply
    proposal: Proposal
    parts: tuple[str, ...]

    @cached_property
    def reply(self) -> Reply:
        """The reply with names that fit a table."""
        return shortened(self.whole)

    @property
    def names(self) -> list[str]:
        """The names of the base case and of every alternative, in full."""
        return [one["name"] for one in self.whole["alternatives"]]

    @property
    def cheapest(self) -> Reply:
        """The result of what costs least over the study period, the base case among them."""
        return min(self.reply["alternatives"], key=lambda one: float(one["life_cycle_cost"]))

    @cached_property
    def place(self) -> int:
        """Place in the reply of the choice that is proposed: as named, or that of the answer."""
        names = self.names
        wanted = self.proposal.recommended
        if not wanted:
            return subject(self.reply)
        if wanted not in names:
            raise CaseError("proposal.recommended", wanted, "one of " + ", ".join(names))
        return names.index(wanted)

    @property
    def rival(self) -> int:
        """Place of what it is set against: the base case, and for that the answer's alternative."""
        return 0 if self.place else subject(self.reply)

    @property
    def other(self) -> Reply:
        """What the proposed choice is set against, as answered."""
        found: Reply = self.reply["alternatives"][self.rival]
        return found

    @property
    def proposed(self) -> Reply:
        """The proposed choice as answered."""
        found: Reply = self.reply["alternatives"][self.place]
        return found

    def covered(self, result: Reply) -> float:
        """The part of the roof's area that the take-off of an alternative covers; 1 without one."""
        area = units.from_core(self.case.roof.area_m2, "area", self.whole["units"])
        taken = result["quantities"]
        return float(taken["surface"]["plan_area"]) / area if taken else 1.0

    def title(self, part: str) -> str:
        """The title of an annex with its letter, counted among those printed."""
        printed = [one for one in ANNEXES if one in self.parts]
        if part not in printed:
            return ANNEXES[part]
        return f"Annex {'ABCD'[printed.index(part)]}: {ANNEXES[part]}"

    def where(self, part: str) -> str:
        """Where the reader finds what an annex holds."""
        return f"“{self.title(part)}”" if part in self.parts else "the pages that follow"

    @cached_property
    def surveyed(self) -> tuple[tuple[Takeoff, MetalRetrofit, Reply], ...]:
        """Every surveyed retrofit: its take-off for print, as entered, and as answered.

        Those of one survey, with the same quantities and costs, come once and are named together.
        """
        others, scope = self.reply["alternatives"][1:], self.reply["scope"]
        found, keys = [], []
        for one in takeoffs(self.case, self.reply):
            place = int(one.id.rpartition("-")[2])
            retrofit, result = self.case.alternatives[place], others[place]
            assert isinstance(retrofit, MetalRetrofit)
            found.append((one, retrofit, result))
            costs = [row["alternatives"][place + 1]["first_cost"] for row in scope]
            keys.append((retrofit.framing, result["quantities"], costs))
        groups = [[found[place] for place in places] for places in alike(keys)]
        return tuple(
            (replace(one, name=with_same(one.name, *(each.name for each, *_ in same))), *rest)
            for (one, *rest), *same in groups
        )


def names_in_full(offer: Offer) -> Iterator[Block]:
    """Yield a table of the names that are cut elsewhere; nothing where all fit."""
    short = [one["name"] for one in offer.reply["alternatives"]]
    rows = [pair for pair in zip(short, offer.names, strict=True) if pair[0] != pair[1]]
    if rows:
        yield heading("Names in full")
        yield table([("In these pages", 1.0, "left"), ("In full", 2.4, "left")], rows)


def alike(keys: Iterable[Any]) -> list[list[int]]:
    """Return the places of equal values together, in the order of the first of each.

    Examples
    --------
    >>> alike(["metal", "coating", "metal"])
    [[0, 2], [1]]
    """
    found: list[tuple[Any, list[int]]] = []
    for place, key in enumerate(keys):
        own = next((places for other, places in found if other == key), None)
        if own is None:
            found.append((key, [place]))
        else:
            own.append(place)
    return [places for _, places in found]


def with_same(first: str, *same: str) -> str:
    """Return a name, and those of which the same holds.

    Examples
    --------
    >>> with_same("Metal"), with_same("Metal", "Metal, grey", "Metal, white")
    ('Metal', 'Metal; the same: Metal, grey; Metal, white')
    """
    return "; ".join([f"{first}; the same: {same[0]}", *same[1:]]) if same else first
