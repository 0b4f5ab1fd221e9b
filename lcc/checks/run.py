"""Rows of the table of checks, computed and compared."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any

from lcc import tables
from lcc.case.fields import Flag, Quantity, Text, Whole
from lcc.checks import check_roofs, heat, money_checks, rules

Figures = Mapping[str, float]
SUBJECTS: dict[str, Callable[..., Figures]] = {
    **heat.SUBJECTS,
    **money_checks.SUBJECTS,
    **rules.SUBJECTS,
    **check_roofs.SUBJECTS,
}
SECTIONS: dict[int, str] = {
    1: "Steady resistances",
    2: "Periodic conduction",
    3: "Solar reflectance index",
    4: "Wind and sky",
    5: "Sol-air temperature",
    6: "Moist air",
    7: "Money",
    8: "Codes and service lives",
    9: "Equipment and emissions",
    10: "The year's solution beside a finite-volume march",
    11: "Climates of three-hour means beside hourly files",
    12: "Measured roofs: plausibility",
}

# Fields are laid out by hand, to be read as a table.
# fmt: off


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
    tolerance: float
    relative: bool
    basis: str
    source: str
    covered: bool
    reason: str


@dataclass(frozen=True)
class Check:
    """An expected figure beside ours; without ours and a verdict where it is not covered."""

    id: Annotated[str, Text("Row of the table of checks")]
    section: Annotated[int, Whole("Section")]
    what: Annotated[str, Text("What")]
    source: Annotated[str, Text("Source")]
    basis: Annotated[str, Text("Basis")]
    theirs: Annotated[float, Quantity("ratio", "Their value")]
    ours: Annotated[float | None, Quantity("ratio", "Our value")]
    difference: Annotated[float | None, Quantity(
        "ratio", "Difference, in the terms of the tolerance")]
    tolerance: Annotated[float, Quantity("ratio", "Tolerance")]
    relative: Annotated[bool, Flag("The tolerance is relative")]
    passed: Annotated[bool | None, Flag("Within the tolerance")]
    reason: Annotated[str, Text("Why it is not covered")]


# fmt: on


@cache
def rows() -> tuple[Row, ...]:
    """Return the table of checks in file order."""
    return tuple(_row(cells) for cells in csv.DictReader(io.StringIO(_table())))


def _table() -> str:
    return tables.read_text("checks.csv")


def _row(cells: dict[str, str]) -> Row:
    return Row(
        id=cells["id"],
        section=int(cells["section"]),
        subject=cells["subject"],
        what=cells["what"],
        inputs=cells["inputs"],
        quantity=cells["quantity"],
        expected=float(cells["expected"]),
        tolerance=float(cells["tolerance"]),
        relative=cells["relative"] == "1",
        basis=cells["basis"],
        source=cells["source"],
        covered=cells["covered"] == "yes",
        reason=cells["reason"],
    )


def run_checks(sections: Collection[int] = tuple(SECTIONS)) -> tuple[Check, ...]:
    """Compute rows of the table of checks with the product's own functions.

    Parameters
    ----------
    sections : collection of int
        Keys of `SECTIONS`; by default all. Section 10 marches through the year, which takes
        some ten seconds the first time in a process; the others together take about two.

    Returns
    -------
    tuple of Check
        In the order of the table; rows that are not covered carry the reason instead of figures.
    """
    return tuple(compute(row) for row in rows() if row.section in sections)


def compute(row: Row) -> Check:
    """Return one row beside our figure.

    Notes
    -----
    The difference is ours - theirs, divided by theirs where the tolerance is relative.
    """
    ours = _figures(row.subject, row.inputs)[row.quantity] if row.covered else None
    difference = None if ours is None else _difference(ours, row)
    passed = None if difference is None else abs(difference) <= row.tolerance
    return Check(
        row.id, row.section, row.what, row.source, row.basis, row.expected, ours, difference,
        row.tolerance, row.relative, passed, row.reason,
    )  # fmt: skip


def _difference(ours: float, row: Row) -> float:
    # Ten decimals: a difference of printed figures is not meant to carry rounding of binary ones.
    difference = ours - row.expected
    return round(difference / abs(row.expected) if row.relative else difference, 10)


@cache
def _figures(subject: str, inputs: str) -> Figures:
    arguments: dict[str, Any] = json.loads(inputs)
    return SUBJECTS[subject](**arguments)
