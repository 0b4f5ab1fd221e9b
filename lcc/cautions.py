"""What a reader is told beside the figures: cautions that fit the case, and what is left out."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import Any

from lcc import tables
from lcc.case import Alternative, Case, Coating, MetalRetrofit
from lcc.figures import shown
from lcc.heat.assembly import WET_LIMIT, kept_when_wet, resolve
from lcc.heat.sri import aged_reflectance
from lcc.results import AlternativeResult
from lcc.results.assumption import Assumption

ALWAYS = (
    "Work at height: fall protection and a safe way up come before any inspection or work.",
    "Local code and the authority having jurisdiction decide what may be built.",
)
STRUCTURE = (
    "A metal roof over the old one adds dead load, changes snow drift and wind uplift: "
    "a licensed structural engineer must check the building before it is ordered."
)
ASBESTOS = (
    "Old built-up roofing, mastics and flashings may hold asbestos: "
    "have them tested before anyone cuts, drills or tears off."
)
TRADES = (
    "Gas, electricity and rooftop units are disconnected and connected by licensed trades only."
)
WET = (
    "Insulation is partly wet. Under a metal roof or a coating the water stays in the roof: find "
    "the leaks, test the deck for rust or rot, and remove what is soaked."
)
INVENTED = (
    "Prices marked demo are invented: put in a quotation before deciding anything by these figures."
)
TAX = (
    "The after-tax view is a sketch of United States rules for business property: "
    "repairs, depreciation and the sale at the end are for the owner's tax adviser to confirm."
)
NO_INFLATION = (
    "The discount rate is called nominal, but inflation is 0: it counts as a real rate. "
    "Enter the inflation that it holds."
)
FLAT = "Slope below 1/4 in 12, the least that the International Building Code (1507.10.1) asks."
SOAKED = (
    "{name} keeps {kept} of its dry resistance: under 80% wet insulation is replaced "
    "(Tobiasson, from memory), by a tear-off of what is wet before anything is laid over it."
)
MORE = "{name} needs {part} more {what} over the study period than {base}: {why}."
WHY_MORE = {
    "heating": "a lighter face takes in less of the winter sun, and layers that are insulated "
    "less, or later, lose more",
    "cooling": "a darker face takes in more sun, and insulation keeps the rooms' own warmth in "
    "where nights are cool",
}
CONDENSATION = (
    "The panel's underside is below the dew point for {hours} hours a year in the model, "
    "mostly on clear nights: keep the cavity ventilated and let the film drain or dry."
)
DARK = (
    "{name}: a solar reflectance of {given} is much for a dark finish; use an aged, "
    "third-party-rated value. Aged by 0.2 + 0.7 (ρ - 0.2) it would be {aged}."
)
AGED = (
    "{name}: a solar reflectance of {given} is above the aged value of its class, "
    "{listed}. If it is a new value, 0.2 + 0.7 (ρ - 0.2) gives {aged}; "
    "use an aged, third-party-rated one."
)
NOTES = (
    "Loads are sensible: moisture in the rooms is the same under every roof and is left out.",
    "The floor under the top storey is taken as adiabatic.",
    "The weather is one typical year, repeated; later years are not warmer.",
    "Costs are in base-year money and fall at the end of their year; a covering lasts its life "
    "rounded to whole years.",
    "A covering or metal roof that outlives the study period is worth its cost in the year's "
    "prices, straight line by remaining life; tear-off, disruption and the roof of today are not.",
    "Interior damage beyond the sum entered, lost rent, and fire or storm losses are left out.",
)
# A dark finish rarely reflects more; the ageing relation is California Title 24 Part 6.
DARK_LIMIT, MARGIN = 0.45, 0.05
# A rise of a load that is told: half a per cent, above what the model's own error could make.
NOTABLE = 0.005


def cautions(
    case: Case, results: Sequence[AlternativeResult], used: Sequence[Assumption]
) -> tuple[str, ...]:
    """Return the cautions that fit a case and its results.

    Parameters
    ----------
    case : Case
        The case.
    results : sequence of AlternativeResult
        Its alternatives, the base case first.
    used : sequence of Assumption
        The figures it rests on.
    """
    said = (*_of_case(case), *_of_faces(case), *_of_results(results), *_of_prices(used), *ALWAYS)
    return tuple(dict.fromkeys(said))


def _of_case(case: Case) -> Iterator[str]:
    choices = (case.base_case, *case.alternatives)
    retrofits = [choice for choice in choices if isinstance(choice, MetalRetrofit)]
    if retrofits:
        yield STRUCTURE
    if any(choice.slope < 0.25 / 12 - 1e-9 for choice in retrofits):
        yield FLAT
    if case.roof.covering.startswith(("built-up", "coal-tar")) or case.roof.coverings > 1:
        yield ASBESTOS
    if case.roof.rooftop_units:
        yield TRADES
    if case.economics.tax is not None:
        yield TAX
    if case.economics.rate_kind == "nominal" and case.economics.inflation == 0:
        yield NO_INFLATION
    if case.roof.wet_fraction and any(isinstance(c, MetalRetrofit | Coating) for c in choices):
        yield WET
    for layer in case.roof.layers:
        if kept_when_wet(layer) < WET_LIMIT:
            yield SOAKED.format(name=resolve(layer).name, kept=shown(kept_when_wet(layer), "rate"))


def _of_faces(case: Case) -> Iterator[str]:
    for choice in (case.base_case, *case.alternatives):
        given = choice.solar_reflectance
        if given is None:
            continue
        row = _face(choice)
        aged = shown(aged_reflectance(given))
        words = {"name": choice.name, "given": shown(given), "aged": aged}
        if row.get("colour_class") == "dark" and given > DARK_LIMIT:
            yield DARK.format(**words)
        elif given > float(row["solar_reflectance"]) + MARGIN:
            yield AGED.format(**words, listed=shown(float(row["solar_reflectance"])))


def _face(choice: Alternative) -> dict[Hashable, Any]:
    if isinstance(choice, MetalRetrofit):
        return tables.rows("panels")[choice.panel]
    return tables.rows("coverings")[choice.covering]


def _of_results(results: Sequence[AlternativeResult]) -> Iterator[str]:
    damp = [state.condensation for each in results for state in each.energy if state.condensation]
    hours = max((each.hours_below_dew_point_h for each in damp), default=0.0)
    if hours > 0:
        yield CONDENSATION.format(hours=shown(hours, "hours"))

    for each in results[1:]:
        for what, why in WHY_MORE.items():
            base, own = (_over_years(one, f"{what}_load_kwh") for one in (results[0], each))
            if own > base * (1 + NOTABLE) and base > 0:
                words = {"name": each.name, "base": results[0].name, "what": what, "why": why}
                yield MORE.format(part=shown(own / base - 1, "rate"), **words)


def _over_years(result: AlternativeResult, field: str) -> float:
    return float(sum(getattr(state, field) * len(state.years) for state in result.energy))


def _of_prices(used: Sequence[Assumption]) -> Iterator[str]:
    if any(each.basis == "demo" and "price" in each.kind for each in used):
        yield INVENTED
