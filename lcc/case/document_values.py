"""One value of a document: read into the core's unit and written back, by the facts of its field.

`lcc.document_reader` reads whole documents with it.
"""

import math
import re
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

from lcc import tables, units
from lcc.case.fields import Facts, between, in_range, nearest_words, range_phrase
from lcc.case.proposal import LINES
from lcc.errors import CaseError
from lcc.units import System

MOST_TEXT = 200
MOST_FILE_TEXT = 4 * 1024 * 1024
# No C0 or C1 control characters; a file may hold tabs and line ends besides.
CLEAN = r"^[^\x00-\x1f\x7f-\x9f]*$"
CLEAN_FILE = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]*$"
ABSENT = object()
FILE, SUMS = "file", "sums"  # kinds of texts; one sum of money may be a number too


def value_at(document: Any, path: Sequence[str | int]) -> Any:
    """Return the value of a document at a path, or `ABSENT`."""
    for part in path:
        try:
            document = document[part]
        except (LookupError, TypeError):
            return ABSENT
    return document


def read(facts: Facts, value: Any, system: System) -> Any:
    """Return the core's value of what a document holds for a field.

    Raises
    ------
    CaseError
        With the whole sentence, what is allowed and the unit; the field's name is the caller's.

    Examples
    --------
    >>> from lcc.case.fields import Quantity
    >>> area = Quantity("area", "Roof area", low=1)
    >>> round(read(area, 24000, "ip"), 1), read(area, "50 m^2", "ip")
    (2229.7, 50.0)
    >>> read(area, -5, "si")
    Traceback (most recent call last):
    lcc.errors.CaseError: Roof area is -5; allowed: at least 1 m^2.
    """
    return _READERS[facts.type](facts, value, system)


def write(facts: Facts, value: Any, system: System) -> Any:
    """Return a value of the core as a document holds it."""
    if isinstance(value, tuple):
        if facts.type != "quantity":
            return list(value)
        return [units.from_core(float(each), facts.kind, system) for each in value]
    if facts.type == "quantity" and value is not None:
        return units.from_core(float(value), facts.kind, system)
    return int(value) if facts.type == "whole" and value is not None else value


def unit_text(facts: Facts, system: System) -> str:
    """Return the unit of a bare number, as a spelling that texts may use too, or nothing."""
    return units.unit(facts.kind, system).text if facts.kind in units.KINDS else ""


def words(facts: Facts) -> tuple[str, ...]:
    """Return the words that a choice or a key may be."""
    return tuple(facts.options or tables.keys(facts.table))


def bounds(facts: Facts, system: System) -> tuple[float | None, float | None]:
    """Return the least and the greatest number of a field, in the document's unit."""
    low, high = facts.low, facts.high
    if facts.type != "quantity":
        return low, high
    return write(facts, low, system), write(facts, high, system)


def allowed(facts: Facts, system: System) -> str:
    """Return what a field accepts, as a phrase in the document's units."""
    return _ACCEPTED[facts.type](facts, system)


def _any_word(facts: Facts) -> str:
    few = words(facts) if len(words(facts)) <= 12 or not facts.table else ()
    table = facts.table.replace("_", "-")
    return f"one of {', '.join(few)}" if few else f"a key of the table {table}"


def _in_bounds(facts: Facts, system: System) -> str:
    return range_phrase(*bounds(facts, system), facts.low_open, facts.high_open)


def _list_of_objects(facts: Facts, system: System) -> str:
    count = range_phrase(facts.low or None, facts.high or None)
    return "a list of objects" + (f", {count}" if facts.low or facts.high else "")


_ACCEPTED: dict[str, Callable[[Facts, System], str]] = {
    "quantity": lambda facts, system: (
        f"{_in_bounds(facts, system)} {unit_text(facts, system)}".strip()
    ),
    "whole": lambda facts, system: f"a whole number, {_in_bounds(facts, system)}",
    "choice": lambda facts, _: _any_word(facts),
    "key": lambda facts, _: _any_word(facts),
    "choices": lambda facts, _: f"a list of one or more of {', '.join(facts.options)}, each once",
    "text": lambda facts, _: (
        "sums of money, such as 300000 or 300,000.50"
        if facts.kind == SUMS
        else f"a text of at most {text_limits(facts)[0]} characters without control characters"
    ),
    "flag": lambda *_: "true or false",
    "part": lambda *_: "an object",
    "parts": _list_of_objects,
}


def text_limits(facts: Facts) -> tuple[int, str]:
    """Return how many characters a text may have, and the pattern of those it may hold."""
    lines = facts.kind in (FILE, LINES)
    most = MOST_FILE_TEXT if facts.kind == FILE else MOST_TEXT
    return int(facts.high or most), CLEAN_FILE if lines else CLEAN


def missing(facts: Facts, system: System, rule: str = "type") -> CaseError:
    """Return the error for a value that is not there."""
    asking = "Please choose the" if facts.kind == FILE else "Please enter the"
    detail = f"{asking} {spoken(facts.label or 'This')}."
    return _error(facts, None, system, detail, rule=rule)


def wrong(
    facts: Facts, value: Any, system: System, accepted: str = "", rule: str = "type"
) -> CaseError:
    """Return the error for a value that a field refuses."""
    accepted = accepted or allowed(facts, system)
    detail = f"{facts.label or 'This'} is {named(value)}; allowed: {accepted}."
    return _error(facts, value, system, detail, accepted, rule)


def _error(
    facts: Facts, value: Any, system: System, detail: str, accepted: str = "", rule: str = "type"
) -> CaseError:
    accepted, unit = accepted or allowed(facts, system), unit_text(facts, system)
    return CaseError("", value, accepted, detail=detail, unit=unit, rule=rule)


def spoken(label: str) -> str:
    """Return a label as it stands within a sentence: its first letter small, but for initials.

    Examples
    --------
    >>> spoken("Roof area"), spoken("CO2 of gas burned"), spoken("R-value")
    ('roof area', 'CO2 of gas burned', 'R-value')
    """
    return label[:1].lower() + label[1:] if label[1:2].islower() else label


def capital(words: str) -> str:
    """Return words as they begin a sentence: the first letter large."""
    return words[:1].upper() + words[1:]


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
        return f"the text {value[:40]!r}" + ("..." if len(value) > 40 else "")
    return f"{value:.15g}" if isinstance(value, float) else str(value)[:40]


def is_number(value: Any) -> bool:
    """Tell whether a value is a finite JSON number: not a bool, not a text."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    try:
        return math.isfinite(value)
    except OverflowError:
        return False


def _quantity(facts: Facts, value: Any, system: System) -> float:
    if isinstance(value, str):
        return _text_quantity(facts, value, system)
    if not is_number(value):
        raise wrong(facts, value, system, f"a number, {allowed(facts, system)}")
    # A bare number is judged by the bounds that the document states, to their last digit.
    if not between(float(value), facts, *bounds(facts, system)):
        raise wrong(facts, value, system, _of_percent(facts, value, system), "range")
    return _snapped(facts, units.to_core(float(value), facts.kind, system), 1e-9)


def _of_percent(facts: Facts, value: float, system: System) -> str:
    """Return what is allowed, and how a percentage is typed where one may have been meant."""
    known = allowed(facts, system)
    if facts.kind in ("rate", "fraction") and value >= 1 and in_range(value / 100, facts):
        return f'{known}; for a percentage type {value / 100:g} or "{value:g} %"'
    return known


def _text_quantity(facts: Facts, text: str, system: System) -> float:
    try:
        core = _snapped(facts, units.parse(text, facts.kind), 1e-12)
    except units.UnitError as error:
        bare = f"a number of {unit_text(facts, system)}".removesuffix(" of ")
        spelled = f"{bare}, or a text with one of the units {', '.join(error.allowed)}"
        detail = f"{facts.label or 'This'}: {error.detail}."
        accepted = spelled if error.allowed else bare
        raise _error(facts, text, system, detail, accepted, "unit") from None
    if not in_range(core, facts):
        raise wrong(facts, text, system, rule="range")
    return core


def _snapped(facts: Facts, core: float, relative: float) -> float:
    """Take out the rounding of a conversion where it crosses a bound of the core."""
    for bound, opened, towards in (
        (facts.low, facts.low_open, math.inf),
        (facts.high, facts.high_open, -math.inf),
    ):
        if bound is not None and abs(core - bound) <= relative * abs(bound):
            crossed = core <= bound if towards > 0 else core >= bound
            return (math.nextafter(bound, towards) if opened else bound) if crossed else core
    return core


def _whole(facts: Facts, value: Any, system: System) -> int:
    """Read a whole number; 3.0 is one, as JSON Schema has it."""
    if not is_number(value) or value != int(value):
        raise wrong(facts, value, system)
    if not in_range(value, facts):
        raise wrong(facts, value, system, rule="range")
    return int(value)


def _word(facts: Facts, value: Any, system: System) -> str:
    if isinstance(value, str) and value in words(facts):
        return value
    spelled = value[:MOST_TEXT].lower().replace(" ", "-") if isinstance(value, str) else ""
    near = nearest_words(spelled, words(facts))
    known = allowed(facts, system)
    hint = f"{known}; the nearest: {', '.join(near)}" if near else known
    raise wrong(facts, value, system, hint, "key" if isinstance(value, str) else "type")


def _word_list(facts: Facts, value: Any, system: System) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise wrong(facts, value, system)
    if not 1 <= len(value) <= len(facts.options):
        raise wrong_count(facts, value, system)
    unknown = [word for word in value if word not in facts.options]
    if unknown or len(set(value)) < len(value):
        raise wrong(facts, unknown[0] if unknown else value, system, rule="key")
    return tuple(value)


def wrong_count(facts: Facts, value: list[Any], system: System) -> CaseError:
    """Return the error for a list of too few or too many members."""
    known = allowed(facts, system)
    detail = f"{facts.label or 'This'}: {len(value)} given; allowed: {known}."
    return _error(facts, value, system, detail, known, "range")


def counted(facts: Facts, value: Any, system: System) -> list[Any]:
    """Return the members of a list, if it is one and has as many as its field takes."""
    if not isinstance(value, list):
        raise wrong(facts, value, system)
    if not in_range(len(value), facts):
        raise wrong_count(facts, value, system)
    return value


# The megabyte of a weather file comes again and again.
_kept_match = lru_cache(maxsize=2)(re.match)


def _text(facts: Facts, value: Any, system: System) -> str:
    most, clean = text_limits(facts)
    if facts.kind == SUMS and is_number(value):
        if value < 0:
            raise wrong(facts, value, system, rule="range")
        value = f"{value + 0.0:.2f}"  # -0.0 is 0
    if not isinstance(value, str):
        raise wrong(facts, value, system)
    if len(value) > most:
        known = allowed(facts, system)
        detail = f"{facts.label} is {len(value)} characters long; allowed: {known}."
        raise _error(facts, value, system, detail, known, "text")
    # \Z rather than $, which also matches before a last line end.
    matched = _kept_match if facts.kind == FILE else re.match
    if not matched(clean.replace("$", r"\Z"), value):
        raise wrong(facts, value, system, rule="text")
    return value


def _flag(facts: Facts, value: Any, system: System) -> bool:
    if not isinstance(value, bool):
        raise wrong(facts, value, system)
    return value


_READERS: dict[str, Callable[[Facts, Any, System], Any]] = {
    "quantity": _quantity,
    "whole": _whole,
    "choice": _word,
    "key": _word,
    "choices": _word_list,
    "text": _text,
    "flag": _flag,
}
