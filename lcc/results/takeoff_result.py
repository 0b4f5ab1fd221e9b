"""What a take-off answers: frozen dataclasses in SI whose fields carry their facts."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import Basis, Flag, Part, Parts, Quantity, Text, Whole
from lcc.results.assumption import Assumption

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class PostRow:
    """The posts of one purlin line, or of the two alike on both sides of a ridge."""

    rectangle: Annotated[int, Whole("Part, counted from 1")]
    line: Annotated[int, Whole("Purlin line, counted from the eave")]
    from_eave_m: Annotated[float, Quantity("length", "Distance from the eave in plan")]
    height_m: Annotated[float, Quantity("length", "Height of the posts, their mean")]
    rows: Annotated[int, Whole("Rows")]
    posts: Annotated[int, Whole("Posts")]
    fall: Annotated[str, Text("Fall: the side that it drains to")]
    shortest_m: Annotated[float, Quantity("length", "Shortest post of the line")]
    tallest_m: Annotated[float, Quantity("length", "Tallest post of the line")]
    carried_m2: Annotated[float, Quantity("area", "Roof that one of its posts carries, at most")]
    mark: Annotated[str, Text("Mark")]
    reaction_kg: Annotated[float, Quantity(
        "mass", "Added load on one of its posts at most, snow not counted")]
    together_m2: Annotated[float, Quantity(
        "area", "Roof that its posts carry together; all lines add up to the plan")]
    uplift_kg: Annotated[float | None, Quantity(
        "mass", "Largest uplift on one of its posts, strength design: roof carried, by zones")]
    net_uplift_kg: Annotated[float | None, Quantity(
        "mass", "Largest net uplift on one of its posts: 0.6 W less 0.6 of what hangs on it")]
    may_drift: Annotated[bool, Flag("Snow may drift over it, which its snow leaves out")]


@dataclass(frozen=True)
class BearingLoad:
    """Joists, beams or a wall of the old roof that are loaded alike, and what posts bring there."""

    rectangle: Annotated[int, Whole("Part, counted from 1")]
    what: Annotated[str, Text("Joists or beams, or an edge that bears")]
    edge: Annotated[str, Text("Edge that they are measured from")]
    first_m: Annotated[float, Quantity("length", "First of them from that edge")]
    spacing_m: Annotated[float, Quantity("length", "Space from one to the next; 0 for one alone")]
    lines: Annotated[int, Whole("How many are alike")]
    posts: Annotated[int, Whole("Posts on one, those on headers to it too")]
    carried_m2: Annotated[float, Quantity("area", "Roof that the posts on one carry")]
    dead_kg: Annotated[float, Quantity("mass", "Added load on one, snow not counted")]
    line_load_kg_m: Annotated[float, Quantity(
        "mass_per_length", "The same over its length in the part")]
    net_uplift_kg: Annotated[float | None, Quantity(
        "mass", "Net uplift of its posts: 0.6 W less 0.6 of what hangs on them")]


@dataclass(frozen=True)
class SetOutRow:
    """Evenly spaced posts of one line, cut alike: where they stand, on what, and how long."""

    mark: Annotated[str, Text("Marks of the posts, as in the cut list")]
    line: Annotated[str, Text("Mark of their line")]
    rectangle: Annotated[int, Whole("Part, counted from 1")]
    over: Annotated[int, Whole("Part on whose old roof they stand")]
    fall: Annotated[str, Text("Eave that the line is measured from")]
    from_eave_m: Annotated[float, Quantity("length", "Line from the eave in plan")]
    edge: Annotated[str, Text("Edge that its first post is measured from")]
    first_m: Annotated[float, Quantity(
        "length", "First post from that edge; less than 0 lies beyond it, over a neighbour")]
    spacing_m: Annotated[float, Quantity("length", "Space from post to post; 0 for one alone")]
    posts: Annotated[int, Whole("Posts")]
    length_m: Annotated[float, Quantity("length", "Length of one")]
    stands_on: Annotated[str, Text("What they stand on, of that old roof")]
    top_m: Annotated[float, Quantity(
        "length", "Top of all posts of the line, over the level 0 of the old roofs")]


@dataclass(frozen=True)
class BracingRow:
    """One bracing line on one fall: where it stands, and the bay that it braces along a purlin."""

    mark: Annotated[str, Text("Mark of the bracing line")]
    rectangle: Annotated[int, Whole("Part, counted from 1")]
    fall: Annotated[str, Text("Fall that it runs up")]
    edge: Annotated[str, Text("Edge that it is measured from")]
    at_m: Annotated[float, Quantity("length", "Bracing line from that edge, over its posts")]
    bay_m: Annotated[float, Quantity("length", "Other posts of its bay from that edge")]
    length_m: Annotated[float, Quantity(
        "length", "Its diagonals together; those of a ridge half to each side")]


@dataclass(frozen=True)
class AlongRow:
    """Panels or downspouts along an eave, or ventilators along a ridge or high edge."""

    mark: Annotated[str, Text("Marks")]
    what: Annotated[str, Text("What")]
    rectangle: Annotated[int, Whole("Part, counted from 1")]
    along: Annotated[str, Text("Along")]
    edge: Annotated[str, Text("Edge that the first is measured from")]
    first_m: Annotated[float, Quantity(
        "length", "First, of a panel its nearer seam, from that edge")]
    spacing_m: Annotated[float, Quantity(
        "length", "Space from one to the next, 0 for one alone; of panels what each covers")]
    number: Annotated[int, Whole("How many")]


@dataclass(frozen=True)
class LaidRow:
    """Cross members up a fall, or a purlin that no row of posts places: where they lie."""

    mark: Annotated[str, Text("Marks, as in the cut list")]
    what: Annotated[str, Text("What")]
    rectangle: Annotated[int, Whole("Part, counted from 1")]
    fall: Annotated[str, Text("Eave that they are measured from")]
    from_eave_m: Annotated[float, Quantity("length", "Begins at, from the eave in plan")]
    to_eave_m: Annotated[float, Quantity("length", "Ends at, from the eave in plan")]
    edge: Annotated[str, Text("Edge that the first, or the end of a purlin, is measured from")]
    first_m: Annotated[float, Quantity("length", "First, or start of the purlin, from that edge")]
    last_m: Annotated[float, Quantity("length", "Last, or end of the purlin, from that edge")]
    number: Annotated[int, Whole("How many, evenly spaced from first to last")]


@dataclass(frozen=True)
class CutPiece:
    """One line of the cut list: its marks, how many, how long."""

    mark: Annotated[str, Text("Mark")]
    what: Annotated[str, Text("What")]
    pieces: Annotated[int, Whole("Pieces")]
    length_m: Annotated[float, Quantity("length", "Length of one; 0 where it has none")]


@dataclass(frozen=True)
class Members:
    """Posts, purlins, bracing, clips and fasteners in numbers and lengths."""

    posts: Annotated[int, Whole("Posts")]
    posts_height_m: Annotated[float, Quantity("length", "Posts, heights together")]
    tallest_post_m: Annotated[float, Quantity("length", "Tallest post")]
    purlin_lines: Annotated[int, Whole("Purlin lines")]
    purlins_m: Annotated[float, Quantity("length", "Purlins")]
    bracing_lines: Annotated[int, Whole("Bracing lines")]
    bracing_m: Annotated[float, Quantity("length", "Diagonal bracing")]
    panels: Annotated[int, Whole("Panels")]
    clips: Annotated[int, Whole("Clips")]
    fasteners: Annotated[int, Whole("Fasteners")]
    cross_members_m: Annotated[float, Quantity(
        "length", "Cross members under purlins that no post carries, headers under posts")]
    heavier_purlins_m: Annotated[float, Quantity(
        "length", "Added for longer spans than stated, as purlin")]
    valley_support_m: Annotated[float, Quantity(
        "length", "Support under sloping valleys, counted as purlin")]
    purlin_splices: Annotated[int, Whole("Splices of purlins and valley supports")]
    purlin_laps_m: Annotated[float, Quantity("length", "Laps at these splices")]
    purlin_sticks: Annotated[int, Whole("Stock lengths that the purlins are cut from")]


@dataclass(frozen=True)
class Edges:
    """Lengths of edges and areas of the walls that close the cavity."""

    eave_m: Annotated[float, Quantity("length", "Eave")]
    gutter_m: Annotated[float, Quantity("length", "Gutter")]
    rake_m: Annotated[float, Quantity("length", "Rake, along the slope")]
    ridge_m: Annotated[float, Quantity("length", "Ridge")]
    high_edge_m: Annotated[float, Quantity("length", "High edge of one-way falls")]
    valley_m: Annotated[float, Quantity("length", "Valley, along the roof")]
    joint_m: Annotated[float, Quantity("length", "Flashing at a wall or a higher roof")]
    eave_wall_m2: Annotated[float, Quantity("area", "Wall at the eaves")]
    high_wall_m2: Annotated[float, Quantity("area", "Wall at high edges")]
    end_wall_m2: Annotated[float, Quantity("area", "End wall under the rakes")]
    step_wall_m2: Annotated[float, Quantity("area", "Wall at steps between parts")]
    walls_m2: Annotated[float, Quantity("area", "Walls together")]
    hip_m: Annotated[float, Quantity("length", "Hip, along the roof")]
    inner_gutter_m: Annotated[float, Quantity(
        "length", "Inner gutter: level, between roofs or behind a wall or parapet")]
    parapet_flashing_m: Annotated[float, Quantity("length", "Wall flashing at parapets")]


@dataclass(frozen=True)
class TrimRow:
    """What one edge of one part takes of trim, flashing and cladding."""

    where: Annotated[str, Text("Part and edge")]
    rake_m: Annotated[float, Quantity("length", "Rake")]
    high_edge_m: Annotated[float, Quantity("length", "High edge")]
    parapet_flashing_m: Annotated[float, Quantity("length", "Flashing at a parapet")]
    joint_m: Annotated[float, Quantity("length", "Flashing at a wall or a higher roof")]
    walls_m2: Annotated[float, Quantity("area", "Wall cladding")]


@dataclass(frozen=True)
class Surface:
    """Areas of the plan and of the panels over it."""

    plan_area_m2: Annotated[float, Quantity("area", "Plan area")]
    panel_area_m2: Annotated[float, Quantity(
        "area", "Panel area, plan area over the cosine of the slope")]
    waste_area_m2: Annotated[float, Quantity("area", "Panel waste")]
    ordered_area_m2: Annotated[float, Quantity("area", "Panel to order")]
    longest_panel_m: Annotated[float, Quantity("length", "Longest panel, eave to high end")]
    insulation_area_m2: Annotated[float, Quantity("area", "Insulation on the old roof")]
    insulation_volume_m3: Annotated[float, Quantity("volume", "Insulation by volume")]


@dataclass(frozen=True)
class CavityShape:
    """The air space and the openings that ventilate it at the target rate or a little more."""

    volume_m3: Annotated[float, Quantity("volume", "Cavity, insulation to panel")]
    mean_height_m: Annotated[float, Quantity("length", "Mean height")]
    stack_height_m: Annotated[float, Quantity("length", "Height from inlet to outlet")]
    airflow_m3_s: Annotated[float, Quantity("airflow", "Airflow that the target asks for")]
    ventilators: Annotated[int, Whole("Ventilators")]
    throat_area_m2: Annotated[float, Quantity("area", "Ventilator throats together")]
    inlet_area_m2: Annotated[float, Quantity("area", "Inlets together, free area")]
    air_changes_per_h: Annotated[float, Quantity(
        "air_changes", "Air changes that these openings give")]


@dataclass(frozen=True)
class WindZone:
    """One zone of wind: where it lies, and the uplift that the engineer is asked about."""

    zone: Annotated[str, Text("Zone")]
    from_m: Annotated[float, Quantity("length", "Begins", help="From the edge inwards.")]
    width_m: Annotated[float, Quantity(
        "length", "Ends", help="From the edge inwards; 0: it takes the middle.")]
    plan_area_m2: Annotated[float, Quantity("area", "Plan area")]
    coefficient: Annotated[float, Quantity(
        "ratio", "GCp", help="External pressure coefficient for 10 ft².")]
    pressure_kg_m2: Annotated[float, Quantity(
        "mass_per_area", "Uplift, W", help="Strength design; negative is up.")]
    allowable_kg_m2: Annotated[float, Quantity(
        "mass_per_area", "Uplift, 0.6 W", help="Allowable stress design; negative is up.")]
    purlin_spacing_m: Annotated[float, Quantity("length", "Purlins, at most")]
    figure: Annotated[str, Text("Figure", help="Figure of the standard.")]
    roof_height_m: Annotated[float, Quantity(
        "length", "Roof height", help="Mean roof height of its parts.")]
    parts: Annotated[str, Text("Parts")]


@dataclass(frozen=True)
class DriftPlace:
    """A wall or parapet against which snow may drift, or which is too low: located, not sized."""

    where: Annotated[str, Text("Part and edge")]
    length_m: Annotated[float, Quantity("length", "Length")]
    height_m: Annotated[float, Quantity("length", "Greatest height above the lower roof")]
    by_rule: Annotated[str, Text("By the rule of the standard")]


@dataclass(frozen=True)
class Valley:
    """A sloping valley: its support, as long as it, and the water that it gathers."""

    mark: Annotated[str, Text("Mark of its support")]
    between: Annotated[str, Text("Between")]
    length_m: Annotated[float, Quantity("length", "Length along the roof")]
    mass_kg: Annotated[float, Quantity("mass", "Support, weighed as a purlin")]
    drained_m2: Annotated[float, Quantity("area", "Roof that drains into it")]
    into: Annotated[str, Text("Gutter at its foot; empty where it ends at no eave")]


@dataclass(frozen=True)
class Drainage:
    """A gutter by the rain of one hour: outside with downspouts, or an inner one with outlets."""

    where: Annotated[str, Text("Part and edge")]
    drained_m2: Annotated[float, Quantity("area", "Roof drained")]
    eave_m: Annotated[float, Quantity("length", "Eave")]
    downspouts: Annotated[int, Whole("Downspouts")]
    downspout_m: Annotated[float, Quantity("thickness", "Diameter of a downspout or outlet")]
    gutter_m: Annotated[float, Quantity("thickness", "Diameter of a half-round gutter")]
    outlets: Annotated[int, Whole("Outlets of an inner gutter")]


@dataclass(frozen=True)
class LabourRange:
    """Hours and build-up if the crew is quick, usual or slow."""

    productivity: Annotated[str, Text("Productivity")]
    hours_h: Annotated[float, Quantity("hours", "Labour hours")]
    build_up: Annotated[float, Quantity("money", "Build-up with these hours")]


@dataclass(frozen=True)
class Services:
    """What is lifted, cut, torn out and hired."""

    rooftop_units: Annotated[int, Whole("Rooftop units lifted")]
    curbs: Annotated[int, Whole("New curbs")]
    penetrations: Annotated[int, Whole("Pipes and conduits through the panel")]
    tear_out_m2: Annotated[float, Quantity("area", "Wet area torn out")]
    crane_days: Annotated[int, Whole("Crane days")]
    skylights_carried: Annotated[int, Whole("Skylights carried through")]
    skylights_covered: Annotated[int, Whole("Skylights covered over")]
    ballast_kg_m2: Annotated[float, Quantity(
        "mass_per_area", "Loose stone taken off, mean of where it lies")]
    ballast_area_m2: Annotated[float, Quantity("area", "Plan area that it is taken off")]
    expansion_joint_m: Annotated[float, Quantity("length", "Expansion joints carried through")]
    storm_ties: Annotated[int, Whole("Downspouts tied into the storm drain")]
    scuppers: Annotated[int, Whole("Scuppers through parapets")]
    overflow_scuppers: Annotated[int, Whole("Overflow scuppers beside them")]
    drains_abandoned: Annotated[int, Whole("Old roof drains closed")]
    access_m2: Annotated[float, Quantity("area", "Access: wall below the open edges")]
    set_up_m2: Annotated[float, Quantity("area", "Plan by which the set-up grows; 0 for a lump")]


@dataclass(frozen=True)
class Amount:
    """A number with the kind of quantity that it is, where a list mixes kinds."""

    value: Annotated[float, Text("Value in the core's unit")]
    kind: Annotated[str, Text("Kind of quantity")]


@dataclass(frozen=True)
class BillLine:
    """One line of the take-off: so much of this, at that price, with its hours."""

    key: Annotated[str, Text("Key of the unit price")]
    name: Annotated[str, Text("Name")]
    marks: Annotated[str, Text("Letter of its marks in cut list and drawings")]
    amount: Annotated[Amount, Part("Quantity")]
    price: Annotated[Amount, Part("Unit price")]
    labour_h: Annotated[float, Quantity("hours", "Labour")]
    cost: Annotated[float, Quantity("money", "Cost")]
    basis: Annotated[Basis, Text("Basis of the price")]
    source: Annotated[str, Text("Source of the price")]


@dataclass(frozen=True)
class FirstCost:
    """The first cost as built up, as quoted, and the difference between the two."""

    lines: Annotated[tuple[BillLine, ...], Parts("Lines of the take-off")]
    labour_h: Annotated[float, Quantity("hours", "Labour hours")]
    direct: Annotated[float, Quantity("money", "Direct cost")]
    build_up: Annotated[float, Quantity("money", "Build-up, with all rates on the direct cost")]
    quotation: Annotated[float | None, Quantity(
        "money", "Quotation, or the same work at the price entered")]
    difference: Annotated[float | None, Quantity("money", "That less build-up")]
    first_cost: Annotated[float, Quantity("money", "First cost: the quotation, or the build-up")]
    price_per_m2: Annotated[float, Quantity("price_per_area", "First cost over plan area")]
    permit_apart: Annotated[float, Quantity(
        "money", "Permit with its part of later rates, where a comparison prices it apart")]
    reading: Annotated[str, Text("In words")]


@dataclass(frozen=True)
class Load:
    """The dead load that one component adds to the old roof."""

    component: Annotated[str, Text("Component")]
    mass_kg: Annotated[float, Quantity("mass", "Mass")]
    load_kg_m2: Annotated[float, Quantity("mass_per_area", "Over plan area")]


@dataclass(frozen=True)
class PartLoad:
    """What the retrofit adds to the old roof of one part, and takes off it."""

    rectangle: Annotated[int, Whole("Part, counted from 1")]
    plan_area_m2: Annotated[float, Quantity("area", "Plan area")]
    added_kg: Annotated[float, Quantity("mass", "Added")]
    load_kg_m2: Annotated[float, Quantity("mass_per_area", "Added, over the part")]
    removed_kg: Annotated[float, Quantity("mass", "Taken off, not credited")]
    net_load_kg_m2: Annotated[float, Quantity(
        "mass_per_area", "Net load if what is taken off is credited")]


@dataclass(frozen=True)
class Movement:
    """How far the free end of the longest panel travels between its coldest and hottest hour."""

    coldest_c: Annotated[float, Quantity("temperature", "Coldest panel")]
    hottest_c: Annotated[float, Quantity("temperature", "Hottest panel")]
    fixed_point: Annotated[str, Text("Fixed at")]
    free_length_m: Annotated[float, Quantity(
        "length", "Panel from the fixed point to its free end")]
    expansion_per_k: Annotated[float, Quantity("expansion", "Expansion coefficient of the metal")]
    movement_m: Annotated[float, Quantity("thickness", "Movement, coldest to hottest")]
    growth_m: Annotated[float, Quantity("thickness", "Growth from the day it is laid")]
    shrinkage_m: Annotated[float, Quantity("thickness", "Shrinkage from the day it is laid")]
    clip_travel_m: Annotated[float | None, Quantity("thickness", "Travel of a floating clip")]
    verdict: Annotated[str, Text("In words")]

    @property
    def exceeds(self) -> bool:
        """Whether a clip's travel is entered and the panel moves farther than it."""
        return self.clip_travel_m is not None and self.movement_m > self.clip_travel_m


# fmt: on


@dataclass(frozen=True)
class SurveyFlag:
    """A survey figure outside trade practice, and who says what practice is."""

    field: Annotated[str, Text("Field of the survey")]
    message: Annotated[str, Text("What is outside practice")]
    basis: Annotated[Basis, Text("Basis")]
    source: Annotated[str, Text("Source")]


@dataclass(frozen=True)
class Measured:
    """The geometry of a survey: lengths, areas, openings, trims, and where everything stands."""

    surface: Annotated[Surface, Part("Areas")]
    cut_list: Annotated[tuple[CutPiece, ...], Parts("Cut list by mark")]
    set_out: Annotated[tuple[SetOutRow, ...], Parts("Places of the posts")]
    laid: Annotated[
        tuple[LaidRow, ...],
        Parts("Places of cross members, and of purlins that no row of posts places"),
    ]
    bracing: Annotated[tuple[BracingRow, ...], Parts("Places of the bracing lines")]
    along: Annotated[tuple[AlongRow, ...], Parts("Places of panels, ventilators and downspouts")]
    members: Annotated[Members, Part("Framing and panels")]
    edges: Annotated[Edges, Part("Edges and walls")]
    trims: Annotated[tuple[TrimRow, ...], Parts("Trims and walls by part and edge")]
    cavity: Annotated[CavityShape, Part("Cavity and its openings")]
    services: Annotated[Services, Part("Lifts, tear-out and crane")]
    wind_zones: Annotated[tuple[WindZone, ...], Parts("Zones of wind")]
    roof_snow_kg_m2: Annotated[
        float | None,
        Quantity("mass_per_area", "Snow load of the roof, at least that of low slopes"),
    ]
    drifts: Annotated[tuple[DriftPlace, ...], Parts("Places where snow may drift")]
    drainage: Annotated[tuple[Drainage, ...], Parts("Gutters and downspouts")]
    questions: Annotated[tuple[str, ...], Parts("Questions for the engineer")]


@dataclass(frozen=True)
class Quantities(Measured):
    """Everything that a survey asks for: its geometry, first cost, load and movement."""

    posts: Annotated[tuple[PostRow, ...], Parts("Posts by height")]
    bearing_loads: Annotated[tuple[BearingLoad, ...], Parts("Load by joist, beam and wall")]
    first_cost: Annotated[FirstCost, Part("First cost")]
    loads: Annotated[tuple[Load, ...], Parts("Added dead load by component")]
    total_load_kg_m2: Annotated[
        float,
        Quantity("mass_per_area", "Added dead load, all components: the net load without credit"),
    ]
    removed: Annotated[tuple[Load, ...], Parts("Load taken off the old roof")]
    net_load_kg_m2: Annotated[
        float,
        Quantity(
            "mass_per_area",
            "Net load, mean over the plan, if what is taken off is credited after it is weighed; "
            "each part has its own",
        ),
    ]
    part_loads: Annotated[tuple[PartLoad, ...], Parts("Load by part of the old roof")]
    valleys: Annotated[tuple[Valley, ...], Parts("Valleys and their supports")]
    labour: Annotated[tuple[LabourRange, ...], Parts("Labour, quick to slow")]
    price_notes: Annotated[tuple[str, ...], Parts("What the build-up leaves out or counts low")]
    movement: Annotated[Movement | None, Part("Thermal movement of the panel")]
    flags: Annotated[tuple[SurveyFlag, ...], Parts("Outside trade practice")]
    cautions: Annotated[tuple[str, ...], Parts("Cautions")]
    assumptions: Annotated[tuple[Assumption, ...], Parts("Every figure the take-off rests on")]
