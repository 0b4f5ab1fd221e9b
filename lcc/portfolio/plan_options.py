"""The ways to treat each roof of a plan as a binary programme: choice, spending, what is unpaid."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.optimize import LinearConstraint
from scipy.sparse import csr_array, hstack, identity

from lcc.errors import CaseError
from lcc.portfolio.condition import MUST_DO, MUST_NOT
from lcc.portfolio.plan_solver import Flags, Floats, Optimum, matrix_of, minimise, relaxed

CENT = 0.01
# Proof within this part of the life-cycle cost of the whole comes first; then, for proof to the
# cent, this part of the time again.
PROVED, LAST_CENTS = 1e-4, 0.25
# Options beyond those of the relaxed programme among which a plan is searched first.
FEW = 30


@dataclass(frozen=True)
class Ways:
    """The options of every building, with what each costs in each year of the plan.

    `rows` has one row an option, `work` and `patching` its costs (options, years) [money of the
    year], `building` the position of its building and `acts` whether it has work in the plan.
    """

    rows: pd.DataFrame
    work: Floats
    patching: Floats
    building: NDArray[np.int64]
    acts: Flags
    must_do: Flags

    @classmethod
    def of(cls, options: pd.DataFrame, years: int) -> Ways:
        """Return the options of a frame as `lcc.portfolio.plan.multi_year_plan` takes it."""
        rows = options.assign(option=np.arange(len(options)))
        rows = rows[rows["life_cycle_cost"].notna()].reset_index(drop=True)
        must = np.asarray(rows["must"] if "must" in rows else [""] * len(rows), dtype=object)
        work = _by_year(rows["work"], years)
        _, building = np.unique(rows["building"].to_numpy(), return_inverse=True)
        must_do: Flags = np.asarray(np.bincount(building, must == MUST_DO) > 0)
        ways = cls(
            rows, work, _by_year(rows["patching"], years), building,
            np.asarray((work > 0).any(axis=1)), must_do,
        )  # fmt: skip
        idle = np.bincount(building, ~ways.acts) > 0
        return ways.only(~((must == MUST_NOT) & ways.acts & idle[building]))

    @property
    def buildings(self) -> int:
        """How many buildings there are."""
        return len(self.must_do)

    @property
    def cost(self) -> Floats:
        """What each option costs in each year."""
        return np.asarray(self.work + self.patching)

    @property
    def regret(self) -> Floats:
        """How much more each option's life-cycle cost is than the least of its building."""
        costs = self.rows["life_cycle_cost"].to_numpy(float)
        least = np.full(self.buildings, np.inf)
        np.minimum.at(least, self.building, costs)
        return np.asarray(costs - least[self.building])

    def only(self, kept: Flags) -> Ways:
        """Return these options without some."""
        return replace(
            self,
            rows=self.rows[kept].reset_index(drop=True),
            work=self.work[kept],
            patching=self.patching[kept],
            building=self.building[kept],
            acts=self.acts[kept],
        )

    @property
    def dutiful(self) -> Flags:
        """The options that do what must be done, where a building has any such."""
        able = np.bincount(self.building, self.acts, minlength=self.buildings) > 0
        return np.asarray(self.acts | ~(self.must_do & able)[self.building])


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
    needed: Floats


def choose(
    ways: Ways, money: Floats, carry_over: bool, time_limit_s: float, last: float = LAST_CENTS
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

    Raises
    ------
    TimeoutError
        If no choice was found in that time.
    """
    bound = ways.only(ways.dutiful)
    limits = [_one_each(bound), _spending(bound, money, carry_over)]
    found = _best(bound, limits, time_limit_s, last)
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

    Options that the relaxed programme prices far out are left out of the first search; those that
    its gap shows to be in no better choice out of the last one.
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


def _wider(above: Floats) -> list[float]:
    """Return how far above the relaxed programme options are looked at: near it first, then all."""
    further = np.sort(above[above > CENT])
    return [*(further[few] for few in (FEW, 10 * FEW) if few < len(further)), np.inf]


def _among(
    kept: Flags, costs: Floats, limits: list[LinearConstraint], time_limit_s: float,
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
    count = len(ways.rows)
    sums = csr_array(
        (np.ones(count), (ways.building, np.arange(count))), shape=(ways.buildings, count + more)
    )
    return LinearConstraint(sums, lb=1.0, ub=1.0)


def _spending(
    ways: Ways, money: Floats, carry_over: bool, more: Floats | None = None
) -> LinearConstraint:
    """Return the limit that no year, or no run of years from the first, overspends.

    `more` are further columns, by year, that add to the spending or take from it.
    """
    cost = ways.cost.T if more is None else np.hstack([ways.cost.T, more])
    if carry_over:
        return LinearConstraint(csr_array(np.cumsum(cost, axis=0)), ub=np.cumsum(money))
    return LinearConstraint(csr_array(cost), ub=money)


def _short_of_money(ways: Ways, money: Floats, carry_over: bool, time_limit_s: float) -> Selection:
    """Return the choice where not even patching can be paid: least unpaid, then least cost."""
    needed = _least_needed(ways.only(ways.dutiful), money, carry_over, time_limit_s)
    count, years = len(ways.rows), len(money)
    owed = np.zeros((ways.buildings, years))
    np.maximum.at(owed, ways.building, ways.patching)
    row, year = np.nonzero(owed)
    taken_back = np.zeros((years, len(row) + ways.buildings))
    taken_back[year, np.arange(len(row))] = -owed[row, year]
    limits = [
        _one_each(ways, len(row) + ways.buildings),
        _spending(ways, money, carry_over, taken_back),
        _patched(ways, owed > 0),
        _done_or_unmet(ways, len(row)),
    ]
    unpaid = np.concatenate([np.zeros(count), owed[row, year], _least_to_act(ways)])
    cost = np.concatenate([ways.regret, np.zeros(len(unpaid) - count)])
    least = minimise(unpaid, limits, len(unpaid), time_limit_s)
    if least is None:
        raise CaseError("options", "some", "for every building one without work in the plan")
    enough = LinearConstraint(unpaid[np.newaxis, :], ub=least.cost + CENT / 2)
    best = minimise(cost, [*limits, enough], len(unpaid), time_limit_s) or least
    flags = np.zeros_like(owed, dtype=bool)
    flags[row, year] = best.flags[count : count + len(row)]
    unmet = best.flags[count + len(row) :] & ways.must_do
    return Selection(best.flags[:count], best.gap, flags, unmet, needed)


def _least_needed(ways: Ways, money: Floats, carry_over: bool, time_limit_s: float) -> Floats:
    """Return the least further money by year with which all patching and must-do work is paid."""
    count, years = len(ways.rows), len(money)
    limits = [_one_each(ways, years), _spending(ways, money, carry_over, -np.identity(years))]
    further = np.repeat([0.0, 1.0], [count, years])
    found = minimise(further, limits, count, time_limit_s)
    return np.zeros(years) if found is None else found.values[count:]


def _patched(ways: Ways, owed: Flags) -> LinearConstraint:
    """Return the limit that only patching which is due can be left unpaid."""
    number = np.cumsum(owed).reshape(owed.shape) - 1
    option, year = np.nonzero(ways.patching)
    row = number[ways.building[option], year]
    shape = (int(owed.sum()), len(ways.rows))
    due = csr_array((np.full(len(row), -1.0), (row, option)), shape=shape)
    blank = csr_array((shape[0], ways.buildings))
    return LinearConstraint(hstack([due, identity(shape[0]), blank]), ub=0.0)


def _done_or_unmet(ways: Ways, between: int) -> LinearConstraint:
    """Return that a must-do building is done, or counted as unmet."""
    count = len(ways.rows)
    idle = csr_array(
        (np.where(ways.acts, 0.0, 1.0), (ways.building, np.arange(count))),
        shape=(ways.buildings, count),
    )
    blank = csr_array((ways.buildings, between))
    limit = np.where(ways.must_do, 0.0, 1.0)
    return LinearConstraint(hstack([idle, blank, -identity(ways.buildings)]), ub=limit)


def _least_to_act(ways: Ways) -> Floats:
    """Return what each must-do building costs at least to do, as what leaving it undone counts."""
    least = np.full(ways.buildings, np.inf)
    np.minimum.at(least, ways.building, np.where(ways.acts, ways.cost.sum(axis=1), np.inf))
    return np.where(ways.must_do & np.isfinite(least), least, 1.0)


def _by_year(costs: pd.Series, years: int) -> Floats:
    table = np.zeros((len(costs), years))
    for row, one in enumerate(costs):
        table[row, : min(years, len(one))] = one[:years]
    return table
