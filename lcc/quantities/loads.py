"""The dead load that the retrofit adds to the old roof, component by component."""

import math
from collections.abc import Iterable, Mapping

from lcc.arrays import Array
from lcc.case.framing import Framing
from lcc.quantities.cut_list import valley_supports
from lcc.quantities.drainage import discharges_into, valley_waters
from lcc.quantities.part_weights import PANEL_AND_FRAMING, density
from lcc.quantities.roof_frame import RoofFrame
from lcc.results.takeoff_result import Load, Measured, Valley


def loads(masses: Mapping[str, Array], plan_m2: float) -> tuple[Load, ...]:
    """Return the added mass of every component [kg] and over the plan area [kg/m²], all parts."""
    sums = ((name, float(each.sum())) for name, each in masses.items())
    return tuple(Load(name, mass, mass / plan_m2) for name, mass in sums)


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
