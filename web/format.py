"""Figures as text: the core's one rounding rule for what is shown, and plain numbers to enter."""

import math
from fractions import Fraction

from lcc import units
from lcc.figures import MINUS, NOTHING, chance, money, more_or_less, rounded, said, shown

__all__ = [
    "CUT_UNIT", "MINUS", "NOTHING", "brief", "chance", "cut_length", "cut_words", "entry", "money",
    "more_or_less", "read", "rounded", "said", "shown", "side_by_side",
]  # fmt: skip

CUT_UNIT = {"ip": "ft in", "si": "mm"}  # of lengths that are cut or set out
_SIXTEENTHS = 192  # of an inch, in a foot
_NOISE = 0.02  # of a sixteenth or a millimetre, not rounded up


def entry(value: float) -> str:
    """Return a number for an entry field: plain, seven digits, so that units go there and back.

    Examples
    --------
    >>> entry(24000.0), entry(2229.67296), entry(0.03), entry(-0.0)
    ('24000', '2229.673', '0.03', '0')
    """
    text = f"{value + 0.0:.7g}"
    if "e" in text:
        text = f"{float(text):.12f}".rstrip("0").rstrip(".")
    return text


def read(value: float, kind: str, system: units.System) -> tuple[str, str]:
    """Return a figure of a reply and its unit as people read them.

    Examples
    --------
    >>> read(0.00406, "thickness", "si"), read(24000.0, "area", "ip"), read(2.0, "count", "si")
    (('4.06', 'mm'), ('24,000', 'ft²'), ('2', ''))
    """
    if kind not in units.KINDS:
        return shown(value, kind), ""
    read_in = units.unit_read(kind, system)
    return shown(units.as_read(value, kind, system), kind), read_in.display


def brief(value: float) -> str:
    """Return an amount for a small place, in thousands or millions.

    Examples
    --------
    >>> brief(824605.0), brief(1234567.0), brief(-27000.0), brief(640.0), brief(99960000.0)
    ('$825k', '$1.23M', '\u2212$27k', '$640', '$100M')
    """
    size = abs(float(f"{value:.3g}"))
    for unit, letter in ((1e9, "bn"), (1e6, "M"), (1e3, "k")):
        if size >= unit:
            return f"{MINUS if value < 0 else ''}${size / unit:.3g}{letter}"
    return shown(round(value), "money")


def side_by_side(one: float, other: float) -> tuple[str, str]:
    """Return two amounts for a small place, as round as they still subtract as `said`.

    Examples
    --------
    >>> side_by_side(1499384.0, 1502386.0), side_by_side(692e3, 811e3), side_by_side(5e5, 5e5)
    (('$1,499,000', '$1,502,000'), ('$692k', '$811k'), ('$500k', '$500k'))
    """
    apart = said(one - other)
    if said(float(f"{one:.3g}") - float(f"{other:.3g}")) == apart:
        return brief(one), brief(other)
    places = (-4, -3, -2, -1, 0)
    pairs = ((round(one, place), round(other, place)) for place in places)
    first, last = next((pair for pair in pairs if said(pair[0] - pair[1]) == apart), (one, other))
    return money(first), money(last)


def cut_words(value: float, system: units.System) -> str:
    r"""Return a length to cut by with its unit, for a sentence.

    Examples
    --------
    >>> cut_words(4.2813, "si"), cut_words(80.0, "ip")
    ('4,282 mm', '80\'-0"')
    """
    return cut_length(value, system) + (" mm" if system == "si" else "")


def cut_length(value: float, system: units.System) -> str:
    r"""Return a length to cut by: up to the next sixteenth of an inch, or the next millimetre.

    Parameters
    ----------
    value : float
        The length in the unit of the reply [ft or m].
    system : "ip" or "si"

    Examples
    --------
    >>> cut_length(14.0486, "ip"), cut_length(80.0, "ip"), cut_length(4.2813, "si")
    ('14\'-0 5/8"', '80\'-0"', '4,282')
    """
    if system == "si":
        return f"{math.ceil(1000 * value - _NOISE):,}"
    feet, rest = divmod(math.ceil(_SIXTEENTHS * value - _NOISE), _SIXTEENTHS)
    inches, sixteenths = divmod(rest, 16)
    fraction = f" {Fraction(sixteenths, 16)}" if sixteenths else ""
    return f"{feet:,}'-{inches}{fraction}\""
