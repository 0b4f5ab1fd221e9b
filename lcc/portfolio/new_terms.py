"""A ranking at another discount rate or at other roofing prices, without computing heat again.

An evaluation that keeps its ways leaves with each result what every way of doing it costs by
year. The cheapest way, present values, ratios and paybacks follow from those alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy_financial as npf
import pandas as pd

from lcc.arrays import Array
from lcc.cost import measures
from lcc.cost.present_value import present_values
from lcc.cost.result import payback
from lcc.errors import CaseError
from lcc.portfolio.outcome import Begun, Outcome, as_frame, measured_columns, of_ways
from lcc.portfolio.way_costs import CAPITAL_WORK, GRANTS, GROUPS, RESIDUAL_VALUE, WayCosts, tables

BASE = "the base case"
LEAST_RATE, MOST_RATE = -0.05, 0.3
LEAST_FACTOR, MOST_FACTOR = 0.3, 4.0
AT_ONCE = 2000  # rows whose costs by year are in hand together, 5 MB a thousand


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
    _check("discount_rate", discount_rate, LEAST_RATE, MOST_RATE)
    _check("price_factor", price_factor, LEAST_FACTOR, MOST_FACTOR)
    cls = type(outcomes[0]) if outcomes else Outcome
    if discount_rate is None and price_factor == 1.0:
        return as_frame(outcomes, cls)
    blocks = [outcomes[first : first + AT_ONCE] for first in range(0, len(outcomes), AT_ONCE)]
    frames = [_changed(block, cls, discount_rate, price_factor) for block in blocks]
    frame = pd.concat(frames, ignore_index=True)
    return _against_base(frame) if cls is Begun else frame


def _check(name: str, value: float | None, low: float, high: float) -> None:
    if value is not None and not low <= value <= high:
        raise CaseError(name, value, f"{low:g} to {high:g}")


@dataclass(frozen=True)
class _Cheapest:
    """The way of least life-cycle cost for each row, its costs by year and its life-cycle cost."""

    ways: list[WayCosts]
    tables: Array
    costs: Array


@dataclass(frozen=True)
class _Terms:
    """A discount rate for each row, and a factor on what follows roofing prices."""

    rates: Array
    factor: float

    def cheapest(self, choices: Sequence[Sequence[WayCosts]]) -> _Cheapest:
        """Return the cheapest of the ways of each row."""
        ways = [way for each in choices for way in each]
        counts = [len(each) for each in choices]
        prices = np.where(np.arange(GROUPS) < GRANTS, self.factor, 1.0)
        costs_by_year = tables(ways) * prices[:, np.newaxis]
        totals = costs_by_year.sum(axis=1)
        costs = present_values(totals, np.repeat(self.rates, counts)).sum(axis=-1)
        ends = np.cumsum(counts).tolist()
        spans = zip([0, *ends], ends, strict=False)
        least = [first + int(costs[first:end].argmin()) for first, end in spans]
        return _Cheapest([ways[one] for one in least], costs_by_year[least], costs[least])

    def of(self, rows: list[int]) -> "_Terms":
        """Return the terms of some of the rows."""
        return _Terms(self.rates[rows], self.factor)

    def priced(self, cost: float | None) -> float | None:
        """Return a cost of work at the factor."""
        return None if cost is None else self.factor * cost

    def by_year(self, costs: tuple[float, ...]) -> tuple[float, ...]:
        """Return costs of work at the factor."""
        return costs if self.factor == 1.0 else tuple(self.factor * cost for cost in costs)


def _changed(
    outcomes: Sequence[Outcome], cls: type[Outcome], rate: float | None, factor: float
) -> pd.DataFrame:
    frame = as_frame(outcomes, cls)
    good = [one for one in outcomes if one.problem is None]
    for one in good:
        if not one.ways:
            raise CaseError("outcomes", one.name, "results that kept their ways")
    if not good:
        return frame
    terms = _Terms(np.array([one.discount_rate if rate is None else rate for one in good]), factor)
    here = frame["problem"].isna().to_numpy()
    for name, values in (_begun if cls is Begun else _compared)(good, terms).items():
        column = frame[name].to_numpy(copy=True)
        column[here] = pd.Series(values, dtype=column.dtype).to_numpy()
        frame[name] = pd.Series(column, dtype=column.dtype)
    return frame


def _compared(good: Sequence[Outcome], terms: _Terms) -> dict[str, Any]:
    """Return the columns of alternatives against their base cases, each in its cheapest way."""
    base, own = (terms.cheapest([one.ways[place] for one in good]) for place in (0, 1))
    saving = base.tables.sum(axis=1) - own.tables.sum(axis=1)
    cleaned = np.array([measures.cleaned(one) for one in saving])
    sums = present_values(cleaned, terms.rates).sum(axis=-1).tolist()
    rates = terms.rates.tolist()
    told = [*map(of_ways, base.ways, own.ways, sums)]
    measured = [*map(_measured, base.tables, own.tables, sums, rates, own.ways)]
    return {
        "base_life_cycle_cost": base.costs,
        "base_work_year": [way.first_year for way in base.ways],
        "base_work_cost": [terms.priced(way.first_cost) for way in base.ways],
        "life_cycle_cost": own.costs,
        "net_savings_all_held": np.full(len(good), np.nan),
        **_waiting(good, base.costs, terms),
        **{name: [one[name] for one in each] for each in (told, measured) for name in each[0]},
        "first_cost": [terms.priced(way.first_cost) for way in own.ways],
    }


def _waiting(good: Sequence[Outcome], base_costs: Array, terms: _Terms) -> dict[str, Any]:
    """Return what it costs to put work off a year where it is due now."""
    due = [place for place, one in enumerate(good) if one.ways[2]]
    late = terms.of(due).cheapest([good[place].ways[2] for place in due]) if due else None
    found = {name: np.array([getattr(one, name) for one in good], float)
             for name in ("waiting_cost", "patching_cost")}  # fmt: skip
    if late:
        found["waiting_cost"][due] = late.costs - base_costs[due]
        found["patching_cost"][due] = [terms.priced(way.patching[0]) for way in late.ways]
    return found


def _measured(base: Array, own: Array, saved: float, rate: float, way: WayCosts) -> dict[str, Any]:
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


def _begun(good: Sequence[Outcome], terms: _Terms) -> dict[str, Any]:
    """Return the columns of ways to treat roofs in a plan, each done in its cheapest way."""
    own = terms.cheapest([one.ways[0] for one in good])
    return {
        "first_year": [way.first_year for way in own.ways],
        "first_cost": [terms.priced(way.first_cost) for way in own.ways],
        "life_cycle_cost": own.costs,
        "work": [terms.by_year(way.work) for way in own.ways],
        "patching": [terms.by_year(way.patching) for way in own.ways],
    }


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
