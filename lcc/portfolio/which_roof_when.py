"""The ways to treat each roof of a plan, and which is done in which year: a binary programme."""

from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice, zip_longest

import numpy as np
import pandas as pd
from scipy.optimize import LinearConstraint
from scipy.sparse import csr_array, hstack, identity

from lcc.arrays import Array, Flags, Integers
from lcc.errors import CaseError
from lcc.portfolio.milp_calls import Optimum, matrix_of, minimise, relaxed, stacked
from lcc.portfolio.owner_records import MUST_BY, MUST_NOT, NOT_BEFORE, TO_DO

CENT = 0.01
# Proof within this part of the life-cycle cost of the whole comes first; then, for proof to the
# cent, this part of the time again. What stays unpaid is least within this part of the budgets.
PROVED, LAST_CENTS = 1e-4, 0.25
# Options beyond those of the relaxed problem among which a plan is searched first.
NEAREST = 30
UNMET = 1e12  # dollars; what leaving a must-do roof undone counts without search


@dataclass(frozen=True)
class Ways:
    """The options of every building, with what each costs in each year of the plan.

    `rows` has one row an option, `work` and `patching` its costs (options, years) [money of the
    year], `building` the position of its building, `acts` whether it has work in the plan and
    `in_time` whether that begins by the year by which it must.
    """

    rows: pd.DataFrame
    work: Array
    patching: Array
    building: Integers
    acts: Flags
    in_time: Flags
    must_do: Flags

    @classmethod
    def of(cls, options: pd.DataFrame, years: int) -> "Ways":
        """Return the options of a frame as `plan_tables.multi_year_plan` takes it."""
        rows = options.assign(option=np.arange(len(options)))
        rows = rows[rows["life_cycle_cost"].notna()].reset_index(drop=True)
        must = np.asarray(rows["must"] if "must" in rows else [""] * len(rows), dtype=object)
        work = _by_year(rows["work"], years)
        _, building = np.unique(rows["building"].to_numpy(), return_inverse=True)
        must_do: Flags = np.asarray(np.bincount(building, np.isin(must, TO_DO)) > 0)
        acts = np.asarray((work > 0).any(axis=1))
        begins = (work > 0).argmax(axis=1)
        in_time = acts & (begins <= [MUST_BY.get(one, years) for one in must])
        free = NOT_BEFORE | {MUST_NOT: years}  # the first year in which a roof may be worked on
        early = acts & (begins < [free.get(one, 0) for one in must])
        ways = cls(rows, work, _by_year(rows["patching"], years), building, acts, in_time, must_do)
        other = np.bincount(building, ~early) > 0
        return ways.only(~(early & other[building]))

    @property
    def buildings(self) -> int:
        """How many buildings there are."""
        return len(self.must_do)

    @property
    def cost(self) -> Array:
        """What each option costs in each year."""
        return np.asarray(self.work + self.patching)

    @property
    def regret(self) -> Array:
        """How much more each option's life-cycle cost is than the least of its building."""
        costs = self.rows["life_cycle_cost"].to_numpy(float)
        return np.asarray(costs - self.least_of(costs)[self.building])

    @cached_property
    def begun_for(self) -> Array:
        """What the first work of each way costs, or of its roof's cheapest way that acts."""
        first = self.work[np.arange(len(self.work)), (self.work > 0).argmax(axis=1)]
        best = self.places(self.least(np.where(self.acts, self.regret, np.inf)))
        return np.asarray(np.where(self.acts, first, first[best][self.building]))

    def least(self, sums: Array) -> Flags:
        """Return of each building the option of the least of some sums, the first of equals."""
        order = np.lexsort((sums, self.building))
        _, first = np.unique(self.building[order], return_index=True)
        flags = np.zeros(len(self.rows), dtype=bool)
        flags[order[first]] = True
        return flags

    def least_of(self, sums: Array) -> Array:
        """Return of each building the least of some sums of its options."""
        least = np.full(self.buildings, np.inf)
        np.minimum.at(least, self.building, sums)
        return least

    def places(self, taken: Flags) -> Integers:
        """Return which option each building has of a choice."""
        return np.flatnonzero(taken)[np.argsort(self.building[taken])]

    def summed(self, values: Array) -> csr_array:
        """Return the matrix that adds up a value of each option by building."""
        count = len(self.rows)
        places = self.building, np.arange(count)
        return csr_array((values, places), shape=(self.buildings, count))

    def only(self, kept: Flags) -> "Ways":
        """Return these options without some."""
        return replace(
            self,
            rows=self.rows[kept].reset_index(drop=True),
            work=self.work[kept],
            patching=self.patching[kept],
            building=self.building[kept],
            acts=self.acts[kept],
            in_time=self.in_time[kept],
        )

    @property
    def dutiful(self) -> Flags:
        """The options that do what must be done, where a building has any such."""
        able = np.bincount(self.building, self.in_time, minlength=self.buildings) > 0
        return np.asarray(self.in_time | ~(self.must_do & able)[self.building])


@dataclass(frozen=True)
class Selection:
    """Which options are taken, what is left unpaid, and how far below a better choice may lie.

    `unpaid` says for each building and year whether its patching is not paid for, `unmet` which
    must-do buildings are not done, and `needed` what further money in each year would do.
    """

    taken: Flags
    gap: float
    unpaid: Flags
    unmet: Flags
    needed: Array


def choose(
    ways: Ways, money: Array, carry_over: bool, time_limit_s: float, last: float = LAST_CENTS
) -> Selection:
    """Return the options of least life-cycle cost that the money of each year pays for.

    Parameters
    ----------
    ways : Ways
        The options.
    money : array, shape (years,)
        Budgets [money of the year].
    carry_over : bool
        Whether what a year leaves passes to the next.
    time_limit_s : float
        Seconds of search for each step.
    last : float
        Part of those seconds for the step that proves the last cents.

    Notes
    -----
    Where the search finds none in that time, the options of least spending are taken and bettered
    one by one; `gap` then says how far that lies above a bound.
    """
    bound = ways.only(ways.dutiful)
    limits = [_one_each(bound), _spending(bound, money, carry_over)]
    try:
        found = _best(bound, limits, time_limit_s, last)
    except TimeoutError:
        found = _unsearched(bound, limits, money, carry_over)
    if found is None:
        return _short_of_money(ways, money, carry_over, time_limit_s)
    taken = np.zeros(len(ways.rows), dtype=bool)
    taken[np.flatnonzero(ways.dutiful)[found.flags]] = True
    none = np.zeros((ways.buildings, len(money)), dtype=bool)
    return Selection(taken, found.gap, none, none[:, 0], np.zeros(len(money)))


def _best(
    ways: Ways, limits: list[LinearConstraint], time_limit_s: float, last: float
) -> Optimum | None:
    """Return the cheapest choice, proved to a small part of its cost first, then to the cent.

    The first search leaves out options that the relaxed problem finds far from the best. The last
    leaves out only those that its gap proves to be in no better choice.
    """
    costs = ways.rows["life_cycle_cost"].to_numpy(float)
    bound = relaxed(costs, *limits)
    if bound is None:
        return None
    least, above = bound
    near = None
    for within in _wider(above):
        try:
            found = _among(above <= within, costs, limits, time_limit_s, PROVED)
        except TimeoutError:
            if near is None and within < np.inf:
                continue
            if near is None:
                raise
            break
        if found and (near is None or found.cost < near.cost):
            over = found.cost - least  # a choice with any other option costs at least `within` more
            near = replace(found, gap=min(over, max(found.gap, over - within)))
        if near and (not last or near.gap <= PROVED * abs(least)):
            break
    if near is None or near.gap < CENT:
        return near and replace(near, gap=0.0)
    with suppress(TimeoutError):
        rest = above <= near.cost - least + CENT
        exact = _among(rest, ways.regret, limits, last * time_limit_s) if last else None
        if exact is not None and exact.gap < near.gap:
            return exact
    return near


def _unsearched(
    ways: Ways, limits: list[LinearConstraint], money: Array, carry_over: bool
) -> Optimum | None:
    """Return a choice that the money pays for, made without search, and how far it may be off."""
    flags = ways.least(ways.cost.sum(axis=1))
    spare = money - ways.cost[flags].sum(axis=0)
    costs = ways.rows["life_cycle_cost"].to_numpy(float)
    bound = relaxed(costs, *limits)
    if bound is None or not holds(spare, carry_over):
        return None
    flags = bettered(ways, flags, spare, carry_over)
    cost = float(costs[flags].sum())
    return Optimum(flags.astype(float), flags, cost, max(0.0, cost - bound[0]))


def holds(spare: Array, carry_over: bool) -> Flags:
    """Tell whether what is left in each year, along the last axis, overspends no year."""
    return np.asarray(((np.cumsum(spare, axis=-1) if carry_over else spare) >= 0).all(axis=-1))


def bettered(
    ways: Ways, taken: Flags, spare: Array, carry_over: bool, fixed: Flags | None = None
) -> Flags:
    """Return a choice with better options put in where the money left by year pays for them.

    Those come first that save most for what they cost; buildings that are `fixed` stay.
    """
    regret, cost = np.where(ways.dutiful, ways.regret, UNMET), ways.cost
    place = ways.places(taken)
    gain = regret[place][ways.building] - regret
    for option in np.argsort(-gain / np.maximum(cost.sum(axis=1), CENT), kind="stable"):
        building = ways.building[option]
        left = spare + cost[place[building]] - cost[option]
        better = regret[option] < regret[place[building]]
        if better and holds(left, carry_over) and (fixed is None or not fixed[building]):
            place[building], spare = option, left
    flags = np.zeros(len(taken), dtype=bool)
    flags[place] = True
    return flags


def _wider(above: Array) -> list[float]:
    """Return how far above the relaxed problem options are looked at: near it first, then all."""
    further = np.sort(above[above > CENT])
    return [*(further[few] for few in (NEAREST, 10 * NEAREST) if few < len(further)), np.inf]


def _among(
    kept: Flags, costs: Array, limits: list[LinearConstraint], time_limit_s: float,
    enough: float = 0.0,
) -> Optimum | None:  # fmt: skip
    """Return the cheapest choice among some of the options, its flags for all of them."""
    own = [LinearConstraint(matrix_of(one)[:, kept], one.lb, one.ub) for one in limits]
    found = minimise(costs[kept], own, int(kept.sum()), time_limit_s, enough)
    if found is None:
        return None
    flags = np.zeros(len(kept), dtype=bool)
    flags[kept] = found.flags
    return replace(found, flags=flags)


def _one_each(ways: Ways, more: int = 0) -> LinearConstraint:
    sums = hstack([ways.summed(np.ones(len(ways.rows))), csr_array((ways.buildings, more))])
    return LinearConstraint(csr_array(sums), lb=1.0, ub=1.0)


def _spending(
    ways: Ways, money: Array, carry_over: bool, more: Array | None = None
) -> LinearConstraint:
    """Return the limit that no year, or no run of years from the first, overspends.

    `more` are further columns, by year, that add to the spending or take from it.
    """
    cost = ways.cost.T if more is None else np.hstack([ways.cost.T, more])
    if carry_over:
        return LinearConstraint(csr_array(np.cumsum(cost, axis=0)), ub=np.cumsum(money))
    return LinearConstraint(csr_array(cost), ub=money)


@dataclass(frozen=True)
class _Short:
    """Where not even patching can be paid: what may stay unpaid, as further unknowns.

    After the options come the patching owed by building and year, and the must-do buildings left
    undone; `unpaid` is what each counts, `regret` what each option costs beyond the least.
    """

    ways: Ways
    money: Array
    carry_over: bool
    owed: Array
    limits: list[LinearConstraint]
    unpaid: Array
    regret: Array
    needed: Array

    def most(self, unpaid: float) -> LinearConstraint:
        """Return the limit that no more stays unpaid."""
        return LinearConstraint(self.unpaid[np.newaxis, :], ub=unpaid + _slack(self.money))

    def flags(self, found: Flags) -> tuple[Flags, Flags]:
        """Return which options are taken, and what patching is unpaid by building and year."""
        count = len(self.ways.rows)
        flags = self.owed > 0
        flags[flags] = found[count : count + int(flags.sum())]
        return found[:count], flags

    def bettered(self, taken: Flags, unpaid: Flags) -> Selection:
        """Return a choice bettered without search, and how far it lies above a bound.

        The bound is that of choices that leave no more unpaid.
        """
        ways = self.ways
        place = ways.places(taken)
        left = ways.patching[place] * unpaid
        spare = self.money - ways.cost[place].sum(axis=0) + left.sum(axis=0)
        taken = bettered(ways, taken, spare, self.carry_over, left.sum(axis=1) > 0)
        unmet = ways.must_do & ~ways.in_time[ways.places(taken)]
        most = self.most(left.sum() + self.unpaid[-ways.buildings :][unmet].sum())
        least = relaxed(self.regret, self.limits[0], stacked([*self.limits[1:], most]))
        gap = float(ways.regret[taken].sum()) - (least[0] if least else 0.0)
        needed = self.needed * (unmet.any() or left.any())
        return Selection(taken, max(CENT, gap), left > 0, unmet, needed)


def _short_of_money(ways: Ways, money: Array, carry_over: bool, time_limit_s: float) -> Selection:
    """Return the choice where not even patching can be paid: least unpaid, then least cost."""
    short = _short(ways, money, carry_over, time_limit_s)
    count = len(short.unpaid)
    try:
        least = minimise(short.unpaid, short.limits, count, time_limit_s, PROVED)
    except TimeoutError:
        return short.bettered(*_patched_at_most(ways, money, carry_over))
    if least is None:
        raise CaseError("options", "some", _IDLE)
    best = None
    with suppress(TimeoutError):
        limits = [*short.limits, short.most(least.cost)]
        best = minimise(short.regret, limits, count, time_limit_s)
    taken, unpaid = short.flags((best or least).flags)
    if best is None or least.gap > PROVED * least.cost + CENT:
        return short.bettered(taken, unpaid)
    unmet = best.flags[-ways.buildings :] & ways.must_do
    return Selection(taken, best.gap, unpaid, unmet, short.needed)


_IDLE = "for every building one without work in the plan"


def _slack(money: Array) -> float:
    """Return within what sum it is known how little can stay unpaid."""
    return max(CENT / 2, PROVED * float(money.sum()))


def followed(
    ways: Ways, choice: Selection, money: Array, carry_over: bool, time_limit_s: float
) -> Selection:
    """Return a choice with its unpaid patching laid so that a crew can follow it.

    Money pays for patching in the year in which it is due before any is carried over; beyond
    that, what stays unpaid lies on few roofs.

    Notes
    -----
    With u whether the patching p of a roof and year stays unpaid, and g whether any of a roof
    does, first min Σ (T - t) p u, so that of T years the first are paid for first; then min Σ g
    with u ≤ g and no more unpaid up to each year than the first leaves.
    """
    if not choice.unpaid.any():
        return choice
    owed, years = ways.patching[ways.places(choice.taken)], len(money)
    row, year, back = _taken_back(owed)
    due, each = owed[row, year], np.arange(len(row))
    spare = money - ways.cost[choice.taken].sum(axis=0)
    spent = _spending(ways.only(np.zeros_like(choice.taken)), spare, carry_over, back)
    on_roof = csr_array((-np.ones(len(row)), (each, row)), shape=(len(row), ways.buildings))
    shown = LinearConstraint(hstack([identity(len(row)), on_roof]), ub=0.0)
    early = np.concatenate([due * (years - year), np.zeros(ways.buildings)])
    few = np.repeat([0.0, 1.0], [len(row), ways.buildings])
    with suppress(TimeoutError):
        for cost in (early, few):
            left = np.cumsum((owed * choice.unpaid).sum(axis=0)) + _slack(money)
            if cost is early:
                left[:-1] = np.inf
            most = LinearConstraint(csr_array(np.cumsum(-back, axis=0)), ub=left)
            found = minimise(cost, [spent, shown, most], len(row), time_limit_s, PROVED)
            if found:
                unpaid = np.zeros_like(choice.unpaid)
                unpaid[row, year] = found.flags
                choice = replace(choice, unpaid=unpaid)
    return choice


def _taken_back(owed: Array) -> tuple[Integers, Integers, Array]:
    """Return building and year of each patching owed, and by year what leaving it unpaid saves.

    After the columns of the patching come empty ones, one a building.
    """
    row, year = np.nonzero(owed)
    back = np.zeros((owed.shape[1], len(row) + len(owed)))
    back[year, np.arange(len(row))] = -owed[row, year]
    return row, year, back


def _short(ways: Ways, money: Array, carry_over: bool, time_limit_s: float) -> _Short:
    needed = _least_needed(ways.only(ways.dutiful), money, carry_over, time_limit_s)
    owed = np.zeros((ways.buildings, len(money)))
    np.maximum.at(owed, ways.building, ways.patching)
    row, year, back = _taken_back(owed)
    idle = ways.summed(np.where(ways.in_time, 0.0, 1.0))
    blank = csr_array((ways.buildings, len(row)))
    limit = np.where(ways.must_do, 0.0, 1.0)
    limits = [
        _one_each(ways, len(row) + ways.buildings),
        _spending(ways, money, carry_over, back),
        _patched(ways, owed > 0),
        LinearConstraint(hstack([idle, blank, -identity(ways.buildings)]), ub=limit),
    ]
    unpaid = np.concatenate([np.zeros(len(ways.rows)), owed[row, year], _least_to_act(ways)])
    regret = np.concatenate([ways.regret, np.zeros(len(row) + ways.buildings)])
    return _Short(ways, money, carry_over, owed, limits, unpaid, regret, needed)


def _patched_at_most(ways: Ways, money: Array, carry_over: bool) -> tuple[Flags, Flags]:
    """Return the choice to patch everywhere, the dearest first, and what stays unpaid."""
    taken = ways.least(np.where(ways.acts, np.inf, ways.cost.sum(axis=1)))
    if ways.acts[taken].any():
        raise CaseError("options", "some", _IDLE)
    owed = ways.patching[ways.places(taken)]
    unpaid, spare = owed > 0, money.copy()
    for building, year in np.argwhere(unpaid)[np.argsort(-owed[unpaid], kind="stable")]:
        left = spare.copy()
        left[year] -= owed[building, year]
        if holds(left, carry_over):
            unpaid[building, year], spare = False, left
    return taken, unpaid


def _least_needed(ways: Ways, money: Array, carry_over: bool, time_limit_s: float) -> Array:
    """Return the least further money with which all that cannot wait is paid, as late as it can."""
    count, years = len(ways.rows), len(money)
    limits = [_one_each(ways, years), _spending(ways, money, carry_over, -np.identity(years))]
    taken = ways.least(ways.cost.sum(axis=1))  # a sum that would do, if not the least
    with suppress(TimeoutError):
        if found := minimise(np.repeat([0.0, 1.0], [count, years]), limits, count, time_limit_s):
            taken = found.flags
    return _beyond(ways.cost[taken].sum(axis=0), money, carry_over)


def _beyond(spent: Array, money: Array, carry_over: bool) -> Array:
    """Return by year what spending lacks; where money is carried over, what earlier years left."""
    if not carry_over:
        return np.maximum(spent - money, 0.0)
    lacking = np.maximum.accumulate(np.maximum(np.cumsum(spent - money), 0.0))
    return np.diff(lacking, prepend=0.0)


def _patched(ways: Ways, owed: Flags) -> LinearConstraint:
    """Return the limit that only patching which is due can be left unpaid."""
    number = np.cumsum(owed).reshape(owed.shape) - 1
    option, year = np.nonzero(ways.patching)
    row = number[ways.building[option], year]
    shape = (int(owed.sum()), len(ways.rows))
    due = csr_array((np.full(len(row), -1.0), (row, option)), shape=shape)
    blank = csr_array((shape[0], ways.buildings))
    return LinearConstraint(hstack([due, identity(shape[0]), blank]), ub=0.0)


def _least_to_act(ways: Ways) -> Array:
    """Return what each must-do building costs at least to do, as what leaving it undone counts."""
    least = ways.least_of(np.where(ways.in_time, ways.cost.sum(axis=1), np.inf))
    return np.where(ways.must_do & np.isfinite(least), least, 1.0)


def _by_year(costs: pd.Series, years: int) -> Array:
    table = np.zeros((years, len(costs)))
    for year, one in enumerate(islice(zip_longest(*costs, fillvalue=0.0), years)):
        table[year] = one
    return table.T
