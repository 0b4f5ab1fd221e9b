"""Marshmallow schemas made from the dataclasses of the core, one for each class and unit system.

Nothing is written twice: a dataclass field's `Facts` say what a value may be, its type says how it
nests, and the schema made here writes it and describes it.
"""

from functools import cache, lru_cache
from typing import Any

from marshmallow import Schema
from marshmallow.fields import Function, List, Nested

from api import marshmallow_fields as fields
from lcc import units
from lcc.case import Case
from lcc.case.case_document import KIND, UNITS, Member, members
from lcc.case.document_values import is_number
from lcc.case.fields import BASES, Choice
from lcc.case.marked_defaults import DEFAULT, default_marks
from lcc.results.assumption import Assumption
from lcc.results.takeoff_result import Amount
from lcc.units import System

# Classes of replies whose `value` is of the kind that the object itself names.
_OF_A_KIND = (Assumption, Amount)


class CaseSchema(Schema):
    """Writes a dataclass of the core as an object, and describes that object."""

    class Meta:
        """A schema is found by its class and units, not by a name."""

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
        made["units"] = _constant(UNITS, system)
    if kind:
        made["kind"] = _constant(KIND, kind)
    for member in members(cls):
        made[member.attribute] = _field(member, system, reply)
    if top and cls is Case:
        made["origins"] = _bases_by_pointer()
    if cls in _OF_A_KIND:
        made |= _value_and_unit(system)
    first_line = (cls.__doc__ or "").strip().split("\n")[0]
    made["Meta"] = type("Meta", (CaseSchema.Meta,), {"description": first_line})
    name = cls.__name__ + ("Alternative" if kind else "") + system.title()
    return type(name, (CaseSchema,), made)


def _constant(facts: Choice, word: str) -> Function:
    """Return the field of a word that chose the schema: the document names it alone."""
    about = f"{facts.label}. {facts.help}".strip()
    metadata = {"type": "string", "enum": [word], "description": about}
    return Function(lambda _: word, str, required=True, metadata=metadata)


def _bases_by_pointer() -> Function:
    """Return the field of where figures of a case come from, where they are not entered."""
    about = (
        "Bases of figures. By JSON pointer, of all that it leads to: a basis; or default, "
        "which is read as if left out, and refused where it is another figure."
    )
    said = {
        "type": "object", "description": about,
        "additionalProperties": {"type": "string", "enum": [*BASES, DEFAULT]},
        "propertyNames": {"pattern": r"^(/[^\x00-\x1f\x7f-\x9f]*)?$"},
    }  # fmt: skip
    return Function(default_marks, dict, allow_none=True, metadata={fields.SAID: said.copy})


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
