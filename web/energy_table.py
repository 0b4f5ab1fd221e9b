"""A typical year of every roof in one table: electricity, gas, peak and bill."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from lcc import units
from lcc.cost.energy_phases import Spell
from web import format as fmt
from web.charts import Reply, Series
from web.charts.figure import series_of, states, today, typical
from web.charts.palette import TODAY

# Column, unit kind and how the figure is found in an energy year.
_COLUMNS: tuple[tuple[str, str, Callable[[Reply], float]], ...] = (
    ("Cooling", "electricity", lambda year: year["cooling_electricity"]),
    ("Heating, electric", "electricity", lambda year: year["heating_electricity"]),
    ("Heating, gas", "gas_energy", lambda year: year["gas"]),
    ("Highest cooling load", "power", lambda year: year["peak_cooling"]),
    ("Cooling plant, hot day", "power", lambda year: year["design_cooling"]),
    ("Hottest roof face", "temperature", lambda year: year["peak_surface"]),
    ("CO₂", "mass", lambda year: year["emissions"]),
    (
        "Heating and cooling bill",
        "money",
        lambda year: year["electricity_cost"] + year["demand_cost"] + year["gas_cost"],
    ),
)
SHUT = (
    "Indoors: doors and windows are counted as shut, and no fans as running. Where they are opened "
    "or run, it is cooler than this."
)
# Where nothing cools, what the rooms are like stands in place of a bill for cooling.
_UNCOOLED: tuple[tuple[str, str, Callable[[Reply], float]], ...] = (
    ("Highest indoors", "temperature", lambda year: year["peak_indoor"]),
    ("Mean indoors", "temperature", lambda year: year["mean_indoor"]),
    ("Above {} indoors", "hours", lambda year: year["hours_above_85f"]),
)


@dataclass(frozen=True)
class EnergyTable:
    """Columns, and for each roof its series and its cells."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Series, tuple[str, ...]], ...]
    note: str = ""


def energy_table(reply: Reply) -> EnergyTable:
    """Return a typical year of the roof of today, and of every state of each roof that lasts."""
    named = [*(pair for pair in states(reply) if pair[0].id == TODAY), *_lasting(reply)]
    used = [column for column in _COLUMNS if any(column[2](year) for _, year in named)]
    uncooled = not any(year["cooling_load"] for _, year in named)
    used += _UNCOOLED * uncooled
    return EnergyTable(
        ("Roof", *(_headed(label, kind, reply) for label, kind, _ in used)),
        tuple(
            (one, (one.name, *(fmt.shown(value(year), kind) for _, kind, value in used)))
            for one, year in named
        ),
        SHUT * uncooled,
    )


def _lasting(reply: Reply) -> Iterator[tuple[Series, Reply]]:
    """Yield the energy year of each state of a roof that lasts, with its years where several do."""
    now = today(reply)
    for one, roof in zip(series_of(reply), reply["alternatives"], strict=True):
        longest = typical(roof)
        found = [year for year in roof["energy"]
                 if year is longest or (len(year["years"]) > 1 and year is not now)]  # fmt: skip
        for year in found:
            first, last = year["years"][0], year["years"][-1]
            spell = f", {Spell(first, last, 0.0).years}" * (len(found) > 1)
            yield replace(one, name=f"{one.name}{spell}"), year


def _headed(label: str, kind: str, reply: Reply) -> str:
    label = label.format(_hot(reply["units"]))
    return label if kind == "money" else f"{label}, {units.unit(kind, reply['units']).display}"


def _hot(system: units.System) -> str:
    """The 85 °F above which hours are counted, in the units of the reply."""
    hot = units.from_core(units.to_core(85.0, "temperature", "ip"), "temperature", system)
    return f"{fmt.shown(hot, 'temperature')} {units.unit('temperature', system).display}"
