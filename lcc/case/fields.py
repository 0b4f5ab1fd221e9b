"""What a field of a case may hold, said once: label, help, unit kind, range, default and source.

The core checks its inputs with these facts, the API builds its schemas from them, and the page
lays out its form from the schemas.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any, Literal, get_args

from lcc import tables
from lcc.errors import CaseError

Basis = Literal["entered", "published", "common practice", "from memory", "demo"]
BASES: tuple[str, ...] = get_args(Basis)

# The kind of a quantity fixes the unit of its number in the core, which its name ends with.
SUFFIX: dict[str, str] = {
    "air_changes": "_per_h",
    "airflow": "_m3_s",
    "airflow_per_area": "_m3_s_m2",
    "angle": "_deg",
    "area": "_m2",
    "conductivity": "_w_mk",
    "count": "",
    "density": "_kg_m3",
    "eer": "",
    "electricity": "_kwh",
    "emissions_per_energy": "_kg_kwh",
    "energy_per_area": "_kwh_m2",
    "expansion": "_per_k",
    "film": "_g_m2",
    "flux": "_w_m2",
    "fraction": "",
    "gas_energy": "_kwh",
    "heat_capacity": "_j_m2k",
    "heat_energy": "_kwh",
    "hours": "_h",
    "length": "_m",
    "mass": "_kg",
    "mass_per_area": "_kg_m2",
    "money": "",
    "moisture_flux": "_g_m2_day",
    "number_per_area": "_per_m2",
    "opening": "_mm2_m2",
    "point_resistance": "_k_w",
    "power": "_kw",
    "power_density": "_w_m2",
    "price_per_area": "_per_m2",
    "price_per_energy": "_per_kwh",
    "price_per_length": "_per_m",
    "price_per_mass": "_per_kg",
    "price_per_power": "_per_kw",
    "price_per_resistance": "_per_m2",
    "price_per_volume": "_per_m3",
    "rate": "",
    "ratio": "",
    "resistance": "_m2k_w",
    "section": "_m2",
    "slope": "",
    "specific_heat": "_j_kgk",
    "speed": "_m_s",
    "temperature": "_c",
    "temperature_difference": "_k",
    "thickness": "_m",
    "u_value": "_w_m2k",
    "volume": "_m3",
    "years": "_y",
}


@dataclass(frozen=True)
class Facts:
    """What one field may hold and where its default comes from."""

    type: Literal["quantity", "whole", "choice", "key", "text", "flag", "part", "parts"]
    label: str
    help: str = ""
    kind: str = ""
    low: float | None = None
    high: float | None = None
    low_open: bool = False
    high_open: bool = False
    options: tuple[str, ...] = ()
    table: str = ""
    when_unset: str = ""
    basis: Basis = "entered"
    source: str = ""
    advanced: bool = True

    @property
    def allowed(self) -> str:
        """The accepted values as a phrase, in the core's units."""
        if self.options:
            return "one of " + ", ".join(self.options)
        if self.low is None and self.high is None:
            return "a finite number"
        lower = (
            "" if self.low is None else f"{'more than' if self.low_open else 'from'} {self.low:g}"
        )
        upper = (
            "" if self.high is None else f"{'less than' if self.high_open else 'to'} {self.high:g}"
        )
        return " ".join(part for part in (lower, upper) if part)


def stated(default: Any = dataclasses.MISSING, **facts: Any) -> Any:
    """Return a dataclass field that carries its `Facts`; a callable default is a factory."""
    metadata = {"facts": Facts(**facts)}
    if callable(default):
        return field(default_factory=default, metadata=metadata)
    if default is dataclasses.MISSING:
        return field(metadata=metadata)
    return field(default=default, metadata=metadata)


def quantity(kind: str, label: str, default: Any = dataclasses.MISSING, **facts: Any) -> Any:
    """Return a field for a real number of a unit kind."""
    return stated(default, type="quantity", kind=kind, label=label, **facts)


def whole(label: str, default: Any = dataclasses.MISSING, **facts: Any) -> Any:
    """Return a field for a whole number."""
    return stated(default, type="whole", kind=facts.pop("kind", "count"), label=label, **facts)


def choice(label: str, options: tuple[str, ...], default: Any, **facts: Any) -> Any:
    """Return a field for one of a few words."""
    return stated(default, type="choice", label=label, options=options, **facts)


def key(table: str, label: str, default: Any = dataclasses.MISSING, **facts: Any) -> Any:
    """Return a field for the key of a row in a table of ``data``."""
    return stated(default, type="key", table=table, label=label, **facts)


def text(label: str, default: Any = dataclasses.MISSING, **facts: Any) -> Any:
    """Return a field for a name or a note."""
    return stated(default, type="text", label=label, **facts)


def flag(label: str, default: bool, **facts: Any) -> Any:
    """Return a field for yes or no."""
    return stated(default, type="flag", label=label, **facts)


def part(label: str, default: Any = dataclasses.MISSING, **facts: Any) -> Any:
    """Return a field for a nested dataclass (or none)."""
    return stated(default, type="part", label=label, **facts)


def parts(label: str, default: Any = dataclasses.MISSING, **facts: Any) -> Any:
    """Return a field for a tuple of nested dataclasses."""
    return stated(default, type="parts", label=label, **facts)


def facts_of(cls: Any) -> dict[str, Facts]:
    """Return the facts of every stated field of a dataclass, by attribute name."""
    return {f.name: f.metadata["facts"] for f in dataclasses.fields(cls) if "facts" in f.metadata}


def case_name(attribute: str, facts: Facts) -> str:
    """Return the name of a field in a case: the attribute without its unit.

    Examples
    --------
    >>> case_name("thickness_m", Facts("quantity", "Thickness", kind="thickness"))
    'thickness'
    """
    return attribute.removesuffix(SUFFIX.get(facts.kind, ""))


def check(instance: Any) -> None:
    """Raise `CaseError` for the first stated field of `instance` that its facts refuse."""
    for name, facts in facts_of(type(instance)).items():
        _check_value(case_name(name, facts), getattr(instance, name), facts)


def _check_value(name: str, value: Any, facts: Facts) -> None:
    if value is None and facts.when_unset:
        return
    if facts.type in ("quantity", "whole"):
        _check_number(name, value, facts)
    elif facts.type == "choice" and value not in facts.options:
        raise CaseError(name, value, facts.allowed)
    elif facts.type == "key":
        check_key(name, value, facts.table)
    elif facts.type == "flag" and not isinstance(value, bool):
        raise CaseError(name, value, "true or false")
    elif facts.type == "text" and not isinstance(value, str):
        raise CaseError(name, value, "a text")


def _check_number(name: str, value: Any, facts: Facts) -> None:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value):
        raise CaseError(name, value, facts.allowed)
    if facts.type == "whole" and value != int(value):
        raise CaseError(name, value, "a whole number, " + facts.allowed)
    if not in_range(value, facts):
        raise CaseError(name, value, facts.allowed)


def in_range(value: float, facts: Facts) -> bool:
    """Tell whether a number lies within the stated bounds."""
    above = facts.low is None or (value > facts.low if facts.low_open else value >= facts.low)
    below = facts.high is None or (value < facts.high if facts.high_open else value <= facts.high)
    return above and below


def check_key(name: str, value: Any, table: str) -> None:
    """Raise `CaseError` with the nearest known keys unless `value` is a key of `table`."""
    known = tables.keys(table)
    if value in known:
        return
    near = get_close_matches(str(value), known, n=3)
    hint = f"a key of {table}, such as {', '.join(near or known[:3])}"
    raise CaseError(name, value, hint)
