"""What surrounds every answer: problems, headers, limits, compression, log lines."""

import gzip
import hashlib
import json
import logging
import re
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

import flask
import pytest

import api
from api import create_app, limits, openapi, service
from api.deprecation import DEPRECATED, Deprecated
from api.logs import Lines
from api.problems import MEDIA_TYPE, MOST_LISTED, TYPES
from lcc import tables

ASSEMBLY = {"layers": [{"resistance": 2.0}]}
GOOD = {"units": "si", "assemblies": [ASSEMBLY]}


@pytest.fixture(scope="module")
def app():
    return create_app()


@pytest.fixture
def client(app):
    return app.test_client()


def problem(answer, name):
    """Check that an answer is the problem of this name, and return its document."""
    document = json.loads(answer.data)
    assert answer.content_type == MEDIA_TYPE
    assert document["type"] == f"/v1/problems/{name}"
    assert document["status"] == answer.status_code == TYPES[name][0]
    return document


def test_health_names_the_versions(client):
    """The service says that it is ready and which model and tables it would use."""
    assert client.get("/v1/health").json == {"status": "ok", "ready": True, **service.versions()}


@pytest.mark.parametrize("path", ["/", "/v1", "/v1/", "/v1/health/", "/v1/cases", "/../etc/passwd"])
def test_nothing_else_is_served(client, path):
    """Any other address is a 404 problem in our own words."""
    document = problem(client.get(path), "not-found")
    assert "openapi.json" in document["detail"]


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("GET", "/v1/comparisons", "OPTIONS, POST"),
        ("DELETE", "/v1/assemblies", "OPTIONS, POST"),
        ("POST", "/v1/health", "GET, HEAD, OPTIONS"),
        ("PATCH", "/v1/openapi.json", "GET, HEAD, OPTIONS"),
        ("BREW", "/v1/climates", "GET, HEAD, OPTIONS"),
    ],
)
def test_a_wrong_method_names_the_right_ones(client, method, path, allowed):
    """RFC 9110: a 405 carries Allow."""
    answer = client.open(path, method=method)
    problem(answer, "method-not-allowed")
    assert answer.headers["Allow"] == allowed


@pytest.mark.parametrize("name", TYPES)
def test_every_problem_type_can_be_looked_up(client, name):
    """The type of a problem is an address that tells what it means."""
    found = client.get(f"/v1/problems/{name}").json
    listed = client.get("/v1/problems").json["problems"]
    assert found in listed
    assert (found["status"], found["title"]) == TYPES[name]


def test_an_unknown_problem_type_is_not_found(client):
    """There is no page for a type that no answer names."""
    problem(client.get("/v1/problems/teapot"), "not-found")


@pytest.mark.parametrize(
    ("path", "method"),
    [("/v1/health", "GET"), ("/v1/materials", "GET"), ("/nothing", "GET"), ("/v1/health", "POST"),
     ("/docs", "GET"), ("/docs/static/docs.js", "GET"), ("/v1/assemblies", "OPTIONS")],
)  # fmt: skip
def test_security_headers_are_on_every_answer(client, path, method):
    """Nothing may be loaded, framed, sniffed or referred from an answer."""
    answer = client.open(path, method=method)
    answer.close()
    headers = answer.headers
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert headers["Cache-Control"] in ("no-cache", "no-store")


def test_other_origins_may_not_read_answers_by_default(client):
    """Without a setting no CORS header is sent, whatever the origin says."""
    headers = client.get("/v1/health", headers={"Origin": "https://a.example"}).headers
    assert not [name for name in headers.keys() if name.startswith("Access-Control")]  # noqa: SIM118


def test_configured_origins_may_read_answers():
    """Only the origins of the setting may, and a preflight tells them how."""
    client = create_app({"CORS_ORIGINS": ("https://a.example",)}).test_client()
    ours, other = (
        client.options("/v1/assemblies", headers={"Origin": origin}).headers
        for origin in ("https://a.example", "https://b.example")
    )
    assert ours["Access-Control-Allow-Origin"] == "https://a.example"
    assert "POST" in ours["Access-Control-Allow-Methods"]
    assert "Content-Encoding, Prefer, X-Request-ID" in ours["Access-Control-Allow-Headers"]
    assert "Location, Retry-After" in ours["Access-Control-Expose-Headers"]
    assert "Access-Control-Allow-Origin" not in other
    assert "Origin" in ours.get_all("Vary")
    assert "Origin" in other.get_all("Vary")


def test_settings_may_come_from_the_environment(monkeypatch):
    """A deployment sets limits without code."""
    monkeypatch.setenv("ROOF_LCC_MAX_CONTENT_LENGTH", "100")
    answer = create_app().test_client().post("/v1/assemblies", json={"a": "x" * 100})
    problem(answer, "body-too-large")


@pytest.mark.parametrize("path", ["/v1/climates", "/v1/openapi.json", "/docs/static/docs.js"])
@pytest.mark.parametrize("encoding", ["gzip", "identity", "gzip;q=0, identity"])
def test_what_is_read_has_an_entity_tag(client, path, encoding):
    """A second read with the tag of the first is answered by 304 and no body."""
    headers = {"Accept-Encoding": encoding}
    first = client.get(path, headers=headers)
    second = client.get(path, headers={**headers, "If-None-Match": first.headers["ETag"]})
    changed = client.get(path, headers={**headers, "If-None-Match": '"other"'})
    assert (first.status_code, second.status_code, changed.status_code) == (200, 304, 200)
    assert second.data == b""
    assert changed.data == first.data
    for answer in (first, second, changed):
        answer.close()


def test_answers_are_compressed_where_asked(client):
    """With gzip accepted a long answer is compressed, to the same bytes each time."""
    plain = client.get("/v1/climates", headers={"Accept-Encoding": "identity"})
    packed = [client.get("/v1/climates", headers={"Accept-Encoding": "gzip"}) for _ in range(2)]
    assert gzip.decompress(packed[0].data) == plain.data
    assert packed[0].data == packed[1].data
    assert packed[0].headers["ETag"] != plain.headers["ETag"]
    assert len(packed[0].data) < len(plain.data) / 4
    for answer in (plain, *packed):
        assert "Accept-Encoding" in answer.headers["Vary"]
    short = client.get("/v1/health", headers={"Accept-Encoding": "gzip"})
    assert "Content-Encoding" not in short.headers


def test_the_same_request_is_answered_by_the_same_bytes(client):
    """Equal requests, equal bytes, also compressed and also as a problem."""
    for body in (GOOD, {"units": "si", "b": 1, "a": 2}):
        for encoding in ("identity", "gzip"):
            answers = {
                client.post("/v1/assemblies", json=body, headers={"Accept-Encoding": encoding}).data
                for _ in range(3)
            }
            assert len(answers) == 1


def test_body_size_is_limited(client):
    """A body beyond the limit is a 413 before anything of it is parsed."""
    body = b" " * (limits.MOST_BODY_BYTES + 1)
    answer = client.post("/v1/assemblies", data=body, content_type="application/json")
    assert str(limits.MOST_BODY_BYTES) in problem(answer, "body-too-large")["detail"]


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("too-many-assemblies", {**GOOD, "assemblies": [ASSEMBLY] * (limits.MOST_ASSEMBLIES + 1)}),
        ("too-many-layers", {**GOOD, "assemblies": [{"layers": [{"resistance": 1}] * 51}]}),
    ],
)
def test_counts_of_an_assemblies_request_are_limited(client, name, body):
    """Each limit has its own problem type, also where other values are wrong too."""
    document = problem(client.post("/v1/assemblies", json={**body, "b": 1}), name)
    assert {error["rule"] for error in document["errors"]} == {"limit", "unknown-name"}


@pytest.mark.parametrize(
    ("name", "place", "value"),
    [
        ("study-period-too-long", "economics", {"study_period": 101}),
        ("too-many-alternatives", "alternatives", [{"kind": "coating"}] * 21),
        ("too-many-layers", "roof", {"area": 2000, "layers": [{"resistance": 1}] * 51}),
    ],
)
def test_counts_of_a_case_are_limited(client, name, place, value):
    """Each limit of a case has its own problem type."""
    roof = {"area": 2000, "layers": [{"resistance": 1}]}
    case = {"units": "si", "site": {"climate": "tulsa-ok"}, "roof": roof, place: value}
    document = problem(client.post("/v1/comparisons", json=case), name)
    assert document["errors"][0]["pointer"].startswith(f"#/{place}")


def test_assemblies_with_a_climate_are_fewer(client):
    """The annual figures cost a hundred times the others, so fewer come in one request."""
    body = {**GOOD, "climate": "tulsa-ok"} | {
        "assemblies": [ASSEMBLY] * (limits.MOST_WITH_CLIMATE + 1)
    }
    document = problem(client.post("/v1/assemblies", json=body), "inconsistent-case")
    assert str(limits.MOST_WITH_CLIMATE) in document["errors"][0]["detail"]


def test_a_very_faulty_request_has_a_bounded_answer(client):
    """Reading stops at the first faults, and the detail says so."""
    body = {"units": "si", "assemblies": [{"layers": [{"resistance": -1}]}] * 1000}
    document = problem(client.post("/v1/assemblies", json=body), "invalid-input")
    assert len(document["errors"]) == MOST_LISTED
    assert "More than 100 values" in document["detail"]


def test_time_is_limited(monkeypatch):
    """A calculation beyond the limit is a 503, and leftovers in every thread make it busy."""
    app = create_app({"TIME_LIMIT_S": 0.05})
    release = threading.Event()
    monkeypatch.setattr(api.assemblies, "reply", lambda *_: release.wait(10))
    client = app.test_client()
    for _ in range(limits.LANES["quick"][0]):
        answer = client.post("/v1/assemblies", json=GOOD)
        problem(answer, "time-limit")
        assert answer.headers["Retry-After"] == str(limits.RETRY_AFTER_S)
    problem(client.post("/v1/assemblies", json=GOOD), "busy")
    assert client.get("/v1/health").status_code == 200
    release.set()
    monkeypatch.undo()
    until = time.monotonic() + 5
    while (answer := client.post("/v1/assemblies", json=GOOD)).status_code == 503:
        assert time.monotonic() < until
    assert answer.status_code in (200, 503)


def held(app, count, address, **headers):
    """Ask from an address so often at once, and return the status of all that were answered."""
    found = []

    def ask():
        at = {"REMOTE_ADDR": address}
        answer = app.test_client().post(
            "/v1/assemblies", json=GOOD, environ_base=at, headers=headers
        )
        found.append((answer.status_code, answer.headers.get("Retry-After")))

    threads = [threading.Thread(target=ask) for _ in range(count)]
    for thread in threads:
        thread.start()
    return threads, found


def test_a_client_past_its_share_is_told_so_and_others_go_on(monkeypatch):
    """Of six places one address holds three; a forwarded address counts if proxies are trusted."""
    monkeypatch.setitem(limits.LANES, "quick", (6, 0))
    own = api.assemblies.reply
    first, second = {"X-Forwarded-For": "192.0.2.7"}, {"X-Forwarded-For": "192.0.2.8"}
    for proxies, share, same, other in (
        (0, 0.5, ("192.0.2.7", {}), ("192.0.2.8", {})),
        (0, 0.5, ("2001:db8::1", {}), ("2001:db8:0:1::1", {})),
        (0, 0.5, ("127.0.0.1", first), ("127.0.0.2", first)),  # forwarded by nobody we trust
        (1, 0.5, ("127.0.0.1", first), ("127.0.0.1", second)),
        (0, 1, ("192.0.2.7", {}), ("192.0.2.7", {})),
    ):
        app = create_app({"TRUSTED_PROXIES": proxies, "CLIENT_SHARE": share})
        release, begun = threading.Event(), threading.Semaphore(0)

        def waiting(*arguments, release=release, begun=begun):
            begun.release()
            return release.wait(10) and own(*arguments)

        monkeypatch.setattr(api.assemblies, "reply", waiting)
        hers, told = held(app, 3, same[0], **same[1])
        assert all(begun.acquire(timeout=10) for _ in hers)
        if share < 1:
            answer = app.test_client().post(
                "/v1/assemblies", json=GOOD, environ_base={"REMOTE_ADDR": same[0]}, headers=same[1]
            )
            assert int(answer.headers["Retry-After"]) > 0
            problem(answer, "past-share")
        his, also = held(app, 1, other[0], **other[1])
        assert begun.acquire(timeout=10)
        release.set()
        for thread in (*hers, *his):
            thread.join(10)
        assert told + also == [(200, None)] * 4


def test_a_defect_tells_nothing_of_itself(client, monkeypatch, caplog):
    """A failure is a 500 problem without insides; the log has the place, not the values."""

    def fail(*_):
        raise RuntimeError("secret of the request")

    monkeypatch.setattr(api.assemblies, "reply", fail)
    with caplog.at_level(logging.INFO, "roof_lcc"):
        answer = client.post("/v1/assemblies", json=GOOD)
    problem(answer, "internal-error")
    assert b"secret" not in answer.data
    assert b"Traceback" not in answer.data
    failure = next(r.msg for r in caplog.records if r.name == "roof_lcc.failures")
    assert failure["failure"] == "RuntimeError"
    assert any("test_api_http.py" in frame for frame in failure["where"])
    assert "secret" not in str([record.msg for record in caplog.records])


def test_log_lines_are_json_without_payload(client, caplog):
    """One JSON object a request: method, route, status and time; nothing that a client sent."""
    with caplog.at_level(logging.INFO, "roof_lcc.requests"):
        client.post("/v1/assemblies?q=hidden", json={"hidden": "hidden"})
        client.get("/v1/hidden")
        client.get("/v1/problems/hidden")
        client.open("/v1/health", method="HIDDEN" * 100)
    lines = [json.loads(Lines().format(record)) for record in caplog.records]
    assert [line["route"] for line in lines[:3]] == ["/v1/assemblies", None, "/v1/problems/<name>"]
    assert [line["status"] for line in lines[:3]] == [422, 404, 404]
    assert all({"time", "level", "method", "milliseconds"} <= set(line) for line in lines)
    assert lines[3]["method"] == "other"
    assert "hidden" not in json.dumps(lines).lower()


def test_a_message_of_the_server_is_a_line_of_json_too():
    """Notices of gunicorn take the same form, whatever signs they hold."""
    record = logging.LogRecord("gunicorn", logging.INFO, "", 0, 'said "%s"\n', ("x",), None)
    assert json.loads(Lines().format(record))["message"] == 'said "x"\n'


def test_the_page_of_the_document_asks_no_other_host(client):
    """The page and what it loads are served here, and its policy allows nothing else."""
    page = client.get("/docs")
    text = page.data.decode()
    assert "//" not in text.replace("<!doctype html>", "")
    for part in ("swagger-ui.css", "swagger-ui-bundle.js", "docs.js"):
        assert f"docs/static/{part}" in text
        answer = client.get(f"/docs/static/{part}")
        assert answer.status_code == 200
        answer.close()
    assert "style=" not in text
    assert "<script>" not in text
    page.close()


# Of the file of the npm package swagger-ui-dist 5.35.0 (Apache-2.0), taken in whole.
VENDORED = {
    "swagger-ui-bundle.js": "e6a898692f2d768e807c3ba4626068a69a2c5dd960dd6c76f3e4d3a3de180af2",
    "swagger-ui.css": "5ed08757e53da3e026d6cbecc61fe5d43585c9560b302d534ad56692519a273d",
    "swagger-ui-bundle.js.LICENSE.txt": (
        "37eb6e7e59aed57b2c1acf076574b818ea07b74265717e0bd67b59e0baf9abbb"
    ),
    "swagger-ui.LICENSE.txt": "cfc7749b96f63bd31c3c42b5c471bf756814053e847c10f3eb003417bc523d30",
    "swagger-ui.NOTICE.txt": "0d20d1adef18aee3f40dd258172155521ce702ac445cb5f7b7d60ed32dad2fb2",
}


@pytest.mark.parametrize("name", VENDORED)
def test_vendored_files_are_the_published_ones(name):
    """Each file of another's is byte by byte the one whose hash is recorded here."""
    path = Path(api.__file__).parent / "static" / "docs" / name
    assert hashlib.sha256(path.read_bytes()).hexdigest() == VENDORED[name]


def test_a_query_where_none_is_taken_is_told(client):
    """The parameter is named, and that there is none to put in its place."""
    (error,) = problem(client.get("/v1/health?unit=ip"), "invalid-input")["errors"]
    assert error["parameter"] == "unit"
    assert error["allowed"] == "no names at all"


def test_a_body_may_come_as_gzip_and_is_bounded_when_plain(client):
    """The same bytes as of the plain body; a small bomb is refused like a large body."""
    headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
    plain = json.dumps(GOOD).encode()
    answer = client.post("/v1/assemblies", data=gzip.compress(plain), headers=headers)
    assert answer.status_code == 200
    same = client.post("/v1/assemblies", data=plain, content_type="application/json")
    assert answer.data == same.data
    bomb = gzip.compress(b" " * (limits.MOST_BODY_BYTES + 1))
    problem(client.post("/v1/assemblies", data=bomb, headers=headers), "body-too-large")
    cut = gzip.compress(plain)[:-4]
    problem(client.post("/v1/assemblies", data=cut, headers=headers), "bad-request")
    for kind, address in (("application/json", "assemblies"), ("text/csv", "portfolios")):
        told = client.post(f"/v1/{address}", data=plain, headers=headers | {"Content-Type": kind})
        assert "without Content-Encoding" in problem(told, "bad-request")["detail"]
    problem(client.post("/v1/assemblies", data=bomb[:-4], headers=headers), "body-too-large")
    table_cut = headers | {"Content-Type": "text/csv", "Prefer": "respond-async"}
    problem(client.post("/v1/portfolios", data=cut, headers=table_cut), "bad-request")
    table = tables.read_text("demo/portfolio.csv").encode()
    form = b'--b\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\n'
    rows = b'{"units": "ip", "rows": [{"name": "A"}]}'
    for kind, body in (
        ("text/csv", table),
        ("multipart/form-data; boundary=b", form + table + b"\r\n--b--\r\n"),
        ("application/json", rows),
    ):
        address, packed = "/v1/portfolios?show=check", gzip.compress(body)
        same = client.post(address, data=body, content_type=kind)
        headers["Content-Type"] = kind
        assert client.post(address, data=packed, headers=headers).data == same.data
        assert same.status_code == 200
        cut = client.post(address, data=packed[:-9], headers=headers)
        problem(cut, "bad-request")


def test_a_request_has_an_id_in_answer_and_log(client, caplog):
    """The client's own where it is plain, else one of ours."""
    with caplog.at_level("INFO", "roof_lcc.requests"):
        given = client.get("/v1/health", headers={"X-Request-ID": "night-job.7"})
        made = client.get("/v1/health", headers={"X-Request-ID": "a b\t"})
    assert given.headers["X-Request-ID"] == "night-job.7"
    assert re.fullmatch("[0-9a-f]{16}", made.headers["X-Request-ID"])
    logged = [record.msg["request_id"] for record in caplog.records]
    assert logged == ["night-job.7", made.headers["X-Request-ID"]]


@pytest.mark.parametrize(("proxies", "scheme"), [(0, "http"), (1, "https")])
def test_proxy_headers_are_believed_only_when_told(proxies, scheme):
    """A prefix and a scheme of the proxy reach the addresses that the application makes."""
    app = create_app({"TRUSTED_PROXIES": proxies})
    app.add_url_rule("/seen", "seen", lambda: flask.url_for("seen", _external=True))
    headers = {"X-Forwarded-Proto": "https", "X-Forwarded-Prefix": "/roofs"}
    seen = app.test_client().get("/seen", headers=headers).text
    prefix = "/roofs" if proxies else ""
    assert seen == f"{scheme}://localhost{prefix}/seen"
    document = app.test_client().get("/v1/openapi.json", headers=headers).json
    assert document["servers"] == [{"url": prefix or "/"}]


def test_a_call_that_goes_says_so(monkeypatch):
    """RFC 9745 and RFC 8594: since when it is known, until when it answers, what to use."""
    old = Deprecated(
        datetime(2027, 1, 1, tzinfo=UTC), datetime(2028, 1, 1, tzinfo=UTC), "/v2/problems/{name}"
    )
    monkeypatch.setitem(DEPRECATED, ("GET", "/v1/problems/{name}"), old)
    openapi.document.cache_clear()
    client = create_app().test_client()
    headers = client.get("/v1/problems/busy").headers
    marked = [path for path, calls in openapi.document()["paths"].items()
              if any(call.get("deprecated") for call in calls.values())]  # fmt: skip
    openapi.document.cache_clear()
    assert headers["Deprecation"] == "@1798761600"
    assert headers["Sunset"] == "Sat, 01 Jan 2028 00:00:00 GMT"
    assert headers["Link"] == '</v2/problems/{name}>; rel="successor-version"'
    assert marked == ["/v1/problems/{name}"]
    assert "Deprecation" not in client.get("/v1/health").headers
    assert headers["X-Model-Version"] == service.versions()["model_version"]
    assert headers["X-Data-Version"] == service.versions()["data_version"]


def test_requests_are_counted_only_where_asked():
    """Count and time requests by method, route and status; off by default, no content kept."""
    counted, plain = create_app({"METRICS": True}).test_client(), create_app().test_client()
    assert plain.get("/metrics").status_code == 404
    for _ in range(3):
        counted.post("/v1/assemblies", json=GOOD).close()
    counted.get("/secret?q=secret").close()
    counted.open("/v1/health", method="SECRET").close()
    text = counted.get("/metrics").text
    route = 'method="POST",route="/v1/assemblies"'
    assert f'roof_lcc_requests_total{{{route},status="200"}} 3.0' in text
    assert f'roof_lcc_request_seconds_bucket{{le="+Inf",{route}}} 3.0' in text
    assert 'roof_lcc_requests_total{method="GET",route="",status="404"} 1.0' in text
    assert 'method="other"' in text
    assert "secret" not in text.lower()
    open_format = {"Accept": "application/openmetrics-text; version=1.0.0"}
    answer = counted.get("/metrics", headers=open_format)
    assert answer.mimetype == "application/openmetrics-text"
    assert answer.text.endswith("# EOF\n")


def test_behind_a_prefix_problem_types_have_it(client):
    answer = client.get("/v1/nothing", environ_overrides={"SCRIPT_NAME": "/roofs"})
    assert answer.json["type"] == "/roofs/v1/problems/not-found"
    assert client.get("/health").json == client.get("/v1/health").json


def test_what_is_sent_as_a_workbook_and_is_none_is_called_damaged(client):
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    for body in (b"hello", b"PK\x05\x06 and more"):
        answer = client.post("/v1/portfolios", data=body, content_type=kind)
        assert (answer.status_code, "damaged" in answer.text) == (422, True)
