"""How a number of the case document reads in an entry field, and back.

Rates are entered in percent, in inch-pound units gas prices by the therm, as bills state them, and
in SI units thicknesses in mm; everything else in the unit of the document's bare numbers.
"""

import re
from typing import Any

from lcc import tables, units
from lcc.case.fields import Facts
from web.format import entry

_GROUPED = re.compile(r"-?\d{1,3}(?:([, \u00a0\u202f])\d{3})(?:\1\d{3})*(\.\d*)?", re.ASCII)
_PLAIN = re.compile(r"-?(\d{1,15}\.?\d{0,15}|\.\d{1,15})", re.ASCII)
THERM_PRICE = "$/therm_US"
_SQUARE_FEET = r"(?:sq\.? ?(?:ft|feet)\.?|square f(?:ee|oo)t|s\.?f\.?|ft[²2])"
_EACH = r"(?:/|per) ?"
# The unit beside an entry as people type it after the number.
_TYPED = {"area": _SQUARE_FEET, "price_per_area": _EACH + _SQUARE_FEET,
          "price_of_gas": _EACH + "therms?", "price_per_energy": _EACH + "kwh"}  # fmt: skip
AS_READ = ("thickness", "price_of_gas")  # entered as people read them


def unit_shown(kind: str, system: units.System) -> str:
    """Return the unit that stands beside an entry field."""
    if kind in ("rate", "years"):
        return "%" if kind == "rate" else kind
    of = units.unit_read if kind in AS_READ else units.unit
    return of(kind, system).display if kind in units.KINDS else ""


# Words that people read otherwise, and one that keeps its hyphen.
READ_AS = {"on-costs": "permit and fees", "tear-off": "tear-off", "real": "above inflation",
           "nominal": "as the bank quotes it"}  # fmt: skip


def options(facts: Facts) -> list[tuple[str, str]]:
    """Return the words that a field takes, each with what people read."""
    if facts.options:
        return [
            (word, word if word[0].isdigit() else READ_AS.get(word, word.replace("-", " ")))
            for word in facts.options
        ]
    rows = tables.rows(facts.table).items() if facts.table else ()
    return [
        (key, f"{row['city']}, {row['state']}" if "city" in row else str(row.get("name") or key))
        for key, row in rows
    ]


def to_entry(value: Any, kind: str, system: units.System) -> str:
    """Return a value of the case document as the text of an entry field.

    Examples
    --------
    >>> to_entry(0.03, "rate", "ip"), to_entry("1.05 $/therm_US", "price_of_gas", "ip")
    ('3', '1.05')
    >>> to_entry(0.0762, "thickness", "si")
    '76.2'
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        text = "" if value is None else str(value)
        return text.removesuffix(f" {THERM_PRICE}") if _by_therm(kind, system) else text
    if kind == "rate":
        return entry(100 * value)
    if kind in AS_READ:
        return entry(units.as_read(value, kind, system))
    return entry(value)


def from_entry(text: str, facts: Facts, system: units.System) -> float | int | str | None:
    """Return the text of an entry field as a value of the case document.

    Text that is no plain number goes on as it is: the document takes quantities that name their
    unit, and refuses the rest in words.

    Examples
    --------
    >>> from lcc.case.fields import Quantity
    >>> area = Quantity("area", "Roof area")
    >>> [from_entry(text, area, "ip") for text in ("24,000", "25 000", "31,500 sq ft")]
    [24000.0, 25000.0, 31500.0]
    >>> from_entry("3", Quantity("rate", "Discount rate"), "ip")
    0.03
    >>> wet = Quantity("fraction", "Wet part", high=1.0)
    >>> [from_entry(text, wet, "ip") for text in ("20", "20 %", "0.2", "0.5 %")]
    [0.2, 0.2, 0.2, 0.005]
    >>> from_entry("1.05", Quantity("price_of_gas", "Gas"), "ip")
    '1.05 $/therm_US'
    """
    text = text.strip()
    if not text:
        return None
    bare = text.removeprefix("$").removesuffix("%").strip()
    if system == "ip" and facts.kind in _TYPED:
        bare = re.sub(rf"(?<=\d) ?{_TYPED[facts.kind]}$", "", bare, flags=re.IGNORECASE)
    grouped = _GROUPED.fullmatch(bare)
    plain = bare.replace(grouped[1], "") if grouped else bare
    if not _PLAIN.fullmatch(plain):
        return text
    number = float(plain)
    if facts.type == "whole":
        return int(number) if number.is_integer() else number
    if facts.kind == "rate" or _in_percent(text, number, facts):
        return float(f"{number / 100:.12g}")
    if facts.kind == "thickness":
        return float(f"{number / units.as_read(1.0, 'thickness', system):.12g}")
    return f"{plain} {THERM_PRICE}" if _by_therm(facts.kind, system) else number


def _in_percent(text: str, number: float, facts: Facts) -> bool:
    """Whether a part of a whole is in percent: with the sign, or too large for anything else."""
    part = facts.kind == "fraction" and facts.high == 1
    return part and (text.endswith("%") or 2 <= number <= 100)


def _by_therm(kind: str, system: units.System) -> bool:
    return system == "ip" and kind == "price_of_gas"
