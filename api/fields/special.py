"""Fields that take more than one value to write: assumptions, constants, lists of quantities."""

from __future__ import annotations

import re
from typing import Any

from marshmallow import ValidationError, missing

from api.fields.base import Value, is_number, named, refuse
from api.fields.numbers import QuantityField
from api.fields.words import Word
from api.problems import ABSENT, value_at
from lcc import units
from lcc.case.fields import BASES, Facts
from lcc.units import System

_INDEX = re.compile("0|[1-9][0-9]{0,5}")  # of a list, in a JSON pointer


class AssumedValue(Value):
    """The value of an assumption, in the reply's unit of the assumption's kind."""

    def serialize(self, attr: str, obj: Any, accessor: Any = None, **kwargs: Any) -> Any:
        """Return the number converted, any other value as it is."""
        if obj.kind not in units.KINDS or not is_number(obj.value):
            return obj.value
        return units.from_core(float(obj.value), obj.kind, self.system)

    def core_json(self) -> dict[str, Any]:
        """A number, a word, or nothing."""
        return {"oneOf": [{"type": "number"}, {"type": "string"}]}


class AssumedUnit(Value):
    """The unit of an assumption's value, as texts spell it."""

    def serialize(self, attr: str, obj: Any, accessor: Any = None, **kwargs: Any) -> str | None:
        """Return the spelling, or nothing for a plain number or a word."""
        known = obj.kind in units.KINDS and is_number(obj.value)
        return (units.unit(obj.kind, self.system).text or None) if known else None

    def core_json(self) -> dict[str, Any]:
        """A spelling."""
        return {"type": "string"}


class Constant(Word):
    """A word that tells objects apart: the units, or the kind of an alternative.

    The schema was chosen by this word, so the document names only this one; an error names all.
    """

    def __init__(self, facts: Facts, system: System, word: str, words: tuple[str, ...]) -> None:
        self.word = word
        super().__init__(facts, system, words, required=True)

    def serialize(self, attr: str, obj: Any, accessor: Any = None, **kwargs: Any) -> str:
        """Return the word itself: the dataclass does not carry it."""
        return self.word

    def core_json(self) -> dict[str, Any]:
        """An enumeration of one."""
        return {"type": "string", "enum": [self.word]}


class QuantityList(QuantityField):
    """A list of numbers of one kind, as replies give them by month, hour or year."""

    def core_json(self) -> dict[str, Any]:
        """An array of numbers."""
        return {"type": "array", "items": super().core_json()}


class BasesByPointer(Value):
    """Where figures of a case come from, where they are not entered: a basis by JSON pointer."""

    @property
    def allowed(self) -> str:
        """JSON pointers into the case, each with a basis."""
        return f"JSON pointers such as /roof/area, each with one of {', '.join(BASES)}"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise self.wrong(value)
        wrong = {
            pointer: refuse(f"{detail}; allowed: {self.allowed}.", self.allowed, rule=rule).messages
            for pointer, basis in value.items()
            for detail, rule in [_unusable(pointer, basis, data)]
            if detail
        }
        if wrong:
            raise ValidationError(wrong)
        return value

    def serialize(self, attr: str, obj: Any, accessor: Any = None, **kwargs: Any) -> Any:
        """Leave it to what writes the document as it was stated."""
        return missing

    def core_json(self) -> dict[str, Any]:
        """An object of words."""
        words = {"type": "string", "enum": list(BASES)}
        return {"type": "object", "additionalProperties": words}


def _unusable(pointer: str, basis: Any, document: Any) -> tuple[str, str]:
    """Return what is wrong with a basis at a pointer and the rule that says so, or two blanks.

    Which bases there are a schema can say; that a pointer leads to something stated is a matter
    between two values of the case.
    """
    if basis not in BASES:
        return f"The basis of {pointer[:60]!a} is {named(basis)}", "type"
    steps = [int(step) if _INDEX.fullmatch(step) else step for step in pointer.split("/")[1:]]
    if pointer and (not pointer.startswith("/") or value_at(document, steps) is ABSENT):
        return f"The case states nothing at {pointer[:60]!a}", "consistency"
    return "", ""
