"""Load on the service: a mix of calls by many clients, and thousands of distinct comparisons.

``python tests/bench/api_load.py [--seconds 60] [--clients 8 16 32]`` starts the service on a free
port twice, once with one pool of threads for all calls, as it was before there were lanes, and once
as it is. For each number of clients, each with an address of its own, it prints p50, p95 and p99 of
every kind of call, and how often the service was busy (503) or a client past its share (429).
``--distinct 5000`` asks for so many comparisons of different buildings and prints the memory of the
service after every 500. The status is 1 after any other answer.
"""

from __future__ import annotations

import argparse
import http.client
import json
import random
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
CASE = json.loads((ROOT / "data/demo/case.json").read_text())
HEADERS = {"Content-Type": "application/json"}
START = "import sys; from api import create_app, limits; from api.server import run; "
# Before lanes, quick calls waited for the same four threads as comparisons.
ONE_POOL = (
    "limits.LANES['comparisons'] = (4, 64); own = limits.Calculations.run; "
    "limits.Calculations.run = lambda self, *a, **k: own(self, *a, **k | {'lane': 'comparisons'}); "
)
SEED = 20
BUSY_S = 0.5  # how long a refused client waits before it asks again


def main() -> int:
    """Run the load and print what came of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--clients", type=int, nargs="+", default=[8, 16, 32])
    parser.add_argument("--distinct", type=int, default=0)
    options = parser.parse_args()
    if options.distinct:
        with service() as (pid, port):
            return distinct(pid, port, options.distinct)
    failed = 0
    for words, before in (("one pool of threads for all calls", ONE_POOL), ("lanes", "")):
        with service(before) as (pid, port):
            run(port, 4, 3)  # warm up
            for clients in options.clients:
                print(f"\n{words}: {clients} clients, {options.seconds:g} s")
                failed += report(*run(port, clients, options.seconds), options.seconds)
                print(f"  memory of all processes {memory_mib(pid):.0f} MiB")
    return int(failed > 0)


@contextmanager
def service(before: str = "") -> Iterator[tuple[int, int]]:
    """Start the service with its usual settings; yield its process and port once it answers."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-c", f"{START}{before}run(create_app, port={port})"]
    process = subprocess.Popen(command, cwd=ROOT, stderr=subprocess.DEVNULL)
    try:
        while True:
            try:
                connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
                connection.request("GET", "/v1/health")
                connection.getresponse().read()
                break
            except OSError:
                time.sleep(0.05)
        yield process.pid, port
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(60)


def priced(number: int) -> bytes:
    """Return the case with another electricity price: no new heat."""
    prices = {**CASE["prices"], "electricity": 0.05 + number % 10_000 * 1e-5}
    return json.dumps({**CASE, "prices": prices}).encode()


def sized(number: int, **uncertainty: int) -> bytes:
    """Return the case with another wall, so that its heat is solved anew."""
    building = {**CASE["building"], "wall_u": 0.1 + number % 100_000 * 1e-6}
    drawn = {**CASE.get("uncertainty", {}), **uncertainty}
    return json.dumps({**CASE, "building": building, "uncertainty": drawn}).encode()


def portfolio(number: int) -> bytes:
    """Return twenty roofs, each of another area."""
    row = {
        "climate": "tulsa-ok",
        "roof_type": "steel-deck-perlite",
        "covering": "epdm-black",
        "age": 3,
    }
    areas = (20000 + number % 1000 * 20 + each for each in range(20))
    rows = [{**row, "name": f"{area} ft^2", "roof_area": area} for area in areas]
    return json.dumps({"units": "ip", "rows": rows}).encode()


def assemblies(number: int) -> bytes:
    """Return ten assemblies, each of another resistance."""
    many = [{"layers": [{"resistance": 1 + (number * 10 + each) % 90}]} for each in range(10)]
    return json.dumps({"units": "ip", "assemblies": many}).encode()


# Name, how often of 20 calls, method and address, body.
MIX: dict[str, tuple[int, str, str, Callable[[int], bytes | None]]] = {
    "health": (4, "GET", "/v1/health", lambda _: None),
    "table of materials": (3, "GET", "/v1/materials", lambda _: None),
    "ten assemblies": (7, "POST", "/v1/assemblies", assemblies),
    "comparison, another price": (3, "POST", "/v1/comparisons", priced),
    "comparison, another building": (2, "POST", "/v1/comparisons", sized),
    "portfolio of 20": (1, "POST", "/v1/portfolios", portfolio),
}
QUICK = tuple(MIX)[:3]


def run(
    port: int, clients: int, seconds: float
) -> tuple[dict[str, list[float]], dict[str, int], list[str]]:
    """Let clients ask for some seconds; return times by kind of call, busy answers, errors."""
    times: dict[str, list[float]] = defaultdict(list)
    busy: dict[str, int] = defaultdict(int)
    errors: list[str] = []
    numbers = count()
    until = time.perf_counter() + seconds

    def ask(client: int) -> None:
        chance = random.Random(SEED + client)
        own = (f"127.0.0.{10 + client}", 0)
        connection = http.client.HTTPConnection("127.0.0.1", port, 120, own)
        while time.perf_counter() < until:
            (name,) = chance.choices(list(MIX), [often for often, *_ in MIX.values()])
            _, method, address, body = MIX[name]
            begin = time.perf_counter()
            connection.request(method, address, body(next(numbers)), HEADERS)
            answer = connection.getresponse()
            content = answer.read()
            if answer.status in (503, 429) and answer.headers["Retry-After"]:
                busy[name] += 1
                time.sleep(BUSY_S)
            elif answer.status != 200:
                errors.append(f"{name}: {answer.status}: {content[:200]!r}")
            else:
                times[name].append(time.perf_counter() - begin)
        connection.close()

    threads = [threading.Thread(target=ask, args=(each,)) for each in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return times, busy, errors


def report(
    times: dict[str, list[float]], busy: dict[str, int], errors: list[str], seconds: float
) -> int:
    """Print a line for each kind of call, and one for the quick ones together."""
    for name, kinds in {**{one: (one,) for one in MIX}, "quick calls together": QUICK}.items():
        found = [each for kind in kinds for each in times[kind]]
        refused = sum(busy[kind] for kind in kinds)
        if not found:
            print(f"  {name:29} none answered  busy {refused}")
            continue
        p50, p95, p99 = (1000 * percentile(found, share) for share in (0.5, 0.95, 0.99))
        print(
            f"  {name:29} {len(found) / seconds:6.1f}/s  p50 {p50:6.0f}  p95 {p95:6.0f}  "
            f"p99 {p99:6.0f} ms  busy {refused}"
        )
    for error in errors[:3]:
        print("error", error)
    return len(errors)


def percentile(times: list[float], share: float) -> float:
    """Return the time that a share of the calls did not pass."""
    return sorted(times)[min(len(times) - 1, int(len(times) * share))]


def distinct(pid: int, port: int, most: int) -> int:
    """Ask for comparisons of different buildings on two connections; print the memory."""
    numbers, errors = iter(range(most)), []
    lock = threading.Lock()

    def ask() -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        while True:
            with lock:
                number = next(numbers, None)
                if number is None:
                    return
                if number % 500 == 0:
                    print(f"{number:6} comparisons: {memory_mib(pid):.0f} MiB", flush=True)
            connection.request("POST", "/v1/comparisons", sized(number, draws=0), HEADERS)
            answer = connection.getresponse()
            content = answer.read()
            if answer.status != 200:
                errors.append(content)

    threads = [threading.Thread(target=ask) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    print(f"{most:6} comparisons: {memory_mib(pid):.0f} MiB, {len(errors)} errors")
    return int(bool(errors))


def memory_mib(pid: int) -> float:
    """Return the resident memory of a process and its children."""
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    pages = [int(Path(f"/proc/{each}/statm").read_text().split()[1]) for each in (pid, *children)]
    return sum(pages) * 4096 / 2**20


if __name__ == "__main__":
    sys.exit(main())
