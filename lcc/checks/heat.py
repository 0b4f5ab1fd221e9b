"""Checks of heat: resistances, periodic response, solar reflectance index, sky, moist air."""

import cmath
from collections.abc import Callable, Mapping
from math import log, pi
from typing import Any

import numpy as np

from lcc.case.layers import Assembly, Layer
from lcc.heat import assembly, conduction, iso6946, psychrometrics, sky, sri
from lcc.heat.coil_moisture import RoomMoisture
from lcc.heat.corrections import ResolvedLayer
from lcc.heat.equipment import part_load_factor
from lcc.heat.outside_film import outside_film
from lcc.heat.plenum_and_attic import Overhead

Figures = Mapping[str, float]


def figure(name: str, function: Callable[..., Any]) -> Callable[..., Figures]:
    """Return a subject whose one figure is what a function of the product returns."""
    return lambda **inputs: {name: float(function(**inputs))}


def _steady(resistances_m2k_w: list[float], inside_m2k_w: float, outside_m2k_w: float) -> Figures:
    layers = tuple(Layer(resistance_m2k_w=value) for value in resistances_m2k_w)
    figures = assembly.steady(
        Assembly(
            layers=layers,
            inside_resistance_m2k_w=inside_m2k_w,
            outside_resistance_m2k_w=outside_m2k_w,
        )
    )
    return {"u_w_m2k": figures.u_w_m2k, "total_m2k_w": 1 / figures.u_w_m2k}


def _outside_film(excess_k: float, wind_m_s: float, area_m2: float, roughness: str) -> Figures:
    film = outside_film(np.array([wind_m_s]), area_m2, roughness)
    cold = film.cold_w_m2k54 * max(-excess_k, 0.0) ** (1 / 4)
    warm = film.warm_w_m2k43 * max(excess_k, 0.0) ** (1 / 3)
    return {"forced_w_m2k": float(film.forced_w_m2k[0]), "natural_w_m2k": warm + cold}


def _coil_moisture(
    sensible_w_m2: float, room_c: float, air_kg_s_m2: float, outdoor_ratio: float, gains_w_m2: float
) -> Figures:
    air, outdoor, gains = (np.array([each]) for each in (air_kg_s_m2, outdoor_ratio, gains_w_m2))
    wet = RoomMoisture(air, outdoor, gains, psychrometrics.STANDARD_PRESSURE_PA)
    removed = wet.removed_w_m2(np.array([sensible_w_m2]), np.array([room_c]))
    return {"latent_w_m2": float(removed[0])}


def _ducts(
    load_w_m2: float, loss_w_m2: float, plenum_c: float, return_leak: float = 0.0,
    room_c: float = 24.0,
) -> Figures:  # fmt: skip
    one, none = np.ones(1), np.zeros(1)
    above = Overhead(0.5 * one, 0.0, none, 0.16, return_leak)
    found = above.lost(load_w_m2 * one, loss_w_m2 * one, plenum_c * one, room_c * one)
    return {"loss_w_m2": float(found[0])}


def _surface_resistances(direction: iso6946.Direction) -> Figures:
    inside = iso6946.R_SI[direction]
    return {"inside_m2k_w": inside, "outside_m2k_w": iso6946.R_SE, "film_w_m2k": 1 / inside}


def _solid(thickness: float, conductivity: float, density: float, heat: float) -> Layer:
    return Layer(
        thickness_m=thickness,
        conductivity_w_mk=conductivity,
        density_kg_m3=density,
        specific_heat_j_kgk=heat,
    )


def _periodic(
    inside_to_outside: list[list[float]], inside_m2k_w: float, outside_m2k_w: float, period_s: float
) -> Figures:
    layers = tuple(_solid(*layer) for layer in reversed(inside_to_outside))
    roof = Assembly(
        layers=layers, inside_resistance_m2k_w=inside_m2k_w, outside_resistance_m2k_w=outside_m2k_w
    )
    solid = assembly.resolved_layers(roof)
    figures = conduction.dynamic(solid, inside_m2k_w, outside_m2k_w, period_s)
    films = (conduction.film(outside_m2k_w), *solid, conduction.film(inside_m2k_w))
    inside_h, outside_h = _leads_h(films, period_s)
    return {
        "u_w_m2k": assembly.steady(roof).u_w_m2k,
        "inside_admittance_w_m2k": figures.inside_admittance_w_m2k,
        "inside_lead_h": inside_h,
        "outside_admittance_w_m2k": figures.outside_admittance_w_m2k,
        "outside_lead_h": outside_h,
        "periodic_transmittance_w_m2k": figures.periodic_transmittance_w_m2k,
        "decrement_factor": figures.decrement_factor,
        "time_lag_h": figures.time_lag_h,
        "inside_capacity_kj_m2k": figures.inside_capacity_j_m2k / 1000,
        "outside_capacity_kj_m2k": figures.outside_capacity_j_m2k / 1000,
    }


def _leads_h(layers: tuple[ResolvedLayer, ...], period_s: float) -> tuple[float, float]:
    """Hours by which flux leads temperature at the inside and at the outside face."""
    a, b, _, d, _ = (
        complex(term[0])
        for term in conduction.transfer_matrix(layers, np.array([2 * pi / period_s]))
    )
    turn_h = period_s / conduction.HOUR_S / (2 * pi)
    return cmath.phase(a / b) * turn_h, cmath.phase(d / b) * turn_h


def _half_space(
    conductivity_w_mk: float, density_kg_m3: float, specific_heat_j_kgk: float, period_s: float
) -> Figures:
    """Figures of a layer so thick that the wave does not reach its other face."""

    def thick(thickness_m: float) -> tuple[ResolvedLayer, ...]:
        layer = _solid(thickness_m, conductivity_w_mk, density_kg_m3, specific_heat_j_kgk)
        return (assembly.thermal_layer(layer),)

    figures = conduction.dynamic(thick(1.9), 0.0, 0.0, period_s)
    less = conduction.dynamic(thick(1.5), 0.0, 0.0, period_s)
    fall = less.periodic_transmittance_w_m2k / figures.periodic_transmittance_w_m2k
    return {
        "depth_m": (1.9 - 1.5) / log(fall),
        "admittance_w_m2k": figures.inside_admittance_w_m2k,
        "lead_h": _leads_h(thick(1.9), period_s)[0],
        "capacity_kj_m2k": figures.inside_capacity_j_m2k / 1000,
    }


def _solar_reflectance_index(reflectance: float, emittance: float, wind: sri.Wind) -> Figures:
    convection = sri.CONVECTION_W_M2K[wind]
    return {
        "surface_k": sri.steady_surface_k(reflectance, emittance, convection),
        "sri": sri.solar_reflectance_index(reflectance, emittance, wind),
    }


def _cloud(clear: float, cover: float, base_km: float) -> Figures:
    covered = sky.cloudy_emissivity(np.array(clear), np.array(cover), base_km)
    return {"emissivity": float(covered)}


def _clear_sky(dry_bulb_c: float, dew_point_c: float) -> Figures:
    emissivity = float(sky.clear_emissivity(np.array(dew_point_c)))
    sky_c = (dry_bulb_c + sky.KELVIN) * emissivity**0.25 - sky.KELVIN
    return {"emissivity": emissivity, "sky_c": sky_c}


def _dew_point(dry_bulb_c: float, relative_humidity: float) -> Figures:
    vapour = relative_humidity * psychrometrics.saturation_pressure_pa(dry_bulb_c)
    return {"dew_point_c": float(psychrometrics.dew_point_c(vapour))}


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "steady": _steady,
    "surface-resistances": _surface_resistances,
    "air-layer": lambda air_gap_m, direction: {
        "r_m2k_w": assembly.thermal_layer(Layer(air_gap_m=air_gap_m), direction).resistance_m2k_w
    },
    "air-layer-at": figure("r_m2k_w", iso6946.air_layer_resistance),
    "slightly-ventilated": lambda openings_mm2, unventilated_m2k_w, well_ventilated_m2k_w: {
        "r_m2k_w": iso6946.slightly_ventilated(
            openings_mm2, unventilated_m2k_w, well_ventilated_m2k_w
        )
    },
    "tapered": lambda constant_m2k_w, taper_m2k_w, shape: {
        "u_w_m2k": iso6946.tapered_u_value(constant_m2k_w, taper_m2k_w, shape)
    },
    "periodic": _periodic,
    "half-space": _half_space,
    "solar-reflectance-index": _solar_reflectance_index,
    "ageing": lambda field_applied: {
        "part": sri.aged_reflectance(1.2, field_applied=field_applied) - sri.AGED_FLOOR
    },
    "outside-film": _outside_film,
    "part-load": lambda part: {"factor": float(part_load_factor(np.array([part]), 1.0)[0])},
    "coil-moisture": _coil_moisture,
    "ducts": _ducts,
    "cloud": _cloud,
    "clear-sky": _clear_sky,
    "saturation-pressure": figure("pressure_pa", psychrometrics.saturation_pressure_pa),
    "dew-point": _dew_point,
}
