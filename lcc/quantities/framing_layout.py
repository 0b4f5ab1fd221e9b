"""One rectangle of the plan laid out: its falls, its purlin lines, its posts and panels."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lcc.case.framing import Framing, Rectangle
from lcc.results.takeoff_result import PostRow

Array = NDArray[np.float64]


def spaces(length_m: float, at_most_m: float) -> int:
    """Return the least number of equal spaces, none wider than asked.

    Parameters
    ----------
    length_m : float
        Length to divide [m], more than 0.
    at_most_m : float
        Widest space allowed [m], more than 0.

    Notes
    -----
    A ratio that is whole but for rounding of a unit's conversion counts as whole.

    Examples
    --------
    >>> spaces(18.0, 1.5), spaces(18.1, 1.5), spaces(1.0, 5.0)
    (12, 13, 1)
    """
    return max(1, math.ceil(length_m / at_most_m * (1 - 1e-9)))


@dataclass(frozen=True)
class Layout:
    """A rectangle turned so that its falls run one way: lengths along the eave and down the fall.

    Parameters
    ----------
    rectangle : Rectangle
        The rectangle of the plan.
    framing : Framing
        Slope, heights and spacings.
    """

    rectangle: Rectangle
    framing: Framing

    @property
    def falls(self) -> int:
        """Number of falls: one, or two from a ridge."""
        return 2 if self.rectangle.form == "ridge" else 1

    @property
    def across(self) -> bool:
        """Whether the falls run front to back."""
        return self.rectangle.drains_to in ("front", "back")

    @property
    def eave_m(self) -> float:
        """Length of one eave [m]."""
        return self.rectangle.length_m if self.across else self.rectangle.width_m

    @property
    def run_m(self) -> float:
        """Plan length of one fall, eave to high end [m]."""
        whole = self.rectangle.width_m if self.across else self.rectangle.length_m
        return whole / self.falls

    @property
    def plan_area_m2(self) -> float:
        """Plan area [m²]."""
        return self.rectangle.length_m * self.rectangle.width_m

    @property
    def rise_m(self) -> float:
        """Height of the high end above the eave [m]."""
        return self.framing.slope * self.run_m

    @property
    def secant(self) -> float:
        """Length along the slope over length in plan: 1 over the cosine of the slope."""
        return math.hypot(1.0, self.framing.slope)

    @property
    def panel_length_m(self) -> float:
        """Length of a panel, eave to high end [m]."""
        return self.run_m * self.secant

    @property
    def eave_height_m(self) -> float:
        """Height of the panel above the old roof at the eave [m]."""
        return self.framing.lowest_post_m + self.framing.purlin_depth_m

    @property
    def mean_panel_height_m(self) -> float:
        """Mean height of the panel above the old roof [m]."""
        return self.eave_height_m + self.rise_m / 2

    @cached_property
    def from_eave_m(self) -> Array:
        """Purlin lines of one fall by their distance from the eave in plan [m]."""
        return np.linspace(0.0, self.run_m, spaces(self.run_m, self.framing.purlin_spacing_m) + 1)

    @cached_property
    def heights_m(self) -> Array:
        """Post heights of those purlin lines [m]."""
        return self.framing.lowest_post_m + self.framing.slope * self.from_eave_m

    @cached_property
    def rows(self) -> NDArray[np.int64]:
        """Rows of posts at each of those lines; a ridge has one row under its two purlins."""
        rows = np.full(len(self.from_eave_m), self.falls)
        rows[-1] = 1
        return rows

    @property
    def posts_in_row(self) -> int:
        """Posts along one purlin line."""
        return spaces(self.eave_m, self.framing.post_spacing_m) + 1

    @property
    def purlin_lines(self) -> int:
        """Purlin lines of all falls."""
        return self.falls * len(self.from_eave_m)

    @property
    def panels(self) -> int:
        """Panels of all falls."""
        return self.falls * spaces(self.eave_m, self.framing.panel_cover_m)

    @property
    def clips(self) -> int:
        """Clips: one at every seam and rake on every purlin line."""
        return (self.panels // self.falls + 1) * self.purlin_lines

    @property
    def bracing_lines(self) -> int:
        """Bracing lines, each running down the falls; both ends have one."""
        if not self.framing.bracing:
            return 0
        return spaces(self.eave_m, self.framing.brace_spacing_m) + 1

    @property
    def bracing_m(self) -> float:
        """Length of diagonals [m].

        Notes
        -----
        A bracing line has one diagonal between each two neighbouring rows of posts, from the foot
        of the lower to the head of the higher, and one at each row to the next post along it.
        """
        down = np.diff(self.from_eave_m)
        sloping = self.falls * np.hypot(down, self.heights_m[1:]).sum()
        along = self.eave_m / (self.posts_in_row - 1)
        level = (self.rows * np.hypot(along, self.heights_m)).sum()
        return float(self.bracing_lines * (sloping + level))

    def post_rows(self, number: int) -> tuple[PostRow, ...]:
        """Return the schedule of posts, this being rectangle `number`."""
        return tuple(
            PostRow(
                number, line, float(at), float(height), int(rows), int(rows * self.posts_in_row)
            )
            for line, (at, height, rows) in enumerate(
                zip(self.from_eave_m, self.heights_m, self.rows, strict=True), start=1
            )
        )


def layouts(framing: Framing) -> tuple[Layout, ...]:
    """Return the layout of every rectangle of a survey."""
    return tuple(Layout(rectangle, framing) for rectangle in framing.rectangles)
