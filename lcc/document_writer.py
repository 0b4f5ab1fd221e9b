"""A dataclass of the core written as an object of a document or of a reply, in its units."""

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from lcc import units
from lcc.case.case_document import Member, members
from lcc.case.document_values import is_number, write
from lcc.results.assumption import Assumption
from lcc.results.takeoff_result import Amount
from lcc.units import System, ordered

# Classes of replies whose `value` is of the kind that the object itself names.
OF_A_KIND = (Assumption, Amount)


def write_document(
    part: Any, system: System, *, reply: bool = False, without: Iterable[str] = ()
) -> dict[str, Any]:
    """Return a dataclass whose fields carry facts as an object, its members in their order.

    Parameters
    ----------
    part : dataclass
        A part of a case or of an answer.
    system : "ip" or "si"
        The unit of its numbers.
    reply : bool
        Whether it is an answer, whose sentences say the figure in that unit first.
    without : iterable of str
        Places that are left out, with points between.

    Examples
    --------
    >>> from lcc.case import Layer
    >>> write_document(Layer(material="steel-deck", thickness_m=0.0254), "ip")["thickness"]
    1.0
    """
    if isinstance(part, Assumption):  # one of hundreds that seldom change
        return dict(_written(part, system))
    return _object(type(part), part, system, reply, tuple(without))


def _object(
    cls: type[Any], part: Any, system: System, reply: bool, without: tuple[str, ...] = ()
) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for member in members(cls):
        name, value = member.attribute, getattr(part, member.attribute)
        if name not in without:
            inside = tuple(p.removeprefix(f"{name}.") for p in without if p.startswith(f"{name}."))
            found[member.name] = _value(member, value, system, reply, inside)
    if cls in OF_A_KIND and part.kind in units.KINDS and is_number(part.value):
        found["value"] = units.from_core(float(part.value), part.kind, system)
        return found | {"unit": units.unit(part.kind, system).text or None}
    return found | ({"value": part.value, "unit": None} if cls in OF_A_KIND else {})


@lru_cache(maxsize=1024)
def _written(assumption: Assumption, system: System) -> dict[str, Any]:
    return _object(Assumption, assumption, system, True)


def _value(
    member: Member, value: Any, system: System, reply: bool, without: tuple[str, ...]
) -> Any:
    if value is None:
        return None
    if member.kinds:
        each = value if member.many else (value,)
        parts = [_of_kind(member, one, system, reply, without) for one in each]
        return parts if member.many else parts[0]
    if member.item is str:
        return [ordered(one, system) for one in value]
    if reply and isinstance(value, str):
        return ordered(value, system)
    return write(member.facts, value, system)


def _of_kind(
    member: Member, part: Any, system: System, reply: bool, without: tuple[str, ...]
) -> dict[str, Any]:
    if "" not in member.kinds:
        kind, cls = next(one for one in member.kinds.items() if isinstance(part, one[1]))
        return {"kind": kind, **_object(cls, part, system, reply, without)}
    if isinstance(part, Assumption):
        return dict(_written(part, system))
    return _object(member.kinds[""], part, system, reply, without)
