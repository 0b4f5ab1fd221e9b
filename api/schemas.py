"""Marshmallow schemas made from the dataclasses of the core, one for each class and unit system.

Nothing is written twice: a dataclass field's `Facts` say what a value may be, its type says how it
nests, and the schema made here reads it, writes it and describes it.
"""

import marshal
from collections.abc import Iterator, Mapping
from functools import cache, lru_cache
from typing import Any

from marshmallow import EXCLUDE, Schema, ValidationError, post_load, validates_schema
from marshmallow.fields import Function, Nested

from api import marshmallow_fields as fields
from api.problems import MOST_LISTED, Fault, fault_of, invalid
from lcc import units
from lcc.case import Building, Case, Layer, Site
from lcc.case.case_document import KIND, UNITS, Member, members, unknown_name
from lcc.case.document_values import is_number, named
from lcc.case.fields import CasePart
from lcc.case.kept import kept
from lcc.errors import CaseError
from lcc.heat import climate as climates
from lcc.heat.assembly import thermal_layer
from lcc.heat.zone import completed
from lcc.results.assumption import Assumption
from lcc.results.takeoff_result import Amount
from lcc.units import System

# Limits that have a problem type of their own: (class, attribute) -> name of the type.
LIMITS = {
    ("Assembly", "layers"): "too-many-layers",
    ("Roof", "layers"): "too-many-layers",
    ("MetalRetrofit", "layers"): "too-many-layers",
    ("AssembliesRequest", "assemblies"): "too-many-assemblies",
    ("Case", "alternatives"): "too-many-alternatives",
    ("Economics", "study_period_y"): "study-period-too-long",
}
PLAIN = 0  # the version of marshal's format without references, which would tell equal texts apart
MOST_NAMED = 4  # members of an object, where something else stands in its place
LONG_PART = 20_000  # bytes of a part of a document that is not kept
# Checks of one object that the core would make later run here, so that all errors are returned
# in one response.
_CONSISTENT: dict[type[Any], Any] = {Building: completed, Layer: thermal_layer, Site: climates.load}
# Classes of replies whose `value` is of the kind that the object itself names.
_OF_A_KIND = (Assumption, Amount)


class CaseSchema(Schema):
    """Reads an object into a dataclass of the core and writes it back."""

    class Meta:
        """Unknown names are refused by `_known_names`, which can say what was meant."""

        unknown = EXCLUDE
        register = False

    core_class: type[Any]
    system: System
    reply: bool
    shared: bool

    def load(self, data: Any, **options: Any) -> Any:
        """Return the object that a document holds, the same one for the same part of a case."""
        if not isinstance(data, Mapping):
            raise ValidationError({"_schema": [self._no_object(data)]})
        packed = _packed(data) if self.shared and not any(options.values()) else None
        return super().load(data, **options) if packed is None else _read(self, packed)

    def _no_object(self, data: Any) -> Fault:
        names = [field.data_key or name for name, field in self.load_fields.items()]
        few = ", ".join(names[:MOST_NAMED]) + (" and others" if len(names) > MOST_NAMED else "")
        allowed = f"an object with members such as {few}"
        return Fault(f"This is {named(data)}; allowed: {allowed}.", allowed)

    def dump(self, obj: Any, **options: Any) -> Any:
        """Return an object as a document; an assumption is one of hundreds that seldom change."""
        known = self.core_class is Assumption and not any(options.values())
        return dict(_written(self, obj)) if known else super().dump(obj, **options)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _known_names(self, data: Any, original: Any, **_: Any) -> None:
        if not isinstance(original, Mapping):
            return
        known = [field.data_key or name for name, field in self.load_fields.items()]
        unknown = [name for name in original if name not in known][: MOST_LISTED + 1]
        if unknown:
            faults = {name: [fault_of(unknown_name(str(name), known))] for name in unknown}
            raise ValidationError(faults)

    @post_load
    def _build(self, data: dict[str, Any], **_: Any) -> Any:
        stated = {
            each.attribute: data[each.attribute]
            for each in members(self.core_class)
            if each.attribute in data and not (data[each.attribute] is None and each.null_is_unset)
        }
        try:
            built = self.core_class(**stated)
            _CONSISTENT.get(self.core_class, bool)(built)
            return built
        except CaseError as error:
            error.allowed = units.ordered(error.allowed, self.system)
            error.detail = units.ordered(error.detail, self.system)
            raise fields.refused(error) from None


def _packed(data: Any) -> bytes | None:
    """Return a short part of a document as bytes, which tell true from 1 and 1 from 1.0.

    A page's form sends the members of a part in another order than a case file has them.
    """
    try:
        packed = marshal.dumps(_in_order(data), PLAIN)
    except ValueError:
        return None
    return packed if len(packed) < LONG_PART else None


def _in_order(data: Any) -> Any:
    """Return a part of a document with its members in the order of their names."""
    if isinstance(data, dict):
        return {name: _in_order(data[name]) for name in sorted(data, key=str)}
    return [_in_order(one) for one in data] if isinstance(data, list) else data


@kept(128)
def _read(schema: CaseSchema, packed: bytes) -> Any:
    return Schema.load(schema, marshal.loads(packed))


@lru_cache(maxsize=1024)
def _written(schema: CaseSchema, assumption: Assumption) -> Any:
    return Schema.dump(schema, assumption)


@cache
def reader_for(cls: Any, system: System) -> CaseSchema:
    """Return what reads a document with its own units; its nested schemas are made once."""
    return schema_for(cls, system, top=True)()


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
    shared = not (top or reply) and issubclass(cls, CasePart)
    made: dict[str, Any] = {"core_class": cls, "system": system, "reply": reply, "shared": shared}
    if top:
        made["units"] = fields.Constant(UNITS, system)
    if top and cls is Case:
        made["bases"] = fields.BasesByPointer()
    if kind:
        made["kind"] = fields.Constant(KIND, kind)
    for member in members(cls):
        made[member.attribute] = _field(cls, member, system, reply)
    if cls in _OF_A_KIND:
        made |= _value_and_unit(system)
    made["Meta"] = type("Meta", (CaseSchema.Meta,), {"description": _first_line(cls)})
    name = cls.__name__ + ("Alternative" if kind else "") + system.title()
    return type(name, (CaseSchema,), made)


def _first_line(cls: Any) -> str:
    return (cls.__doc__ or "").strip().split("\n")[0]


def _field(cls: type[Any], member: Member, system: System, reply: bool) -> Any:
    limit = LIMITS.get((cls.__name__, member.attribute), "")
    if not member.kinds:
        return fields.of_member(member, system, limit, reply)
    options = fields.options(member, system, {}, reply)
    own = {} if member.many else options
    nested = {
        kind: schema_for(inner, system, kind=kind, reply=reply)
        for kind, inner in member.kinds.items()
    }
    if "" in nested:
        part: Any = Nested(nested[""], **own)
    else:
        kinds = {kind: schema() for kind, schema in nested.items()}
        part = fields.OneOfKinds(member.facts, kinds, **own)
    return fields.PartList(part, member.facts, system, limit, **options) if member.many else part


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


def load(schema: Schema, payload: Any, *, ignore: tuple[str, ...] = ()) -> Any:
    """Return what a schema makes of a payload.

    Parameters
    ----------
    schema : marshmallow.Schema
    payload : object
        What the client sent, parsed.
    ignore : tuple of str
        Rules whose faults are left out, because they follow from another fault.

    Raises
    ------
    api.problems.Problem
        With every fault at once, in the order of their places; with the first if they are many.
    """
    try:
        return schema.load(payload)
    except ValidationError as error:
        places = [(path, f) for path, f in faults(error.messages) if f.rule not in ignore]
        raise invalid(places, payload) from None


def faults(messages: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[Any, Fault]]:
    """Yield the place and the fault of every message that marshmallow has gathered."""
    if isinstance(messages, Mapping):
        for key, inner in messages.items():
            yield from faults(inner, path if key == "_schema" else (*path, key))
    elif isinstance(messages, list):
        for inner in messages:
            yield from faults(inner, path)
    else:
        yield path, messages if isinstance(messages, Fault) else Fault(str(messages))
