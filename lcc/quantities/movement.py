"""Thermal movement of the panel between its coldest and its hottest hour."""

from lcc import tables
from lcc.case.framing import Framing
from lcc.errors import CaseError
from lcc.results.takeoff_result import Movement

FITS = "Within the travel of a clip set at its centre."
_FREE_PART = {"eave": 1.0, "high-end": 1.0, "middle": 0.5}


def expansion(length_m: float, coefficient_per_k: float, change_k: float) -> float:
    """Return the change of length [m] for a change of temperature.

    Parameters
    ----------
    length_m : float
        Length that is free to move [m].
    coefficient_per_k : float
        Linear expansion coefficient [1/K].
    change_k : float
        Change of temperature [K].

    Notes
    -----
    ΔL is coefficient times L times ΔT.

    Examples
    --------
    A 30 m steel panel over 80 K: 12e-6 · 30 · 80 = 28.8 mm.

    >>> round(expansion(30.0, 12e-6, 80.0) * 1000, 6)
    28.8
    """
    return coefficient_per_k * length_m * change_k


def movement(
    framing: Framing, longest_panel_m: float, coldest_c: float, hottest_c: float
) -> Movement:
    """Return the travel of a panel's free end, against what the floating clip allows.

    Parameters
    ----------
    framing : Framing
        Metal, fixed point, clip travel and the temperature at which panels are laid.
    longest_panel_m : float
        Length of the longest panel, eave to high end [m].
    coldest_c, hottest_c : float
        Panel temperatures over the year [°C].

    Notes
    -----
    A panel fixed at its eave or high end moves over its whole length at the other end; fixed in
    the middle, each end moves over half of it.
    """
    if coldest_c > hottest_c:
        raise CaseError("coldest_panel", coldest_c, "at most the hottest panel")
    coefficient = float(tables.rows("metals")[framing.panel_metal]["expansion_per_k"])
    length = longest_panel_m * _FREE_PART[framing.fixed_point]
    total = expansion(length, coefficient, hottest_c - coldest_c)
    growth = max(expansion(length, coefficient, hottest_c - framing.laid_at_c), 0.0)
    shrinkage = max(expansion(length, coefficient, framing.laid_at_c - coldest_c), 0.0)
    travel = framing.clip_travel_m
    return Movement(
        coldest_c, hottest_c, framing.fixed_point, length, coefficient, total, growth, shrinkage,
        travel, _verdict(total, growth, shrinkage, travel),
    )  # fmt: skip


def _verdict(total: float, growth: float, shrinkage: float, travel: float | None) -> str:
    if travel is None:
        return "Not judged: no travel of the clip is entered."
    if total > travel:
        return "The movement exceeds the travel of the clip."
    if max(growth, shrinkage) > travel / 2:
        return "Within the travel of the clip if it is set off its centre on the day it is laid."
    return FITS
