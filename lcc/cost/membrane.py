"""Membranes again and again: the count of coverings decides between recover and tear-off."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lcc import tables
from lcc.case.alternatives import LaterMembrane, Membrane
from lcc.case.duty_prices import included
from lcc.case.fields import known
from lcc.case.layers import Layer
from lcc.cost import duties, roof_states
from lcc.cost.roof_job import IBC_1511_3, RECOVER, REPLACEMENT, Job, tear_off_chosen
from lcc.cost.roof_states import InPlace, Setting
from lcc.cost.tear_off_rule import recover_refusal
from lcc.cost.work import COVERING, Step, Work, growth_over

# Curbs that are raised get this flashing above the new surface, so that the next job finds room.
RAISED_M = roof_states.USUAL_FLASHING_M


def from_today(choice: Membrane, setting: Setting) -> tuple[Sequence[Step], int]:
    """Return the steps of a membrane laid when the roof of today ends, or when chosen."""
    today = setting.step_today(choice.start, choice.wait_y)
    return steps(choice, setting, (today,), setting.why_first(choice.start, choice.wait_y))


def steps(
    choice: LaterMembrane,
    setting: Setting,
    before: Sequence[Step],
    why: str,
    place: InPlace | None = None,
) -> tuple[Sequence[Step], int]:
    """Return the steps of a membrane laid again and again, and the step they repeat from.

    Parameters
    ----------
    choice : LaterMembrane
        The covering, the method and its figures.
    setting : Setting
        The roof, prices and the insulation minimum.
    before : sequence of Step
        What comes first.
    why : str
        Why the first replacement comes.
    place : InPlace, optional
        What lies on the deck then; by default what lies there today.
    """
    done = list(before)
    seen: list[tuple[InPlace, str]] = []
    place = place or roof_states.in_place_today(setting.roof)
    while (place, why) not in seen:
        seen.append((place, why))
        laid = laid_on(choice, setting, place, why, first=not seen[1:])
        done.append(_step(choice, setting, laid))
        place, why = laid.after, "the covering in place has reached the end of its life"
    # The step that comes next was made when the same situation was first seen.
    return done, len(done) - len(seen) + seen.index((place, why))


@dataclass(frozen=True)
class LaidOn:
    """A membrane's job, the layers it leaves, and what lies on the deck afterwards."""

    job: Job
    layers: tuple[Layer, ...]
    after: InPlace


def laid_on(
    choice: LaterMembrane, setting: Setting, place: InPlace, why: str, *, first: bool = True
) -> LaidOn:
    """Return the job that lays a membrane on what is in place, the first or a later one."""
    method = choice.method
    if method == "tear-off-first":
        method = "tear-off" if first else "recover-where-allowed"
    refused = recover_refusal(len(place.coverings), place.wet_fraction)
    chosen = refused is None and method == "tear-off"
    torn = chosen or refused is not None
    by_choice = tear_off_chosen(choice.origin("method"))
    reason, source = by_choice if chosen else (refused or "", IBC_1511_3)
    taper = _taper_m(choice, setting, place, first)
    kept, board = _kept(choice, setting, place, torn, taper)
    boards = _boards(board, taper)
    layers = (roof_states.covering_layer(choice.covering), *boards, *kept)
    own = roof_states.laid(choice.covering)
    row = tables.rows("coverings")[choice.covering]
    job = Job(
        REPLACEMENT if torn else RECOVER,
        why if torn else f"{why}; one sound, dry covering may be covered",
        setting, place, f"{row['name']} laid{'' if torn else ' over the old membrane'}",
        known(choice.price_per_m2),
        holds=included(choice.price_includes), torn_off=torn,
        tear_off_why=reason, tear_off_source=source,
        adds_m=roof_states.height_m(layers) - place.height_m, adds_kg_m2=own.kg_m2,
        board_m2k_w=board, target_m2k_w=choice.insulation_target_m2k_w,
        insulation_wanted=choice.raise_insulation, taper_m=taper,
    )  # fmt: skip
    return LaidOn(job, layers, _after(job, layers, own))


def _taper_m(choice: LaterMembrane, setting: Setting, place: InPlace, first: bool) -> float:
    wanted = choice.tapered and first
    standing = duties.drains(setting, place) is False
    return duties.taper_m(setting) if (wanted or standing) and not place.tapered else 0.0


def _kept(
    choice: LaterMembrane, setting: Setting, place: InPlace, torn: bool, taper_m: float
) -> tuple[tuple[Layer, ...], float]:
    """Return the layers that stay and the insulation added on them [m²K/W]."""
    stays = roof_states.without_loose_stone(place.layers)
    if torn:
        stays = roof_states.without_coverings(stays)
    dry = roof_states.dried(stays) if place.wet_fraction else stays
    if not torn:
        # Boards stay through later tear-offs, so they are laid once.
        return dry, 0.0 if place.boarded else choice.recover_board_m2k_w
    asked = duties.insulation_asked(setting, torn, REPLACEMENT)[0] and choice.raise_insulation
    tapered = taper_m / roof_states.board_conductivity_w_mk()
    if choice.insulation_target_m2k_w is not None:
        target, there = choice.insulation_target_m2k_w, roof_states.insulation_m2k_w(dry)
    else:
        target = setting.minimum_m2k_w if asked else 0.0
        there = roof_states.whole_resistance_m2k_w(dry)
    added = target - there - tapered
    return dry, added if added > 1e-9 else 0.0


def _boards(board_m2k_w: float, taper_m: float) -> tuple[Layer, ...]:
    tapered = (Layer(material=roof_states.BOARD, thickness_m=taper_m),) if taper_m else ()
    flat = (roof_states.added_insulation(board_m2k_w),) if board_m2k_w else ()
    return (*tapered, *flat)


def _after(job: Job, layers: tuple[Layer, ...], own: roof_states.Laid) -> InPlace:
    """Return what lies on the deck after a job; what was torn off is gone, with its asbestos."""
    place, surface = job.place, roof_states.height_m(layers)
    raised = duties.lifted(job.setting, place, job.kind, surface)
    below = () if job.torn_off else tuple(each.bare for each in place.coverings)
    return InPlace(
        (own, *below), 0.0, layers,
        round(surface + RAISED_M, 9) if raised else place.curb_top_m,
        suspect=place.suspect and not job.torn_off, tapered=place.tapered or bool(job.taper_m),
        boarded=place.boarded or (job.kind == RECOVER and job.board_m2k_w > 0),
        as_today=False,
    )  # fmt: skip


def first_job(choice: LaterMembrane, setting: Setting) -> Job:
    """Return the first job, on the roof of today."""
    return laid_on(choice, setting, roof_states.in_place_today(setting.roof), "").job


def _step(choice: LaterMembrane, setting: Setting, laid: LaidOn) -> Step:
    row = tables.rows("coverings")[choice.covering]
    recover = laid.job.kind == RECOVER
    name = f"{row['name']}, {'over the old membrane' if recover else 'after tear-off'}"
    ruled = duties.rulings(laid.job)
    life = known(choice.service_life_y) * (choice.recover_life_ratio if recover else 1.0)
    return Step(
        roof_states.faced(name, laid.layers, choice),
        life,
        new=True,
        repeated=_recoats(row, setting),
        repairs=choice.repairs_per_m2 * setting.roof.area_m2,
        repairs_growth=growth_over(life, choice.repairs_growth, float(row["service_life_y"])),
        rulings=ruled,
        torn_off=not recover,
    )


def _recoats(row: Mapping[str, Any], setting: Setting) -> tuple[Work, ...]:
    """Return the recoats of a spray foam roof, none of any other covering."""
    if not row["recoat_y"]:
        return ()
    cost, every = float(row["recoat_per_m2"]) * setting.roof.area_m2, float(row["recoat_y"])
    return (Work("Foam recoated", "its coating has weathered", COVERING, cost, every),)
