"""What is wrong with a case, said where it was entered and once in a list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote

from api.problems import Problem
from web.entries import Group


@dataclass(frozen=True)
class Fault:
    """One fault in the list: the entry it belongs to, if there is one, and the sentence."""

    text: str
    label: str = ""
    target: str = ""


@dataclass(frozen=True)
class Summary:
    """The list of faults at the head of the form."""

    title: str
    faults: tuple[Fault, ...]


def by_path(problem: Problem) -> dict[str, str]:
    """Return the sentences of a problem by dotted path.

    Examples
    --------
    >>> error = {"pointer": "#/roof/area", "detail": "Roof area is missing."}
    >>> by_path(Problem("invalid-input", "One fault.", [error]))
    {'roof.area': 'Roof area is missing.'}
    """
    found: dict[str, str] = {}
    for error in problem.errors:
        found.setdefault(_dotted(error.get("pointer", "")), _sentence(error))
    return found


def _sentence(error: Mapping[str, Any]) -> str:
    detail: str = error["detail"]
    return detail


def _dotted(pointer: str) -> str:
    steps = unquote(pointer.removeprefix("#")).split("/")[1:]
    return ".".join(step.replace("~1", "/").replace("~0", "~") for step in steps)


def summary(problem: Problem, groups: Iterable[Group]) -> Summary:
    """Return the list of a problem's faults, each with a link to its entry."""
    entries = {
        entry.path: (f"{group.title}, {entry.label}", entry.id)
        for group in groups
        for entry in [*group.lead, *(one for rest in group.rest for one in rest.all_entries())]
    }
    faults = tuple(
        Fault(text, *entries.get(path, ("", ""))) for path, text in by_path(problem).items()
    )
    if not faults:
        return Summary(problem.title, (Fault(problem.detail),))
    count = len(faults)
    title = "One entry needs another look" if count == 1 else f"{count} entries need another look"
    return Summary(title, faults)
