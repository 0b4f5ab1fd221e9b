"""Sun position and irradiance on the roof and the walls, by pvlib."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pandas as pd
import pvlib

from lcc.arrays import Array

# A year without a leap day; the year itself moves the sun by less than a quarter of a degree.
YEAR = 2021
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

    @property
    def height(self) -> Array:
        """Sine of its height over the horizon, 0 at night."""
        return np.maximum(np.cos(np.radians(self.zenith_deg)), 0.0)


@lru_cache(maxsize=128)
def sun_over(place: Location) -> Sun:
    """Return the sun's position at the middle of every hour of the year."""
    start = pd.Timestamp(YEAR, 1, 1, 0, 30) - pd.Timedelta(hours=place.utc_offset_h)
    times = pd.date_range(start, periods=8760, freq="h", tz="UTC")
    position = pvlib.solarposition.get_solarposition(
        times, place.latitude_deg, place.longitude_deg, altitude=place.elevation_m
    )
    extra = pvlib.irradiance.get_extra_radiation(times.day_of_year.to_numpy())
    return Sun(
        position["zenith"].to_numpy(float),
        position["azimuth"].to_numpy(float),
        np.asarray(extra, dtype=float),
    )


def clear_sky_shape(place: Location) -> Array:
    """Return clear-sky global horizontal irradiance [W/m²], of which only the shape is used.

    References
    ----------
    Haurwitz (1945), as pvlib holds it.
    """
    zenith = pd.Series(sun_over(place).zenith_deg)
    return np.asarray(pvlib.clearsky.haurwitz(zenith)["ghi"], dtype=float)


def diffuse_of(place: Location, ghi_w_m2: Array) -> Array:
    """Return diffuse horizontal irradiance [W/m²] split from global, shape (8760,).

    References
    ----------
    Erbs, Klein and Duffie (1982), Solar Energy 28, 293-302, as pvlib holds it.
    """
    day = np.arange(ghi_w_m2.size) // 24 + 1
    split = pvlib.irradiance.erbs(ghi_w_m2, sun_over(place).zenith_deg, day)
    return np.asarray(split["dhi"], dtype=float)


def lag_of_sun_h(place: Location, ghi_w_m2: Array) -> float:
    """Return by how many hours irradiance comes after the sun of its place, 0 without a sun.

    Notes
    -----
    The mean hour of the day of the irradiance, less that of the sun's height over the horizon.
    """
    height = sun_over(place).height
    if not ghi_w_m2.any() or not height.any():
        return 0.0
    hour = np.arange(ghi_w_m2.size) % 24
    return float(np.average(hour, weights=ghi_w_m2) - np.average(hour, weights=height))


def clearness(place: Location, ghi_w_m2: Array) -> float:
    """Return the part of a year's sun above the atmosphere that reaches the ground at a place."""
    sun = sun_over(place)
    return float(ghi_w_m2.sum() / (sun.height * sun.extraterrestrial_normal_w_m2).sum())


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

    References
    ----------
    Hay and Davies (1980) for the sky's diffuse light, as pvlib holds it.
    """
    if tilt_deg == 0:
        return ghi_w_m2
    sun = sun_over(place)
    total = pvlib.irradiance.get_total_irradiance(
        tilt_deg, azimuth_deg, sun.zenith_deg, sun.azimuth_deg,
        beam_normal(sun, ghi_w_m2, dhi_w_m2), ghi_w_m2, dhi_w_m2,
        dni_extra=sun.extraterrestrial_normal_w_m2,
        albedo=GROUND_REFLECTANCE, model="haydavies",
    )  # fmt: skip
    plane: Array = np.nan_to_num(np.asarray(total["poa_global"], dtype=float))
    return np.maximum(plane, 0.0)
