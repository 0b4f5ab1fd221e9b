"""First-order recurrences with bounds over a periodic year, solved by composing their steps."""

import numpy as np

from lcc.arrays import Array


def shifted(values: Array, steps: int) -> Array:
    """Return the values `steps` places earlier along the last axis of a periodic array."""
    if steps == 0:
        return values.copy()
    return np.concatenate((values[..., -steps:], values[..., :-steps]), axis=-1)


class ClippedRecurrence:
    """The recurrence x(t) = clip(a(t) x(t-1) + c(t), low(t), high(t)) over a periodic array.

    Parameters
    ----------
    gain : array, shape (n,)
        a, from 0 to 1.
    enough : float
        The part of an error in the starting guess of `solve` that may remain.

    Notes
    -----
    Maps x -> clip(a x + c, l, h) compose to maps of the same form: after (a1, c1, l1, h1) the
    map (a2, c2, l2, h2) gives a = a2 a1, c = a2 c1 + c2, l = clip(a2 l1 + c2, l2, h2) and h
    alike. Two hours are made one as often as the number of hours is even; what is then left is
    composed with the maps 1, 2, 4, … places before, until its gains have faded.

    Examples
    --------
    >>> ones = np.ones(64)
    >>> maps = np.stack([-9 * ones, 9 * ones, ones])
    >>> ClippedRecurrence(0.5 * ones).solve(maps, 0 * ones)[:2].round(9)
    array([2., 2.])
    """

    def __init__(self, gain: Array, enough: float = 1e-12) -> None:
        self.first, self.second = gain[::2], gain[1::2]
        even = gain.size % 2 == 0
        self.pairs = ClippedRecurrence(self.second * self.first, enough) if even else None
        self.products = [] if even else _doubled_gains(gain, enough)

    def solve(self, maps: Array, start: Array) -> Array:
        """Return x for rows of bounds and drive: l, h, which may be infinite, l at most h, and c.

        `start` is a guess of x.
        """
        if self.pairs is None:
            return self._doubled(maps, start)
        found = np.empty(maps.shape[1], maps.dtype)
        first, second = maps[:, ::2], maps[:, 1::2]
        found[1::2] = self.pairs.solve(_after(second, self.second, first), start[1::2])
        found[::2] = _stepped(first, self.first, shifted(found[1::2], 1))
        return found

    def _doubled(self, whole: Array, start: Array) -> Array:
        size, steps = whole.shape[1], 1
        for gain in self.products[:-1]:
            whole = _after(whole, gain, shifted(whole, steps % size))
            steps *= 2
        return _stepped(whole, self.products[-1], shifted(start, steps % size))


def _doubled_gains(gain: Array, enough: float) -> list[Array]:
    """Products of a gain with those 1, 3, 7, … places before it, until small or of over a year."""
    products, steps = [gain], 1
    while steps < 2 * gain.size and float(products[-1].max()) > enough:
        products.append(products[-1] * shifted(products[-1], steps % gain.size))
        steps *= 2
    return products


def _after(maps: Array, gain: Array, earlier: Array) -> Array:
    """Bounds and drive of maps composed with earlier ones, rows low, high and drive."""
    low, high, drive = maps
    composed = gain * earlier
    composed += drive
    bounds = composed[:2]
    np.maximum(bounds, low, out=bounds)
    np.minimum(bounds, high, out=bounds)
    return np.asarray(composed)


def _stepped(maps: Array, gain: Array, before: Array) -> Array:
    low, high, drive = maps
    found = gain * before
    found += drive
    np.maximum(found, low, out=found)
    return np.asarray(np.minimum(found, high, out=found))
