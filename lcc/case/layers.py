"""What an assembly is made of: layers, steel through them, and the vented cavity."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import check, choice, flag, key, part, parts, quantity, text


@dataclass(frozen=True)
class Fasteners:
    """Steel posts, clips or screws that pass through the layer that carries them."""

    number_per_m2: float = quantity(
        "number_per_area", "Number", help="Posts, clips or screws per area.", low=0, high=100
    )
    section_m2: float = quantity(
        "section", "Steel area of each", help="Cross-section of the metal.", low=0, high=0.01
    )
    conductivity_w_mk: float = quantity(
        "conductivity", "Conductivity", 50.0, low=0, high=400,
        basis="published", source="ISO 6946:2017 example value for steel",
    )  # fmt: skip
    full_depth: bool = flag(
        "Full depth", True, help="Whether the steel passes through the whole layer, or half of it.",
        basis="common practice", source="posts and screws stand on the deck",
    )  # fmt: skip
    spacer_k_w: float = quantity(
        "point_resistance", "Thermal spacer at each", 0.0, low=0, high=1000,
        help="Resistance of the block or pad between steel and steel, one for each fastener.",
        basis="common practice", source="none unless specified",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)


@dataclass(frozen=True)
class Layer:
    """One layer: a material with thickness, own properties, a plain resistance or an air layer.

    Exactly one of these is given: `material` with `thickness`; `thickness`, `conductivity`,
    `density` and `specific_heat`; `resistance`, with a `thickness` where a taper or steel is in
    it; or `air_gap`. A material's own properties may be replaced one by one.
    """

    material: str | None = key(
        "materials", "Material", None, when_unset="own properties are given", advanced=False
    )
    thickness_m: float | None = quantity(
        "thickness", "Thickness", None, low=1e-5, high=2,
        when_unset="a plain resistance or the material's own", advanced=False,
    )  # fmt: skip
    conductivity_w_mk: float | None = quantity(
        "conductivity", "Conductivity", None, low=0.005, high=500, when_unset="the material's"
    )
    density_kg_m3: float | None = quantity(
        "density", "Density", None, low=0.1, high=25000, when_unset="the material's"
    )
    specific_heat_j_kgk: float | None = quantity(
        "specific_heat", "Specific heat", None, low=100, high=10000, when_unset="the material's"
    )
    resistance_m2k_w: float | None = quantity(
        "resistance", "R-value", None, low=0, high=50, when_unset="from thickness and conductivity"
    )
    air_gap_m: float | None = quantity(
        "thickness", "Unventilated air layer", None, low=1e-3, high=0.3,
        when_unset="the layer is solid",
    )  # fmt: skip
    air_openings_mm2_m2: float = quantity(
        "opening", "Openings of the air layer", 0.0, low=0, high=1500,
        help="Free area to the outside: to 500 the layer counts as unventilated, from 1500 as well "
        "ventilated, between as slightly ventilated.",
        basis="published", source="ISO 6946:2017, 6.9: none unless surveyed",
    )  # fmt: skip
    taper_m: float = quantity(
        "thickness", "Taper, thick end less thin end", 0.0, low=0, high=1,
        help="Tapered insulation: `thickness` is that of the thin end.",
        basis="common practice", source="none unless surveyed",
    )  # fmt: skip
    taper_shape: str = choice(
        "Plan of the taper", ("rectangle", "thick-apex", "thin-apex"), "rectangle",
        help="A rectangle, or a triangle that is thickest or thinnest at its apex.",
        basis="published", source="ISO 6946:2017, annex E",
    )  # fmt: skip
    moisture: float = quantity(
        "fraction", "Moisture by volume", 0.0, low=0, high=0.5,
        help="Volume of water per volume of insulation, from cores or a moisture survey.",
        basis="common practice", source="dry unless surveyed",
    )  # fmt: skip
    joint_loss: float = quantity(
        "fraction", "Loss at board joints", 0.0, low=0, high=0.3,
        help="Part of the layer's resistance lost at board joints: 5 to 10 % is published.",
        basis="common practice", source="boards laid in two staggered courses",
    )  # fmt: skip
    fasteners: Fasteners | None = part("Fasteners", None, when_unset="no steel through the layer")

    def __post_init__(self) -> None:
        check(self)


@dataclass(frozen=True)
class Cavity:
    """The air space between the metal panel and the face below it."""

    mean_height_m: float = quantity(
        "length", "Mean height", 0.5, low=0.02, high=10,
        basis="demo", source="a low ridge over a narrow wing",
    )  # fmt: skip
    ventilation: str = choice(
        "Ventilation", ("air-changes", "openings", "sealed"), "air-changes",
        help="A stated air-change rate, a rate from openings, wind and warmth, or none.",
    )  # fmt: skip
    air_changes_per_h: float = quantity(
        "air_changes", "Air changes per hour", 4.5, low=0, high=200,
        basis="common practice", source="four to five air changes an hour",
    )  # fmt: skip
    inlet_area_m2: float = quantity(
        "area", "Inlet area", 0.0, low=0, high=1e5, help="Free area at the eaves, both sides."
    )
    outlet_area_m2: float = quantity(
        "area", "Ventilator throat area", 0.0, low=0, high=1e5, help="Free area at the ridge."
    )
    stack_height_m: float = quantity(
        "length", "Height from inlet to outlet", 0.5, low=0, high=30,
        basis="demo", source="rise of the demo roof",
    )  # fmt: skip
    panel_lower_emittance: float = quantity(
        "fraction", "Emittance of the panel's underside", 0.85, low=0.02, high=1,
        basis="common practice", source="painted primer side; bare zinc-aluminium about 0.12",
    )  # fmt: skip
    lower_emittance: float = quantity(
        "fraction", "Emittance of the face below", 0.9, low=0.02, high=1,
        basis="common practice", source="roofing and faced insulation",
    )  # fmt: skip
    roof_moisture_kg_m2: float = quantity(
        "mass_per_area", "Water in the old roof that is to dry", 0.0, low=0, high=200,
        basis="common practice", source="dry unless surveyed",
    )  # fmt: skip
    covering_air_layer_m: float = quantity(
        "length", "Vapour resistance of the old covering, as still air", 1.0, low=0, high=1000,
        help="Equivalent air layer thickness: about 1 m cut or perforated, over 100 m intact.",
        basis="common practice", source="old covering cut so that the roof can dry",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)


@dataclass(frozen=True)
class Assembly:
    """Layers outside to inside with the faces and films that the heat passes."""

    name: str = text("Name", "assembly")
    layers: tuple[Layer, ...] = parts("Layers, outside to inside", (), low=1, high=50)
    solar_reflectance: float = quantity(
        "fraction", "Solar reflectance", 0.25, low=0, high=1,
        help="Part of the sun sent back, aged and third-party rated.",
        basis="published", source="LBNL cool roofing materials database, unpainted cement tile",
    )  # fmt: skip
    thermal_emittance: float = quantity(
        "fraction", "Thermal emittance", 0.9, low=0, high=1,
        basis="published", source="LBNL cool roofing materials database, non-metallic faces",
    )  # fmt: skip
    inside_resistance_m2k_w: float | None = quantity(
        "resistance", "Inside surface resistance", None, low=0.01, high=2,
        when_unset="ISO 6946:2017 values by direction of heat flow",
    )  # fmt: skip
    outside_resistance_m2k_w: float | None = quantity(
        "resistance", "Outside surface resistance", None, low=0.005, high=2,
        help="Of the steady and daily figures; the year has its own by wind and sky.",
        when_unset="ISO 6946:2017 value 0.04",
    )  # fmt: skip
    cavity: Cavity | None = part("Cavity", None, when_unset="the outermost layer faces the sky")
    slope: float = quantity(
        "slope", "Slope (rise over run)", 0.0, low=0, high=1, help="Sun on the roof follows it."
    )
    azimuth_deg: float | None = quantity(
        "angle", "Facing", None, low=0, high=360, help="Compass bearing of the fall, 180 is south.",
        when_unset="the mean of falls to four sides",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)
