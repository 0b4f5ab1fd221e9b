"""Checks of whole years: the solver, three-hour climates and measured roofs."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lcc.checks import hourly, measured, solver

Figures = Mapping[str, float]


def _march(station: str, roof: str) -> Figures:
    return solver.agreement()[station, roof]


def _degree_days(place: str) -> Figures:
    return hourly.degree_days(place)


def _three_hours(place: str, roof: str) -> Figures:
    return hourly.agreement(place, roof)


def _store_turned_white() -> Figures:
    return measured.store_change()


def _rise_in_calm_sun(reflectance: float) -> Figures:
    return {"rise_k": measured.rise_in_calm_sun(reflectance)}


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "march": _march,
    "degree-days": _degree_days,
    "three-hours": _three_hours,
    "store-turned-white": _store_turned_white,
    "rise-in-calm-sun": _rise_in_calm_sun,
}
