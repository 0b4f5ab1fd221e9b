"""Moisture that a cooling coil takes out of room air along with heat."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from lcc import tables
from lcc.arrays import Array
from lcc.case.building import Building
from lcc.case.fields import known
from lcc.heat.climate import Climate
from lcc.heat.plenum_and_attic import occupied_of
from lcc.heat.psychrometrics import air_heat_j_m3k, saturation_pressure_pa, standard_pressure_pa
from lcc.heat.zone import completed, outdoor_air_m3_s_m2

AIR_J_KGK, VAPOUR_J_KG = 1006.0, 2.501e6
# Common practice: 54 °F, with which a unit's sensible part at its rating (80 °F, 67 °F wet bulb)
# is 0.71; makers print 0.70 to 0.75.
APPARATUS_DEW_POINT_C = 12.0
LEAST_SPAN_K = 5.0  # a room kept colder than usual has a colder coil
MOST_MOISTURE = 1.0  # of the sensible heat; wetter air raises the coil's own dew point


@dataclass(frozen=True, eq=False)
class RoomMoisture:
    """What brings moisture into rooms, per m² of floor; arrays of shape (n,).

    Parameters
    ----------
    air_kg_s_m2 : array
        Outdoor air that comes in.
    outdoor_ratio : array
        Its humidity ratio [kg/kg].
    gains_w_m2 : array
        Vapour of people and work, as latent heat.
    pressure_pa : float
        Of the atmosphere.
    """

    air_kg_s_m2: Array
    outdoor_ratio: Array
    gains_w_m2: Array
    pressure_pa: float

    def during(self, schedule: slice, weather: slice) -> "RoomMoisture":
        """Return some of the hours, of a schedule and of the weather apart."""
        return replace(
            self,
            air_kg_s_m2=self.air_kg_s_m2[schedule],
            outdoor_ratio=self.outdoor_ratio[weather],
            gains_w_m2=self.gains_w_m2[schedule],
        )

    def removed_w_m2(self, sensible_w_m2: Array, room_c: Array) -> Array:
        """Return the latent heat that the coil takes out with sensible heat [W/m²].

        Parameters
        ----------
        sensible_w_m2, room_c : array, shape (n,)
            Heat that cooling removes, at least 0, and room air [°C].

        Notes
        -----
        The coil moves room air towards its apparatus dew point T_s on a straight line, as if
        M = Q/(c_p (T_r - T_s)) of it left saturated at T_s. Steady in each hour,
        V (w_a - w) + g = M (w - w_s), and the coil takes M (w - w_s), nothing where it stays
        dry. Moisture kept in the room's air and goods, and water that evaporates off the coil
        when a unit stops, are left out.

        References
        ----------
        ASHRAE Handbook of Fundamentals, psychrometrics, adiabatic mixing and cooling (from
        memory).

        Examples
        --------
        A unit at its rating, 80 °F and a humidity ratio of 0.0112, in a room that is all
        outdoor air: 0.42 of latent for 1 of sensible heat, a sensible part of 0.71.

        >>> rated = RoomMoisture(np.array([1e9]), np.array([0.0112]), np.zeros(1), 101325.0)
        >>> rated.removed_w_m2(np.array([50.0]), np.array([26.7])).round(1).tolist()
        [20.9]
        """
        apparatus = np.minimum(APPARATUS_DEW_POINT_C, room_c - LEAST_SPAN_K)
        saturated = humidity_ratio(saturation_pressure_pa(apparatus), self.pressure_pa)
        through = sensible_w_m2 / (AIR_J_KGK * (room_c - apparatus))
        excess = self.air_kg_s_m2 * (self.outdoor_ratio - saturated) + self.gains_w_m2 / VAPOUR_J_KG
        whole = np.maximum(self.air_kg_s_m2 + through, 1e-12)
        removed = VAPOUR_J_KG * through * np.maximum(excess, 0) / whole
        return np.asarray(np.minimum(removed, MOST_MOISTURE * sensible_w_m2))


def humidity_ratio(vapour_pa: Array, pressure_pa: float) -> Array:
    """Return the humidity ratio of air [kg/kg] from its vapour's pressure [Pa].

    References
    ----------
    ASHRAE Handbook of Fundamentals, psychrometrics: W = 0.621945 p_w/(p - p_w) (from memory).

    Examples
    --------
    >>> humidity_ratio(saturation_pressure_pa([12.0]), 101325.0).round(5).tolist()
    [0.00873]
    """
    vapour = np.minimum(vapour_pa, 0.5 * pressure_pa)
    return np.asarray(0.621945 * vapour / (pressure_pa - vapour))


@lru_cache(maxsize=256)
def room_moisture(building: Building, climate: Climate) -> RoomMoisture:
    """Return what brings moisture into the rooms of a building in a climate."""
    whole, elevation = completed(building), climate.place.elevation_m
    occupied, pressure = occupied_of(whole.use), standard_pressure_pa(elevation)
    idle = float(tables.rows("building_uses")[whole.use]["unoccupied_gain_fraction"])
    return RoomMoisture(
        outdoor_air_m3_s_m2(whole, occupied) * (air_heat_j_m3k(elevation) / AIR_J_KGK),
        humidity_ratio(climate.vapour_pa, pressure),
        np.where(occupied, 1.0, idle) * known(whole.moisture_gains_w_m2),
        pressure,
    )
