"""One rectangle of a framing survey's plan: its fall, its old deck, and what its posts stand on.

Lengths along the plan are measured from its front left corner, `x` to the right and `y` to the
back. Heights are measured from the old roof.
"""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.document_values import capital
from lcc.case.fields import CasePart, Choice, Choices, Quantity
from lcc.errors import CaseError
from lcc.units.typed_quantities import both

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class RoofDrain(CasePart):
    """An old roof drain in place: the old deck of its part falls to it from all sides."""

    x_m: Annotated[float, Quantity(
        "length", "From the plan's left", low=0, high=6000, advanced=False)]
    y_m: Annotated[float, Quantity(
        "length", "From the plan's front", low=0, high=6000, advanced=False)]


# fmt: on
SIDES = ("front", "back", "left", "right")
OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}
_NO_PARAPET = "none unless surveyed"

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Rectangle(CasePart):
    """One rectangle of the plan with its own fall; several, side by side, make any plan."""

    length_m: Annotated[float, Quantity(
        "length", "Length, left to right", low=1, high=1000, advanced=False)]
    width_m: Annotated[float, Quantity(
        "length", "Width, front to back", low=1, high=1000, advanced=False)]
    form: Annotated[str, Choice(
        "Form", ("one-way", "ridge"), advanced=False, basis="demo", source="the simplest roof",
        help="One fall, or two that fall from a ridge.")] = "one-way"
    drains_to: Annotated[str, Choice(
        "Drains to", SIDES, advanced=False, basis="demo", source="the simplest roof",
        help="The low side; a ridge roof drains to the opposite side as well.")] = "front"
    x_m: Annotated[float, Quantity(
        "length", "Left edge from the plan's left", low=0, high=5000, advanced=False,
        basis="entered", source="one rectangle needs no place")] = 0.0
    y_m: Annotated[float, Quantity(
        "length", "Front edge from the plan's front", low=0, high=5000, advanced=False,
        basis="entered", source="one rectangle needs no place")] = 0.0
    roof_level_m: Annotated[float, Quantity(
        "length", "Level of the old roof at its edge", low=0, high=200, advanced=False,
        basis="common practice", source="one level",
        help="Above the ground or any other level that is the same for all parts. At the low edge "
             "where the deck falls to a side; at the highest edge where it falls to drains or to "
             "its middle.")] = 0.0
    slope: Annotated[float | None, Quantity(
        "slope", "Slope of this part", low=0, high=0.5, low_open=True,
        when_unset="the slope of the survey")] = None
    lowest_post_m: Annotated[float | None, Quantity(
        "length", "Lowest post of this part", low=0.03, high=10,
        when_unset="the lowest post of the survey")] = None
    roof_height_m: Annotated[float | None, Quantity(
        "length", "Mean roof height of this part above the ground", low=2, high=60,
        when_unset="the mean roof height of the survey",
        help="For wind: half way between its eave and its ridge.")] = None
    ridge_at_m: Annotated[float | None, Quantity(
        "length", "Ridge from the low side", low=0.5, high=1000,
        when_unset="a ridge in the middle")] = None
    hip_ends: Annotated[tuple[str, ...] | None, Choices(
        "Ends closed by a hip", SIDES, when_unset="gables at both ends of a ridge")] = None
    deck_slope: Annotated[float, Quantity(
        "slope", "Fall of the old deck (rise over run)", low=0, high=0.25,
        basis="common practice", source="level unless surveyed")] = 0.0
    deck_drains_to: Annotated[str | None, Choice(
        "The old deck falls to", (*SIDES, "middle"),
        when_unset="the drains placed in the part, or the side that the panel drains to",
        help="Middle: to a line of drains in the middle, along the new eave.")] = None
    parapet_front_m: Annotated[float, Quantity(
        "length", "Parapet at the front, above the old roof", low=0, high=15,
        basis="common practice", source=_NO_PARAPET)] = 0.0
    parapet_back_m: Annotated[float, Quantity(
        "length", "Parapet at the back", low=0, high=15, basis="common practice",
        source=_NO_PARAPET)] = 0.0
    parapet_left_m: Annotated[float, Quantity(
        "length", "Parapet at the left", low=0, high=15, basis="common practice",
        source=_NO_PARAPET)] = 0.0
    parapet_right_m: Annotated[float, Quantity(
        "length", "Parapet at the right", low=0, high=15, basis="common practice",
        source=_NO_PARAPET)] = 0.0
    ballast_kg_m2: Annotated[float | None, Quantity(
        "mass_per_area", "Loose stone taken off this part", low=0, high=200,
        when_unset="that of the survey", help="0 where the part has none.")] = None
    bearing_runs: Annotated[str, Choice(
        "Joists or beams run", ("left-right", "front-back"), basis="common practice",
        source="acts only where their spacing is entered")] = "front-back"
    bearing_spacing_m: Annotated[float | None, Quantity(
        "length", "Spacing of joists or beams", low=0.2, high=30,
        when_unset="posts at equal spaces, not tied to the structure")] = None
    bearing_first_m: Annotated[float, Quantity(
        "length", "First of them from the left or front edge", low=0, high=100,
        basis="common practice", source="the edge wall or edge beam is the first")] = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        self._check_ridge()
        across_m = self.length_m if self.bearing_runs == "front-back" else self.width_m
        if self.bearing_spacing_m is not None and self.bearing_first_m >= across_m:
            edge = "left" if self.bearing_runs == "front-back" else "front"
            allowed = f"less than {both(across_m)}, the part's size from its {edge} edge"
            raise CaseError("bearing_first", self.bearing_first_m, allowed,
                            detail=f"The first joist or beam, {both(self.bearing_first_m)} in, is "
                                   f"off the part. Enter {allowed}.")

    @property
    def area_m2(self) -> float:
        """Plan area [m²]."""
        return self.length_m * self.width_m

    def holds(self, x_m: float, y_m: float) -> bool:
        """Whether a point of the plan lies on the part or its edge, to a millimetre."""
        across = -1e-3 <= x_m - self.x_m <= self.length_m + 1e-3
        return across and -1e-3 <= y_m - self.y_m <= self.width_m + 1e-3

    @property
    def depth_m(self) -> float:
        """Plan length from its low side to the opposite one [m]."""
        return self.width_m if self.drains_to in ("front", "back") else self.length_m

    @property
    def top_m(self) -> float:
        """Where its ridge, or its high edge, lies from its low side [m]."""
        if self.form != "ridge":
            return self.depth_m
        return self.depth_m / 2 if self.ridge_at_m is None else self.ridge_at_m

    def _check_ridge(self) -> None:
        depth_m = self.depth_m
        if self.form != "ridge":
            if self.ridge_at_m is not None:
                raise CaseError("ridge_at", self.ridge_at_m,
                                "no value: the part has a single fall; or choose the form ridge")
            for end in self.hip_ends or ():
                told = (f"the part has a single fall, to the {self.drains_to}, and a hip closes "
                        f"the end of a ridge. Take the hip at the {end} out, or choose the form "
                        "ridge")
                raise CaseError("hip_ends", end, f"no hip at the {end}: {told}",
                                detail=f"{capital(told)}.")
        if self.ridge_at_m is not None and self.ridge_at_m >= depth_m:
            raise CaseError("ridge_at", self.ridge_at_m,
                            f"less than {both(depth_m)}, from the low side at the "
                            f"{self.drains_to} to the {OPPOSITE[self.drains_to]}")
        for end in self.hip_ends or ():
            if end in (self.drains_to, OPPOSITE[self.drains_to]):
                told = f"the {end} is an eave"
                raise CaseError("hip_ends", end, f"an end of the ridge: {told}",
                                detail=f"A hip closes an end of the ridge; {told}. Take the hip "
                                       f"at the {end} out.")
            if self.ridge_at_m is not None and self.ridge_at_m != depth_m / 2:
                raise CaseError("ridge_at", self.ridge_at_m,
                                f"{both(depth_m / 2)}, the middle, where an end is a hip")


# fmt: on
