"""Work of a framed retrofit beside the frame: skylights, stone, drains, access, labour."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import CasePart, Choice, Flag, Quantity, Whole

_COUNT = "none unless counted"
SKYLIGHTS = ("skylights_carried", "skylights_covered")  # fields that count them

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class OtherWork(CasePart):
    """What is counted on the old roof and around it; nothing of it is priced unless entered."""

    skylights_carried: Annotated[int, Whole(
        "Skylights carried through the new roof, frame and curb", low=0, high=5000,
        basis="common practice", source=_COUNT)] = 0
    skylights_covered: Annotated[int, Whole(
        "Skylights covered over", low=0, high=5000, basis="common practice", source=_COUNT)] = 0
    ballast_kg_m2: Annotated[float | None, Quantity(
        "mass_per_area", "Loose stone taken off the old roof", low=0, high=200,
        when_unset="none priced; that of the roof's covering is credited as load",
        help="Over every part that states none of its own.")] = None
    torn_off_kg_m2: Annotated[float, Quantity(
        "mass_per_area", "Weight of the wet area torn out", low=0, high=300,
        basis="common practice", source="no credit unless weighed")] = 0.0
    expansion_joint_m: Annotated[float, Quantity(
        "length", "Expansion joints carried through", low=0, high=10000,
        basis="common practice", source=_COUNT)] = 0.0
    rain_hour_m: Annotated[float | None, Quantity(
        "thickness", "Rain in one hour, once in 100 years", low=0.001, high=0.4,
        when_unset="gutters and downspouts are not sized",
        help="Looked up in the plumbing code's map or asked of its authority.")] = None
    storm_ties: Annotated[bool, Flag(
        "Downspouts are tied into the storm drain", basis="common practice",
        source="they spill on grade unless tied")] = False
    drains_abandoned: Annotated[int, Whole(
        "Old roof drains closed", low=0, high=5000, basis="common practice", source=_COUNT)] = 0
    ventilator_flow_m3_s: Annotated[float | None, Quantity(
        "airflow", "Rated flow of one ventilator", low=0.001, high=20,
        when_unset="that of its bare throat", help="The maker's figure.")] = None
    ventilator_wind_m_s: Annotated[float, Quantity(
        "speed", "Wind of that rated flow", low=0.5, high=20, basis="common practice",
        source="rated at 4 mph")] = 1.78816
    access_height_m: Annotated[float | None, Quantity(
        "length", "Eave above the ground, for access and crane", low=2, high=100,
        when_unset="access is in the set-up alone",
        help="Of the highest part; at a lower one the wall is less by the levels entered.")] = None
    scaled_set_up: Annotated[bool, Flag(
        "Set-up grows with the plan", basis="common practice",
        source="a lump unless asked")] = False
    general_conditions: Annotated[bool, Flag(
        "General conditions, bond, sales tax and warranty fee are priced",
        basis="common practice", source="left out unless asked")] = False
    productivity: Annotated[str | None, Choice(
        "Productivity of the crew", ("low", "likely", "high"),
        when_unset="the hours of each line",
        help="Low 0.09, likely 0.075, high 0.06 hours for a square foot of plan.")] = None
    deck_kind: Annotated[str, Choice(
        "Old deck", ("not-known", "steel", "wood", "concrete", "gypsum", "wood-fibre"),
        basis="common practice", source="not known unless seen")] = "not-known"
    asbestos: Annotated[str, Choice(
        "Asbestos in the old roofing", ("not-tested", "found", "none-found"),
        basis="common practice", source="not known unless tested")] = "not-tested"
    solar_panels: Annotated[str, Choice(
        "Solar panels on the roof", ("not-known", "yes", "no"), basis="common practice",
        source="not known unless seen")] = "not-known"
    lightning_protection: Annotated[str, Choice(
        "Lightning protection on the roof", ("not-known", "yes", "no"), basis="common practice",
        source="not known unless seen")] = "not-known"

    @property
    def skylights(self) -> int:
        """Skylights on the old roof, carried through or covered."""
        return self.skylights_carried + self.skylights_covered


# fmt: on
