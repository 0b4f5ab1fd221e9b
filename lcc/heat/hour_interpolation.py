"""Three-hour means rebuilt to hours that keep every block's mean."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BLOCK_H = 3


def hours_from_blocks(
    means: Array, low: float | None = None, high: float | None = None, parts: int = BLOCK_H
) -> Array:
    """Rebuild hourly means from three-hour means of a periodic year, or finer from hourly ones.

    Parameters
    ----------
    means : array, shape (n,)
        Mean of each block.
    low, high : float, optional
        Bounds of the quantity. With a lower bound the interpolation is monotone in the running
        sum, so that it never undershoots; an upper bound is then clipped.
    parts : int
        How many equal parts a block is cut into.

    Returns
    -------
    array, shape (parts n,)

    Notes
    -----
    A spline is laid through the running sum at the block edges, periodic but for its trend, and
    read off at the hours: the differences keep every block's sum to rounding.

    Examples
    --------
    >>> hourly = hours_from_blocks(np.array([1.0, 4.0, 7.0, 4.0]))
    >>> hourly.reshape(4, 3).mean(axis=1).round(12).tolist()
    [1.0, 4.0, 7.0, 4.0]
    """
    total = np.concatenate([[0.0], np.cumsum(means)])
    if low is not None:
        total -= low * np.arange(total.size)
        rebuilt = np.diff(_between(total, _monotone(total), parts)) * parts + low
        return np.asarray(np.clip(rebuilt, low, high))
    slope = total[-1] / means.size
    wave = total - slope * np.arange(total.size)
    return np.asarray(np.diff(_between(wave, _smooth(wave), parts)) * parts + slope)


def _smooth(wave: Array) -> Array:
    """Return slopes of the periodic cubic spline through evenly spaced values, one apart.

    Notes
    -----
    s(i - 1) + 4 s(i) + s(i + 1) = 3 (y(i + 1) - y(i - 1)), a circulant system: each harmonic of
    the right side is divided by its own 4 + 2 cos(2 pi k / n).
    """
    right = 3 * (np.roll(wave[:-1], -1) - np.roll(wave[:-1], 1))
    n = right.size
    turns = 2 * np.pi * np.arange(n // 2 + 1) / n
    slopes = np.fft.irfft(np.fft.rfft(right) / (4 + 2 * np.cos(turns)), n)
    return np.append(slopes, slopes[0])


def _monotone(values: Array) -> Array:
    """Return slopes of a curve through evenly spaced values that rises and falls only with them.

    References
    ----------
    Fritsch and Butland (1984), SIAM J. Sci. Stat. Comput. 5, 300-304: the harmonic mean of both
    sides' slopes, nothing at a turn; at the ends the three-point formula, kept monotone.
    """
    rise = np.diff(values)
    before, after = rise[:-1], rise[1:]
    alike = before * after > 0
    inner = np.where(alike, 2 * before * after / np.where(alike, before + after, 1.0), 0.0)
    ends = [_end_slope(*rise[:2]), _end_slope(*rise[:-3:-1])]
    return np.concatenate([ends[:1], inner, ends[1:]])


def _end_slope(first: float, second: float) -> float:
    slope = (3 * first - second) / 2
    if slope * first <= 0:
        return 0.0
    return 3 * first if first * second < 0 and abs(slope) > 3 * abs(first) else slope


def _between(values: Array, slopes: Array, parts: int) -> Array:
    """Return values at so many equal parts of each space, by cubics with these slopes at ends."""
    part = np.arange(parts) / parts
    start, rise = values[:-1, np.newaxis], np.diff(values)[:, np.newaxis]
    out, into = slopes[:-1, np.newaxis], slopes[1:, np.newaxis]
    cubic = out + part * (3 * rise - 2 * out - into + part * (out + into - 2 * rise))
    return np.append((start + part * cubic).ravel(), values[-1])


def irradiance_from_blocks(ghi: Array, dhi: Array, clear: Array) -> tuple[Array, Array]:
    """Spread three-hour means of irradiance over hours by the shape of a clear sky.

    Parameters
    ----------
    ghi, dhi : array, shape (n,)
        Block means of global and diffuse horizontal irradiance [W/m²].
    clear : array, shape (3 n,)
        Clear-sky global irradiance of every hour [W/m²]; only its shape in a block counts.

    Returns
    -------
    tuple of arrays, shape (3 n,)
        Hourly global and diffuse irradiance [W/m²] with the blocks' means.

    Examples
    --------
    >>> hours, _ = irradiance_from_blocks(
    ...     np.array([100.0]), np.array([50.0]), np.array([0.0, 200.0, 400.0])
    ... )
    >>> hours.tolist()
    [0.0, 100.0, 200.0]
    """
    shape = clear.reshape(-1, BLOCK_H)
    mean = shape.mean(axis=1, keepdims=True)
    weight = np.where(mean > 0, shape / np.where(mean > 0, mean, 1.0), 1.0)
    diffuse = np.minimum(dhi, ghi)
    return (ghi[:, None] * weight).ravel(), (diffuse[:, None] * weight).ravel()
