"""Pieces of the OpenAPI document that no schema class makes: problems, tables, references."""

from __future__ import annotations

from typing import Any

from api import problems, units


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
