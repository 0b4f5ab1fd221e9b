"""Hours of use through a year, and the set points that follow them."""

import numpy as np

from lcc.arrays import Array, Flags

HOURS = 8760
MONTH_STARTS = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30]) * 24


def occupied_hours(start_h: float, end_h: float, saturday: bool, sunday: bool) -> Flags:
    """Return which hours of the year are occupied, shape (8760,); 1 January is a Monday.

    Hours are of standard time all year, as those of the climate: none is saved in summer.

    Examples
    --------
    >>> int(occupied_hours(8, 17, False, False)[:168].sum())
    45
    """
    hour = np.arange(HOURS)
    weekday = (hour // 24) % 7
    open_day = (weekday < 5) | (saturday & (weekday == 5)) | (sunday & (weekday == 6))
    of_day = hour % 24
    return np.asarray(open_day & (of_day >= start_h) & (of_day < end_h))


def hours_until(flags: Flags) -> Array:
    """Return how many hours each hour waits for the next flagged one, periodic; 0 when flagged.

    Where nothing is flagged the wait is infinite.

    Examples
    --------
    >>> hours_until(np.array([False, False, True, False])).tolist()
    [2.0, 1.0, 0.0, 3.0]
    """
    index = np.arange(2 * flags.size, dtype=float)
    marked = np.where(np.concatenate([flags, flags]), index, np.inf)
    following = np.minimum.accumulate(marked[::-1])[::-1]
    return np.asarray((following - index)[: flags.size])


def setback_part(occupied: Flags, recovery_h: float) -> Array:
    """Return the part of the setback in force: 0 when occupied, 1 far from it, a ramp before.

    Notes
    -----
    The ramp spreads the return over the hours before opening and ends with the last of them, so
    that the end of a setback adds no false peak to that of the opened rooms.

    Examples
    --------
    >>> setback_part(np.array([False, False, False, False, True]), 2).tolist()
    [1.0, 1.0, 0.5, 0.0, 0.0]
    """
    return np.asarray(np.clip((hours_until(occupied) - 1) / recovery_h, 0.0, 1.0))


def by_month(hourly: Array) -> Array:
    """Return the sums of hourly values by month, shape (12,).

    Examples
    --------
    >>> by_month(np.ones(8760))[:3].tolist()
    [744.0, 672.0, 744.0]
    """
    return np.add.reduceat(hourly, MONTH_STARTS)
