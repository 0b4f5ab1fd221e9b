"""The page's own files, by addresses that change with their content."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

from flask import url_for

STATIC = Path(__file__).parent / "static"


@cache
def version(name: str) -> str:
    """Return a short digest of a file's content."""
    return hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:12]


def asset(name: str) -> str:
    """Return the address of a file of the page; a changed file has a new one."""
    return url_for("pages.static", filename=name, v=version(name))
