"""What the routes, the page and the command line ask of the API: read a case, write an answer."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

from marshmallow import Schema

from api import schemas
from api.limits import check_time
from api.problems import Problem, from_case_error, unusable
from api.reply_parts import INPUTS, RESOLVED, USUAL, echo, left_out
from lcc import __version__, tables, units
from lcc.case import Case
from lcc.case.marked_defaults import changed_defaults, default_marks, is_member, without_defaults
from lcc.comparison import compare
from lcc.document_reader import DocumentError, read_document
from lcc.errors import CaseError
from lcc.place import find
from lcc.results import Comparison
from lcc.stated_case import completed
from lcc.units import System
from lcc.units.typed_quantities import ordered


@dataclass(frozen=True)
class LoadedCase:
    """A case in the core's units, and the units it was written in."""

    case: Case
    units: System
    document: dict[str, Any]


def load_case(payload: object) -> LoadedCase:
    """Return the case that a parsed JSON document holds.

    Parameters
    ----------
    payload : object
        A case document: ``units``, ``site``, ``roof`` and what else `lcc.case.Case` holds.

    Raises
    ------
    api.problems.Problem
        With all faults at once.
    """
    return LoadedCase(*load(Case, payload))


def load(cls: type[Any], payload: object) -> tuple[Any, System, dict[str, Any]]:
    """Return the dataclass that a document with its own ``units`` holds, the units, the document.

    The bases that its ``origins`` state are those of the figures of the dataclass.
    """
    given = payload.get("units") if isinstance(payload, Mapping) else None
    known = isinstance(given, str) and given in units.SYSTEMS
    system: System = given if known else "ip"  # type: ignore[assignment]
    kept = without_defaults(payload)
    # Without known units a range cannot be judged; every other fault is still reported.
    ignore = () if known else ("range", "limit")
    loaded = read(cls, kept, system, own_units=True, without=ignore)
    document: dict[str, Any] = payload  # type: ignore[assignment]
    if kept is not document:
        try:
            errors = [*changed_defaults(completed(loaded), document, system)]
        except CaseError as error:
            raise from_case_error(error, payload=document) from None
        if errors:
            raise from_case_error(*errors, payload=document)
    return loaded, system, document


def read(
    cls: type[Any],
    payload: object,
    system: System,
    *,
    own_units: bool = False,
    without: Sequence[str] = (),
) -> Any:
    """Return the dataclass that an object holds; faults of the rules `without` are left out."""
    try:
        return read_document(cls, payload, system, own_units=own_units, each=check_time)
    except DocumentError as document:
        raise unusable(document, payload, without) from None


def case_document(case: Case, units: System) -> dict[str, Any]:
    """Return a case as its document: what was stated, with the bases other than entered."""
    document: dict[str, Any] = without_defaults(_writer(Case, units).dump(case))
    return {name: of for name, of in document.items() if of or name != "origins"}


def resolved_document(case: Case, units: System) -> dict[str, Any]:
    """Return a case with every default in place and marked as one: sent, it is the same case."""
    whole = _writer(Case, units, ("origins",)).dump(completed(case))
    document = _filled(case_document(case, units), whole)
    marks = default_marks(case).items()
    return {**document, "origins": {at: of for at, of in marks if is_member(document, at)}}


def _filled(stated: Any, whole: Any) -> Any:
    """Return what is stated, and where nothing is, what stands in for it."""
    if isinstance(stated, dict) and isinstance(whole, dict):
        rest = {name: of for name, of in whole.items() if name not in stated and of is not None}
        return {name: _filled(of, whole.get(name)) for name, of in stated.items()} | rest
    if isinstance(stated, list) and isinstance(whole, list) and len(stated) == len(whole):
        return [_filled(*pair) for pair in zip(stated, whole, strict=True)]
    return stated


def comparison_reply(
    case: Case,
    units: System,
    document: Mapping[str, Any] | None = None,
    include: Sequence[str] = USUAL,
    *,
    explore: bool = True,
    without: Sequence[str] = (),
) -> dict[str, Any]:
    """Return the answer to a case, in its units.

    Parameters
    ----------
    case : Case
        The case as stated.
    units : "ip" or "si"
        The units of the reply.
    document : mapping, optional
        The document that was read, echoed as typed; without it the case is written as one.
    include : sequence of str
        The long parts that it holds; see `api.reply_parts.ComparisonQuery`.
    explore : bool
        Whether to look for what would change the answer.
    without : sequence of str
        Places in the comparison, with points between, that nobody will read.

    Raises
    ------
    api.problems.Problem
        Where the core cannot use the case.
    """
    try:
        comparison = compare(case, explore=explore, draw=True)
    except CaseError as error:
        error.detail = ordered(error.detail, units)
        raise from_case_error(error) from None
    writer = _writer(Comparison, units, (*left_out(include), *without))
    if document is None and INPUTS in include:
        document = case_document(case, units)
    reply = {
        **versions(), "units": units, **echo(include, document), **writer.dump(comparison),
    }  # fmt: skip
    if RESOLVED in include:
        reply[RESOLVED] = resolved_document(case, units)
    return reply


@cache
def _writer(cls: type[Any], system: System, without: tuple[str, ...] = ()) -> Schema:
    """Return what writes a case or a comparison; its many nested schemas are made once."""
    return schemas.schema_for(cls, system, top=cls is Case, reply=cls is not Case)(exclude=without)


def without_weather(document: dict[str, Any]) -> dict[str, Any]:
    """Return a case document with a weather file's name, and not its megabytes of text."""
    site = document.get("site")
    file = site.get("weather") if isinstance(site, dict) else None
    if not isinstance(site, dict) or not isinstance(file, dict) or "text" not in file:
        return document
    return {**document, "site": {**site, "weather": {**file, "text": ""}}}


def places_document(query: str) -> dict[str, Any]:
    """Return the places that fit a query, each with the climate that a case there would get."""
    found = find(query)
    matches = [
        {**asdict(each), "elevation_m": each.elevation_m, "climate_zone": each.climate_zone,
         "climate": asdict(each.station)}
        for each in found.places
    ]  # fmt: skip
    head = {**versions(), "query": query, "exact": found.exact, "note": found.note}
    return {**head, "matches": matches}


def versions() -> dict[str, str]:
    """Return the version of the model and of the tables it reads."""
    return {"model_version": __version__, "data_version": data_version()}


@cache
def data_version() -> str:
    """Return a short hash of every table, so that a reply says which figures it rests on."""
    return tables.digest()


def to_json(document: Any) -> bytes:
    """Return a reply as bytes: finite numbers only, and the same bytes for the same reply."""
    text = json.dumps(document, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    return text.encode()


__all__ = [
    "LoadedCase", "Problem", "case_document", "comparison_reply", "data_version", "load",
    "load_case", "places_document", "to_json", "versions",
]  # fmt: skip
