"""What a form needs to know of each field, from the same members that read the case."""

from typing import Any

from api.json_schema import default
from lcc import tables, units
from lcc.case.case_document import Member, members
from lcc.case.document_values import bounds
from lcc.case.fields import Facts
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
    return [_describe(member, system) for member in members(cls)]


def _describe(member: Member, system: System) -> dict[str, Any]:
    facts = member.facts
    unit = units.unit(facts.kind, system) if facts.kind in units.KINDS else units.Unit("")
    low, high = bounds(facts, system)
    return {
        "name": member.name,
        "type": facts.type,
        "label": facts.label,
        "help": facts.help,
        "kind": facts.kind,
        "unit": unit.display,
        "unit_text": unit.text,
        "low": low,
        "high": high,
        "low_open": facts.low_open,
        "high_open": facts.high_open,
        "required": member.required,
        "optional": member.optional,
        "default": default(member, system),
        "options": options(facts),
        "basis": facts.basis,
        "source": facts.source,
        "when_unset": facts.when_unset,
        "advanced": facts.advanced,
        **_nested(member, system),
    }


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
    if not facts.table:
        return []
    return [(key, _row_label(row, key)) for key, row in tables.rows(facts.table).items()]


def _row_label(row: dict[Any, Any], key: str) -> str:
    if "city" in row:
        return f"{row['city']}, {row['state']}"
    return str(row.get("name") or key)


def _nested(member: Member, system: System) -> dict[str, Any]:
    if not member.kinds:
        return {}
    inner = {kind: fields(cls, system) for kind, cls in member.kinds.items()}
    return {"many": member.many} | ({"nested": inner[""]} if "" in inner else {"kinds": inner})
