"""What the posts bring onto each joist, beam or wall of the old roof, and the net uplift there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lcc.quantities.polygons import TOUCH_M, Array
from lcc.quantities.post_and_purlin_spacing import structure
from lcc.quantities.roof_frame import RoofFrame
from lcc.quantities.roof_planes import RoofPart
from lcc.quantities.set_out import even_runs, stand_on
from lcc.quantities.wind_pressure import ALLOWABLE
from lcc.results.takeoff_result import BearingLoad

HOLDS_DOWN = 0.6  # of the dead load


def net_uplift_kg(pulled_kg: Array, carried_m2: Array, hung_kg_m2: float) -> Array:
    """Return the uplift that the dead load does not hold down, 0.6 W less 0.6 D, or 0 [kg].

    Parameters
    ----------
    pulled_kg : array
        Pull of wind, strength design [kg].
    carried_m2 : array
        Roof carried [m²].
    hung_kg_m2 : float
        Dead load of what hangs on the posts, over the plan [kg/m²].

    References
    ----------
    ASCE 7-16 and 7-22, 2.4.1, allowable stress design, 0.6 D + 0.6 W, from memory.

    Examples
    --------
    100 kg of pull on 2 m² that weigh 10 kg/m²: 60 less 12.

    >>> net_uplift_kg(np.array([100.0]), np.array([2.0]), 10.0)
    array([48.])
    """
    held = HOLDS_DOWN * hung_kg_m2 * carried_m2
    return np.asarray(np.maximum(ALLOWABLE * pulled_kg - held, 0.0))


@dataclass(frozen=True)
class _Posts:
    """All posts of a roof: place in the plan, part that owns it, roof carried, pull of wind."""

    x_m: Array
    y_m: Array
    part: NDArray[np.int64]
    carried_m2: Array
    pulled_kg: Array

    @classmethod
    def of(cls, roof: RoofFrame) -> _Posts:
        falls = [(fall.frame, [line for line in fall.lines if line.posts_m.size])
                 for fall in roof.falls]  # fmt: skip
        falls = [(frame, lines) for frame, lines in falls if lines]
        x, y = np.concatenate([frame.post_places(lines) for frame, lines in falls], axis=1)
        every = [line for _, lines in falls for line in lines]
        part = [frame.part.index for frame, lines in falls for line in lines for _ in line.posts_m]
        return cls(x, y, np.array(part), np.concatenate([line.carried_m2 for line in every]),
                   np.concatenate([line.pulled_kg for line in every]))  # fmt: skip


def bearing_loads(roof: RoofFrame, dead_kg_m2: float, hung_kg_m2: float) -> tuple[BearingLoad, ...]:
    """Return what posts bring onto every joist, beam and wall surveyed, those alike in one row.

    Parameters
    ----------
    roof : RoofFrame
        The roof.
    dead_kg_m2, hung_kg_m2 : float
        Load added over the plan, and the part of it that hangs on the posts [kg/m²].

    Notes
    -----
    A post between two of them stands on a header, which hands its load to both by the lever. Loads
    of all rows of a part add up to those of the posts on its old roof.
    """
    if not any(part.rectangle.bearing_spacing_m for part in roof.parts):
        return ()
    posts = _Posts.of(roof)
    over = stand_on(roof.parts, posts.part, posts.x_m, posts.y_m)
    return tuple(
        row
        for part in roof.parts
        for row in _of_part(part, posts, over == part.index, (dead_kg_m2, hung_kg_m2),
                            windy=roof.zones is not None)
    )  # fmt: skip


def _of_part(
    part: RoofPart, posts: _Posts, here: NDArray[np.bool_], loads: tuple[float, float], *,
    windy: bool,
) -> list[BearingLoad]:  # fmt: skip
    lines_m = structure(part, part.rectangle.bearing_runs)
    if lines_m is None:
        return []
    crossed = part.rectangle.bearing_runs == "front-back"
    edge, far = ("left", "right") if crossed else ("front", "back")
    at_m = (posts.x_m if crossed else posts.y_m)[here]
    number, carried, pulled = _shared(lines_m, at_m, posts.carried_m2[here], posts.pulled_kg[here])
    net, names = net_uplift_kg(pulled, carried, loads[1]), {0: edge, len(lines_m) - 1: far}
    alike: dict[tuple[str, int, float, float], list[int]] = {}
    for k in np.flatnonzero(number).tolist():
        what = f"{names[k]} edge" if k in names else "joists or beams"
        key = what, int(number[k]), round(float(carried[k]), 3), round(float(net[k]), 3)
        alike.setdefault(key, []).append(k)
    rows = []
    for (what, count, _, _), members in alike.items():
        area, up = float(carried[members[0]]), float(net[members[0]])
        dead = loads[0] * area
        rows += [
            BearingLoad(part.index + 1, what, edge, first, spacing, lines, count, area, dead,
                        dead / part.extent(edge)[0], up if windy else None)
            for first, spacing, lines in even_runs((lines_m[members] - lines_m[0]).tolist())
        ]  # fmt: skip
    return sorted(rows, key=lambda row: row.first_m)


def _shared(lines_m: Array, at_m: Array, carried_m2: Array, pulled_kg: Array) -> Array:
    """Return the posts on each line, or on a header to it, and its share of what they carry."""
    after = np.clip(lines_m.searchsorted(at_m - TOUCH_M), 1, len(lines_m) - 1)
    low, high = lines_m[after - 1], lines_m[after]
    part = np.clip((at_m - low) / (high - low), 0.0, 1.0)
    part = np.where(high - at_m < TOUCH_M, 1.0, np.where(at_m - low < TOUCH_M, 0.0, part))
    share = np.concatenate([1.0 - part, part])
    onto = np.concatenate([after - 1, after])
    return np.array([
        np.bincount(onto, weights, minlength=len(lines_m))
        for weights in (share > 0, share * np.tile(carried_m2, 2), share * np.tile(pulled_kg, 2))
    ])  # fmt: skip
