"""Try the built wheel with other interpreters, or with the lowest versions it says it takes.

Run ``python tests/bench/versions.py python3.12 python3.13`` or ``python tests/bench/versions.py
--lowest``. Each gets an environment of its own in a temporary folder, which the registry fills;
then `compare`, `proposal`, `checks` and `serve` run from another folder.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import time
import tomllib
import urllib.request
from pathlib import Path

ROOT = Path(__file__).parents[2]
PORT = 8765


def lowest() -> list[str]:
    """Return every dependency at the lowest version that the project says it takes."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    return [re.sub(r">=", "==", each) for each in project["dependencies"]]


def run(*command: object, cwd: Path) -> None:
    """Run a command to its end; it must succeed."""
    done = subprocess.run(
        [*map(str, command)], cwd=cwd, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise SystemExit(f"{command}:\n{done.stdout[-2000:]}{done.stderr[-2000:]}")


def serves(tool: Path, folder: Path) -> None:
    """Start the service and ask for its health."""
    with subprocess.Popen([str(tool), "serve", "--port", str(PORT)], cwd=folder) as server:
        try:
            for _ in range(60):
                time.sleep(1)
                try:
                    with urllib.request.urlopen(f"http://127.0.0.1:{PORT}/v1/health") as answer:
                        assert answer.status == 200
                    return
                except OSError:
                    continue
            raise SystemExit("the service did not answer within a minute")
        finally:
            server.terminate()


def tried(python: str, pins: list[str], folder: Path) -> None:
    """Install the wheel for an interpreter and use it."""
    run(sys.executable, "-m", "pip", "wheel", "--no-deps", "-w", folder, ROOT, cwd=folder)
    run(python, "-m", "venv", "env", cwd=folder)
    wheel = next(folder.glob("*.whl"))
    run("env/bin/python", "-m", "pip", "install", "--quiet", wheel, *pins, cwd=folder)
    tool, case = folder / "env/bin/roof-lcc", folder / "case.json"
    case.write_bytes((ROOT / "data/demo/case.json").read_bytes())
    run(tool, "compare", case, cwd=folder)
    run(tool, "proposal", case, "--out", "paper.pdf", cwd=folder)
    run(tool, "checks", cwd=folder)
    serves(tool, folder)


def main() -> None:
    """Try what was asked for, one after the other."""
    for each in sys.argv[1:]:
        pins, python = (lowest(), sys.executable) if each == "--lowest" else ([], each)
        with tempfile.TemporaryDirectory() as folder:
            tried(python, pins, Path(folder))
        print(f"{each}: installed from the wheel; compare, proposal, checks and serve work")


if __name__ == "__main__":
    main()
