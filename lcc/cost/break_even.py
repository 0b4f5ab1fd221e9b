"""The value of each main input at which two alternatives cost the same, and the swing of each."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lcc.case import Economics
from lcc.cost.ledger import Ledger
from lcc.cost.levers import Lever
from lcc.cost.sensitivity import Trial, net_savings
from lcc.quantities.results import Amount
from lcc.results import BreakEven, Swing

Array = NDArray[np.float64]
Places = NDArray[np.intp]
# Net savings follow these terms in a straight line, so two values tell all.
STRAIGHT = ("price", "coating_price", "electricity_price", "gas_price", "energy_saving")
# Rates are looked at so many times over their range, and closer about each crossing.
LOOKS, CLOSER = 17, 41
# Net savings that change by less than this part of themselves do not change.
ROUNDING = 1e-9


def explored(
    base: Ledger, own: Ledger, economics: Economics, inputs: Sequence[Lever]
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

    Returns
    -------
    tuple of tuple
        Break-evens in the order of the inputs, and swings with the widest first.

    Notes
    -----
    Only money is computed: the energy of each state of the roof is in the ledgers. All inputs are
    looked at over their ranges in one calculation and closed in on in a second. Lives act in
    whole years, so their break-even is a straight line between the two whole years of life
    between which the cheaper choice changes.
    """
    looked = [(lever, grid(lever)) for lever in inputs]
    swung = [(lever, np.array([lever.low, lever.high])) for lever in inputs]
    found = net_savings(base, own, economics, [*looked, *swung])
    seen, swings = found[: len(looked)], found[len(looked) :]
    roots = _roots(base, own, economics, looked, seen)
    break_evens = map(_break_even, inputs, seen, (roots[lever.field] for lever in inputs))
    return tuple(break_evens), tuple(sorted(map(_swing, inputs, swings), key=_size, reverse=True))


def grid(lever: Lever) -> Array:
    """Return the values at which an input is looked at over its range."""
    if lever.whole_years:
        return np.arange(np.ceil(lever.least), np.floor(lever.most) + 1)
    return np.linspace(lever.least, lever.most, 2 if lever.term in STRAIGHT else LOOKS)


def _roots(
    base: Ledger,
    own: Ledger,
    economics: Economics,
    looked: Sequence[Trial],
    seen: Sequence[Array],
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
    again = net_savings(base, own, economics, closer) if closer else []
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


def _size(swing: Swing) -> float:
    return abs(swing.net_savings_high - swing.net_savings_low)


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
        return "it has no effect on the difference"
    if not roots:
        which = "less" if savings[0] > 0 else "more"
        return f"none in its range: the alternative costs {which} over all of it"
    words = [f"the nearest of {roots} such values"] * (roots > 1)
    words += ["work falls in whole years, and the value lies between two"] * lever.whole_years
    return "; ".join(words) or None
