"""Energy that cooling and heating equipment takes for the loads of a space."""

from dataclasses import dataclass

import numpy as np

from lcc.arrays import Array, Flags
from lcc.case.building import Equipment
from lcc.case.fields import known
from lcc.case.resolution import resolve

BTU_PER_WH = 3.412141633
CYCLING = 1.13  # at no load; AHRI 550/590, read in a copy
SPARE = 1.15  # common practice: units are chosen from steps of size
RATED_COOLING_C = 35.0  # 95 °F
RATED_HEATING_C = 8.333  # 47 °F
HEAT_PUMP_SLOPE_PER_K = 0.02  # common practice: about a third lower at 17 °F than at 47 °F
# Bounds of the efficiency over its rated value: common practice, the trade's range of use.
COOLING_RANGE = (0.3, 1.6)
HEAT_PUMP_RANGE = (0.3, 1.4)


@dataclass(frozen=True, eq=False)
class Consumption:
    """Energy of every hour per m² [W/m²], arrays of shape (8760,)."""

    cooling_electricity: Array
    heating_electricity: Array
    fan_electricity: Array
    gas: Array

    @property
    def electricity(self) -> Array:
        """All electricity [W/m²]."""
        return self.cooling_electricity + self.heating_electricity + self.fan_electricity


def cooling_performance(equipment: Equipment, outdoor_c: Array) -> Array:
    """Return heat removed per electricity at outdoor temperatures [°C].

    Notes
    -----
    EER/3.412 (1 - s (T - 35 °C)), held between 0.3 and 1.6 of the rated value.

    Examples
    --------
    >>> cooling_performance(Equipment(cooling_eer=10.0), np.array([35.0])).round(3).tolist()
    [2.931]
    """
    part = 1 - equipment.eer_slope_per_k * (outdoor_c - RATED_COOLING_C)
    return np.asarray(equipment.cooling_eer / BTU_PER_WH * np.clip(part, *COOLING_RANGE))


def part_load_factor(load_w_m2: Array, capacity_w_m2: float) -> Array:
    """Return how much more electricity per cooling a packaged unit takes at part load.

    Notes
    -----
    1.13 - 0.13 F, F the load over the capacity, at most 1: the degradation coefficient for units
    that cycle below their lowest stage, which holds the fan that runs on and the restart. With
    1/(1 - 0.25 (1 - F)) instead, the default by which small units are rated (10 CFR 430, subpart
    B, appendix M; from memory), the retrofit over board takes 7 % more electricity for cooling in
    Houston, Chicago and Phoenix, and saves 6 to 10 % more.

    References
    ----------
    AHRI 550/590, integrated part-load value: EER = efficiency / C_D, C_D = -0.13 LF + 1.13, LF the
    part load over the capacity of the lowest step; read in a copy, an open script that rates
    chillers (its function NPLVCalc). AHRI 340/360 has the same curve for packaged units (from
    memory). O'Neal and Katipamula (1991), ASHRAE Transactions 97(2): of single-speed units under
    a thermostat the factor is nearly linear in the load (abstract read; it gives no coefficient).

    Examples
    --------
    >>> part_load_factor(np.array([0.0, 50.0, 100.0]), 100.0).round(4).tolist()
    [1.13, 1.065, 1.0]
    """
    part = np.minimum(load_w_m2 / capacity_w_m2, 1.0) if capacity_w_m2 else 1.0
    return np.asarray(CYCLING - (CYCLING - 1) * part)


def heating_performance(equipment: Equipment, outdoor_c: Array) -> Array:
    """Return heat given per energy taken at outdoor temperatures [°C].

    Notes
    -----
    Gas and resistance are constant; a heat pump follows 1 + 0.02 (T - 8.33 °C), and never
    falls below the resistance heat that backs it up.

    Examples
    --------
    >>> heating_performance(Equipment(heating="gas"), np.array([0.0])).tolist()
    [0.8]
    """
    rated = known(resolve(equipment).heating_efficiency)
    if equipment.heating != "heat-pump":
        return np.full_like(outdoor_c, rated)
    part = 1 + HEAT_PUMP_SLOPE_PER_K * (outdoor_c - RATED_HEATING_C)
    return np.asarray(np.maximum(rated * np.clip(part, *HEAT_PUMP_RANGE), 1.0))


def consumption(
    equipment: Equipment, load_w_m2: Array, outdoor_c: Array, occupied: Flags,
    moisture_w_m2: Array | float = 0.0,
) -> Consumption:  # fmt: skip
    """Return the energy for loads [W/m²], heating positive and cooling negative.

    Parameters
    ----------
    moisture_w_m2 : array or float
        Latent heat that cooling removes as well; the rated EER is for both.

    Notes
    -----
    Furnaces and heat pumps take their stated efficiency at any load; a fan that runs on brings no
    load of its own, since its heat is the same under every roof.
    """
    heating, cooling = np.maximum(load_w_m2, 0), np.maximum(-load_w_m2, 0) + moisture_w_m2
    capacity = equipment.cooling_capacity_w_m2 or SPARE * float(cooling.max())
    cycling = part_load_factor(cooling, capacity)
    runs = load_w_m2 != 0
    if equipment.fan == "while-occupied":
        runs = runs | occupied
    heat_energy = heating / heating_performance(equipment, outdoor_c)
    none = np.zeros_like(load_w_m2)
    by_gas = equipment.heating == "gas"
    return Consumption(
        cooling_electricity=cycling * cooling / cooling_performance(equipment, outdoor_c),
        heating_electricity=none if by_gas else heat_energy,
        fan_electricity=np.where(runs, equipment.fan_power_w_m2, 0.0),
        gas=heat_energy if by_gas else none,
    )
