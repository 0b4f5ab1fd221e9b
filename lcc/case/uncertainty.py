"""How far the figures of a case may be off: ranges for the swings and for the random runs."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import CasePart, Choice, Quantity, Whole

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Uncertainty(CasePart):
    """Ranges about the figures of the case, and how many random runs are made within them.

    A range is half the width of a symmetric triangle about the figure of the case; a spread of
    lives is a standard deviation over the mean. A range of 0 keeps the figure as it is.
    """

    draws: Annotated[int, Whole(
        "Random runs", low=0, high=200000, basis="common practice",
        source="none unless asked for; 10,000 leave half a per cent of chance",
        help="Number of random runs, each with all inputs drawn at once; 0 for none.")] = 0
    seed: Annotated[int, Whole(
        "Seed", low=0, high=2**31 - 1, basis="common practice", source="any fixed number",
        help="The same seed gives the same runs.")] = 1
    life_distribution: Annotated[str, Choice(
        "Lives are drawn from", ("weibull", "triangular"), basis="common practice",
        source="ASTM E1369 names the methods; Weibull is the usual law of wear-out")] = "weibull"
    membrane_life_spread: Annotated[float, Quantity(
        "fraction", "Spread of membrane lives", low=0, high=1, basis="common practice",
        source="single roofs scatter more than the sources of the lives table, some 15% about 20",
        help="Standard deviation over the mean.")] = 0.25
    retrofit_life_spread: Annotated[float, Quantity(
        "fraction", "Spread of metal roof lives", low=0, high=1, basis="common practice",
        source="25 to 60 years by the sources of the lives table, 40 central; as membranes",
        help="Standard deviation over the mean.")] = 0.25
    life_share: Annotated[float, Quantity(
        "fraction", "Share of that spread in common to one kind of covering", low=0, high=1,
        basis="common practice", source="half: the same product, climate and trade",
        help="Of the variance. 1: if one membrane lasts long, all do.")] = 0.5
    remaining_life_range_y: Annotated[float, Quantity(
        "years", "Range of the years the covering has left", low=0, high=30, basis="from memory",
        source="Cash 1997, mean lives within 2 years")] = 2.0
    membrane_price_range: Annotated[float, Quantity(
        "fraction", "Range of membrane and coating prices", low=0, high=1, basis="common practice",
        source="spread of quotations")] = 0.15
    retrofit_price_range: Annotated[float, Quantity(
        "fraction", "Range of the retrofit's price", low=0, high=1, basis="common practice",
        source="spread of quotations")] = 0.15
    tear_off_range: Annotated[float, Quantity(
        "fraction", "Range of tear-off and disposal", low=0, high=1, basis="common practice",
        source="spread of quotations; what lies below is seen late")] = 0.2
    insulation_range: Annotated[float, Quantity(
        "fraction", "Range of the price of insulation", low=0, high=1, basis="common practice",
        source="spread of quotations")] = 0.15
    units_range: Annotated[float, Quantity(
        "fraction", "Range of the cost of rooftop units", low=0, high=1, basis="common practice",
        source="spread of quotations")] = 0.25
    disruption_range: Annotated[float, Quantity(
        "fraction", "Range of disruption and interior damage", low=0, high=1,
        basis="common practice",
        source="known to half and double at best")] = 0.5
    other_work_range: Annotated[float, Quantity(
        "fraction", "Range of edges, flashings and fees", low=0, high=1, basis="common practice",
        source="spread of quotations")] = 0.2
    repairs_range: Annotated[float, Quantity(
        "fraction", "Range of repairs", low=0, high=1, basis="common practice",
        source="owners' records scatter from year to year")] = 0.3
    upkeep_range: Annotated[float, Quantity(
        "fraction", "Range of upkeep and service", low=0, high=1, basis="common practice",
        source="owners' records scatter from year to year")] = 0.3
    wet_area_range: Annotated[float, Quantity(
        "fraction", "Range of the wet area", low=0, high=1, basis="common practice",
        source="a moisture survey samples the roof")] = 0.3
    life_gain_range: Annotated[float, Quantity(
        "fraction", "Range of the years that a coating adds", low=0, high=1,
        basis="common practice",
        source="warranties and field reports differ by half")] = 0.5
    energy_price_range: Annotated[float, Quantity(
        "fraction", "Range of energy prices", low=0, high=1, basis="common practice",
        source="about the change of United States commercial prices from 2020 to 2022")] = 0.2
    energy_saving_range: Annotated[float, Quantity(
        "fraction", "Range of the energy saving", low=0, high=1, basis="common practice",
        source="modelled against metered savings")] = 0.25
    unknown_range: Annotated[float, Quantity(
        "fraction", "Cost of what is unknown, at most this part of it", low=0, high=1,
        basis="common practice", source="each answer may be good or bad, or anything between",
        help="At worst: asbestos found, just over a quarter wet, water standing, no flashing "
        "left.")] = 1.0
    discount_rate_range: Annotated[float, Quantity(
        "rate", "Range of the discount rate", low=0, high=0.2, basis="common practice",
        source="one point either way")] = 0.01
    work_escalation_range: Annotated[float, Quantity(
        "rate", "Range of the roofing and repair price rise", low=0, high=0.1,
        basis="common practice", source="one point either way")] = 0.01
    energy_escalation_range: Annotated[float, Quantity(
        "rate", "Range of the energy price rise", low=0, high=0.1, basis="common practice",
        source="one point either way")] = 0.01
