"""What a comparison answers: frozen dataclasses in SI, the same words as the API's reply.

Yearly tuples have one entry for each year 0 to n of the study period, year 0 being today;
flows fall at the end of their year. Monthly tuples run January to December.
"""

from __future__ import annotations

from dataclasses import dataclass

from lcc.assumption import Assumption
from lcc.case.fields import part as nested
from lcc.case.fields import parts, quantity, stated, text
from lcc.quantities.results import Quantities


@dataclass(frozen=True)
class Monthly:
    """Energy by month and the month's highest electric demand, for the space under the roof."""

    cooling_electricity_kwh: tuple[float, ...] = quantity("electricity", "Cooling electricity")
    heating_electricity_kwh: tuple[float, ...] = quantity("electricity", "Heating electricity")
    fan_electricity_kwh: tuple[float, ...] = quantity("electricity", "Fan electricity")
    gas_kwh: tuple[float, ...] = quantity("gas_energy", "Gas")
    peak_kw: tuple[float, ...] = quantity("power", "Peak demand of cooling, heating and fans")


@dataclass(frozen=True)
class HotDay:
    """Hours 0 to 23 of the day with the hottest outdoor air under strong sun."""

    date: str = text("Month and day")
    outdoor_c: tuple[float, ...] = quantity("temperature", "Outdoor air")
    outer_surface_c: tuple[float, ...] = quantity("temperature", "Outermost surface")
    roof_flux_w_m2: tuple[float, ...] = quantity("flux", "Heat into the space, inward positive")


@dataclass(frozen=True)
class Condensation:
    """What outdoor moisture does under the metal panel in a year."""

    hours_below_dew_point_h: float = quantity("hours", "Hours below the dew point")
    hours_wet_h: float = quantity("hours", "Hours with a film of water")
    longest_wet_spell_h: float = quantity("hours", "Longest wet spell")
    peak_film_g_m2: float = quantity("film", "Thickest film, were nothing to drip")
    monthly_hours_wet_h: tuple[float, ...] = quantity("hours", "Hours wet by month")
    drying_hours_wet_h: float | None = quantity("hours", "Hours wet while the old roof dries", None)
    drying_longest_wet_spell_h: float | None = quantity(
        "hours", "Longest wet spell while the old roof dries", None
    )
    drying_peak_film_g_m2: float | None = quantity(
        "film", "Thickest film while the old roof dries", None
    )
    days_to_dry: float | None = quantity("ratio", "Days until the stated water has left", None)


@dataclass(frozen=True)
class EnergyYear:
    """One state of the roof through a typical year: heat, energy, bill and surface figures."""

    assembly: str = text("Assembly")
    years: tuple[int, ...] = stated(type="parts", label="Years of the study period in force")
    u_value_up_w_m2k: float = quantity("u_value", "U-value, heat flowing up")
    u_value_down_w_m2k: float = quantity("u_value", "U-value, heat flowing down")
    decrement_factor: float = quantity("ratio", "Decrement factor")
    time_lag_h: float = quantity("hours", "Time lag")
    monthly: Monthly = nested("By month")
    cooling_electricity_kwh: float = quantity("electricity", "Cooling electricity")
    heating_electricity_kwh: float = quantity("electricity", "Heating electricity")
    fan_electricity_kwh: float = quantity("electricity", "Fan electricity")
    gas_kwh: float = quantity("gas_energy", "Gas")
    cooling_load_kwh: float = quantity("heat_energy", "Heat removed by cooling, sensible")
    heating_load_kwh: float = quantity("heat_energy", "Heat added by heating, sensible")
    roof_heat_gain_kwh: float = quantity("heat_energy", "Heat through the roof inward")
    roof_heat_loss_kwh: float = quantity("heat_energy", "Heat through the roof outward")
    peak_cooling_kw: float = quantity("power", "Highest cooling load, heat")
    peak_heating_kw: float = quantity("power", "Highest heating load, heat")
    peak_surface_c: float = quantity("temperature", "Hottest outermost surface")
    lowest_surface_c: float = quantity("temperature", "Coldest outermost surface")
    peak_indoor_c: float = quantity("temperature", "Highest indoor temperature")
    mean_indoor_c: float = quantity("temperature", "Mean indoor temperature")
    hours_above_85f_h: float = quantity("hours", "Hours indoors above 85 °F (29.4 °C)")
    electricity_cost: float = quantity("money", "Electricity a year, base-year money")
    demand_cost: float = quantity("money", "Demand charges a year, base-year money")
    gas_cost: float = quantity("money", "Gas a year, base-year money")
    emissions_kg: float = quantity("mass", "CO2 a year")
    hot_day: HotDay = nested("A hot day")
    condensation: Condensation | None = nested("Condensation under the panel", None)
    iterations: int = stated(0, type="whole", label="Iterations of the heat solution")
    residual_k: float = quantity("temperature_difference", "Last change of any temperature", 0.0)


@dataclass(frozen=True)
class Event:
    """Something done to the roof: when, what, why, and its cost in base-year money."""

    year: int = stated(type="whole", label="Year")
    what: str = text("What")
    why: str = text("Why")
    cost: float = quantity("money", "Cost in base-year money")
    category: str = text("Category")


@dataclass(frozen=True)
class Category:
    """One category of cost through the study period."""

    name: str = text("Category")
    present_value: float = quantity("money", "Present value")
    by_year: tuple[float, ...] = quantity("money", "By year, base-year money with escalation")


@dataclass(frozen=True)
class Measure:
    """A figure of merit, or no value and the reason in words."""

    value: float | None = quantity("ratio", "Value")
    reason: str | None = text("Why there is no value, or a warning", None)


@dataclass(frozen=True)
class Measures:
    """An alternative against the base case; positive is good for the alternative."""

    net_savings: Measure = nested("Net savings, present value (ASTM E1074)")
    savings_to_investment_ratio: Measure = nested("Savings-to-investment ratio (ASTM E964)")
    adjusted_internal_rate_of_return: Measure = nested("Adjusted internal rate of return (E1057)")
    simple_payback: Measure = nested("Simple payback, years (ASTM E1121)")
    discounted_payback: Measure = nested("Discounted payback, years (ASTM E1121)")
    internal_rate_of_return: Measure = nested("Internal rate of return, where unique")


@dataclass(frozen=True)
class AlternativeResult:
    """One alternative: its energy in each state, its programme of work, and what it costs."""

    name: str = text("Name")
    kind: str = text("Kind")
    energy: tuple[EnergyYear, ...] = parts("Energy by state of the roof, in order of time")
    events: tuple[Event, ...] = parts("Programme of work")
    costs: tuple[Category, ...] = parts("Costs by category")
    first_cost: float = quantity("money", "Spent today, year 0")
    cash_flow: tuple[float, ...] = quantity("money", "All costs by year, not discounted")
    cumulative_present_value: tuple[float, ...] = quantity("money", "Present value spent so far")
    life_cycle_cost: float = quantity("money", "Life-cycle cost, present value (ASTM E917)")
    equivalent_annual_cost: float = quantity("money", "Equivalent uniform annual cost")
    yearly_cost_per_m2: float = quantity("price_per_area", "Cost per area and year")
    residual_value: float = quantity("money", "Residual value at the end, base-year money")
    measures: Measures | None = nested("Measures against the base case", None)
    quantities: Quantities | None = nested("Quantities of the framing survey", None)


@dataclass(frozen=True)
class Comparison:
    """The answer to a case; the base case is the first of `alternatives`."""

    name: str = text("Name")
    headline: str = text("The answer in plain words")
    alternatives: tuple[AlternativeResult, ...] = parts("Alternatives, the base case first")
    notes: tuple[str, ...] = stated(type="parts", label="What the model leaves out")
    cautions: tuple[str, ...] = stated(type="parts", label="Cautions")
    assumptions: tuple[Assumption, ...] = parts("Every figure the result rests on")
