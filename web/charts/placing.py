"""Where the words of a chart stand: beside what they name, over no line and no other word.

Heights on a chart are fixed and its width is not: words are placed for the narrowest width of
their range. On a wider chart the same words cover fewer years, so they stay clear there too.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

LETTER = 0.62  # mean width of a letter as a part of its size, of a wide sans-serif face
BOLD = 0.70
LINE = 14.0  # height of a line of words [px]

Point = tuple[float, float]


@dataclass(frozen=True)
class Box:
    """A rectangle of the plot [px], its origin at the top left."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Whether two rectangles share a point."""
        beside = self.right <= other.left or other.right <= self.left
        return not beside and self.top < other.bottom and other.top < self.bottom


@dataclass(frozen=True)
class Spot:
    """Where words go: the corner that they are set from, and on which side of it they stand."""

    left: bool  # words end at the corner; otherwise they begin there
    dx: float
    dy: float


# In the order in which they are tried: beside the head of a step, below it, above it, further off.
BESIDE = tuple(
    Spot(left, -8.0 if left else 8.0, dy)
    for dy in (-8.0, 18.0, 34.0, -24.0, 52.0, -40.0, -56.0, -72.0, -88.0, -104.0)
    for left in (True, False)
)


def width(words: str, size: float, *, bold: bool = False) -> float:
    """Return about how wide words are set [px], never less than they are in common faces."""
    return len(words) * size * (BOLD if bold else LETTER)


def steps(line: Sequence[float], across: float, up: float, base: float) -> list[Box]:
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
    heights = [base - value * up for value in line]
    found = []
    for year, (here, after) in enumerate(pairwise(heights)):
        x = across * year
        found.append(Box(x, here - 1.5, x + across, here + 1.5))
        low, high = min(here, after), max(here, after)
        found.append(Box(x + across - 1.5, low - 1.5, x + across + 1.5, high + 1.5))
    return found


def placed(at: Point, wide: float, taken: Iterable[Box], plot: Box) -> tuple[Spot, Box]:
    """Return where words of a width stand beside a point, clear of what is taken if they can be."""
    taken = list(taken)
    tried = [(place, _box(at, wide, place)) for place in BESIDE]
    inside = [(p, b) for p, b in tried if plot.left <= b.left and b.right <= plot.right
              and plot.top <= b.top and b.bottom <= plot.bottom] or tried  # fmt: skip
    clear = (one for one in inside if not any(one[1].meets(box) for box in taken))
    fewest = next(clear, None)
    return fewest or min(inside, key=lambda one: sum(one[1].meets(box) for box in taken))


def _box(at: Point, wide: float, place: Spot) -> Box:
    x, foot = at[0] + place.dx, at[1] + place.dy
    left = x - wide if place.left else x
    return Box(left, foot - 0.8 * LINE, left + wide, foot + 0.25 * LINE)


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
