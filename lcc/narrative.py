"""The answer in plain words, made from the figures: headline, verdict, certainty."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lcc.cost.measures import ROUNDING
from lcc.cost.work import ENERGY, RESIDUAL
from lcc.figures import chance, in_years, money, shown
from lcc.results import AlternativeResult, BreakEven, Swing

# Two costs that differ by less than this part are called the same.
SAME = 0.005


@dataclass(frozen=True)
class PairedComparison:
    """An alternative against the base case through the years, in present value.

    A saving is the base case's cost less the alternative's.
    """

    base: AlternativeResult
    own: AlternativeResult

    @property
    def saved(self) -> float:
        """Net savings over the study period."""
        return self.base.life_cycle_cost - self.own.life_cycle_cost

    @property
    def same(self) -> bool:
        """Whether both cost about the same."""
        return abs(self.saved) <= SAME * abs(self.base.life_cycle_cost)

    @property
    def extra(self) -> float:
        """What the alternative costs more today."""
        return self.own.first_cost - self.base.first_cost

    @property
    def energy(self) -> float:
        """The part of the saving that is energy."""
        return _part(self.base, ENERGY) - _part(self.own, ENERGY)

    @property
    def worth(self) -> float:
        """The part of the saving that is a residual value at the end."""
        return _part(self.base, (RESIDUAL,)) - _part(self.own, (RESIDUAL,))

    @property
    def by_residual(self) -> bool:
        """Whether the residual values at the end alone decide which costs less."""
        return (self.saved > 0) != (self.saved - self.worth > 0)

    @cached_property
    def behind(self) -> NDArray[np.intp]:
        """The years by whose end the alternative has cost more in all."""
        so_far = np.array(self.base.cumulative_present_value) - np.array(
            self.own.cumulative_present_value
        )
        scale = np.abs(np.diff(so_far, prepend=0.0)).sum()
        return np.flatnonzero(so_far < -ROUNDING * scale)

    @property
    def ahead_from(self) -> int | None:
        """The year by whose end it has cost less for good, 0 for always; None where it does not."""
        if not self.behind.size:
            return 0
        last = int(self.behind[-1])
        return last + 1 if last + 1 < len(self.base.cumulative_present_value) else None

    @property
    def behind_from(self) -> int:
        """The year in which the last spell of having cost more begins, where there is one."""
        gaps = np.flatnonzero(np.diff(self.behind) > 1)
        return int(self.behind[gaps[-1] + 1] if gaps.size else self.behind[0])


def _part(result: AlternativeResult, names: tuple[str, ...]) -> float:
    return sum(each.present_value for each in result.costs if each.name in names)


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


# A residual value is spoken of from this part of the saving on.
NOTABLE = 0.1
# Money that is told as nothing.
CENTS = 0.5


def headline(results: Sequence[AlternativeResult], years: int) -> str:
    """Return one sentence that says which choice costs less over the study period.

    Parameters
    ----------
    results : sequence of AlternativeResult
        The base case first.
    years : int
        Study period [years].

    Notes
    -----
    Of several alternatives the cheapest is spoken of; it is set against the base case.
    """
    pair = _pair(results)
    ahead = ""
    if not pair.same and pair.saved > 0 and pair.by_residual:
        ahead = ", but only by what it is still worth at the end"
    elif not pair.same and pair.saved > 0 and pair.ahead_from:
        ahead = f" and is ahead from year {pair.ahead_from}"
    return f"{_which(pair, years)}{ahead}."


def verdict(results: Sequence[AlternativeResult], years: int) -> str:
    """Return the answer in one paragraph, to be read aloud.

    Parameters
    ----------
    results : sequence of AlternativeResult
        The base case first, the others with their measures and break-evens.
    years : int
        Study period [years].

    Notes
    -----
    What is cheaper, when it crosses, what of it is energy and what roofing work avoided, how
    sure it is, and which one or two inputs could turn it round.
    """
    pair = _pair(results)
    said = (
        f"{_which(pair, years)}.",
        "" if pair.same else f"{_today(pair)}{_later(pair, years)}.",
        _shares(pair),
        *_others(results, pair),
        certainty(pair.own),
        "Small changes of any input decide between them." if pair.same else turning(pair.own),
    )
    return " ".join(sentence for sentence in said if sentence)


def _pair(results: Sequence[AlternativeResult]) -> PairedComparison:
    return PairedComparison(results[0], min(results[1:], key=lambda each: each.life_cycle_cost))


def _which(pair: PairedComparison, years: int) -> str:
    """Say which costs less and by how much, a sentence without its end."""
    base, own = pair.base, pair.own
    costs = f"{money(own.life_cycle_cost)} against {money(base.life_cycle_cost)}"
    over = f"over {in_years(years)}, in today's money"
    if pair.same:
        return f"“{own.name}” and “{base.name}” cost about the same {over}: {costs}"
    if pair.saved < 0:
        return (
            f"“{own.name}” does not pay: it costs {money(-pair.saved)} more than "
            f"“{base.name}” {over} ({costs})"
        )
    return f"“{own.name}” costs {money(pair.saved)} less than “{base.name}” {over} ({costs})"


def _today(pair: PairedComparison) -> str:
    if abs(pair.extra) <= CENTS:
        return "It costs the same today"
    return f"It costs {money(abs(pair.extra))} {'more' if pair.extra > 0 else 'less'} today"


def _later(pair: PairedComparison, years: int) -> str:
    """Say how the costs so far go on from today's, the rest of a sentence."""
    if pair.by_residual:
        return _residual_decides(pair)
    if pair.ahead_from is None:
        if pair.extra > 0 and not pair.behind_from:
            return f", and has not made up for it by year {years}"
        again = " again" if pair.extra > 0 else ""
        return f", but has cost more in all{again} from year {pair.behind_from} on"
    if pair.ahead_from == 0:
        return ", and at no time more in all"
    if pair.extra > 0:
        return f", and has made up for it for good by the end of year {pair.ahead_from}"
    return f", more in all for a time, and less for good from the end of year {pair.ahead_from}"


def _residual_decides(pair: PairedComparison) -> str:
    without = money(abs(pair.saved - pair.worth))
    if pair.saved > 0:
        return (
            ", and comes out cheaper only by what it is still worth at the end: without that it "
            f"would cost {without} more"
        )
    return (
        f", and comes out dearer only by what “{pair.base.name}” is still worth at the end: "
        f"without that it would cost {without} less"
    )


def _shares(pair: PairedComparison) -> str:
    energy, work = pair.energy, pair.saved - pair.energy
    if pair.by_residual and not pair.same:
        work = 0.0  # told already
    if energy > CENTS and work > CENTS:
        return _both(pair, energy, work)
    if energy > CENTS:
        spent = f", but its work costs {money(-work)} more" if work < -CENTS else ""
        return f"It saves {money(energy)} of energy{spent}."
    bills = f"Energy costs {money(-energy)} more with it"
    more = bills if energy < -CENTS else "Energy costs the same"
    if abs(work) <= CENTS:
        return f"{more}."
    return (
        f"{more}; re-roofing and repairs cost {money(abs(work))} {'less' if work > 0 else 'more'}."
    )


def _both(pair: PairedComparison, energy: float, work: float) -> str:
    if pair.same:
        return f"It saves {money(energy)} of energy and {money(work)} of re-roofing and repairs."
    part = 100 * energy / pair.saved
    ends = "after the cost of its own work"
    if pair.worth > NOTABLE * pair.saved:
        ends += f" and with {money(pair.worth)} that it is worth more at the end"
    return (
        f"Of the saving, {part:.0f}% is energy and {100 - part:.0f}% is re-roofing and repairs "
        f"avoided, {ends}."
    )


def _others(results: Sequence[AlternativeResult], pair: PairedComparison) -> Iterator[str]:
    others = sorted(
        (each for each in results[1:] if each is not pair.own),
        key=lambda each: each.life_cycle_cost,
    )
    if others:
        told = "; ".join(_other(PairedComparison(pair.base, each)) for each in others)
        yield f"For comparison: {told}."


def _other(pair: PairedComparison) -> str:
    lost = ", which does not pay" if pair.saved < 0 and not pair.same else ""
    return f"“{pair.own.name}” {money(pair.own.life_cycle_cost)}{lost}"
