"""Where every figure of a case comes from: the list of assumptions."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache
from typing import Any

from lcc import tables
from lcc.case import (
    Building,
    Case,
    Coating,
    Equipment,
    Layer,
    Membrane,
    MetalRetrofit,
    Prices,
    Roof,
    Site,
    UnitPrices,
    WeatherFile,
)
from lcc.case.fields import BASES, Basis, Facts, Quantity, case_name, facts_of
from lcc.cost.roof_states import BOARD, Setting
from lcc.heat.equipment import HEATING_EFFICIENCY
from lcc.results.assumption import Assumption

Found = tuple[str | float | None, Basis, str]
# Names are labels, not figures.
LABELS = ("name",)
# A covering's price has a basis of its own in the table; its life is a coating's renewal.
COLUMNS = {"renewal_y": "service_life_y"}
HEATING_SOURCE: dict[str, tuple[Basis, str]] = {
    "gas": ("published", "10 CFR 431, thermal efficiency of gas furnaces and unit heaters"),
    "resistance": ("common practice", "all of the electricity becomes heat"),
    "heat-pump": ("common practice", "rated at 47 °F outdoors"),
}


def assumptions(case: Case, zone: int) -> tuple[Assumption, ...]:
    """Return every figure of a case and of the tables that it uses, with basis and source.

    Parameters
    ----------
    case : Case
        The case as it is computed.
    zone : int
        Number of the climate zone, 0 to 8.

    Returns
    -------
    tuple of Assumption
        A field equal to its default carries the default's basis and source, an unset one those
        of the row that stands in for it, and any other is `entered`.
    """
    return (*_walk(case, "", case), *_table_figures(case, zone))


def _walk(instance: Any, path: str, case: Case) -> Iterator[Assumption]:
    for name, facts in _facts(instance.__class__).items():
        value, field = getattr(instance, name), path + case_name(name, facts)
        if isinstance(value, WeatherFile):
            yield Assumption(
                field, facts.label, value.name, "", "entered", "the weather file given"
            )
        elif facts.type == "part" and value is not None:
            yield from _walk(value, f"{field}.", case)
        elif facts.type == "parts":
            for index, each in enumerate(value):
                yield from _walk(each, f"{field}.{index}.", case)
        elif facts.type != "part" and name not in LABELS and not _idle(instance, name):
            yield from _stated(instance, name, facts, field, case)


def _idle(instance: Any, name: str) -> bool:
    """Whether nothing rests on a field: an empty text, or a station where a file is given."""
    replaced = isinstance(instance, Site) and name == "climate" and instance.weather is not None
    return replaced or getattr(instance, name) == ""


@cache
def _facts(cls: Any) -> dict[str, Facts]:
    return facts_of(cls)


@cache
def _defaults(cls: Any) -> dict[str, Any]:
    return {f.name: f.default for f in dataclasses.fields(cls)}


def _stated(instance: Any, name: str, facts: Facts, field: str, case: Case) -> Iterator[Assumption]:
    value = getattr(instance, name)
    found: Found | None
    if value is None:
        found = _unset(instance, name, case)
    elif value == _defaults(instance.__class__)[name]:
        found = (_plain(value), facts.basis, facts.source or "the default of this field")
    else:
        found = (_plain(value), "entered", "the case")
    if found is not None:
        yield Assumption(field, facts.label, found[0], facts.kind, found[1], found[2])


def _plain(value: Any) -> str | float:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return float(value) if isinstance(value, int | float) else str(value)


def _unset(instance: Any, name: str, case: Case) -> Found | None:
    """Return what stands in for an unset field, or None where nothing needs to."""
    if isinstance(instance, Roof):
        return _roof(instance, name, case)
    if isinstance(instance, Equipment):
        return (HEATING_EFFICIENCY[instance.heating], *HEATING_SOURCE[instance.heating])
    place = _row_of(instance, name)
    return _of_row(*place) if place else None


def _row_of(instance: Any, name: str) -> tuple[str, str, str] | None:
    """Return table, row and column of the figure that stands in for an unset field."""
    if isinstance(instance, Layer):
        return ("materials", instance.material, name) if instance.material else None
    if isinstance(instance, MetalRetrofit) and name != "price_per_m2":
        return "panels", instance.panel, name
    places = {
        Prices: ("prices", name, "value"),
        Building: ("building_uses", getattr(instance, "use", ""), name),
        Membrane: ("coverings", getattr(instance, "covering", ""), name),
        Coating: ("coverings", getattr(instance, "covering", ""), COLUMNS.get(name, name)),
        MetalRetrofit: ("prices", "retrofit_per_m2", "value"),
        UnitPrices: ("unit_prices", name, "value"),
    }
    return places.get(type(instance))


def _of_row(table: str, row_key: str, column: str) -> Found | None:
    row = tables.rows(table)[row_key]
    if row.get(column) is None:
        return None
    prefix = "price_" if column == "price_per_m2" else ""
    source = f"{row[prefix + 'source']} (table {table}, {row_key})"
    return _plain(row[column]), row[prefix + "basis"], source


def _roof(roof: Roof, name: str, case: Case) -> Found | None:
    if name != "remaining_life_y":
        return _of_row("coverings", roof.covering, name)
    row = tables.rows("coverings")[roof.covering]
    left = Setting.of(roof, case.prices, 0).remaining_life_y
    return left, row["basis"], f"service life less age, not below 0: {row['source']}"


def _table_figures(case: Case, zone: int) -> Iterator[Assumption]:
    """Yield the figures that come from tables without a field of the case."""
    yield _figure("insulation_minimums", str(zone), "resistance_m2k_w", "resistance",
                  f"Insulation at tear-off, climate zone {zone}")  # fmt: skip
    yield _figure("materials", BOARD, "conductivity_w_mk", "conductivity",
                  "Conductivity of the insulation added at tear-off")  # fmt: skip
    for covering in sorted(_coverings(case)):
        name = tables.rows("coverings")[covering]["name"]
        yield _figure("coverings", covering, "mass_kg_m2", "mass_per_area",
                      f"Mass for disposal: {name}")  # fmt: skip


def _coverings(case: Case) -> set[str]:
    laid = {
        (choice.replacement if isinstance(choice, Coating) else choice).covering
        for choice in (case.base_case, *case.alternatives)
        if not isinstance(choice, MetalRetrofit)
    }
    return {case.roof.covering, *laid}


def _figure(table: str, row_key: str, column: str, kind: str, label: str) -> Assumption:
    row = tables.rows(table)[row_key]
    field = f"{table}.{row_key}.{case_name(column, Quantity(kind, label))}"
    return Assumption(field, label, float(row[column]), kind, row["basis"], str(row["source"]))


_SOURCE = "worked out from the framing survey of this alternative"
_PRICE, _QUOTED = ".price", ".framing.quotation"


def traced(used: Iterable[Assumption], asked: Iterable[Assumption]) -> tuple[Assumption, ...]:
    """Return the assumptions in use, those that a survey filled with the survey's basis.

    Parameters
    ----------
    used : iterable of Assumption
        Of the case as it is computed.
    asked : iterable of Assumption
        Of the case as it was given, before its surveys filled price, slope and cavity.

    Notes
    -----
    A figure worked out has the basis of the weakest figure of its survey; a price that is a
    quotation is entered.
    """
    given = {each.field: each.value for each in asked}
    listed = tuple(used)
    return tuple(
        replace(each, basis=_basis(each, listed), source=_SOURCE)
        if each.basis == "entered" and given.get(each.field, each.field) != each.value
        else each
        for each in listed
    )


def _basis(filled: Assumption, used: tuple[Assumption, ...]) -> Basis:
    place = filled.field
    survey = {
        each.field: each
        for each in used
        if (start := each.field.find(".framing.")) > 0 and place.startswith(each.field[:start])
    }
    if place.endswith(_PRICE) and any(name.endswith(_QUOTED) for name in survey):
        return "entered"
    found = [each.basis for each in survey.values()]
    return max(found, key=BASES.index, default="entered")
