"""Checks of whole years: sun, degree days, the solver, three-hour climates, measured roofs."""

from collections.abc import Callable
from dataclasses import fields
from functools import cache
from importlib.resources import files

import numpy as np
import pandas as pd

from lcc.case import Building, Site
from lcc.checks import field_tests, march
from lcc.checks.heat import Figures
from lcc.heat import climate, roof_model, solar, weather_files
from lcc.heat.hour_interpolation import BLOCK_H

# Hourly files that ship with pvlib: Florida, North Carolina and Alaska.
FILES = {"Miami": "12839.tm2", "Greensboro": "723170TYA.CSV", "Sand Point": "703165TY.csv"}


@cache
def both(place: str) -> tuple[climate.Climate, climate.Climate]:
    """Return the climate of an hourly file and the one rebuilt from its three-hour means."""
    text = files("pvlib.data").joinpath(FILES[place]).read_text(encoding="utf-8")
    hourly = weather_files.read(place, text)
    columns = [f.name for f in fields(hourly) if isinstance(getattr(hourly, f.name), np.ndarray)]
    hours = pd.DataFrame({name: getattr(hourly, name) for name in columns})
    blocks = hours.groupby(hours.index // BLOCK_H).mean()
    blocks["sky_cover_tenths"] = 10 * blocks.pop("sky_cover")
    rebuilt = climate.rebuilt(place, hourly.place, blocks)
    return climate.from_hourly(hourly, "1"), climate.from_hourly(rebuilt, "1")


@cache
def agreement(place: str, roof: str) -> dict[str, float]:
    """Return figures of a roof with three-hour means over those with the hourly file.

    Returns
    -------
    dict
        `gain`, `loss`, `cooling` and `heating`: ratio of the year's sums; `gain_kwh_m2` and its
        like: their difference [kWh/m²], for sums next to nothing.
    """
    file, blocks = (_sums(one, roof) for one in both(place))
    ratios = {name: blocks[name] / file[name] for name in file}
    return ratios | {f"{name}_kwh_m2": (blocks[name] - file[name]) / 1000 for name in file}


@cache
def saved(place: str) -> dict[str, float]:
    """Return what a retrofit saves with three-hour means over what it saves with the file.

    Returns
    -------
    dict
        `cooling` and `heating`: ratio of the year's sums saved by a light metal roof over a dark
        one on 2 in of board.
    """
    dark, retrofit = "dark built-up over board", "retrofit over board"
    file, blocks = (
        {
            name: _sums(one, dark)[name] - _sums(one, retrofit)[name]
            for name in ("cooling", "heating")
        }
        for one in both(place)
    )
    return {name: blocks[name] / file[name] for name in file}


def _sums(one: climate.Climate, roof: str) -> dict[str, float]:
    solved = roof_model.solve(
        one, Building(use="school"), march.AREA_M2, march.reference_roofs()[roof]
    )
    flux, load = solved.heat.roof_flux_w_m2, solved.load_w_m2
    series = {"gain": flux, "loss": -flux, "cooling": -load, "heating": load}
    return {name: float(np.maximum(values, 0).sum()) for name, values in series.items()}


def days_of(one: climate.Climate) -> tuple[float, float]:
    """Return heating and cooling degree days to 65 °F [°C·d], from daily mean temperatures."""
    excess = one.dry_bulb_c.reshape(365, 24).mean(axis=1) - 55 / 3
    return float(np.maximum(-excess, 0).sum()), float(np.maximum(excess, 0).sum())


def degree_days(place: str) -> dict[str, float]:
    """Return heating and cooling degree days of the means less those of the file [°C·d]."""
    file, blocks = (days_of(one) for one in both(place))
    return {"heating": blocks[0] - file[0], "cooling": blocks[1] - file[1]}


def _sun(
    latitude_deg: float, longitude_deg: float, utc_offset_h: float, day: int, hour: int
) -> Figures:
    """Return the sun at a full hour: the middle of an hour of clocks half an hour behind."""
    place = solar.Location(latitude_deg, longitude_deg, utc_offset_h - 0.5, 0.0)
    sun, at = solar.sun_over(place), 24 * (day - 1) + hour - 1
    return {
        "height_deg": 90 - float(sun.zenith_deg[at]),
        "bearing_deg": float(sun.azimuth_deg[at]),
        "beyond_air_w_m2": float(sun.extraterrestrial_normal_w_m2[at]),
    }


def _station_degree_days(station: str) -> Figures:
    heating, cooling = days_of(climate.load(Site(climate=station)))
    return {"heating_kd": heating, "cooling_kd": cooling}


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "march": lambda station, roof: march.agreement()[station, roof],
    "degree-days": degree_days,
    "three-hours": agreement,
    "three-hours-saved": saved,
    "rise-in-calm-sun": field_tests.rise_in_calm_sun,
    "field-savings": field_tests.saved,
    "stock-of-roofs": field_tests.stock,
    "hottest-membrane": field_tests.hottest_membrane,
    "vented-metal": field_tests.vented_over_direct,
    "sun": _sun,
    "station-degree-days": _station_degree_days,
}
