"""Pieces of the OpenAPI document that no schema class makes: problems, tables, references."""

from __future__ import annotations

from typing import Any

from api import problems
from lcc import units


def ref(name: str) -> dict[str, str]:
    """Return a reference to a schema of the document."""
    return {"$ref": f"#/components/schemas/{name}"}


VERSIONS: dict[str, Any] = {
    "model_version": {"type": "string", "description": "Version of the calculation."},
    "data_version": {"type": "string", "description": "Hash of the tables it read."},
}
PROBLEM: dict[str, Any] = {
    "type": "object",
    "description": "A problem document (RFC 9457).",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string", "description": "Address that tells what the type means."},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "errors": {
            "type": "array",
            "maxItems": problems.MOST_LISTED,
            "items": {
                "type": "object",
                "required": ["detail", "rule"],
                "properties": {
                    "detail": {"type": "string", "description": "What is wrong, in words."},
                    "pointer": {"type": "string", "description": "JSON pointer of the place."},
                    "parameter": {"type": "string", "description": "Query parameter."},
                    "value": {"description": "The value given, cut if long."},
                    "allowed": {"type": "string"},
                    "unit": {"type": "string", "description": "Unit of a bare number there."},
                    "rule": {
                        "type": "string",
                        "description": (
                            "json, required, unknown-name, type, range, unit, text, key, limit, or "
                            "consistency where several values do not fit together."
                        ),
                    },
                },
            },
        },
    },
}


HEALTH = {
    "type": "object",
    "required": ["status", "ready", "model_version", "data_version"],
    "properties": {"status": {"type": "string"}, "ready": {"type": "boolean"}, **VERSIONS},
}
PROBLEM_TYPES = {"type": "object", "required": ["problems"], "properties": {
    "problems": {"type": "array", "items": {"type": "object"}}}}  # fmt: skip
_CHOSEN = {
    "key": {"type": "string", "description": "Of the table climates."},
    "city": {"type": "string"},
    "state": {"type": "string"},
    "distance_km": {"type": "number"},
    "climate_zone": {"type": "string"},
    "elevation_m": {"type": "number"},
    "rise_m": {"type": "number", "description": "How much higher the station stands."},
    "words": {"type": "string", "description": 'Such as "Chicago, IL, 37 miles, same zone".'},
}
_MATCH = {
    "name": {"type": "string"},
    "zip_code": {"type": "string", "description": "Empty for a whole town or coordinates."},
    "latitude_deg": {"type": "number"},
    "longitude_deg": {"type": "number"},
    "elevation_m": {"type": "number", "description": "From a coarse map: tens of metres."},
    "climate_zone": {"type": "string", "description": "IECC 2012, of the county."},
    "climate": {"type": "object", "required": list(_CHOSEN), "properties": _CHOSEN},
}
PLACES = {
    "type": "object",
    "required": ["model_version", "data_version", "query", "exact", "note", "matches"],
    "properties": {
        **VERSIONS,
        "query": {"type": "string"},
        "exact": {"type": "boolean", "description": "False: these are only spelled alike."},
        "note": {"type": "string", "description": "What to type instead, or empty."},
        "matches": {
            "type": "array",
            "items": {"type": "object", "required": list(_MATCH), "properties": _MATCH},
        },
    },
}
TABLE = {
    "type": "object",
    "required": ["model_version", "data_version", "units", "title", "columns", "rows"],
    "properties": {
        **VERSIONS,
        "units": {"type": "string", "enum": list(units.SYSTEMS)},
        "title": {"type": "string"},
        "columns": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["name", "unit"],
                "properties": {"name": {"type": "string"}, "unit": {"type": ["string", "null"]}},
            },
        },
        "rows": {"type": "array", "items": {"type": "object"}},
    },
}
