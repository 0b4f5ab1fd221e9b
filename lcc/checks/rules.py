"""Checks of code rules and of published figures that stand in the tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lcc import tables
from lcc.caution_texts import LEAST_SLOPE
from lcc.cost.tear_off_rule import recover_refusal
from lcc.quantities.drainage import leader_m
from lcc.quantities.movement import expansion
from lcc.units import INCH_M

Figures = Mapping[str, float]


def _value(table: str, row: str, column: str) -> float:
    return float(tables.rows(table)[row][column])


SUBJECTS: dict[str, Callable[..., Figures]] = {
    "insulation-minimum": lambda zone: {
        "r_m2k_w": _value("insulation_minimums", zone, "resistance_m2k_w")
    },
    "least-slope": lambda: {"rise_in": LEAST_SLOPE * 12},
    "recover-rule": lambda coverings: {"allowed": float(recover_refusal(coverings, 0.0) is None)},
    "grid-emissions": lambda: {"kg_kwh": _value("prices", "electricity_emissions_kg_kwh", "value")},
    "panel-travel": lambda length_m, metal, change_k: {
        "travel_m": expansion(length_m, _value("metals", metal, "expansion_per_k"), change_k)
    },
    "leader": lambda drained_m2, rain_m: {
        "leader_in": (leader_m(drained_m2, rain_m) or 0.0) / INCH_M
    },
}
