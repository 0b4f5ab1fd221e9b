"""The page of notices: whose work is bundled with this program, and under which licence."""

import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class Notice:
    """Something bundled: its name, licence, where its source is, and what it is used for."""

    name: str
    licence: str
    source: str
    used: str
    text: str


@cache
def notices() -> tuple[Notice, ...]:
    """Return everything bundled, as `tests/bench/live_charts.py` wrote it."""
    text = files("web").joinpath("static", "notices.json").read_text(encoding="utf-8")
    return tuple(Notice(**each) for each in json.loads(text))


def texts() -> dict[str, list[str]]:
    """Return each licence text once, with the names of all that it covers."""
    found: dict[str, list[str]] = {}
    for one in notices():
        found.setdefault(one.text, []).append(one.name)
    return found
