"""The space under the roof from its building: other faces, gains, hours and set points."""

from functools import lru_cache
from math import sqrt

import numpy as np

from lcc import tables
from lcc.arrays import Array, Flags
from lcc.case.building import Building
from lcc.case.fields import known
from lcc.case.resolution import resolve
from lcc.errors import CaseError
from lcc.heat.climate import Climate, sun_on
from lcc.heat.conduction import HOUR_S
from lcc.heat.plenum_and_attic import check_overhead, occupied_of
from lcc.heat.psychrometrics import air_heat_j_m3k
from lcc.heat.schedule import setback_part
from lcc.heat.thermostat import Zone
from lcc.units import from_core

# ISO 13790:2008 table 12, J/K per m² of floor.
CAPACITY_J_M2K = {"light": 110e3, "medium": 165e3, "heavy": 260e3}


def completed(building: Building) -> Building:
    """Return a building whose unset fields are those of its use.

    Raises
    ------
    CaseError
        Where the heating set point is not below the cooling set point.

    Examples
    --------
    >>> completed(Building(use="school")).heating_setpoint_c
    21.0
    """
    whole = resolve(building)
    check_overhead(whole)
    low, high = known(whole.heating_setpoint_c), known(whole.cooling_setpoint_c)
    if low >= high:
        told = f"{high:.3g} °C ({from_core(high, 'temperature', 'ip'):.3g} °F)"
        raise CaseError("heating_setpoint", low, f"less than the cooling set point, {told}")
    return whole


@lru_cache(maxsize=64)
def zone_of(building: Building, climate: Climate, area_m2: float) -> Zone:
    """Return the zone of a building in a climate, under a roof of a given area [m²].

    Raises
    ------
    CaseError
        As `completed`.
    """
    whole = completed(building)
    low, high = known(whole.heating_setpoint_c), known(whole.cooling_setpoint_c)
    occupied, row = occupied_of(whole.use), tables.rows("building_uses")[whole.use]
    inside = np.where(occupied, 1.0, float(row["unoccupied_gain_fraction"]))
    away = setback_part(occupied, whole.recovery_h) * known(whole.setback_k)
    return Zone(
        storage_w_m2k=CAPACITY_J_M2K[whole.mass] / HOUR_S,
        conductance_w_m2k=_conductance(whole, climate, area_m2, occupied),
        gains_w_m2=inside * known(whole.gains_w_m2) + window_sun(whole, climate, area_m2),
        outdoor_c=climate.dry_bulb_c,
        low_c=low - away if whole.conditioning != "none" else np.full(8760, -np.inf),
        high_c=high + away if whole.conditioning == "heated-and-cooled" else np.full(8760, np.inf),
    )


def plan_sides(building: Building, area_m2: float) -> tuple[float, float]:
    """Return length and width [m] of a rectangular plan.

    Examples
    --------
    >>> plan_sides(Building(length_to_width=2.0), 200.0)
    (20.0, 10.0)
    """
    return sqrt(area_m2 * building.length_to_width), sqrt(area_m2 / building.length_to_width)


def _conductance(building: Building, climate: Climate, area_m2: float, occupied: Flags) -> Array:
    walls = 2 * sum(plan_sides(building, area_m2)) * building.storey_height_m / area_m2
    windows = known(building.window_fraction)
    mean_u = (1 - windows) * building.wall_u_w_m2k + windows * building.window_u_w_m2k
    air = outdoor_air_m3_s_m2(building, occupied)
    return np.asarray(walls * mean_u + air_heat_j_m3k(climate.place.elevation_m) * air)


def outdoor_air_m3_s_m2(building: Building, occupied: Flags) -> Array:
    """Return the outdoor air that leaks in and is brought in; fields all set."""
    leaks = known(building.infiltration_per_h) * building.storey_height_m / HOUR_S
    return np.asarray(leaks + occupied * known(building.ventilation_m3_s_m2))


def window_sun(building: Building, climate: Climate, area_m2: float) -> Array:
    """Return the sun through windows of all four sides per m² of roof [W/m²]; fields all set."""
    length, width = plan_sides(building, area_m2)
    glass = known(building.window_fraction) * building.window_solar_gain
    glass = glass * building.storey_height_m / area_m2
    if glass == 0:
        return np.zeros_like(climate.dry_bulb_c)
    facing = (building.long_axis_azimuth_deg + 90) % 360
    sides = ((facing, length), (facing + 90, width), (facing + 180, length), (facing + 270, width))
    return np.asarray(
        sum(glass * side * sun_on(climate, 90.0, bearing % 360) for bearing, side in sides)
    )
