"""The example clients of the README, run as they are written."""

import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
import requests

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text()
ADDRESS = "http://127.0.0.1:8000"
SECTION = README.split("\n## The API\n")[1].split("\n## ")[0]


def example(language, number=0):
    """Return one of the section's examples in a language."""
    found = re.findall(rf"```{language}\n(.*?)```", SECTION, re.DOTALL)[number]
    assert ADDRESS in found
    return found


@pytest.fixture(scope="module")
def address():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    process = subprocess.Popen(
        [sys.executable, "-m", "web", "serve", "--port", str(port), "--workers", "1"],
        cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    until = time.monotonic() + 60
    while time.monotonic() < until:
        try:
            if requests.get(f"{address}/v1/health", timeout=20).ok:
                break
        except requests.RequestException:
            time.sleep(0.1)
    yield address
    process.send_signal(signal.SIGTERM)
    assert process.wait(timeout=60) == 0


def run(command, script, address):
    """Run a client with only the address changed, and return what it printed."""
    script = script.replace(ADDRESS, address)
    done = subprocess.run(
        [*command, script], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 0, done.stderr + done.stdout
    return done.stdout


def test_served_by_one_command_on_the_loopback(address):
    """As the README says: page and API, which says when it is ready."""
    assert requests.get(f"{address}/v1/health", timeout=20).json()["ready"] is True
    assert "costs about $" in requests.get(f"{address}/", timeout=60).text


def test_curl(address):
    """The curl client gets the figures of its roof."""
    printed = run(["bash", "-c"], example("sh"), address)
    assert '"name":"Concrete"' in printed
    assert '"u_value_down":' in printed
    assert '"units":"ip"' in printed


def test_python(address):
    """The Python client prints savings that fall by what the dearer retrofit costs more."""
    lines = run([sys.executable, "-c"], example("python"), address).splitlines()
    saved = [float(line.split(": ")[-1].split(" saved")[0].replace(",", "")) for line in lines]
    # One dollar more on 24,000 ft², spent today, with the engineer's fee of 3 % and on-costs of 8 %
    # that follow a price, less what remains of it at the end: the savings fall by between half of
    # it and all of it.
    assert len(saved) == 2
    assert 12_000 < saved[0] - saved[1] <= 24_000 * 1.03 * 1.08 + 1  # each is rounded


def test_a_refused_request_is_told_in_words(address):
    """What the Python client would print for a fault names the place and what is allowed."""
    script = (
        example("python").replace("12 $/ft^2", "12 $/ton").replace("SystemExit(1)", "SystemExit")
    )
    printed = run([sys.executable, "-c"], script, address)
    assert "#/alternatives/0/price" in printed
    assert "more than one meaning" in printed


@pytest.mark.thorough
def test_nightly_job(address):
    """The nightly client submits the demo portfolio, waits for it, and reads its ranking."""
    printed = run([sys.executable, "-c"], example("python", 1), address)
    assert printed.startswith("done 60 roofs, 0 rows refused\n")
    assert "roofs within the budget" in printed
