"""One assembly over one space for one periodic year, all coupled."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite, sqrt
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, rfft

from lcc.errors import CaseError
from lcc.heat.conduction import Complex, Response
from lcc.heat.exterior import Exterior
from lcc.heat.fixed_point import anderson

Array = NDArray[np.float64]
TOLERANCE_K = 2e-3
MOST_ITERATIONS = 200
FIRST_INDOOR_C = 20.0


class Space(Protocol):
    """What is under the roof: a zone with a thermostat, or air of fixed temperature."""

    def coupled(self, falls: Complex) -> Callable[[Array, Array], Array]:
        """Return the next guess of the indoor temperature from a roof flux and the last guess.

        `falls` is how fast the inward flux falls with indoor temperature, by frequency.
        """
        ...

    def settled(self, roof_flux: Array, guess: Array) -> tuple[Array, Array]:
        """Return indoor temperature [°C] and load [W/m²] for a roof flux taken as given."""
        ...


@dataclass(frozen=True, eq=False)
class FixedAir:
    """Indoor air of a given temperature [°C] whatever the roof does, shape (n,)."""

    air_c: Array

    def coupled(self, falls: Complex) -> Callable[[Array, Array], Array]:
        """Return a guess that never changes."""
        del falls
        return lambda flux, before: self.air_c

    def settled(self, roof_flux: Array, guess: Array) -> tuple[Array, Array]:
        """Return the fixed temperature, and the heat that holds it against the roof's flux."""
        del guess
        return self.air_c, -roof_flux


@dataclass(frozen=True)
class InsideFilms:
    """Inside surface resistances [m²K/W]: by direction, and the one in the response."""

    up: float
    down: float
    mean: float

    def excess(self, inward_flux: Array) -> Array:
        """Return how far the film of each hour's direction exceeds the mean one."""
        return np.where(inward_flux > 0, self.down, self.up) - self.mean


@dataclass(frozen=True, eq=False)
class HeatYear:
    """The solution: hourly arrays of shape (n,), fluxes positive inward, and how it was reached."""

    surface_c: Array
    indoor_c: Array
    load_w_m2: Array
    outer_flux_w_m2: Array
    roof_flux_w_m2: Array
    exterior_state: Any
    iterations: int
    residual_k: float


def solve_year(
    exterior: Exterior,
    response: Response,
    films: InsideFilms,
    space: Space,
    tolerance_k: float = TOLERANCE_K,
) -> HeatYear:
    """Find the year in which exterior, layers, inside film and space agree in every hour.

    Parameters
    ----------
    exterior : Exterior
        Bare roof, or panel and cavity.
    response : Response
        Of the layers with the mean inside film.
    tolerance_k : float
        The iteration ends when no temperature of any hour changes by more [K].

    Raises
    ------
    CaseError
        With the field `climate`, when the iteration does not converge.

    Notes
    -----
    Unknown are the outer surface temperature T_e and the indoor drive T* = T_i + (R_si - R̄) q.
    The imbalance F = q_outdoor(T_e) - q_e corrects T_e by irfft(rfft(F)/(h̄ + D/B)), h̄ the
    geometric middle of the exterior's slope h, times (h̄ + k)/(h + k) with k = |D/B| of a day's
    wave; the space answers the q_i that follows with its temperature, knowing how q_i falls with
    it while T_e gives way: by A/B - 1/B²/(h̄ + D/B). Both are accelerated together.
    """
    iteration = _Iteration(exterior, response, films, space)
    surface = exterior.first_guess()
    start = np.concatenate([surface, np.full_like(surface, FIRST_INDOOR_C)])
    found = anderson(iteration.step, start, tolerance_k, MOST_ITERATIONS)
    if not found.residual <= tolerance_k:
        change = f"change by {found.residual:.3g} K" if isfinite(found.residual) else "run away"
        reason = (
            f"weather for which the heat balance converges (after {found.iterations} steps "
            f"temperatures still {change})"
        )
        raise CaseError("climate", "these inputs", reason)
    return iteration.result(found.point, found.iterations, found.residual)


class _Iteration:
    """One pass through exterior, layers and space; starts from the exterior's last state."""

    def __init__(
        self, exterior: Exterior, response: Response, films: InsideFilms, space: Space
    ) -> None:
        self.exterior, self.response = exterior, response
        self.films, self.space = films, space
        self.state: Any = None
        self.middle = 0.0
        samples = 2 * (response.outer.size - 1)
        self.daily = float(abs(response.outer[samples // 24]))

    def step(self, unknown: Array) -> Array:
        surface, drive = np.split(unknown, 2)
        given, fall, self.state = self.exterior.exchange(surface, self.state)
        self._follow(fall)
        outer, inner, given = rfft(np.stack([surface, drive, given]))
        gap = given - self.response.outer * outer + self.response.cross * inner
        change = gap * self.correction
        # The flux to the space is that of the surface so corrected.
        flux = self.response.cross * (outer + change) - self.response.inner * inner
        flux, change = irfft(np.stack([flux, change]), surface.size)
        # Exact where the layers answer alike at all frequencies, and near it where they are light.
        change *= (self.middle + self.daily) / (fall + self.daily)
        lift = self.films.excess(flux) * flux
        indoor = self.indoor(flux, drive - lift)
        return np.concatenate([surface + change, indoor + lift])

    def _follow(self, fall: Array) -> None:
        """Keep to the middle of the exterior's slope, which in a cavity grows with warmth."""
        middle = sqrt(float(fall.min()) * float(fall.max()))
        if not self.middle / 2 < middle < 2 * self.middle:
            self.middle = middle
            self.correction = 1 / (middle + self.response.outer)
            given_way = self.response.cross**2 * self.correction
            self.indoor = self.space.coupled(self.response.inner - given_way)

    def _fluxes(self, surface: Array, drive: Array) -> tuple[Array, Array]:
        """Inner and outer flux through the layers [W/m²]."""
        waves = rfft(np.stack([surface, drive]))
        inner = self.response.cross * waves[0] - self.response.inner * waves[1]
        outer = self.response.outer * waves[0] - self.response.cross * waves[1]
        fluxes = irfft(np.stack([inner, outer]), surface.size)
        return fluxes[0], fluxes[1]

    def result(self, unknown: Array, iterations: int, residual: float) -> HeatYear:
        surface, drive = np.split(unknown, 2)
        inner, outer = self._fluxes(surface, drive)
        _, _, state = self.exterior.exchange(surface, self.state)
        # The last indoor temperature takes the flux as given, so that the space's balance closes.
        indoor, load = self.space.settled(inner, drive)
        return HeatYear(surface, indoor, load, outer, inner, state, iterations, residual)
