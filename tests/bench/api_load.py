"""Load on the service: clients with open connections, one comparison again and again.

``python tests/bench/api_load.py [--seconds 30] [--clients 8]`` starts the service on a free port,
asks the demo case in four ways, and prints calls a second, p50, p99 and the memory of the service
before and after each. It ends with status 1 on any error.
"""

from __future__ import annotations

import argparse
import http.client
import json
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
START = "import sys; from api import create_app; from api.server import run; "
HEADERS = {"Content-Type": "application/json"}


def main() -> int:
    """Run the load and print what came of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=30)
    parser.add_argument("--clients", type=int, default=8)
    options = parser.parse_args()
    case = json.loads((ROOT / "data/demo/case.json").read_text())
    process, port = started()
    try:
        return load(process.pid, port, case, options.clients, options.seconds)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(30)


def started() -> tuple[subprocess.Popen[bytes], int]:
    """Start the service with its usual settings; return it once it answers."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    begin = time.perf_counter()
    command = [sys.executable, "-c", f"{START}run(create_app, port={port})"]
    process = subprocess.Popen(command, cwd=ROOT, stderr=subprocess.DEVNULL)
    while True:
        try:
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            connection.request("GET", "/v1/health")
            connection.getresponse().read()
            connection.close()
            print(f"ready after {time.perf_counter() - begin:.2f} s")
            return process, port
        except OSError:
            time.sleep(0.02)


def load(pid: int, port: int, case: dict, clients: int, seconds: float) -> int:  # type: ignore[type-arg]
    """Ask in four ways and print a line for each; return 1 on errors."""
    drawn = json.dumps(case).encode()
    case = {**case, "uncertainty": {"draws": 0}}
    same = json.dumps(case).encode()
    run(port, clients, 3, lambda _: same)  # warm up
    failed = 0
    for name, body in (
        ("the same case", lambda _: same),
        ("only money changed", lambda n: priced(case, n)),
        ("another building each time", lambda n: sized(case, n)),
        ("the same case with its random draws", lambda _: drawn),
    ):
        before = memory_mib(pid)
        times, errors, took = run(port, clients, seconds, body)
        failed += errors
        times.sort()
        p50, p99 = times[len(times) // 2], times[int(len(times) * 0.99)]
        print(
            f"{name}: {clients} clients, {took:.0f} s, {len(times) / took:.0f} calls/s, "
            f"p50 {1000 * p50:.0f} ms, p99 {1000 * p99:.0f} ms, {errors} errors"
        )
        print(f"  memory of all processes {before:.0f} -> {memory_mib(pid):.0f} MiB")
    return int(failed > 0)


def priced(case: dict, number: int) -> bytes:  # type: ignore[type-arg]
    """Return the case with another electricity price."""
    prices = {**case["prices"], "electricity": 0.05 + number % 10_000 * 1e-5}
    return json.dumps({**case, "prices": prices}).encode()


def sized(case: dict, number: int) -> bytes:  # type: ignore[type-arg]
    """Return the case with another wall, so that its heat is solved anew."""
    building = {**case["building"], "wall_u": 0.1 + number % 100_000 * 1e-6}
    return json.dumps({**case, "building": building}).encode()


def run(
    port: int, clients: int, seconds: float, body: Callable[[int], bytes]
) -> tuple[list[float], int, float]:
    """Let clients ask for some seconds; return the times of the answers, errors, and time taken."""
    times: list[float] = []
    errors: list[str] = []
    numbers = iter(range(10**9))
    until = time.perf_counter() + seconds

    def ask() -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        while time.perf_counter() < until:
            begin = time.perf_counter()
            connection.request("POST", "/v1/comparisons", body(next(numbers)), HEADERS)
            answer = connection.getresponse()
            content = answer.read()
            times.append(time.perf_counter() - begin)
            if answer.status != 200 or not content.endswith(b"}"):
                errors.append(f"{answer.status}: {content[:200]!r}")
        connection.close()

    threads = [threading.Thread(target=ask) for _ in range(clients)]
    begin = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for error in errors[:3]:
        print("error", error)
    return times, len(errors), time.perf_counter() - begin


def memory_mib(pid: int) -> float:
    """Return the resident memory of a process and its children."""
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    pages = [int(Path(f"/proc/{each}/statm").read_text().split()[1]) for each in (pid, *children)]
    return sum(pages) * 4096 / 2**20


if __name__ == "__main__":
    sys.exit(main())
