"""Where posts and purlin lines may stand: on joists, beams and walls, or at equal spaces."""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from lcc.arrays import Array
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.roof_planes import USUAL_POSTS_M, RoofPart

SetOut = Literal["start", "end", "either"]


def spaces(length_m: float, at_most_m: float) -> int:
    """Return the least number of equal spaces, none wider than asked.

    Parameters
    ----------
    length_m : float
        Length to divide [m], more than 0.
    at_most_m : float
        Widest space allowed [m], more than 0.

    Notes
    -----
    A ratio that is whole but for rounding of a unit's conversion counts as whole.

    Examples
    --------
    >>> spaces(18.0, 1.5), spaces(18.1, 1.5), spaces(1.0, 5.0)
    (12, 13, 1)
    """
    return max(1, math.ceil(length_m / at_most_m * (1 - 1e-9)))


@dataclass(frozen=True)
class FrameLines:
    """Lines across a fall, with those that posts carry, and the longest space between posts.

    Parameters
    ----------
    at_m : array
        Places of the lines [m].
    posted : array of bool
        Which of them stand on posts; cross members carry the others.
    beyond_m : float, optional
        Where the cross members past the last line on posts find the structure again [m], on the
        other side of a ridge or hip.
    """

    at_m: Array
    posted: np.ndarray[tuple[int], np.dtype[np.bool_]]
    beyond_m: float | None = None

    @property
    def held_m(self) -> Array:
        """Lines on posts, and where structure is found past the last [m]."""
        held = self.at_m[self.posted]
        return held if self.beyond_m is None else np.append(held, self.beyond_m)

    @property
    def widest_m(self) -> float:
        """The widest space between neighbouring lines on posts [m]."""
        return float(np.diff(self.held_m).max(initial=0.0))


def equal(start_m: float, end_m: float, at_most_m: float) -> FrameLines:
    """Return lines at equal spaces, all on posts."""
    at = np.linspace(start_m, end_m, spaces(end_m - start_m, at_most_m) + 1)
    return FrameLines(at, np.ones(len(at), dtype=bool))


def structure(part: RoofPart, runs: str) -> Array | None:
    """Return where the joists or beams of a part stand, edges included, if they run so [m].

    Notes
    -----
    The edges of a part are taken as walls or edge beams that bear, which the engineer confirms.
    """
    one = part.rectangle
    if one.bearing_spacing_m is None or one.bearing_runs != runs:
        return None
    left, front, right, back = part.bounds
    start, end = (left, right) if runs == "front-back" else (front, back)
    inner = np.arange(start + one.bearing_first_m, end, one.bearing_spacing_m)
    inner = inner[(inner > start + TOUCH_M) & (inner < end - TOUCH_M)]
    return np.concatenate([[start], inner, [end]])


def chosen(places: Array, at_most_m: float, from_end: bool = False) -> Array:
    """Return the fewest of the places that leave no space wider than asked, where they allow it.

    Parameters
    ----------
    places : array
        Places of the structure in order [m]; the first and the last are always taken.
    at_most_m : float
        Widest space allowed [m].
    from_end : bool
        Begin at the last: a mirrored roof begins at its other end.

    Examples
    --------
    Joists at 0.6 m with posts at most 1.5 m apart: every second joist.

    >>> chosen(np.array([0.0, 0.6, 1.2, 1.8, 2.4]), 1.5)
    array([0. , 1.2, 2.4])
    """
    if from_end:
        return -chosen(-places[::-1], at_most_m)[::-1]
    reach = np.searchsorted(places, places + at_most_m * (1 + 1e-9), side="right") - 1
    taken = [0]
    while taken[-1] < len(places) - 1:
        taken.append(max(int(reach[taken[-1]]), taken[-1] + 1))
    return places[taken]


def stations(part: RoofPart, runs: str, start_m: float, end_m: float) -> FrameLines:
    """Return where posts stand along purlins that the structure crosses, or equal spaces."""
    if (places := structure(part, runs)) is None:  # no joist sets them
        return equal(start_m, end_m, part.framing.post_spacing_m or USUAL_POSTS_M[0])
    found = chosen(places, part.post_spacing_m, set_out_from(part, runs) == "end")
    return FrameLines(found, np.ones(len(found), dtype=bool))


def set_out_from(part: RoofPart, runs: str) -> SetOut:
    """Return the edge to set out from: that with the shorter first space, then the lower."""
    places = structure(part, runs)
    if places is not None:
        first, last = places[1] - places[0], places[-1] - places[-2]
        if abs(first - last) > TOUCH_M:
            return "end" if first > last else "start"
    if not part.drains:
        deck = part.bowls[0][0]
        rise = deck.along_x if runs == "front-back" else deck.along_y
    else:
        (x1, y1), (x2, y2) = part.corners[0], part.corners[2]
        middle = (x1 + x2) / 2, (y1 + y2) / 2
        ends = ((x1, middle[1]), (x2, middle[1])) if runs == "front-back" else (
            (middle[0], y1), (middle[0], y2))  # fmt: skip
        rise = part.deck_z(*ends[1]) - part.deck_z(*ends[0])
        rise *= abs(rise) > TOUCH_M
    return "end" if rise < 0 else "start" if rise > 0 else "either"


def purlins(part: RoofPart, runs: str, places: Array | None, run_m: float) -> FrameLines:
    """Return purlin lines up a fall by their distance from the eave [m].

    Parameters
    ----------
    part : RoofPart
        The part of the plan.
    runs : str
        Which way its purlins run, to name the structure that runs with them.
    places : array or None
        Structure that runs along the purlins, as distances from the eave [m].
    run_m : float
        Plan length of the fall [m].

    Notes
    -----
    Where structure runs along the purlins, posts stand on its lines alone; where these are
    farther apart than purlins may be, purlins between them rest on cross members. Where none
    stands under the top line, cross members span to the next line past it.
    """
    at_most = part.framing.purlin_spacing_m
    if places is None:
        return equal(0.0, run_m, at_most)
    inside = places[(places > -TOUCH_M) & (places < run_m + TOUCH_M)]
    posted = chosen(inside, at_most)
    whole = bool(posted[-1] > run_m - TOUCH_M)
    ends = posted if whole else np.append(posted, run_m)
    past = places[places > run_m + TOUCH_M]
    lines = [equal(a, b, at_most).at_m[:-1] for a, b in pairwise(ends.tolist())]
    at = np.concatenate([*lines, ends[-1:]])
    gaps = np.abs(at[:, None] - posted[None, :]).min(axis=1)
    beyond = None if whole else float(past[0] if past.size else run_m)
    return FrameLines(at, gaps < TOUCH_M, beyond)
