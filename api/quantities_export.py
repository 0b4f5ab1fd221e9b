"""Quantities as rows in a request's units: one table for CSV, a sheet a part for spreadsheets."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import astuple, dataclass, replace
from typing import Any

from api import service
from api.portfolio.tables_out import Cell
from lcc import units
from lcc.case.fields import facts_of
from lcc.quantities import Quantities
from lcc.quantities.wind_pressure import zone_label
from lcc.units import System

TITLES = (
    "Part", "Item", "Quantity", "Unit", "Height", "Height unit", "Unit price", "Price unit",
    "Labour, h", "Cost, $", "Basis", "Source", "Line from the eave", "First post", "Spacing",
    "Set-out unit",
)  # fmt: skip
_MEASURED = {
    "surface": "Areas", "members": "Framing and panels", "edges": "Edges and walls",
    "cavity": "Cavity", "services": "Lifts and crane", "movement": "Thermal movement",
}  # fmt: skip
_SUMS = ("direct", "build_up", "quotation", "difference", "first_cost", "price_per_m2", "reading")


@dataclass(frozen=True)
class ExportRow:
    """One row, in the order of `TITLES`."""

    part: str
    item: str
    quantity: Cell = None
    unit: str = ""
    height: Cell = None
    height_unit: str = ""
    price: Cell = None
    price_unit: str = ""
    labour_h: Cell = None
    cost: Cell = None
    basis: str = ""
    source: str = ""
    from_eave: Cell = None
    first: Cell = None
    spacing: Cell = None
    set_out_unit: str = ""


def entries(taken: Quantities, system: System) -> Iterator[ExportRow]:
    """Yield every figure of the quantities, part by part."""
    yield from _measured(taken, system)
    yield from _posts(taken, system)
    yield from _bearing(taken, system)
    yield from _cuts(taken, system)
    yield from _set_out(taken, system)
    yield from _laid(taken, system)
    yield from _along(taken, system)
    yield from _bracing(taken, system)
    yield from _costs(taken, system)
    yield from _loads(taken, system)
    yield from _site(taken, system)
    for flag in taken.flags:
        message = units.ordered(flag.message, system)
        yield ExportRow("Outside practice", message, basis=flag.basis, source=flag.source)
    for caution in taken.cautions:
        yield ExportRow("Cautions", caution)
    for each in taken.assumptions:
        value, unit = _in(each.value, each.kind, system)
        yield ExportRow(
            "Assumptions", each.label, value, unit, basis=each.basis, source=each.source
        )
    for name, version in service.versions().items():
        yield ExportRow("Versions", name.replace("_", " "), version)


def _in(value: Any, kind: str, system: System) -> tuple[Cell, str]:
    """Return a figure in the reply's unit, and how that unit is written."""
    if isinstance(value, str) or value is None or kind not in units.KINDS:
        return value, ""
    return units.from_core(float(value), kind, system), units.unit(kind, system).display


def _lengths(system: System, *lengths_m: float) -> tuple[list[Cell], str]:
    """Return lengths in the reply's unit, and how that unit is written."""
    found = [_in(each, "length", system) for each in lengths_m]
    return [value for value, _ in found], found[0][1]


def _fields(part: str, instance: Any, system: System) -> Iterator[ExportRow]:
    for name, facts in facts_of(type(instance)).items():
        yield ExportRow(part, facts.label, *_in(getattr(instance, name), facts.kind, system))


def _measured(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for name, part in _MEASURED.items():
        if (instance := getattr(taken, name)) is not None:
            yield from _fields(part, instance, system)


def _posts(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for row in taken.posts:
        rows = f", {row.rows} rows" if row.rows > 1 else ""
        item = f"Part {row.rectangle}, purlin line {row.line}{rows}, {row.mark}"
        yield ExportRow("Posts", item, row.posts, "", *_in(row.height_m, "length", system))


def _bearing(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for row in taken.bearing_loads:
        (first, space), unit = _lengths(system, row.first_m, row.spacing_m)
        up = ""
        if row.net_uplift_kg is not None:
            value, mass = _in(row.net_uplift_kg, "mass", system)
            up = f", net uplift {value:.0f} {mass}"
        item = (f"Part {row.rectangle}, {row.what}, {row.lines} alike, from the {row.edge} "
                f"edge, {row.posts} posts on one, added load on one{up}")  # fmt: skip
        yield ExportRow("Load by joist", item, *_in(row.dead_kg, "mass", system),
                        first=first, spacing=space, set_out_unit=unit)  # fmt: skip


def _cuts(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for cut in taken.cut_list:
        long = _in(cut.length_m, "length", system) if cut.length_m else (None, "")
        yield ExportRow("Cut list", f"{cut.mark}: {cut.what}", cut.pieces, "", *long)


def _set_out(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for row in taken.set_out:
        (line, first, space), unit = _lengths(system, row.from_eave_m, row.first_m, row.spacing_m)
        on = f", on the old roof of part {row.over}" if row.over != row.rectangle else ""
        item = f"{row.mark}, line from the {row.fall} eave, first post from the {row.edge} edge{on}"
        yield ExportRow("Set out", f"{item}; stands on: {row.stands_on}", row.posts, "",
                        *_in(row.length_m, "length", system), from_eave=line, first=first,
                        spacing=space, set_out_unit=unit)  # fmt: skip


def _laid(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for row in taken.laid:
        (low, high, first, last), unit = _lengths(
            system, row.from_eave_m, row.to_eave_m, row.first_m, row.last_m
        )
        item = (f"{row.mark}: {row.what}, from the {row.fall} eave to {high:g} {unit}, "
                f"from the {row.edge} edge to {last:g} {unit}")  # fmt: skip
        yield ExportRow("Cross members and purlins of wind zones", item, row.number,
                        from_eave=low, first=first, set_out_unit=unit)  # fmt: skip


def _along(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for row in taken.along:
        (first, space), unit = _lengths(system, row.first_m, row.spacing_m)
        item = (f"{row.mark}: {row.what}, part {row.rectangle}, {row.along}, "
                f"from the {row.edge} edge")  # fmt: skip
        yield ExportRow("Panels, vents and downspouts", item, row.number,
                        first=first, spacing=space, set_out_unit=unit)  # fmt: skip


def _bracing(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for row in taken.bracing:
        apart_m = abs(row.bay_m - row.at_m)
        (at, bay, long), unit = _lengths(system, row.at_m, apart_m, row.length_m)
        side = "toward" if row.bay_m < row.at_m else "away from"
        item = f"{row.mark}, up the {row.fall} fall, from the {row.edge} edge; bay {side} that edge"
        yield ExportRow("Bracing", item, long, unit, first=at, spacing=bay, set_out_unit=unit)


def _site(taken: Quantities, system: System) -> Iterator[ExportRow]:
    """Yield zones of wind, snow, trims, drift and drainage, and what is asked of the engineer."""
    for zone in taken.wind_zones:
        yield from _fields(f"Wind, {zone_label(zone.zone)}", zone, system)
    if taken.roof_snow_kg_m2 is not None:
        snow = _in(taken.roof_snow_kg_m2, "mass_per_area", system)
        yield ExportRow("Snow", "Flat roof snow load", *snow)
    for part, rows in (("Trims and walls", taken.trims), ("Snow drift", taken.drifts),
                       ("Gutters and downspouts", taken.drainage)):  # fmt: skip
        for row in rows:
            yield from _fields(part, row, system)
    for labour in taken.labour:
        yield from _fields(f"Labour, {labour.productivity} productivity", labour, system)
    for note in taken.price_notes:
        yield ExportRow("Left out of the build-up", units.ordered(note, system))
    for question in taken.questions:
        yield ExportRow("Questions for the engineer", units.ordered(question, system))


def _costs(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for line in taken.first_cost.lines:
        price = _in(line.price.value, line.price.kind, system)
        amount = _in(line.amount.value, line.amount.kind, system)
        yield ExportRow(
            "First cost", line.name, *amount, None, "", *price, line.labour_h, line.cost,
            line.basis, line.source,
        )  # fmt: skip
    facts = facts_of(type(taken.first_cost))
    for name in _SUMS:
        value = getattr(taken.first_cost, name)
        if value is not None:
            yield ExportRow("Sums", facts[name].label, *_in(value, facts[name].kind, system))


def _loads(taken: Quantities, system: System) -> Iterator[ExportRow]:
    for load in (*taken.loads, *(replace(each, component=f"Taken off: {each.component}")
                                 for each in taken.removed)):  # fmt: skip
        yield ExportRow(
            "Added load", load.component, *_in(load.load_kg_m2, "mass_per_area", system)
        )
    for name, total in (
        ("All components", taken.total_load_kg_m2),
        *((f"Part {one.rectangle}, all components", one.load_kg_m2) for one in taken.part_loads),
        *((f"Part {one.rectangle}, net load if what is taken off is credited", one.net_load_kg_m2)
          for one in taken.part_loads if one.removed_kg),
    ):  # fmt: skip
        yield ExportRow("Added load", name, *_in(total, "mass_per_area", system))


def table(taken: Quantities, system: System) -> Iterator[list[Cell]]:
    """Yield everything as rows of one table, titles first."""
    yield list(TITLES)
    for entry in entries(taken, system):
        yield list(astuple(entry))


def sheets(taken: Quantities, system: System) -> dict[str, Iterable[Sequence[Cell]]]:
    """Return the rows by part, each without the columns that the part leaves empty."""
    grouped: dict[str, list[tuple[Cell, ...]]] = {}
    for entry in entries(taken, system):
        grouped.setdefault(entry.part, []).append(astuple(entry)[1:])
    return {part: _without_empty_columns(rows) for part, rows in grouped.items()}


def _without_empty_columns(rows: list[tuple[Cell, ...]]) -> list[list[Cell]]:
    used = [k for k in range(len(TITLES) - 1) if any(row[k] not in (None, "") for row in rows)]
    return [[TITLES[k + 1] for k in used], *([row[k] for k in used] for row in rows)]
