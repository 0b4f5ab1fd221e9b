"""Long-wave radiation that comes down from the sky."""

import numpy as np

from lcc.arrays import Array

STEFAN_BOLTZMANN = 5.670374e-8  # W/(m² K⁴), CODATA 2018
KELVIN = 273.15
CLOUD_BASE_KM = 2.0  # common practice: clouds of low and middle height
CLOUD_SCALE_KM = 8.2  # Martin and Berdahl 1984 (from memory)


def clear_emissivity(dew_point_c: Array, hour: Array | None = None) -> Array:
    """Return the emissivity of a clear sky from the dew point [°C] and the hour of the day.

    Notes
    -----
    0.711 + 0.56 (t_dp/100) + 0.73 (t_dp/100)² + 0.013 cos(2π h/24), for dew points from about
    -20 to 30 °C; without an hour the last term is left out.

    Tables and files take this one sky. With the original coefficients and the term of the hour it
    stayed within the error of measurement over Granada, where other formulas overestimated by day;
    the infrared of weather files is itself computed, from cover by another formula.

    References
    ----------
    Berdahl and Martin (1984), Emissivity of clear skies, Solar Energy 32, 663-664. Estimation of
    hourly values of downward atmospheric radiation under cloudless skies (1993), Theoretical and
    Applied Climatology 48, 127-131 (abstract read).

    Examples
    --------
    >>> round(float(clear_emissivity(np.array(20.0))), 4)
    0.8522
    """
    part = np.asarray(dew_point_c, dtype=float) / 100
    steady = 0.711 + 0.56 * part + 0.73 * part**2
    return steady if hour is None else steady + 0.013 * np.cos(2 * np.pi * hour / 24)


def cloudy_emissivity(clear: Array, cover: Array, base_km: float = CLOUD_BASE_KM) -> Array:
    """Return the emissivity of a sky with a covered fraction (0 to 1) of opaque cloud.

    Notes
    -----
    ε = ε₀ + (1 - ε₀) n exp(-z/8.2 km), black clouds of one base height z.

    References
    ----------
    Martin and Berdahl (1984), Characteristics of infrared sky radiation in the United States,
    Solar Energy 33, 321-336 (cloud term from memory).

    Examples
    --------
    >>> round(float(cloudy_emissivity(np.array(0.7743), np.array(1.0))), 4)
    0.9512
    """
    return np.asarray(clear + (1 - clear) * cover * np.exp(-base_km / CLOUD_SCALE_KM))


def on_slope(longwave_w_m2: Array, air_c: Array, tilt_deg: float) -> Array:
    """Return the long-wave irradiance [W/m²] on a slope that sees sky and surroundings.

    Notes
    -----
    F L + (1 - F) σ T_a⁴ with F = (1 + cos β)/2: what is not sky is black, of the air's temperature.

    Examples
    --------
    A wall under a sky of 300 W/m² in air of 0 °C, which itself radiates 315.7:

    >>> round(float(on_slope(np.array(300.0), np.array(0.0), 90.0)), 1)
    307.8
    """
    seen = (1 + np.cos(np.radians(tilt_deg))) / 2
    around = STEFAN_BOLTZMANN * (air_c + KELVIN) ** 4
    return np.asarray(seen * longwave_w_m2 + (1 - seen) * around)


def longwave_w_m2(dry_bulb_c: Array, dew_point_c: Array, cover: Array) -> Array:
    """Return the downward long-wave irradiance [W/m²] of whole days of hours, shape (n,).

    Notes
    -----
    ε σ T⁴ with the air's temperature T; the hour of the day is taken at its middle.
    """
    hour = np.arange(np.size(dry_bulb_c), dtype=np.float64) % 24 + 0.5
    emissivity = cloudy_emissivity(clear_emissivity(dew_point_c, hour), cover)
    return np.asarray(emissivity * STEFAN_BOLTZMANN * (dry_bulb_c + KELVIN) ** 4)
