"""The dangers of work on roofs: each sentence once, with the work that calls for it.

They stand in `data/words/cautions.csv`, for comparisons, takeoffs, portfolios, page, paper and
files; `lcc.cautions` says which fit a case.
"""

from __future__ import annotations

from dataclasses import dataclass

from lcc import tables
from lcc.roof_work import RoofWork

CLIMB = "Before anyone climbs up"
STRUCTURE = "Structure"
FIRE = "Fire and code"
SURVEY = "What the survey leaves open"
FIGURES = "The figures"
GROUPS = (CLIMB, STRUCTURE, FIRE, SURVEY, FIGURES)

LEAST_SLOPE = 0.25 / 12


@dataclass(frozen=True)
class Caution:
    """A sentence, where it stands, the kind of work that calls for it ("": every work), an order.

    The order, `brief`, says in at most 56 letters what to do, where there is no room for more.
    `finding` is what a survey finds that puts a caution of every work first.
    """

    group: str
    text: str
    when: str = ""
    brief: str = ""
    finding: str = ""


DANGERS = tuple(Caution(**each) for each in tables.words("cautions"))
# What a board's paper has room for.
BRIEF = {one.text: one.brief for one in DANGERS}


def dangers(work: RoofWork) -> tuple[Caution, ...]:
    """Return the dangers that some work on a roof brings.

    Examples
    --------
    >>> [one.brief for one in dangers(RoofWork(ballast=True)) if one.when == "ballast"]
    ['Have an engineer check the roof for ballast.']
    """
    return tuple(one for one in DANGERS if not one.when or getattr(work, one.when))
