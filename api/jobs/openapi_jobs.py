"""What the OpenAPI document says of jobs."""

from typing import Any

from apispec import APISpec

from api import schemas
from api.jobs.changed_terms import WhatIf
from api.jobs.job_routes import TableOfJobQuery
from api.openapi.parts import RETRY_AFTER, TEXT, link, ref
from api.openapi.paths import body_of
from api.portfolio import openapi_portfolio
from api.portfolio.openapi_portfolio import SHOWN
from api.portfolio.portfolio_requests import NDJSON
from api.portfolio.query import MONEY
from api.portfolio.tables_out import XLSX
from lcc import units

_NAME = {"name": "name", "in": "path", "required": True, "description": "Id.", "schema": TEXT}
_BASE = "/v1/jobs/{name}"
_SUM = {"type": "number", "minimum": 0, "maximum": 999_999_999_999.99}


def add(spec: APISpec) -> None:
    """Add the calls of jobs to the document."""
    for system in units.SYSTEMS:
        schema = schemas.schema_for(WhatIf, system, top=True)
        spec.components.schema(schema.__name__, schema=schema)
        members = spec.components.schemas[schema.__name__]["properties"]
        for name, sums in MONEY.items():
            text = {"type": "string", "maxLength": members[name].pop("maxLength"), "pattern": sums}
            del members[name]["type"], members[name]["pattern"]
            members[name]["oneOf"] = [_SUM, text, {"type": "null"}]
    state = {"200": _json("How far the job is.", ref("JobState"))}
    next_calls = ("get-job", "get-job-result", "delete-job")
    state["200"]["links"] = {name: link(name, "$response.body#/id") for name in next_calls}
    ways = {
        "get": _call("get-job", "How far a job is", state),
        "delete": _call("delete-job", "End a job, or remove one that has ended", state),
    }
    spec.path(path=_BASE, operations=ways)
    state["200"]["headers"] = {"Retry-After": RETRY_AFTER}
    files = {kind: {"schema": body_of(kind)} for kind in (NDJSON, "text/csv", XLSX)}
    answer = {
        "description": "What the request would have been answered with at once.",
        "content": {**_either(*SHOWN, "AssembliesAnswerReplyIp"), **files},
    }
    result = _call("get-job-result", "The answer of a job", {"200": answer, "409": "Problem"})
    spec.path(path=f"{_BASE}/result", operations={"get": result})
    title = "More of the table that a job was sent: what is wrong with it, a building's case"
    table = {"description": title, "content": {**_either(*SHOWN[1:]), **files}}
    more = _call("get-job-table", title, {"200": table, "422": "Problem"})
    more["parameters"] = [_NAME, *openapi_portfolio.asked(TableOfJobQuery)]
    spec.path(path=f"{_BASE}/table", operations={"get": more})
    spec.path(path=f"{_BASE}/what-if", operations={"post": _what_if()})


def _either(*names: str) -> dict[str, Any]:
    return {"application/json": {"schema": {"anyOf": [ref(name) for name in names]}}}


def _call(name: str, title: str, responses: dict[str, Any]) -> dict[str, Any]:
    return {
        "operationId": name,
        "summary": title,
        "parameters": [_NAME],
        "responses": {**responses, "404": "Problem", "default": "Problem"},
    }


def _json(words: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"description": words, "content": {"application/json": {"schema": schema}}}


def _what_if() -> dict[str, Any]:
    title = "The roofs of a portfolio's job ranked again at other terms, without new heat"
    answers = {"200": _json(title, ref("WhatIfReply")), "409": "Problem", "422": "Problem"}
    call = _call("post-job-what-if", title, answers)
    content = _either("WhatIfIp", "WhatIfSi")
    return {**call, "requestBody": {"required": True, "content": content}}
