"""The dead load that the retrofit adds to the old roof, component by component."""

import math
from collections.abc import Iterable

from lcc import tables
from lcc.case.framing import Framing
from lcc.quantities.cut_list import valley_supports
from lcc.quantities.drainage import discharges_into, valley_waters
from lcc.quantities.geometry import Measured
from lcc.quantities.members import as_purlin_m
from lcc.quantities.part_weights import LONG_SPANS, PANEL_AND_FRAMING, density
from lcc.quantities.roof_frame import RoofFrame, roof_frame
from lcc.results.takeoff_result import Load, Valley

BLANKET = "glass-fibre-blanket"


def loads(framing: Framing, measured: Measured) -> tuple[Load, ...]:
    """Return the added mass of every component [kg] and over the plan area [kg/m²].

    Notes
    -----
    Sheet and members by volume of metal times its density; rooftop units go back where they
    stood, so only their new curbs add to the load. What is taken off is `removed`, apart. The
    allowance for long spans is in no drawing: it loads the roof, and holds nothing down.
    """
    edges, members = measured.edges, measured.members
    longer = members.heavier_purlins_m
    sheet = framing.panel_thickness_m * density(framing.panel_metal)
    steel = density("steel")
    trims = float(roof_frame(framing).edges.trim_m.sum())
    masses = {
        "Panels": measured.surface.panel_area_m2 * framing.panel_girth * sheet,
        "Posts": members.posts_height_m * framing.post_section_m2 * steel
        + members.posts * framing.post_base_kg,
        "Purlins": (as_purlin_m(members) - longer) * framing.purlin_section_m2 * steel,
        **({LONG_SPANS: longer * framing.purlin_section_m2 * steel} if longer else {}),
        "Bracing": members.bracing_m * framing.brace_section_m2 * steel,
        "Clips": members.clips * framing.clip_kg,
        "Trims and gutters": trims * framing.trim_girth_m * sheet,
        "Walls": edges.walls_m2 * framing.wall_kg_m2,
        "Insulation": measured.surface.insulation_volume_m3 * _insulation_density(framing),
        "Ventilators": measured.cavity.ventilators * framing.ventilator_kg,
        "Curbs": measured.services.curbs * framing.curb_kg,
    }
    plan = measured.surface.plan_area_m2
    return tuple(Load(name, mass, mass / plan) for name, mass in masses.items())


def hung_kg_m2(added: Iterable[Load]) -> float:
    """Return the added load of panel and framing over the plan [kg/m²]."""
    return math.fsum(each.load_kg_m2 for each in added if each.component in PANEL_AND_FRAMING)


def removed(framing: Framing, measured: Measured) -> tuple[Load, ...]:
    """Return what is taken off the old roof: loose stone, and the wet area torn out."""
    plan, services = measured.surface.plan_area_m2, measured.services
    masses = {
        f"Loose stone, {_stony(framing)}": framing.stone[1],
        "Wet area torn out": framing.other_work.torn_off_kg_m2 * services.tear_out_m2,
    }
    return tuple(Load(name, mass, mass / plan) for name, mass in masses.items() if mass)


def _stony(framing: Framing) -> str:
    """Return where loose stone lies: over the whole roof, or on which parts."""
    parts = [f"part {k}" for k, load in enumerate(framing.stone_kg_m2, start=1) if load]
    return "over the whole roof" if len(parts) == len(framing.rectangles) else ", ".join(parts)


def valleys(roof: RoofFrame) -> tuple[Valley, ...]:
    """Return every sloping valley with its support, which is weighed as one line of purlin."""
    per_m = roof.framing.purlin_section_m2 * density("steel")
    supports, waters = valley_supports(roof), valley_waters(roof)
    return tuple(
        Valley(mark, between, long, long * per_m, drained, discharges_into(roof, gutter))
        for (mark, _, long), (between, drained, gutter, _) in zip(supports, waters, strict=True)
    )


def _insulation_density(framing: Framing) -> float:
    if framing.insulation_density_kg_m3 is not None:
        return framing.insulation_density_kg_m3
    return float(tables.rows("materials")[BLANKET]["density_kg_m3"])
