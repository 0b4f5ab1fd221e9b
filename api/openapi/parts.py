"""Pieces of the OpenAPI document that no schema class makes: problems, tables, references."""

from typing import Any

from apispec import APISpec
from marshmallow import Schema

from api.jobs.job_folder import STATES
from api.json_schema import default, value_schema
from lcc import units
from lcc.case.case_document import Member, members
from lcc.errors import MOST_LISTED


def ref(name: str) -> dict[str, str]:
    """Return a reference to a schema of the document."""
    return {"$ref": f"#/components/schemas/{name}"}


def objects(properties: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of an object that has all of these members."""
    return {"type": "object", "required": list(properties), "properties": properties}


def listed(item: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of a list."""
    return {"type": "array", "items": item}


def nullable(schema: dict[str, Any]) -> dict[str, Any]:
    """Return a schema that also takes null."""
    return {"oneOf": [schema, {"type": "null"}]}


def without_name(spec: APISpec, schema: type[Schema]) -> dict[str, Any]:
    """Return the schema of a class, without an entry of its own in the document."""
    converter = spec.plugins[0].converter  # type: ignore[attr-defined] # the marshmallow plugin's
    found: dict[str, Any] = converter.schema2jsonschema(schema())
    return found


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
        "errors": {"type": "array", "maxItems": MOST_LISTED, "items": ref("Fault")},
    },
}
FAULT: dict[str, Any] = {
    "type": "object",
    "description": "One value that cannot be used.",
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
                "consistency where several values do not fit together; table and mapping for "
                "those of a table of roofs."
            ),
        },
        **{
            name: {"type": kind, "description": "In a table of roofs."}
            for name, kind in (
                ("line", "integer"), ("record", "integer"), ("column", "string"),
                ("letter", "string"),
            )
        },
    },
}  # fmt: skip


HEALTH = objects({"status": {"type": "string"}, "ready": {"type": "boolean"}, **VERSIONS})
PROBLEM_TYPE = objects({
    "type": {"type": "string", "description": "Its address."},
    "status": {"type": "integer"},
    "title": {"type": "string"},
})  # fmt: skip
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
    "climate": ref("ChosenClimate"),
}
_PLACES: dict[str, Any] = {
    **VERSIONS,
    "query": {"type": "string"},
    "exact": {"type": "boolean", "description": "False: these are only spelled alike."},
    "note": {"type": "string", "description": "What to type instead, or empty."},
    "matches": listed(ref("Place")),
}
_COLUMN = {"name": {"type": "string"}, "unit": {"type": ["string", "null"]}}
TEXT: dict[str, Any] = {"type": "string"}
_WHOLE = {"type": "integer", "minimum": 0}
_TIME = {"type": ["string", "null"], "description": "UTC, ISO 8601; null until then."}
_JOB_STATE: dict[str, Any] = {
    "id": TEXT,
    "state": {**TEXT, "enum": list(STATES)},
    "submitted": {**TEXT, "description": "UTC, ISO 8601."},
    "done": {**_WHOLE, "description": "Roofs computed so far."},
    "of": {**_WHOLE, "description": "Roofs in all; 0 until the table is read."},
    "ready": {"type": "boolean", "description": "Whether the answer can be read now."},
    "ended": _TIME,
    "kept_until": _TIME,
    "result": {**TEXT, "description": "Address of the answer."},
}
PREFER = {
    "name": "Prefer",
    "in": "header",
    "description": "respond-async: keep the request as a job and answer 202 with its address.",
    "schema": {**TEXT, "enum": ["respond-async"]},
}


RETRY_AFTER = {
    "description": "With 429, 503, 409 and a job that has not ended: when to ask again.",
    "schema": {**_WHOLE, "x-unit": "s"},
}


def query_parameters(cls: type[Any], **more: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the parameters of a query from its facts, with what more its schemas say by name."""
    return [_parameter(one, more.get(one.name, {})) for one in members(cls)]


def _parameter(one: Member, more: dict[str, Any]) -> dict[str, Any]:
    schema = value_schema(one.facts, "si")
    usual = default(one, "si")
    said = ", ".join(usual) if isinstance(usual, list) else usual
    parts = (one.facts.label, one.facts.help.removesuffix("."), f"Default: {said}" if said else "")
    words = ". ".join(filter(None, parts)) + "."
    required = {"required": True} if one.required else {}
    return {
        "name": one.name, "in": "query", **required, "description": words, "schema": schema | more,
    }  # fmt: skip


def accepted() -> dict[str, Any]:
    """Return the answer to a request that is kept as a job."""
    calls = ("get-job", "delete-job", "get-job-result", "get-job-table", "post-job-what-if")
    return {
        "description": "Kept as a job, at the address in Location.",
        "headers": {"Location": {"schema": TEXT}},
        "content": {"application/json": {"schema": ref("JobState")}},
        "links": {name: link(name, "$response.body#/id") for name in calls},
    }


def link(operation: str, source: str) -> dict[str, Any]:
    """Return a link from an answer to the call of a job, with the place of the job's id."""
    return {"operationId": operation, "parameters": {"name": source}}


# Schemas that no class makes, by name; those of the tables are added to them.
NAMED: dict[str, dict[str, Any]] = {
    "Problem": PROBLEM,
    "Fault": FAULT,
    "Health": HEALTH,
    "ProblemType": PROBLEM_TYPE,
    "ProblemTypes": objects({"problems": listed(ref("ProblemType"))}),
    "ChosenClimate": objects(_CHOSEN),
    "Place": objects(_MATCH),
    "Places": objects(_PLACES),
    "TableColumn": objects(_COLUMN),
    "JobState": objects(_JOB_STATE),
}


def table(rows: str) -> dict[str, Any]:
    """Return the schema of a table whose rows have the schema of this name."""
    return objects({
        **VERSIONS,
        "units": {"type": "string", "enum": list(units.SYSTEMS)},
        "title": {"type": "string"},
        "columns": listed(ref("TableColumn")),
        "rows": listed(ref(rows)),
    })  # fmt: skip
