"""Marshmallow fields that read and write one value exactly, and describe themselves.

Each field is made from the `Facts` of a dataclass field. It refuses with a `Fault` (a sentence,
what is allowed, the unit) and its `openapi` says the same rules in JSON Schema words, so that the
document and the answers cannot drift apart.
"""

from __future__ import annotations

from api.fields.base import Plain, PlainList, Value, is_number, refuse
from api.fields.nested import PartField, PartsField
from api.fields.numbers import QuantityField, WholeField, range_phrase
from api.fields.special import (
    AssumedUnit,
    AssumedValue,
    BasesByPointer,
    Constant,
    QuantityList,
)
from api.fields.words import CLEAN, FILE, MOST_TEXT, TextField, Word, WordList, YesNo

__all__ = [
    "CLEAN",
    "FILE",
    "MOST_TEXT",
    "AssumedUnit",
    "AssumedValue",
    "BasesByPointer",
    "Constant",
    "PartField",
    "PartsField",
    "Plain",
    "PlainList",
    "QuantityField",
    "QuantityList",
    "TextField",
    "Value",
    "WholeField",
    "Word",
    "WordList",
    "YesNo",
    "is_number",
    "range_phrase",
    "refuse",
]
