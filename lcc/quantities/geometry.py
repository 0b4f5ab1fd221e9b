"""What a survey holds in numbers, lengths, areas and openings, before money and weight."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from lcc.case.framing import Framing
from lcc.quantities.members import members, schedule, services, surface
from lcc.quantities.openings import cavity
from lcc.quantities.roof_frame import roof_frame
from lcc.results.takeoff_result import CavityShape, Edges, Members, PostRow, Services, Surface


@dataclass(frozen=True)
class Measured:
    """The geometry of a survey."""

    surface: Surface
    posts: tuple[PostRow, ...]
    members: Members
    edges: Edges
    cavity: CavityShape
    services: Services


@lru_cache(maxsize=32)
def measure(framing: Framing) -> Measured:
    """Return the geometry of a survey; a few are remembered, as prices are tried over one."""
    roof = roof_frame(framing)
    areas = surface(roof)
    return Measured(
        surface=areas,
        posts=schedule(roof),
        members=members(roof),
        edges=roof.edges.total(),
        cavity=cavity(roof),
        services=services(framing, areas.plan_area_m2),
    )
