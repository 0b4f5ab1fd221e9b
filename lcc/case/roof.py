"""The roof as it is today."""

from dataclasses import KW_ONLY, dataclass, replace
from typing import Annotated

from lcc.case.fields import CasePart, Choice, Flag, Key, Origin, Parts, Quantity, TableRow, Whole
from lcc.case.kept import kept
from lcc.case.layers import Layer
from lcc.errors import CaseError

COVERING = TableRow("coverings", "covering")
LEAK_COST = 3_000.0  # a leak found, repaired, and what it wets inside; demo, invented
OF_LEAKS = f"a year at ${LEAK_COST:,.0f} each, invented"

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Roof(CasePart):
    """The roof as surveyed: size, age, coverings in place and layers."""

    area_m2: Annotated[float, Quantity("area", "Roof area", low=1, high=1e6, advanced=False)]
    _: KW_ONLY
    covering: Annotated[str, Key(
        "coverings", "Top covering today", advanced=False, basis="demo",
        source="invented: no covering was entered")] = "built-up-gravel"
    age_y: Annotated[float, Quantity(
        "years", "Age of the top covering", low=0, high=100, advanced=False, basis="demo",
        source="invented: no age was entered")] = 15.0
    remaining_life_y: Annotated[float | None, Quantity(
        "years", "Years the covering has left", low=0, high=100,
        when_unset="the usual life of the covering, less its age",
        row=TableRow("coverings", "covering", "service_life_y", less="age_y"))] = None
    coverings: Annotated[int, Whole(
        "Coverings in place", low=1, high=10, advanced=False, basis="demo",
        help="How many roofs lie one over the other.",
        source="invented: no number was entered")] = 1
    covering_below: Annotated[str | None, Key(
        "coverings", "Covering under the top one", when_unset="like the top one")] = None
    wet_fraction: Annotated[float | None, Quantity(
        "fraction", "Part of the insulation that is wet", low=0, high=1,
        when_unset="not known; counted as dry, to be checked before bids",
        help="By area, from a moisture survey with core cuts.")] = None
    wet_area_m2: Annotated[float | None, Quantity(
        "area", "Or the wet area itself, from core cuts", low=0, high=1e6,
        when_unset="from the part that is wet")] = None
    asbestos: Annotated[str, Choice(
        "Asbestos in the old roof", ("not-tested", "none-found", "found"),
        basis="common practice", source="not known until tested",
        help="Felts, mastics and flashings of old bituminous roofs may hold it.")] = "not-tested"
    deck_fall: Annotated[float | None, Quantity(
        "slope", "Fall of the deck to its drains (rise over run)", low=0, high=0.5,
        when_unset="not known; see whether water stands")] = None
    ponding: Annotated[str, Choice(
        "Water on the roof", ("not-known", "none", "stands-48-hours"),
        basis="common practice", source="not known until looked at after rain",
        help="Whether water still stands 48 hours after rain.")] = "not-known"
    rooftop_units: Annotated[int, Whole(
        "Rooftop units", low=0, high=1000, basis="common practice",
        source="none unless counted")] = 0
    solar_panels: Annotated[bool, Flag(
        "Solar panels on the roof", basis="common practice",
        source="none unless surveyed")] = False
    lightning_protection: Annotated[bool, Flag(
        "Lightning protection on the roof", basis="common practice",
        source="none unless surveyed")] = False
    units_on: Annotated[str, Choice(
        "Units stand on", ("curbs", "sleepers"), basis="common practice",
        source="most units stand on curbs")] = "curbs"
    flashing_height_m: Annotated[float | None, Quantity(
        "length", "Flashing of the curbs above the roof today", low=0, high=3,
        when_unset="not known; taken as 12 in, and to be measured before bids",
        help="From the roof's surface to the top of the flashing.")] = None
    skylights: Annotated[int, Whole(
        "Skylights", low=0, high=5000, basis="common practice",
        source="none unless counted")] = 0
    penetrations: Annotated[int, Whole(
        "Pipes and conduits through the roof", low=0, high=10000, basis="common practice",
        source="none unless counted")] = 0
    layers: Annotated[tuple[Layer, ...], Parts("Layers, outside to inside", low=1, high=50)]
    solar_reflectance: Annotated[float | None, Quantity(
        "fraction", "Solar reflectance", low=0, high=1,
        row=COVERING)] = None
    thermal_emittance: Annotated[float | None, Quantity(
        "fraction", "Thermal emittance", low=0, high=1,
        row=COVERING)] = None
    repairs_per_m2: Annotated[float, Quantity(
        "price_per_area", "Repairs this year", low=0, high=200, basis="demo",
        source="invented; replace by the owner's records")] = 1.0
    repairs_growth: Annotated[float, Quantity(
        "rate", "Growth of these repairs each year", low=-0.2, high=1, basis="demo",
        source="invented; replace by the owner's records")] = 0.08
    leaks: Annotated[float | None, Quantity(
        "count", "Leaks a year", low=0, high=1000,
        when_unset="none, only the usual repairs",
        help="How many places leak now, or leaked in the last year. Each counts "
        f"${LEAK_COST:,.0f} for its repair and what the water spoils (invented), every year until "
        "the roof is renewed. Where all begin today it changes nothing.")] = None
    leak_damage_per_m2: Annotated[float, Quantity(
        "price_per_area", "Leak damage a year, more for each year past the expected life",
        low=0, high=200, basis="demo", source="invented; replace by the owner's records",
        help="Counted only where work waits longer than the covering in place is expected to "
        "last.")] = 0.5
    # Weight [kg/m²] and price to take it off [money/m²] of loose stone that a framing survey finds,
    # and where it lies, unless everywhere; not of the roof's own document:
    # `lcc.quantities.retrofit_link.with_counts` puts it in.
    surveyed_stone: tuple[float, float, str] = (0.0, 0.0, "")

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.layers:
            raise CaseError("layers", [], "at least one layer")
        if self.wet_area_m2 is None:
            return
        if self.wet_fraction is not None:
            raise CaseError("wet_area", self.wet_area_m2, "nothing beside the part that is wet")
        if self.wet_area_m2 > self.area_m2:
            raise CaseError("wet_area", self.wet_area_m2, "at most the roof area")

    @kept(64)
    def with_wet_share(self) -> "Roof":
        """Return the roof with its wet area as a part of it."""
        if self.wet_area_m2 is None:
            return self
        share = Origin(self.origin("wet_area_m2").basis, "the wet area over the roof area")
        bare = replace(self, wet_area_m2=None)
        return bare.filled(wet_fraction=(self.wet_area_m2 / self.area_m2, share))

    @kept(64)
    def with_leaks(self, leaks_y: float | None) -> "Roof":
        """Return the roof with what so many leaks a year cost among its repairs."""
        if not leaks_y:
            return self
        told = f"repairs, and {leaks_y:g} leak{'s' * (leaks_y != 1)} {OF_LEAKS}"
        # A small roof that leaks every week is at the most that the field holds.
        repairs = min(200.0, self.repairs_per_m2 + leaks_y * LEAK_COST / self.area_m2)
        # From here on repairs include the leaks, so that nothing counts them twice.
        return replace(self, leaks=None).filled(repairs_per_m2=(repairs, Origin("demo", told)))

    @property
    def coverings_in_place(self) -> tuple[str, ...]:
        """Keys of the coverings that lie on the deck, from the top down."""
        below = self.covering_below or self.covering
        return (self.covering, *[below] * (self.coverings - 1))
