"""Amounts and years as they are read aloud, and names that can be told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lcc.case import Alternative
from lcc.figures import shown


def money(amount: float) -> str:
    """Return an amount in whole units of money, grouped by thousands.

    Examples
    --------
    >>> money(1234567.8), money(-0.2)
    ('$1,234,568', '$0')
    """
    return shown(amount, "money")


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
