"""What a survey worked out, told apart from what was entered in the list of assumptions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from lcc.assumption import Assumption
from lcc.case.fields import BASES, Basis

_SOURCE = "worked out from the framing survey of this alternative"
_PRICE, _QUOTED = ".price", ".framing.quotation"


def traced(used: Iterable[Assumption], asked: Iterable[Assumption]) -> tuple[Assumption, ...]:
    """Return the assumptions in use, those that a survey filled with the survey's basis.

    Parameters
    ----------
    used : iterable of Assumption
        Of the case as it is computed.
    asked : iterable of Assumption
        Of the case as it was given, before its surveys filled price, slope and cavity.

    Notes
    -----
    A figure worked out has the basis of the weakest figure of its survey; a price that is a
    quotation is entered.
    """
    given = {each.field: each.value for each in asked}
    listed = tuple(used)
    return tuple(
        replace(each, basis=_basis(each, listed), source=_SOURCE)
        if each.basis == "entered" and given.get(each.field, each.field) != each.value
        else each
        for each in listed
    )


def _basis(filled: Assumption, used: tuple[Assumption, ...]) -> Basis:
    place = filled.field
    survey = {
        each.field: each
        for each in used
        if (start := each.field.find(".framing.")) > 0 and place.startswith(each.field[:start])
    }
    if place.endswith(_PRICE) and any(name.endswith(_QUOTED) for name in survey):
        return "entered"
    found = [each.basis for each in survey.values()]
    return max(found, key=BASES.index, default="entered")
