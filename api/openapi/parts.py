"""Pieces of the OpenAPI document that no schema class makes: problems, tables, references."""

from functools import cache
from typing import Any

from apispec import APISpec
from marshmallow import Schema

from api.jobs.job_folder import STATES
from api.json_schema import default, value_schema
from lcc import tables, units
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


TEXT: dict[str, Any] = {"type": "string"}
_WHOLE = {"type": "integer", "minimum": 0}
_KINDS: dict[str, dict[str, Any]] = {
    "any": {}, "whole": _WHOLE, "states": {**TEXT, "enum": list(STATES)},
}  # fmt: skip


def _schema(word: str) -> dict[str, Any]:
    """Return the schema that a word of the table of replies stands for.

    Examples
    --------
    >>> _schema("[Fault]")["items"], _schema("yes/null")["enum"], _schema("string|null")["type"]
    ({'$ref': '#/components/schemas/Fault'}, ['yes', None], ['string', 'null'])
    """
    if word in _KINDS:
        return dict(_KINDS[word])
    if word.endswith("?"):
        return nullable(_schema(word[:-1]))
    if word.startswith("["):
        return listed(_schema(word[1:-1]))
    if word.startswith("{"):
        return {"type": "object", "additionalProperties": _schema(word[1:-1])}
    if "/" in word:
        choices = [None if one == "null" else one for one in word.split("/") if one]
        return {"type": ["string", "null"] if None in choices else "string", "enum": choices}
    return {"type": word.split("|") if "|" in word else word} if word.islower() else ref(word)


@cache
def replies() -> dict[str, dict[str, Any]]:
    """Return the schemas that no class makes, from the table of words `reply_schemas`.

    A member `*` stands for all members of another one; a name that ends with `?` may be absent.
    Those with a small first letter are parts of others and no schemas of the document.
    """
    made: dict[str, dict[str, Any]] = {}
    for row in tables.words("reply_schemas"):
        schema, name = made.setdefault(row["schema"], objects({})), row["member"]
        said = {"description": row["says"]} if row["says"] else {}
        if name == "*":
            more = made[row["type"]]
            schema["properties"] |= more["properties"]
            schema["required"] += more["required"]
        elif not name:
            schema |= said
        else:
            schema["properties"][name.removesuffix("?")] = _schema(row["type"]) | said
            schema["required"] += [] if name.endswith("?") else [name]
    made["Problem"]["properties"]["errors"]["maxItems"] = MOST_LISTED
    made["ProblemEvent"] = {
        "description": "Ends a stream that fails after its start.",
        "allOf": [ref("Problem"), made["problem"]],
    }
    return made


VERSIONS: dict[str, Any] = replies()["versions"]["properties"]
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


def table(rows: str) -> dict[str, Any]:
    """Return the schema of a table whose rows have the schema of this name."""
    return objects({
        **VERSIONS,
        "units": {"type": "string", "enum": list(units.SYSTEMS)},
        "title": {"type": "string"},
        "columns": listed(ref("TableColumn")),
        "rows": listed(ref(rows)),
    })  # fmt: skip
