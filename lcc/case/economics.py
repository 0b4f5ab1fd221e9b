"""Prices and the terms on which money of different years is compared."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import check, choice, part, quantity, whole

TABLE = "from the prices table"


@dataclass(frozen=True)
class Prices:
    """Energy and roofing work, in base-year money; unset means the row of ``data/prices.csv``."""

    electricity_per_kwh: float | None = quantity(
        "price_per_energy", "Electricity", None, low=0, high=5, when_unset=TABLE, advanced=False
    )
    demand_per_kw: float | None = quantity(
        "price_per_power", "Demand charge a month", None, low=0, high=500, when_unset=TABLE
    )
    gas_per_kwh: float | None = quantity(
        "price_per_energy", "Gas", None, low=0, high=5, when_unset=TABLE, advanced=False
    )
    electricity_emissions_kg_kwh: float | None = quantity(
        "emissions_per_energy", "CO2 of electricity", None, low=0, high=3, when_unset=TABLE
    )
    gas_emissions_kg_kwh: float | None = quantity(
        "emissions_per_energy", "CO2 of gas burned", None, low=0, high=3, when_unset=TABLE
    )
    tear_off_per_m2: float | None = quantity(
        "price_per_area", "Tear-off of one covering", None, low=0, high=2000, when_unset=TABLE
    )
    disposal_per_kg: float | None = quantity(
        "price_per_mass", "Disposal", None, low=0, high=20, when_unset=TABLE
    )
    insulation_per_m2: float | None = quantity(
        "price_per_resistance", "Insulation by area and R-value, laid", None, low=0, high=500,
        when_unset=TABLE,
    )  # fmt: skip
    unit_lift: float | None = quantity(
        "money", "Lifting one rooftop unit off and on", None, low=0, high=1e6, when_unset=TABLE
    )
    disruption_per_m2: float | None = quantity(
        "price_per_area", "Disruption and interior damage at a replacement", None, low=0,
        high=2000, when_unset=TABLE,
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)


@dataclass(frozen=True)
class Tax:
    """Income tax of a building held for business in the United States, for an after-tax view."""

    rate: float = quantity(
        "rate", "Income tax rate", low=0, high=0.9, high_open=True, advanced=False,
        help="Federal and state together, on the last unit of income.",
    )  # fmt: skip
    depreciation_life_y: int = whole(
        "Depreciation life", 39, kind="years", low=1, high=50, basis="published",
        source="IRS Publication 946, nonresidential real property",
        help="Roofs and retrofits are written off straight line over this life.",
    )  # fmt: skip
    month: int = whole(
        "Month placed in service", 1, low=1, high=12, basis="common practice",
        source="work at the end of a year serves from the next January",
        help="The mid-month convention counts half of this month, 1 for January.",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)


@dataclass(frozen=True)
class Economics:
    """Study period, discount rate and escalation."""

    study_period_y: int = whole(
        "Study period", 50, kind="years", low=1, high=100, advanced=False, basis="common practice",
        source="service life of a structural standing-seam roof",
    )  # fmt: skip
    discount_rate: float = quantity(
        "rate", "Discount rate", 0.03, low=-0.05, high=0.5, low_open=True, advanced=False,
        basis="published", source="10 CFR 436.14, floor of the federal real rate",
    )  # fmt: skip
    rate_kind: str = choice(
        "The rate is", ("real", "nominal"), "real",
        help="Real: without inflation. Nominal: with it; inflation is then taken out.",
    )  # fmt: skip
    inflation: float = quantity(
        "rate", "Inflation", 0.0, low=-0.05, high=0.5, basis="common practice",
        source="none assumed; with a real rate only tax feels it",
        help="Taken out of a nominal rate; it also shrinks depreciation, fixed in money.",
    )  # fmt: skip
    electricity_escalation: float = quantity(
        "rate", "Electricity price rise above inflation", 0.0, low=-0.1, high=0.2,
        basis="common practice", source="none assumed",
    )  # fmt: skip
    gas_escalation: float = quantity(
        "rate", "Gas price rise above inflation", 0.0, low=-0.1, high=0.2,
        basis="common practice", source="none assumed",
    )  # fmt: skip
    work_escalation: float = quantity(
        "rate", "Roofing price rise above inflation", 0.0, low=-0.1, high=0.2,
        basis="common practice", source="none assumed",
    )  # fmt: skip
    repairs_escalation: float = quantity(
        "rate", "Repair and upkeep price rise above inflation", 0.0, low=-0.1, high=0.2,
        basis="common practice", source="none assumed",
    )  # fmt: skip
    tax: Tax | None = part("Income tax", None, when_unset="costs are before tax")

    def __post_init__(self) -> None:
        check(self)
