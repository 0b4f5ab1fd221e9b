"""The mapping of a table: which column is which, which words mean what; a small file to correct."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any

from api import strict_json
from api.portfolio.mapping.meaning import station
from api.portfolio.reading.data_table import one_line
from api.portfolio.reading.headers import titles
from api.portfolio.vocabulary import known_words, nearest
from api.problems import Problem
from lcc import tables
from lcc.portfolio.columns import columns

# What a column may be beside those of a portfolio, and what is made of it.
DERIVED = {each["column"]: each["made"] for each in tables.words("mapped_columns") if each["made"]}
NOT_USED = "not used"
MOST_TOLD = 20  # faults


@dataclass(frozen=True)
class TableMapping:
    """What each column of a table is, what its words mean, and the defaults where it says nothing.

    Attributes
    ----------
    year : int
        The year from which ages are counted.
    sheet : str
        Sheet of a workbook, empty for the one found.
    columns : mapping
        Title of the table -> a column of a portfolio, one of `DERIVED`, or "not used".
    values : mapping
        Column of a portfolio -> word of the table -> key, or empty for unknown.
    places : mapping
        Place as the table writes it -> key of a climate.
    defaults : mapping
        Column that every roof needs -> what is taken where the table says nothing.
    """

    year: int
    sheet: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    places: Mapping[str, str] = field(default_factory=dict)
    defaults: Mapping[str, str] = field(default_factory=dict)


def as_document(mapping: TableMapping) -> dict[str, Any]:
    """Return a mapping as a document to save."""
    return asdict(mapping)


def from_text(text: bytes) -> TableMapping:
    """Return a mapping from the bytes of its file, of which a schema can say only that it is text.

    Raises
    ------
    Problem
        With everything in it that is not understood, also where it is not JSON.
    """
    try:
        document = strict_json.loads(text)
    except Problem as problem:
        told = [f"{one['pointer']} {one['detail']}" for one in problem.errors] or [problem.detail]
        why = [one.removeprefix("The body is not JSON: ").rstrip(".") for one in told]
        raise _refused([f"this is not exact JSON: {one}" for one in why]) from None
    return from_document(document)


def from_document(document: Any) -> TableMapping:
    """Return a mapping from a saved document.

    Raises
    ------
    Problem
        With everything in it that is not understood, and what may stand there.
    """
    if not isinstance(document, dict):
        raise _refused(["a mapping is one JSON object"])
    known = sorted(one.name for one in fields(TableMapping))
    members = f"members are {', '.join(known)}"
    faults = [f"{name!r:.60} is no member; {members}" for name in document if name not in known]
    year = document.get("year")
    if not isinstance(year, int) or isinstance(year, bool) or not 2000 <= year <= 2100:
        lacking = "" if "year" in document else f"; it is missing; {members}"
        faults.append(
            f"year is a whole number from 2000 to 2100, to which ages are counted{lacking}"
        )
    if not isinstance(document.get("sheet", ""), str):
        faults.append("sheet is a text")
    words = {name: document.get(name, {}) for name in ("columns", "places", "defaults", "values")}
    misshapen = {name: list(_misshapen(name, found)) for name, found in words.items()}
    faults += [fault for each in misshapen.values() for fault in each]
    faults += _targets({name: {} if misshapen[name] else found for name, found in words.items()})
    if faults:
        raise _refused(faults)
    titles_said = {one_line(title): to for title, to in document.get("columns", {}).items()}
    return TableMapping(**{**document, "columns": titles_said})


def _misshapen(name: str, found: Any) -> Iterator[str]:
    """Yield where a member is no object of texts; `values` has such an object for each column."""
    if name == "values" and isinstance(found, dict):
        for column, words in found.items():
            yield from _misshapen(f"values.{column!s:.60}", words)
    elif not isinstance(found, dict) or not all(isinstance(one, str) for one in found.values()):
        yield f"{name} is an object of {'objects' if name == 'values' else 'texts'}"


def _targets(given: dict[str, Any]) -> list[str]:
    """Return what is wrong with the columns, keys and places that a mapping names."""
    may = {*titles("ip"), *DERIVED, NOT_USED, ""}
    found = [
        f"columns: {title!r:.80} cannot be {target!r:.80}; it may be {', '.join(sorted(DERIVED))}, "
        f"{NOT_USED}, or a column of a portfolio such as roof_area_ft2"
        for title, target in given["columns"].items()
        if target not in may
    ]
    found += [
        f"places: {place!r:.80} has no climate {key!r:.80}; type a town and its state, a ZIP code, "
        "or a climate of the data dictionary"
        for place, key in given["places"].items()
        if key and not station(key)
    ]
    found += _taken_twice(given["columns"])
    names = {column.name for column in columns()}
    found += [
        f"{part}: {name!r:.80} is no column of a portfolio"
        for part in ("values", "defaults")
        for name in given[part]
        if name not in names
    ]
    found += _no_keys("defaults", given["defaults"].items())
    for name, words in given["values"].items():
        found += _no_keys(f"values.{name}", ((name, key) for key in words.values()))
    return found


def _no_keys(part: str, keys: Iterable[tuple[str, str]]) -> list[str]:
    """Return which keys of columns are not known, with the nearest that are; an empty one is."""
    known = {
        one.name: known_words(one.facts)
        for one in columns()
        if one.facts.type in ("key", "choice") and one.name != "climate"  # any place will do
    }
    wrong = {
        (name, key) for name, key in keys if key and name in known and not known[name].get(key)
    }
    return [f"{part}: {key!r:.80} is no {name}; allowed: {nearest(key, known[name])}"
            for name, key in sorted(wrong)[:MOST_TOLD]]  # fmt: skip


def _taken_twice(chosen: dict[str, str]) -> list[str]:
    """Return which columns of the table are to be the same column of a portfolio."""
    known, first, found = titles("ip"), dict[str, str](), []
    for title, target in chosen.items():
        stem = known[target][0].name if target in known else target
        if stem in DERIVED or target in known:
            before = first.setdefault(stem, title)
            if before != title:
                found.append(
                    f"columns: {before!r:.80} and {title!r:.80} are both {stem}; leave one"
                )
    return found


def _refused(faults: list[str]) -> Problem:
    many = f"{len(faults)} fault{'s' if len(faults) > 1 else ''}"
    errors = [{"detail": f"mapping: {one}.", "allowed": "as the sentence says", "rule": "mapping"}
              for one in faults[:MOST_TOLD]]  # fmt: skip
    return Problem("invalid-input", f"The mapping cannot be used: {many}.", errors)
