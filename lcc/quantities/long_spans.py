"""Where the structure is farther apart than stated, bay by bay: heavier members."""

import math
from collections.abc import Iterator

import numpy as np

from lcc.quantities.roof_frame import FramedFall, RoofFrame


def more_steel(ratio: float) -> float:
    """Return what a longer span than stated adds to a member, over the stated one.

    Notes
    -----
    The bending moment of a span, and so the steel that carries it, grows with its square.
    """
    return ratio**2 - 1 if ratio > 1 + 1e-9 else 0.0


def allowances_m(roof: RoofFrame) -> Iterator[tuple[int, float]]:
    """Yield what longer spans than stated add, by part, as lengths of the stated purlin [m]."""
    for fall in roof.falls:
        yield fall.frame.part.index, _heavier_m(fall)
    for each in roof.wing_posts:
        at_most = each.frame.part.post_spacing_m
        for long in each.headers_m:
            yield each.frame.part.index, long * more_steel(long / at_most)


def _heavier_m(fall: FramedFall) -> float:
    """Return what bays longer than stated add, as lengths of the stated purlin [m]."""
    frame, at_most = fall.frame, fall.frame.part.post_spacing_m
    bays = np.diff(frame.places_m)
    each = bays * [more_steel(bay / at_most) for bay in bays.tolist()]
    added = np.concatenate([[0.0], np.cumsum(each)])
    runs = np.array([run for line in fall.lines for run in line.runs]).reshape(-1, 2)
    purlins = np.diff(np.interp(runs, frame.places_m, added), axis=1).sum()
    return float(purlins) + _heavier_cross_m(fall)


def _heavier_cross_m(fall: FramedFall) -> float:
    """Return the same for cross members, each by the space that it spans up the slope [m]."""
    frame, at_most = fall.frame, fall.frame.part.post_spacing_m
    ends = frame.lines.held_m
    more = [more_steel(bay / at_most) for bay in np.diff(ends).tolist()]
    added = (len(frame.stations.at_m) * frame.cross_bays_m * more).tolist()
    added += [line.cross_members * line.cross_each_m
              * more[min(int(ends.searchsorted(line.from_eave_m)), len(more)) - 1]
              for line in fall.lines if line.cross_members]  # fmt: skip
    return math.fsum(added)


def is_long(bay_m: float, at_most_m: float) -> bool:
    """Tell whether a bay is longer than stated."""
    return bay_m > at_most_m * (1 + 1e-6)
