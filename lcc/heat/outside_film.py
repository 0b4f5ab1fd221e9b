"""The outside film of a roof: natural and forced convection together, by size and roughness."""

from dataclasses import dataclass
from math import sqrt

import numpy as np

from lcc.arrays import Array
from lcc.heat.precision import by_sign
from lcc.heat.psychrometrics import AIR_HEAT_J_M3K

GRAVITY = 9.81  # m/s²
# Dry air of 300 K at sea level, tables of heat transfer textbooks (from memory).
CONDUCTIVITY_W_MK = 0.0263
VISCOSITY_M2_S = 1.589e-5
DIFFUSIVITY_M2_S = 2.25e-5
PRANDTL = 0.707
FILM_K = 300.0
# Plates that face up: warm (turbulent) and cold. Incropera and DeWitt, chapter 9 (from memory).
WARM, COLD = 0.15, 0.27
# Turbulent flow along a plate. Incropera and DeWitt, chapter 7 (from memory).
FORCED = 0.037
# Of the forced part: wood, concrete and brick as Walton 1981 has them (from memory).
ROUGHNESS = {"smooth": 1.13, "granular": 1.52, "gravel": 1.67}
# A station reports calm below the 0.5 to 1 m/s at which its cups start to turn (common practice).
CALMEST_M_S = 0.4
SLIP_K = 1e-6  # keeps the roots' slopes finite where face and air are alike


@dataclass(frozen=True, eq=False)
class OutsideFilm:
    """Heat transfer from a face to the wind over it; arrays of shape (n,).

    Notes
    -----
    h = h_forced + η h_natural with h_forced = 0.037 R_f (k/L) Re^0.8 Pr^(1/3), h_natural =
    0.15 (k/L) Ra^(1/3) over a face warmer than the air and 0.27 (k/L) Ra^(1/4) over a colder one,
    η = ln(1 + Gr/Re²)/(1 + ln(1 + Gr/Re²)), L the square root of the roof's area and R_f its
    roughness. The one over a cold face is published up to Ra = 10¹⁰, a plate of some metres, and is
    carried on beyond, where it is small beside the forced part. For roofs of some metres and more;
    the wind is that at roof height. On large roofs h is lower than the 4 + 4 v of ISO 6946, which
    holds for a building's small faces.

    References
    ----------
    Clear, Gartland and Winkelmann (2003), An empirical correlation for the outside convective
    air-film coefficient for horizontal roofs, Energy and Buildings 35, 797-811 (LBNL-47275): flat
    plate equations for natural and forced flow with roughness and roof size explain 90 % of the
    variance on two commercial roofs (abstract read; equations and weight from memory).
    """

    forced_w_m2k: Array
    richardson_per_k: Array
    warm_w_m2k43: float
    cold_w_m2k54: float

    def carried(self, excess_k: Array) -> tuple[Array, Array]:
        """Return the flux from a face for its excess over the air, and its slope.

        Parameters
        ----------
        excess_k : array, shape (n,)
            Face less air [K]; negative where the face is colder.

        Returns
        -------
        tuple of arrays
            Flux [W/m²], of the sign of the excess, and its rise with the face [W/m²K].

        Examples
        --------
        A black roof of 2,000 m² in a light wind, 30 K over the air, by hand
        5.51 forced and 0.713 of 5.52 natural:

        >>> film = outside_film(np.array([2.0]), 2000.0, "smooth")
        >>> flux, slope = film.carried(np.array([30.0]))
        >>> round(float(flux[0]) / 30, 1), round(float(slope[0]), 1)
        (9.4, 11.2)
        """
        size = np.abs(excess_k)
        size += SLIP_K
        ratio = self.richardson_per_k * size
        logarithm = np.log1p(ratio)
        below = 1 / (1 + logarithm)
        part = below * np.where(
            excess_k > 0,
            self.warm_w_m2k43 * np.cbrt(size),
            self.cold_w_m2k54 * np.sqrt(np.sqrt(size)),
        )
        weighed = part * logarithm
        part *= below
        part *= ratio
        part /= 1 + ratio  # the weight's own rise
        coefficient = self.forced_w_m2k + weighed
        weighed *= by_sign(excess_k, 1 / 3, 1 / 4)
        weighed += part
        weighed += coefficient
        return coefficient * excess_k, weighed


def outside_film(
    wind_m_s: Array, area_m2: float, roughness: str, air_heat_j_m3k: float = AIR_HEAT_J_M3K
) -> OutsideFilm:
    """Return the film of a roof in the wind at its height.

    Parameters
    ----------
    wind_m_s : array, shape (n,)
        At roof height [m/s].
    area_m2 : float
        Of the roof; its square root is the length along which the air flows.
    roughness : {"smooth", "granular", "gravel"}
        Of the face.
    air_heat_j_m3k : float
        Of the air, which thins with elevation.
    """
    length = sqrt(area_m2)
    thinner = AIR_HEAT_J_M3K / air_heat_j_m3k
    viscosity, diffusivity = VISCOSITY_M2_S * thinner, DIFFUSIVITY_M2_S * thinner
    wind = np.maximum(wind_m_s, CALMEST_M_S)
    plate = CONDUCTIVITY_W_MK / length
    forced = FORCED * ROUGHNESS[roughness] * plate * PRANDTL ** (1 / 3)
    rayleigh_per_k = GRAVITY / FILM_K * length**3 / (viscosity * diffusivity)
    return OutsideFilm(
        np.asarray(forced * (wind * (length / viscosity)) ** 0.8),
        np.asarray(GRAVITY / FILM_K * length / (wind * wind)),
        float(WARM * plate * np.cbrt(rayleigh_per_k)),
        COLD * plate * rayleigh_per_k**0.25,
    )
