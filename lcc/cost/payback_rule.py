"""Payback by one rule: the year after which an alternative is never again behind.

Page, paper, tables, ranking and random draws all take the year from here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lcc.cost.work import CAPITAL
from lcc.figures import chance, in_years
from lcc.results import AlternativeResult, Chances, Payback

Array = NDArray[np.float64]
# Money smaller than this part of the flows' sum is rounding of the arithmetic.
ROUNDING = 1e-9
# Costs that differ by no more than this part of the larger life-cycle cost are called level.
LEVEL = 0.02
# Where more of the draws than this never pay back, no year is called likely.
MOST = 0.5
NOTHING = "both cost the same in every year: nothing to pay back"


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
    behind = is_behind(saved_so_far)
    count = behind.shape[-1]
    last = count - np.where(behind.any(axis=-1), behind[..., ::-1].argmax(axis=-1), count)
    return np.where(behind[..., -1], np.inf, last)


def is_behind(saved_so_far: Array) -> NDArray[np.bool_]:
    """Tell in which years the alternative has cost more in all, rounding left out."""
    most = np.abs(saved_so_far).max(axis=-1, keepdims=True)
    return np.asarray(saved_so_far < -ROUNDING * most)


def is_level(base: Array, own: Array) -> NDArray[np.bool_]:
    """Tell in which years two costs so far differ by no more than 2 % of the larger total.

    Parameters
    ----------
    base, own : ndarray, shape (n + 1,)
        Present value spent from year 0 to each year; the last are the life-cycle costs [money].

    Examples
    --------
    >>> is_level(np.array([60.0, 98.0, 100.0]), np.array([58.0, 99.0, 97.0])).tolist()
    [True, True, False]
    """
    total = max(abs(float(base[-1])), abs(float(own[-1])))
    return np.asarray(np.abs(base - own) <= LEVEL * total)


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


def course(base_so_far: Sequence[float], own_so_far: Sequence[float]) -> Course:
    """Return how the costs so far of an alternative run beside those of the base case.

    Parameters
    ----------
    base_so_far, own_so_far : sequence of float
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
    found = float(years_to_payback(saved))
    level = is_level(base, own)
    not_clear = np.flatnonzero(is_behind(saved) | level)
    clear = int(not_clear[-1]) + 1 if not_clear.size else 0
    behind = is_behind(saved)
    moved = np.abs(np.diff(saved, prepend=0.0)).sum()
    return Course(
        len(saved),
        int(found) if np.isfinite(found) else None,
        clear if clear < len(saved) else None,
        _last_stretch(level),
        tuple(np.flatnonzero(level).tolist()),
        tuple(np.flatnonzero(~behind & ~level).tolist()),
        bool(moved <= ROUNDING * np.abs(base).max(initial=0.0)),
    )


def _last_stretch(level: NDArray[np.bool_]) -> tuple[int, int] | None:
    years = np.flatnonzero(level)
    if not years.size:
        return None
    breaks = np.flatnonzero(np.diff(years) > 1)
    first = years[breaks[-1] + 1] if breaks.size else years[0]
    return int(first), int(years[-1])


def payback_against(base: AlternativeResult, own: AlternativeResult) -> Payback:
    """Return when an alternative has made up for what it cost more, and say it.

    Parameters
    ----------
    base, own : AlternativeResult
        With the present value spent so far by year, and the draws where there are any.
    """
    run = course(base.cumulative_present_value, own.cumulative_present_value)
    draws = own.spread.against_base if own.spread else None
    reason = why_none(run, len(own.cumulative_present_value) - 1)
    drawn = None if run.same else draws
    low, high, likely = likely_years(drawn)
    return Payback(
        year=None if reason else run.year,
        reason=reason,
        clear_from=None if reason else run.clear_from,
        level_from=run.level[0] if run.level else None,
        level_to=run.level[1] if run.level else None,
        level_years=run.level_years,
        likely_low=low,
        likely_high=high,
        likely=likely,
        chance=draws.costs_less if draws else None,
        sentence=f"{_point(base, run, reason)}{_joined(low, high, drawn, reason)}.",
    )


def why_none(run: Course, years: int) -> str | None:
    """Return why there is no payback, None where there is one.

    Examples
    --------
    >>> why_none(course([0, 9, 9], [5, 8, 12]), 2)
    'ahead in year 1 only: a later cost leaves it behind at the end of year 2'
    """
    if run.same:
        return NOTHING
    if run.year is not None:
        return None
    if not run.ahead_years:
        return f"never pays back within the study period of {in_years(years)}"
    first, last = run.ahead_years[0], run.ahead_years[-1]
    spell = f"in year {first}" if first == last else f"at times between years {first} and {last}"
    return f"ahead {spell} only: a later cost leaves it behind at the end of year {years}"


def _year(value: float | None) -> int | None:
    return None if value is None else int(value)


def _point(base: AlternativeResult, run: Course, reason: str | None) -> str:
    """Say how the costs so far run, without the draws."""
    if reason:
        return reason[0].upper() + reason[1:]
    if run.level is None or run.level[1] + 1 != (run.clear_from or run.count):
        ahead = _ahead(run)
        return ahead[0].upper() + ahead[1:]
    first, last = run.level
    if run.year is not None and 0 < run.year < first:
        return f"Ahead for good from year {run.year}, about level again {_spell(first, last)}" + (
            f"; clearly ahead from year {run.clear_from}" if run.clear_from else " to the end"
        )
    since = f"from year {first}{_with_work(base, first)} to year {last}" if first else None
    return f"About level {since if since and first < last else _spell(first, last)}; {_ahead(run)}"


def _spell(first: int, last: int) -> str:
    """Return a spell of years in words.

    Examples
    --------
    >>> _spell(0, 4), _spell(3, 3), _spell(3, 5)
    ('until year 4', 'in year 3', 'from year 3 to year 5')
    """
    if first == 0:
        return f"until year {last}"
    return f"in year {first}" if first == last else f"from year {first} to year {last}"


def _ahead(run: Course) -> str:
    if run.clear_from is None:
        since = f"from year {run.year}" if run.year else "at all times"
        return f"ahead {since}, but by less than 2% at the end"
    if run.clear_from == 0:
        return "ahead from the first day on"
    clear = f"clearly ahead from year {run.clear_from}"
    if run.year in (0, run.clear_from):
        return clear if run.year else f"never behind and {clear}"
    return f"ahead for good from year {run.year}, {clear}"


def _with_work(base: AlternativeResult, year: int) -> str:
    """Say that work of the base case makes both level, where it falls in that year."""
    due = any(event.year == year and event.category in CAPITAL for event in base.events)
    return f" (when “{base.name}” has its work)" if due else ""


def likely_years(draws: Chances | None) -> tuple[int | None, int | None, str]:
    """Return the years between which eight draws of ten pay back, and the same in words.

    Notes
    -----
    Where most draws never pay back there is no likely year: the first tenth of them would be
    the luckiest. Where more than one in ten never does, the last year is open, and it is said.
    """
    if draws is None:
        return None, None, ""
    low, high = _year(draws.payback_p10.value), _year(draws.payback_p90.value)
    never = 1 - draws.costs_less
    if low is None or never > MOST:
        return None, None, f"no likely year: {of_hundred(never)} random runs never pay back"
    if high is None:
        return low, None, f"likely: year {low} or later, in {of_hundred(never)} random runs never"
    if low == high:
        return low, high, f"likely: year {low}"
    return low, high, f"likely: year {low} to {high}"


def of_hundred(share: float) -> str:
    """Return a part of random draws as runs of a hundred, never rounded to none or all.

    Examples
    --------
    >>> of_hundred(0.81), of_hundred(0.999), of_hundred(0.002), of_hundred(1.0)
    ('81 of 100', 'more than 99 of 100', 'less than 1 of 100', '100 of 100')
    """
    return f"{chance(share).removesuffix('%')} of 100"


def _joined(low: int | None, high: int | None, draws: Chances | None, reason: str | None) -> str:
    """Return the likely years as the end of a sentence, not as if it never paid back in them."""
    if draws is None:
        return ""
    never = of_hundred(1 - draws.costs_less)
    if low is None:
        return f"; {'no likely year:' if reason else 'but'} {never} random runs never pay back"
    start = "in random runs: year" if reason else "likely in year"
    if high is None:
        rest = f"in {never} never" if reason else f"in {never} random runs it never pays back"
        return f"; {start} {low} or later, {rest}"
    if low == high:
        return f"; {start} {low}"
    return f"; {start} {low} to {high}" if reason else f"; likely between years {low} and {high}"
