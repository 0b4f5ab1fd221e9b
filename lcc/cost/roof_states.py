"""The states a roof goes through as assemblies, and what all programmes of one roof share."""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from lcc import tables
from lcc.case import Building, Coating, LaterMembrane, Prices, Roof
from lcc.case.duty_prices import DutyPrices
from lcc.case.fields import known
from lcc.case.layers import Assembly, Layer
from lcc.case.resolution import from_row, resolve
from lcc.cost.work import Step
from lcc.heat.assembly import thermal_layer
from lcc.heat.corrections import ResolvedLayer

BOARD = "polyiso-board"
# A layer given by its own properties counts as insulation from this resistance on [m²K/W].
INSULATING = 0.3
# A ceiling of this resistance holds insulation; tiles and the air above them stay below it.
INSULATED_CEILING = 1.0
# Flashing above the roof where nobody measured it: 12 in, factory curbs of 14 in on 2 in of roof.
USUAL_FLASHING_M = 0.3048
# Families of coverings whose felts and mastics may hold asbestos.
BITUMINOUS = ("built-up", "modified-bitumen")


def today(roof: Roof) -> Assembly:
    """Return the roof as it is, with the entered face or that of its covering."""
    return faced("Roof today", roof.layers, resolve(roof))


def faced(name: str, layers: tuple[Layer, ...], face: Roof | LaterMembrane | Coating) -> Assembly:
    """Return layers under the face of the roof or of what is laid on it."""
    return Assembly(
        name, layers, known(face.solar_reflectance), known(face.thermal_emittance),
        str(tables.rows("coverings")[face.covering]["roughness"]),
    )  # fmt: skip


def covering_layer(covering: str) -> Layer:
    """Return the layer that a covering or coating adds to the roof."""
    row = tables.rows("coverings")[covering]
    return Layer(material=str(row["material"]), thickness_m=float(row["thickness_m"]))


@lru_cache(maxsize=1024)
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


@lru_cache(maxsize=1024)
def dried(layers: tuple[Layer, ...]) -> tuple[Layer, ...]:
    """Return the layers with the wet insulation replaced by dry."""
    return tuple(
        replace(layer, moisture=0.0) if layer.moisture and is_insulation(layer) else layer
        for layer in layers
    )


@lru_cache(maxsize=1024)
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
    return Layer(material=BOARD, thickness_m=resistance_m2k_w * board_conductivity_w_mk())


@lru_cache(maxsize=1024)
def insulation_mass_kg_m2(layers: tuple[Layer, ...]) -> float:
    """Return the mass of the insulation with the water in it [kg/m²]."""
    return sum(_mass(layer, thermal_layer(layer)) for layer in layers if is_insulation(layer))


def _mass(layer: Layer, solid: ResolvedLayer) -> float:
    found = from_row(layer, "density_kg_m3")
    density = layer.density_kg_m3 or (found[0] if found else 0.0)
    return solid.thickness_m * (density + 1000.0 * layer.moisture)


def without_loose_stone(layers: tuple[Layer, ...]) -> tuple[Layer, ...]:
    """Return the layers once ballast and loose gravel are off."""
    return tuple(layer for layer in layers if layer.material != "gravel")


def board_conductivity_w_mk() -> float:
    """Return the conductivity of the board that is laid as new insulation [W/mK]."""
    return float(tables.rows("materials")[BOARD]["conductivity_w_mk"])


@lru_cache(maxsize=1024)
def height_m(layers: tuple[Layer, ...]) -> float:
    """Return the height of the surface above the inner face of the deck [m]."""
    return math.fsum(_thickness(layer) for layer in layers)


def _thickness(layer: Layer) -> float:
    if layer.air_gap_m:
        return layer.air_gap_m
    listed = tables.rows("materials").get(layer.material or "", {}).get("thickness_m")
    return thermal_layer(layer).thickness_m or layer.thickness_m or float(listed or 0.0)


@lru_cache(maxsize=1024)
def whole_resistance_m2k_w(layers: tuple[Layer, ...]) -> float:
    """Return the dry R-value of all layers together, without surface films [m²K/W]."""
    return math.fsum(thermal_layer(layer).resistance_m2k_w for layer in dried(layers))


@dataclass(frozen=True)
class Laid:
    """A covering in place: its key, its mass with ballast, and the loose stone in that mass."""

    covering: str
    kg_m2: float
    loose_kg_m2: float

    @property
    def bare(self) -> "Laid":
        """The covering once its loose stone is off, as under any other that is laid on it."""
        return replace(self, kg_m2=self.kg_m2 - self.loose_kg_m2, loose_kg_m2=0.0)


def laid(covering: str) -> Laid:
    """Return a covering as it lies on the roof."""
    row = tables.rows("coverings")[covering]
    return Laid(covering, float(row["mass_kg_m2"]), float(row["loose_kg_m2"]))


@dataclass(frozen=True)
class InPlace:
    """What lies on the deck: coverings from the top down, wet part, layers, curbs.

    `curb_top_m` is the height of the curbs' flashing above the inner face of the deck; `suspect`
    marks old material that may hold asbestos, `tapered` that boards give the roof its fall,
    `boarded` that a recover has boards under it, and `as_today` that no job has been done yet.
    """

    coverings: tuple[Laid, ...]
    wet_fraction: float
    layers: tuple[Layer, ...]
    curb_top_m: float
    suspect: bool
    tapered: bool = False
    boarded: bool = False
    as_today: bool = True

    @property
    def height_m(self) -> float:
        """Height of the surface [m]."""
        return height_m(self.layers)


def in_place_today(roof: Roof) -> InPlace:
    """Return what lies on the deck today."""
    top, *below = map(laid, roof.coverings_in_place)
    coverings = (top, *(each.bare for each in below))
    families = {tables.rows("coverings")[each.covering]["life_family"] for each in coverings}
    bituminous = not families.isdisjoint(BITUMINOUS)
    known = roof.flashing_height_m
    curb = height_m(roof.layers) + (USUAL_FLASHING_M if known is None else known)
    return InPlace(
        coverings, roof.wet_fraction or 0.0, roof.layers, curb,
        bituminous or roof.asbestos == "found",
    )  # fmt: skip


@dataclass(frozen=True)
class Setting:
    """A roof over its building with its prices, and the insulation that its zone asks."""

    roof: Roof
    prices: Prices
    zone: int
    minimum_m2k_w: float
    building: Building
    design_wind_m_s: float | None = None

    @classmethod
    def of(
        cls,
        roof: Roof,
        prices: Prices,
        zone: int,
        building: Building | None = None,
        design_wind_m_s: float | None = None,
    ) -> "Setting":
        """Return the setting of a roof in a climate zone, with the wind where it is entered."""
        row = tables.rows("insulation_minimums")[str(zone)]
        minimum, under = float(row["resistance_m2k_w"]), resolve(building or Building())
        return cls(resolve(roof), resolve(prices), zone, minimum, under, design_wind_m_s)

    @property
    def duty_prices(self) -> DutyPrices:
        """Prices of the work around a new roof."""
        return self.prices.duties

    @property
    def conditioned(self) -> bool:
        """Whether the space is heated or cooled, so that the roof is its thermal envelope."""
        return self.building.conditioning != "none"

    @property
    def insulated_below_deck(self) -> bool:
        """Whether insulation lies below the deck or on the ceiling, and so not all above it."""
        roles = [thermal_layer(layer).role for layer in self.roof.layers]
        deck = max((k for k, role in enumerate(roles) if role == "deck"), default=len(roles))
        below = any(is_insulation(layer) for layer in self.roof.layers[deck + 1 :])
        return below or known(self.building.ceiling_resistance_m2k_w) >= INSULATED_CEILING

    @property
    def short_side_m(self) -> float:
        """The shorter side of the plan [m]."""
        return math.sqrt(self.roof.area_m2 / self.building.length_to_width)

    @property
    def perimeter_m(self) -> float:
        """The roof's edge [m]."""
        return 2 * self.short_side_m * (1 + self.building.length_to_width)

    @property
    def remaining_life_y(self) -> float:
        """Years that the top covering has left [years]."""
        return known(self.roof.remaining_life_y)

    @property
    def today(self) -> Assembly:
        """The roof as it is, as an assembly."""
        return today(self.roof)

    def step_today(self, start: str, wait_y: float | None = None) -> Step:
        """Return the step before any work: none, to the covering's end, or a time entered."""
        left = self.remaining_life_y
        return Step(
            self.today,
            wait_y if wait_y is not None else (0.0 if start == "now" else left),
            new=False,
            cut_short=start == "now" or wait_y is not None,
            repairs=self.roof.repairs_per_m2 * self.roof.area_m2,
            repairs_growth=self.roof.repairs_growth,
            leaks=0.0 if wait_y is None else self.roof.leak_damage_per_m2 * self.roof.area_m2,
            leaks_from_y=left,
        )

    def why_first(self, start: str, wait_y: float | None = None) -> str:
        """Return why the first work comes when it does."""
        if wait_y is not None:
            return "put off to this year by choice"
        if start == "now":
            return "chosen to be done now"
        return "the covering in place today has reached the end of its life"
