"""Marks of every post, purlin, bracing line, panel and opening, and the list to cut them by."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from lcc.arrays import Array, Integers
from lcc.case.framing import Framing
from lcc.quantities.bracing import SAME_M, diagonals
from lcc.quantities.openings import ventilators
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_lines_and_heights import FallFrame, PurlinLine
from lcc.quantities.purlin_pieces import pieces_m, valley_splices_m
from lcc.quantities.roof_frame import FramedFall, RoofFrame
from lcc.results.takeoff_result import CutPiece, Services


def line_mark(frame: FallFrame, number: int) -> str:
    """Return the mark of a purlin line: its part, its fall's first letter, and its number."""
    return f"{frame.part.index + 1}.{frame.fall.side[0].upper()}{number}"


def cut_list(roof: RoofFrame, services: Services) -> tuple[CutPiece, ...]:
    """Return every mark with its pieces and their length.

    Notes
    -----
    Marks begin with a letter: P posts, U purlins, B bracing lines, S panels, V ventilators, C
    curbs, K pipes and conduits, L skylights, W supports under valleys, X cross members and
    headers. Posts and purlins of a line are numbered from the left or the front; those of one
    length in a row share a line of the list. Purlins are spliced over posts or cross members;
    supports under valleys are cut from whole stock lengths.
    """
    return (
        *(piece for fall in roof.falls for piece in _posts(fall)),
        *(piece for fall in roof.falls for piece in _purlins(fall)),
        *_rows_of(
            [
                (mark, "valley support", [_valley_pieces(long, roof.framing)])
                for mark, _, long in valley_supports(roof)
            ]
        ),
        *(piece for fall in roof.falls for piece in _cross_members(roof, fall)),
        *(piece for fall in roof.falls for piece in diagonals(fall)),
        *(piece for fall in roof.falls for piece in _panels(fall)),
        *_openings(roof, services),
    )


def _posts(fall: FramedFall) -> Iterator[CutPiece]:
    lines, owner, _, heights = posts_in_order(fall)
    counts = [len(line.posts_m) for line in lines]
    before = np.concatenate([[0], np.cumsum(counts)]).tolist()
    for start, count, longest in _alike(heights, owner):
        line = int(owner[start])
        mark = f"P{line_mark(fall.frame, lines[line].number)}"
        yield CutPiece(mark_range(mark, start - before[line] + 1, count), "post", count, longest)


def posts_in_order(fall: FramedFall) -> tuple[list[PurlinLine], Integers, Array, Array]:
    """Return the lines that have posts, and by mark of each post its line, place and height [m]."""
    lines = [line for line in fall.lines if line.posts_m.size]
    owner = np.repeat(np.arange(len(lines)), [len(line.posts_m) for line in lines])
    along, heights = (np.concatenate([np.zeros(0), *(getattr(line, name) for line in lines)])
                      for name in ("posts_m", "heights_m"))  # fmt: skip
    order = np.lexsort((along, owner))
    return lines, owner, along[order], heights[order]


def _alike(lengths_m: Array, owner: Integers) -> list[tuple[int, int, float]]:
    """Return runs of lengths cut alike for one owner: where each begins, how many, the longest."""
    if not lengths_m.size:
        return []
    cut = np.rint(lengths_m / SAME_M)
    new = (cut[1:] != cut[:-1]) | (owner[1:] != owner[:-1])
    starts = np.flatnonzero(np.concatenate([[True], new]))
    counts = np.diff(starts, append=len(cut))
    longest = np.maximum.reduceat(lengths_m, starts)
    return list(zip(starts.tolist(), counts.tolist(), longest.tolist(), strict=True))


def mark_range(mark: str, start: int, count: int) -> str:
    """Return marks from one to another.

    Examples
    --------
    >>> mark_range("P1.F3", 1, 41), mark_range("P1.F3", 5, 1)
    ('P1.F3-1 to 41', 'P1.F3-5')
    """
    return f"{mark}-{start} to {start + count - 1}" if count > 1 else f"{mark}-{start}"


def _purlins(fall: FramedFall) -> Iterator[CutPiece]:
    pieces: list[list[list[float]]] = [[] for _ in fall.lines]
    for run in fall.spliced_runs:
        pieces[run.line].append(run.pieces_m)
    rows = [
        (f"U{line_mark(fall.frame, line.number)}", _purlin_kind(line), each)
        for line, each in zip(fall.lines, pieces, strict=True)
    ]
    return _rows_of(rows)


def _rows_of(rows: Sequence[tuple[str, str, list[list[float]]]]) -> Iterator[CutPiece]:
    """Yield the pieces of marks in a row, those of one run that are cut alike together."""
    runs = [(k, pieces) for k, (_, _, each) in enumerate(rows) for pieces in each]
    counts = [len(pieces) for _, pieces in runs]
    every = np.array([each for _, pieces in runs for each in pieces])
    row = np.repeat([k for k, _ in runs], counts).tolist()
    first = np.searchsorted(row, range(len(rows))).tolist()
    for start, count, longest in _alike(every, np.repeat(np.arange(len(runs)), counts)):
        mark, what, _ = rows[row[start]]
        yield CutPiece(mark_range(mark, start - first[row[start]] + 1, count), what, count, longest)


def _purlin_kind(line: PurlinLine) -> str:
    return f"purlin, {line.zone} zone" if line.zone else "purlin"


def valley_supports(roof: RoofFrame) -> tuple[tuple[str, int, float], ...]:
    """Return the mark of every sloping valley's support, its stretch and its length [m]."""
    chosen = np.flatnonzero(roof.edges.role == "valley").tolist()
    return tuple((f"W{k}", one, float(roof.edges.along_roof_m[one]))
                 for k, one in enumerate(chosen, start=1))  # fmt: skip


def _valley_pieces(long_m: float, framing: Framing) -> list[float]:
    splices = valley_splices_m(long_m, framing)
    return pieces_m((0.0, long_m), splices, framing.purlin_lap_m)


def _cross_members(roof: RoofFrame, fall: FramedFall) -> Iterator[CutPiece]:
    """Yield members up the slope: between lines on posts, then under lines that wind closes up.

    Then headers across a neighbour's joists, under posts of a wing.
    """
    frame, mark = fall.frame, cross_mark(fall.frame)
    listed = [("cross member", len(at), long) for *_, long, at in cross_places(fall)]
    headers = np.sort([long for each in roof.wing_posts if each.frame is frame
                       for long in each.headers_m])  # fmt: skip
    alike = _alike(headers, np.zeros(len(headers), dtype=np.int64))
    listed += [("header under posts", pieces, long) for _, pieces, long in alike]
    for count, (what, pieces, long) in enumerate(listed, start=1):
        yield CutPiece(mark_range(f"{mark}{count}", 1, pieces), what, pieces, long)


def cross_mark(frame: FallFrame) -> str:
    """Return the mark that cross members of a fall begin with."""
    return f"X{line_mark(frame, 0)[:-1]}"


def cross_places(fall: FramedFall) -> Iterator[tuple[float, float, float, Array]]:
    """Yield the cross members of a fall: from and to where up it, their length, places along it.

    Notes
    -----
    Where wind asks for several lines between two on posts, they share its cross member in pieces.
    """
    frame = fall.frame
    held = np.minimum(frame.lines.held_m, frame.run_m).tolist()
    for long, low, high in zip(frame.cross_bays_m.tolist(), held, held[1:], strict=False):
        if long:
            yield low, high, long, frame.stations.at_m
    for line in fall.lines:
        if line.cross_members:
            along, deep = frame.places_m, line.cross_each_m / frame.secant
            low = max(at for at in held if at < line.from_eave_m)
            low += math.floor((line.from_eave_m - low) / deep) * deep
            on = [(along >= a - TOUCH_M) & (along <= b + TOUCH_M) for a, b in line.runs]
            yield low, low + deep, line.cross_each_m, along[np.any(on, axis=0)]


def _panels(fall: FramedFall) -> Iterator[CutPiece]:
    lengths_m, numbers = panel_marks(fall)
    for number in np.unique(numbers).tolist():
        alike = lengths_m[numbers == number]
        yield CutPiece(f"S{line_mark(fall.frame, number)}", "panel", len(alike), float(alike.max()))


def panel_marks(fall: FramedFall) -> tuple[Array, Integers]:
    """Return the length of every panel along its eave [m], and the number of its mark."""
    numbers = fall.panels.numbers
    each = np.repeat(fall.panels.lengths_m / np.maximum(numbers, 1) * fall.frame.secant, numbers)
    return each, np.unique(np.rint(each / SAME_M), return_inverse=True)[1] + 1


def _openings(roof: RoofFrame, services: Services) -> Iterator[CutPiece]:
    for shape in roof.shapes:
        if count := ventilators(shape):
            yield CutPiece(
                mark_range(f"V{shape.part.index + 1}", 1, count), "ventilator", count, 0.0
            )
    for letter, kind, count in (
        ("C", "curb", services.curbs),
        ("K", "pipe or conduit", services.penetrations),
        ("L", "skylight carried through", services.skylights_carried),
    ):
        if count:
            yield CutPiece(mark_range(letter, 1, count), kind, count, 0.0)
