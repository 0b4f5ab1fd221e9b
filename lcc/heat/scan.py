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


def periodic_clip(
    gain: Array, drive: Array, low: Array, high: Array, start: Array, enough: float = 1e-12
) -> Array:
    """Solve x(t) = clip(a(t) x(t-1) + c(t), low(t), high(t)) over a periodic array.

    Parameters
    ----------
    gain, drive, low, high : array, shape (n,)
        a (0 to 1), c and the bounds, which may be infinite; low is at most high.
    start : array, shape (n,)
        A guess of x, felt only as far as nothing has forgotten it.
    enough : float
        The part of an error in `start` that may be left; 1e-12 is none to rounding.

    Returns
    -------
    array, shape (n,)

    Notes
    -----
    Maps x -> clip(a x + c, l, h) compose to maps of the same form: after (a1, c1, l1, h1) the
    map (a2, c2, l2, h2) gives a = a2 a1, c = a2 c1 + c2, l = clip(a2 l1 + c2, l2, h2) and h
    alike. Composing each map with those 1, 2, 4, … hours before covers more than a year in 14
    passes; they stop when the product of the gains falls to `enough`.

    Examples
    --------
    >>> low, high = np.full(4, -9.0), np.full(4, 9.0)
    >>> periodic_clip(np.full(4, 0.5), np.ones(4), low, high, np.zeros(4)).round(9).tolist()
    [2.0, 2.0, 2.0, 2.0]
    """
    size = drive.size
    bounds = np.stack((low, high))
    steps = 1
    while steps < 2 * size and float(gain.max()) > enough:
        back = steps % size
        earlier = gain * shifted(bounds, back) + drive
        bounds = np.minimum(np.maximum(earlier, bounds[0]), bounds[1])
        drive = gain * shifted(drive, back) + drive
        gain = gain * shifted(gain, back)
        steps *= 2
    reached = gain * shifted(start, steps % size) + drive
    return np.asarray(np.minimum(np.maximum(reached, bounds[0]), bounds[1]))
