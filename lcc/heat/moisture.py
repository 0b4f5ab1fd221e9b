"""Dew under the panel, and the drying of the roof below it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np
from numpy.fft import irfft, rfft

from lcc.arrays import Array, Flags
from lcc.case.layers import Assembly, Cavity
from lcc.heat.assembly import resolved_layers
from lcc.heat.cavity import HELPED, HINDERED, CavityState, natural_convection
from lcc.heat.climate import Climate
from lcc.heat.clipped_recurrence import shifted
from lcc.heat.conduction import HOUR_S, film, year_response
from lcc.heat.coupled_solver import HeatYear
from lcc.heat.psychrometrics import AIR_HEAT_J_M3K, concentration_kg_m3, saturation_pressure_pa
from lcc.heat.roof_model import Solution, inside_films
from lcc.heat.schedule import by_month
from lcc.results import Condensation, Drying

LEAST_KG_M2_DAY = 1e-9  # rounding: a kilogram would take millions of years
VAPOUR_DIFFUSIVITY_M2_S = 25e-6  # still air near 20 °C, common practice


@dataclass(frozen=True, eq=False)
class Moisture:
    """Hourly film under the panel [kg/m²], what ventilation removes, hours near the dew point."""

    film_kg_m2: Array
    leaving_kg_m2_s: Array
    below_dew_point: Flags


def moisture_year(
    cavity: Cavity, state: CavityState, outdoor_pa: Array, lower_c: Array,
    wet_c: Array | None = None,
) -> Moisture:  # fmt: skip
    """Return the vapour balance of the cavity through a periodic year.

    Parameters
    ----------
    cavity, state
        The cavity and its solved temperatures and air changes.
    outdoor_pa, lower_c : array, shape (n,)
        Vapour pressure outdoors [Pa], and the face below the cavity [°C].
    wet_c : array, shape (n,), optional
        Temperature of a wet roof behind its covering [°C], which gives its moisture off.

    Notes
    -----
    Per area, with concentrations c: V (c_a - c) + k (c_sat(T_w) - c) = β (c - c_sat(T_p)), the
    right side only while the panel condenses or is wet. V is the ventilation, β = h/(ρ c_p) by
    the analogy of Lewis with the panel's convection, k the same below in series with the
    covering's equivalent air layer. All c are those of their pressure at the cavity's
    temperature. The film takes what condenses and gives what evaporates, never below nothing;
    nothing drips off, so it is the upper bound of what hangs there. What ventilation carries
    away, V (c - c_a), closes the balance of every hour: it leaves the roof, or the film.

    References
    ----------
    ISO 13788:2012 for saturation; the balance is written out above.
    """
    supply = state.air_changes_per_h * cavity.mean_height_m / HOUR_S
    outside = concentration_kg_m3(outdoor_pa, state.air_c)
    panel = _held(state.panel_c, state)
    release, wet_face = np.zeros_like(lower_c), np.zeros_like(lower_c)
    if wet_c is not None:
        still = cavity.covering_air_layer_m / VAPOUR_DIFFUSIVITY_M2_S
        release = 1 / (1 / mass_transfer_m_s(lower_c - state.air_c, HELPED, HINDERED) + still)
        wet_face = _held(wet_c, state)
    exchange = mass_transfer_m_s(state.panel_c - state.air_c, HINDERED, HELPED)
    arriving, renewed = supply * outside + release * wet_face, supply + release
    rate = exchange * (arriving - renewed * panel) / (renewed + exchange)
    film = film_kg_m2(rate * HOUR_S)
    taken = np.maximum((film - shifted(film, 1)) / HOUR_S, rate)  # a surplus stays where it is
    air = _ratio(arriving - taken, renewed, outside)
    return Moisture(film, supply * (air - outside), _ratio(arriving, renewed, outside) > panel)


def _held(dew_point_c: Array, state: CavityState) -> Array:
    """Vapour [kg/m³] in the cavity's air that is saturated at another temperature."""
    return concentration_kg_m3(saturation_pressure_pa(dew_point_c), state.air_c)


def film_kg_m2(brought_kg_m2: Array) -> Array:
    """Return the film of each hour of a periodic year from the gain or loss of each hour.

    Notes
    -----
    max(0, film + brought) from hour to hour, begun with none at the hour after which least has
    been brought. Where a year brings more than it takes, the film is that of one year.

    Examples
    --------
    >>> film_kg_m2(np.array([1.0, 1.0, -5.0, 0.5, -1.0])).tolist()
    [1.0, 2.0, 0.0, 0.5, 0.0]
    """
    size = brought_kg_m2.size
    surplus = max(float(brought_kg_m2.sum()), 0.0) / size
    begin = int(np.argmin(np.cumsum(brought_kg_m2 - surplus))) + 1
    walk = np.cumsum(shifted(brought_kg_m2, -begin))
    return shifted(walk - np.minimum(np.minimum.accumulate(walk), 0.0), begin)


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


def _ratio(above: Array, below: Array, otherwise: Array) -> Array:
    return np.divide(above, below, out=otherwise.copy(), where=below > 0)


def longest_run_h(flags: Flags) -> float:
    """Return the longest run of flagged hours in a periodic year, at most the whole year.

    Examples
    --------
    >>> longest_run_h(np.array([True, False, True, True]))
    3.0
    """
    clear = np.flatnonzero(~flags)
    if clear.size == 0:
        return float(flags.size)
    return float(np.diff(clear, append=clear[0] + flags.size).max() - 1)


def days_to_dry(cavity: Cavity, moisture: Moisture) -> float | None:
    """Return the days in which the stated moisture leaves at the year's mean rate, or None.

    None stands for no moisture stated or none that leaves.
    """
    daily = float(moisture.leaving_kg_m2_s.mean()) * 86400
    if cavity.roof_moisture_kg_m2 == 0 or daily <= LEAST_KG_M2_DAY:
        return None
    return cavity.roof_moisture_kg_m2 / daily


FILM_KG_M2 = 1e-4  # a film that counts as wet: a tenth of a gram per m²


def condensation(
    climate: Climate, assembly: Assembly, heat: HeatYear,
    solved: Callable[[Assembly], Solution],
) -> Condensation | None:  # fmt: skip
    """Return dew and drying under the panel of a solved roof, or None where there is no panel.

    Parameters
    ----------
    heat : HeatYear
        Of the assembly over the building.
    solved : callable
        Solves another assembly over it: the one with its cavity sealed, where water is to leave.
    """
    cavity, state = assembly.cavity, heat.exterior_state
    if cavity is None or not isinstance(state, CavityState):
        return None
    dry = moisture_year(cavity, state, climate.vapour_pa, heat.surface_c)
    figures: dict[str, Any] = {
        "hours_below_dew_point_h": float(dry.below_dew_point.sum()),
        "monthly_hours_wet_h": tuple(by_month(_wet(dry).astype(float)).tolist()),
        **_wetness(dry),
    }
    if cavity.roof_moisture_kg_m2 > 0:
        sealed = replace(assembly, cavity=replace(cavity, ventilation="sealed"))
        figures["drying"] = _drying(climate, assembly, heat, dry)
        figures["drying_sealed"] = _drying(climate, sealed, solved(sealed).heat)
    return Condensation(**figures)


def _drying(
    climate: Climate, assembly: Assembly, heat: HeatYear, dry: Moisture | None = None
) -> Drying:
    """Return how a wet old roof under a panel dries.

    `dry` is the moisture of the same year with no water in the old roof, where it is known.
    """
    cavity, state = cast(Cavity, assembly.cavity), cast(CavityState, heat.exterior_state)
    around = state, climate.vapour_pa, heat.surface_c
    dry = dry or moisture_year(cavity, *around)
    wet = moisture_year(cavity, *around, old_roof_c(assembly, heat))
    # The film cannot exceed what the outdoors and the old roof have supplied.
    most = cavity.roof_moisture_kg_m2 + float(dry.film_kg_m2.max())
    held = replace(wet, film_kg_m2=np.minimum(wet.film_kg_m2, most))
    return Drying(**_wetness(held), days_to_dry=days_to_dry(cavity, wet))


def old_roof_c(assembly: Assembly, heat: HeatYear) -> Array:
    """Return the temperature of the old covering [°C], under which the water is.

    Notes
    -----
    The covering is the first layer of that kind, or without one the face below the cavity. At
    the plane between the layers outside (1) and inside (2) of it the flux is one, so that
    T = (T_e/B₁ + T*/B₂)/(A₁/B₁ + D₂/B₂).
    """
    layers, films = resolved_layers(assembly), inside_films(assembly)
    roles = [layer.role for layer in layers]
    above = roles.index("covering") if "covering" in roles else 0
    if not sum(layer.resistance_m2k_w for layer in layers[:above]):
        return heat.surface_c
    outer = year_response(layers[:above])
    inner = year_response((*layers[above:], film(films.mean)))
    drive = heat.overhead_c + films.excess(heat.roof_flux_w_m2) * heat.roof_flux_w_m2
    outside, inside = rfft(np.stack([heat.surface_c, drive]))
    waves = (outer.cross * outside + inner.cross * inside) / (outer.inner + inner.outer)
    return np.asarray(irfft(waves, drive.size))


def _wet(moisture: Moisture) -> Flags:
    return moisture.film_kg_m2 > FILM_KG_M2


def _wetness(moisture: Moisture) -> dict[str, float]:
    wet = _wet(moisture)
    return {
        "hours_wet_h": float(wet.sum()),
        "longest_wet_spell_h": longest_run_h(wet),
        "peak_film_g_m2": float(moisture.film_kg_m2.max()) * 1000,
    }
