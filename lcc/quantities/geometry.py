"""What a survey holds in numbers, lengths, areas and openings, before money and weight."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from lcc.case.framing import Framing
from lcc.quantities.edges import edges
from lcc.quantities.framing_layout import layouts
from lcc.quantities.members import members, schedule, services, surface
from lcc.quantities.openings import cavity
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
    rectangles = layouts(framing)
    areas = surface(rectangles)
    return Measured(
        surface=areas,
        posts=schedule(rectangles),
        members=members(rectangles),
        edges=edges(rectangles),
        cavity=cavity(rectangles),
        services=services(framing, areas.plan_area_m2),
    )
