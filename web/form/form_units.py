"""How a number of the case document reads in an entry field, and back.

Rates are entered in percent, in inch-pound units gas prices by the therm, as bills state them, and
in SI units thicknesses in mm; everything else in the unit of the document's bare numbers.
"""

import re
from collections.abc import Mapping
from typing import Any

from lcc import units
from web.format import entry

Described = Mapping[str, Any]
_GROUPED = re.compile(r"-?\d{1,3}(?:([, \u00a0\u202f])\d{3})(?:\1\d{3})*(\.\d*)?", re.ASCII)
_PLAIN = re.compile(r"-?(\d{1,15}\.?\d{0,15}|\.\d{1,15})", re.ASCII)
THERM_PRICE = "$/therm_US"
_SQUARE_FEET = r"(?:sq\.? ?(?:ft|feet)\.?|square f(?:ee|oo)t|s\.?f\.?|ft[²2])"
_EACH = r"(?:/|per) ?"
# The unit beside an entry as people type it after the number.
_TYPED = {"area": _SQUARE_FEET, "price_per_area": _EACH + _SQUARE_FEET,
          "price_of_gas": _EACH + "therms?", "price_per_energy": _EACH + "kwh"}  # fmt: skip
AS_READ = ("thickness", "price_of_gas")  # entered as people read them


def unit_shown(field: Described, system: units.System) -> str:
    """Return the unit that stands beside an entry field."""
    if field["kind"] == "rate":
        return "%"
    if field["kind"] == "years":
        return "years"
    kind = field["kind"]
    return units.unit_read(kind, system).display if kind in AS_READ else str(field["unit"])


def to_entry(value: Any, field: Described, system: units.System) -> str:
    """Return a value of the case document as the text of an entry field.

    Examples
    --------
    >>> to_entry(0.03, {"kind": "rate", "name": "discount_rate"}, "ip")
    '3'
    >>> to_entry("1.05 $/therm_US", {"kind": "price_of_gas", "name": "gas"}, "ip")
    '1.05'
    >>> to_entry(0.0762, {"kind": "thickness", "name": "thickness"}, "si")
    '76.2'
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        text = "" if value is None else str(value)
        return text.removesuffix(f" {THERM_PRICE}") if _by_therm(field, system) else text
    if field["kind"] == "rate":
        return entry(100 * value)
    if field["kind"] in AS_READ:
        return entry(units.as_read(value, field["kind"], system))
    return entry(value)


def from_entry(text: str, field: Described, system: units.System) -> float | int | str | None:
    """Return the text of an entry field as a value of the case document.

    Text that is no plain number goes on as it is: the document takes quantities that name their
    unit, and refuses the rest in words.

    Examples
    --------
    >>> from_entry("24,000", {"kind": "area", "name": "area", "type": "quantity"}, "ip")
    24000.0
    >>> from_entry("25 000", {"kind": "area", "name": "area", "type": "quantity"}, "ip")
    25000.0
    >>> from_entry("31,500 sq ft", {"kind": "area", "name": "area", "type": "quantity"}, "ip")
    31500.0
    >>> from_entry("3", {"kind": "rate", "name": "discount_rate", "type": "quantity"}, "ip")
    0.03
    >>> wet = {"kind": "fraction", "name": "wet_fraction", "type": "quantity", "high": 1.0}
    >>> [from_entry(text, wet, "ip") for text in ("20", "20 %", "0.2", "0.5 %")]
    [0.2, 0.2, 0.2, 0.005]
    >>> from_entry("1.05", {"kind": "price_of_gas", "name": "gas", "type": "quantity"}, "ip")
    '1.05 $/therm_US'
    """
    text = text.strip()
    if not text:
        return None
    bare = text.removeprefix("$").removesuffix("%").strip()
    if system == "ip" and field["kind"] in _TYPED:
        bare = re.sub(rf"(?<=\d) ?{_TYPED[field['kind']]}$", "", bare, flags=re.IGNORECASE)
    grouped = _GROUPED.fullmatch(bare)
    plain = bare.replace(grouped[1], "") if grouped else bare
    if not _PLAIN.fullmatch(plain):
        return text
    number = float(plain)
    if field["type"] == "whole":
        return int(number) if number.is_integer() else number
    if field["kind"] == "rate" or _in_percent(text, number, field):
        return float(f"{number / 100:.12g}")
    if field["kind"] == "thickness":
        return float(f"{number / units.as_read(1.0, 'thickness', system):.12g}")
    return f"{plain} {THERM_PRICE}" if _by_therm(field, system) else number


def _in_percent(text: str, number: float, field: Described) -> bool:
    """Whether a part of a whole is in percent: with the sign, or too large for anything else."""
    part = field["kind"] == "fraction" and field.get("high") == 1
    return part and (text.endswith("%") or 2 <= number <= 100)


def _by_therm(field: Described, system: units.System) -> bool:
    return system == "ip" and field["kind"] == "price_of_gas"
