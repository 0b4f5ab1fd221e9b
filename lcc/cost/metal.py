"""A sloped metal roof framed over the old one, which the model code lets stay in place."""

from collections.abc import Sequence
from dataclasses import replace

from lcc.case.alternatives import MetalRetrofit
from lcc.case.duty_prices import included
from lcc.case.fields import known
from lcc.case.framing import Framing
from lcc.case.layers import Assembly, Layer
from lcc.cost import duties, roof_states
from lcc.cost.roof_job import FRAMED, ITS_PRICE, NEW_PANELS, Job, Surveyed, tear_off_chosen
from lcc.cost.roof_states import InPlace, Setting
from lcc.cost.work import REFINISHED, SERVICED, UPKEEP, Step, Work, growth_over
from lcc.quantities.first_cost import unit_price
from lcc.quantities.retrofit_link import TAKEOFF_HOLDS

PANEL_STATE = "Metal retrofit"
CUT_OUT, TORN_OFF = "removed", "torn-off"
TAKEOFF = "the take-off"  # source of what a price by its lines holds


def steps(choice: MetalRetrofit, setting: Setting) -> tuple[Sequence[Step], int]:
    """Return the steps of a metal retrofit, its panels renewed when they end, and the repeat.

    Notes
    -----
    Wet insulation is cut out where it is, at any share: the framed roof does not rest on the old
    one, so nothing in the model code asks for the rest of it to come off. It may be left, or the
    whole old roof torn off, by choice. Panels that reach the end of their life are renewed on the
    same framing.
    """
    today = setting.step_today(choice.start, choice.wait_y)
    job = first_job(choice, setting, setting.why_first(choice.start, choice.wait_y))
    first = _built(choice, setting, job)
    again = _built(choice, setting, _new_panels(choice, setting, job))
    return (today, first, again), 2


def first_job(choice: MetalRetrofit, setting: Setting, why: str = "") -> Job:
    """Return the job that frames the metal roof over the old one."""
    place = roof_states.in_place_today(setting.roof)
    keep = choice.wet_insulation == "left"
    torn = choice.wet_insulation == TORN_OFF
    why_torn, source = tear_off_chosen(choice.origin("wet_insulation"))
    return Job(
        FRAMED, why, setting, place, "Metal roof framed over the old roof",
        known(choice.price_per_m2),
        holds=included(choice.price_includes), price_from=_price_from(choice),
        counted=_counted(choice), torn_off=torn,
        tear_off_why=why_torn, tear_off_source=source,
        keep_wet=keep,
        adds_m=choice.cavity.mean_height_m + roof_states.height_m(choice.layers),
        board_m2k_w=_board_m2k_w(choice, setting, place, torn), falls=_falls(choice),
        stays=max(0.0, 1 - choice.renewal_share),
        surveyed=_surveyed(choice.framing),
    )  # fmt: skip


def _surveyed(framing: Framing | None) -> Surveyed:
    if framing is None:
        return Surveyed()
    work = framing.other_work
    cover = unit_price(framing.unit_prices, "skylight_covered").value
    return Surveyed(work.skylights_covered, cover)


def _price_from(choice: MetalRetrofit) -> str:
    """Return what the price of laying is: the one entered, a survey's quotation or its lines."""
    if choice.framing is None or choice.origin("price_includes").source != TAKEOFF_HOLDS:
        return ITS_PRICE
    return TAKEOFF if choice.framing.quotation is None else "the survey's quotation"


def _counted(choice: MetalRetrofit) -> frozenset[str]:
    """Return the duties of which the price holds what the survey counts."""
    framing = choice.framing
    if framing is None or choice.origin("price_includes").source != TAKEOFF_HOLDS:
        return frozenset()
    other = framing.other_work
    found = {
        "units": framing.rooftop_units,
        "penetrations": framing.penetrations,
        "skylights": other.skylights_carried + other.skylights_covered,
        "wet-insulation": framing.wet_area_m2,
    }
    return frozenset(duty for duty, count in found.items() if count)


def _board_m2k_w(choice: MetalRetrofit, setting: Setting, place: InPlace, torn: bool) -> float:
    """Return the insulation that the code asks on top of what stays and is laid [m²K/W]."""
    if not duties.insulation_asked(setting, torn, FRAMED)[0]:
        return 0.0
    kept = (*choice.layers, *roof_states.without_coverings(place.layers))
    return max(0.0, setting.minimum_m2k_w - roof_states.whole_resistance_m2k_w(kept))


def _falls(choice: MetalRetrofit) -> tuple[float, ...]:
    """Return the slope of every part as surveyed, or of the whole retrofit."""
    return choice.framing.slopes if choice.framing else (choice.slope,)


def _new_panels(choice: MetalRetrofit, setting: Setting, first: Job) -> Job:
    place = replace(first.place, wet_fraction=0.0, suspect=False, coverings=(), as_today=False)
    return Job(
        NEW_PANELS, "the metal panels have reached the end of their life", setting, place,
        "New metal panels on the framing in place", first.laid_per_m2 * choice.renewal_share,
        holds=first.holds, falls=_falls(choice),
    )  # fmt: skip


def _built(choice: MetalRetrofit, setting: Setting, job: Job) -> Step:
    area, ruled = setting.roof.area_m2, duties.rulings(job)
    service, finish = choice.service_per_m2 * area, choice.finish_per_m2 * area
    return Step(
        state(choice, setting),
        choice.service_life_y,
        new=True,
        repeated=(
            Work(SERVICED, "due at its interval", UPKEEP, service, choice.service_interval_y),
            Work(REFINISHED, "due at its interval", UPKEEP, finish, choice.finish_interval_y),
        ),
        repairs=choice.repairs_per_m2 * area,
        repairs_growth=growth_over(
            choice.service_life_y, choice.repairs_growth, MetalRetrofit.service_life_y
        ),
        upkeep=choice.upkeep_per_m2 * area,
        rulings=ruled,
    )


def state(choice: MetalRetrofit, setting: Setting) -> Assembly:
    """Return the roof under its metal panel: new layers on the old roof, a cavity above them."""
    return Assembly(
        PANEL_STATE,
        (*choice.layers, *_old_roof(choice, setting)),
        known(choice.solar_reflectance),
        known(choice.thermal_emittance),
        cavity=choice.cavity,
        slope=choice.slope,
    )


def _old_roof(choice: MetalRetrofit, setting: Setting) -> tuple[Layer, ...]:
    """Return what stays of the old roof below the new layers, dry where the wet part is out."""
    layers = roof_states.without_loose_stone(setting.roof.layers)
    if choice.wet_insulation == "left":
        return layers
    place = roof_states.in_place_today(setting.roof)
    if choice.wet_insulation != TORN_OFF:
        return roof_states.dried(layers) if place.wet_fraction else layers
    added = _board_m2k_w(choice, setting, place, torn=True)
    board = (roof_states.added_insulation(added),) if added > 1e-9 else ()
    return (*board, *roof_states.dried(roof_states.without_coverings(layers)))
