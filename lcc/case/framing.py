"""The survey from which a metal retrofit is laid out: plan, slope, spacings, and what stands in it.

Lengths along the plan are measured from its front left corner, `x` to the right and `y` to the
back. Heights are measured from the old roof. The defaults of members are stated as invented
where no maker's figure stands behind them: this is a budget, not a structural design.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from lcc.case.fields import check, choice, flag, key, part, parts, quantity, text, whole
from lcc.case.unit_prices import UnitPrices
from lcc.errors import CaseError

SIDES = ("front", "back", "left", "right")
_MAKER = "invented; replace by the framing maker's figure"
_HOUSE = "ordinary light framing"


@dataclass(frozen=True)
class Rectangle:
    """One rectangle of the plan with its own fall; several, side by side, make any plan."""

    length_m: float = quantity("length", "Length, left to right", low=1, high=1000, advanced=False)
    width_m: float = quantity("length", "Width, front to back", low=1, high=1000, advanced=False)
    form: str = choice(
        "Form", ("one-way", "ridge"), "one-way", advanced=False, basis="demo",
        source="the simplest roof", help="One fall, or two that fall from a ridge in the middle.",
    )  # fmt: skip
    drains_to: str = choice(
        "Drains to", SIDES, "front", advanced=False, basis="demo", source="the simplest roof",
        help="The low side; a ridge roof drains to the opposite side as well.",
    )  # fmt: skip
    x_m: float = quantity(
        "length", "Left edge from the plan's left", 0.0, low=0, high=5000, basis="entered",
        source="one rectangle needs no place",
    )  # fmt: skip
    y_m: float = quantity(
        "length", "Front edge from the plan's front", 0.0, low=0, high=5000, basis="entered",
        source="one rectangle needs no place",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)


@dataclass(frozen=True)
class Framing:
    """A metal retrofit as surveyed and laid out, with the prices that its takeoff meets."""

    rectangles: tuple[Rectangle, ...] = parts(
        "Rectangles of the plan", (), low=1, high=50, advanced=False
    )
    slope: float = quantity(
        "slope", "Slope (rise over run)", 0.5 / 12, low=0, high=0.5, low_open=True,
        advanced=False, basis="demo", source="1/2 in 12, above the 1/4 in 12 of the model code",
    )  # fmt: skip
    lowest_post_m: float = quantity(
        "length", "Lowest post", 0.3048, low=0.03, high=10, advanced=False, basis="demo",
        source="invented", help="Height of the posts at the eave, old roof to purlin.",
    )  # fmt: skip
    post_spacing_m: float = quantity(
        "length", "Posts along a purlin, at most", 1.524, low=0.3, high=10,
        basis="common practice", source=_HOUSE,
    )  # fmt: skip
    purlin_spacing_m: float = quantity(
        "length", "Purlins, at most", 1.524, low=0.3, high=10,
        basis="common practice", source=_HOUSE, help="Measured in plan.",
    )  # fmt: skip
    purlin_depth_m: float = quantity(
        "thickness", "Depth of a purlin", 0.1016, low=0.02, high=0.6,
        basis="common practice", source=_HOUSE,
    )  # fmt: skip
    bracing: bool = flag("Cross-bracing", True, basis="common practice", source=_HOUSE)
    brace_spacing_m: float = quantity(
        "length", "Bracing lines, at most", 12.192, low=1, high=100,
        basis="common practice", source="cross-bracing about every 40 ft",
    )  # fmt: skip
    post_height_limit_m: float = quantity(
        "length", "Posts questioned above", 2.4384, low=0.3, high=30, basis="demo",
        source="chosen here as a prompt to ask the engineer early",
    )  # fmt: skip
    panel_metal: str = key(
        "metals", "Panel metal", "steel", basis="common practice", source="coated steel"
    )
    panel_thickness_m: float = quantity(
        "thickness", "Panel sheet", 0.000607, low=0.0003, high=0.003, basis="from memory",
        source="24 gauge of the manufacturers' standard gauge, 0.0239 in",
    )  # fmt: skip
    panel_cover_m: float = quantity(
        "thickness", "Width that a panel covers", 0.6096, low=0.2, high=1.5,
        basis="common practice", source="structural panels of 24 in",
    )  # fmt: skip
    panel_girth: float = quantity(
        "ratio", "Flat sheet over width covered", 1.25, low=1, high=2, basis="demo", source=_MAKER
    )
    trim_girth_m: float = quantity(
        "thickness", "Sheet in a trim or gutter", 0.4, low=0, high=2, basis="demo", source=_MAKER
    )
    waste: float = quantity(
        "fraction", "Panel waste", 0.05, low=0, high=0.5, basis="demo", source="invented"
    )
    post_section_m2: float = quantity(
        "section", "Steel area of a post", 3.9e-4, low=0, high=0.01, basis="demo", source=_MAKER
    )
    purlin_section_m2: float = quantity(
        "section", "Steel area of a purlin", 3.8e-4, low=0, high=0.01, basis="demo", source=_MAKER
    )
    brace_section_m2: float = quantity(
        "section", "Steel area of a brace", 1.5e-4, low=0, high=0.01, basis="demo", source=_MAKER
    )
    post_base_kg: float = quantity(
        "mass", "Base and cap of a post", 0.9, low=0, high=50, basis="demo", source=_MAKER
    )
    clip_kg: float = quantity(
        "mass", "Clip with its fasteners", 0.15, low=0, high=5, basis="demo", source=_MAKER
    )
    wall_kg_m2: float = quantity(
        "mass_per_area", "End wall, girts and cladding", 9.0, low=0, high=100, basis="demo",
        source=_MAKER,
    )  # fmt: skip
    ventilator_kg: float = quantity(
        "mass", "A ventilator", 12.0, low=0, high=500, basis="demo", source=_MAKER
    )
    curb_kg: float = quantity("mass", "A curb", 45.0, low=0, high=2000, basis="demo", source=_MAKER)
    fasteners_per_clip: int = whole(
        "Fasteners a clip", 2, low=1, high=8, basis="common practice",
        source="two to three fasteners a clip by load",
    )  # fmt: skip
    fasteners_per_post: int = whole(
        "Fasteners a post, base and cap", 6, low=0, high=40, basis="demo", source=_MAKER
    )
    fasteners_per_fixed_end: int = whole(
        "Fasteners at a panel's fixed point", 4, low=0, high=40, basis="demo", source=_MAKER
    )
    fixed_point: str = choice(
        "Panels are fixed at", ("eave", "high-end", "middle"), "eave", basis="common practice",
        source="standing seam fixed at one point, free to move from it",
    )  # fmt: skip
    clip_travel_m: float | None = quantity(
        "thickness", "Travel of a floating clip, end to end", None, low=0, high=0.5,
        when_unset="the panel's movement is given without a judgement",
    )  # fmt: skip
    laid_at_c: float = quantity(
        "temperature", "Panel temperature on the day it is laid", 20.0, low=-30, high=70,
        basis="common practice", source="a mild day",
    )  # fmt: skip
    insulation_thickness_m: float | None = quantity(
        "thickness", "Insulation on the old roof", None, low=0, high=2,
        when_unset="the layers that the retrofit lays on the old roof, or none",
    )  # fmt: skip
    insulation_density_kg_m3: float | None = quantity(
        "density", "Density of that insulation", None, low=0.1, high=25000,
        when_unset="the layers', or that of glass-fibre blanket in the materials table",
    )  # fmt: skip
    air_changes_per_h: float = quantity(
        "air_changes", "Air changes that the cavity shall have", 4.5, low=0, high=100,
        basis="common practice", source="four to five air changes an hour",
    )  # fmt: skip
    ventilator_throat_m2: float = quantity(
        "area", "Throat of one ventilator", 0.073, low=0.005, high=10, basis="common practice",
        source="a round throat of 12 in",
    )  # fmt: skip
    inlet_to_outlet: float = quantity(
        "ratio", "Inlet area over ventilator throats", 1.0, low=0.1, high=10,
        basis="common practice", source="inlets at least as large as outlets",
    )  # fmt: skip
    wind_m_s: float = quantity(
        "speed", "Wind at the roof in which that rate is met", 2.0, low=0, high=20, basis="demo",
        source="invented: a light breeze",
    )  # fmt: skip
    warmth_k: float = quantity(
        "temperature_difference", "Cavity air above outdoor air meanwhile", 3.0, low=0, high=40,
        basis="demo", source="invented: a mild sunny hour",
    )  # fmt: skip
    rooftop_units: int = whole(
        "Rooftop units to lift", 0, low=0, high=1000, basis="common practice",
        source="none unless counted",
    )  # fmt: skip
    curbs: int | None = whole(
        "New curbs", None, low=0, high=5000, when_unset="one for each rooftop unit"
    )
    penetrations: int = whole(
        "Pipes and conduits through the roof", 0, low=0, high=10000, basis="common practice",
        source="none unless counted",
    )  # fmt: skip
    wet_area_m2: float = quantity(
        "area", "Wet area to tear out", 0.0, low=0, high=1e6, basis="common practice",
        source="dry unless surveyed",
    )  # fmt: skip
    crane_area_m2: float = quantity(
        "area", "Plan area that a crane serves in a day", 1000.0, low=10, high=1e5, basis="demo",
        source="invented",
    )  # fmt: skip
    labour_hours_h: float | None = quantity(
        "hours", "Labour hours", None, low=0, high=1e6,
        when_unset="from the hours of each line in the unit prices table",
    )  # fmt: skip
    unit_prices: UnitPrices = part("Unit prices", UnitPrices)
    quotation: float | None = quantity(
        "money", "Quotation that replaces the build-up", None, low=0, high=1e9,
        when_unset="the build-up is the first cost", advanced=False,
        help="For all that the takeoff lists, rooftop units too; instead of a price by area.",
    )  # fmt: skip
    quotation_from: str = text("Who quoted, and when", "")

    def __post_init__(self) -> None:
        check(self)
        if not self.rectangles:
            raise CaseError("rectangles", [], "at least one rectangle")
        for first, second in combinations(range(len(self.rectangles)), 2):
            _check_apart(self.rectangles[first], self.rectangles[second], second)
        plan_m2 = sum(each.length_m * each.width_m for each in self.rectangles)
        if self.wet_area_m2 > plan_m2:
            raise CaseError("wet_area", self.wet_area_m2, "at most the plan area")


def _check_apart(first: Rectangle, second: Rectangle, index: int) -> None:
    """Refuse a rectangle that overlaps another by more than a millimetre."""
    across = min(first.x_m + first.length_m, second.x_m + second.length_m) - max(
        first.x_m, second.x_m
    )
    along = min(first.y_m + first.width_m, second.y_m + second.width_m) - max(first.y_m, second.y_m)
    if across > 1e-3 and along > 1e-3:
        raise CaseError(
            f"rectangles.{index}.x", second.x_m, "a place clear of the rectangles before it"
        )
