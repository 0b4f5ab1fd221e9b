"""What a takeoff answers: frozen dataclasses in SI whose fields carry their facts."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import Basis, parts, quantity, stated, text, whole
from lcc.case.fields import part as nested
from lcc.results.assumption import Assumption


@dataclass(frozen=True)
class PostRow:
    """The posts of one purlin line, or of the two alike on both sides of a ridge."""

    rectangle: int = whole("Rectangle, counted from 1")
    line: int = whole("Purlin line, counted from the eave")
    from_eave_m: float = quantity("length", "Distance from the eave in plan")
    height_m: float = quantity("length", "Height of the posts")
    rows: int = whole("Rows")
    posts: int = whole("Posts")


@dataclass(frozen=True)
class Members:
    """Posts, purlins, bracing, clips and fasteners in numbers and lengths."""

    posts: int = whole("Posts")
    posts_height_m: float = quantity("length", "Posts, heights together")
    tallest_post_m: float = quantity("length", "Tallest post")
    purlin_lines: int = whole("Purlin lines")
    purlins_m: float = quantity("length", "Purlins")
    bracing_lines: int = whole("Bracing lines")
    bracing_m: float = quantity("length", "Diagonal bracing")
    panels: int = whole("Panels")
    clips: int = whole("Clips")
    fasteners: int = whole("Fasteners")


@dataclass(frozen=True)
class Edges:
    """Lengths of edges and areas of the walls that close the cavity."""

    eave_m: float = quantity("length", "Eave")
    gutter_m: float = quantity("length", "Gutter")
    rake_m: float = quantity("length", "Rake, along the slope")
    ridge_m: float = quantity("length", "Ridge")
    high_edge_m: float = quantity("length", "High edge of one-way falls")
    valley_m: float = quantity("length", "Valley or inner gutter between rectangles")
    joint_m: float = quantity("length", "Step between rectangles")
    eave_wall_m2: float = quantity("area", "Wall at the eaves")
    high_wall_m2: float = quantity("area", "Wall at high edges")
    end_wall_m2: float = quantity("area", "End wall under the rakes")
    step_wall_m2: float = quantity("area", "Wall at steps between rectangles")
    walls_m2: float = quantity("area", "Walls together")


@dataclass(frozen=True)
class Surface:
    """Areas of the plan and of the panels over it."""

    plan_area_m2: float = quantity("area", "Plan area")
    panel_area_m2: float = quantity("area", "Panel area, plan area over the cosine of the slope")
    waste_area_m2: float = quantity("area", "Panel waste")
    ordered_area_m2: float = quantity("area", "Panel to order")
    longest_panel_m: float = quantity("length", "Longest panel, eave to high end")
    insulation_area_m2: float = quantity("area", "Insulation on the old roof")
    insulation_volume_m3: float = quantity("volume", "Insulation by volume")


@dataclass(frozen=True)
class CavityShape:
    """The air space and the openings that ventilate it at the target rate or a little more."""

    volume_m3: float = quantity("volume", "Cavity, insulation to panel")
    mean_height_m: float = quantity("length", "Mean height")
    stack_height_m: float = quantity("length", "Height from inlet to outlet")
    airflow_m3_s: float = quantity("airflow", "Airflow that the target asks for")
    ventilators: int = whole("Ventilators")
    throat_area_m2: float = quantity("area", "Ventilator throats together")
    inlet_area_m2: float = quantity("area", "Inlets together, free area")
    air_changes_per_h: float = quantity("air_changes", "Air changes that these openings give")


@dataclass(frozen=True)
class Services:
    """What is lifted, cut, torn out and hired."""

    rooftop_units: int = whole("Rooftop units lifted")
    curbs: int = whole("New curbs")
    penetrations: int = whole("Pipes and conduits through the panel")
    tear_out_m2: float = quantity("area", "Wet area torn out")
    crane_days: int = whole("Crane days")


@dataclass(frozen=True)
class Amount:
    """A number with the kind of quantity that it is, where a list mixes kinds."""

    value: float = stated(type="text", label="Value in the core's unit")
    kind: str = text("Kind of quantity")


@dataclass(frozen=True)
class BillLine:
    """One line of the takeoff: so much of this, at that price, with its hours."""

    key: str = text("Key of the unit price")
    name: str = text("Name")
    amount: Amount = nested("Quantity")
    price: Amount = nested("Unit price")
    labour_h: float = quantity("hours", "Labour")
    cost: float = quantity("money", "Cost")
    basis: Basis = stated(type="text", label="Basis of the price")
    source: str = text("Source of the price")


@dataclass(frozen=True)
class FirstCost:
    """The first cost as built up, as quoted, and the difference between the two."""

    lines: tuple[BillLine, ...] = parts("Lines of the takeoff")
    labour_h: float = quantity("hours", "Labour hours")
    direct: float = quantity("money", "Direct cost")
    build_up: float = quantity("money", "Build-up, with all rates on the direct cost")
    quotation: float | None = quantity("money", "Quotation")
    difference: float | None = quantity("money", "Quotation less build-up")
    first_cost: float = quantity("money", "First cost: the quotation, or the build-up")
    price_per_m2: float = quantity("price_per_area", "First cost over plan area")
    reading: str = text("In words")


@dataclass(frozen=True)
class Load:
    """The dead load that one component adds to the old roof."""

    component: str = text("Component")
    mass_kg: float = quantity("mass", "Mass")
    load_kg_m2: float = quantity("mass_per_area", "Over plan area")


@dataclass(frozen=True)
class Movement:
    """How far the free end of the longest panel travels between its coldest and hottest hour."""

    coldest_c: float = quantity("temperature", "Coldest panel")
    hottest_c: float = quantity("temperature", "Hottest panel")
    fixed_point: str = text("Fixed at")
    free_length_m: float = quantity("length", "Panel from the fixed point to its free end")
    expansion_per_k: float = quantity("expansion", "Expansion coefficient of the metal")
    movement_m: float = quantity("thickness", "Movement, coldest to hottest")
    growth_m: float = quantity("thickness", "Growth from the day it is laid")
    shrinkage_m: float = quantity("thickness", "Shrinkage from the day it is laid")
    clip_travel_m: float | None = quantity("thickness", "Travel of a floating clip")
    verdict: str = text("In words")

    @property
    def exceeds(self) -> bool:
        """Whether a clip's travel is entered and the panel moves farther than it."""
        return self.clip_travel_m is not None and self.movement_m > self.clip_travel_m


@dataclass(frozen=True)
class SurveyFlag:
    """A survey figure outside trade practice, and who says what practice is."""

    field: str = text("Field of the survey")
    message: str = text("What is outside practice")
    basis: Basis = stated(type="text", label="Basis")
    source: str = text("Source")


@dataclass(frozen=True)
class Quantities:
    """Everything that a survey asks for: quantities, openings, first cost, load, movement."""

    surface: Surface = nested("Areas")
    posts: tuple[PostRow, ...] = parts("Posts by height")
    members: Members = nested("Framing and panels")
    edges: Edges = nested("Edges and walls")
    cavity: CavityShape = nested("Cavity and its openings")
    services: Services = nested("Lifts, tear-out and crane")
    first_cost: FirstCost = nested("First cost")
    loads: tuple[Load, ...] = parts("Added dead load by component")
    total_load_kg_m2: float = quantity("mass_per_area", "Added dead load, all components")
    movement: Movement | None = nested("Thermal movement of the panel")
    flags: tuple[SurveyFlag, ...] = parts("Outside trade practice")
    cautions: tuple[str, ...] = stated(type="parts", label="Cautions")
    assumptions: tuple[Assumption, ...] = parts("Every figure the takeoff rests on")
