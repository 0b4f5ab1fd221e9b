"""What a year of heat answers: energy, a hot day, condensation, and the figures of one state."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import part as nested
from lcc.case.fields import quantity, stated, text


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
class Drying:
    """What the panel meets while the stated water leaves the old roof, and how long that takes."""

    hours_wet_h: float = quantity("hours", "Hours of a year with a film of water")
    longest_wet_spell_h: float = quantity("hours", "Longest wet spell")
    peak_film_g_m2: float = quantity("film", "Thickest film, were nothing to drip")
    days_to_dry: float | None = quantity(
        "ratio", "Days until the stated water has left",
        help="None where no water leaves by way of the cavity.",
    )  # fmt: skip


@dataclass(frozen=True)
class Condensation:
    """What outdoor moisture does under the metal panel in a year."""

    hours_below_dew_point_h: float = quantity("hours", "Hours below the dew point")
    hours_wet_h: float = quantity("hours", "Hours with a film of water")
    longest_wet_spell_h: float = quantity("hours", "Longest wet spell")
    peak_film_g_m2: float = quantity("film", "Thickest film, were nothing to drip")
    monthly_hours_wet_h: tuple[float, ...] = quantity("hours", "Hours wet by month")
    drying: Drying | None = nested("While the old roof dries, ventilated as stated", None)
    drying_sealed: Drying | None = nested("While it would dry under a sealed cavity", None)


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
    design_cooling_kw: float | None = quantity(
        "power", "Cooling plant needed on a hot design day, heat", None,
        help="The hot day repeated, on the hours of a weekday.",
    )  # fmt: skip
    condensation: Condensation | None = nested("Condensation under the panel", None)
    iterations: int = stated(0, type="whole", label="Iterations of the heat solution")
    residual_k: float = quantity("temperature_difference", "Last change of any temperature", 0.0)
