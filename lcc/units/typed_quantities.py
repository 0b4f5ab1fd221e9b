"""Quantities written as text: a number, one space and a spelling of the closed table."""

import re

from lcc.units.convert import SPELLINGS, from_core, spelled, spellings, unit
from lcc.units.table import AMBIGUOUS, FOOT_M, TABLE, System

MAX_TEXT = 48
_METRIC, _FOOT = "kg/m²|h/m²|m²|m|km", "lb/ft²|h/ft²|ft²|ft|miles"
_NUMBER = r"-?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,15})?(?:[eE][-+]?[0-9]{1,2})?"
_QUANTITY = re.compile(rf"({_NUMBER}) (\S[ -~]*)", re.ASCII)
_PAIR = re.compile(rf"([\d.,]*\d) ({_METRIC}) \(([\d.,]*\d) ({_FOOT})\)")
_TURNED_PAIR = re.compile(rf"([\d.,]*\d) ({_FOOT}) \(([\d.,]*\d) ({_METRIC})\)")
_WORDS = {"feet": "ft", "foot": "ft", "inch": "in", "inches": "in", "metres": "m", "meters": "m",
          "metre": "m", "meter": "m", "sqft": "ft^2", "sq ft": "ft^2"}  # fmt: skip
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?![0-9,])")
_LOOSE = re.compile(rf"(\$?) ?({_NUMBER}) *(\S*)", re.ASCII)
_R_VALUE = re.compile(r"[RrUu][- ]?[0-9.]{1,6}", re.ASCII)


class UnitError(ValueError):
    """A text that is not a quantity of the kind asked for."""

    def __init__(self, detail: str, allowed: tuple[str, ...]) -> None:
        self.detail = detail
        self.allowed = allowed
        super().__init__(detail)


def pattern(kind: str) -> str:
    """Return the regular expression that a text of a kind matches, for the document."""
    return rf"^{_NUMBER} (?:{'|'.join(re.escape(s) for s in spellings(kind))})$"


def parse(text: str, kind: str) -> float:
    """Return the quantity that a text states, in the core's unit.

    Parameters
    ----------
    text : str
        A number, one space and a spelling of the table: ``"19 h*ft^2*degF/Btu"``.
    kind : str
        The kind of quantity that is asked for.

    Raises
    ------
    UnitError
        With the spellings that would have been accepted.

    Examples
    --------
    >>> round(parse("24000 ft^2", "area"), 3)
    2229.673
    >>> parse("R-19", "resistance")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    lcc.units.typed_quantities.UnitError: 'R-19' does not say in which units; write ...
    """
    found = _QUANTITY.fullmatch(text) if len(text) <= MAX_TEXT else None
    if not found:
        raise _unreadable(text, kind)
    number, spelling = found.groups()
    if spelling not in SPELLINGS[kind]:
        raise _wrong_unit(spelling, kind)
    named = spelled(kind, spelling)
    return (float(number) - named.zero) * named.factor


def _unreadable(text: str, kind: str) -> UnitError:
    if _R_VALUE.fullmatch(text) and kind in ("resistance", "u_value"):
        number = re.sub(r"[^0-9.]", "", text)
        example = f"{number} {AMBIGUOUS[text[0].upper()][0]}"
        return UnitError(
            f"{text!r} does not say in which units; write for example {example!r}",
            AMBIGUOUS[text[0].upper()],
        )
    if _GROUPED.match(text):
        plain = text.replace(",", "")
        plain = _as_typed(plain, kind) or plain
        return UnitError(f"{text!r} cannot be read; write it without commas: {plain!r}", ())
    if typed := _as_typed(text, kind):
        return UnitError(f"{text!r} cannot be read; write {typed!r}", tuple(TABLE[kind]))
    shown = text if len(text) <= MAX_TEXT else text[: MAX_TEXT - 3] + "..."
    return UnitError(
        f"{shown!r} cannot be read: please type a number, or a number with its "
        f"unit, such as {example_text(kind)!r}",
        tuple(TABLE[kind]),
    )


def _as_typed(text: str, kind: str) -> str:
    """Return how to type a quantity that lacks its space, has its `$` in front or a raised 2 or 3.

    Examples
    --------
    >>> _as_typed("$11/ft²", "price_per_area"), _as_typed("3%", "rate"), _as_typed("x", "rate")
    ('11 $/ft^2', '3 %', '')
    """
    plain = text[:MAX_TEXT].strip().replace("²", "^2").replace("³", "^3")
    found = _LOOSE.fullmatch(plain)
    if not found:
        return ""
    dollar, number, unit_ = found.groups()
    typed = f"{number} {dollar}{unit_}"
    return typed if re.fullmatch(pattern(kind), typed) else ""


def _wrong_unit(spelling: str, kind: str) -> UnitError:
    if choices := AMBIGUOUS.get(spelling):
        fitting = tuple(name for name in choices if name in TABLE[kind]) or tuple(TABLE[kind])
        return UnitError(f"{spelling!r} has more than one meaning", fitting)
    if (meant := _WORDS.get(spelling.lower(), "")) in SPELLINGS[kind]:
        said = f"{spelling!r} is not a unit of {kind.replace('_', ' ')} here; write {meant!r}"
        return UnitError(said, (meant,))
    others = [other.replace("_", " ") for other, names in SPELLINGS.items() if spelling in names]
    of = f" but of {' or '.join(others)}" if others else ""
    return UnitError(
        f"{spelling!r} is not a unit of {kind.replace('_', ' ')}{of}; write one of "
        f"{', '.join(TABLE[kind])}",
        tuple(TABLE[kind]),
    )


def example_text(kind: str) -> str:
    """Return a text of a kind in its customary unit."""
    text = unit(kind, "ip").text or next(iter(TABLE[kind]), "")
    return f"12.5 {text}".strip()


def both(length_m: float, more: int = 0) -> str:
    """Return a length in metres and feet, with more digits where asked, for a sentence.

    Examples
    --------
    >>> both(3.048), both(0.0635, 1)
    ('3.05 m (10.0 ft)', '0.064 m (0.21 ft)')
    """
    return f"{length_m:.{2 + more}f} m ({length_m / FOOT_M:.{1 + more}f} ft)"


def both_areas(area_m2: float) -> str:
    """Return an area in square metres and feet, for a sentence that is read in either.

    Examples
    --------
    >>> both_areas(46.4515)
    '46.5 m² (500 ft²)'
    """
    return f"{area_m2:.1f} m² ({area_m2 / FOOT_M**2:.0f} ft²)"


def both_loads(load_kg_m2: float) -> str:
    """Return a load in kilograms and pounds, for a sentence that is read in either.

    Examples
    --------
    >>> both_loads(53.7)
    '54 kg/m² (11 lb/ft²)'
    """
    return f"{load_kg_m2:.0f} kg/m² ({from_core(load_kg_m2, 'mass_per_area', 'ip'):.0f} lb/ft²)"


def ordered(text: str, system: System) -> str:
    """Return a sentence with the reader's unit first wherever a figure stands in both.

    Examples
    --------
    >>> ordered("the gap is 3.05 m (10.0 ft)", "ip")
    'the gap is 10.0 ft (3.05 m)'
    >>> ordered("22.0 lb/ft² (107 kg/m²) of snow", "si")
    '107 kg/m² (22.0 lb/ft²) of snow'
    """
    if " (" not in text:  # no figure stands in both
        return text
    pairs = _PAIR if system == "ip" else _TURNED_PAIR
    return pairs.sub(r"\3 \4 (\1 \2)", text)
