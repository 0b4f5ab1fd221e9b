"""Jobs: submitted, asked after, answered later, cancelled, gone on with after a kill."""

import errno
import json
import os
import threading
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

import api
from api import limits, openapi
from api.jobs import job_folder
from api.jobs.job_folder import JobFolder, KeptJob
from api.jobs.job_runner import JobRunner
from api.portfolio import partitions
from lcc.portfolio import plan_tables
from lcc.portfolio.owner_records import NOT_BEFORE

ASYNC = {"Prefer": "respond-async"}
ROOFS = {
    "units": "ip",
    "rows": [
        {
            "name": name, "climate": "chicago-il", "roof_area": 20000, "age": age,
            "roof_type": "steel-deck-perlite", "covering": "epdm-black", "condition": condition,
        }
        for name, age, condition in (
            ("old", 16, "poor"), ("young", 4, "good"), ("bad", 25, "failed"),
        )
    ],
}  # fmt: skip


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    """A service with jobs in a folder of the test."""
    app = api.create_app({"JOBS_FOLDER": str(tmp_path_factory.mktemp("jobs"))})
    return app.test_client()


def submitted(client, address="/v1/portfolios", document=ROOFS, **headers):
    return client.post(address, json=document, headers={**ASYNC, **headers})


@pytest.fixture(scope="module")
def planned(client, ended):
    """A portfolio with a plan, done as a job, and the same answered at once."""
    address = "/v1/portfolios?budget=400000&budget_by_year=300000;200000;200000"
    reply = submitted(client, address)
    state = ended(client, reply)
    return reply, state, client.post(address, json=ROOFS)


def test_a_job_is_accepted_at_once_and_says_where_it_is(planned):
    reply, state, _ = planned
    assert reply.status_code == 202
    assert reply.headers["Preference-Applied"] == "respond-async"
    assert state["id"] in reply.headers["Location"]
    assert state["state"] == "done"
    assert (state["done"], state["of"], state["ready"]) == (3, 3, True)
    assert state["kept_until"] > state["ended"] > state["submitted"]


def test_the_answer_of_a_job_is_that_of_the_request(client, planned):
    _, state, at_once = planned
    kept = client.get(state["result"], buffered=True)
    assert kept.status_code == 200
    assert kept.mimetype == "application/json"
    assert kept.data == at_once.data
    parts = {"components": openapi.document()["components"]}
    written = {"$ref": "#/components/schemas/PortfolioReply", **parts}
    assert not [*Draft202012Validator(written).iter_errors(kept.json)]


def what_if(client, state, **terms):
    return client.post(f"/v1/jobs/{state['id']}/what-if", json={"units": "ip", **terms})


def test_what_if_nothing_changes_gives_the_ranking_again(client, planned):
    _, state, at_once = planned
    same = what_if(client, state, budget=400000, budget_by_year="300000;200000;200000").json
    before = at_once.json
    for name in ("programme", "plan"):
        assert flat(same[name]) == pytest.approx(flat(before[name]), rel=1e-9, abs=0.01)
    assert [row["rank"] for row in same["ranking"]] == [row["rank"] for row in before["ranking"]]
    assert len(same["results"]) == len(before["results"])
    assert same["programme"]["discount_rate"] == before["programme"]["discount_rate"] > 0
    dear = what_if(client, state, discount_rate=0.05, price_factor=1.2).json["programme"]
    assert (dear["discount_rate"], dear["price_factor"]) == (0.05, 1.2)


def test_what_if_back_at_the_terms_of_the_run_nothing_is_searched_again(
    client, planned, monkeypatch
):
    _, state, at_once = planned

    def searched(*_, **__):
        raise AssertionError

    what_if(client, state, budget_by_year="250000;200000;200000")  # other terms come between
    monkeypatch.setattr("lcc.portfolio.ranking.multi_year_plan", searched)
    first = {"budget_by_year": "300000;200000;200000", "carry_over": "no", "price_factor": 1.0}
    rate = at_once.json["programme"]["discount_rate"]
    again = what_if(client, state, **first, discount_rate=rate).json["plan"]
    assert flat(again) == pytest.approx(flat(at_once.json["plan"]))


def test_what_if_a_budget_was_printed_before_its_plan_is_no_worse(client, planned, monkeypatch):
    _, state, at_once = planned
    printed = at_once.json["plan"]["trade_off"][1]
    more = printed["further_a_year"]
    searched = plan_tables.choose

    def in_a_hurry(ways, money, carry_over, *_):
        found = searched(ways, money * 0, carry_over, 1.0, 0.0)  # nothing but what costs nothing
        none = np.zeros_like(found.unpaid)
        return replace(found, gap=1e6, unpaid=none, unmet=none[:, 0])

    monkeypatch.setattr(plan_tables, "choose", in_a_hurry)
    sums = ";".join(f"{one + more:.0f}" for one in (300e3, 200e3, 200e3))
    found = what_if(client, state, budget_by_year=sums).json["plan"]
    assert found["net_savings"] == pytest.approx(printed["net_savings"])


def flat(part):
    """Return the figures of a document by place."""
    if isinstance(part, dict):
        part = part.items()
    elif isinstance(part, list):
        part = enumerate(part)
    else:
        return {"": part} if isinstance(part, int | float) else {}
    return {f"/{key}{place}": v for key, one in part for place, v in flat(one).items()}


def test_what_if_prices_rise_the_first_cost_rises_with_them(client, planned):
    _, state, at_once = planned
    dear = what_if(client, state, price_factor=1.5).json["results"]
    for row, before in zip(dear, at_once.json["results"], strict=True):
        assert row["first_cost"] == pytest.approx(1.5 * before["first_cost"])


@pytest.mark.parametrize(
    "must",
    [
        "must-not",
        "must-do-by-1",
        *(pytest.param(one, marks=pytest.mark.thorough) for one in ("must-do", "not-before-2")),
    ],
)
def test_what_if_a_roof_must_be_done_or_not_the_plan_follows(client, planned, must):
    """Each roof alone, with money for all; what the table says holds again where neither is set."""
    _, state, at_once = planned
    numbers = {row["building"] for row in at_once.json["results"]}
    for number in numbers:
        terms = {"budget_by_year": "900000;900000;900000"}
        told = what_if(client, state, **terms, musts=[{"building": number, "must": must}]).json
        work = [one for one in told["plan"]["work"] if one["what"] != "patching"]
        first = min((one["year"] for one in work if one["building"] == number), default=None)
        assert first is None or first >= NOT_BEFORE.get(must, 0)
        assert must in NOT_BEFORE or (first is not None) == (must != "must-not")
        assert must != "must-do-by-1" or first <= 1
        assert {row["must"] for row in told["results"] if row["building"] == number} == {must}
    if must == "must-do":
        poor = {"budget": 10, "budget_by_year": "10;10"}
        poor["musts"] = [{"building": number, "must": must}]
        lacking = what_if(client, state, **poor).json["programme"]["must_undone"]
        assert "budget does not pay for 1 must-do roof: " in lacking
        assert "plan does not pay in time for 1 must-do roof: " in lacking
        each = what_if(client, state, **poor).json["programme"]["must_undone_roofs"]
        told = [(one["building"], one["under"], one["alone"]) for one in each]
        assert told == [(number, "budget", ""), (number, "plan", "no")]
    freed = what_if(client, state, **terms, musts=[{"building": number, "must": "neither"}]).json
    assert {row["must"] for row in freed["results"]} == {None}


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({"musts": [{"building": 99, "must": "must-do"}]}, "no roof of row 99"),
        ({"musts": [{"building": 98, "must": "must-not"}] * 3}, "#/musts/2/building"),
        ({"price_factor": 9}, "price_factor"),
        ({"budget_by_year": "1;1;1;1"}, "a plan of 3 years"),
        ({"budget": "lots"}, "budget"),
        ({"budget": -1}, "Budget is -1; allowed: sums of money"),
    ],
)
def test_what_if_out_of_range_is_refused(client, planned, terms, words):
    refused = what_if(client, planned[1], **terms)
    assert refused.status_code == 422
    assert words in refused.text


def test_what_if_a_must_do_row_cannot_be_used_it_is_still_named(client, ended):
    bad = {"name": "Gym", "climate": "nowhere", "must": "must-do"}
    sent = {**ROOFS, "rows": [ROOFS["rows"][0], bad]}
    state = ended(client, submitted(client, "/v1/portfolios?budget=400000", sent))
    found = client.post(f"/v1/jobs/{state['id']}/what-if", json={"units": "ip", "budget": "1"})
    told = found.json["programme"]["must_undone"]
    assert told.startswith("1 must-do roof is in no figure here")
    assert "Gym" in told


def test_a_job_that_is_refused_keeps_its_problem(client, ended):
    behind = {"SCRIPT_NAME": "/roofs"}  # of a proxy with a prefix
    sent = {"units": "ip", "rows": []}
    reply = client.post("/v1/portfolios", json=sent, headers=ASYNC, environ_overrides=behind)
    reply.headers["Location"] = reply.headers["Location"].removeprefix("/roofs")
    state = ended(client, reply)
    assert state["state"] == "failed"
    kept = client.get(state["result"], buffered=True)
    assert kept.status_code == 422
    assert kept.mimetype == "application/problem+json"
    assert kept.json["type"] == "/roofs/v1/problems/invalid-input"


def test_a_job_of_assemblies_may_hold_more_than_a_request(client, ended):
    assembly = {"name": "deck", "layers": [{"material": "steel-deck"}]}
    document = {"units": "ip", "assemblies": [assembly] * 1000}
    reply = submitted(client, "/v1/assemblies", document)
    state = ended(client, reply)
    assert len(client.get(state["result"], buffered=True).json["assemblies"]) == 1000


def test_a_stream_of_a_job_can_be_read_while_it_is_made(client):
    reply = submitted(client, Accept="application/x-ndjson")
    until = time.monotonic() + 30
    lines = client.get(f"{reply.headers['Location']}/result", buffered=True)
    while lines.status_code == 409 and time.monotonic() < until:
        time.sleep(0.05)
        lines = client.get(f"{reply.headers['Location']}/result", buffered=True)
    events = [json.loads(line)["event"] for line in lines.data.splitlines()]
    assert events[0] == "start"
    assert events[-1] == "end"
    assert events.count("result") == 3


def test_a_waiting_job_is_cancelled_at_once(client, monkeypatch):
    monkeypatch.setattr(JobRunner, "wake", lambda self: None)
    reply = submitted(client)
    assert reply.json["state"] == "waiting"
    assert client.get(f"{reply.headers['Location']}/result", buffered=True).status_code == 409
    assert client.delete(reply.headers["Location"]).json["state"] == "cancelled"
    assert client.get(f"{reply.headers['Location']}/result", buffered=True).status_code == 404


def test_a_job_cut_off_goes_on_in_the_next_process(tmp_path, monkeypatch, ended):
    settings = {"JOBS_FOLDER": str(tmp_path)}
    with monkeypatch.context() as asleep:
        asleep.setattr(JobRunner, "wake", lambda self: None)
        reply = submitted(api.create_app(settings).test_client())
        # As a process leaves it that is killed in the middle: running, and held by nobody.
        JobFolder(tmp_path, 1).job(reply.json["id"]).change(state="running", attempts=1)
    assert ended(api.create_app(settings).test_client(), reply)["state"] == "done"


def test_a_job_that_ends_the_service_again_and_again_is_given_up(tmp_path, monkeypatch, ended):
    monkeypatch.setattr(JobRunner, "wake", lambda self: None)
    app = api.create_app({"JOBS_FOLDER": str(tmp_path)})
    client = app.test_client()
    reply = submitted(client)
    job = JobFolder(tmp_path, 1).job(reply.json["id"])
    job.change(state="running", attempts=job_folder.MOST_ATTEMPTS)
    monkeypatch.undo()
    app.extensions["jobs"].wake()
    assert ended(client, reply)["state"] == "failed"
    assert client.get(f"{reply.headers['Location']}/result", buffered=True).status_code == 500


def test_a_job_whose_parts_find_no_room_says_so_and_the_next_job_runs(client, monkeypatch, ended):
    def full(path, text):
        if path.name.startswith("part-"):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        partitions_replace(path, text)

    partitions_replace = partitions.replace_file
    with monkeypatch.context() as patched:
        patched.setattr(partitions, "replace_file", full)
        reply = submitted(client)
        assert ended(client, reply)["state"] == "failed"
    told = client.get(f"{reply.headers['Location']}/result", buffered=True)
    assert (told.status_code, told.json["type"]) == (507, "/v1/problems/no-room")
    again = client.post(f"{reply.headers['Location']}/what-if", json={"units": "ip"})
    assert (again.status_code, "/result says why" in again.text) == (404, True)
    assert ended(client, submitted(client))["state"] == "done"


def test_a_disk_too_full_for_a_jobs_state_stops_no_later_job(tmp_path, monkeypatch, ended):
    client, tried = api.create_app({"JOBS_FOLDER": str(tmp_path)}).test_client(), threading.Event()

    def full(self, **_):
        tried.set()
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patched:
        patched.setattr(job_folder.KeptJob, "change", full)
        reply = submitted(client)
        assert tried.wait(60)
        assert client.get(reply.headers["Location"]).json["state"] == "waiting"
    assert ended(client, reply)["state"] == "done"


def test_too_many_jobs_are_told_to_come_again(tmp_path, monkeypatch):
    monkeypatch.setattr(JobRunner, "wake", lambda self: None)
    monkeypatch.setattr(job_folder, "MOST_WAITING", 2)
    client = api.create_app({"JOBS_FOLDER": str(tmp_path)}).test_client()
    told = []
    for address in ("192.0.2.1", "192.0.2.1", "192.0.2.2", "192.0.2.3"):
        client.environ_base["REMOTE_ADDR"] = address
        told.append(submitted(client))
    assert [answer.status_code for answer in told] == [202, 429, 202, 503]
    assert all("Retry-After" in answer.headers for answer in told)


def test_a_job_that_has_ended_is_removed_with_what_it_was_sent(tmp_path, monkeypatch):
    monkeypatch.setattr(JobRunner, "wake", lambda self: None)
    client = api.create_app({"JOBS_FOLDER": str(tmp_path)}).test_client()
    where = submitted(client).headers["Location"]
    assert client.delete(where).json["state"] == "cancelled"
    assert (tmp_path / where.rsplit("/", 1)[1] / "body").is_file()
    assert client.get(where).json["kept_until"]
    removed = client.delete(where).json
    assert (removed["state"], removed["ready"], removed["kept_until"]) == ("cancelled", False, None)
    assert not list(tmp_path.iterdir())
    assert client.get(where).status_code == 404


def test_a_job_that_another_process_removes_meanwhile_is_not_found(client, ended, monkeypatch):
    """An answer that is being read is read to its end; no later call fails, no later job waits."""
    reply = submitted(client)
    where = ended(client, reply) and reply.headers["Location"]
    runner = client.application.extensions["jobs"]
    job = runner.folder.job(where.rsplit("/", 1)[1])
    with client.get(f"{where}/result") as read:
        size = read.content_length
        job.remove()
        assert len(read.data) == size
    monkeypatch.setattr(JobFolder, "job", lambda *_: job)  # found a moment ago
    for method, rest in (("GET", ""), ("GET", "/result"), ("GET", "/table"), ("DELETE", "")):
        assert client.open(where + rest, method=method).status_code == 404
    monkeypatch.undo()
    assert job.folder.name not in {state.id for _, state in runner.folder.jobs()}
    assert ended(client, submitted(client))["state"] == "done"


def test_jobs_that_have_ended_are_removed_after_their_time(tmp_path):
    folder = JobFolder(tmp_path, keep_h=0.0)
    with (tmp_path / "x").open("wb+") as body:
        job = folder.submit(body, "/v1/portfolios", "", "application/json", "*/*")
    folder.tidy()
    assert job.folder.exists()
    job.end("done")
    folder.tidy()
    assert not job.folder.exists()


def test_more_is_asked_of_the_table_that_was_sent(client, planned):
    _, state, _ = planned
    case = client.get(f"/v1/jobs/{state['id']}/table?show=case&building=2&units=ip")
    assert case.json["name"] == "young"
    named = {"X-Request-ID": "night-7"}
    asked = client.get(f"/v1/jobs/{state['id']}/table?units=ip", headers=named)
    check = asked.json
    assert asked.headers["X-Request-ID"] == "night-7"
    assert (check["rows"], check["good"]) == (3, 3)
    refused = client.get(f"/v1/jobs/{state['id']}/table?show=results")
    assert refused.status_code == 422


@pytest.mark.parametrize("name", ["nothing", "..", "a" * 22, "%2e%2e%2fetc"])
def test_an_unknown_job_is_not_found(client, name):
    assert client.get(f"/v1/jobs/{name}").status_code == 404
    assert client.delete(f"/v1/jobs/{name}").status_code in (404, 405)


def test_what_a_job_cannot_do_is_said_at_once(client, ended, planned):
    _, state, _ = planned
    other = client.get(state["result"], headers={"Accept": "text/csv"})
    assert (other.status_code, "application/json" in other.text) == (406, True)
    paper = {"Accept": "application/pdf"}
    for address in ("comparisons", "portfolios", f"jobs/{state['id']}/what-if"):
        told = client.post(f"/v1/{address}", json=ROOFS, headers=ASYNC | paper)
        assert (told.status_code, "send that in Accept" in told.text) == (406, True)
    for query in ("budget=many", "rank_by=colour"):
        assert submitted(client, f"/v1/portfolios?{query}").status_code == 422
    unplanned = submitted(client)
    early = client.post(f"{unplanned.headers['Location']}/what-if", json={"units": "ip"})
    assert early.status_code in (200, 409)  # where it has ended already
    no_plan = what_if(client, ended(client, unplanned), budget_by_year="1000;2000")
    assert "send the portfolio again with budget_by_year" in no_plan.text
    job = KeptJob(Path(client.application.config["JOBS_FOLDER"]) / state["id"])
    job.change(state="waiting")
    waiting = what_if(client, state)
    job.change(state="done")
    assert (waiting.status_code, waiting.headers["Retry-After"]) == (409, "2")
    document = client.get("/v1/openapi.json").json
    assert "409" in document["paths"]["/v1/jobs/{name}/what-if"]["post"]["responses"]


def test_a_job_gives_way_to_comparisons_for_a_bounded_time():
    calculations = limits.Calculations(30.0, 1.0)
    begun, may_end = threading.Event(), threading.Event()
    asked = {"lane": "comparisons", "client": "x"}
    one = threading.Thread(
        target=lambda: calculations.run(lambda: begun.set() or may_end.wait(10), **asked)
    )
    one.start()
    begun.wait(10)
    start = time.monotonic()
    calculations.give_way("comparisons", 0.1)
    assert time.monotonic() - start >= 0.1
    may_end.set()
    one.join()
    start = time.monotonic()
    calculations.give_way("comparisons", 10.0)
    assert time.monotonic() - start < 5.0
