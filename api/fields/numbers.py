"""Numbers: quantities with units, and whole numbers."""

from __future__ import annotations

import math
from collections.abc import Callable
from math import ceil, floor, log10
from typing import Any

from marshmallow import ValidationError

from api.fields.base import Value, is_number, refuse
from lcc import units
from lcc.case.fields import Facts
from lcc.units import System


class QuantityField(Value):
    """A number in the request's unit, or a text with its own unit; the core's number inside."""

    def __init__(
        self, facts: Facts, system: System, *, reply: bool = False, **options: Any
    ) -> None:
        self.kind = facts.kind
        self.reply = reply
        self.low = _bound(facts.low, facts.kind, system)
        self.high = _bound(facts.high, facts.kind, system)
        super().__init__(facts, system, **options)

    @property
    def unit_text(self) -> str:
        """The unit of a bare number, as a spelling that texts may use too."""
        return units.unit(self.kind, self.system).text

    @property
    def allowed(self) -> str:
        """The range in the request's unit."""
        shown = f" {self.unit_text}" if self.unit_text else ""
        return range_phrase(self.facts, self.low, self.high) + shown

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        if value is None:
            return None
        if isinstance(value, tuple):
            return [units.from_core(float(v), self.kind, self.system) for v in value]
        return units.from_core(float(value), self.kind, self.system)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        if isinstance(value, str):
            return self._read_text(value)
        if not is_number(value):
            raise self.wrong(value, f"a number, {self.allowed}")
        if not self._fits(float(value)):
            raise self.wrong(value, rule="range")
        return self._snapped(units.to_core(float(value), self.kind, self.system))

    def _read_text(self, text: str) -> float:
        try:
            core = units.parse(text, self.kind)
        except units.UnitError as error:
            raise self._unreadable(error) from None
        core = self._snapped(core, relative=1e-12)
        if not self._fits_core(core):
            raise self.wrong(text, rule="range")
        return core

    def _unreadable(self, error: units.UnitError) -> ValidationError:
        spelled = f"a text with one of the units {', '.join(error.allowed)}"
        bare = f"a number{' of ' + self.unit_text if self.unit_text else ''}"
        allowed = f"{bare}, or {spelled}" if error.allowed else bare
        return refuse(f"{self.label}: {error.detail}.", allowed, self.unit_text, "unit")

    def _fits(self, value: float) -> bool:
        facts = self.facts
        above = self.low is None or (value > self.low if facts.low_open else value >= self.low)
        below = self.high is None or (value < self.high if facts.high_open else value <= self.high)
        return above and below

    def _fits_core(self, core: float) -> bool:
        facts = self.facts
        above = facts.low is None or (core > facts.low if facts.low_open else core >= facts.low)
        below = facts.high is None or (core < facts.high if facts.high_open else core <= facts.high)
        return above and below

    def _snapped(self, core: float, relative: float = 1e-9) -> float:
        """Take out the rounding of a conversion where it crosses a bound of the core."""
        facts = self.facts
        for bound, opened, towards in (
            (facts.low, facts.low_open, math.inf),
            (facts.high, facts.high_open, -math.inf),
        ):
            if bound is not None and abs(core - bound) <= relative * abs(bound):
                crossed = core <= bound if towards > 0 else core >= bound
                return (math.nextafter(bound, towards) if opened else bound) if crossed else core
        return core

    def core_json(self) -> dict[str, Any]:
        """A number with its bounds, or a text of the closed table."""
        number: dict[str, Any] = {"type": "number"}
        if self.low is not None:
            number["exclusiveMinimum" if self.facts.low_open else "minimum"] = self.low
        if self.high is not None:
            number["exclusiveMaximum" if self.facts.high_open else "maximum"] = self.high
        if self.reply or not units.spellings(self.kind):
            return number
        text = {"type": "string", "maxLength": units.MAX_TEXT, "pattern": units.pattern(self.kind)}
        return {"oneOf": [number, text]}


def _bound(core: float | None, kind: str, system: System) -> float | None:
    return None if core is None else units.from_core(float(core), kind, system)


def range_phrase(facts: Facts, low: float | None, high: float | None) -> str:
    """Return a range as a phrase, converted limits rounded to the inside to three digits.

    Examples
    --------
    >>> from lcc.case.fields import Quantity
    >>> range_phrase(Quantity("area", "Roof area"), 10.7639104167, 10763910.4167)
    'at least 10.8, at most 10,700,000'
    """
    parts = []
    if low is not None:
        parts.append(f"{'more than' if facts.low_open else 'at least'} {_rounded(low, ceil)}")
    if high is not None:
        parts.append(f"{'less than' if facts.high_open else 'at most'} {_rounded(high, floor)}")
    return ", ".join(parts) or "any finite number"


def _rounded(limit: float, towards: Callable[[float], int]) -> str:
    """Return a limit as people say it; one of at most four digits is exact."""
    if float(f"{limit:.4g}") == limit:
        return _grouped(limit)
    step = 10.0 ** (floor(log10(abs(limit))) - 2)
    return _grouped(float(f"{towards(limit / step) * step:.3g}"))


def _grouped(number: float) -> str:
    return f"{number:,.0f}" if abs(number) >= 10000 and number % 1 == 0 else f"{number:.12g}"


class WholeField(Value):
    """A whole number; 3.0 is one, as JSON Schema has it."""

    @property
    def allowed(self) -> str:
        """The range of whole numbers."""
        return "a whole number, " + range_phrase(self.facts, self.facts.low, self.facts.high)

    @property
    def unit_text(self) -> str:
        """The unit, such as years."""
        return units.unit(self.facts.kind, self.system).text if self.facts.kind else ""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> int:
        if not is_number(value) or value != int(value):
            raise self.wrong(value)
        low, high = self.facts.low, self.facts.high
        if high is not None and value > high and self.metadata.get("limit"):
            raise self.wrong(value, rule="limit", limit=self.metadata["limit"])
        if (low is not None and value < low) or (high is not None and value > high):
            raise self.wrong(value, rule="range")
        return int(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> int | None:
        return None if value is None else int(value)

    def core_json(self) -> dict[str, Any]:
        """An integer with its bounds."""
        schema: dict[str, Any] = {"type": "integer"}
        if self.facts.low is not None:
            schema["minimum"] = int(self.facts.low)
        if self.facts.high is not None:
            schema["maximum"] = int(self.facts.high)
        return schema
