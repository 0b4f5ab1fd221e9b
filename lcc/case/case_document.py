"""A case document: the members of each part, and the case that a document makes.

`case_of` stops at the first fault, as the core does everywhere; the service reads the same
members by the same `document_values` and gathers all faults of a document.
"""

import dataclasses
import types
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Union, get_args, get_origin

from lcc import units
from lcc.case import KINDS, Case
from lcc.case.document_values import ABSENT, counted, missing, named, read, value_at
from lcc.case.fields import BASES, Choice, Facts, case_name, facts_of, hints_of, nearest_words
from lcc.case.marked_defaults import DEFAULT, steps
from lcc.case.resolution import based
from lcc.errors import CaseError, within
from lcc.units import System

UNITS = Choice("Units", units.SYSTEMS, help="Of the bare numbers; a text names its own unit.")
KIND = Choice("Kind of alternative", tuple(KINDS))


@dataclass(frozen=True)
class Member:
    """One member of an object of a document, as the field of its dataclass has it.

    `kinds` are the classes that it may nest, by the word of an alternative, or by "" where there
    is one alone; `item` is the class of the plain values of a list.
    """

    attribute: str
    name: str
    facts: Facts
    required: bool
    optional: bool
    many: bool
    default: Any
    kinds: Mapping[str, type[Any]]
    item: type[Any] | None

    @property
    def null_is_unset(self) -> bool:
        """Whether null means left out: generated clients write it for what is not given."""
        return not self.required and not self.optional


def members(cls: Any) -> tuple[Member, ...]:
    """Return the members of a dataclass whose fields carry facts.

    Examples
    --------
    >>> area, *_ = members(members(Case)[1].kinds[""])
    >>> area.name, area.attribute, area.required
    ('area', 'area_m2', True)
    """
    return _members(cls)


@cache
def _members(cls: Any) -> tuple[Member, ...]:
    hints = hints_of(cls)  # Annotated[type, facts]: its origin is the type
    found = {field.name: field for field in dataclasses.fields(cls)}
    return tuple(
        _member(found[name], hints[name].__origin__, facts) for name, facts in facts_of(cls).items()
    )


def _member(field: dataclasses.Field[Any], hint: Any, facts: Facts) -> Member:
    inner, optional = _without_none(hint)
    many = get_origin(inner) is tuple
    inner = get_args(inner)[0] if many else inner
    is_part = facts.type in ("part", "parts")
    plain = is_part and inner in (int, str)
    is_bare = field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING
    required = is_bare or (field.default == () and bool(facts.low))
    return Member(
        field.name, case_name(field.name, facts), facts, required, optional, many, field.default,
        _kinds(inner) if is_part and not plain else {}, inner if plain else None,
    )  # fmt: skip


def _without_none(hint: Any) -> tuple[Any, bool]:
    if get_origin(hint) not in (Union, types.UnionType):
        return hint, False
    rest = tuple(arg for arg in get_args(hint) if arg is not type(None))
    if len(rest) == len(get_args(hint)):
        return hint, False
    return (rest[0] if len(rest) == 1 else Union[rest]), True  # noqa: UP007 (built at run time)


def _kinds(inner: Any) -> dict[str, type[Any]]:
    if get_origin(inner) in (Union, types.UnionType):
        return {kind: cls for kind, cls in KINDS.items() if cls in get_args(inner)}
    return {"": inner}


def case_of(document: Mapping[str, Any], system: System) -> Case:
    """Return the case of a document without marked defaults; the first fault stops it."""
    bases = document.get("origins")
    bases = {} if bases is None else bases
    with within("origins"):
        if not isinstance(bases, Mapping):
            raise CaseError("", bases, "JSON pointers, each with a basis")
        for pointer, basis in bases.items():
            detail, rule = unusable_origin(pointer, basis, document)
            if detail:
                raise CaseError(pointer, basis, f"one of {', '.join(BASES)}", detail=detail,
                                rule=rule)  # fmt: skip
    stated = {name: of for name, of in document.items() if name not in ("units", "origins")}
    case: Case = based(_part(Case, stated, system), bases)
    return case


def _part(cls: type[Any], document: Any, system: System) -> Any:
    if not isinstance(document, Mapping):
        raise CaseError("", document, "an object", detail=f"This is {named(document)}.")
    known = {each.name: each for each in members(cls)}
    for name in document:
        if name not in known:
            raise unknown_name(str(name), list(known))
    values = {}
    for name, each in known.items():
        with within(name):
            if name in document and not (document[name] is None and each.null_is_unset):
                values[each.attribute] = _value(each, document[name], system)
            elif each.required:
                raise missing(each.facts, system, "required")
    return cls(**values)


def _value(member: Member, value: Any, system: System) -> Any:
    if value is None:
        if member.optional:
            return None
        raise missing(member.facts, system)
    if not member.kinds:
        return read(member.facts, value, system)
    if not member.many:
        return _of_kind(member, value, system)
    found = []
    for index, each in enumerate(counted(member.facts, value, system)):
        with within(index):
            found.append(_of_kind(member, each, system))
    return tuple(found)


def _of_kind(member: Member, value: Any, system: System) -> Any:
    if set(member.kinds) == {""} or not isinstance(value, Mapping):
        return _part(next(iter(member.kinds.values())), value, system)
    kind = kind_in(member.kinds, value)
    return _part(member.kinds[kind], {n: v for n, v in value.items() if n != "kind"}, system)


def kind_in(kinds: Mapping[str, Any], value: Mapping[str, Any]) -> str:
    """Return the kind that an object states, one of those it may be."""
    kind = value.get("kind")
    if isinstance(kind, str) and kind in kinds:
        return kind
    given = f"Kind is {named(kind)}" if "kind" in value else "Kind is missing"
    allowed, rule = "one of " + ", ".join(kinds), "key" if "kind" in value else "required"
    raise CaseError("kind", kind, allowed, detail=f"{given}; allowed: {allowed}.", rule=rule)


def unknown_name(name: str, known: Sequence[str]) -> CaseError:
    """Return the error of a name that an object does not have, with the nearest that it has."""
    near = nearest_words(name, known, 1)
    hint = f"; did you mean {near[0]!r}?" if near else "."
    shown = name if len(name) <= 60 else name[:57] + "..."
    allowed = f"the names {', '.join(known)}" if known else "no names at all"
    detail = f"The name {shown!r} is not known here{hint}"
    return CaseError(name, None, allowed, detail=detail, rule="unknown-name")


def unusable_origin(pointer: str, basis: Any, document: Any) -> tuple[str, str]:
    """Return what is wrong with a basis at a pointer and the rule that says so, or two blanks.

    A schema can say which bases there are; that a pointer leads to something stated joins two
    values of the case.
    """
    if basis == DEFAULT:  # those of members that may be left out are taken before
        return f"No member that may be left out stands at {pointer[:60]!r}", "consistency"
    if basis not in BASES:
        return f"The basis of {pointer[:60]!r} is {named(basis)}", "type"
    if pointer and (not pointer.startswith("/") or value_at(document, steps(pointer)) is ABSENT):
        return f"The case states nothing at {pointer[:60]!r}", "consistency"
    return "", ""
