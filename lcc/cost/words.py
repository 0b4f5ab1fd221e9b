"""The answer in plain words, made from the figures: a headline and a paragraph to read aloud."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from lcc.cost.steps import ENERGY
from lcc.cost.uncertainty import payback_years
from lcc.results import AlternativeResult, BreakEven, Swing

# Two costs that differ by less than this part are called the same.
SAME = 0.005
# Inputs named as those that could turn the answer round.
NAMED = 2


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
    base, best = results[0], _best(results)
    costs_less = not _is_same(base, best) and best.life_cycle_cost < base.life_cycle_cost
    from_when = _ahead_from(base, best) if costs_less else None
    ahead = f" and is ahead from year {from_when:.0f}" if from_when else ""
    if from_when == years:
        ahead = ", ahead only by what it is still worth at the end"
    return f"{_which(base, best, years)}{ahead}."


def _which(base: AlternativeResult, best: AlternativeResult, years: int) -> str:
    """Say which costs less and by how much, a sentence without its end."""
    saved = base.life_cycle_cost - best.life_cycle_cost
    costs = f"{money(best.life_cycle_cost)} against {money(base.life_cycle_cost)}"
    over = f"over {_years(years)}, in today's money"
    if _is_same(base, best):
        return f"“{best.name}” and “{base.name}” cost about the same {over}: {costs}"
    if saved < 0:
        return (
            f"“{best.name}” does not pay: it costs {money(-saved)} more than "
            f"“{base.name}” {over} ({costs})"
        )
    return f"“{best.name}” costs {money(saved)} less than “{base.name}” {over} ({costs})"


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
    base, best = results[0], _best(results)
    same = _is_same(base, best)
    said = (
        f"{_which(base, best, years)}.",
        "" if same else _beginning(base, best, years),
        _shares(base, best),
        *_others(results, best),
        _certainty(best),
        "Small changes of any input decide between them." if same else _turning(best),
    )
    return " ".join(sentence for sentence in said if sentence)


def money(amount: float) -> str:
    """Return an amount in whole units of money, grouped by thousands.

    Examples
    --------
    >>> money(1234567.8), money(-0.2)
    ('$1,234,568', '$0')
    """
    whole = round(amount)
    return f"-${-whole:,}" if whole < 0 else f"${whole:,}"


def percent(part: float) -> str:
    """Return a part as a percentage with a digit after the point below ten.

    Examples
    --------
    >>> percent(0.0975), percent(0.61), percent(0.9999)
    ('9.8 %', '61 %', '99.9 %')
    """
    held = min(100 * part, 99.9) if part < 1 else 100 * part
    return f"{held:.1f} %" if held < 10 or held > 99 else f"{held:.0f} %"


def _years(years: float) -> str:
    return f"{years:.0f} year{'' if round(years) == 1 else 's'}"


def _best(results: Sequence[AlternativeResult]) -> AlternativeResult:
    return min(results[1:], key=lambda each: each.life_cycle_cost)


def _is_same(base: AlternativeResult, best: AlternativeResult) -> bool:
    saved = abs(base.life_cycle_cost - best.life_cycle_cost)
    return saved <= SAME * abs(base.life_cycle_cost)


def _ahead_from(base: AlternativeResult, best: AlternativeResult) -> float | None:
    """Return the year from which the alternative has cost less for good; 0 for always."""
    so_far = np.array(base.cumulative_present_value) - np.array(best.cumulative_present_value)
    year = float(payback_years(np.diff(so_far, prepend=0.0)[np.newaxis])[0])
    return year if np.isfinite(year) else None


def _beginning(base: AlternativeResult, best: AlternativeResult, years: int) -> str:
    extra = best.first_cost - base.first_cost
    begins = f"It costs {money(extra)} more today" if extra > 0.5 else "It costs no more today"
    from_when = _ahead_from(base, best)
    if from_when == 0:
        return f"{begins}, and has cost less ever since."
    if from_when == years:
        return f"{begins}, and makes up for it only by what it is still worth at the end."
    if from_when is None:
        return f"{begins}, and has not made up for its cost by year {years}."
    return f"{begins}, and has made up for it for good by the end of year {from_when:.0f}."


def _shares(base: AlternativeResult, best: AlternativeResult) -> str:
    energy = _energy(base) - _energy(best)
    work = base.life_cycle_cost - best.life_cycle_cost - energy
    saved = energy + work
    if energy > 0 and work > 0:
        return (
            f"Of the saving, {100 * energy / saved:.0f} % is energy and "
            f"{100 * work / saved:.0f} % is re-roofing and repairs avoided, after the cost of its "
            "own work."
        )
    if energy > 0:
        return f"It saves {money(energy)} of energy, but its work costs {money(-work)} more."
    more = f"Energy costs {money(-energy)} more with it" if energy < 0 else "Energy costs the same"
    if work > 0:
        return f"{more}; re-roofing and repairs cost {money(work)} less."
    return f"{more}, and so does its work by {money(-work)}." if work < 0 else f"{more}."


def _energy(result: AlternativeResult) -> float:
    return sum(each.present_value for each in result.costs if each.name in ENERGY)


def _others(results: Sequence[AlternativeResult], best: AlternativeResult) -> Iterator[str]:
    others = sorted(
        (each for each in results[1:] if each is not best), key=lambda each: each.life_cycle_cost
    )
    if others:
        listed = ", ".join(f"“{each.name}” {money(each.life_cycle_cost)}" for each in others)
        yield f"For comparison: {listed}."


def _certainty(best: AlternativeResult) -> str:
    if best.spread is None or best.spread.against_base is None:
        return ""
    chances = best.spread.against_base
    return (
        f"In {best.spread.draws:,} random draws of all uncertain inputs it costs less in "
        f"{percent(chances.costs_less)}; eight of ten draws lie between "
        f"{_saved(chances.net_savings.p10)} and {_saved(chances.net_savings.p90)}."
    )


def _saved(amount: float) -> str:
    return f"{money(amount)} saved" if amount >= 0 else f"{money(-amount)} lost"


def _turning(best: AlternativeResult) -> str:
    reach = {swing.field: _half_width(swing) for swing in best.swings}
    found = [each for each in best.break_even if each.value and reach.get(each.field)]
    nearest = sorted(found, key=lambda each: _distance(each) / reach[each.field])
    likely = [each for each in nearest if _distance(each) <= reach[each.field]]
    if likely:
        named = ", or ".join(map(_phrase, likely[:NAMED]))
        return f"What could turn it round: {named}."
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
        digits = 0 if abs(then - now) > 1.5 else 1
        return f"{subject} at {then:.{digits}f} instead of {now:.{digits}f} years"
    if found.current.kind == "rate":
        digits = 1 if abs(then - now) > 0.002 else 2
        return f"{subject} at {100 * then:.{digits}f} % instead of {100 * now:.{digits}f} %"
    change = then / now - 1
    return f"{subject} {percent(abs(change))} {'higher' if change > 0 else 'lower'}"
