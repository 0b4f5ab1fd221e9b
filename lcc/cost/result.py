"""An alternative's costs put into the words of a result: events, categories, measures."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np
import numpy_financial as npf

from lcc.arrays import Array
from lcc.case import Economics
from lcc.case.layers import Assembly
from lcc.cost import measures
from lcc.cost.cash_flow import flows, total
from lcc.cost.financing import financed
from lcc.cost.job_years import timing
from lcc.cost.ledger import Ledger, ledger, part_done, repeat_ages
from lcc.cost.present_value import (
    annual_equivalent,
    lenders_inflation,
    present_values,
    real_discount_rate,
    stated_rate,
)
from lcc.cost.programme import Programme
from lcc.cost.scenario import Scenario
from lcc.cost.work import (
    CAPITAL,
    CARBON,
    CATEGORIES,
    DEMAND,
    ELECTRICITY,
    ENERGY,
    GAS,
    RESIDUAL,
    Step,
    Work,
)
from lcc.figures import shown
from lcc.results import AlternativeResult, Category, EnergyYear, Event, Financed, Measure, Measures

BY_RESIDUAL = "only by the residual value at the end of the study period"


@dataclass(frozen=True)
class Account:
    """A programme with its costs by year at the terms of the case: a single draw.

    `paid` holds one array of shape (n + 1,) for each category, `starts` the year in which each
    generation after the first begins. `parts` are the accounts of both parts of a roof done in
    two; times and states are then those of the part that is done first.
    """

    ledger: Ledger
    energy: Mapping[Assembly, EnergyYear]
    paid: dict[str, Array]
    starts: tuple[int, ...]
    in_force: tuple[int, ...]
    parts: "tuple[Account, ...]" = ()

    @property
    def flow(self) -> Array:
        """All costs by year, base-year money, shape (n + 1,)."""
        return total(self.paid)

    @property
    def capital_work(self) -> Array:
        """Costs of work by year, without repairs, upkeep, energy and residual value."""
        paid = {name: flow for name, flow in self.paid.items() if name in CAPITAL}
        return total(paid) if paid else np.zeros(self.ledger.years + 1)

    @property
    def invested(self) -> Array:
        """Capital work less the residual value by year."""
        return np.asarray(self.capital_work + self.paid[RESIDUAL])

    @property
    def first_work(self) -> int | None:
        """The year of the first work, or None where there is none in the study period."""
        return self.starts[0] if self.starts[0] < self.ledger.years else None


def account(
    programme: Programme, energy: Mapping[Assembly, EnergyYear], economics: Economics
) -> Account:
    """Return the costs of a programme at the terms of the case."""
    if programme.rest is not None:
        halves = (replace(programme, rest=None), programme.rest)
        first, rest = (account(each, energy, economics) for each in halves)
        book = replace(first.ledger, programme=programme, rest=rest.ledger)
        terms = Scenario.of(economics)
        paid = {name: flow[0] for name, flow in flows(book, terms).items()}
        return replace(first, ledger=book, paid=paid, parts=(first, rest))
    # A state without an energy year is one that the study period never reaches.
    price = economics.carbon_price_per_kg
    bills = [
        {name: cost * programme.share for name, cost in bill(energy.get(state), price).items()}
        for state in (step.state for step in programme.steps)
    ]
    book = ledger(programme, bills, economics.study_period_y, economics.stays_y)
    terms = Scenario.of(economics)
    when = timing(book, terms)
    paid = {name: flow[0] for name, flow in flows(book, terms, when).items()}
    starts, in_force = when.starts[0].tolist(), when.step_during[0].tolist()
    return Account(book, energy, paid, tuple(starts), tuple(in_force))


def life_cycle_cost(own: Account, economics: Economics) -> float:
    """Return the present value of all costs [money]."""
    rate = np.asarray(real_discount_rate(economics))
    return float(present_values(own.flow, rate).sum())


def bill(year: EnergyYear | None, carbon_price: float = 0.0) -> dict[str, float]:
    """Return a year's energy bill by category, nothing where there is no year."""
    if year is None:
        return dict.fromkeys((*ENERGY, CARBON), 0.0)
    return {
        ELECTRICITY: year.electricity_cost,
        DEMAND: year.demand_cost,
        GAS: year.gas_cost,
        CARBON: carbon_price * year.emissions_kg,
    }


def events(programme: Programme, starts: Sequence[int], years: int) -> tuple[Event, ...]:
    """Return the work of a programme in order of time, base-year money without escalation.

    Parameters
    ----------
    programme : Programme
        The steps.
    starts : sequence of int
        The year in which each generation after the first begins.
    years : int
        Study period; work at its very end is not done.
    """
    listed: list[Event] = []
    for generation, index in enumerate(programme.order(len(starts))):
        start = 0 if generation == 0 else starts[generation - 1]
        if start >= years:
            break
        listed.extend(_step_events(programme.steps[index], start, starts[generation], years))
    return tuple(sorted(listed, key=lambda event: event.year))


def _step_events(step: Step, start: int, end: int, years: int) -> Iterator[Event]:
    for work in step.works:
        yield Event(start, work.what, work.why, work.cost, work.category, work.duty)
    for work, year in _due(step, start, end, years):
        part = float(part_done(work, end - year))
        what = work.what if part == 1 else f"{work.what}, {part:.0%} of it"
        yield Event(year, what, work.why, work.cost * part, work.category, work.duty)


def _due(step: Step, start: int, end: int, years: int) -> Iterator[tuple[Work, int]]:
    """Yield repeated work and the year in which it falls due, done or not."""
    for work in step.repeated:
        for age in repeat_ages(work, min(end, years) - start):
            if start + age < min(end, years):
                yield work, start + age


def not_renewed(own: Account) -> list[tuple[Work, int, int]]:
    """Return work due so near its roof's end that only a part is done, its year and that end."""
    found: list[tuple[Work, int, int]] = []
    for part in own.parts or (own,):
        programme, begun = part.ledger.programme, [0, *part.starts]
        ends = zip(programme.order(len(part.starts)), begun[:-1], part.starts, strict=True)
        found += [
            (work, year, end)
            for step, start, end in ends
            for work, year in _due(programme.steps[step], start, end, own.ledger.years)
            if work.cost and part_done(work, end - year) < 1
        ]
    return list(dict.fromkeys(found))


def result(own: Account, area_m2: float, economics: Economics) -> AlternativeResult:
    """Return an alternative's result, without measures.

    Parameters
    ----------
    own : Account
        Its costs.
    area_m2 : float
        Roof area [m²].
    economics : Economics
        Study period and discount rate.
    """
    rate, years = real_discount_rate(economics), own.ledger.years
    discounted = present_values(own.flow, np.asarray(rate))
    annual = annual_equivalent(float(discounted.sum()), rate, years)
    programme = own.ledger.programme
    starts = [year for part in own.parts or (own,) for year in part.starts]
    return AlternativeResult(
        name=programme.name,
        kind=programme.kind,
        energy=_energy(own),
        events=_events(own),
        costs=_categories(own, rate),
        first_cost=float(own.flow[0]),
        cash_flow=tuple(own.flow.tolist()),
        cumulative_present_value=tuple(np.cumsum(discounted).tolist()),
        life_cycle_cost=float(discounted.sum()),
        equivalent_annual_cost=annual,
        yearly_cost_per_m2=annual / area_m2,
        residual_value=-float(own.paid[RESIDUAL][-1]),
        last_life_ends=min((year for year in starts if year >= years), default=None),
    )


def _events(own: Account) -> tuple[Event, ...]:
    """Return the work of all parts of the roof in order of time."""
    years = own.ledger.years
    if not own.parts:
        return events(own.ledger.programme, own.starts, years)
    listed = [
        replace(event, what=f"{event.what}, {words} of the roof")
        for part, words in zip(own.parts, ("first part", "rest"), strict=True)
        for event in events(part.ledger.programme, part.starts, years)
    ]
    return tuple(sorted(listed, key=lambda event: event.year))


def _energy(own: Account) -> tuple[EnergyYear, ...]:
    if own.parts:
        first, rest = map(_energy, own.parts)
        return in_two_parts(first, rest, own.ledger.programme.share)
    held: dict[int, list[int]] = {}
    for year in range(1, own.ledger.years + 1):
        held.setdefault(own.in_force[year], []).append(year)
    in_force: dict[Assembly, list[int]] = {}
    for step, years in held.items():
        in_force.setdefault(own.ledger.programme.steps[step].state, []).extend(years)
    return tuple(
        replace(own.energy[state], years=tuple(sorted(years))) for state, years in in_force.items()
    )


def _categories(own: Account, rate: float) -> tuple[Category, ...]:
    return tuple(
        Category(name, float(present_values(flow, np.asarray(rate)).sum()), tuple(flow.tolist()))
        for name in CATEGORIES
        if (flow := own.paid.get(name)) is not None and flow.any()
    )


def measured(base: Account, own: Account, economics: Economics) -> Measures:
    """Return the measures of an alternative against the base case.

    Notes
    -----
    The investment of the savings-to-investment ratio is all capital work of the study period less
    the residual value, the alternative's less the base case's (NIST Handbook 135).
    Rates of return are real or nominal like the discount rate of the case.
    """
    rate, years = real_discount_rate(economics), own.ledger.years
    saving = measures.cleaned(base.flow - own.flow)
    net = measures.net_savings(saving, rate)
    saved = float(net.value or 0.0)
    invested = measures.cleaned(own.invested - base.invested)
    ratio = measures.savings_to_investment(saved, float(npf.npv(rate, invested)))
    discounted = _payback(base, own, rate)
    return Measures(
        net_savings=net,
        savings_to_investment_ratio=ratio,
        savings_per_dollar=measures.savings_per_dollar(saved, _first_work_value(own, rate)),
        adjusted_internal_rate_of_return=_in_kind(
            measures.adjusted_rate(ratio, stated_rate(rate, economics), years), economics
        ),
        simple_payback=measures.earned(_payback(base, own, 0.0), discounted),
        discounted_payback=discounted,
        internal_rate_of_return=_in_kind(
            measures.internal_rate(saving, lambda found: stated_rate(found, economics)), economics
        ),
    )


def _in_kind(rate: Measure, economics: Economics) -> Measure:
    """Say whether a rate of return holds inflation, beside the discount rate in the same terms."""
    kind = "above inflation" if economics.rate_kind == "real" else "as a bank quotes it"
    beside = f"{kind}, as is the discount rate of {shown(economics.discount_rate, 'rate')}"
    return replace(rate, convention=f"{rate.convention}; {beside}")


def _payback(base: Account, own: Account, rate: float) -> Measure:
    kept = base.paid[RESIDUAL] - own.paid[RESIDUAL]
    return payback(base.flow, own.flow, kept, rate, base.ledger.programme.name)


def payback(base: Array, own: Array, residual: Array, rate: float, name: str) -> Measure:
    """Return the payback, with a warning where only the residual value at the end brings it.

    Parameters
    ----------
    base, own : ndarray, shape (n + 1,)
        What the base case and the alternative cost by year [money].
    residual : ndarray, shape (n + 1,)
        The part of their difference that is residual value [money].
    rate : float
        Real discount rate, 0 for the simple payback [1/year].
    name : str
        Of the base case.
    """
    found = measures.payback_years(base, own, rate, name)
    without = measures.cleaned(base - own - residual)
    if found.value is None or float(npf.npv(rate, without)) >= 0:
        return found
    warning = f"{found.warning}, then {BY_RESIDUAL}" if found.warning else BY_RESIDUAL
    return replace(found, warning=warning)


def _first_work_value(own: Account, rate: float) -> float | None:
    """Return the present value of the first work, None where there is none."""
    year = own.first_work
    return None if year is None else float(own.capital_work[year]) / (1 + rate) ** year


def paid_by(base: Account, own: Account, economics: Economics) -> Financed | None:
    """Return what an owner pays each year, None where the case does not say how it is paid."""
    if economics.financing is None:
        return None
    rate, terms = real_discount_rate(economics), economics.financing
    theirs, ours = ((each.paid, each.first_work) for each in (base, own))
    ours = theirs if own is base else ours
    return financed(theirs, ours, terms, lenders_inflation(economics), rate)


# Extremes are those of the part that reaches them; all other figures go by area.
EXTREMES = {
    "peak_surface_c": max, "lowest_surface_c": min, "peak_indoor_c": max, "iterations": max,
    "residual_k": max,
}  # fmt: skip


def in_two_parts(
    first: Sequence[EnergyYear], rest: Sequence[EnergyYear], share: float
) -> tuple[EnergyYear, ...]:
    """Return the energy years of the whole roof, one for each pair of states in force together.

    Parameters
    ----------
    first, rest : sequence of EnergyYear
        States of both parts with the years in which they hold, each as if the roof were all of it.
    share : float
        Part of the area that is done first, 0 to 1.

    Notes
    -----
    Heat through a roof goes by its area, so bills and loads are the mean of both states weighted
    by area. What the space evens out between both parts is left out.
    """
    # States of one name may differ, as by the taper that only one part gets.
    together: dict[tuple[int, int], list[int]] = {}
    own, other = _by_year(first), _by_year(rest)
    for year, state in own.items():
        together.setdefault((id(state), id(other[year])), []).append(year)
    return tuple(
        replace(by_area(own[years[0]], other[years[0]], share), years=tuple(years))
        for years in together.values()
    )


def _by_year(states: Sequence[EnergyYear]) -> Mapping[int, EnergyYear]:
    found = {year: state for state in states for year in state.years}
    return {year: found[year] for year in sorted(found)}


def by_area(one: EnergyYear, other: EnergyYear, share: float) -> EnergyYear:
    """Return the energy year of a roof of which `share` is in one state and the rest in another."""
    if one == replace(other, years=one.years):
        return one
    name = f"{one.assembly} on {share:.0%}, {other.assembly} on the rest"
    name = one.assembly if one.assembly == other.assembly else name
    blended: EnergyYear = _blended(one, other, share)
    return replace(blended, assembly=name, condensation=one.condensation or other.condensation)


def _blended(one: Any, other: Any, share: float) -> Any:
    if isinstance(one, float) and isinstance(other, float):
        return share * one + (1 - share) * other
    if isinstance(one, tuple) and all(isinstance(each, float) for each in one):
        return tuple(_blended(a, b, share) for a, b in zip(one, other, strict=True))
    if is_dataclass(one) and type(one) is type(other):
        own: Any = one
        return replace(own, **{f.name: _field(f.name, one, other, share) for f in fields(own)})
    return one if one is not None else other


def _field(name: str, one: Any, other: Any, share: float) -> Any:
    values = getattr(one, name), getattr(other, name)
    return EXTREMES[name](*values) if name in EXTREMES else _blended(*values, share)
