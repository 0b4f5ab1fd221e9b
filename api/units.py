"""Units: the only place where a number changes its unit.

The core counts in one unit for each kind of quantity (its name's suffix, `lcc.case.fields.SUFFIX`).
Here every kind has a unit for bare numbers in each system, "si" (the core's own) and "ip", and a
closed table of the spellings that a text such as ``"24000 ft^2"`` may use. The table is exact:
anything that is not in it is refused, so no text can be read in a way that nobody meant.

References
----------
Factors are exact definitions (foot, pound, International Table Btu) or those of NIST Special
Publication 811 (2008), appendix B (US therm, 1.054 804e8 J); the tests hold them against pint.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal, get_args

System = Literal["ip", "si"]
SYSTEMS: tuple[System, ...] = get_args(System)

FOOT_M = 0.3048
INCH_M = FOOT_M / 12
POUND_KG = 0.45359237
OUNCE_KG = POUND_KG / 16
SHORT_TON_KG = 2000 * POUND_KG
KELVIN_PER_DEGF = 5 / 9
KWH_J = 3.6e6
BTU_J = 1055.05585262
BTU_KWH = BTU_J / KWH_J
THERM_US_KWH = 1.054804e8 / KWH_J
FLUX = BTU_J / 3600 / FOOT_M**2

# Spelling -> number of core units in one such unit; the first is the core's own.
_AREA = {"m^2": 1.0, "cm^2": 1e-4, "mm^2": 1e-6, "ft^2": FOOT_M**2, "in^2": INCH_M**2}
_LENGTH = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "ft": FOOT_M, "in": INCH_M}
_FLUX = {
    "W/m^2": 1.0,
    "W/ft^2": 1 / FOOT_M**2,
    "Btu/(h*ft^2)": FLUX,
}
_ENERGY = {
    "kWh": 1.0,
    "MWh": 1e3,
    "MJ": 1e6 / KWH_J,
    "GJ": 1e9 / KWH_J,
    "kBtu": 1e3 * BTU_KWH,
    "10^6 Btu": 1e6 * BTU_KWH,
    "therm_US": THERM_US_KWH,
}
_PLAIN = {"%": 0.01}

_TABLE: dict[str, dict[str, float]] = {
    "air_changes": {"1/h": 1.0},
    "airflow": {"m^3/s": 1.0, "L/s": 1e-3, "cfm": FOOT_M**3 / 60},
    "airflow_per_area": {
        "m^3/(s*m^2)": 1.0,
        "L/(s*m^2)": 1e-3,
        "cfm/ft^2": FOOT_M / 60,
    },
    "angle": {"deg": 1.0},
    "area": _AREA,
    "conductivity": {
        "W/(m*K)": 1.0,
        "Btu*in/(h*ft^2*degF)": FLUX * INCH_M / KELVIN_PER_DEGF,
        "Btu/(h*ft*degF)": FLUX * FOOT_M / KELVIN_PER_DEGF,
    },
    "count": {},
    "density": {"kg/m^3": 1.0, "lb/ft^3": POUND_KG / FOOT_M**3},
    "eer": {"Btu/(W*h)": 1.0},
    "electricity": _ENERGY,
    "emissions_per_energy": {
        "kg/kWh": 1.0,
        "lb/kWh": POUND_KG,
        "kg/therm_US": 1 / THERM_US_KWH,
        "lb/therm_US": POUND_KG / THERM_US_KWH,
    },
    "energy_per_area": {
        "kWh/m^2": 1.0,
        "kWh/ft^2": 1 / FOOT_M**2,
        "kBtu/ft^2": 1e3 * BTU_KWH / FOOT_M**2,
    },
    "expansion": {"1/K": 1.0, "1/degF": 1 / KELVIN_PER_DEGF},
    "film": {"g/m^2": 1.0, "oz/ft^2": 1e3 * OUNCE_KG / FOOT_M**2},
    "flux": _FLUX,
    "fraction": _PLAIN,
    "gas_energy": _ENERGY,
    "heat_capacity": {
        "J/(m^2*K)": 1.0,
        "kJ/(m^2*K)": 1e3,
        "Btu/(ft^2*degF)": BTU_J / FOOT_M**2 / KELVIN_PER_DEGF,
    },
    "heat_energy": _ENERGY,
    "hours": {"h": 1.0},
    "length": _LENGTH,
    "mass": {
        "kg": 1.0,
        "lb": POUND_KG,
        "short_ton": SHORT_TON_KG,
        "tonne": 1e3,
    },
    "mass_per_area": {"kg/m^2": 1.0, "lb/ft^2": POUND_KG / FOOT_M**2},
    "moisture_flux": {"g/(m^2*day)": 1.0, "oz/(ft^2*day)": 1e3 * OUNCE_KG / FOOT_M**2},
    "money": {"$": 1.0},
    "number_per_area": {"1/m^2": 1.0, "1/ft^2": 1 / FOOT_M**2},
    "opening": {"mm^2/m^2": 1.0, "in^2/ft^2": 1e6 / 144},
    "point_resistance": {"K/W": 1.0, "h*degF/Btu": KELVIN_PER_DEGF / (BTU_J / 3600)},
    "power": {"kW": 1.0, "W": 1e-3, "Btu/h": BTU_J / KWH_J, "kBtu/h": 1e3 * BTU_J / KWH_J},
    "power_density": _FLUX,
    "price_per_area": {"$/m^2": 1.0, "$/ft^2": 1 / FOOT_M**2},
    "price_per_energy": {
        "$/kWh": 1.0,
        "$/MWh": 1e-3,
        "$/therm_US": 1 / THERM_US_KWH,
        "$/10^6 Btu": 1 / (1e6 * BTU_KWH),
    },
    "price_per_length": {"$/m": 1.0, "$/ft": 1 / FOOT_M},
    "price_per_mass": {
        "$/kg": 1.0,
        "$/lb": 1 / POUND_KG,
        "$/short_ton": 1 / SHORT_TON_KG,
        "$/tonne": 1e-3,
    },
    "price_per_power": {"$/kW": 1.0},
    "price_per_resistance": {
        "$/m^2 per m^2*K/W": 1.0,
        "$/ft^2 per h*ft^2*degF/Btu": FLUX / KELVIN_PER_DEGF / FOOT_M**2,
    },
    "price_per_volume": {
        "$/m^3": 1.0,
        "$/ft^3": 1 / FOOT_M**3,
        "$/(ft^2*in)": 1 / (FOOT_M**2 * INCH_M),
    },
    "rate": _PLAIN,
    "ratio": _PLAIN,
    "resistance": {"m^2*K/W": 1.0, "h*ft^2*degF/Btu": KELVIN_PER_DEGF / FLUX},
    "section": _AREA,
    "slope": {"%": 0.01, "in per 12 in": 1 / 12},
    "specific_heat": {"J/(kg*K)": 1.0, "Btu/(lb*degF)": BTU_J / POUND_KG / KELVIN_PER_DEGF},
    "speed": {"m/s": 1.0, "km/h": 1 / 3.6, "mph": 5280 * FOOT_M / 3600},
    "temperature": {"degC": 1.0, "degF": KELVIN_PER_DEGF, "K": 1.0},
    "temperature_difference": {"K": 1.0, "degC": 1.0, "degF": KELVIN_PER_DEGF},
    "thickness": _LENGTH,
    "u_value": {"W/(m^2*K)": 1.0, "Btu/(h*ft^2*degF)": FLUX / KELVIN_PER_DEGF},
    "volume": {"m^3": 1.0, "ft^3": FOOT_M**3},
    "years": {"y": 1.0, "year": 1.0, "years": 1.0},
}

# A reading counts from its scale's own zero: this number of the unit is 0 degC.
_ZERO = {"degC": 0.0, "degF": 32.0, "K": 273.15}

# The unit of a bare number in "ip" where it is not the core's.
_IP = {
    "airflow": "cfm",
    "airflow_per_area": "cfm/ft^2",
    "area": "ft^2",
    "conductivity": "Btu*in/(h*ft^2*degF)",
    "density": "lb/ft^3",
    "emissions_per_energy": "lb/kWh",
    "energy_per_area": "kBtu/ft^2",
    "expansion": "1/degF",
    "film": "oz/ft^2",
    "flux": "Btu/(h*ft^2)",
    "gas_energy": "therm_US",
    "heat_capacity": "Btu/(ft^2*degF)",
    "heat_energy": "10^6 Btu",
    "length": "ft",
    "mass": "lb",
    "mass_per_area": "lb/ft^2",
    "moisture_flux": "oz/(ft^2*day)",
    "number_per_area": "1/ft^2",
    "opening": "in^2/ft^2",
    "point_resistance": "h*degF/Btu",
    "power_density": "W/ft^2",
    "price_per_area": "$/ft^2",
    "price_per_length": "$/ft",
    "price_per_mass": "$/short_ton",
    "price_per_resistance": "$/ft^2 per h*ft^2*degF/Btu",
    "price_per_volume": "$/ft^3",
    "resistance": "h*ft^2*degF/Btu",
    "section": "in^2",
    "slope": "in per 12 in",
    "specific_heat": "Btu/(lb*degF)",
    "speed": "mph",
    "temperature": "degF",
    "temperature_difference": "degF",
    "thickness": "in",
    "u_value": "Btu/(h*ft^2*degF)",
    "volume": "ft^3",
}
# Kinds whose bare number is a plain number; "%" is a spelling for texts only.
_UNITLESS = ("count", "fraction", "rate", "ratio")

# Other exact spellings of units above. "$/therm" is fixed as the US therm: the money is dollars.
_ALIASES = {"sqft": "ft^2", "hr": "h", "MMBtu": "10^6 Btu", "USD": "$", "$/therm": "$/therm_US"}

# Trade names with two readings, and what to write in their place.
AMBIGUOUS = {
    "MBtu": ("kBtu", "10^6 Btu"),
    "therm": ("therm_US", "kWh"),
    "therms": ("therm_US", "kWh"),
    "ton": ("short_ton", "tonne"),
    "tons": ("short_ton", "tonne"),
    "$/ton": ("$/short_ton", "$/tonne"),
    "R": ("h*ft^2*degF/Btu", "m^2*K/W"),
    "U": ("Btu/(h*ft^2*degF)", "W/(m^2*K)"),
    "F": ("degF",),
    "C": ("degC",),
    "deg": ("degF", "degC"),
    "mil": ("in", "mm"),
    "mils": ("in", "mm"),
    "cfm": ("cfm/ft^2",),
    "square": ("ft^2", "m^2"),
    "squares": ("ft^2", "m^2"),
    "psf": ("lb/ft^2",),
    "'": ("ft",),
    '"': ("in",),
}
MAX_TEXT = 48
_NUMBER = r"-?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,15})?(?:[eE][-+]?[0-9]{1,2})?"
_QUANTITY = re.compile(rf"({_NUMBER}) (\S[ -~]*)", re.ASCII)
_R_VALUE = re.compile(r"[RrUu][- ]?[0-9.]{1,6}", re.ASCII)


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


_PRETTY = {
    "*": "·",
    "deg": "°",
    "therm_US": "therm (US)",
    "short_ton": "short ton",
}


class UnitError(ValueError):
    """A text that is not a quantity of the kind asked for."""

    def __init__(self, detail: str, allowed: tuple[str, ...]) -> None:
        self.detail = detail
        self.allowed = allowed
        super().__init__(detail)


def _with_plain_powers(units: dict[str, float]) -> dict[str, float]:
    aliases = {alias: units[name] for alias, name in _ALIASES.items() if name in units}
    powers = {s.replace("^", ""): f for s, f in units.items() if "^" in s and "10^6" not in s}
    return {**units, **powers, **aliases}


_SPELLINGS = {kind: _with_plain_powers(units) for kind, units in _TABLE.items()}
KINDS = tuple(_TABLE)


def spelled(kind: str, spelling: str) -> Unit:
    """Return the unit that a spelling of a kind names.

    Examples
    --------
    >>> spelled("temperature", "degF").zero
    32.0
    """
    zero = _ZERO[spelling] if kind == "temperature" else 0.0
    return Unit(spelling, _SPELLINGS[kind][spelling], zero)


_CORE = {kind: Unit("" if kind in (*_UNITLESS, "slope") else next(iter(_TABLE[kind])))
         for kind in _TABLE}  # fmt: skip
_BARE: dict[System, dict[str, Unit]] = {
    "si": _CORE,
    "ip": _CORE | {kind: spelled(kind, text) for kind, text in _IP.items()},
}


def unit(kind: str, system: System) -> Unit:
    """Return the unit of a bare number of a kind in a system.

    Examples
    --------
    >>> unit("resistance", "ip").display
    'h·ft²·°F/Btu'
    """
    return _BARE[system][kind]


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
    return tuple(_SPELLINGS[kind])


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
    >>> parse("R-19", "resistance")
    Traceback (most recent call last):
    api.units.UnitError: 'R-19' does not say in which units; write for example '19 h*ft^2*degF/Btu'
    """
    found = _QUANTITY.fullmatch(text) if len(text) <= MAX_TEXT else None
    if not found:
        raise _unreadable(text, kind)
    number, spelling = found.groups()
    if spelling not in _SPELLINGS[kind]:
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
    shown = text if len(text) <= MAX_TEXT else text[: MAX_TEXT - 3] + "..."
    return UnitError(
        f"{shown!a} is not a number, one space and a unit, such as {example_text(kind)!r}: "
        "ASCII digits, a point for decimals, no separators",
        tuple(_TABLE[kind]),
    )


def _wrong_unit(spelling: str, kind: str) -> UnitError:
    if choices := AMBIGUOUS.get(spelling):
        fitting = tuple(name for name in choices if name in _TABLE[kind]) or tuple(_TABLE[kind])
        return UnitError(f"{spelling!r} has more than one meaning", fitting)
    others = [other.replace("_", " ") for other, names in _SPELLINGS.items() if spelling in names]
    of = f" but of {' or '.join(others)}" if others else ""
    return UnitError(
        f"{spelling!a} is not a unit of {kind.replace('_', ' ')}{of}", tuple(_TABLE[kind])
    )


def example_text(kind: str) -> str:
    """Return a text of a kind in its customary unit."""
    text = _BARE["ip"][kind].text or next(iter(_TABLE[kind]), "")
    return f"12.5 {text}".strip()
