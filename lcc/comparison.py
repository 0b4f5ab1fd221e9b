"""The one front door: a case in, a comparison out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import repeat

from lcc import cautions, narrative
from lcc.case import Alternative, Case, Coating, Membrane, MetalRetrofit, Roof
from lcc.case.layers import Assembly
from lcc.case.resolution import resolve
from lcc.cost import result, sensitivity
from lcc.cost.cash_flow import condensed
from lcc.cost.energy_phases import energy_by_phase
from lcc.cost.membrane import laying_alone
from lcc.cost.metal import PANEL_STATE
from lcc.cost.monte_carlo import spreads
from lcc.cost.payback_rule import payback_against
from lcc.cost.programme import Programme, plan
from lcc.cost.roof_states import Setting
from lcc.cost.sensitivity import levers
from lcc.cost.tax import taxed
from lcc.errors import within
from lcc.figures import named
from lcc.heat.climate import Climate, load, zone_number
from lcc.heat.energy import energy_year
from lcc.provenance import assumptions
from lcc.quantities import Quantities, framed, of_retrofit, units_left
from lcc.results import AlternativeResult, CautionGroup, Comparison, EnergyYear


def compare(
    case: Case,
    energy: Callable[..., EnergyYear] = energy_year,
    climate: Callable[..., Climate] = load,
    *,
    explore: bool = True,
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
        Whether to look for break-evens and swings, and to make the random draws asked for.

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
    asked, case = case, completed(case)
    with within("site"):
        weather = climate(case.site)
    zone = int(zone_number(weather.zone) or 0)
    used = assumptions(case, zone)
    case = priced(case, zone)
    programmes = [
        plan(choice, _to_lift(case.roof, given), case.prices, zone)
        for choice, given in zip(_choices(case), _choices(asked), strict=True)
    ]
    years = energy_by_state(case, weather, programmes, energy, beyond=explore)
    accounts = [result.account(each, years, case.economics) for each in programmes]
    results = _results(case, accounts)
    taken = map(_quantities, _choices(asked), accounts, results, repeat(case.roof))
    results = tuple(replace(each, quantities=own) for each, own in zip(results, taken, strict=True))
    if explore:
        results = explored(case, accounts, results)
    results = (results[0], *(_against(results[0], each) for each in results[1:]))
    said = narrative.answer(results, case.economics.study_period_y)
    warned = cautions.cautions(case, results, used)
    return Comparison(
        name=case.name,
        headline=said.headline,
        verdict=" ".join((said.headline, *said.disagreements, said.explanation)),
        alternatives=results,
        notes=cautions.notes(case),
        cautions=tuple(one.text for one in warned),
        caution_groups=_grouped(warned),
        assumptions=used,
        answer=said,
    )


def _grouped(said: Iterable[cautions.Caution]) -> tuple[CautionGroup, ...]:
    counts = Counter(one.group for one in said)
    return tuple(CautionGroup(title, count) for title, count in counts.items())


def _against(base: AlternativeResult, own: AlternativeResult) -> AlternativeResult:
    """Add payback and energy by phase, which read the costs, the draws and the energy years."""
    return replace(
        own, payback=payback_against(base, own), energy_by_phase=energy_by_phase(base, own)
    )


def completed(case: Case) -> Case:
    """Return the case with what surveys and tables stand in for where it states nothing."""
    return resolve(surveyed(case))


def surveyed(case: Case) -> Case:
    """Return the case with what its framing surveys give in place of price, slope and cavity."""
    first, *others = named(_choices(case))
    called = replace(case, base_case=first, alternatives=tuple(others))
    return _changed(called, lambda choice: _framed(choice, case.roof.area_m2))


def priced(case: Case, zone: int) -> Case:
    """Return the case with the price of laying in place of quotations that cover everything."""
    setting = Setting.of(case.roof, case.prices, zone)
    return _changed(case, lambda choice: _priced(choice, setting))


def _changed(case: Case, change: Callable[[Alternative], Alternative]) -> Case:
    """Change the base case and every alternative; faults have their place in the case."""
    with within("base_case"):
        base = change(case.base_case)
    alternatives = []
    for index, choice in enumerate(case.alternatives):
        with within("alternatives", index):
            alternatives.append(change(choice))
    return replace(case, base_case=base, alternatives=tuple(alternatives))


def _priced(choice: Alternative, setting: Setting) -> Alternative:
    if isinstance(choice, Membrane):
        return laying_alone(choice, setting)
    if isinstance(choice, Coating):
        with within("replacement"):
            return replace(choice, replacement=laying_alone(choice.replacement, setting))
    return choice


def _choices(case: Case) -> tuple[Alternative, ...]:
    return (case.base_case, *case.alternatives)


def _to_lift(roof: Roof, given: Alternative) -> Roof:
    """Return the roof with only the rooftop units whose lifting no price holds."""
    if not isinstance(given, MetalRetrofit):
        return roof
    return replace(roof, rooftop_units=units_left(given, roof.rooftop_units))


def _framed(choice: Alternative, area_m2: float) -> Alternative:
    return framed(choice, area_m2) if isinstance(choice, MetalRetrofit) else choice


def energy_by_state(
    case: Case,
    weather: Climate,
    programmes: Iterable[Programme],
    energy: Callable[..., EnergyYear] = energy_year,
    *,
    beyond: bool = True,
) -> dict[Assembly, EnergyYear]:
    """Return the energy year of every distinct state of the programmes.

    With `beyond`, also of the states that only other lives than planned would lead to.
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
    plain = [result.result(own, area, economics) for own in accounts]
    others = [
        replace(each, measures=result.measured(accounts[0], own, economics))
        for each, own in zip(plain[1:], accounts[1:], strict=True)
    ]
    others = [
        replace(each, financed=result.paid_by(accounts[0], own, economics))
        for each, own in zip(others, accounts[1:], strict=True)
    ]
    after_tax = taxed(accounts, economics)
    return tuple(
        replace(each, after_tax=net)
        for each, net in zip((plain[0], *others), after_tax, strict=True)
    )


def explored(
    case: Case, accounts: list[result.Account], results: tuple[AlternativeResult, ...]
) -> tuple[AlternativeResult, ...]:
    """Return the results with what would change them: break-evens, swings, random draws."""
    ledgers = [condensed(own.ledger) for own in accounts]
    found = [results[0]]
    for index, each in enumerate(results[1:]):
        inputs = levers(case, index)
        values, swings = sensitivity.explored(
            ledgers[0], ledgers[index + 1], case.economics, inputs
        )
        found.append(replace(each, break_even=values, swings=swings))
    if not case.uncertainty.draws:
        return tuple(found)
    drawn = spreads(case, _choices(case), ledgers)
    return tuple(replace(each, spread=own) for each, own in zip(found, drawn, strict=True))


def _quantities(
    given: Alternative, account: result.Account, own: AlternativeResult, roof: Roof
) -> Quantities | None:
    """Return the takeoff of a surveyed retrofit, its panel as hot and cold as in its year."""
    if not isinstance(given, MetalRetrofit) or given.framing is None:
        return None
    built = next((year for year in own.energy if year.assembly == PANEL_STATE), None)
    temperatures = (built.lowest_surface_c, built.peak_surface_c) if built else None
    entered = None
    if given.price_per_m2 is not None:
        entered = sum(work.cost for work in account.ledger.programme.steps[1].works)
    return of_retrofit(given, temperatures, roof, entered)
