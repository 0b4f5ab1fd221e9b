"""Where purlins are spliced, and the pieces of stock that they are cut into."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from lcc.case.framing import Framing
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_and_purlin_spacing import SetOut, spaces
from lcc.quantities.post_lines_and_heights import FallFrame, Interval, PurlinLine

_SAME_M = 5e-4  # a piece may be this much longer than its stock, which a saw does not see


@dataclass(frozen=True)
class SplicedRun:
    """One run of purlin: its line, counted from 0, its splices and the pieces between them [m]."""

    line: int
    splices_m: list[float]
    pieces_m: list[float]


def splice_places_m(frame: FallFrame) -> list[float]:
    """Return where purlins of a fall may be spliced: over posts, or over cross members in line [m].

    Notes
    -----
    A space between posts that is longer than the stock less one lap is divided evenly: purlins are
    spliced between posts there, which `off_posts` counts.
    """
    framing, found = frame.part.framing, []
    for low, high in pairwise(frame.places_m.tolist()):
        parts = spaces(high - low, framing.purlin_stock_m - framing.purlin_lap_m)
        found += [low + (high - low) * k / parts for k in range(parts)]
    return [*found, float(frame.places_m[-1])]


def spliced_runs(frame: FallFrame, lines: Sequence[PurlinLine]) -> Iterator[SplicedRun]:
    """Yield every run of purlin of a fall."""
    framing, places = frame.part.framing, splice_places_m(frame)
    found: dict[Interval, tuple[list[float], list[float]]] = {}  # most lines of a fall run alike
    for number, line in enumerate(lines):
        for run in line.runs:
            if run not in found:
                at = splices_m(run, places, framing, frame.set_out)
                found[run] = at, pieces_m(run, at, framing.purlin_lap_m)
            yield SplicedRun(number, *found[run])


def splices_m(
    run: Interval, places_m: Sequence[float], framing: Framing, set_out: SetOut = "start"
) -> list[float]:
    """Return where one run of purlin is spliced, in the fewest pieces from one end [m].

    Parameters
    ----------
    run : tuple of float
        Start and end of the run [m].
    places_m : sequence of float
        Where it may be spliced, in order [m].
    framing : Framing
        Stock length and lap.
    set_out : str
        End of the run where the first whole length lies; "either" takes that whose pieces are the
        more even, so that a mirrored roof has the same, and the start where both are alike.

    Notes
    -----
    Each piece ends at the last place that the stock reaches. A lap lies half to each side of its
    place, so every splice adds one lap.

    Examples
    --------
    Posts at 1, 7, 13 ... 55 ft and stock of 20 ft that is butted: splices at 19, 37 and 55 ft.

    >>> from lcc.case.rectangle import Rectangle
    >>> framing = Framing((Rectangle(24.0, 12.0),), purlin_stock_m=20.0)
    >>> splices_m((0.0, 60.0), [1.0 + 6.0 * k for k in range(10)], framing)
    [19.0, 37.0, 55.0]
    """
    if set_out != "start":
        turned = [-at for at in reversed(places_m)]
        back = [-at for at in reversed(splices_m((-run[1], -run[0]), turned, framing))]
        if set_out == "end":
            return back
        both = splices_m(run, places_m, framing), back
        return max(both, key=lambda each: [
            round(piece, 6) for piece in sorted(pieces_m(run, each, framing.purlin_lap_m))
        ])  # fmt: skip
    (start, end), stock, half = run, framing.purlin_stock_m, framing.purlin_lap_m / 2
    first, last = bisect_right(places_m, start + half + TOUCH_M), end - half - TOUCH_M
    inner, found = places_m[first : bisect_left(places_m, last)], []
    while end - start > stock + _SAME_M:
        found.append(inner[bisect_right(inner, start + stock - half + _SAME_M) - 1])
        start = found[-1] - half
    return found


def valley_splices_m(long_m: float, framing: Framing) -> list[float]:
    """Return the splices of a support under a valley, whose posts are not known: whole lengths."""
    stock, lap = framing.purlin_stock_m, framing.purlin_lap_m
    whole = max(math.ceil((long_m - lap) / (stock - lap) * (1 - 1e-9)) - 1, 0)
    return [stock - lap / 2 + k * (stock - lap) for k in range(whole)]


def pieces_m(run: Interval, splices: Sequence[float], lap_m: float) -> list[float]:
    """Return the length of each piece of a run, half a lap past its splices [m].

    Examples
    --------
    >>> pieces_m((0.0, 12.0), [5.0], 1.0)
    [5.5, 7.5]
    """
    ends = [run[0] + lap_m / 2, *splices, run[1] - lap_m / 2]
    return [high - low + lap_m for low, high in pairwise(ends)]


def sticks_for(pieces: Sequence[float], stock_m: float) -> int:
    """Return how many stock lengths pieces are cut from, the longest first [count].

    Notes
    -----
    Each stick takes the longest piece left, then the longest that still fits: not always the
    least possible number.

    Examples
    --------
    442 pieces of 16 ft take a stick of 20 ft each, 34 of 5.5 ft three to a stick, 32 of 20 ft one:

    >>> sticks_for([16.0] * 442 + [5.5] * 34 + [20.0] * 32, 20.0)
    486
    """
    cut, number = np.unique(np.rint(np.array(pieces) / _SAME_M), return_counts=True)
    lengths, left = (cut[::-1] * _SAME_M).tolist(), number[::-1].tolist()
    bought = 0
    for first, _ in enumerate(lengths):
        while left[first]:
            room, taken = stock_m + _SAME_M, [0] * len(lengths)
            for k in range(first, len(lengths)):
                fits = int(room // lengths[k]) if k > first else max(int(room // lengths[k]), 1)
                taken[k] = min(left[k], fits)
                room -= taken[k] * lengths[k]
            times = min(left[k] // n for k, n in enumerate(taken) if n)
            left = [have - times * n for have, n in zip(left, taken, strict=True)]
            bought += times
    return bought


def off_posts(frame: FallFrame, runs: Sequence[SplicedRun]) -> int:
    """Return the splices of a fall that no post or cross member stands under."""
    at, places = np.array([each for run in runs for each in run.splices_m]), frame.places_m
    return int((np.abs(at[:, None] - places).min(axis=1, initial=np.inf) > TOUCH_M).sum())
