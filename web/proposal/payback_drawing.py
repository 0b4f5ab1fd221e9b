"""The page's payback chart for paper: the same figures, words and places."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from web.charts import Reply, palette, payback, placing
from web.charts.figure import Row, subject
from web.format import brief

YEAR_STEPS = (1, 2, 5, 10, 20, 25)
KINDS = ("name", "amount", "note")  # of words at the end of a line
WORDS = 8  # beside the lines
# The smallest plot of `template/letter.typ`: points across, points of a pixel, points of letters,
# and of a line of them.
ACROSS, SCALE, LETTERS, PITCH = 310.0, 0.57, 8.5, 9.5


def chart(reply: Reply) -> dict[str, Any]:
    """Return the payback chart as the template draws it."""
    series, data = payback.drawn(reply)
    bottom, top = (row["cost"] for row in data["payback_scale"])
    last = data["payback_scale"][1]["year"]
    every = next((step for step in YEAR_STEPS if last / step <= 10), 50)
    own = f"s{subject(reply)}"
    words = sorted((row for row in data["payback_words"] if row["wide"]),
                   key=lambda row: not row["strong"])  # fmt: skip
    shown = _apart(words[:WORDS], last)
    return {
        "reading": f"{payback.title(reply)}. {payback.reading(reply)}",
        "title": payback.title(reply),
        "axis": "years from today",
        "high": payback.HIGH,
        "bottom": bottom,
        "top": top,
        "last": last,
        "years": list(range(0, last + 1, every)),
        "ticks": [{"cost": tick, "text": brief(tick)} for tick in ticks(bottom, top)],
        "lines": [_line(one.id, data["payback"], strong=one.id == own) for one in series],
        "words": [{**row, "colour": palette.look(row["series"])[0]} for row in shown],
        "ends": _ends(data["payback_ends"], data["payback"]),
        "band": [row for row in data["payback_band"] if row["wide"]],
        "ahead": data["payback_ahead"],
    }


def _line(series: str, rows: Any, *, strong: bool) -> dict[str, Any]:
    colour, dash, _ = palette.look(series)
    costs = [row["cost"] for row in rows if row["series"] == series]
    solid = dash == [1, 0]
    return {"colour": colour, "dash": [] if solid else dash, "strong": strong, "costs": costs}


def _ends(rows: Sequence[Row], lines: Sequence[Row]) -> list[dict[str, Any]]:
    """The name, amount and notes of each line from the top down; the template gives them room."""
    last, found = {row["series"]: row["cost"] for row in lines}, []
    for series in dict.fromkeys(row["series"] for row in sorted(rows, key=lambda row: row["y"])):
        own = [row for row in rows if row["series"] == series]
        words = {kind: [row["text"] for row in own if row["kind"] == kind] for kind in KINDS}
        found.append({"colour": palette.look(series)[0], "cost": last[series], **words})
    return found


def _apart(words: Sequence[Row], last: int) -> list[Row]:
    """The words that keep clear of those before them on the smallest plot that the letter draws."""
    boxes = np.reshape([_box(row, last) for row in words], (-1, 4))
    kept: list[int] = []
    for place in range(len(words)):
        if not placing.met(boxes[[place]], boxes[kept]).any():
            kept.append(place)
    return [words[place] for place in kept]


def _box(row: Row, last: int) -> tuple[float, float, float, float]:
    wide = placing.width(row["text"], LETTERS, bold=row["strong"])
    at, foot = ACROSS * row["year"] / last + row["dx"] * SCALE, row["y"] * SCALE
    left = at - wide if row["align"] == "right" else at
    return left, foot - PITCH, left + wide, foot


def ticks(bottom: float, top: float, most: int = 5) -> list[float]:
    """Return round amounts between two, at most so many steps.

    Examples
    --------
    >>> ticks(0.0, 940_000.0)
    [0.0, 200000.0, 400000.0, 600000.0, 800000.0]
    """
    rough = (top - bottom) / most or 1.0
    ten = 10.0 ** math.floor(math.log10(rough))
    step = next(ten * n for n in (1, 2, 2.5, 5, 10) if ten * n >= rough)
    return [step * n for n in range(math.ceil(bottom / step), math.floor(top / step) + 1)]
