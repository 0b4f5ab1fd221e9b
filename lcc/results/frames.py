"""A comparison as tables: measures, cash flow and assumptions, for notebooks and exports."""

from collections.abc import Sequence
from dataclasses import fields
from html import escape
from typing import Any

import pandas as pd

from lcc.results.assumption import Assumption
from lcc.results.costs import Measures

_COSTS = ("kind", "first_cost", "life_cycle_cost", "equivalent_annual_cost", "residual_value")


def measures(alternatives: Sequence[Any]) -> pd.DataFrame:
    """Return one row for each alternative, the base case first; a measure without value is NaN."""
    rows = [
        {name: getattr(one, name) for name in _COSTS}
        | {
            each.name: getattr(one.measures, each.name).value if one.measures else None
            for each in fields(Measures)
        }
        for one in alternatives
    ]
    frame = pd.DataFrame(rows, index=pd.Index([one.name for one in alternatives]))
    named = [each.name for each in fields(Measures)]
    return frame.astype(dict.fromkeys(named, float)).rename_axis("alternative")


def cash_flow(alternatives: Sequence[Any]) -> pd.DataFrame:
    """Return one row for each year from 0, today, and a column for each alternative."""
    columns = {one.name: one.cash_flow for one in alternatives}
    return pd.DataFrame(columns).rename_axis("year")


def assumptions(listed: Sequence[Assumption]) -> pd.DataFrame:
    """Return one row for each figure, by its field of the case."""
    names = [each.name for each in fields(Assumption)]
    rows = [{name: getattr(one, name) for name in names} for one in listed]
    return pd.DataFrame(rows, columns=names).set_index("field")


def html(headline: str, frame: pd.DataFrame) -> str:
    """Return a headline over a table of measures."""
    table = frame.T.to_html(float_format="{:,.2f}".format, na_rep="–")
    return f"<p><strong>{escape(headline)}</strong></p>{table}"
