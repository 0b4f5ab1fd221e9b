"""Rows of the table of checks, computed and compared."""

import csv
import io
import json
import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from lcc import tables
from lcc.checks import heat, money_and_rules, whole_years
from lcc.checks.heat import Figures

SUBJECTS: dict[str, Callable[..., Figures]] = {
    **heat.SUBJECTS,
    **money_and_rules.SUBJECTS,
    **whole_years.SUBJECTS,
}
# Subjects that solve whole years: half a minute in all, so their figures are kept as well.
SLOW = frozenset(whole_years.SUBJECTS)
# Kinds of evidence, the strongest first, with what a reader sees of each.
KINDS = {each["kind"]: (each["title"], each["meaning"]) for each in tables.words("check_kinds")}
SECTIONS = {int(each["section"]): each["title"] for each in tables.words("check_sections")}
MEASURED_ROOFS = 12  # a section
NEAR, NEAR_K = 0.25, 5.0  # chosen


@dataclass(frozen=True)
class Row:
    """One expected figure of the outside world; `inputs` is the JSON text of the table."""

    id: str
    section: int
    subject: str
    what: str
    inputs: str
    quantity: str
    expected: float
    digits: int
    printed: str
    tolerance: float
    relative: bool
    why: str
    kind: str
    basis: str
    source: str
    covered: bool
    reason: str


@dataclass(frozen=True)
class Check(Row):
    """A row beside our figure; without ours and a verdict where it is not computed.

    `low` and `high` are what nine and one in ten draws over unknown inputs exceed.
    """

    ours: float | None
    difference: float | None  # in the terms of the tolerance
    passed: bool | None
    low: float | None
    high: float | None


class Ours(NamedTuple):
    """Our figure, with its range over unknown inputs if it has one."""

    ours: float | None
    low: float | None = None
    high: float | None = None


@cache
def rows() -> tuple[Row, ...]:
    """Return the table of checks in file order."""
    lines = csv.DictReader(io.StringIO(tables.read_text("checks.csv")))
    return tuple(_row(cells) for cells in lines)


def _row(cells: dict[str, Any]) -> Row:
    figures = {name: float(cells[name]) for name in ("expected", "tolerance")}
    flags = {"relative": cells["relative"] == "1", "covered": cells["covered"] == "yes"}
    figure = re.search(r"[\d.]+", cells["printed"] or cells["expected"])
    # A 0 before the point is no digit of a printed figure.
    digits = max(len(figure.group().replace(".", "").lstrip("0")), 1) if figure else 1
    return Row(**cells | figures | flags | {"section": int(cells["section"]), "digits": digits})


def run_checks(
    sections: Collection[int] = tuple(SECTIONS), *, kept: bool = False
) -> tuple[Check, ...]:
    """Compute rows of the table of checks with the product's own functions.

    Parameters
    ----------
    sections : collection of int
        Keys of `SECTIONS`; by default all, which takes half a minute the first time in a process.
    kept : bool
        Take the figures of whole years from the record that `tests/bench/kept_checks.py` wrote,
        which the thorough tests hold against fresh ones; then all takes less than a second.

    Returns
    -------
    tuple of Check
        In the order of the table; rows that are not covered carry the reason instead of figures.
    """
    return tuple(compute(row, kept=kept) for row in rows() if row.section in sections)


@cache
def kept_figures() -> dict[str, Ours]:
    """Return our figures of whole years as they were kept, by row."""
    record = csv.DictReader(io.StringIO(tables.read_text("checks_kept.csv")))
    return {
        cells["id"]: Ours(*(float(cells[name]) if cells[name] else None for name in Ours._fields))
        for cells in record
    }


def compute(row: Row, *, kept: bool = False) -> Check:
    """Return one row beside our figure.

    Notes
    -----
    The difference is ours - theirs, divided by theirs where the tolerance is relative.
    """
    found = _ours(row, kept) if row.covered else Ours(None)
    ours, difference = found.ours, None
    if ours is not None:
        # Ten decimals: a difference of printed figures is not meant to carry rounding of binary.
        difference = round((ours - row.expected) / (abs(row.expected) if row.relative else 1), 10)
    passed = None if difference is None else abs(difference) <= row.tolerance
    return Check(**vars(row), difference=difference, passed=passed, **found._asdict())


def _ours(row: Row, kept: bool) -> Ours:
    if kept and row.id in kept_figures():
        return kept_figures()[row.id]
    figures, name = _figures(row.subject, row.inputs), row.quantity
    return Ours(figures[name], figures.get(f"{name}_low"), figures.get(f"{name}_high"))


@cache
def _figures(subject: str, inputs: str) -> Figures:
    arguments: dict[str, Any] = json.loads(inputs)
    return SUBJECTS[subject](**arguments)


@dataclass(frozen=True)
class Tally:
    """How many rows of one kind of evidence are within tolerance, outside, and not computed.

    `sources` is how many different works the computed rows come from.
    """

    kind: str
    within: int
    outside: int
    open: int
    sources: int = 0

    @property
    def computed(self) -> int:
        """Rows that were computed."""
        return self.within + self.outside


def tallies(done: Iterable[Check]) -> tuple[Tally, ...]:
    """Return the counts of every kind of evidence, the strongest first."""
    done = tuple(done)
    verdicts = Counter((one.kind, one.passed) for one in done)
    sources = {(one.kind, _work(one.source)) for one in done if one.passed is not None}
    named = Counter(kind for kind, _ in sources)
    return tuple(
        Tally(kind, verdicts[kind, True], verdicts[kind, False], verdicts[kind, None], named[kind])
        for kind in KINDS
    )


def measured_roofs(done: Iterable[Check]) -> tuple[tuple[int, int], tuple[int, int, int]]:
    """Return how many temperatures of measured roofs, and how many other figures, are met, of all.

    A temperature is met within 5 K, another figure within a quarter of theirs: a coarser measure
    than the tolerances of the rows. Last is how many of the other figures are too low.
    """
    warm: list[bool] = []
    rest: list[float] = []
    for one in done:
        if one.section != MEASURED_ROOFS or one.ours is None:
            continue
        if one.quantity.endswith(("_c", "_k")):
            warm.append(abs(one.ours - one.expected) <= NEAR_K)
        else:
            rest.append(one.ours / one.expected - 1)
    near, low = (abs(one) <= NEAR for one in rest), (one < -NEAR for one in rest)
    return (sum(warm), len(warm)), (sum(near), len(rest), sum(low))


def largest_sources(done: Iterable[Check], kind: str) -> tuple[tuple[str, int], ...]:
    """Return the works that the computed rows of a kind come from, the most used first.

    A work is what stands before the first comma of a source.
    """
    computed = (one for one in done if one.kind == kind and one.passed is not None)
    return tuple(Counter(_work(one.source) for one in computed).most_common())


def _work(source: str) -> str:
    return re.split(r", |:", source)[0]
