"""Wind and snow at the site of a framing survey: figures for the engineer, never a design."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import CasePart, Choice, Quantity

_LOOK_UP = "looked up for the address in the maps of the building code, or asked of its authority"

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class WindAndSnow(CasePart):
    """Wind and snow as looked up; zones of wind are laid out where speed and height are entered."""

    basic_wind_m_s: Annotated[float | None, Quantity(
        "speed", "Basic wind speed", low=20, high=110,
        when_unset="no zones of wind are laid out", help=_LOOK_UP.capitalize() + ".")] = None
    roof_height_m: Annotated[float | None, Quantity(
        "length", "Mean roof height above the ground", low=2, high=60,
        when_unset="no zones of wind are laid out")] = None
    edition: Annotated[str, Choice(
        "Edition of ASCE 7", ("7-16", "7-22"), basis="common practice",
        source="7-16 until the engineer names the edition in force",
        help="Wind and snow of one edition: enter speeds and loads of its own maps.")] = "7-16"
    exposure: Annotated[str, Choice(
        "Exposure", ("B", "C", "D"), basis="common practice", source="open ground unless judged",
        help="B towns and woods, C open ground, D open water.")] = "C"
    risk_category: Annotated[str, Choice(
        "Risk category", ("I", "II", "III", "IV"), basis="common practice",
        source="ordinary buildings", help="III schools and assemblies, IV essential.")] = "II"
    panel_uplift_kg_m2: Annotated[float | None, Quantity(
        "mass_per_area", "Allowable uplift of the panel at the stated purlin spacing",
        low=1, high=1000, when_unset="purlins by the ratios below",
        help="From the maker's test report, its safety factor applied.")] = None
    edge_ratio: Annotated[float, Quantity(
        "ratio", "Purlin spacing at edges, part of that in the field", low=0.2, high=1,
        basis="common practice", source="half spacing at edges, until the engineer decides")] = 0.5
    corner_ratio: Annotated[float, Quantity(
        "ratio", "Purlin spacing in corners, part of that in the field", low=0.2, high=1,
        basis="common practice",
        source="half spacing in corners, until the engineer decides")] = 0.5
    ground_snow_kg_m2: Annotated[float | None, Quantity(
        "mass_per_area", "Ground snow load", low=0, high=1500,
        when_unset="no snow load is given", help=_LOOK_UP.capitalize() + ".")] = None


# fmt: on
