"""Roofs that were measured dark and then light, beside the model.

Each `Site` of measurement says of its inputs which were read in the source, which are from memory
of it and which are assumed here; they were fixed before the model was run on them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from lcc.case import Assembly, Building, Cavity, Equipment, Layer, Site
from lcc.heat import climate, roof_model
from lcc.heat.ceiling_and_attic import occupied_of
from lcc.heat.energy import outermost_c
from lcc.heat.equipment import consumption

Array = NDArray[np.float64]
COVERING, DECK = Layer(material="modified-bitumen-sheet"), Layer(material="steel-deck")
KWH_PER_THERM = 29.3071


@dataclass(frozen=True)
class FieldTest:
    """A building measured under a dark roof and a light one, over some days of a year."""

    place: str
    building: Building
    area_m2: float
    dark: Assembly
    light: Assembly
    first_day: int
    last_day: int


def _pair(layers: tuple[Layer, ...], dark: float, light: float, dull: float = 0.9) -> tuple[
    Assembly, Assembly
]:  # fmt: skip
    roof = Assembly(layers=layers, solar_reflectance=dark, thermal_emittance=dull)
    return roof, replace(roof, solar_reflectance=light, thermal_emittance=0.9)


TESTS: dict[str, FieldTest] = {
    # Days and figures from memory of the paper. Assumed: R 11 under the deck, reflectances, use.
    "sacramento-store": FieldTest(
        "Sacramento, CA", Building(use="retail"), 1600.0,
        *_pair((COVERING, DECK, Layer(resistance_m2k_w=1.94)), 0.2, 0.6), 219, 272,
    ),
    # Days and figures from memory of the paper. Assumed: R 19 under the deck, reflectances.
    "san-marcos-school": FieldTest(
        "San Marcos, CA", Building(use="school"), 1000.0,
        *_pair((COVERING, DECK, Layer(resistance_m2k_w=3.35)), 0.2, 0.6), 188, 231,
    ),
    # Read: bare galvanised metal, R 11 below it, reflectances 0.29 and 0.75, units and ducts in
    # the plenum. Assumed: 100 m² a shop (3 to 4 tons), emittance 0.3 of old zinc, 75 °F, June to
    # September.
    "cocoa-mall": FieldTest(
        "Cocoa, FL", Building(use="retail", overhead="ducts-above-ceiling"), 700.0,
        *_pair((Layer(material="steel-panel"), Layer(resistance_m2k_w=1.94)), 0.29, 0.75, 0.3),
        151, 272,
    ),
    # Read: modified bitumen over plywood, R 19 on the dropped ceiling, reflectances 0.23 and
    # 0.68, 10,000 ft², a year. Assumed: ducts above the ceiling, a chiller as good as EER 10.
    "cocoa-school": FieldTest(
        "Cocoa Beach, FL",
        Building(use="school", overhead="ducts-above-ceiling", ceiling_resistance_m2k_w=3.66),
        929.0, *_pair((COVERING, Layer(material="plywood")), 0.23, 0.68), 0, 364,
    ),
}  # fmt: skip
# Metros after Levinson and Akbari, one climate each, unweighted. Assumed: R 12 (old stock) under
# the deck, reflectance 0.20 and 0.55 (from memory), EER 8, half offices and half shops.
METROS = (
    "New York, NY", "Chicago, IL", "Los Angeles, CA", "Houston, TX", "Dallas, TX", "Phoenix, AZ",
    "Philadelphia, PA", "Washington, DC", "Miami, FL", "Atlanta, GA", "Boston, MA",
    "San Francisco, CA", "Detroit, MI", "Seattle, WA", "Minneapolis, MN", "Saint Louis, MO",
)  # fmt: skip
STOCK = _pair((COVERING, DECK, Layer(resistance_m2k_w=2.11)), 0.20, 0.55)


@cache
def saved(test: str) -> dict[str, float]:
    """Return what the light roof saves of cooling electricity in the days of a test.

    Returns
    -------
    dict
        `wh_m2_day`, `kwh_m2` and `percent` of the dark roof's.
    """
    case = TESTS[test]
    before, after = (
        _cooling(case.place, case.building, case.area_m2, roof)[
            24 * case.first_day : 24 * case.last_day + 24
        ].sum()
        for roof in (case.dark, case.light)
    )
    days = case.last_day - case.first_day + 1
    return {
        "wh_m2_day": float((before - after) / days),
        "kwh_m2": float((before - after) / 1000),
        "percent": float(100 * (1 - after / before)),
    }


def _cooling(place: str, building: Building, area_m2: float, roof: Assembly) -> Array:
    return _used(place, building, area_m2, roof)[0]


def _used(place: str, building: Building, area_m2: float, roof: Assembly) -> tuple[Array, Array]:
    """Cooling electricity and gas of every hour [W/m²]."""
    weather = climate.load(Site(place=place))
    load = roof_model.solve(weather, building, area_m2, roof).load_w_m2
    used = consumption(building.equipment, load, weather.dry_bulb_c, occupied_of(building.use))
    return used.cooling_electricity, used.gas


@cache
def stock() -> dict[str, float]:
    """Return the mean yearly cooling saved [kWh/m²] and gas added [therm/m²] over the metros."""
    found = []
    for use in ("office", "retail"):
        building = Building(use=use, equipment=Equipment(cooling_eer=8.0))
        for place in METROS:
            dark, light = (_used(place, building, 2000.0, roof) for roof in STOCK)
            found.append([(dark[i] - light[i]).sum() / 1000 for i in (0, 1)])
    cooling, gas = np.mean(found, axis=0)
    return {"cooling_kwh_m2": float(cooling), "gas_therm_m2": float(-gas / KWH_PER_THERM)}


@cache
def hottest_membrane() -> dict[str, float]:
    """Return the highest temperature [°C] of a black single-ply over R 20 in New York."""
    layers = (Layer(material="single-ply-membrane"), Layer(resistance_m2k_w=3.52), DECK)
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
