"""The form of a case and the case document: one from the other, by the facts of each field."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from api.json_schema import default
from lcc.case import Case
from lcc.case.case_document import Member, members
from lcc.case.resolution import basis_at
from lcc.units import System
from web.form.form_units import from_entry, to_entry

if TYPE_CHECKING:
    from werkzeug.datastructures import MultiDict

Document = dict[str, Any]
Path = tuple[str, ...]
INDEX = re.compile(r"\d{1,3}")


def units_of(data: Mapping[str, str]) -> System:
    """Return the units that a form's numbers are in."""
    given = data.get("units", "ip")
    return "si" if given == "si" else "ip"


@dataclass
class _Sent:
    """A form that was sent, beside the case document that it showed.

    An entry that still reads as it was shown was not touched: what the document states there
    stays as typed, and a default stays unstated. Every other entry is the user's own.
    """

    data: MultiDict[str, str]
    system: System
    shown: Document
    own: list[Path] = field(default_factory=list)

    @cached_property
    def has(self) -> frozenset[str]:
        """The optional parts that are present."""
        return frozenset(self.data.getlist("has"))

    @cached_property
    def inside(self) -> dict[str, dict[str, None]]:
        """By the path of each part that the form was sent with, the names that follow it."""
        found: dict[str, dict[str, None]] = {}
        for name in self.data:
            steps = name.split(".")
            for depth in range(1, len(steps)):
                found.setdefault(".".join(steps[:depth]), {})[steps[depth]] = None
        return found

    def indices(self, part: str) -> list[str]:
        """Return the places of a list of which the form holds entries."""
        # A name that ends in a number is no entry of a part.
        listed = (step for step in self.inside.get(part, ()) if f"{part}.{step}" in self.inside)
        return sorted((step for step in listed if INDEX.fullmatch(step)), key=int)

    def basis(self, path: Path) -> str:
        """Return the basis of what the shown document states at a path."""
        return basis_at("/" + "/".join(path), self.shown.get("origins") or {})


def document(data: MultiDict[str, str]) -> Document:
    """Return the case document that a form states; fields left empty are left out.

    Parameters
    ----------
    data : werkzeug.datastructures.MultiDict
        Entries by dotted path, such as ``roof.layers.0.material``; ``has`` lists the optional
        parts that are present, ``document`` holds the case document that the form showed.
    """
    system = units_of(data)
    sent = _Sent(data, system, as_sent(data.get("document", "")))
    made = {"units": system, **_object(sent, (), members(Case), sent.shown)}
    changed = {
        "/" + "/".join(path): "entered" for path in sent.own if sent.basis(path) != "entered"
    }
    return with_origins(made, {**sent.shown.get("origins", {}), **changed})


def with_origins(document: Document, bases: Mapping[str, str]) -> Document:
    """Return a document with those of the stated bases that lead to something in it."""
    rest = {name: value for name, value in document.items() if name != "origins"}
    kept = {p: b for p, b in bases.items() if not p or at(rest, p.split("/")[1:]) is not None}
    return {**rest, "origins": kept} if kept else rest


def as_sent(text: str) -> Document:
    """Return the object that a form was sent with as JSON, or an empty one where it is none.

    Examples
    --------
    >>> as_sent('{"building.use":"school"}'), as_sent("["), as_sent('{"origins": 1}')
    ({'building.use': 'school'}, {}, {})
    """
    try:
        found = json.loads(text)
    except ValueError:
        return {}
    known = isinstance(found, dict) and isinstance(found.get("origins", {}), dict)
    return found if known else {}


def _object(sent: _Sent, path: Path, fields: Sequence[Member], shown: Any) -> Document:
    """Return an object as the form states it; `shown` is what its document states there."""
    stated = shown if isinstance(shown, Mapping) else {}
    found = {one.name: _value(sent, (*path, one.name), one, stated.get(one.name)) for one in fields}
    return {
        one.name: found[one.name]
        for one in fields
        if not _is_empty(found[one.name], one) or _is_needed(sent, path, one)
    }


def _is_empty(value: Any, field: Member) -> bool:
    """Tell whether nothing is stated: an optional part may be there with nothing in it."""
    return value is None or (value == {} and not field.optional)


def _is_needed(sent: _Sent, path: Path, field: Member) -> bool:
    """Tell whether an entry that was left empty has no default, so that it is asked for."""
    here = ".".join((*path, field.name))
    return not field.optional and default(field, sent.system) is None and here in sent.data


def _value(sent: _Sent, path: Path, field: Member, stated: Any) -> Any:
    here = ".".join(path)
    if field.facts.type in ("part", "parts"):
        has = here in sent.has
        if not (has or here in sent.inside):
            return stated  # a light form leaves parts out that the document has
        if field.facts.type == "parts":
            return _items(sent, path, field, stated, has)
        present = not field.optional or has
        return _part(sent, path, field, stated) if present else None
    entries = sent.data.getlist(here)
    if field.facts.type == "choices" and entries:
        words = [word for entry in entries for word in entry.split()] or None
        if words != stated:
            sent.own.append(path)
        return words
    text = _lines(entries[-1]) if entries else ""
    if not entries or text == as_shown(stated, field, sent.system):
        return stated
    sent.own.append(path)
    return _read(text, field, sent.system)


def _items(sent: _Sent, path: Path, field: Member, stated: Any, has: bool) -> Any:
    """Return the parts of a list, or None where none is stated."""
    items = [
        _part(sent, (*path, index), field, at(stated, (index,)))
        for index in sent.indices(".".join(path))
    ]
    # A list that may be empty is stated once it was; one that may not is asked for.
    listed = stated is not None or bool(field.facts.low)
    return items if items or (has and listed) else None


def as_shown(stated: Any, field: Member, system: System) -> str:
    """Return the text of an entry: what is stated, or nothing."""
    if field.facts.type in ("quantity", "whole"):
        return to_entry(stated, field.facts.kind, system)
    return as_word(stated)


def as_word(stated: Any) -> str:
    """Return what is stated as a form sends it: true, false, words, or nothing."""
    if isinstance(stated, bool):
        return str(stated).lower()
    if isinstance(stated, list):
        return " ".join(map(str, stated))
    return "" if stated is None else str(stated)


def _read(text: str, field: Member, system: System) -> Any:
    if field.facts.type == "flag":
        return text == "true" if text else None
    if field.facts.type in ("quantity", "whole"):
        return from_entry(text, field.facts, system)
    return text.strip() or None


def _lines(text: str) -> str:
    """Return a text with plain line ends; the megabyte of a weather file seldom has others."""
    return text.replace("\r\n", "\n") if "\r" in text else text


def _part(sent: _Sent, path: Path, field: Member, stated: Any) -> Document:
    if "" in field.kinds:
        return _object(sent, path, members(field.kinds[""]), stated)
    kind = sent.data.get(".".join((*path, "kind")), "")
    fields = members(field.kinds[kind]) if kind in field.kinds else ()
    word = {"kind": kind} if kind and len(field.kinds) > 1 else {}
    return {**word, **_object(sent, path, fields, stated)}


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
        _move_up(new, "/" + "/".join(parents), int(last))
    elif what == "remove" and isinstance(target, dict):
        target.pop(last, None)
        _move_up(new, "/" + "/".join((*parents, last)))
    elif what == "add":
        _add(new, tuple(parents), last, kind)
    return new


def _add(document: Document, parents: Path, name: str, kind: str) -> None:
    """Add a part of which nothing is stated yet; what follows in it is the user's own."""
    field = field_at((*parents, name), document)
    target = at(document, parents)
    if field is None or not field.kinds or (kind and kind not in field.kinds):
        return
    if target is None:
        target = document
        for step in parents:
            target = target.setdefault(step, {})
    new = {"kind": kind} if kind else {}
    here = "/" + "/".join((*parents, name))
    if field.facts.type == "parts":
        listed = target.setdefault(name, [])
        listed.append(new)
        here += f"/{len(listed) - 1}"
    else:
        # A list that needs one is begun: a survey has its first part.
        inner = members(field.kinds[""]) if "" in field.kinds else ()
        begun = (one for one in inner if one.facts.type == "parts" and one.facts.low)
        target[name] = {**new, **{one.name: [{}] for one in begun}}
    if basis_at(here, document.get("origins") or {}) != "entered":
        document["origins"][here] = "entered"


def _move_up(document: Document, pointer: str, index: int | None = None) -> None:
    """Let the stated bases follow what was taken out: a part, or an item of a list."""
    bases = document.pop("origins", None) or {}
    moved = {_moved(old, pointer, index): basis for old, basis in bases.items()}
    moved.pop(None, None)
    if moved:
        document["origins"] = moved


def _moved(old: str, pointer: str, index: int | None) -> str | None:
    """Return where a pointer leads now, or None where it led to what was taken out."""
    place, _, rest = old.removeprefix(f"{pointer}/").partition("/")
    inside = old.startswith(f"{pointer}/")
    if index is None:
        return None if inside or old == pointer else old
    if not inside or not place.isdigit() or int(place) < index:
        return old
    if int(place) == index:
        return None
    return f"{pointer}/{int(place) - 1}" + (f"/{rest}" if rest else "")


def field_at(path: Sequence[str], document: Document) -> Member | None:
    """Return the member at a path of a document, or None."""
    fields: Sequence[Member] = members(Case)
    found: Member | None = None
    for depth, step in enumerate(path):
        if step.isdigit():
            continue
        found = next((field for field in fields if field.name == step), None)
        if found is None:
            return None
        fields = inner_fields(found, at(document, _with_index(path, depth)))
    return found


def _with_index(path: Sequence[str], depth: int) -> Sequence[str]:
    """The path to an object: a list's name with the index after it."""
    after = depth + 1
    return path[: after + 1] if after < len(path) and path[after].isdigit() else path[:after]


def inner_fields(field: Member, value: Any) -> Sequence[Member]:
    """Return the fields inside a part, by its kind where there are several."""
    given = value.get("kind") if isinstance(value, Mapping) else None
    only = next(iter(field.kinds.values())) if len(field.kinds) == 1 else None
    kind = field.kinds.get(str(given), only)
    return members(kind) if kind else ()
