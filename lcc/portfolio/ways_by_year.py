"""Each way to treat a roof, begun in each year of a plan or put off, and what waiting costs."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from lcc.case import Alternative, Case, Coating, Economics
from lcc.case.roof import LEAK_COST
from lcc.comparison import costed, warned
from lcc.cost.costed import Costed
from lcc.cost.energy_phases import first_work
from lcc.cost.present_value import general_inflation, real_discount_rate
from lcc.cost.result import result
from lcc.portfolio.exact_heat import near_tie
from lcc.portfolio.heat_by_area import Energy, exact
from lcc.portfolio.outcome import Begun, Outcome, of_alternative, shared
from lcc.portfolio.owner_records import LEAK_DAMAGE_PER_M2, PATCHING_PER_M2
from lcc.portfolio.way_costs import KEEPING, LEAKS, WayCosts, as_text, way_costs, work_by_year
from lcc.results import AlternativeResult


@dataclass(frozen=True)
class Waiting:
    """What a roof costs in each year that it waits past the year in which it falls due.

    Base-year money: `patching` and `leak_damage` of the first such year, which grow by `growth`
    each year as the covering ages; the maker pays for patching while `warranty_y` lasts.
    """

    patching: float
    leak_damage: float
    growth: float
    warranty_y: float

    @classmethod
    def of(cls, row: Mapping[str, Any], case: Case) -> "Waiting":
        """Return what a row says of waiting, by default from the roof's area."""
        area, leaks = case.roof.area_m2, float(row.get("leaks") or 0.0)
        patching, damage = row.get("patching_per_m2"), row.get("leak_damage_per_m2")
        by_area = (LEAK_DAMAGE_PER_M2 if damage is None else float(damage)) * area
        return cls(
            (PATCHING_PER_M2 if patching is None else float(patching)) * area,
            max(by_area, leaks * LEAK_COST),
            case.roof.repairs_growth,
            float(row.get("warranty_left_y") or 0.0),
        )

    def past_due(self, due: int, until: int) -> Iterator[tuple[int, float, float]]:
        """Yield each year from when a roof is due until it is renewed: patching and damage."""
        for year in range(due, until):
            grown = (1 + self.growth) ** (year - due)
            yield year, self.patching * grown * (year >= self.warranty_y), self.leak_damage * grown


def money_of_years(economics: Economics, escalation: float, years: int) -> list[float]:
    """Return what one unit of base-year money is in money of each year.

    Notes
    -----
    m_t = ((1 + i)(1 + e))^t with general inflation i and the real escalation e of the work.

    Examples
    --------
    >>> money_of_years(Economics(inflation=0.5), 0.0, 3)
    [1.0, 1.5, 2.25]
    """
    rise = (1 + general_inflation(economics)) * (1 + escalation)
    return [rise**year for year in range(years)]


def ways(
    building: int,
    case: Case,
    row: Mapping[str, Any],
    years: int,
    energy: Energy = exact,
    keep_ways: bool = False,
) -> list[Begun]:
    """Return every way to treat a building's roof in a plan.

    Parameters
    ----------
    building : int
        Its number.
    case : Case
        Its case.
    row : mapping
        Its row, for what it says of waiting.
    years : int
        Years of the plan.
    energy : callable
        Energy of one state of the roof, exact or of `lcc.portfolio.heat_by_area`.
    keep_ways : bool
        Whether each keeps every way of doing it, with its costs by year.

    Returns
    -------
    list of Begun
        Each alternative begun in each year, and the base case: on time, put off to each later
        year of the plan, and put off beyond it.

    Notes
    -----
    What begins in year t is what begins at the end of a remaining life of t years, with today's
    roof, its repairs and its energy until then. From the year in which the base case falls due
    the roof is patched each year, and leaks are to be expected; both are part of the life-cycle
    cost. A coating keeps the covering that is there, so it begins when the case itself says; as a
    base case it is put off by leaving the roof to the membrane that would follow it.
    """
    at_once, energy = costed_surely(case, energy)
    due, cost = first_work(at_once.alternatives[0])
    work = money_of_years(case.economics, case.economics.work_escalation, years + 1)
    common = shared(building, case, at_once.alternatives[0], row)
    common["cautions"] = warned(at_once)
    if due is not None and cost is not None and due < years:
        common["due_cost"] = cost * work[due]
    late = _Late(case, Waiting.of(row, case), due, years, work[:years], common)
    now = late.begun(at_once, every_way(at_once) if keep_ways else [])
    found = [now(0, due if due is not None else years, "")]
    found += [
        now(place, 0, one.name)
        for place, one in enumerate(at_once.alternatives[1:], start=1)
        if isinstance(case.alternatives[place - 1], Coating)
    ]
    for year in range(years + 1):
        later = _begun_in(case, year)
        plain, _ = costed_surely(later, energy)
        then = late.begun(plain, every_way(plain) if keep_ways else [])
        if due is not None and due < year:
            found.append(then(0, year, ""))
        found += [
            then(place, year, at_once.alternatives[place].name)
            for place, choice in enumerate(case.alternatives, start=1)
            if year < years and not isinstance(choice, Coating)
        ]
    return found


def costed_surely(case: Case, energy: Energy, reprice: bool = False) -> tuple[Costed, Energy]:
    """Return a costed case and the energy behind it: exact where interpolated heat nearly ties."""
    found = costed(case, energy, reprice=reprice)
    if energy is exact or not near_tie(found):
        return found, energy
    return costed(case, exact, reprice=reprice), exact


def every_way(found: Costed) -> list[list[AlternativeResult]]:
    """Return the results of every way of doing the base case and each alternative.

    `lcc.comparison.costed` takes the cheapest of each; at other prices or another rate it may be
    another.
    """
    area, economics = found.stated.roof.area_m2, found.stated.economics
    return [[result(own, area, economics) for own in each] for each in found.every]


def with_ways(
    found: Sequence[Outcome], case: Case, row: dict[str, Any], plain: Costed, later: Costed | None
) -> list[Outcome]:
    """Return the rows of a building with every way of doing each alternative."""
    base, *others = ([way_costs(one) for one in each] for each in every_way(plain))
    late = _Late(case, Waiting.of(row, case), 0, 1, [1.0], {})
    put_off = [late.costs(one, 1) for one in every_way(later)[0]] if later else []
    rate = real_discount_rate(case.economics)
    return [
        replace(one, discount_rate=rate, ways=(tuple(base), tuple(own), tuple(put_off)))
        for one, own in zip(found, others, strict=True)
    ]


@dataclass(frozen=True)
class _Late:
    """Turns a result that begins in a year into a way of a plan."""

    case: Case
    waiting: Waiting
    due: int | None
    years: int
    work: list[float]
    common: dict[str, Any]

    def begun(
        self, found: Costed, every: Sequence[Sequence[AlternativeResult]]
    ) -> Callable[[int, int, str], Begun]:
        """Return what makes a row of a result's place, the year it begins in, and its name."""
        rate = real_discount_rate(self.case.economics)

        def row(place: int, year: int, name: str) -> Begun:
            made = self.way(found, place, year, name)
            if not every:
                return made
            kept = tuple(self.costs(one, year) for one in every[place])
            return replace(made, discount_rate=rate, ways=(kept,))

        return row

    def costs(self, result: AlternativeResult, until: int) -> WayCosts:
        """Return what one way costs by year where the roof waits for it past its due year."""
        way, rise = way_costs(result), 1 + self.case.economics.repairs_escalation
        table = way.table
        for year, patching, damage in self._late_years(until):
            table[KEEPING, year] += patching * rise**year
            table[LEAKS, year + 1] += damage * rise ** (year + 1)
        patching_by_year, *_ = self._past_due(until)
        work = work_by_year(result, self.work)
        return replace(way, by_year=as_text(table), work=work, patching=patching_by_year)

    def _late_years(self, until: int) -> Iterator[tuple[int, float, float]]:
        if self.due is not None:
            yield from self.waiting.past_due(self.due, min(until, self.years))

    def way(self, found: Costed, place: int, year: int, name: str) -> Begun:
        """Return the way of the result at a place, begun in a year, patched until then."""
        other = found.alternatives[place]
        patching, damage, late = self._past_due(year)
        told = of_alternative(found.alternatives[0], other)
        lasting = other.life_cycle_cost + late
        told |= {
            "alternative": name,
            "life_cycle_cost": lasting,
            "net_savings": self.common["base_life_cycle_cost"] - lasting,
        }
        return Begun(
            **(self.common | told),
            begins=year if year < self.years else None,
            leak_risk=damage,
            work=work_by_year(other, self.work),
            patching=patching,
        )

    def _past_due(self, until: int) -> tuple[tuple[float, ...], float, float]:
        """Return patching by year and leak damage in money of the year, and both's worth today."""
        economics, costs = self.case.economics, [0.0] * self.years
        dearer = money_of_years(economics, economics.repairs_escalation, self.years + 1)
        worth = (1 + economics.repairs_escalation) / (1 + real_discount_rate(economics))
        leaks = today = 0.0
        for year, patching, damage in self._late_years(until):
            costs[year] = patching * dearer[year]
            leaks += damage * dearer[year + 1]
            today += patching * worth**year + damage * worth ** (year + 1)
        return tuple(costs), leaks, today


def _begun_in(case: Case, year: int) -> Case:
    """Return the case in which everything begins at the end of a year.

    A covering that has no years left cannot be coated: its coating gives way to what follows it.
    """
    roof = replace(case.roof, remaining_life_y=float(year))
    return replace(
        case,
        roof=roof,
        base_case=_at_end(case.base_case),
        alternatives=tuple(map(_at_end, case.alternatives)),
    )


def _at_end(choice: Alternative) -> Alternative:
    if isinstance(choice, Coating):
        return choice.replacement.begun("end-of-life")
    return replace(choice, start="end-of-life")


def a_year_later(case: Case, plain: Costed, energy: Energy = exact) -> Costed | None:
    """Return the base case as it is costed if work that is due now begins in a year, or None."""
    if first_work(plain.alternatives[0])[0] != 0:
        return None
    return costed(replace(_begun_in(case, 1), alternatives=case.alternatives[:1]), energy)


def waiting_a_year(
    case: Case, plain: Costed, later: Costed | None, row: Mapping[str, Any]
) -> dict[str, float]:
    """Return what it costs to put work that is due now off a year; nothing where none is due.

    Returns
    -------
    dict
        `waiting_cost` [money, present value] and `patching_cost` [money].
    """
    if later is None:
        return {}
    waiting, economics = Waiting.of(row, case), case.economics
    ((_, patching, damage),) = waiting.past_due(0, 1)
    now, then = (each.alternatives[0].life_cycle_cost for each in (plain, later))
    damage *= (1 + economics.repairs_escalation) / (1 + real_discount_rate(economics))
    return {"waiting_cost": then + patching + damage - now, "patching_cost": patching}
