"""JSON as RFC 8259 means it: nothing is repaired, guessed or silently taken twice.

Python's own reader does the parsing; its hooks leave a mark where a text is not exact (a name given
twice, NaN, a number out of reach), and one walk afterwards turns all marks into faults with JSON
pointers, so that a client sees every fault at once. A byte order mark before the text is ignored,
as RFC 8259 section 8.1 allows; any encoding but UTF-8 is refused.
"""

import json
import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

from lcc.errors import MOST_LISTED, CaseError

Path = tuple[str | int, ...]
MOST_DIGITS = 30
DEEPEST = 24
MOST_OBJECTS = 50_000  # of one text; reading a part of a case takes some 50 µs
_SURROGATE = re.compile("[\ud800-\udfff]")


class JsonError(CaseError):
    """A text that is not exact JSON: the sentence, and every place where it is not."""

    def __init__(self, detail: str, places: Sequence[tuple[Path, str]] = ()) -> None:
        self.places = tuple(places)
        told = "; ".join(f"/{'/'.join(map(str, path))} {fault}" for path, fault in places)
        super().__init__(
            "", None, "exact JSON", detail=f"{detail}; {told}" if told else detail, rule="json"
        )
        self.detail = detail


class _Mark:
    """Stands where a value could not be taken as written."""

    def __init__(self, text: str, detail: str) -> None:
        self.text = text
        self.detail = detail


class _Repeated(dict[str, Any]):
    """An object in which some names were given more than once."""

    names: tuple[str, ...] = ()


def loads(body: bytes) -> Any:
    """Return the value that a body holds.

    Raises
    ------
    JsonError
        With every fault and its place, or the first of many.

    Examples
    --------
    >>> loads(b'{"a": 1, "a": 2}')
    Traceback (most recent call last):
    lcc.exact_json.JsonError: The body is not exact JSON; /a The name 'a' is given more than once.
    """
    value = _parse(_decoded(body))
    faults = list(islice(_faults(value), MOST_LISTED))
    if faults:
        raise JsonError("The body is not exact JSON", faults)
    return value


def _decoded(body: bytes) -> str:
    if not body.strip():
        raise JsonError("The request has no body; send one JSON object.")
    try:
        return body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        detail = f"The body is not UTF-8: byte {error.start} cannot be read."
        raise JsonError(detail) from None


def _parse(text: str) -> Any:
    try:
        return _Reader().decode(text)
    except json.JSONDecodeError as error:
        detail = f"The body is not JSON: line {error.lineno}, column {error.colno}: {error.msg}."
        raise JsonError(detail) from None
    except RecursionError:
        raise JsonError(_too_deep()) from None


def _too_deep() -> str:
    return f"The body is nested too deeply; at most {DEEPEST} levels are read."


class _Reader:
    """The hooks of one reading: it ends where a body holds too much, or too much that is wrong."""

    def __init__(self) -> None:
        self.objects = self.marks = 0

    def object(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        self.objects += 1
        if self.objects > MOST_OBJECTS:
            raise JsonError(f"The body holds more than {MOST_OBJECTS:,} objects; send it in parts.")
        plain = dict(pairs)
        if len(plain) == len(pairs):
            return plain
        marked = _Repeated(plain)
        counts = Counter(name for name, _ in pairs)
        marked.names = tuple(name for name, n in counts.items() if n > 1)[:MOST_LISTED]
        return marked

    def integer(self, text: str) -> int | _Mark:
        if len(text) <= MOST_DIGITS:
            return int(text)
        return self.mark(text, f"A whole number of {len(text)} digits is out of reach.")

    def real(self, text: str) -> float | _Mark:
        value = float(text)
        if math.isfinite(value):
            return value
        return self.mark(text, "The number is out of reach.")

    def constant(self, text: str) -> _Mark:
        return self.mark(text, f"{text} is not a number of JSON.")

    def mark(self, text: str, detail: str) -> _Mark:
        self.marks += 1
        if self.marks > MOST_LISTED:
            raise JsonError(
                f"The body is not exact JSON in more than {MOST_LISTED} places; {detail}"
            )
        return _Mark(text, detail)

    def decode(self, text: str) -> Any:
        return json.JSONDecoder(
            object_pairs_hook=self.object, parse_int=self.integer, parse_float=self.real,
            parse_constant=self.constant,
        ).decode(text)  # fmt: skip


def _faults(root: Any) -> Iterator[tuple[Path, str]]:
    waiting: list[tuple[Path, Any]] = [((), root)]
    while waiting:
        path, value = waiting.pop()
        yield from ((path, detail) for detail in _own_faults(value))
        if isinstance(value, _Repeated):
            yield from (
                ((*path, name), f"The name {name!a} is given more than once.")
                for name in value.names
            )
        if len(path) > DEEPEST:
            yield path, _too_deep()
        elif isinstance(value, dict):
            yield from (
                (path, f"The name {name[:40]!a} holds a character that is no text.")
                for name in value
                if _unclean(name)
            )
            waiting.extend(((*path, k), v) for k, v in reversed(value.items()) if not _plain(v))
        elif isinstance(value, list):
            members = reversed(list(enumerate(value)))
            waiting.extend(((*path, i), v) for i, v in members if not _plain(v))


def _plain(value: Any) -> bool:
    return value is None or type(value) in (int, float, bool)


def _own_faults(value: Any) -> Iterator[str]:
    if isinstance(value, _Mark):
        yield value.detail
    elif isinstance(value, str) and _unclean(value):
        yield "The text holds a character that is no text (U+0000 or half of a surrogate pair)."


def _unclean(text: str) -> bool:
    return "\x00" in text or bool(_SURROGATE.search(text))
