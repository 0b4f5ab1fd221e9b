"""Checks of code rules and of published figures that stand in the tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lcc import tables

Figures = Mapping[str, float]


def _insulation_minimum(zone: str) -> Figures:
    return {"r_m2k_w": float(tables.rows("insulation_minimums")[zone]["resistance_m2k_w"])}


def _grid_emissions() -> Figures:
    return {"kg_kwh": float(tables.rows("prices")["electricity_emissions_kg_kwh"]["value"])}


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "insulation-minimum": _insulation_minimum,
    "grid-emissions": _grid_emissions,
}
