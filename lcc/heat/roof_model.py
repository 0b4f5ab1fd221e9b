"""The heat of one assembly over one building in one climate: inputs gathered, year solved."""

from dataclasses import dataclass
from functools import lru_cache
from math import atan, degrees

import numpy as np

from lcc.arrays import Array
from lcc.case.building import Building
from lcc.case.layers import Assembly
from lcc.heat.assembly import resolved_layers
from lcc.heat.cavity import VentedCavity
from lcc.heat.climate import Climate, sun_on
from lcc.heat.conduction import film, year_response
from lcc.heat.coupled_solver import TOLERANCE_K, HeatYear, InsideFilms, Space, solve_year
from lcc.heat.exterior import BareRoof, Exterior, Outdoors
from lcc.heat.iso6946 import R_SI
from lcc.heat.outside_film import outside_film
from lcc.heat.plenum_and_attic import Overhead, nothing_overhead, overhead_of
from lcc.heat.psychrometrics import air_heat_j_m3k
from lcc.heat.sky import on_slope
from lcc.heat.thermostat import Zone
from lcc.heat.zone import completed, zone_of

# Exponent and boundary layer [m] of the wind over each terrain; the station stands in the open.
# ASHRAE Handbook of Fundamentals, airflow around buildings, terrain categories (from memory).
TERRAIN = {"open": (0.14, 270.0), "suburban": (0.22, 370.0), "urban": (0.33, 460.0)}
STATION_HEIGHT_M = 10.0
FOUR_SIDES = (0.0, 90.0, 180.0, 270.0)


@dataclass(frozen=True, eq=False)
class Solution:
    """The solved year with the zone it was solved for."""

    heat: HeatYear
    zone: Zone

    @property
    def load_w_m2(self) -> Array:
        """Heat that equipment adds (positive) or removes, with what ducts lose [W/m²]."""
        return self.heat.load_w_m2 - self.heat.duct_loss_w_m2


def wind_at_roof(station_wind: Array, terrain: str, height_m: float) -> Array:
    """Return the wind at roof height [m/s] from that at a station's 10 m.

    Parameters
    ----------
    station_wind : array
        Wind at 10 m in the open [m/s].
    terrain : {"open", "suburban", "urban"}
        Around the building.
    height_m : float
        Height of the roof [m].

    Notes
    -----
    V = V_station (δ_s/10)^a_s (H/δ)^a, H at most the boundary layer δ.

    References
    ----------
    ASHRAE Handbook of Fundamentals, airflow around buildings (from memory).

    Examples
    --------
    >>> round(float(wind_at_roof(np.array(4.0), "suburban", 4.0)), 2)
    2.34
    """
    exponent, layer = TERRAIN[terrain]
    open_exponent, open_layer = TERRAIN["open"]
    free = station_wind * (open_layer / STATION_HEIGHT_M) ** open_exponent
    return np.asarray(free * min(height_m / layer, 1.0) ** exponent)


def outdoors(climate: Climate, building: Building, assembly: Assembly, terrain: str) -> Outdoors:
    """Return what the roof meets outdoors: sun and sky on its own slope, wind at its height."""
    height = building.storeys * building.storey_height_m
    wind = wind_at_roof(climate.wind_speed_m_s, terrain, height)
    tilt = degrees(atan(assembly.slope))
    air = climate.dry_bulb_c
    sun = _sun_on_falls(climate, tilt, assembly.azimuth_deg)
    sky = climate.sky_longwave_w_m2 if tilt == 0 else on_slope(climate.sky_longwave_w_m2, air, tilt)
    return Outdoors(air, sun, sky, wind, air_heat_j_m3k(climate.place.elevation_m))


def _sun_on_falls(climate: Climate, tilt_deg: float, azimuth_deg: float | None) -> Array:
    """Sun on one fall, or without a bearing the mean of falls to four sides."""
    if azimuth_deg is not None or tilt_deg == 0:
        return sun_on(climate, tilt_deg, azimuth_deg or 0.0)
    sides = [sun_on(climate, tilt_deg, bearing) for bearing in FOUR_SIDES]
    return np.asarray(np.mean(sides, axis=0))


def exterior(assembly: Assembly, outside: Outdoors, area_m2: float) -> Exterior:
    """Return the bare roof, or the panel with its cavity, in front of the layers."""
    film = outside_film(outside.wind_m_s, area_m2, assembly.roughness, outside.air_heat_j_m3k)
    face = BareRoof(outside, assembly.solar_reflectance, assembly.thermal_emittance, film)
    if assembly.cavity is None:
        return face
    return VentedCavity(assembly.cavity, face, area_m2)


def inside_films(assembly: Assembly) -> InsideFilms:
    """Return the inside films by direction, or the entered one for both."""
    entered = assembly.inside_resistance_m2k_w
    if entered is not None:
        return InsideFilms(entered, entered, entered)
    return InsideFilms(R_SI["up"], R_SI["down"], R_SI["horizontal"])


def solve_space(
    climate: Climate, building: Building, area_m2: float, assembly: Assembly,
    space: Space, terrain: str = "suburban", tolerance_k: float = TOLERANCE_K,
) -> HeatYear:  # fmt: skip
    """Solve the year of an assembly right over a given space."""
    outside = outdoors(climate, building, assembly, terrain)
    return solve_under(outside, area_m2, assembly, space, nothing_overhead(8760), tolerance_k)


def solve_under(
    outside: Outdoors, area_m2: float, assembly: Assembly, space: Space, overhead: Overhead,
    tolerance_k: float = TOLERANCE_K,
) -> HeatYear:  # fmt: skip
    """Solve the periodic hours of given outdoors, a year or fewer, over a given space."""
    films = inside_films(assembly).under(overhead.ceiling_m2k_w * overhead.share)
    layers = resolved_layers(assembly)
    response = year_response((*layers, film(films.mean)), outside.air_c.size)
    face = exterior(assembly, outside, area_m2)
    return solve_year(face, response, films, space, tolerance_k, overhead)


def solve(
    climate: Climate, building: Building, area_m2: float, assembly: Assembly,
    terrain: str = "suburban", tolerance_k: float = TOLERANCE_K,
) -> Solution:  # fmt: skip
    """Solve the year of an assembly over the building's top storey.

    Raises
    ------
    CaseError
        From the assembly, the building's thermostat, or a heat balance that does not converge.
    """
    zone = zone_of(building, climate, area_m2)
    above = overhead_in(building, climate)
    outside = outdoors(climate, building, assembly, terrain)
    return Solution(solve_under(outside, area_m2, assembly, zone, above, tolerance_k), zone)


@lru_cache(maxsize=256)
def overhead_in(building: Building, climate: Climate) -> Overhead:
    """Return what lies between deck and room of a building in a climate."""
    return overhead_of(completed(building), climate.dry_bulb_c, climate.place.elevation_m)
