"""The one rounding rule: how a figure reads, in the core's sentences, on page and paper alike.

Money is whole currency, rates are percent, prices have their cents at least, everything else has
three significant digits; no minus zero, and no figure at all where there is none to show.

"""

import math
from collections.abc import Sequence
from dataclasses import replace

from lcc.case import Alternative
from lcc.case.kept import kept

MINUS = "\u2212"
NOTHING = "\u2013"  # shown where a figure does not exist; the reason stands beside it

# Kinds with a fixed number of decimals; the others keep three significant digits.
_DECIMALS = {"money": 0, "count": 0, "temperature": 1, "years": 1}
CENTS = 0.5  # money below this is called nothing
_NEGLIGIBLE = 1e-9  # smaller than any figure that a roof has, in any unit
# Energy below it is none: a month without heating still has a trace of it in the model.
_TRACES = {"electricity": 1e-3, "gas_energy": 1e-3, "energy": 1e-3}
_PERCENT = ("rate",)
_PRICE = "price_"  # how the names of the kinds with a currency in their unit begin


def rounded(value: float, kind: str = "") -> float:
    """Return a figure as it is shown, still a number.

    Parameters
    ----------
    value : float
        A finite figure, in the unit that it is shown in.
    kind : str
        Kind of quantity, a key of `lcc.case.fields.SUFFIX`; others get three digits.

    Examples
    --------
    >>> rounded(96412.4, "money"), rounded(96412.4, "electricity"), rounded(-0.2, "money")
    (96412.0, 96400.0, 0.0)
    >>> rounded(108.861, "price_per_area"), rounded(0.03242, "price_per_gas")
    (108.86, 0.0324)
    """
    if not math.isfinite(value):
        raise ValueError(f"a figure without a finite value cannot be shown: {value}")
    if abs(value) < _TRACES.get(kind, _NEGLIGIBLE):
        return 0.0
    decimals = _DECIMALS.get(kind)
    if decimals is None:
        decimals = 2 - math.floor(math.log10(abs(value)))
        if kind.startswith(_PRICE):
            decimals = max(decimals, 2)  # prices keep their cents
    return round(float(value), decimals) + 0.0


def shown(value: float | None, kind: str = "") -> str:
    """Return a figure as people read it.

    Examples
    --------
    >>> shown(-96412.4, "money"), shown(0.0312, "rate"), shown(1234.5, "electricity")
    ('\u2212$96,412', '3.12%', '1,230')
    >>> shown(None, "ratio"), shown(12.5, "price_per_area"), shown(31.0, "years")
    ('\u2013', '$12.50', '31')
    """
    if value is None:
        return NOTHING
    if kind in _PERCENT:
        return _plain(rounded(100 * value)) + "%"
    figure = rounded(value, kind)
    sign = MINUS if figure < 0 else ""
    if kind == "money":
        return f"{sign}${abs(figure):,.0f}"
    if kind.startswith(_PRICE):
        return f"{sign}${abs(figure):,.{max(2, _decimals_of(figure))}f}"
    return _plain(figure)


def chance(share: float) -> str:
    """Return a part of random draws in percent, never rounded to none or all.

    Examples
    --------
    >>> chance(0.9975), chance(0.85), chance(1.0), chance(0.0001)
    ('more than 99%', '85%', '100%', 'less than 1%')
    """
    percent = round(100 * share)
    if percent == 0 and share > 0:
        return "less than 1%"
    return "more than 99%" if percent == 100 and share < 1 else f"{percent}%"


def _plain(figure: float) -> str:
    return f"{figure:,.{_decimals_of(figure)}f}".replace("-", MINUS)


def _decimals_of(figure: float) -> int:
    """Decimals that a rounded figure needs: none for 31.0, two for 0.25."""
    text = f"{figure:.12f}".rstrip("0")
    return len(text) - text.index(".") - 1


def said(amount: float) -> str:
    """Return an amount as people say it: three significant digits.

    Sentences, cards and charts use it; tables and files have the exact figure.

    Examples
    --------
    >>> said(203998.0), said(-1234567.0), said(6123.0), said(0.2)
    ('$204,000', '\u2212$1,230,000', '$6,120', '$0')
    """
    return shown(float(f"{amount:.3g}"), "money")


def more_or_less(saved: float) -> str:
    """Return a saving in words.

    Examples
    --------
    >>> more_or_less(1204.0), more_or_less(-1204.0)
    ('$1,200 less', '$1,200 more')
    """
    return f"{said(abs(saved))} {'less' if saved >= 0 else 'more'}"


def when(year: int) -> str:
    """Return a year of the study period in words.

    Examples
    --------
    >>> when(0), when(2)
    ('now', 'in year 2')
    """
    return f"in year {year}" if year else "now"


def money(amount: float | None) -> str:
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


def some_of(words: Sequence[str], most: int, by: str = ", ") -> str:
    """Return the first words of a list, and how many more there are.

    Examples
    --------
    >>> some_of(["A", "B", "C"], 3), some_of(["A", "B", "C"], 1)
    ('A, B, C', 'A and 2 more')
    """
    more = f" and {len(words) - most:,} more" if len(words) > most else ""
    return f"{by.join(words[:most])}{more}"


def distinct(choices: Sequence[Alternative]) -> tuple[Alternative, ...]:
    """Return alternatives whose names are one line, not empty, and each there only once.

    Examples
    --------
    >>> from lcc.case import Membrane
    >>> [one.name for one in distinct([Membrane(name="A"), Membrane(name="A "), Membrane(name="")])]
    ['A', 'A (2)', 'New membrane']
    """
    taken: dict[str, None] = {}
    for choice in choices:
        plain = " ".join(choice.name.split()) or type(choice)().name
        among = (plain, *(f"{plain} ({number})" for number in range(2, len(choices) + 1)))
        taken[next(name for name in among if name not in taken)] = None
    return tuple(_called(each, name) for each, name in zip(choices, taken, strict=True))


def numbered_note(choices: Sequence[Alternative]) -> str:
    """Return what is said of the default names that are numbered because one stated is the same.

    Examples
    --------
    >>> from lcc.case import Membrane
    >>> stated = Membrane(name="New membrane", origins={"name": "entered"})
    >>> numbered_note([stated, Membrane()])
    '"New membrane (2)" was sent without a name, and its usual name was taken.'
    >>> numbered_note([Membrane(), Membrane()])
    ''
    """
    stated = {" ".join(one.name.split()) for one in choices if one.states("name")}
    pairs = zip(choices, distinct(choices), strict=True)
    renamed = [f'"{new.name}"' for one, new in pairs if one.name in stated - {new.name}]
    if len(renamed) > 1:
        return f"{', '.join(renamed)} were sent without names, and their usual names were taken."
    return f"{renamed[0]} was sent without a name, and its usual name was taken." if renamed else ""


@kept(64)
def _called(choice: Alternative, name: str) -> Alternative:
    return replace(choice, name=name)
