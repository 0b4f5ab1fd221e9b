"""What a survey holds in numbers, lengths, areas and openings, before money and weight."""

from dataclasses import dataclass
from functools import lru_cache

from lcc.case.framing import Framing
from lcc.quantities.bracing import bracing_rows
from lcc.quantities.cut_list import cut_list
from lcc.quantities.drainage import drainage
from lcc.quantities.engineer_questions import questions
from lcc.quantities.members import members, services, surface
from lcc.quantities.openings import cavity
from lcc.quantities.roof_frame import roof_frame
from lcc.quantities.set_out import along_edges, laid, set_out
from lcc.quantities.snow_and_drift import drifts, roof_snow
from lcc.quantities.trims import trims
from lcc.results.takeoff_result import (
    AlongRow,
    BracingRow,
    CavityShape,
    CutPiece,
    Drainage,
    DriftPlace,
    Edges,
    LaidRow,
    Members,
    Services,
    SetOutRow,
    Surface,
    TrimRow,
    WindZone,
)


@dataclass(frozen=True)
class Measured:
    """The geometry of a survey."""

    surface: Surface
    cut_list: tuple[CutPiece, ...]
    set_out: tuple[SetOutRow, ...]
    laid: tuple[LaidRow, ...]
    along: tuple[AlongRow, ...]
    bracing: tuple[BracingRow, ...]
    members: Members
    edges: Edges
    trims: tuple[TrimRow, ...]
    cavity: CavityShape
    services: Services
    wind_zones: tuple[WindZone, ...]
    roof_snow_kg_m2: float | None
    drifts: tuple[DriftPlace, ...]
    drainage: tuple[Drainage, ...]
    questions: tuple[str, ...]


@lru_cache(maxsize=32)
def measure(framing: Framing) -> Measured:
    """Return the geometry of a survey; a few are remembered, as prices are tried over one."""
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
