"""What one unit of each line of a take-off costs; unset means the row of the unit price table."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import CasePart, Quantity, TableRow


def _price(kind: str, label: str, high: float) -> Quantity:
    return Quantity(kind, label, low=0, high=high, row=TableRow("unit_prices", column="value"))


def _each(label: str, high: float = 1e5) -> Quantity:
    return _price("money", label, high)


def _length(label: str) -> Quantity:
    return _price("price_per_length", label, 5000)


def _area(label: str) -> Quantity:
    return _price("price_per_area", label, 5000)


def _rate(label: str) -> Quantity:
    return _price("rate", label, 1)


# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class UnitPrices(CasePart):
    """Unit prices of the retrofit's parts without labour, and the rates put on their sum."""

    post: Annotated[float | None, _each("Post with base, cap and seal")] = None
    post_steel_per_m: Annotated[float | None, _length("Post steel by height")] = None
    purlin_per_m: Annotated[float | None, _length("Purlin")] = None
    bracing_per_m: Annotated[float | None, _length("Diagonal bracing")] = None
    clip: Annotated[float | None, _each("Panel clip")] = None
    fastener: Annotated[float | None, _each("Fastener")] = None
    panel_per_m2: Annotated[float | None, _area("Standing-seam panel")] = None
    eave_per_m: Annotated[float | None, _length("Eave trim")] = None
    rake_per_m: Annotated[float | None, _length("Rake trim")] = None
    ridge_per_m: Annotated[float | None, _length("Ridge cap with closures")] = None
    high_edge_per_m: Annotated[float | None, _length("High-edge trim")] = None
    gutter_per_m: Annotated[float | None, _length("Gutter and downspouts")] = None
    valley_per_m: Annotated[float | None, _length(
        "Valley or inner gutter")] = None
    joint_per_m: Annotated[float | None, _length("Flashing at a wall or a higher roof")] = None
    hip_per_m: Annotated[float | None, _length("Hip cap with closures")] = None
    parapet_flashing_per_m: Annotated[float | None, _length("Wall flashing at a parapet")] = None
    wall_per_m2: Annotated[float | None, _area("End wall, girts and cladding")] = None
    ventilator: Annotated[float | None, _each("Ventilator")] = None
    inlet_per_m2: Annotated[float | None, _area("Inlet louvre, by free area")] = None
    insulation_per_m3: Annotated[float | None, _price(
        "price_per_volume", "Insulation on the old roof", 1e5)] = None
    curb: Annotated[float | None, _each("New curb")] = None
    unit_lift: Annotated[float | None, _each(
        "Rooftop unit disconnected, lifted off and on", 1e6)] = None
    penetration: Annotated[float | None, _each("Pipe or conduit carried through the panel")] = None
    tear_out_per_m2: Annotated[float | None, _area("Wet area torn out, hauled and filled")] = None
    skylight_carried: Annotated[float | None, _each(
        "Skylight carried through, frame and curb")] = None
    skylight_covered: Annotated[float | None, _each("Skylight covered over")] = None
    ballast_per_m2: Annotated[float | None, _area(
        "Loose stone taken off and hauled")] = None
    expansion_joint_per_m: Annotated[float | None, _length(
        "Expansion joint carried through")] = None
    storm_tie: Annotated[float | None, _each("Downspout tied into the storm drain")] = None
    scupper: Annotated[float | None, _each(
        "Scupper or overflow scupper through a parapet, with its head")] = None
    drain_abandoned: Annotated[float | None, _each("Old roof drain closed")] = None
    access_per_m2: Annotated[float | None, _area("Access, by wall height along the edges")] = None
    set_up_by_area_per_m2: Annotated[float | None, _area("Set-up that grows with the plan")] = None
    labour_hour: Annotated[float | None, _each("Labour by the hour", 1000)] = None
    crane_day: Annotated[float | None, _each("Crane with operator by the day")] = None
    set_up: Annotated[float | None, _each("Set-up, access and fall protection", 1e7)] = None
    permit_rate: Annotated[float | None, _rate("Permit, part of the direct cost")] = None
    engineering_rate: Annotated[float | None, _rate(
        "Structural engineering, part of the direct cost")] = None
    general_conditions_rate: Annotated[float | None, _rate(
        "General conditions, bond, sales tax and warranty fee, part of the direct cost")] = None
    contingency_rate: Annotated[float | None, _rate("Contingency, part of the cost so far")] = None
    overhead_rate: Annotated[float | None, _rate("Overhead, part of the cost so far")] = None
    profit_rate: Annotated[float | None, _rate("Profit, part of the cost so far")] = None
