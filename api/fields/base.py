"""What every field shares: facts, faults in words, and its place in the document."""

from __future__ import annotations

import math
from typing import Any

from marshmallow import ValidationError, fields

from api.problems import Fault
from lcc.case.fields import Facts
from lcc.units import System


def refuse(
    detail: str, allowed: str = "", unit: str = "", rule: str = "type", limit: str = ""
) -> ValidationError:
    """Return the error that carries one `Fault`."""
    return ValidationError([Fault(detail, allowed, unit, rule, limit)])


class Value(fields.Field[Any]):
    """The common part: facts, the label for sentences, and words for missing and null."""

    def __init__(self, facts: Facts, system: System, **options: Any) -> None:
        self.facts = facts
        self.system = system
        self.label = facts.label or "This"
        options.setdefault("allow_none", bool(facts.when_unset))
        super().__init__(**options, error_messages=self._messages())

    def _messages(self) -> Any:
        allowed = self.allowed
        asked = f"{self.asking} {spoken(self.label)}."
        return {
            "required": [Fault(asked, allowed, self.unit_text, "required")],
            "null": [Fault(asked, allowed, self.unit_text)],
        }

    @property
    def asking(self) -> str:
        """What is asked for where a value is missing."""
        return "Please enter the"

    @property
    def allowed(self) -> str:
        """What is accepted, as a phrase."""
        return self.facts.allowed

    @property
    def unit_text(self) -> str:
        """The unit of a bare number, or nothing."""
        return ""

    def wrong(
        self, value: Any, allowed: str = "", rule: str = "type", limit: str = ""
    ) -> ValidationError:
        """Return the error for a value of this field."""
        allowed = allowed or self.allowed
        detail = f"{self.label} is {named(value)}; allowed: {allowed}."
        return refuse(detail, allowed, self.unit_text, rule, limit)

    def core_json(self) -> dict[str, Any]:
        """Return the JSON Schema of a value that is not null."""
        raise NotImplementedError

    def openapi(self) -> dict[str, Any]:
        """Return the JSON Schema of this field with its facts."""
        return self.openapi_of(self.core_json())

    def openapi_of(self, schema: dict[str, Any]) -> dict[str, Any]:
        """Return a JSON Schema of the value with this field's facts around it."""
        if self.allow_none:
            schema = _or_null(schema)
        words = [self.facts.label + "." if self.facts.label else "", self.facts.help]
        if self.unit_text:
            words.append(f"Unit: {self.unit_text}.")
        if self.facts.when_unset:
            words.append(f"Without a value: {self.facts.when_unset}.")
        schema["description"] = " ".join(word for word in words if word)
        if self.unit_text:
            schema["x-unit"] = self.unit_text
        if not self.required and self.facts.basis != "entered":
            schema["x-default-basis"] = self.facts.basis
            schema["x-default-source"] = self.facts.source
        if "default" in self.metadata:
            schema["default"] = self.metadata["default"]
        return schema


def spoken(label: str) -> str:
    """Return a label as it stands within a sentence: its first letter small, but for initials.

    Examples
    --------
    >>> spoken("Roof area"), spoken("CO2 of gas burned"), spoken("R-value")
    ('roof area', 'CO2 of gas burned', 'R-value')
    """
    return label[:1].lower() + label[1:] if label[1:2].islower() else label


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    if "oneOf" in schema:
        return {**schema, "oneOf": [*schema["oneOf"], {"type": "null"}]}
    if "$ref" in schema:
        return {"oneOf": [schema, {"type": "null"}]}
    wider = {**schema, "type": [schema["type"], "null"]}
    return wider | ({"enum": [*schema["enum"], None]} if "enum" in schema else {})


def named(value: Any) -> str:
    """Return what was given, as a phrase of a sentence."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, str):
        return f"the text {value[:40]!a}" + ("..." if len(value) > 40 else "")
    return f"{value:.15g}" if isinstance(value, float) else str(value)[:40]


def is_number(value: Any) -> bool:
    """Tell whether a value is a finite JSON number: not a bool, not a text."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    try:
        return math.isfinite(value)
    except OverflowError:
        return False


class Plain(Value):
    """A value of a reply that is passed as it is."""

    def __init__(self, facts: Facts, system: System, item: str, **options: Any) -> None:
        self.item = item
        super().__init__(facts, system, **options)

    def core_json(self) -> dict[str, Any]:
        """The item's type."""
        return {"type": self.item}


class PlainList(Plain):
    """A list in a reply: of texts, or of whole numbers."""

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return list(value)

    def core_json(self) -> dict[str, Any]:
        """An array of the items."""
        return {"type": "array", "items": super().core_json()}
