"""What a portfolio answers for each building and alternative: one flat row of figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
import pandas as pd

from lcc.case import Case
from lcc.case.fields import Parts, Quantity, Text, Whole, facts_of
from lcc.errors import CaseError
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
    defaults: Annotated[str, Text("Columns left to defaults")] = ""
    problem: Annotated[str | None, Text("Why the building could not be computed")] = None
    cautions: Annotated[tuple[str, ...], Parts("Cautions that fit the building")] = ()


# fmt: on


@dataclass(frozen=True)
class Begun(Outcome):
    """An outcome that also tells, for a plan, what is spent in which of its years."""

    work: Annotated[tuple[float, ...], Parts("Cost of work by year")] = ()
    base_work: Annotated[tuple[float, ...], Parts("The same of the base case")] = ()


def outcomes(
    building: int, case: Case, comparison: Comparison, defaults: str = "", plan_years: int = 0
) -> list[Outcome]:
    """Return one row for each alternative of a comparison.

    Parameters
    ----------
    building : int
        Number of the row that the case was made from.
    case : Case
        What was compared.
    comparison : Comparison
        Its answer.
    defaults : str
        Columns that the row left to the template.
    plan_years : int
        Years from 0 on for which the cost of work is told year by year.
    """
    base, *others = comparison.alternatives
    shared: dict[str, Any] = {
        "building": building,
        "name": case.name,
        "climate": case.site.climate,
        "roof_area_m2": case.roof.area_m2,
        "age_y": case.roof.age_y,
        **dict(zip(("base_work_year", "base_work_cost"), first_work(base), strict=True)),
        "base_life_cycle_cost": base.life_cycle_cost,
        "roof_heat_gain_kwh_m2": base.energy[0].roof_heat_gain_kwh / case.roof.area_m2,
        "defaults": defaults,
        "cautions": comparison.cautions,
    }
    if plan_years:
        shared["base_work"] = work_by_year(base, plan_years)
        return [
            Begun(**shared, **_of_alternative(base, other), work=work_by_year(other, plan_years))
            for other in others
        ]
    return [Outcome(**shared, **_of_alternative(base, other)) for other in others]


def _of_alternative(base: AlternativeResult, other: AlternativeResult) -> dict[str, Any]:
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


def work_by_year(result: AlternativeResult, years: int) -> tuple[float, ...]:
    """Return what the work in each year from 0 on costs, base-year money."""
    costs = [0.0] * years
    for event in result.events:
        if event.year < years:
            costs[event.year] += event.cost
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
