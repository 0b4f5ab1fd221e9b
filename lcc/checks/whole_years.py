"""Checks of whole years: sun, degree days, the solver, three-hour climates, measured roofs."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lcc.case import Site
from lcc.checks import field_savings, field_tests, hourly_files, solver
from lcc.heat import climate, solar

Figures = Mapping[str, float]


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


def _degree_days(station: str) -> Figures:
    heating, cooling = climate.degree_days(climate.load(Site(climate=station)))
    return {"heating_kd": heating, "cooling_kd": cooling}


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "march": lambda station, roof: solver.agreement()[station, roof],
    "degree-days": hourly_files.degree_days,
    "three-hours": hourly_files.agreement,
    "three-hours-saved": hourly_files.saved,
    "rise-in-calm-sun": field_tests.rise_in_calm_sun,
    "field-savings": field_savings.saved,
    "stock-of-roofs": field_tests.stock,
    "hottest-membrane": field_tests.hottest_membrane,
    "vented-metal": field_tests.vented_over_direct,
    "sun": _sun,
    "station-degree-days": _degree_days,
}
