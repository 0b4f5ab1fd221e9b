"""Anderson acceleration of a fixed-point iteration over arrays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FixedPoint:
    """Where an iteration ended: the point, how many steps, and the last change."""

    point: Array
    iterations: int
    residual: float


def anderson(
    step: Callable[[Array], Array], start: Array, tolerance: float, most: int, memory: int = 6
) -> FixedPoint:
    """Find x = step(x), each new x the best mix of the last few (Anderson, type II).

    Parameters
    ----------
    step : callable
        Returns the next point, an array of the same shape.
    start : array, shape (n,)
        Where to begin.
    tolerance : float
        The largest change in any place at which the iteration ends.
    most : int
        The largest number of steps; the caller looks at `residual` to know.
    memory : int
        How many former points are mixed.

    References
    ----------
    Walker and Ni (2011), Anderson acceleration for fixed-point iterations, SIAM Journal on
    Numerical Analysis 49, 1715-1735, algorithm AA.

    Examples
    --------
    >>> found = anderson(np.cos, np.array([1.0]), 1e-12, 50)
    >>> round(float(found.point[0]), 6)
    0.739085
    """
    point = start
    moves: list[Array] = []
    changes: list[Array] = []
    last_target = last_gap = None
    for count in range(1, most + 1):
        target = step(point)
        gap = target - point
        residual = float(np.abs(gap).max())
        if residual <= tolerance or not np.isfinite(residual):
            return FixedPoint(target, count, residual)
        if last_target is not None and last_gap is not None:
            moves = [*moves[1 - memory :], target - last_target]
            changes = [*changes[1 - memory :], gap - last_gap]
        last_target, last_gap = target, gap
        point = target - _mix(moves, changes, gap)
    return FixedPoint(point, most, residual)


def _mix(moves: list[Array], changes: list[Array], gap: Array) -> Array | float:
    """Return what the last moves say of the gap: least squares by normal equations."""
    if not changes:
        return 0.0
    matrix = np.zeros((len(changes), len(changes)))
    for row, one in enumerate(changes):
        for column in range(row + 1):
            matrix[row, column] = matrix[column, row] = _dot(one, changes[column])
    right = np.array([_dot(one, gap) for one in changes])
    weights, *_ = np.linalg.lstsq(matrix, right, rcond=1e-12)
    return np.asarray(sum(weight * move for weight, move in zip(weights, moves, strict=True)))


def _dot(one: Array, other: Array) -> float:
    """Return the inner product in one order of addition: a threaded BLAS has another per thread."""
    return float(np.einsum("i,i->", one, other))
