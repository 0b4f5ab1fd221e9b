"""What if: the ranking of a job at another budget, discount rate or price level, at once."""

import math
from dataclasses import dataclass, replace
from typing import Annotated, Any

import pandas as pd
from flask import Blueprint, Response

from api import service
from api.jobs.job_folder import DONE, ENDED, KeptJob
from api.jobs.job_routes import ASK_AGAIN_S
from api.jobs.job_runner import runner
from api.portfolio import results_out
from api.portfolio.job import in_money, settled
from api.portfolio.partitions import STEPS, fingerprint, job_of, kept_rows
from api.portfolio.plan_kept import KeptPlan
from api.portfolio.query import PortfolioQuery, money
from api.problems import Problem, from_case_error, invalid, later
from api.requests import NoQuery, answers_as, body, json_answer, query
from lcc.case.fields import CasePart, Choice, Parts, Quantity, Whole, facts_of
from lcc.errors import CaseError
from lcc.portfolio.new_terms import LEAST_FACTOR, LEAST_RATE, MOST_FACTOR, MOST_RATE, changed
from lcc.portfolio.outcome import Outcome
from lcc.portfolio.owner_records import MUST
from lcc.portfolio.plan_tables import AT_ONCE
from lcc.portfolio.ranking import CapitalProgramme, Ranked
from lcc.units import System

blueprint = Blueprint("what_if", __name__, url_prefix="/v1/jobs")
_MONEY = facts_of(PortfolioQuery)
NEITHER = "neither"
# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True, kw_only=True)
class RoofMust(CasePart):
    """A roof that must be worked on within the plan, or must not, whatever its table says."""

    building: Annotated[int, Whole("Row of the roof", low=1, high=1_000_000)]
    must: Annotated[str, Choice("Must or must not", (*MUST, NEITHER))]


@dataclass(frozen=True)
class WhatIf:
    """What is changed of a portfolio that a job has computed; heat and bills stay."""

    discount_rate: Annotated[float | None, Quantity(
        "rate", "Real discount rate", low=LEAST_RATE, high=MOST_RATE,
        when_unset="that of the job", help="Above general inflation.")] = None
    price_factor: Annotated[float, Quantity(
        "ratio", "Factor on all roofing prices", low=LEAST_FACTOR, high=MOST_FACTOR,
        help="On work, repairs, upkeep and residual value; energy keeps its price.")] = 1.0
    budget: Annotated[str, _MONEY["budget"]] = ""
    budget_by_year: Annotated[str, _MONEY["budget_by_year"]] = ""
    carry_over: Annotated[str, _MONEY["carry_over"]] = "no"
    rank_by: Annotated[str, _MONEY["rank_by"]] = "rows"
    first_year: Annotated[int | None, Whole(
        "Calendar year of the plan's year 0", low=1900, high=2200,
        when_unset="years are counted from 0")] = None
    musts: Annotated[tuple[RoofMust, ...], Parts(
        "Roofs that must, or must not, be worked on", low=0, high=200_000,
        help="Of a roof named twice the last holds.")] = ()


# fmt: on


def answered(job: KeptJob, wanted: WhatIf, system: System) -> tuple[pd.DataFrame, CapitalProgramme]:
    """Return the ranking of a job at other terms.

    Raises
    ------
    Problem
        Where the job has no portfolio, or no plan of so many years.
    """
    asked = PortfolioQuery(
        units=system, budget=wanted.budget, budget_by_year=wanted.budget_by_year,
        carry_over=wanted.carry_over, rank_by=wanted.rank_by,
    )  # fmt: skip
    try:
        _, yearly = money(asked)
    except Problem as problem:  # here they are members of a body, not parameters
        errors = [{**one, "pointer": f"#/{one['parameter']}"} for one in problem.errors]
        raise Problem(problem.name, problem.detail, errors) from None
    try:
        terms = wanted.discount_rate, wanted.price_factor
        rows = _kept(job, STEPS[0])
        results = _bound(changed(rows, *terms), wanted)
        plan = changed(_of_plan(job, len(yearly)), *terms) if yearly else None
    except CaseError as error:
        raise from_case_error(error) from None
    options = None if plan is None else _bound(plan, wanted)
    own = next((one.discount_rate for one in rows if one.ways), None)
    kept, known = _kept_plan(job, wanted, yearly, own)
    patience = replace(AT_ONCE, known=known)
    final, whole = settled(results, options, asked, kept=kept, patience=patience)
    refused = job.must_refused.read_text("utf-8") if job.must_refused.exists() else ""
    rate, factor = terms
    rate = own if rate is None else rate
    return final, whole.of_table(wanted.first_year, refused, rate, factor)


def _kept_plan(
    job: KeptJob, wanted: WhatIf, yearly: list[float], own_rate: float | None
) -> tuple[KeptPlan, tuple[tuple[int, ...], ...]]:
    """Return where the plan of these terms is kept, and which plans the run itself found.

    At the terms of the run that is the plan of the run.
    """
    name = job_of(job.parts)
    of_run = KeptPlan(job.parts / "plan.json", name)
    found = of_run.read()
    rate = wanted.discount_rate
    same_rate = rate is None or math.isclose(rate, own_rate or 0.0, abs_tol=1e-9)
    same = same_rate and wanted.price_factor == 1.0 and not wanted.musts
    if found and same and found[0].is_of(yearly, wanted.carry_over == "yes"):
        return of_run, ()
    asked = KeptPlan(job.parts / "what-if.json", fingerprint(b"", name, repr(wanted)))
    return asked, found[0].known if found else ()


def _bound(rows: pd.DataFrame, wanted: WhatIf) -> pd.DataFrame:
    """Return results in which the roofs named must, or must not, be worked on."""
    musts = {one.building: one.must for one in wanted.musts}
    if unknown := musts.keys() - set(rows["building"]):
        raise _no_such_roofs(wanted, unknown)
    named = rows["building"].map(musts)
    must = rows["must"].where(named.isna(), named).replace(NEITHER, None)
    return rows.assign(must=must.astype(object).where(must.notna(), None))


def _no_such_roofs(wanted: WhatIf, unknown: set[int]) -> Problem:
    said = "The job has no roof of row {}; rows are those of its results."
    places = [
        (("musts", at, "building"), CaseError("", None, "", detail=said.format(one.building)))
        for at, one in enumerate(wanted.musts)
        if one.building in unknown
    ]
    return invalid(places, {"musts": [{"building": one.building} for one in wanted.musts]})


def _kept(job: KeptJob, step: str) -> tuple[Outcome, ...]:
    folder, state = job.parts / step, job.state.state
    if state not in ENDED:
        raise later("not-ready", f"The job is {state}; ask again when it is done.", ASK_AGAIN_S)
    if state != DONE:
        why = f"The job is {state}: it has no results to rank again. Its /result says why."
        raise Problem("not-found", why)
    if not folder.is_dir():
        raise Problem("not-found", "This job has no portfolio; what-if is for portfolios.")
    return kept_rows(folder, job_of(job.parts))


def _of_plan(job: KeptJob, years: int) -> tuple[Outcome, ...]:
    options = _kept(job, STEPS[1]) if (job.parts / STEPS[1]).is_dir() else ()
    most = max((len(getattr(one, "work", ())) for one in options), default=0)
    if not most:
        detail = (
            "The job was sent without budget_by_year, so no plan is kept; send the portfolio "
            "again with budget_by_year, or give budget alone here."
        )
        raise from_case_error(CaseError("budget_by_year", None, "", detail=detail), payload=None)
    if years > most:
        detail = f"The job has a plan of {most} years; give sums for at most so many."
        raise from_case_error(CaseError("budget_by_year", None, "", detail=detail), payload=None)
    return options


@blueprint.post("/<name>/what-if")
@answers_as("application/json")
@query(NoQuery)
@body(WhatIf)
def what_if(_: NoQuery, loaded: tuple[WhatIf, System, dict[str, Any]], name: str) -> Response:
    """Rank the roofs of a job again at other terms."""
    wanted, system, document = loaded
    final, whole = answered(runner().folder.job(name), wanted, system)
    reply = {
        **service.versions(),
        "units": system,
        "inputs": document,
        "results": list(results_out.documents(final, Ranked, system)),
        **in_money(final, whole, system),
    }
    return json_answer(reply)
