"""What one unit of each line of a takeoff costs; unset means the row of the unit price table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lcc.case.fields import check, quantity


def _price(kind: str, label: str, high: float) -> Any:
    return quantity(kind, label, None, low=0, high=high, when_unset="from the unit prices table")


def _each(label: str, high: float = 1e5) -> Any:
    return _price("money", label, high)


def _length(label: str) -> Any:
    return _price("price_per_length", label, 5000)


def _area(label: str) -> Any:
    return _price("price_per_area", label, 5000)


def _rate(label: str) -> Any:
    return _price("rate", label, 1)


@dataclass(frozen=True)
class UnitPrices:
    """Unit prices of the retrofit's parts without labour, and the rates put on their sum."""

    post: float | None = _each("Post with base, cap and seal")
    post_steel_per_m: float | None = _length("Post steel by height")
    purlin_per_m: float | None = _length("Purlin")
    bracing_per_m: float | None = _length("Diagonal bracing")
    clip: float | None = _each("Panel clip")
    fastener: float | None = _each("Fastener")
    panel_per_m2: float | None = _area("Standing-seam panel")
    eave_per_m: float | None = _length("Eave trim")
    rake_per_m: float | None = _length("Rake trim")
    ridge_per_m: float | None = _length("Ridge cap with closures")
    high_edge_per_m: float | None = _length("High-edge trim")
    gutter_per_m: float | None = _length("Gutter and downspouts")
    valley_per_m: float | None = _length("Valley or inner gutter between rectangles")
    joint_per_m: float | None = _length("Step trim between rectangles")
    wall_per_m2: float | None = _area("End wall, girts and cladding")
    ventilator: float | None = _each("Ventilator")
    inlet_per_m2: float | None = _area("Inlet louvre, by free area")
    insulation_per_m3: float | None = _price("price_per_volume", "Insulation on the old roof", 1e5)
    curb: float | None = _each("New curb")
    unit_lift: float | None = _each("Rooftop unit disconnected, lifted off and on", 1e6)
    penetration: float | None = _each("Pipe or conduit carried through the panel")
    tear_out_per_m2: float | None = _area("Wet area torn out, hauled and filled")
    labour_hour: float | None = _each("Labour by the hour", 1000)
    crane_day: float | None = _each("Crane with operator by the day")
    set_up: float | None = _each("Set-up, access and fall protection", 1e7)
    permit_rate: float | None = _rate("Permit, part of the direct cost")
    engineering_rate: float | None = _rate("Structural engineering, part of the direct cost")
    contingency_rate: float | None = _rate("Contingency, part of the cost so far")
    overhead_rate: float | None = _rate("Overhead, part of the cost so far")
    profit_rate: float | None = _rate("Profit, part of the cost so far")

    def __post_init__(self) -> None:
        check(self)
