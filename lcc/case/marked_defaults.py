"""Figures of a document that are marked as defaults: read as if left out, so tables stay theirs.

A case with every default in place marks each of them in its ``origins``. A marked figure that was
changed afterwards is refused: nobody can know whether the change was meant.
"""

import math
import re
from collections.abc import Iterator, Mapping
from typing import Any

from lcc.case import Case
from lcc.case.document_values import named, read, unit_text, value_at, write
from lcc.case.fields import CasePart, case_name, facts_of
from lcc.case.resolution import CaseFigure, figures
from lcc.errors import CaseError
from lcc.exact_json import Path
from lcc.units import System

DEFAULT = "default"  # beside the bases, in `origins`
_INDEX = re.compile("0|[1-9][0-9]{0,5}")  # of a list, in a JSON pointer


def default_marks(part: CasePart, pointer: str = "") -> dict[str, str]:
    """Return the `origins` of a part: what is not stated, and bases other than entered.

    Examples
    --------
    >>> from lcc.case import Economics
    >>> marks = default_marks(Economics(discount_rate=0.04))
    >>> "/discount_rate" in marks, marks["/inflation"]
    (False, 'default')
    """
    found: dict[str, str] = {}
    for name, facts in facts_of(type(part)).items():
        value, here = getattr(part, name), f"{pointer}/{case_name(name, facts)}"
        if not part.states(name):
            found[here] = DEFAULT
        elif isinstance(value, CasePart):
            found |= default_marks(value, here)
        elif isinstance(value, tuple) and facts.type == "parts":
            for index, each in enumerate(value):
                found |= default_marks(each, f"{here}/{index}")
        elif part.origin(name).basis != "entered":
            found[here] = part.origin(name).basis
    return found


def without_defaults(document: Any) -> Any:
    """Return a document without the figures that its ``origins`` mark as defaults."""
    gone = {steps(pointer) for pointer in _marked(document)}
    if not gone:
        return document
    bases = {p: basis for p, basis in document["origins"].items() if steps(p) not in gone}
    return {**_without(document, gone), "origins": bases}


def _marked(document: Any) -> list[str]:
    """Return the pointers that are marked as defaults and lead to a member of an object."""
    bases = document.get("origins") if isinstance(document, Mapping) else None
    if not isinstance(bases, Mapping):
        return []
    return [p for p, basis in bases.items() if basis == DEFAULT and is_member(document, p)]


def steps(pointer: str) -> Path:
    """Return the names and indices of a JSON pointer."""
    return tuple(int(step) if _INDEX.fullmatch(step) else step for step in pointer.split("/")[1:])


def is_member(document: Any, pointer: str) -> bool:
    """Tell whether a pointer leads to a member of an object that a document holds."""
    path = steps(pointer)
    parent = value_at(document, path[:-1])
    return bool(path) and isinstance(parent, Mapping) and path[-1] in parent


def _without(node: Any, gone: set[Path], at: Path = ()) -> Any:
    if isinstance(node, Mapping):
        return {k: _without(v, gone, (*at, k)) for k, v in node.items() if (*at, k) not in gone}
    if isinstance(node, list):
        return [_without(each, gone, (*at, index)) for index, each in enumerate(node)]
    return node


def changed_defaults(completed: Case, document: Any, system: System) -> Iterator[CaseError]:
    """Yield an error for each figure that is marked as a default and is another.

    Parameters
    ----------
    completed : Case
        The case without those figures, with every default in place.
    document : mapping
        The document as it was sent.
    system : "ip" or "si"
        Its units.
    """
    if not (marked := _marked(document)):
        return
    usual = {each.field: each for each in figures(completed)}
    for pointer in marked:
        at = steps(pointer)
        for path, sent in _leaves(".".join(map(str, at)), value_at(document, at), usual):
            if not _is_usual(usual.get(path), sent, system):
                yield _changed(path, sent, usual.get(path), system)


def _leaves(path: str, value: Any, known: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    if path in known or not isinstance(value, Mapping | list):
        if path.rpartition(".")[2] != "kind" and value not in (None, ""):
            yield path, value
        return
    for key, inner in value.items() if isinstance(value, Mapping) else enumerate(value):
        yield from _leaves(f"{path}.{key}", inner, known)


def _is_usual(usual: CaseFigure | None, sent: Any, system: System) -> bool:
    if usual is None:
        return False
    try:
        value = read(usual.facts, sent, system)
    except CaseError:
        return False
    same = isinstance(value, float) and math.isclose(
        value, usual.value, rel_tol=1e-9, abs_tol=1e-12
    )
    return bool(same or value == usual.value)


def _changed(path: str, sent: Any, usual: CaseFigure | None, system: System) -> CaseError:
    known = usual and write(usual.facts, usual.value, system)
    allowed = "nothing there" if usual is None else f"{named(known)}, the default"
    out = f"take /{path.replace('.', '/')} out of origins to enter it, or leave the value out too"
    label = usual.facts.label if usual else "This"
    detail = f"{label} is marked as a default and is {named(sent)}; allowed: {allowed}; {out}."
    unit = unit_text(usual.facts, system) if usual else ""
    return CaseError(path, sent, allowed, detail=detail, unit=unit)
