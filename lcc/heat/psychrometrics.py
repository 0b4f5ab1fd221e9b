"""Air: its heat capacity at an elevation, and water vapour in it."""

import numpy as np
from numpy.typing import ArrayLike

from lcc.arrays import Array
from lcc.heat.precision import by_sign
from lcc.heat.sky import KELVIN

GAS_CONSTANT_VAPOUR = 461.5  # J/(kg K), ISO 13788:2012
STANDARD_PRESSURE_PA = 101325.0
AIR_HEAT_J_M3K = 1.2 * 1006.0  # density times specific heat near 20 °C at sea level


def air_heat_j_m3k(elevation_m: float) -> float:
    """Return the heat capacity of a volume of air near 20 °C [J/m³K] at an elevation [m].

    Notes
    -----
    That of sea level by the pressure of the standard atmosphere, (1 - 2.25577e-5 z)^5.2559.

    Examples
    --------
    A mile up, where the standard pressure is 83.4 kPa of 101.3:

    >>> round(air_heat_j_m3k(1609.0) / air_heat_j_m3k(0.0), 3)
    0.823
    """
    return AIR_HEAT_J_M3K * standard_pressure_pa(elevation_m) / STANDARD_PRESSURE_PA


def standard_pressure_pa(elevation_m: float) -> float:
    """Return the pressure of the standard atmosphere [Pa] at an elevation [m].

    References
    ----------
    ASHRAE Handbook of Fundamentals, psychrometrics, standard atmosphere (from memory).

    Examples
    --------
    >>> round(standard_pressure_pa(1609.0) / 1000, 1)
    83.4
    """
    return float(STANDARD_PRESSURE_PA * (1 - 2.25577e-5 * elevation_m) ** 5.2559)


def saturation_pressure_pa(temperature_c: ArrayLike) -> Array:
    """Return the saturation pressure of water vapour [Pa], over ice below 0 °C.

    Notes
    -----
    610.5 exp(17.269 θ/(237.3 + θ)) from 0 °C up, 610.5 exp(21.875 θ/(265.5 + θ)) below.

    References
    ----------
    ISO 13788:2012, annex E, equations E.7 and E.8.

    Examples
    --------
    >>> saturation_pressure_pa([-10, 0, 20]).round(1).tolist()
    [259.3, 610.5, 2337.0]
    """
    theta = np.asarray(temperature_c, dtype=float)
    part = by_sign(theta, 17.269, 21.875) * theta  # 0 of either at 0 °C
    part /= by_sign(theta, 237.3, 265.5) + np.maximum(theta, -200)
    return np.asarray(610.5 * np.exp(part))


def dew_point_c(pressure_pa: ArrayLike) -> Array:
    """Return the temperature [°C] at which vapour of a pressure [Pa] is saturated.

    References
    ----------
    ISO 13788:2012, annex E, equations E.9 and E.10.

    Examples
    --------
    Air of 20 °C and half its saturation pressure:

    >>> round(float(dew_point_c(0.5 * saturation_pressure_pa(20.0))), 2)
    9.27
    """
    ratio = np.log(np.maximum(np.asarray(pressure_pa, dtype=float), 1e-6) / 610.5)
    above = 237.3 * ratio / (17.269 - np.minimum(ratio, 17.0))
    below = 265.5 * ratio / (21.875 - np.minimum(ratio, 21.0))
    return np.asarray(np.where(ratio >= 0, above, below))


def concentration_kg_m3(pressure_pa: ArrayLike, temperature_c: ArrayLike) -> Array:
    """Return the concentration of vapour [kg/m³] from its pressure [Pa] and temperature [°C].

    Examples
    --------
    >>> round(float(concentration_kg_m3(2337.0, 20.0)), 5)
    0.01727
    """
    kelvin = np.asarray(temperature_c, dtype=float) + KELVIN
    return np.asarray(np.asarray(pressure_pa, dtype=float) / (GAS_CONSTANT_VAPOUR * kelvin))
