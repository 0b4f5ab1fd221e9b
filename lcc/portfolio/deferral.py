"""What waiting costs: an alternative begun in each of the next years, the base case as it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from lcc.case import Case, Coating
from lcc.compare import compare
from lcc.heat.energy import energy_year
from lcc.portfolio.outcome import first_work
from lcc.results import AlternativeResult, Comparison

_energy = partial(energy_year, sized=False)


def compared(case: Case) -> Comparison:
    """Return the comparison of one building: figures of `lcc.compare.compare`, to the bit.

    Parameters
    ----------
    case : Case
        A building's case.

    Returns
    -------
    Comparison
        Without break-evens, swings and draws, and with no cooling plant sized.
    """
    return compare(case, _energy, explore=False)


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
        so it begins when the case itself says, and is among those of year 0.

    Notes
    -----
    An alternative that begins in year t is one that begins at the end of a remaining life of t
    years, with today's roof, its repairs and its energy until then.
    """
    plain = compared(case)
    base, *own = plain.alternatives
    fails, _ = first_work(base)
    last = years - 1 if fails is None else min(years - 1, fails)
    pairs = list(zip(own, case.alternatives, strict=True))
    coated = [one for one, choice in pairs if isinstance(choice, Coating)]
    names = [one.name for one, choice in pairs if not isinstance(choice, Coating)]
    for year in range(last + 1):
        begun = zip(_begun_in(case, year), names, strict=True)
        chosen = [replace(one, name=name) for one, name in begun]
        chosen += coated if year == 0 else []
        if chosen:
            unmeasured = (replace(one, measures=None) for one in chosen)
            yield replace(plain, alternatives=(base, *unmeasured))


def _begun_in(case: Case, year: int) -> tuple[AlternativeResult, ...]:
    """Return the alternatives but coatings, begun when the roof ends in a year."""
    alternatives = tuple(
        replace(choice, start="end-of-life")
        for choice in case.alternatives
        if not isinstance(choice, Coating)
    )
    if not alternatives:
        return ()
    roof = replace(case.roof, remaining_life_y=float(year))
    return compared(replace(case, roof=roof, alternatives=alternatives)).alternatives[1:]
