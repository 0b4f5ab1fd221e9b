"""Where the structure is farther apart than stated, bay by bay: heavier members, missing posts."""

import math
from itertools import groupby, pairwise

import numpy as np

from lcc.arrays import Array
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_and_purlin_spacing import spaces
from lcc.quantities.post_lines_and_heights import Interval
from lcc.quantities.roof_frame import FramedFall


def more_steel(ratio: float) -> float:
    """Return what a longer span than stated adds to a member, over the stated one.

    Notes
    -----
    The bending moment of a span, and so the steel that carries it, grows with its square.
    """
    return ratio**2 - 1 if ratio > 1 + 1e-9 else 0.0


def heavier_m(fall: FramedFall) -> float:
    """Return what bays longer than stated add, as lengths of the stated purlin [m]."""
    frame, at_most = fall.frame, fall.frame.part.framing.post_spacing_m
    bays = np.diff(frame.places_m)
    each = bays * [more_steel(bay / at_most) for bay in bays.tolist()]
    added = np.concatenate([[0.0], np.cumsum(each)])
    runs = np.array([run for line in fall.lines for run in line.runs]).reshape(-1, 2)
    purlins = np.diff(np.interp(runs, frame.places_m, added), axis=1).sum()
    return float(purlins) + _heavier_cross_m(fall)


def _heavier_cross_m(fall: FramedFall) -> float:
    """Return the same for cross members, each by the space that it spans up the slope [m]."""
    frame, at_most = fall.frame, fall.frame.part.framing.post_spacing_m
    ends = frame.lines.held_m
    more = [more_steel(bay / at_most) for bay in np.diff(ends).tolist()]
    added = (len(frame.stations.at_m) * frame.cross_bays_m * more).tolist()
    added += [line.cross_members * line.cross_each_m
              * more[min(int(ends.searchsorted(line.from_eave_m)), len(more)) - 1]
              for line in fall.lines if line.cross_members]  # fmt: skip
    return math.fsum(added)


def missing_posts(fall: FramedFall) -> float:
    """Return the posts that the stated spacings ask for and the structure does not give.

    Notes
    -----
    Bays that are too long and stand in a row are divided anew together. The line of a ridge that
    no structure carries counts half to each of its two falls.
    """
    frame, framing = fall.frame, fall.frame.part.framing
    lines = [line for line in fall.lines if line.posts_m.size]
    along, at_most = 0, framing.post_spacing_m
    if is_long(float(np.diff(frame.places_m).max(initial=0.0)), at_most):
        along = sum(missing(frame.places_m, run, at_most) for line in lines for run in line.runs)
    up: float = missing(frame.lines.held_m, (0.0, frame.run_m), framing.purlin_spacing_m)
    if up and frame.shares_ridge and not frame.ends_at_ridge:
        up += 0.5
    field = sum(not line.zone for line in lines)
    return along + (up * (fall.posts + along) / field if field else 0.0)


def missing(places: Array, run: Interval, at_most_m: float) -> int:
    """Return the places that bays longer than stated lack within a run.

    Examples
    --------
    Ten bays of 6 ft where 5 ft is stated are twelve; one bay of 8 ft is two:

    >>> missing(np.arange(0.0, 61.0, 6.0), (0.0, 60.0), 5.0)
    2
    >>> missing(np.array([0.0, 8.0, 13.0, 18.0]), (0.0, 18.0), 5.0)
    1
    """
    lacking = 0
    bays = zip(pairwise(places.tolist()), pairwise(np.clip(places, *run).tolist()), strict=True)
    for long, group in groupby(bays, lambda bay: is_long(bay[0][1] - bay[0][0], at_most_m)):
        held = [high - low for _, (low, high) in group if high - low > TOUCH_M]
        if long and held:
            lacking += max(spaces(math.fsum(held), at_most_m) - len(held), 0)
    return lacking


def is_long(bay_m: float, at_most_m: float) -> bool:
    """Tell whether a bay is longer than stated."""
    return bay_m > at_most_m * (1 + 1e-6)
