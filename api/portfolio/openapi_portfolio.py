"""What the OpenAPI document says of portfolios, from the facts of rows, query and results."""

from typing import Any

from apispec import APISpec

from api import schemas
from api.json_schema import value_schema
from api.limits import MOST_JSON, MOST_UPLOAD
from api.openapi.parts import PREFER, accepted, query_parameters, ref, replies, without_name
from api.openapi.paths import body_of
from api.portfolio.portfolio_requests import NDJSON, TABLES
from api.portfolio.portfolio_routes import HelpQuery
from api.portfolio.query import MONEY, PortfolioQuery
from api.portfolio.tables_out import XLSX
from api.requests import NoQuery
from lcc import tables, units
from lcc.case.fields import Text
from lcc.portfolio.columns import row_class
from lcc.portfolio.outcome import Outcome
from lcc.portfolio.plan_tables import CapitalPlan
from lcc.portfolio.ranking import CapitalProgramme, Ranked
from lcc.portfolio.totals_and_drivers import GroupTotal

ADDRESS = "/v1/portfolios"
_ABOUT = f"""\
A table of roofs of at most {MOST_UPLOAD} bytes, or rows in JSON of at most {MOST_JSON}. Good rows
are computed; bad ones are listed by line, column, value and rule. The media types that the request
accepts choose the answer: a document, a stream of events by line, or the ranking as CSV or XLSX.
A process computes few portfolios at once: 503 says when to come again. A stream sends `start`, each
`result`, `progress`, and for a plan `planning` until it is there, at least once a second, then
`end`, or `problem` in its place; how many `planning` events come depends on the time it takes. A
`result` of interpolated heat on which a set or plan hangs comes again before the end, solved
exactly."""
_TEXT = {"type": "string"}
# What is answered in JSON, by `show`.
SHOWN = ("PortfolioReply", "PortfolioCheck", "CaseIp", "CaseSi", "MappingReply")


def add(spec: APISpec) -> None:
    """Add the calls of portfolios, and the schemas that only they use, to the document."""
    for system in units.SYSTEMS:
        for cls, reply in (
            (row_class(), False),
            (Ranked, True),
            (CapitalProgramme, True),
            (CapitalPlan, True),
            (GroupTotal, True),
        ):
            schema = schemas.schema_for(cls, system, reply=reply)
            spec.components.schema(schema.__name__, schema=schema)
        _or_place(spec.components.schemas[row_class().__name__ + system.title()])
    for name, answer in _named_bodies().items():
        spec.components.schema(name, answer)
    outcome = without_name(spec, schemas.schema_for(Outcome, "ip", reply=True))
    event = replies()["result"]
    spec.components.schema("ResultEvent", {
        **outcome,
        "required": [*event["required"], *outcome["required"]],
        "properties": event["properties"] | outcome["properties"],
    })  # fmt: skip
    events = ("Start", "Result", "Progress", "Planning", "End", "Problem")
    spec.components.schema("PortfolioEvent", {"oneOf": [ref(f"{one}Event") for one in events]})
    spec.path(path=ADDRESS, operations={"post": _post()})
    for name, title in _HELP.items():
        spec.path(path=f"{ADDRESS}/{name}", operations={"get": _get(name, title)})


_HELP = {
    "template": "The header that a table of roofs may have, as CSV or XLSX",
    "dictionary": "What each column means, may hold, and takes when left out, as CSV or XLSX",
    "results-dictionary": "What each column of a ranking means, and its unit, as CSV or XLSX",
    "demo": "A portfolio of invented buildings, as CSV",
}


def _or_place(row: dict[str, Any]) -> None:
    """Let the climate of a row be named by its place too."""
    climate = row["properties"]["climate"]
    keys = {name: climate.pop(name) for name in ("type", "enum")}
    place = value_schema(Text("Place"), "ip") | {"description": "Its place, such as Tulsa, OK."}
    climate["anyOf"] = [keys, place]


def _post() -> dict[str, Any]:
    return {
        "operationId": "post-portfolios",
        "summary": "Many roofs compared, ranked and fitted to a budget",
        "description": _ABOUT,
        "parameters": [PREFER, *asked(PortfolioQuery)],
        "requestBody": {"required": True, "content": _bodies()},
        "responses": {
            "200": {"description": "What was asked for by `show`.", "content": _answers()},
            "202": accepted(),
            **dict.fromkeys(("400", "404", "413", "415", "422", "429", "503"), "Problem"),
            "default": "Problem",
        },
    }


def asked(cls: type[PortfolioQuery]) -> list[dict[str, Any]]:
    """Return the parameters of a query of portfolios."""
    return query_parameters(cls, **{name: {"pattern": sums} for name, sums in MONEY.items()})


def _either(stem: str) -> dict[str, Any]:
    names = [f"#/components/schemas/{stem}{system.title()}" for system in units.SYSTEMS]
    return {"anyOf": [{"$ref": name} for name in names]}


def _bodies() -> dict[str, Any]:
    demo = tables.read_text("demo/portfolio.csv").splitlines()[:3]
    return {
        **{media_type: {"schema": body_of(media_type)} for media_type in TABLES},
        "text/csv": {"schema": dict(_TEXT), "example": "\n".join(demo)},
        "application/json": {"schema": ref("PortfolioRows")},
        "multipart/form-data": {"schema": ref("PortfolioForm")},
    }


def _named_bodies() -> dict[str, Any]:
    rows = {"type": "array", "minItems": 1, "items": _either(row_class().__name__)}
    in_json = {
        "type": "object",
        "required": ["rows"],
        "additionalProperties": False,
        "properties": {
            "units": {
                **_TEXT,
                "enum": list(units.SYSTEMS),
                "description": "Of the numbers and of the reply; without it, those of the query.",
            },
            "rows": rows,
            "case": {"anyOf": [*_either("Case")["anyOf"], {"type": "null"}]},
        },
    }
    form = {
        "type": "object",
        "required": ["file"],
        "additionalProperties": False,
        "properties": {
            "file": {**_TEXT, "format": "binary"},
            "case": {**_TEXT, "description": "A case document for what the rows do not say."},
            "mapping": {
                **_TEXT,
                "description": "A mapping as `show=mapping` answers it, corrected where needed.",
            },
        },
    }
    return {"PortfolioRows": in_json, "PortfolioForm": form}


def _answers() -> dict[str, Any]:
    line = "One JSON object a line, each an event of the schema PortfolioEvent."
    return {
        "application/json": {"schema": {"anyOf": [ref(name) for name in SHOWN]}},
        NDJSON: {"schema": {**_TEXT, "description": line}},
        "text/csv": {"schema": body_of("text/csv")},
        XLSX: {"schema": body_of(XLSX)},
    }


def _get(name: str, title: str) -> dict[str, Any]:
    files = {media_type: {"schema": body_of(media_type)} for media_type in ("text/csv", XLSX)}
    return {
        "operationId": f"get-portfolio-{name}",
        "summary": title,
        "parameters": query_parameters(NoQuery if name == "demo" else HelpQuery),
        "responses": {
            "200": {"description": title, "content": files},
            "304": {"description": "The entity tag given is still that of the answer."},
            "default": "Problem",
        },
    }
