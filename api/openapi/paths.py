"""The paths of the OpenAPI document: every call, its request and its answers."""

from typing import Any

from api import catalogue, limits, problems
from api.openapi.examples import assembly_examples, comparison_examples, quantities_examples
from api.openapi.parts import PREFER, accepted, objects, query_parameters, ref, replies, table
from api.reply_parts import ComparisonQuery, EchoQuery
from api.requests import PlaceQuery, TableQuery
from api.takeoff_service import REPLIES
from lcc import units


def paths() -> dict[str, dict[str, Any]]:
    """Return the operations of every address."""
    found: dict[str, dict[str, Any]] = {
        "/v1/health": {"get": _get("health", "Whether the service is ready", ref("Health"))},
        "/v1/problems": {"get": _get("problems", "The problem types", ref("ProblemTypes"))},
        "/v1/problems/{name}": {"get": _one_problem()},
        "/v1/openapi.json": {"get": _get("openapi", "This document", {"type": "object"})},
    }
    for address, title in catalogue.TITLES.items():
        found[f"/v1/{address}"] = {
            "get": _get(address, title, ref(table_name(address)), *query_parameters(TableQuery))
        }
    title = "Places that fit what was typed, and the climate that each gets"
    found["/v1/places"] = {"get": _get("places", title, ref("Places"), *_place())}
    found["/v1/assemblies"] = {
        "post": post_call(
            "assemblies", "Figures of one assembly or thousands",
            "AssembliesRequest", "AssembliesAnswerReply", assembly_examples(),
        )
    }  # fmt: skip
    longest = found["/v1/assemblies"]["post"]
    longest["parameters"] = [PREFER, *query_parameters(EchoQuery)]
    longest["responses"]["202"] = accepted()
    found["/v1/comparisons"] = {
        "post": post_call(
            "comparisons", "A base case and its alternatives, compared",
            "Case", "ComparisonReply", comparison_examples(),
        )
    }  # fmt: skip
    found["/v1/quantities"] = {
        "post": post_call(
            "quantities", "A framing survey taken off, as JSON or as a table",
            "QuantitiesRequest", "QuantitiesReply", quantities_examples(), REPLIES[1:],
        )
    }  # fmt: skip
    for name, query in (("comparisons", ComparisonQuery), ("quantities", EchoQuery)):
        found[f"/v1/{name}"]["post"]["parameters"] = query_parameters(query)
    return found


# Names of the rows of the tables, by address.
ROWS = {
    "climates": "Station", "materials": "MaterialOfLayers", "coverings": "RoofCovering",
    "panels": "PanelFinish", "building-uses": "BuildingUse", "prices": "Price",
    "insulation-minimums": "InsulationMinimum",
}  # fmt: skip


def table_name(address: str) -> str:
    """Return the name of a table's schema."""
    return f"{ROWS[address]}Table"


def named_schemas() -> dict[str, dict[str, Any]]:
    """Return the schemas that no class makes, those of the tables made from their rows."""
    found = {name: one for name, one in replies().items() if name[0].isupper()}
    for address, row in ROWS.items():
        found[row] = _row(address)
        found[table_name(address)] = table(row)
    return found


def _row(address: str) -> dict[str, Any]:
    """Return the schema of a table's rows: the types that its cells have, the units of both."""
    both = [catalogue.document(address, system) for system in units.SYSTEMS]
    properties: dict[str, Any] = {}
    for ip, si in zip(*(one["columns"] for one in both), strict=True):
        cells = {type(row[ip["name"]]) for one in both for row in one["rows"]}
        kinds = [kind for cls, kind in _JSON.items() if cls in cells]
        cell: dict[str, Any] = {"type": kinds if len(kinds) > 1 else kinds[0]}
        properties[ip["name"]] = cell
        if ip["unit"] or si["unit"]:
            cell["x-unit"] = {"ip": ip["unit"] or "", "si": si["unit"] or ""}
    return objects(properties)


_JSON: dict[type, str] = {
    str: "string", bool: "boolean", float: "number", int: "integer", type(None): "null",
}  # fmt: skip


def body_of(media_type: str) -> dict[str, Any]:
    """Return the schema of a body that is no JSON: text, or bytes."""
    text = {"type": "string"}
    return text if media_type.startswith("text/") else {**text, "format": "binary"}


def _get(
    name: str, title: str, schema: dict[str, Any], *parameters: dict[str, Any]
) -> dict[str, Any]:
    return {
        "operationId": f"get-{name}",
        "summary": title,
        "parameters": list(parameters),
        "responses": {
            "200": {"description": title, "content": {"application/json": {"schema": schema}}},
            "304": {"description": "The entity tag given is still that of the answer."},
            "default": "Problem",
        },
    }


def _one_problem() -> dict[str, Any]:
    name = {
        "name": "name", "in": "path", "required": True,
        "schema": {"type": "string", "enum": list(problems.TYPES)},
    }  # fmt: skip
    return _get("problem", "What a problem type means", ref("ProblemType"), name)


def _place() -> list[dict[str, Any]]:
    return [{**one, "example": "Joliet, IL"} for one in query_parameters(PlaceQuery)]


def post_call(
    name: str, title: str, request: str, reply: str, examples: dict[str, Any],
    files: tuple[str, ...] = (),
) -> dict[str, Any]:  # fmt: skip
    """Return the operation of a call that sends a document and is answered by one or by files."""

    def either(stem: str) -> dict[str, Any]:
        return {"oneOf": [ref(stem + system.title()) for system in units.SYSTEMS]}

    named = {key: {"summary": key, "value": value} for key, value in examples.items()}
    body = {"application/json": {"schema": either(request), "examples": named}}
    return {
        "operationId": f"post-{name}",
        "summary": title,
        "description": f"At most {limits.MOST_BODY_BYTES} bytes and {limits.TIME_LIMIT_S:g} s.",
        "requestBody": {"required": True, "content": body},
        "responses": {
            "200": {
                "description": title,
                "content": {
                    **({"application/json": {"schema": either(reply)}} if reply else {}),
                    **{media_type: {"schema": body_of(media_type)} for media_type in files},
                },
            },
            **dict.fromkeys(("400", "413", "415", "422", "429", "503"), "Problem"),
            "default": "Problem",
        },
    }
