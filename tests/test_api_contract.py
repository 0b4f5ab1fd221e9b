"""The OpenAPI document against the service: schemathesis in all phases.

The default run takes 60 examples an operation and no coverage phase, the thorough run 500, and the
jobs: requests kept with ``Prefer: respond-async``, whose links lead to state, result, what-if and
cancel; and 100 papers at ``/v1/proposals``. ``CONTRACT_SEEDS=1,2,3,4`` in the environment takes
other seeds than the usual one.

Five shortcuts keep this within the suite's time; ``CONTRACT=full`` in the environment takes none
(several minutes):

- of the texts that a quantity may be, one in range is offered; `test_api_units` has the others;
- a layer and a site are asked for in one of their forms, which finds more good cases;
- two of the seven tables, which have one view, are read;
- the two texts of files have no greatest length: none so long is ever made, and to make a pattern
  of that length takes seconds;
- a comparison or proposal is asked for in IP, with a membrane as base case and no survey of the
  framing, and without the coverage phase: the parts of a case have theirs at ``/v1/assemblies`` and
  ``/v1/quantities``, and `test_api_openapi` holds every bound of the whole document.
"""

import copy
import json
import os
import re
from collections import Counter

import pytest
import schemathesis
from schemathesis.engine import events, from_schema
from schemathesis.openapi import from_dict

from api.openapi import FORMS, document
from api.portfolio.portfolio_requests import TABLES
from web import create_app
from web.proposal import proposal_routes

SEEDS = [int(each) for each in os.environ.get("CONTRACT_SEEDS", "20261125").split(",")]
JOBS = "/v1/(jobs|assemblies|portfolios$)"
PAPER = "/v1/proposals"
OF_A_CASE = ("/v1/comparisons", PAPER)
FULL = os.environ.get("CONTRACT") == "full"
OTHER_TABLES = "|materials|coverings|panels|building-uses|insulation-minimums"
CASE = {
    "units": "ip",
    "site": {"climate": "tulsa-ok"},
    "roof": {"area": 24000, "layers": [{"material": "steel-deck"}]},
}
# Operations by address -> cases that must have been tried, and of them accepted.
GROUPS = {
    "/v1/assemblies": (700, 200),
    "/v1/quantities": (2000, 500),
    "/v1/comparisons": (500, 150),
    "/v1/portfolios": (500, 100),
    f"/v1/(health|problems|openapi|climates|places|prices{OTHER_TABLES if FULL else ''})": (
        1500,
        250,
    ),
}

LONGEST = ("Proposal", "logo"), ("WeatherFile", "text")
SET = ["number", "string", "object"]  # types of a member that is not null
QUICK = (50, 5)  # of 60 examples, whatever the group


def with_one_text(node):
    """Put one text in range in place of the pattern of each quantity, in a copy of the document."""
    if isinstance(node, list):
        return [with_one_text(inner) for inner in node]
    if not isinstance(node, dict):
        return node
    node = {key: with_one_text(inner) for key, inner in node.items()}
    match node.get("oneOf"):
        case [{"type": "number"} as number, {"pattern": pattern}, *rest]:
            text = text_in_range(number, node.get("x-unit", ""))
            if re.search(pattern, text):  # sums of money are no quantity
                node["oneOf"] = [number, {"type": "string", "enum": [text]}, *rest]
    return node


def text_in_range(number, unit):
    """Return a text in the middle of a number's range."""
    low = number.get("minimum", number.get("exclusiveMinimum"))
    high = number.get("maximum", number.get("exclusiveMaximum"))
    middle = 1.0 if low is None or high is None else (low + high) / 2
    return f"{middle:.6g} {unit}" if unit else f"{100 * middle:.6g} %"


def in_one_form(name, part):
    """Ask of an object one of its forms, in place of refusing what has none: it finds more."""
    stem = name.removesuffix("Ip").removesuffix("Si")
    part["anyOf"] = [
        {"required": list(form), "properties": {one: {"type": SET} for one in form}}
        for form in FORMS[stem]
    ]
    del part["not"]


def document_to_test(group):
    """Return the document, or in the quick run the part of it that is tried."""
    full = copy.deepcopy(document((proposal_routes.describe,)))
    for operations in full["paths"].values():
        for operation in operations.values():
            # A queue of jobs that is full answers 503 by design; jobs have tests of their own.
            own = operation.get("parameters", [])
            operation["parameters"] = [one for one in own if one["name"] != "Prefer"]
            if group != JOBS:  # links lead out of the group
                for answer in operation["responses"].values():
                    answer.pop("links", None)
    if FULL:
        return full
    quick = with_one_text(full)
    parts = quick["components"]["schemas"]
    for part, text in LONGEST:
        del parts[part]["properties"][text]["maxLength"]
    ref = "#/components/schemas/"
    for path in OF_A_CASE:
        body = quick["paths"][path]["post"]["requestBody"]["content"]["application/json"]
        body["schema"] = {"$ref": f"{ref}CaseIp"}
        body["examples"] = {"small": {"value": CASE}}
    for name, part in parts.items():
        if "not" in part:
            in_one_form(name, part)
    parts["CaseIp"]["properties"]["base_case"] = {"$ref": f"{ref}MembraneAlternativeIp"}
    parts["MetalRetrofitAlternativeIp"]["properties"]["framing"] = {"type": "null"}
    return quick


def settings(group, examples, seed):
    """Return how a group is tried."""
    # A row that the table has not; a table in JSON where its file is wanted back; a job that is
    # not known, or has no answer yet.
    also = {"/v1/portfolios": ["404", "415"], JOBS: ["404", "409", "415"]}.get(group, [])
    with_coverage = FULL or (examples == 500 and group not in (*OF_A_CASE, JOBS))
    made = {
        "seed": seed,
        "headers": {"Accept-Encoding": "identity"},
        "suppress-health-check": ["too_slow"],  # the machine may be shared
        "phases": {
            "coverage": {"enabled": with_coverage},
            "stateful": {"generation": {"max-examples": 30}},
        },
        "generation": {"max-examples": examples, "no-shrink": True, "database": "none"},
        # 422 also answers values that do not fit together, rows of a table and the text of a
        # mapping, which no document can say; `unexplained` looks at them.
        "checks": {"positive_data_acceptance": {"expected-statuses": ["2xx", *also, "422"]}},
    }
    if group == JOBS:
        made["headers"]["Prefer"] = "respond-async"
        made["phases"]["stateful"]["generation"]["max-examples"] = 200
        # A job that was ended can still be asked after: its state is then "cancelled".
        made["checks"]["use_after_free"] = {"enabled": False}
        # A bad request is refused in the job's answer, not when the job is submitted.
        kept = {"include-path-regex": "^/v1/(assemblies|portfolios)$"}
        made["operations"] = [{**kept, "generation": {"mode": "positive", "max-examples": 50}}]
    return made


def run(group, examples, seed, folder):
    """Run every phase on a group of operations; return the cases, failures and troubles."""
    config = schemathesis.Config.from_dict(settings(group, examples, seed))
    schema = from_dict(document_to_test(group), config=config)
    schema.app = create_app({"TIME_LIMIT_S": 60, "JOBS_FOLDER": str(folder)})
    schema.location = "/v1/openapi.json"
    statuses, failures, troubles, phases = Counter(), [], [], {}
    for event in from_schema(schema.include(path_regex=f"^{group}")).execute():
        if isinstance(event, events.NonFatalError | events.FatalError):
            troubles.append(str(getattr(event, "info", event)))
        elif isinstance(event, events.SchemaAnalysisWarnings):
            troubles.extend(map(str, event.warnings))
        elif isinstance(event, events.PhaseFinished):
            phases[event.phase.name.value] = event.status.value
        elif isinstance(event, events.ScenarioFinished):
            gather(event.recorder, statuses, failures)
    return statuses, failures, troubles, phases


def gather(recorder, statuses, failures):
    """Count the cases of a scenario, and keep what failed with the body that made it fail."""
    for key, interaction in recorder.interactions.items():
        case = recorder.cases[key].value
        status = interaction.response.status_code
        mode = case.meta.generation.mode.value
        statuses[mode, status] += 1
        # What is read of a job may be the refusal of what was sent before.
        if (mode, status) == ("positive", 422) and case.method != "GET":
            failures.extend(unexplained(json.loads(interaction.response.content), case.body))
    for key, checks in recorder.checks.items():
        answer = recorder.interactions[key].response
        case = recorder.cases[key].value
        failures.extend(
            (check.name, str(check.failure_info.failure)[:500], answer.content[:300], case.body)
            for check in checks
            if check.failure_info
            and not tells_of_bad_rows(check.name, answer)
            and not is_text_whatever_was_sent(check, case)
        )


def tells_of_bad_rows(check, answer):
    """Tell whether data outside the document was answered by faults of its rows beside the rest."""
    if check != "negative_data_rejection" or answer.status_code != 200:
        return False
    reply = json.loads(answer.content)
    return reply.get("bad", 0) >= 1 and reply["faults_total"] >= 1


def is_text_whatever_was_sent(check, case):
    """Tell whether the only harm is a table that is no string: sent, a number is text too."""
    in_body = "Invalid component: in body - violates `type`" in str(check.failure_info.failure)
    return check.name == "negative_data_rejection" and in_body and case.media_type in TABLES


def unexplained(problem, body):
    """Yield the faults of a body that keeps to the document which the document could have said."""
    for error in problem["errors"]:
        text_out_of_range = FULL and error["rule"] == "range" and isinstance(error["value"], str)
        if error["rule"] not in ("consistency", "table", "mapping") and not text_out_of_range:
            yield "refused though the document allows it", error, body


@pytest.mark.parametrize(
    "examples", [60, pytest.param(500, marks=pytest.mark.thorough)], ids=["quick", "thorough"]
)
@pytest.mark.parametrize("group", GROUPS)
@pytest.mark.parametrize("seed", SEEDS)
def test_the_service_keeps_to_its_document(group, examples, seed, tmp_path):
    """No failure, no warning, and enough cases that a dead document cannot pass."""
    holds(*run(group, examples, seed, tmp_path), group, examples)


@pytest.mark.thorough
@pytest.mark.parametrize("seed", SEEDS)
def test_papers_keep_to_the_document(seed, tmp_path):
    """Each case is typeset as a PDF, with the parts and paper asked for, or refused."""
    holds(*run(PAPER, 100, seed, tmp_path), PAPER, 100)


@pytest.mark.thorough
@pytest.mark.parametrize("seed", SEEDS)
def test_jobs_keep_to_the_document(seed, tmp_path, monkeypatch):
    """The links of a job lead on: submitted, asked after, answered, ranked anew, ended."""
    for bound in ("MOST_WAITING", "MOST_KEPT"):  # a full queue is answered by 503, by design
        monkeypatch.setattr(f"api.jobs.job_folder.{bound}", 10**6)
    found = run(JOBS, 100, seed, tmp_path)
    assert found[3]["stateful"] == "success"
    holds(*found, JOBS, 100)
    assert found[0]["positive", 202] > 100


def holds(statuses, failures, troubles, phases, group, examples):
    """Check what came of a group."""
    assert not failures, str(failures[0])[:3000]
    assert not troubles
    # A portfolio's bad rows beside good ones are a failure to schemathesis, but none here.
    ended = {"success", "failure"} if group == "/v1/portfolios" else {"success"}
    assert phases["fuzzing"] in ended
    assert set(phases.values()) <= {*ended, "skip"}
    tried, accepted = GROUPS[group] if examples == 500 else QUICK
    assert statuses.total() >= tried, statuses
    assert statuses["positive", 200] >= accepted, statuses
    assert not [status for _, status in statuses if status >= 500]
