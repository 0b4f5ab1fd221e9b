"""The test command also lints; the thorough run checks the types, strictly."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize(
    "command",
    [
        ("ruff", "check", "--output-format", "concise", "--no-cache", "."),
        ("ruff", "format", "--check", "--no-cache", "."),
        pytest.param(("mypy",), marks=pytest.mark.thorough),
    ],
    ids=["lint", "format", "types"],
)
def test_the_code_passes_its_linters(command):
    """Settings are those of pyproject.toml."""
    run = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.thorough
def test_a_case_without_its_roof_is_a_type_error():
    """An editor says what a case needs before it is run."""
    program = "from lcc.case import Case, Roof\nCase()\nRoof(area_m2=100.0)\n"
    run = subprocess.run(
        [sys.executable, "-m", "mypy", "--config-file=", "--strict", "-c", program],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert '"site", "roof" in call to "Case"' in run.stdout, run.stdout + run.stderr
    assert 'named argument "layers" for "Roof"' in run.stdout, run.stdout
