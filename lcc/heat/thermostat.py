"""A space with its thermostat: hourly temperature and load, and its response to the roof."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.fft import irfft, rfft

from lcc.arrays import Array, Complex
from lcc.heat.clipped_recurrence import ClippedRecurrence, shifted

FIRST_GUESS_C = 20.0
TINY = 1e-30  # an hour that stays where it is has fallen no part of its way
LIGHT = 0.3  # a roof that changes the space's response by less than this needs no correction


@dataclass(frozen=True, eq=False)
class Zone:
    """The top storey per m² of roof; arrays of shape (8760,).

    `storage_w_m2k` is heat capacity over one hour; `low_c` and `high_c` are the set points,
    infinite where nothing heats or cools.
    """

    storage_w_m2k: float
    conductance_w_m2k: Array
    gains_w_m2: Array
    outdoor_c: Array
    low_c: Array
    high_c: Array

    @cached_property
    def driven_w_m2(self) -> Array:
        """What outdoor air and gains bring to a room of 0 °C [W/m²]."""
        return np.asarray(self.conductance_w_m2k * self.outdoor_c + self.gains_w_m2)

    def coupled(self, falls: Complex) -> Callable[[Array, Array], tuple[Array, Array]]:
        """Return the next guess of the indoor temperature from a roof flux and the last guess.

        Parameters
        ----------
        falls : array, shape (n/2 + 1,)
            How fast the roof's inward flux falls with indoor temperature, by frequency [W/m²K].

        Returns
        -------
        callable
            Of the inward flux [W/m²] and the indoor temperature [°C] it was found with. Each
            call starts from the last one's answer and keeps a tenth of its error at most; it
            returns the indoor temperature [°C] and the load [W/m²].

        Notes
        -----
        The thermostat's step knows the roof by its steady answer U. Where the roof is heavy
        against the space, what the step changes in free hours is brought to the roof's answer Y
        at each frequency, by (K̄ + U + iωC)/(K̄ + Y + iωC).
        """
        steady = float(falls[0].real)
        step, end = ThermostatStep(self, steady, 0.1), np.full_like(self.outdoor_c, FIRST_GUESS_C)
        turn = np.arange(falls.size) * (2j * np.pi / self.outdoor_c.size)  # iω for one hour
        middle = (float(step.whole.min()) + float(step.whole.max())) / 2
        alone = middle + turn * self.storage_w_m2k
        part = alone / (alone + falls - steady)
        light = float(np.abs(part - 1).max()) < LIGHT

        def answer(flux: Array, before: Array) -> tuple[Array, Array]:
            nonlocal end
            indoor, load, end = step.hours(flux + steady * before, end)
            if light:
                return indoor, load
            change = irfft(rfft(indoor - before) * part, before.size)
            return np.where(load == 0, before + change, indoor), load

        return answer

    def settled(self, roof_flux: Array, guess: Array) -> tuple[Array, Array]:
        """Return hourly mean temperature [°C] and load [W/m²] for a roof flux taken as given.

        An error in the guess of the temperature [°C] is reduced to a billionth.
        The load is the heat the thermostat adds (positive) or removes (negative): what closes
        every hour's balance, exactly 0 between the set points.
        """
        return self._alone.hours(roof_flux, guess)[:2]

    @cached_property
    def _alone(self) -> "ThermostatStep":
        """The step of the zone with no roof, the same under every roof."""
        return ThermostatStep(self, 0.0, 1e-9)


class ThermostatStep:
    """The hourly step of a zone, with what does not depend on the roof's flux worked out.

    Notes
    -----
    Within an hour C dT/dt = g + q + K T_a - (K + U) T, so that the hour ends at
    e^-λ T₋₁ + (1 - e^-λ) T∞ with λ = (K + U) Δt/C, held between the set points by an ideal
    thermostat. The hour's mean follows from the same exponential; where the thermostat acts,
    the temperature runs to the set point with the exponential's own bend and stays there, so
    that the mean has no jump where the thermostat begins to act. Set points change
    at the beginning of an hour, and the temperature follows them at once.
    """

    def __init__(self, zone: Zone, roof_u: float, enough: float) -> None:
        self.zone = zone
        self.whole = zone.conductance_w_m2k + roof_u
        decay = self.whole / zone.storage_w_m2k
        self.keep = np.exp(-decay)
        self.ends = ClippedRecurrence(self.keep, enough)
        self.least, self.most = self.keep * zone.low_c, self.keep * zone.high_c
        # Mean of an exponential that ends at `keep`; its limit where nothing is lost.
        safe = np.where(decay > 1e-9, decay, 1.0)
        mean = np.where(decay > 1e-9, (1 - self.keep) / safe, 1 - decay / 2)
        self.gives = mean / zone.storage_w_m2k
        # The place of an exponential hour's mean, as a part of the way back from its end.
        way = np.where(decay > 1e-4, 1 - self.keep, 1.0)
        self.bend = np.where(decay > 1e-4, (mean - self.keep) / way, 0.5 - decay / 12)

    def hours(self, flux: Array, guess: Array) -> tuple[Array, Array, Array]:
        """Return each hour's mean temperature [°C], load [W/m²] and last temperature [°C]."""
        zone = self.zone
        given = zone.driven_w_m2 + flux
        rise = given * self.gives
        # An hour that begins outside its set points is first brought to them.
        maps = np.empty((3, rise.size), rise.dtype)
        for row, bound in enumerate((self.least, self.most)):
            np.add(bound, rise, out=maps[row])
        maps[2] = rise
        self._held(maps[:2], out=maps[:2])
        end = self.ends.solve(maps, guess)
        before = shifted(end, 1)
        begin = self._held(before)
        mean, load = self._balanced(begin, self.keep * begin + rise, given)
        return mean, load + zone.storage_w_m2k * (begin - before), end

    def _held(self, temperature: Array, out: Array | None = None) -> Array:
        above = np.maximum(temperature, self.zone.low_c, out=out)
        return np.asarray(np.minimum(above, self.zone.high_c, out=above))

    def _balanced(self, begin: Array, free_end: Array, given: Array) -> tuple[Array, Array]:
        """Mean of each hour, which runs toward its free end and is held on the way, and load."""
        end = self._held(free_end)
        fallen, way = begin - end, begin - free_end
        way += TINY
        mean = fallen / way
        mean *= self.bend
        mean *= fallen
        mean += end
        load = self.whole * mean
        load -= given
        load -= self.zone.storage_w_m2k * fallen
        load *= end != free_end  # half the time of numpy.where
        return mean, load
