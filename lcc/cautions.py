"""What a reader is warned of: dangers of the work, structure, fire and code, and the figures.

The dangers of the work stand in `data/words/cautions.csv`, each once; the others stand here once,
for comparisons, take-offs, portfolios, page, paper and files.

Clauses cited in both: 29 CFR 1926.502 and the building code's 718.4 (2012) were read as others
quote them; of 1926.62, 1926.1053, 1926.1153, 1926.1203, 40 CFR 61.145 and 47 CFR 1.1310 number and
subject alone; 1507.4.2 as the checks say; 1926.501 and 2603 are from memory.
"""

from collections.abc import Iterator, Sequence
from dataclasses import fields, replace

from lcc import tables
from lcc.case import Alternative, Building, Case, Coating, Framing, Layer, MetalRetrofit, Roof
from lcc.case.fields import CasePart
from lcc.case.other_work import SKYLIGHTS
from lcc.caution_texts import (
    CLIMB,
    FIGURES,
    GROUPS,
    STRUCTURE,
    SURVEY,
    Caution,
    RoofWork,
    dangers,
    too_flat,
)
from lcc.cost.work import INSULATION, TEAR_OFF
from lcc.figures import shown
from lcc.heat.assembly import LEAST_KEPT, kept_when_wet, thermal_layer
from lcc.heat.climate import file_elsewhere
from lcc.heat.sri import AGED_PART, FIELD_APPLIED_PART, aged_reflectance
from lcc.invented_prices import INVENTED, OF_SURVEY, of_prices
from lcc.model_notes import done_in_parts
from lcc.results import AlternativeResult

FOAM = "spray-polyurethane-foam"
WOOD = ("plywood", "softwood-deck")
BURNS = (*WOOD, FOAM, "wood-fibre-board", "polyiso-board", "polyiso-board-cold", "eps-board",
         "xps-board")  # fmt: skip
PATIENTS = ("hospital-ward", "health-clinic")
# Uses with children, patients, guests or a crowd below.
CARE = (*PATIENTS, "school", "gymnasium", "hotel", "assembly", "worship", "library")
# Uses where people are below who can leave: staff, customers, tenants.
PUBLIC = ("office", "retail", "grocery", "restaurant", "manufacturing", "manufacturing-heated",
          "warehouse-heated")  # fmt: skip
# Uses of which a large one is in a higher risk category than ordinary buildings.
CROWDS = ("school", "gymnasium", "assembly", "worship", "hospital-ward")
COLD_STORE = "cold-store"
# Decks that fail without warning when wet, by layer or as a framing survey calls them.
WEAK_DECKS = {
    "gypsum-deck": "poured gypsum",
    "cement-wood-fibre-deck": "cement-bonded wood fibre",
    "concrete-lightweight-insulating": "lightweight insulating concrete",
    "gypsum": "poured gypsum",
    "wood-fibre": "cement-bonded wood fibre",
}
COLD_C = 12.0  # rooms kept as cold as this are a cold store's; common practice
# What a roof may carry, by field, and how a reader calls it.
STANDS = {
    "rooftop_units": "rooftop units",
    "skylights": "skylights",
    "solar_panels": "solar panels",
    "lightning_protection": "lightning protection",
}
BALLAST_KG_M2 = 40.0  # stone laid loose to hold a sheet down; gravel in asphalt is far less

TAX = (
    "The after-tax view is a sketch of United States rules for business property: "
    "repairs, depreciation and the sale at the end are for the owner's tax adviser to confirm."
)
COLD_FIGURES = (
    "The energy of a cold store is a rough figure: its plant is taken as a rooftop unit unless its "
    "efficiency is entered, and moist air at doors, defrosting and frost are left out."
)
NO_INFLATION = (
    "The discount rate is called nominal, but inflation is 0: it counts as a real rate. "
    "Enter the inflation that it holds."
)
SOAKED = (
    "{name} keeps {kept} of its dry resistance: under 80% wet insulation is replaced "
    "(Tobiasson, from memory), by a tear-off of what is wet before anything is laid over it."
)
RISK = (
    "Wind and snow of “{name}” are taken for risk category {taken}, which nobody has entered, and "
    "the use is “{use}”: a school for more than 250 or a hall for more than 300 people is III, a "
    "hospital III or IV (IBC table 1604.5, from memory), with more wind and snow. Ask the building "
    "official, and enter the category with its own wind speed."
)
WEAK_DECK = (
    "Nobody walks on this deck or fastens to it until an engineer has looked at it from below: "
    "it is {deck}, and {wet}. Wet, it can drop a worker without warning."
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
    "{listed}. If it is a new value, 0.2 + {part} (ρ - 0.2) gives {aged}; "
    "use an aged, third-party-rated one."
)
UNSTATED = (
    "Look for what is not stated of this roof: {names}. Until then, work as if they were there."
)
# A dark finish rarely reflects more; the ageing relation is California Title 24 Part 6.
DARK_LIMIT, MARGIN = 0.45, 0.05
# A rise of a load worth a caution: half a per cent, above what the model's own error could make.
NOTABLE = 0.005


def cautions(case: Case, results: Sequence[AlternativeResult], stated: Case) -> tuple[Caution, ...]:
    """Return the cautions that fit a case and its results, group by group.

    Parameters
    ----------
    case : Case
        The case.
    results : sequence of AlternativeResult
        Its alternatives, the base case first.
    stated : Case
        The completed case, before the cheapest way of each alternative is taken.
    """
    cold = (COLD_FIGURES,) if _is_cold(case.building) else ()
    money = (*cold, *file_elsewhere(case.site), *_of_money(case), *_of_faces(case),
             *_of_results(results), *of_prices(stated, results))  # fmt: skip
    said = (
        *(Caution(CLIMB, text) for text in weak_decks(case)),
        *dangers(roof_work(case, results)),
        *(Caution(STRUCTURE, text) for text in (*_of_soaked(case), *_of_risk(case))),
        *(Caution(SURVEY, text) for text in (*_unstated(case), *_of_surveys(results))),
        *(Caution(FIGURES, text) for text in money),
    )
    return tuple(sorted(dict.fromkeys(said), key=lambda one: GROUPS.index(one.group)))


def weak_decks(case: Case) -> tuple[str, ...]:
    """Return who stays off a deck stated to be one that fails when wet, and how wet it is."""
    choices = case.choices
    framings = [one.framing for one in choices if isinstance(one, MetalRetrofit) and one.framing]
    kinds = [*(layer.material for layer in case.roof.layers),
             *(one.other_work.deck_kind for one in framings)]  # fmt: skip
    wet = "nobody has surveyed it for moisture"
    if case.roof.wet_fraction is not None:
        wet = f"{shown(case.roof.wet_fraction, 'rate')} of the roof is wet"
    return _weak_decks(kinds, wet)


def _weak_decks(kinds: Sequence[str | None], wet: str) -> tuple[str, ...]:
    decks = dict.fromkeys(WEAK_DECKS[kind] for kind in kinds if kind in WEAK_DECKS)
    return tuple(WEAK_DECK.format(deck=deck, wet=wet) for deck in decks)


def survey_cautions(framing: Framing, *, demo_prices: bool) -> tuple[str, ...]:
    """Return the cautions of a framing survey on its own: a metal roof over an old one.

    What the survey leaves open, and what it does not ask of building and roof, counts as the worst.
    """
    found, wet = framing.other_work, _maybe(framing, "wet_area_m2")
    covered = any(_maybe(found, name) for name in SKYLIGHTS)
    open_too = RoofWork(
        asbestos_untested=found.asbestos == "not-tested",
        wood_deck=found.deck_kind == "not-known",
        deck_unknown=found.deck_kind == "not-known",
        solar_panels=found.solar_panels == "not-known",
        lightning_protection=found.lightning_protection == "not-known",
        units=_maybe(framing, "rooftop_units"),
        skylights_under_metal=covered,
        tear_off=wet,
        wet=wet,
        shut_in_wet=wet,
        wet_unknown=not framing.states("wet_area_m2"),
        ponding_unknown=True,
        bitumen_unknown=True,
        care=True,
        patients=True,
        public=True,
        ceiling=True,
        cold=True,
        burns=True,
    )
    return (
        *_weak_decks([found.deck_kind], "its moisture is to be measured"),
        *(one.text for one in dangers(_joined(_surveyed(framing), open_too))),
        *((INVENTED.format(names=OF_SURVEY),) if demo_prices else ()),
    )


def roof_work(case: Case, results: Sequence[AlternativeResult]) -> RoofWork:
    """Return what the work on all alternatives of a case is, as far as dangers depend on it.

    The case is complete. What a framing survey has found counts beside what the roof states.
    """
    choices = case.choices
    metal = [one for one in choices if isinstance(one, MetalRetrofit)]
    membranes = [
        one.replacement if isinstance(one, Coating) else one
        for one in choices
        if not isinstance(one, MetalRetrofit)
    ]
    laid = [tables.rows("coverings")[one.covering] for one in membranes]
    categories = {event.category for result in results for event in result.events}
    soaked = any(kept_when_wet(each) < 1 for each in case.roof.layers)
    planned = RoofWork(
        metal=bool(metal),
        tear_off=TEAR_OFF in categories,
        membrane=bool(membranes),
        recover=any(one.method != "tear-off" for one in membranes),
        ballast=any(_ballasted(one.covering) for one in membranes),
        insulation=INSULATION in categories or any(one.layers for one in metal),
        foam=any(row["material"] == FOAM for row in laid),
        wet=bool(case.roof.wet_fraction) or soaked,
        wet_unknown=case.roof.wet_fraction is None and not soaked,
        two_parts=done_in_parts(case),
        burns=any(_may_burn(layer) for one in metal for layer in one.layers)
        or any(INSULATION in each for each in _of_membranes(choices, results)),
        skylights_under_metal=bool(metal) and _maybe(case.roof, "skylights"),
        too_flat=any(too_flat(one.slope) for one in metal),
    )
    surveys = (_surveyed(one.framing) for one in metal if one.framing)
    work = _joined(planned, _of_roof(case.roof), _of_building(case.building), *surveys)
    stays = any(
        isinstance(one, MetalRetrofit | Coating) or one.method != "tear-off" for one in choices
    )
    return replace(
        work,
        shut_in_wet=(work.wet or work.wet_unknown) and stays,
        asbestos_untested=work.asbestos_untested and not work.asbestos_found,
    )


def _of_membranes(
    choices: Sequence[Alternative], results: Sequence[AlternativeResult]
) -> Iterator[set[str]]:
    """Categories of the work of each alternative that lays membranes, and boards of foam."""
    for choice, result in zip(choices, results, strict=True):
        if not isinstance(choice, MetalRetrofit):
            yield {event.category for event in result.events}


def _joined(*works: RoofWork) -> RoofWork:
    """Work that brings what any of some works brings."""
    names = [field.name for field in fields(RoofWork)]
    return RoofWork(**{name: any(getattr(one, name) for one in works) for name in names})


def _surveyed(framing: Framing) -> RoofWork:
    """What a framing survey has found."""
    found, wet = framing.other_work, framing.wet_area_m2 > 0
    return RoofWork(
        metal=True,
        asbestos_found=found.asbestos == "found",
        wood_deck=found.deck_kind == "wood",
        weak_deck=found.deck_kind in WEAK_DECKS,
        burns=found.deck_kind == "wood",
        solar_panels=found.solar_panels == "yes",
        lightning_protection=found.lightning_protection == "yes",
        skylights_under_metal=found.skylights > 0,
        units=framing.rooftop_units > 0,
        insulation=bool(framing.insulation_thickness_m),
        tear_off=wet,
        wet=wet,
        too_flat=too_flat(min(framing.slopes)),
    )


def _of_roof(roof: Roof) -> RoofWork:
    """What the roof of today calls for, whatever is done. What nobody has stated may be there."""
    coverings = [key for key in (roof.covering, roof.covering_below) if key]
    no_deck = not any(_role(layer) == "deck" for layer in roof.layers)
    taken = roof.origin("layers").basis == "common practice"  # from a table, not seen
    return RoofWork(
        asbestos_untested=roof.asbestos == "not-tested",
        asbestos_found=roof.asbestos == "found",
        ponding=roof.ponding == "stands-48-hours",
        ponding_unknown=roof.ponding == "not-known",
        coal_tar=any(key.startswith("coal-tar") for key in coverings),
        bitumen_unknown=_bitumen_unknown(roof, coverings),
        stone_off=any(_ballasted(key) for key in coverings),
        weak_deck=any(layer.material in WEAK_DECKS for layer in roof.layers),
        deck_unknown=no_deck or taken,
        wood_deck=no_deck or any(layer.material in WOOD for layer in roof.layers),
        burns=no_deck
        or any(_may_burn(layer) for layer in roof.layers)
        or any(tables.rows("coverings")[key]["material"] == FOAM for key in coverings),
        units=_maybe(roof, "rooftop_units"),
        solar_panels=_maybe(roof, "solar_panels"),
        lightning_protection=_maybe(roof, "lightning_protection"),
    )


def _bitumen_unknown(roof: Roof, coverings: Sequence[str]) -> bool:
    """Whether the roof has bitumen felts of unstated kind, asphalt or coal tar."""
    stated = any(key.startswith(("coal-tar", "built-up-smooth")) for key in coverings)
    felts = any(layer.material == "built-up-roofing" for layer in roof.layers)
    return "built-up-gravel" in coverings or (felts and not stated)


def _ballasted(covering: str) -> bool:
    return float(tables.rows("coverings")[covering]["loose_kg_m2"]) >= BALLAST_KG_M2


def _of_building(building: Building) -> RoofWork:
    """Cautions for the rooms below; an attic is assumed until somebody has looked."""
    looked = building.origin("overhead").basis == "entered"
    return RoofWork(
        care=building.use in CARE,
        patients=building.use in PATIENTS,
        public=building.use in PUBLIC,
        ceiling=building.overhead != "open-deck" or not looked,
        burns=building.overhead == "attic" or not looked,
        cold=_is_cold(building),
    )


def _is_cold(building: Building) -> bool:
    """Whether the rooms are a cold store's, by their use or by how cold they are kept."""
    setpoint = building.cooling_setpoint_c
    return building.use == COLD_STORE or (setpoint is not None and setpoint <= COLD_C)


def _maybe(part: CasePart, name: str) -> bool:
    """Whether something is there, or nobody has stated that it is not."""
    return bool(getattr(part, name)) or not part.states(name)


def _role(layer: Layer) -> str:
    return str(tables.rows("materials")[layer.material]["role"]) if layer.material else ""


def _may_burn(layer: Layer) -> bool:
    """Whether a layer burns, or is none of the materials known here."""
    return layer.material in BURNS or (layer.material is None and layer.air_gap_m is None)


def _unstated(case: Case) -> Iterator[str]:
    """What neither roof nor framing survey says to be there or not."""
    known = {field for field in STANDS if case.roof.states(field)}
    for choice in case.choices:
        if isinstance(choice, MetalRetrofit) and choice.framing:
            known |= set(_answered(choice.framing))
    if names := [name for field, name in STANDS.items() if field not in known]:
        yield UNSTATED.format(names=", ".join(names))


def _answered(framing: Framing) -> Iterator[str]:
    """What a framing survey says of what the roof carries."""
    work = framing.other_work
    if framing.states("rooftop_units"):
        yield "rooftop_units"
    if work.states(*SKYLIGHTS):
        yield "skylights"
    for name in ("solar_panels", "lightning_protection"):
        if getattr(work, name) != "not-known":
            yield name


def _of_surveys(results: Sequence[AlternativeResult]) -> Iterator[str]:
    """What a survey leaves open or outside trade practice, so that every output says it."""
    for each in results:
        for flag in each.quantities.flags if each.quantities else ():
            yield f"{each.name}: {flag.message} ({flag.basis}: {flag.source})"


def _of_money(case: Case) -> Iterator[str]:
    if case.economics.tax is not None:
        yield TAX
    if case.economics.rate_kind == "nominal" and case.economics.inflation == 0:
        yield NO_INFLATION


def _of_soaked(case: Case) -> Iterator[str]:
    for layer in case.roof.layers:
        if kept_when_wet(layer) < LEAST_KEPT:
            yield SOAKED.format(
                name=thermal_layer(layer).name, kept=shown(kept_when_wet(layer), "rate")
            )


def _of_risk(case: Case) -> Iterator[str]:
    """Where wind or snow is taken for ordinary buildings, unstated, and the use draws a crowd."""
    if case.building.use not in CROWDS:
        return
    for one in case.choices:
        if not isinstance(one, MetalRetrofit) or one.framing is None:
            continue
        site = one.framing.wind_and_snow
        stated = site.risk_category in ("III", "IV") or site.states("risk_category")
        if not stated and (site.basic_wind_m_s or site.ground_snow_kg_m2):
            use = tables.rows("building_uses")[case.building.use]["name"]
            yield RISK.format(name=one.name, taken=site.risk_category, use=use)


def _of_faces(case: Case) -> Iterator[str]:
    for choice in case.choices:
        given = choice.solar_reflectance
        if given is None:
            continue
        row = (
            tables.rows("panels")[choice.panel]
            if isinstance(choice, MetalRetrofit)
            else tables.rows("coverings")[choice.covering]
        )
        coating = isinstance(choice, Coating)
        words = {
            "name": choice.name,
            "given": shown(given),
            "part": FIELD_APPLIED_PART if coating else AGED_PART,
            "aged": shown(aged_reflectance(given, field_applied=coating)),
        }
        if row.get("colour_class") == "dark" and given > DARK_LIMIT:
            yield DARK.format(**words)
        elif given > float(row["solar_reflectance"]) + MARGIN:
            yield AGED.format(**words, listed=shown(float(row["solar_reflectance"])))


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
