"""Payback by one rule: the year after which an alternative is never again behind.

Page, paper, tables, ranking and random draws all take the year from here;
`payback_sentence` says it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from lcc.arrays import Array, Flags
from lcc.cost.verdict import nearness
from lcc.figures import in_years

# Money smaller than this part of the sum or change looked at is rounding of the arithmetic.
ROUNDING = 1e-9
SAME_EVERY_YEAR = "both cost the same in every year"
NOTHING_TO_PAY_BACK = f"{SAME_EVERY_YEAR}: nothing to pay back"


def never_pays_back(study_period: int) -> str:
    """Return the words for no payback within the study period of so many years."""
    return f"never pays back within the study period of {in_years(study_period)}"


def years_to_payback(saved_so_far: Array) -> Array:
    """Return the first year after which the saving so far is never again negative.

    Parameters
    ----------
    saved_so_far : ndarray, shape (..., n + 1)
        The base case's cost less the alternative's, summed from year 0 to each year [money].

    Returns
    -------
    ndarray, shape (...)
        0 where the alternative is never behind, infinite where it is behind at the end.

    Notes
    -----
    The end of the last year in which the sum is negative, and one year. A first crossing that a
    later cost undoes is therefore no payback.

    References
    ----------
    ASTM E1121, payback for investments in buildings, asks that later costs be looked at.

    Examples
    --------
    The first is ahead in year 1, but only from year 3 on for good.

    >>> years_to_payback(np.array([[-3, 1, -1, 1], [-3, -2, -1, -1], [0, 1, 2, 2]])).tolist()
    [3.0, inf, 0.0]
    """
    return _never_again(is_behind(saved_so_far))


def _never_again(behind: Flags) -> Array:
    """Return the first year after which nothing is behind, infinite where the last one is."""
    count = behind.shape[-1]
    last = count - np.where(behind.any(axis=-1), behind[..., ::-1].argmax(axis=-1), count)
    return np.where(behind[..., -1], np.inf, last)


def is_behind(saved_so_far: Array) -> Flags:
    """Tell in which years the alternative has cost more in all, rounding left out."""
    most = np.abs(saved_so_far).max(axis=-1, keepdims=True)
    return np.asarray(saved_so_far < -ROUNDING * most)


@dataclass(frozen=True)
class Course:
    """How an alternative's cost so far runs beside the base case's, year by year.

    `count` is the number of years with year 0. `year` is the payback, None where there is none;
    `clear_from` the year from which it is ahead by more than 2 % to the end; `level` the last
    years in a row in which both are level.
    """

    count: int
    year: int | None
    clear_from: int | None
    level: tuple[int, int] | None
    level_years: tuple[int, ...]
    ahead_years: tuple[int, ...]
    same: bool


def course(base_so_far: ArrayLike, own_so_far: ArrayLike) -> Course:
    """Return how the costs so far of an alternative run beside those of the base case.

    Parameters
    ----------
    base_so_far, own_so_far : array_like, shape (n + 1,)
        Present value spent from year 0 to each year [money].

    Examples
    --------
    >>> course([0, 100, 100, 100, 200], [90, 99, 100, 101, 120]).year
    4
    >>> course([0, 100, 100, 100, 200], [90, 99, 100, 101, 120]).level
    (1, 3)
    """
    base, own = np.asarray(base_so_far, float), np.asarray(own_so_far, float)
    saved = base - own
    behind, level = is_behind(saved), np.abs(saved) <= nearness(base[-1], own[-1])
    found = float(_never_again(behind))
    not_clear = np.flatnonzero(behind | level)
    clear = int(not_clear[-1]) + 1 if not_clear.size else 0
    moved = abs(saved[0]) + np.abs(saved[1:] - saved[:-1]).sum()
    return Course(
        len(saved),
        int(found) if np.isfinite(found) else None,
        clear if clear < len(saved) else None,
        _last_stretch(level),
        tuple(np.flatnonzero(level).tolist()),
        tuple(np.flatnonzero(~behind & ~level).tolist()),
        bool(moved <= ROUNDING * np.abs(base).max(initial=0.0)),
    )


def _last_stretch(level: Flags) -> tuple[int, int] | None:
    years = np.flatnonzero(level)
    if not years.size:
        return None
    breaks = np.flatnonzero(np.diff(years) > 1)
    first = years[breaks[-1] + 1] if breaks.size else years[0]
    return int(first), int(years[-1])
