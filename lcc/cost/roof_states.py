"""The states a roof goes through as assemblies, and what all programmes of one roof share."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lcc import tables
from lcc.case import Coating, Membrane, Prices, Roof
from lcc.case.fields import known
from lcc.case.layers import Assembly, Layer
from lcc.case.resolution import from_row, resolve
from lcc.cost.work import DISRUPTION, UNITS, Step, Work
from lcc.heat.assembly import thermal_layer
from lcc.heat.corrections import ResolvedLayer

BOARD = "polyiso-board"
# A layer given by its own properties counts as insulation from this resistance on [m²K/W].
INSULATING = 0.3


def today(roof: Roof) -> Assembly:
    """Return the roof as it is, with the entered face or that of its covering."""
    return faced("Roof today", roof.layers, resolve(roof))


def faced(name: str, layers: tuple[Layer, ...], face: Roof | Membrane | Coating) -> Assembly:
    """Return layers under the face of the roof or of what is laid on it."""
    return Assembly(
        name, layers, known(face.solar_reflectance), known(face.thermal_emittance),
        str(tables.rows("coverings")[face.covering]["roughness"]),
    )  # fmt: skip


def covering_layer(covering: str) -> Layer:
    """Return the layer that a covering or coating adds to the roof."""
    row = tables.rows("coverings")[covering]
    return Layer(material=str(row["material"]), thickness_m=float(row["thickness_m"]))


def without_coverings(layers: tuple[Layer, ...]) -> tuple[Layer, ...]:
    """Return what is left after tear-off: no covering, no loose gravel."""
    return tuple(
        layer
        for layer in layers
        if layer.material != "gravel" and thermal_layer(layer).role != "covering"
    )


def is_insulation(layer: Layer) -> bool:
    """Tell whether a layer counts as insulation above the deck."""
    solid = thermal_layer(layer)
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
    return sum(thermal_layer(layer).resistance_m2k_w for layer in kept)


def added_insulation(resistance_m2k_w: float) -> Layer:
    """Return the board that adds a resistance."""
    conductivity = float(tables.rows("materials")[BOARD]["conductivity_w_mk"])
    return Layer(material=BOARD, thickness_m=resistance_m2k_w * conductivity)


def insulation_mass_kg_m2(layers: tuple[Layer, ...]) -> float:
    """Return the mass of the insulation with the water in it [kg/m²]."""
    return sum(_mass(layer, thermal_layer(layer)) for layer in layers if is_insulation(layer))


def _mass(layer: Layer, solid: ResolvedLayer) -> float:
    found = from_row(layer, "density_kg_m3")
    density = layer.density_kg_m3 or (found[0] if found else 0.0)
    return solid.thickness_m * (density + 1000.0 * layer.moisture)


@dataclass(frozen=True)
class Setting:
    """A roof with its prices and the insulation that its climate zone asks at tear-off."""

    roof: Roof
    prices: Prices
    zone: int
    minimum_m2k_w: float

    @classmethod
    def of(cls, roof: Roof, prices: Prices, zone: int) -> Setting:
        """Return the setting of a roof in a climate zone."""
        row = tables.rows("insulation_minimums")[str(zone)]
        return cls(resolve(roof), resolve(prices), zone, float(row["resistance_m2k_w"]))

    @property
    def today(self) -> Assembly:
        """The roof as it is, as an assembly."""
        return today(self.roof)

    def step_today(self, start: str) -> Step:
        """Return the step before any work, of no length where work starts now."""
        return Step(
            self.today,
            0.0 if start == "now" else known(self.roof.remaining_life_y),
            new=False,
            cut_short=start == "now",
            repairs=self.roof.repairs_per_m2 * self.roof.area_m2,
            repairs_growth=self.roof.repairs_growth,
        )

    def why_first(self, start: str) -> str:
        """Return why the first work comes when it does."""
        if start == "now":
            return "chosen to be done now"
        return "the covering in place today has reached the end of its life"

    def units_lifted(self, why: str) -> tuple[Work, ...]:
        """Return the lifting of the rooftop units, where there are any."""
        count = self.roof.rooftop_units
        what = f"{count} rooftop unit{'s' if count > 1 else ''} lifted off and on"
        return (Work(what, why, UNITS, count * known(self.prices.unit_lift)),) * (count > 0)

    def disruption(self) -> Work:
        """Return the disruption of the rooms while a roof is replaced."""
        cost = known(self.prices.disruption_per_m2) * self.roof.area_m2
        why = "the roof is opened over the rooms in use"
        return Work("Disruption and interior damage", why, DISRUPTION, cost)
