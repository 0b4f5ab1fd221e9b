"""Trims, flashings and wall cladding by part and edge, as the bill has them in sum."""

import numpy as np

from lcc.arrays import Array
from lcc.case.rectangle import OPPOSITE
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.roof_edges import FREE_EDGES, HIGH_EDGES, JOINTS, RAKES, side_of
from lcc.quantities.roof_frame import RoofFrame
from lcc.results.takeoff_result import TrimRow


def trims(roof: RoofFrame) -> tuple[TrimRow, ...]:
    """Return what every edge of every part takes of trim, flashing and cladding.

    Notes
    -----
    The sums are those of `lcc.quantities.roof_edges.EdgeSums.total`. Where two roofs meet in a
    step, the higher one has the trim over the wall, the lower one the flashing and the cladding.
    """
    sums = roof.edges
    found: dict[tuple[int, str], Array] = {}
    every = np.stack([
        sums.lengths_m(*RAKES), sums.lengths_m(*HIGH_EDGES), sums.hidden_m(*FREE_EDGES),
        sums.lengths_m(*JOINTS), sums.wall_m2,
    ], axis=1)  # fmt: skip
    for k in np.flatnonzero(every.max(axis=1) > TOUCH_M).tolist():
        where = _edge(roof, k)
        found[where] = found.get(where, np.zeros(every.shape[1])) + every[k]
    return tuple(TrimRow(where, *sizes.tolist()) for (_, where), sizes in sorted(found.items()))


def _edge(roof: RoofFrame, k: int) -> tuple[int, str]:
    """Return the part that has what a stretch takes, and the words for it and its edge."""
    sums = roof.edges
    upper, side = roof.parts[roof.facets[sums.upper[k]].over], side_of(sums.outward[k])
    if sums.role[k] not in ("step", "wall-gutter", "break"):
        return upper.index, f"{upper.name.capitalize()}, {side}"
    lower = roof.parts[roof.facets[sums.lower[k]].over]
    against = f", against {upper.name}" if upper.index != lower.index else ""
    return lower.index, f"{lower.name.capitalize()}, {OPPOSITE[side]}{against}"
