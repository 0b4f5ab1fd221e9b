"""Three-hour means rebuilt to hours that keep every block's mean."""

import numpy as np
from scipy.interpolate import CubicSpline, PchipInterpolator

from lcc.arrays import Array

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
    edges = np.arange(means.size + 1) * parts
    total = np.concatenate([[0.0], np.cumsum(means) * parts])
    hours = np.arange(means.size * parts + 1)
    if low is not None:
        rebuilt = np.diff(PchipInterpolator(edges, total - low * edges)(hours)) + low
        return np.asarray(np.clip(rebuilt, low, high))
    slope = total[-1] / edges[-1]
    wave = total - slope * edges
    wave[-1] = wave[0]  # equal but for rounding, as a periodic spline must have it
    return np.asarray(np.diff(CubicSpline(edges, wave, bc_type="periodic")(hours)) + slope)


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
