"""What a portfolio answers for each building and alternative: one flat row of figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
import pandas as pd

from lcc.case import Case
from lcc.case.fields import Parts, Quantity, Text, Whole, facts_of
from lcc.errors import CaseError
from lcc.portfolio.condition import IDENTITY
from lcc.results import AlternativeResult, Comparison, Measures

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Outcome:
    """One alternative for one building against its base case; savings positive."""

    building: Annotated[int, Whole("Row of the building")]
    name: Annotated[str, Text("Name")]
    climate: Annotated[str | None, Text("Climate")] = None
    roof_area_m2: Annotated[float | None, Quantity("area", "Roof area")] = None
    age_y: Annotated[float | None, Quantity("years", "Age of the top covering")] = None
    alternative: Annotated[str | None, Text("Alternative")] = None
    kind: Annotated[str | None, Text("Kind of alternative")] = None
    base_work_year: Annotated[int | None, Whole("Year of the base case's next replacement")] = None
    base_work_cost: Annotated[float | None, Quantity("money", "Cost of that replacement")] = None
    first_year: Annotated[int | None, Whole("Year of the alternative's first work")] = None
    first_cost: Annotated[float | None, Quantity("money", "Cost of that first work")] = None
    base_life_cycle_cost: Annotated[float | None, Quantity(
        "money", "Life-cycle cost of the base case")] = None
    life_cycle_cost: Annotated[float | None, Quantity(
        "money", "Life-cycle cost of the alternative")] = None
    net_savings: Annotated[float | None, Quantity("money", "Net savings, present value")] = None
    net_savings_per_cost: Annotated[float | None, Quantity(
        "ratio", "Net savings for each unit of cost")] = None
    savings_to_investment: Annotated[float | None, Quantity(
        "ratio", "Savings-to-investment ratio")] = None
    savings_to_investment_note: Annotated[str | None, Text("Why there is no such ratio")] = None
    simple_payback_y: Annotated[float | None, Quantity("years", "Simple payback")] = None
    discounted_payback_y: Annotated[float | None, Quantity("years", "Discounted payback")] = None
    payback_note: Annotated[str | None, Text("Why there is no payback, or a warning")] = None
    electricity_saved_kwh: Annotated[float | None, Quantity(
        "electricity", "Electricity saved, mean of a year")] = None
    gas_saved_kwh: Annotated[float | None, Quantity(
        "gas_energy", "Gas saved, mean of a year")] = None
    energy_cost_saved: Annotated[float | None, Quantity(
        "money", "Energy bill saved, mean of a year")] = None
    emissions_saved_kg: Annotated[float | None, Quantity(
        "mass", "CO2 saved, mean of a year")] = None
    roof_heat_gain_kwh_m2: Annotated[float | None, Quantity(
        "energy_per_area", "Heat through today's roof inward, a year")] = None
    waiting_cost: Annotated[float | None, Quantity(
        "money", "Cost of putting work that is due now off a year, present value")] = None
    patching_cost: Annotated[float | None, Quantity(
        "money", "Patching in the year that it is put off")] = None
    owner_id: Annotated[str | None, Text("The owner's own number")] = None
    building_name: Annotated[str | None, Text("Building")] = None
    campus: Annotated[str | None, Text("Campus")] = None
    must: Annotated[str | None, Text("Must or must not")] = None
    assumed: Annotated[str | None, Text("Columns that every roof needs, assumed")] = None
    defaults: Annotated[str, Text("Columns left to defaults")] = ""
    problem: Annotated[str | None, Text("Why the building could not be computed")] = None
    cautions: Annotated[tuple[str, ...], Parts("Cautions that fit the building")] = ()


@dataclass(frozen=True)
class Begun(Outcome):
    """One way to treat a roof in a plan; without an alternative it is the base case.

    `begins` is None where its first work is not in the plan; `work` and `patching` are in money
    of each year.
    """

    begins: Annotated[int | None, Whole("Year in which its first work begins")] = None
    due_cost: Annotated[float | None, Quantity(
        "money", "Cost of the base case's work when due, money of that year")] = None
    leak_risk: Annotated[float, Quantity(
        "money", "Damage by leaks to expect past due, present value")] = 0.0
    work: Annotated[tuple[float, ...], Parts("Cost of work by year")] = ()
    patching: Annotated[tuple[float, ...], Parts("Cost of patching by year")] = ()


# fmt: on


def shared(
    building: int, case: Case, comparison: Comparison, row: Mapping[str, Any]
) -> dict[str, Any]:
    """Return what all rows of one building have in common.

    Parameters
    ----------
    building : int
        Number of the row that the case was made from.
    case : Case
        What was compared.
    comparison : Comparison
        Its answer.
    row : mapping
        The row: what identifies the roof to its owner, and the defaults it rests on.
    """
    base = comparison.alternatives[0]
    return {
        "building": building,
        "name": case.name,
        "climate": case.site.climate,
        "roof_area_m2": case.roof.area_m2,
        "age_y": case.roof.age_y,
        **dict(zip(("base_work_year", "base_work_cost"), first_work(base), strict=True)),
        "base_life_cycle_cost": base.life_cycle_cost,
        "roof_heat_gain_kwh_m2": base.energy[0].roof_heat_gain_kwh / case.roof.area_m2,
        "defaults": row.get("defaults", ""),
        **{name: row.get(name) for name in IDENTITY},
        "cautions": comparison.cautions,
    }


def outcomes(
    building: int, case: Case, comparison: Comparison, row: Mapping[str, Any], **more: Any
) -> list[Outcome]:
    """Return one row for each alternative of a comparison; `more` are fields that all have."""
    base, *others = comparison.alternatives
    common = shared(building, case, comparison, row) | more
    return [Outcome(**common, **of_alternative(base, other)) for other in others]


def of_alternative(base: AlternativeResult, other: AlternativeResult) -> dict[str, Any]:
    """Return what a row says of one alternative."""
    year, cost = first_work(other)
    savings = _net_savings(base, other)
    return {
        "alternative": other.name,
        "kind": other.kind,
        "first_year": year,
        "first_cost": cost,
        "life_cycle_cost": other.life_cycle_cost,
        "net_savings": savings,
        "net_savings_per_cost": savings / cost if cost else None,
        **(_measures(other.measures) if other.measures else {}),
        "electricity_saved_kwh": _saved(base, other, _ELECTRICITY),
        "gas_saved_kwh": _saved(base, other, ("gas_kwh",)),
        "energy_cost_saved": _saved(base, other, _BILL),
        "emissions_saved_kg": _saved(base, other, ("emissions_kg",)),
    }


def _net_savings(base: AlternativeResult, other: AlternativeResult) -> float:
    stated = other.measures.net_savings.value if other.measures else None
    return base.life_cycle_cost - other.life_cycle_cost if stated is None else stated


_ELECTRICITY = ("cooling_electricity_kwh", "heating_electricity_kwh", "fan_electricity_kwh")
_BILL = ("electricity_cost", "demand_cost", "gas_cost")


def first_work(result: AlternativeResult) -> tuple[int | None, float | None]:
    """Return the year of an alternative's first work and what is spent in it, base-year money."""
    if not result.events:
        return None, None
    year = min(event.year for event in result.events)
    return year, sum(event.cost for event in result.events if event.year == year)


def work_by_year(result: AlternativeResult, yearly: Sequence[float]) -> tuple[float, ...]:
    """Return what the work in each year from 0 on costs, in money of the year.

    Parameters
    ----------
    result : AlternativeResult
        Its events, in base-year money.
    yearly : sequence of float
        Money of each year for one of the base year.
    """
    costs = [0.0] * len(yearly)
    for event in result.events:
        if event.year < len(costs):
            costs[event.year] += event.cost * yearly[event.year]
    return tuple(costs)


def _measures(measures: Measures) -> dict[str, Any]:
    ratio, simple, later = (
        measures.savings_to_investment_ratio,
        measures.simple_payback,
        measures.discounted_payback,
    )
    return {
        "savings_to_investment": ratio.value,
        "savings_to_investment_note": ratio.reason,
        "simple_payback_y": simple.value,
        "discounted_payback_y": later.value,
        "payback_note": later.reason or later.warning or simple.reason or simple.warning,
    }


def _saved(base: AlternativeResult, other: AlternativeResult, names: tuple[str, ...]) -> float:
    """Return the mean yearly saving over the study period, each state by its years in force."""
    return _mean(base, names) - _mean(other, names)


def _mean(result: AlternativeResult, names: tuple[str, ...]) -> float:
    years = sum(len(state.years) for state in result.energy)
    total = sum(
        len(state.years) * sum(getattr(state, name) for name in names) for state in result.energy
    )
    return float(total / years)


def failed(building: int, name: str, error: CaseError, plan_years: int = 0) -> Outcome:
    """Return the row of a building that the core refused."""
    return outcome_class(plan_years)(building=building, name=name, problem=str(error))


def outcome_class(plan_years: int) -> type[Outcome]:
    """Return the class of the rows of an evaluation, with or without a plan's years."""
    return Begun if plan_years else Outcome


def as_frame(rows: Sequence[Outcome], cls: type[Outcome] = Outcome) -> pd.DataFrame:
    """Return outcomes as a frame: NaN where there is no figure, None where there are no words."""
    columns, numbers = _columns(cls)
    worded = [name for name in columns if name not in numbers]
    figures = [[getattr(row, name) for name in numbers] for row in rows]
    words = np.empty((len(rows), len(worded)), dtype=object)
    for column, name in enumerate(worded):
        words[:, column] = [getattr(row, name) for row in rows]
    parts = (
        pd.DataFrame(words, columns=worded, dtype=object),
        pd.DataFrame(figures, columns=numbers, dtype=np.float64),
    )
    frame = pd.concat(parts, axis="columns")[columns]
    return frame.astype({"building": np.int64})


def _columns(cls: type[Outcome]) -> tuple[list[str], list[str]]:
    """Names of all columns, and of those with figures that may be missing."""
    kinds = {name: facts.type for name, facts in facts_of(cls).items()}
    numbers = [name for name, kind in kinds.items() if kind in ("quantity", "whole")]
    return list(kinds), [name for name in numbers if name != "building"]
