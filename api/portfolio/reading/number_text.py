"""Numbers as people type them, by one rule that never guesses between thousands and decimals."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

# Marks that can only separate thousands: spaces of every width, and apostrophes.
_PARTING = " \u00a0\u2009\u202f'\u2019"
_MARK = {"point": ".", "comma": ","}
LONGEST = 64  # letters of a number; longer texts are not searched for one


def _grammar(decimal: str, other: str) -> re.Pattern[str]:
    """Digits with a decimal mark, or whole groups of three with one separator throughout."""
    plain = rf"(?:\d+(?:{decimal}\d*)?|{decimal}\d+)(?:[eE][-+]?\d{{1,3}})?"
    grouped = (
        rf"[1-9]\d{{0,2}}(?P<parting>[{other}{_PARTING}])\d{{3}}(?:(?P=parting)\d{{3}})*"
        rf"(?:{decimal}\d+)?"
    )
    return re.compile(f"{plain}|{grouped}", re.ASCII)


_GRAMMAR = {"point": _grammar(r"\.", ","), "comma": _grammar(",", r"\.")}
_PLAIN = {
    "point": str.maketrans("E", "e", f",{_PARTING}"),
    "comma": str.maketrans(",E", ".e", f".{_PARTING}"),
}


class MarkError(ValueError):
    """Digits that have no reading, or more than one; the text says what to type."""


@dataclass(frozen=True)
class Marks:
    """The decimal mark of a table, "point" or "comma", and what settles it.

    `settled` is "stated" by the sender of the table, "proved" by cells that have no other reading
    (and, for the point, by commas between the cells), or "assumed".
    """

    decimal: str
    settled: str

    def __str__(self) -> str:
        """Return the mark and what settles it, in words."""
        how = {"stated": "as stated", "proved": "as its cells show"}
        return f"decimal {self.decimal}, {how.get(self.settled, 'which no cell proves')}"


def readings(digits: str) -> dict[str, str]:
    """Return digits without sign as plain numbers, by the decimal mark that reads them so.

    Examples
    --------
    >>> readings("1,234.5"), readings("0,12"), readings("20,000")
    ({'point': '1234.5'}, {'comma': '0.12'}, {'point': '20000', 'comma': '20.000'})
    """
    return {
        name: digits.translate(_PLAIN[name])
        for name, grammar in _GRAMMAR.items()
        if len(digits) <= LONGEST and grammar.fullmatch(digits)
    }


def proof(digits: str) -> str | None:
    """Return the decimal mark that a cell proves, or None where both or neither can read it.

    Examples
    --------
    >>> [proof(digits) for digits in ("0.12", "12,5", "1.234.567", "20,000", "20 000", "12")]
    ['point', 'comma', 'comma', None, None, None]
    """
    found = readings(digits)
    return next(iter(found)) if len(found) == 1 else None


def settle(stated: str, delimiter: str, cells: Iterable[str]) -> Marks:
    """Return the marks of a table.

    Parameters
    ----------
    stated : {"auto", "point", "comma"}
        What the sender of the table states.
    delimiter : str
        The separator of its cells.
    cells : iterable of str
        The digits of its cells of numbers, without signs.

    Examples
    --------
    >>> str(settle("auto", ";", ["20,000", "0.12"])), str(settle("auto", ";", ["20,000"]))
    ('decimal point, as its cells show', 'decimal comma, which no cell proves')
    """
    if stated in _MARK:
        return Marks(stated, "stated")
    marked = {digits for digits in cells if delimiter != "," or "," in digits}
    proved = {proof(digits) for digits in marked} - {None}
    if delimiter == ",":
        return Marks("point", "assumed" if "comma" in proved else "proved")
    if len(proved) == 1:
        return Marks(str(proved.pop()), "proved")
    return Marks("comma" if delimiter == ";" else "point", "assumed")


def plain_number(digits: str, marks: Marks, fits: Callable[[str], bool]) -> str:
    """Return digits as a plain number with a decimal point.

    Parameters
    ----------
    digits : str
        A cell without sign, currency and the like.
    marks : Marks
        Those of the table.
    fits : callable
        Whether a plain number can stand in the column.

    Raises
    ------
    MarkError
        For text that is no number, or that could be two numbers that differ by a thousand.

    Notes
    -----
    Digits that both marks read, and differently, have one mark with exactly three digits after
    it. They are thousands where the other mark is settled as the decimal one; else the one of the
    two readings that the column can hold; and refused where it can hold both.

    Examples
    --------
    >>> plain_number("20,000", Marks("point", "proved"), lambda plain: True)
    '20000'
    >>> plain_number("12.125", Marks("point", "proved"), lambda plain: float(plain) < 100)
    '12.125'
    """
    if digits.isascii() and digits.isdigit():
        return digits
    found = readings(digits)
    if not found:
        raise MarkError("type digits alone, such as 12500 or 0.5")
    if marks.decimal not in found:
        (mark,) = found
        raise MarkError(
            f"the table's decimal mark is a {marks.decimal}; type "
            f"{_typed(found[mark], marks.decimal)}, or state the decimal mark {mark}"
        )
    plain = found[marks.decimal]
    grouped = min(found.values(), key=len)
    if marks.settled == "stated" or len(set(found.values())) == 1:
        return plain
    if marks.settled == "proved" and plain == grouped:
        return plain
    fitting = [value for value in found.values() if fits(value)]
    if len(fitting) == 2:
        raise MarkError(_either(found, marks.decimal))
    return fitting[0] if fitting else plain


def _either(found: dict[str, str], decimal: str) -> str:
    grouped, real = sorted(found.values(), key=len)
    short = real.rstrip("0").removesuffix(".")
    real = f"{real}0" if short == real else short
    real = _typed(real, decimal)
    stated = "state the decimal mark, decimal=point or decimal=comma in a request"
    return f"this could be {grouped} or {real}; type one of them, or {stated}"


def _typed(plain: str, decimal: str) -> str:
    return plain.replace(".", _MARK[decimal])
