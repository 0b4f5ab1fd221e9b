"""What stands in for an unset field, and the source of every figure of a case.

One rule for all fields: the facts of a field name the row of the table that stands in for it.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, TypeVar

from lcc import tables
from lcc.case.building import WeatherFile
from lcc.case.fields import (
    BASES,
    ENTERED,
    RESOLVED,
    Basis,
    CasePart,
    Facts,
    Origin,
    case_name,
    facts_of,
)
from lcc.case.kept import kept
from lcc.case.layers import Layer

Stated = TypeVar("Stated", bound=CasePart)


def resolve(part: Stated) -> Stated:
    """Return a case, or a part of one, with every unset field filled from its table.

    Notes
    -----
    A layer keeps its material: what it takes from that depends on all of its fields, and is found
    in `lcc.heat.assembly`.

    Examples
    --------
    >>> from lcc.case import Membrane
    >>> filled = resolve(Membrane(covering="tpo-white", price_per_m2=80.0))
    >>> filled.service_life_y, filled.price_per_m2, filled.origin("service_life_y").basis
    (19.0, 80.0, 'common practice')
    """
    if isinstance(part, Layer):
        return part
    # A part never changes, so what it resolves to is kept with it; True stands for itself.
    kept: Any = part.__dict__.get(RESOLVED)
    if kept is None:
        kept = _filled_in(part)
        kept.__dict__[RESOLVED] = True
        if kept is not part:
            part.__dict__[RESOLVED] = kept
    whole: Stated = part if kept is True else kept
    return whole


def _filled_in(part: Stated) -> Stated:
    cls: Any = type(part)
    nested, with_row = _resolvable(cls)
    inside = {name: (getattr(part, name), _inside(getattr(part, name))) for name in nested}
    changed = {name: new for name, (old, new) in inside.items() if new is not old}
    found = {name: from_row(part, name) for name in with_row if getattr(part, name) is None}
    figures = {name: figure for name, figure in found.items() if figure}
    whole = part.filled(changed, **figures) if changed or figures else part
    # A figure that was filled in may be the key of another field's row.
    return resolve(whole) if figures else whole


@cache
def _resolvable(cls: Any) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the names of the nested parts of a class, and of the fields that a row stands for."""
    facts = facts_of(cls).items()
    nested = tuple(name for name, each in facts if each.type in ("part", "parts"))
    return nested, tuple(name for name, each in facts if each.row)


def _inside(value: Any) -> Any:
    if isinstance(value, CasePart):
        return resolve(value)
    if isinstance(value, tuple):
        resolved = tuple(_inside(each) for each in value)
        same = all(new is old for new, old in zip(resolved, value, strict=True))
        return value if same else resolved
    return value


def from_row(part: CasePart, name: str) -> tuple[Any, Origin] | None:
    """Return what stands in for an unset field with its origin, or None where nothing does.

    Examples
    --------
    >>> from lcc.case import Prices
    >>> value, origin = from_row(Prices(), "gas_per_kwh")
    >>> value, origin.basis
    (0.03685, 'from memory')
    """
    place = facts_of(type(part))[name].row
    if place is None or (place.unless and getattr(part, place.unless, None)):
        return None
    key = getattr(part, place.key, place.key) if place.key else name
    row = tables.rows(place.table).get(key, {})
    value = row.get(place.column or name)
    if value is None:
        return None
    own = "price_" if place.column == "" and f"{name.partition('_')[0]}_source" in row else ""
    source = f"{row[own + 'source']} (table {place.table}, {key})"
    if place.less:
        value = max(0.0, value - getattr(part, place.less))
        source = f"{BY_AGE}, not below 0: {row['source']}"
    return value if isinstance(value, str) else float(value), Origin(row[own + "basis"], source)


@dataclass(frozen=True)
class CaseFigure:
    """One figure of a case: where it stands, its facts, what it is and where that comes from."""

    field: str
    facts: Facts
    value: Any
    origin: Origin


def figures(
    part: CasePart, path: str = "", of: Callable[[Facts], bool] | None = None
) -> Iterator[CaseFigure]:
    """Yield every figure of a part, those that stand in for unset fields too.

    Parameters
    ----------
    part : CasePart
        A case or a part of one.
    path : str
        What its fields' names begin with.
    of : callable, optional
        A function, not a lambda, that picks the facts whose figures are wanted.
    """
    cls: Any = type(part)
    for name, called, facts in _walked(cls, of):
        value, field = getattr(part, name), path + called
        if isinstance(value, WeatherFile):
            yield CaseFigure(field, facts, value.name, Origin("entered", "the weather file given"))
        elif isinstance(value, CasePart):
            yield from _figures(value, f"{field}.", of)
        elif isinstance(value, tuple) and facts.type != "choices":
            for index, each in enumerate(value):
                yield from _figures(each, f"{field}.{index}.", of)
        elif value is None:
            found = from_row(part, name)
            if found:
                yield CaseFigure(field, facts, *found)
        elif value != "":
            yield CaseFigure(field, facts, value, part.origin(name))


@kept(512)
def _figures(
    part: CasePart, path: str, of: Callable[[Facts], bool] | None
) -> tuple[CaseFigure, ...]:
    return tuple(figures(part, path, of))


@cache
def _walked(cls: Any, of: Callable[[Facts], bool] | None) -> tuple[tuple[str, str, Facts], ...]:
    """Return name, name in a case and facts of the fields that may hold a figure wanted."""
    return tuple(
        (name, case_name(name, facts), facts)
        for name, facts in facts_of(cls).items()
        if of is None or facts.type in ("part", "parts") or of(facts)
    )


BY_AGE = "service life less age"  # begins the source of the years that a roof has left
SOURCES = {"entered": "the case", "demo": "the demo case: invented"}


def basis_at(pointer: str, bases: Mapping[str, Basis]) -> Basis:
    """Return the basis of what a JSON pointer leads to: stated there, or of what it is part of.

    Examples
    --------
    >>> basis_at("/roof/area", {"/roof": "demo"}), basis_at("/name", {"/roof": "demo"})
    ('demo', 'entered')
    """
    while pointer and pointer not in bases:
        pointer = pointer.rpartition("/")[0]
    return bases.get(pointer, "entered")


def based(part: Stated, bases: Mapping[str, Basis]) -> Stated:
    """Return a part whose given figures have the bases stated for them, by JSON pointer."""
    return _based(part, tuple(sorted(bases.items()))) if bases else part


def _below(pointer: str, bases: Mapping[str, Basis]) -> tuple[tuple[str, Basis], ...]:
    """Return the bases of a part by pointers within it: a change elsewhere leaves them alike."""
    inside = ((at.removeprefix(pointer), basis) for at, basis in bases.items()
              if at.startswith(f"{pointer}/"))  # fmt: skip
    return ("", basis_at(pointer, bases)), *inside


@kept(128)
def _based(part: Stated, stated: tuple[tuple[str, Basis], ...]) -> Stated:
    bases = dict(stated)
    origins = dict(part.origins or {})
    changed: dict[str, Any] = {}
    for name, facts in facts_of(type(part)).items():
        value, here = getattr(part, name), f"/{case_name(name, facts)}"
        if isinstance(value, CasePart):
            changed[name] = _based(value, _below(here, bases))
        elif isinstance(value, tuple) and value and facts.type != "choices":
            changed[name] = tuple(
                _based(v, _below(f"{here}/{n}", bases)) for n, v in enumerate(value)
            )
        elif name in origins:
            basis = basis_at(here, bases)
            origins[name] = (value, Origin(basis, SOURCES.get(basis, "stated with the case")))
    given = {name: new for name, new in changed.items() if name in origins}
    return replace(part, origins=origins | {n: (v, ENTERED) for n, v in given.items()}, **given)


def weakest(part: CasePart) -> Basis:
    """Return the basis of the figure of a part that is least well founded.

    Examples
    --------
    >>> from lcc.case import Prices
    >>> weakest(Prices())
    'demo'
    """
    return max((each.origin.basis for each in figures(part)), key=BASES.index, default="entered")
