"""What would turn the answer round: single inputs, and the pair that does so together."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import combinations
from math import floor

import numpy as np

from lcc.arrays import Array
from lcc.case import Economics
from lcc.case.document_values import capital, spoken
from lcc.cost.cash_flow import costs_today
from lcc.cost.ledger import Ledger, over
from lcc.cost.levers import Lever
from lcc.cost.remarks import Remark, turned_by
from lcc.cost.scenario import Scenario, factors_today
from lcc.cost.sensitivity import combined_savings
from lcc.figures import more_or_less, said, shown
from lcc.results import (
    AlternativeResult,
    BreakEven,
    OtherPeriod,
    Swing,
    Turning,
    TurningChoice,
    TurningInput,
    TurningPair,
    cheapest,
)
from lcc.results.takeoff_result import Amount

NONE = "No figure alone changes the answer within its likely range"
ASKED = ", if the building official asks for no more work than is counted."
NAMED = 3
# A pair is named only if each input moves at most this part of the change it would need alone.
MOST = 0.75
# Inputs of the widest swings that are tried in pairs, and steps on the way to their ends.
TRIED, STEPS = 8, 21
# Study periods so much shorter and longer are looked at [years].
FEW_YEARS = (-5, -1, 1, 5)
# A change smaller than this part of a figure is not written out: nobody knows a figure so well.
HAIR = 0.01
# Nor is a rate that moves by less than this [1/year].
HAIR_OF_RATE = 0.001
# A figure that must change by more than this part is not named as the nearest.
FAR_MOVED = 0.25
RISE = " price rise above inflation"
# A change of a life from here on is said in whole years [years].
WHOLE_FROM_Y = 2.0


def turning(
    best: AlternativeResult,
    base: Ledger,
    own: Ledger,
    economics: Economics,
    inputs: Sequence[Lever],
    periods: tuple[OtherPeriod, ...],
) -> Turning:
    """Return what would turn the answer round.

    Parameters
    ----------
    best : AlternativeResult
        The alternative that the headline speaks of, with its break-evens and swings.
    base, own : Ledger
        Costs of the base case and of that alternative.
    economics : Economics
        Rates and study period.
    inputs : sequence of Lever
        What is varied, with its range.
    periods : sequence of OtherPeriod
        Net savings over other study periods.

    Notes
    -----
    An input turns the answer where both cost the same at a value within its range. A pair turns
    it where both inputs, each moved by the same part of its way to the end of its range that
    works against the answer, do; the pair that needs the smallest part is reported. The study
    period is a choice, not an estimate, so the results of a few years more or fewer stand in a
    list of their own.
    """
    alone = _alone(best)
    pair = _worth_saying(_pair(best, base, own, economics, inputs), alone)
    saved = best.measures.net_savings.value if best.measures else None
    told = _of_periods(periods, base.years, best.name, saved or 0.0)
    sentence = f"{_of_figures(alone, pair, _nearest(best), best.swings)}{told}"
    return Turning(best.name, tuple(alone[:NAMED]), pair, (), periods, sentence)


def with_choices(
    found: Turning, results: Sequence[AlternativeResult], remarks: Iterable[Remark]
) -> Turning:
    """Return what turns the answer, with what else does so than figures: all that remarks name.

    Parameters
    ----------
    found : Turning
        The figures that turn it.
    results : sequence of AlternativeResult
        The base case first.
    remarks : iterable of Remark
        What stands beside the headline.
    """
    remarks = tuple(remarks)
    likely = "".join(f" Likelier at usual prices: {', if '.join(one.likelier)}."
                     for one in remarks if one.likelier)  # fmt: skip
    found = replace(found, sentence=f"{found.sentence}{likely}")
    choices = [each for one in remarks for each in one.turns]
    choices += _by_tax(results[0], results[cheapest(results)])
    if not choices:
        return found
    told, of_best = found.sentence, _listed(choices, found.alternative)
    if told.startswith(NONE):
        but = f", but other things do: {of_best}" * bool(of_best)
        told = told.replace(f"{NONE}{ASKED}", f"{NONE}{but}.")
    elif of_best:
        told += f" Besides these figures: {of_best}."
    named = dict.fromkeys(one.alternative for one in choices)
    others = [name for name in named if name != found.alternative]
    for name in others[:NAMED]:
        told += f" For “{name}” the answer changes {_listed(choices, name)}."
    if len(others) > NAMED:
        told += f" So it does for {len(others) - NAMED} more."
    return replace(found, choices=tuple(choices), sentence=told)


def _listed(choices: Iterable[TurningChoice], name: str) -> str:
    """Return the things that turn the answer of one alternative."""
    return "; ".join(each.sentence for each in choices if each.alternative == name)


def _by_tax(base: AlternativeResult, own: AlternativeResult) -> tuple[TurningChoice, ...]:
    if base.after_tax is None or own.after_tax is None:
        return ()
    costs = base.after_tax.life_cycle_cost, own.after_tax.life_cycle_cost
    return turned_by(base, own, [("after income tax", *costs)])


def study_periods(
    base: Sequence[Ledger], own: Sequence[Ledger], economics: Economics
) -> tuple[OtherPeriod, ...]:
    """Return the net savings over each study period a few years shorter or longer.

    Parameters
    ----------
    base, own : sequence of Ledger
        Costs of each way of doing the base case and the alternative; the cheapest counts, as in
        a comparison over those years.
    economics : Economics
        Rates.
    """
    terms = Scenario.of(economics)
    years = [n for more in FEW_YEARS if (n := base[0].years + more) >= 1]

    def saved(n: int) -> float:
        factors = factors_today(terms, n)
        cheapest = (
            min(float(costs_today(over(way, n), terms, factors).sum()) for way in ways)
            for ways in (base, own)
        )
        return next(cheapest) - next(cheapest)

    return tuple(OtherPeriod(n, saved(n)) for n in years)


def _of_periods(periods: Sequence[OtherPeriod], years: int, name: str, now: float) -> str:
    """Return what the nearest shorter and longer study period that turn the answer come to."""
    turned = [each for each in periods if each.net_savings * now < 0]
    shorter = [each for each in turned if each.study_period_y < years][-1:]
    longer = [each for each in turned if each.study_period_y > years][:1]
    told = [
        f"about {more_or_less(each.net_savings)} over {each.study_period_y}"
        for each in (*shorter, *longer)
    ]
    return f" Over other years than {years}, “{name}” costs {' and '.join(told)}." if told else ""


def _alone(best: AlternativeResult) -> list[TurningInput]:
    """Return the inputs that turn the answer alone, those that need the least change first."""
    ranges = {swing.field: swing for swing in best.swings}
    within = [
        (each, ranges[each.field])
        for each in best.break_even
        if each.value is not None
        and each.field in ranges
        and _part_of_way(each, ranges[each.field]) <= 1
    ]
    within.sort(key=lambda pair: _part_of_way(*pair))
    return [
        _turned(swing, each.current, each.value or each.current, " would change the answer")
        for each, swing in within
    ]


def _part_of_way(found: BreakEven, swing: Swing) -> float:
    """Return how far along its range, from the value in the case, an input turns the answer."""
    now, then = _number(found.current), _number(found.value)
    end = _number(swing.high if then > now else swing.low)
    if then == now:
        return 0.0
    return abs(then - now) / abs(end - now) if end != now else np.inf


def _part_moved(found: BreakEven) -> float:
    """Return by which part of itself an input moves to where the answer turns; 0 of nothing."""
    now, then = _number(found.current), _number(found.value)
    return abs(then - now) / abs(now) if now else 0.0


def _number(amount: Amount | None) -> float:
    return float(amount.value) if amount is not None and amount.value is not None else np.nan


def _turned(swing: Swing, now: Amount, then: Amount, ending: str = "") -> TurningInput:
    told = f"{_phrase(swing.label, now, then, swing.width)}{ending}"
    return TurningInput(
        swing.field, swing.label, now, then, swing.low, swing.high, f"{capital(told)}."
    )


def _nearest(best: AlternativeResult) -> BreakEven | None:
    """Return the input that would turn the answer with the least change, in its range or not."""
    ranges = {swing.field: swing for swing in best.swings}
    known = [each for each in best.break_even if each.value is not None and each.field in ranges]
    return min(known, key=lambda each: _part_of_way(each, ranges[each.field]), default=None)


def _pair(
    best: AlternativeResult,
    base: Ledger,
    own: Ledger,
    economics: Economics,
    inputs: Sequence[Lever],
) -> TurningPair | None:
    widest = [swing.field for swing in best.swings[:TRIED]]
    ends = {swing.field: _adverse(best, swing) for swing in best.swings[:TRIED]}
    levers = {lever.field: lever for lever in inputs if lever.field in widest}
    pairs = [
        (levers[one], levers[other])
        for one, other in combinations(widest, 2)
        if not _same_term(levers[one], levers[other])
    ]
    if not pairs:
        return None
    ways = np.linspace(0.0, 1.0, STEPS)
    trials = [tuple((each, _on_way(each, ends, ways)) for each in pair) for pair in pairs]
    found = combined_savings(base, own, economics, trials)
    parts = [_turning_part(ways, savings) for savings in found]
    nearest = int(np.argmin(parts))
    if not np.isfinite(parts[nearest]):
        return None
    swings = {swing.field: swing for swing in best.swings}
    return _told(pairs[nearest], swings, ends, parts[nearest])


def _worth_saying(pair: TurningPair | None, alone: Sequence[TurningInput]) -> TurningPair | None:
    """Return a pair unless one of its inputs, moved hardly further, turns the answer alone."""
    moved = {one.field: _change(one) for one in (pair.first, pair.second)} if pair else {}
    near = any(moved.get(one.field, 0.0) > MOST * _change(one) for one in alone)
    return None if near else pair


def _change(found: TurningInput) -> float:
    return abs(_number(found.value) - _number(found.current))


def _adverse(best: AlternativeResult, swing: Swing) -> float:
    """Return the end of an input's range that works against the answer."""
    saved = best.measures.net_savings.value if best.measures else None
    low_is_worse = swing.net_savings_low < swing.net_savings_high
    against_low = low_is_worse == ((saved or 0.0) > 0)
    return _number(swing.low if against_low else swing.high)


def _same_term(one: Lever, other: Lever) -> bool:
    """Whether two inputs are one figure, or move one term of the same side: they do not part."""
    sides = {one.side, other.side}
    bid = one.current == other.current and one.kind == "price_per_area"
    return one.term == other.term and (len(sides) == 1 or "both" in sides or bid)


def _on_way(lever: Lever, ends: dict[str, float], ways: Array) -> Array:
    return lever.current + ways * (ends[lever.field] - lever.current)


def _turning_part(ways: Array, savings: Array) -> float:
    """Return the part of the way at which savings first change sign, infinite where never."""
    turned = np.flatnonzero(np.sign(savings) * np.sign(savings[0]) <= 0)
    return float(ways[turned[0]]) if turned.size else np.inf


def _told(
    pair: tuple[Lever, Lever], swings: dict[str, Swing], ends: dict[str, float], part: float
) -> TurningPair:
    moved = [
        (swings[each.field], Amount(each.current, each.kind),
         Amount(each.current + part * (ends[each.field] - each.current), each.kind))
        for each in pair
    ]  # fmt: skip
    phrases = [_phrase(swing.label, now, then, swing.width) for swing, now, then in moved]
    one, other = (_turned(*each) for each in moved)
    told = f"{', together with '.join(phrases)}, would change it"
    return TurningPair(one, other, f"{capital(told)}.")


def _phrase(label: str, now: Amount, then: Amount, worst: float = 0.0) -> str:
    """Return an input at another value as a phrase without units.

    `worst` is what the worst answer to an open question makes of the savings [money].

    Examples
    --------
    >>> _phrase("Roof A: service life", Amount(20.0, "years"), Amount(24.5, "years"))
    'the service life of “Roof A” at 25 years instead of 20'
    >>> _phrase("Roof A: service life", Amount(20.0, "years"), Amount(20.01, "years"))
    'almost any change of the service life of “Roof A”'
    """
    was, becomes = _number(now), _number(then)
    name, _, what = label.rpartition(": ")
    subject = f"the {what} of “{name}”" if name else f"the {spoken(what)}"
    hair = HAIR_OF_RATE if now.kind == "rate" else HAIR * abs(was)
    close = abs(becomes - was) < hair or shown(was, now.kind) == shown(becomes, now.kind)
    if now.kind != "fraction" and close:
        return f"almost any change of {subject}"
    if now.kind == "years":
        years = becomes if abs(becomes - was) < WHOLE_FROM_Y else floor(becomes + 0.5)
        return f"{subject} at {shown(years, 'years')} years instead of {shown(was, 'years')}"
    if now.kind == "rate" and label.endswith(RISE):
        kind = label.removesuffix(RISE).lower()
        return f"prices for {kind} that rise by {_above(becomes)}, not by {_above(was)}"
    if now.kind == "rate":
        return f"{subject} at {shown(becomes, 'rate')} instead of {shown(was, 'rate')}"
    if now.kind == "fraction":
        return (
            f"{spoken(label)}, if it costs {said(becomes * worst)} or more (the random runs allow "
            f"up to {said(worst)})"
        )
    change = becomes / was - 1
    part = shown(float(f"{abs(change):.2g}"), "rate")
    return f"{subject} about {part} {'higher' if change > 0 else 'lower'}"


def _above(rate: float) -> str:
    """Return how prices rise beside all others.

    Examples
    --------
    >>> _above(0.008), _above(0.0), _above(-0.01)
    ('inflation and 0.8% a year', 'inflation alone', 'inflation less 1% a year')
    """
    if not rate:
        return "inflation alone"
    return f"inflation {'and' if rate > 0 else 'less'} {shown(abs(rate), 'rate')} a year"


def _of_figures(
    alone: Sequence[TurningInput],
    pair: TurningPair | None,
    nearest: BreakEven | None,
    swings: Sequence[Swing],
) -> str:
    worst = {swing.field: swing.width for swing in swings}
    together = f" {pair.sentence}" if pair else ""
    if alone:
        listed = ", or ".join(_phrase(each.label, each.current, each.value, worst[each.field])
                              for each in alone[:2])  # fmt: skip
        return f"What could change the answer: {listed}.{together}"
    if nearest is not None and nearest.value is not None and _part_moved(nearest) <= FAR_MOVED:
        told = _phrase(nearest.label, nearest.current, nearest.value, worst[nearest.field])
        return f"{NONE}{ASKED} The nearest figure is {told}.{together}"
    return f"{NONE}{ASKED}{together}"
