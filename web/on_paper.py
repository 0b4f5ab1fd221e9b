"""What of an answer goes on paper: short names, the best few alternatives, repeated work once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

from web import charts, first_screen, measures_table
from web.answer import Answer, verdict
from web.assumptions_table import Rests, rests, within
from web.charts import Reply
from web.charts.jobs import ChartJob, jobs
from web.energy_table import energy_table

LETTERS = 40  # of a name in tables, charts and sentences; the whole name stands once
MOST = 4  # alternatives beside the base case
WORKS = 28  # lines of the programme
YEARS = 5  # of one line of the programme, told one by one
FIRST, LAST = 40, 20  # cautions told where there are more: dangers lead, the rest ends
# A caution of one alternative, in the core's words after its name.
_OF_ONE = r"{}(: a solar reflectance of | needs [\d.,]+% more )"


@dataclass(frozen=True)
class PaperWork:
    """The same job in one year or several; without years what is not told one by one."""

    years: tuple[int, ...]
    what: str
    why: str
    cost: float

    @property
    def when(self) -> str:
        """The years as text, many of them by the first few and the last."""
        if len(self.years) <= YEARS:
            return ", ".join(map(str, self.years))
        first = ", ".join(map(str, self.years[:3]))
        return f"{first} … {self.years[-1]} ({len(self.years)} times)"


@dataclass(frozen=True)
class Sheet:
    """A proposal's content: the answer with what is printed, and what is told about the rest."""

    answer: Answer
    names: tuple[tuple[str, str], ...]
    programme: tuple[tuple[str, tuple[PaperWork, ...]], ...]
    cautions: tuple[str, ...]
    more: str
    rests: tuple[Rests, ...] = ()
    unprinted: int = 0

    @property
    def headed(self) -> tuple[tuple[str, tuple[Rests, ...]], ...]:
        """The assumptions of each heading together."""
        found = groupby(self.rests, key=lambda one: one.heading)
        return tuple((heading, tuple(group)) for heading, group in found)


def sheet(answered: Answer, room: int) -> Sheet:
    """Return what is printed of an answer.

    Parameters
    ----------
    answered : Answer
        The whole answer.
    room : int
        The most that the pages hold, as `size` counts; of the assumptions, entered ones first,
        only those are printed that fit.
    """
    whole = answered.reply
    names = [one["name"] for one in whole["alternatives"]]
    short = dict(zip(names, short_names(names), strict=True))
    places = printed(whole)
    reply = _of_places(renamed(whole, {k: v for k, v in short.items() if k != v}), places)
    others = [short[names[place]] for place in _others(names, places)]
    whole_sheet = Sheet(
        _answer(answered, reply, short),
        tuple((_label(place), names[place]) for place in places),
        programme(reply),
        tuple(_some(_fitting(reply["cautions"], others))),
        _more(len(names) - 1, len(places) - 1),
    )
    figures, left_out = within(rests(reply), room - size(whole_sheet))
    return replace(whole_sheet, rests=figures, unprinted=left_out)


def _answer(answered: Answer, reply: Reply, short: Mapping[str, str]) -> Answer:
    return replace(
        answered,
        reply=reply,
        figures=charts.figures(reply),
        keys=first_screen.key_figures(reply),
        lines=measures_table.lines(reply),
        energy=energy_table(reply),
        u_values=measures_table.u_values(
            reply, measures_table.u_of_today(answered.case, reply["units"])
        ),
        verdict=verdict(reply),
        drawn=tuple(replace(one, title=short.get(one.title, one.title)) for one in answered.drawn),
    )


def short_names(names: Sequence[str]) -> tuple[str, ...]:
    """Return names that fit a table, the long ones cut, each there only once.

    Examples
    --------
    >>> short_names(["New roof", 50 * "x"])[1]
    'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx…'
    >>> [name[-5:] for name in short_names([60 * "x", 70 * "x"])]
    ['xxxx…', '… (2)']
    """
    found: list[str] = []
    for name in names:
        fits = len(name) <= LETTERS
        cut = name if fits else name[: LETTERS - 1].rstrip() + "…"
        numbered = (f"{name[: LETTERS - 6].rstrip()}… ({n})" for n in range(2, 1000))
        found.append(next(one for one in (cut, *numbered) if fits or one not in (*found, *names)))
    return tuple(found)


def renamed(value: Any, names: Mapping[str, str]) -> Any:
    """Return a reply with names replaced in all its texts, the longest first."""
    if not names:
        return value
    if isinstance(value, str):
        for name in sorted(names, key=len, reverse=True):
            value = value.replace(name, names[name])
        return value
    if isinstance(value, Mapping):
        return {key: renamed(one, names) for key, one in value.items()}
    return [renamed(one, names) for one in value] if isinstance(value, list | tuple) else value


def printed(reply: Reply) -> tuple[int, ...]:
    """Return which alternatives are printed: the base case, the best few, the retrofit drawn."""
    costs = [one["life_cycle_cost"] for one in reply["alternatives"]]
    best = sorted(range(1, len(costs)), key=costs.__getitem__)[:MOST]
    drawn = measures_table.retrofit_shown(reply)
    if drawn is not None and drawn + 1 not in best:
        best[-1] = drawn + 1
    return (0, *sorted(best))


def _of_places(reply: Reply, places: Sequence[int]) -> Reply:
    """A reply with some of its alternatives and what those rest on."""
    others = [f"alternatives.{p - 1}." for p in _others(reply["alternatives"], places)]
    kept = [one for one in reply["assumptions"] if not one["field"].startswith(tuple(others))]
    alternatives = [reply["alternatives"][place] for place in places]
    return {**reply, "alternatives": alternatives, "assumptions": kept}


def _others(all_of_them: Sequence[Any], places: Sequence[int]) -> list[int]:
    return [place for place in range(len(all_of_them)) if place not in places]


def _label(place: int) -> str:
    return f"Alternative {place}" if place else "Base case"


def _more(compared: int, told: int) -> str:
    if compared == told:
        return ""
    return (
        f"{compared} alternatives were compared; the {told} printed are those with the most net "
        "savings and the best metal retrofit. The page and the case file hold them all."
    )


def programme(reply: Reply) -> tuple[tuple[str, tuple[PaperWork, ...]], ...]:
    """Return the work on each alternative, on no more lines than a page has room for."""
    most = WORKS // len(reply["alternatives"])
    return tuple(
        (one["name"], tuple(_first(repeated(jobs(one)), most))) for one in reply["alternatives"]
    )


def repeated(done: Iterable[ChartJob]) -> list[PaperWork]:
    """Return jobs with those that repeat at the same cost on one line, by first year.

    Examples
    --------
    >>> service = [ChartJob(year, ("Sealant serviced",), "due", 9600.0) for year in (15, 30)]
    >>> [(work.years, work.what) for work in repeated(service)]
    [((15, 30), 'Sealant serviced')]
    """
    years: dict[tuple[str, str, float], list[int]] = {}
    for job in done:
        years.setdefault((job.what, job.why, job.cost), []).append(job.year)
    return [PaperWork(tuple(when), *key) for key, when in years.items()]


def _first(works: Sequence[PaperWork], most: int) -> Iterator[PaperWork]:
    """The first lines, and what all further work comes to on the last."""
    yield from works if len(works) <= most else works[: most - 1]
    rest = works[most - 1 :] if len(works) > most else ()
    if rest:
        pieces = sum(len(work.years) for work in rest)
        total = sum(len(work.years) * work.cost for work in rest)
        yield PaperWork((), f"{pieces} more pieces of work", "each stands on the page", total)


def _fitting(cautions: Iterable[str], others: Iterable[str]) -> Iterator[str]:
    """Cautions but those of alternatives that are not printed."""
    theirs = [re.compile(_OF_ONE.format(re.escape(name))) for name in others]
    return (one for one in cautions if not any(pattern.match(one) for pattern in theirs))


def _some(cautions: Iterable[str]) -> list[str]:
    said = list(cautions)
    if len(said) <= FIRST + LAST:
        return said
    left = f"{len(said) - FIRST - LAST} more cautions of this kind stand on the page."
    return [*said[:FIRST], left, *said[-LAST:]]


def size(one: Sheet) -> int:
    """Return how much a sheet has to print beside its charts, as so many letters of small print.

    Notes
    -----
    A line of the programme, an alternative in every table, and a letter of a name that stands in
    every caption take room as so many letters do, by trial on paper.
    """
    works = sum(len(done) for _, done in one.programme)
    notes = sum(len(cell.note) for line in one.answer.lines for cell in line.cells)
    names = [alternative["name"] for alternative in one.answer.reply["alternatives"]]
    listed = sum(rest.letters for rest in one.rests) + sum(len(name) for _, name in one.names)
    said = 2 * sum(map(len, one.cautions)) + 2 * notes
    return listed + said + 200 * works + 2400 * len(names) + 25 * sum(map(len, names))
