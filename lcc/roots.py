"""Where a function of one number passes through nothing."""

from __future__ import annotations

from collections.abc import Callable


def root(of: Callable[[float], float], low: float, high: float) -> float:
    """Return where a continuous function passes through nothing, by bisection to the last digit.

    Parameters
    ----------
    of : callable
        The function; it has opposite signs at both ends.
    low, high : float
        The ends.

    Notes
    -----
    A root finder of SciPy's takes a tenth of the calls, but to import it takes as long as to
    compare a case.

    Examples
    --------
    >>> round(root(lambda x: x * x - 2, 0.0, 2.0), 12)
    1.414213562373
    """
    rising = of(low) < 0
    while low < (middle := (low + high) / 2) < high:
        if (of(middle) < 0) == rising:
            low = middle
        else:
            high = middle
    return high
