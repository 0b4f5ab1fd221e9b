"""Places for portfolios: slow senders and clients that leave hold none, checks have their own."""

import io
import json
import threading
import time

import pytest

from api import create_app
from api.portfolio import background, portfolio_routes
from api.portfolio import job as jobs
from api.portfolio.background import patiently

HEADER = "name,climate,roof_area_ft2,roof_type,covering,age"
ROWS = [f"Roof {i},tulsa-ok,20000,steel-deck-perlite,epdm-black,{i}" for i in range(3)]
TABLE = "\n".join([HEADER, *ROWS]).encode()
ADDRESS = "/v1/portfolios"
NDJSON = {"Accept": portfolio_routes.NDJSON, "Content-Type": "text/csv"}


@pytest.fixture
def app():
    return create_app({"PORTFOLIO_STREAMS": 1})


def post(app, query="", headers=NDJSON):
    return app.test_client().post(ADDRESS + query, data=TABLE, headers=headers)


@pytest.fixture
def endless(monkeypatch):
    """A search for the plan that goes on until the test is over."""
    over = threading.Event()
    plan = jobs.planned

    def searching(*arguments, **more):
        over.wait(30)
        return plan(*arguments, **more)

    monkeypatch.setattr(jobs, "planned", searching)
    monkeypatch.setattr(background.patiently, "__defaults__", (0.05,))
    yield over
    over.set()


def until_planning(response, times):
    """Read a stream until it has so many events of the plan; return its events."""
    events = []
    stream = response.response
    for line in stream:
        events.append(json.loads(line))
        if sum(event["event"] == "planning" for event in events) >= times:
            break
    return events


def test_a_stream_goes_on_telling_while_the_plan_is_searched_for(app, endless):
    response = post(app, "?budget_by_year=300000;300000")
    events = until_planning(response, 8)
    told = [event for event in events if event["event"] == "planning"]
    done = [event["done"] for event in told]
    assert done == sorted(done)
    assert done[-5:] == [3] * 5
    assert {event["of"] for event in told} == {3}
    endless.set()
    *_, end = (json.loads(line) for line in response.response)
    assert end["event"] == "end"
    assert len(end["plan"]["years"]) == 2


def test_a_client_that_leaves_during_the_plan_gives_its_place_back(app, endless):
    response = post(app, "?budget_by_year=300000;300000")
    until_planning(response, 5)
    assert post(app).status_code == 503
    response.close()
    with post(app) as after:
        assert after.status_code == 200
        assert after.data.splitlines()[-1].startswith(b'{"event":"end"')


def test_a_plan_answered_as_a_document_or_a_stream_is_one(app):
    query = "?budget=400000&budget_by_year=300000;300000"
    document = post(app, query, {**NDJSON, "Accept": "application/json"}).get_json()
    *_, end = (json.loads(line) for line in post(app, query).data.splitlines())
    assert end["programme"] == document["programme"]


def test_a_search_that_finds_nothing_in_its_time_is_told_in_words(app, monkeypatch):
    def nothing(*_, **__):
        raise TimeoutError

    monkeypatch.setattr(jobs, "planned", nothing)
    *_, last = (json.loads(line) for line in post(app, "?budget_by_year=1").data.splitlines())
    assert (last["event"], last["status"]) == ("problem", 503)
    assert "give another budget, or none" in last["detail"]


def test_checks_need_no_place_of_those_that_compute(app):
    with post(app) as held:  # not read: it keeps its place
        assert held.status_code == 200
        assert post(app).status_code == 503
        for query in ("?show=check", "?show=bad-rows", "?show=case&building=1"):
            assert post(app, query).status_code == 200


@pytest.mark.parametrize("media_type", ["text/csv", "application/json", "multipart/form-data"])
def test_a_body_that_comes_slowly_holds_no_place(app, media_type):
    row = dict(zip(HEADER.replace("_ft2", "").split(","), ROWS[0].split(","), strict=True))
    row |= {"roof_area": 20000, "age": 3}
    bodies = {
        "text/csv": TABLE,
        "application/json": json.dumps({"rows": [row]}).encode(),
        "multipart/form-data": b'--b\r\nContent-Disposition: form-data; name="file"; '
        b'filename="a.csv"\r\n\r\n' + TABLE + b"\r\n--b--\r\n",
    }
    meanwhile = []

    class Slow(io.BytesIO):
        """A body during which somebody else asks."""

        def read(self, size=-1):
            if not meanwhile:
                meanwhile.append(None)
                asked = threading.Thread(target=lambda: meanwhile.append(post(app).status_code))
                asked.start()
                asked.join()
            return super().read(size)

        def readinto(self, buffer):
            data = self.read(len(buffer))
            buffer[: len(data)] = data
            return len(data)

    body = bodies[media_type]
    response = app.test_client().post(
        ADDRESS, input_stream=Slow(body), content_type=f"{media_type}; boundary=b",
        headers={"Content-Length": str(len(body))},
    )  # fmt: skip
    assert response.status_code in (200, 503)
    assert meanwhile == [None, 200]


def test_work_that_nobody_waits_for_is_never_more_than_two_at_once(monkeypatch):
    monkeypatch.setattr(background, "EVERY_S", 0.05)
    over, running, most = threading.Event(), [], []

    def work():
        running.append(1)
        most.append(len(running))
        over.wait(10)
        running.pop()

    for _ in range(5):
        left = patiently(work, 0.01)
        next(left)
        left.close()
    time.sleep(0.3)
    over.set()
    assert max(most) <= 2
    time.sleep(0.3)
    assert len(most) <= 2  # the others gave up their turn
