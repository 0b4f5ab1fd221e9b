"""What a field of a case may hold, said once: label, help, unit kind, range, default and source.

The core checks its inputs with these facts, the API builds its schemas from them, and the page
lays out its form from the schemas.
"""

import dataclasses
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from math import ceil, floor, log10
from typing import Any, ClassVar, Literal, Self, get_args, get_type_hints

from rapidfuzz import fuzz, process

from lcc import tables
from lcc.errors import CaseError

Basis = Literal[
    "entered", "published", "second-hand", "computed", "common practice", "from memory", "demo"
]
BASES: tuple[str, ...] = get_args(Basis)

# The kind of a quantity fixes the unit of its number in the core, which its name ends with.
SUFFIX = {each["kind"]: each["suffix"] for each in tables.words("quantity_kinds")}


@dataclass(frozen=True)
class Origin:
    """Where a figure comes from."""

    basis: Basis
    source: str


ENTERED = Origin("entered", "the case")


@dataclass(frozen=True)
class TableRow:
    """The table row that stands in for an unset field.

    `key` is the field of the same part that holds the row's key, or the key itself; without it
    the row, and without `column` the column, is called as the field. The value of the field
    `less` is taken off, down to 0; where the list in the field `unless` holds anything, nothing
    stands in.
    """

    table: str
    key: str = ""
    column: str = ""
    less: str = ""
    unless: str = ""


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What one field may hold and where its default comes from; used through its subclasses."""

    type: ClassVar[str] = ""
    kind: str = ""
    table: str = ""
    label: str = ""
    options: tuple[str, ...] = ()
    help: str = ""
    low: float | None = None
    high: float | None = None
    low_open: bool = False
    high_open: bool = False
    when_unset: str = ""
    row: TableRow | None = None
    basis: Basis = "entered"
    source: str = ""
    advanced: bool = True

    def __post_init__(self) -> None:
        """Say of a field with a row what stands in for it."""
        if self.row and not self.when_unset:
            self.__dict__["when_unset"] = f"from the {self.row.table.replace('_', ' ')} table"

    @property
    def allowed(self) -> str:
        """The accepted values as a phrase, in the core's units."""
        if self.options:
            return "one of " + ", ".join(self.options)
        return range_phrase(self.low, self.high, self.low_open, self.high_open)


def range_phrase(
    low: float | None, high: float | None, low_open: bool = False, high_open: bool = False
) -> str:
    """Return a range as a phrase, converted limits rounded to the inside to three digits.

    Examples
    --------
    >>> range_phrase(10.7639104167, 10763910.4167)
    'at least 10.8, at most 10,700,000'
    """
    parts = []
    if low is not None:
        parts.append(f"{'more than' if low_open else 'at least'} {_rounded(low, ceil)}")
    if high is not None:
        parts.append(f"{'less than' if high_open else 'at most'} {_rounded(high, floor)}")
    return ", ".join(parts) or "any finite number"


def _rounded(limit: float, towards: Callable[[float], int]) -> str:
    """Return a limit as people say it; one of at most four digits is exact."""
    if float(f"{limit:.4g}") == limit:
        return _grouped(limit)
    step = 10.0 ** (floor(log10(abs(limit))) - 2)
    return _grouped(float(f"{towards(limit / step) * step:.3g}"))


def _grouped(number: float) -> str:
    return f"{number:,.0f}" if abs(number) >= 10000 and number % 1 == 0 else f"{number:.12g}"


@dataclass(frozen=True)
class Quantity(Facts):
    """A real number of a unit kind: `area_m2: Annotated[float, Quantity("area", "Roof area")]`."""

    type: ClassVar[str] = "quantity"
    kind: str
    label: str


@dataclass(frozen=True)
class Whole(Facts):
    """A whole number."""

    type: ClassVar[str] = "whole"
    label: str
    kind: str = field(default="count", kw_only=True)


@dataclass(frozen=True)
class Choice(Facts):
    """One of a few words."""

    type: ClassVar[str] = "choice"
    label: str
    options: tuple[str, ...] = ()


@dataclass(frozen=True)
class Choices(Facts):
    """Any of a few words, each once."""

    type: ClassVar[str] = "choices"
    label: str
    options: tuple[str, ...] = ()


@dataclass(frozen=True)
class Key(Facts):
    """The key of a row in a table of ``data``."""

    type: ClassVar[str] = "key"
    table: str
    label: str


@dataclass(frozen=True)
class Text(Facts):
    """A name or a note of at most `high` characters; of the kind "lines" it has several."""

    type: ClassVar[str] = "text"
    label: str


@dataclass(frozen=True)
class Flag(Facts):
    """Yes or no."""

    type: ClassVar[str] = "flag"
    label: str


@dataclass(frozen=True)
class Part(Facts):
    """A nested dataclass."""

    type: ClassVar[str] = "part"
    label: str


@dataclass(frozen=True)
class Parts(Facts):
    """A tuple of nested dataclasses, numbers or texts."""

    type: ClassVar[str] = "parts"
    label: str


def facts_of(cls: Any) -> dict[str, Facts]:
    """Return the facts of every field of a dataclass, by attribute name."""
    return _facts_of(cls)


@cache
def hints_of(cls: Any) -> dict[str, Any]:
    """Return the type of every field of a dataclass, with its facts where it has some."""
    return get_type_hints(cls, include_extras=True)


@cache
def _facts_of(cls: Any) -> dict[str, Facts]:
    hints = hints_of(cls)
    names = [field.name for field in dataclasses.fields(cls)]
    found = {name: getattr(hints[name], "__metadata__", ()) for name in names}
    return {name: facts[0] for name, facts in found.items() if facts}


RESOLVED = "resolved"  # under which a part keeps what it resolves to
HASHED = "hashed"  # and its hash, where it is often looked up


@dataclass(frozen=True)
class CasePart:
    """A part of a case, which remembers where every figure that was put into it comes from.

    A field given on construction or by `dataclasses.replace` is entered; one left out has the
    basis of its default. `filled` puts figures in with an origin of their own.
    """

    origins: Mapping[str, tuple[Any, Origin]] | None = field(
        default=None, kw_only=True, repr=False, compare=False
    )

    def __init_subclass__(cls) -> None:
        """Keep the hash of every part: heat results are looked up by it, often."""
        cls.__hash__ = CasePart._kept_hash  # type: ignore[assignment, method-assign]

    def _kept_hash(self) -> int:
        """Return the hash, worked out once."""
        cls: Any = type(self)
        found: int | None = self.__dict__.get(HASHED)
        if found is None:
            found = hash(tuple(self.__dict__[name] for name, _ in _defaults(cls)))
            self.__dict__[HASHED] = found
        return found

    def __new__(cls, *args: Any, **values: Any) -> Self:
        """Note which fields are given."""
        self = super().__new__(cls)
        given = {**dict(zip(cls.__match_args__, args, strict=False)), **values}
        self.__dict__["given"] = [name for name, value in given.items() if value is not None]
        return self

    def __post_init__(self) -> None:
        """Check every field and record the origins."""
        check(self)
        cls: Any = type(self)
        values, known = self.__dict__, self.origins
        given = values.pop("given")
        if known is not None:
            given = [n for n, left in _defaults(cls) if values[n] is not left or n in known]
        recorded = {name: (values[name], ENTERED) for name in given if values[name] is not None}
        kept = {n: pair for n, pair in (known or {}).items() if pair[0] is values[n]}
        values["origins"] = {**recorded, **kept}

    def __getstate__(self) -> dict[str, Any]:
        """Leave out what `lcc.case.resolution.resolve` and `_kept_hash` keep."""
        kept = RESOLVED, HASHED  # the hash of a text differs from process to process
        return {name: value for name, value in self.__dict__.items() if name not in kept}

    def __setstate__(self, state: dict[str, Any]) -> None:
        """Take a pickled part's values, so that its defaults and origins are known as before.

        Origins follow the identity of values, which a pickle does not keep.
        """
        unset = (each for each in dataclasses.fields(self) if each.name not in state["origins"])
        left = {each.name: each.default for each in unset}
        values = {name: value for name, value in state.items() if name != "origins"}
        values |= {name: left[name] for name in left if values.get(name) == left[name]}
        origins = {name: (values[name], pair[1]) for name, pair in state["origins"].items()}
        self.__dict__.update(values, origins=origins)

    def filled(
        self, changed: Mapping[str, Any] | None = None, /, **figures: tuple[Any, Origin]
    ) -> Self:
        """Return the part with parts changed and figures put in, each a value with its origin."""
        values = {**(changed or {}), **{name: value for name, (value, _) in figures.items()}}
        return dataclasses.replace(self, origins={**(self.origins or {}), **figures}, **values)

    def states(self, *names: str) -> bool:
        """Tell whether one of these fields was given, by the user, a survey or a table."""
        return not (self.origins or {}).keys().isdisjoint(names)

    def origin(self, name: str) -> Origin:
        """Return where the figure of a field comes from."""
        facts = facts_of(type(self))[name]
        basis: Basis = "common practice" if facts.basis == "entered" else facts.basis
        default = Origin(basis, facts.source or "the default of this field")
        return (self.origins or {}).get(name, (None, default))[1]


@cache
def _defaults(cls: Any) -> tuple[tuple[str, Any], ...]:
    return tuple((each.name, each.default) for each in dataclasses.fields(cls)[1:])


def known(value: float | None) -> float:
    """Return a figure that `resolve` has filled in."""
    assert value is not None
    return value


def case_name(attribute: str, facts: Facts) -> str:
    """Return the name of a field in a case: the attribute without its unit.

    Examples
    --------
    >>> case_name("thickness_m", Quantity("thickness", "Thickness"))
    'thickness'
    """
    return attribute.removesuffix(SUFFIX.get(facts.kind, ""))


def check(instance: Any) -> None:
    """Raise `CaseError` for the first stated field of `instance` that its facts refuse."""
    cls: Any = type(instance)
    values = instance.__dict__
    for name, called, facts, default in _named(cls):
        if values[name] is not default:
            _check_value(called, values[name], facts)


@cache
def _named(cls: Any) -> tuple[tuple[str, str, Facts, Any], ...]:
    """Return name, name in a case, facts and default of each field."""
    left = {each.name: each.default for each in dataclasses.fields(cls)}
    return tuple(
        (name, case_name(name, facts), facts, left[name]) for name, facts in facts_of(cls).items()
    )


def _check_value(name: str, value: Any, facts: Facts) -> None:
    if value is None and facts.when_unset:
        return
    if facts.type in ("quantity", "whole"):
        _check_number(name, value, facts)
    elif facts.type == "choice" and value not in facts.options:
        raise CaseError(name, value, facts.allowed)
    elif facts.type == "choices":
        _check_words(name, value, facts)
    elif facts.type == "key":
        check_key(name, value, facts.table)
    elif facts.type == "flag" and not isinstance(value, bool):
        raise CaseError(name, value, "true or false")
    elif facts.type == "text":
        _check_text(name, value, facts)


def _check_text(name: str, value: Any, facts: Facts) -> None:
    if not isinstance(value, str):
        raise CaseError(name, value, "a text")
    if facts.high is not None and len(value) > facts.high:
        raise CaseError(name, f"{len(value)} characters", f"at most {facts.high:g} characters")


def _check_words(name: str, value: Any, facts: Facts) -> None:
    listed = value if isinstance(value, tuple) else ()
    if not listed or len(set(listed)) < len(listed) or not set(listed) <= set(facts.options):
        allowed = f"one or more of {', '.join(facts.options)}, each once"
        raise CaseError(name, value, allowed)


def _check_number(name: str, value: Any, facts: Facts) -> None:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value):
        raise CaseError(name, value, facts.allowed)
    if facts.type == "whole" and value != int(value):
        raise CaseError(name, value, "a whole number, " + facts.allowed)
    if not in_range(value, facts):
        raise CaseError(name, value, facts.allowed)


def in_range(value: float, facts: Facts) -> bool:
    """Tell whether a number lies within the stated bounds."""
    return between(value, facts, facts.low, facts.high)


def between(value: float, facts: Facts, low: float | None, high: float | None) -> bool:
    """Tell whether a number lies within bounds that are open or closed as the facts say."""
    above = low is None or (value > low if facts.low_open else value >= low)
    below = high is None or (value < high if facts.high_open else value <= high)
    return above and below


def nearest_words(word: str, known: Sequence[str], limit: int = 3) -> list[str]:
    """Return the known words that are spelled most like a word, best first.

    Examples
    --------
    >>> nearest_words("epdm black", ["tpo-white", "epdm-black"])
    ['epdm-black']
    >>> nearest_words("TPO", ["tpo-white", "epdm-black"])
    ['tpo-white']
    """
    said = word[:100].casefold()
    holding = [each for each in known if said in re.split(r"\W", each.casefold())]
    found = process.extract(word[:100], known, scorer=fuzz.ratio, limit=limit, score_cutoff=60)
    return list(dict.fromkeys([*holding, *(each for each, *_ in found)]))[:limit]


def check_key(name: str, value: Any, table: str) -> None:
    """Raise `CaseError` with the nearest known keys unless `value` is a key of `table`."""
    known = tables.keys(table)
    if value in known:
        return
    near = nearest_words(str(value), known)
    hint = f"a key of {table}, such as {', '.join(near or known[:3])}"
    raise CaseError(name, value, hint)
