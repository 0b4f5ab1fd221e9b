"""Marshmallow schemas made from the dataclasses of the core, one for each class and unit system.

Nothing is written twice: a dataclass field's `Facts` say what a value may be, its type says how it
nests, and the schema made here reads it, writes it and describes it.
"""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

from marshmallow import EXCLUDE, Schema, ValidationError, post_load, validates_schema

from api import fields
from api.problems import Fault, consistency_fault, invalid
from lcc import tables, units
from lcc.case import KINDS, Building, Case, Layer, Site
from lcc.case.fields import CasePart, Choice, Facts, Text, case_name, facts_of, nearest_words
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
# What the core would find out later of an object alone is asked here, so that all faults of a
# request come back at once.
_CONSISTENT: dict[type[Any], Any] = {Building: completed, Layer: thermal_layer, Site: climates.load}
# Classes of replies whose `value` is of the kind that the object itself names.
_OF_A_KIND = (Assumption, Amount)
_UNITS = Choice("Units", help="Of the bare numbers; a text names its own unit.")
_BASES = Text("Bases of figures", help="By JSON pointer, of all that it leads to: a basis.")
_KIND = Choice("Kind of alternative")


class CaseSchema(Schema):
    """Reads an object into a dataclass of the core and writes it back."""

    class Meta:
        """Unknown names are refused by `_known_names`, which can say what was meant."""

        unknown = EXCLUDE
        register = False

    core_class: type[Any]
    system: System
    reply: bool
    error_messages = {"type": [Fault("This is not an object.", "an object")]}  # type: ignore[dict-item] # noqa: RUF012

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _known_names(self, data: Any, original: Any, **_: Any) -> None:
        if not isinstance(original, Mapping):
            return
        known = [field.data_key or name for name, field in self.load_fields.items()]
        unknown = [name for name in original if name not in known]
        if unknown:
            raise ValidationError({name: [unknown_name(str(name), known)] for name in unknown})

    @post_load
    def _build(self, data: dict[str, Any], **_: Any) -> Any:
        names = facts_of(self.core_class)
        try:
            built = self.core_class(**{k: v for k, v in data.items() if k in names})
            _CONSISTENT.get(self.core_class, bool)(built)
            return built
        except CaseError as error:
            raise ValidationError(_nested_messages(error)) from None


def unknown_name(name: str, known: list[str]) -> Fault:
    """Return the fault of a name that an object does not have, with the nearest that it has."""
    near = nearest_words(name, known, 1)
    hint = f"; did you mean {near[0]!r}?" if near else "."
    shown = name if len(name) <= 60 else name[:57] + "..."
    allowed = f"the names {', '.join(known)}" if known else "no names at all"
    return Fault(f"The name {shown!a} is not known here{hint}", allowed, rule="unknown-name")


def _nested_messages(error: CaseError) -> dict[Any, Any]:
    messages: Any = [consistency_fault(error)]
    for part in reversed([part for part in error.field.split(".") if part]):
        messages = {int(part) if part.isdigit() else part: messages}
    return messages if isinstance(messages, dict) else {"_schema": messages}


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
    members: dict[str, Any] = {"core_class": cls, "system": system, "reply": reply}
    if top:
        members["units"] = fields.Constant(_UNITS, system, system, units.SYSTEMS)
    if top and cls is Case:
        members["bases"] = fields.BasesByPointer(_BASES, system, data_key="origins")
    if kind:
        members["kind"] = fields.Constant(_KIND, system, kind, tuple(KINDS))
    hints = get_type_hints(cls)
    for field in dataclasses.fields(cls):
        if field.name not in facts_of(cls):
            continue
        members[field.name] = _field(cls, field, hints[field.name], system, reply)
    if cls in _OF_A_KIND:
        stated: dict[str, Any] = {"required": True, "allow_none": True}
        members["value"] = fields.AssumedValue(Text("Value, in `unit`"), system, **stated)
        members["unit"] = fields.AssumedUnit(Text("Unit of the value"), system, **stated)
    members["Meta"] = type("Meta", (CaseSchema.Meta,), {"description": _first_line(cls)})
    name = cls.__name__ + ("Alternative" if kind else "") + system.title()
    return type(name, (CaseSchema,), members)


def _first_line(cls: Any) -> str:
    return (cls.__doc__ or "").strip().split("\n")[0]


def _field(
    cls: type[Any], field: dataclasses.Field[Any], hint: Any, system: System, reply: bool
) -> fields.Value:
    facts = facts_of(cls)[field.name]
    hint, optional = _without_none(hint)
    options: dict[str, Any] = {
        "data_key": case_name(field.name, facts),
        "required": reply or _has_no_default(field) or (field.default == () and bool(facts.low)),
        "metadata": _metadata(cls, field, facts, system),
        "allow_none": optional,
    }
    if facts.type == "quantity":
        many = get_origin(hint) is tuple
        return (fields.QuantityList if many else fields.QuantityField)(
            facts, system, reply=reply, **options
        )
    if facts.type in ("part", "parts"):
        return _nesting(facts, system, hint, reply, options)
    if reply and facts.type == "text":
        return fields.Plain(facts, system, "string", **options)
    if facts.type in ("choice", "key"):
        words = facts.options or tables.keys(facts.table)
        return fields.Word(facts, system, tuple(words), **options)
    if facts.type == "choices":
        return fields.WordList(facts, system, facts.options, **options)
    simple = {"whole": fields.WholeField, "flag": fields.YesNo, "text": fields.TextField}[
        facts.type
    ]
    return simple(facts, system, **options)


def _nesting(
    facts: Facts, system: System, hint: Any, reply: bool, options: dict[str, Any]
) -> fields.Value:
    many = get_origin(hint) is tuple
    member = get_args(hint)[0] if many else hint
    if member in (int, str):
        item = "integer" if member is int else "string"
        return fields.PlainList(facts, system, item, **options)
    schemas = {
        kind: schema_for(cls, system, kind=kind, reply=reply)()
        for kind, cls in _kinds(member).items()
    }
    return (fields.PartsField if many else fields.PartField)(facts, system, schemas, **options)


def _kinds(member: Any) -> dict[str, type[Any]]:
    if get_origin(member) in (Union, types.UnionType):
        return {kind: cls for kind, cls in KINDS.items() if cls in get_args(member)}
    return {"": member}


def _without_none(hint: Any) -> tuple[Any, bool]:
    if get_origin(hint) not in (Union, types.UnionType):
        return hint, False
    rest = tuple(arg for arg in get_args(hint) if arg is not type(None))
    if len(rest) == len(get_args(hint)):
        return hint, False
    return (rest[0] if len(rest) == 1 else Union[rest]), True  # noqa: UP007 (built at run time)


def _has_no_default(field: dataclasses.Field[Any]) -> bool:
    return field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING


def _metadata(
    cls: type[Any], field: dataclasses.Field[Any], facts: Facts, system: System
) -> dict[str, Any]:
    metadata: dict[str, Any] = {"limit": LIMITS.get((cls.__name__, field.name), "")}
    default = field.default
    if default is not dataclasses.MISSING and facts.type not in ("part", "parts"):
        is_quantity = facts.type == "quantity" and default is not None
        metadata["default"] = (
            units.from_core(float(default), facts.kind, system) if is_quantity else default
        )
        if facts.type == "choices":
            metadata["default"] = list(default)
    return metadata


def keep_stated(document: dict[str, Any], part: CasePart, pointer: str = "") -> dict[str, str]:
    """Leave in a document only what was stated, and return the bases other than entered."""
    found: dict[str, str] = {}
    for name, facts in facts_of(type(part)).items():
        key, value = case_name(name, facts), getattr(part, name)
        here = f"{pointer}/{key}"
        if isinstance(value, CasePart):
            found |= keep_stated(document[key], value, here)
            if not document[key] and name not in (part.origins or {}):
                del document[key]
        elif isinstance(value, tuple) and facts.type == "parts" and value:
            for index, each in enumerate(value):
                found |= keep_stated(document[key][index], each, f"{here}/{index}")
        elif name not in (part.origins or {}):
            del document[key]
        elif part.origin(name).basis != "entered":
            found[here] = part.origin(name).basis
    return found


def load(schema: Schema, payload: Any, *, ignore: tuple[str, ...] = ()) -> Any:
    """Return what a schema makes of a payload.

    Parameters
    ----------
    schema : marshmallow.Schema
    payload : object
        What the client sent, parsed.
    ignore : tuple of str
        Rules whose faults are not told, because they rest on another fault.

    Raises
    ------
    api.problems.Problem
        With every fault at once, in the order of their places.
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
