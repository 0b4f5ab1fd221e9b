"""The one test command also lints: formatting, lint rules and strict types."""

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
        ("mypy",),
    ],
    ids=["lint", "format", "types"],
)
def test_the_code_passes_its_linters(command):
    """Settings are those of pyproject.toml."""
    run = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout + run.stderr
