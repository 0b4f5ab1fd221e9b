"""How fast a letter with its comparison annex is made, beside a browser that prints the page.

Run with ``python tests/bench/paper.py``; prints seconds of processor and of wall, asserts nothing.
A new process is measured with its bytecode in place, as an installed program has it.
"""

import copy
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

DEMO = Path(__file__).parents[2] / "data" / "demo" / "case.json"
PARTS = ("letter", "comparison")


def _clock():
    """Processor time of this process and of its ended children, and the wall's time [s]."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used), time.perf_counter()


def _timed(what, work):
    before = _clock()
    work()
    cpu, wall = (after - one for after, one in zip(_clock(), before, strict=True))
    print(f"{what:52} {cpu:6.2f} s of processor {wall:6.2f} s")


def _run(folder, *arguments):
    kept = {name: one for name, one in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True,
                   env={**kept, "PYTHONPYCACHEPREFIX": f"{folder}/bytecode"})  # fmt: skip


def _command(folder):
    _run(folder, "-m", "web", "proposal", str(DEMO), "--parts", ",".join(PARTS),
         "--out", f"{folder}/out.pdf")  # fmt: skip


def _made(document):
    from api import service
    from web.proposal.document import proposal_pdf

    loaded = service.load_case(document)
    return proposal_pdf(loaded.case, loaded.units, PARTS)


def _other(document, number):
    """Another owner's case on the same building: nothing of its paper is known before."""
    made = copy.deepcopy(document)
    made["name"] = f"Case of owner {number}"
    made["base_case"]["price"] = 7.0 + number / 10
    return made


def _printed(folder):
    """The page of the same case printed by a browser that is started for it."""
    from playwright.sync_api import sync_playwright

    import web
    from tests.conftest import browser_path

    html = web.create_app().test_client().get("/").text

    def work():
        with sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=browser_path(), args=["--no-sandbox"])
            page = browser.new_page()
            page.set_content(html)
            page.pdf(path=f"{folder}/page.pdf")
            browser.close()

    _timed("a browser started, the page's HTML printed by it", work)


def main():
    """Measure all in one run."""
    document = json.loads(DEMO.read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory() as folder:
        _command(folder)
        _timed("new process: roof-lcc proposal", lambda: _command(folder))
        imports = "import web.proposal.proposal_command"
        _timed("new process: its imports alone", lambda: _run(folder, "-c", imports))
        libraries = "import pandas, scipy.optimize, scipy.interpolate, pvlib"
        _timed("new process: three libraries alone", lambda: _run(folder, "-c", libraries))
        __import__("web.proposal.document")
        _timed("first paper of a process that is up", lambda: _made(document))
        for number in range(3):
            other = _other(document, number)
            _timed("warm: another owner's case", lambda other=other: _made(other))
        _timed("warm: the same case again", lambda: _made(document))
        _timed("warm: the same case again", lambda: _made(document))
        sys.path.insert(0, str(DEMO.parents[2]))
        _printed(folder)


if __name__ == "__main__":
    main()
