"""Nested objects and lists of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import Schema, ValidationError

from api.fields.base import Value, named, refuse
from api.problems import Fault
from lcc.case.fields import Facts
from lcc.units import System


class PartField(Value):
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
        given = f"Kind is {named(kind)}" if "kind" in value else "Kind is missing"
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


class PartsField(PartField):
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
                    raise refuse(f"This entry is {named(member)}; allowed: an object.", "an object")
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
        return [super(PartsField, self)._serialize(member, attr, obj) for member in value]
