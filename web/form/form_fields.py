"""The form of a case and the case document: one from the other, by the facts of each field."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from functools import cache
from typing import Any, cast

from werkzeug.datastructures import MultiDict

from api import describe
from api.units import System
from lcc.case import Case
from web.form.form_units import Described, from_entry

Document = dict[str, Any]
Path = tuple[str, ...]


@cache
def described(system: System) -> tuple[Described, ...]:
    """Return the description of every field of a case in a unit system."""
    return tuple(describe.fields(Case, system))


def units_of(data: Mapping[str, str]) -> System:
    """Return the units that a form's numbers are in."""
    given = data.get("units", "ip")
    return "si" if given == "si" else "ip"


def document(data: MultiDict[str, str]) -> Document:
    """Return the case document that a form states; fields left empty are left out.

    Parameters
    ----------
    data : werkzeug.datastructures.MultiDict
        Entries by dotted path, such as ``roof.layers.0.material``; ``has`` lists the optional
        parts that are present.
    """
    system = units_of(data)
    return {"units": system, **_object(data, (), described(system), system)}


def _object(
    data: MultiDict[str, str], path: Path, fields: Iterable[Described], system: System
) -> Document:
    found: Document = {}
    for field in fields:
        here = (*path, field["name"])
        value = _value(data, here, field, system)
        # An entry left empty takes its default; one that has none is told when it is emptied.
        needed = not field["optional"] and field["default"] is None and ".".join(here) in data
        empty = value is None or (value == {} and not field["optional"])
        if not empty or needed:
            found[field["name"]] = value
    return found


def _value(data: MultiDict[str, str], path: Path, field: Described, system: System) -> Any:
    shown = ".".join(path) in data.getlist("has")
    if field["type"] == "parts":
        items = [_part(data, (*path, index), field, system) for index in _indices(data, path)]
        return items if items or shown else None
    if field["type"] == "part":
        present = not field["optional"] or shown
        return _part(data, path, field, system) if present else None
    entries = data.getlist(".".join(path))
    text = entries[-1] if entries else ""
    if field["type"] == "flag":
        return text == "true" if text else None
    if field["type"] == "text":
        return text.strip().replace("\r\n", "\n") or None
    if field["type"] in ("quantity", "whole"):
        return from_entry(text, field, system)
    return text or None


def _part(data: MultiDict[str, str], path: Path, field: Described, system: System) -> Document:
    if "kinds" not in field:
        return _object(data, path, field["nested"], system)
    kind = data.get(".".join((*path, "kind")), "")
    fields = field["kinds"].get(kind, ())
    word = {"kind": kind} if kind and len(field["kinds"]) > 1 else {}
    return {**word, **_object(data, path, fields, system)}


def _indices(data: MultiDict[str, str], path: Path) -> list[str]:
    start = re.compile(re.escape(".".join(path)) + r"\.(\d{1,3})\.")
    found = {match[1] for name in data if (match := start.match(name))}
    return sorted(found, key=int)


def at(document: Any, path: Sequence[str]) -> Any:
    """Return the value at a path of a document, or None."""
    for step in path:
        if isinstance(document, list):
            known = step.isdigit() and int(step) < len(document)
            document = document[int(step)] if known else None
        elif isinstance(document, Mapping):
            document = document.get(step)
        else:
            return None
    return document


def changed(document: Document, action: str) -> Document:
    """Return the document with something added to or removed from it.

    Parameters
    ----------
    action : str
        ``add:roof.layers``, ``add:alternatives:coating``, ``remove:roof.layers.1``.
    """
    what, _, rest = action.partition(":")
    dotted, _, kind = rest.partition(":")
    *parents, last = dotted.split(".")
    new = deepcopy(document)
    target = at(new, parents)
    if what == "remove" and isinstance(target, list) and last.isdigit():
        del target[int(last) : int(last) + 1]
    elif what == "remove" and isinstance(target, dict):
        target.pop(last, None)
    elif what == "add" and isinstance(target, dict):
        field = field_at((*parents, last), document)
        _add(target, field, kind)
    return new


def _add(target: Document, field: Described | None, kind: str) -> None:
    inner = (field or {}).get("kinds", {}).get(kind) or (field or {}).get("nested")
    if field is None or inner is None:
        return
    new: Document = {"kind": kind} if kind else {}
    if field["type"] == "parts":
        target.setdefault(field["name"], []).append(new)
    else:
        target[field["name"]] = new


def field_at(path: Sequence[str], document: Document) -> Described | None:
    """Return the description of the field at a path of a document, or None."""
    fields: Iterable[Described] = described(units_of(document))
    found: Described | None = None
    for depth, step in enumerate(path):
        if step.isdigit():
            continue
        found = next((field for field in fields if field["name"] == step), None)
        if found is None:
            return None
        fields = inner_fields(found, at(document, _with_index(path, depth)))
    return found


def _with_index(path: Sequence[str], depth: int) -> Sequence[str]:
    """The path to an object: a list's name with the index after it."""
    after = depth + 1
    return path[: after + 1] if after < len(path) and path[after].isdigit() else path[:after]


def inner_fields(field: Described, value: Any) -> Sequence[Described]:
    """Return the fields inside a part, by its kind where there are several."""
    if "kinds" not in field:
        return cast(Sequence[Described], field.get("nested", ()))
    given = value.get("kind") if isinstance(value, Mapping) else None
    kinds: Mapping[str, Sequence[Described]] = field["kinds"]
    return kinds.get(str(given), next(iter(kinds.values())) if len(kinds) == 1 else ())
