"""The OpenAPI 3.1 document, made from the schemas that read and write, and its page."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import flask
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Blueprint, Response
from marshmallow import Schema

from api import catalogue, fields, limits, problems, schemas, service, units
from api.assemblies import AssembliesAnswer, AssembliesRequest
from api.portfolio import described
from api.quantities import REPLIES, QuantitiesRequest
from api.requests import NoQuery, query
from api.units import System
from lcc import __version__, tables
from lcc.case import Case
from lcc.quantities import Quantities
from lcc.results import Comparison

STATIC = Path(__file__).parent / "static" / "docs"
DOCS_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)
DESCRIPTION = """\
What a low-slope roof costs over a building's life, and what it does to the energy bill.

Every request states its `units`, "ip" or "si"; bare numbers are in that system, as each field's
`x-unit` says. A quantity may also be a text with its own unit, such as "24000 ft^2" or
"19 h*ft^2*degF/Btu", in one of the spellings of the field's pattern. A therm in "$/therm" is the
US therm, a ton the short ton of 2,000 lb. "degF" is a reading in a temperature and a difference in
a temperature difference. A byte order mark before a body is ignored.

Answers other than success are problem documents (RFC 9457) that list every fault at once: its
place as a JSON pointer, the value given, what is allowed, and the unit. The same request is
answered by the same bytes; nothing that is sent is stored.
"""
# Classes of requests that state their units, and of the answers to them.
ANSWERS: dict[type[Any], type[Any]] = {
    Case: Comparison,
    AssembliesRequest: AssembliesAnswer,
    QuantitiesRequest: Quantities,
}
blueprint = Blueprint("docs", __name__, static_folder=str(STATIC), static_url_path="/docs/static")


def _described(self: Any, field: fields.Value, **_: Any) -> dict[str, Any]:
    """Return what a field says of itself; nested ones refer to the schemas of their members."""
    if not isinstance(field, fields.Part):
        return field.openapi()
    members = [self.resolve_nested_schema(schema) for schema in field.schemas.values()]
    schema = members[0] if len(members) == 1 else {"oneOf": members}
    return field.openapi_of(schema)


@cache
def document() -> dict[str, Any]:
    """Return the OpenAPI document."""
    plugin = MarshmallowPlugin(schema_name_resolver=_name)
    spec = APISpec(
        title="Roof life-cycle cost", version=__version__, openapi_version="3.1.0",
        plugins=[plugin], info={"description": DESCRIPTION},
    )  # fmt: skip
    assert plugin.converter is not None
    plugin.converter.attribute_functions = [_described.__get__(plugin.converter)]
    _components(spec)
    for path, operations in _paths().items():
        spec.path(path=path, operations=operations)
    described.add(spec)
    made: dict[str, Any] = spec.to_dict()
    for key, name in plugin.converter.refs.items():
        if not key[0].reply:
            _close(name, made["components"]["schemas"][name])
    return made


def _name(schema: Any) -> str:
    cls = schema if isinstance(schema, type) else type(schema)
    return cls.__name__


def _components(spec: APISpec) -> None:
    spec.components.schema("Problem", PROBLEM)
    spec.components.response(
        "Problem",
        {
            "description": "Any answer other than success.",
            "content": {problems.MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
        },
    )
    for system in units.SYSTEMS:
        for cls in ANSWERS:
            _add(spec, schemas.schema_for(cls, system, top=True))
        for request, answered in ANSWERS.items():
            answer = schemas.schema_for(answered, system, reply=True)
            _add(spec, answer)
            title = f"{answered.__name__}Reply{system.title()}"
            inputs = _name(schemas.schema_for(request, system, top=True))
            spec.components.schema(title, _reply(system, inputs, answer.__name__))


def _add(spec: APISpec, schema: type[Schema]) -> None:
    if schema.__name__ not in spec.components.schemas:  # else part of an earlier one
        spec.components.schema(schema.__name__, schema=schema)


def _reply(system: System, inputs: str, answer: str) -> dict[str, Any]:
    head = {
        "type": "object",
        "required": ["model_version", "data_version", "units", "inputs"],
        "properties": {
            **VERSIONS,
            "units": {"type": "string", "enum": [system]},
            "inputs": _ref(inputs),
        },
    }
    return {"allOf": [head, _ref(answer)]}


def _ref(name: str) -> dict[str, str]:
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


# Sets of members of which an object must hold one, by class.
FORMS: dict[str, tuple[dict[str, list[str]], ...]] = {
    "Layer": (
        {"material": ["string"]},
        {"resistance": ["number", "string"]},
        {"air_gap": ["number", "string"]},
        {
            name: ["number", "string"]
            for name in ("thickness", "conductivity", "density", "specific_heat")
        },
    ),
    "Site": ({"climate": ["string"]}, {"weather": ["object"]}),
}


def _close(name: str, schema: dict[str, Any]) -> None:
    """Say of an object that is read that other names are refused, and which it must hold."""
    schema["additionalProperties"] = False
    forms = FORMS.get(name[:-2], ())
    if forms:
        schema["anyOf"] = [
            {"required": list(form), "properties": {n: {"type": t} for n, t in form.items()}}
            for form in forms
        ]


def _paths() -> dict[str, dict[str, Any]]:
    paths: dict[str, dict[str, Any]] = {
        "/v1/health": {"get": _get("health", "Whether the service is ready", _HEALTH)},
        "/v1/problems": {"get": _get("problems", "The problem types", _PROBLEM_TYPES)},
        "/v1/problems/{name}": {"get": _one_problem()},
        "/v1/openapi.json": {"get": _get("openapi", "This document", {"type": "object"})},
    }
    for address, title in catalogue.TITLES.items():
        paths[f"/v1/{address}"] = {"get": _get(address, title, _TABLE, _units_parameter())}
    paths["/v1/assemblies"] = {
        "post": _post(
            "assemblies", "Figures of one assembly or thousands",
            "AssembliesRequest", "AssembliesAnswerReply", assembly_examples(),
        )
    }  # fmt: skip
    paths["/v1/comparisons"] = {
        "post": _post(
            "comparisons", "A base case and its alternatives, compared",
            "Case", "ComparisonReply", comparison_examples(),
        )
    }  # fmt: skip
    paths["/v1/quantities"] = {
        "post": _post(
            "quantities", "A framing survey taken off, as JSON or as a table",
            "QuantitiesRequest", "QuantitiesReply", quantities_examples(), REPLIES[1:],
        )
    }  # fmt: skip
    return paths


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
    return _get("problem", "What a problem type means", {"type": "object"}, name)


def _units_parameter() -> dict[str, Any]:
    schema = {"type": "string", "enum": list(units.SYSTEMS), "default": "si"}
    return {"name": "units", "in": "query", "description": "Of the columns.", "schema": schema}


def _post(
    name: str, title: str, request: str, reply: str, examples: dict[str, Any],
    files: tuple[str, ...] = (),
) -> dict[str, Any]:  # fmt: skip
    def either(stem: str) -> dict[str, Any]:
        return {"oneOf": [_ref(stem + system.title()) for system in units.SYSTEMS]}

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
                    "application/json": {"schema": either(reply)},
                    **{media_type: {} for media_type in files},
                },
            },
            **dict.fromkeys(("400", "413", "415", "422", "503"), "Problem"),
            "default": "Problem",
        },
    }


_HEALTH = {
    "type": "object",
    "required": ["status", "ready", "model_version", "data_version"],
    "properties": {"status": {"type": "string"}, "ready": {"type": "boolean"}, **VERSIONS},
}
_PROBLEM_TYPES = {"type": "object", "required": ["problems"], "properties": {
    "problems": {"type": "array", "items": {"type": "object"}}}}  # fmt: skip
_TABLE = {
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


def comparison_examples() -> dict[str, Any]:
    """Return the demo case as it is, and with the same values in SI."""
    demo = tables.read_json("demo/case.json")
    return {"demo-ip": demo, "demo-si": service.case_document(service.load_case(demo).case, "si")}


def assembly_examples() -> dict[str, Any]:
    """Return a concrete roof in SI, and a framed retrofit in IP with its annual figures."""
    concrete = [
        {"material": "polyiso-board", "thickness": 0.05},
        {"thickness": 0.15, "conductivity": 1.95, "density": 2240, "specific_heat": 900},
        {"resistance": 0.059},
    ]
    retrofit = [
        {"material": "glass-fibre-blanket", "thickness": 6},
        {"material": "built-up-roofing"},
        {"resistance": "4.2 h*ft^2*degF/Btu"},
        {"material": "steel-deck"},
    ]
    panel = {"solar_reflectance": 0.55, "thermal_emittance": 0.85}
    return {
        "concrete-si": {
            "units": "si",
            "assemblies": [{"name": "Insulated concrete", "layers": concrete}],
        },
        "retrofit-ip": {
            "units": "ip",
            "climate": "tulsa-ok",
            "assemblies": [
                {"name": "Retrofit", "layers": retrofit, "cavity": {"mean_height": 2}, **panel}
            ],
        },
    }


def quantities_examples() -> dict[str, Any]:
    """Return an L-shape in IP with its climate, and a ridge roof in SI with panel readings."""
    wing = {"length": 60, "width": 50, "y": 120, "drains_to": "left"}
    return {
        "l-shape-ip": {
            "units": "ip",
            "framing": {
                "rectangles": [{"length": 200, "width": 120, "form": "ridge"}, wing],
                "slope": 0.5, "rooftop_units": 6, "penetrations": 12, "clip_travel": 1.25,
            },
            "layers": [{"material": "glass-fibre-blanket", "thickness": 6}],
            "climate": "tulsa-ok",
        },
        "ridge-si": {
            "units": "si",
            "framing": {"rectangles": [{"length": 60, "width": 30, "form": "ridge"}]},
            "coldest_panel": -25, "hottest_panel": 75,
        },
    }  # fmt: skip


@blueprint.get("/v1/openapi.json")
@query(NoQuery)
def openapi(_: NoQuery) -> Response:
    """Serve the document."""
    return Response(_bytes(), mimetype="application/json")


@cache
def _bytes() -> bytes:
    return service.to_json(document())


@blueprint.get("/docs")
def docs() -> Response:
    """Serve the browsable page; everything it needs is here."""
    response = flask.send_from_directory(STATIC, "docs.html")
    response.headers["Content-Security-Policy"] = DOCS_POLICY
    return response
