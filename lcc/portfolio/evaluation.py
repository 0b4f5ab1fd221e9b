"""A frame of buildings in, frames of results out, on one core or many."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator, MutableMapping
from concurrent.futures import Executor, Future
from dataclasses import replace
from functools import partial
from itertools import groupby
from operator import attrgetter
from typing import Any

import numpy as np
import pandas as pd

from lcc.case import Case, Membrane
from lcc.comparison import warned
from lcc.cost.quotations import unsaid
from lcc.errors import CaseError
from lcc.portfolio.columns import by_attribute
from lcc.portfolio.heat_by_area import AREA, HIGH, LOW, energy_of, exact, with_ranges
from lcc.portfolio.outcome import (
    Arrays,
    Outcome,
    as_arrays,
    as_frame,
    failed,
    framed,
    outcome_class,
    outcomes,
)
from lcc.portfolio.owner_records import without_refused_coatings
from lcc.portfolio.rank_notes import INTERPOLATED, SOLVED, unsaid_prices
from lcc.portfolio.rows import case_of, check_columns, defaults_used, template
from lcc.portfolio.ways_by_year import a_year_later, costed_surely, waiting_a_year, ways, with_ways

Work = Callable[[pd.DataFrame], list[Outcome]]
Done = MutableMapping[int, list[Outcome]]
PARTITION_ROWS = 100
TOGETHER = 4
# Partitions handed out before the first of them is back: enough to keep the workers busy.
AHEAD = 16


def evaluate(
    frame: pd.DataFrame,
    base: Case | None = None,
    *,
    executor: Executor | None = None,
    partition_rows: int = PARTITION_ROWS,
    start_years: int = 0,
    done: Done | None = None,
    by_area: bool = False,
    keep_ways: bool = False,
) -> Iterator[pd.DataFrame]:
    """Compare the alternatives of every building, yielding results in row order.

    Parameters
    ----------
    frame : DataFrame
        Buildings: the columns of `lcc.portfolio.columns` by attribute, in the core's units,
        missing values where the template holds. The index numbers the buildings.
    base : Case, optional
        What a row does not say; `lcc.portfolio.rows.template` if not given.
    executor : Executor, optional
        Any executor of `concurrent.futures` or its like; without one the work is done here.
    partition_rows : int
        Buildings handed to a worker at a time; more where their heat is interpolated together.
    start_years : int
        0 for alternatives that begin as the template says; n for one row for each way to treat
        a roof in a plan over the years 0 to n - 1, for `multi_year_plan`.
    done : mutable mapping, optional
        Results by number of partition. What it holds is taken from it, the rest is put into it
        as it comes, so that a mapping that outlives a run lets the next go on from there; only
        with the same frame, base and options.
    by_area : bool
        Whether the heat of many buildings that differ in area alone is interpolated over their
        areas (`lcc.portfolio.heat_by_area`) rather than solved for each, but for a building
        whose best choice is near a tie (`lcc.portfolio.exact_heat`).
    keep_ways : bool
        Whether what is put into `done` keeps every way of doing each alternative, with its costs
        by year, for `lcc.portfolio.new_terms`.

    Yields
    ------
    DataFrame
        Columns of `lcc.portfolio.outcome.Outcome`, or with `start_years` of `Begun`, one row for
        each building and alternative; a building that the core refuses has one row that says
        why. One frame comes for each partition, empty where an earlier row is still awaited;
        ``attrs["done"]`` counts the buildings computed so far.

    Raises
    ------
    CaseError
        For a column that is unknown, missing, or of no use with the base case.

    Notes
    -----
    Buildings that are one heat problem are computed one after the other by one worker, which
    remembers its heat, in the order in which the problems first appear; so results become
    complete from the first row on. Each figure equals that of a single
    `lcc.comparison.compare` to the bit unless interpolated, whatever the executor and partition.
    """
    base = base or template()
    check_columns(frame)
    _check_base_case(frame, base)
    marked = frame.assign(defaults=defaults_used(frame))
    if by_area and len(frame):
        marked = with_ranges(marked, heat_columns(frame))
    else:
        marked = marked.assign(**{LOW: None, HIGH: None})
    positions = partitions(frame, partition_rows, whole=by_area)
    parts = (marked.iloc[rows] for rows in positions)
    work = partial(evaluate_partition, base=base, start_years=start_years, keep_ways=keep_ways)
    results = _each(executor, parts, work, done)
    return in_row_order(results, frame.index, outcome_class(start_years))


def _check_base_case(frame: pd.DataFrame, base: Case) -> None:
    for name, column in by_attribute().items():
        own = column.path[:1] == ("base_case",) and name in frame
        if own and not isinstance(base.base_case, Membrane):
            raise CaseError(name, "a column", "no such column when the base case is no membrane")


def partitions(frame: pd.DataFrame, rows: int, *, whole: bool = False) -> list[list[int]]:
    """Return positions of rows in lists of at most `rows`, one heat problem after the other.

    With `whole`, rows that differ in area alone stay together, up to `TOGETHER` times as many,
    so that one worker alone solves what is interpolated between.

    Examples
    --------
    >>> frame = pd.DataFrame({"climate": ["a", "b", "a", "b"], "name": list("wxyz")})
    >>> partitions(frame, 3), partitions(frame, 3, whole=True)
    ([[0, 2, 1], [3]], [[0, 2], [1, 3]])
    """
    heat, every = heat_columns(frame), np.arange(len(frame))
    if not heat or not len(frame):
        return _cut([every.tolist()], rows, 1)
    others = [name for name in heat if name != AREA]
    same = frame.groupby(heat, dropna=False, sort=False).ngroup().to_numpy()
    alike = frame.groupby(others, dropna=False, sort=False).ngroup().to_numpy() if others else same
    order = np.lexsort((same, alike))
    if not whole:
        return _cut([order.tolist()], rows, 1)
    ends = np.flatnonzero(np.diff(alike[order])) + 1
    return _cut([group.tolist() for group in np.split(order, ends)], rows, TOGETHER)


def _cut(groups: list[list[int]], rows: int, most: int) -> list[list[int]]:
    """Return lists of about `rows`, groups of up to `most` times as many whole."""
    parts: list[list[int]] = [[]]
    for group in groups:
        if len(group) > most * rows:
            parts += [group[start : start + rows] for start in range(0, len(group), rows)] + [[]]
        elif parts[-1] and len(parts[-1]) + len(group) > rows:
            parts.append(group)
        else:
            parts[-1] = parts[-1] + group
    return [part for part in parts if part]


def heat_columns(frame: pd.DataFrame) -> list[str]:
    """Return the columns of a frame that make a heat problem."""
    known = by_attribute()
    return [name for name in frame.columns if name in known and known[name].touches_heat]


def evaluate_partition(
    part: pd.DataFrame, base: Case, start_years: int = 0, keep_ways: bool = False
) -> list[Outcome]:
    """Return the results of one partition's buildings, in its order."""
    plain = part.astype(object).where(part.notna(), None)
    rows: list[Outcome] = []
    for building, row in zip(part.index, plain.to_dict("records"), strict=True):
        rows += _compared(int(building), row, base, start_years, keep_ways)
    return rows


def _compared(
    building: int, row: dict[Any, Any], base: Case, start_years: int, keep_ways: bool
) -> list[Outcome]:
    try:
        case, left_out = without_refused_coatings(case_of(row, base))
        row = {**row, "left_out": left_out}
        energy = energy_of(row[LOW], row[HIGH])
        if start_years:
            return list(ways(building, case, row, start_years, energy, keep_ways))
        plain, energy = costed_surely(case, energy, reprice=True)
        later = a_year_later(case, plain, energy)
        waiting = waiting_a_year(case, plain, later, row)
        more = {"cautions": (*warned(plain), *unsaid_prices(plain)), **waiting}
        more["heat"] = SOLVED if energy is exact else INTERPOLATED
        found = outcomes(building, case, plain.alternatives, row, **more)
        if whole := unsaid(plain):
            then, best = plain.costs_with(whole), plain.best - 1
            found[best] = replace(found[best], net_savings_all_held=then[0] - then[1])
        return with_ways(found, case, row, plain, later) if keep_ways else found
    except CaseError as error:
        return [failed(building, str(row["name"]), error, start_years)]


def _each(
    executor: Executor | None, parts: Iterable[pd.DataFrame], work: Work, done: Done | None
) -> Iterator[list[Outcome]]:
    """Yield the partitions' results in order, with only a few partitions under way."""
    under_way: deque[Future[list[Outcome]]] = deque()
    numbers: deque[int] = deque()
    try:
        for number, part in enumerate(parts):
            numbers.append(number)
            under_way.append(_begun(executor, work, part, number, done))
            if executor is None or len(under_way) >= AHEAD:
                yield _ended(under_way.popleft(), numbers.popleft(), done)
        while under_way:
            yield _ended(under_way.popleft(), numbers.popleft(), done)
    finally:
        for future in under_way:
            future.cancel()


def _begun(
    executor: Executor | None, work: Work, part: pd.DataFrame, number: int, done: Done | None
) -> Future[list[Outcome]]:
    if executor is not None and (done is None or number not in done):
        return executor.submit(work, part)
    here: Future[list[Outcome]] = Future()
    here.set_result(done[number] if done is not None and number in done else work(part))
    return here


def _ended(future: Future[list[Outcome]], number: int, done: Done | None) -> list[Outcome]:
    result = future.result()
    if done is not None and number not in done:
        done[number] = result
    return result


def in_row_order(
    results: Iterable[list[Outcome]], buildings: Iterable[Any], cls: type[Outcome] = Outcome
) -> Iterator[pd.DataFrame]:
    """Yield results in the order of `buildings`, each as soon as all before it are there."""
    waiting: dict[int, Arrays] = {}  # a tenth of the outcomes themselves
    texts: dict[Any, Any] = {}
    expected = iter(buildings)
    nearest = next(expected, None)
    done = 0
    for result in results:
        for building, rows in groupby(result, attrgetter("building")):
            waiting[building] = as_arrays(list(rows), cls, texts)
            done += 1
        ready: list[Arrays] = []
        while nearest in waiting:
            ready.append(waiting.pop(nearest))
            nearest = next(expected, None)
        frame = framed(ready, cls) if ready else as_frame([], cls)
        frame.attrs["done"] = done
        yield frame
