"""First-order recurrences with bounds over a periodic year, solved by doubling."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def shifted(values: Array, steps: int) -> Array:
    """Return the values `steps` places earlier along the last axis of a periodic array."""
    if steps == 0:
        return values
    return np.concatenate((values[..., -steps:], values[..., :-steps]), axis=-1)


def doubled_gains(gain: Array, enough: float = 1e-12) -> tuple[Array, ...]:
    """Return the products of a periodic gain with those 1, 3, 7, … places before it.

    Parameters
    ----------
    gain : array, shape (n,)
        From 0 to 1.
    enough : float
        The last array is the first whose values are all this small, or reaches over a year.

    Examples
    --------
    >>> [float(product[0]) for product in doubled_gains(np.full(4, 0.5), 0.1)]
    [0.5, 0.25, 0.0625]
    """
    products, steps = [gain], 1
    while steps < 2 * gain.size and float(products[-1].max()) > enough:
        products.append(products[-1] * shifted(products[-1], steps % gain.size))
        steps *= 2
    return tuple(products)


def periodic_clip(
    gains: tuple[Array, ...], drive: Array, low: Array, high: Array, start: Array
) -> Array:
    """Solve x(t) = clip(a(t) x(t-1) + c(t), low(t), high(t)) over a periodic array.

    Parameters
    ----------
    gains : tuple of arrays, shape (n,)
        The `doubled_gains` of a.
    drive, low, high : array, shape (n,)
        c and the bounds, which may be infinite; low is at most high.
    start : array, shape (n,)
        A guess of x; what is left of its error is at most the last of the gains.

    Returns
    -------
    array, shape (n,)

    Notes
    -----
    Maps x -> clip(a x + c, l, h) compose to maps of the same form: after (a1, c1, l1, h1) the
    map (a2, c2, l2, h2) gives a = a2 a1, c = a2 c1 + c2, l = clip(a2 l1 + c2, l2, h2) and h
    alike. Composing each map with those 1, 2, 4, … hours before covers more than a year in 14
    passes, fewer where the gains fade sooner.

    Examples
    --------
    >>> ones = np.ones(64)
    >>> gains = doubled_gains(0.5 * ones)
    >>> periodic_clip(gains, ones, -9 * ones, 9 * ones, 0 * ones)[:2].round(9).tolist()
    [2.0, 2.0]
    """
    size, steps = drive.size, 1
    for gain in gains[:-1]:
        back = steps % size
        earlier_low = gain * shifted(low, back) + drive
        earlier_high = gain * shifted(high, back) + drive
        low, high = (
            np.minimum(np.maximum(earlier_low, low), high),
            np.minimum(np.maximum(earlier_high, low), high),
        )
        drive = gain * shifted(drive, back) + drive
        steps *= 2
    reached = gains[-1] * shifted(start, steps % size) + drive
    return np.asarray(np.minimum(np.maximum(reached, low), high))
