"""A year of heat summed up: energy by month, peaks, a hot day, condensation, and the bill."""

import datetime
from dataclasses import replace
from functools import lru_cache

import numpy as np

from lcc.arrays import Array
from lcc.case.building import Building
from lcc.case.economics import Prices
from lcc.case.fields import known
from lcc.case.layers import Assembly
from lcc.case.resolution import resolve
from lcc.heat.assembly import resolved_layers, steady
from lcc.heat.cavity import CavityState
from lcc.heat.climate import Climate
from lcc.heat.coil_moisture import room_moisture
from lcc.heat.conduction import dynamic
from lcc.heat.design_day import design_cooling_w_m2, hot_day, hours_of
from lcc.heat.equipment import Consumption, consumption
from lcc.heat.iso6946 import R_SE, R_SI
from lcc.heat.moisture import condensation
from lcc.heat.plenum_and_attic import occupied_of
from lcc.heat.roof_model import Solution, solve
from lcc.heat.schedule import MONTH_STARTS, by_month
from lcc.heat.solar import YEAR
from lcc.results import EnergyYear, HotDay, Monthly

WARM_C = 29.444  # 85 °F


def energy_year(
    climate: Climate, building: Building, area_m2: float, assembly: Assembly, prices: Prices,
    terrain: str = "suburban", sized: bool = True,
) -> EnergyYear:  # fmt: skip
    """Return energy, bill and surface figures of one state of the roof in a typical year.

    Parameters
    ----------
    area_m2 : float
        Roof area, which is the floor of the storey below it [m²].
    prices : Prices
        Unset prices are those of the prices table.
    sized : bool
        Whether to find the cooling plant needed, which takes a solution of its own and is no
        part of a bill.

    Returns
    -------
    EnergyYear
        With no years of the study period; the heat part is remembered by its own inputs, so
        that a change of price computes no heat.

    Raises
    ------
    CaseError
        From an assembly, building or climate that cannot be computed.
    """
    return billed(_heat_figures(climate, building, area_m2, assembly, terrain, sized), prices)


def billed(year: EnergyYear, prices: Prices) -> EnergyYear:
    """Return the year with its bill and emissions at given prices."""
    prices = resolve(prices)
    electricity = (
        year.cooling_electricity_kwh + year.heating_electricity_kwh + year.fan_electricity_kwh
    )
    emissions = electricity * known(prices.electricity_emissions_kg_kwh)
    return replace(
        year,
        electricity_cost=electricity * known(prices.electricity_per_kwh),
        demand_cost=sum(year.monthly.peak_kw) * known(prices.demand_per_kw),
        gas_cost=year.gas_kwh * known(prices.gas_per_kwh),
        emissions_kg=emissions + year.gas_kwh * known(prices.gas_emissions_kg_kwh),
    )


def consumed(climate: Climate, building: Building, solved: Solution) -> tuple[Consumption, Array]:
    """Return the energy of every hour, and the heat of the moisture that cooling removes [W/m²]."""
    load, wet = solved.load_w_m2, room_moisture(building, climate)
    moisture = wet.removed_w_m2(np.maximum(-load, 0), solved.heat.indoor_c)
    runs = occupied_of(building.use)
    return consumption(building.equipment, load, climate.dry_bulb_c, runs, moisture), moisture


@lru_cache(maxsize=4096)
def _heat_figures(
    climate: Climate, building: Building, area_m2: float, assembly: Assembly, terrain: str,
    sized: bool,
) -> EnergyYear:  # fmt: skip
    def solved_with(other: Assembly) -> Solution:
        return solve(climate, building, area_m2, other, terrain)

    def plant_kw() -> float:
        design_w_m2 = design_cooling_w_m2(climate, building, area_m2, assembly, terrain)
        return area_m2 / 1000 * design_w_m2

    solved = solved_with(assembly)
    used, moisture = consumed(climate, building, solved)
    return EnergyYear(
        assembly=assembly.name,
        years=(),
        monthly=_monthly(used, area_m2),
        hot_day=_hot_day(climate, solved),
        condensation=condensation(climate, assembly, solved.heat, solved_with),
        electricity_cost=0.0,
        demand_cost=0.0,
        gas_cost=0.0,
        emissions_kg=0.0,
        iterations=solved.heat.iterations,
        residual_k=solved.heat.residual_k,
        design_cooling_kw=plant_kw() if sized else None,
        **_steady_figures(assembly),
        **_totals(used, solved, moisture, area_m2),
        **_temperatures(solved),
    )


@lru_cache(maxsize=4096)
def _steady_figures(assembly: Assembly) -> dict[str, float]:
    figures = steady(assembly)
    inside = assembly.inside_resistance_m2k_w or R_SI["horizontal"]
    outside = assembly.outside_resistance_m2k_w or R_SE
    periodic = dynamic(resolved_layers(assembly), inside, outside)
    return {
        "u_value_up_w_m2k": figures.u_up_w_m2k,
        "u_value_down_w_m2k": figures.u_down_w_m2k,
        "decrement_factor": periodic.decrement_factor,
        "time_lag_h": periodic.time_lag_h,
    }


def _monthly(used: Consumption, area_m2: float) -> Monthly:
    thousand_m2 = area_m2 / 1000
    names = ("cooling_electricity", "heating_electricity", "fan_electricity", "gas")
    sums = {f"{name}_kwh": _plain(by_month(getattr(used, name)) * thousand_m2) for name in names}
    peak = np.maximum.reduceat(used.electricity, MONTH_STARTS) * thousand_m2
    return Monthly(**sums, peak_kw=_plain(peak))


def _totals(
    used: Consumption, solved: Solution, moisture: Array, area_m2: float
) -> dict[str, float]:
    flux, load = solved.heat.roof_flux_w_m2, solved.load_w_m2
    cooling = np.maximum(-load, 0)
    hourly = {
        "cooling_electricity_kwh": used.cooling_electricity,
        "heating_electricity_kwh": used.heating_electricity,
        "fan_electricity_kwh": used.fan_electricity,
        "gas_kwh": used.gas,
        "cooling_load_kwh": cooling,
        "heating_load_kwh": np.maximum(load, 0),
        "roof_heat_gain_kwh": np.maximum(flux, 0),
        "roof_heat_loss_kwh": np.maximum(-flux, 0),
    }
    totals = {name: float(values.sum()) * area_m2 / 1000 for name, values in hourly.items()}
    totals["peak_cooling_kw"] = float((cooling + moisture).max()) * area_m2 / 1000
    totals["peak_heating_kw"] = float(np.maximum(load, 0).max()) * area_m2 / 1000
    return totals


def outermost_c(solved: Solution) -> Array:
    """Return the temperature of the face that the sun sees: the panel's where there is one."""
    state = solved.heat.exterior_state
    return state.panel_c if isinstance(state, CavityState) else solved.heat.surface_c


def _temperatures(solved: Solution) -> dict[str, float]:
    outermost, indoor = outermost_c(solved), solved.heat.indoor_c
    return {
        "peak_surface_c": float(outermost.max()),
        "lowest_surface_c": float(outermost.min()),
        "peak_indoor_c": float(indoor.max()),
        "mean_indoor_c": float(indoor.mean()),
        "hours_above_85f_h": float((indoor > WARM_C).sum()),
    }


def _hot_day(climate: Climate, solved: Solution) -> HotDay:
    day = hot_day(climate)
    hours = hours_of(day)
    date = datetime.date(YEAR, 1, 1) + datetime.timedelta(days=day)
    return HotDay(
        date=f"{date:%B} {date.day}",
        outdoor_c=_plain(climate.dry_bulb_c[hours]),
        outer_surface_c=_plain(outermost_c(solved)[hours]),
        roof_flux_w_m2=_plain(solved.heat.roof_flux_w_m2[hours]),
    )


def _plain(values: Array) -> tuple[float, ...]:
    return tuple(values.tolist())
