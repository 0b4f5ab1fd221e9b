"""What a form needs to know of each field, from the same schemas that read the case."""

from __future__ import annotations

from typing import Any

from api import fields as api_fields
from api import schemas
from lcc import tables, units
from lcc.case import KINDS
from lcc.case.fields import Facts, facts_of
from lcc.units import System


def fields(cls: type[Any], system: System) -> list[dict[str, Any]]:
    """Return the fields of a dataclass of the case, in order, as plain descriptions.

    Parameters
    ----------
    cls : type
        A dataclass whose fields carry `Facts`.
    system : "ip" or "si"
        The unit of ranges and defaults.

    Returns
    -------
    list of dict
        ``name`` (as in a case), ``type``, ``label``, ``help``, ``unit`` (as people read it),
        ``unit_text`` (as a text quantity spells it), ``low``, ``high``, ``low_open``,
        ``high_open``, ``default``, ``options`` (pairs of word and label), ``source``, ``basis``,
        ``when_unset``, ``optional``, ``advanced``, and for nested objects ``nested`` (their fields)
        or ``kinds`` (fields by kind); ``many`` tells a list.

    Examples
    --------
    >>> from lcc.case import Layer
    >>> thickness = fields(Layer, "ip")[1]
    >>> thickness["name"], thickness["unit"], round(thickness["high"], 2)
    ('thickness', 'in', 78.74)
    """
    schema = schemas.schema_for(cls, system)()
    facts = facts_of(cls)
    return [_describe(name, field, facts[name]) for name, field in _own(schema, cls)]


def _own(schema: schemas.CaseSchema, cls: type[Any]) -> list[tuple[str, Any]]:
    return [(name, schema.fields[name]) for name in facts_of(cls)]


def _describe(attribute: str, field: api_fields.Value, facts: Facts) -> dict[str, Any]:
    unit = units.unit(facts.kind, field.system) if facts.kind in units.KINDS else units.Unit("")
    return {
        "name": field.data_key or attribute,
        "type": facts.type,
        "label": facts.label,
        "help": facts.help,
        "kind": facts.kind,
        "unit": unit.display,
        "unit_text": unit.text,
        "low": getattr(field, "low", facts.low),
        "high": getattr(field, "high", facts.high),
        "low_open": facts.low_open,
        "high_open": facts.high_open,
        "required": field.required,
        "optional": field.allow_none,
        "default": field.metadata.get("default"),
        "options": options(facts),
        "basis": facts.basis,
        "source": facts.source,
        "when_unset": facts.when_unset,
        "advanced": facts.advanced,
        **_nested(field, facts),
    }


def options(facts: Facts) -> list[tuple[str, str]]:
    """Return the words that a field takes, each with what people read."""
    if facts.options:
        return [(word, word.replace("-", " ")) for word in facts.options]
    if not facts.table:
        return []
    return [(key, _row_label(row, key)) for key, row in tables.rows(facts.table).items()]


def _row_label(row: dict[Any, Any], key: str) -> str:
    if "city" in row:
        return f"{row['city']}, {row['state']}"
    return str(row.get("name") or key)


def _nested(field: api_fields.Value, facts: Facts) -> dict[str, Any]:
    if not isinstance(field, api_fields.PartField):
        return {}
    members = {kind: schema.core_class for kind, schema in field.schemas.items()}  # type: ignore[attr-defined]
    many = facts.type == "parts"
    if set(members) <= set(KINDS):
        inner = {kind: fields(cls, field.system) for kind, cls in members.items()}
        return {"many": many, "kinds": inner}
    return {"many": many, "nested": fields(next(iter(members.values())), field.system)}
