"""The space under the roof: its other faces, gains and thermostat, and its temperature."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lcc import tables
from lcc.case.building import Building
from lcc.errors import CaseError
from lcc.heat.climate import Climate
from lcc.heat.scan import periodic_clip, shifted
from lcc.heat.schedule import occupied_hours, setback_part
from lcc.heat.solar import on_plane

Array = NDArray[np.float64]
AIR_HEAT_J_M3K = 1.2 * 1006.0  # density times specific heat of air near 20 °C
HOUR_S = 3600.0
# ISO 13790:2008 table 12, J/K per m² of floor.
CAPACITY_J_M2K = {"light": 110e3, "medium": 165e3, "heavy": 260e3}


@dataclass(frozen=True, eq=False)
class Zone:
    """The top storey per m² of roof; arrays of shape (8760,).

    `storage_w_m2k` is heat capacity over one hour; `low_c` and `high_c` are the set points,
    infinite where nothing heats or cools.
    """

    storage_w_m2k: float
    conductance_w_m2k: Array
    gains_w_m2: Array
    outdoor_c: Array
    low_c: Array
    high_c: Array

    def temperature(self, roof_flux: Array, roof_u: float, before: Array) -> Array:
        """Return the next guess of the indoor temperature [°C], shape (8760,).

        Parameters
        ----------
        roof_flux : array
            Inward flux through the roof [W/m²], found with the indoor temperature `before`.
        roof_u : float
            How fast that flux falls with indoor temperature [W/m²K].
        before : array
            The last guess [°C]; the answer keeps a hundredth of its error at most.

        Notes
        -----
        Implicit hourly steps: (C/Δt + K + U) T = C/Δt T₋₁ + K T_a + g + q + U T_before, held
        between the set points by an ideal thermostat.
        """
        return self._step(roof_flux + roof_u * before, roof_u, before, 0.01)

    def settled(self, roof_flux: Array) -> Array:
        """Return the indoor temperature [°C] for a roof flux taken as given [W/m²]."""
        return self._step(roof_flux, 0.0, np.full_like(roof_flux, 20.0), 1e-12)

    def _step(self, flux: Array, roof_u: float, start: Array, enough: float) -> Array:
        whole = self.storage_w_m2k + self.conductance_w_m2k + roof_u
        drive = (self.conductance_w_m2k * self.outdoor_c + self.gains_w_m2 + flux) / whole
        gain = self.storage_w_m2k / whole
        return periodic_clip(gain, drive, self.low_c, self.high_c, start, enough)

    def load(self, indoor: Array, roof_flux: Array) -> Array:
        """Return the heat the thermostat adds (positive) or removes (negative) [W/m²].

        Notes
        -----
        What closes the hour's balance; exactly 0 between the set points when `indoor` is
        `settled` for the same flux.
        """
        stored = self.storage_w_m2k * (indoor - shifted(indoor, 1))
        lost = self.conductance_w_m2k * (indoor - self.outdoor_c)
        load = stored + lost - self.gains_w_m2 - roof_flux
        free = (indoor > self.low_c) & (indoor < self.high_c)
        return np.where(free, 0.0, load)


def completed(building: Building) -> Building:
    """Return a building whose unset fields are those of its use.

    Examples
    --------
    >>> completed(Building(use="school")).heating_setpoint_c
    21.0
    """
    row = tables.rows("building_uses")[building.use]
    names = (
        "window_fraction", "infiltration_per_h", "ventilation_m3_s_m2", "gains_w_m2",
        "heating_setpoint_c", "cooling_setpoint_c", "setback_k",
    )  # fmt: skip
    missing: dict[str, Any] = {
        name: float(row[name]) for name in names if getattr(building, name) is None
    }
    if building.conditioning is None:
        missing["conditioning"] = row["conditioning"]
    return replace(building, **missing)


@lru_cache(maxsize=256)
def zone_of(building: Building, climate: Climate, area_m2: float) -> Zone:
    """Return the zone of a building in a climate, under a roof of a given area [m²].

    Raises
    ------
    CaseError
        Where the heating set point is not below the cooling set point.
    """
    whole = completed(building)
    low, high = float(whole.heating_setpoint_c or 0), float(whole.cooling_setpoint_c or 0)
    if low >= high:
        raise CaseError("heating_setpoint", low, f"less than the cooling set point, {high:g}")
    row = tables.rows("building_uses")[whole.use]
    occupied = occupied_hours(
        row["weekday_start_h"], row["weekday_end_h"], bool(row["saturday"]), bool(row["sunday"])
    )
    away = setback_part(occupied, whole.recovery_h) * float(whole.setback_k or 0)
    return Zone(
        storage_w_m2k=CAPACITY_J_M2K[whole.mass] / HOUR_S,
        conductance_w_m2k=_conductance(whole, area_m2, occupied),
        gains_w_m2=_gains(whole, row, occupied) + _window_sun(whole, climate, area_m2),
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


def _conductance(building: Building, area_m2: float, occupied: NDArray[np.bool_]) -> Array:
    walls = 2 * sum(plan_sides(building, area_m2)) * building.storey_height_m / area_m2
    windows = float(building.window_fraction or 0)
    mean_u = (1 - windows) * building.wall_u_w_m2k + windows * building.window_u_w_m2k
    leaks = float(building.infiltration_per_h or 0) * building.storey_height_m / HOUR_S
    fresh = occupied * float(building.ventilation_m3_s_m2 or 0)
    return np.asarray(walls * mean_u + AIR_HEAT_J_M3K * (leaks + fresh))


def _gains(building: Building, row: dict[Any, Any], occupied: NDArray[np.bool_]) -> Array:
    part = np.where(occupied, 1.0, float(row["unoccupied_gain_fraction"]))
    return np.asarray(part * float(building.gains_w_m2 or 0))


def _window_sun(building: Building, climate: Climate, area_m2: float) -> Array:
    length, width = plan_sides(building, area_m2)
    glass = float(building.window_fraction or 0) * building.window_solar_gain
    glass = glass * building.storey_height_m / area_m2
    if glass == 0:
        return np.zeros_like(climate.dry_bulb_c)
    facing = (building.long_axis_azimuth_deg + 90) % 360
    sides = ((facing, length), (facing + 90, width), (facing + 180, length), (facing + 270, width))
    return np.asarray(
        sum(
            glass * side * on_plane(
                climate.place, climate.ghi_w_m2, climate.dhi_w_m2, 90.0, bearing % 360
            )
            for bearing, side in sides
        )
    )  # fmt: skip
