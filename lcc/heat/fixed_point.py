"""Anderson acceleration of a fixed-point iteration over arrays."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lcc.arrays import Array

GROWTH = 5.0
TINY = float(np.finfo(float).tiny)
RIDGE = 1e-10  # keeps nearly parallel changes from cancelling each other


@dataclass(frozen=True, eq=False)
class FixedPoint:
    """Where an iteration ended: the point, how many steps, and the last change."""

    point: Array
    iterations: int
    residual: float


def anderson(
    step: Callable[[Array], Array],
    start: Array,
    tolerance: float,
    most: int,
    memory: int = 4,
    begun: int = 0,
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
    point, residual, past = start, np.inf, _Past(memory, start)
    for count in range(begun + 1, most + 1):
        target = step(point)
        gap = target - point
        before, residual = residual, float(np.abs(gap).max())
        if residual <= tolerance or not np.isfinite(residual):
            return FixedPoint(target, count, residual)
        if residual > GROWTH * before:
            past = _Past(memory, start)  # a mix that raised the residual is dropped
        point = target - past.mixed(target, gap)
    return FixedPoint(point, most, residual)


class _Past:
    """The last moves of an iteration, and what they say of the gap that is left."""

    def __init__(self, memory: int, like: Array) -> None:
        self.last: tuple[Array, Array] | None = None
        self.count = 0
        shape = memory, like.size
        self.moves, self.changes = np.empty(shape, like.dtype), np.empty(shape, like.dtype)
        self.products = np.zeros((memory, memory))

    def mixed(self, target: Array, gap: Array) -> Array:
        """Return the distance of the target from the best mix: least squares over the changes."""
        if self.last is None:
            self.last = target, gap
            return np.zeros_like(target)
        self._remember(target, gap, *self.last)
        self.last = target, gap
        known = slice(min(self.count, len(self.moves)))
        products = self.products[known, known]
        size = np.sqrt(products.diagonal()) + TINY
        scaled = products / (size * size[:, None])
        scaled.flat[:: size.size + 1] += RIDGE
        weights = np.linalg.solve(scaled, _dots(self.changes[known], gap) / size) / size
        return np.asarray(np.einsum("i,ij->j", weights.astype(gap.dtype), self.moves[known]))

    def _remember(self, target: Array, gap: Array, before: Array, gap_before: Array) -> None:
        place = self.count % len(self.moves)  # the oldest is dropped
        self.count += 1
        known = slice(min(self.count, len(self.moves)))
        np.subtract(target, before, out=self.moves[place])
        np.subtract(gap, gap_before, out=self.changes[place])
        new = _dots(self.changes[known], self.changes[place])
        self.products[place, known] = self.products[known, place] = new


def _dots(rows: Array, other: Array) -> Array:
    # Not matmul: its threads wait for one another when processes share the machine.
    return np.asarray(np.einsum("ij,j->i", rows, other), dtype=np.float64)
