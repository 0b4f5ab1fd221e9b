"""Checks of code rules and of published figures that stand in the tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lcc import tables
from lcc.caution_texts import LEAST_SLOPE
from lcc.cost.membrane import recover_refusal
from lcc.quantities.drainage import leader_m
from lcc.quantities.movement import expansion
from lcc.units import INCH_M

Figures = Mapping[str, float]


def _insulation_minimum(zone: str) -> Figures:
    return {"r_m2k_w": float(tables.rows("insulation_minimums")[zone]["resistance_m2k_w"])}


def _grid_emissions() -> Figures:
    return {"kg_kwh": float(tables.rows("prices")["electricity_emissions_kg_kwh"]["value"])}


def _recover_rule(coverings: int) -> Figures:
    refusal = recover_refusal(coverings, 0.0)
    return {"allowed": float(refusal is None)}


def _least_slope() -> Figures:
    return {"rise_in": LEAST_SLOPE * 12}


def _panel_travel(length_m: float, metal: str, change_k: float) -> Figures:
    coefficient = float(tables.rows("metals")[metal]["expansion_per_k"])
    return {"travel_m": expansion(length_m, coefficient, change_k)}


def _leader(drained_m2: float, rain_m: float) -> Figures:
    return {"leader_in": (leader_m(drained_m2, rain_m) or 0.0) / INCH_M}


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "insulation-minimum": _insulation_minimum,
    "least-slope": _least_slope,
    "recover-rule": _recover_rule,
    "grid-emissions": _grid_emissions,
    "panel-travel": _panel_travel,
    "leader": _leader,
}
