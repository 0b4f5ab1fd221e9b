"""Marshmallow fields that read and write one value exactly, and describe themselves.

Each field is made from the `Facts` of a dataclass field. It refuses with a `Fault` (a sentence,
what is allowed, the unit) and its `openapi` says the same rules in JSON Schema words, so that the
document and the answers cannot drift apart.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from marshmallow import Schema, ValidationError, fields

from api import units
from api.problems import Fault
from api.units import System
from lcc.case.fields import Facts

MOST_TEXT = 200
MOST_FILE_TEXT = 4 * 1024 * 1024
# No C0 or C1 control characters; a file may hold tabs and line ends besides.
CLEAN = r"^[^\x00-\x1f\x7f-\x9f]*$"
CLEAN_FILE = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]*$"
FILE = "file"


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
        return {
            "required": [Fault(f"{self.label} is missing.", allowed, self.unit_text, "required")],
            "null": [Fault(f"{self.label} may not be null.", allowed, self.unit_text)],
        }

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
        detail = f"{self.label} is {_named(value)}; allowed: {allowed}."
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


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    if "oneOf" in schema:
        return {**schema, "oneOf": [*schema["oneOf"], {"type": "null"}]}
    if "$ref" in schema:
        return {"oneOf": [schema, {"type": "null"}]}
    wider = {**schema, "type": [schema["type"], "null"]}
    return wider | ({"enum": [*schema["enum"], None]} if "enum" in schema else {})


def _named(value: Any) -> str:
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


class Quantity(Value):
    """A number in the request's unit, or a text with its own unit; the core's number inside."""

    def __init__(
        self, facts: Facts, system: System, *, reply: bool = False, **options: Any
    ) -> None:
        self.kind = facts.kind
        self.reply = reply
        self.low = _bound(facts.low, facts.kind, system)
        self.high = _bound(facts.high, facts.kind, system)
        super().__init__(facts, system, **options)

    @property
    def unit_text(self) -> str:
        """The unit of a bare number, as a spelling that texts may use too."""
        return units.unit(self.kind, self.system).text

    @property
    def allowed(self) -> str:
        """The range in the request's unit."""
        shown = f" {self.unit_text}" if self.unit_text else ""
        return range_phrase(self.facts, self.low, self.high) + shown

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        if value is None:
            return None
        if isinstance(value, tuple):
            return [units.from_core(float(v), self.kind, self.system) for v in value]
        return units.from_core(float(value), self.kind, self.system)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        if isinstance(value, str):
            return self._read_text(value)
        if not is_number(value):
            raise self.wrong(value, f"a number, {self.allowed}")
        if not self._fits(float(value)):
            raise self.wrong(value, rule="range")
        return self._snapped(units.to_core(float(value), self.kind, self.system))

    def _read_text(self, text: str) -> float:
        try:
            core = units.parse(text, self.kind)
        except units.UnitError as error:
            raise self._unreadable(error) from None
        core = self._snapped(core, relative=1e-12)
        if not self._fits_core(core):
            raise self.wrong(text, rule="range")
        return core

    def _unreadable(self, error: units.UnitError) -> ValidationError:
        spelled = f"a text with one of the units {', '.join(error.allowed)}"
        bare = f"a number{' of ' + self.unit_text if self.unit_text else ''}"
        allowed = f"{bare}, or {spelled}" if error.allowed else bare
        return refuse(f"{self.label}: {error.detail}.", allowed, self.unit_text, "unit")

    def _fits(self, value: float) -> bool:
        facts = self.facts
        above = self.low is None or (value > self.low if facts.low_open else value >= self.low)
        below = self.high is None or (value < self.high if facts.high_open else value <= self.high)
        return above and below

    def _fits_core(self, core: float) -> bool:
        facts = self.facts
        above = facts.low is None or (core > facts.low if facts.low_open else core >= facts.low)
        below = facts.high is None or (core < facts.high if facts.high_open else core <= facts.high)
        return above and below

    def _snapped(self, core: float, relative: float = 1e-9) -> float:
        """Take out the rounding of a conversion where it crosses a bound of the core."""
        facts = self.facts
        for bound, opened, towards in (
            (facts.low, facts.low_open, math.inf),
            (facts.high, facts.high_open, -math.inf),
        ):
            if bound is not None and abs(core - bound) <= relative * abs(bound):
                crossed = core <= bound if towards > 0 else core >= bound
                return (math.nextafter(bound, towards) if opened else bound) if crossed else core
        return core

    def core_json(self) -> dict[str, Any]:
        """A number with its bounds, or a text of the closed table."""
        number: dict[str, Any] = {"type": "number"}
        if self.low is not None:
            number["exclusiveMinimum" if self.facts.low_open else "minimum"] = self.low
        if self.high is not None:
            number["exclusiveMaximum" if self.facts.high_open else "maximum"] = self.high
        if self.reply or not units.spellings(self.kind):
            return number
        text = {"type": "string", "maxLength": units.MAX_TEXT, "pattern": units.pattern(self.kind)}
        return {"oneOf": [number, text]}


def _bound(core: float | None, kind: str, system: System) -> float | None:
    return None if core is None else units.from_core(float(core), kind, system)


def range_phrase(facts: Facts, low: float | None, high: float | None) -> str:
    """Return a range as a phrase: ``more than 0, at most 78.74``."""
    parts = []
    if low is not None:
        parts.append(f"{'more than' if facts.low_open else 'at least'} {low:.12g}")
    if high is not None:
        parts.append(f"{'less than' if facts.high_open else 'at most'} {high:.12g}")
    return ", ".join(parts) or "any finite number"


class Whole(Value):
    """A whole number; 3.0 is one, as JSON Schema has it."""

    @property
    def allowed(self) -> str:
        """The range of whole numbers."""
        return "a whole number, " + range_phrase(self.facts, self.facts.low, self.facts.high)

    @property
    def unit_text(self) -> str:
        """The unit, such as years."""
        return units.unit(self.facts.kind, self.system).text if self.facts.kind else ""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> int:
        if not is_number(value) or value != int(value):
            raise self.wrong(value)
        low, high = self.facts.low, self.facts.high
        if high is not None and value > high and self.metadata.get("limit"):
            raise self.wrong(value, rule="limit", limit=self.metadata["limit"])
        if (low is not None and value < low) or (high is not None and value > high):
            raise self.wrong(value, rule="range")
        return int(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> int | None:
        return None if value is None else int(value)

    def core_json(self) -> dict[str, Any]:
        """An integer with its bounds."""
        schema: dict[str, Any] = {"type": "integer"}
        if self.facts.low is not None:
            schema["minimum"] = int(self.facts.low)
        if self.facts.high is not None:
            schema["maximum"] = int(self.facts.high)
        return schema


class Word(Value):
    """One of a closed list of words: a choice, or the key of a table's row."""

    def __init__(
        self, facts: Facts, system: System, words: tuple[str, ...], **options: Any
    ) -> None:
        self.words = words
        super().__init__(facts, system, **options)

    @property
    def allowed(self) -> str:
        """The words, or where they are listed if they are many."""
        if len(self.words) <= 12:
            return "one of " + ", ".join(self.words)
        return f"a key of the table {self.facts.table.replace('_', '-')}"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if isinstance(value, str) and value in self.words:
            return value
        near = get_close_matches(value[:MOST_TEXT], self.words, 3) if isinstance(value, str) else ()
        hint = f"{self.allowed}; the nearest: {', '.join(near)}" if near else self.allowed
        raise self.wrong(value, hint, "key" if isinstance(value, str) else "type")

    def core_json(self) -> dict[str, Any]:
        """An enumeration."""
        return {"type": "string", "enum": list(self.words)}


class Text(Value):
    """A name, or the contents of a file, without control characters."""

    @property
    def _limits(self) -> tuple[int, str]:
        return (MOST_FILE_TEXT, CLEAN_FILE) if self.facts.kind == FILE else (MOST_TEXT, CLEAN)

    @property
    def allowed(self) -> str:
        """A text of bounded length."""
        return f"a text of at most {self._limits[0]} characters without control characters"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        most, clean = self._limits
        if not isinstance(value, str):
            raise self.wrong(value)
        if len(value) > most:
            raise refuse(
                f"{self.label} is {len(value)} characters long; allowed: {self.allowed}.",
                self.allowed,
                rule="text",
            )
        # \Z rather than $, which also matches before a last line end.
        if not re.match(clean.replace("$", r"\Z"), value):
            raise self.wrong(value, rule="text")
        return value

    def core_json(self) -> dict[str, Any]:
        """A string with its pattern."""
        most, clean = self._limits
        return {"type": "string", "maxLength": most, "pattern": clean}


class Flag(Value):
    """True or false, as JSON has them."""

    @property
    def allowed(self) -> str:
        """The two words."""
        return "true or false"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise self.wrong(value)
        return value

    def core_json(self) -> dict[str, Any]:
        """A boolean."""
        return {"type": "boolean"}


class Part(Value):
    """One nested object, or one of several kinds told apart by ``kind``."""

    def __init__(
        self,
        facts: Facts,
        system: System,
        schemas: Mapping[str, Schema],
        **options: Any,
    ) -> None:
        self.schemas = schemas
        super().__init__(facts, system, **options)

    @property
    def allowed(self) -> str:
        """An object."""
        if len(self.schemas) == 1:
            return "an object"
        return f'an object with "kind" one of {", ".join(self.schemas)}'

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise self.wrong(value)
        return self._read_one(value)

    def _read_one(self, value: dict[str, Any]) -> Any:
        if len(self.schemas) == 1:
            return next(iter(self.schemas.values())).load(value)
        return self._schema_of_kind(value).load(value)

    def _schema_of_kind(self, value: dict[str, Any]) -> Schema:
        kind = value.get("kind")
        if isinstance(kind, str) and kind in self.schemas:
            return self.schemas[kind]
        words = "one of " + ", ".join(self.schemas)
        given = f"Kind is {_named(kind)}" if "kind" in value else "Kind is missing"
        rule = "key" if "kind" in value else "required"
        fault = Fault(f"{given}; allowed: {words}.", words, rule=rule)
        raise ValidationError({"kind": [fault]})

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        if value is None:
            return None
        for schema in self.schemas.values():
            if isinstance(value, schema.core_class):  # type: ignore[attr-defined]
                return schema.dump(value)
        raise TypeError(f"no schema for {type(value).__name__}")


class Parts(Part):
    """A list of nested objects, bounded in number."""

    @property
    def allowed(self) -> str:
        """A list."""
        low, high = self.facts.low, self.facts.high
        bounds = [f"at least {low:g}" if low else "", f"at most {high:g}" if high else ""]
        counted = ", ".join(bound for bound in bounds if bound)
        return "a list of objects" + (f", {counted}" if counted else "")

    def openapi_of(self, schema: dict[str, Any]) -> dict[str, Any]:
        """Return an array of the members, bounded in number."""
        array: dict[str, Any] = {"type": "array", "items": schema}
        if self.facts.low:
            array["minItems"] = int(self.facts.low)
        if self.facts.high:
            array["maxItems"] = int(self.facts.high)
        return super().openapi_of(array)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise self.wrong(value)
        self._check_number(value)
        loaded: list[Any] = []
        errors: dict[int, Any] = {}
        for index, member in enumerate(value):
            try:
                if not isinstance(member, dict):
                    raise refuse(
                        f"This entry is {_named(member)}; allowed: an object.", "an object"
                    )
                loaded.append(self._read_one(member))
            except ValidationError as error:
                errors[index] = error.messages
        if errors:
            raise ValidationError(errors)
        return tuple(loaded)

    def _check_number(self, value: list[Any]) -> None:
        low, high = self.facts.low or 0, self.facts.high
        if low <= len(value) and (high is None or len(value) <= high):
            return
        limit = self.metadata.get("limit", "") if len(value) > low else ""
        detail = f"{self.label}: {len(value)} given; allowed: {self.allowed}."
        raise refuse(detail, self.allowed, rule="limit" if limit else "range", limit=limit)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return [super(Parts, self)._serialize(member, attr, obj) for member in value]


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
