"""Where every post stands along its line, to be set out on the roof with a tape."""

from __future__ import annotations

from collections.abc import Iterator

from lcc.quantities.cut_list import line_mark, mark_range
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.roof_frame import FramedFall, RoofFrame
from lcc.results.takeoff_result import SetOutRow


def set_out(roof: RoofFrame) -> tuple[SetOutRow, ...]:
    """Return the places of all posts, a row for each run of evenly spaced ones.

    Notes
    -----
    A line is measured from the eave of its fall, its posts along it from the left or the front
    edge of their part. Posts keep the marks of the cut list.
    """
    return tuple(row for fall in roof.falls for row in _rows(fall))


def _rows(fall: FramedFall) -> Iterator[SetOutRow]:
    frame = fall.frame
    edge, start_m = ("left" if frame.level else "front"), frame.ends_m[0]
    for line in fall.lines:
        name, number = f"P{line_mark(frame, line.number)}", 1
        for first, spacing, posts in even_runs(line.posts_m.tolist()):
            yield SetOutRow(
                mark_range(name, number, posts), name, frame.part.index + 1, frame.fall.side,
                line.from_eave_m, edge, first - start_m, spacing, posts,
            )  # fmt: skip
            number += posts


def even_runs(places: list[float]) -> Iterator[tuple[float, float, int]]:
    """Yield runs of evenly spaced places: the first, the space (0 for one alone), how many.

    Examples
    --------
    >>> list(even_runs([0.0, 2.0, 4.0, 5.0]))
    [(0.0, 2.0, 3), (5.0, 0.0, 1)]
    """
    places, start = sorted(places), 0
    while start < len(places):
        end = start + 1
        gap = places[end] - places[start] if end < len(places) else 0.0
        while end < len(places) and abs(places[end] - places[end - 1] - gap) < TOUCH_M:
            end += 1
        spaces = end - start - 1
        yield places[start], (places[end - 1] - places[start]) / max(spaces, 1), spaces + 1
        start = end
