"""A portfolio's answer for each building and alternative: one flat row of figures."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lcc.arrays import Array
from lcc.case import Case
from lcc.case.fields import Parts, Quantity, Text, Whole, facts_of
from lcc.cost.energy_phases import first_work
from lcc.cost.measures import earned
from lcc.errors import CaseError
from lcc.portfolio.owner_records import IDENTITY
from lcc.portfolio.way_costs import WayCosts, way_costs
from lcc.results import AlternativeResult, Measure, Measures

Arrays = tuple[NDArray[np.object_], Array]
YEAR_COUNTED = "Counted from 0; of the calendar in tables whose mapping says which year is 0."
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
    base_work_year: Annotated[int | None, Whole(
        "Year of the base case's next replacement", help=YEAR_COUNTED)] = None
    base_work_cost: Annotated[float | None, Quantity("money", "Cost of that replacement")] = None
    first_year: Annotated[int | None, Whole(
        "Year of the alternative's first work", help=YEAR_COUNTED)] = None
    first_cost: Annotated[float | None, Quantity("money", "Cost of that first work")] = None
    base_life_cycle_cost: Annotated[float | None, Quantity(
        "money", "Life-cycle cost of the base case")] = None
    life_cycle_cost: Annotated[float | None, Quantity(
        "money", "Life-cycle cost of the alternative")] = None
    net_savings: Annotated[float | None, Quantity("money", "Net savings, present value")] = None
    net_savings_all_held: Annotated[float | None, Quantity(
        "money", "Net savings if prices that do not say what they include held all work",
        help="Of the best alternative, at the terms as entered.")] = None
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
    heat: Annotated[str | None, Text("Heat: solved, or interpolated over areas")] = None
    defaults: Annotated[str, Text("Columns left to defaults")] = ""
    problem: Annotated[str | None, Text("Why the building could not be computed")] = None
    left_out: Annotated[str | None, Text("Alternatives left out, and why")] = None
    cautions: Annotated[tuple[str, ...], Parts("Cautions that fit the building")] = ()
    # Kept on request, for `lcc.portfolio.new_terms`, and in no table: the real discount rate, and
    # every way of doing the base case, the alternative, and the base case put off a year.
    discount_rate: float = 0.0
    ways: tuple[tuple[WayCosts, ...], ...] = ()


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
        "money", "Damage by leaks to expect past due, money of each year")] = 0.0
    work: Annotated[tuple[float, ...], Parts("Cost of work by year")] = ()
    patching: Annotated[tuple[float, ...], Parts("Cost of patching by year")] = ()


# fmt: on


def shared(
    building: int, case: Case, base: AlternativeResult, row: Mapping[str, Any]
) -> dict[str, Any]:
    """Return what all rows of one building have in common.

    Parameters
    ----------
    building : int
        Number of the row that the case was made from.
    case : Case
        What was compared.
    base : AlternativeResult
        Its base case.
    row : mapping
        The row: what identifies the roof to its owner, and the defaults it rests on.
    """
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
        "left_out": row.get("left_out"),
    }


def outcomes(
    building: int,
    case: Case,
    results: Sequence[AlternativeResult],
    row: Mapping[str, Any],
    **more: Any,
) -> list[Outcome]:
    """Return one row for each alternative of a comparison; `more` are fields that all have."""
    base, *others = results
    common = shared(building, case, base, row) | more
    return [Outcome(**common, **of_alternative(base, other)) for other in others]


def of_alternative(base: AlternativeResult, other: AlternativeResult) -> dict[str, Any]:
    """Return what a row says of one alternative."""
    stated = other.measures.net_savings.value if other.measures else None
    savings = base.life_cycle_cost - other.life_cycle_cost if stated is None else stated
    return {
        "alternative": other.name,
        "kind": other.kind,
        "life_cycle_cost": other.life_cycle_cost,
        **of_ways(way_costs(base), way_costs(other), savings),
        **(_measured(other.measures) if other.measures else {}),
    }


def of_ways(base: WayCosts, own: WayCosts, savings: float) -> dict[str, Any]:
    """Return what a row says of one way of doing an alternative, whose net savings are known."""
    return {
        "first_year": own.first_year,
        "first_cost": own.first_cost,
        "net_savings": savings,
        "electricity_saved_kwh": base.electricity_kwh - own.electricity_kwh,
        "gas_saved_kwh": base.gas_kwh - own.gas_kwh,
        "energy_cost_saved": base.bill - own.bill,
        "emissions_saved_kg": base.emissions_kg - own.emissions_kg,
    }


def measured_columns(
    per_dollar: Measure, ratio: Measure, simple: Measure, later: Measure
) -> dict[str, Any]:
    """Return the columns of savings per dollar, of their ratio to investment, and of paybacks."""
    simple = earned(simple, later)
    return {
        "net_savings_per_cost": per_dollar.value,
        "savings_to_investment": ratio.value,
        "savings_to_investment_note": ratio.reason,
        "simple_payback_y": simple.value,
        "discounted_payback_y": later.value,
        "payback_note": later.reason or later.warning or simple.reason or simple.warning,
    }


def _measured(measures: Measures) -> dict[str, Any]:
    return measured_columns(
        measures.savings_per_dollar, measures.savings_to_investment_ratio,
        measures.simple_payback, measures.discounted_payback,
    )  # fmt: skip


def failed(building: int, name: str, error: CaseError, plan_years: int = 0) -> Outcome:
    """Return the row of a building that the core refused."""
    return outcome_class(plan_years)(building=building, name=name, problem=str(error))


def outcome_class(plan_years: int) -> type[Outcome]:
    """Return the class of the rows of an evaluation, with or without a plan's years."""
    return Begun if plan_years else Outcome


def as_frame(rows: Sequence[Outcome], cls: type[Outcome] = Outcome) -> pd.DataFrame:
    """Return outcomes as a frame: NaN for a missing figure, None for a missing text."""
    return framed([as_arrays(rows, cls, {})], cls)


def as_arrays(rows: Sequence[Outcome], cls: type[Outcome], texts: dict[Any, Any]) -> Arrays:
    """Return the words and the figures of outcomes, each text once for all calls with `texts`."""
    worded, numbers = _columns(cls)
    figures = np.array([[getattr(row, name) for name in numbers] for row in rows], np.float64)
    words = np.empty((len(rows), len(worded)), dtype=object)
    for column, name in enumerate(worded):
        values = [getattr(row, name) for row in rows]
        once = isinstance(values[0], str) or name == "cautions" if values else False
        words[:, column] = [texts.setdefault(one, one) for one in values] if once else values
    return words, figures.reshape(len(rows), len(numbers))


def framed(arrays: Sequence[Arrays], cls: type[Outcome] = Outcome) -> pd.DataFrame:
    """Return one frame of what `as_arrays` made, in that order."""
    worded, numbers = _columns(cls)
    words, figures = (np.concatenate(each) for each in zip(*arrays, strict=True))
    parts = (
        pd.DataFrame(words, columns=worded, dtype=object),
        pd.DataFrame(figures, columns=numbers, dtype=np.float64),
    )
    frame = pd.concat(parts, axis="columns")[list(facts_of(cls))]
    return frame.astype({"building": np.int64})


def _columns(cls: type[Outcome]) -> tuple[list[str], list[str]]:
    """Names of columns of words, and of those with figures that may be missing."""
    kinds = {name: facts.type for name, facts in facts_of(cls).items()}
    numbers = [n for n, kind in kinds.items() if kind in ("quantity", "whole") and n != "building"]
    return [name for name in kinds if name not in numbers], numbers
