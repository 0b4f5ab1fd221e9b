"""The tables as documents: every row with its source, columns in the units asked for."""

from functools import cache
from typing import Any

from api import service
from lcc import tables, units
from lcc.case import Prices
from lcc.case.fields import SUFFIX, facts_of
from lcc.units import System

# By address: the name of a table with hyphens.
TITLES = {
    "climates": "Typical-year stations",
    "materials": "Materials of layers",
    "coverings": "Coverings and coatings",
    "panels": "Finishes of metal panels",
    "building-uses": "Uses of the top story",
    "prices": "Prices and emission factors",
    "insulation-minimums": "Insulation above deck by climate zone",
}
# Kinds of columns whose suffix fits several kinds.
_KINDS = {
    "mass_kg_m2": "mass_per_area",
    "thickness_m": "thickness",
    "elevation_m": "length",
    "price_per_m2": "price_per_area",
    "gains_w_m2": "power_density",
    "conductivity_w_mk": "conductivity",
    "resistance_m2k_w": "resistance",
    "density_kg_m3": "density",
    "specific_heat_j_kgk": "specific_heat",
    "service_life_y": "years",
    "ventilation_m3_s_m2": "airflow_per_area",
    "infiltration_per_h": "air_changes",
    "heating_setpoint_c": "temperature",
    "cooling_setpoint_c": "temperature",
    "mean_dry_bulb_c": "temperature",
    "setback_k": "temperature_difference",
    "latitude_deg": "angle",
    "longitude_deg": "angle",
    "utc_offset_h": "hours",
    "weekday_start_h": "hours",
    "weekday_end_h": "hours",
    "mean_wind_speed_m_s": "speed",
    "annual_ghi_kwh_m2": "energy_per_area",
}


def document(address: str, system: System) -> dict[str, Any]:
    """Return a table with its columns in a unit system.

    Parameters
    ----------
    address : str
        One of the addresses of `TITLES`.
    system : "ip" or "si"

    Returns
    -------
    dict
        ``model_version``, ``data_version``, ``units``, ``title``, ``columns`` (name and unit) and
        ``rows``, each with ``basis`` and ``source``.
    """
    head = {**service.versions(), "units": system, "title": TITLES[address]}
    return {**head, **_columns_and_rows(address.replace("-", "_"), system)}


@cache
def _columns_and_rows(table: str, system: System) -> dict[str, Any]:
    if table == "prices":
        return _prices(system)
    rows = tables.rows(table).values()
    names = list(next(iter(rows)))
    return {
        "columns": [{"name": _shown(name), "unit": _unit(name, system)} for name in names],
        "rows": [{_shown(n): _converted(n, row[n], system) for n in names} for row in rows],
    }


def _kind(column: str) -> str:
    return _KINDS.get(column, "")


def _shown(column: str) -> str:
    kind = _kind(column)
    return column.removesuffix(SUFFIX[kind]) if kind else column


def _unit(column: str, system: System) -> str | None:
    kind = _kind(column)
    return units.unit(kind, system).text or None if kind else None


def _converted(column: str, value: Any, system: System) -> Any:
    kind = _kind(column)
    if not kind or value is None:
        return value
    return units.from_core(float(value), kind, system)


def _prices(system: System) -> dict[str, Any]:
    kinds = {name: facts.kind for name, facts in facts_of(Prices).items()}
    rows = []
    for key, row in tables.rows("prices").items():
        kind = kinds.get(key, "price_per_area")
        value = units.from_core(float(row["value"]), kind, system)
        unit = units.unit(kind, system).text
        rest = {name: row[name] for name in ("basis", "source")}
        name = key.removesuffix(SUFFIX.get(kind, ""))
        rows.append({"key": name, "value": value, "unit": unit, **rest})
    columns = [{"name": name, "unit": None} for name in rows[0]]
    return {"columns": columns, "rows": rows}
