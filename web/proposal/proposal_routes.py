"""The proposal as an answer of the service: ``POST /v1/proposals``."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Annotated, Any

from apispec import APISpec
from flask import Blueprint, Response

from api.openapi.examples import comparison_examples
from api.openapi.paths import post_call
from api.requests import body, query
from api.routes import Loaded, calculated
from lcc.case import Case
from lcc.case.fields import Choice, Text, facts_of
from web.proposal.document import PAPERS, PARTS, PDF, USUAL, parts_of, proposal_pdf

blueprint = Blueprint("proposals", __name__, url_prefix="/v1")


@dataclass(frozen=True)
class ProposalQuery:
    """The query of a proposal."""

    parts: Annotated[str, Text(
        "Parts", help="Names with commas between them, each beginning a page.",
    )] = ",".join(USUAL)  # fmt: skip
    paper: Annotated[str, Choice(
        "Paper", PAPERS, help="Letter for inch-pound units and A4 for SI, if not given.",
    )] = PAPERS[0]  # fmt: skip


@blueprint.post("/proposals")
@query(ProposalQuery)
@body(Case)
def post_proposals(wanted: ProposalQuery, loaded: Loaded[Case]) -> Response:
    """Typeset the proposal for a case as a PDF."""
    case, system, _ = loaded
    parts = parts_of(wanted.parts)
    return Response(calculated(proposal_pdf, case, system, parts, wanted.paper), mimetype=PDF)


def describe(spec: APISpec) -> None:
    """Say in the OpenAPI document what this address takes and answers."""
    call = post_call(
        "proposals", "The proposal for a case, typeset", "Case", "", comparison_examples(), (PDF,)
    )
    some = "|".join(PARTS)
    schemas: dict[str, Any] = {
        "parts": {"type": "string", "pattern": f"^({some})(,({some}))*$"},
        "paper": {"type": "string", "enum": list(PAPERS)},
    }
    defaults = asdict(ProposalQuery())
    parameters = [
        {"name": name, "in": "query", "description": f"{facts.label}. {facts.help}",
         "schema": {**schemas[name], "default": defaults[name]}}
        for name, facts in facts_of(ProposalQuery).items()
    ]  # fmt: skip
    spec.path(path="/v1/proposals", operations={"post": {**call, "parameters": parameters}})
