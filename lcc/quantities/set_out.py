"""Where every post, panel and opening stands, to be set out on the roof with a tape."""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

import numpy as np

from lcc.arrays import Array, Integers
from lcc.quantities.bracing import SAME_M
from lcc.quantities.cut_list import (
    cross_mark,
    cross_places,
    line_mark,
    mark_range,
    panel_marks,
    posts_in_order,
)
from lcc.quantities.drainage import downspout_places
from lcc.quantities.openings import ventilator_places
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_and_purlin_spacing import structure
from lcc.quantities.post_lines_and_heights import FallFrame
from lcc.quantities.roof_frame import FramedFall, RoofFrame
from lcc.quantities.roof_planes import RoofPart
from lcc.results.takeoff_result import AlongRow, Drainage, LaidRow, SetOutRow

EDGE = "edge"
JOIST = "joist or beam"
HEADER = "header between two"  # under a post that no joist or beam is under
UNKNOWN = "not surveyed"
_APART = 10_000.0  # more than the marks of the panels of one fall


def set_out(roof: RoofFrame) -> tuple[SetOutRow, ...]:
    """Return the places of all posts, a row for each run of evenly spaced ones.

    Notes
    -----
    A line is measured from the eave of its fall, its posts along it from the left or the front
    edge of their part. Posts keep the marks of the cut list; those of a row are cut alike and
    stand on the old roof of one part, where a header is needed or where none is.
    """
    return tuple(row for fall in roof.falls for row in _rows(roof, fall))


def _rows(roof: RoofFrame, fall: FramedFall) -> Iterator[SetOutRow]:
    frame = fall.frame
    lines, owner, along, heights = posts_in_order(fall)
    places = frame.place(along, np.array([line.from_eave_m for line in lines])[owner])
    depth_m = frame.part.framing.purlin_depth_m
    tops = [frame.fall.plane.z(*frame.place(0.0, line.from_eave_m)) - depth_m for line in lines]
    over = stand_on(roof.parts, np.full(len(along), frame.part.index), *places)
    on = _borne_by(roof.parts, over, *places).tolist()
    alike = np.stack([owner, over, [each == HEADER for each in on], np.rint(heights / SAME_M)])
    before = owner.searchsorted(owner).tolist()
    start = 0
    for (line, part, *_), group in groupby(alike.T.astype(int).tolist()):
        end = start + len(list(group))
        name = f"P{line_mark(frame, lines[line].number)}"
        for first, spacing, posts in even_runs(along[start:end].tolist()):
            run = slice(start, start := start + posts)
            yield SetOutRow(
                mark_range(name, run.start - before[run.start] + 1, posts), name,
                frame.part.index + 1, part + 1, frame.fall.side, lines[line].from_eave_m,
                frame.end_sides[0], first - frame.ends_m[0], spacing, posts,
                float(heights[run].max()), ", ".join(dict.fromkeys(on[run])), tops[line],
            )  # fmt: skip


def _borne_by(
    parts: Sequence[RoofPart], over: Integers, x_m: Array, y_m: Array
) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
    """Return what each post stands on, on the old roof of the part named for it."""
    found = np.full(len(over), UNKNOWN, dtype=object)
    for part in (parts[k] for k in set(over.tolist())):
        across = part.rectangle.bearing_runs == "front-back"
        lines_m = structure(part, part.rectangle.bearing_runs)
        if lines_m is not None:
            names = np.array([EDGE, *[JOIST] * (len(lines_m) - 2), EDGE], dtype=object)
            at = (x_m if across else y_m)[over == part.index]
            near = lines_m.searchsorted(at - TOUCH_M).clip(0, len(lines_m) - 1)
            held = np.abs(lines_m[near] - at) < TOUCH_M
            found[over == part.index] = np.where(held, names[near], HEADER)
    return found


def stand_on(parts: Sequence[RoofPart], own: Integers, x_m: Array, y_m: Array) -> Integers:
    """Return the part on whose old roof each post stands; on a common wall, its own part."""
    left, front, right, back = np.array([part.bounds for part in parts]).T[..., None]
    holding = ((x_m >= left - TOUCH_M) & (x_m <= right + TOUCH_M)
               & (y_m >= front - TOUCH_M) & (y_m <= back + TOUCH_M))  # fmt: skip
    return np.where(holding[own, np.arange(len(own))], own, holding.argmax(axis=0))


def laid(roof: RoofFrame) -> tuple[LaidRow, ...]:
    """Return where cross members lie, and purlins of wind zones or of lines without posts.

    Notes
    -----
    All are measured from the eave of their fall in plan, and from the left or front edge along it.
    """
    return tuple(row for fall in roof.falls for row in (*_cross_rows(fall), *_purlin_rows(fall)))


def _cross_rows(fall: FramedFall) -> Iterator[LaidRow]:
    frame, start_m = fall.frame, fall.frame.ends_m[0]
    for count, (low, high, _, places) in enumerate(cross_places(fall), start=1):
        number = 1
        for first, spacing, pieces in even_runs((places - start_m).tolist()):
            mark = mark_range(f"{cross_mark(frame)}{count}", number, pieces)
            along = first, first + (pieces - 1) * spacing
            yield _laid(frame, mark, "cross member", (low, high), along, pieces)
            number += pieces


def _purlin_rows(fall: FramedFall) -> Iterator[LaidRow]:
    frame, start_m = fall.frame, fall.frame.ends_m[0]
    borne = set(frame.lines.at_m[~frame.lines.posted].tolist())  # not those of a shared ridge
    for line in fall.lines:
        if line.zone or line.from_eave_m in borne:
            what = f"purlin, {line.zone} zone" if line.zone else "purlin on cross members"
            for low, high in line.runs:
                mark, along = f"U{line_mark(frame, line.number)}", (low - start_m, high - start_m)
                yield _laid(frame, mark, what, (line.from_eave_m,) * 2, along, 1)


def _laid(
    frame: FallFrame, mark: str, what: str, up_m: tuple[float, float],
    along_m: tuple[float, float], number: int,
) -> LaidRow:  # fmt: skip
    return LaidRow(mark, what, frame.part.index + 1, frame.fall.side, *up_m, frame.end_sides[0],
                   *along_m, number)  # fmt: skip


def along_edges(roof: RoofFrame, drains: Sequence[Drainage]) -> tuple[AlongRow, ...]:
    """Return where panels begin along eaves, and where ventilators and downspouts stand."""
    return (
        *(row for fall in roof.falls for row in _panel_rows(fall)),
        *(row for shape in roof.shapes for frame, run in [ventilator_places(roof, shape)]
          for row in _along("ventilator", f"V{shape.part.index + 1}", frame, [run] * (run[2] > 0))),
        *(row for frame, places in downspout_places(roof, drains) for row in _along(
            "downspout", f"D{line_mark(frame, 0)[:-1]}", frame, even_runs(places))),
    )  # fmt: skip


def _panel_rows(fall: FramedFall) -> Iterator[AlongRow]:
    """Yield panels side by side: of one mark, or of marks that rise or fall one by one."""
    frame, laid, start = fall.frame, fall.panels, 0
    marks = panel_marks(fall)[1]
    first, wide = (np.repeat(each, laid.numbers)
                   for each in (laid.seams_m[:-1], np.diff(laid.seams_m)))  # fmt: skip
    new = (np.abs(np.diff(first) - wide[:-1]) > TOUCH_M) | (np.abs(np.diff(wide)) > TOUCH_M)
    places = marks + _APART * np.concatenate([[0], np.cumsum(new)])[: len(marks)]
    for _, step, count in even_runs(places.tolist(), 1.0):
        last = f" to {marks[start] + round(step) * (count - 1)}" if step else ""
        cut = wide[start] < frame.part.framing.panel_cover_m - TOUCH_M
        yield AlongRow(
            f"S{line_mark(frame, marks[start])}{last}", "panel, cut to width" if cut else "panel",
            frame.part.index + 1, f"{frame.fall.side} eave", frame.end_sides[0],
            float(first[start]) - frame.ends_m[0], float(wide[start]), count,
        )  # fmt: skip
        start += count


def _along(
    what: str, mark: str, frame: FallFrame, runs: Iterable[tuple[float, float, int]]
) -> Iterator[AlongRow]:
    top = "ridge" if frame.shares_ridge else "below the high edge, clear of its flashing"
    along = top if what == "ventilator" else f"{frame.fall.side} eave"
    number = 1
    for first, spacing, count in runs:
        yield AlongRow(mark_range(mark, number, count), what, frame.part.index + 1, along,
                       frame.end_sides[0], first - frame.ends_m[0], spacing * (count > 1),
                       count)  # fmt: skip
        number += count


def even_runs(
    places: Sequence[float], most: float = math.inf
) -> Iterator[tuple[float, float, int]]:
    """Yield runs of evenly spaced places: the first, the space (0 for one alone), how many.

    Places more than `most` apart are in no run.

    Examples
    --------
    >>> list(even_runs([0.0, 2.0, 4.0, 5.0]))
    [(0.0, 2.0, 3), (5.0, 0.0, 1)]
    """
    start = 0
    while start < len(places):
        end = start + 1
        gap = places[end] - places[start] if end < len(places) else 0.0
        while (
            end < len(places)
            and abs(gap) <= most
            and (abs(places[end] - places[end - 1] - gap) < TOUCH_M)
        ):
            end += 1
        spaces = end - start - 1
        yield places[start], (places[end - 1] - places[start]) / max(spaces, 1), spaces + 1
        start = end
