"""The take-off priced line by line, and the first cost it builds up to or is replaced by."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lcc import tables
from lcc.case.fields import Basis, facts_of, known
from lcc.case.framing import Framing
from lcc.case.resolution import resolve
from lcc.case.unit_prices import UnitPrices
from lcc.quantities.members import as_purlin_m
from lcc.results.takeoff_result import Amount, BillLine, FirstCost, LabourRange, Measured

KIND_OF_PRICE = {
    "money": "count",
    "price_per_length": "length",
    "price_per_area": "area",
    "price_per_volume": "volume",
    "rate": "money",
}
_RATES_ON_DIRECT = ("permit_rate", "engineering_rate")
_GENERAL = "general_conditions_rate"
# Hours of work for a square metre of plan, by productivity: 0.09, 0.075 and 0.06 h/ft².
HOURS_PER_M2 = {"low": 0.96875, "likely": 0.80729, "high": 0.64583}
_RATES_ON_SUM = ("contingency_rate", "overhead_rate", "profit_rate")
_HOURLY = "labour_hour"
# The source named where nobody quoted, and a price was entered for the whole work.
ENTERED = "The price entered, with all other work of this bill,"
# Letters of the cut list's marks, by key of the unit price.
MARKS = {
    "post": "P", "post_steel_per_m": "P", "purlin_per_m": "U, W, X", "bracing_per_m": "B",
    "panel_per_m2": "S", "ventilator": "V", "curb": "C", "penetration": "K",
    "skylight_carried": "L",
}  # fmt: skip


@dataclass(frozen=True)
class UnitPrice:
    """A unit price with the hours of work in one unit, and where it comes from."""

    name: str
    value: float
    labour_h: float
    basis: Basis
    source: str


def unit_price(prices: UnitPrices, key: str) -> UnitPrice:
    """Return the price that a take-off uses: the one entered, or the table's row.

    Examples
    --------
    >>> unit_price(UnitPrices(clip=2.5), "clip").value, unit_price(UnitPrices(), "clip").basis
    (2.5, 'demo')
    """
    row = tables.rows("unit_prices")[key]
    prices = resolve(prices)
    value, origin = known(getattr(prices, key)), prices.origin(key)
    return UnitPrice(row["name"], value, row["labour_h"], origin.basis, origin.source)


def amounts(measured: Measured) -> dict[str, float]:
    """Return how much of each priced part the roof needs, by key of the unit price."""
    surface, members, edges = measured.surface, measured.members, measured.edges
    cavity, services = measured.cavity, measured.services
    always: dict[str, float] = {
        "post": members.posts,
        "post_steel_per_m": members.posts_height_m,
        "purlin_per_m": as_purlin_m(members),
        "bracing_per_m": members.bracing_m,
        "clip": members.clips,
        "fastener": members.fasteners,
        "panel_per_m2": surface.ordered_area_m2,
        "eave_per_m": edges.eave_m,
        "rake_per_m": edges.rake_m,
        "ridge_per_m": edges.ridge_m,
        "high_edge_per_m": edges.high_edge_m,
        "gutter_per_m": edges.gutter_m,
        "valley_per_m": edges.valley_m + edges.inner_gutter_m,
        "joint_per_m": edges.joint_m,
        "wall_per_m2": edges.walls_m2,
        "ventilator": cavity.ventilators,
        "inlet_per_m2": cavity.inlet_area_m2,
        "insulation_per_m3": surface.insulation_volume_m3,
        "curb": services.curbs,
        "unit_lift": services.rooftop_units,
        "penetration": services.penetrations,
        "tear_out_per_m2": services.tear_out_m2,
        "crane_day": services.crane_days,
        "set_up": 0 if services.set_up_m2 else 1,
    }
    where_needed: dict[str, float] = {
        **_other_work(measured),
        "hip_per_m": edges.hip_m,
        "parapet_flashing_per_m": edges.parapet_flashing_m,
    }
    return {**always, **{key: amount for key, amount in where_needed.items() if amount}}


def _other_work(measured: Measured) -> dict[str, float]:
    """Return what is priced only where the survey counts it."""
    services = measured.services
    return {
        "skylight_carried": services.skylights_carried,
        "skylight_covered": services.skylights_covered,
        "ballast_per_m2": services.ballast_area_m2,
        "expansion_joint_per_m": services.expansion_joint_m,
        "storm_tie": services.storm_ties,
        "scupper": services.scuppers + services.overflow_scuppers,
        "drain_abandoned": services.drains_abandoned,
        "access_per_m2": services.access_m2,
        "set_up_by_area_per_m2": services.set_up_m2,
    }


def line(prices: UnitPrices, key: str, amount: float) -> BillLine:
    """Return one line of the take-off, amount times price, with the hours of its work."""
    price = unit_price(prices, key)
    kind = facts_of(UnitPrices)[key].kind
    return BillLine(
        key=key,
        name=price.name,
        marks=MARKS.get(key, ""),
        amount=Amount(amount, "hours" if key == _HOURLY else KIND_OF_PRICE[kind]),
        price=Amount(price.value, kind),
        labour_h=amount * price.labour_h if price.labour_h else 0.0,
        cost=amount * price.value,
        basis=price.basis,
        source=price.source,
    )


def first_cost(framing: Framing, needed: dict[str, float], plan_area_m2: float) -> FirstCost:
    """Return the first cost: parts, labour and rates, or the quotation that replaces them.

    Parameters
    ----------
    framing : Framing
        Unit prices, labour hours and quotation.
    needed : dict
        Amount of each priced part in the core's units, from `amounts`.
    plan_area_m2 : float
        Plan area [m²].

    Notes
    -----
    Direct cost is parts plus labour. Permit and engineering are parts of the direct cost; then
    contingency, overhead and profit are each a part of everything before it.
    """
    prices = resolve(framing.unit_prices)
    parts = [line(prices, key, amount) for key, amount in needed.items()]
    hours = math.fsum(each.labour_h for each in parts)
    if framing.other_work.productivity is not None:
        hours = plan_area_m2 * HOURS_PER_M2[framing.other_work.productivity]
    if framing.labour_hours_h is not None:
        hours = framing.labour_hours_h
    lines = [*parts, line(prices, _HOURLY, hours)]
    direct = math.fsum(each.cost for each in lines)
    general = (_GENERAL,) if framing.other_work.general_conditions else ()
    lines += [line(prices, key, direct) for key in (*_RATES_ON_DIRECT, *general)]
    for key in _RATES_ON_SUM:
        lines.append(line(prices, key, math.fsum(each.cost for each in lines)))
    return _settled(framing, tuple(lines), hours, direct, plan_area_m2)


def labour_range(cost: FirstCost, plan_area_m2: float) -> tuple[LabourRange, ...]:
    """Return hours and build-up at high, likely and low productivity.

    Notes
    -----
    0.06, 0.075 and 0.09 hours for a square foot of plan: common practice of framed retrofits, the
    ends of the range as estimators give them and its middle. Every rate is a part of what stands
    before it, so the build-up grows as the direct cost does.
    """
    hourly = next(line.price.value for line in cost.lines if line.key == _HOURLY)
    on_top = cost.build_up / cost.direct if cost.direct else 1.0
    hours = {name: plan_area_m2 * rate for name, rate in reversed(HOURS_PER_M2.items())}
    return tuple(
        LabourRange(name, each, (cost.direct + (each - cost.labour_h) * hourly) * on_top)
        for name, each in hours.items()
    )


def usual_labour(cost: FirstCost, plan_area_m2: float) -> bool:
    """Tell whether the hours of a build-up lie in the usual range, but for rounding."""
    rate = cost.labour_h / plan_area_m2
    return HOURS_PER_M2["high"] * (1 - 1e-3) <= rate <= HOURS_PER_M2["low"] * (1 + 1e-3)


def _permit_apart(framing: Framing, lines: Sequence[BillLine], build_up: float) -> float:
    """Return the permit with its part of the rates that follow it, where it is priced apart.

    Notes
    -----
    Contingency, overhead and profit are a part of all before them, the permit among it.
    """
    if framing.quotation is not None or framing.other_work.general_conditions:
        return 0.0
    before = math.fsum(each.cost for each in lines if each.key not in _RATES_ON_SUM)
    permit = math.fsum(each.cost for each in lines if each.key == "permit_rate")
    return build_up * permit / before if before else 0.0


def _settled(
    framing: Framing, lines: tuple[BillLine, ...], hours: float, direct: float, plan_area_m2: float
) -> FirstCost:
    build_up = math.fsum(each.cost for each in lines)
    quotation = framing.quotation
    chosen = build_up if quotation is None else quotation
    return FirstCost(
        lines=lines,
        labour_h=hours,
        direct=direct,
        build_up=build_up,
        quotation=quotation,
        difference=None if quotation is None else quotation - build_up,
        first_cost=chosen,
        price_per_m2=chosen / plan_area_m2,
        permit_apart=_permit_apart(framing, lines, build_up),
        reading=_reading(build_up, quotation, framing.quotation_from),
    )


def _reading(build_up: float, quotation: float | None, source: str) -> str:
    if quotation is None:
        return "No quotation is entered: the first cost is the build-up."
    what = f"The quotation ({source})" if source else "The quotation"
    what = ENTERED if source == ENTERED else what
    gap = quotation - build_up
    if round(gap) == 0:
        return f"{what} agrees with the build-up and replaces it."
    part = "" if build_up == 0 else f", {100 * abs(gap) / build_up:.0f}% of it"
    side = "above" if gap > 0 else "below"
    return f"{what} replaces the build-up of this plan and is ${abs(gap):,.0f} {side} it{part}."
