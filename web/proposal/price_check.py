"""What the letter says where the price entered and the take-off of the same plan do not agree."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lcc.case import Case, MetalRetrofit
from lcc.comparison import compare
from lcc.errors import CaseError
from web import format as fmt
from web.charts import Reply
from web.proposal.offer import Offer

FEW = 0.03  # of the build-up: a larger difference is reported


@dataclass(frozen=True)
class PriceCheck:
    """A sentence for beside the verdict, and a mark for beside the price."""

    sentence: str
    mark: str


def checked(offer: Offer, reply: Reply) -> PriceCheck | None:
    """Return what the take-off says of the price entered; None where both nearly agree.

    Parameters
    ----------
    offer : Offer
        What is proposed.
    reply : mapping
        Its reply, with names that fit the letter.

    Notes
    -----
    The answer at the take-off's price is a comparison of its own, without the price entered and
    without random draws. No year of heat is computed again for it.
    """
    taken = reply["alternatives"][offer.place]["quantities"]
    cost: Reply = taken["first_cost"] if taken else {"difference": None}
    if not cost["difference"] or abs(cost["difference"]) <= FEW * cost["build_up"]:
        return None
    built, gap = fmt.shown(cost["build_up"], "money"), abs(cost["difference"])
    side = "below" if cost["difference"] < 0 else "above"
    part = f", {gap / cost['build_up']:.0%} of it" if cost["build_up"] else ""
    found = f"The price entered is {fmt.said(gap)} {side} the take-off of this plan{part}."
    return PriceCheck(f"{found} {_answer(offer, reply)}".strip(), f"Take-off: {built}")


def _answer(offer: Offer, reply: Reply) -> str:
    """What the answer is at the take-off's price; empty where that price is beyond a roof's."""
    own, base = reply["alternatives"][offer.place], reply["alternatives"][0]
    try:
        other = compare(at_take_off(offer.case, offer.place), explore=False).alternatives
    except CaseError:
        return ""
    more = other[offer.place].life_cycle_cost - other[0].life_cycle_cost
    entered = own["life_cycle_cost"] - base["life_cycle_cost"]
    turned = "The answer turns over: at" if more * entered < 0 else "At"
    return (
        f"{turned} the take-off’s price “{own['name']}” costs {_beside(more)} than "
        f"“{base['name']}” over the study period, not {_beside(entered)}."
    )


def _beside(more: float) -> str:
    return f"about {fmt.said(abs(more))} {'more' if more > 0 else 'less'}"


def at_take_off(case: Case, place: int) -> Case:
    """Return a case with one alternative at the price of its survey's lines, without draws."""
    own = case.alternatives[place - 1]
    assert isinstance(own, MetalRetrofit)
    assert own.framing is not None
    dropped = ("price_per_m2", "price_includes", "quotations", "quotation_taken")
    known = {name: one for name, one in (own.origins or {}).items() if name not in dropped}
    lines = replace(own.framing, quotation=None, quotation_from="")
    priced = replace(own, price_per_m2=None, price_includes=("laying",), quotations=(),
                     quotation_taken="", framing=lines, origins=known)  # fmt: skip
    choices = (*case.alternatives[: place - 1], priced, *case.alternatives[place:])
    return replace(case, alternatives=choices, uncertainty=replace(case.uncertainty, draws=0))
