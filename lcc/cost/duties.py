"""The duties of a job on the roof: what triggers each, how much of it, what it costs, who asks it.

One rule for each duty, the same for a membrane, a recover, a coating and a framed metal roof.
Each says what is done and why, or why it is not needed, or what nobody knows yet. A duty nobody
needs costs nothing in any alternative; one that is needed is priced alike in all of them.
"""

import math
from collections.abc import Callable
from dataclasses import replace

from lcc.case.duty_prices import DUTIES
from lcc.caution_texts import LEAST_SLOPE, too_flat
from lcc.cost import roof_states
from lcc.cost.roof_job import (
    CHOICE,
    COATING,
    FRAMED,
    IBC_FRAMED,
    LEFT_OUT,
    NEW_PANELS,
    OPEN,
    PRACTICE,
    RECOVER,
    Job,
    in_price,
    not_needed,
    nothing_left,
    ruling,
    wet_works,
)
from lcc.cost.roof_states import InPlace, Setting
from lcc.cost.tear_off_rule import WET_LIMIT, tear_off
from lcc.cost.work import (
    COVERING,
    DISRUPTION,
    FEES,
    FLASHINGS,
    INSULATION,
    TEAR_OFF,
    UNITS,
    Ruling,
    Work,
)
from lcc.figures import chance
from lcc.units import INCH_M
from lcc.units.typed_quantities import both_loads

FLASHING_M = 8 * INCH_M
SECOND_LAYER_KG_M2 = 14.65  # 3 lb/ft²
DIAPHRAGM_WIND_M_S = 51.42  # 115 mph, but for rounding
# Drains or edges are rarely farther from the high point than this.
DRAIN_RUN_M = 9.0

IBC_FALL = "International Building Code 2015 and later, 1511.1, exception 1"
IECC = "International Energy Conservation Code 2021, C503.3.1, as reported in the trade press"
IEBC_LOAD = "International Existing Building Code 2021, 706.2"
IEBC_WIND = "International Existing Building Code 2021, 706.3.2 (from memory)"
ROOFING_MANUAL = "NRCA roofing manual, curb details: least flashing height 8 in"
QUARTER = (
    "International Building Code 2021, 1511.3.1.1, no recover of a water-soaked roof; that this is "
    "more than a quarter of it is common practice, and law in some places (Building Enclosure, "
    "“Roofing code: recovering versus replacement”)"
)
NESHAP = "40 CFR 61 subpart M, asbestos in renovation (from memory)"


def rulings(job: Job) -> tuple[Ruling, ...]:
    """Return what every duty comes to in a job, in the order of a scope of work.

    Parameters
    ----------
    job : Job
        The job.

    Notes
    -----
    Permit, general conditions, bond and tax are a part of the work before them; protection of
    the rooms is the owner's and bears none. A duty that the entered price holds and that comes
    alike in every job (edges, pipes, structure, warranty) stays in the price of laying.
    """
    direct = [rule(job) for rule in _DIRECT]
    return (*direct, protection(job), *_fees(job, math.fsum(each.cost for each in direct)))


def ballast(job: Job) -> Ruling:
    """Loose stone comes off before anything is laid, and no longer loads the structure.

    Notes
    -----
    Triggered by ballast or loose gravel on any covering in place, for every job that covers the
    roof: nothing is laid on loose stone. Quantity: its mass over the roof area. What a framing
    survey enters lies there for every alternative, with the weight and price of its bill.
    """
    duty, loose = "ballast", math.fsum(each.loose_kg_m2 for each in job.place.coverings)
    found = job.setting.roof.surveyed_stone if job.place.as_today else (0.0, 0.0, "")
    stone, price, where = found
    if not loose and not stone:
        return not_needed(duty, "no ballast or loose gravel lies on the roof")
    if not loose and duty in job.holds:
        return in_price(job, duty)
    whence = "" if loose else ", found by the framing survey"
    if not stone:
        stone, price = loose, float(job.setting.duty_prices.ballast_per_kg or 0) * loose
    mass = where or f"{both_loads(stone)} as a mean over the roof"
    why = (
        f"nothing is laid on loose stone{whence}; taken off is {mass}, to be relied on only once "
        "it is weighed"
    )
    return ruling(
        duty, why, PRACTICE,
        Work("Ballast taken off and hauled", why, TEAR_OFF, price * job.area_m2),
    )  # fmt: skip


def asbestos(job: Job) -> Ruling:
    """Old material with asbestos is abated once, where and when it is first disturbed.

    Notes
    -----
    Quantity: the part of the old roof that the job opens. What a recover or a framed roof leaves
    in place is abated when it is torn off. Not tested, a roof of felts may cost that; under one
    without them it is asked, and nothing is counted.
    """
    duty, roof, share = "asbestos", job.setting.roof, job.opened
    if roof.asbestos == "none-found":
        return not_needed(duty, "the old roof was tested and holds none", NESHAP)
    if not (job.place.suspect or job.place.as_today):
        return not_needed(duty, "no old material that may hold asbestos is in place", PRACTICE)
    if not share:
        return not_needed(duty, "nothing old is cut or torn off in this job", NESHAP)
    if not job.place.suspect:
        why = "not tested: have it tested before anyone cuts; rare in a roof without felts, so "
        why += "nothing is counted"
        return Ruling(duty, OPEN, why, NESHAP, counted=False)
    cost = float(job.setting.duty_prices.asbestos_per_m2 or 0) * share * job.area_m2
    if roof.asbestos == "not-tested":
        why = "not tested: have it tested before anyone cuts, drills or tears off"
        return Ruling(duty, OPEN, why, NESHAP)
    why = f"asbestos was found; {chance(share)} of the old roof is disturbed in this job"
    if share < 1:
        why += "; the rest stays below and is abated by whoever tears it off"
    return ruling(duty, why, NESHAP, Work("Asbestos abated", why, TEAR_OFF, cost))


def wet_insulation(job: Job) -> Ruling:
    """Wet insulation leaves in every job that covers it, unless the owner chooses to keep it.

    Notes
    -----
    In a tear-off the wet part is replaced by dry. In every other job the wet areas are cut out,
    coverings and all, and filled with dry insulation. Quantity: wet share times roof area. A roof
    that rests on the old one is torn off above a quarter wet; a framed one does not rest on it.

    References
    ----------
    International Building Code 2012, 1510.3, and 2021, 1511.3.1.1: no covering over one so water
    soaked that it is "not adequate as a base for additional roofing"; 1511.3.1: systems that do
    not rely on the existing roof need no removal of it.
    """
    duty, roof = "wet-insulation", job.setting.roof
    if roof.wet_fraction is None and job.place.as_today:
        why = "not known: have the roof surveyed for moisture and cores cut before bids are asked"
        return Ruling(duty, OPEN, why, PRACTICE)
    share = job.place.wet_fraction
    if not share:
        return nothing_left(job, duty, "the insulation is dry")
    if job.keep_wet:
        why = (
            f"{chance(share)} of the insulation is wet and stays by choice: it may never dry; rot, "
            "rust of the deck, mould and its weight have no price here; its heat is counted as far "
            "as layers state their water"
        )
        return Ruling(duty, LEFT_OUT, why, CHOICE)
    beyond = " beyond what the survey counts" * (duty in job.counted)
    why = f"{chance(share)} of the insulation is wet{beyond}"
    if job.kind == FRAMED and not job.torn_off and share > WET_LIMIT:
        why += ", cut out where it is: the framed roof rests elsewhere; ask the building official"
    source = QUARTER if job.torn_off or share <= WET_LIMIT else IBC_FRAMED
    return ruling(duty, why, source, *wet_works(job, why))


def insulation_asked(setting: Setting, torn_off: bool, kind: str) -> tuple[bool, str, str]:
    """Tell whether the energy code asks for its minimum in a job, why or why not, and where.

    Returns
    -------
    tuple of bool, str, str
        Whether it is asked, the reason, the source.

    References
    ----------
    IECC 2021, C503.3.1: roof replacements meet the minimum where the roof is part of the thermal
    envelope and its insulation lies entirely above the deck; recovers and repairs are exempt.
    """
    if not torn_off:
        what = {
            FRAMED: "nothing is torn off to the deck: a framed roof over it is no roof replacement",
            COATING: "a coating is no roof replacement",
            NEW_PANELS: "new panels are no roof replacement",
        }.get(kind, "a membrane over the old one is exempt")
        return False, what, IECC
    if not setting.conditioned:
        return False, "the building is not conditioned: the roof is no thermal envelope", IECC
    if setting.insulated_below_deck:
        return False, "insulation lies below the deck, not entirely above it", IECC
    return True, f"the minimum of climate zone {setting.zone} holds at replacement", IECC


def insulation(job: Job) -> Ruling:
    """Insulation is brought up to the minimum where the code asks it; what is there counts."""
    duty = "insulation"
    asked, why, source = insulation_asked(job.setting, job.torn_off, job.kind)
    if job.board_m2k_w > 1e-9:
        if job.target_m2k_w is not None or not asked:
            why, source = "brought up to the R-value chosen", CHOICE
        cost = job.board_m2k_w * float(job.setting.prices.insulation_per_m2 or 0) * job.area_m2
        what = "Insulation added above the deck"
        return ruling(duty, why, source, Work(what, why, INSULATION, cost, stays=1.0))
    if asked and not job.insulation_wanted:
        return Ruling(duty, LEFT_OUT, f"{why}, and is left out by choice", source)
    if asked:
        why = "the insulation in place already meets the minimum of the whole roof"
    return not_needed(duty, why, source)


def taper_m(setting: Setting) -> float:
    """Return the mean thickness of boards tapered 1/4 in 12 to drains or edges [m].

    Examples
    --------
    A run of 9 m rises 9/48 = 0.1875 m, so 0.094 m in the mean.

    >>> round(DRAIN_RUN_M * LEAST_SLOPE / 2, 3)
    0.094
    """
    return min(setting.short_side_m / 2, DRAIN_RUN_M) * LEAST_SLOPE / 2


def drains(setting: Setting, place: InPlace) -> bool | None:
    """Tell whether the roof drains as the code asks; None where nobody knows.

    References
    ----------
    International Building Code, 1511.1, exception 1: a replaced or recovered low-slope roof that
    has positive drainage (water gone within 48 hours) need not have 1/4 in 12.
    """
    roof = setting.roof
    if place.tapered or (roof.deck_fall is not None and not too_flat(roof.deck_fall)):
        return True
    return {"none": True, "stands-48-hours": False}.get(roof.ponding)


def drainage(job: Job) -> Ruling:
    """A replaced or recovered roof falls 1/4 in 12 or is shown to drain within 48 hours."""
    duty, fine = "drainage", drains(job.setting, job.place)
    if job.kind in (FRAMED, NEW_PANELS):
        falls = dict.fromkeys(f"{12 * each:.3g}" for each in sorted(job.falls))
        why = f"the framed roof falls {' or '.join(falls)} in 12 by itself"
        return not_needed(duty, why, "International Building Code 2021, 1507.10.1")
    if job.taper_m:
        why = "water stands on the roof today" if fine is False else "tapered by choice"
        rise = job.taper_m / roof_states.board_conductivity_w_mk()
        price = float(job.setting.prices.insulation_per_m2 or 0)
        cost = rise * price * (1 + float(job.setting.duty_prices.taper_rate or 0)) * job.area_m2
        work = Work("Tapered insulation to drains", why, INSULATION, cost, stays=1.0)
        return ruling(duty, why, IBC_FALL if fine is False else CHOICE, work)
    if job.kind == COATING and fine is False:
        return Ruling(duty, LEFT_OUT, "water stands on the roof, and a coating leaves it", PRACTICE)
    if fine is None and job.kind != COATING:
        why = "not known: look 48 hours after rain; where water stands the roof needs a fall"
        return Ruling(duty, OPEN, why, IBC_FALL)
    why = "a coating leaves the fall as it is" if job.kind == COATING else "the roof drains"
    return not_needed(duty, why, IBC_FALL)


def covering(job: Job) -> Ruling:
    """The new roof itself."""
    cost = job.laid_per_m2 * job.area_m2
    work = Work(job.what, job.why, COVERING, cost, lasts=job.lasts, stays=job.stays)
    return ruling("covering", job.why, "the price of laying", work)


def edges(job: Job) -> Ruling:
    """New edge metal, drains and gutters go with every new roof."""
    duty = "edges"
    if job.kind in (COATING, NEW_PANELS):
        return not_needed(duty, f"{job.kind} leaves edges and drains as they are")
    if duty in job.holds:
        return in_price(job, duty)
    why = "new edges and drains go with a new roof"
    cost = float(job.setting.duty_prices.edge_per_m or 0) * job.setting.perimeter_m
    return ruling(duty, why, PRACTICE, Work("Edges and drains", why, FLASHINGS, cost))


def penetrations(job: Job) -> Ruling:
    """Every pipe and conduit is flashed anew where a new roof is laid."""
    duty, count = "penetrations", job.setting.roof.penetrations
    if job.kind == COATING:
        return not_needed(duty, "the coating is carried up the flashings in place")
    if duty in job.holds:
        return in_price(job, duty)
    if not count:
        return _none(job, duty, "penetrations", "no pipes or conduits")
    why = f"{count} pipes and conduits pass through the roof"
    cost = count * float(job.setting.duty_prices.penetration or 0)
    return ruling(duty, why, PRACTICE, Work("Pipes flashed", why, FLASHINGS, cost))


def _none(job: Job, duty: str, field: str, why: str) -> Ruling:
    """Return the ruling where the number is none: a question, if nobody has entered that number."""
    asked = job.place.as_today and job.kind not in (COATING, NEW_PANELS)
    if asked and duty not in job.counted and not job.setting.roof.states(field):
        why = "not counted: look for them; none are priced here"
        return Ruling(duty, OPEN, why, PRACTICE)
    return nothing_left(job, duty, why)


def lifted(setting: Setting, place: InPlace, kind: str, surface_m: float) -> bool:
    """Tell whether rooftop units are lifted: less than 8 in of flashing above the new surface.

    Parameters
    ----------
    setting : Setting
        The roof, its units on curbs or on sleepers.
    place : InPlace
        With the height of the curbs' top above the deck.
    kind : str
        Kind of job.
    surface_m : float
        Height of the new surface above the deck [m].

    References
    ----------
    NRCA roofing manual, curb details: the least flashing height is 8 in (0.2032 m).
    """
    if kind in (COATING, NEW_PANELS):
        return False
    on_sleepers = setting.roof.units_on == "sleepers" and place.as_today
    return kind == FRAMED or on_sleepers or place.curb_top_m - surface_m < FLASHING_M - 1e-9


def units(job: Job) -> Ruling:
    """Rooftop units are lifted only where their flashing would be too low; else re-flashed."""
    duty, count = "units", job.setting.roof.rooftop_units
    if not count:
        return _none(job, duty, "rooftop_units", "no rooftop units")
    if job.kind in (COATING, NEW_PANELS):
        return not_needed(duty, f"{job.kind} leaves the units where they stand")
    surface = job.place.height_m + job.adds_m
    lift = count * float(job.setting.prices.unit_lift or 0)
    flash = count * float(job.setting.duty_prices.unit_reflash or 0)
    many = f"{count} rooftop unit{'s' if count > 1 else ''}"
    if lifted(job.setting, job.place, job.kind, surface):
        why = _why_lifted(job, surface)
        work = Work(f"{many} lifted off and on", why, UNITS, lift)
        return ruling(duty, why, ROOFING_MANUAL, work)
    left = job.place.curb_top_m - surface
    why = f"{_inches(left)} in ({left:.2f} m) of flashing stand above the new surface"
    found = ruling(duty, why, ROOFING_MANUAL,
                    Work(f"{many} re-flashed on their curbs", why, UNITS, flash))  # fmt: skip
    if job.setting.roof.flashing_height_m is None and job.place.as_today:
        why = "curb height not known, taken as 12 in: measure it; under 8 in above the new surface"
        why += " the units are lifted"
        return replace(found, status=OPEN, reason=why)
    return found


def _why_lifted(job: Job, surface_m: float) -> str:
    if job.kind == FRAMED:
        return "curbs are raised to the new roof"
    if job.setting.roof.units_on == "sleepers" and job.place.as_today:
        return "the units stand on sleepers that lie on the covering"
    left = max(0.0, job.place.curb_top_m - surface_m)
    close = (f", {(FLASHING_M - left) / INCH_M:.2g} in under the rule of 8 in: measure the curbs"
             if FLASHING_M - left < INCH_M else "")  # fmt: skip
    return f"only {_inches(left)} in of flashing would stand above the new surface{close}"


def _inches(height_m: float) -> str:
    """Return a height in inches, with its decimals where less than an inch off the rule decides."""
    near = abs(height_m - FLASHING_M) < INCH_M
    return f"{round(height_m / INCH_M, 2):g}" if near else f"{height_m / INCH_M:.0f}"


def skylights(job: Job) -> Ruling:
    """Skylights are re-flashed under a new membrane; a framed roof raises or covers them.

    Notes
    -----
    Those that a framing survey covers over cost the survey's unit price.
    """
    duty, count = "skylights", job.setting.roof.skylights
    if job.kind in (COATING, NEW_PANELS):
        return not_needed(duty, f"{job.kind} leaves skylights as they are")
    if not count:
        return _none(job, duty, "skylights", "no skylights")
    prices, framed = job.setting.duty_prices, job.kind == FRAMED
    price = float((prices.skylight_raise if framed else prices.skylight_reflash) or 0)
    why = "raised to the new roof" if framed else "flashed into the new covering"
    covered = min(count, job.surveyed.skylights_covered)
    if covered:
        why = f"{count - covered} {why}, {covered} covered over, as surveyed"
    cost = (count - covered) * price + covered * job.surveyed.skylight_cover
    work = Work(f"{count} skylights{',' * bool(covered)} {why}", why, FLASHINGS, cost)
    return ruling(duty, why, PRACTICE, work)


def protection(job: Job) -> Ruling:
    """Rooms are protected, and partly out of use, where and as long as the roof is open.

    Notes
    -----
    Quantity: the part of the old roof that is opened, times the days it stays open at a place.
    """
    duty, share = "protection", job.opened
    if not share:
        return not_needed(duty, "the old roof stays closed")
    framed = job.kind == FRAMED and job.torn_off
    days = float(job.setting.duty_prices.framed_days or 0) if framed else 1.0
    cost = float(job.setting.prices.disruption_per_m2 or 0) * share * days * job.area_m2
    why = f"{share:.0%} of the roof is opened over the rooms"
    wet = 0.0 if job.torn_off else cost * job.wet / share
    work = Work("Protection of rooms, disruption", why, DISRUPTION, cost, wet_cost=wet)
    return ruling(duty, why, PRACTICE, work)


def structure(job: Job) -> Ruling:
    """The structure is checked where the job loads it more than the code lets pass.

    References
    ----------
    International Existing Building Code 2021, 706.2: a second layer of 3 lb/ft² or less over a
    single one needs no check; 706.3.2: more than half of the deck exposed where the design wind
    is above 115 mph asks for an evaluation of the diaphragm.
    """
    duty = "structure"
    cost = float(job.setting.duty_prices.structure_rate or 0) * job.laid_per_m2 * job.area_m2
    if job.kind == FRAMED:
        if duty in job.holds:
            return in_price(job, duty)
        why = "added load, snow drift and wind uplift are checked by a licensed engineer"
        work = Work("Structural design", why, FEES, cost, on_laying=True)
        return ruling(duty, why, IEBC_LOAD, work)
    if job.torn_off:
        return _diaphragm(job.setting.design_wind_m_s)
    if job.kind == RECOVER and job.adds_kg_m2 > SECOND_LAYER_KG_M2:
        why = "the new layer weighs more than 3 lb/ft²: ask an engineer"
        return Ruling(duty, OPEN, why, IEBC_LOAD, exposure=cost)
    return not_needed(duty, "the new layer weighs 3 lb/ft² or less", IEBC_LOAD)


def _diaphragm(wind_m_s: float | None) -> Ruling:
    """Return whether the wind asks for an evaluation of a deck that is mostly exposed."""
    if wind_m_s is not None and wind_m_s <= DIAPHRAGM_WIND_M_S:
        return not_needed("structure", "the design wind entered is 115 mph or less", IEBC_WIND)
    where = "as the design wind entered is" if wind_m_s else "where the design wind is"
    why = "more than half of the deck is exposed: the deck's diaphragm and its connections "
    why += f"are evaluated {where} above 115 mph; ask an engineer; nothing is counted for it here"
    return Ruling("structure", OPEN, why, IEBC_WIND)


def _fees(job: Job, direct: float) -> tuple[Ruling, ...]:
    checked = structure(job)
    why = "part of every job that is bid"
    if "on-costs" in job.holds:
        why = f"in {job.price_from}, set apart at the rate of every job"
    rate = float(job.setting.duty_prices.on_costs_rate or 0)
    laid = job.laid_per_m2 * job.area_m2
    what = DUTIES["on-costs"]
    works = (
        Work(what, why, FEES, rate * (laid + checked.cost), on_laying=True),
        Work(f"{what}, other work", why, FEES, rate * (direct - laid)),
    )
    on_costs = ruling("on-costs", why, PRACTICE, *(work for work in works if work.cost))
    return checked, on_costs, warranty(job)


def warranty(job: Job) -> Ruling:
    """The maker's fee for a warranty, on every new roof and coating alike."""
    duty = "warranty"
    if duty in job.holds:
        return in_price(job, duty)
    cost = float(job.setting.duty_prices.warranty_per_m2 or 0) * job.area_m2
    why = "the maker's fee by area"
    return ruling(duty, why, PRACTICE, Work("Warranty fee", why, FEES, cost))


_DIRECT: tuple[Callable[[Job], Ruling], ...] = (
    ballast, asbestos, tear_off, wet_insulation, insulation, drainage, covering, edges,
    penetrations, units, skylights,
)  # fmt: skip
# Duties that `rulings` charges no permit and fees on.
FREE_OF_FEES = ("protection", "warranty")
