"""Results of a portfolio in the units asked for: rows of cells, titles with units, JSON rows."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import pandas as pd

from api import units
from api.portfolio.headers import slug
from api.portfolio.tables_out import Cell
from lcc.case.fields import Facts, case_name, facts_of
from lcc.portfolio.outcome import Outcome

FACTS = facts_of(Outcome)


def titles(system: units.System) -> list[str]:
    """Return the titles of the columns of results, each with its unit.

    Examples
    --------
    >>> titles("ip")[3:5]
    ['roof_area_ft2', 'age_y']
    """
    return [_title(name, facts, system) for name, facts in FACTS.items()]


def _title(attribute: str, facts: Facts, system: units.System) -> str:
    bare = units.unit(facts.kind, system).text if facts.kind else ""
    name = case_name(attribute, facts)
    return f"{name}_{slug(bare)}" if bare and facts.kind != "money" else name


def rows(frame: pd.DataFrame, system: units.System) -> Iterator[list[Cell]]:
    """Yield results as rows of cells in the order of `titles`, in the units of a system."""
    columns = [_cells(frame[name].tolist(), facts, system) for name, facts in FACTS.items()]
    yield from map(list, zip(*columns, strict=True))


def _cells(values: list[Any], facts: Facts, system: units.System) -> list[Cell]:
    if facts.type == "whole":
        return [None if _missing(value) else int(value) for value in values]
    if facts.type != "quantity":
        return [None if _missing(value) else str(value) for value in values]
    kind = facts.kind
    return [
        None if _missing(value) else units.from_core(float(value), kind, system) for value in values
    ]


def _missing(value: Any) -> bool:
    return value is None or (isinstance(value, float) and math.isnan(value))


def documents(frame: pd.DataFrame, system: units.System) -> Iterator[dict[str, Cell]]:
    """Yield results as JSON objects, their members named without units, in those of a system."""
    names = [case_name(attribute, facts) for attribute, facts in FACTS.items()]
    for row in rows(frame, system):
        yield dict(zip(names, row, strict=True))
