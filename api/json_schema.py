"""Dataclasses and the facts of their fields in the words of JSON Schema."""

import dataclasses
import json
import re
from typing import Any

from lcc import units
from lcc.case import Case
from lcc.case.case_document import KIND, UNITS, Member, members
from lcc.case.document_values import bounds, text_limits, unit_text, words, write
from lcc.case.fields import BASES, Choice, Facts
from lcc.case.marked_defaults import DEFAULT
from lcc.document_writer import OF_A_KIND
from lcc.units import System

Schemas = dict[str, Any]
SHARED = "x-shared"  # marks a schema of both systems until the document is whole
_UNIT = re.compile(r"Unit: (.+?)\.(?= |$)")
_ENDS: dict[str, Any] = {
    "minimum": min, "exclusiveMinimum": min, "maximum": max, "exclusiveMaximum": max,
}  # fmt: skip


def value_schema(facts: Facts, system: System, reply: bool = False) -> dict[str, Any]:
    """Return the JSON Schema of a value that is not null.

    Examples
    --------
    >>> from lcc.case.fields import Whole
    >>> value_schema(Whole("Draws", low=0, high=10), "si")
    {'type': 'integer', 'minimum': 0, 'maximum': 10}
    """
    if facts.type == "quantity":
        return _quantity(facts, system, reply)
    if facts.type == "whole":
        return {"type": "integer", **_range(facts, facts.low, facts.high, int)}
    if facts.type == "flag":
        return {"type": "boolean"}
    if facts.type == "text":
        most, clean = text_limits(facts)
        return {"type": "string"} | ({} if reply else {"maxLength": most, "pattern": clean})
    word = {"type": "string", "enum": list(words(facts))}
    if facts.type != "choices":
        return word
    most = len(facts.options)
    return {"type": "array", "items": word, "minItems": 1, "maxItems": most, "uniqueItems": True}


def _quantity(facts: Facts, system: System, reply: bool) -> dict[str, Any]:
    number = {"type": "number", **_range(facts, *bounds(facts, system))}
    if reply or not units.spellings(facts.kind):
        return number
    pattern = units.pattern(facts.kind)
    return {"oneOf": [number, {"type": "string", "maxLength": units.MAX_TEXT, "pattern": pattern}]}


def _range(
    facts: Facts, low: float | None, high: float | None, of: type[Any] = float
) -> dict[str, Any]:
    ends = {
        "exclusiveMinimum" if facts.low_open else "minimum": low,
        "exclusiveMaximum" if facts.high_open else "maximum": high,
    }
    return {name: of(end) for name, end in ends.items() if end is not None}


def default(member: Member, system: System) -> Any:
    """Return the default of a value in the document's units, or None where there is none."""
    if member.default is dataclasses.MISSING or member.facts.type in ("part", "parts"):
        return None
    return write(member.facts, member.default, system)


def described(
    schema: dict[str, Any], member: Member, system: System, reply: bool = False
) -> dict[str, Any]:
    """Return a JSON Schema with what the facts say of a member around it.

    A default is said in words and as `x-default`: generated clients send what stands under
    `default`, and a figure that is sent counts as entered.
    """
    facts, unit = member.facts, unit_text(member.facts, system)
    if _may_be_null(member, reply):
        schema = _or_null(schema)
    if facts.type == "parts" and not reply:
        ends = {"minItems": facts.low, "maxItems": facts.high}
        schema = schema | {name: int(end) for name, end in ends.items() if end}
    usual = None if reply else default(member, system)
    unset = f"Without a value: {facts.when_unset}." if facts.when_unset else ""
    unset = unset or ("" if usual in (None, "", []) else f"Default: {json.dumps(usual)}.")
    said = [f"{facts.label}." if facts.label else "", facts.help,
            f"Unit: {unit}." if unit else "", unset]  # fmt: skip
    schema = schema | {"description": " ".join(filter(None, said))}
    if unit:
        schema |= {"x-unit": unit}
    if not (reply or member.required) and facts.basis != "entered":
        schema |= {"x-default-basis": facts.basis, "x-default-source": facts.source}
    return schema if usual is None else schema | {"x-default": usual}


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    """Let a schema take null too."""
    if "oneOf" in schema:
        return {**schema, "oneOf": [*schema["oneOf"], {"type": "null"}]}
    kinds = {"type": [schema["type"], "null"]} if "type" in schema else {}
    return schema | kinds | ({"enum": [*schema["enum"], None]} if "enum" in schema else {})


def _may_be_null(member: Member, reply: bool) -> bool:
    return member.optional or (member.null_is_unset and not reply)


def add_class(
    named: Schemas, cls: type[Any], system: System, kind: str = "", *,
    top: bool = False, reply: bool = False,
) -> str:  # fmt: skip
    """Put the schema of a dataclass among those of a document; return its name there.

    The arguments are those of `object_schema`. Replies differ in units alone and some parts of
    requests in nothing: these have one schema for both systems. Other requests differ in bounds.
    """
    shared = reply or not (top or _has_units(cls))
    name = cls.__name__ + ("Alternative" if kind else "") + ("" if shared else system.title())
    if name not in named:
        made = (
            reply_schema(named, cls) if reply else object_schema(named, cls, system, kind, top=top)
        )
        named[name] = {**made, SHARED: shared}
    return name


def _has_units(cls: type[Any]) -> bool:
    """Tell whether an object has numbers whose unit is another in the other system."""
    return any(
        unit_text(member.facts, "ip") != unit_text(member.facts, "si")
        or any(_has_units(inner) for inner in member.kinds.values())
        for member in members(cls)
    )


def reply_schema(named: Schemas, cls: type[Any]) -> dict[str, Any]:
    """Return the one schema of a class that is only written, in either system of units."""
    ip, si = (object_schema(named, cls, system, reply=True) for system in units.SYSTEMS)
    return {**_merged(ip, si), SHARED: True}


def _merged(ip: Any, si: Any) -> Any:
    """Return what two schemas say that differ in their units alone."""
    if isinstance(ip, list):
        return [_merged(*pair) for pair in zip(ip, si, strict=True)]
    if not isinstance(ip, dict):
        return ip
    found = {key: _merged(ip[key], si[key]) for key in ip}
    for key, end in found.items():
        if key in _ENDS:
            found[key] = _ENDS[key](end, si[key])
        elif key == "description" and isinstance(end, str) and end != si[key]:
            other = _UNIT.search(si[key])
            found[key] = _UNIT.sub(rf"Unit: \1, in SI {other[1]}.", end) if other else end
    if ip.get("x-unit") != si.get("x-unit"):
        found["x-unit"] = {"ip": ip.get("x-unit", ""), "si": si.get("x-unit", "")}
    return found


def object_schema(
    named: Schemas, cls: type[Any], system: System, kind: str = "", *,
    top: bool = False, reply: bool = False,
) -> dict[str, Any]:  # fmt: skip
    """Return the JSON Schema of a dataclass whose fields carry `Facts`.

    Parameters
    ----------
    named : dict
        The schemas of a document by name, which get those of the classes that it nests.
    cls : type
    system : "ip" or "si"
        The unit of bare numbers.
    kind : str
        The word of an alternative, where several kinds are possible.
    top : bool
        Whether the object states its ``units``.
    reply : bool
        Whether it is only written.
    """
    found = members(cls)
    head = {"units": _word(UNITS, system)} if top else {}
    head |= {"kind": _word(KIND, kind)} if kind else {}
    properties = head | (_ORIGINS if top and cls is Case else {})
    properties |= {one.name: _of_member(named, one, system, reply) for one in found}
    properties |= _VALUE_AND_UNIT if cls in OF_A_KIND else {}
    required = [*head, *(one.name for one in found if reply or one.required)]
    required += ["unit"] if cls in OF_A_KIND else []
    return {
        "type": "object",
        "properties": properties,
        **({"required": sorted(required)} if required else {}),
        "description": (cls.__doc__ or "").strip().split("\n")[0],
        **({} if reply else {"additionalProperties": False}),
    }


_ORIGINS: dict[str, Any] = {"origins": {
    "type": ["object", "null"],
    "additionalProperties": {"type": "string", "enum": [*BASES, DEFAULT]},
    "description": "Bases of figures. By JSON pointer, of all that it leads to: a basis; or "
    "default, which is read as if left out, and refused where it is another figure.",
    "propertyNames": {"pattern": r"^(/[^\x00-\x1f\x7f-\x9f]*)?$"},
}}  # fmt: skip
# Of an object whose value is of the kind that it names itself.
_VALUE_AND_UNIT: dict[str, Any] = {
    "value": {
        "readOnly": True,
        "oneOf": [{"type": "number"}, {"type": "string"}, {"type": "null"}],
        "description": "Value, in `unit`.",
    },
    "unit": {"readOnly": True, "type": ["string", "null"], "description": "Unit of the value."},
}


def _word(facts: Choice, word: str) -> dict[str, Any]:
    """Return the schema of a word that chose this one: the units, or the kind of an alternative."""
    about = f"{facts.label}. {facts.help}".strip()
    return {"type": "string", "enum": [word], "description": about}


def _of_member(named: Schemas, member: Member, system: System, reply: bool) -> dict[str, Any]:
    if not (member.item or member.kinds):
        schema = value_schema(member.facts, system, reply)
        if member.many and member.facts.type == "quantity":
            schema = {"type": "array", "items": schema}
        return described(schema, member, system, reply)
    names = [add_class(named, cls, system, kind, reply=reply) for kind, cls in member.kinds.items()]
    refs: list[dict[str, Any]] = [{"$ref": f"#/components/schemas/{name}"} for name in names]
    refs = refs or [{"type": "integer" if member.item is int else "string"}]
    if not member.many:
        null = [{"type": "null"}] if _may_be_null(member, reply) else []
        alone = refs[0] if not null else {"anyOf": [*refs, *null]}
        schema = alone if "" in member.kinds else {"oneOf": [*refs, *null]}
        return described({}, member, system, reply) | schema
    inner = refs[0] if len(refs) == 1 else {"oneOf": refs}
    return described({"type": "array"}, member, system, reply) | {"items": inner}
