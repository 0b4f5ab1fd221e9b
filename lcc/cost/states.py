"""The states that a roof goes through, as assemblies for the heat calculation."""

from __future__ import annotations

from dataclasses import replace

from lcc import tables
from lcc.case.layers import Assembly, Layer
from lcc.case.roof import Roof
from lcc.heat.assembly import resolve
from lcc.heat.corrections import ResolvedLayer

BOARD = "polyiso-board"
# A layer given by its own properties counts as insulation from this resistance on [m²K/W].
INSULATING = 0.3


def today(roof: Roof) -> Assembly:
    """Return the roof as it is, with the entered face or that of its covering."""
    return faced("Roof today", roof.layers, roof.covering, roof)


def faced(
    name: str, layers: tuple[Layer, ...], covering: str, face: object | None = None
) -> Assembly:
    """Return layers under the face of a covering, unless `face` states its own."""
    row = tables.rows("coverings")[covering]
    reflectance = getattr(face, "solar_reflectance", None)
    emittance = getattr(face, "thermal_emittance", None)
    return Assembly(
        name,
        layers,
        float(row["solar_reflectance"] if reflectance is None else reflectance),
        float(row["thermal_emittance"] if emittance is None else emittance),
    )


def covering_layer(covering: str) -> Layer:
    """Return the layer that a covering or coating adds to the roof."""
    row = tables.rows("coverings")[covering]
    return Layer(material=str(row["material"]), thickness_m=float(row["thickness_m"]))


def without_coverings(layers: tuple[Layer, ...]) -> tuple[Layer, ...]:
    """Return what is left after tear-off: no covering, no loose gravel."""
    return tuple(
        layer
        for layer in layers
        if layer.material != "gravel" and resolve(layer).role != "covering"
    )


def is_insulation(layer: Layer) -> bool:
    """Tell whether a layer counts as insulation above the deck."""
    solid = resolve(layer)
    if layer.material is None:
        return solid.role != "air" and solid.resistance_m2k_w >= INSULATING
    return solid.role in ("insulation", "board")


def dried(layers: tuple[Layer, ...]) -> tuple[Layer, ...]:
    """Return the layers with the wet insulation replaced by dry."""
    return tuple(
        replace(layer, moisture=0.0) if is_insulation(layer) else layer for layer in layers
    )


def insulation_m2k_w(layers: tuple[Layer, ...]) -> float:
    """Return the R-value of the insulation above the deck, dry [m²K/W].

    Examples
    --------
    Two inches of board of 0.0258 W/mK.

    >>> round(insulation_m2k_w((Layer(material="polyiso-board", thickness_m=0.0508),)), 2)
    1.97
    """
    kept = [layer for layer in dried(layers) if is_insulation(layer)]
    return sum(resolve(layer).resistance_m2k_w for layer in kept)


def added_insulation(resistance_m2k_w: float) -> Layer:
    """Return the board that adds a resistance."""
    conductivity = float(tables.rows("materials")[BOARD]["conductivity_w_mk"])
    return Layer(material=BOARD, thickness_m=resistance_m2k_w * conductivity)


def insulation_mass_kg_m2(layers: tuple[Layer, ...]) -> float:
    """Return the mass of the insulation with the water in it [kg/m²]."""
    return sum(_mass(layer, resolve(layer)) for layer in layers if is_insulation(layer))


def _mass(layer: Layer, solid: ResolvedLayer) -> float:
    row = tables.rows("materials").get(layer.material or "", {})
    density = layer.density_kg_m3 or float(row.get("density_kg_m3") or 0)
    return solid.thickness_m * (density + 1000.0 * layer.moisture)
