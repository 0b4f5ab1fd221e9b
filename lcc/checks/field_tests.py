"""Measured roofs beside the model: plausibility, since the measured roofs are known in part."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from lcc.case import Assembly, Building, Layer, Site
from lcc.heat import climate, roof_model
from lcc.heat.equipment import consumption

Array = NDArray[np.float64]
AUSTIN = "austin-tx"
STORE = Building(use="retail", storey_height_m=5.0)
STORE_M2 = 9290.0  # 100,000 ft²
BLACK, WHITE = (0.06, 0.86), (0.65, 0.90)  # single-ply: black, and white after some months
BOARD_M = 0.0508
SUMMER = slice(151 * 24, 243 * 24)  # June to August
BRIGHT_W_M2, CALM_M_S = 850.0, 1.0


def _roof(reflectance: float, emittance: float, board_m: float) -> Assembly:
    layers = (
        Layer(material="single-ply-membrane"),
        Layer(material="polyiso-board", thickness_m=board_m),
        Layer(material="steel-deck"),
    )
    return Assembly(layers=layers, solar_reflectance=reflectance, thermal_emittance=emittance)


@cache
def _solved(reflectance: float, emittance: float, board_m: float) -> roof_model.Solution:
    austin = climate.load(Site(climate=AUSTIN))
    return roof_model.solve(austin, STORE, STORE_M2, _roof(reflectance, emittance, board_m))


def store_change() -> dict[str, float]:
    """Return what a black roof turned white does to a store in Austin, June to August.

    Returns
    -------
    dict
        Mean daily highest temperature of surface and plenum before and after [°C] and the fall of
        that of the surface [K];
        electricity of cooling saved [kWh a day, %] and its highest demand saved [kW, %].
    """
    black, white = (_solved(*face, BOARD_M) for face in (BLACK, WHITE))
    before, after = (_daily_peak_c(one.heat.surface_c) for one in (black, white))
    used, less = _cooling_kw(black), _cooling_kw(white)
    days = used[SUMMER].size / 24
    return {
        "black_c": before,
        "white_c": after,
        "fall_k": before - after,
        "plenum_black_c": _daily_peak_c(black.heat.overhead_c),
        "plenum_white_c": _daily_peak_c(white.heat.overhead_c),
        "saved_kwh_day": float((used - less)[SUMMER].sum() / days),
        "saved_percent": float(100 * (1 - less[SUMMER].sum() / used[SUMMER].sum())),
        "peak_kw": float(used.max() - less.max()),
        "peak_percent": float(100 * (1 - less.max() / used.max())),
    }


def _daily_peak_c(hours_c: Array) -> float:
    return float(hours_c[SUMMER].reshape(-1, 24).max(axis=1).mean())


def _cooling_kw(solved: roof_model.Solution) -> Array:
    load = solved.load_w_m2
    used = consumption(STORE.equipment, load, solved.zone.outdoor_c, load != 0)
    return np.asarray(used.cooling_electricity * STORE_M2 / 1000)


def rise_in_calm_sun(reflectance: float) -> float:
    """Return how far a well insulated roof is warmer than the air in bright, calm hours [K]."""
    austin = climate.load(Site(climate=AUSTIN))
    calm = (austin.ghi_w_m2 > BRIGHT_W_M2) & (austin.wind_speed_m_s < CALM_M_S)
    surface = _solved(reflectance, 0.9, 2 * BOARD_M).heat.surface_c
    return float((surface - austin.dry_bulb_c)[calm].mean())
