"""Amounts, parts and years as they are read aloud, and names that can be told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lcc.case import Alternative


def money(amount: float) -> str:
    """Return an amount in whole units of money, grouped by thousands.

    Examples
    --------
    >>> money(1234567.8), money(-0.2)
    ('$1,234,568', '$0')
    """
    whole = round(amount)
    return f"-${-whole:,}" if whole < 0 else f"${whole:,}"


def percent(part: float) -> str:
    """Return a part as a percentage with a digit after the point below ten.

    Notes
    -----
    A part between none and all is never told as 0% or 100%.

    Examples
    --------
    >>> percent(0.0975), percent(0.61), percent(0.9999), percent(0.0001)
    ('9.8%', '61%', '99.9%', '0.1%')
    """
    held = min(max(100 * part, 0.1), 99.9) if 0 < part < 1 else 100 * part
    return f"{held:.1f}%" if held < 10 or 99 < held < 100 else f"{held:.0f}%"


def in_years(years: float) -> str:
    """Return a number of years in words.

    Examples
    --------
    >>> in_years(1), in_years(50)
    ('1 year', '50 years')
    """
    return f"{years:.0f} year{'' if round(years) == 1 else 's'}"


def named(choices: Sequence[Alternative]) -> tuple[Alternative, ...]:
    """Return alternatives whose names are one line, not empty, and each there only once.

    Examples
    --------
    >>> from lcc.case import Membrane
    >>> [each.name for each in named([Membrane(name="A"), Membrane(name=" A "), Membrane(name="")])]
    ['A', 'A (2)', 'Membrane again and again']
    """
    taken: dict[str, None] = {}
    for choice in choices:
        plain = " ".join(choice.name.split()) or type(choice)().name
        among = (plain, *(f"{plain} ({number})" for number in range(2, len(choices) + 1)))
        taken[next(name for name in among if name not in taken)] = None
    return tuple(replace(each, name=name) for each, name in zip(choices, taken, strict=True))
