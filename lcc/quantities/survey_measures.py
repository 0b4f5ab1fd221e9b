"""What a survey holds in numbers, lengths, areas, openings and trims, before money and weight."""

from functools import lru_cache

import numpy as np

from lcc.arrays import Array
from lcc.case.framing import Framing
from lcc.case.rectangle import OPPOSITE
from lcc.quantities.bracing import bracing_rows
from lcc.quantities.cut_list import cut_list
from lcc.quantities.drainage import drainage
from lcc.quantities.engineer_questions import questions
from lcc.quantities.members import members, services, surface
from lcc.quantities.openings import cavity
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.roof_edges import FREE_EDGES, HIGH_EDGES, JOINTS, RAKES, side_of
from lcc.quantities.roof_frame import RoofFrame, roof_frame
from lcc.quantities.set_out import along_edges, laid, set_out
from lcc.quantities.snow_and_drift import drifts, roof_snow
from lcc.results.takeoff_result import Measured, TrimRow


@lru_cache(maxsize=32)
def measure(framing: Framing) -> Measured:
    """Return the measures of a survey; a few are remembered, as prices are tried over one."""
    roof = roof_frame(framing)
    areas, drains = surface(roof), drainage(roof)
    zones = roof.zones.table if roof.zones else ()
    drifting = drifts(roof)
    hired = services(roof, areas.plan_area_m2, drains)
    return Measured(
        surface=areas,
        cut_list=cut_list(roof, hired),
        set_out=set_out(roof),
        laid=laid(roof),
        along=along_edges(roof, drains),
        bracing=bracing_rows(roof),
        members=members(roof),
        edges=roof.edges.total(),
        trims=trims(roof),
        cavity=cavity(roof),
        services=hired,
        wind_zones=zones,
        roof_snow_kg_m2=roof_snow(roof),
        drifts=drifting,
        drainage=drains,
        questions=tuple(questions(roof, zones, drifting)),
    )


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
