"""The addresses of the service; each view reads its request, asks one function, answers."""

from typing import Any, TypeVar

import flask
from flask import Blueprint, Response, current_app, request

from api import assemblies, catalogue, service, takeoff_service
from api.jobs.job_routes import may_be_a_job
from api.jobs.job_runner import job_at_hand
from api.limits import Calculations
from api.problems import TYPES, TYPES_PATH, Problem
from api.reply_parts import ComparisonQuery, EchoQuery
from api.requests import (
    NoQuery,
    PlaceQuery,
    TableQuery,
    answers_as,
    body,
    client_at_hand,
    json_answer,
    query,
)
from lcc import tables
from lcc.case import Case
from lcc.units import System

T = TypeVar("T")
Loaded = tuple[T, System, dict[str, Any]]  # dataclass, units, and the document as it was typed
blueprint = Blueprint("v1", __name__, url_prefix="/v1")


def calculated(function: Any, *arguments: Any, lane: str = "comparisons") -> Any:
    """Return what a calculation returns, within the time limit and in its lane.

    One of a job has neither: nobody waits for it.
    """
    if job_at_hand():
        return function(*arguments)
    calculations: Calculations = current_app.extensions["calculations"]
    return calculations.run(function, *arguments, lane=lane, client=client_at_hand())


@blueprint.get("/health")
@query(NoQuery)
def health(_: NoQuery) -> Response:
    """Tell whether the service is ready, and the versions that a reply would name."""
    for name in tables.names():
        tables.keys(name)
    return json_answer({"status": "ok", "ready": True, **service.versions()})


@blueprint.get("/problems")
@query(NoQuery)
def problems(_: NoQuery) -> Response:
    """List the problem types that an answer other than success may name."""
    listed = [
        {"type": request.root_path + TYPES_PATH + name, "status": status, "title": title}
        for name, (status, title) in TYPES.items()
    ]
    return json_answer({"problems": listed})


@blueprint.get("/problems/<name>")
@query(NoQuery)
def problem(_: NoQuery, name: str) -> Response:
    """Tell what one problem type means."""
    if name not in TYPES:
        raise Problem("not-found", "No problem type has this name; GET /v1/problems lists them.")
    status, title = TYPES[name]
    address = request.root_path + TYPES_PATH + name
    return json_answer({"type": address, "status": status, "title": title})


def _table_view(address: str) -> Any:
    @query(TableQuery)
    def view(wanted: TableQuery) -> Response:
        return json_answer(catalogue.document(address, wanted.units))  # type: ignore[arg-type]

    view.__doc__ = f"{catalogue.TITLES[address]}, each row with its source."
    return view


for _address in catalogue.TITLES:
    blueprint.add_url_rule(f"/{_address}", _address, _table_view(_address), methods=["GET"])


@blueprint.get("/places")
@query(PlaceQuery)
def places(wanted: PlaceQuery) -> Response:
    """List the places that fit what was typed, best first, each with the climate it gets."""
    return json_answer(service.places_document(wanted.query))


@blueprint.post("/assemblies")
@answers_as("application/json")
@query(EchoQuery)
@may_be_a_job
@body(assemblies.AssembliesRequest)
def post_assemblies(
    wanted: EchoQuery, loaded: Loaded[assemblies.AssembliesRequest]
) -> flask.Response:
    """Work out one assembly or thousands."""
    lane = "quick" if loaded[0].climate is None else "comparisons"
    return json_answer(calculated(assemblies.reply, *loaded, wanted.include, lane=lane))


@blueprint.post("/comparisons")
@answers_as("application/json")
@query(ComparisonQuery)
@body(Case)
def post_comparisons(wanted: ComparisonQuery, loaded: Loaded[Case]) -> flask.Response:
    """Compare the base case of a roof with one or more alternatives."""
    case, system, document = loaded
    named = service.without_weather(document)
    return json_answer(calculated(service.comparison_reply, case, system, named, wanted.include))


@blueprint.post("/quantities")
@answers_as(*takeoff_service.REPLIES)
@query(EchoQuery)
@body(takeoff_service.QuantitiesRequest)
def post_quantities(
    parts: EchoQuery, loaded: Loaded[takeoff_service.QuantitiesRequest]
) -> flask.Response:
    """Take off a framing survey, as JSON or as the table that the request accepts."""
    wanted = request.accept_mimetypes.best_match(takeoff_service.REPLIES)
    asked = (*loaded, wanted, parts.include)
    made: Response = calculated(takeoff_service.response, *asked, lane="quick")
    made.vary.add("Accept")
    return made
