"""The duties of a roofing job, and what one unit of each costs."""

from dataclasses import dataclass
from typing import Annotated

from lcc import tables
from lcc.case.fields import CasePart, Quantity, TableRow

TABLE = TableRow("duty_prices", column="value")

# In the order in which a job is done and a scope of work is written.
DUTIES = {each["duty"]: each["title"] for each in tables.words("duties")}
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


def read_as_laying(settings: tuple[str, ...]) -> list[str]:
    """Return the duties that a price holds by the word laying alone, beside the laying itself.

    Examples
    --------
    >>> read_as_laying(("laying",)), read_as_laying(("laying", "edges")), read_as_laying(("edges",))
    (['edges', 'penetrations'], ['penetrations'], [])
    """
    named = {*settings, *(EVERYTHING if "everything" in settings else ())}
    return [duty for duty in LAYING[1:] if "laying" in settings and duty not in named]


def _price(kind: str, label: str, high: float, help: str = "") -> Quantity:
    return Quantity(kind, label, low=0, high=high, row=TABLE, help=help)


# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class DutyPrices(CasePart):
    """Prices of the work around a new roof; unset means the row of ``data/duty_prices.csv``."""

    ballast_per_kg: Annotated[float | None, _price(
        "price_per_mass", "Ballast taken off and hauled", 20)] = None
    asbestos_per_m2: Annotated[float | None, _price(
        "price_per_area", "Asbestos abated", 2000)] = None
    wet_patch_per_m2: Annotated[float | None, _price(
        "price_per_area", "Wet area cut out and filled", 2000,
        help="Labor of small areas, besides tear-off, disposal and new insulation.")] = None
    taper_rate: Annotated[float | None, _price(
        "rate", "Tapered insulation, dearer than flat by", 2)] = None
    unit_reflash: Annotated[float | None, _price(
        "money", "Rooftop unit re-flashed on its curb", 1e5)] = None
    skylight_reflash: Annotated[float | None, _price("money", "Skylight re-flashed", 1e5)] = None
    skylight_raise: Annotated[float | None, _price(
        "money", "Skylight raised to a framed roof", 1e5)] = None
    penetration: Annotated[float | None, _price("money", "Pipe or conduit flashed", 1e5)] = None
    edge_per_m: Annotated[float | None, _price(
        "price_per_length", "Edges, drains and gutters by the roof's edge", 5000)] = None
    structure_rate: Annotated[float | None, _price(
        "rate", "Structural check and design, part of laying", 1)] = None
    on_costs_rate: Annotated[float | None, _price(
        "rate", "Permit, general conditions, bond and sales tax, part of the job", 1)] = None
    second_setup: Annotated[float | None, _price(
        "money", "Setting up again for the rest of a roof done in two parts", 1e7)] = None
    framed_days: Annotated[float | None, _price(
        "ratio", "Days a roof torn off under framing lies open, to one of a membrane", 60)] = None
    warranty_per_m2: Annotated[float | None, _price("price_per_area", "Warranty fee", 200)] = None
