"""What waiting costs: an alternative begun in each of the next years, the base case as it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lcc.case import Case, Coating
from lcc.portfolio.outcome import first_work
from lcc.portfolio.single import compared
from lcc.results import Comparison


def delayed(case: Case, years: int) -> Iterator[Comparison]:
    """Yield comparisons in which the alternatives begin in year 0, 1, 2, ...

    Parameters
    ----------
    case : Case
        A building's case.
    years : int
        How many years to look at; none is later than the base case's next replacement, for a
        roof that fails cannot wait.

    Yields
    ------
    Comparison
        The base case as it is and the alternatives of that year, without measures: net savings
        are the difference of the life-cycle costs. A coating keeps the covering that is there,
        so it is laid in year 0 or not at all.

    Notes
    -----
    An alternative that begins in year t is one that begins at the end of a remaining life of t
    years, with today's roof, its repairs and its energy until then.
    """
    base, *_ = compared(case).alternatives
    fails, _ = first_work(base)
    last = years - 1 if fails is None else min(years - 1, fails)
    for year in range(last + 1):
        begun = _begun_in(case, year)
        if begun is not None:
            answer = compared(begun)
            others = (replace(other, measures=None) for other in answer.alternatives[1:])
            yield replace(answer, alternatives=(base, *others))


def _begun_in(case: Case, year: int) -> Case | None:
    alternatives = tuple(
        choice if isinstance(choice, Coating) else replace(choice, start="end-of-life")
        for choice in case.alternatives
        if year == 0 or not isinstance(choice, Coating)
    )
    roof = replace(case.roof, remaining_life_y=float(year))
    return replace(case, roof=roof, alternatives=alternatives) if alternatives else None
