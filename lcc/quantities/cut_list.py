"""Marks of every post, purlin, bracing line, panel and opening, and the list to cut them by."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import numpy as np

from lcc.quantities.framing_layout import FallFrame, PurlinLine
from lcc.quantities.openings import ventilators
from lcc.quantities.roof_frame import FramedFall, RoofFrame
from lcc.results.takeoff_result import CutPiece, Services

_SAME_M = 5e-4  # lengths this close are cut alike, as long as the longest of them


def line_mark(frame: FallFrame, number: int) -> str:
    """Return the mark of a purlin line: its part, its fall's first letter, and its number."""
    return f"{frame.part.index + 1}.{frame.fall.side[0].upper()}{number}"


def cut_list(roof: RoofFrame, services: Services) -> tuple[CutPiece, ...]:
    """Return every mark with its pieces and their length.

    Notes
    -----
    Marks begin with a letter: P posts, U purlins, B bracing lines, S panels, V ventilators, C
    curbs, K pipes and conduits, L skylights. Posts of a line are numbered from the left or the
    front; those of one length in a row share a line of the list.
    """
    return (
        *(piece for fall in roof.falls for piece in _posts(fall)),
        *(piece for fall in roof.falls for piece in _purlins(fall)),
        *(piece for fall in roof.falls for piece in _bracing(fall.frame)),
        *(piece for fall in roof.falls for piece in _panels(fall.frame)),
        *_openings(roof, services),
    )


def _posts(fall: FramedFall) -> Iterator[CutPiece]:
    for line in fall.lines:
        order = np.argsort(line.posts_m)
        heights = line.heights_m[order].tolist()
        start = 1
        for _, group in groupby(heights, key=_alike):
            alike = list(group)
            count = len(alike)
            yield CutPiece(_range(f"P{line_mark(fall.frame, line.number)}", start, count), "post",
                           count, max(alike))  # fmt: skip
            start += count


def _alike(length_m: float) -> int:
    return round(length_m / _SAME_M)


def _range(mark: str, start: int, count: int) -> str:
    """Return marks from one to another.

    Examples
    --------
    >>> _range("P1.F3", 1, 41), _range("P1.F3", 5, 1)
    ('P1.F3-1 to 41', 'P1.F3-5')
    """
    return f"{mark}-{start} to {start + count - 1}" if count > 1 else f"{mark}-{start}"


def _purlins(fall: FramedFall) -> Iterator[CutPiece]:
    for line in fall.lines:
        for place, (start, end) in enumerate(line.runs, start=1):
            mark = f"U{line_mark(fall.frame, line.number)}"
            yield CutPiece(f"{mark}-{place}", _purlin_kind(line), 1, end - start)


def _purlin_kind(line: PurlinLine) -> str:
    return f"purlin, {line.zone} zone" if line.zone else "purlin"


def _bracing(frame: FallFrame) -> Iterator[CutPiece]:
    mark = f"B{line_mark(frame, 0)[:-1]}"
    for place, length in enumerate(frame.brace_lengths_m.tolist(), start=1):
        yield CutPiece(f"{mark}{place}", "bracing line, its diagonals together", 1, length)


def _panels(frame: FallFrame) -> Iterator[CutPiece]:
    numbers, lengths = frame.panels
    single = lengths[numbers == 1] * frame.secant
    several = lengths[numbers > 1] / numbers[numbers > 1] * frame.secant
    counted = [*single.tolist(), *np.repeat(several, numbers[numbers > 1]).tolist()]
    alike = groupby(sorted(counted), key=_alike)
    mark = f"S{line_mark(frame, 0)[:-1]}"
    for place, (_, group) in enumerate(alike, start=1):
        lengths_m = list(group)
        yield CutPiece(f"{mark}{place}", "panel", len(lengths_m), max(lengths_m))


def _openings(roof: RoofFrame, services: Services) -> Iterator[CutPiece]:
    for shape in roof.shapes:
        if count := ventilators(shape):
            yield CutPiece(_range(f"V{shape.part.index + 1}", 1, count), "ventilator", count, 0.0)
    for letter, kind, count in (
        ("C", "curb", services.curbs),
        ("K", "pipe or conduit", services.penetrations),
        ("L", "skylight carried through", services.skylights_carried),
    ):
        if count:
            yield CutPiece(_range(letter, 1, count), kind, count, 0.0)
