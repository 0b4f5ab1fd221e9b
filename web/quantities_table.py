"""The take-off of a surveyed retrofit as tables and drawings."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from lcc import units
from lcc.case import Case, MetalRetrofit
from lcc.case.fields import Facts, case_name, facts_of
from lcc.quantities import survey, without_prices
from lcc.quantities.wind_pressure import zone_label
from lcc.results.takeoff_result import (
    CavityShape,
    Drainage,
    DriftPlace,
    Edges,
    Load,
    Members,
    PartLoad,
    Services,
    Surface,
    TrimRow,
    WindZone,
)
from lcc.units import System
from web import format as fmt
from web.answer_tables import amount
from web.charts import Reply, Table
from web.drawings.framing_plan import plan
from web.drawings.framing_section import cut_parts, section

TO_ORDER = "Panel to order"  # rounded up
_CLOSE = 0.25  # dollars, by which the rounding of one figure may move a line's cost
_PARTS: dict[str, tuple[str, type[Any]]] = {
    "surface": ("Areas", Surface),
    "members": ("Framing and panels", Members),
    "edges": ("Edges and walls", Edges),
    "cavity": ("Cavity and its openings", CavityShape),
    "services": ("Lifts, tear-out and crane", Services),
}

LOADS = "Added dead load"
BY_PART = "Load on the old roof of each part"
TRIMS = "Trims and walls by part and edge"
ZONES = "Zones of wind, for the engineer"
DRIFTS = "Where snow may drift: located, not sized"
GUTTERS = "Gutters and downspouts"
_LISTS: tuple[tuple[str, str, type[Any]], ...] = (
    ("removed", "Load taken off", Load),
    ("part_loads", BY_PART, PartLoad),
    ("wind_zones", ZONES, WindZone),
    ("trims", TRIMS, TrimRow),
    ("drifts", DRIFTS, DriftPlace),
    ("drainage", GUTTERS, Drainage),
)


@dataclass(frozen=True)
class Takeoff:
    """Everything the survey of one alternative asks for."""

    id: str
    name: str
    reading: str
    sections: tuple[Markup, ...]
    plan: Markup
    lines: Table
    tables: tuple[tuple[str, Table], ...]
    words: tuple[str, ...]


def takeoffs(case: Case, reply: Reply) -> tuple[Takeoff, ...]:
    """Return the take-off of every alternative that has a survey."""
    pairs = zip(case.alternatives, reply["alternatives"][1:], strict=True)
    return tuple(
        _takeoff(index, retrofit, result, reply["units"])
        for index, (retrofit, result) in enumerate(pairs)
        if isinstance(retrofit, MetalRetrofit) and retrofit.framing and result["quantities"]
    )


def _takeoff(index: int, retrofit: MetalRetrofit, result: Reply, system: System) -> Takeoff:
    taken = result["quantities"]
    framing = survey(retrofit)
    assert framing is not None
    framing = without_prices(framing)  # as it was taken off: the drawings find its frame kept
    return Takeoff(
        f"takeoff-{index}",
        result["name"],
        taken["first_cost"]["reading"],
        tuple(
            Markup(section(framing, system, part, f"section-{index}{letter}"))
            for letter, part in zip(("", "-b"), cut_parts(framing), strict=False)
        ),
        Markup(plan(framing, system, prefix=f"plan-{index}")),
        _lines(taken["first_cost"], system),
        (*_tables(taken, system), (LOADS, _loads(taken, system)), *_listed(taken, system)),
        tuple(_words(taken)),
    )


def _lines(cost: Reply, system: System) -> Table:
    lines = (
        (
            f"{line['name']} ({line['marks']})" if line["marks"] else line["name"],
            *priced(line, system),
            fmt.shown(line["cost"], "money"),
            f"{line['basis']}: {line['source']}",
        )
        for line in cost["lines"]
    )
    total = ("Build-up of this plan", "", "", fmt.shown(cost["build_up"], "money"), "")
    return Table(("Item", "Quantity", "Unit price", "Cost", "Source of the price"), (*lines, total))


def priced(line: Reply, system: System) -> tuple[str, str]:
    """Return the quantity and the unit price of a line of the bill, which multiply to its cost.

    Notes
    -----
    Within a dollar: the price has its cents, or four decimals and more where it is no whole cent,
    and the quantity as many decimals as that takes. A rate on money stands as it is.

    Examples
    --------
    >>> sheet = {"amount": {"value": 13073.35, "kind": "area"},
    ...          "price": {"value": 3.15873, "kind": "price_per_area"}, "cost": 41295.18}
    >>> priced(sheet, "ip")
    ('13,073.4 ft²', '$3.15873/ft²')
    """
    bought, price, cost = line["amount"], line["price"], line["cost"]
    if bought["kind"] == "money":
        return amount(bought, system), amount(price, system)
    many, each = bought["value"], price["value"]
    cents = next(k for k in (2, 4, 5, 6) if abs(round(each, k) - each) * many < _CLOSE or k == 6)
    places = next(k for k in range(5) if abs(round(many, k) * each - cost) < _CLOSE or k == 4)
    unit, per = (fmt.read(one["value"], one["kind"], system)[1] for one in (bought, price))
    return f"{many:,.{places}f} {unit}".strip(), f"${each:,.{cents}f}{per.removeprefix('$')}"


def _tables(taken: Reply, system: System) -> Iterator[tuple[str, Table]]:
    for name, (title, cls) in _PARTS.items():
        rows = [
            (facts.label, _figure(taken[name][case_name(attribute, facts)], facts, system))
            for attribute, facts in facts_of(cls).items()
        ]
        yield title, Table(("What", "How much"), tuple(row for row in rows if row[1] != "0"))


def _listed(taken: Reply, system: System) -> Iterator[tuple[str, Table]]:
    """Yield what a survey lists only where it asks for it: wind, trims, drift, drainage."""
    for name, title, cls in _LISTS:
        if taken[name]:
            facts = facts_of(cls)
            together = [{"where": "All edges, as in the bill", **taken["edges"]}]
            listed = ({**one, "zone": zone_name(one)} if "zone" in one else one
                      for one in (*taken[name], *(together if title == TRIMS else ())))  # fmt: skip
            rows = (tuple(_bare(one[case_name(key, fact)], fact, system)
                          for key, fact in facts.items()) for one in listed)  # fmt: skip
            yield title, Table(tuple(_head(fact, system) for fact in facts.values()), tuple(rows))


def _head(facts: Facts, system: System) -> str:
    """Return the head of a column with the unit of its figures."""
    unit = units.unit_read(facts.kind, system).display if facts.kind in units.KINDS else ""
    return f"{facts.label}, {unit}" if unit else facts.label


def _bare(value: Any, facts: Facts, system: System) -> str:
    return value if isinstance(value, str) else fmt.read(value, facts.kind, system)[0]


def zone_name(one: Reply) -> str:
    """Return the name of a zone of wind with its number, which stays on one line."""
    return zone_label(one["zone"]).replace("zone ", "zone\u00a0")


def _figure(value: float, facts: Facts, system: System) -> str:
    if facts.type == "whole":
        return f"{value:,}"
    if facts.label == TO_ORDER:
        return f"{math.ceil(value - 1e-6):,} {units.unit(facts.kind, system).display}"
    text = amount({"value": value, "kind": facts.kind}, system)
    return "0" if text.startswith("0 ") else text


def _loads(taken: Reply, system: System) -> Table:
    unit = units.unit("mass_per_area", system).display
    rows = [(load["component"], fmt.shown(load["load"])) for load in taken["loads"]]
    return Table(
        ("Component", f"Load, {unit}"), (*rows, ("All components", fmt.shown(taken["total_load"])))
    )


def _words(taken: Reply) -> Iterator[str]:
    if taken["movement"]:
        yield taken["movement"]["verdict"]
    for flag in taken["flags"]:
        yield f"{flag['message']} ({flag['basis']}: {flag['source']})"
    yield from taken["price_notes"]
    yield from taken["questions"]
    yield from taken["cautions"]
