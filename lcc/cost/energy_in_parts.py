"""The energy of a roof done in two parts: that of both states, each by its part of the area."""

from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

from lcc.results import EnergyYear

# Extremes are those of the part that reaches them; all other figures go by area.
EXTREMES = {
    "peak_surface_c": max, "lowest_surface_c": min, "peak_indoor_c": max, "iterations": max,
    "residual_k": max,
}  # fmt: skip


def in_two_parts(
    first: Sequence[EnergyYear], rest: Sequence[EnergyYear], share: float
) -> tuple[EnergyYear, ...]:
    """Return the energy years of the whole roof, one for each pair of states in force together.

    Parameters
    ----------
    first, rest : sequence of EnergyYear
        States of both parts with the years in which they hold, each as if the roof were all of it.
    share : float
        Part of the area that is done first, 0 to 1.

    Notes
    -----
    Heat through a roof goes by its area, so bills and loads are the mean of both states weighted
    by area. What the space evens out between both parts is left out.
    """
    # States of one name may differ, as by the taper that only one part gets.
    together: dict[tuple[int, int], list[int]] = {}
    own, other = _by_year(first), _by_year(rest)
    for year, state in own.items():
        together.setdefault((id(state), id(other[year])), []).append(year)
    return tuple(
        replace(by_area(own[years[0]], other[years[0]], share), years=tuple(years))
        for years in together.values()
    )


def _by_year(states: Sequence[EnergyYear]) -> Mapping[int, EnergyYear]:
    found = {year: state for state in states for year in state.years}
    return {year: found[year] for year in sorted(found)}


def by_area(one: EnergyYear, other: EnergyYear, share: float) -> EnergyYear:
    """Return the energy year of a roof of which `share` is in one state and the rest in another."""
    if one == replace(other, years=one.years):
        return one
    name = f"{one.assembly} on {share:.0%}, {other.assembly} on the rest"
    name = one.assembly if one.assembly == other.assembly else name
    blended: EnergyYear = _blended(one, other, share)
    return replace(blended, assembly=name, condensation=one.condensation or other.condensation)


def _blended(one: Any, other: Any, share: float) -> Any:
    if isinstance(one, float) and isinstance(other, float):
        return share * one + (1 - share) * other
    if isinstance(one, tuple) and all(isinstance(each, float) for each in one):
        return tuple(_blended(a, b, share) for a, b in zip(one, other, strict=True))
    if is_dataclass(one) and type(one) is type(other):
        own: Any = one
        return replace(own, **{f.name: _field(f.name, one, other, share) for f in fields(own)})
    return one if one is not None else other


def _field(name: str, one: Any, other: Any, share: float) -> Any:
    values = getattr(one, name), getattr(other, name)
    return EXTREMES[name](*values) if name in EXTREMES else _blended(*values, share)
