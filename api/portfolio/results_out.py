"""Results of a portfolio in the units asked for: rows of cells, titles with units, JSON rows."""

import math
from collections.abc import Iterator
from typing import Any

import pandas as pd

from api.portfolio.reading.headers import with_unit
from api.portfolio.tables_out import Cell
from lcc import units
from lcc.case.fields import Facts, case_name, facts_of
from lcc.portfolio.outcome import Outcome
from lcc.portfolio.ranking import Ranked

Row = type[Outcome]
NOTE = "note"  # a column of a ranking as one table


def shown(cls: Row) -> dict[str, Facts]:
    """Return the facts of the columns that a table shows; cautions stand once for all rows."""
    return {name: facts for name, facts in facts_of(cls).items() if facts.type != "parts"}


def titles(cls: Row, system: units.System) -> list[str]:
    """Return the titles of the columns of results, each with its unit.

    Examples
    --------
    >>> titles(Outcome, "ip")[3:5]
    ['roof_area_ft2', 'age']
    """
    return [
        with_unit(case_name(name, facts), facts.kind, system) for name, facts in shown(cls).items()
    ]


def rows(frame: pd.DataFrame, cls: Row, system: units.System) -> Iterator[list[Cell]]:
    """Yield results as rows of cells in the order of `titles`, in the units of a system."""
    columns = [_cells(frame[name].tolist(), facts, system) for name, facts in shown(cls).items()]
    yield from map(list, zip(*columns, strict=True))


def table(frame: pd.DataFrame, cls: Row, system: units.System) -> Iterator[list[Cell]]:
    """Yield results as rows of a table, its titles first."""
    yield [*titles(cls, system)]
    yield from rows(frame, cls, system)


def dictionary(system: units.System) -> Iterator[list[Cell]]:
    """Yield what each column of a ranking means and the unit of its figures, titles first."""
    yield ["column", "meaning", "unit"]
    for title, facts in zip(titles(Ranked, system), shown(Ranked).values(), strict=True):
        unit = units.unit(facts.kind, system).display if facts.kind else ""
        meaning = f"{facts.label}. {facts.help}" if facts.help else facts.label
        yield [title, meaning, unit]
    yield [NOTE, "Figures of the row that are invented, or that it was not used.", ""]


def _cells(values: list[Any], facts: Facts, system: units.System) -> list[Cell]:
    if facts.type == "whole":
        return [None if _missing(value) else int(value) for value in values]
    if facts.type != "quantity":
        return [None if _missing(value) else str(value) for value in values]
    return [
        None if _missing(value) else units.from_core(float(value), facts.kind, system)
        for value in values
    ]


def _missing(value: Any) -> bool:
    return value is None or (isinstance(value, float) and math.isnan(value))


def documents(frame: pd.DataFrame, cls: Row, system: units.System) -> Iterator[dict[str, Any]]:
    """Yield results as JSON objects, their members named without units, in those of a system."""
    names = [case_name(attribute, facts) for attribute, facts in shown(cls).items()]
    for row, told in zip(rows(frame, cls, system), frame["cautions"], strict=True):
        yield {**dict(zip(names, row, strict=True)), "cautions": list(told)}
