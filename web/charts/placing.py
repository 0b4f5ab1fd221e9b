"""Where the words of a chart stand: beside what they name, over no line and no other word.

Heights on a chart are fixed and its width is not: words are placed for the narrowest width of
their range. On a wider chart the same words cover fewer years, so they stay clear there too.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LETTER = 0.62  # mean width of a letter as a part of its size, of a wide sans-serif face
BOLD = 0.70
LINE = 14.0  # height of a line of words [px]

Point = tuple[float, float]
Boxes = NDArray[np.float64]  # rows of left, top, right, bottom [px], the origin at the top left


@dataclass(frozen=True)
class Spot:
    """Where words go: the corner that they are set from, and on which side of it they stand."""

    left: bool  # words end at the corner; otherwise they begin there
    dx: float
    dy: float


# In the order in which they are tried: beside the head of a step, below it, above it, further off.
BESIDE = tuple(
    Spot(left, -8.0 if left else 8.0, dy)
    for dy in (-8.0, 18.0, 34.0, -24.0, 52.0, -40.0, -56.0, -72.0, 70.0, -88.0, -104.0)
    for left in (True, False)
)


def width(words: str, size: float, *, bold: bool = False) -> float:
    """Return about how wide words are set [px], never less than they are in common faces."""
    return len(words) * size * (BOLD if bold else LETTER)


def steps(line: Sequence[float], across: float, up: float, base: float) -> Boxes:
    """Return a line drawn in steps as thin rectangles.

    Parameters
    ----------
    line : sequence of float
        A value for each year.
    across : float
        Pixels of a year.
    up : float
        Pixels of a unit of value.
    base : float
        Height of the value zero, from the top [px].
    """
    height = base - np.asarray(line) * up
    x = across * np.arange(len(height))
    flat = np.column_stack([x[:-1], height[:-1] - 1.5, x[1:], height[:-1] + 1.5])
    low, high = np.minimum(height[:-1], height[1:]), np.maximum(height[:-1], height[1:])
    rise = np.column_stack([x[1:] - 1.5, low - 1.5, x[1:] + 1.5, high + 1.5])
    return np.vstack([flat, rise])


def met(boxes: Boxes, others: Boxes) -> Boxes:
    """Return how many of the others each box shares a point with.

    Examples
    --------
    >>> box = np.array([[0.0, 0.0, 9.0, 9.0]])
    >>> met(box, np.array([[8.0, 8.0, 20.0, 20.0], [9.0, 0.0, 20.0, 9.0]]))
    array([1])
    """
    a, b = boxes[:, None, :], others[None, :, :]
    beside = (a[..., 2] <= b[..., 0]) | (b[..., 2] <= a[..., 0])
    apart = (a[..., 3] <= b[..., 1]) | (b[..., 3] <= a[..., 1])
    return np.asarray((~(beside | apart)).sum(axis=1))


def placed(
    at: Point, wide: float, taken: Boxes, faint: Boxes, plot: Point
) -> tuple[Spot, Boxes, bool]:
    """Return where words stand beside a point, their box, and whether nothing else stands there.

    Parameters
    ----------
    at : tuple of float
        The point [px].
    wide : float
        Width of the words [px].
    taken, faint : ndarray
        What they may not cover, and what they should not cover.
    plot : tuple of float
        Width and height of the plot [px], which they do not leave if they can help it.
    """
    boxes = np.array([_box(at, wide, spot) for spot in BESIDE])
    outside = (
        (boxes[:, 0] < 0) | (boxes[:, 1] < 0) | (boxes[:, 2] > plot[0]) | (boxes[:, 3] > plot[1])
    )
    covered = met(boxes, taken)
    order = np.lexsort((met(boxes, faint), covered, outside))
    best = int(order[0])
    return BESIDE[best], boxes[best : best + 1], not (outside[best] or covered[best])


def _box(at: Point, wide: float, spot: Spot) -> tuple[float, float, float, float]:
    x, foot = at[0] + spot.dx, at[1] + spot.dy
    left = x - wide if spot.left else x
    return left, foot - 0.8 * LINE, left + wide, foot + 0.25 * LINE


def spread(wanted: Sequence[float], heights: Sequence[float], room: float) -> list[float]:
    """Return tops for blocks of words so that none covers another, each near where it should be.

    Examples
    --------
    >>> spread([10.0, 12.0, 60.0], [20.0, 20.0, 20.0], 100.0)
    [10.0, 30.0, 60.0]
    >>> spread([90.0, 95.0], [20.0, 20.0], 100.0)
    [60.0, 80.0]
    """
    order = sorted(range(len(wanted)), key=wanted.__getitem__)
    tops = list(wanted)
    foot = 0.0
    for place in order:
        tops[place] = max(tops[place], foot)
        foot = tops[place] + heights[place]
    limit = room
    for place in reversed(order):
        tops[place] = min(tops[place], limit - heights[place])
        limit = tops[place]
    return tops


def wrapped(name: str, letters: int, lines: int = 2) -> tuple[str, ...]:
    """Return a name on a few lines of at most so many letters, the last one cut where it must be.

    Examples
    --------
    >>> wrapped("Metal roof framed over the old one", 23)
    ('Metal roof framed over', 'the old one')
    >>> wrapped("x" * 60, 10)
    ('xxxxxxxxxx', 'xxxxxxxxx…')
    """
    found: list[str] = []
    for whole in name.split() or [""]:
        word = whole
        while len(word) > letters:
            found.append(word[:letters])
            word = word[letters:]
        if found and len(found[-1]) + 1 + len(word) <= letters:
            found[-1] += f" {word}"
        else:
            found.append(word)
    if len(found) <= lines:
        return tuple(found)
    return (*found[: lines - 1], found[lines - 1][: letters - 1].rstrip() + "…")
