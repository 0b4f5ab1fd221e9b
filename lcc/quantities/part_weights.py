"""The dead load by part: each component weighs where its own part's frame carries it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from lcc import tables
from lcc.arrays import Array
from lcc.case.framing import Framing
from lcc.quantities.cut_list import valley_supports
from lcc.quantities.long_spans import allowances_m
from lcc.quantities.openings import ventilators
from lcc.quantities.polygons import area
from lcc.quantities.purlin_pieces import valley_splices_m
from lcc.quantities.roof_frame import FramedFall, RoofFrame
from lcc.results.takeoff_result import Measured, PartLoad

BLANKET = "glass-fibre-blanket"
LONG_SPANS = "Allowance for members of long spans"
# What the trade's usual weight of "panel and light framing" counts.
PANEL_AND_FRAMING = ("Panels", "Posts", "Purlins", "Bracing", "Clips")


@dataclass(frozen=True)
class PartWeights:
    """Load that every part adds over the roof that it frames, and what hangs on its posts."""

    added_kg_m2: Array
    hung_kg_m2: Array


def part_weights(masses: Mapping[str, Array], roof: RoofFrame) -> PartWeights:
    """Return the load that every part adds by the masses of its components."""
    framed, hung = _framed_m2(roof), [masses[name] for name in PANEL_AND_FRAMING]
    return PartWeights(
        sum(masses.values(), 0.0 * framed) / framed, sum(hung, 0.0 * framed) / framed
    )


def _framed_m2(roof: RoofFrame) -> Array:
    """Return the plan area that every part frames [m²], over its neighbours too."""
    return _summed(roof, ((one.part, area(one.polygon)) for one in roof.facets))


def part_loads(
    roof: RoofFrame, weights: PartWeights, stone_kg_m2: Iterable[float], torn_off_kg: float
) -> tuple[PartLoad, ...]:
    """Return what stands on the old roof of every part, and what is taken off it.

    Notes
    -----
    A wing that runs on over its neighbour loads the neighbour there. A wet area that is torn out
    has no place in the survey: it counts by area.
    """
    added = _summed(roof, ((one.over, area(one.polygon) * float(weights.added_kg_m2[one.part]))
                           for one in roof.facets)).tolist()  # fmt: skip
    found = []
    for part, kg, stone in zip(roof.parts, added, stone_kg_m2, strict=True):
        plan = part.rectangle.area_m2
        off = stone + torn_off_kg / roof.framing.plan_m2
        found.append(PartLoad(part.index + 1, plan, kg, kg / plan, off * plan, kg / plan - off))
    return tuple(found)


def _summed(roof: RoofFrame, found: Iterable[tuple[int, float]]) -> Array:
    """Return the sum of every part's figures."""
    part, value = np.array(list(found)).reshape(-1, 2).T
    return np.bincount(part.astype(np.int64), value, minlength=len(roof.parts)).astype(float)


def masses_kg(roof: RoofFrame, measured: Measured) -> dict[str, Array]:
    """Return the added mass of every component, by the part whose frame carries it [kg].

    Notes
    -----
    Sheet and members by volume of metal times its density; rooftop units go back where they
    stood, so only their new curbs add to the load. Panels, posts, purlins, bracing and clips by
    what each part has of them, trims and walls by its edges, ventilators by its count. Insulation,
    and curbs, whose place is not surveyed, by area. The allowance for long spans is in no drawing:
    it loads the roof, and holds nothing down.
    """
    sums, framing = roof.edges, roof.framing
    sheet, steel = framing.panel_thickness_m * density(framing.panel_metal), density("steel")
    owner = np.array([one.part for one in roof.facets])[sums.upper].tolist()
    purlin = framing.purlin_section_m2 * steel
    frames = [(fall, fall.frame.part.index) for fall in roof.falls]
    even = (framed := _framed_m2(roof)) / framed.sum()
    clips = _summed(roof, ((part, fall.panels.clips(fall.lines)) for fall, part in frames))
    posts = ((part, float(line.heights_m.sum()) * framing.post_section_m2 * steel
              + len(line.posts_m) * framing.post_base_kg)
             for fall, part in frames for line in fall.lines)  # fmt: skip
    panels = _summed(roof, ((part, fall.frame.panel_area_m2) for fall, part in frames))
    braces = _summed(roof, ((part, fall.frame.bracing_m) for fall, part in frames))
    trims = _summed(roof, zip(owner, sums.trim_m.tolist(), strict=True))
    walls = _summed(roof, zip(owner, sums.wall_m2.tolist(), strict=True))
    aired = _summed(roof, ((each.part.index, ventilators(each)) for each in roof.shapes))
    found = {
        "Panels": panels * framing.panel_girth * sheet,
        "Posts": _summed(roof, posts),
        "Purlins": _summed(roof, _purlins_m(roof)) * purlin,
        LONG_SPANS: _summed(roof, allowances_m(roof)) * purlin,
        "Bracing": braces * framing.brace_section_m2 * steel,
        "Clips": clips * (measured.members.clips / clips.sum()) * framing.clip_kg,
        "Trims and gutters": trims * framing.trim_girth_m * sheet,
        "Walls": walls * framing.wall_kg_m2,
        "Insulation": even * measured.surface.insulation_volume_m3 * _insulation_density(framing),
        "Ventilators": aired * framing.ventilator_kg,
        "Curbs": even * measured.services.curbs * framing.curb_kg,
    }
    return {name: each for name, each in found.items() if name != LONG_SPANS or each.any()}


def _insulation_density(framing: Framing) -> float:
    if framing.insulation_density_kg_m3 is not None:
        return framing.insulation_density_kg_m3
    return float(tables.rows("materials")[BLANKET]["density_kg_m3"])


def _purlins_m(roof: RoofFrame) -> Iterator[tuple[int, float]]:
    """Yield all that is weighed as purlin, by the part that has it [m]."""
    framing = roof.framing
    for fall in roof.falls:
        yield fall.frame.part.index, _of_fall_m(fall)
    for each in roof.wing_posts:
        for long in each.headers_m:
            yield each.frame.part.index, long
    for _, stretch, long in valley_supports(roof):
        laps = len(valley_splices_m(long, framing)) * framing.purlin_lap_m
        yield roof.facets[roof.edges.upper[stretch]].part, long + laps


def density(metal: str) -> float:
    """Return the density of a metal [kg/m³].

    Examples
    --------
    >>> density("steel")
    7850.0
    """
    return float(tables.rows("metals")[metal]["density_kg_m3"])


def _of_fall_m(fall: FramedFall) -> float:
    splices = sum(len(run.splices_m) for run in fall.spliced_runs)
    purlins = sum(line.length_m for line in fall.lines)
    laps = splices * fall.frame.part.framing.purlin_lap_m
    return purlins + laps + fall.cross_members_m
