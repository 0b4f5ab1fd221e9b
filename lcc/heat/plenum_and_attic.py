"""Between deck and room: nothing, a ceiling with its plenum, ducts, or an attic."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from lcc import tables
from lcc.arrays import Array, Flags
from lcc.case.building import Building
from lcc.case.fields import known
from lcc.errors import CaseError
from lcc.heat.precision import by_sign
from lcc.heat.psychrometrics import air_heat_j_m3k
from lcc.heat.schedule import occupied_hours

# ISO 6946 air layer of 300 mm less the deck's own film, and the film below the ceiling.
FACES_M2K_W = 0.06 + 0.13
# One cubic foot a minute of supply air for each square foot, heat that it holds per kelvin.
RETURN_AIR_M3_S_M2 = 0.00508  # common practice
# A vented attic of 1 m mean height with 3 air changes an hour (common practice).
ATTIC_AIR_M3_S_M2 = 1.0 * 3.0 / 3600
COLD_SUPPLY_C, COLD_SPAN_K = 13.0, 11.0  # 55 °F into a room of 75 °F (common practice)
HOT_SUPPLY_C, HOT_SPAN_K = 40.0, 20.0  # 104 °F into a room of 68 °F (common practice)
MOST_LOST = 0.6


@dataclass(frozen=True, eq=False)
class Overhead:
    """The air above a ceiling, which stores no heat; per m² of roof, arrays of shape (n,).

    Parameters
    ----------
    ceiling_m2k_w : array
        Resistance between that air and the room, with the return air that flows between them.
    outdoor_w_m2k : float
        Heat that outdoor air through an attic carries per kelvin.
    outdoor_c : array
        Outdoor air [°C].
    duct_loss : float
        Part of the supply air's heat that ducts in that air lose at the full difference from
        supply to room: leaks and conduction.
    return_leak : float
        Part of the unit's air that leaks of the return draw from that air instead of the room.

    Notes
    -----
    q + (T_i - T_p)/R + G (T_a - T_p) - L = 0 with the roof's flux q and the ducts' loss L, so
    that T_p = w T_i + (1 - w) T_a + R w (q - L), w = 1/(1 + R G). The room gets q - L +
    G (T_a - T_p). Air that leaks out of ducts gives its heat or cold to the plenum, and room
    air follows what the return draws in; outdoor air that unbalanced leaks draw in is left out.
    """

    ceiling_m2k_w: Array
    outdoor_w_m2k: float
    outdoor_c: Array
    duct_loss: float
    return_leak: float = 0.0

    @property
    def ducts(self) -> bool:
        """Whether ducts exchange heat with that air."""
        return self.duct_loss > 0 or self.return_leak > 0

    @property
    def plain(self) -> bool:
        """Whether all of the roof's flux goes to the room: no attic, no ducts."""
        return self.outdoor_w_m2k == 0 and not self.ducts

    def during(self, schedule: slice, weather: slice) -> "Overhead":
        """Return some of the hours, of a schedule and of the weather apart."""
        ceiling, outdoor = self.ceiling_m2k_w[schedule], self.outdoor_c[weather]
        return replace(self, ceiling_m2k_w=ceiling, outdoor_c=outdoor)

    @property
    def share(self) -> Array:
        """The room's part w in the temperature of that air; the outdoors has the rest."""
        return np.asarray(1 / (1 + self.ceiling_m2k_w * self.outdoor_w_m2k))

    def still_c(self, room_c: Array, loss: Array) -> Array:
        """Return the temperature [°C] of that air with no heat through the roof."""
        if self.plain:
            return room_c
        w = self.share
        return np.asarray(w * room_c + (1 - w) * self.outdoor_c - self.ceiling_m2k_w * w * loss)

    def room_c(self, still_c: Array, loss: Array) -> Array:
        """Return the room's temperature [°C] that gives `still_c`."""
        if self.plain:
            return still_c
        w = self.share
        without = still_c + self.ceiling_m2k_w * w * loss
        return np.asarray((without - (1 - w) * self.outdoor_c) / w)

    def air_c(self, room_c: Array, flux: Array, loss: Array) -> Array:
        """Return the temperature of that air [°C] under a roof's inward flux [W/m²]."""
        return np.asarray(self.still_c(room_c, loss) + self.ceiling_m2k_w * self.share * flux)

    def into_room(self, room_c: Array, flux: Array, loss: Array) -> Array:
        """Return the flux that reaches the room [W/m²]."""
        if self.plain:
            return flux
        outdoor = self.outdoor_c - self.air_c(room_c, flux, loss)
        return np.asarray(flux - loss + self.outdoor_w_m2k * outdoor)

    def lost(self, load: Array, loss: Array, air_c: Array, room_c: Array) -> Array:
        """Return what ducts take from that air [W/m²]; negative where they warm it.

        Parameters
        ----------
        load, loss : array
            Heat that the room is given (positive) or that is taken from it while the ducts lose
            `loss` [W/m²].
        air_c, room_c : array
            That air with the loss taken from it, and the room's [°C].

        Notes
        -----
        Of what the coil gives, load and loss together, the part (d (T_p - T_supply) +
        r (T_p - T_room))/(T_room - T_supply) never arrives, r the return's leak; T_p itself
        gives way by R w a watt, which is solved for.
        """
        coil, resistance = load - loss, self.ceiling_m2k_w * self.share
        supply = by_sign(coil, HOT_SUPPLY_C, COLD_SUPPLY_C)
        flow = np.abs(coil) / by_sign(coil, HOT_SPAN_K, COLD_SPAN_K)
        still, both = air_c + resistance * loss, self.duct_loss + self.return_leak
        drawn = self.duct_loss * (still - supply) + self.return_leak * (still - room_c)
        found = flow * drawn / (1 + flow * both * resistance)
        most = MOST_LOST * -coil  # of what cools, at least 0; of what heats, at most 0
        return np.clip(found, np.minimum(most, 0), np.maximum(most, 0))


def nothing_overhead(hours: int) -> Overhead:
    """Return an open deck: the roof's inner face looks into the room."""
    return Overhead(np.zeros(hours), 0.0, np.zeros(hours), 0.0)


def overhead_of(building: Building, outdoor_c: Array, elevation_m: float) -> Overhead:
    """Return what is above the room of a building of which every field is set."""
    kind, air_heat = building.overhead, air_heat_j_m3k(elevation_m)
    if kind == "open-deck":
        return nothing_overhead(outdoor_c.size)
    ceiling = known(building.ceiling_resistance_m2k_w) + FACES_M2K_W
    conductance = np.full(outdoor_c.size, 1 / ceiling)
    if kind == "return-plenum":
        conductance += air_heat * RETURN_AIR_M3_S_M2 * occupied_of(building.use)
    return Overhead(
        1 / conductance,
        air_heat * ATTIC_AIR_M3_S_M2 if kind == "attic" else 0.0,
        outdoor_c,
        known(building.duct_loss),
        known(building.return_leak),
    )


@cache
def occupied_of(use: str) -> Flags:
    """Return in which hours of the year a use's rooms are occupied."""
    row = tables.rows("building_uses")[use]
    weekday = row["weekday_start_h"], row["weekday_end_h"]
    occupied = occupied_hours(*weekday, bool(row["saturday"]), bool(row["sunday"]))
    occupied.flags.writeable = False
    return occupied


def check_overhead(building: Building) -> None:
    """Refuse a ceiling under an open deck, which would be ignored.

    Raises
    ------
    CaseError
        With the field `ceiling_resistance`.
    """
    entered = building.ceiling_resistance_m2k_w
    if building.overhead == "open-deck" and entered:
        allowed = "0 under an open deck; else say what you see when you look up (overhead)"
        raise CaseError("ceiling_resistance", entered, allowed)
