"""What an assembly is made of: layers, steel through them, and the vented cavity."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import CasePart, Choice, Flag, Key, Part, Parts, Quantity, TableRow, Text

MATERIAL = TableRow("materials", "material")

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Fasteners(CasePart):
    """Steel posts, clips or screws that pass through the layer that carries them."""

    number_per_m2: Annotated[float, Quantity(
        "number_per_area", "Number", help="Posts, clips or screws per area.", low=0, high=100)]
    section_m2: Annotated[float, Quantity(
        "section", "Steel area of each", help="Cross-section of the metal.", low=0, high=0.01)]
    conductivity_w_mk: Annotated[float, Quantity(
        "conductivity", "Conductivity", low=0, high=400, basis="published",
        source="ISO 6946:2017 example value for steel")] = 50.0
    full_depth: Annotated[bool, Flag(
        "Full depth", help="Whether the steel passes through the whole layer, or half of it.",
        basis="common practice", source="posts and screws stand on the deck")] = True
    spacer_k_w: Annotated[float, Quantity(
        "point_resistance", "Thermal spacer at each", low=0, high=1000,
        help="Resistance of the block or pad between steel and steel, one for each fastener.",
        basis="common practice", source="none unless specified")] = 0.0


@dataclass(frozen=True)
class Layer(CasePart):
    """One layer: a material with thickness, own properties, a plain resistance or an air layer.

    Exactly one of these is given: `material` with `thickness`; `thickness`, `conductivity`,
    `density` and `specific_heat`; `resistance`, with a `thickness` where a taper or steel is in
    it; or `air_gap`. A material's own properties may be replaced one by one.
    """

    material: Annotated[str | None, Key(
        "materials", "Material", when_unset="own properties are given", advanced=False)] = None
    thickness_m: Annotated[float | None, Quantity(
        "thickness", "Thickness", low=1e-5, high=2,
        when_unset="a plain resistance or the material's own", row=MATERIAL,
        advanced=False)] = None
    conductivity_w_mk: Annotated[float | None, Quantity(
        "conductivity", "Conductivity", low=0.005, high=500, when_unset="the material's",
        row=MATERIAL)] = None
    density_kg_m3: Annotated[float | None, Quantity(
        "density", "Density", low=0.1, high=25000, when_unset="the material's",
        row=MATERIAL)] = None
    specific_heat_j_kgk: Annotated[float | None, Quantity(
        "specific_heat", "Specific heat", low=100, high=10000, when_unset="the material's",
        row=MATERIAL)] = None
    resistance_m2k_w: Annotated[float | None, Quantity(
        "resistance", "R-value", low=0, high=50,
        when_unset="from thickness and conductivity", row=MATERIAL)] = None
    air_gap_m: Annotated[float | None, Quantity(
        "thickness", "Unventilated air layer", low=1e-3, high=0.3,
        when_unset="the layer is solid")] = None
    air_openings_mm2_m2: Annotated[float, Quantity(
        "opening", "Openings of the air layer", low=0, high=1500,
        help="Free area to the outside: to 500 the layer counts as unventilated, from 1500 as well "
        "ventilated, between as slightly ventilated (ISO 6946:2017, 6.9).",
        basis="common practice", source="none unless surveyed")] = 0.0
    taper_m: Annotated[float, Quantity(
        "thickness", "Taper, thick end less thin end", low=0, high=1,
        help="Tapered insulation: enter the thickness of the thin end.", basis="common practice",
        source="none unless surveyed")] = 0.0
    taper_shape: Annotated[str, Choice(
        "Plan of the taper", ("rectangle", "thick-apex", "thin-apex"),
        help="A rectangle, or a triangle that is thickest or thinnest at its apex.",
        basis="common practice", source="the usual taper")] = "rectangle"
    moisture: Annotated[float, Quantity(
        "fraction", "Moisture by volume", low=0, high=0.5,
        help="Volume of water per volume of insulation, from cores or a moisture survey.",
        basis="common practice", source="dry unless surveyed")] = 0.0
    joint_loss: Annotated[float, Quantity(
        "fraction", "Loss at board joints", low=0, high=0.3,
        help="Part of the layer's resistance lost at board joints: 5 to 10% is published.",
        basis="common practice", source="boards laid in two staggered courses")] = 0.0
    fasteners: Annotated[Fasteners | None, Part(
        "Fasteners", when_unset="no steel through the layer")] = None


@dataclass(frozen=True)
class Cavity(CasePart):
    """The air space between the metal panel and the face below it."""

    mean_height_m: Annotated[float, Quantity(
        "length", "Mean height", low=0.02, high=10, basis="demo",
        source="invented: half the rise of a low ridge; a framing survey gives it")] = 0.5
    ventilation: Annotated[str, Choice(
        "Ventilation", ("air-changes", "openings", "sealed"),
        help="A stated air-change rate, a rate from openings, wind and warmth, or "
        "none.")] = "air-changes"
    air_changes_per_h: Annotated[float, Quantity(
        "air_changes", "Air changes per hour", low=0, high=200, basis="common practice",
        source="four to five air changes an hour")] = 4.5
    inlet_area_m2: Annotated[float, Quantity(
        "area", "Inlet area", low=0, high=1e5, help="Free area at the eaves, both sides.")] = 0.0
    outlet_area_m2: Annotated[float, Quantity(
        "area", "Ventilator throat area", low=0, high=1e5, help="Free area at the ridge.")] = 0.0
    stack_height_m: Annotated[float, Quantity(
        "length", "Height from inlet to outlet", low=0, high=30, basis="demo",
        source="invented: the rise of a low ridge; a framing survey gives it")] = 0.5
    panel_lower_emittance: Annotated[float, Quantity(
        "fraction", "Emittance of the panel's underside", low=0.02, high=1, basis="common practice",
        source="painted primer side; bare zinc-aluminium about 0.12")] = 0.85
    lower_emittance: Annotated[float, Quantity(
        "fraction", "Emittance of the face below", low=0.02, high=1, basis="common practice",
        source="roofing and faced insulation")] = 0.9
    roof_moisture_kg_m2: Annotated[float, Quantity(
        "mass_per_area", "Water in the old roof that is to dry", low=0, high=200,
        basis="common practice", source="dry unless surveyed")] = 0.0
    covering_air_layer_m: Annotated[float, Quantity(
        "length", "Vapour resistance of the old covering, as still air", low=0, high=1000,
        help="Equivalent air layer thickness: about 1 m cut or perforated, over 100 m intact.",
        basis="common practice", source="old covering cut so that the roof can dry")] = 1.0


@dataclass(frozen=True)
class Assembly(CasePart):
    """Layers outside to inside with the faces and films that the heat passes."""

    name: Annotated[str, Text("Name")] = "assembly"
    layers: Annotated[tuple[Layer, ...], Parts("Layers, outside to inside", low=1, high=50)] = ()
    solar_reflectance: Annotated[float, Quantity(
        "fraction", "Solar reflectance", low=0, high=1,
        help="Part of the sun sent back, aged and third-party rated.", basis="common practice",
        source="aged gravel 0.20 to 0.35, mineral cap sheet 0.25")] = 0.25
    thermal_emittance: Annotated[float, Quantity(
        "fraction", "Thermal emittance", low=0, high=1, basis="common practice",
        source="faces that are not bare metal, about 0.9")] = 0.9
    roughness: Annotated[str, Choice(
        "Roughness of the face", ("smooth", "granular", "gravel"), basis="common practice",
        help="Smooth sheet or metal, mineral granules, or gravel: how well the wind cools it.",
        source="sheets, coatings and metal are smooth")] = "smooth"
    inside_resistance_m2k_w: Annotated[float | None, Quantity(
        "resistance", "Inside surface resistance", low=0.01, high=2,
        when_unset="ISO 6946:2017 values by direction of heat flow")] = None
    outside_resistance_m2k_w: Annotated[float | None, Quantity(
        "resistance", "Outside surface resistance", low=0.005, high=2,
        help="Of the steady and daily figures; the year has its own by wind and sky.",
        when_unset="ISO 6946:2017 value 0.04")] = None
    cavity: Annotated[Cavity | None, Part(
        "Cavity", when_unset="the outermost layer faces the sky")] = None
    slope: Annotated[float, Quantity(
        "slope", "Slope (rise over run)", low=0, high=1, help="Sun on the roof follows it.")] = 0.0
    azimuth_deg: Annotated[float | None, Quantity(
        "angle", "Facing", low=0, high=360, help="Compass bearing of the fall, 180 is south.",
        when_unset="the mean of falls to four sides")] = None
