"""The answer in plain words, made from the figures: a headline and a paragraph to read aloud."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lcc.cost.certainty import certainty, turning
from lcc.cost.race import Race
from lcc.cost.spoken import in_years, money
from lcc.results import AlternativeResult

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
    race = _race(results)
    ahead = ""
    if not race.same and race.saved > 0 and race.by_residual:
        ahead = ", but only by what it is still worth at the end"
    elif not race.same and race.saved > 0 and race.ahead_from:
        ahead = f" and is ahead from year {race.ahead_from}"
    return f"{_which(race, years)}{ahead}."


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
    race = _race(results)
    said = (
        f"{_which(race, years)}.",
        "" if race.same else f"{_today(race)}{_later(race, years)}.",
        _shares(race),
        *_others(results, race),
        certainty(race.own),
        "Small changes of any input decide between them." if race.same else turning(race.own),
    )
    return " ".join(sentence for sentence in said if sentence)


def _race(results: Sequence[AlternativeResult]) -> Race:
    return Race(results[0], min(results[1:], key=lambda each: each.life_cycle_cost))


def _which(race: Race, years: int) -> str:
    """Say which costs less and by how much, a sentence without its end."""
    base, own = race.base, race.own
    costs = f"{money(own.life_cycle_cost)} against {money(base.life_cycle_cost)}"
    over = f"over {in_years(years)}, in today's money"
    if race.same:
        return f"“{own.name}” and “{base.name}” cost about the same {over}: {costs}"
    if race.saved < 0:
        return (
            f"“{own.name}” does not pay: it costs {money(-race.saved)} more than "
            f"“{base.name}” {over} ({costs})"
        )
    return f"“{own.name}” costs {money(race.saved)} less than “{base.name}” {over} ({costs})"


def _today(race: Race) -> str:
    if abs(race.extra) <= CENTS:
        return "It costs the same today"
    return f"It costs {money(abs(race.extra))} {'more' if race.extra > 0 else 'less'} today"


def _later(race: Race, years: int) -> str:
    """Say how the costs so far go on from today's, the rest of a sentence."""
    if race.by_residual:
        return _residual_decides(race)
    if race.ahead_from is None:
        if race.extra > 0 and not race.behind_from:
            return f", and has not made up for it by year {years}"
        again = " again" if race.extra > 0 else ""
        return f", but has cost more in all{again} from year {race.behind_from} on"
    if race.ahead_from == 0:
        return ", and at no time more in all"
    if race.extra > 0:
        return f", and has made up for it for good by the end of year {race.ahead_from}"
    return f", more in all for a time, and less for good from the end of year {race.ahead_from}"


def _residual_decides(race: Race) -> str:
    without = money(abs(race.saved - race.worth))
    if race.saved > 0:
        return (
            ", and comes out cheaper only by what it is still worth at the end: without that it "
            f"would cost {without} more"
        )
    return (
        f", and comes out dearer only by what “{race.base.name}” is still worth at the end: "
        f"without that it would cost {without} less"
    )


def _shares(race: Race) -> str:
    energy, work = race.energy, race.saved - race.energy
    if race.by_residual and not race.same:
        work = 0.0  # told already
    if energy > CENTS and work > CENTS:
        return _both(race, energy, work)
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


def _both(race: Race, energy: float, work: float) -> str:
    if race.same:
        return f"It saves {money(energy)} of energy and {money(work)} of re-roofing and repairs."
    part = 100 * energy / race.saved
    ends = "after the cost of its own work"
    if race.worth > NOTABLE * race.saved:
        ends += f" and with {money(race.worth)} that it is worth more at the end"
    return (
        f"Of the saving, {part:.0f}% is energy and {100 - part:.0f}% is re-roofing and repairs "
        f"avoided, {ends}."
    )


def _others(results: Sequence[AlternativeResult], race: Race) -> Iterator[str]:
    others = sorted(
        (each for each in results[1:] if each is not race.own),
        key=lambda each: each.life_cycle_cost,
    )
    if others:
        yield f"For comparison: {'; '.join(_other(Race(race.base, each)) for each in others)}."


def _other(race: Race) -> str:
    lost = ", which does not pay" if race.saved < 0 and not race.same else ""
    return f"“{race.own.name}” {money(race.own.life_cycle_cost)}{lost}"
