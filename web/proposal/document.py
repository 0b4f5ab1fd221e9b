"""A proposal from a case document: which parts it has, and its PDF."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from typst import TypstError

from api import service
from api.problems import from_case_error
from api.reply_parts import ASSUMPTIONS
from lcc.case import Case
from lcc.case.logo import ALLOWED
from lcc.case.proposal import day
from lcc.errors import CaseError
from lcc.stated_case import with_draws
from lcc.units import System
from web.charts import Reply
from web.proposal.annex_assumptions import assumptions
from web.proposal.annex_comparison import comparison
from web.proposal.annex_flags import continued, flags, others
from web.proposal.annex_quantities import quantities
from web.proposal.blocks import Block
from web.proposal.crew_sheet import SUBJECTS as CREW
from web.proposal.crew_sheet import crew_sheet
from web.proposal.cut_names import cut
from web.proposal.engineer_sheet import SUBJECTS as ENGINEER
from web.proposal.engineer_sheet import engineer_sheet
from web.proposal.letter import letter
from web.proposal.offer import Offer, names_in_full
from web.proposal.typesetting import typeset

PDF = "application/pdf"
PARTS: Mapping[str, Callable[[Offer], Block]] = {
    "letter": letter,
    "comparison": comparison,
    "quantities": quantities,
    "assumptions": assumptions,
    "flags": flags,
    "engineer": engineer_sheet,
    "crew": crew_sheet,
}
USUAL = ("letter", "comparison", "quantities", "assumptions", "flags")
SURVEYED = {"engineer": ENGINEER, "crew": CREW}  # sheets, and the cautions that they have
NO_SURVEY = (
    "add the plan of the roof to a metal retrofit under “Framing from a survey”, in a file as "
    '"framing": {"rectangles": [{"length": 100, "width": 60}]}'
)
PRINTED = (ASSUMPTIONS,)  # long parts of a reply that a paper prints from
FOOT = 40  # letters of a name at the foot of every page
PAPERS = ("by-units", "letter", "a4")
SIZES = {"letter": "us-letter", "a4": "a4"}


def proposal_pdf(
    case: Case, system: System, parts: Sequence[str] = USUAL, paper: str = PAPERS[0]
) -> bytes:
    """Return the proposal for a case as a PDF, the same bytes each time and everywhere.

    Parameters
    ----------
    case : lcc.case.Case
    system : "ip" or "si"
        Units of the paper.
    parts : sequence of str
        What is printed, of `PARTS`, each beginning a page.
    paper : "letter", "a4" or "by-units"
        By units: letter for inch-pound units, A4 for SI.

    Raises
    ------
    api.problems.Problem
        Where the core cannot use the case, or the paper cannot hold what was entered.
    """
    asked = with_draws(case)
    reply = service.comparison_reply(asked, system, include=PRINTED)
    return pdf(asked, reply, parts, paper)


def pdf(case: Case, reply: Reply, parts: Sequence[str] = USUAL, paper: str = PAPERS[0]) -> bytes:
    """Return the proposal for a case that is already answered; see `proposal_pdf`."""
    by_units = "letter" if reply["units"] == "ip" else "a4"
    size = SIZES.get(paper, SIZES[by_units])
    try:
        return _typeset(case, document(case, reply, parts, size))
    except CaseError as error:
        raise from_case_error(error) from None


def parts_of(names: str) -> tuple[str, ...]:
    """Return the parts named in a text with commas.

    Examples
    --------
    >>> parts_of("letter, crew")
    ('letter', 'crew')

    Raises
    ------
    api.problems.Problem
        For a name that is no part.
    """
    found = tuple(name.strip() for name in names.split(",") if name.strip())
    unknown = [name for name in found if name not in PARTS]
    if unknown or not found:
        allowed = "some of " + ", ".join(PARTS)
        wrong = f"“{unknown[0]}” is no part of the paper" if unknown else "No part is named"
        detail = f"{wrong}: type {allowed}, with commas between them."
        raise from_case_error(CaseError("parts", names, allowed, detail=detail))
    return found


def _typeset(case: Case, made: dict[str, Any]) -> bytes:
    try:
        return typeset(made, day("proposal.date", case.proposal.date))
    except TypstError:
        if case.proposal.logo:
            raise CaseError("proposal.logo", "a broken picture", ALLOWED) from None
        raise


def document(case: Case, reply: Reply, parts: Sequence[str], size: str) -> dict[str, Any]:
    """Return what the template prints."""
    offer = Offer(case, reply, case.proposal, _there(case, parts))
    number = case.proposal.number
    made = [PARTS[name](offer) for name in offer.parts]
    for part in [one for one in made if one["kind"] == "sheet"][:1]:
        part["blocks"] += names_in_full(offer)
    if "letter" in offer.parts and not {"flags", "comparison"} <= set(offer.parts):
        made.insert(1, {**continued(offer), "kind": "unsaid"})
    told = [title for name in offer.parts for title in SURVEYED.get(name, ())]
    if told and not {"letter", "flags"} & set(offer.parts):
        made.append(others(offer, told))
    return {
        "title": f"Proposal: {reply['name']}",
        "author": case.proposal.company,
        "size": size,
        "foot": [cut(reply["name"], FOOT), f"Proposal {cut(number, FOOT)}".strip()],
        "parts": made,
    }


def _there(case: Case, parts: Sequence[str]) -> tuple[str, ...]:
    """The parts that have something to print, in their order; refused where none has."""
    surveyed = any(getattr(one, "framing", None) for one in case.alternatives)
    wanted = [one for one in PARTS if one in parts]
    found = tuple(one for one in wanted if surveyed or one not in SURVEYED)
    if wanted and not found:
        told = (
            f"These sheets list posts and purlins of a framing survey; there is none: {NO_SURVEY}."
        )
        raise CaseError("parts", ", ".join(wanted), NO_SURVEY, detail=told)
    return found
