"""The survey from which a metal retrofit is laid out: plan, slope, spacings, and what stands in it.

Lengths along the plan are measured from its front left corner, `x` to the right and `y` to the
back. Heights are measured from the old roof. The defaults of members are stated as invented
where no maker's figure stands behind them: this is a budget, not a structural design.
"""

from dataclasses import dataclass
from itertools import combinations
from math import fsum
from operator import mul
from typing import Annotated

from lcc.case.fields import CasePart, Choice, Flag, Key, Part, Parts, Quantity, Text, Whole
from lcc.case.other_work import OtherWork
from lcc.case.rectangle import Rectangle, RoofDrain
from lcc.case.unit_prices import UnitPrices
from lcc.case.wind_and_snow import WindAndSnow
from lcc.errors import CaseError
from lcc.units import FOOT_M
from lcc.units.typed_quantities import both

_MAKER = "invented; replace by the framing maker's figure"
_HOUSE = "ordinary light framing"
USUAL_SKYLIGHT_M2 = 100 * FOOT_M**2
_LEAST_SKYLIGHT_M2 = 4 * FOOT_M**2  # no skylight is smaller than 2 ft by 2 ft

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Framing(CasePart):
    """A metal retrofit as surveyed and laid out, with the prices that its take-off meets."""

    rectangles: Annotated[tuple[Rectangle, ...], Parts(
        "Rectangles of the plan", low=1, high=50, advanced=False)]
    slope: Annotated[float, Quantity(
        "slope", "Slope (rise over run)", low=0, high=0.5, low_open=True, advanced=False,
        basis="demo", source="1/2 in 12, above the 1/4 in 12 of the model code")] = 0.5 / 12
    lowest_post_m: Annotated[float, Quantity(
        "length", "Lowest post", low=0.03, high=10, advanced=False, basis="demo", source="invented",
        help="Height of the posts at the eave, old roof to purlin.")] = 0.3048
    post_spacing_m: Annotated[float | None, Quantity(
        "length", "Posts along a purlin, at most", low=0.3, high=10,
        when_unset="5 ft (1.524 m); 6 ft (1.829 m) at most where joists or beams stand so far "
        "apart")] = None
    purlin_spacing_m: Annotated[float, Quantity(
        "length", "Purlins, at most", low=0.3, high=10, basis="common practice", source=_HOUSE,
        help="Measured in plan.")] = 1.524
    purlin_depth_m: Annotated[float, Quantity(
        "thickness", "Depth of a purlin", low=0.02, high=0.6, basis="common practice",
        source=_HOUSE)] = 0.1016
    purlin_stock_m: Annotated[float, Quantity(
        "length", "Purlins are bought in lengths of", low=1, high=30, basis="common practice",
        source="20 ft, which two can carry")] = 6.096
    purlin_lap_m: Annotated[float, Quantity(
        "length", "Lap of purlins at a splice", low=0, high=0.9, basis="common practice",
        source="butted over a post, until the engineer asks for laps")] = 0.0
    drains: Annotated[tuple[RoofDrain, ...], Parts("Old roof drains in place", high=20)] = ()
    bracing: Annotated[bool, Flag("Cross-bracing", basis="common practice", source=_HOUSE)] = True
    brace_spacing_m: Annotated[float, Quantity(
        "length", "Bracing lines, at most", low=1, high=100, basis="common practice",
        source="cross-bracing about every 40 ft")] = 12.192
    post_height_limit_m: Annotated[float, Quantity(
        "length", "Posts questioned above", low=0.3, high=30, basis="demo",
        source="chosen here as a prompt to ask the engineer early")] = 2.4384
    panel_metal: Annotated[str, Key(
        "metals", "Panel metal", basis="common practice", source="coated steel")] = "steel"
    panel_thickness_m: Annotated[float, Quantity(
        "thickness", "Panel sheet", low=0.0003, high=0.003, basis="from memory",
        source="24 gauge of the manufacturers' standard gauge, 0.0239 in")] = 0.000607
    panel_cover_m: Annotated[float, Quantity(
        "thickness", "Width that a panel covers", low=0.2, high=1.5, basis="common practice",
        source="structural panels of 24 in")] = 0.6096
    panel_girth: Annotated[float, Quantity(
        "ratio", "Flat sheet over width covered", low=1, high=2, basis="demo",
        source=_MAKER)] = 1.25
    trim_girth_m: Annotated[float, Quantity(
        "thickness", "Sheet in a trim or gutter", low=0, high=2, basis="demo", source=_MAKER)] = 0.4
    waste: Annotated[float, Quantity(
        "fraction", "Panel waste", low=0, high=0.5, basis="demo", source="invented")] = 0.05
    post_section_m2: Annotated[float, Quantity(
        "section", "Steel cross-section of a post", low=0, high=0.01, basis="demo",
        source=_MAKER)] = 3.9e-4
    purlin_section_m2: Annotated[float, Quantity(
        "section", "Steel cross-section of a purlin", low=0, high=0.01, basis="demo",
        source=_MAKER)] = 3.8e-4
    brace_section_m2: Annotated[float, Quantity(
        "section", "Steel cross-section of a brace", low=0, high=0.01, basis="demo",
        source=_MAKER)] = 1.5e-4
    post_base_kg: Annotated[float, Quantity(
        "mass", "Base and cap of a post", low=0, high=50, basis="demo", source=_MAKER)] = 0.9
    clip_kg: Annotated[float, Quantity(
        "mass", "Clip with its fasteners", low=0, high=5, basis="demo", source=_MAKER)] = 0.15
    wall_kg_m2: Annotated[float, Quantity(
        "mass_per_area", "End wall, girts and cladding", low=0, high=100, basis="demo",
        source=_MAKER)] = 9.0
    ventilator_kg: Annotated[float, Quantity(
        "mass", "A ventilator", low=0, high=500, basis="demo", source=_MAKER)] = 12.0
    curb_kg: Annotated[float, Quantity(
        "mass", "A curb", low=0, high=2000, basis="demo", source=_MAKER)] = 45.0
    fasteners_per_clip: Annotated[int, Whole(
        "Fasteners a clip", low=1, high=8, basis="common practice",
        source="two to three fasteners a clip by load")] = 2
    fasteners_per_post: Annotated[int, Whole(
        "Fasteners a post, base and cap", low=0, high=40, basis="demo", source=_MAKER)] = 6
    fasteners_per_fixed_end: Annotated[int, Whole(
        "Fasteners at a panel's fixed point", low=0, high=40, basis="demo", source=_MAKER)] = 4
    fixed_point: Annotated[str, Choice(
        "Panels are fixed at", ("eave", "high-end", "middle"), basis="common practice",
        source="standing seam fixed at one point, free to move from it")] = "eave"
    clip_travel_m: Annotated[float | None, Quantity(
        "thickness", "Travel of a floating clip, end to end", low=0, high=0.5,
        when_unset="the panel's movement is given without a judgement")] = None
    laid_at_c: Annotated[float, Quantity(
        "temperature", "Panel temperature on the day it is laid", low=-30, high=70,
        basis="common practice", source="a mild day")] = 20.0
    insulation_thickness_m: Annotated[float | None, Quantity(
        "thickness", "Insulation on the old roof", low=0, high=2,
        when_unset="the layers that the retrofit lays on the old roof, or none")] = None
    insulation_density_kg_m3: Annotated[float | None, Quantity(
        "density", "Density of that insulation", low=0.1, high=25000,
        when_unset="the layers', or that of glass-fibre blanket in the materials table")] = None
    air_changes_per_h: Annotated[float, Quantity(
        "air_changes", "Air changes wanted in the cavity", low=0, high=100,
        basis="common practice", source="four to five air changes an hour")] = 4.5
    ventilator_throat_m2: Annotated[float, Quantity(
        "area", "Throat of one ventilator", low=0.005, high=10, basis="common practice",
        source="a round throat of 12 in")] = 0.073
    inlet_to_outlet: Annotated[float, Quantity(
        "ratio", "Inlet area over ventilator throats", low=0.1, high=10, basis="common practice",
        source="inlets at least as large as outlets")] = 1.0
    wind_m_s: Annotated[float, Quantity(
        "speed", "Wind at the roof for that rate", low=0, high=20, basis="demo",
        source="invented: a light breeze")] = 2.0
    warmth_k: Annotated[float, Quantity(
        "temperature_difference", "Cavity air above outdoor air meanwhile", low=0, high=40,
        basis="demo", source="invented: a mild sunny hour")] = 3.0
    rooftop_units: Annotated[int, Whole(
        "Rooftop units to lift", low=0, high=1000, basis="common practice",
        source="none unless counted")] = 0
    curbs: Annotated[int | None, Whole(
        "New curbs", low=0, high=5000, when_unset="one for each rooftop unit")] = None
    penetrations: Annotated[int, Whole(
        "Pipes and conduits through the roof", low=0, high=10000, basis="common practice",
        source="none unless counted")] = 0
    wet_area_m2: Annotated[float, Quantity(
        "area", "Wet area to tear out", low=0, high=1e6, basis="common practice",
        source="dry unless surveyed")] = 0.0
    crane_area_m2: Annotated[float, Quantity(
        "area", "Plan area that a crane serves in a day", low=10, high=1e5, basis="demo",
        source="invented")] = 1000.0
    labour_hours_h: Annotated[float | None, Quantity(
        "hours", "Labour hours", low=0, high=1e6,
        when_unset="from the hours of each line in the unit prices table")] = None
    wind_and_snow: Annotated[WindAndSnow, Part("Wind and snow")] = WindAndSnow()
    other_work: Annotated[OtherWork, Part("Other work")] = OtherWork()
    unit_prices: Annotated[UnitPrices, Part("Unit prices")] = UnitPrices()
    quotation: Annotated[float | None, Quantity(
        "money", "Quotation that replaces the build-up", low=0, high=1e9,
        when_unset="the build-up is the first cost", advanced=False,
        help="For all that the take-off lists, rooftop units too; instead of a price by "
        "area.")] = None
    quotation_from: Annotated[str, Text("Who quoted, and when")] = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.rectangles:
            raise CaseError("rectangles", [], "at least one rectangle")
        for first, second in combinations(range(len(self.rectangles)), 2):
            _check_apart(self.rectangles, first, second)
        for place, drain in enumerate(self.drains):
            self._check_drain(place, drain)
        plan_m2 = self.plan_m2
        if self.wet_area_m2 > plan_m2:
            raise CaseError("wet_area", self.wet_area_m2, "at most the plan area")
        for name in ("skylights_carried", "skylights_covered"):
            count, most = getattr(self.other_work, name), int(plan_m2 / _LEAST_SKYLIGHT_M2)
            if count > most:
                raise CaseError(f"other_work.{name}", count,
                                f"at most {int(plan_m2 / USUAL_SKYLIGHT_M2):,} as roofs usually "
                                "have on this plan, one for every 100 ft² (9.3 m²); "
                                f"{most:,} would leave no roof between them")

    @property
    def plan_m2(self) -> float:
        """Plan area of all parts [m²]."""
        return fsum(each.area_m2 for each in self.rectangles)

    def slope_of(self, part: Rectangle) -> float:
        """Return the slope of a part: its own, or that of the survey."""
        return self.slope if part.slope is None else part.slope

    @property
    def slopes(self) -> tuple[float, ...]:
        """Slope of every part."""
        return tuple(map(self.slope_of, self.rectangles))

    @property
    def mean_slope(self) -> float:
        """Mean slope of its parts, by their plan areas."""
        if len(set(self.slopes)) == 1:
            return self.slopes[0]
        areas = (each.area_m2 for each in self.rectangles)
        return fsum(map(mul, areas, self.slopes)) / self.plan_m2

    @property
    def stone_kg_m2(self) -> tuple[float, ...]:
        """Loose stone taken off every part [kg/m²]: its own, or that of the survey."""
        everywhere = self.other_work.ballast_kg_m2 or 0.0
        return tuple(everywhere if one.ballast_kg_m2 is None else one.ballast_kg_m2
                     for one in self.rectangles)  # fmt: skip

    @property
    def stone(self) -> tuple[float, float]:
        """Plan area that loose stone is taken off [m²], and its mass [kg]."""
        found = [(one.area_m2, load)
                 for one, load in zip(self.rectangles, self.stone_kg_m2, strict=True)]  # fmt: skip
        return fsum(area for area, load in found if load), fsum(area * load for area, load in found)

    @property
    def stone_by_part(self) -> bool:
        """Whether the survey says for a part of its own how much loose stone lies there."""
        return any(one.ballast_kg_m2 is not None for one in self.rectangles)

    @property
    def states_stone(self) -> bool:
        """Whether the survey, or one of its parts, says how much loose stone there is."""
        own = [one.ballast_kg_m2 for one in self.rectangles]
        return any(load is not None for load in (*own, self.other_work.ballast_kg_m2))

    def _check_drain(self, place: int, drain: RoofDrain) -> None:
        """Refuse a drain outside all parts, or in one whose deck is stated to fall elsewhere."""
        holding = [k for k, one in enumerate(self.rectangles) if one.holds(drain.x_m, drain.y_m)]
        if not holding:
            told = (f"no part holds drain {place + 1}; it is measured from the plan's left and "
                    "front, as the parts are")  # fmt: skip
            raise CaseError(f"drains.{place}.x", drain.x_m, f"a place on the plan: {told}",
                            detail=f"Enter a place on the plan: {told}.")
        for k in holding:
            if (said := self.rectangles[k].deck_drains_to) is not None:
                raise CaseError(f"rectangles.{k}.deck_drains_to", said,
                                f"no value: drain {place + 1} stands in part {k + 1}, whose deck "
                                "falls to its drains; or take the drain out")


# fmt: on


def _check_apart(rectangles: tuple[Rectangle, ...], index: int, later: int) -> None:
    """Refuse a rectangle that overlaps another by more than a millimetre."""
    first, second = rectangles[index], rectangles[later]
    across = min(first.x_m + first.length_m, second.x_m + second.length_m) - max(
        first.x_m, second.x_m
    )
    along = min(first.y_m + first.width_m, second.y_m + second.width_m) - max(first.y_m, second.y_m)
    if across > 1e-3 and along > 1e-3:
        allowed = (f"a place clear of part {index + 1}: part {later + 1} overlaps part "
                   f"{index + 1} by {both(across)} along x and {both(along)} along y")  # fmt: skip
        right, back = first.x_m + first.length_m, first.y_m + first.width_m
        told = (f"P{allowed.partition(': p')[2]}. It stands clear with its left edge at "
                f"{both(right)} or more, or its front edge at {both(back)} or more.")  # fmt: skip
        raise CaseError(f"rectangles.{later}.x", second.x_m, allowed, detail=told)
