"""The report of a plan over years: work by year, what is put off, what fails."""

from dataclasses import dataclass, fields
from typing import Annotated, Any

import pandas as pd

from lcc.case.fields import Parts, Quantity, Text, Whole
from lcc.portfolio.plan_tables import Plan

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class YearOfPlan:
    """One year of a plan: money there is, money spent, and what it does not reach."""

    year: Annotated[int, Whole("Year")]
    budget: Annotated[float, Quantity("money", "Budget, money of the year")]
    spent: Annotated[float, Quantity("money", "Spent, money of the year")]
    carried_over: Annotated[float, Quantity("money", "Left and carried over to the next year")]
    unfunded: Annotated[float, Quantity(
        "money", "Patching and must-do work that the money does not reach")]
    further_needed: Annotated[float, Quantity(
        "money", "Least further money that would pay for all of it, as late as it may come")]


@dataclass(frozen=True)
class PlannedWork:
    """One piece of a plan; without an alternative it is the base case's own, or patching."""

    building: Annotated[int, Whole("Row of the building")]
    name: Annotated[str, Text("Name")]
    alternative: Annotated[str, Text("Alternative")] = ""
    what: Annotated[str, Text("What it is")] = ""
    year: Annotated[int, Whole("Year")] = 0
    cost: Annotated[float, Quantity("money", "Cost, money of the year")] = 0.0
    net_savings: Annotated[float, Quantity("money", "Net savings, present value")] = 0.0


@dataclass(frozen=True)
class DeferredRoof:
    """A roof that is not renewed in the year in which it falls due."""

    building: Annotated[int, Whole("Row of the building")]
    name: Annotated[str, Text("Name")]
    due_year: Annotated[int, Whole("Year in which it falls due")]
    done_year: Annotated[int | None, Whole("Year in which it is renewed, none within the plan")]
    cost: Annotated[float, Quantity(
        "money", "Cost of the work that was due, money of that year")]
    patching: Annotated[float, Quantity(
        "money", "Patching due within the plan, paid for or not, money of each year")]
    leak_risk: Annotated[float, Quantity(
        "money", "Damage by leaks to expect meanwhile, money of each year")]


@dataclass(frozen=True)
class FailingRoof:
    """Work that the money does not reach: a year's patching, or what must be done."""

    building: Annotated[int, Whole("Row of the building")]
    name: Annotated[str, Text("Name")]
    year: Annotated[int, Whole("Year")]
    what: Annotated[str, Text("What it is")]
    cost: Annotated[float, Quantity("money", "Cost, money of the year")]
    alone: Annotated[str, Text("Would the budgets pay for it with nothing else done")] = ""


@dataclass(frozen=True)
class FurtherMoney:
    """What more money in every year of the plan would bring."""

    further_a_year: Annotated[float, Quantity("money", "Further money in each year")]
    net_savings: Annotated[float, Quantity("money", "Net savings of the plan, present value")]
    deferred: Annotated[float, Quantity("money", "Cost of the work put off")]
    shortfall: Annotated[float, Quantity(
        "money", "More that a better plan might save, 0 where proved")] = 0.0
    unfunded: Annotated[float, Quantity(
        "money", "Patching and must-do work that the money does not reach")] = 0.0
    unfunded_at_least: Annotated[float, Quantity(
        "money", "What no plan of that money can pay for; `unfunded` where proved")] = 0.0


@dataclass(frozen=True)
class CapitalPlan:
    """A plan over years, its sums first."""

    net_savings: Annotated[float, Quantity(
        "money", "Net savings against every base case done on time, present value")]
    life_cycle_cost: Annotated[float, Quantity("money", "Life-cycle cost of the whole")]
    shortfall: Annotated[float, Quantity(
        "money", "More that a better plan might save, 0 where proved")]
    deferred_cost: Annotated[float, Quantity("money", "Cost of all work put off past its year")]
    patching: Annotated[float, Quantity("money", "All patching due, money of each year")]
    leak_risk: Annotated[float, Quantity(
        "money", "All damage by leaks to expect past due, money of each year")]
    first_year: Annotated[int | None, Whole(
        "Calendar year of year 0, where the mapping of the table says it")] = None
    years: Annotated[tuple[YearOfPlan, ...], Parts("Years")] = ()
    work: Annotated[tuple[PlannedWork, ...], Parts("Work")] = ()
    deferred: Annotated[tuple[DeferredRoof, ...], Parts("Roofs put off past the year due")] = ()
    fails: Annotated[tuple[FailingRoof, ...], Parts("What the money does not reach")] = ()
    trade_off: Annotated[tuple[FurtherMoney, ...], Parts("What further money would bring")] = ()

    def calendar(self, year: int) -> int:
        """Return a year of the plan as it is shown: of the calendar, or counted from 0."""
        return year + (self.first_year or 0)


# fmt: on


def told(plan: Plan, names: pd.Series) -> CapitalPlan:
    """Return the report of a plan.

    Parameters
    ----------
    plan : Plan
        The plan.
    names : Series
        Names of the roofs by number of the building.
    """
    put_off = plan.deferred
    return CapitalPlan(
        net_savings=plan.net_savings,
        life_cycle_cost=plan.life_cycle_cost,
        shortfall=plan.shortfall,
        deferred_cost=float(put_off["cost"].sum()),
        patching=float(put_off["patching"].sum()),
        leak_risk=float(put_off["leak_risk"].sum()),
        years=_rows(plan.years, YearOfPlan, names),
        work=_rows(plan.work, PlannedWork, names),
        deferred=_rows(put_off, DeferredRoof, names),
        fails=_rows(plan.fails, FailingRoof, names),
        trade_off=_rows(plan.trade_off, FurtherMoney, names),
    )


def _rows(frame: pd.DataFrame, cls: type[Any], names: pd.Series) -> tuple[Any, ...]:
    """Return the rows of a frame as instances, with the name of each building."""
    if "building" in frame:
        frame = frame.assign(name=frame["building"].map(names))
    kept = frame[[field.name for field in fields(cls)]].astype(object)
    whole = [name for name in ("building", "year", "due_year", "done_year") if name in kept]
    plain = kept.where(kept.notna(), None).to_dict("records")
    return tuple(
        cls(**{str(n): int(v) if n in whole and v is not None else v for n, v in row.items()})
        for row in plain
    )
