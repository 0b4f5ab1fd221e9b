"""Which inputs decide: break-even values and low/high swings, one input at a time."""

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from lcc.arrays import Array
from lcc.case import Economics
from lcc.cost.cash_flow import life_cycle_costs
from lcc.cost.ledger import Ledger
from lcc.cost.levers import Lever
from lcc.cost.payback_rule import ROUNDING
from lcc.cost.scenario import FACTORS, UNKNOWNS, Scenario
from lcc.figures import CENTS
from lcc.results import BreakEven, Swing
from lcc.results.takeoff_result import Amount

Trial = tuple[Lever, Array]


def combined_savings(
    base: Ledger, own: Ledger, economics: Economics, trials: Sequence[Sequence[Trial]]
) -> list[Array]:
    """Return the net savings as several inputs of each trial take their values together.

    Parameters
    ----------
    base, own : Ledger
        Costs of the base case and of the alternative.
    economics : Economics
        Scenario of the case.
    trials : sequence of sequence of (Lever, ndarray)
        In each trial inputs and their values, all of one length; no two move the same term.
    """
    costs = [
        life_cycle_costs(ledger, _terms(economics, trials, side))
        for ledger, side in ((base, "base"), (own, "own"))
    ]
    bounds = np.cumsum([len(trial[0][1]) for trial in trials])[:-1]
    return np.split(costs[0] - costs[1], bounds)


def _terms(economics: Economics, trials: Sequence[Sequence[Trial]], side: str) -> Scenario:
    """Return one draw for each value of each trial, in which only that trial's terms differ."""
    point = Scenario.of(economics)
    size = sum(len(trial[0][1]) for trial in trials)
    terms: dict[str, Array] = {
        f.name: np.repeat(getattr(point, f.name), size, axis=0) for f in fields(point)
    }
    start = 0
    for trial in trials:
        end = start + len(trial[0][1])
        for lever, values in trial:
            if lever.side in (side, "both"):
                for name, moved in lever.terms(values):
                    terms[name][start:end] = moved
        start = end
    return Scenario(**terms)


Places = NDArray[np.intp]
# Net savings follow these terms in a straight line, so two values tell all.
STRAIGHT = (*(set(FACTORS) - {"life_gain"}), *UNKNOWNS.values())
# Rates are looked at so many times over their range, and closer about each crossing.
LOOKS, CLOSER = 17, 41
# Two prices that agree to so many decimals of money/m² count as one.
PRICE_DECIMALS = 9


def explored(
    base: Ledger,
    own: Ledger,
    economics: Economics,
    inputs: Sequence[Lever],
    ways: tuple[Sequence[Ledger], Sequence[Ledger]],
) -> tuple[tuple[BreakEven, ...], tuple[Swing, ...]]:
    """Return the break-even and the swing of each input of a comparison.

    Parameters
    ----------
    base, own : Ledger
        Costs of the base case and of the alternative.
    economics : Economics
        Terms of the case.
    inputs : sequence of Lever
        What is varied, one at a time.
    ways : tuple of sequence of Ledger
        Costs of every way of doing either: at another price another may be the cheapest.

    Returns
    -------
    tuple of tuple
        Break-evens in the order of the inputs, and swings with the widest first.

    Notes
    -----
    Only money is computed: the energy of each state of the roof is in the ledgers. All inputs are
    looked at over their ranges in one calculation and closed in on in a second. Lives act in
    whole years, so their break-even is a straight line between the two whole years of life
    between which the cheaper choice changes. That of a price is the price as entered, with all
    that it holds, at which both cost the same, each done in the way that is cheapest there.
    """
    looked = [(lever, grid(lever)) for lever in inputs]
    swung = [(lever, np.array([lever.low, lever.high])) for lever in inputs]
    alone = [(trial,) for trial in (*looked, *swung)]
    found = combined_savings(base, own, economics, alone)
    seen, swings = found[: len(looked)], found[len(looked) :]
    roots = _roots(base, own, economics, looked, seen)
    roots |= {each.field: _prices(each, ways, economics) for each in inputs if each.quoted}
    break_evens = map(_break_even, inputs, seen, (roots[lever.field] for lever in inputs))
    widest_first = sorted(map(_swing, inputs, swings), key=lambda own: own.width, reverse=True)
    return tuple(break_evens), tuple(widest_first)


def grid(lever: Lever) -> Array:
    """Return the values at which an input is looked at over its range."""
    if lever.whole_years:
        return np.arange(np.ceil(lever.least), np.floor(lever.most) + 1)
    if bid := lever.quoted:
        kinks = [each for each in bid.kinks if lever.least < each < lever.most]
        bent = np.linspace(lever.least, kinks[-1], CLOSER)[1:] if bid.holds and kinks else ()
        return np.unique([lever.least, *kinks, *bent, lever.most])
    return np.linspace(lever.least, lever.most, 2 if lever.term in STRAIGHT else LOOKS)


def _prices(
    lever: Lever, ways: tuple[Sequence[Ledger], Sequence[Ledger]], economics: Economics
) -> list[float]:
    """Return each price as entered at which both cost the same, done in their cheapest ways."""
    moved, others = ways if lever.side == "base" else ways[::-1]
    point = Scenario.of(economics)
    cost = min(float(life_cycle_costs(way, point)[0]) for way in others)
    lines: list[tuple[Array, Array]] = []  # values, and savings that are straight between them
    for way in moved:
        if own := lever.of(way):
            values = grid(own)
            terms = _terms(economics, [[(own, values)]], own.side)
            lines.append((values, cost - life_cycle_costs(way, terms)))
    found = np.array([root for each in lines for root in interpolated(*each)])
    most = np.max([np.interp(found, *each) for each in lines], axis=0) if found.size else found
    return sorted({round(root, PRICE_DECIMALS) for root in found[most <= CENTS].tolist()})


def _roots(
    base: Ledger, own: Ledger, economics: Economics, looked: Sequence[Trial], seen: Sequence[Array]
) -> dict[str, list[float]]:
    """Return where net savings are nothing: of rates after a closer look about each crossing."""
    roots: dict[str, list[float]] = {lever.field: [] for lever, _ in looked}
    closer: list[Trial] = []
    for (lever, values), savings in zip(looked, seen, strict=True):
        if lever.whole_years or lever.term in STRAIGHT:
            roots[lever.field] = interpolated(values, savings)
        else:
            ends = [values[k : k + 2] for k in crossings(savings)]
            closer += [(lever, np.linspace(low, high, CLOSER)) for low, high in ends]
    alone = [(trial,) for trial in closer]
    again = combined_savings(base, own, economics, alone) if closer else []
    for (lever, values), savings in zip(closer, again, strict=True):
        roots[lever.field] += interpolated(values, savings)
    return roots


def interpolated(values: Array, savings: Array) -> list[float]:
    """Return where savings are nothing on the straight lines between values, each place once.

    Examples
    --------
    >>> interpolated(np.array([10.0, 11.0, 12.0]), np.array([30.0, 10.0, -10.0]))
    [11.5]
    """
    at = crossings(savings)
    part = savings[at] / (savings[at] - savings[at + 1])
    found = values[at] + part * (values[at + 1] - values[at])
    return sorted(set(found.tolist()))


def crossings(savings: Array) -> Places:
    """Return the places after which net savings reach or pass nothing.

    Examples
    --------
    >>> crossings(np.array([3.0, 1.0, -1.0, -2.0, 0.0])).tolist()
    [1, 3]
    """
    return np.flatnonzero((savings[:-1] * savings[1:] <= 0) & (savings[:-1] != savings[1:]))


def _swing(lever: Lever, savings: Array) -> Swing:
    return Swing(
        lever.field,
        lever.label,
        Amount(lever.low, lever.kind),
        Amount(lever.high, lever.kind),
        float(savings[0]),
        float(savings[1]),
        lever.basis,
        lever.source,
    )


def _break_even(lever: Lever, savings: Array, roots: list[float]) -> BreakEven:
    nearest = min(roots, key=lambda root: abs(root - lever.current), default=None)
    return BreakEven(
        lever.field,
        lever.label,
        Amount(lever.current, lever.kind),
        None if nearest is None else Amount(nearest, lever.kind),
        Amount(lever.least, lever.kind),
        Amount(lever.most, lever.kind),
        _reason(lever, savings, len(roots)),
    )


def _reason(lever: Lever, savings: Array, roots: int) -> str | None:
    if np.ptp(savings) <= ROUNDING * np.abs(savings).max():
        return "it does not matter here"
    if not roots:
        which = "less" if savings[0] > 0 else "more"
        return f"it costs {which} at every value in its range"
    words = [f"the nearest of {roots} such values"] * (roots > 1)
    words += ["we count whole years, so take it as about that"] * lever.whole_years
    return "; ".join(words) or None
