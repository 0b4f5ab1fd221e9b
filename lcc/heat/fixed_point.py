"""Anderson acceleration of a fixed-point iteration over arrays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


GROWTH = 5.0
RIDGE = 1e-10  # keeps changes that say the same from being played against each other


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
    point, residual, past = start, np.inf, _Past(memory)
    for count in range(1, most + 1):
        target = step(point)
        gap = target - point
        before, residual = residual, float(np.abs(gap).max())
        if residual <= tolerance or not np.isfinite(residual):
            return FixedPoint(target, count, residual)
        if residual > GROWTH * before:
            past = _Past(memory)  # a mix that made things worse is not built upon
        point = target - past.mixed(target, gap)
    return FixedPoint(point, most, residual)


class _Past:
    """The last moves of an iteration, and what they say of the gap that is left."""

    def __init__(self, memory: int) -> None:
        self.memory = memory
        self.last: tuple[Array, Array] | None = None
        self.moves: list[Array] = []
        self.changes: list[Array] = []
        self.products = np.zeros((0, 0))

    def mixed(self, target: Array, gap: Array) -> Array:
        """Return how far the target lies from the best mix: least squares over the changes."""
        if self.last is not None:
            self._remember(target - self.last[0], gap - self.last[1])
        self.last = target, gap
        size = np.sqrt(np.diag(self.products)) + np.finfo(float).tiny
        right = np.array([_dot(change, gap) for change in self.changes]) / size
        scaled = self.products / np.outer(size, size) + RIDGE * np.eye(size.size)
        weights = np.linalg.solve(scaled, right)
        mix = np.zeros_like(gap)
        for weight, move in zip(weights / size, self.moves, strict=True):
            mix += weight * move
        return mix

    def _remember(self, move: Array, change: Array) -> None:
        drop = len(self.changes) - self.memory + 1
        keep = slice(max(drop, 0), None)
        self.moves = [*self.moves[keep], move]
        self.changes = [*self.changes[keep], change]
        new = np.array([_dot(change, other) for other in self.changes])
        whole = np.pad(self.products[keep, keep], (0, 1))
        whole[-1, :], whole[:, -1] = new, new
        self.products = whole


def _dot(one: Array, other: Array) -> float:
    # Not np.dot: its threads wait for one another when processes share the machine.
    return float(np.einsum("i,i->", one, other))
