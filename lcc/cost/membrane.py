"""Membranes again and again: the count of coverings decides between recover and tear-off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from lcc import tables
from lcc.case.alternatives import Membrane
from lcc.case.fields import known
from lcc.case.layers import Layer
from lcc.case.resolution import resolve
from lcc.cost import roof_states
from lcc.cost.roof_states import Setting
from lcc.cost.work import COVERING, INSULATION, TEAR_OFF, Step, Work
from lcc.errors import CaseError


@dataclass(frozen=True)
class InPlace:
    """What lies on the deck: each covering's mass, the wet part of the insulation, the layers."""

    coverings_kg_m2: tuple[float, ...]
    wet_fraction: float
    layers: tuple[Layer, ...]


def in_place_today(setting: Setting) -> InPlace:
    """Return what lies on the deck today; coverings below the top one are taken as like it."""
    roof = setting.roof
    return InPlace((_mass(roof.covering),) * roof.coverings, roof.wet_fraction, roof.layers)


def _mass(covering: str) -> float:
    return float(tables.rows("coverings")[covering]["mass_kg_m2"])


def recover_refusal(coverings: int, wet_fraction: float, method: str) -> str | None:
    """Return why a recover is not laid, or None where it is allowed and chosen.

    Parameters
    ----------
    coverings : int
        Roof coverings in place.
    wet_fraction : float
        Part of the insulation that is wet, 0 to 1.
    method : str
        "recover-where-allowed" or "tear-off".

    References
    ----------
    International Building Code 2012, 1510.3: no recover where the existing roof is
    water-soaked, or where two or more coverings are in place.

    Examples
    --------
    >>> recover_refusal(1, 0.0, "recover-where-allowed") is None
    True
    >>> recover_refusal(2, 0.0, "recover-where-allowed")
    '2 coverings are in place: no recover over two or more (International Building Code 1510.3)'
    """
    if wet_fraction > 0:
        return "insulation is wet: no recover over it (International Building Code 1510.3)"
    if coverings >= 2:
        return (
            f"{coverings} coverings are in place: no recover over two or more "
            "(International Building Code 1510.3)"
        )
    return "tear-off is the chosen method" if method == "tear-off" else None


def steps(
    choice: Membrane, setting: Setting, before: Sequence[Step] = (), why: str | None = None
) -> tuple[Sequence[Step], int]:
    """Return the steps of a membrane laid again and again, and the step they repeat from.

    Parameters
    ----------
    choice : Membrane
        The covering, the method and its figures.
    setting : Setting
        The roof, prices and the insulation minimum.
    before : sequence of Step
        What comes first; by default the roof as it is, for the years it has left.
    why : str, optional
        Why the first replacement comes.
    """
    done = list(before) or [setting.step_today(choice.start)]
    why = why or setting.why_first(choice.start)
    seen: list[tuple[InPlace, str]] = []
    place = in_place_today(setting)
    while (place, why) not in seen:
        seen.append((place, why))
        step, place = _replacement(choice, setting, place, why)
        done.append(step)
        why = "the covering in place has reached the end of its life"
    # The step that comes next was made when the same situation was first seen.
    return done, len(done) - len(seen) + seen.index((place, why))


def laying_alone(choice: Membrane, setting: Setting) -> Membrane:
    """Return a membrane whose price is that of laying, where the one entered covers everything.

    Raises
    ------
    CaseError
        Where the first replacement's other work alone comes to more than the price.

    Notes
    -----
    The first replacement then costs what was quoted for it: from the price is taken what its
    other work (tear-off, disposal, insulation, lifting, disruption) comes to at its own prices.
    Later replacements cost the laying so found and the work that they need themselves.
    """
    if choice.price_covers != "everything" or choice.price_per_m2 is None:
        return choice
    unpriced = resolve(replace(choice, price_per_m2=0.0))
    step, _ = _replacement(unpriced, setting, in_place_today(setting), "")
    rest = math.fsum(work.cost for work in step.works) / setting.roof.area_m2
    if rest > choice.price_per_m2:
        allowed = (
            "a price that covers the other work of the first replacement, which at its own prices "
            f"comes to {rest / max(choice.price_per_m2, 1e-9):.2g} times as much"
        )
        raise CaseError("price", choice.price_per_m2, allowed)
    return replace(choice, price_per_m2=choice.price_per_m2 - rest)


def _replacement(
    choice: Membrane, setting: Setting, place: InPlace, why: str
) -> tuple[Step, InPlace]:
    refusal = recover_refusal(len(place.coverings_kg_m2), place.wet_fraction, choice.method)
    if refusal is None:
        return _recover(choice, setting, place, why)
    return _tear_off(choice, setting, place, why, refusal)


def _recover(choice: Membrane, setting: Setting, place: InPlace, why: str) -> tuple[Step, InPlace]:
    laid = _laid(choice, setting, f"{why}; one sound, dry covering may be covered", "Recover: ")
    layers = (roof_states.covering_layer(choice.covering), *place.layers)
    masses = (*place.coverings_kg_m2, _mass(choice.covering))
    step = _step(choice, setting, layers, (laid,), choice.recover_life_ratio)
    return step, InPlace(masses, 0.0, layers)


def _tear_off(
    choice: Membrane, setting: Setting, place: InPlace, why: str, refusal: str
) -> tuple[Step, InPlace]:
    bare = roof_states.without_coverings(place.layers)
    kept = roof_states.dried(bare) if place.wet_fraction else bare
    added = max(0.0, _target(choice, setting) - roof_states.insulation_m2k_w(kept))
    board = (roof_states.added_insulation(added),) if added > 1e-9 else ()
    layers = (roof_states.covering_layer(choice.covering), *board, *kept)
    works = (
        *_removal(setting, place, refusal),
        *_wet_insulation(setting, place, bare),
        *_raised(choice, setting, added),
        _laid(choice, setting, why),
    )
    step = _step(choice, setting, layers, works, 1.0)
    return step, InPlace((_mass(choice.covering),), 0.0, layers)


def _target(choice: Membrane, setting: Setting) -> float:
    if choice.insulation_target_m2k_w is not None:
        return choice.insulation_target_m2k_w
    return setting.minimum_m2k_w if choice.raise_insulation else 0.0


def _removal(setting: Setting, place: InPlace, refusal: str) -> tuple[Work, ...]:
    count, area = len(place.coverings_kg_m2), setting.roof.area_m2
    what = f"Tear-off of {count} covering{'s' if count > 1 else ''}"
    tear_off = known(setting.prices.tear_off_per_m2) * count * area
    disposal = known(setting.prices.disposal_per_kg) * sum(place.coverings_kg_m2) * area
    return (
        Work(what, refusal, TEAR_OFF, tear_off),
        Work("Disposal of what was torn off", "paid by weight", TEAR_OFF, disposal),
    )


def _wet_insulation(
    setting: Setting, place: InPlace, layers: tuple[Layer, ...]
) -> tuple[Work, ...]:
    resistance = roof_states.insulation_m2k_w(layers)
    if not place.wet_fraction or not resistance:
        return ()
    area = place.wet_fraction * setting.roof.area_m2
    price = known(setting.prices.insulation_per_m2) * resistance
    disposal = known(setting.prices.disposal_per_kg) * roof_states.insulation_mass_kg_m2(layers)
    why = f"{place.wet_fraction:.0%} of the insulation is wet"
    return (
        Work("Disposal of wet insulation", why, TEAR_OFF, disposal * area),
        Work("Wet insulation replaced by dry", why, INSULATION, price * area, lasts=True),
    )


def _raised(choice: Membrane, setting: Setting, added_m2k_w: float) -> tuple[Work, ...]:
    if added_m2k_w <= 1e-9:
        return ()
    cost = added_m2k_w * known(setting.prices.insulation_per_m2) * setting.roof.area_m2
    why = (
        f"the minimum of climate zone {setting.zone} holds at replacement"
        if choice.insulation_target_m2k_w is None
        else "brought up to the R-value chosen"
    )
    return (Work("Insulation added above the deck", why, INSULATION, cost, lasts=True),)


def _laid(choice: Membrane, setting: Setting, why: str, how: str = "") -> Work:
    row = tables.rows("coverings")[choice.covering]
    what = f"{how}{row['name']} laid"
    return Work(what, why, COVERING, known(choice.price_per_m2) * setting.roof.area_m2, lasts=True)


def _step(
    choice: Membrane,
    setting: Setting,
    layers: tuple[Layer, ...],
    works: tuple[Work, ...],
    life_ratio: float,
) -> Step:
    row = tables.rows("coverings")[choice.covering]
    name = f"{row['name']}, {'recover' if life_ratio != 1 else 'after tear-off'}"
    others = (*setting.units_lifted("the covering beneath them is replaced"), setting.disruption())
    return Step(
        roof_states.faced(name, layers, choice),
        known(choice.service_life_y) * life_ratio,
        new=True,
        works=(*works, *others),
        repairs=choice.repairs_per_m2 * setting.roof.area_m2,
        repairs_growth=choice.repairs_growth,
        torn_off=life_ratio == 1,
    )
