"""A reflective coating renewed on the covering in place, which lasts longer; then membranes."""

from collections.abc import Sequence
from dataclasses import replace

from lcc import tables
from lcc.case.alternatives import Coating
from lcc.case.duty_prices import included
from lcc.case.fields import known
from lcc.case.roof import Roof
from lcc.cost import duties, membrane, roof_states
from lcc.cost.roof_job import COATING, Job
from lcc.cost.roof_states import Setting
from lcc.cost.tear_off_rule import WET_LIMIT
from lcc.cost.work import COVERING, Step, Work
from lcc.errors import CaseError


def refusal(roof: Roof, years_left: float) -> str | None:
    """Return why a roof cannot be coated, or None where it can.

    Parameters
    ----------
    roof : Roof
        The roof as it is.
    years_left : float
        Years that its covering has left.

    References
    ----------
    Coating makers and contractors alike: no coating on loose stone, on wet insulation of more
    than a quarter of the roof, or on a covering that has failed (trade pages).
    """
    loose = float(tables.rows("coverings")[roof.covering]["loose_kg_m2"])
    if loose or any(layer.material == "gravel" for layer in roof.layers[:1]):
        return "loose stone lies on the roof, and a coating holds on nothing loose"
    if (roof.wet_fraction or 0.0) > WET_LIMIT:
        return "more than a quarter of the insulation is wet, so the roof must come off"
    if years_left < 0.5:
        return "the covering has no years left: a coating adds years to a sound one only"
    return None


def steps(choice: Coating, setting: Setting) -> tuple[Sequence[Step], int]:
    """Return the steps of a coating laid now and the membranes after it.

    Raises
    ------
    CaseError
        Where the roof cannot be coated.

    Notes
    -----
    A coating is not a roof covering to the model code: it does not change the count. It lets the
    covering below live `life_gain_y` longer, but repairs grow on with that covering's age.
    """
    why_not = refusal(setting.roof, setting.remaining_life_y)
    if why_not:
        allowed = f"another kind of work, for no coating can go on here: {why_not}"
        raise CaseError("covering", choice.covering, allowed)
    coated = _coated(choice, setting)
    before = (setting.step_today("now"), coated)
    why = "the coated covering has reached the end of its life"
    return membrane.steps(choice.replacement, setting, before, why, _coated_place(setting))


def _coated_place(setting: Setting) -> roof_states.InPlace:
    """Return what the membrane after a coating is laid on."""
    place = roof_states.in_place_today(setting.roof)
    return replace(place, wet_fraction=0.0, layers=roof_states.dried(place.layers), as_today=False)


def job_after(choice: Coating, setting: Setting) -> Job:
    """Return the job of the membrane that follows a coating, which its price is for."""
    return membrane.laid_on(choice.replacement, setting, _coated_place(setting), "").job


def first_job(choice: Coating, setting: Setting) -> Job:
    """Return the job that lays the coating on the roof of today."""
    row = tables.rows("coverings")[choice.covering]
    place = roof_states.in_place_today(setting.roof)
    return Job(
        COATING, "chosen to be done now", setting, place, f"{row['name']} laid",
        known(choice.price_per_m2),
        holds=included(choice.price_includes), lasts=False,
    )  # fmt: skip


def _coated(choice: Coating, setting: Setting) -> Step:
    row = tables.rows("coverings")[choice.covering]
    roof, job = setting.roof, first_job(choice, setting)
    ruled, place = duties.rulings(job), job.place
    dry = roof_states.dried(roof.layers) if place.wet_fraction else roof.layers
    layers = (roof_states.covering_layer(choice.covering), *dry)
    cost = job.laid_per_m2 * roof.area_m2
    renewal = Work(
        f"{row['name']} renewed", "the coating has weathered", COVERING, cost, choice.renewal_y
    )
    return Step(
        # Paint follows what it lies on: granules stay rough.
        replace(
            roof_states.faced(f"Roof today, {row['name'].lower()}", layers, choice),
            roughness=setting.today.roughness,
        ),
        setting.remaining_life_y + choice.life_gain_y,
        new=False,
        repeated=(renewal,),
        repairs=roof.repairs_per_m2 * roof.area_m2,
        repairs_growth=roof.repairs_growth,
        rulings=ruled,
        gain_y=choice.life_gain_y,
    )
