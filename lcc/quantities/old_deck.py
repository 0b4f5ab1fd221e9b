"""The old deck of a part as planes: to a side, to a line in its middle, or to drains in place."""

from collections.abc import Sequence

import numpy as np

from lcc.quantities.polygons import Plane, Point, Polygon, clipped

Bowl = tuple[Plane, ...]  # the highest of its planes counts
_SAME = 1e-9  # planes this close are one


def around(drain: Point, level_m: float, slope: float) -> Bowl:
    """Return the four planes that rise from a drain.

    Examples
    --------
    Two metres right of a drain, and one behind it, a deck at 1 in 48 is 2/48 m higher.

    >>> bowl = around((5.0, 5.0), 3.0, 1 / 48)
    >>> round(max(plane.z(7.0, 6.0) for plane in bowl) - 3.0, 6)
    0.041667
    """
    x, y = drain
    return tuple(
        Plane(level_m - slope * (along_x * x + along_y * y), slope * along_x, slope * along_y)
        for along_x, along_y in ((1, 0), (0, 1), (-1, 0), (0, -1))
    )


def highest(polygon: Polygon, plane: Plane, bowl: Bowl) -> Polygon:
    """Return where one plane of a bowl is its highest."""
    for other in bowl:
        polygon = clipped(polygon, plane.above(other)) if other != plane else polygon
    return polygon


def pieces(
    corners: Polygon, bowls: Sequence[Bowl], drains: Sequence[Point]
) -> tuple[tuple[Plane, Polygon], ...]:
    """Return every plane of a deck and where it is the deck; where bowls overlap, the lowest.

    Parameters
    ----------
    corners : Polygon
        The part.
    bowls : sequence of Bowl
        The deck.
    drains : sequence of Point
        The lowest point of each bowl, where there are several.
    """
    if len(bowls) == 1:
        found = [(plane, highest(corners, plane, bowls[0])) for plane in bowls[0]]
        return tuple(each for each in found if each[1])
    apart = np.abs(np.array(drains)[:, None] - np.array(drains)[None]).max(axis=2)
    return tuple(
        (plane, piece)
        for own, bowl in enumerate(bowls)
        for plane in bowl
        for piece in _lowest(
            own, plane, highest(corners, plane, bowl), bowls,
            [(int(k), float(apart[own, k])) for k in np.argsort(apart[own]) if k != own],
            drains[own],
        )
    )  # fmt: skip


def _lowest(
    own: int, plane: Plane, polygon: Polygon, bowls: Sequence[Bowl],
    others: Sequence[tuple[int, float]], drain: Point,
) -> list[Polygon]:  # fmt: skip
    """Return where a plane of one bowl lies under all others, the nearest first.

    Notes
    -----
    Of equal planes the first counts. A drain twice as far as the farthest corner is lower nowhere.
    """
    if not polygon or not others:
        return [polygon] if polygon else []
    (k, far), *rest = others
    reach = max(max(abs(x - drain[0]), abs(y - drain[1])) for x, y in polygon)
    if far >= 2 * reach:
        return [polygon]
    taken = [each for each in bowls[k] if k > own or not np.allclose(each, plane, 0.0, _SAME)]
    cuts = [clipped(highest(polygon, each, bowls[k]), each.above(plane)) for each in taken]
    return [piece for cut in cuts for piece in _lowest(own, plane, cut, bowls, rest, drain)]
