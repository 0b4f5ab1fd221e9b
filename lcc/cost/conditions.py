"""What the answer takes for granted, in sentences that stand beside the headline.

A price that is too low or does not say what it holds, a metal roof without insulation, starts that
differ, and a wet area near the share above which the code asks for more.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from lcc import tables
from lcc.case import Alternative, Case, Membrane, MetalRetrofit, Roof
from lcc.case.document_values import capital
from lcc.cost import quotations
from lcc.cost.costed import Costed
from lcc.cost.covering_lives import life_range
from lcc.cost.duties import rulings
from lcc.cost.metal import TORN_OFF
from lcc.cost.programme import first_job, first_job_cost
from lcc.cost.quotations import WORK
from lcc.cost.remarks import SMALLEST, Remark, beside_the_best, costs_then, turned_by
from lcc.cost.roof_job import BY_COST
from lcc.cost.roof_states import Setting, is_insulation
from lcc.cost.starting_year import begun_otherwise, cost_begun_now, year_from
from lcc.cost.takeoff_price import taken_off
from lcc.cost.tear_off_rule import WET_LIMIT, across_a_quarter
from lcc.cost.terms_of_money import as_lent, as_quoted_by_a_bank, as_taxed, energy_prices
from lcc.cost.verdict import difference
from lcc.cost.work import GRANT, granted
from lcc.figures import in_years, more_or_less, said, when
from lcc.results import AlternativeResult

ASKED_ALIKE = ("tear-off", "insulation")  # duties, by the names they have in a sentence
WAYS = ("method", "wet_insulation")  # fields that say whether the old roof is torn off
TORN, LEFT = "tears the old roof off", "leaves the old roof in place"
BOTH_NOW = "both begin now"
OLD = 2.0  # usual lives: an age beyond that is probably wrong; common practice
MATTERS = 0.05  # of an alternative's cost: from here on another way is spoken of


def conditions(found: Costed) -> Iterator[Remark]:
    """Yield what the answer takes for granted and the owner should know with it.

    Parameters
    ----------
    found : Costed
        The case as it was costed, with the final results.
    """
    yield from map(Remark, quotations.added(found))
    likelier = quotations.likelier(found)
    yield from readings(found, likelier)
    yield from quotations.prices_doubted(found, likelier)
    yield from (Remark(one, leads=True) for one in energy_prices(found.asked.prices))
    yield from torn_off_too(found)
    yield from quotations.other_bids(found)
    yield from tear_off_taken(found)
    yield from starts(found)
    yield from without_grant(found)
    yield from as_lent(found)
    yield from as_quoted_by_a_bank(found)
    yield from as_taxed(found.case.economics)
    yield from map(Remark, quotations.asbestos_held(found))
    yield from map(Remark, past_its_life(found.asked.roof))
    yield from map(Remark, quotations.torn_as_priced(found))
    yield from map(Remark, bare_metal(found.case))
    yield from wet_area(found)
    yield from taken_off(found)


def torn_off_too(found: Costed) -> Iterator[Remark]:
    """Yield what the answer is if the old roof must come off under a framed roof too.

    Notes
    -----
    The sums are those of the same roof with the tear-off entered: with the insulation that the
    energy code then asks for beyond what is laid with the metal, protection of the rooms, permit
    and fees, and the energy that changes. Said of the best, and of others whose answer changes.
    """
    results, off, base = found.alternatives, found.otherwise.all_off, found.alternatives[0]
    costs = {place: off.get(place, one.life_cycle_cost) for place, one in enumerate(results)}
    least = min(costs, key=lambda place: costs[place])
    for place in (place for place in (0, *found.best_first) if place in off):
        name, own = results[place].name, results[place or found.best]
        setting = found.setting(place)
        work = _torn_off(found.case.choices[place], setting)
        names = [each for each in ASKED_ALIKE if work.get(each, 0.0) >= SMALLEST]
        if not names:
            continue
        parts = (f"{'less ' * (cost < 0)}{WORK.get(duty, duty)} {said(abs(cost))}"
                 for duty, cost in work.items() if abs(cost) >= SMALLEST)  # fmt: skip
        then = (base.life_cycle_cost, off[place]) if place else (off[0], own.life_cycle_cost)
        what = f"if the building official asks for the {' and the '.join(names)} under “{name}”"
        turned = turned_by(base, own, [(f"{what} too", *then)])
        overtaken = place == found.best != least and costs[least] < base.life_cycle_cost
        if turned or place in (0, found.best):
            yield Remark(
                f"{_over_a_quarter(setting, name)}{capital(what)} too, its first job costs about "
                f"{said(math.fsum(work.values()))} more ({', '.join(parts)}), and over the study "
                f"period “{own.name}” {costs_then(base, then, turned=bool(turned))}."
                f"{f' “{results[least].name}” costs least then.' * overtaken} "
                "Ask your city or county building office before deciding.",
                turned,
                f"the building official asks for {' and '.join(names)}",
                "the building official asks for nothing more",
            )


def _torn_off(choice: Alternative, setting: Setting) -> dict[str, float]:
    """Return what each duty of a framed roof's first job costs more with the roof torn off."""
    assert isinstance(choice, MetalRetrofit)
    planned, torn = (
        {one.duty: one.cost for one in rulings(first_job(each, setting))}
        for each in (choice, replace(choice, wet_insulation=TORN_OFF))
    )
    more = {duty: cost - planned[duty] for duty, cost in torn.items()}
    return dict(sorted(more.items(), key=lambda each: -each[1]))


def _over_a_quarter(setting: Setting, name: str) -> str:
    """Say why the old roof stays where a membrane over it would not do."""
    if (setting.roof.wet_fraction or 0.0) <= WET_LIMIT:
        return ""
    return (
        f"More than a quarter of the roof is wet. Under “{name}” the rest of the old roof stays, "
        "because posts through it carry the new one (International Building Code 2021, 1511.3.1). "
        "Some local codes ask for all of it to come off. "
    )


def readings(found: Costed, more: Mapping[int, quotations.Likelier]) -> Iterator[Remark]:
    """Yield what the comparison becomes if prices of unknown scope hold more than laying.

    Notes
    -----
    Each price is read as including everything, and as including what it most likely does. The
    answer itself still counts it as laying alone. If the reading changed with the price, a slightly
    higher price could make its roof cheaper.
    """
    whole, (base, own) = quotations.unsaid(found), found.pair
    unsaid = [index for index in (0, found.best) if index in whole]
    if not unsaid:
        return
    names = {index: f"“{found.alternatives[index].name}”" for index in unsaid}
    over = {place for place in unsaid if quotations.laid_over(found.accounts[place])}
    held = {k: f"everything{', laid over the old roof' * (k in over)}" for k in unsaid}
    read = [(f"the price of {names[k]} includes {held[k]}", {k: whole[k]}) for k in unsaid]
    if len(unsaid) > 1:
        read.append(("both prices include everything", whole))
    likelier = {k: one for k, one in more.items() if k in whole and one.cost}
    likely = _at_likelier(found, likelier, read)
    costs = [(what, found.costs_with(those)) for what, those in read]
    turned = turned_by(base, own, [(f"if {what}", *both) for what, both in costs])
    decides = ", and the answer depends on it" if turned else ""
    cases = "; ".join(f"if {what}, {difference(*both)}" for what, both in costs)
    whose = "a price entered" if len(unsaid) > 1 else "its price"
    whose = "the other’s price" if unsaid == [0] else whose
    yield Remark(
        f"Nobody has entered what the price of {' and of '.join(names.values())} includes{decides}."
        f" Read as the price of laying alone, “{own.name}” costs "
        f"{difference(*found.costs_with({}), base.name)}; {cases}."
        + "".join(f" That of “{each.name}” {each.why}" for each in likelier.values()),
        turned,
        f"{whose} already includes all work",
        f"{'prices are' if len(unsaid) > 1 else 'the price is'} for laying alone",
        bool(likely),
        likely,
    )


def _at_likelier(
    found: Costed,
    likelier: Mapping[int, quotations.Likelier],
    read: list[tuple[str, dict[int, float]]],
) -> tuple[str, ...]:
    """Return the answer if prices hold what they most likely do, and list it with the readings."""
    if not likelier:
        return ()
    those = {place: one.cost for place, one in likelier.items()}
    what = " and ".join(f"the price of “{one.name}” includes {one.what}"
                        for one in likelier.values())  # fmt: skip
    if those not in [costs for _, costs in read]:
        read.insert(0, (what, those))
    off = found.otherwise.all_off.get(found.best)
    if off is not None and found.best not in those:
        asks = f"{what} and the building official asks for tear-off under the metal roof too"
        read.insert(1, (asks, {**those, found.best: off}))
    whose = " and ".join(f"{'its own' if place else 'the other’s'} price includes {one.what}"
                         for place, one in likelier.items())  # fmt: skip
    then = difference(*found.costs_with(those))
    return (then, whose) if then != difference(*found.costs_with({})) else ()


def starts(found: Costed) -> Iterator[Remark]:
    """Yield what begins in another year than the base case, and where the year turns the answer."""
    (base, best), year = found.pair, found.accounts[0].first_work
    for place in found.best_first:
        own, own_year = found.alternatives[place], found.accounts[place].first_work
        told: list[str] = []
        otherwise: list[tuple[str, float, float]] = []
        same: dict[str, tuple[float, float]] = {}
        apart = own is best and own.kind != "coating" and own_year != year
        if apart and year is not None and own_year is not None:
            same = dict(_both_begin(found, year))
            by = year_from(found.case.base_case, found.stated.roof)
            told.append(f"{_apart(base, own, year, own_year, same)}, {by}.")
            otherwise += [(f"if {what}", *costs) for what, costs in same.items()]
        other = begun_otherwise(base, own)
        if other is not None and (other[0] != year or not told):
            begun, cost = other[0], base.life_cycle_cost - other[1]
            told.append(
                f"Begun {when(begun)} instead of {when(own_year or 0)}, “{own.name}” costs "
                f"{difference(base.life_cycle_cost, cost, base.name)}."
                f"{beside_the_best(best, own, cost)}"
            )
            otherwise.append((f"if “{own.name}” begins {when(begun)}", base.life_cycle_cost, cost))
        if turned := turned_by(base, own, otherwise):
            told.append("The answer depends on the year in which the work begins.")
        if told:
            first = min(turned, key=lambda each: each.too_close, default=None)
            what = first.what.removeprefix("if ") if first else ""
            proviso = what.replace(f"“{own.name}”", "it")
            leads = bool(turned and same) or _halved(base, own, same)
            yield Remark(" ".join(told), turned, proviso, "each begins as counted", leads)
        if own is best and own.starting_years and own.starting_years.advice:
            yield Remark(own.starting_years.advice, leads=True)


def tear_off_taken(found: Costed) -> Iterator[Remark]:
    """Yield that the tool, not the owner, took tear-off or recover, where the other way matters.

    Notes
    -----
    Said where the other way is allowed, and turns the answer or costs more than 5 % more.
    """
    base, own = found.pair
    for place, result in ((0, base), (found.best, own)):
        choice, torn = found.case.choices[place], found.accounts[place].ledger.programme.torn_off
        costs = zip(found.books[place], found.ways[place], strict=True)
        others = [cost for way, cost in costs if way.programme.torn_off != torn]
        by_cost = any(hasattr(choice, of) and choice.origin(of) == BY_COST for of in WAYS)
        if not others or not by_cost:
            continue
        name, planned = result.name, result.life_cycle_cost
        then = found.costs_with({place: min(others)})
        does, other = (TORN, LEFT) if torn else (LEFT, TORN)
        turned = turned_by(base, own, [(f"if “{name}” {other}", *then)])
        more = min(others) - planned
        if turned or more > MATTERS * planned:
            answer = f"; if it {other}, “{own.name}” costs {difference(*then, base.name)}"
            yield Remark(
                f"“{name}” {does}. You did not say which way: this is about {said(more)} cheaper "
                f"over the study period{answer * bool(turned)}.",
                turned,
                f"{'it' if place else 'the other'} {other}",
                f"“{name}” {does}",
            )


def _apart(
    base: AlternativeResult,
    own: AlternativeResult,
    year: int,
    own_year: int,
    same: Mapping[str, tuple[float, float]],
) -> str:
    """Say what both cost if they begin in the same year, and how far apart they do begin."""
    paid = math.fsum(event.cost for event in own.events if event.year == own_year)
    apart = abs(own_year - year)
    grant = granted(((one.name, one.by_year) for one in own.costs), own_year)
    less = f", less a grant of {said(grant)}," if grant >= SMALLEST else ""
    each = "; ".join(f"{difference(*costs)} if {what}" for what, costs in same.items())
    sooner = year > 0 and BOTH_NOW in same
    each += f" (“{base.name}” is then paid for sooner too)" * sooner
    together = f"Begun together, “{own.name}” costs {each}. It" if same else ""
    return (
        f"{together or f'“{own.name}”'} costs {said(paid)}{less} {when(own_year)}, "
        f"{in_years(apart)} {'before' if own_year < year else 'after'} “{base.name}” begins "
        f"{when(year)}"
    )


def _halved(
    base: AlternativeResult, own: AlternativeResult, same: Mapping[str, tuple[float, float]]
) -> bool:
    """Tell whether half of the difference or more is only that both do not begin together."""
    saved = base.life_cycle_cost - own.life_cycle_cost
    return any((one - other) * saved <= saved**2 / 2 for one, other in same.values())


def _both_begin(found: Costed, year: int) -> Iterator[tuple[str, tuple[float, float]]]:
    """Yield what both cost if they begin in one year: the base case's, and now."""
    (base, own), ways = found.pair, (found.books[0], found.books[found.best])
    begun = own.starting_years
    if begun and year in begun.years:
        saved = begun.net_savings[begun.years.index(year)]
        yield f"both begin {when(year)}", (base.life_cycle_cost, base.life_cycle_cost - saved)
    if year and all(way.rest is None for each in ways for way in each):
        yield BOTH_NOW, (cost_begun_now(found.case, ways[0]), cost_begun_now(found.case, ways[1]))


def without_grant(found: Costed) -> Iterator[Remark]:
    """Yield what the answer is if a grant is refused."""
    base, own = found.pair
    for place, result in ((0, base), (found.best, own)):
        grant = -math.fsum(one.present_value for one in result.costs if one.name == GRANT)
        costs = found.costs_with({place: result.life_cycle_cost + grant})
        if grant >= SMALLEST:
            what = f"without the grant for “{result.name}”"
            yield Remark(
                f"Without the grant{f' for “{base.name}”' * (place == 0)}, “{own.name}” costs "
                f"{difference(*costs, base.name)}.",
                turned_by(base, own, [(what, *costs)]),
                "a grant is refused",
                "grants are paid",
            )


def wet_area(found: Costed) -> Iterator[Remark]:
    """Yield what a wet area on the other side of a quarter would cost.

    Notes
    -----
    Said where it may lie there and a membrane's first job is another one then. The costs are those
    of the same case with that wet area.
    """
    (base, own), case = found.pair, found.case
    share = case.roof.wet_fraction or 0.0
    other = across_a_quarter(share, case.uncertainty.wet_area_range)
    if other is None:
        return
    more = other > share
    near = f"The wet area entered, {share:.0%}, lies near a quarter: {'above' if more else 'up to'}"
    survey = "Have it surveyed first: the random runs take it as entered."
    if more and own.kind == "coating":
        yield Remark(f"{near} that no coating can go on, for the old roof must come off. {survey}")
    if not found.otherwise.across:
        return
    places = (at for at in (0, found.best) if isinstance(case.choices[at], Membrane))
    jobs = [job for place in places for job in _another_job(found, place, other)]
    if jobs:
        then = found.otherwise.across
        what = f"{'more than' if more else 'at most'} a quarter of the roof is wet"
        turned = turned_by(base, own, [(f"if {what}", *then)])
        yield Remark(
            f"{near} that {'; '.join(jobs)}. “{own.name}” then "
            f"{costs_then(base, then, turned=bool(turned))}. {survey}",
            turned,
            what,
            "the wet area is as entered",
        )


def _another_job(found: Costed, place: int, share: float) -> Iterator[str]:
    """Yield what a membrane's first job is at another wet share, if it is another one."""
    choice = found.case.choices[place]
    settings = [found.setting(place, each) for each in (None, share)]
    jobs = [first_job(choice, each) for each in settings]
    if jobs[0].torn_off != jobs[1].torn_off:
        costs = [first_job_cost(choice, each) for each in settings]
        kept = "may be covered once wet areas are cut out"
        torn = "is torn off whole" if jobs[1].torn_off else kept
        yield (
            f"the old roof under “{choice.name}” {torn}, and its first job costs about "
            f"{more_or_less(costs[0] - costs[1])}"
        )


def past_its_life(roof: Roof) -> Iterator[str]:
    """Yield that an age is hard to believe: twice the covering's usual life or more."""
    usual = life_range(str(tables.rows("coverings")[roof.covering]["life_family"]))
    if roof.age_y >= OLD * usual.likely_y:
        yield (
            f"The roof of today is entered as {in_years(roof.age_y)} old. Its covering usually "
            f"lasts about {usual.likely_y:.0f}. Check the age."
        )


def bare_metal(case: Case) -> Iterator[str]:
    """Yield each metal roof that is modelled without insulation, which its price often includes."""
    for choice in case.choices:
        if isinstance(choice, MetalRetrofit) and not any(map(is_insulation, choice.layers)):
            yield (
                f"No insulation is counted under “{choice.name}”: a price of a metal roof often "
                "includes it. Enter its R-value if it does; energy is without it."
            )
