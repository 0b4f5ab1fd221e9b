"""The fast solution beside the finite-volume march, for eight roofs in three climates."""

from dataclasses import replace
from functools import cache

import numpy as np

from lcc.arrays import Array
from lcc.case import Assembly, Building, Cavity, Layer, Site
from lcc.checks.march import MarchCase, cooling_electricity, march
from lcc.heat import climate
from lcc.heat.equipment import consumption
from lcc.heat.plenum_and_attic import occupied_of
from lcc.heat.roof_model import solve

CLIMATES = ("houston-tx", "chicago-il", "phoenix-az")
AREA_M2 = 2000.0
STEP_S = 150.0  # at 300 s the march itself is 1 % off where an attic leaves the roof little flux


def reference_roofs() -> dict[str, Assembly]:
    """Return the eight roofs, light to heavy, bare and under a panel, over an open deck."""
    covering, deck = Layer(material="built-up-roofing"), Layer(material="steel-deck")
    board = Layer(material="polyiso-board", thickness_m=0.05)
    concrete = Layer(material="concrete-structural", thickness_m=0.15)
    blanket = Layer(material="glass-fibre-blanket", thickness_m=0.15)
    old_light, old_heavy = (covering, board, deck), (covering, concrete)
    panel = Assembly(solar_reflectance=0.6, thermal_emittance=0.85, cavity=Cavity())
    sealed = Cavity(ventilation="sealed")
    return {
        "bare steel deck": Assembly(layers=(deck,), solar_reflectance=0.6),
        "dark built-up over board": Assembly(layers=old_light, solar_reflectance=0.1),
        "built-up on concrete": Assembly(layers=old_heavy),
        "dark built-up on plywood": Assembly(
            layers=(covering, Layer(material="plywood")), solar_reflectance=0.1
        ),
        "retrofit over board": replace(panel, layers=(blanket, *old_light)),
        "retrofit, sealed": replace(panel, layers=(blanket, *old_light), cavity=sealed),
        "retrofit over concrete": Assembly(layers=(blanket, *old_heavy), cavity=Cavity()),
        "retrofit over thin board": Assembly(
            layers=(Layer(material="eps-board", thickness_m=0.025), deck), cavity=Cavity()
        ),
    }


def reference_cases() -> dict[tuple[str, str], MarchCase]:
    """Return every roof over a school in every climate, by climate and roof.

    Eight roofs over an open deck, and one roof with each thing that may be below its deck.
    """
    roofs = reference_roofs()
    board = roofs["dark built-up over board"]
    below = {
        name: (assembly, Building(use="school", overhead="open-deck"))
        for name, assembly in roofs.items()
    }
    below |= {
        f"board, {kind}": (board, Building(use="school", overhead=kind))
        for kind in ("suspended-ceiling", "return-plenum", "ducts-above-ceiling", "attic")
    }
    return {
        (station, name): MarchCase(climate.load(Site(climate=station)), building, AREA_M2, assembly)
        for station in CLIMATES
        for name, (assembly, building) in below.items()
    }


@cache
def agreement() -> dict[tuple[str, str], dict[str, float]]:
    """Return how far the fast solution is from the march, by climate and roof.

    Returns
    -------
    dict
        `gain`, `loss`, `cooling` and `heating`: relative difference of the year's sum;
        `electricity`: that of the sensible cooling's electricity, with the part-load curve;
        `rms`: root mean square difference of the hourly flux over the march's highest flux.

    Notes
    -----
    The march takes some seconds, so it is done once in a process.
    """
    cases = reference_cases()
    marched = march(tuple(cases.values()), STEP_S)
    return {
        name: _differences(case, marched.roof_flux_w_m2[index], marched.load_w_m2[index])
        for index, (name, case) in enumerate(cases.items())
    }


def _differences(case: MarchCase, flux: Array, load: Array) -> dict[str, float]:
    ours = solve(case.climate, case.building, case.area_m2, case.assembly)
    q, p = ours.heat.roof_flux_w_m2, ours.load_w_m2
    runs, air_c = occupied_of(case.building.use), case.climate.dry_bulb_c
    used = consumption(case.building.equipment, p, air_c, runs).cooling_electricity
    return {
        "gain": _relative(q, flux),
        "loss": _relative(-q, -flux),
        "cooling": _relative(-p, -load),
        "heating": _relative(p, load),
        "electricity": _relative(used, cooling_electricity(case, load)),
        "rms": float(np.sqrt(np.mean((q - flux) ** 2)) / np.abs(flux).max()),
    }


def _relative(ours: Array, theirs: Array) -> float:
    return float(np.maximum(ours, 0).sum() / np.maximum(theirs, 0).sum() - 1)
