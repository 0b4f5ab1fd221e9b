"""Bracing lines: where each stands, and every single diagonal of it."""

from collections.abc import Iterator
from itertools import groupby, pairwise

import numpy as np

from lcc.quantities.post_lines_and_heights import FallFrame
from lcc.quantities.roof_frame import FramedFall, RoofFrame
from lcc.results.takeoff_result import BracingRow, CutPiece

SAME_M = 5e-4  # lengths this close are cut alike, as long as the longest of them


def bracing_rows(roof: RoofFrame) -> tuple[BracingRow, ...]:
    """Return the place of every bracing line, a row for each fall that it runs up."""
    return tuple(row for fall in roof.falls for row in _rows(fall))


def _rows(fall: FramedFall) -> Iterator[BracingRow]:
    frame = fall.frame
    mark = f"B{frame.part.index + 1}.{frame.fall.side[0].upper()}"
    edge, start = frame.end_sides[0], frame.ends_m[0]
    places = zip(frame.brace_places_m, frame.brace_bays_m, frame.brace_lengths_m, strict=True)
    for number, (at, bay, length) in enumerate(places, start=1):
        if length:
            yield BracingRow(f"{mark}{number}", frame.part.index + 1, frame.fall.side, edge,
                             float(at - start), float(bay - start), float(length))  # fmt: skip


def rises(frame: FallFrame) -> list[float]:
    """Return rise over run of every diagonal along a row of posts."""
    bays, along = np.abs(frame.brace_bays_m - frame.brace_places_m), frame.diagonals_m[1]
    rise = np.sqrt(np.maximum(along**2 - bays**2, 0.0))
    found: list[float] = (rise / np.where(bays > 0, bays, 1.0))[along > bays].tolist()
    return found


def diagonals(fall: FramedFall) -> Iterator[CutPiece]:
    """Yield every diagonal of a fall's bracing lines; lines that are alike share their rows.

    Notes
    -----
    Those of a line are numbered from the eave up. The row of a ridge is listed once, with the
    fall that drains the part.
    """
    frame, side = fall.frame, fall.frame.fall.side[0].upper()
    numbers = {round(line.from_eave_m, 6): line.number for line in fall.lines if not line.zone}
    rows = [numbers[round(each, 6)] for each in frame.lines.at_m[frame.lines.posted].tolist()]
    up, along = frame.diagonals_m
    if frame.ends_at_ridge and frame.fall.side != frame.part.falls[0].side:
        along = along[:-1]
    told = [f"along line {row}" for row in rows[: len(along)]]
    told += [f"up the slope, line {low} to {high}" for low, high in pairwise(rows)]
    every = np.concatenate([along, up])
    cut = np.rint(every / SAME_M)
    columns = range(every.shape[1])
    for _, group in groupby(columns, key=lambda k: cut[:, k].tobytes()):
        first, *more = alike = list(group)
        mark = f"B{frame.part.index + 1}.{side}{first + 1}"
        mark += f" to {side}{more[-1] + 1}" if more else ""
        longest = every[:, alike].max(axis=1)
        found = np.flatnonzero(longest).tolist()
        for number, k in enumerate(found, start=1):
            yield CutPiece(f"{mark}, {number}", f"diagonal {told[k]}", len(alike),
                           float(longest[k]))  # fmt: skip
