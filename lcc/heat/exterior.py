"""Exterior surface heat balance: a bare roof, or a panel with its cavity."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Protocol

import numpy as np

from lcc.arrays import Array
from lcc.heat.outside_film import OutsideFilm
from lcc.heat.psychrometrics import AIR_HEAT_J_M3K
from lcc.heat.sky import KELVIN, STEFAN_BOLTZMANN


@dataclass(frozen=True, eq=False)
class Outdoors:
    """Outdoor conditions of every hour, arrays of shape (n,), and the heat capacity of air."""

    air_c: Array
    irradiance_w_m2: Array
    longwave_w_m2: Array
    wind_m_s: Array
    air_heat_j_m3k: float = AIR_HEAT_J_M3K

    def during(self, hours: slice) -> "Outdoors":
        """Return some of the hours."""
        return replace(
            self,
            air_c=self.air_c[hours],
            irradiance_w_m2=self.irradiance_w_m2[hours],
            longwave_w_m2=self.longwave_w_m2[hours],
            wind_m_s=self.wind_m_s[hours],
        )


class Exterior(Protocol):
    """The outdoor side of the outermost solid surface of the layers."""

    def exchange(self, surface_c: Array, before: Any = None) -> tuple[Array, Array, Any]:
        """Return the flux into the surface [W/m²], its fall with temperature [W/m²K], a state.

        The state of one call may be given to the next as a place to start from.
        """
        ...

    def first_guess(self) -> Array:
        """Return a surface temperature [°C] to begin with."""
        ...


@dataclass(frozen=True, eq=False)
class BareRoof:
    """A surface that faces sun, sky and wind.

    Notes
    -----
    q = α G - h (T - T_a) + ε (L - σ T⁴), h that of the film.
    """

    outdoors: Outdoors
    solar_reflectance: float
    thermal_emittance: float
    film: OutsideFilm

    def flux(self, surface_c: Array) -> tuple[Array, Array]:
        """Return the flux into the surface [W/m²] and its fall with temperature [W/m²K]."""
        carried, slope = self.film.carried(surface_c - self.outdoors.air_c)
        kelvin = surface_c + KELVIN
        cubed = (self.thermal_emittance * STEFAN_BOLTZMANN) * (kelvin * kelvin * kelvin)
        flux = self._arriving - carried
        flux -= cubed * kelvin
        cubed *= 4
        cubed += slope
        return flux, cubed

    @cached_property
    def _arriving(self) -> Array:
        """The terms that do not depend on the surface's temperature [W/m²]."""
        out = self.outdoors
        sun = (1 - self.solar_reflectance) * out.irradiance_w_m2
        sky = self.thermal_emittance * out.longwave_w_m2
        return np.asarray(sun + sky)

    def exchange(self, surface_c: Array, before: Any = None) -> tuple[Array, Array, Any]:
        """Return the flux, its fall, and no state: a bare surface needs none."""
        del before
        return *self.flux(surface_c), None

    def first_guess(self) -> Array:
        """Return the temperature [°C] of an insulated surface."""
        return self._insulated_c

    @cached_property
    def _insulated_c(self) -> Array:
        """A few Newton steps from the air."""
        surface = self.outdoors.air_c
        for _ in range(3):
            flux, fall = self.flux(surface)
            surface = surface + flux / fall
        return surface
