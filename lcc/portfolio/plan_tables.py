"""The plan over years in tables and its report: work by year, what is put off, what fails."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Annotated, Any

import numpy as np
import pandas as pd

from lcc.arrays import Array, Flags
from lcc.case.fields import Parts, Quantity, Text, Whole
from lcc.portfolio.one_budget import check_budget
from lcc.portfolio.owner_records import MUST_DO
from lcc.portfolio.which_roof_when import CENT, LAST_CENTS, Selection, Ways, choose, followed, holds

PIECES = BEGINS, LATER, BASE_CASE, PATCHING = ("begins", "later work", "base case", "patching")
# Further money a year for which the answer says what it would bring.
FURTHER = (100_000.0, 200_000.0, 500_000.0, 1_000_000.0)


@dataclass(frozen=True)
class Patience:
    """How long to search: for a plan, for each further sum, and what part for the last cents.

    `known` are plans of the same options found before, by their positions. One that the money
    pays for, and that is cheaper than the search's result, is taken in its place.
    """

    plan_s: float = 30.0
    further_s: float = 4.0
    last: float = LAST_CENTS
    known: tuple[tuple[int, ...], ...] = ()

    def choice(self, ways: Ways, money: Array, carry_over: bool, seconds: float) -> Selection:
        """Return what is found in so many seconds, or the best of what is known."""
        found = choose(ways, money, carry_over, seconds, self.last)
        if found.unpaid.any() or found.unmet.any():
            return found
        costs = ways.rows["life_cycle_cost"].to_numpy(float)
        for taken in self.known:
            flags = np.isin(ways.rows["option"], taken)
            spare, less = money - ways.cost[flags].sum(axis=0), costs[found.taken].sum()
            less -= costs[flags].sum()
            whole = np.array_equal(np.sort(ways.building[flags]), np.arange(ways.buildings))
            if whole and ways.dutiful[flags].all() and less > CENT and holds(spare, carry_over):
                found = replace(found, taken=flags, gap=max(0.0, found.gap - less))
        return found


WHOLE = Patience()
AT_ONCE = Patience(1.0, 0.15, 0.0)  # an answer now is worth more than its last cents


@dataclass(frozen=True)
class Plan:
    """What is done in each year of a programme, what it costs, and what is put off.

    Attributes
    ----------
    work : DataFrame
        One row for each piece of work: `building`, `alternative` (empty for the base case),
        `what` it is (one of `PIECES`), `year`, `cost` in money of its year and, where an
        alternative begins, its `net_savings`.
    years : DataFrame
        One row a year: `year`, `budget`, `spent`, `carried_over` to the next year, `unfunded`
        (patching and must-do work that the money does not reach) and `further_needed`, the
        least further money that would pay for all of it, as late as it may come.
    deferred : DataFrame
        One row for each roof that is not renewed in the year in which it falls due: `building`,
        `due_year`, `done_year` (NaN where not within the plan), `cost` of what the plan does
        then, or of what would cost least over the study period where it does nothing, `patching`
        due until then, paid for or not, and `leak_risk`, the damage by leaks to expect, all in
        money of the year.
    fails : DataFrame
        What the money does not reach: `building`, `year`, `what`, `cost`, and of must-do roofs
        `alone`, whether the budgets would pay for it with nothing else done.
    trade_off : DataFrame
        `further_a_year`, and with that much more in every year `net_savings`, `deferred`, the
        cost of what is put off, `undone`, that of it which is not done within the plan,
        `shortfall`, what a better plan might save beyond, `unfunded`, what stays unpaid, and
        `unfunded_at_least`, what no plan can pay for. More money never
        leaves more unpaid, nor saves less where as much stays unpaid; it may save less where it
        pays for more that cannot wait.
    life_cycle_cost, net_savings : float
        Of the whole, and against every base case done when it falls due [present value].
    shortfall : float
        Bound on how much less a better plan could cost, 0 where it is proved best.
    taken : tuple of int
        Positions of the options taken; those of each further sum stand in `trade_off`.
    carry_over : bool
        Whether what a year leaves passes to the next.
    """

    work: pd.DataFrame
    years: pd.DataFrame
    deferred: pd.DataFrame
    fails: pd.DataFrame
    trade_off: pd.DataFrame
    life_cycle_cost: float
    net_savings: float
    shortfall: float
    taken: tuple[int, ...] = ()
    carry_over: bool = False

    @property
    def known(self) -> tuple[tuple[int, ...], ...]:
        """The positions of the options of the plan, and of those of each further sum."""
        return (self.taken, *(tuple(one) for one in self.trade_off["taken"]))

    def is_of(self, budgets: Sequence[float], carry_over: bool) -> bool:
        """Tell whether the plan is one of these budgets."""
        return self.years["budget"].tolist() == [*budgets] and self.carry_over == carry_over


def multi_year_plan(
    options: pd.DataFrame,
    budgets: Sequence[float],
    *,
    carry_over: bool = False,
    patience: Patience = WHOLE,
) -> Plan:
    """Return the plan of least life-cycle cost in which no year spends more than it has.

    Parameters
    ----------
    options : DataFrame
        One row for each way to treat a roof: `building` (its number), `alternative` (empty for
        the base case), `begins` (year of its first work, NaN where that is not in the plan),
        `due_year` (in which the base case renews the roof, NaN where it does not), `due_cost` of
        that work, `life_cycle_cost`, `base_life_cycle_cost`, `leak_risk`, and by year of the
        plan, in money of the year, `work` and `patching`. `must` is one of `MUST` or empty, and
        may be left out. Every building needs an option without work in the plan.
    budgets : sequence of float
        Money for years 0, 1, 2, ..., each in money of its year.
    carry_over : bool
        Whether what a year leaves passes to the next.
    patience : Patience
        How long to search.

    Returns
    -------
    Plan

    Raises
    ------
    CaseError
        For a budget that is no sum.

    Notes
    -----
    Binary programme: x for each option, exactly one option a building; with c_t what an option
    costs in year t, patching included, and B_t the budgets,

        min Σ LCC x,   Σ c_t x ≤ B_t for each year t,

    or with money carried over the same of the sums up to each t. The options of a roof are to
    hold each alternative and the base case begun in each year, and patching it to the end. Where
    the money does not even pay for patching and for what must be done, what stays unpaid is made
    least first: the patching of a roof in a year, or a must-do roof.

    References
    ----------
    ASTM E917, the life-cycle cost of the whole as the measure to make least.

    Examples
    --------
    Two roofs are due at once with money for one; the other is patched and done a year later.

    >>> roof = {"alternative": ["", "metal", "metal"], "begins": [np.nan, 0, 1], "due_year": 0,
    ...     "due_cost": 7.0, "base_life_cycle_cost": 58.0, "leak_risk": [4.0, 0.0, 2.0],
    ...     "work": [(0.0, 0.0), (9.0, 0.0), (0.0, 9.0)],
    ...     "patching": [(1.0, 1.0), (0.0, 0.0), (1.0, 0.0)]}
    >>> options = pd.concat([
    ...     pd.DataFrame({"building": 1, "life_cycle_cost": [60.0, 50.0, 53.0], **roof}),
    ...     pd.DataFrame({"building": 2, "life_cycle_cost": [60.0, 50.0, 55.0], **roof})])
    >>> plan = multi_year_plan(options, [10.0, 10.0])
    >>> plan.work["building"].tolist(), plan.work["year"].tolist(), plan.years["spent"].tolist()
    ([1, 2, 1], [0, 0, 1], [10.0, 9.0])
    """
    for year, budget in enumerate(budgets):
        check_budget(f"budgets.{year}", budget)
    ways, money = Ways.of(options, len(budgets)), np.asarray(budgets, float)
    choice = patience.choice(ways, money, carry_over, patience.plan_s)
    choice = followed(ways, choice, money, carry_over, patience.plan_s)
    return _plan(ways, choice, money, carry_over)


def with_trade_off(
    plan: Plan,
    options: pd.DataFrame,
    budgets: Sequence[float],
    carry_over: bool,
    further: Sequence[float],
    patience: Patience = WHOLE,
) -> Plan:
    """Return a plan with what further sums in every year would bring.

    Parameters
    ----------
    plan : Plan
        The plan of `options` and `budgets`.
    further : sequence of float
        Sums by which every year's budget is raised.
    options, budgets, carry_over, patience
        As of `multi_year_plan`.
    """
    ways, money = Ways.of(options, len(budgets)), np.asarray(budgets, float)
    put_off, unpaid = _waits(plan.deferred), float(plan.fails["cost"].sum())
    least = min(unpaid, float(plan.years["further_needed"].sum()))
    points = [(0.0, plan.net_savings, *put_off, plan.shortfall, unpaid, least, [*plan.taken])]
    for more in further:
        choice = patience.choice(ways, money + more, carry_over, patience.further_s)
        rows = ways.rows[choice.taken].reset_index(drop=True)
        saved, gap = _saved(rows), choice.gap
        put_off = _waits(_deferred(ways, choice.taken))
        unpaid = float(_fails(ways, choice, money + more, carry_over)["cost"].sum())
        _, before, late, undone, _, left, _, same = points[-1]
        taken = rows["option"].tolist()
        # What a smaller budget pays for a larger one pays for too, so an unfinished search is no
        # worse: first in what stays unpaid, then in what is saved.
        if unpaid > left + CENT or (unpaid > left - CENT and saved < before):
            saved, gap = before, saved + gap - before
            put_off, unpaid, taken = (late, undone), left, same
        least = min(unpaid, float(choice.needed.sum()))
        points.append((more, saved, *put_off, max(0.0, gap), unpaid, least, taken))
    return replace(plan, trade_off=pd.DataFrame(points, columns=list(_TRADE_OFF)))


def _saved(rows: pd.DataFrame) -> float:
    return float((rows["base_life_cycle_cost"] - rows["life_cycle_cost"]).sum())


def _plan(ways: Ways, choice: Selection, money: Array, carry_over: bool) -> Plan:
    rows = ways.rows[choice.taken].reset_index(drop=True)
    building = ways.building[choice.taken]
    work, patching = ways.work[choice.taken], ways.patching[choice.taken]
    unpaid = patching * choice.unpaid[building]
    pieces = pd.concat([_work(rows, work), _pieces(rows, patching - unpaid, PATCHING)])
    fails = _fails(ways, choice, money, carry_over)
    pieces = pieces[_WORK].sort_values(["year", "building"], kind="stable", ignore_index=True)
    return Plan(
        work=pieces,
        years=_years(pieces, fails, choice, money, carry_over),
        deferred=_deferred(ways, choice.taken),
        fails=fails[_FAILS].reset_index(drop=True),
        trade_off=pd.DataFrame(columns=list(_TRADE_OFF)),
        life_cycle_cost=float(rows["life_cycle_cost"].sum()),
        net_savings=_saved(rows),
        shortfall=choice.gap,
        taken=tuple(int(each) for each in rows["option"]),
        carry_over=carry_over,
    )


_WORK = ["building", "alternative", "what", "year", "cost", "net_savings"]
_FAILS = ["building", "year", "what", "cost", "alone"]
_DEFERRED = ["building", "due_year", "done_year", "cost", "patching", "leak_risk"]
_TRADE_OFF = (
    "further_a_year", "net_savings", "deferred", "undone", "shortfall", "unfunded",
    "unfunded_at_least", "taken",
)  # fmt: skip


def _fails(ways: Ways, choice: Selection, money: Array, carry_over: bool) -> pd.DataFrame:
    """Return what a choice leaves unpaid: patching and must-do work."""
    rows = ways.rows[choice.taken].reset_index(drop=True)
    building = ways.building[choice.taken]
    unpaid = ways.patching[choice.taken] * choice.unpaid[building]
    patching = _pieces(rows, unpaid, PATCHING).assign(alone="")
    if not choice.unmet.any():
        return patching
    left = rows[choice.unmet[building]]
    able = ways.only(ways.in_time & choice.unmet[ways.building])
    return pd.concat([patching, _unmet(left, able, holds(money - able.cost, carry_over))])


def _work(rows: pd.DataFrame, costs: Array) -> pd.DataFrame:
    """Return one row for each year in which there is work, or in which an alternative begins."""
    begins = rows["begins"].to_numpy(float)[:, np.newaxis] == np.arange(costs.shape[1])
    own = (rows["alternative"] != "").to_numpy()
    pieces = _pieces(rows, costs, LATER, more=begins & own[:, np.newaxis])
    first = pieces["begins"] == pieces["year"]
    pieces["what"] = np.where(
        pieces["alternative"] == "", BASE_CASE, np.where(first, BEGINS, LATER)
    )
    saved = pieces["base_life_cycle_cost"] - pieces["life_cycle_cost"]
    return pieces.assign(net_savings=saved.where(pieces["what"] == BEGINS, 0.0))


def _pieces(
    rows: pd.DataFrame, costs: Array, what: str, more: Flags | bool = False
) -> pd.DataFrame:
    row, year = np.nonzero((costs > 0) | more)
    pieces = rows.iloc[row].assign(year=year, cost=costs[row, year], what=what, net_savings=0.0)
    return pieces if what != PATCHING else pieces.assign(alternative="")


def _unmet(left: pd.DataFrame, able: Ways, fits: Flags) -> pd.DataFrame:
    """Return the must-do buildings that are not done, with what doing them costs at least.

    `able` are their options that do them in time, `fits` those that the budgets alone pay for.
    """
    least = able.rows.assign(cost=able.cost.sum(axis=1)).groupby("building")["cost"].min()
    building = left["building"]
    return left.assign(
        year=left["due_year"].fillna(0).astype(int),
        what=MUST_DO,
        cost=building.map(least),
        alone=np.where(building.isin(able.rows.loc[fits, "building"]), "yes", "no"),
    )


def _years(
    pieces: pd.DataFrame, fails: pd.DataFrame, choice: Selection, money: Array, carry_over: bool
) -> pd.DataFrame:
    years = range(len(money))
    spent, unfunded = (
        one.groupby("year")["cost"].sum().reindex(years, fill_value=0.0).to_numpy(float)
        for one in (pieces, fails)
    )
    left = np.cumsum(money - spent) if carry_over else np.zeros(len(money))
    return pd.DataFrame(
        {
            "year": years,
            "budget": money,
            "spent": spent,
            "carried_over": np.where(left > CENT, left, 0.0),
            "unfunded": unfunded,
            "further_needed": np.where(choice.needed > CENT, choice.needed, 0.0),
        }
    )


def _waits(deferred: pd.DataFrame) -> tuple[float, float]:
    """Return the cost of all that is put off, and of that which is not done within the plan."""
    costs = deferred["cost"]
    return float(costs.sum()), float(costs[deferred["done_year"].isna()].sum())


def _deferred(ways: Ways, taken: Flags) -> pd.DataFrame:
    """Return the roofs that fall due in the plan and are renewed later, or not in it.

    The cost is that of the work that begins the way chosen. A roof that is not renewed has the cost
    of the base case's first work, done its cheapest way in the year when it falls due.
    """
    rows, patching = ways.rows[taken].reset_index(drop=True), ways.patching[taken]
    own = ways.begun_for[taken]
    cost = np.where(own > 0, own, rows["due_cost"])
    begins, due = rows["begins"].astype(float), rows["due_year"].astype(float)
    late = (due < patching.shape[1]) & ~(begins <= due)
    put_off = rows.assign(done_year=begins, cost=cost, patching=patching.sum(axis=1))
    rows = put_off.loc[late, _DEFERRED]
    return pd.DataFrame(rows.sort_values("due_year", kind="stable", ignore_index=True))


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
        "money", "Cost of what is done then, or would cost least; money of the year")]
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
    deferred: Annotated[float, Quantity("money", "Cost of what is put off past its year")]
    shortfall: Annotated[float, Quantity(
        "money", "More that a better plan might save, 0 where proved")] = 0.0
    unfunded: Annotated[float, Quantity(
        "money", "Patching and must-do work that the money does not reach")] = 0.0
    unfunded_at_least: Annotated[float, Quantity(
        "money", "What no plan of that money can pay for; `unfunded` where proved")] = 0.0
    undone: Annotated[float, Quantity("money", "Of what is put off, not within the plan")] = 0.0


@dataclass(frozen=True)
class CapitalPlan:
    """A plan over years, its sums first."""

    net_savings: Annotated[float, Quantity(
        "money", "Net savings against every base case done on time, present value")]
    life_cycle_cost: Annotated[float, Quantity("money", "Life-cycle cost of the whole")]
    shortfall: Annotated[float, Quantity(
        "money", "More that a better plan might save, 0 where proved")]
    deferred_cost: Annotated[float, Quantity("money", "Cost of all that is put off past its year")]
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
