"""A document read into a dataclass of the core, or refused with all of its faults.

Its members are those of `lcc.case.case_document`, its values are read by
`lcc.case.document_values`.
"""

import marshal
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import MISSING, dataclass
from itertools import islice
from typing import Any, TypeAlias

from lcc.case import Building, Case, Layer, Site
from lcc.case.case_document import (
    KIND,
    UNITS,
    Member,
    kind_in,
    members,
    unknown_name,
    unusable_origin,
)
from lcc.case.document_values import counted, missing, named, read, wrong
from lcc.case.fields import BASES, CasePart, Facts, Part
from lcc.case.kept import kept
from lcc.case.resolution import based
from lcc.errors import MOST_LISTED, CaseError
from lcc.heat import climate as climates
from lcc.heat.assembly import thermal_layer
from lcc.heat.zone import completed
from lcc.units import System, ordered

Path: TypeAlias = tuple[str | int, ...]
PLAIN = 0  # the version of marshal's format without references, which would tell equal texts apart
MOST_NAMED = 4  # members of an object, where something else stands in its place
LONG_PART = 20_000  # bytes of a part of a document that is not kept
# Checks of one object that would be made later run here, so that all faults are known at once.
_CONSISTENT: dict[type[Any], Any] = {Building: completed, Layer: thermal_layer, Site: climates.load}
USABLE_BASES = f"JSON pointers such as /roof/area, each with one of {', '.join(BASES)}"


def _head(name: str, facts: Facts, required: bool) -> Member:
    return Member(name, name, facts, required, not required, False, MISSING, {}, None)


_UNITS, _KIND = _head("units", UNITS, True), _head("kind", KIND, True)
_ORIGINS = _head("origins", Part("Bases of figures"), False)


class DocumentError(ValueError):
    """All faults of a document.

    Parameters
    ----------
    places : sequence of (path, CaseError)
        Where each stands, in the names of the document, and what is wrong there.
    """

    def __init__(self, places: Sequence[tuple[Path, CaseError]]) -> None:
        self.places = tuple(places)
        super().__init__("; ".join(str(self._placed(*place)) for place in self.places))

    @property
    def first(self) -> CaseError:
        """The first fault, as an error with its place in the document."""
        return self._placed(*self.places[0])

    @staticmethod
    def _placed(path: Path, error: CaseError) -> CaseError:
        return error.inside(*path[: len(path) - len(error.path)])


def read_document(
    cls: type[Any],
    document: Any,
    system: System,
    *,
    own_units: bool = True,
    each: Callable[[], object] = bool,
) -> Any:
    """Return the dataclass that a document holds.

    Parameters
    ----------
    cls : type
        A dataclass whose fields carry `Facts`.
    document : object
        Parsed JSON.
    system : "ip" or "si"
        The unit of bare numbers.
    own_units : bool
        Whether the document states its ``units``; a case may state its ``origins`` then too.
    each : callable
        Called before each object of a list is read.

    Raises
    ------
    DocumentError
        With every fault, in the order of the members; a list is read until its faults are many.

    Examples
    --------
    >>> from lcc.case import Economics
    >>> read_document(Economics, {"study_period": 30}, "si", own_units=False).study_period_y
    30
    >>> read_document(Economics, {"study_period": "long", "x": 1}, "si", own_units=False)
    Traceback (most recent call last):
    lcc.document_reader.DocumentError: study_period: Study period is the text 'long'; ...
    """
    reader = _Reader(system, each)
    if not own_units:
        return reader.part(cls, document)
    found = reader.fresh(cls, document, (_UNITS, *([_ORIGINS] if cls is Case else [])))
    return based(found, document.get("origins") or {})


@dataclass(frozen=True)
class _Reader:
    system: System
    each: Callable[[], object]

    def part(self, cls: type[Any], document: Any, kind: str = "") -> Any:
        """Return the object that a part of a document holds, the same one for the same part."""
        packed = _packed(document) if issubclass(cls, CasePart) else None
        if packed is None:
            return self.fresh(cls, document, (_KIND,) if kind else ())
        return _kept_part(self, cls, packed, kind)

    def fresh(self, cls: type[Any], document: Any, heads: tuple[Member, ...]) -> Any:
        """Return the object that a part of a document holds, read now."""
        known = (*heads, *members(cls))
        names = [member.name for member in known]
        if not isinstance(document, Mapping):
            raise DocumentError([((), _no_object(document, names))])
        values: dict[str, Any] = {}
        places: list[tuple[Path, CaseError]] = []
        for member in known:
            try:
                if member is _ORIGINS:
                    _check_origins(document)
                elif member.name not in document:
                    if member.required:
                        raise missing(member.facts, self.system, "required")
                elif document[member.name] is not None or not member.null_is_unset:
                    values[member.attribute] = self._value(member, document[member.name])
            except (CaseError, DocumentError) as error:
                places += _placed(error, member.name)
        unknown = islice((name for name in document if name not in names), MOST_LISTED + 1)
        places += [((name,), unknown_name(str(name), names)) for name in unknown]
        if places:
            raise DocumentError(places)
        for head in heads:
            values.pop(head.attribute, None)
        return self._built(cls, values)

    def _built(self, cls: type[Any], values: dict[str, Any]) -> Any:
        try:
            built = cls(**values)
            _CONSISTENT.get(cls, bool)(built)
            return built
        except CaseError as error:
            error.allowed = ordered(error.allowed, self.system)
            error.detail = ordered(error.detail, self.system)
            raise DocumentError([(error.path, error)]) from None

    def _value(self, member: Member, value: Any) -> Any:
        if value is None and member.optional:
            return None
        if value is None:
            raise missing(member.facts, self.system)
        if not member.kinds:
            return read(member.facts, value, self.system)
        return self._list(member, value) if member.many else self._of_kind(member, value)

    def _list(self, member: Member, value: Any) -> tuple[Any, ...]:
        found: list[Any] = []
        places: list[tuple[Path, CaseError]] = []
        for index, one in enumerate(counted(member.facts, value, self.system)):
            self.each()
            try:
                found.append(self._of_kind(member, one))
            except (CaseError, DocumentError) as error:
                places += _placed(error, index)
                if len(places) > MOST_LISTED:
                    break
        if places:
            raise DocumentError(places)
        return tuple(found)

    def _of_kind(self, member: Member, value: Any) -> Any:
        if "" in member.kinds:
            return self.part(member.kinds[""], value)
        if not isinstance(value, Mapping):
            allowed = f'an object with "kind" one of {", ".join(member.kinds)}'
            raise wrong(member.facts, value, self.system, allowed)
        kind = kind_in(member.kinds, value)
        return self.part(member.kinds[kind], value, kind)


@kept(128)
def _kept_part(reader: _Reader, cls: type[Any], packed: bytes, kind: str) -> Any:
    return reader.fresh(cls, marshal.loads(packed), (_KIND,) if kind else ())


def _placed(error: CaseError | DocumentError, at: str | int) -> Iterator[tuple[Path, CaseError]]:
    places = error.places if isinstance(error, DocumentError) else [(error.path, error)]
    return (((at, *path), each) for path, each in places)


def _no_object(value: Any, names: Sequence[str]) -> CaseError:
    few = ", ".join(names[:MOST_NAMED]) + (" and others" if len(names) > MOST_NAMED else "")
    allowed = f"an object with members such as {few}"
    said = f"This is {named(value)}; allowed: {allowed}."
    return CaseError("", value, allowed, detail=said, rule="type")


def _check_origins(document: Mapping[str, Any]) -> None:
    """Refuse bases that are none, and those of nothing that the document states."""
    bases = document.get("origins")
    if not isinstance(bases, Mapping | None):
        said = f"Bases of figures is {named(bases)}; allowed: {USABLE_BASES}."
        raise CaseError("", bases, USABLE_BASES, detail=said, rule="type")
    wrong_ones = (
        ((pointer,), CaseError("", basis, USABLE_BASES, rule=rule,
                               detail=f"{said}; allowed: {USABLE_BASES}."))
        for pointer, basis in (bases or {}).items()
        for said, rule in [unusable_origin(pointer, basis, document)]
        if said
    )  # fmt: skip
    if places := [*islice(wrong_ones, MOST_LISTED + 1)]:
        raise DocumentError(places)


def _packed(part: Any) -> bytes | None:
    """Return a short part of a document as bytes; true, 1 and 1.0 give different bytes.

    A page's form sends the members of a part in another order than a case file has them.
    """
    try:
        packed = marshal.dumps(_in_order(part), PLAIN)
    except ValueError:
        return None
    return packed if len(packed) < LONG_PART else None


def _in_order(part: Any) -> Any:
    """Return a part of a document with its members in the order of their names."""
    if isinstance(part, dict):
        return {name: _in_order(part[name]) for name in sorted(part, key=str)}
    return [_in_order(one) for one in part] if isinstance(part, list) else part
