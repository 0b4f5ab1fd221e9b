"""What the routes, the page and the command line ask of the API: read a case, write an answer."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

from api import schemas, units
from api.problems import Problem, from_case_error
from api.units import System
from lcc import __version__, tables
from lcc.case import Case
from lcc.errors import CaseError
from lcc.place import find
from lcc.results import Comparison


@dataclass(frozen=True)
class LoadedCase:
    """A case in the core's units, and the units it was written in."""

    case: Case
    units: System


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
    case, system = load(Case, payload)
    return LoadedCase(case, system)


def load(cls: type[Any], payload: object) -> tuple[Any, System]:
    """Return the dataclass that a document with its own ``units`` holds, and the units."""
    given = payload.get("units") if isinstance(payload, Mapping) else None
    known = isinstance(given, str) and given in units.SYSTEMS
    system: System = given if known else "ip"  # type: ignore[assignment]
    # Without known units a range cannot be judged; every other fault is told all the same.
    ignore = () if known else ("range", "limit")
    schema = schemas.schema_for(cls, system, top=True)()
    return schemas.load(schema, payload, ignore=ignore), system


def case_document(case: Case, units: System) -> dict[str, Any]:
    """Return a case as its document, with every default in place."""
    document: dict[str, Any] = schemas.schema_for(Case, units, top=True)().dump(case)
    return document


def comparison_reply(case: Case, units: System) -> dict[str, Any]:
    """Return the answer to a case, in its units.

    Raises
    ------
    api.problems.Problem
        Where the core cannot use the case.
    """
    try:
        comparison = _compare(case)
    except CaseError as error:
        raise from_case_error(error) from None
    answer = schemas.schema_for(Comparison, units, reply=True)().dump(comparison)
    return {**versions(), "units": units, "inputs": case_document(case, units), **answer}


def _compare(case: Case) -> Comparison:
    from lcc.compare import compare  # noqa: PLC0415

    return compare(case)


def places_document(query: str) -> dict[str, Any]:
    """Return the places that fit a query, each with the climate that a case there would get."""
    found = find(query)
    matches = [asdict(each) for each in found.places]
    for match in matches:
        match["climate"] = match.pop("station")
    head = {**versions(), "query": query, "exact": found.exact, "note": found.note}
    return {**head, "matches": matches}


def versions() -> dict[str, str]:
    """Return the version of the model and of the tables it reads."""
    return {"model_version": __version__, "data_version": data_version()}


@cache
def data_version() -> str:
    """Return a short hash of every table, so that a reply says which figures it rests on."""
    digest = hashlib.sha256()
    for name in tables.names():
        digest.update(tables.frame(name).to_csv().encode())
    for station in tables.keys("climates"):
        digest.update(tables.read_text(f"climates/{station}.csv.gz").encode())
    return digest.hexdigest()[:16]


def to_json(document: Any) -> bytes:
    """Return a reply as bytes: finite numbers only, and the same bytes for the same reply."""
    text = json.dumps(document, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    return text.encode()


__all__ = [
    "LoadedCase",
    "Problem",
    "case_document",
    "comparison_reply",
    "data_version",
    "load",
    "load_case",
    "places_document",
    "to_json",
    "versions",
]
