"""The one front door: a case in, a comparison out."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace

from lcc import answer_headline, cautions, model_notes
from lcc.case import Alternative, Building, Case, Economics, MetalRetrofit, Prices, Roof
from lcc.case.kept import kept
from lcc.case.layers import Assembly
from lcc.caution_texts import Caution
from lcc.cost import quotations, result, scope, sensitivity
from lcc.cost.conditions import conditions
from lcc.cost.costed import UNEXPLORED, Costed, Otherwise, Picked, Planned
from lcc.cost.energy_phases import energy_by_phase
from lcc.cost.levers import NOT_KNOWN, levers
from lcc.cost.metal import PANEL_STATE
from lcc.cost.monte_carlo import spreads
from lcc.cost.payback_sentence import payback_against
from lcc.cost.present_value import real_discount_rate
from lcc.cost.programme import Programme, candidates, levelled, old_roof_off, plan
from lcc.cost.remarks import Remark
from lcc.cost.roof_states import Setting
from lcc.cost.starting_year import OldRoof, starting_years
from lcc.cost.switching_values import study_periods, turning, with_choices
from lcc.cost.takeoff_price import as_counted, at_takeoff, differs
from lcc.cost.tax import taxed
from lcc.cost.tear_off_rule import WET_LIMIT, across_a_quarter
from lcc.errors import CaseError, within
from lcc.figures import numbered_note
from lcc.heat.climate import Climate, load, zone_number
from lcc.heat.energy import energy_year
from lcc.provenance import assumptions
from lcc.quantities import Quantities, left_to_do, of_retrofit
from lcc.results import (
    AlternativeResult,
    CautionGroup,
    Comparison,
    EnergyYear,
    Turning,
    Verdict,
    cheapest,
)
from lcc.stated_case import completed, each_of


def compare(
    case: Case,
    energy: Callable[..., EnergyYear] = energy_year,
    climate: Callable[..., Climate] = load,
    *,
    explore: bool = True,
    draw: bool | None = None,
) -> Comparison:
    """Return what each alternative costs over the study period, and what it does to the bill.

    Parameters
    ----------
    case : Case
        The roof, the base case and one or more alternatives.
    energy : callable
        The energy of one state of the roof: `lcc.heat.energy.energy_year` or its like.
    climate : callable
        The climate of a site: `lcc.heat.climate.load` or its like.
    explore : bool
        Whether to look for break-evens, swings, what turns the answer, and when to begin.
    draw : bool, optional
        Whether to make the random draws asked for: as `explore` unless stated.

    Returns
    -------
    Comparison
        The base case first, then the alternatives in the order of the case.

    Raises
    ------
    CaseError
        Where a figure of the case cannot be used, with the field's path in the case.

    Notes
    -----
    A roof that changes state during the study period, as by insulation added at a tear-off, has
    an energy year for each state; each distinct state is computed once for all alternatives.
    """
    draw = explore if draw is None else draw
    found = costed(case, energy, climate, explore=explore or draw)
    asked, case, accounts = case, found.case, found.accounts
    turned = Turning("")
    if explore:
        results, turned = explored(found)
        found = found._replace(alternatives=results)
    if draw:
        found = found._replace(alternatives=drawn(found))
    base, *others = found.alternatives
    results = (base, *(_against(base, each) for each in others))
    found = found._replace(alternatives=results)
    remarks = sorted(conditions(found), key=lambda one: (not (one.leads or one.turns), one.worst))
    if explore:
        turned = with_choices(turned, results, remarks)
    beside = (*cautions.weak_decks(case), *quotations.no_third(found), *(r.text for r in remarks))
    said = _said(found, turned.sentence, beside, remarks)
    fitting = cautions.cautions(case, results, found.stated)
    to_ask = filter(None, (one.question for one in fitting))
    rows = scope.scope(accounts, results)
    return Comparison(
        name=case.name,
        headline=said.headline,
        verdict=" ".join((said.headline, *said.disagreements, *beside, said.explanation)),
        alternatives=results,
        scope=rows,
        scope_note=scope.note(rows),
        questions=(*scope.questions(rows), *quotations.asked(results), *to_ask),
        turning=turned,
        notes=(*model_notes.notes(case), *filter(None, (numbered_note(asked.choices),))),
        cautions=tuple(one.text for one in fitting),
        caution_groups=_grouped(fitting),
        assumptions=assumptions(found.stated, found.zone, asked, rows),
        answer=said,
    )


def costed(
    case: Case,
    energy: Callable[..., EnergyYear] = energy_year,
    climate: Callable[..., Climate] = load,
    *,
    explore: bool = False,
    reprice: bool = False,
) -> Costed:
    """Return what each alternative costs: the figures of `compare` without its words and ranges.

    Parameters
    ----------
    case : Case
        The roof, the base case and one or more alternatives.
    energy, climate : callable
        As of `compare`.
    explore : bool
        Whether states and exposures are found that only break-evens, swings and draws reach.
    reprice : bool
        Whether the two that are set against each other are costed at their other prices too.

    Raises
    ------
    CaseError
        Where a figure of the case cannot be used, with the field's path in the case.
    """
    stated = completed(case)
    with within("site"):
        weather = climate(stated.site)
    zone = int(zone_number(weather.zone) or 0)
    given, setting = case.choices, _setting(stated, zone)

    def planned(choice: Alternative, index: int) -> list[Planned]:
        return _ways(choice, given[index], *setting, exposed=explore)

    options = each_of(stated, planned)
    programmes = [way.programme for each in options for way in each]
    years = energy_by_state(stated, weather, programmes, energy, beyond=explore)
    picked = [_cheapest(each, years, stated.economics) for each in options]
    base, *others = (each.way.choice for each in picked)
    taken = replace(stated, base_case=base, alternatives=tuple(others))
    accounts = [each.account for each in picked]
    plain = zip(_results(taken, accounts), case.choices, picked, strict=True)
    results = tuple(_detailed(*each, taken.roof) for each in plain)
    every, ways = (tuple(getattr(each, of) for each in picked) for of in ("every", "costs"))
    found = Costed(case, stated, taken, zone, accounts, results, every, ways, UNEXPLORED)
    prices = _at_other_prices(found, options, years, explore=explore) if explore or reprice else {}
    if not explore:
        return found._replace(otherwise=UNEXPLORED._replace(prices=prices))
    otherwise = Otherwise(
        prices,
        _at_takeoffs(found, years),
        _across_a_quarter(found, energy, climate),
        _all_off(found, weather, energy),
    )
    return found._replace(otherwise=otherwise)


def warned(found: Costed) -> tuple[str, ...]:
    """Return the cautions that fit a costed case, as `compare` has them."""
    fitting = cautions.cautions(found.case, found.alternatives, found.stated)
    return tuple(one.text for one in fitting)


def _said(found: Costed, turned: str, beside: Sequence[str], remarks: Sequence[Remark]) -> Verdict:
    """Return the answer in words, with what is not yet known of the roof."""
    unknown = {}
    for duty, (_, label, _) in NOT_KNOWN.items():
        ledgers = [own.ledger for own in found.accounts if duty in own.ledger.open]
        if names := [ledger.programme.name for ledger in ledgers]:
            unknown[label] = names[0] if len(names) == 1 else ""
    economics, results = found.case.economics, found.alternatives
    rate, years = real_discount_rate(economics), economics.study_period_y
    return answer_headline.answer(results, years, turned, unknown, rate, beside, remarks)


def _grouped(said: Iterable[Caution]) -> tuple[CautionGroup, ...]:
    counts = Counter(one.group for one in said)
    return tuple(CautionGroup(title, count) for title, count in counts.items())


def _against(base: AlternativeResult, own: AlternativeResult) -> AlternativeResult:
    """Add payback and energy by phase, which read the costs, the draws and the energy years."""
    return replace(
        own, payback=payback_against(base, own), energy_by_phase=energy_by_phase(base, own)
    )


def _setting(stated: Case, zone: int) -> tuple[Roof, Prices, int, Building, float | None]:
    """Return what every job is set in, with the highest wind that a survey of the case has."""
    surveys = (each.framing for each in stated.choices if isinstance(each, MetalRetrofit))
    winds = [each.wind_and_snow.basic_wind_m_s for each in surveys if each]
    highest = max(filter(None, winds), default=None)
    return stated.roof, stated.prices, zone, stated.building, highest


@kept(64)
def _ways(
    choice: Alternative,
    given: Alternative,
    roof: Roof,
    prices: Prices,
    zone: int,
    building: Building,
    design_wind_m_s: float | None,
    *,
    exposed: bool,
) -> list[Planned]:
    """Return the ways of doing one alternative; `given` is it as the case states it."""
    given_to = left_to_do(roof, given), prices, zone, building, design_wind_m_s
    setting, own = Setting.of(*given_to), given.price_per_m2 is not None
    return [
        Planned(laid, plan(laid, *given_to, quoted, exposed=exposed), bids)
        for each in candidates(choice, setting.roof.wet_fraction or 0.0)
        for way, bids in quotations.offered(each, setting, entered=own)
        for laid, quoted in (levelled(way, setting),)
    ]


def _at_other_prices(
    found: Costed,
    options: Sequence[Sequence[Planned]],
    years: Mapping[Assembly, EnergyYear],
    *,
    explore: bool,
) -> dict[int, dict[str, float]]:
    """Return what the base case and the cheapest alternative cost at their other prices.

    It takes no new heat: the states are those of the ways that were compared. A quotation that
    was among those ways has its cost there. With the tear-off in it only where that is explored:
    else the states after a tear-off may not be solved.
    """
    asked, stated, zone = found.asked, found.stated, found.zone

    def cost(place: int, priced: Alternative) -> float:
        compared = zip(options[place], found.ways[place], strict=True)
        bids = [(quotations.taken(way.bids), known) for way, known in compared]
        if same := [known for bid, known in bids if bid and bid.bidder == priced.quotation_taken]:
            return min(same)
        ways = _ways(priced, asked.choices[place], *_setting(stated, zone), exposed=False)
        return min(_cheapest(ways, years, stated.economics).costs)

    other: dict[int, dict[str, float]] = {}
    for place in (0, found.best):
        bids = found.alternatives[place].quotations
        over = quotations.laid_over(found.accounts[place])
        choices = asked.choices[place], stated.choices[place]
        prices = quotations.at_other_prices(*choices, bids, over)
        other[place] = {name: cost(place, priced) for name, priced in prices
                        if explore or name != quotations.HOLDS_TEAR_OFF}  # fmt: skip
    return other


def _across_a_quarter(
    found: Costed, energy: Callable[..., EnergyYear], climate: Callable[..., Climate]
) -> tuple[float, float] | tuple[()]:
    """Return what the base case and the best cost if the wet area lies across a quarter."""
    asked, stated = found.asked, found.stated
    share = across_a_quarter(stated.roof.wet_fraction or 0.0, stated.uncertainty.wet_area_range)
    if share is None:
        return ()
    roof = replace(asked.roof, wet_fraction=share, wet_area_m2=None)
    best = asked.alternatives[found.best - 1]
    with suppress(CaseError):
        there = costed(replace(asked, roof=roof, alternatives=(best,)), energy, climate)
        base, own = there.alternatives
        return base.life_cycle_cost, own.life_cycle_cost
    return ()


def _all_off(
    found: Costed, weather: Climate, energy: Callable[..., EnergyYear]
) -> dict[int, float]:
    """Return what framed roofs cost if all of the old roof must come off too.

    Where it comes off under the base case, or more than a quarter of it is wet. Left out where it
    comes off as planned, or where the framed roof begins after the study period.
    """
    stated, costs_off = found.stated, dict[int, float]()
    base_torn = found.accounts[0].ledger.programme.torn_off
    for place, own in enumerate(found.accounts):
        choice, given = stated.choices[place], found.asked.choices[place]
        asks = base_torn or (left_to_do(stated.roof, given).wet_fraction or 0.0) > WET_LIMIT
        stays = own.first_work is not None and not own.ledger.programme.torn_off
        if not (isinstance(choice, MetalRetrofit) and asks and stays):
            continue
        compared = zip(found.books[place], found.ways[place], strict=True)
        costs = [cost for ledger, cost in compared if ledger.programme.torn_off]
        if not costs:  # where wet insulation may be left, no tear-off was compared
            setting = _setting(stated, found.zone)
            ways = _ways(old_roof_off(choice), given, *setting, exposed=False)
            programmes = [way.programme for way in ways]
            years = energy_by_state(stated, weather, programmes, energy, beyond=False)
            costs = [*_cheapest(ways, years, stated.economics).costs]
        costs_off[place] = min(costs)
    return costs_off


def _at_takeoffs(found: Costed, years: Mapping[Assembly, EnergyYear]) -> dict[int, float]:
    """Return what alternatives cost at their take-off's price where that differs from the entered.

    By their place, the base case first, on the completed roof of the comparison. Left out where
    that price is beyond a roof's, or the roof has a state there whose year is not solved yet.
    """
    built, results = dict[int, float](), found.alternatives
    for place in filter(lambda place: differs(results[place]), range(1, len(results))):
        given = replace(at_takeoff(found.asked, place), roof=found.stated.roof)
        with suppress(CaseError):
            stated = completed(given)
            own, as_given = stated.alternatives[0], given.alternatives[0]
            ways = _ways(own, as_given, *_setting(stated, found.zone), exposed=False)
            if all(state in years for way in ways for state in way.programme.states):
                built[place] = min(_cheapest(ways, years, stated.economics).costs)
    return built


def _cheapest(
    ways: Sequence[Planned], years: Mapping[Assembly, EnergyYear], economics: Economics
) -> Picked:
    """Return the way of doing an alternative that costs least, and what each way costs."""
    accounts = tuple(result.account(way.programme, years, economics) for way in ways)
    costs = tuple(result.life_cycle_cost(own, economics) for own in accounts)
    chosen = costs.index(min(costs))
    return Picked(ways[chosen], accounts[chosen], accounts, costs)


def _detailed(
    own: AlternativeResult, given: Alternative, picked: Picked, roof: Roof
) -> AlternativeResult:
    """Add the quotations side by side and the take-off."""
    bids = picked.way.bids
    note = quotations.note(own.name, bids, named=bool(given.quotation_taken))
    counted = _quantities(given, picked.account, own, roof)
    return replace(own, quotations=bids, quotations_note=note, quantities=counted)


def energy_by_state(
    case: Case,
    weather: Climate,
    programmes: Iterable[Programme],
    energy: Callable[..., EnergyYear] = energy_year,
    *,
    beyond: bool = True,
) -> dict[Assembly, EnergyYear]:
    """Return the energy year of every distinct state of the programmes.

    With `beyond`, also of the states that only lives other than the planned ones reach.
    """
    years = case.economics.study_period_y
    states = dict.fromkeys(
        state
        for programme in programmes
        for state in (programme.states if beyond else programme.states_within(years))
    )
    prices, roof = case.prices, case.roof
    return {
        state: energy(weather, case.building, roof.area_m2, state, prices, case.site.terrain)
        for state in states
    }


def _results(case: Case, accounts: list[result.Account]) -> tuple[AlternativeResult, ...]:
    area, economics = case.roof.area_m2, case.economics
    base, after_tax = accounts[0], taxed(accounts, economics)
    return tuple(
        replace(
            result.result(own, area, economics),
            measures=None if own is base else result.measured(base, own, economics),
            financed=result.paid_by(base, own, economics),
            after_tax=net,
        )
        for own, net in zip(accounts, after_tax, strict=True)
    )


def explored(costs: Costed) -> tuple[tuple[AlternativeResult, ...], Turning]:
    """Return the results with what would change them, and what would turn the answer."""
    case, books, results = costs.case, costs.books, costs.alternatives
    base, *ledgers = (own.ledger for own in costs.accounts)
    old, varied = OldRoof.of(case), []
    found = [results[0]]
    for index, (each, own) in enumerate(zip(results[1:], ledgers, strict=True)):
        inputs = levers(case, index, base, own)
        varied.append(inputs)
        ways = books[0], books[index + 1]
        values, swings = sensitivity.explored(base, own, case.economics, inputs, ways)
        begun = starting_years(case, old, base, own)
        found.append(replace(each, break_even=values, swings=swings, starting_years=begun))
    best = cheapest(found)
    periods = study_periods(books[0], books[best], case.economics)
    own = ledgers[best - 1]
    return tuple(found), turning(found[best], base, own, case.economics, varied[best - 1], periods)


def drawn(found: Costed) -> tuple[AlternativeResult, ...]:
    """Return the results with the spread of the random draws that the case asks for."""
    case, results = found.case, found.alternatives
    if not case.uncertainty.draws:
        return results
    drawings = spreads(case, case.choices, [own.ledger for own in found.accounts])
    return tuple(replace(each, spread=own) for each, own in zip(results, drawings, strict=True))


def _quantities(
    given: Alternative, account: result.Account, own: AlternativeResult, roof: Roof
) -> Quantities | None:
    """Return the take-off of a surveyed retrofit, its panel as hot and cold as in its year."""
    if not isinstance(given, MetalRetrofit) or given.framing is None:
        return None
    built = next((year for year in own.energy if year.assembly == PANEL_STATE), None)
    temperatures = (built.lowest_surface_c, built.peak_surface_c) if built else None
    entered = as_counted(account, given, roof) if given.quoted else None
    return of_retrofit(given, temperatures, roof, entered)
