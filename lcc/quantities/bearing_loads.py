"""What the posts bring onto each joist, beam or wall of the old roof, and the net uplift there."""

from dataclasses import dataclass

import numpy as np

from lcc.arrays import Array, Flags, Integers
from lcc.quantities.part_weights import PartWeights
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_and_purlin_spacing import structure
from lcc.quantities.roof_frame import RoofFrame
from lcc.quantities.roof_planes import RoofPart
from lcc.quantities.set_out import even_runs, stand_on
from lcc.quantities.wind_pressure import ALLOWABLE
from lcc.results.takeoff_result import BearingLoad

HOLDS_DOWN = 0.6  # of the dead load


def net_uplift_kg(pulled_kg: Array, hung_kg: Array) -> Array:
    """Return the uplift that the dead load does not hold down, 0.6 W less 0.6 D, or 0 [kg].

    Parameters
    ----------
    pulled_kg : array
        Pull of wind, strength design [kg].
    hung_kg : array
        Dead load of what hangs on the posts [kg].

    References
    ----------
    ASCE 7-16 and 7-22, 2.4.1, allowable stress design, 0.6 D + 0.6 W, from memory.

    Examples
    --------
    100 kg of pull on 20 kg: 60 less 12.

    >>> net_uplift_kg(np.array([100.0]), np.array([20.0]))
    array([48.])
    """
    return np.asarray(np.maximum(ALLOWABLE * pulled_kg - HOLDS_DOWN * hung_kg, 0.0))


@dataclass(frozen=True)
class _Posts:
    """All posts of a roof: place, part that owns it, and roof, pull, dead and hung load on it."""

    x_m: Array
    y_m: Array
    part: Integers
    borne: Array

    @classmethod
    def of(cls, roof: RoofFrame, weights: PartWeights) -> "_Posts":
        falls = [(fall.frame, [line for line in fall.lines if line.posts_m.size])
                 for fall in roof.falls]  # fmt: skip
        falls = [(frame, lines) for frame, lines in falls if lines]
        x, y = np.concatenate([frame.post_places(lines) for frame, lines in falls], axis=1)
        every = [line for _, lines in falls for line in lines]
        part = [frame.part.index for frame, lines in falls for line in lines for _ in line.posts_m]
        carried, pulled = (np.concatenate([getattr(line, name) for line in every])
                           for name in ("carried_m2", "pulled_kg"))  # fmt: skip
        dead = [roof.borne.on_posts_kg(load) for load in (weights.added_kg_m2, weights.hung_kg_m2)]
        return cls(x, y, np.array(part), np.array([carried, pulled, *dead]))


def bearing_loads(roof: RoofFrame, weights: PartWeights) -> tuple[BearingLoad, ...]:
    """Return what posts bring onto every joist, beam and wall surveyed, those alike in one row.

    Parameters
    ----------
    roof : RoofFrame
        The roof.
    weights : PartWeights
        What each part adds.

    Notes
    -----
    A post between two of them stands on a header, which hands its load to both by the lever. Loads
    of all rows of a part add up to those of the posts on its old roof.
    """
    if not any(part.rectangle.bearing_spacing_m for part in roof.parts):
        return ()
    posts = _Posts.of(roof, weights)
    over = stand_on(roof.parts, posts.part, posts.x_m, posts.y_m)
    return tuple(
        row
        for part in roof.parts
        for row in _of_part(part, posts, over == part.index, windy=roof.zones is not None)
    )


def _of_part(part: RoofPart, posts: _Posts, here: Flags, *, windy: bool) -> list[BearingLoad]:
    lines_m = structure(part, part.rectangle.bearing_runs)
    if lines_m is None:
        return []
    crossed = part.rectangle.bearing_runs == "front-back"
    edge, far = ("left", "right") if crossed else ("front", "back")
    at_m = (posts.x_m if crossed else posts.y_m)[here]
    number, carried, pulled, added, hung = _shared(lines_m, at_m, posts.borne[:, here])
    net, names = net_uplift_kg(pulled, hung), {0: edge, len(lines_m) - 1: far}
    alike: dict[tuple[str, int, tuple[float, ...]], list[int]] = {}
    for k in np.flatnonzero(number).tolist():
        what = f"{names[k]} edge" if k in names else "joists or beams"
        borne = tuple(round(float(each[k]), 3) for each in (carried, net, added))
        alike.setdefault((what, int(number[k]), borne), []).append(k)
    rows = []
    for (what, count, _), members in alike.items():
        area, up, dead = (float(each[members[0]]) for each in (carried, net, added))
        rows += [
            BearingLoad(part.index + 1, what, edge, first, spacing, lines, count, area, dead,
                        dead / part.extent(edge)[0], up if windy else None)
            for first, spacing, lines in even_runs((lines_m[members] - lines_m[0]).tolist())
        ]  # fmt: skip
    return sorted(rows, key=lambda row: row.first_m)


def _shared(lines_m: Array, at_m: Array, borne: Array) -> Array:
    """Return the posts on each line, or on a header to it, and its share of what they carry."""
    after = np.clip(lines_m.searchsorted(at_m - TOUCH_M), 1, len(lines_m) - 1)
    low, high = lines_m[after - 1], lines_m[after]
    part = np.clip((at_m - low) / (high - low), 0.0, 1.0)
    part = np.where(high - at_m < TOUCH_M, 1.0, np.where(at_m - low < TOUCH_M, 0.0, part))
    share = np.concatenate([1.0 - part, part])
    onto = np.concatenate([after - 1, after])
    return np.array([
        np.bincount(onto, weights, minlength=len(lines_m))
        for weights in (share > 0, *(share * np.tile(each, 2) for each in borne))
    ])  # fmt: skip
