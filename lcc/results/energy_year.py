"""What a year of heat answers: energy, a hot day, condensation, and the figures of one state."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import Part, Parts, Quantity, Text, Whole

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Monthly:
    """Energy by month and the month's highest electric demand, for the space under the roof."""

    cooling_electricity_kwh: Annotated[tuple[float, ...], Quantity(
        "electricity", "Cooling electricity")]
    heating_electricity_kwh: Annotated[tuple[float, ...], Quantity(
        "electricity", "Heating electricity")]
    fan_electricity_kwh: Annotated[tuple[float, ...], Quantity("electricity", "Fan electricity")]
    gas_kwh: Annotated[tuple[float, ...], Quantity("gas_energy", "Gas")]
    peak_kw: Annotated[tuple[float, ...], Quantity(
        "power", "Peak demand of cooling, heating and fans")]


@dataclass(frozen=True)
class HotDay:
    """Hours 0 to 23 of the day with the hottest outdoor air under strong sun."""

    date: Annotated[str, Text("Month and day")]
    outdoor_c: Annotated[tuple[float, ...], Quantity("temperature", "Outdoor air")]
    outer_surface_c: Annotated[tuple[float, ...], Quantity("temperature", "Outermost surface")]
    roof_flux_w_m2: Annotated[tuple[float, ...], Quantity(
        "flux", "Heat into the space, inward positive")]


@dataclass(frozen=True)
class PanelWetness:
    """How wet the underside of the metal panel is in a year."""

    hours_wet_h: Annotated[float, Quantity("hours", "Hours with a film of water")]
    longest_wet_spell_h: Annotated[float, Quantity("hours", "Longest wet spell")]
    peak_film_g_m2: Annotated[float, Quantity("film", "Thickest film, were nothing to drip")]


@dataclass(frozen=True)
class Drying(PanelWetness):
    """What the panel meets while the stated water leaves the old roof, and how long that takes."""

    days_to_dry: Annotated[float | None, Quantity(
        "ratio", "Days until the stated water has left",
        help="None where no water leaves by way of the cavity.")]


@dataclass(frozen=True)
class Condensation(PanelWetness):
    """What outdoor moisture does under the metal panel in a year."""

    hours_below_dew_point_h: Annotated[float, Quantity("hours", "Hours below the dew point")]
    monthly_hours_wet_h: Annotated[tuple[float, ...], Quantity("hours", "Hours wet by month")]
    drying: Annotated[Drying | None, Part("While the old roof dries, ventilated as stated")] = None
    drying_sealed: Annotated[Drying | None, Part("While it would dry under a sealed cavity")] = None


@dataclass(frozen=True)
class EnergyYear:
    """One state of the roof through a typical year: heat, energy, bill and surface figures."""

    assembly: Annotated[str, Text("Assembly")]
    years: Annotated[tuple[int, ...], Parts("Years of the study period in force")]
    u_value_up_w_m2k: Annotated[float, Quantity("u_value", "U-value, heat flowing up")]
    u_value_down_w_m2k: Annotated[float, Quantity("u_value", "U-value, heat flowing down")]
    decrement_factor: Annotated[float, Quantity("ratio", "Decrement factor")]
    time_lag_h: Annotated[float, Quantity("hours", "Time lag")]
    monthly: Annotated[Monthly, Part("By month")]
    cooling_electricity_kwh: Annotated[float, Quantity("electricity", "Cooling electricity")]
    heating_electricity_kwh: Annotated[float, Quantity("electricity", "Heating electricity")]
    fan_electricity_kwh: Annotated[float, Quantity("electricity", "Fan electricity")]
    gas_kwh: Annotated[float, Quantity("gas_energy", "Gas")]
    cooling_load_kwh: Annotated[float, Quantity("heat_energy", "Heat removed by cooling, sensible")]
    heating_load_kwh: Annotated[float, Quantity("heat_energy", "Heat added by heating, sensible")]
    roof_heat_gain_kwh: Annotated[float, Quantity("heat_energy", "Heat through the roof inward")]
    roof_heat_loss_kwh: Annotated[float, Quantity("heat_energy", "Heat through the roof outward")]
    peak_cooling_kw: Annotated[float, Quantity(
        "power", "Highest cooling load, heat and moisture")]
    peak_heating_kw: Annotated[float, Quantity("power", "Highest heating load, heat")]
    peak_surface_c: Annotated[float, Quantity("temperature", "Hottest outermost surface")]
    lowest_surface_c: Annotated[float, Quantity("temperature", "Coldest outermost surface")]
    peak_indoor_c: Annotated[float, Quantity("temperature", "Highest indoor temperature")]
    mean_indoor_c: Annotated[float, Quantity("temperature", "Mean indoor temperature")]
    hours_above_85f_h: Annotated[float, Quantity("hours", "Hours indoors above 85 °F (29.4 °C)")]
    electricity_cost: Annotated[float, Quantity("money", "Electricity a year, base-year money")]
    demand_cost: Annotated[float, Quantity("money", "Demand charges a year, base-year money")]
    gas_cost: Annotated[float, Quantity("money", "Gas a year, base-year money")]
    emissions_kg: Annotated[float, Quantity("mass", "CO2 a year")]
    hot_day: Annotated[HotDay, Part("A hot day")]
    design_cooling_kw: Annotated[float | None, Quantity(
        "power", "Cooling plant needed on a hot design day, heat",
        help="The hot day repeated, on the hours of a weekday, with moisture.")] = None
    condensation: Annotated[Condensation | None, Part("Condensation under the panel")] = None
    iterations: Annotated[int, Whole("Iterations of the heat solution")] = 0
    residual_k: Annotated[float, Quantity(
        "temperature_difference", "Last change of any temperature")] = 0.0
