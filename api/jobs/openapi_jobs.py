"""What the OpenAPI document says of jobs."""

from __future__ import annotations

from typing import Any

from apispec import APISpec

from api import schemas
from api.jobs.changed_terms import WhatIf
from api.jobs.job_routes import NDJSON
from api.openapi.parts import JOB_STATE, VERSIONS, ref
from api.portfolio.portfolio_requests import XLSX
from lcc import units

_TEXT: dict[str, Any] = {"type": "string"}
_LISTED = {"type": "array", "items": {"type": "object"}}
_NAME = {"name": "name", "in": "path", "required": True, "description": "Id.", "schema": _TEXT}


def add(spec: APISpec) -> None:
    """Add the calls of jobs to the document."""
    spec.components.schema("JobState", JOB_STATE)
    for system in units.SYSTEMS:
        schema = schemas.schema_for(WhatIf, system, top=True)
        spec.components.schema(schema.__name__, schema=schema)
    base = "/v1/jobs/{name}"
    state = {"200": _json("How far the job is.", ref("JobState"))}
    spec.path(
        path=base,
        operations={
            "get": _call("get-job", "How far a job is", state),
            "delete": _call("delete-job", "End a job", state),
        },
    )
    whole = {
        "200": {
            "description": "What the request would have been answered with at once.",
            "content": {
                "application/json": {"schema": {"type": "object"}},
                **{kind: {"schema": _TEXT} for kind in (NDJSON, "text/csv")},
                XLSX: {},
            },
        },
        "409": "Problem",
    }
    spec.path(
        path=f"{base}/result", operations={"get": _call("get-job-result", "Its answer", whole)}
    )
    spec.path(path=f"{base}/what-if", operations={"post": _what_if()})


def _call(name: str, title: str, responses: dict[str, Any]) -> dict[str, Any]:
    return {
        "operationId": name,
        "summary": title,
        "parameters": [_NAME],
        "responses": {**responses, "404": "Problem", "default": "Problem"},
    }


def _json(words: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"description": words, "content": {"application/json": {"schema": schema}}}


def _either(stem: str) -> dict[str, Any]:
    return {"anyOf": [ref(stem + system.title()) for system in units.SYSTEMS]}


def _what_if() -> dict[str, Any]:
    title = "The roofs of a portfolio's job ranked again at other terms, without new heat"
    properties = {
        **VERSIONS,
        "units": {**_TEXT, "enum": list(units.SYSTEMS)},
        "inputs": _either("WhatIf"),
        "results": {"type": "array", "items": _either("Ranked")},
        "programme": _either("CapitalProgramme"),
        "plan": {"anyOf": [*_either("CapitalPlan")["anyOf"], {"type": "null"}]},
        **dict.fromkeys(("ranking", "frontier", "groups"), _LISTED),
    }
    reply = {"type": "object", "required": list(properties), "properties": properties}
    call = _call("post-job-what-if", title, {"200": _json(title, reply), "422": "Problem"})
    body = {"required": True, "content": {"application/json": {"schema": _either("WhatIf")}}}
    return {**call, "requestBody": body}
