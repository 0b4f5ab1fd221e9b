"""The inputs that an owner argues about, as sliders over the entries of the form."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lcc import units
from lcc.case import Prices
from lcc.case.alternatives import MetalRetrofit
from lcc.case.fields import known
from lcc.case.resolution import resolve
from lcc.heat.assembly import thermal_layer
from lcc.quantities import room_m
from lcc.units import System
from web import format as fmt
from web.answer import Answer
from web.answer_tables import amount
from web.charts.figure import against_base
from web.form import form_layout
from web.form.entries import FormEntry
from web.form.form_fields import Document

_WHOLE_FROM = 100  # and above people say no decimals


@dataclass(frozen=True)
class Slider:
    """A slider that moves one entry; it has no name of its own and is not sent."""

    entry: str
    label: str
    unit: str
    low: str
    high: str
    step: str
    value: str
    note: str = ""

    @property
    def id(self) -> str:
        """Identity of the slider in the page."""
        return "w-" + self.entry.removeprefix("f-")

    @property
    def said(self) -> str:
        """Value as people say it, its unit left out; `asSaid` of ``sliders.js`` says it alike."""
        value = float(self.value)
        whole = abs(value) >= _WHOLE_FROM or self.unit == "mm"
        decimals = 0 if whole else 2 if abs(value) >= 1 else 3
        return f"${value:.{decimals}f}" if self.in_money else fmt.entry(round(value, decimals))

    @property
    def in_money(self) -> bool:
        """Whether the currency stands before the value."""
        return self.unit.startswith("$")


@dataclass(frozen=True)
class _Range:
    label: str
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    around: bool = False


def _retrofit(answer: Answer) -> tuple[str, MetalRetrofit] | None:
    """The first metal retrofit, with its path."""
    found = enumerate(answer.case.alternatives)
    return next(((f"alternatives.{n}", a) for n, a in found if isinstance(a, MetalRetrofit)), None)


def _ranges(answer: Answer) -> dict[str, _Range]:
    """Which entries have a slider: by path, with the range that is argued about."""
    ranges = {
        "base_case.service_life": _Range("A membrane lasts", 5, 40, 1),
        "base_case.price": _Range("A new membrane costs", around=True),
    }
    if found := _retrofit(answer):
        path, retrofit = found
        ranges |= {
            f"{path}.price": _Range("The metal roof costs", around=True),
            f"{path}.solar_reflectance": _Range("The panel reflects", 0.05, 0.85, 0.01),
            f"{path}.layers.0.thickness": _thickness(retrofit, answer.reply["units"]),
        }
    return {
        **ranges,
        "economics.discount_rate": _Range("Discount rate", 0, 10, 0.25),
        "prices.electricity": _Range("Electricity costs", 0.02, 0.5, 0.005),
        **_gas(answer.reply),
    }


def _gas(reply: Mapping[str, Any]) -> dict[str, _Range]:
    """Return the slider of the price of gas where gas is burned, as electricity always has one."""
    span = (0.2, 4, 0.02) if reply["units"] == "ip" else (0.01, 0.14, 0.002)
    burned = any(year["gas"] for year in reply["alternatives"][0]["energy"])
    return {"prices.gas": _Range("Gas costs", *span)} if burned else {}


def _thickness(retrofit: MetalRetrofit, system: System) -> _Range:
    """As much insulation as fits under the panel, if a survey tells how much that is."""
    low, high, step = (10.0, 360.0, 10.0) if system == "si" else (0.5, 14, 0.5)
    room = room_m(retrofit)
    if room is not None:
        most = units.from_core(room, "thickness", system)
        high = min(high, units.as_read(most, "thickness", system))
    return _Range("Insulation on the old roof", low, high, step)


def _resistance(retrofit: MetalRetrofit, prices: Prices, system: System) -> str:
    """What the thickness adds, which is what is argued about, and that its price does not."""
    layer = thermal_layer(retrofit.layers[0])
    r_value, by_r = layer.resistance_m2k_w, known(resolve(prices).insulation_per_m2)
    added = units.from_core(r_value, "resistance", system)
    unit, price = (units.unit(kind, system).display for kind in ("resistance", "price_per_area"))
    costs = fmt.shown(units.from_core(by_r * r_value, "price_per_area", system), "price_per_area")
    return (
        f"Adds R {fmt.shown(added, 'resistance')} {unit}; its fasteners take some of that away. "
        f"The price of the metal roof stays as it is: insulation of that R-value usually costs "
        f"about {costs}{price.removeprefix('$')}. Ask your bidder, and move the price too."
    )


def sliders(document: Document, resolved: Mapping[str, str], answer: Answer) -> tuple[Slider, ...]:
    """Return the sliders of a case, each where its entry has a number."""
    ranges = _ranges(answer)
    entries = form_layout.entries_at(document, {}, resolved, ranges)
    notes = _notes(answer)
    found = (
        _slider(entries[path], one, notes.get(path, ""))
        for path, one in ranges.items()
        if path in entries
    )
    return tuple(slider for slider in found if slider)


def _notes(answer: Answer) -> dict[str, str]:
    """Where an alternative and the base case cost the same, by path of the entry.

    An alternative's own entries tell of itself, the shared ones of the cheapest. Each says whose
    it is where there are several.
    """
    reply = answer.reply
    _, best = against_base(reply)
    others = reply["alternatives"][1:]
    own = [
        (alternative, one)
        for place, alternative in enumerate(others)
        for one in alternative["break_even"]
        if one["field"].startswith(f"alternatives.{place}.")
    ]
    notes = {
        one["field"]: _note(one, reply["units"], whose["name"], several=len(others) > 1)
        for whose, one in (*((best, one) for one in best["break_even"]), *own)
    }
    found = _retrofit(answer)
    if found and found[1].layers:
        notes[f"{found[0]}.layers.0.thickness"] = _resistance(
            found[1], answer.case.prices, reply["units"]
        )
    return notes


def _note(one: Mapping[str, Any], system: System, name: str, *, several: bool) -> str:
    if one["value"] is None:
        return f"“{name}”: {one['reason']}." if one["reason"] else ""
    whose = f" of “{name}”" * several
    note = f"Same cost{whose} at {amount(one['value'], system)}"
    return f"{note}: {one['reason']}." if one["reason"] else f"{note}."


def _slider(entry: FormEntry, one: _Range, note: str) -> Slider | None:
    try:
        value = float(entry.value or entry.placeholder)
    except ValueError:
        return None
    low, high, step = _around(value) if one.around else (one.low, one.high, one.step)
    # The browser counts steps from the low end: the value is on one, and a way back leads to it.
    low = value - math.floor((value - low) / step + 1e-9) * step if value > low else value
    return Slider(entry.id, one.label, entry.unit, fmt.entry(low), fmt.entry(max(high, value)),
                  fmt.entry(step), fmt.entry(value), note)  # fmt: skip


def _around(value: float) -> tuple[float, float, float]:
    """A range from under half to twice a price, in round steps that reach a break-even as said."""
    size = 10.0 ** math.floor(math.log10(max(abs(value), 0.01) / 100))
    step = max(0.01, size / 10)
    return math.floor(0.4 * value / step) * step, math.ceil(2 * value / step) * step, step
