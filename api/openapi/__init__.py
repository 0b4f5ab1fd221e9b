"""The OpenAPI 3.1 document, made from the schemas of what is sent and answered, and its page."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import flask
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Blueprint, Response
from marshmallow import Schema

from api import marshmallow_fields as fields
from api import problems, schemas, service
from api.assemblies import AssembliesAnswer, AssembliesRequest
from api.deprecation import DEPRECATED
from api.jobs import openapi_jobs
from api.openapi.parts import RETRY_AFTER, VERSIONS, ref, without_name
from api.openapi.paths import named_schemas, paths
from api.openapi.shared_schemas import share
from api.portfolio import openapi_portfolio
from api.reply_parts import OPTIONAL
from api.requests import NoQuery, query
from api.takeoff_service import QuantitiesRequest
from lcc import __version__, units
from lcc.case import Case
from lcc.quantities import Quantities
from lcc.results import Comparison

STATIC = Path(__file__).parents[1] / "static" / "docs"
DOCS_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)
DESCRIPTION = """\
What a low-slope roof costs over a building's life, and what it does to the energy bill.

Every request states its `units`, "ip" or "si"; bare numbers are in that system, as each field's
`x-unit` says. A quantity may also be a text with its own unit, such as `"24000 ft^2"` or
`"19 h*ft^2*degF/Btu"`, in one of the spellings of the field's pattern. A therm in "$/therm" is the
US therm, a ton the short ton of 2,000 lb. "degF" is a reading in a temperature and a difference in
a temperature difference. A byte order mark before a body is ignored.

Answers other than success are problem documents (RFC 9457) that list every fault at once: its
place as a JSON pointer, the value given, what is allowed, and the unit. The same request is
answered by the same bytes. Nothing that is sent is stored, but for a job that was asked for, which
is kept for a stated time.
"""
# Classes of requests that state their units, and of the answers to them.
ANSWERS: dict[type[Any], type[Any]] = {
    Case: Comparison,
    AssembliesRequest: AssembliesAnswer,
    QuantitiesRequest: Quantities,
}
blueprint = Blueprint("docs", __name__, static_folder=str(STATIC), static_url_path="/docs/static")


def said2properties(field: Any, **_: Any) -> dict[str, Any]:
    """Return what the facts say of a field, before apispec looks at what it nests."""
    return dict(field.metadata.get(fields.SAID, dict)())


def own2properties(self: Any, field: Any, ret: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of our own field classes, which apispec does not know."""
    if not isinstance(field, fields.OneOfKinds):
        return {}
    kinds = [self.resolve_nested_schema(schema) for schema in field.kinds.values()]
    return {"oneOf": [*kinds, *([{"type": "null"}] if field.allow_none else [])]}


TABLES = "Tables and places"
Addition = Callable[[APISpec], None]


@cache
def document(additions: tuple[Addition, ...] = ()) -> dict[str, Any]:
    """Return the OpenAPI document, with what other rooms add to the service."""
    plugin = MarshmallowPlugin(schema_name_resolver=_name)
    spec = APISpec(
        title="Roof life-cycle cost", version=__version__, openapi_version="3.1.0",
        plugins=[plugin], info={"description": DESCRIPTION},
    )  # fmt: skip
    assert plugin.converter is not None
    plugin.converter.add_attribute_function(own2properties)  # type: ignore[no-untyped-call]
    steps = plugin.converter.attribute_functions
    steps.insert(steps.index(plugin.converter.metadata2properties), said2properties)
    _components(spec)
    for path, operations in paths().items():
        spec.path(path=path, operations=operations)
    for add in (openapi_portfolio.add, openapi_jobs.add, *additions):
        add(spec)
    made: dict[str, Any] = spec.to_dict()
    parts = made["components"]["schemas"]
    for key, name in plugin.converter.refs.items():
        if not key[0].reply:
            parts[name]["additionalProperties"] = False
            forms = FORMS.get(name[:-2], ())
            if forms:
                parts[name]["not"] = {"allOf": [{"anyOf": _unset(form)} for form in forms]}
    replies = {name for key, name in plugin.converter.refs.items() if key[0].reply}
    share(made, replies | {name for name in parts if "Reply" in name})
    for name, members in OPTIONAL.items():
        part = made["components"]["schemas"][name]
        part["required"] = [one for one in part["required"] if one not in members]
    _group(made)
    return made


# Subjects of the operations by how their paths begin; the others are tables.
SUBJECTS = {
    "/v1/comparisons": "One roof", "/v1/assemblies": "One roof", "/v1/quantities": "One roof",
    "/v1/proposals": "One roof", "/v1/portfolios": "Many roofs",
    "/v1/jobs": "Long work", "/v1/health": "The service",
    "/v1/problems": "The service", "/v1/openapi.json": "The service",
}  # fmt: skip


def _group(made: dict[str, Any]) -> None:
    """Put every operation under its subject, and mark those that a later version leaves out."""
    for path, operations in made["paths"].items():
        subject = next((name for start, name in SUBJECTS.items() if path.startswith(start)), TABLES)
        for method, operation in operations.items():
            operation["tags"] = [subject]
            if (method.upper(), path) in DEPRECATED:
                operation["deprecated"] = True
    made["tags"] = [{"name": name} for name in dict.fromkeys((*SUBJECTS.values(), TABLES))]


def _name(schema: Any) -> str:
    cls = schema if isinstance(schema, type) else type(schema)
    return cls.__name__


def _components(spec: APISpec) -> None:
    for name, schema in named_schemas().items():
        spec.components.schema(name, schema)
    spec.components.response(
        "Problem",
        {
            "description": "Any answer other than success.",
            "headers": {"Retry-After": RETRY_AFTER},
            "content": {problems.MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
        },
    )
    for system in units.SYSTEMS:
        for cls in ANSWERS:
            _add(spec, schemas.schema_for(cls, system, top=True))
        for request, answered in ANSWERS.items():
            answer = schemas.schema_for(answered, system, reply=True)
            title = f"{answered.__name__}Reply{system.title()}"
            spec.components.schema(title, _reply(request, without_name(spec, answer)))


def _add(spec: APISpec, schema: type[Schema]) -> None:
    if schema.__name__ not in spec.components.schemas:  # else part of an earlier one
        spec.components.schema(schema.__name__, schema=schema)


def _reply(request: type[Any], answer: dict[str, Any]) -> dict[str, Any]:
    """Return the answer's schema with what stands before it in a reply."""
    inputs = [ref(_name(schemas.schema_for(request, one, top=True))) for one in units.SYSTEMS]
    head = {
        **VERSIONS,
        "units": {"type": "string", "enum": list(units.SYSTEMS)},
        "inputs": {"oneOf": inputs},
    }
    return {
        **answer,
        "required": [*head, *answer["required"]],
        "properties": {**head, **answer["properties"]},
    }


# Sets of members of which an object must hold one, by class.
FORMS: dict[str, tuple[tuple[str, ...], ...]] = {
    "Layer": (
        ("material",), ("resistance",), ("air_gap",),
        ("thickness", "conductivity", "density", "specific_heat"),
    ),
    "Site": (("place",), ("climate",), ("weather",)),
}  # fmt: skip


def _unset(form: tuple[str, ...]) -> list[dict[str, Any]]:
    """Return one schema for each member: the objects that have it not, or null."""
    return [{"properties": {name: {"type": "null"}}} for name in form]


@blueprint.get("/v1/openapi.json")
@query(NoQuery)
def openapi(_: NoQuery) -> Response:
    """Serve the document."""
    additions = flask.current_app.extensions.get("openapi", ())
    return Response(_bytes(additions, flask.request.script_root), mimetype="application/json")


@cache
def _bytes(additions: tuple[Addition, ...], prefix: str) -> bytes:
    """Return the document for a service under a prefix, which only a trusted proxy states."""
    return service.to_json({**document(additions), "servers": [{"url": prefix or "/"}]})


@blueprint.get("/docs")
def docs() -> Response:
    """Serve the browsable page; everything it needs is here."""
    response = flask.send_from_directory(STATIC, "docs.html")
    response.headers["Content-Security-Policy"] = DOCS_POLICY
    return response
