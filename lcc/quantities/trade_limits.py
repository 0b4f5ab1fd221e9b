"""Where a survey leaves trade practice, and what it rests on."""

import math
from collections.abc import Iterator

from lcc import tables
from lcc.case.fields import Basis, facts_of
from lcc.case.framing import USUAL_SKYLIGHT_M2, Framing
from lcc.case.resolution import figures
from lcc.case.roof import Roof
from lcc.caution_texts import too_flat
from lcc.figures import shown
from lcc.quantities.first_cost import usual_labour
from lcc.quantities.loads import hung_kg_m2
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.retrofit_link import COUNTS_ALL
from lcc.quantities.roof_flags import plan_flags
from lcc.quantities.roof_frame import roof_frame
from lcc.results.assumption import Assumption
from lcc.results.takeoff_result import (
    FirstCost,
    Load,
    Measured,
    Members,
    Movement,
    Quantities,
    SurveyFlag,
)
from lcc.units import FOOT_M
from lcc.units.typed_quantities import both

BRACING_M = 12.192
USUAL_LOAD_KG_M2 = (9.76, 19.53)  # 2 to 4 lb/ft²
USUAL_AIR_CHANGES = (4.0, 5.0)
USUAL_FASTENERS = (2, 3)
# The kind of deck that a survey may name, by material.
DECKS = {"steel-deck": "steel", "plywood": "wood", "softwood-deck": "wood",
         "concrete-structural": "concrete", "gypsum-deck": "gypsum",
         "cement-wood-fibre-deck": "wood-fibre"}  # fmt: skip
UNUSUAL = "0.06 to 0.09 h/ft² is usual: enter hours, or a productivity."
COVER = "The parts cover"
DISAGREE = "The survey and the roof as entered do not agree on the"
_TOLERANCE = 1e-9
_CODE: Basis = "published"
_TRADE: Basis = "common practice"
_ENTERED: Basis = "entered"
_CLIP_TRAVEL = SurveyFlag(
    "clip_travel", "The panel moves farther than the floating clip allows.", _ENTERED,
    "travel of the clip as entered",
)  # fmt: skip


def flags(
    framing: Framing, measured: Measured, loads: tuple[Load, ...], movement: Movement | None
) -> tuple[SurveyFlag, ...]:
    """Return every survey figure that lies outside trade practice, with who says so."""
    found = (
        *_outside(framing, measured.members, hung_kg_m2(loads)), *_inlets(framing, measured),
        *([_CLIP_TRAVEL] if movement and movement.exceeds else []),
        *_openings(framing, measured.surface.plan_area_m2),
        *plan_flags(roof_frame(framing)),
    )  # fmt: skip
    return tuple(found)


def _outside(framing: Framing, members: Members, hung_kg_m2: float) -> Iterator[SurveyFlag]:
    """Yield each single figure that lies outside its limit or its usual range."""
    least, bracing = min(framing.slopes), framing.bracing
    limit, (light, heavy) = framing.origin("post_height_limit_m"), USUAL_LOAD_KG_M2
    (few, many), (low, high) = USUAL_FASTENERS, USUAL_AIR_CHANGES
    for outside, field, message, basis, source in (
        (too_flat(least), "slope",
         "The slope is under 1/4 in 12, the least for standing seam.", _CODE,
         "International Building Code 2012, 1507.4.2; International Residential Code R905.10.2"),
        (not bracing, "bracing", "The framing has no cross-bracing.", _TRADE,
         "cross-bracing about every 40 ft"),
        (bracing and framing.brace_spacing_m > BRACING_M * (1 + _TOLERANCE), "brace_spacing",
         "Bracing lines are farther apart than 40 ft (12 m).", _TRADE,
         "cross-bracing about every 40 ft"),
        (members.tallest_post_m > framing.post_height_limit_m * (1 + _TOLERANCE),
         "post_height_limit", "The tallest posts stand above the height stated.",
         limit.basis, limit.source),
        (not few <= framing.fasteners_per_clip <= many, "fasteners_per_clip",
         "Clips have other than two to three fasteners.", _TRADE,
         "two to three fasteners a clip by load"),
        (not low <= framing.air_changes_per_h <= high, "air_changes",
         "The cavity is not aired at four to five changes an hour.", _TRADE,
         "cavity ventilated at four to five air changes an hour"),
        (not light <= hung_kg_m2 <= heavy, "loads",
         f"Panel and framing weigh {'less' if hung_kg_m2 < light else 'more'} than the usual "
         "2 to 4 lb/ft² (10 to 20 kg/m²): check the members.", _TRADE,
         "added weight of panel and light framing about 2 to 4 lb/ft²"),
    ):  # fmt: skip
        if outside:
            yield SurveyFlag(field, message, basis, source)


def _inlets(framing: Framing, measured: Measured) -> Iterator[SurveyFlag]:
    """Yield eaves whose purlin leaves the inlets no room over the insulation."""
    needed = measured.cavity.inlet_area_m2 / max(measured.edges.eave_m, TOUCH_M)
    blanket, alike = framing.insulation_thickness_m or 0.0, dict[str, list[str]]()
    for fall in roof_frame(framing).falls:
        frame, eave = fall.frame, fall.lines[0]
        lowest = float(eave.heights_m.min(initial=math.inf))
        if eave.from_eave_m > TOUCH_M or lowest - blanket >= needed - TOUCH_M:
            continue
        told = (f"posts of {both(lowest, 1)} over insulation of {both(blanket, 1)} leave "
                f"{both(max(lowest - blanket, 0.0), 1)} under the eave purlin, and inlets take "
                f"{both(needed, 1)} along the eaves. Raise the lowest post, or hold the "
                "insulation back there and say how.")  # fmt: skip
        alike.setdefault(told, []).append(f"of {frame.part.name} at the {frame.fall.side}")
    for told, eaves in alike.items():
        which = f"The eave{'s' * (len(eaves) > 1)} {' and '.join(eaves)}"
        let = "lets" if len(eaves) == 1 else "let"
        yield SurveyFlag("lowest_post", f"{which} {let} no air in as counted: {told}",
                         _TRADE, "inlets are open to the cavity")  # fmt: skip


def _openings(framing: Framing, plan_area_m2: float) -> Iterator[SurveyFlag]:
    """Yield fewer curbs than units, and more skylights than roofs have."""
    curbs, units = framing.curbs, framing.rooftop_units
    if curbs is not None and curbs < units:
        yield SurveyFlag(
            "curbs", f"Rooftop units lifted: {units}; new curbs: {curbs}. A unit without a curb "
            "has nothing to stand on over the new roof. Count its curb, or say that it moves to "
            "the ground.", _TRADE, "a unit stands on a curb through the new roof",
        )  # fmt: skip
    count = framing.other_work.skylights
    if count * USUAL_SKYLIGHT_M2 > plan_area_m2:
        yield SurveyFlag(
            "skylights_carried", f"Skylights on this plan: {count:,}, one for every "
            f"{plan_area_m2 / count / FOOT_M**2:.0f} ft² ({plan_area_m2 / count:.1f} m²): count "
            "them again.", _TRADE, "one skylight in 100 ft² or more is usual",
        )  # fmt: skip


def price_notes(cost: FirstCost, members: Members, plan_area_m2: float) -> Iterator[str]:
    """Yield what drives the build-up, and what it leaves out or counts low."""
    yield from _long_spans(cost, members)
    rate = cost.labour_h / plan_area_m2
    if not usual_labour(cost, plan_area_m2):
        yield (f"Labour comes to {rate * FOOT_M**2:.3f} h/ft² ({rate:.2f} h/m²) of plan; {UNUSUAL}")
    if "general_conditions_rate" not in [line.key for line in cost.lines]:
        yield (
            "General conditions, bond, sales tax and warranty fee are not in the build-up: 6 to "
            "10% of the direct cost is usual."
        )


def _long_spans(cost: FirstCost, members: Members) -> Iterator[str]:
    """Yield what members longer than stated make of the direct cost."""
    if not (longer := members.heavier_purlins_m):
        return
    lines = {line.key: line for line in cost.lines}
    counted = math.fsum(line.labour_h for line in cost.lines)
    hourly = lines["labour_hour"].price.value * (cost.labour_h / counted if counted else 0.0)
    purlin = lines["purlin_per_m"]
    spent = longer / purlin.amount.value * (purlin.cost + purlin.labour_h * hourly)
    yield (
        f"Structure farther apart than the spacings stated makes ${spent:,.0f} of the direct cost "
        f"with its labour, {spent / cost.direct if cost.direct else 0.0:.0%} of it: heavier "
        f"members counted as {longer / FOOT_M:,.0f} ft ({longer:,.0f} m) of purlin, by the square "
        "of their span. That is an allowance; have an engineer size these members before the "
        "price is used."
    )


def against_roof(taken: Quantities, framing: Framing, roof: Roof) -> tuple[SurveyFlag, ...]:
    """Return a flag where plan, wet area (to 2%), units or findings are not those of the roof."""
    plan, counted = taken.surface.plan_area_m2, taken.services
    units, pipes = counted.rooftop_units, counted.penetrations
    wet, out = roof.wet_fraction or 0.0, counted.tear_out_m2 / plan
    figures_apart = (
        (abs(plan - roof.area_m2) > 0.02 * roof.area_m2, "rectangles", "area",
         f"{COVER} {plan / roof.area_m2:.0%} of the roof's area; first cost and openings "
         "are scaled to the roof by area."),
        (units != roof.rooftop_units, "rooftop_units", "units",
         f"The survey lifts {units} rooftop unit{'' if units == 1 else 's'}, the roof carries "
         f"{roof.rooftop_units}: those left over are priced apart."),
        (roof.states("penetrations") and pipes != roof.penetrations, "penetrations", "pipes",
         f"Pipes and conduits: the survey counts {pipes or 'none'}, the roof carries "
         f"{roof.penetrations or 'none'}. Boots are listed, drawn and built up for the survey's "
         f"{pipes} alone. Count them."),
        (out < COUNTS_ALL * wet, "wet_area", "wet insulation",
         f"{shown(wet, 'rate')} of the roof's insulation is wet and the survey tears out "
         f"{shown(out, 'rate')} of the plan: the rest is priced apart."),
    )  # fmt: skip
    told = [
        SurveyFlag(field, message, _ENTERED, f"the roof's {what} as entered")
        for apart, field, what, message in figures_apart
        if apart
    ]
    return (*told, *_findings(framing, roof))


def _findings(framing: Framing, roof: Roof) -> Iterator[SurveyFlag]:
    """What the survey says against the roof as entered."""
    found = framing.other_work
    decks = {DECKS.get(str(layer.material), "") for layer in roof.layers} - {""}
    if found.deck_kind != "not-known" and decks and found.deck_kind not in decks:
        yield _against("deck_kind", "deck", "Look from below before any work.")
    if {found.asbestos, roof.asbestos} == {"found", "none-found"}:
        yield _against("asbestos", "asbestos", "Treat the roof as asbestos until a test decides.")
    loose = float(tables.rows("coverings")[roof.covering]["loose_kg_m2"])
    if not loose and all(framing.stone_kg_m2):  # the roof has one covering; its parts may differ
        yield _against("ballast", "loose stone", "Look, and weigh it before any credit.")
    if roof.states("skylights") and found.skylights != roof.skylights:
        yield _against("skylights_covered", "count of skylights", "Count them.")
    for name in ("solar_panels", "lightning_protection"):
        said = {"yes": True, "no": False}.get(getattr(found, name))
        if roof.states(name) and said not in (None, getattr(roof, name)):
            yield _against(name, name.replace("_", " "), "Look, and disconnect nothing before.")


def _against(field: str, what: str, then: str) -> SurveyFlag:
    message = f"{DISAGREE} {what}. {then}"
    return SurveyFlag(field, message, "entered", "survey and roof")


def against_layers(survey_m: float | None, layers_m: float) -> tuple[SurveyFlag, ...]:
    """Return a flag where a survey's insulation (to 5%) is not as thick as the layers laid [m]."""
    if survey_m is None or abs(survey_m - layers_m) <= 0.05 * max(survey_m, layers_m):
        return ()
    message = (
        f"The survey prices and weighs insulation {survey_m / layers_m:.0%} as thick as the layers "
        "whose heat is computed: leave its thickness unset to take theirs."
        if layers_m
        else "The survey prices and weighs insulation, and no layer is laid whose heat is computed."
    )
    return (
        SurveyFlag("insulation_thickness", message, "entered", "the retrofit's layers as entered"),
    )


def assumptions(framing: Framing) -> tuple[Assumption, ...]:
    """Return every figure of the survey with its basis: a default's own, or entered.

    Notes
    -----
    Unit prices carry their basis on their lines; the metals' figures follow the survey's.
    """
    return (*_stated(framing), *_metals(framing))


def _stated(framing: Framing) -> Iterator[Assumption]:
    nested = ("framing.rectangles.", "framing.unit_prices.")
    for figure in figures(framing, "framing."):
        if not figure.field.startswith(nested):
            yield Assumption.of(figure)
    if framing.post_spacing_m is None:
        label = facts_of(Framing)["post_spacing_m"].label
        for apart in sorted({part.post_spacing_m for part in roof_frame(framing).parts}):
            yield Assumption("framing.post_spacing", label, apart, "length", _TRADE,
                             "light framing, posts 5 ft apart, or 6 ft at most on joists or beams"
                             )  # fmt: skip


def _metals(framing: Framing) -> Iterator[Assumption]:
    panel, steel = (tables.rows("metals")[key] for key in (framing.panel_metal, "steel"))
    for row, column, label, kind in (
        (panel, "expansion_per_k", "expansion of the panel", "expansion"),
        (panel, "density_kg_m3", "density of the panel", "density"),
        (steel, "density_kg_m3", "density of posts, purlins and bracing", "density"),
    ):
        yield Assumption(
            field=f"metals.{row['key']}", label=f"{row['name']}: {label}",
            value=float(row[column]), kind=kind, basis=row["basis"], source=row["source"],
        )  # fmt: skip
