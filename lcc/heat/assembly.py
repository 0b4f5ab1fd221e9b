"""Layers made into resistances and heat capacities, and the steady U-values of an assembly."""

from dataclasses import dataclass, replace
from functools import lru_cache
from math import exp
from typing import Any

from lcc import tables
from lcc.case.layers import Assembly, Layer
from lcc.errors import CaseError, within
from lcc.heat import iso6946
from lcc.heat.corrections import Films, ResolvedLayer, corrected
from lcc.heat.iso6946 import R_SE, R_SI, Direction

WATER_DENSITY = 1000.0
WATER_SPECIFIC_HEAT = 4180.0
# For layers with own properties: as mineral wool, ISO 10456:2007 table 4 (from memory).
MOISTURE_FACTOR = 4.0
LEAST_KEPT = 0.8  # of the dry resistance; Tobiasson (from memory)


@dataclass(frozen=True)
class Steady:
    """Steady figures of an assembly, with the steel that passes through it."""

    u_up_w_m2k: float
    u_down_w_m2k: float
    u_w_m2k: float
    resistance_m2k_w: float
    fastener_share: float


@lru_cache(maxsize=4096)
def thermal_layer(layer: Layer, direction: Direction = "horizontal") -> ResolvedLayer:
    """Return a layer's resistance and heat capacity from its material or its own properties.

    Raises
    ------
    CaseError
        Where the layer says too little, or two things at once.

    Notes
    -----
    Moisture leaves `kept_when_wet` of the resistance and adds the heat capacity of the water;
    joints lower the resistance by the stated part.

    Examples
    --------
    >>> thermal_layer(Layer(thickness_m=0.1, conductivity_w_mk=0.04, density_kg_m3=20,
    ...               specific_heat_j_kgk=1470)).resistance_m2k_w
    2.5
    """
    _check_one_thing(layer)
    if layer.air_gap_m is not None:
        resistance = iso6946.air_layer_resistance(layer.air_gap_m, direction)
        return ResolvedLayer("air", "air", layer.air_gap_m, resistance, 0.0)
    dry = _dry(layer)
    water = layer.moisture * dry.thickness_m * WATER_DENSITY * WATER_SPECIFIC_HEAT
    keeps = kept_when_wet(layer) * (1 - layer.joint_loss)
    return replace(
        dry,
        resistance_m2k_w=dry.resistance_m2k_w * keeps,
        capacity_j_m2k=dry.capacity_j_m2k + water,
    )


def _check_one_thing(layer: Layer) -> None:
    """Refuse a layer that says two things at once, one of which would be ignored."""
    solid = (
        layer.material, layer.thickness_m, layer.conductivity_w_mk, layer.density_kg_m3,
        layer.specific_heat_j_kgk, layer.resistance_m2k_w, layer.fasteners,
    )  # fmt: skip
    surveyed = layer.taper_m + layer.moisture + layer.joint_loss > 0
    if layer.air_gap_m is None:
        if layer.air_openings_mm2_m2 > 0:
            raise CaseError("air_openings", layer.air_openings_mm2_m2, "0 where the layer is solid")
    elif surveyed or any(each is not None for each in solid):
        allowed = "an air layer alone, without material, properties, taper, water, joints or steel"
        raise CaseError("air_gap", layer.air_gap_m, allowed)
    if layer.resistance_m2k_w is not None and layer.conductivity_w_mk is not None:
        raise CaseError("resistance", layer.resistance_m2k_w, "nothing beside a conductivity")


def _dry(layer: Layer) -> ResolvedLayer:
    massive = (layer.material, layer.density_kg_m3, layer.specific_heat_j_kgk)
    if layer.resistance_m2k_w is not None and not any(massive):
        # Without mass; a thickness then counts for taper, water and steel alone.
        plain = layer.thickness_m or 0.0
        return ResolvedLayer("resistance", "other", plain, layer.resistance_m2k_w, 0.0)
    row = tables.rows("materials")[layer.material] if layer.material else {}
    thickness = _first(layer.thickness_m, row.get("thickness_m"))
    if thickness is None:
        raise CaseError("thickness", None, "a thickness above 0 for this material")
    capacity = _property(layer.density_kg_m3, row, "density_kg_m3", "density") * _property(
        layer.specific_heat_j_kgk, row, "specific_heat_j_kgk", "specific_heat"
    )
    resistance = _resistance(layer, row, thickness)
    name = str(row.get("name", "own properties"))
    return ResolvedLayer(
        name, str(row.get("role", "other")), thickness, resistance, capacity * thickness
    )


def _resistance(layer: Layer, row: dict[Any, Any], thickness: float) -> float:
    if layer.resistance_m2k_w is not None:
        return layer.resistance_m2k_w
    fixed = row.get("resistance_m2k_w")
    if fixed is not None and layer.conductivity_w_mk is None:
        # The table's resistance belongs to the table's thickness.
        return float(fixed) * thickness / float(row["thickness_m"] or thickness)
    conductivity = _property(layer.conductivity_w_mk, row, "conductivity_w_mk", "conductivity")
    return thickness / conductivity


def _property(own: float | None, row: dict[Any, Any], column: str, field: str) -> float:
    value = _first(own, row.get(column))
    if value is None:
        raise CaseError(field, None, "a material, or a value of its own")
    return value


def _first(*values: Any) -> float | None:
    return next((float(value) for value in values if value is not None), None)


def kept_when_wet(layer: Layer) -> float:
    """Return the part of its dry resistance that a layer keeps with its moisture.

    Notes
    -----
    exp(-f ψ), ψ the volume of water per volume and f the material's conversion factor, which
    the standard gives for ψ up to 0.10 or 0.15 (from memory); beyond, it is carried on. Wet
    insulation that keeps less than 0.8 is replaced (Tobiasson, from memory).

    References
    ----------
    ISO 10456:2007, 7.3 and table 4.

    Examples
    --------
    >>> round(kept_when_wet(Layer(material="eps-board", moisture=0.05)), 3)
    0.819
    """
    row = tables.rows("materials")[layer.material] if layer.material else {}
    factor = _first(row.get("moisture_factor"), MOISTURE_FACTOR)
    return exp(-float(factor or 0) * layer.moisture)


@lru_cache(maxsize=1024)
def resolved_layers(
    assembly: Assembly, direction: Direction = "horizontal"
) -> tuple[ResolvedLayer, ...]:
    """Return the layers outside to inside, with moisture, openings, tapers and steel in them.

    Raises
    ------
    CaseError
        From a layer, with its place in the field.
    """
    if not assembly.layers:
        raise CaseError("layers", [], "at least one layer")
    solid = []
    for index, layer in enumerate(assembly.layers):
        with within("layers", index):
            solid.append(thermal_layer(layer, direction))
    with within("layers"):
        return corrected(solid, assembly.layers, _films(assembly, direction))


def _films(assembly: Assembly, direction: Direction) -> Films:
    inside = assembly.inside_resistance_m2k_w
    outside = assembly.outside_resistance_m2k_w
    sheltered = R_SI[direction]
    return Films(
        sheltered if inside is None else inside, R_SE if outside is None else outside, sheltered
    )


@lru_cache(maxsize=1024)
def steady(assembly: Assembly) -> Steady:
    """Return the steady U-values of an assembly: heat up, heat down, and with given films.

    Returns
    -------
    Steady
        `u_w_m2k` has the surface resistances given, or the horizontal ones; `resistance_m2k_w`
        is surface to surface; `fastener_share` the part of that U that steel adds.

    Notes
    -----
    A vented cavity and its panel are not part of the steady figures: the lower face counts as
    the outer surface, sheltered, with the same outside resistance.

    References
    ----------
    ISO 6946:2017, 6.7, 6.9, annex E (tapers) and annex F (fasteners).

    Examples
    --------
    Insulation of 20 h·ft²·°F/Btu (3.522 m²K/W) alone, films 0.17 and 0.04:

    >>> round(steady(Assembly(layers=(Layer(resistance_m2k_w=3.522),))).u_down_w_m2k, 3)
    0.268
    """
    up = _u_value(assembly, "up")
    down = _u_value(assembly, "down")
    level = _u_value(assembly, "horizontal")
    bare = level
    if any(layer.fasteners for layer in assembly.layers):
        bare_layers = tuple(replace(layer, fasteners=None) for layer in assembly.layers)
        bare = _u_value(replace(assembly, layers=bare_layers), "horizontal")
    films = _films(assembly, "horizontal")
    resistance = 1 / level - films.inside - films.outside
    return Steady(up, down, level, resistance, 1 - bare / level)


def _u_value(assembly: Assembly, direction: Direction) -> float:
    layers, films = resolved_layers(assembly, direction), _films(assembly, direction)
    return 1 / (sum(layer.resistance_m2k_w for layer in layers) + films.inside + films.outside)
