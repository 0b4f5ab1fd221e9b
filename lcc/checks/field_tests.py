"""Measured roofs beside the model: plausibility, since the measured roofs are known in part."""

from dataclasses import replace
from functools import cache

import numpy as np

from lcc.case import Assembly, Building, Cavity, Equipment, Layer, Site
from lcc.checks.field_savings import used_w_m2
from lcc.heat import climate, roof_model
from lcc.heat.energy import outermost_c

COVERING, DECK = Layer(material="modified-bitumen-sheet"), Layer(material="steel-deck")
SINGLE_PLY = Layer(material="single-ply-membrane")
BRIGHT_W_M2, CALM_M_S = 850.0, 1.0
KWH_PER_THERM = 29.3071
# Metros after Levinson and Akbari, one climate each, unweighted. Assumed: R 12 (old stock) under
# the deck, reflectance 0.20 and 0.55 (from memory), EER 8, half offices and half shops.
METROS = (
    "New York, NY", "Chicago, IL", "Los Angeles, CA", "Houston, TX", "Dallas, TX", "Phoenix, AZ",
    "Philadelphia, PA", "Washington, DC", "Miami, FL", "Atlanta, GA", "Boston, MA",
    "San Francisco, CA", "Detroit, MI", "Seattle, WA", "Minneapolis, MN", "Saint Louis, MO",
)  # fmt: skip
STOCK = tuple(
    Assembly(layers=(COVERING, DECK, Layer(resistance_m2k_w=2.11)), solar_reflectance=reflectance)
    for reflectance in (0.20, 0.55)
)


def rise_in_calm_sun(reflectance: float) -> dict[str, float]:
    """Return how far a well insulated roof is warmer than the air in bright, calm hours [K]."""
    austin = climate.load(Site(climate="austin-tx"))
    calm = (austin.ghi_w_m2 > BRIGHT_W_M2) & (austin.wind_speed_m_s < CALM_M_S)
    layers = (SINGLE_PLY, Layer(material="polyiso-board", thickness_m=0.1016), DECK)
    roof = Assembly(layers=layers, solar_reflectance=reflectance, thermal_emittance=0.9)
    building = Building(use="retail", storey_height_m=5.0)
    surface = roof_model.solve(austin, building, 9290.0, roof).heat.surface_c
    return {"rise_k": float((surface - austin.dry_bulb_c)[calm].mean())}


@cache
def stock() -> dict[str, float]:
    """Return the mean yearly cooling saved [kWh/m²] and gas added [therm/m²] over the metros."""
    found = []
    for use in ("office", "retail"):
        building = Building(use=use, equipment=Equipment(cooling_eer=8.0))
        for place in METROS:
            weather = climate.load(Site(place=place))
            dark, light = (used_w_m2(weather, building, 2000.0, roof) for roof in STOCK)
            cooling = dark.cooling_electricity - light.cooling_electricity
            found.append([cooling.sum() / 1000, (dark.gas - light.gas).sum() / 1000])
    cooling, gas = np.mean(found, axis=0)
    return {"cooling_kwh_m2": float(cooling), "gas_therm_m2": float(-gas / KWH_PER_THERM)}


@cache
def hottest_membrane() -> dict[str, float]:
    """Return the highest temperature [°C] of a black single-ply over R 20 in New York."""
    layers = (SINGLE_PLY, Layer(resistance_m2k_w=3.52), DECK)
    roof = Assembly(layers=layers, solar_reflectance=0.06, thermal_emittance=0.86)
    weather = climate.load(Site(place="New York, NY"))
    solved = roof_model.solve(weather, Building(use="office"), 1000.0, roof)
    return {"hottest_c": float(outermost_c(solved).max())}


@cache
def vented_over_direct() -> dict[str, float]:
    """Return the peak heat through a deck under a vented metal roof over that under shingles.

    Notes
    -----
    Sunny hours (over 850 W/m²) of July in Knoxville. Read: equal reflectance and emittance, 5/8 in
    oriented strand board, 4 by 16 ft facing south. Assumed: 0.27, an air space of 38 mm open by
    19 mm at eave and ridge, slope 4 in 12, an attic with R 38 over 70 °F.
    """
    deck = (Layer(material="plywood", thickness_m=0.0159),)
    shingles = Layer(resistance_m2k_w=0.08)
    face = Assembly(solar_reflectance=0.27, slope=1 / 3, azimuth_deg=180.0, roughness="granular")
    space = Cavity(mean_height_m=0.038, ventilation="openings", inlet_area_m2=0.0232,
                   outlet_area_m2=0.0232, stack_height_m=1.54)  # fmt: skip
    direct = replace(face, layers=(shingles, *deck))
    vented = replace(face, layers=deck, cavity=space)
    building = Building(use="hotel", overhead="attic", ceiling_resistance_m2k_w=6.7,
                        cooling_setpoint_c=21.5)  # fmt: skip
    weather = climate.load(Site(place="Knoxville, TN"))
    july = np.zeros(8760, dtype=bool)
    july[181 * 24 : 212 * 24] = True
    sunny = july & (weather.ghi_w_m2 > 850)
    peaks = [
        roof_model.solve(weather, building, 5.95, roof).heat.outer_flux_w_m2[sunny].mean()
        for roof in (vented, direct)
    ]
    return {"ratio": float(peaks[0] / peaks[1])}
