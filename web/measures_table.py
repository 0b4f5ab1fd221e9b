"""The measures of a comparison as text: a figure, or words where there is none."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lcc import units
from lcc.case import Case
from lcc.cost.roof_states import today
from lcc.heat.assembly import steady
from web import format as fmt
from web.charts import Reply
from web.charts.figure import against_base, typical

# Name in the reply -> label, kind of quantity, term explained in `web.glossary`.
ABSOLUTE = {
    "first_cost": ("Spent today", "money", ""),
    "life_cycle_cost": ("Life-cycle cost, present value", "money", "life-cycle-cost"),
    "equivalent_annual_cost": ("Equivalent uniform annual cost", "money", "annual-cost"),
    "yearly_cost": ("Cost per area and year", "price_per_area", ""),
    "residual_value": (
        "Residual value in the last year, not discounted",
        "money",
        "residual-value",
    ),
}
AGAINST_BASE = {
    "net_savings": ("Net savings", "money", "net-savings"),
    "savings_to_investment_ratio": ("Savings-to-investment ratio", "ratio", "sir"),
    "savings_per_dollar": ("Net savings per dollar of the first work", "ratio", ""),
    "adjusted_internal_rate_of_return": ("Adjusted internal rate of return", "rate", "airr"),
    "internal_rate_of_return": ("Internal rate of return", "rate", "irr"),
    "simple_payback": ("Simple payback", "years", "simple-payback"),
    "discounted_payback": ("Discounted payback", "years", "discounted-payback"),
}
AFTER_TAX = {"life_cycle_cost": "Life-cycle cost after tax", "net_savings": "Net savings after tax"}


@dataclass(frozen=True)
class Cell:
    """A figure as text and, beneath it, the words that go with it."""

    text: str
    note: str = ""


@dataclass(frozen=True)
class MeasureRow:
    """One measure for every alternative."""

    label: str
    term: str
    cells: tuple[Cell, ...]


def lines(reply: Reply) -> tuple[MeasureRow, ...]:
    """Return every measure of every alternative, the base case first."""
    alternatives = reply["alternatives"]
    area = units.unit("area", reply["units"]).display
    absolute = [
        MeasureRow(
            label if kind == "money" else f"Cost per {area} and year",
            term,
            tuple(Cell(fmt.shown(alternative[name], kind)) for alternative in alternatives),
        )
        for name, (label, kind, term) in ABSOLUTE.items()
    ]
    against = [
        MeasureRow(label, term, tuple(_cell(one["measures"], name, kind) for one in alternatives))
        for name, (label, kind, term) in AGAINST_BASE.items()
    ]
    return (*absolute, *against, *_after_tax(alternatives))


def _after_tax(alternatives: Sequence[Reply]) -> list[MeasureRow]:
    """What is left after income tax, where a rate is given."""
    if not any(one["after_tax"] for one in alternatives):
        return []
    views = [one["after_tax"] or {} for one in alternatives]
    return [
        MeasureRow(label, "", tuple(Cell(fmt.shown(view.get(name), "money")) for view in views))
        for name, label in AFTER_TAX.items()
    ]


def _cell(measures: Mapping[str, Any] | None, name: str, kind: str) -> Cell:
    if measures is None:
        return Cell("", "")
    found = measures[name]
    text = fmt.shown(found["value"], kind)
    if kind == "years" and found["value"] is not None:
        text += " year" if text == "1" else " years"
    # Against what, discounted or not; beside which discount rate.
    how = found["convention"] if kind in ("years", "rate") else ""
    return Cell(text, found["reason"] or found["warning"] or how)


@dataclass(frozen=True)
class KeyFigure:
    """One of the few figures beneath the headline."""

    label: str
    text: str
    note: str = ""


def retrofit_shown(reply: Reply) -> int | None:
    """Return which alternative is drawn: the cheapest metal retrofit, or None without one."""
    kinds = enumerate(reply["alternatives"][1:])
    retrofits = {
        place: one["life_cycle_cost"] for place, one in kinds if one["kind"] == "metal-retrofit"
    }
    return min(retrofits, key=retrofits.__getitem__) if retrofits else None


def u_of_today(case: Case, system: units.System) -> float:
    """Return the U-value, heat down, of the roof as it is, whether or not it stays a year."""
    return units.from_core(steady(today(case.roof)).u_down_w_m2k, "u_value", system)


def u_values(reply: Reply, of_today: float) -> str:
    """Return in one sentence how much heat the roofs pass: of today, as drawn, and otherwise.

    The base case stands apart where insulation is added to it, so that a better roof of its own
    is not kept quiet.
    """
    base, *others = reply["alternatives"]
    which = retrofit_shown(reply)
    other = against_base(reply)[1] if which is None else others[which]
    unit, old = units.unit("u_value", reply["units"]).display, fmt.shown(of_today, "u_value")
    kept = (typical(base), typical(other))
    then, new = (fmt.shown(year["u_value_down"], "u_value") for year in kept)
    most = "" if then == old else f"; “{base['name']}” {then}, for most of its years"
    return f"Heat through the roof, {unit}: today {old}; “{other['name']}” {new}{most}."
