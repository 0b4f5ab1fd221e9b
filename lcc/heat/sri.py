"""Solar reflectance index and the ageing of reflectance."""

from typing import Literal

from scipy.optimize import brentq

Wind = Literal["low", "medium", "high"]

# ASTM E1980-11 conditions: sun, air, sky and the coefficient of each class of wind.
SUN_W_M2 = 1000.0
AIR_K = 310.0
SKY_K = 300.0
CONVECTION_W_M2K: dict[Wind, float] = {"low": 5.0, "medium": 12.0, "high": 30.0}
SIGMA = 5.66961e-8  # the standard's own value
AGED_FLOOR = 0.2
AGED_PART = 0.7
FIELD_APPLIED_PART = 0.65  # coatings laid on the roof keep less of their gain


def steady_surface_k(reflectance: float, emittance: float, convection_w_m2k: float) -> float:
    """Return the temperature [K] of an insulated surface under the conditions of ASTM E1980.

    Notes
    -----
    Solves (1 - ρ) I = ε σ (T⁴ - T_sky⁴) + h (T - T_air).

    References
    ----------
    ASTM E1980-11, equation 1.

    Examples
    --------
    >>> round(steady_surface_k(0.05, 0.9, 12.0), 1), round(steady_surface_k(0.8, 0.9, 12.0), 1)
    (355.6, 317.8)
    """

    def balance(surface_k: float) -> float:
        leaving = emittance * SIGMA * (surface_k**4 - SKY_K**4)
        return (1 - reflectance) * SUN_W_M2 - leaving - convection_w_m2k * (surface_k - AIR_K)

    return float(brentq(balance, 200.0, 600.0, xtol=1e-9))


def solar_reflectance_index(reflectance: float, emittance: float, wind: Wind = "medium") -> float:
    """Return the solar reflectance index: 0 for standard black, 100 for standard white.

    Parameters
    ----------
    reflectance, emittance : float
        Solar reflectance and thermal emittance, 0 to 1.
    wind : {"low", "medium", "high"}
        Class of wind; products are rated at medium.

    References
    ----------
    ASTM E1980-11, equation 2.

    Examples
    --------
    A white single-ply sheet, published as 84:

    >>> round(solar_reflectance_index(0.69, 0.87))
    84
    """
    convection = CONVECTION_W_M2K[wind]
    black = steady_surface_k(0.05, 0.9, convection)
    white = steady_surface_k(0.80, 0.9, convection)
    surface = steady_surface_k(reflectance, emittance, convection)
    return 100 * (black - surface) / (black - white)


def aged_reflectance(initial: float, *, field_applied: bool = False) -> float:
    """Return the aged solar reflectance of a surface from its initial one.

    Notes
    -----
    0.2 + β (ρ - 0.2), β 0.65 for coatings applied on the roof and 0.70 for all else.

    References
    ----------
    California Title 24 Part 6 (2013), 110.8(i), as the roof rating council quotes it.

    Examples
    --------
    >>> round(aged_reflectance(0.70), 2), round(aged_reflectance(0.85, field_applied=True), 2)
    (0.55, 0.62)
    """
    part = FIELD_APPLIED_PART if field_applied else AGED_PART
    return AGED_FLOOR + part * (initial - AGED_FLOOR)
