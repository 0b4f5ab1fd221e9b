"""The duties of a roofing job, and what one unit of each costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import CasePart, Quantity, TableRow

TABLE = TableRow("duty_prices", column="value")

# In the order in which a job is done and a scope of work is written.
DUTIES: dict[str, str] = {
    "ballast": "Take off ballast and loose gravel",
    "asbestos": "Abate asbestos",
    "tear-off": "Tear off the old coverings and dispose of them",
    "wet-insulation": "Take out and replace wet insulation",
    "insulation": "Bring insulation to the energy code's minimum",
    "drainage": "Give the roof its fall to drain",
    "covering": "Lay the new roof",
    "edges": "Edges, drains and gutters",
    "penetrations": "Flash pipes and conduits",
    "units": "Lift or re-flash rooftop units",
    "skylights": "Re-flash or raise skylights",
    "protection": "Protect the rooms while the roof is open",
    "structure": "Structural check and design",
    "on-costs": "Permit, general conditions, bond and sales tax",
    "warranty": "Warranty fee",
    "service": "Renewals and service in later years",
}
# What the two short settings of `price_includes` stand for.
LAYING = ("covering", "edges", "penetrations")
EVERYTHING = tuple(key for key in DUTIES if key != "service")
PRICE_INCLUDES = ("everything", "laying", *EVERYTHING)


def included(settings: tuple[str, ...]) -> frozenset[str]:
    """Return the duties that an entered price holds; it always holds the laying itself.

    Examples
    --------
    >>> sorted(included(("laying", "tear-off")))
    ['covering', 'edges', 'penetrations', 'tear-off']
    """
    short = {"laying": LAYING, "everything": EVERYTHING}
    named = (duty for each in settings for duty in short.get(each, (each,)))
    return frozenset((*named, "covering"))


# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class DutyPrices(CasePart):
    """Prices of the work around a new roof; unset means the row of ``data/duty_prices.csv``."""

    ballast_per_kg: Annotated[float | None, Quantity(
        "price_per_mass", "Ballast taken off and hauled", low=0, high=20,
        row=TABLE)] = None
    asbestos_per_m2: Annotated[float | None, Quantity(
        "price_per_area", "Asbestos abated", low=0, high=2000,
        row=TABLE)] = None
    wet_patch_per_m2: Annotated[float | None, Quantity(
        "price_per_area", "Wet area cut out and filled", low=0, high=2000,
        row=TABLE,
        help="Labor of small areas, besides tear-off, disposal and new insulation.")] = None
    taper_rate: Annotated[float | None, Quantity(
        "rate", "Tapered insulation, dearer than flat by", low=0, high=2,
        row=TABLE)] = None
    unit_reflash: Annotated[float | None, Quantity(
        "money", "Rooftop unit re-flashed on its curb", low=0, high=1e5,
        row=TABLE)] = None
    skylight_reflash: Annotated[float | None, Quantity(
        "money", "Skylight re-flashed", low=0, high=1e5,
        row=TABLE)] = None
    skylight_raise: Annotated[float | None, Quantity(
        "money", "Skylight raised to a framed roof", low=0, high=1e5,
        row=TABLE)] = None
    penetration: Annotated[float | None, Quantity(
        "money", "Pipe or conduit flashed", low=0, high=1e5,
        row=TABLE)] = None
    edge_per_m: Annotated[float | None, Quantity(
        "price_per_length", "Edges, drains and gutters by the roof's edge", low=0, high=5000,
        row=TABLE)] = None
    structure_rate: Annotated[float | None, Quantity(
        "rate", "Structural check and design, part of laying", low=0, high=1,
        row=TABLE)] = None
    on_costs_rate: Annotated[float | None, Quantity(
        "rate", "Permit, general conditions, bond and sales tax, part of the job", low=0, high=1,
        row=TABLE)] = None
    second_setup: Annotated[float | None, Quantity(
        "money", "Setting up again for the rest of a roof done in two parts", low=0, high=1e7,
        row=TABLE)] = None
    framed_days: Annotated[float | None, Quantity(
        "ratio", "Days a roof torn off under framing lies open, to one of a membrane",
        low=0, high=60, row=TABLE)] = None
    warranty_per_m2: Annotated[float | None, Quantity(
        "price_per_area", "Warranty fee", low=0, high=200,
        row=TABLE)] = None
