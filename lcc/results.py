"""What a comparison answers: frozen dataclasses in SI, the same words as the API's reply.

Yearly tuples have one entry for each year 0 to n of the study period, year 0 being today;
flows fall at the end of their year. Monthly tuples run January to December.
"""

from __future__ import annotations

from dataclasses import dataclass

from lcc.assumption import Assumption
from lcc.case.fields import Basis, parts, quantity, stated, text
from lcc.case.fields import part as nested
from lcc.quantities.results import Amount, Quantities


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

    net_savings: Measure = nested(
        "Net savings, present value (ASTM E1074)",
        help="The base case's life-cycle cost less the alternative's; negative when it costs more.",
    )
    savings_to_investment_ratio: Measure = nested(
        "Savings-to-investment ratio (ASTM E964)",
        help="Net savings plus the extra cost of the first work, over that extra cost; above 1 it "
        "pays.",
    )
    adjusted_internal_rate_of_return: Measure = nested(
        "Adjusted internal rate of return (E1057)",
        help="Yearly yield of the extra cost when savings are reinvested at the discount rate.",
    )
    simple_payback: Measure = nested(
        "Simple payback, years (ASTM E1121)",
        help="First year by whose end savings have made up for the extra cost, not discounted.",
    )
    discounted_payback: Measure = nested(
        "Discounted payback, years (ASTM E1121)",
        help="The same with every year's saving discounted to today.",
    )
    internal_rate_of_return: Measure = nested(
        "Internal rate of return, where unique",
        help="The discount rate at which both cost the same, if there is exactly one.",
    )


@dataclass(frozen=True)
class BreakEven:
    """The value of one input at which an alternative and the base case cost the same."""

    field: str = text("Field of the case")
    label: str = text("Input")
    current: Amount = nested("Value in the case")
    value: Amount | None = nested("Value at which both cost the same")
    least: Amount = nested("Looked for from")
    most: Amount = nested("Looked for to")
    reason: str | None = text("Why there is no value, or what to know about it", None)


@dataclass(frozen=True)
class Swing:
    """What the net savings become when one input alone is low or high."""

    field: str = text("Field of the case")
    label: str = text("Input")
    low: Amount = nested("Low value")
    high: Amount = nested("High value")
    net_savings_low: float = quantity("money", "Net savings with the low value")
    net_savings_high: float = quantity("money", "Net savings with the high value")
    basis: Basis = stated(type="text", label="Basis of the range")
    source: str = text("Source of the range")


@dataclass(frozen=True)
class Percentiles:
    """An amount of money that one draw in ten, one in two, nine in ten do not exceed."""

    p10: float = quantity("money", "10th percentile")
    p50: float = quantity("money", "50th percentile, the median")
    p90: float = quantity("money", "90th percentile")
    mean: float = quantity("money", "Mean")
    standard_error: float = quantity("money", "Standard error of the mean")


@dataclass(frozen=True)
class Chances:
    """An alternative against the base case over all draws."""

    net_savings: Percentiles = nested("Net savings, present value")
    costs_less: float = quantity("fraction", "Chance that it costs less than the base case")
    costs_less_standard_error: float = quantity("fraction", "Standard error of this chance")
    payback_p10: Measure = nested("Years to discounted payback for good, 10th percentile")
    payback_p50: Measure = nested("Years to discounted payback for good, median")
    payback_p90: Measure = nested("Years to discounted payback for good, 90th percentile")
    edges: tuple[float, ...] = quantity("money", "Edges of equal steps of net savings")
    shares: tuple[float, ...] = quantity("fraction", "Part of the draws in each step")


@dataclass(frozen=True)
class Spread:
    """What random draws of all uncertain inputs make of an alternative."""

    draws: int = stated(type="whole", label="Random draws")
    seed: int = stated(type="whole", label="Seed")
    life_cycle_cost: Percentiles = nested("Life-cycle cost")
    against_base: Chances | None = nested("Against the base case", None)


@dataclass(frozen=True)
class AfterTax:
    """Costs after income tax, of which a tax adviser must confirm every line."""

    tax_by_year: tuple[float, ...] = quantity("money", "Tax by year, saved tax negative")
    depreciation_by_year: tuple[float, ...] = quantity("money", "Depreciation deducted by year")
    cash_flow: tuple[float, ...] = quantity("money", "All costs after tax by year")
    life_cycle_cost: float = quantity("money", "Life-cycle cost after tax, present value")
    net_savings: float | None = quantity("money", "Net savings after tax, present value", None)


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
    break_even: tuple[BreakEven, ...] = parts(
        "Break-even of each main input with the base case", ()
    )
    swings: tuple[Swing, ...] = parts("Swing of each uncertain input, widest first", ())
    spread: Spread | None = nested("Random draws, where asked for", None)
    after_tax: AfterTax | None = nested("After income tax, where a rate is given", None)


@dataclass(frozen=True)
class Comparison:
    """The answer to a case; the base case is the first of `alternatives`."""

    name: str = text("Name")
    headline: str = text("The answer in plain words")
    verdict: str = text("The answer in a paragraph")
    alternatives: tuple[AlternativeResult, ...] = parts("Alternatives, the base case first")
    notes: tuple[str, ...] = stated(type="parts", label="What the model leaves out")
    cautions: tuple[str, ...] = stated(type="parts", label="Cautions")
    assumptions: tuple[Assumption, ...] = parts("Every figure the result rests on")
