"""The facts of a field in the words of JSON Schema."""

import dataclasses
import json
from typing import Any

from lcc import units
from lcc.case.case_document import Member
from lcc.case.document_values import bounds, text_limits, unit_text, words, write
from lcc.case.fields import Facts
from lcc.units import System


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
    if member.optional or (member.null_is_unset and not reply):
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
    """Let a schema take null too; apispec adds the type itself."""
    if "oneOf" in schema:
        return {**schema, "oneOf": [*schema["oneOf"], {"type": "null"}]}
    return schema | ({"enum": [*schema["enum"], None]} if "enum" in schema else {})
