"""Cells of text as values of the core, each distinct text of a column read once."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Any

from api.portfolio.reading.number_text import MarkError, Marks, plain_number
from api.portfolio.vocabulary import Words, known_words, nearest, one_place
from lcc import units
from lcc.case.fields import Facts, in_range, range_phrase

MAX_TEXT = 200
NUMERIC = ("quantity", "whole")
# Distinct unknown words of a column whose nearest words are searched, which is slow.
MOST_NEAREST = 200
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
_MONEY = re.compile(r"(?:US\s?)?\$\s?|USD\s?", re.IGNORECASE)
_R_VALUE = re.compile(r"R\s?-?\s?(?=[\d.,])", re.IGNORECASE)
_DATE = re.compile(r"(?:\d\d?/)?(?:1[89]|20)\d\d|\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}(?: .*)?", re.ASCII)
_DAY_NUMBER = re.compile(r"[2-5]\d{4}", re.ASCII)
_DAY_0 = date(1899, 12, 30)  # of spreadsheets, from March 1900 on
IN_PLACES = "among the places of the mapping"
_FIRST_DAY = 22_000  # in 1960; what begins with 19 or 20 may be a year mistyped


class CellError(ValueError):
    """A cell that cannot be used; its text is the rule that it breaks."""


Reader = Callable[[str], Any]


@dataclass(frozen=True)
class Digits:
    """A cell of a number taken apart: its sign, its digits, and whether they are hundredths."""

    sign: str
    digits: str
    percent: bool = False


def digits_of(text: str, facts: Facts, unit: units.Unit) -> Digits:
    """Return a cell without what the kind of its column may carry: ``$``, ``%``, ``R-``.

    Examples
    --------
    >>> from lcc.case.fields import Quantity
    >>> digits_of("10%", Quantity("fraction", "Wet"), units.Unit(""))
    Digits(sign='', digits='10', percent=True)
    """
    sign = text[:1] if text[:1] in ("-", "+") else ""
    rest = text[len(sign) :]
    kind = facts.kind
    if kind.startswith(("price", "money")) and (money := _MONEY.match(rest)):
        rest = rest[money.end() :]
    if kind == "resistance" and unit.text.startswith("h") and (mark := _R_VALUE.match(rest)):
        rest = rest[mark.end() :]
    hundredths = bool(kind) and "%" in units.spellings(kind)
    percent = hundredths and (rest.endswith("%") or unit.text == "%")
    return Digits(sign, rest.removesuffix("%").rstrip() if percent else rest, percent)


def reader_of(facts: Facts, unit: units.Unit, marks: Marks) -> Reader:
    """Return the function that reads one stripped, non-empty cell of a column.

    Parameters
    ----------
    facts : Facts
        What the column may hold.
    unit : Unit
        Unit of its numbers.
    marks : Marks
        Marks of the table's numbers.

    Returns
    -------
    callable
        From text to a value of the core; raises `CellError` with the rule that is broken.
    """
    if facts.type in NUMERIC:
        return lambda text: _number(text, facts, unit, marks)
    if facts.type in ("key", "choice"):
        words = known_words(facts)
        return _word_reader(words, lambda text: nearest(text, words), words.rule)
    return _name


def _number(text: str, facts: Facts, unit: units.Unit, marks: Marks) -> float | int:
    parts = digits_of(text, facts, unit)

    def value_of(plain: str) -> float:
        if parts.percent:
            mantissa, _, power = plain.partition("e")
            return float(f"{parts.sign}{mantissa}e{int(power or 0) - 2}")  # exact, unlike x 0.01
        return (float(parts.sign + plain) - unit.zero) * unit.factor

    try:
        plain = plain_number(parts.digits, marks, lambda one: in_range(value_of(one), facts))
    except MarkError as error:
        hint = _hint(text, facts, unit)
        raise CellError(hint or f"{error}; allowed: {allowed(facts, unit)}") from None
    value = value_of(plain)
    whole = facts.type == "whole"
    if not in_range(value, facts) or (whole and value != int(value)):
        number = f"{'a whole number ' if whole else ''}{allowed(facts, unit)}"
        raise CellError(_hint(text, facts, unit) or number)
    return int(value) if whole else value


def day_of(text: str) -> date | None:
    """Return the day that a spreadsheet's number of it stands for, from 1960 on.

    Examples
    --------
    >>> day_of("39600"), day_of("20050")
    (datetime.date(2008, 6, 1), None)
    """
    number = int(text) if _DAY_NUMBER.fullmatch(text) else 0
    return _DAY_0 + timedelta(number) if number >= _FIRST_DAY else None


def _hint(text: str, facts: Facts, unit: units.Unit) -> str:
    """Return what to type where a number shows that it is of another kind than its column's."""
    bounds = allowed(facts, unit)
    if facts.kind == "years" and _DATE.fullmatch(text):
        return f"an age, not a year or a date: type the number of years, {bounds}"
    if facts.kind == "years" and (day := day_of(text)):
        return f"an age; {text} is how a spreadsheet stores {day}: type the years, {bounds}"
    if facts.kind == "resistance" and _R_VALUE.match(text):
        return f"an R-value of US units stands in a column of h·ft²·°F/Btu; here type {bounds}"
    if facts.kind == "fraction" and re.fullmatch(r"\d+(?:[.,]\d+)?", text, re.ASCII):
        return f"a part of 1, {bounds}; for a percentage type the sign too: {text}%"
    return ""


@cache
def allowed(facts: Facts, unit: units.Unit) -> str:
    """Return the range of a number in the unit of its column.

    Examples
    --------
    >>> from lcc.case.fields import Quantity
    >>> allowed(Quantity("area", "Area", low=1, high=1e6), units.spelled("area", "ft^2"))
    'at least 10.8, at most 10,700,000 ft²'
    """
    low, high = (
        None if bound is None else bound / unit.factor + unit.zero
        for bound in (facts.low, facts.high)
    )
    phrase = range_phrase(low, high, facts.low_open, facts.high_open)
    return f"{phrase} {unit.display}".strip()


def place_reader(facts: Facts) -> Reader:
    """Return the reader of places in a table with a mapping, which says what to write instead."""
    where = f", here or {IN_PLACES}"
    rule = f"a place that is known; type a town and its state{where}"
    return _word_reader(known_words(facts), lambda text: one_place(text) + where, rule)


def _word_reader(words: Words, near: Callable[[str], str], rule: str) -> Reader:
    """Return the reader of known words; only the first `MOST_NEAREST` unknown get near words."""
    patience = iter(range(MOST_NEAREST))

    def read(text: str) -> str:
        found = words.get(text)
        if found is None:
            few = next(patience, None) is not None
            raise CellError(near(text) if few else rule)
        return found

    return read


def _name(text: str) -> str:
    if len(text) > MAX_TEXT:
        raise CellError(f"a text of at most {MAX_TEXT} characters")
    if _CONTROL.search(text):
        raise CellError("a text without control characters")
    return text
