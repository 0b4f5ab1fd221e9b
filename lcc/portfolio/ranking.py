"""Which roofs to do first: results in order of a measure, and what a programme comes to."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import Annotated

import numpy as np
import pandas as pd

from lcc.case.fields import Part, Parts, Quantity, Text, Whole, facts_of
from lcc.errors import CaseError
from lcc.figures import some_of
from lcc.portfolio.exact_heat import ALL_EXACT, Exactly, replaced, settled_plan, settled_set
from lcc.portfolio.one_budget import BudgetSet, best_set
from lcc.portfolio.outcome import YEAR_COUNTED, Outcome
from lcc.portfolio.owner_records import MUST_BY, MUST_DO
from lcc.portfolio.plan_tables import (
    BEGINS,
    FURTHER,
    WHOLE,
    CapitalPlan,
    Patience,
    Plan,
    multi_year_plan,
    told,
    with_trade_off,
)
from lcc.portfolio.rank_notes import rank_notes

# Measure -> column, and whether less is better.
MEASURES: dict[str, tuple[str, bool]] = {
    "net-savings-per-cost": ("net_savings_per_cost", False),
    "net-savings": ("net_savings", False),
    "savings-to-investment": ("savings_to_investment", False),
    "discounted-payback": ("discounted_payback_y", True),
}

MOST_NAMED = 5  # must-do roofs left undone
# Years of results, counted from 0.
YEAR_COLUMNS = ("base_work_year", "first_year", "planned_year")
# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Ranked(Outcome):
    """A result in its place: rank by the measure asked for, and whether the money reaches it."""

    rank: Annotated[int | None, Whole("Rank")] = None
    rank_note: Annotated[str | None, Text("What the rank rests on")] = None
    in_budget: Annotated[str | None, Text("In the best set under the budget")] = None
    planned_year: Annotated[int | None, Whole("Year in the plan", help=YEAR_COUNTED)] = None


@dataclass(frozen=True)
class Totals:
    """What the alternatives of a set of rows come to, one alternative to a building."""

    buildings: Annotated[int, Whole("Buildings")]
    roof_area_m2: Annotated[float, Quantity("area", "Roof area")]
    first_cost: Annotated[float, Quantity("money", "First cost, base-year money")]
    net_savings: Annotated[float, Quantity("money", "Net savings, present value")]
    electricity_saved_kwh: Annotated[float, Quantity(
        "electricity", "Electricity saved, mean of a year")]
    gas_saved_kwh: Annotated[float, Quantity("gas_energy", "Gas saved, mean of a year")]
    energy_cost_saved: Annotated[float, Quantity("money", "Energy bill saved, mean of a year")]
    emissions_saved_kg: Annotated[float, Quantity("mass", "CO2 saved, mean of a year")]
    shortfall: Annotated[float, Quantity(
        "money", "More that a better set might save, 0 where proved")] = 0.0


@dataclass(frozen=True)
class DueNow:
    """What falls due in the first year anyway, and what becomes of it under a budget."""

    buildings: Annotated[int, Whole("Roofs due now")]
    cost: Annotated[float, Quantity("money", "Cost of their base cases' work")]
    in_set: Annotated[int, Whole("Of them, roofs that the set renews with an alternative")]
    replaced_cost: Annotated[float, Quantity("money", "Base case work that the set replaces")]
    renewed: Annotated[int, Whole("Of them, roofs renewed as their base case has it")]
    renewed_cost: Annotated[float, Quantity("money", "Cost of that, out of the same budget")]
    put_off: Annotated[int, Whole("Of them, roofs patched and put off a year")]
    put_off_cost: Annotated[float, Quantity("money", "Cost of the work put off")]
    patching: Annotated[float, Quantity("money", "Patching of them, out of the same budget")]
    waiting_cost: Annotated[float, Quantity(
        "money", "What waiting a year costs over the study period, present value")]
    further_needed: Annotated[float, Quantity(
        "money", "Further money that patching and must-do work need at least")]


@dataclass(frozen=True)
class MustUndone:
    """A must-do roof that the money does not pay for in time."""

    building: Annotated[int, Whole("Row of the building")]
    name: Annotated[str, Text("Name")]
    by_year: Annotated[int | None, Whole(
        "Year of the plan by which it must begin", help=YEAR_COUNTED + " None: within the plan.")]
    cost: Annotated[float, Quantity("money", "What doing it costs at least")]
    under: Annotated[str, Text("What does not pay for it", help="budget or plan.")]
    alone: Annotated[str, Text(
        "Would the plan's budgets pay for it with nothing else done", help="yes or no.")] = ""


@dataclass(frozen=True)
class CapitalProgramme:
    """What a portfolio comes to: all its best alternatives, those in budget, those of a plan.

    `plan` stands beside the programme in a reply.
    """

    worthwhile: Annotated[Totals, Part("Every building's best alternative, where it saves")]
    in_budget: Annotated[Totals | None, Part("The best set under the budget")] = None
    due_now: Annotated[DueNow | None, Part("What falls due now anyway, under the budget")] = None
    must_undone: Annotated[str | None, Text(
        "Must-do roofs that the money does not pay for", help="A sentence, where there are any.")
    ] = None
    must_undone_roofs: Annotated[tuple[MustUndone, ...], Parts(
        "Must-do roofs that the money does not pay for, each")] = ()
    plan: CapitalPlan | None = None
    discount_rate: Annotated[float | None, Quantity(
        "rate", "Real discount rate of all present values")] = None
    price_factor: Annotated[float, Quantity(
        "ratio", "Factor on all roofing prices, 1 as entered")] = 1.0

    def of_table(
        self, first_year: int | None, refused: str, rate: float | None, factor: float = 1.0
    ) -> "CapitalProgramme":
        """Return the programme with the calendar year of its plan's year 0, and its terms.

        `refused` says which must-do roofs have rows that cannot be used; they come first.
        """
        return replace(
            self,
            discount_rate=rate,
            price_factor=factor,
            must_undone=" ".join(filter(None, (refused, self.must_undone))) or None,
            plan=self.plan and replace(self.plan, first_year=first_year),
        )


# fmt: on


def ranked(results: pd.DataFrame, by: str = "net-savings-per-cost") -> pd.DataFrame:
    """Return results in order of a measure, best first.

    Parameters
    ----------
    results : DataFrame
        Columns of `lcc.portfolio.outcome.Outcome`.
    by : str
        A key of `MEASURES`.

    Returns
    -------
    DataFrame
        Columns of `Ranked`. Rows that save, and have no figure because they need no extra
        investment, come first, by their net savings. Others without the figure come last and have
        no `rank`. Equal ones keep the order of the buildings.

    Raises
    ------
    CaseError
        If the measure is unknown.
    """
    if by not in MEASURES:
        raise CaseError("rank_by", by, f"one of {', '.join(MEASURES)}")
    column, less_is_better = MEASURES[by]
    unasked = results[column].isna() & results["savings_to_investment"].isna()
    free = unasked & (results["net_savings"] > 0)
    figure = results[column] if less_is_better else -results[column]
    places = np.lexsort((figure.mask(free, -results["net_savings"]), ~free))  # NaN last
    order = results.iloc[places].reset_index(drop=True)
    has = order[column].notna() | free.iloc[places].reset_index(drop=True)
    order["rank"] = has.cumsum().where(has).astype(float)
    order["rank_note"] = pd.Series(rank_notes(order, column), order.index, dtype=object)
    for name in ("in_budget", "planned_year"):
        if name not in order:
            order[name] = np.nan if name == "planned_year" else None
    return order[list(facts_of(Ranked))]


def best_rows(results: pd.DataFrame) -> pd.DataFrame:
    """Return each building's row of greatest net savings, where they are more than 0."""
    worth = results[results["net_savings"] > 0]
    best = worth.groupby("building")["net_savings"].idxmax()
    return worth.loc[best]


def totals(rows: pd.DataFrame, shortfall: float = 0.0) -> Totals:
    """Return the sums over rows, one to a building."""
    names = [field.name for field in fields(Totals)][1:-1]
    sums = {name: float(rows[name].sum()) for name in names}
    return Totals(buildings=len(rows), **sums, shortfall=shortfall)


def within_budget(
    results: pd.DataFrame, budget: float, exactly: Exactly = ALL_EXACT
) -> tuple[pd.DataFrame, BudgetSet]:
    """Return results with `in_budget` yes or no, and the set chosen; exact near a tie."""
    results, found = settled_set(results, lambda rows: best_set(rows, budget), exactly)
    has_figure = results["net_savings"].notna()
    words = [
        ("yes" if chosen else "no") if has else None
        for chosen, has in zip(found.chosen, has_figure, strict=True)
    ]
    return results.assign(in_budget=pd.Series(words, results.index, dtype=object)), found


Found = tuple[Plan, list[int]]  # a plan, and the buildings solved exactly for it
Search = Callable[[], Found]


def planned(
    results: pd.DataFrame,
    options: pd.DataFrame,
    budgets: Sequence[float],
    carry_over: bool = False,
    further: Sequence[float] = FURTHER,
    exactly: Exactly = ALL_EXACT,
    kept: Callable[[Search], Found] | None = None,
    patience: Patience = WHOLE,
) -> tuple[pd.DataFrame, Plan]:
    """Return results with the year in which the plan has each alternative, and the plan.

    Parameters
    ----------
    results : DataFrame
        As of `lcc.portfolio.evaluate`.
    options : DataFrame
        The same evaluated with `start_years` as many as `budgets`.
    budgets : sequence of float
        Money for each year from 0 on, in money of the year.
    carry_over : bool
        Whether what a year leaves passes to the next.
    further : sequence of float
        More money a year, for each of which the plan says what it would bring.
    exactly : Exactly
        How roofs near a tie are solved exactly.
    kept : callable
        Returns what a search finds, or what it found before.
    patience : Patience
        How long to search.
    """

    def plan_of(rows: pd.DataFrame) -> Plan:
        return multi_year_plan(rows, budgets, carry_over=carry_over, patience=patience)

    def search() -> Found:
        ways = options.rename(columns={"base_work_year": "due_year"})
        ways, plan, again = settled_plan(ways, len(budgets), plan_of, exactly)
        return with_trade_off(plan, ways, budgets, carry_over, further, patience), again

    plan, again = kept(search) if kept else search()
    if again and exactly.interpolated:
        results = replaced(results, exactly.solved(again, 0), again)
    begun = plan.work[plan.work["what"] == BEGINS]
    years = begun.set_index(["building", "alternative"])["year"]
    keys = pd.MultiIndex.from_frame(results[["building", "alternative"]])
    return results.assign(planned_year=years.reindex(keys).to_numpy(float)), plan


def programme(
    results: pd.DataFrame, chosen: BudgetSet | None = None, plan: Plan | None = None
) -> CapitalProgramme:
    """Return what a portfolio's results come to."""
    own = results.drop_duplicates("building").set_index("building")
    report = told(plan, own["name"]) if plan else None
    bought = [(one, cost, "budget", "") for one, cost in chosen.undone] if chosen else []
    fails = [one for one in report.fails if one.what == MUST_DO] if report else []
    failing = [(one.building, one.cost, "plan", one.alone) for one in fails]
    undone = tuple(
        MustUndone(one, own["name"][one], MUST_BY.get(own["must"][one]), cost, under, alone)
        for one, cost, under, alone in sorted(
            [*bought, *failing], key=lambda one: (one[2], -one[1])
        )
    )
    said = [
        *_undone("budget does not pay for", [one for one in undone if one.under == "budget"]),
        *_undone("plan does not pay in time for", [one for one in undone if one.under == "plan"]),
    ]
    return CapitalProgramme(
        totals(best_rows(results)),
        totals(results[chosen.chosen], chosen.shortfall) if chosen else None,
        due_now(results, chosen) if chosen else None,
        " ".join(said) or None,
        undone,
        report,
    )


def _undone(lacking: str, roofs: Sequence[MustUndone]) -> Iterator[str]:
    """Yield which must-do roofs money does not pay for, the dearest first."""
    if roofs:
        many = "1 must-do roof" if len(roofs) == 1 else f"{len(roofs):,} must-do roofs"
        named = [f"{one.name} (${one.cost:,.0f} at least)" for one in roofs]
        yield f"The {lacking} {many}: {some_of(named, MOST_NAMED)}."


def due_now(results: pd.DataFrame, chosen: BudgetSet) -> DueNow:
    """Return what falls due in the first year anyway, and what becomes of it under a budget."""
    due = results[results["waiting_cost"].notna()].drop_duplicates("building")
    due = due.set_index("building")
    own = due[due.index.isin(results.loc[chosen.chosen, "building"])]
    renewed, late = due.loc[list(chosen.renewed)], due.loc[list(chosen.put_off)]
    return DueNow(
        len(due), float(due["base_work_cost"].sum()),
        len(own), float(own["base_work_cost"].sum()),
        len(renewed), float(renewed["base_work_cost"].sum()),
        len(late), float(late["base_work_cost"].sum()), float(late["patching_cost"].sum()),
        float(late["waiting_cost"].sum()),
        chosen.further_needed,
    )  # fmt: skip
