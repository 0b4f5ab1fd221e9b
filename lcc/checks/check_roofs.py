"""Checks of whole years: the solver, three-hour climates and measured roofs."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lcc.checks import field_savings, field_tests, hourly_files, solver

Figures = Mapping[str, float]


def _march(station: str, roof: str) -> Figures:
    return solver.agreement()[station, roof]


def _degree_days(place: str) -> Figures:
    return hourly_files.degree_days(place)


def _three_hours(place: str, roof: str) -> Figures:
    return hourly_files.agreement(place, roof)


def _three_hours_saved(place: str) -> Figures:
    return hourly_files.saved(place)


def _rise_in_calm_sun(reflectance: float) -> Figures:
    return {"rise_k": field_tests.rise_in_calm_sun(reflectance)}


def _field_savings(test: str) -> Figures:
    return field_savings.saved(test)


def _stock_of_roofs() -> Figures:
    return field_tests.stock()


def _hottest_membrane() -> Figures:
    return field_tests.hottest_membrane()


def _vented_metal() -> Figures:
    return field_tests.vented_over_direct()


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "march": _march,
    "degree-days": _degree_days,
    "three-hours": _three_hours,
    "three-hours-saved": _three_hours_saved,
    "rise-in-calm-sun": _rise_in_calm_sun,
    "field-savings": _field_savings,
    "stock-of-roofs": _stock_of_roofs,
    "hottest-membrane": _hottest_membrane,
    "vented-metal": _vented_metal,
}
