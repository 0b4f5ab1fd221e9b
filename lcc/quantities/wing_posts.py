"""Posts of a wing that stand over its neighbour's joists or beams, and the headers under them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lcc.arrays import Array
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_and_purlin_spacing import structure
from lcc.quantities.post_lines_and_heights import FallFrame, PurlinLine
from lcc.quantities.roof_planes import Meeting, RoofPart, runs_on


@dataclass(frozen=True)
class WingPosts:
    """Posts of one line of a wing over its neighbour's old roof, in the order of their marks.

    Parameters
    ----------
    frame, line : FallFrame, int
        The fall of the wing, and the number of its purlin line.
    main : RoofPart
        The neighbour.
    first, posts : int
        The first of them by its place along the line, from 1, and how many.
    headers_m : tuple of float
        Length of the header under each that stands off the structure [m].
    """

    frame: FallFrame
    line: int
    main: RoofPart
    first: int
    posts: int
    headers_m: tuple[float, ...]


def wing_posts(
    meets: Sequence[Meeting], falls: Sequence[tuple[FallFrame, Sequence[PurlinLine]]]
) -> Iterator[WingPosts]:
    """Yield the posts of every wing over joists or beams of a neighbour, line by line.

    Notes
    -----
    A post off the structure stands on a header across the two joists or beams beside it. One on the
    common edge stands on the wall between the two parts and is not among them.
    """
    for each in meets:
        lines_m = structure(each.other, each.other.rectangle.bearing_runs)
        if lines_m is None or not runs_on(each):
            continue
        for frame, lines in falls:
            if frame.part == each.one:
                found = (_over(frame, line, each.other, lines_m) for line in lines)
                yield from (one for one in found if one.posts)


def _over(frame: FallFrame, line: PurlinLine, main: RoofPart, lines_m: Array) -> WingPosts:
    places = [frame.place(u, line.from_eave_m) for u in np.sort(line.posts_m).tolist()]
    over = [k for k, at in enumerate(places)
            if main.rectangle.holds(*at) and not frame.part.rectangle.holds(*at)]  # fmt: skip
    across = main.rectangle.bearing_runs == "left-right"
    at = np.array([places[k][across] for k in over])
    off = at[np.abs(at[:, None] - lines_m).min(axis=1, initial=np.inf) > TOUCH_M]
    after = np.searchsorted(lines_m, off)
    headers = lines_m[after] - lines_m[after - 1]
    return WingPosts(frame, line.number, main, over[0] + 1 if over else 0, len(over),
                     tuple(headers.tolist()))  # fmt: skip
