"""What water does under a metal panel in a year, and how the old roof below dries."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, rfft

from lcc.case.building import Building
from lcc.case.layers import Assembly
from lcc.heat.assembly import resolved_layers
from lcc.heat.cavity import CavityState
from lcc.heat.climate import Climate
from lcc.heat.condensation import Moisture, days_to_dry, longest_run_h, moisture_year
from lcc.heat.conduction import film, year_response
from lcc.heat.schedule import by_month
from lcc.heat.solution import Solution, inside_films, over_ceiling
from lcc.heat.year import HeatYear
from lcc.results import Condensation, Drying

Array = NDArray[np.float64]
FILM_KG_M2 = 1e-4  # a film that counts as wet: a tenth of a gram per m²


def condensation(
    climate: Climate, building: Building, assembly: Assembly, heat: HeatYear,
    solved: Callable[[Assembly], Solution],
) -> Condensation | None:  # fmt: skip
    """Return what water does under the panel of a solved roof, or None where there is no panel.

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
    dry = moisture_year(cavity, state, climate.dew_point_c, climate.dry_bulb_c, heat.surface_c)
    figures: dict[str, Any] = {
        "hours_below_dew_point_h": float(dry.below_dew_point.sum()),
        "monthly_hours_wet_h": tuple(by_month(_wet(dry).astype(float)).tolist()),
        **_wetness(dry),
    }
    if cavity.roof_moisture_kg_m2 > 0:
        sealed = replace(assembly, cavity=replace(cavity, ventilation="sealed"))
        figures["drying"] = drying(climate, building, assembly, heat)
        figures["drying_sealed"] = drying(climate, building, sealed, solved(sealed).heat)
    return Condensation(**figures)


def drying(
    climate: Climate, building: Building, assembly: Assembly, heat: HeatYear
) -> Drying | None:
    """Return how a wet old roof under a panel dries; None where there is no panel."""
    cavity, state = assembly.cavity, heat.exterior_state
    if cavity is None or not isinstance(state, CavityState):
        return None
    places = (climate.dew_point_c, climate.dry_bulb_c, heat.surface_c)
    wet_c = old_roof_c(over_ceiling(assembly, building), heat)
    dry, wet = moisture_year(cavity, state, *places), moisture_year(cavity, state, *places, wet_c)
    # No more can hang there than the outdoors and the old roof have brought.
    most = cavity.roof_moisture_kg_m2 + float(dry.film_kg_m2.max())
    held = replace(wet, film_kg_m2=np.minimum(wet.film_kg_m2, most))
    return Drying(**_wetness(held), days_to_dry=days_to_dry(cavity, wet))


def old_roof_c(assembly: Assembly, heat: HeatYear) -> Array:
    """Return the temperature of the old covering [°C], under which the water is.

    Parameters
    ----------
    assembly : Assembly
        With the suspended ceiling, where there is one.

    Notes
    -----
    The covering is the first layer of that kind, or without one the face below the cavity. At
    the plane between the layers outside (1) and inside (2) of it the flux is one, so that
    T = (T_e/B₁ + T*/B₂)/(A₁/B₁ + D₂/B₂).
    """
    layers, films, flux = resolved_layers(assembly), inside_films(assembly), heat.roof_flux_w_m2
    roles = [layer.role for layer in layers]
    above = roles.index("covering") if "covering" in roles else 0
    if not sum(layer.resistance_m2k_w for layer in layers[:above]):
        return heat.surface_c
    outer = year_response(layers[:above])
    inner = year_response((*layers[above:], film(films.mean)))
    outside, inside = rfft(np.stack([heat.surface_c, heat.indoor_c + films.excess(flux) * flux]))
    waves = (outer.cross * outside + inner.cross * inside) / (outer.inner + inner.outer)
    return np.asarray(irfft(waves, flux.size))


def _wet(moisture: Moisture) -> NDArray[np.bool_]:
    return moisture.film_kg_m2 > FILM_KG_M2


def _wetness(moisture: Moisture) -> dict[str, float]:
    wet = _wet(moisture)
    return {
        "hours_wet_h": float(wet.sum()),
        "longest_wet_spell_h": longest_run_h(wet),
        "peak_film_g_m2": float(moisture.film_kg_m2.max()) * 1000,
    }
