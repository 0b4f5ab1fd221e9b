"""Convex polygons in plan and planes over them: clipping, areas, and lines across them."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple, TypeVar

import numpy as np

from lcc.arrays import Array, Flags

Point = tuple[float, float]
Polygon = tuple[Point, ...]  # counter-clockwise
TOUCH_M = 1e-3  # what lies this close is the same place
_LEAST_AREA_M2 = 1e-6
Place = TypeVar("Place", float, Array)


class Plane(NamedTuple):
    """The plane z = at + x·along_x + y·along_y."""

    at: float
    along_x: float
    along_y: float

    def z(self, x: Place, y: Place) -> Place:
        """Return its height over a point, or over points.

        Examples
        --------
        >>> Plane(1.0, 0.5, 0.0).z(4.0, 7.0)
        3.0
        """
        return self.at + self.along_x * x + self.along_y * y

    def above(self, other: "Plane") -> "Plane":
        """Return the height of this plane over another, itself a plane."""
        return Plane(*(one - two for one, two in zip(self, other, strict=True)))

    def turned(self) -> "Plane":
        """Return the plane that is as far below zero as this is above it."""
        return Plane(-self.at, -self.along_x, -self.along_y)

    def lifted(self, height_m: float) -> "Plane":
        """Return the plane moved up."""
        return self._replace(at=self.at + height_m)


def box(x1: Place, y1: Place, x2: Place, y2: Place) -> tuple[tuple[Place, Place], ...]:
    """Return a rectangle as a polygon, or rectangles."""
    return (x1, y1), (x2, y1), (x2, y2), (x1, y2)


def clipped(polygon: Polygon, keep: Plane) -> Polygon:
    """Return the part of a convex polygon over which a plane is not negative, or nothing.

    Examples
    --------
    The half of a square that lies right of x = 1:

    >>> clipped(box(0, 0, 2, 2), Plane(-1.0, 1.0, 0.0))
    ((1.0, 0.0), (2, 0), (2, 2), (1.0, 2.0))
    """
    heights = [keep.z(*point) for point in polygon]
    if not heights or min(heights) >= -1e-12:
        return polygon
    kept: list[Point] = []
    for k, (height, point) in enumerate(zip(heights, polygon, strict=True)):
        before, last = heights[k - 1], polygon[k - 1]
        if (height < 0) != (before < 0):
            part = before / (before - height)
            cut = tuple(a + part * (b - a) for a, b in zip(last, point, strict=True))
            kept.append((cut[0], cut[1]))
        if height >= 0:
            kept.append(point)
    tidy = tuple(
        point
        for k, point in enumerate(kept)
        if abs(point[0] - kept[k - 1][0]) + abs(point[1] - kept[k - 1][1]) > 1e-9
    )
    return tidy if len(tidy) > 2 and area(tidy) > _LEAST_AREA_M2 else ()


def area(polygon: Polygon) -> float:
    """Return the area of a polygon [m²], by its coordinates (the shoelace formula).

    Examples
    --------
    >>> area(((0, 0), (4, 0), (0, 3)))
    6.0
    """
    return _moments(polygon)[0]


def _moments(polygon: Polygon) -> tuple[float, float, float]:
    x0, y0 = polygon[0]
    whole = first_x = first_y = 0.0
    for (x1, y1), (x2, y2) in pairwise(polygon[1:]):
        part = ((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) / 2
        whole += part
        first_x += part * (x0 + x1 + x2) / 3
        first_y += part * (y0 + y1 + y2) / 3
    return whole, first_x, first_y


def volume(polygon: Polygon, plane: Plane) -> float:
    """Return the volume under a plane over a polygon: its area times the height at its centre.

    Examples
    --------
    >>> volume(box(0, 0, 2, 3), Plane(1.0, 1.0, 0.0))
    12.0
    """
    whole, first_x, first_y = _moments(polygon)
    return plane.at * whole + plane.along_x * first_x + plane.along_y * first_y


def side_by_side(polygons: Sequence[Array]) -> Array:
    """Return polygons as one array; those with fewer corners repeat their last one.

    Examples
    --------
    >>> side_by_side([np.zeros((3, 2)), np.ones((4, 2))]).shape
    (2, 4, 2)
    """
    most = max(len(each) for each in polygons)
    return np.array([each[[*range(len(each)), *[-1] * (most - len(each))]] for each in polygons])


def together(polygons: Sequence[Array]) -> Array:
    """Return several arrays of polygons as one; fewer corners repeat the last one."""
    most = max(each.shape[1] for each in polygons)
    return np.concatenate([each[:, np.minimum(np.arange(most), each.shape[1] - 1)]
                           for each in polygons])  # fmt: skip


def heights(polygons: Array, planes: Array) -> Array:
    """Return the height of a plane (at, along x, along y) over each corner of its polygon."""
    at, along_x, along_y = planes.T[:, :, None]
    return np.asarray(at + along_x * polygons[..., 0] + along_y * polygons[..., 1])


def halves(polygons: Array, planes: Array) -> tuple[Array, Flags]:
    """Return the part of each polygon over which its plane is not negative, as `clipped` does.

    Parameters
    ----------
    polygons : array of shape (polygons, corners, 2)
        Convex; a corner may be repeated.
    planes : array of shape (polygons, 3)
        The plane of each.

    Returns
    -------
    tuple of array
        The polygons of which something is left, and which these are.

    Examples
    --------
    >>> square = np.array([box(0.0, 0.0, 2.0, 2.0)])
    >>> cut, left = halves(square, np.array([[-1.0, 1.0, 0.0]]))
    >>> float(areas(cut)[0]), left.tolist()
    (2.0, [True])
    """
    high = heights(polygons, planes)
    high = np.where(high.min(axis=1, keepdims=True, initial=0.0) >= -1e-12, np.abs(high), high)
    after = np.roll(high, -1, axis=1)
    crosses = (high < 0) != (after < 0)
    part = np.where(crosses, high / np.where(crosses, high - after, 1.0), 0.0)
    cut = polygons + part[..., None] * (np.roll(polygons, -1, axis=1) - polygons)
    doubled = len(polygons), 2 * polygons.shape[1]
    corners = np.stack([polygons, cut], axis=2).reshape(*doubled, 2)
    held = np.stack([high >= 0, crosses], axis=2).reshape(doubled)
    counts = held.sum(axis=1)
    place = np.minimum(np.arange(counts.max(initial=1)), np.maximum(counts - 1, 0)[:, None])
    order = np.take_along_axis(np.argsort(~held, axis=1, kind="stable"), place, axis=1)
    found = np.take_along_axis(corners, order[..., None], axis=1)
    left = (counts > 0) & (areas(found) > _LEAST_AREA_M2)
    return found[left], left


def areas(polygons: Array) -> Array:
    """Return the area of each polygon [m²]."""
    x, y = (polygons - polygons[:, :1]).transpose(2, 0, 1)
    return np.asarray((x[:, 1:-1] * y[:, 2:] - x[:, 2:] * y[:, 1:-1]).sum(axis=1) / 2)


def middles(polygons: Array) -> Array:
    """Return a point within each polygon: the mean of its corners, each counted once."""
    apart = np.abs(polygons - np.roll(polygons, 1, axis=1)).sum(axis=2, keepdims=True) > 1e-9
    return np.asarray((polygons * apart).sum(axis=1) / apart.sum(axis=1))


def across(points: Array, levels: Array) -> tuple[Array, Array]:
    """Return where lines v = level enter and leave convex polygons, nan where they miss one.

    Parameters
    ----------
    points : array of shape (..., corners, 2)
        A polygon, or several, each corner as (u, v).
    levels : array
        The lines, the last axis of what is returned.

    Examples
    --------
    >>> across(np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 4.0]]), np.array([0.0, 1.0, 9.0]))
    (array([ 0.,  0., nan]), array([ 4.,  3., nan]))
    """
    u1, v1 = points[..., None, :, 0], points[..., None, :, 1]
    u2, v2 = (np.concatenate([each[..., 1:], each[..., :1]], axis=-1) for each in (u1, v1))
    level = levels[:, None]
    low, high = np.minimum(v1, v2), np.maximum(v1, v2)
    hit = (level >= low - TOUCH_M / 2) & (level <= high + TOUCH_M / 2)
    rise = v2 - v1
    steep = np.abs(rise) > TOUCH_M
    part = (level - v1) / np.where(steep, rise, np.inf)  # 0 along a side that is level itself
    at = u1 + np.minimum(np.maximum(part, 0.0), 1.0) * (u2 - u1)
    to = np.where(steep, at, u2)
    first = np.where(hit, np.minimum(at, to), np.inf).min(axis=-1)
    last = np.where(hit, np.maximum(at, to), -np.inf).max(axis=-1)
    missed = np.isinf(first)
    return np.where(missed, np.nan, first), np.where(missed, np.nan, last)


def positive_part(values: Array) -> tuple[Array, Array]:
    """Return mean and share of where the least of linear functions along a line is positive.

    Parameters
    ----------
    values : array of shape (lines, functions, 2)
        Each function at the start and the end of each line.

    Returns
    -------
    tuple of array
        The mean of max(0, min of the functions) over each line, and the part of the line over
        which it is more than zero.

    Notes
    -----
    Exact: between the points where any two of the functions, or one and zero, cross, the least
    of them is linear.

    Examples
    --------
    From -1 to 1: positive over the second half, where its mean is 1/2.

    >>> mean, share = positive_part(np.array([[[-1.0, 1.0]]]))
    >>> float(mean[0]), float(share[0])
    (0.25, 0.5)
    """
    whole = np.concatenate([values, np.zeros_like(values[:, :1])], axis=1)
    first, second = np.triu_indices(whole.shape[1], 1)
    gap = whole[:, first] - whole[:, second]
    change = gap[..., 0] - gap[..., 1]
    place = np.where(change == 0, 0.0, gap[..., 0] / np.where(change == 0, 1.0, change))
    ends = np.tile([0.0, 1.0], (len(values), 1))
    at = np.sort(np.concatenate([ends, np.clip(place, 0.0, 1.0)], axis=1), axis=1)
    drawn = values[:, :, :1] + (values[:, :, 1:] - values[:, :, :1]) * at[:, None, :]
    least = np.maximum(drawn.min(axis=1), 0.0)
    width, mean = np.diff(at, axis=1), (least[:, 1:] + least[:, :-1]) / 2
    return (width * mean).sum(axis=1), np.where(mean > 1e-9, width, 0.0).sum(axis=1)
