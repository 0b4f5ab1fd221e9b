"""How sure an answer is, and which inputs could turn it round, in words."""

from __future__ import annotations

import numpy as np

from lcc.cost.spoken import money
from lcc.figures import chance, shown
from lcc.results import AlternativeResult, BreakEven, Swing

# Inputs named as those that could turn the answer round.
NAMED = 2


def certainty(best: AlternativeResult) -> str:
    """Return what the random draws say of an alternative, nothing where none were made.

    Parameters
    ----------
    best : AlternativeResult
        The alternative that is spoken of.
    """
    if best.spread is None or best.spread.against_base is None:
        return ""
    chances = best.spread.against_base
    told = {0.0: "none", 1.0: "every one"}
    often = told.get(chances.costs_less) or chance(chances.costs_less)
    return (
        f"In {best.spread.draws:,} random draws of all uncertain inputs it costs less in {often}; "
        f"eight of ten draws lie between {_saved(chances.net_savings.p10)} and "
        f"{_saved(chances.net_savings.p90)}."
    )


def _saved(amount: float) -> str:
    return f"{money(amount)} saved" if amount >= 0 else f"{money(-amount)} lost"


def turning(best: AlternativeResult) -> str:
    """Return which one or two inputs could turn the answer round, or how far the nearest is.

    Parameters
    ----------
    best : AlternativeResult
        The alternative that is spoken of, with its break-evens and swings; without them nothing
        is said.
    """
    if not best.break_even:
        return ""
    reach = {swing.field: _half_width(swing) for swing in best.swings}
    parts = {
        each.field: distance / reach[each.field] if reach.get(each.field) else np.inf
        for each in best.break_even
        if (distance := _distance(each)) < np.inf
    }
    nearest = sorted(
        (each for each in best.break_even if each.field in parts),
        key=lambda each: (parts[each.field], _distance(each)),
    )
    likely = [each for each in nearest if parts[each.field] <= 1]
    if likely:
        return f"What could turn it round: {', or '.join(map(_phrase, likely[:NAMED]))}."
    if nearest:
        return (
            "No single input turns it round within its likely range; the nearest to do so is "
            f"{_phrase(nearest[0])}."
        )
    return "No single input turns it round within the range looked at."


def _half_width(swing: Swing) -> float:
    return (float(swing.high.value) - float(swing.low.value)) / 2


def _distance(found: BreakEven) -> float:
    return abs(float(found.value.value) - float(found.current.value)) if found.value else np.inf


def _phrase(found: BreakEven) -> str:
    """Return an input at its break-even as a phrase without units."""
    now, then = float(found.current.value), float(found.value.value) if found.value else 0.0
    name, _, what = found.label.rpartition(": ")
    subject = f"the {what} of “{name}”" if name else f"the {what[0].lower()}{what[1:]}"
    if found.current.kind == "years":
        return f"{subject} at {shown(then, 'years')} instead of {shown(now, 'years')} years"
    if found.current.kind == "rate":
        return f"{subject} at {shown(then, 'rate')} instead of {shown(now, 'rate')}"
    change = then / now - 1
    return f"{subject} {shown(abs(change), 'rate')} {'higher' if change > 0 else 'lower'}"
