"""Long parts of replies, which the query parameter `include` chooses."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from lcc.case.fields import Choices

INPUTS, ASSUMPTIONS, HOT_DAY, RESOLVED, NONE = (
    "inputs", "assumptions", "hot_day", "resolved", "none",
)  # fmt: skip
ECHO = (INPUTS,)
USUAL = (INPUTS, ASSUMPTIONS, HOT_DAY)
# Where parts stand in the answer of the core.
_PLACES = {ASSUMPTIONS: "assumptions", HOT_DAY: "alternatives.energy.hot_day"}
# Members of the reply's schemas that are not there if they are not asked for.
OPTIONAL = {
    "ComparisonReply": USUAL[:2],
    "EnergyYear": (HOT_DAY,),
    "AssembliesAnswerReply": ECHO,
    "QuantitiesReply": ECHO,
}


@dataclass(frozen=True)
class ComparisonQuery:
    """Which long parts a comparison's reply holds."""

    include: Annotated[tuple[str, ...], Choices(
        "Long parts in the reply", (*USUAL, RESOLVED, NONE),
        help="inputs: the request as typed; assumptions: every figure with its source; hot_day: "
        "a hot day hour by hour; resolved: the case with every default in place; none: none of "
        "these.")] = USUAL  # fmt: skip


@dataclass(frozen=True)
class EchoQuery:
    """Whether a reply holds the request."""

    include: Annotated[tuple[str, ...], Choices(
        "Long parts in the reply", (*ECHO, NONE),
        help="inputs: the request as typed; none: nothing of it.")] = ECHO  # fmt: skip


def left_out(include: Sequence[str]) -> tuple[str, ...]:
    """Return the places in a comparison, with points between, that are not to be written."""
    return tuple(place for part, place in _PLACES.items() if part not in include)


def echo(include: Sequence[str], document: Any) -> dict[str, Any]:
    """Return the member of a reply that holds the request, if it is asked for."""
    return {INPUTS: document} if INPUTS in include else {}
