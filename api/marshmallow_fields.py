"""Marshmallow fields of the service: values with units, and parts of several kinds.

A value is written by `lcc.case.document_values`; here it becomes a field whose `metadata` hold
what describes it in JSON Schema words. Only the service's own document asks for that.
"""

from collections.abc import Mapping
from functools import partial
from typing import Any

from marshmallow import Schema, fields

from api.json_schema import described, value_schema
from lcc.case import document_values as values
from lcc.case.case_document import Member
from lcc.case.fields import Facts
from lcc.units import System, ordered

SAID = "said"  # in the metadata of a field: what returns its description


def options(member: Member, system: System, reply: bool = False) -> dict[str, Any]:
    """Return the options of a field: its name, what it must hold, its metadata."""
    return {
        "data_key": member.name,
        "required": reply or member.required,
        "allow_none": member.optional or (member.null_is_unset and not reply),
        "metadata": {SAID: partial(_said, member, system, reply)},
    }


def _said(member: Member, system: System, reply: bool) -> dict[str, Any]:
    nested = member.kinds or member.item
    schema = {} if nested else value_schema(member.facts, system, reply)
    if member.many and member.facts.type == "quantity":
        schema = {"type": "array", "items": schema}
    return described(schema, member, system, reply)


class Value(fields.Field[Any]):
    """A value that is written in the document's unit."""

    def __init__(self, facts: Facts, system: System, reply: bool = False, **named: Any) -> None:
        self.facts = facts
        self.system = system
        self.reply = reply
        super().__init__(**named)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        if self.reply and isinstance(value, str):
            return ordered(value, self.system)
        return values.write(self.facts, value, self.system)


class OneOfKinds(fields.Field[Any]):
    """A part of one of several kinds, each with its schema, known by its ``kind``."""

    def __init__(self, kinds: Mapping[str, Schema], **named: Any) -> None:
        self.kinds = kinds
        super().__init__(**named)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        one = next(each for each in self.kinds.values() if isinstance(value, each.core_class))  # type: ignore[attr-defined]
        return one.dump(value)


def of_member(member: Member, system: System, reply: bool = False) -> Any:
    """Return the field of a value, or of a list of plain values in a reply."""
    if member.item:
        text = Value(member.facts, system, reply=True, metadata={"type": "string"})
        inner = fields.Integer() if member.item is int else text
        return fields.List(inner, **options(member, system, reply))
    return Value(member.facts, system, reply, **options(member, system, reply))
