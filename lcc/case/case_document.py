"""A case document: the members of each part, and what is wrong with a name, a kind, an origin."""

import dataclasses
import types
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Union, get_args, get_origin

from lcc import units
from lcc.case import KINDS
from lcc.case.document_values import ABSENT, named, value_at
from lcc.case.fields import BASES, Choice, Facts, case_name, facts_of, hints_of, nearest_words
from lcc.case.marked_defaults import DEFAULT, steps
from lcc.errors import CaseError

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
    >>> from lcc.case import Case
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
    return CaseError("", None, allowed, detail=detail, rule="unknown-name")


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
