"""Marshmallow fields of the service: values with units, lists of parts, parts of several kinds.

A value is read and written by `lcc.case.document_values`; here it becomes a field whose `metadata`
describe it in JSON Schema words, which apispec copies into the document of the service.
"""

from collections.abc import Mapping
from itertools import islice
from typing import Any, ClassVar

from marshmallow import Schema, ValidationError, fields, missing

from api.json_schema import described, value_schema
from api.limits import check_time
from api.problems import MOST_LISTED, Fault, fault_of
from lcc.case import document_values as values
from lcc.case.case_document import Member, kind_in, unusable_origin
from lcc.case.fields import BASES, Choice, Facts
from lcc.case.marked_defaults import DEFAULT
from lcc.errors import CaseError
from lcc.units import System, ordered


def refused(error: CaseError, limit: str = "") -> ValidationError:
    """Return an error of the core as one of marshmallow, at its place within the value."""
    messages: Any = [fault_of(error, limit)]
    for part in reversed([part for part in error.field.split(".") if part]):
        messages = {int(part) if part.isdigit() else part: messages}
    return ValidationError(messages)


def options(
    member: Member, system: System, schema: dict[str, Any], reply: bool = False
) -> dict[str, Any]:
    """Return the options of a field: its name, what it must hold, its messages, its metadata."""
    return {
        "data_key": member.name,
        "required": reply or member.required,
        "allow_none": member.optional or (member.null_is_unset and not reply),
        "error_messages": {} if reply else _asking(member.facts, system),  # a reply is never read
        "metadata": described(schema, member, system, reply),
    }


def _asking(facts: Facts, system: System) -> dict[str, Any]:
    """Return the messages for a value that is not there, and for one that is null."""
    rules = {"required": "required", "null": "type"}
    return {key: [fault_of(values.missing(facts, system, rule))] for key, rule in rules.items()}


class Value(fields.Field[Any]):
    """A value that is read into the core's unit and written in the document's."""

    def __init__(
        self, facts: Facts, system: System, limit: str = "", reply: bool = False, **named: Any
    ) -> None:
        self.facts = facts
        self.system = system
        self.limit = limit
        self.reply = reply
        super().__init__(**named)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        try:
            return values.read(self.facts, value, self.system)
        except CaseError as error:
            too_many = self.limit and error.rule == "range" and value > self.facts.high
            raise refused(error, self.limit if too_many else "") from None

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        if self.reply and isinstance(value, str):
            return ordered(value, self.system)
        return values.write(self.facts, value, self.system)


class Sentence(fields.String):
    """A sentence of a reply, the document's unit first wherever a figure stands in both."""

    def __init__(self, system: System, **named: Any) -> None:
        self.system = system
        super().__init__(**named)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return ordered(str(value), self.system)


class PartList(fields.List[Any]):
    """A list of parts, bounded in number before any is read; reading stops at many faults."""

    def __init__(
        self, inner: fields.Field[Any], facts: Facts, system: System, limit: str = "", **named: Any
    ) -> None:
        self.facts = facts
        self.system = system
        self.limit = limit
        super().__init__(inner, **named)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        try:
            members = values.counted(self.facts, value, self.system)
        except CaseError as error:
            too_many = error.rule == "range" and len(value) > (self.facts.low or 0)
            raise refused(error, self.limit if too_many else "") from None
        read: list[Any] = []
        errors: dict[int, Any] = {}
        for index, each in enumerate(members):
            check_time()
            try:
                read.append(self.inner.deserialize(each, **kwargs))
            except ValidationError as error:
                errors[index] = error.messages
                if _count(errors) > MOST_LISTED:
                    break
        if errors:
            raise ValidationError(errors)
        return tuple(read)


def _count(messages: Any) -> int:
    """Return how many faults there are in marshmallow's nested messages."""
    if isinstance(messages, dict):
        return sum(map(_count, messages.values()))
    return len(messages) if isinstance(messages, list) else 1


class OneOfKinds(fields.Field[Any]):
    """A part of one of several kinds, each with its schema, known by its ``kind``."""

    def __init__(self, facts: Facts, kinds: Mapping[str, Schema], **named: Any) -> None:
        self.facts = facts
        self.kinds = kinds
        super().__init__(**named)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            allowed = f'an object with "kind" one of {", ".join(self.kinds)}'
            raise refused(values.wrong(self.facts, value, "si", allowed))
        try:
            kind = kind_in(self.kinds, value)
        except CaseError as error:
            raise refused(error) from None
        return self.kinds[kind].load(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        one = next(each for each in self.kinds.values() if isinstance(value, each.core_class))  # type: ignore[attr-defined]
        return one.dump(value)


class Constant(Value):
    """A word that chose the schema: the units, or the kind of an alternative.

    The document names only this word; an error names all.
    """

    def __init__(self, facts: Choice, word: str) -> None:
        self.word = word
        metadata = {
            "type": "string",
            "enum": [word],
            "description": f"{facts.label}. {facts.help}".strip(),
        }
        asking = _asking(facts, "si")
        super().__init__(facts, "si", required=True, error_messages=asking, metadata=metadata)

    def serialize(self, attr: str, obj: Any, accessor: Any = None, **kwargs: Any) -> str:
        """Return the word itself: the dataclass does not carry it."""
        return self.word


class BasesByPointer(fields.Field[Any]):
    """Where figures of a case come from, where they are not entered: a basis by JSON pointer."""

    names: ClassVar = {"pattern": r"^(/[^\x00-\x1f\x7f-\x9f]*)?$"}

    def __init__(self) -> None:
        self.allowed = f"JSON pointers such as /roof/area, each with one of {', '.join(BASES)}"
        words = {"type": "string", "enum": [*BASES, DEFAULT]}
        about = (
            "Bases of figures. By JSON pointer, of all that it leads to: a basis; or default, "
            "which is read as if left out, and refused where it is another figure."
        )
        metadata = {
            "type": "object", "additionalProperties": words, "description": about,
        }  # fmt: skip
        super().__init__(data_key="origins", allow_none=True, metadata=metadata)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            said = f"Bases of figures is {values.named(value)}; allowed: {self.allowed}."
            raise ValidationError([Fault(said, self.allowed)])
        wrong = (
            (pointer, [Fault(f"{detail}; allowed: {self.allowed}.", self.allowed, rule=rule)])
            for pointer, basis in value.items()
            for detail, rule in [unusable_origin(pointer, basis, data)]
            if detail
        )
        if first := dict(islice(wrong, MOST_LISTED + 1)):
            raise ValidationError(first)
        return value

    def serialize(self, attr: str, obj: Any, accessor: Any = None, **kwargs: Any) -> Any:
        """Written by `service.case_document`, which knows what was stated."""
        return missing


def of_member(member: Member, system: System, limit: str = "", reply: bool = False) -> Any:
    """Return the field of a value, or of a list of plain values in a reply."""
    if member.item:
        inner = fields.Integer() if member.item is int else Sentence(system)
        return fields.List(inner, **options(member, system, {}, reply))
    schema = value_schema(member.facts, system, reply)
    if member.many and member.facts.type == "quantity":
        schema = {"type": "array", "items": schema}
    return Value(member.facts, system, limit, reply, **options(member, system, schema, reply))
