"""What each way of doing an alternative costs by year: all that a row of a portfolio rests on."""

from base64 import b64decode, b64encode
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lcc.arrays import Array
from lcc.cost.energy_phases import BILL, GAS_KWH, POWER_KWH, first_work
from lcc.cost.work import CAPITAL, GRANT, REPAIRS, RESIDUAL, UPKEEP
from lcc.results import AlternativeResult

# Rows of a table of costs by year: those that follow roofing prices first.
CAPITAL_WORK, RESIDUAL_VALUE, KEEPING, GRANTS, OTHERS, LEAKS = range(6)
GROUPS = LEAKS + 1
_GROUP = {
    **dict.fromkeys(CAPITAL, CAPITAL_WORK), RESIDUAL: RESIDUAL_VALUE, REPAIRS: KEEPING,
    UPKEEP: KEEPING, GRANT: GRANTS,
}  # fmt: skip


@dataclass(frozen=True)
class WayCosts:
    """One way of doing an alternative: its first work, its energy, its costs by year.

    Energy, bill and emissions are the mean of a year over the study period. `by_year` has a row
    for each group, in the order of `CAPITAL_WORK` to `LEAKS`, in base-year money with the
    escalation above inflation of the case: `KEEPING` is repairs, upkeep and patching, `OTHERS`
    energy, carbon and insurance, `LEAKS` the damage to expect past due. It is a
    text of bytes. `work` and `patching` are in money of each year of a plan, empty without one.
    """

    first_year: int | None
    first_cost: float | None
    electricity_kwh: float
    gas_kwh: float
    bill: float
    emissions_kg: float
    by_year: str
    work: tuple[float, ...] = ()
    patching: tuple[float, ...] = ()

    @property
    def table(self) -> Array:
        """`by_year` as an array of its own, shape (6, n + 1)."""
        return np.frombuffer(b64decode(self.by_year), "<f8").reshape(GROUPS, -1).copy()


def tables(ways: Sequence[WayCosts]) -> Array:
    """Return `by_year` of ways of one study period, shape (ways, 6, n + 1)."""
    text = "".join(way.by_year for way in ways)  # 48 bytes a year, so that none is padded
    return np.frombuffer(b64decode(text), "<f8").reshape(len(ways), GROUPS, -1)


def way_costs(result: AlternativeResult) -> WayCosts:
    """Return what a row of a portfolio needs of an alternative's result."""
    year, cost = first_work(result)
    table = np.zeros((GROUPS, len(result.cash_flow)))
    for category in result.costs:
        table[_GROUP.get(category.name, OTHERS)] += category.by_year
    return WayCosts(
        year,
        cost,
        _mean(result, POWER_KWH),
        _mean(result, GAS_KWH),
        _mean(result, BILL),
        _mean(result, ("emissions_kg",)),
        as_text(table),
    )


def as_text(table: Array) -> str:
    """Return a table as a text of its bytes, which is small and reads back to the bit."""
    return b64encode(table.astype("<f8").tobytes()).decode()


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


def _mean(result: AlternativeResult, names: tuple[str, ...]) -> float:
    """Return the mean of a year over the study period, each state by its years in force."""
    years = sum(len(state.years) for state in result.energy)
    total = sum(
        len(state.years) * sum(getattr(state, name) for name in names) for state in result.energy
    )
    return float(total / years)
