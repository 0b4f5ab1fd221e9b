"""The assumptions of an answer as text, those of one source together."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from api import units
from web import format as fmt
from web.charts import Reply

_IN_TABLE = re.compile(r" ?\(table [^()]*\)$")


@dataclass(frozen=True)
class Assumed:
    """One assumption as text."""

    label: str
    value: str
    basis: str
    source: str


@dataclass(frozen=True)
class Rests:
    """Assumptions of one basis and source."""

    basis: str
    source: str
    items: tuple[Assumed, ...]


def rests(reply: Reply) -> tuple[Rests, ...]:
    """Return what a reply rests on, the entered figures first."""
    return tuple(grouped(_assumed(one, reply["units"]) for one in reply["assumptions"]))


def _assumed(one: Mapping[str, Any], system: units.System) -> Assumed:
    value, kind = one["value"], one["kind"]
    if isinstance(value, bool):
        text = "yes" if value else "no"
    elif isinstance(value, int | float):
        unit = units.unit(kind, system).display if kind in units.KINDS else ""
        unit = "" if kind == "money" else unit.removeprefix("$")
        text = f"{fmt.shown(value, kind)}{'' if unit.startswith('/') else ' '}{unit}".strip()
    else:
        text = fmt.NOTHING if value is None else str(value)
    return Assumed(one["label"], text, one["basis"], one["source"])


def grouped(assumptions: Iterable[Assumed]) -> Iterable[Rests]:
    """Return assumptions that share basis and source together, as printed.

    Examples
    --------
    >>> two = [Assumed("Age", "13 y", "entered", "the case"),
    ...        Assumed("Area", "2 m²", "entered", "the case")]
    >>> [(one.basis, len(one.items)) for one in grouped(two)]
    [('entered', 2)]
    """
    order = ("entered", "published", "common practice", "from memory", "demo")

    def place(one: Assumed) -> tuple[int, str]:
        return order.index(one.basis) if one.basis in order else len(order), _work(one.source)

    for (_, source), group in groupby(sorted(assumptions, key=place), key=place):
        # A default that holds for several layers or prices is told once.
        items = tuple({(one.label, one.value): one for one in group}.values())
        yield Rests(items[0].basis, source, items)


def _work(source: str) -> str:
    """A source without the place in our own tables where the figure stands."""
    return _IN_TABLE.sub("", source)
