"""What a rank rests on: how far exact heat may move it, and how many defaults the roof takes."""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from lcc.cost.costed import Costed
from lcc.cost.quotations import ENTERED_PRICE
from lcc.cost.verdict import nearness
from lcc.portfolio.exact_heat import ERROR

# So many inputs left to defaults, of those that other roofs state, make a rank doubtful.
MANY = 3
INTERPOLATED, SOLVED = "interpolated", "solved"
TOO_CLOSE = "too close to call"
# Said of a price where nobody has stated what it includes.
UNSAID = "does not say what it includes"
TAKEN = (
    "taken for laying alone, and tear-off, insulation and other work are added at usual prices. "
    "If it holds that work, the roof costs less"
)


def unsaid_prices(found: Costed) -> Iterator[str]:
    """Yield each price entered that does not say what it includes, and what it is taken for."""
    for choice, result in zip(found.stated.choices, found.alternatives, strict=True):
        entered = any(bid.bidder == ENTERED_PRICE for bid in result.quotations)
        if entered and not choice.states("price_includes"):
            yield f"The price of “{result.name}” {UNSAID}. It is {TAKEN} than counted here."


def too_close(rows: pd.DataFrame) -> pd.Series:
    """Return for each row whether it and its base case cost the same, by the rule of one case."""
    near = nearness(rows["base_life_cycle_cost"], rows["life_cycle_cost"])
    return rows["net_savings"].abs() <= near


def own_defaults(results: pd.DataFrame) -> pd.Series:
    """Return for each row what was assumed of it, and what it leaves to defaults unlike others.

    What all roofs leave to the same defaults is no part of it.

    Examples
    --------
    >>> rows = pd.DataFrame({"assumed": [None, "age"], "defaults": ["use; panel", "panel"],
    ...                      "problem": None})
    >>> own_defaults(rows).tolist()
    ['use', 'age']
    """
    every = [_listed(one) for one in results["defaults"]]
    known = [set(own) for own, fine in zip(every, results["problem"].isna(), strict=True) if fine]
    shared = set.intersection(*known) if known else set()
    told = [
        "; ".join([*_listed(assumed), *(name for name in own if name not in shared)])
        for assumed, own in zip(results["assumed"], every, strict=True)
    ]
    return pd.Series(told, index=results.index, dtype=object)


def _listed(names: object) -> list[str]:
    return [one for one in names.split("; ") if one] if isinstance(names, str) else []


def rank_notes(ranked: pd.DataFrame, column: str) -> list[str | None]:
    """Return what each rank rests on, None where there is nothing to say.

    Parameters
    ----------
    ranked : DataFrame
        Results in order, with their `rank`.
    column : str
        The measure they are ranked by.

    Notes
    -----
    Interpolated heat moves net savings by less than `exact_heat.ERROR` of the first work. So a roof
    stands behind all that save more for certain, and before all that save less for certain.
    Exact heat gives it a rank between the two. The note says so where roofs are ranked by
    savings, or by savings for each dollar.
    """
    counts = [len(_listed(names)) for names in own_defaults(ranked)]
    close = too_close(ranked)
    ranges = dict(_ranges(ranked, column))
    return [
        "; ".join([TOO_CLOSE] * level + list(_words(ranges.get(row), count))) or None
        if has
        else None
        for row, (count, level, has) in enumerate(
            zip(counts, close, ranked["rank"].notna(), strict=True)
        )
    ]


def _words(range_: tuple[int, int] | None, defaults: int) -> Iterator[str]:
    if range_:
        yield f"{range_[0]} to {range_[1]} by exact heat"
    if defaults >= MANY:
        yield f"rests on {defaults} defaults"


def _ranges(ranked: pd.DataFrame, column: str) -> Iterator[tuple[int, tuple[int, int]]]:
    """Yield the first and last rank that exact heat can give a row, where they differ."""
    places = np.flatnonzero((ranked["rank"].notna() & ranked[column].notna()).to_numpy())
    if column not in ("net_savings_per_cost", "net_savings") or not places.size:
        return
    rows = ranked.iloc[places]
    work = rows[["first_cost", "base_work_cost"]].max(axis=1).fillna(0.0)
    error = ERROR * work.where(rows["heat"] == INTERPOLATED, 0.0)
    if column == "net_savings_per_cost":
        error /= rows["first_cost"].where(rows["first_cost"] > 0, np.inf)
    low, high = (np.asarray(rows[column] + sign * error, float) for sign in (-1, 1))
    start = int(rows["rank"].iloc[0])
    first = start + len(rows) - np.searchsorted(np.sort(low), high, side="right")
    last = start - 1 + len(rows) - np.searchsorted(np.sort(high), low, side="left")
    for place, one, other in zip(places, first.tolist(), last.tolist(), strict=True):
        if one < other:
            yield int(place), (one, other)
