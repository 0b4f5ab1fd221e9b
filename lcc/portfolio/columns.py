"""The columns of a portfolio: what each says of a building and where it goes in its case."""

from dataclasses import dataclass, field, make_dataclass
from functools import cache
from typing import Annotated, Any, get_type_hints

from lcc.case import Case, Membrane, MetalRetrofit
from lcc.case.fields import SUFFIX, Facts, Key, Quantity, facts_of
from lcc.portfolio.owner_records import IDENTITY, RECORDS

# Other starts of a path than the case: every metal retrofit, and the membrane of the base case.
_ROOTS: dict[str, type] = {"retrofit": MetalRetrofit, "base_case": Membrane}

# Fields that move work in time or price it, so that heat solved for one value serves all.
_MONEY = {
    (name,)
    for name in (
        "name", "age_y", "remaining_life_y", "rooftop_units", "repairs_per_m2", "price_per_m2",
        "electricity_per_kwh", "demand_per_kw", "gas_per_kwh", "grant",
    )
}  # fmt: skip


@dataclass(frozen=True)
class Column:
    """One column: its name without unit, its facts, and the path of the field that it sets.

    An empty `path` marks the columns from which the layers of the roof are made, and those of
    `lcc.portfolio.owner_records`.
    """

    name: str
    facts: Facts
    path: tuple[str, ...] = ()
    required: bool = False

    @property
    def touches_heat(self) -> bool:
        """Whether two buildings that differ in this column alone are two heat problems."""
        return self.path[-1:] not in _MONEY and self.name not in {**IDENTITY, **RECORDS}

    @property
    def has_default(self) -> bool:
        """Whether an empty cell takes a default, which the answer then rests on."""
        return not self.required and self.name not in IDENTITY

    @property
    def attribute(self) -> str:
        """The column of the core's frames: the name with the core's unit."""
        return self.name + SUFFIX.get(self.facts.kind, "")


def _of_case(name: str, path: str, required: bool = False) -> Column:
    steps = tuple(path.split("."))
    cls: type = _ROOTS.get(steps[0], Case)
    rest = steps[1:] if steps[0] in _ROOTS else steps
    for step in rest[:-1]:
        cls = get_type_hints(cls)[step]
    return Column(name, facts_of(cls)[rest[-1]], steps, required)


@cache
def columns() -> tuple[Column, ...]:
    """Return the columns in the order of the template, those that every building needs first."""
    return (
        _of_case("name", "name", required=True),
        _of_case("climate", "site.climate", required=True),
        _of_case("roof_area", "roof.area_m2", required=True),
        Column("roof_type", _ROOF_TYPE, required=True),
        _of_case("covering", "roof.covering", required=True),
        _of_case("age", "roof.age_y", required=True),
        _of_case("coverings_in_place", "roof.coverings"),
        _of_case("remaining_life", "roof.remaining_life_y"),
        Column("insulation", _INSULATION),
        _of_case("wet_fraction", "roof.wet_fraction"),
        _of_case("rooftop_units", "roof.rooftop_units"),
        _of_case("repairs", "roof.repairs_per_m2"),
        _of_case("use", "building.use"),
        _of_case("storeys", "building.storeys"),
        _of_case("storey_height", "building.storey_height_m"),
        _of_case("length_to_width", "building.length_to_width"),
        _of_case("cooling_eer", "building.equipment.cooling_eer"),
        _of_case("heating", "building.equipment.heating"),
        _of_case("heating_efficiency", "building.equipment.heating_efficiency"),
        _of_case("electricity_price", "prices.electricity_per_kwh"),
        _of_case("demand_charge", "prices.demand_per_kw"),
        _of_case("gas_price", "prices.gas_per_kwh"),
        _of_case("new_covering", "base_case.covering"),
        _of_case("new_covering_price", "base_case.price_per_m2"),
        _of_case("retrofit_price", "retrofit.price_per_m2"),
        _of_case("grant", "retrofit.grant"),
        _of_case("panel", "retrofit.panel"),
        *(Column(name, facts) for name, facts in {**RECORDS, **IDENTITY}.items()),
    )


@cache
def by_attribute() -> dict[str, Column]:
    """Return the columns by their names in the core's frames."""
    return {column.attribute: column for column in columns()}


@cache
def row_class() -> type[Any]:
    """Return the dataclass of one row, made from the columns, for what reads rows by facts."""
    types: dict[str, type] = {"quantity": float, "whole": int}
    made = [
        (column.attribute, Annotated[kind, column.facts])
        if column.required
        else (column.attribute, Annotated[kind | None, column.facts], field(default=None))
        for column in columns()
        for kind in (types.get(column.facts.type, str),)
    ]
    return make_dataclass("RoofRow", made, frozen=True)


_ROOF_TYPE = Key(
    table="roof_types",
    label="Roof type",
    help="Deck and insulation under the coverings.",
    advanced=False,
)
_INSULATION = Quantity(
    kind="resistance",
    label="R-value of the insulation",
    help="As surveyed, dry; 0 for none.",
    low=0.0,
    high=20.0,
    when_unset="from the roof type",
)
