"""The proposal as an answer of the service: ``POST /v1/proposals``."""

from dataclasses import dataclass
from typing import Annotated

from apispec import APISpec
from flask import Blueprint, Response

from api.openapi.examples import comparison_examples
from api.openapi.parts import query_parameters
from api.openapi.paths import post_call
from api.portfolio.portfolio_routes import attached
from api.requests import answers_as, body, query
from api.routes import Loaded, calculated
from lcc.case import Case
from lcc.case.fields import Choice, Choices
from web.proposal.document import PAPERS, PARTS, PDF, USUAL, proposal_pdf

blueprint = Blueprint("proposals", __name__, url_prefix="/v1")


@dataclass(frozen=True)
class ProposalQuery:
    """The query of a proposal."""

    parts: Annotated[tuple[str, ...], Choices(
        "Parts", tuple(PARTS), help="Each begins a page.",
    )] = USUAL  # fmt: skip
    paper: Annotated[str, Choice(
        "Paper", PAPERS, help="Letter for inch-pound units and A4 for SI, if not given.",
    )] = PAPERS[0]  # fmt: skip


@blueprint.post("/proposals")
@answers_as(PDF)
@query(ProposalQuery)
@body(Case)
def post_proposals(wanted: ProposalQuery, loaded: Loaded[Case]) -> Response:
    """Typeset the proposal for a case as a PDF."""
    case, system, _ = loaded
    printed = calculated(proposal_pdf, case, system, wanted.parts, wanted.paper)
    return attached(printed, PDF, "proposal.pdf")


def describe(spec: APISpec) -> None:
    """Say in the OpenAPI document what this address takes and answers."""
    call = post_call(
        "proposals", "The proposal for a case, typeset", "Case", "", comparison_examples(), (PDF,)
    )
    call["parameters"] = query_parameters(ProposalQuery)
    spec.path(path="/v1/proposals", operations={"post": call})
