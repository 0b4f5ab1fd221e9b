"""What the answer takes for granted, in sentences that stand beside the headline.

A price that is too low or does not say what it holds, a metal roof without insulation, starts that
differ, and a wet area near the share above which the code asks for more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from lcc.case import Case, Coating, Membrane, MetalRetrofit
from lcc.cost import quotations
from lcc.cost.ledger import Ledger
from lcc.cost.metal import TORN_OFF
from lcc.cost.present_value import real_discount_rate
from lcc.cost.programme import first_job, first_job_cost, parts_of
from lcc.cost.quotations import ENTERED_PRICE
from lcc.cost.result import Account
from lcc.cost.roof_job import WET_LIMIT
from lcc.cost.roof_states import Setting, is_insulation
from lcc.cost.starting_year import cost_begun_now
from lcc.cost.work import GRANT
from lcc.figures import more_or_less, said, when
from lcc.quantities import left_to_do
from lcc.results import AlternativeResult, cheapest

ASKED_ALIKE = ("tear-off", "insulation")  # duties, by the names they have in a sentence
SMALLEST = 1.0  # differences below this are left out [money]


def conditions(
    asked: Case,
    case: Case,
    zone: int,
    accounts: Sequence[Account],
    results: Sequence[AlternativeResult],
    other_prices: Mapping[int, Mapping[str, float]],
    books: Sequence[Sequence[Ledger]],
) -> Iterator[str]:
    """Yield what the answer takes for granted and the owner should know with it.

    Parameters
    ----------
    asked : Case
        The case as stated.
    case : Case
        The case at the price of laying, each alternative in the way that is taken.
    zone : int
        Number of the climate zone.
    accounts, results : sequence
        Programmes and results, the base case first.
    other_prices : mapping of int to mapping of str to float
        Life-cycle costs at other prices, by place in `results` and by bidder, with
        `quotations.ENTERED_PRICE` for a price of unknown scope if it holds everything.
    books : sequence of sequence of Ledger
        By place in `results`, the ledger of every way of doing it.
    """
    best = cheapest(results)
    whole = {place: costs[ENTERED_PRICE] for place, costs in other_prices.items()
             if ENTERED_PRICE in costs}  # fmt: skip
    yield from quotations.added(results, whole)
    yield from asked_alike(case, accounts, results, best)
    yield from quotations.turned_by(results, best, other_prices)
    yield from quotations.too_low(results)
    yield from quotations.not_used(case, accounts, (0, best))
    yield from bare_metal(case)
    yield from readings(results, best, whole)
    yield from starts(case, accounts, results, best, books)
    yield from wet_area(asked, case, zone, best)


def asked_alike(
    case: Case, accounts: Sequence[Account], results: Sequence[AlternativeResult], best: int
) -> Iterator[str]:
    """Yield what the answer is if a metal roof must have what is done under the base case's roof.

    Notes
    -----
    Tear-off and insulation at what they cost in the base case's first job, paid when the metal roof
    begins; what insulation then saves of energy, and permit and fees on both, are left out.
    """
    base, own, year = results[0], results[best], accounts[best].first_work
    if own.kind != "metal-retrofit" or year is None:
        return
    done = {event.duty for event in own.events}
    first = [event for event in base.events if event.year == accounts[0].first_work]
    costs = {
        duty: math.fsum(event.cost for event in first if event.duty == duty)
        for duty in ASKED_ALIKE
        if duty not in done
    }
    costs = {duty: cost for duty, cost in costs.items() if cost >= SMALLEST}
    if costs:
        more = math.fsum(costs.values())
        saved = base.life_cycle_cost - own.life_cycle_cost
        left = saved - more / (1 + real_discount_rate(case.economics)) ** year
        yield (
            f"If the building official asks for the {' and the '.join(costs)} under “{own.name}” "
            f"too, it costs about {more_or_less(left)} than “{base.name}” over the study period. "
            f"Its first job then costs about {said(more)} more, priced as under “{base.name}”"
            f"{'; energy that the insulation saves is not counted' * ('insulation' in costs)}. Ask "
            "before deciding."
        )


def readings(
    results: Sequence[AlternativeResult], best: int, whole: Mapping[int, float]
) -> Iterator[str]:
    """Yield what the comparison becomes if prices of unknown scope hold everything."""
    unsaid = [index for index in (0, best) if index in whole]
    if not unsaid:
        return
    base, own = results[0], results[best]
    names = {index: f"“{results[index].name}”" for index in unsaid}

    def saved(*holding: int) -> str:
        costs = (whole[k] if k in holding else results[k].life_cycle_cost for k in (0, best))
        return more_or_less(next(costs) - next(costs))

    cases = [f"if the price of {names[k]} includes everything, about {saved(k)}" for k in unsaid]
    if len(unsaid) > 1:
        cases.append(f"if both do, about {saved(*unsaid)}")
    yield (
        f"Nobody has entered what the price of {' and of '.join(names.values())} includes. Read as "
        f"the price of laying alone, “{own.name}” costs about "
        f"{more_or_less(base.life_cycle_cost - own.life_cycle_cost)}; {'; '.join(cases)}."
    )


def starts(
    case: Case,
    accounts: Sequence[Account],
    results: Sequence[AlternativeResult],
    best: int,
    books: Sequence[Sequence[Ledger]],
) -> Iterator[str]:
    """Yield that both do not begin in the same year, and what the same year would change."""
    own, base_year, own_year = results[best], accounts[0].first_work, accounts[best].first_work
    if own.kind == "coating" or base_year == own_year or base_year is None or own_year is None:
        return
    paid = math.fsum(event.cost for event in own.events if event.year == own_year)
    apart = abs(own_year - base_year)
    granted = -math.fsum(one.by_year[own_year] for one in own.costs if one.name == GRANT)
    less = f", less a grant of {said(granted)}," if granted >= SMALLEST else ""
    told = (
        f"“{own.name}” costs {said(paid)}{less} {when(own_year)}, {apart} "
        f"{'year' if apart == 1 else 'years'} {'before' if own_year < base_year else 'after'} "
        f"“{results[0].name}” begins {when(base_year)}."
    )
    found = own.starting_years
    if found and base_year in found.years:
        saved = found.net_savings[found.years.index(base_year)]
        told += f" If both begin {when(base_year)}, “{own.name}” costs about {more_or_less(saved)}."
    both = books[0], books[best]
    if all(way.rest is None for ways in both for way in ways):
        cost, own_cost = (cost_begun_now(case, ways) for ways in both)
        saved = cost - own_cost
        told += f" If both begin now, “{own.name}” costs about {more_or_less(saved)}."
    yield told


def wet_area(asked: Case, case: Case, zone: int, best: int) -> Iterator[str]:
    """Yield what a wet area on the other side of a quarter, or the code of the place, would cost.

    Notes
    -----
    A membrane job has a sentence where the wet area may lie on the other side of a quarter and the
    job is another one there.
    """
    share, part = case.roof.wet_fraction or 0.0, case.uncertainty.wet_area_range
    for place in (0, best):
        choice = case.choices[place]
        if isinstance(choice, Coating):
            continue
        roof = left_to_do(case.roof, asked.choices[place])
        roof = roof if choice.rest_after_y is None else parts_of(roof, choice.share_first)[0]
        setting = Setting.of(roof, case.prices, zone, case.building)
        if isinstance(choice, Membrane):
            if share <= WET_LIMIT < share * (1 + part):
                yield from _other_side(choice, setting, WET_LIMIT + 0.01)
            elif share * (1 - part) <= WET_LIMIT < share:
                yield from _other_side(choice, setting, WET_LIMIT)
        elif share > WET_LIMIT:
            yield from _torn_off(choice, setting)


def _other_side(choice: Membrane, setting: Setting, share: float) -> Iterator[str]:
    there = replace(setting, roof=replace(setting.roof, wet_fraction=share))
    jobs = [first_job(choice, each) for each in (setting, there)]
    if jobs[0].torn_off == jobs[1].torn_off:
        return
    more = first_job_cost(choice, there) - first_job_cost(choice, setting)
    torn = "is torn off whole" if jobs[1].torn_off else "may be covered once wet areas are cut out"
    yield (
        f"The wet area entered, {setting.roof.wet_fraction:.0%}, lies near a quarter: "
        f"{'above' if jobs[1].torn_off else 'up to'} that the old roof under “{choice.name}” "
        f"{torn}, and its first job costs about {more_or_less(-more)}. Have it surveyed first: the "
        "random runs take it as entered."
    )


def _torn_off(choice: MetalRetrofit, setting: Setting) -> Iterator[str]:
    if choice.wet_insulation == TORN_OFF:
        return
    more = first_job_cost(replace(choice, wet_insulation=TORN_OFF), setting)
    more -= first_job_cost(choice, setting)
    if more < SMALLEST:
        return
    yield (
        f"More than a quarter of the roof is wet. Under “{choice.name}” the rest of the old roof "
        "stays, because posts through it carry the new one (International Building Code 2021, "
        "1511.3.1). Some local codes ask for all of it to come off: its first job would then cost "
        f"about {said(more)} more."
    )


def bare_metal(case: Case) -> Iterator[str]:
    """Yield each metal roof that is modelled without insulation, which its price often includes."""
    for choice in case.choices:
        if isinstance(choice, MetalRetrofit) and not any(map(is_insulation, choice.layers)):
            yield (
                f"No insulation is counted under “{choice.name}”: a price of a metal roof often "
                "includes it. Enter its R-value if it does; energy is without it."
            )
