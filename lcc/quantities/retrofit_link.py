"""What a survey takes from the retrofit that it belongs to, and what its price leaves undone."""

import math
from dataclasses import replace

from lcc.case.alternatives import Alternative, MetalRetrofit
from lcc.case.fields import BASES, Basis, Origin
from lcc.case.framing import Framing
from lcc.case.kept import kept
from lcc.case.layers import Layer
from lcc.case.other_work import SKYLIGHTS
from lcc.case.resolution import from_row
from lcc.case.roof import Roof
from lcc.errors import within
from lcc.heat.assembly import thermal_layer
from lcc.quantities.first_cost import unit_price
from lcc.quantities.openings import LEAST_CLEAR_M
from lcc.quantities.roof_planes import parts
from lcc.units.typed_quantities import both_loads

SURVEYED = "counted by the framing survey"
LAID = "the layers laid on the old roof"
COUNTS_ALL = 0.98  # of the wet area: a survey that tears out as much tears out all
# The source of what a price holds where it comes from a take-off.
TAKEOFF_HOLDS = "what the lines of the take-off hold"


def counted(retrofit: MetalRetrofit) -> dict[str, int]:
    """Return what the retrofit's price holds of a roof's counted things, by field of the roof.

    Notes
    -----
    A survey's first cost holds what the survey counts, a 0 only where it says so; an entered price
    holds none.

    Examples
    --------
    >>> from lcc.case.rectangle import Rectangle
    >>> plan = Framing((Rectangle(10.0, 10.0),), rooftop_units=4)
    >>> counted(MetalRetrofit(framing=plan))
    {'rooftop_units': 4}
    >>> counted(MetalRetrofit(framing=plan, price_per_m2=150.0))
    {}
    """
    framing = retrofit.framing
    return {} if framing is None or retrofit.quoted else _counts(framing)


def _counts(framing: Framing) -> dict[str, int]:
    """Return what a survey counts on the roof, by field of the roof; 0 only where it says so."""
    other = framing.other_work
    found = {
        "rooftop_units": (framing.rooftop_units, framing.states("rooftop_units")),
        "penetrations": (framing.penetrations, framing.states("penetrations")),
        "skylights": (other.skylights, other.states(*SKYLIGHTS)),
    }
    return {name: count for name, (count, said) in found.items() if count or said}


@kept(64)
def with_counts(roof: Roof, surveys: tuple[Framing, ...]) -> Roof:
    """Return the roof with what framing surveys count on it where it states no number itself.

    Notes
    -----
    What stands on the roof stands there for every alternative, whoever counted it. Of several
    surveys the highest count and the heaviest stone hold.

    Examples
    --------
    >>> from lcc.case import Layer
    >>> from lcc.case.rectangle import Rectangle
    >>> plan = Framing((Rectangle(10.0, 10.0),), rooftop_units=4)
    >>> bare = Roof(area_m2=100.0, layers=(Layer(material="steel-deck"),))
    >>> with_counts(bare, (plan,)).rooftop_units
    4
    """
    found: dict[str, tuple[int, Origin]] = {}
    for each in surveys:
        for name, count in _counts(each).items():
            if count > found.get(name, (-1, None))[0]:
                found[name] = count, Origin(_basis_of(each, name), SURVEYED)
    stone = max((stone_found(each) for each in surveys), default=(0.0, 0.0, ""))
    if stone[0]:
        roof = replace(roof, surveyed_stone=stone)
    return roof.filled(**{
        name: one for name, one in found.items() if not (roof.states(name) or getattr(roof, name))
    })  # fmt: skip


def stone_found(framing: Framing) -> tuple[float, float, str]:
    """Return a survey's loose stone [kg/m²] and its price [money/m²] over the plan, and where.

    The third is the parts that it lies on, in words; empty where it lies the same on all.
    """
    (stony_m2, stone_kg), plan_m2 = framing.stone, framing.plan_m2
    price = unit_price(framing.unit_prices, "ballast_per_m2").value
    loads = framing.stone_kg_m2
    where = [f"{both_loads(load)} on part {k}" for k, load in enumerate(loads, start=1) if load]
    apart = ", ".join(where) if len(set(loads)) > 1 else ""
    return stone_kg / plan_m2, price * stony_m2 / plan_m2, apart


def _basis_of(framing: Framing, name: str) -> Basis:
    """Return the basis of a survey's count, the weakest of those that it adds up."""
    if name != "skylights":
        return framing.origin(name).basis
    work = framing.other_work
    counted = [each for each in SKYLIGHTS if getattr(work, each)] or SKYLIGHTS
    return max((work.origin(each).basis for each in counted), key=BASES.index)


def left_to_do(roof: Roof, given: Alternative) -> Roof:
    """Return the roof without the counted things and wet area that the take-off already holds.

    `given` is the alternative as the case states it.
    """
    if not isinstance(given, MetalRetrofit):
        return roof
    held = counted(given)
    left = {name: max(0, getattr(roof, name) - count) for name, count in held.items()}
    roof = replace(roof, **left)
    if given.framing is None or given.quoted or not roof.wet_fraction:
        return roof
    torn_out = given.framing.wet_area_m2 / given.framing.plan_m2
    all_of_it = torn_out >= COUNTS_ALL * roof.wet_fraction
    return replace(roof, wet_fraction=0.0 if all_of_it else roof.wet_fraction - torn_out)


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
    return _over(framing, retrofit.layers)


@kept(32)
def _over(framing: Framing, layers: tuple[Layer, ...]) -> Framing:
    """Return a survey with the insulation of the layers laid on the old roof."""
    solid = [(thermal_layer(layer).thickness_m, _layer_density(layer)) for layer in layers]
    thickness = math.fsum(depth for depth, _ in solid)
    weighed = [(depth, density) for depth, density in solid if density is not None]
    with within("framing"):
        if framing.insulation_density_kg_m3 is None and weighed and thickness > 0:
            mean = math.fsum(depth * density for depth, density in weighed) / thickness
            origin = _origin_of(layers, "density_kg_m3")
            framing = framing.filled(insulation_density_kg_m3=(mean, origin))
        origin = _origin_of(layers, "thickness_m")
        return framing.filled(insulation_thickness_m=(thickness, origin))


def _origin_of(layers: tuple[Layer, ...], name: str) -> Origin:
    """Return the origin of what layers come to together: the weakest basis of them."""
    found = [(from_row(each, name), each) for each in layers]
    bases = [(row[1] if row and getattr(layer, name) is None else layer.origin(name)).basis
             for row, layer in found]  # fmt: skip
    return Origin(max(bases, key=BASES.index, default="entered"), LAID)


def laid_thickness_m(retrofit: MetalRetrofit) -> float:
    """Return the thickness of the layers laid on the old roof together [m]."""
    return math.fsum(thermal_layer(layer).thickness_m for layer in retrofit.layers)


def room_m(retrofit: MetalRetrofit) -> float | None:
    """Return how thick the first layer on the old roof may be [m] to fit under the panel.

    None where no survey limits it: there is none, or it states its own insulation.
    """
    framing = retrofit.framing
    if framing is None or not retrofit.layers or framing.insulation_thickness_m is not None:
        return None
    lowest = min(part.lowest_post_m for part in parts(framing))
    eave = lowest + framing.purlin_depth_m - LEAST_CLEAR_M
    return eave - (laid_thickness_m(retrofit) - thermal_layer(retrofit.layers[0]).thickness_m)


def _layer_density(layer: Layer) -> float | None:
    found = from_row(layer, "density_kg_m3")
    return layer.density_kg_m3 or (found[0] if found else None)
