"""Marshmallow schemas made from the dataclasses of the core, one for each class and unit system.

Nothing is written twice: a dataclass field's `Facts` say what a value may be, its type says how it
nests, and the schema made here reads it, writes it and describes it.
"""

from functools import cache, lru_cache
from typing import Any

from marshmallow import EXCLUDE, Schema
from marshmallow.fields import Function, List, Nested

from api import marshmallow_fields as fields
from lcc import units
from lcc.case import Case
from lcc.case.case_document import KIND, UNITS, Member, members
from lcc.case.document_values import is_number
from lcc.results.assumption import Assumption
from lcc.results.takeoff_result import Amount
from lcc.units import System

# Classes of replies whose `value` is of the kind that the object itself names.
_OF_A_KIND = (Assumption, Amount)


class CaseSchema(Schema):
    """Writes a dataclass of the core as an object, and describes that object."""

    class Meta:
        """Unknown names are refused by the core's reader, which can say what was meant."""

        unknown = EXCLUDE
        register = False

    core_class: type[Any]
    reply: bool

    def dump(self, obj: Any, **options: Any) -> Any:
        """Return an object as a document; an assumption is one of hundreds that seldom change."""
        known = self.core_class is Assumption and not any(options.values())
        return dict(_written(self, obj)) if known else super().dump(obj, **options)


@lru_cache(maxsize=1024)
def _written(schema: CaseSchema, assumption: Assumption) -> Any:
    return Schema.dump(schema, assumption)


def schema_for(
    cls: type[Any], system: System, *, kind: str = "", top: bool = False, reply: bool = False
) -> type[CaseSchema]:
    """Return the schema class of a dataclass in a unit system.

    Parameters
    ----------
    cls : type
        A dataclass whose fields carry `Facts`.
    system : "ip" or "si"
        The unit of bare numbers.
    kind : str
        The word of an alternative, where several kinds are possible.
    top : bool
        Whether the object states its ``units``.
    reply : bool
        Whether it is only written.
    """
    made: type[CaseSchema] = _schema(cls, system, kind, top, reply)  # type: ignore[arg-type]
    return made


@cache
def _schema(cls: Any, system: System, kind: str, top: bool, reply: bool) -> type[CaseSchema]:
    made: dict[str, Any] = {"core_class": cls, "reply": reply}
    if top:
        made["units"] = fields.Constant(UNITS, system)
    if top and cls is Case:
        made["bases"] = fields.BasesByPointer()
    if kind:
        made["kind"] = fields.Constant(KIND, kind)
    for member in members(cls):
        made[member.attribute] = _field(member, system, reply)
    if cls in _OF_A_KIND:
        made |= _value_and_unit(system)
    made["Meta"] = type("Meta", (CaseSchema.Meta,), {"description": _first_line(cls)})
    name = cls.__name__ + ("Alternative" if kind else "") + system.title()
    return type(name, (CaseSchema,), made)


def _first_line(cls: Any) -> str:
    return (cls.__doc__ or "").strip().split("\n")[0]


def _field(member: Member, system: System, reply: bool) -> Any:
    if not member.kinds:
        return fields.of_member(member, system, reply)
    options = fields.options(member, system, reply)
    own = {} if member.many else options
    nested = {
        kind: schema_for(inner, system, kind=kind, reply=reply)
        for kind, inner in member.kinds.items()
    }
    if "" in nested:
        part: Any = Nested(nested[""], **own)
    else:
        kinds = {kind: schema() for kind, schema in nested.items()}
        part = fields.OneOfKinds(kinds, **own)
    return List(part, **options) if member.many else part


def _value_and_unit(system: System) -> dict[str, Any]:
    """Return the value of an object in its own unit, and that unit as texts spell it."""

    def unit(each: Any) -> str | None:
        known = each.kind in units.KINDS and is_number(each.value)
        return (units.unit(each.kind, system).text or None) if known else None

    def value(each: Any) -> Any:
        known = each.kind in units.KINDS and is_number(each.value)
        return units.from_core(float(each.value), each.kind, system) if known else each.value

    some = [{"type": "number"}, {"type": "string"}, {"type": "null"}]
    about = {"oneOf": some, "description": "Value, in `unit`."}
    spelling = {"type": ["string", "null"], "description": "Unit of the value."}
    return {
        "value": Function(value, required=True, metadata=about),
        "unit": Function(unit, required=True, metadata=spelling),
    }
