"""The normal law: the chance of less than so many standard deviations."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_UPPER = (3.52624965998911e-02, 0.700383064443688, 6.37396220353165, 33.912866078383,
          112.079291497871, 221.213596169931, 220.206867912376)  # fmt: skip
_LOWER = (8.83883476483184e-02, 1.75566716318264, 16.064177579207, 86.7807322029461,
          296.564248779674, 637.333633378831, 793.826512519948, 440.413735824752)  # fmt: skip


def chance_below(deviations: Array) -> Array:
    """Return the chance that a standard normal number is less than each, within 1e-14.

    Notes
    -----
    A quotient of polynomials times exp(-x²/2) for x < 0, and 1 less that of -x above. Farther than
    seven standard deviations it is less sure in its own last digits, which are below 1e-12.

    References
    ----------
    Hart and others (1968), Computer Approximations, algorithm 5666 (from memory; the tests hold it
    to SciPy's).

    Examples
    --------
    >>> chance_below(np.array([0.0, -1.0, 1.959963984540054])).round(12).tolist()
    [0.5, 0.158655253931, 0.975]
    """
    far = np.minimum(np.abs(deviations), 37.0)
    tail = np.exp(-far * far / 2) * np.polyval(_UPPER, far) / np.polyval(_LOWER, far)
    return np.asarray(np.where(deviations < 0, tail, 1 - tail))
