"""A ranking at another discount rate or at other roofing prices, without computing heat again.

An evaluation that keeps its ways leaves with each result what every way of doing it costs by
year. The cheapest way, present values, ratios and paybacks follow from those alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy_financial as npf
import pandas as pd
from numpy.typing import NDArray

from lcc.cost import measures
from lcc.cost.present_value import growth
from lcc.cost.result import payback
from lcc.errors import CaseError
from lcc.portfolio.outcome import Begun, Outcome, as_frame, measured_columns, of_ways
from lcc.portfolio.way_costs import (
    CAPITAL_WORK,
    GRANTS,
    GROUPS,
    LEAKS,
    RESIDUAL_VALUE,
    Table,
    WayCosts,
)

Array = NDArray[np.float64]
BASE = "the base case"
LOWEST_RATE, HIGHEST_RATE = -0.05, 0.3
LOWEST_FACTOR, HIGHEST_FACTOR = 0.3, 4.0


def changed(
    outcomes: Sequence[Outcome], discount_rate: float | None = None, price_factor: float = 1.0
) -> pd.DataFrame:
    """Return results as a ranking takes them, at another discount rate and price level.

    Parameters
    ----------
    outcomes : sequence of Outcome
        Results of `lcc.portfolio.evaluate` that kept their ways, all `Outcome` or all `Begun`;
        a building that the core refused stays as it is.
    discount_rate : float, optional
        Real, above general inflation [1/year]; that of the results if not given.
    price_factor : float
        On everything that follows roofing prices: work, repairs, upkeep and residual value.
        Energy, insurance, grants and damage by leaks keep theirs.

    Returns
    -------
    DataFrame
        Columns as of the results.

    Raises
    ------
    CaseError
        For a rate or factor out of range, or results that did not keep their ways.

    Notes
    -----
    LCC = Σ_t (f P_t + O_t) / (1 + r)^t with the priced flows P and the others O of each year t,
    base-year money, for every way of laying a membrane; the cheapest is taken, as
    `lcc.comparison.compare` does.

    References
    ----------
    ASTM E917, life-cycle cost; E1185 names the discount rate among the inputs to vary.
    """
    _check("discount_rate", discount_rate, LOWEST_RATE, HIGHEST_RATE)
    _check("price_factor", price_factor, LOWEST_FACTOR, HIGHEST_FACTOR)
    cls = type(outcomes[0]) if outcomes else Outcome
    if discount_rate is None and price_factor == 1.0:
        return as_frame(outcomes, cls)
    frame = as_frame([_changed(one, discount_rate, price_factor) for one in outcomes], cls)
    return _against_base(frame) if cls is Begun else frame


def _check(name: str, value: float | None, low: float, high: float) -> None:
    if value is not None and not low <= value <= high:
        raise CaseError(name, value, f"{low:g} to {high:g}")


@dataclass(frozen=True)
class _Terms:
    """A discount rate, and a factor on each group of costs."""

    rate: float
    factor: float

    @property
    def prices(self) -> Array:
        return np.where(np.arange(GROUPS) < GRANTS, self.factor, 1.0)

    def present_value(self, flow: Array) -> float:
        """Return what a flow by year is worth today."""
        return float((flow / growth(np.asarray(self.rate), len(flow) - 1)).sum())

    def cheapest(self, ways: Sequence[WayCosts]) -> tuple[WayCosts, Table, float]:
        """Return the way of least life-cycle cost, its costs by group and year, and that cost."""
        tables = [way.table * self.prices[:, np.newaxis] for way in ways]
        costs = [self.present_value(table.sum(axis=0)) for table in tables]
        least = costs.index(min(costs))
        return self.priced(ways[least]), tables[least], costs[least]

    def priced(self, way: WayCosts) -> WayCosts:
        """Return a way with its work at the factor."""
        if self.factor == 1.0:
            return way
        return replace(
            way,
            first_cost=None if way.first_cost is None else self.factor * way.first_cost,
            work=tuple(self.factor * cost for cost in way.work),
            patching=tuple(self.factor * cost for cost in way.patching),
        )


def _changed(one: Outcome, rate: float | None, factor: float) -> Outcome:
    if one.problem is not None:
        return one
    if not one.ways:
        raise CaseError("outcomes", one.name, "results that kept their ways")
    terms = _Terms(one.discount_rate if rate is None else rate, factor)
    return _begun(one, terms) if isinstance(one, Begun) else _compared(one, terms)


def _compared(one: Outcome, terms: _Terms) -> Outcome:
    """Return an alternative against its base case, each done in its cheapest way."""
    (base, base_table, base_cost), (own, own_table, own_cost) = map(terms.cheapest, one.ways[:2])
    waiting: dict[str, Any] = {}
    if one.ways[2]:
        put_off, _, late_cost = terms.cheapest(one.ways[2])
        waiting = {"waiting_cost": late_cost - base_cost, "patching_cost": put_off.patching[0]}
    saving = measures.cleaned(base_table.sum(axis=0) - own_table.sum(axis=0))
    saved = float(npf.npv(terms.rate, saving))
    return replace(
        one,
        base_life_cycle_cost=base_cost,
        base_work_year=base.first_year,
        base_work_cost=base.first_cost,
        life_cycle_cost=own_cost,
        **waiting,
        **of_ways(base, own, saved),
        **_measured(base_table, own_table, saved, terms.rate, own),
    )


def _measured(base: Table, own: Table, saved: float, rate: float, way: WayCosts) -> dict[str, Any]:
    """Return the ratios and the paybacks that a row shows, as `lcc.cost.result` counts them."""
    year = way.first_year
    spent = None if year is None else float(own[CAPITAL_WORK, year]) / (1 + rate) ** year
    per_dollar = measures.savings_per_dollar(saved, spent)
    invested = (own - base)[[CAPITAL_WORK, RESIDUAL_VALUE, GRANTS]].sum(axis=0)
    extra = float(npf.npv(rate, measures.cleaned(invested)))
    ratio = measures.savings_to_investment(saved, extra)
    residual = base[RESIDUAL_VALUE] - own[RESIDUAL_VALUE]
    totals = base.sum(axis=0), own.sum(axis=0)
    simple, later = (payback(*totals, residual, at, BASE) for at in (0.0, rate))
    return measured_columns(per_dollar, ratio, measures.earned(simple, later), later)


def _begun(one: Begun, terms: _Terms) -> Begun:
    way, table, cost = terms.cheapest(one.ways[0])
    return replace(
        one,
        first_year=way.first_year,
        first_cost=way.first_cost,
        life_cycle_cost=cost,
        leak_risk=terms.present_value(table[LEAKS]),
        work=way.work,
        patching=way.patching,
    )


def _against_base(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the ways of each building beside its first, the base case done when it is due."""
    cost = rows.groupby("building")["life_cycle_cost"].transform("first")
    first = rows.drop_duplicates("building")
    starts = zip(first["building"], first["base_work_year"], first["work"], strict=True)
    work = {building: table[int(due)] for building, due, table in starts if due < len(table)}
    return rows.assign(
        base_life_cycle_cost=cost,
        net_savings=cost - rows["life_cycle_cost"],
        due_cost=rows["building"].map(work).where(rows["due_cost"].notna()),
    )
