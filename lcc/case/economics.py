"""Prices and the terms on which money of different years is compared."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.duty_prices import DutyPrices
from lcc.case.fields import CasePart, Choice, Flag, Part, Quantity, TableRow, Whole

TABLE = TableRow("prices", column="value")

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Prices(CasePart):
    """Energy and roofing work, in base-year money; unset means the row of ``data/prices.csv``."""

    electricity_per_kwh: Annotated[float | None, Quantity(
        "price_per_energy", "Electricity", low=0, high=5, row=TABLE, advanced=False)] = None
    demand_per_kw: Annotated[float | None, Quantity(
        "price_per_power", "Demand charge a month", low=0, high=500, row=TABLE)] = None
    gas_per_kwh: Annotated[float | None, Quantity(
        "price_of_gas", "Gas", low=0, high=1, row=TABLE, advanced=False)] = None
    electricity_emissions_kg_kwh: Annotated[float | None, Quantity(
        "emissions_per_energy", "CO2 of electricity", low=0, high=3, row=TABLE)] = None
    gas_emissions_kg_kwh: Annotated[float | None, Quantity(
        "emissions_per_energy", "CO2 of gas burned", low=0, high=3, row=TABLE)] = None
    tear_off_per_m2: Annotated[float | None, Quantity(
        "price_per_area", "Tear-off of one covering", low=0, high=2000, row=TABLE)] = None
    disposal_per_kg: Annotated[float | None, Quantity(
        "price_per_mass", "Disposal", low=0, high=20, row=TABLE)] = None
    insulation_per_m2: Annotated[float | None, Quantity(
        "price_per_resistance", "Insulation by area and R-value, laid", low=0, high=500,
        row=TABLE)] = None
    unit_lift: Annotated[float | None, Quantity(
        "money", "Lifting one rooftop unit off and on", low=0, high=1e6, row=TABLE)] = None
    disruption_per_m2: Annotated[float | None, Quantity(
        "price_per_area", "Disruption and interior damage, by roof area opened", low=0, high=2000,
        row=TABLE)] = None
    duties: Annotated[DutyPrices, Part("Work around a new roof")] = DutyPrices()


@dataclass(frozen=True)
class Tax(CasePart):
    """Income tax of a building held for business in the United States, for an after-tax view."""

    rate: Annotated[float, Quantity(
        "rate", "Income tax rate", low=0, high=0.9, high_open=True, advanced=False,
        help="Federal and state together, on the last unit of income.")]
    depreciation_life_y: Annotated[int, Whole(
        "Depreciation life", kind="years", low=1, high=50, basis="second-hand",
        source="IRS Publication 946, nonresidential real property, read in a copy",
        help="Roofs and retrofits are written off straight line over this life.")] = 39
    month: Annotated[int, Whole(
        "Month placed in service", low=1, high=12, basis="common practice",
        source="work at the end of a year serves from the next January",
        help="The mid-month convention counts half of this month, 1 for January.")] = 1
    discount_rate: Annotated[float | None, Quantity(
        "rate", "Discount rate after tax", low=-0.05, high=0.5, low_open=True,
        when_unset="the discount rate of the case",
        help="Of the same kind as that rate, real or nominal.")] = None
    expensing: Annotated[str, Choice(
        "Deducted at once under section 179", ("none", "metal", "all"),
        basis="common practice", source="an election, so none unless chosen",
        help="Roofs of nonresidential buildings qualify (26 USC 179(e)(2)). Business income "
        "limits the deduction too, which is not checked here.")] = "none"
    expensing_limit: Annotated[float, Quantity(
        "money", "Most deducted at once in a year", low=0, high=1e9, basis="second-hand",
        source="Public Law 119-21, section 70306, as quoted in the tax press",
        help="For tax years from 2025; raised with inflation.")] = 2.5e6
    expensing_threshold: Annotated[float, Quantity(
        "money", "Cost of a year's work above which that limit shrinks", low=0, high=1e9,
        basis="second-hand", source="Public Law 119-21, section 70306, as quoted in the tax press",
        help="Dollar for dollar.")] = 4e6
    membrane_as_repair: Annotated[bool, Flag(
        "A new membrane on the old deck is a repair", basis="common practice",
        source="capitalized unless the adviser says so; examples in 26 CFR 1.263(a)-3(k)(7)",
        help="It is then deducted in its year; insulation that is added is not.")] = False
    coating_as_repair: Annotated[bool, Flag(
        "A coating is a repair", basis="common practice",
        source="capitalized unless the adviser says so; 26 CFR 1.263(a)-3",
        help="It is then deducted in its year.")] = False
    partial_disposition: Annotated[bool, Flag(
        "A roof that is torn off is written off at once", basis="common practice",
        source="an election of that year, 26 CFR 1.168(i)-8(d)(2)",
        help="What is not written off yet is deducted in the year of the tear-off.")] = False
    old_roof_basis: Annotated[float, Quantity(
        "money", "Cost of today's roof not written off yet", low=0, high=1e9,
        basis="common practice", source="none unless the owner's books show it",
        help="Counts only where a roof that is torn off is written off at once.")] = 0.0
    old_roof_years: Annotated[int, Whole(
        "Years in which that cost is written off", kind="years", low=1, high=50, basis="demo",
        source="invented; the owner's books show it")] = 20


@dataclass(frozen=True)
class Financing(CasePart):
    """How the first work of every choice is paid, by the money of each year."""

    how: Annotated[str, Choice(
        "Paid by", ("cash", "loan", "lease"), advanced=False,
        help="The first work of each choice, the base case too; later work is paid in "
        "cash.")] = "loan"
    rate: Annotated[float, Quantity(
        "rate", "Interest rate", low=0, high=0.5, advanced=False, basis="demo",
        source="invented; ask the lender",
        help="Nominal, a year, charged by the month.")] = 0.07
    years: Annotated[int, Whole(
        "Years of payments", kind="years", low=1, high=40, advanced=False,
        basis="common practice", source="equipment and roof loans of 5 to 15 years")] = 10
    down_payment: Annotated[float, Quantity(
        "fraction", "Part paid at once", low=0, high=1, basis="demo",
        source="invented; ask the lender")] = 0.1
    escalation: Annotated[float, Quantity(
        "rate", "Rise of the payments each year", low=0, high=0.2, basis="common practice",
        source="level unless agreed otherwise", help="For a lease.")] = 0.0


@dataclass(frozen=True)
class Economics(CasePart):
    """Study period, discount rate and escalation."""

    study_period_y: Annotated[int, Whole(
        "Study period", kind="years", low=1, high=100, advanced=False, basis="common practice",
        source="service life of a structural standing-seam roof")] = 50
    discount_rate: Annotated[float, Quantity(
        "rate", "Discount rate (above inflation, unless nominal)", low=-0.05, high=0.5,
        low_open=True, advanced=False,
        basis="published", source="10 CFR 436.14, floor of the federal real rate",
        help="What money could earn elsewhere in a year, beyond inflation: a bank’s 6.5% with "
        "inflation of 2.5% is about 3.9%. To enter the bank’s rate, say that it is "
        "nominal.")] = 0.03
    rate_kind: Annotated[str, Choice(
        "The rate is", ("real", "nominal"),
        help="Real: above inflation. Nominal: as a bank quotes it; inflation is then taken "
        "out.")] = "real"
    inflation: Annotated[float | None, Quantity(
        "rate", "Inflation", low=-0.05, high=0.5,
        row=TableRow("inflation", key="rate_kind", column="value"),
        help="Taken out of a nominal rate; it also shrinks depreciation, fixed in money.")] = None
    electricity_escalation: Annotated[float, Quantity(
        "rate", "Electricity price rise above inflation", low=-0.1, high=0.2,
        basis="common practice", source="none assumed")] = 0.0
    gas_escalation: Annotated[float, Quantity(
        "rate", "Gas price rise above inflation", low=-0.1, high=0.2, basis="common practice",
        source="none assumed")] = 0.0
    work_escalation: Annotated[float, Quantity(
        "rate", "Roofing price rise above inflation", low=-0.1, high=0.2, basis="common practice",
        source="none assumed")] = 0.0
    repairs_escalation: Annotated[float, Quantity(
        "rate", "Repair and upkeep price rise above inflation", low=-0.1, high=0.2,
        basis="common practice", source="none assumed")] = 0.0
    stays_y: Annotated[float, Quantity(
        "years", "Life of insulation and framing below the roof", low=1, high=200,
        basis="second-hand",
        source="75 years in the declarations of roof insulation (NSF EPD10151 and EPD10251) and "
        "by their rules of building products, read in copies; the owner may say less",
        help="They stay through later coverings and panels, and keep a residual value by this "
        "life.")] = 75.0
    carbon_price_per_kg: Annotated[float, Quantity(
        "price_per_mass", "Price of CO2", low=0, high=10, basis="common practice",
        source="none unless the owner counts it",
        help="On the electricity and gas that the building uses.")] = 0.0
    tax: Annotated[Tax | None, Part("Income tax", when_unset="costs are before tax")] = None
    financing: Annotated[Financing | None, Part(
        "How it is paid", when_unset="yearly payments are not worked out")] = None
