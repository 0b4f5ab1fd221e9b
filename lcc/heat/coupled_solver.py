"""One assembly over one space for one periodic year, all coupled."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from math import isfinite, sqrt
from typing import Any, Protocol

import numpy as np
from scipy.fft import irfft, rfft

from lcc.arrays import Array, Complex
from lcc.errors import CaseError
from lcc.heat.conduction import Response
from lcc.heat.exterior import Exterior
from lcc.heat.fixed_point import anderson
from lcc.heat.plenum_and_attic import Overhead, nothing_overhead
from lcc.heat.precision import DOUBLE, SINGLE, by_sign, in_precision

TOLERANCE_K = 2e-3
MOST_ITERATIONS = 200
FEW_HOURS = 500  # chosen: hours that take longer to make single than they save
QUICK_ITERATIONS = 40  # in single precision, whose rounding is a hundredth of the tolerance
FIRST_INDOOR_C = 20.0


class Space(Protocol):
    """What is under the roof: a zone with a thermostat, or air of fixed temperature."""

    def coupled(self, falls: Complex) -> Callable[[Array, Array], tuple[Array, Array]]:
        """Return the next guess of the indoor temperature from a roof flux and the last guess.

        The load [W/m²] comes with it. `falls` is how fast the inward flux falls with indoor
        temperature, by frequency.
        """
        ...

    def settled(self, roof_flux: Array, guess: Array) -> tuple[Array, Array]:
        """Return indoor temperature [°C] and load [W/m²] for a roof flux taken as given."""
        ...


@dataclass(frozen=True, eq=False)
class FixedAir:
    """Indoor air of a given temperature [°C] whatever the roof does, shape (n,)."""

    air_c: Array

    def coupled(self, falls: Complex) -> Callable[[Array, Array], tuple[Array, Array]]:
        """Return a guess that never changes."""
        del falls
        return lambda flux, before: (self.air_c, -flux)

    def settled(self, roof_flux: Array, guess: Array) -> tuple[Array, Array]:
        """Return the fixed temperature, and the heat that holds it against the roof's flux."""
        del guess
        return self.air_c, -roof_flux


@dataclass(frozen=True)
class InsideFilms:
    """Inside resistances [m²K/W]: films by direction, a ceiling's, and the mean of their sum."""

    up: float
    down: float
    mean: float
    added: Array | float = 0.0

    def under(self, ceiling_m2k_w: Array) -> "InsideFilms":
        """Return the films with a ceiling below them, the mean with its mean."""
        return replace(self, mean=self.mean + float(ceiling_m2k_w.mean()), added=ceiling_m2k_w)

    def excess(self, inward_flux: Array) -> Array:
        """Return how far the resistance of each hour's direction exceeds the mean one."""
        return by_sign(inward_flux, self.down, self.up) + (self.added - self.mean)


@dataclass(frozen=True, eq=False)
class HeatYear:
    """The solution: hourly arrays of shape (n,), fluxes positive inward, and how it was reached.

    `overhead_c` is the air above a ceiling, or the room where there is none; `room_flux_w_m2` is
    what reaches the room, and `duct_loss_w_m2` what ducts take from the air above the ceiling.
    `faces` is what both faces of the layers do at every frequency.
    """

    surface_c: Array
    indoor_c: Array
    load_w_m2: Array
    roof_flux_w_m2: Array
    room_flux_w_m2: Array
    overhead_c: Array
    duct_loss_w_m2: Array
    exterior_state: Any
    iterations: int
    residual_k: float
    faces: "_Faces"

    @cached_property
    def outer_flux_w_m2(self) -> Array:
        """What enters the layers from outside, worked out when asked: no bill reads it."""
        return self.faces.outer_flux()


@dataclass(frozen=True, eq=False)
class _Faces:
    """Waves of the outer face and of the indoor drive [K], and how the layers answer them."""

    response: Response
    outside: Complex
    inside: Complex

    def inner_flux(self) -> Array:
        flux = self.response.cross * self.outside - self.response.inner * self.inside
        return np.asarray(irfft(flux, 2 * (flux.size - 1)))

    def outer_flux(self) -> Array:
        flux = self.response.outer * self.outside - self.response.cross * self.inside
        return np.asarray(irfft(flux, 2 * (flux.size - 1)))


def solve_year(
    exterior: Exterior,
    response: Response,
    films: InsideFilms,
    space: Space,
    tolerance_k: float = TOLERANCE_K,
    overhead: Overhead | None = None,
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
    overhead : Overhead
        What lies between the layers and the space; an open deck where it is not given. Its
        resistance is part of the films.

    Raises
    ------
    CaseError
        With the field `climate`, when the iteration does not converge.

    Notes
    -----
    Unknown are the outer surface temperature T_e, the indoor drive T* = T_i + (R_si + R - R̄) q
    with the ceiling's resistance R, and under a ceiling with ducts what they lose.
    The imbalance F = q_outdoor(T_e) - q_e corrects T_e by irfft(rfft(F)/(h̄ + D/B)), h̄ the
    geometric middle of the exterior's slope h, times (h̄ + k)/(h + k) with k = |D/B| of a wave of
    six hours; a bare face is so corrected twice, F following its slope. The space answers the
    q_i that follows with its temperature, knowing how q_i falls with it while T_e gives way: by
    A/B - 1/B²/(h̄ + D/B). Both are accelerated together, in single precision; fluxes and balances
    of the answer are worked out in double precision.
    """
    above = overhead or nothing_overhead(2 * (response.outer.size - 1))
    parts: tuple[Any, ...] = exterior, response, films, space, above
    few = above.outdoor_c.size < FEW_HOURS
    quick = _Iteration(*(parts if few else (in_precision(part, SINGLE) for part in parts)))
    exact = _Iteration(*parts)
    found = anderson(quick.step, quick.start(), max(tolerance_k, TOLERANCE_K), QUICK_ITERATIONS)
    sound = isfinite(found.residual)
    exact.state = in_precision(quick.state, DOUBLE) if sound else None
    if tolerance_k < TOLERANCE_K or not found.residual <= tolerance_k:
        start = in_precision(found.point, DOUBLE) if sound else exact.start()
        found = anderson(exact.step, start, tolerance_k, MOST_ITERATIONS, begun=found.iterations)
    if not found.residual <= tolerance_k:
        change = f"change by {found.residual:.3g} K" if isfinite(found.residual) else "run away"
        reason = (
            f"weather for which the heat balance converges (after {found.iterations} steps "
            f"temperatures still {change})"
        )
        raise CaseError("climate", "these inputs", reason)
    point = in_precision(found.point, DOUBLE)
    return exact.result(point, found.iterations, found.residual)


class _Iteration:
    """One pass through exterior, layers and space; starts from the exterior's last state."""

    def __init__(
        self, exterior: Exterior, response: Response, films: InsideFilms, space: Space,
        overhead: Overhead,
    ) -> None:  # fmt: skip
        self.exterior, self.response = exterior, response
        self.films, self.space, self.overhead = films, space, overhead
        self.state: Any = None
        self.middle = 0.0
        samples = 2 * (response.outer.size - 1)
        self.wave = float(abs(response.outer[samples // 6]))
        self.nothing = np.zeros(samples, dtype=response.outer.real.dtype)

    def start(self) -> Array:
        """Return surface and drive, and what ducts lose, to begin with."""
        begun = np.zeros((3 if self.overhead.ducts else 2, self.nothing.size), self.nothing.dtype)
        begun[0], begun[1] = self.exterior.first_guess(), FIRST_INDOOR_C
        return begun.ravel()

    def step(self, unknown: Array) -> Array:
        surface, drive, loss = self._parts(unknown)
        given, fall, self.state = self.exterior.exchange(surface, self.state)
        self._follow(fall)
        moved, flux = self._through(surface, drive, given, fall)
        lift = self.films.excess(flux) * flux
        before = self.overhead.room_c(drive - lift, loss)
        indoor, load = self.indoor(self.overhead.into_room(before, flux, loss), before)
        after = np.empty((unknown.size // surface.size, surface.size), surface.dtype)
        if self.overhead.ducts:
            air = self.overhead.air_c(indoor, flux, loss)
            loss = after[2] = self.overhead.lost(load, loss, air, indoor)
        after[0] = moved
        np.add(self.overhead.still_c(indoor, loss), lift, out=after[1])
        return after.ravel()

    def _through(
        self, surface: Array, drive: Array, given: Array, fall: Array
    ) -> tuple[Array, Array]:
        """Return the next surface, and the flux that it sends through the layers."""
        waves = rfft(np.stack([given + self.middle * surface, drive]))
        arriving, behind = waves[0], self.response.cross * waves[1]
        # Exact where the layers respond alike at all frequencies, close to it where they are light.
        part = (self.middle + self.wave) / (fall + self.wave)
        if self.state is None:  # the slope of a bare face differs so much that a second pass pays
            change = part * (irfft((arriving + behind) * self.correction, surface.size) - surface)
            surface = surface + change
            arriving = rfft(given - fall * change + self.middle * surface)
        # The flux to the space is that of the surface so corrected.
        np.multiply(arriving + behind, self.correction, out=waves[0])
        waves[1] *= -self.response.inner
        waves[1] += self.response.cross * waves[0]
        moved, flux = irfft(waves, surface.size)
        return surface + part * (moved - surface), flux

    def _parts(self, unknown: Array) -> tuple[Array, Array, Array]:
        """Surface, drive and what ducts lose."""
        surface, drive, *rest = unknown.reshape(-1, self.nothing.size)
        return surface, drive, rest[0] if rest else self.nothing

    def _follow(self, fall: Array) -> None:
        """Use the middle of the exterior's slope, which in a cavity grows with temperature."""
        middle = sqrt(float(fall.min()) * float(fall.max()))
        if not self.middle / 2 < middle < 2 * self.middle:
            self.middle = middle
            self.correction = 1 / (middle + self.response.outer)
            given_way = self.response.cross**2 * self.correction
            self.indoor = self.space.coupled(self._room_falls(self.response.inner - given_way))

    def _room_falls(self, falls: Complex) -> Complex:
        """How the room's flux falls with its temperature: with y of the roof, w (w y + G)."""
        if self.overhead.plain:
            return falls
        share = float(self.overhead.share.mean())
        return np.asarray(share * (share * falls + self.overhead.outdoor_w_m2k))

    def result(self, unknown: Array, iterations: int, residual: float) -> HeatYear:
        surface, drive, loss = self._parts(unknown)
        faces = _Faces(self.response, *rfft(np.stack([surface, drive])))
        inner = faces.inner_flux()
        state = self.state  # a bare surface has none
        if state is not None:
            _, _, state = self.exterior.exchange(surface, state)
        before = self.overhead.room_c(drive - self.films.excess(inner) * inner, loss)
        # The last indoor temperature takes the flux as given, so that the space's balance closes.
        to_room = self.overhead.into_room(before, inner, loss)
        indoor, load = self.space.settled(to_room, before)
        air = self.overhead.air_c(indoor, inner, loss)
        return HeatYear(
            surface, indoor, load, inner, to_room, air, loss, state, iterations, residual, faces,
        )  # fmt: skip
