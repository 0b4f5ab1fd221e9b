"""Measured roofs beside the model: plausibility, since the measured roofs are known in part.

Of buildings measured under a dark roof and then a light one, each input stands in
`data/field_inputs.csv` with its least, likeliest and largest value, and says whether it was read,
remembered or assumed; all were fixed before the model was run on them. What a building used before
is read, so the gains inside, which nobody reports, are those with which the model uses as much.
Where no plausible gains do, the rest of what was used is taken to be the same under both roofs.
(That bound of 45 W/m² was set after a first run, which had met the use of two schools with
70 W/m²; everything else is as it was before that run.)
"""

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from lcc import tables
from lcc.arrays import Array
from lcc.case import Assembly, Building, Cavity, Equipment, Layer, Site
from lcc.heat import climate, roof_model
from lcc.heat.climate import Climate
from lcc.heat.energy import consumed, outermost_c
from lcc.heat.equipment import Consumption

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


Inputs = dict[str, float]
DRAWS, SEED, FOUR_OF_FIVE = 32, 1, (0.1, 0.9)
GAINS_W_M2 = (5.0, 20.0, 45.0)
HOTTEST_DAYS = 5
TERRAINS = ("open", "suburban", "urban")


@dataclass(frozen=True)
class FieldTest:
    """A building measured under a dark roof and a light one, over some days of a year.

    `peak` says which hours of which days its peak was measured in: hottest outdoor air of the
    day [°C], first and last hour; none where it is the highest of all.
    """

    place: str
    use: str
    area_m2: float
    storey_height_m: float
    above: tuple[Layer, ...]
    first_day: int
    last_day: int
    peak: tuple[float, int, int] | None = None

    @property
    def days(self) -> slice:
        """Hours of the measured days."""
        return slice(24 * self.first_day, 24 * self.last_day + 24)


TESTS: dict[str, FieldTest] = {
    "austin-store": FieldTest(
        "Austin, TX", "retail", 9290.0, 5.0,
        (Layer(material="single-ply-membrane"), DECK), 151, 242,
    ),
    "sacramento-store": FieldTest(
        "Sacramento, CA", "retail", 1600.0, 4.0, (COVERING, DECK), 219, 272, (38.0, 12, 17),
    ),
    "san-marcos-school": FieldTest(
        "San Marcos, CA", "school", 1000.0, 4.0, (COVERING, DECK), 188, 231, (32.0, 10, 16),
    ),
    "cocoa-mall": FieldTest(
        "Cocoa, FL", "retail", 800.0, 4.0, (Layer(material="steel-panel"),), 151, 272,
    ),
    "cocoa-school": FieldTest(
        "Cocoa Beach, FL", "school", 929.0, 4.0,
        (COVERING, Layer(material="plywood")), 0, 364,
    ),
}  # fmt: skip


def used_w_m2(climate: Climate, building: Building, area_m2: float, roof: Assembly) -> Consumption:
    """Return the energy of every hour [W/m²] under a roof."""
    return _year(climate, building, area_m2, roof, "suburban")[1]


def _year(
    climate: Climate, building: Building, area_m2: float, roof: Assembly, terrain: str
) -> tuple[roof_model.Solution, Consumption]:
    solved = roof_model.solve(climate, building, area_m2, roof, terrain)
    return solved, consumed(climate, building, solved)[0]


@cache
def saved(test: str) -> dict[str, float]:
    """Return what the light roof changes in the days of a test.

    Returns
    -------
    dict
        At the likeliest inputs, and after `_low` and `_high` the same that nine and one in ten
        draws over all inputs exceed. Air-conditioning electricity saved by day (`wh_m2_day`,
        `kwh_day`, `kwh_day_shop`), in the test (`kwh_m2`, `percent`), at the peak (`peak_w_m2`,
        `peak_kw`, `peak_percent`); mean daily highest temperatures of face and plenum [°C] and
        the fall of the face [K]; and the gains found (`gains_w_m2`).
    """
    likely = figures(test, inputs_at(test, 0.0))
    drawn = [figures(test, inputs) for inputs in draws(test)]
    ranges = {
        f"{name}_{end}": float(np.quantile([each[name] for each in drawn], part))
        for name in likely
        for end, part in zip(("low", "high"), FOUR_OF_FIVE, strict=True)
    }
    return {**likely, **ranges}


def inputs_at(test: str, step: float, moved: str = "") -> Inputs:
    """Return the likeliest inputs, one of them moved to its least (-1) or largest (1)."""
    column = {-1.0: "low", 0.0: "likely", 1.0: "high"}[step]
    return {
        row["input"]: float(row[column if row["input"] == moved else "likely"])
        for row in _rows(test)
    }


def draws(test: str) -> list[Inputs]:
    """Return inputs drawn from triangles over their ranges, by a fixed low-discrepancy set."""
    from scipy.stats import qmc, triang  # noqa: PLC0415 - loads longer than the page that asks

    rows = _rows(test)
    ends = ([float(row[name]) for row in rows] for name in ("low", "likely", "high"))
    low, likely, high = map(np.array, ends)
    points = qmc.Sobol(len(rows), rng=SEED).random(DRAWS)
    wide = np.where(high > low, high - low, 1.0)
    drawn = np.where(high > low, triang.ppf(points, (likely - low) / wide, low, wide), low)
    return [dict(zip((row["input"] for row in rows), each, strict=True)) for each in drawn.tolist()]


def _rows(test: str) -> list[dict[Any, Any]]:
    return [row for row in tables.rows("field_inputs").values() if row["building"] == test]


@cache
def _climate(place: str) -> Climate:
    return climate.load(Site(place=place))


def figures(test: str, inputs: Inputs) -> dict[str, float]:
    """Return the figures of `saved` at given inputs."""
    case, target = TESTS[test], _before(inputs)
    dark, light = _roofs(case, inputs)
    gains = _gains_for(case, inputs, dark, target)
    found = [_solved(case, inputs, gains, roof) for roof in (dark, light)]
    return {
        "gains_w_m2": gains,
        **_energy(case, inputs, *(used.cooling_electricity for _, used in found)),
        **_temperatures(case, *(solved for solved, _ in found)),
    }


def _before(inputs: Inputs) -> float:
    """What was used by day before [Wh/m²]."""
    if "before" in inputs:
        return inputs["before"]
    return 1000 * inputs["before_kwh_shop"] / inputs["shop_m2"]


def _gains_for(case: FieldTest, inputs: Inputs, dark: Assembly, target: float) -> float:
    """Gains with which the model uses as much under the dark roof, within `GAINS_W_M2`."""
    used = [
        _solved(case, inputs, gains, dark)[1].cooling_electricity[case.days].mean() * 24
        for gains in GAINS_W_M2
    ]
    return float(np.interp(target, used, GAINS_W_M2))


def _roofs(case: FieldTest, inputs: Inputs) -> tuple[Assembly, Assembly]:
    board = (Layer(resistance_m2k_w=inputs["roof_m2k_w"]),) if inputs["roof_m2k_w"] else ()
    dark = Assembly(
        layers=(*case.above, *board),
        solar_reflectance=inputs["dark"],
        thermal_emittance=inputs["dark_emittance"],
    )
    return dark, replace(dark, solar_reflectance=inputs["light"], thermal_emittance=0.9)


def _solved(
    case: FieldTest, inputs: Inputs, gains: float, roof: Assembly
) -> tuple[roof_model.Solution, Consumption]:
    building = Building(
        use=case.use,
        storey_height_m=case.storey_height_m,
        overhead="ducts-above-ceiling",
        ceiling_resistance_m2k_w=inputs["ceiling_m2k_w"],
        equipment=Equipment(cooling_eer=inputs["cooling_eer"]),
        gains_w_m2=gains,
        cooling_setpoint_c=inputs["cooling_setpoint_c"],
        setback_k=inputs["setback_k"],
        duct_loss=inputs["duct_loss"],
        return_leak=inputs["return_leak"],
        infiltration_per_h=inputs["infiltration_per_h"],
        ventilation_m3_s_m2=inputs["ventilation_m3_s_m2"],
    )
    terrain = TERRAINS[round(inputs["terrain"])]
    return _year(_climate(case.place), building, case.area_m2, roof, terrain)


def _energy(case: FieldTest, inputs: Inputs, dark: Array, light: Array) -> dict[str, float]:
    first, then = dark[case.days], light[case.days]
    wh_m2_day = float((first - then).mean() * 24)
    before = max(_before(inputs), float(first.mean() * 24))
    peak, least = _peaks(case, first, then)
    return {
        "wh_m2_day": wh_m2_day,
        "kwh_day": wh_m2_day * case.area_m2 / 1000,
        "kwh_day_shop": wh_m2_day * inputs.get("shop_m2", np.nan) / 1000,
        "kwh_m2": float((first - then).sum() / 1000),
        "percent": 100 * wh_m2_day / before,
        "peak_w_m2": peak - least,
        "peak_kw": (peak - least) * case.area_m2 / 1000,
        "peak_percent": 100 * (1 - least / peak),
    }


def _peaks(case: FieldTest, first: Array, then: Array) -> tuple[float, float]:
    """Mean of the peak hours on hot days (at least the five hottest), or the highest of all."""
    if case.peak is None:
        return float(first.max()), float(then.max())
    over_c, start, end = case.peak
    hottest = _climate(case.place).dry_bulb_c[case.days].reshape(-1, 24).max(axis=1)
    hot = hottest >= min(over_c, np.sort(hottest)[-HOTTEST_DAYS])
    peak, least = (each.reshape(-1, 24)[hot, start:end].mean() for each in (first, then))
    return float(peak), float(least)


def _temperatures(
    case: FieldTest, dark: roof_model.Solution, light: roof_model.Solution
) -> dict[str, float]:
    def peak_c(hours_c: Array) -> float:
        return float(hours_c[case.days].reshape(-1, 24).max(axis=1).mean())

    black, white = peak_c(outermost_c(dark)), peak_c(outermost_c(light))
    return {
        "black_c": black,
        "white_c": white,
        "fall_k": black - white,
        "plenum_black_c": peak_c(dark.heat.overhead_c),
        "plenum_white_c": peak_c(light.heat.overhead_c),
    }
