"""The service as it runs: gunicorn in processes of its own, over real sockets."""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import ExitStack, closing, suppress

import pytest

from api import limits, metrics
from api.problems import MEDIA_TYPE, TYPES
from lcc import tables

BODY = json.dumps({"units": "si", "assemblies": [{"layers": [{"resistance": 2.0}]}]}).encode()
# The machine may be shared: how long to wait before something counts as hung.
PATIENCE_S = 60
START = """
import sys, time
import api, api.assemblies, api.slow_clients
from api import create_app, server
from api.server import run

api.slow_clients.STALL_S = api.slow_clients.ARRIVAL_S = 1

def slow_app():
    app = create_app({"METRICS": True})
    reply = api.assemblies.reply
    def slowly(request, *rest):
        time.sleep(0.6 if request.assemblies[0].name == "slow" else 0)
        return reply(request, *rest)
    api.assemblies.reply = slowly
    return app

run(slow_app, port=int(sys.argv[1]), workers=2)
"""


def heard(sender, word):
    """Whether a word arrives, in however many pieces, before the other side stops."""
    got = b""
    while word not in got:
        piece = sender.recv(65536)
        if not piece:
            return False
        got += piece
    return True


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def started(counts=None, jobs=None):
    """Start a service; return its process and port once it answers."""
    port = free_port()
    until = time.monotonic() + PATIENCE_S
    shared = {metrics.FOLDER: str(counts)} if counts else {}
    shared |= {"ROOF_LCC_JOBS_FOLDER": str(jobs)} if jobs else {}
    process = subprocess.Popen(
        [sys.executable, "-c", START, str(port)], stderr=subprocess.PIPE, text=True,
        env={**os.environ, **shared},
    )  # fmt: skip
    while time.monotonic() < until:
        try:
            if ask(port, "GET", "/v1/health")[0] == 200:
                return process, port
        except OSError:
            time.sleep(0.05)
    process.kill()
    raise TimeoutError(process.communicate()[1])


@pytest.fixture(scope="module")
def port(tmp_path_factory):
    process, port = started(tmp_path_factory.mktemp("counts"))
    yield port
    process.send_signal(signal.SIGTERM)
    process.communicate(timeout=PATIENCE_S)


def ask(port, method, path, body=None, headers=None, chunked=False):
    """Return status, media type and body of one call on a connection of its own."""
    headers = {"Content-Type": "application/json", **(headers or {})} if body else headers or {}
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)) as connection:
        connection.request(method, path, body, headers, encode_chunked=chunked)
        answer = connection.getresponse()
        return answer.status, answer.headers["Content-Type"], answer.read()


def raw(port, data):
    """Return what comes back for bytes that are sent as they are."""
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S) as sender:
        sender.sendall(data)
        received = b""
        while b"}" not in received and (part := sender.recv(65536)):
            received += part
    head, _, content = received.partition(b"\r\n\r\n")
    return int(head.split()[1]), head.decode().lower(), content


def chunks(size, count):
    """Yield a body in chunks, so that its length is not declared."""
    return (b" " * size for _ in range(count))


def test_a_call_is_answered(port):
    """The service works as started by `api.server.run`."""
    status, _, content = ask(port, "POST", "/v1/assemblies", BODY)
    assert status == 200
    assert json.loads(content)["assemblies"][0]["u_value"] > 0


@pytest.mark.parametrize("chunked", [False, True])
def test_a_body_beyond_the_limit_is_413(port, chunked):
    """With a declared length, and without one, the answer is the same problem."""
    size = limits.MOST_BODY_BYTES // 10 + 1
    body = chunks(size, 10) if chunked else b" " * (10 * size)
    headers = {"Transfer-Encoding": "chunked"} if chunked else {}
    status, media_type, content = ask(port, "POST", "/v1/assemblies", body, headers, chunked)
    assert (status, media_type) == (413, MEDIA_TYPE)
    assert json.loads(content)["type"].endswith("body-too-large")


def test_a_chunked_body_within_the_limit_is_read(port):
    """A body of undeclared length is as good as another."""
    body = iter([BODY[:20], BODY[20:]])
    headers = {"Transfer-Encoding": "chunked"}
    assert ask(port, "POST", "/v1/assemblies", body, headers, chunked=True)[0] == 200


@pytest.mark.parametrize(
    ("data", "name"),
    [
        (b"GARBAGE\r\n\r\n", "bad-request"),
        (b"GET /v1/health\r\n\r\n", "bad-request"),
        (b"GET /v1/health HTTP/1.1\r\nHost : a\r\n\r\n", "bad-request"),
        (b"GET /v1/health HTTP/1.1\r\nX: a\r\n b\r\n\r\n", "bad-request"),
        (b"GET /v1/" + b"a" * 5000 + b" HTTP/1.1\r\nHost: a\r\n\r\n", "address-too-long"),
        (b"GET /v1/health HTTP/1.1\r\nX: " + b"a" * 100_000 + b"\r\n\r\n", "headers-too-large"),
        (b"GET /v1/health HTTP/1.1\r\n" + b"X: a\r\n" * 60 + b"\r\n", "headers-too-large"),
        (
            b"POST /v1/assemblies HTTP/1.1\r\nHost: a\r\nContent-Length: 2\r\n"
            b"Content-Length: 3\r\n\r\n{}", "bad-request",
        ),
        (
            b"POST /v1/assemblies HTTP/1.1\r\nHost: a\r\nContent-Length: -1\r\n\r\n",
            "bad-request",
        ),
        (
            b"POST /v1/assemblies HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
            b"Transfer-Encoding: chunked\r\n\r\nzz\r\n{}\r\n0\r\n\r\n", "bad-request",
        ),
        (
            b"POST /v1/assemblies HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
            b"Transfer-Encoding: rot13\r\n\r\n{}", "transfer-coding",
        ),
    ],
)  # fmt: skip
def test_what_never_reaches_the_application_is_a_problem_too(port, data, name):
    """Unreadable requests get a problem document in our words, not the server's page."""
    status, head, content = raw(port, data)
    assert MEDIA_TYPE in head
    problem = json.loads(content)
    assert problem["type"].endswith(name)
    assert problem["status"] == status == TYPES[name][0]


def test_stalled_uploads_do_not_block_others(port):
    """Seven clients that send half a body leave the service answering; then they are let go."""
    head = b"POST /v1/assemblies HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
    with ExitStack() as stack:
        stalled = [
            stack.enter_context(socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S))
            for _ in range(7)
        ]
        for sender in stalled:
            sender.sendall(head + b"Content-Length: 1000\r\n\r\n{")
        begin = time.monotonic()
        assert ask(port, "POST", "/v1/assemblies", BODY)[0] == 200
        assert time.monotonic() - begin < 5
        for sender in stalled:
            assert heard(sender, b"too-slow")


@pytest.mark.thorough
def test_a_stop_finishes_the_answers_in_hand():
    """After SIGTERM in mid-answer every caller gets the whole answer; then the service ends."""
    process, port = started()
    slow = json.loads(BODY)
    slow["assemblies"][0]["name"] = "slow"
    answers = []
    callers = [
        threading.Thread(
            target=lambda: answers.append(ask(port, "POST", "/v1/assemblies", json.dumps(slow)))
        )
        for _ in range(6)
    ]
    for caller in callers:
        caller.start()
    time.sleep(0.3)
    process.send_signal(signal.SIGTERM)
    for caller in callers:
        caller.join(PATIENCE_S)
    _, log = process.communicate(timeout=PATIENCE_S)
    assert [status for status, _, _ in answers] == [200] * 6
    assert all(json.loads(content)["assemblies"] for _, _, content in answers)
    assert process.returncode == 0
    with pytest.raises(OSError, match="refused"):
        ask(port, "GET", "/v1/health")
    lines = [json.loads(line) for line in log.splitlines()]
    assert sum(line.get("route") == "/v1/assemblies" for line in lines) == 6


def test_any_process_tells_the_counts_of_all(port):
    """Whichever process is asked, no request that another answered is missing."""
    line = 'roof_lcc_requests_total{method="GET",route="/v1/problems",status="200"} '
    told = [0.0]
    for _ in range(8):
        assert ask(port, "GET", "/v1/problems")[0] == 200
    until = time.monotonic() + PATIENCE_S  # an answer is counted when it is sent to its end
    while told[-8:] != [8.0] * 8 and time.monotonic() < until:
        text = ask(port, "GET", "/metrics")[2].decode()
        told.append(float(text.partition(line)[2].partition("\n")[0] or 0))
    assert told[-8:] == [8.0] * 8
    assert told == sorted(told)


def test_no_control_socket_is_left_behind(port):
    """Nothing is written to the home of who runs the service."""
    home = os.path.expanduser("~/.gunicorn/gunicorn.ctl")  # noqa: PTH111 (a path in a home)
    assert not os.path.exists(home)  # noqa: PTH110


@pytest.mark.thorough
@pytest.mark.parametrize("clients", [64, 256])
def test_clients_that_drip_their_headers_hold_no_thread(clients):
    """Health answers within a second while they last; each is cut off in its time."""
    process, port = started()
    try:
        with ExitStack() as stack:
            drips = [
                stack.enter_context(closing(socket.create_connection(("127.0.0.1", port))))
                for _ in range(clients)
            ]
            slowest = 0.0
            for turn in range(8):
                for drip in drips:
                    with suppress(OSError):
                        drip.sendall(b"GET /v1/health HTTP/1.1\r\n" if turn == 0 else b"a")
                begin = time.monotonic()
                assert ask(port, "GET", "/v1/health")[0] == 200
                slowest = max(slowest, time.monotonic() - begin)
                time.sleep(0.2)
            assert slowest < 1
            for drip in drips:
                drip.settimeout(PATIENCE_S)
                with suppress(ConnectionResetError):
                    assert heard(drip, b"too-slow")
    finally:
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=PATIENCE_S)


def waited_for(port, address, enough):
    """Return the state of a job once it is far enough, also while a process is replaced."""
    until, state = time.monotonic() + 5 * PATIENCE_S, None
    while time.monotonic() < until:
        with suppress(OSError, http.client.HTTPException):
            state = json.loads(ask(port, "GET", address)[2])
            if enough(state):
                return state
        time.sleep(0.1)
    raise AssertionError(state)


@pytest.mark.thorough
def test_killed_processes_and_vanished_clients_lose_nothing(tmp_path):
    """A job goes on after kill -9 of every process, to the same bytes; no place stays taken."""
    process, port = started(jobs=tmp_path)
    table = "\n".join(tables.read_text("demo/portfolio.csv").splitlines()[:21]).encode()
    form = {"Content-Type": "text/csv", "Accept": "application/json", "Prefer": "respond-async"}
    try:
        submit = ("POST", "/v1/portfolios", table, form)
        killed, whole = (f"/v1/jobs/{json.loads(ask(port, *submit)[2])['id']}" for _ in range(2))
        assert waited_for(port, killed, lambda state: state["done"])["state"] == "running"
        children = f"/proc/{process.pid}/task/{process.pid}/children"
        with open(children) as file:  # noqa: PTH123 (no path of ours)
            for worker in file.read().split():
                os.kill(int(worker), signal.SIGKILL)
        results = []
        for address in (killed, whole):
            ended = waited_for(port, address, lambda state: state["ended"])
            assert ended["state"] == "done"
            results.append(ask(port, "GET", ended["result"])[2])
        assert results[0] == results[1]
        assert json.loads(results[0])["computed"] == 20
        head = "POST /v1/portfolios HTTP/1.1\r\nHost: a\r\nContent-Type: text/csv\r\n"
        head += f"Accept: application/x-ndjson\r\nContent-Length: {len(table)}\r\n\r\n"
        for _ in range(6):  # more than there are places: some get 429 or 503
            with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S) as gone:
                gone.sendall(head.encode() + table)
                assert gone.recv(12)[-3:] in (b"200", b"429", b"503")
        until = time.monotonic() + PATIENCE_S
        short = table[: table.index(b"\n", table.index(b"\n") + 1)]
        row = 0
        while row < 8 and time.monotonic() < until:  # eight in a row: no process refuses any more
            asked = ask(port, "POST", "/v1/portfolios", short, {**form, "Prefer": ""})
            row = row + 1 if asked[0] == 200 else 0
        assert row == 8
    finally:
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=PATIENCE_S)
