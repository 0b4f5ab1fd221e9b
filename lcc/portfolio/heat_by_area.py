"""Heat of roofs that differ in area alone: solved at a few areas, interpolated between them."""

from collections.abc import Callable
from dataclasses import fields, replace
from functools import lru_cache, partial
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from lcc.arrays import Array
from lcc.case import Building, Prices
from lcc.case.layers import Assembly
from lcc.heat.climate import Climate
from lcc.heat.energy import billed, energy_year
from lcc.results import EnergyYear
from lcc.results.energy_year import Monthly

NODES, MONTHS = 5, 12
# Below this many areas it is quicker to solve each.
FEWEST = 12
AREA = "roof_area_m2"
LOW, HIGH = "area_from_m2", "area_to_m2"

Energy = Callable[..., EnergyYear]

_BY_AREA = (
    "cooling_electricity_kwh", "heating_electricity_kwh", "fan_electricity_kwh", "gas_kwh",
    "cooling_load_kwh", "heating_load_kwh", "roof_heat_gain_kwh", "roof_heat_loss_kwh",
    "peak_cooling_kw", "peak_heating_kw",
)  # fmt: skip
_PLAIN = ("peak_surface_c", "lowest_surface_c", "peak_indoor_c", "mean_indoor_c")
exact: Energy = partial(energy_year, sized=False)


def with_ranges(frame: pd.DataFrame, heat: list[str]) -> pd.DataFrame:
    """Return buildings with the range of areas over which each one's heat is interpolated.

    Parameters
    ----------
    frame : DataFrame
        Buildings.
    heat : list of str
        The columns that make a heat problem.

    Returns
    -------
    DataFrame
        With `LOW` and `HIGH` [m²], NaN where a building's heat is solved for itself.
    """
    others = [name for name in heat if name != AREA]
    area = frame[AREA].astype(float)
    groups = area.groupby([frame[name] for name in others], dropna=False, sort=False)
    many = groups.transform("nunique") >= FEWEST
    low, high = groups.transform("min").where(many), groups.transform("max").where(many)
    return frame.assign(**{LOW: low, HIGH: high})


def energy_of(low_m2: float | None, high_m2: float | None) -> Energy:
    """Return the energy of one state of a roof as `lcc.heat.energy.energy_year` gives it.

    Parameters
    ----------
    low_m2, high_m2 : float or None
        Range of areas over which it is interpolated; None for a solution of its own.

    Notes
    -----
    With plan ratio, storey height, storeys and air changes given, the area A enters the heat of
    a roof only through its walls and windows, whose share of the area goes with s = 1/√A. Each
    figure for one m² is solved at the five Chebyshev nodes of s over the range, and interpolated
    by the polynomial through them. What is no number (dates, condensation) is that of the nearest
    node.

    References
    ----------
    Trefethen, Approximation Theory and Approximation Practice (2013), chapters 2 to 5: nodes, and
    the barycentric formula.
    """
    if low_m2 is None or high_m2 is None or not low_m2 < high_m2:
        return exact
    return partial(_interpolated, low_m2, high_m2)


def _interpolated(
    low_m2: float, high_m2: float, climate: Climate, building: Building, area_m2: float,
    assembly: Assembly, prices: Prices, terrain: str = "suburban",
) -> EnergyYear:  # fmt: skip
    solved = _solved(low_m2, high_m2, climate, building, assembly, terrain)
    weights = _weights(low_m2, high_m2, area_m2)
    plain, by_area = weights @ solved.plain, np.maximum(weights @ solved.by_area, 0.0) * area_m2
    names, months = (*_PLAIN, *_BY_AREA), by_area[len(_BY_AREA) :].reshape(-1, MONTHS)
    values = plain.tolist() + by_area[: len(_BY_AREA)].tolist()
    figures: dict[str, Any] = dict(zip(names, values, strict=True))
    figures["monthly"] = Monthly(*map(tuple, months.tolist()))
    return billed(replace(solved.years[int(np.abs(weights).argmax())], **figures), prices)


class _Solved(NamedTuple):
    """The years at the nodes, their figures that are plain, and by area the others and months."""

    years: list[EnergyYear]
    plain: Array
    by_area: Array


@lru_cache(maxsize=512)
def _solved(
    low_m2: float, high_m2: float, climate: Climate, building: Building, assembly: Assembly,
    terrain: str,
) -> _Solved:  # fmt: skip
    areas = node_areas(low_m2, high_m2)
    years = [exact(climate, building, area, assembly, Prices(), terrain) for area in areas.tolist()]
    plain = [[getattr(year, name) for name in _PLAIN] for year in years]
    by_area = [[getattr(year, name) for name in _BY_AREA] for year in years]
    for own, year in zip(by_area, years, strict=True):
        own += [kwh for field in fields(Monthly) for kwh in getattr(year.monthly, field.name)]
    return _Solved(years, np.array(plain), np.array(by_area) / areas[:, np.newaxis])


def node_areas(low_m2: float, high_m2: float) -> Array:
    """Return the areas whose 1/√A are the Chebyshev nodes of a range [m²].

    Examples
    --------
    >>> node_areas(1.0, 4.0).round(2).tolist()
    [1.02, 1.24, 1.78, 2.75, 3.81]
    """
    ends = 1 / np.sqrt([high_m2, low_m2])
    nodes = ends.mean() + np.ptp(ends) / 2 * np.cos(np.pi * (np.arange(NODES) + 0.5) / NODES)
    return np.asarray(1 / nodes**2)


@lru_cache(maxsize=512)
def _weights(low_m2: float, high_m2: float, area_m2: float) -> Array:
    """Return how much each node counts at an area: the Lagrange polynomials of 1/√A there."""
    nodes, point = 1 / np.sqrt(node_areas(low_m2, high_m2)), 1 / np.sqrt(area_m2)
    apart = nodes[:, np.newaxis] - nodes
    np.fill_diagonal(apart, 1.0)
    over = np.where(np.eye(NODES, dtype=bool), 1.0, point - nodes)
    return np.asarray(over.prod(axis=1) / apart.prod(axis=1))
