"""The front door of the take-off, and the way of its figures into a retrofit."""

import math
from dataclasses import replace
from functools import lru_cache

from lcc import tables
from lcc.case.alternatives import MetalRetrofit
from lcc.case.fields import Origin
from lcc.case.framing import Framing
from lcc.case.kept import kept
from lcc.case.layers import Cavity, Fasteners, Layer
from lcc.case.resolution import weakest
from lcc.case.roof import Roof
from lcc.case.unit_prices import UnitPrices
from lcc.cautions import survey_cautions
from lcc.errors import CaseError, within
from lcc.heat.assembly import thermal_layer
from lcc.quantities import first_cost, trade_limits
from lcc.quantities.bearing_loads import bearing_loads
from lcc.quantities.engineer_questions import NEVER, STONE
from lcc.quantities.loads import loads, removed, valleys
from lcc.quantities.members import schedule
from lcc.quantities.movement import movement
from lcc.quantities.openings import throat_speed, ventilator_speed
from lcc.quantities.part_weights import PartWeights, masses_kg, part_loads, part_weights
from lcc.quantities.retrofit_link import TAKEOFF_HOLDS, laid_thickness_m, survey
from lcc.quantities.roof_frame import roof_frame
from lcc.quantities.roof_planes import USUAL_POSTS_M
from lcc.quantities.survey_measures import measure
from lcc.results.takeoff_result import (
    BearingLoad,
    BillLine,
    CavityShape,
    FirstCost,
    Load,
    PostRow,
    Quantities,
)
from lcc.units import FOOT_M
from lcc.units.typed_quantities import both

SURVEYED = "worked out from the framing survey of this alternative"


def without_prices(framing: Framing) -> Framing:
    """Return a survey without its prices, which change no geometry."""
    return replace(framing, quotation=None, quotation_from="", labour_hours_h=None,
                   unit_prices=UnitPrices())  # fmt: skip


@kept(32)
def quantities(
    framing: Framing, panel_temperatures: tuple[float, float] | None = None
) -> Quantities:
    """Return all quantities of a survey, their first cost, added load and thermal movement.

    Parameters
    ----------
    framing : Framing
        The survey.
    panel_temperatures : tuple of float, optional
        Coldest and hottest panel temperature of the year [°C]; without them the thermal
        movement is not given.

    Raises
    ------
    CaseError
        Where figures that are each in range do not fit together.

    Notes
    -----
    Pure geometry of planes over rectangles: see `lcc.quantities.roof_planes` for the planes,
    `lcc.quantities.roof_edges` for where they meet, `lcc.quantities.post_lines_and_heights` for the
    frame of one fall, `lcc.quantities.openings` for the cavity.

    Examples
    --------
    A one-way roof of 24 m by 12 m at 1/2 in 12: the panel's area is 288 √(1 + (0.5/12)²).

    >>> from lcc.case.rectangle import Rectangle
    >>> taken = quantities(Framing((Rectangle(24.0, 12.0),)))
    >>> round(taken.surface.panel_area_m2, 3), taken.members.posts
    (288.25, 153)
    """
    unpriced = without_prices(framing)
    measured = measure(unpriced)
    surface = measured.surface
    needed = first_cost.amounts(measured)
    cost = first_cost.first_cost(framing, needed, surface.plan_area_m2)
    (added, weights, posts, bearing), off = _borne(unpriced), removed(framing, measured)
    total = math.fsum(each.load_kg_m2 for each in added)
    moved = panel_temperatures and movement(framing, surface.longest_panel_m, *panel_temperatures)
    return Quantities(
        **vars(measured),
        posts=posts,
        bearing_loads=bearing,
        first_cost=cost,
        loads=added,
        total_load_kg_m2=total,
        removed=off,
        valleys=valleys(roof_frame(unpriced)),
        price_notes=tuple(trade_limits.price_notes(cost, measured.members, surface.plan_area_m2)),
        net_load_kg_m2=total - math.fsum(each.load_kg_m2 for each in off),
        part_loads=part_loads(
            roof_frame(unpriced),
            weights,
            framing.stone_kg_m2,
            sum(each.mass_kg for each in off) - framing.stone[1],
        ),
        labour=first_cost.labour_range(cost, surface.plan_area_m2),
        movement=moved or None,
        flags=trade_limits.flags(unpriced, measured, added, moved or None),
        cautions=survey_cautions(framing, demo_prices=_rests_on_demo(framing, cost)),
        assumptions=trade_limits.assumptions(framing),
    )


@lru_cache(maxsize=32)
def _borne(
    unpriced: Framing,
) -> tuple[tuple[Load, ...], PartWeights, tuple[PostRow, ...], tuple[BearingLoad, ...]]:
    """Return added loads, and what they bring onto posts and structure: no price moves them."""
    roof = roof_frame(unpriced)
    masses = masses_kg(roof, measure(unpriced))
    weights, added = part_weights(masses, roof), loads(masses, unpriced.plan_m2)
    return added, weights, schedule(roof, weights), bearing_loads(roof, weights)


def _rests_on_demo(framing: Framing, cost: FirstCost) -> bool:
    """Tell whether a price, or the hours of work behind the labour, are the table's."""
    return framing.labour_hours_h is None or any(each.basis == "demo" for each in cost.lines)


def of_retrofit(
    retrofit: MetalRetrofit,
    panel_temperatures: tuple[float, float] | None = None,
    roof: Roof | None = None,
    entered: float | None = None,
) -> Quantities | None:
    """Return the quantities of a retrofit's survey, or None where it has none.

    Parameters
    ----------
    retrofit : MetalRetrofit
        A retrofit, with or without a survey.
    panel_temperatures : tuple of float, optional
        Coldest and hottest panel temperature of the year [°C].
    roof : Roof, optional
        The roof that the survey should cover; a plan or a count of rooftop units that does not
        agree with it is flagged.
    entered : float, optional
        What the work of the survey's lines costs by a price entered beside them, but for their
        permit [money]: it is set beside the build-up.
    """
    framing = survey(retrofit)
    if framing is None:
        return None
    with within("framing"):
        if entered is not None:
            whole = entered + quantities(framing).first_cost.permit_apart
            framing = replace(framing, quotation=whole, quotation_from=first_cost.ENTERED)
        taken = quantities(framing, panel_temperatures)
    entered_m = retrofit.framing.insulation_thickness_m if retrofit.framing else None
    mismatch = (
        *trade_limits.against_layers(entered_m, laid_thickness_m(retrofit)),
        *(trade_limits.against_roof(taken, framing, roof) if roof else ()),
    )
    taken = replace(taken, flags=(*taken.flags, *mismatch))
    stone = _loose_kg_m2(roof) if roof else 0.0
    if framing.states_stone or not stone:
        return taken
    credit = Load("Loose stone, its usual weight", stone * taken.surface.plan_area_m2, stone)
    return replace(
        taken,
        removed=(*taken.removed, credit),
        net_load_kg_m2=taken.net_load_kg_m2 - stone,
        part_loads=tuple(
            replace(
                one,
                removed_kg=one.removed_kg + stone * one.plan_area_m2,
                net_load_kg_m2=one.net_load_kg_m2 - stone,
            )
            for one in taken.part_loads
        ),
        questions=(*taken.questions[:-1], STONE, NEVER),
    )


def _loose_kg_m2(roof: Roof) -> float:
    """Return the usual weight of the loose stone on the top covering [kg/m²]."""
    return float(tables.rows("coverings")[roof.covering]["loose_kg_m2"])


# Duties that the lines of every take-off, or a quotation for all of them, already hold; and those
# that its line of general conditions, bond, sales tax and warranty fee holds where it is asked
# for. What the survey counts (units, pipes, skylights, wet area) is held as far as it counts it.
TAKEOFF_INCLUDES = ("covering", "edges", "structure")
GENERAL_INCLUDES = ("on-costs", "warranty")


def into_retrofit(
    retrofit: MetalRetrofit, taken: Quantities, roof_area_m2: float | None = None
) -> MetalRetrofit:
    """Return the retrofit with what its take-off found, so that nothing is entered twice.

    Parameters
    ----------
    retrofit : MetalRetrofit
        A retrofit with a survey.
    taken : Quantities
        Its quantities.
    roof_area_m2 : float, optional
        Area of the roof that the comparison counts [m²]; openings are scaled to it from the
        survey's plan area. None means the plan area.

    Notes
    -----
    Filled: slope; the cavity's mean height, openings, stack height and target rate; post steel
    through every laid layer with a thickness and no steel of its own; and, where no price is
    entered, first cost over plan area, less the permit where general conditions are not among
    the lines: the comparison prices both together, as in every other alternative.
    How the cavity is ventilated stays the user's choice.
    """
    framing = retrofit.framing
    if framing is None:
        raise CaseError("framing", None, "a survey")
    plan, cost = taken.surface.plan_area_m2, taken.first_cost
    origin = Origin(weakest(framing), SURVEYED)
    posts, section = taken.members.posts / plan, framing.post_section_m2
    steel = Fasteners(posts, section).filled(
        number_per_m2=(posts, origin), section_m2=(section, origin)
    )
    try:
        made = replace(
            retrofit,
            cavity=_cavity(retrofit.cavity, framing, taken, (roof_area_m2 or plan) / plan),
            layers=tuple(_with_posts(layer, steel) for layer in retrofit.layers),
        ).filled(slope=(framing.mean_slope, replace(origin, source=_sloped(framing))))
        if retrofit.quoted:
            return made
        priced = origin if framing.quotation is None else framing.origin("quotation")
        return made.filled(
            price_per_m2=(cost.price_per_m2 - cost.permit_apart / plan, priced),
            price_includes=(held(framing), Origin("common practice", TAKEOFF_HOLDS)),
        )
    except CaseError as error:
        named = error.field.replace("_", " ")
        allowed = f"figures that bring the {named} of the retrofit {error.allowed} in SI units"
        if error.field == "price" and isinstance(error.value, float):
            dearest = max(cost.lines, key=lambda line: line.cost)
            _check_spans(framing, dearest)
            allowed = ("counts and unit prices that a roof can have: they bring the price of the "
                       f"retrofit to ${error.value * FOOT_M**2:,.0f}/ft² "
                       f"(${error.value:,.0f}/m²), most of it {dearest.name} at "
                       f"${dearest.cost:,.0f}")  # fmt: skip
        raise CaseError("framing", error.value, allowed) from None


def _sloped(framing: Framing) -> str:
    """Say where the slope comes from, and that it is a mean where parts differ."""
    alike = len(set(framing.slopes)) == 1
    return SURVEYED if alike else f"{SURVEYED}: the mean of its parts, by their plan areas"


def _check_spans(framing: Framing, dearest: BillLine) -> None:
    """Refuse a price out of range whose dearest line is purlins over supports too far apart."""
    apart = [one.bearing_spacing_m or 0.0 for one in framing.rectangles]
    widest = max(apart)
    if dearest.key != "purlin_per_m" or widest <= (framing.post_spacing_m or USUAL_POSTS_M[1]):
        return
    allowed = "a spacing that purlins of a roof can span"
    raise CaseError(f"framing.rectangles.{apart.index(widest)}.bearing_spacing", widest, allowed,
                    detail=f"Joists or beams {both(widest)} apart: the members that span so far "
                           f"would cost ${dearest.cost:,.0f}. Enter the spacing of all that can "
                           "carry posts: old purlins between beams too.")  # fmt: skip


def held(framing: Framing) -> tuple[str, ...]:
    """Return the duties that this survey's lines hold, beside what it counts on the roof."""
    stone = ("ballast",) if framing.stone[1] else ()
    general = GENERAL_INCLUDES if framing.other_work.general_conditions else ()
    return (*TAKEOFF_INCLUDES, *general, *stone)


def _cavity(cavity: Cavity, framing: Framing, taken: Quantities, scale: float) -> Cavity:
    shape = taken.cavity
    found = {
        "mean_height_m": shape.mean_height_m,
        "air_changes_per_h": framing.air_changes_per_h,
        "inlet_area_m2": shape.inlet_area_m2 * scale,
        "outlet_area_m2": shape.throat_area_m2 * _flow_ratio(framing, shape) * scale,
        "stack_height_m": shape.stack_height_m,
    }
    origin = Origin(weakest(framing), SURVEYED)
    return cavity.filled(**{name: (value, origin) for name, value in found.items()})


def _flow_ratio(framing: Framing, shape: CavityShape) -> float:
    """Return the airflow of a rated ventilator over that of its bare throat, 1 where unrated."""
    if framing.other_work.ventilator_flow_m3_s is None or not shape.ventilators:
        return 1.0
    height = shape.stack_height_m
    return ventilator_speed(framing, height) / throat_speed(framing, height)


def _with_posts(layer: Layer, steel: Fasteners) -> Layer:
    if layer.fasteners is not None or not thermal_layer(layer).thickness_m:
        return layer
    return replace(layer, fasteners=steel)


def framed(retrofit: MetalRetrofit, roof_area_m2: float | None = None) -> MetalRetrofit:
    """Return a retrofit with its survey's figures, or as it is where it has no survey.

    Raises
    ------
    CaseError
        Where a price and a quotation are both entered, one of which would be ignored.
    """
    framing = retrofit.framing
    if framing and framing.quotation is not None and retrofit.quoted:
        allowed = "nothing where a price is entered: one of the two"
        raise CaseError("framing.quotation", framing.quotation, allowed)
    taken = of_retrofit(retrofit)
    return retrofit if taken is None else into_retrofit(retrofit, taken, roof_area_m2)
