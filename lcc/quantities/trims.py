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
    step, the higher one has its trim and the cladding of the wall, which faces outward from it,
    and the lower one the flashing at its foot.
    """
    sums = roof.edges
    found: dict[tuple[int, str], Array] = {}
    none = np.zeros(len(sums.role))
    above = np.stack([sums.lengths_m(*RAKES), sums.lengths_m(*HIGH_EDGES),
                      sums.hidden_m(*FREE_EDGES), none, sums.wall_m2], axis=1)  # fmt: skip
    below = np.stack([none, none, none, sums.lengths_m(*JOINTS), none], axis=1)
    for every, name in ((above, _edge), (below, _foot)):
        for k in np.flatnonzero(every.max(axis=1) > TOUCH_M).tolist():
            where = name(roof, k)
            found[where] = found.get(where, np.zeros(every.shape[1])) + every[k]
    return tuple(TrimRow(where, *sizes.tolist()) for (_, where), sizes in sorted(found.items()))


def _edge(roof: RoofFrame, k: int) -> tuple[int, str]:
    """Return the part whose edge a stretch is, and the words for it and the side that it faces."""
    part = roof.parts[roof.facets[roof.edges.upper[k]].over]
    return part.index, f"{part.name.capitalize()}, {side_of(roof.edges.outward[k])}"


def _foot(roof: RoofFrame, k: int) -> tuple[int, str]:
    """Return the lower part at a stretch, and the words for it and what stands against it."""
    sums = roof.edges
    upper, lower = (roof.parts[roof.facets[each[k]].over] for each in (sums.upper, sums.lower))
    side = side_of(sums.outward[k])
    against = f", against {upper.name}" if upper.index != lower.index else ""
    return lower.index, f"{lower.name.capitalize()}, {OPPOSITE[side]}{against}"
