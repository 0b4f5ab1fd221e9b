"""What a survey takes from the retrofit that it belongs to, and what its price leaves undone."""

from __future__ import annotations

import math
from dataclasses import replace

from lcc import tables
from lcc.case.alternatives import MetalRetrofit
from lcc.case.fields import BASES, Basis
from lcc.case.framing import Framing
from lcc.case.layers import Layer
from lcc.errors import within
from lcc.heat.assembly import resolve
from lcc.quantities.openings import LEAST_CLEAR_M
from lcc.results.assumption import Assumption


def units_left(retrofit: MetalRetrofit, rooftop_units: int) -> int:
    """Return how many of a roof's units the retrofit's price leaves to be lifted.

    Notes
    -----
    A survey's first cost lifts the units that the survey counts; an entered price lifts none.

    Examples
    --------
    >>> from lcc.case.framing import Rectangle
    >>> counted = Framing((Rectangle(10.0, 10.0),), rooftop_units=4)
    >>> units_left(MetalRetrofit(framing=counted), 6)
    2
    >>> units_left(MetalRetrofit(framing=counted, price_per_m2=150.0), 6)
    6
    """
    if retrofit.framing is None or retrofit.price_per_m2 is not None:
        return rooftop_units
    return max(0, rooftop_units - retrofit.framing.rooftop_units)


def survey(retrofit: MetalRetrofit) -> Framing | None:
    """Return a retrofit's survey, insulation that it leaves unset being that of the layers.

    Notes
    -----
    The layers laid on the old roof give their thickness together and their mean density, so that
    neither is entered twice.
    """
    framing = retrofit.framing
    if framing is None or framing.insulation_thickness_m is not None:
        return framing
    solid = [(resolve(layer).thickness_m, _layer_density(layer)) for layer in retrofit.layers]
    thickness = laid_thickness_m(retrofit)
    weighed = [(depth, density) for depth, density in solid if density is not None]
    with within("framing"):
        if framing.insulation_density_kg_m3 is None and weighed and thickness > 0:
            mean = math.fsum(depth * density for depth, density in weighed) / thickness
            framing = replace(framing, insulation_density_kg_m3=mean)
        return replace(framing, insulation_thickness_m=thickness)


def laid_thickness_m(retrofit: MetalRetrofit) -> float:
    """Return the thickness of the layers laid on the old roof together [m]."""
    return math.fsum(resolve(layer).thickness_m for layer in retrofit.layers)


def room_m(retrofit: MetalRetrofit) -> float | None:
    """Return how thick the first layer on the old roof may be [m] to fit under the panel.

    None where no survey limits it: there is none, or it states its own insulation.
    """
    framing = retrofit.framing
    if framing is None or not retrofit.layers or framing.insulation_thickness_m is not None:
        return None
    eave = framing.lowest_post_m + framing.purlin_depth_m - LEAST_CLEAR_M
    return eave - (laid_thickness_m(retrofit) - resolve(retrofit.layers[0]).thickness_m)


def from_layers(
    assumptions: tuple[Assumption, ...], retrofit: MetalRetrofit
) -> tuple[Assumption, ...]:
    """Return a takeoff's assumptions, of which insulation left unset is said to be the layers'."""
    rows = tables.rows("materials")
    bases: list[Basis] = [rows[each.material]["basis"] for each in retrofit.layers if each.material]
    weakest: Basis = max(bases, key=BASES.index) if bases else "entered"
    given: dict[str, Basis] = {}
    if retrofit.framing and retrofit.framing.insulation_thickness_m is None:
        given["framing.insulation_thickness"] = "entered"
        if retrofit.framing.insulation_density_kg_m3 is None:
            given["framing.insulation_density"] = weakest
    return tuple(
        replace(each, basis=given[each.field], source="the layers laid on the old roof")
        if each.field in given
        else each
        for each in assumptions
    )


def _layer_density(layer: Layer) -> float | None:
    if layer.density_kg_m3 is not None or layer.material is None:
        return layer.density_kg_m3
    return float(tables.rows("materials")[layer.material]["density_kg_m3"])
