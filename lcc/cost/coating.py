"""A reflective coating renewed on the covering in place, which lasts longer; then membranes."""

from __future__ import annotations

from collections.abc import Sequence

from lcc import tables
from lcc.case.alternatives import Coating
from lcc.case.fields import known
from lcc.cost import membrane, roof_states
from lcc.cost.roof_states import Setting
from lcc.cost.work import COVERING, Step, Work


def steps(choice: Coating, setting: Setting) -> tuple[Sequence[Step], int]:
    """Return the steps of a coating laid now and the membranes after it.

    Notes
    -----
    A coating is not a roof covering to the model code: it does not change the count. It lets the
    covering below live `life_gain_y` longer, but repairs grow on with that covering's age.
    """
    coated = _coated(choice, setting)
    before = (setting.step_today("now"), coated)
    why = "the coated covering has reached the end of its life"
    return membrane.steps(choice.replacement, setting, before, why)


def _coated(choice: Coating, setting: Setting) -> Step:
    row = tables.rows("coverings")[choice.covering]
    every = known(choice.renewal_y)
    cost, roof = known(choice.price_per_m2) * setting.roof.area_m2, setting.roof
    layers = (roof_states.covering_layer(choice.covering), *roof.layers)
    renewal = Work(f"{row['name']} renewed", "the coating has weathered", COVERING, cost, every)
    return Step(
        roof_states.faced(f"Roof today, {row['name'].lower()}", layers, choice),
        known(roof.remaining_life_y) + choice.life_gain_y,
        new=False,
        works=(Work(f"{row['name']} laid", "chosen to be done now", COVERING, cost),),
        repeated=(renewal,),
        repairs=roof.repairs_per_m2 * roof.area_m2,
        repairs_growth=roof.repairs_growth,
    )
