"""Words: choices and keys, texts, and yes or no."""

from __future__ import annotations

import re
from typing import Any

from api.fields.base import Value, refuse
from api.units import System

from lcc.case.fields import Facts, nearest_words
from lcc.case.proposal import LINES

MOST_TEXT = 200
MOST_FILE_TEXT = 4 * 1024 * 1024
# No C0 or C1 control characters; a file may hold tabs and line ends besides.
CLEAN = r"^[^\x00-\x1f\x7f-\x9f]*$"
CLEAN_FILE = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]*$"
FILE = "file"


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
        spelled = value[:MOST_TEXT].lower().replace(" ", "-") if isinstance(value, str) else ""
        near = nearest_words(spelled, self.words)
        hint = f"{self.allowed}; the nearest: {', '.join(near)}" if near else self.allowed
        raise self.wrong(value, hint, "key" if isinstance(value, str) else "type")

    def core_json(self) -> dict[str, Any]:
        """An enumeration."""
        return {"type": "string", "enum": list(self.words)}


class WordList(Value):
    """A list of words out of a closed list, each once."""

    def __init__(
        self, facts: Facts, system: System, words: tuple[str, ...], **options: Any
    ) -> None:
        self.words = words
        super().__init__(facts, system, **options)

    @property
    def allowed(self) -> str:
        """The words of which one or more may be named."""
        return f"a list of one or more of {', '.join(self.words)}, each once"

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else list(value)

    def _deserialize(
        self, value: Any, attr: str | None, data: Any, **kwargs: Any
    ) -> tuple[str, ...]:
        if not isinstance(value, list):
            raise self.wrong(value)
        if not 1 <= len(value) <= len(self.words):
            detail = f"{self.label}: {len(value)} given; allowed: {self.allowed}."
            raise refuse(detail, self.allowed, rule="range")
        known = [word for word in value if isinstance(word, str) and word in self.words]
        if len(known) < len(value) or len(set(known)) < len(known):
            raise self.wrong(value, rule="key")
        return tuple(known)

    def core_json(self) -> dict[str, Any]:
        """An array of words."""
        items = {"type": "string", "enum": list(self.words)}
        bounds = {"minItems": 1, "maxItems": len(self.words), "uniqueItems": True}
        return {"type": "array", "items": items, **bounds}


class TextField(Value):
    """A name, or the contents of a file, without control characters."""

    @property
    def _limits(self) -> tuple[int, str]:
        lines = self.facts.kind in (FILE, LINES)
        most = MOST_FILE_TEXT if self.facts.kind == FILE else MOST_TEXT
        return int(self.facts.high or most), CLEAN_FILE if lines else CLEAN

    @property
    def allowed(self) -> str:
        """A text of bounded length."""
        return f"a text of at most {self._limits[0]} characters without control characters"

    @property
    def asking(self) -> str:
        """A file is chosen, all else is typed."""
        return "Please choose the" if self.facts.kind == FILE else super().asking

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


class YesNo(Value):
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
