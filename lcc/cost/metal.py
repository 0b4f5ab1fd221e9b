"""One sloped metal roof framed over the old one, which the model code lets stay in place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lcc.case.alternatives import MetalRetrofit
from lcc.case.fields import known
from lcc.case.layers import Assembly
from lcc.cost.roof_states import Setting
from lcc.cost.work import COVERING, UPKEEP, Step, Work

EXEMPT = (
    "a complete standing-seam system carried by the building's structure may stand over any "
    "coverings in place (International Building Code 1510.3)"
)

PANEL_STATE = "Metal retrofit"


def steps(choice: MetalRetrofit, setting: Setting) -> tuple[Sequence[Step], int]:
    """Return the steps of a metal retrofit, built anew if its life ends, and where they repeat."""
    first = _built(choice, setting, f"{setting.why_first(choice.start)}; {EXEMPT}")
    again = replace(
        first, works=_works(choice, setting, "the metal roof has reached the end of its life")
    )
    return (setting.step_today(choice.start), first, again), 2


def _built(choice: MetalRetrofit, setting: Setting, why: str) -> Step:
    area = setting.roof.area_m2
    return Step(
        state(choice, setting),
        choice.service_life_y,
        new=True,
        works=_works(choice, setting, why),
        repeated=_repeated(choice, area),
        upkeep=choice.upkeep_per_m2 * area,
    )


def _works(choice: MetalRetrofit, setting: Setting, why: str) -> tuple[Work, ...]:
    cost = known(choice.price_per_m2) * setting.roof.area_m2
    work = Work("Metal roof framed over the old roof", why, COVERING, cost, lasts=True)
    return (work, *setting.units_lifted("curbs are raised to the new roof"))


def _repeated(choice: MetalRetrofit, area_m2: float) -> tuple[Work, ...]:
    service, finish = choice.service_per_m2 * area_m2, choice.finish_per_m2 * area_m2
    return (
        Work(
            "Sealant and ventilators serviced", "due at its interval", UPKEEP, service,
            choice.service_interval_y,
        ),
        Work("Finish renewed", "due at its interval", UPKEEP, finish, choice.finish_interval_y),
    )  # fmt: skip


def state(choice: MetalRetrofit, setting: Setting) -> Assembly:
    """Return the roof under its metal panel: new layers on the old roof, a cavity above them."""
    return Assembly(
        PANEL_STATE,
        (*choice.layers, *setting.roof.layers),
        known(choice.solar_reflectance),
        known(choice.thermal_emittance),
        cavity=choice.cavity,
        slope=choice.slope,
    )
