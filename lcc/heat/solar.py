"""Sun position, by pvlib's own algorithm, and irradiance on the roof and the walls."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.util import find_spec, module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
LEAST_COSINE = 0.01745  # of the zenith, where the sky around the sun is laid on a plane
# A year without a leap day; the year itself moves the sun by less than a quarter of a degree.
YEAR = 2021
SOLAR_CONSTANT_W_M2 = 1366.1
GROUND_REFLECTANCE = 0.2  # common practice for ground without snow


@dataclass(frozen=True)
class Location:
    """Where on the earth: degrees north and east, hours from UTC, metres above the sea."""

    latitude_deg: float
    longitude_deg: float
    utc_offset_h: float
    elevation_m: float


@dataclass(frozen=True, eq=False)
class Sun:
    """The sun at the middle of every hour; arrays of shape (8760,)."""

    zenith_deg: Array
    azimuth_deg: Array
    extraterrestrial_normal_w_m2: Array


@lru_cache(maxsize=128)
def sun_over(place: Location) -> Sun:
    """Return the sun's position at the middle of every hour of the year.

    References
    ----------
    Reda and Andreas (2004), Solar Energy 76, 577-589, for the position, as pvlib holds it;
    Spencer (1971), Search 2, 172, for the irradiance outside the atmosphere.
    """
    start = datetime.datetime(YEAR, 1, 1, 0, 30, tzinfo=datetime.UTC).timestamp()
    seconds = start + 3600.0 * (np.arange(8760, dtype=np.float64) - place.utc_offset_h)
    at = place.latitude_deg, place.longitude_deg, place.elevation_m
    _, zenith, _, _, azimuth, _ = _positions().solar_position(seconds, *at, *_AIR_AND_TIME)
    return Sun(zenith, azimuth, _outside_the_air(seconds))


# Of the refraction, which is not used, and of the terrestrial time less the universal [s].
_AIR_AND_TIME = (1013.25, 12.0, 67.0, 0.5667)


@cache
def _positions() -> ModuleType:
    """Pvlib's sun positions without the rest of it, which takes as long to import as an answer."""
    package = find_spec("pvlib")
    assert package is not None
    assert package.submodule_search_locations is not None
    file = Path(package.submodule_search_locations[0]) / "spa.py"
    own = spec_from_file_location("pvlib_sun_positions", file)
    assert own is not None
    assert own.loader is not None
    module = module_from_spec(own)
    own.loader.exec_module(module)
    return module


def _outside_the_air(seconds: Array) -> Array:
    """Return normal irradiance outside the atmosphere [W/m²] at seconds since 1970."""
    days = seconds.astype("datetime64[s]").astype("datetime64[D]")
    angle = 2 * np.pi / 365 * (days - days.astype("datetime64[Y]")).astype(float)
    return np.asarray(SOLAR_CONSTANT_W_M2 * (
        1.00011 + 0.034221 * np.cos(angle) + 0.00128 * np.sin(angle)
        + 0.000719 * np.cos(2 * angle) + 7.7e-05 * np.sin(2 * angle)
    ))  # fmt: skip


def clear_sky_shape(place: Location) -> Array:
    """Return clear-sky global horizontal irradiance [W/m²], of which only the shape is used.

    References
    ----------
    Haurwitz (1945), Journal of Meteorology 2, 154-166.
    """
    height = np.cos(np.radians(sun_over(place).zenith_deg))
    up = height > 0
    return np.where(up, 1098.0 * height * np.exp(-0.059 / np.where(up, height, 1.0)), 0.0)


def lag_of_sun_h(place: Location, ghi_w_m2: Array) -> float:
    """Return by how many hours irradiance comes after the sun of its place, 0 without a sun.

    Notes
    -----
    The mean hour of the day of the irradiance, less that of the sun's height over the horizon.
    """
    height = np.maximum(np.cos(np.radians(sun_over(place).zenith_deg)), 0.0)
    if not ghi_w_m2.any() or not height.any():
        return 0.0
    hour = np.arange(ghi_w_m2.size) % 24
    return float(np.average(hour, weights=ghi_w_m2) - np.average(hour, weights=height))


def beam_normal(sun: Sun, ghi_w_m2: Array, dhi_w_m2: Array) -> Array:
    """Return direct normal irradiance [W/m²] from global and diffuse, bounded near the horizon.

    Notes
    -----
    (ghi - dhi) / cos(zenith), the cosine held above that of 85 degrees, at most the
    extraterrestrial normal irradiance.
    """
    cosine = np.maximum(np.cos(np.radians(sun.zenith_deg)), np.cos(np.radians(85.0)))
    return np.minimum(
        np.maximum(ghi_w_m2 - dhi_w_m2, 0.0) / cosine, sun.extraterrestrial_normal_w_m2
    )


def on_plane(
    place: Location, ghi_w_m2: Array, dhi_w_m2: Array, tilt_deg: float, azimuth_deg: float
) -> Array:
    """Return total irradiance [W/m²] on a plane of given tilt and bearing, shape (8760,).

    Parameters
    ----------
    tilt_deg : float
        0 faces the sky, 90 is a wall; then the horizontal data are returned as they are for 0.
    azimuth_deg : float
        Bearing the plane faces, 180 is south.

    Notes
    -----
    dhi (A R + (1 - A) (1 + cos tilt) / 2) from the sky, A the direct over the extraterrestrial
    irradiance and R the cosine of incidence over that of the zenith, held above 89 degrees.

    References
    ----------
    Hay and Davies (1980) for the sky's diffuse light.
    """
    if tilt_deg == 0:
        return ghi_w_m2
    sun = sun_over(place)
    tilt, zenith = np.radians(tilt_deg), np.radians(sun.zenith_deg)
    turned = np.radians(sun.azimuth_deg - azimuth_deg)
    facing = np.cos(tilt) * np.cos(zenith) + np.sin(tilt) * np.sin(zenith) * np.cos(turned)
    facing = np.clip(facing, 0.0, 1.0)
    beam = beam_normal(sun, ghi_w_m2, dhi_w_m2)
    clear = beam / sun.extraterrestrial_normal_w_m2
    around_sun = dhi_w_m2 * clear * facing / np.maximum(np.cos(zenith), LEAST_COSINE)
    sky = dhi_w_m2 * (1 - clear) * (1 + np.cos(tilt)) / 2
    ground = ghi_w_m2 * GROUND_REFLECTANCE * (1 - np.cos(tilt)) / 2
    return np.asarray(beam * facing + around_sun + sky + ground)
