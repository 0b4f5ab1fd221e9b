"""Water under the metal panel: dew from outdoor air, and moisture drying out of the old roof."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lcc.case.layers import Cavity
from lcc.heat.cavity import HELPED, HINDERED, CavityState, natural_convection
from lcc.heat.psychrometrics import (
    AIR_HEAT_J_M3K,
    GAS_CONSTANT_VAPOUR,
    concentration_kg_m3,
    dew_point_c,
    saturated_kg_m3,
    saturation_pressure_pa,
)
from lcc.heat.scan import doubled_gains, periodic_clip
from lcc.heat.sky import KELVIN

Array = NDArray[np.float64]
HOUR_S = 3600.0
VAPOUR_DIFFUSIVITY_M2_S = 25e-6  # still air near 20 °C, common practice


@dataclass(frozen=True, eq=False)
class Moisture:
    """Hourly film under the panel [kg/m²], what leaves the old roof, and what is near dew."""

    film_kg_m2: Array
    drying_kg_m2_s: Array
    below_dew_point: NDArray[np.bool_]


def moisture_year(
    cavity: Cavity, state: CavityState, outdoor_dew_point_c: Array, outdoor_c: Array,
    lower_c: Array, drying: bool = False,
) -> Moisture:  # fmt: skip
    """Return the vapour balance of the cavity through a periodic year.

    Parameters
    ----------
    cavity, state
        The cavity and its solved temperatures and air changes.
    outdoor_dew_point_c, outdoor_c, lower_c : array, shape (n,)
        Outdoor dew point and air, and the face below the cavity [°C].
    drying : bool
        Whether that face gives off moisture as a wet roof behind its covering.

    Notes
    -----
    Per area, with concentrations c: V (c_a - c) + k (c_sat(T_l) - c) = β (c - c_sat(T_p)), the
    right side only while the panel condenses or is wet. V is the ventilation, β = h/(ρ c_p) by
    the analogy of Lewis with the panel's convection, k the same below in series with the
    covering's equivalent air layer. The film is max(0, film + rate) from hour to hour; nothing
    drips off, so it is the upper bound of what hangs there.

    References
    ----------
    ISO 13788:2012 for saturation; the balance is written out above.
    """
    supply = state.air_changes_per_h * cavity.mean_height_m / HOUR_S
    outside = concentration_kg_m3(
        saturation_pressure_pa(np.minimum(outdoor_dew_point_c, outdoor_c)), outdoor_c
    )
    release = _release(cavity, lower_c - state.air_c) if drying else np.zeros_like(outdoor_c)
    wet_face, panel = saturated_kg_m3(lower_c), saturated_kg_m3(state.panel_c)
    exchange = mass_transfer_m_s(state.panel_c - state.air_c, HINDERED, HELPED)
    arriving = supply * outside + release * wet_face
    rate = exchange * (arriving - (supply + release) * panel) / (supply + release + exchange)
    film = _film(rate)
    unwetted = _ratio(arriving, supply + release, outside)
    wet = np.maximum(rate, 0) + film > 0
    wetted = (arriving + exchange * panel) / (supply + release + exchange)
    air = np.where(wet, wetted, unwetted)
    pressure = unwetted * GAS_CONSTANT_VAPOUR * (state.air_c + KELVIN)
    return Moisture(
        film, release * np.maximum(wet_face - air, 0), state.panel_c < dew_point_c(pressure)
    )


def mass_transfer_m_s(excess_k: Array, warm: float, cool: float) -> Array:
    """Return the mass transfer coefficient of a face [m/s] from its excess temperature [K].

    Notes
    -----
    h/(ρ c_p), the analogy of Lewis for water vapour in air.

    Examples
    --------
    >>> mass_transfer_m_s(np.array([1.0]), 1.51, 0.76).round(6).tolist()
    [0.001251]
    """
    _, slope = natural_convection(excess_k, warm, cool)
    return np.asarray(slope * 0.75 / AIR_HEAT_J_M3K)


def _release(cavity: Cavity, excess_k: Array) -> Array:
    film = mass_transfer_m_s(excess_k, HELPED, HINDERED)
    return 1 / (1 / film + cavity.covering_air_layer_m / VAPOUR_DIFFUSIVITY_M2_S)


def _film(rate_kg_m2_s: Array) -> Array:
    gains, none = doubled_gains(np.ones_like(rate_kg_m2_s)), np.zeros_like(rate_kg_m2_s)
    return periodic_clip(gains, rate_kg_m2_s * HOUR_S, none, np.full_like(none, np.inf), none)


def _ratio(above: Array, below: Array, otherwise: Array) -> Array:
    return np.divide(above, below, out=otherwise.copy(), where=below > 0)


def longest_run_h(flags: NDArray[np.bool_]) -> float:
    """Return the longest run of flagged hours in a periodic year, at most the whole year.

    Examples
    --------
    >>> longest_run_h(np.array([True, False, True, True]))
    3.0
    """
    if bool(flags.all()):
        return float(flags.size)
    twice = np.concatenate([flags, flags])
    index = np.arange(twice.size)
    last_clear = np.maximum.accumulate(np.where(twice, -1, index))
    return float((index - last_clear)[twice & (last_clear >= 0)].max(initial=0))


def days_to_dry(cavity: Cavity, moisture: Moisture) -> float | None:
    """Return the days in which the stated moisture leaves at the year's mean rate, or None.

    None stands for no moisture stated or nothing leaving.
    """
    daily = float(moisture.drying_kg_m2_s.mean()) * 86400
    if cavity.roof_moisture_kg_m2 == 0 or daily <= 0:
        return None
    return cavity.roof_moisture_kg_m2 / daily
