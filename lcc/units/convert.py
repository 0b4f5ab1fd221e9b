"""Numbers between the core's unit and the bare units of both systems."""

from dataclasses import dataclass

from lcc.units.table import ALIASES, CUSTOMARY, TABLE, UNITLESS, ZERO, System

_PRETTY = {"*": "·", "deg": "°", "therm_US": "therm (US)", "short_ton": "short ton"}


@dataclass(frozen=True)
class Unit:
    """One unit of a kind: core number = (number - zero) * factor."""

    text: str
    factor: float = 1.0
    zero: float = 0.0

    @property
    def display(self) -> str:
        """The unit as people read it: ``h·ft²·°F/Btu``."""
        shown = self.text.replace("^2", "²").replace("^3", "³").replace("10^6", "million")
        for plain, pretty in _PRETTY.items():
            shown = shown.replace(plain, pretty)
        return shown


def _with_plain_powers(units: dict[str, float]) -> dict[str, float]:
    aliases = {alias: units[name] for alias, name in ALIASES.items() if name in units}
    powers = {s.replace("^", ""): f for s, f in units.items() if "^" in s and "10^6" not in s}
    return {**units, **powers, **aliases}


SPELLINGS = {kind: _with_plain_powers(units) for kind, units in TABLE.items()}
KINDS = tuple(TABLE)


def spelled(kind: str, spelling: str) -> Unit:
    """Return the unit that a spelling of a kind names.

    Examples
    --------
    >>> spelled("temperature", "degF").zero
    32.0
    """
    zero = ZERO[spelling] if kind == "temperature" else 0.0
    return Unit(spelling, SPELLINGS[kind][spelling], zero)


_CORE = {kind: Unit("" if kind in (*UNITLESS, "slope") else next(iter(TABLE[kind])))
         for kind in TABLE}  # fmt: skip
_BARE: dict[System, dict[str, Unit]] = {
    "si": _CORE,
    "ip": _CORE | {kind: spelled(kind, text) for kind, text in CUSTOMARY.items()},
}


_READ: dict[System, dict[str, Unit]] = {
    "si": _CORE | {"thickness": spelled("thickness", "mm"), "section": spelled("section", "mm^2")},
    "ip": _BARE["ip"] | {"price_of_gas": spelled("price_of_gas", "$/therm_US")},
}


def unit(kind: str, system: System) -> Unit:
    """Return the unit of a bare number of a kind in a system.

    Examples
    --------
    >>> unit("resistance", "ip").display
    'h·ft²·°F/Btu'
    """
    return _BARE[system][kind]


def unit_read(kind: str, system: System) -> Unit:
    """Return the unit in which people read a kind: its own, but for mm, mm² and $/therm."""
    return _READ[system][kind]


def as_read(value: float, kind: str, system: System) -> float:
    """Return a bare number of a system in the unit in which people read it.

    Examples
    --------
    >>> as_read(0.00406, "thickness", "si"), as_read(3.0, "thickness", "ip")
    (4.06, 3.0)
    """
    bare, read = unit(kind, system), unit_read(kind, system)
    return value if bare == read else float(f"{value * bare.factor / read.factor:.12g}")


def to_core(value: float, kind: str, system: System) -> float:
    """Return a bare number of a system in the core's unit.

    Examples
    --------
    >>> round(to_core(19, "resistance", "ip"), 3)  # R-19 of the trade
    3.346
    >>> round(to_core(10, "temperature", "ip"), 2), round(
    ...     to_core(10, "temperature_difference", "ip"), 2
    ... )
    (-12.22, 5.56)
    """
    bare = unit(kind, system)
    return (value - bare.zero) * bare.factor


def from_core(value: float, kind: str, system: System) -> float:
    """Return a number of the core in a system's unit, converted ones to 12 significant digits.

    Examples
    --------
    >>> from_core(to_core(24000, "area", "ip"), "area", "ip")
    24000.0
    """
    bare = unit(kind, system)
    if bare.factor == 1.0 and not bare.zero:
        return value
    return float(f"{value / bare.factor + bare.zero:.12g}")


def spellings(kind: str) -> tuple[str, ...]:
    """Return the spellings that a text of a kind may use, the preferred ones first."""
    return tuple(SPELLINGS[kind])


def shortest(number: float) -> float:
    """Return the number with fewest digits within a millionth of one that was converted.

    A figure of up to five digits so comes back as it was typed when the units go to and fro.

    Examples
    --------
    >>> shortest(62000 * 0.09290304), shortest(shortest(62000 * 0.09290304) / 0.09290304)
    (5759.99, 62000.0)
    """
    tries = (float(f"{number:.{digits}g}") for digits in range(1, 17))
    return next((one for one in tries if abs(one - number) <= 1e-6 * abs(number)), number)
