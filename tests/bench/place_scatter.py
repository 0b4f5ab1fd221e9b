"""How far a station's answer is from that of the station that would stand in for it.

    python tests/bench/place_scatter.py [table.csv]

Every station of the tables is left out once and answered by others as a place would be: the demo's
roof of today and a light metal roof over R 19, cooling saved and energy bill saved. Prints
quantiles of the error, fits the width that holds four in five to how far the other station counts
(km, with 300 for another zone and 0.3 for a metre of height), on one half of the stations and tried
on the other, and writes the pairs where a file is named.
"""

import sys

import numpy as np
import pandas as pd

from api.service import load_case
from lcc import tables
from lcc.case import Assembly, Cavity, Layer, Prices, Site
from lcc.case.resolution import resolve
from lcc.cost.roof_states import today
from lcc.heat import climate
from lcc.heat.energy import energy_year
from lcc.place.nearest_station import KM_PER_M, ZONE_KM, distance_km

NEIGHBOURS = 6


def answers():
    """Cooling [kWh/m²] and bill [$/m²] saved at every station."""
    case = resolve(load_case(tables.read_json("demo/case.json")).case)
    old = today(case.roof)
    layers = (Layer(resistance_m2k_w=3.35), *old.layers)
    new = Assembly("retrofit", layers, solar_reflectance=0.57, thermal_emittance=0.85,
                   cavity=Cavity())  # fmt: skip
    area = case.roof.area_m2
    for key in tables.keys("climates"):
        weather = climate.load(Site(climate=key))
        years = [
            energy_year(weather, case.building, area, roof, Prices(), sized=False)
            for roof in (old, new)
        ]
        cooling = years[0].cooling_electricity_kwh - years[1].cooling_electricity_kwh
        bill = sum(
            sign * (year.electricity_cost + year.gas_cost)
            for sign, year in zip((1, -1), years, strict=True)
        )
        yield key, cooling / area, bill / area


def pairs(found):
    """Every station with its nearest others: how far they count, and the ratio of the answers."""
    rows = tables.rows("climates")
    lat, lon, high = (
        np.array([float(rows[key][name]) for key in found.index])
        for name in ("latitude_deg", "longitude_deg", "elevation_m")
    )
    zone = np.array([rows[key]["climate_zone"] for key in found.index])
    for own, key in enumerate(found.index):
        apart = distance_km(lat[own], lon[own], lat, lon)
        weight = apart + ZONE_KM * (zone != zone[own]) + KM_PER_M * np.abs(high - high[own])
        weight[own] = np.inf
        for rank, other in enumerate(np.argsort(weight)[:NEIGHBOURS]):
            cooling, bill = (
                found[name].iloc[other] / found[name].iloc[own] - 1 for name in ("cooling", "bill")
            )
            yield key, found.index[other], rank, weight[other], cooling, bill


def width(table, name, level=0.8):
    """Fit a + b √km to the error's size so that the level is held, by minimising its pinball."""
    from scipy.optimize import minimize

    size, root = table[name].abs().to_numpy(), np.sqrt(table["km"].to_numpy())

    def pinball(coefficients):
        gap = size - np.abs(coefficients[0]) - np.abs(coefficients[1]) * root
        return np.maximum(level * gap, (level - 1) * gap).mean()

    return np.abs(minimize(pinball, [0.1, 0.005], method="Nelder-Mead").x)


def main():
    """Print the figures."""
    found = pd.DataFrame(answers(), columns=["station", "cooling", "bill"]).set_index("station")
    names = ["station", "other", "rank", "km", "cooling", "bill"]
    table = pd.DataFrame(pairs(found), columns=names)
    if len(sys.argv) > 1:
        table.to_csv(sys.argv[1], index=False)
        found.to_csv(sys.argv[1] + ".answers")
    nearest = table[table["rank"] == 0]
    for name in ("cooling", "bill"):
        sizes = nearest[name].abs().quantile([0.5, 0.9, 0.99]).round(3).tolist()
        print(f"{name}: nearest station's error, median, nine in ten, 99 in a hundred: {sizes}")
        a, b = width(table, name)
        print(f"  width of four in five: {a:.4f} + {b:.5f} sqrt(km)")
        for part in (0, 1):
            half = set(found.index[part::2])
            fitted = table[table["station"].isin(half)]
            tried = nearest[~nearest["station"].isin(half)]
            a, b = width(fitted, name)
            held = (tried[name].abs() <= a + b * np.sqrt(tried["km"])).mean()
            print(f"  fitted on a half {a:.4f} + {b:.5f} sqrt(km): holds {held:.1%} of the other")


if __name__ == "__main__":
    main()
