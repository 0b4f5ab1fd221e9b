"""Sums by campus and building, and which inputs decide the order of a ranking."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np
import pandas as pd

from lcc.case.fields import Quantity, Text, Whole
from lcc.portfolio.columns import by_attribute
from lcc.portfolio.owner_records import IDENTITY

# Below this many roofs a correlation says nothing.
FEWEST = 10
MOST_DRIVERS = 12

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class GroupTotal:
    """What the roofs of a campus or a building come to."""

    campus: Annotated[str, Text("Campus")]
    building_name: Annotated[str, Text("Building; empty for the whole campus")]
    roofs: Annotated[int, Whole("Roofs")]
    roof_area_m2: Annotated[float, Quantity("area", "Roof area")]
    base_life_cycle_cost: Annotated[float, Quantity("money", "Life-cycle cost of the base cases")]
    worthwhile: Annotated[int, Whole("Roofs with an alternative that saves")]
    first_cost: Annotated[float, Quantity("money", "First cost of the best alternatives that save")]
    net_savings: Annotated[float, Quantity("money", "Their net savings, present value")]


@dataclass(frozen=True)
class Driver:
    """How far the order of a ranking follows one input, from 0 (not at all) to 1 (alone).

    Of a number it is the rank correlation, negative where more of it saves less; of words the
    correlation ratio of the ranks.
    """

    column: Annotated[str, Text("Input")]
    net_savings_per_cost: Annotated[float, Quantity("ratio", "Of savings for each dollar")]
    net_savings: Annotated[float, Quantity("ratio", "Of savings in dollars")]


# fmt: on


def group_totals(results: pd.DataFrame, best: pd.DataFrame) -> tuple[GroupTotal, ...]:
    """Return the sums of each campus, and of each of its buildings with more than one roof.

    Parameters
    ----------
    results : DataFrame
        Columns of `lcc.portfolio.outcome.Outcome`.
    best : DataFrame
        Each building's best row, as of `lcc.portfolio.ranking.best_rows`.
    """
    roofs = results[results["problem"].isna()].drop_duplicates("building")
    named = roofs.assign(
        campus=roofs["campus"].fillna(""), building_name=roofs["building_name"].fillna("")
    )
    found = []
    for campus, group in named.groupby("campus", sort=True):
        if campus:
            found.append(_total(str(campus), "", group, best))
        for name, own in group.groupby("building_name", sort=True):
            if name and len(own) > 1:
                found.append(_total(str(campus), str(name), own, best))
    return tuple(found)


def _total(campus: str, name: str, roofs: pd.DataFrame, best: pd.DataFrame) -> GroupTotal:
    own = best[best["building"].isin(roofs["building"])]
    return GroupTotal(
        campus, name, len(roofs), float(roofs["roof_area_m2"].sum()),
        float(roofs["base_life_cycle_cost"].sum()), len(own), float(own["first_cost"].sum()),
        float(own["net_savings"].sum()),
    )  # fmt: skip


def drivers(frame: pd.DataFrame, best: pd.DataFrame) -> tuple[Driver, ...]:
    """Return which inputs the order of the best alternatives follows, the strongest first.

    Parameters
    ----------
    frame : DataFrame
        The buildings, as `lcc.portfolio.evaluate` took them.
    best : DataFrame
        One row a building of `Outcome`.

    Notes
    -----
    Spearman's rank correlation for numbers; for words η = √(Σ n (r̄ - r̿)² / Σ (r - r̿)²) of the
    ranks r over the groups of a word. Inputs that are the same for all roofs are left out.

    Examples
    --------
    >>> frame = pd.DataFrame({"roof_area_m2": np.arange(10.0), "use": ["a", "b"] * 5})
    >>> best = pd.DataFrame({"building": range(10), "net_savings": np.arange(10.0),
    ...                      "net_savings_per_cost": [1.0, 2.0] * 5})
    >>> [(one.column, round(one.net_savings_per_cost, 2)) for one in drivers(frame, best)]
    [('use', 1.0), ('roof_area', 0.17)]
    """
    if len(best) < FEWEST:
        return ()
    inputs = frame.loc[best["building"]]
    ranks = {name: best[name].rank().to_numpy(float) for name in _MEASURES}
    found = []
    for name, column in by_attribute().items():
        if name not in inputs or column.name in {"name", *IDENTITY}:
            continue
        values = inputs[name]
        if values.nunique(dropna=False) < 2:
            continue
        number = column.facts.type in ("quantity", "whole")
        link = _rank_correlation if number else _correlation_ratio
        found.append(Driver(column.name, *(link(values, ranks[name]) for name in _MEASURES)))
    found.sort(key=lambda one: -abs(one.net_savings_per_cost))
    return tuple(found[:MOST_DRIVERS])


_MEASURES = ("net_savings_per_cost", "net_savings")


def _rank_correlation(values: pd.Series, ranks: np.ndarray) -> float:
    known = values.notna().to_numpy()
    own = values[known].astype(float).rank().to_numpy()
    if known.sum() < FEWEST or np.ptp(own) == 0 or np.ptp(ranks[known]) == 0:
        return 0.0
    return float(np.corrcoef(own, ranks[known])[0, 1])


def _correlation_ratio(values: pd.Series, ranks: np.ndarray) -> float:
    spread = ranks - ranks.mean()
    whole = float(spread @ spread)
    groups = pd.Series(spread).groupby(values.fillna("").to_numpy()).agg(["sum", "count"])
    between = float((groups["sum"] ** 2 / groups["count"]).sum())
    return (between / whole) ** 0.5 if whole else 0.0
