"""What the outdoors does to the outermost solid surface: bare roof, or panel and cavity."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from lcc.heat.psychrometrics import AIR_HEAT_J_M3K
from lcc.heat.sky import KELVIN, STEFAN_BOLTZMANN

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Outdoors:
    """What a roof meets in every hour; arrays of shape (n,), and the heat a volume of air holds."""

    air_c: Array
    irradiance_w_m2: Array
    longwave_w_m2: Array
    convection_w_m2k: Array
    wind_m_s: Array
    air_heat_j_m3k: float = AIR_HEAT_J_M3K

    def during(self, hours: slice) -> Outdoors:
        """Return some of the hours."""
        return replace(
            self,
            air_c=self.air_c[hours],
            irradiance_w_m2=self.irradiance_w_m2[hours],
            longwave_w_m2=self.longwave_w_m2[hours],
            convection_w_m2k=self.convection_w_m2k[hours],
            wind_m_s=self.wind_m_s[hours],
        )


class Exterior(Protocol):
    """The outdoors as seen by the outermost solid surface of the layers."""

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
    q = α G + h_c (T_a - T) + ε (L - σ T⁴), h_c = 4 + 4 v.

    References
    ----------
    ISO 6946:2017, annex C, for h_c.
    """

    outdoors: Outdoors
    solar_reflectance: float
    thermal_emittance: float

    def flux(self, surface_c: Array) -> tuple[Array, Array]:
        """Return the flux into the surface [W/m²] and its fall with temperature [W/m²K].

        Examples
        --------
        >>> outdoors = Outdoors(*(np.array([x]) for x in (20.0, 500.0, 400.0, 20.0, 4.0)))
        >>> flux, fall = BareRoof(outdoors, 0.2, 0.0).flux(np.array([30.0]))
        >>> flux.tolist(), fall.tolist()
        ([200.0], [20.0])
        """
        convection = self.outdoors.convection_w_m2k
        kelvin = surface_c + KELVIN
        cubed = (self.thermal_emittance * STEFAN_BOLTZMANN) * (kelvin * kelvin * kelvin)
        flux = self._arriving - convection * surface_c - cubed * kelvin
        return flux, convection + 4 * cubed

    @cached_property
    def _arriving(self) -> Array:
        """What does not depend on the surface's temperature [W/m²]."""
        out = self.outdoors
        sun = (1 - self.solar_reflectance) * out.irradiance_w_m2
        sky = self.thermal_emittance * out.longwave_w_m2
        return np.asarray(sun + sky + out.convection_w_m2k * out.air_c)

    def exchange(self, surface_c: Array, before: Any = None) -> tuple[Array, Array, Any]:
        """Return the flux, its fall, and no state: a bare surface needs none."""
        del before
        return *self.flux(surface_c), None

    def first_guess(self) -> Array:
        """Return the temperature [°C] of an insulated surface, one Newton step from the air."""
        flux, fall = self.flux(self.outdoors.air_c)
        return np.asarray(self.outdoors.air_c + flux / fall)
