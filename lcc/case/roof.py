"""The roof as it is today."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import check, key, parts, quantity, whole
from lcc.case.layers import Layer
from lcc.errors import CaseError


@dataclass(frozen=True)
class Roof:
    """The roof as surveyed: size, age, coverings in place and layers."""

    area_m2: float = quantity("area", "Roof area", low=1, high=1e6, advanced=False)
    covering: str = key(
        "coverings", "Top covering today", "built-up-gravel", advanced=False, basis="demo",
        source="the demo school",
    )  # fmt: skip
    age_y: float = quantity(
        "years", "Age of the top covering", 15.0, low=0, high=100, advanced=False, basis="demo",
        source="the demo school",
    )  # fmt: skip
    remaining_life_y: float | None = quantity(
        "years", "Years the covering has left", None, low=0, high=100,
        when_unset="service life of the covering less its age",
    )  # fmt: skip
    coverings: int = whole(
        "Coverings in place", 1, low=1, high=10, advanced=False, basis="demo",
        source="the demo school", help="How many roof systems lie one over the other.",
    )  # fmt: skip
    wet_fraction: float = quantity(
        "fraction", "Part of the insulation that is wet", 0.0, low=0, high=1,
        basis="common practice", source="dry unless surveyed",
    )  # fmt: skip
    rooftop_units: int = whole(
        "Rooftop units", 0, low=0, high=1000, basis="common practice", source="none unless counted"
    )
    layers: tuple[Layer, ...] = parts("Layers, outside to inside", (), low=1, high=50)
    solar_reflectance: float | None = quantity(
        "fraction", "Solar reflectance", None, low=0, high=1, when_unset="from the coverings table"
    )
    thermal_emittance: float | None = quantity(
        "fraction", "Thermal emittance", None, low=0, high=1, when_unset="from the coverings table"
    )
    repairs_per_m2: float = quantity(
        "price_per_area", "Repairs this year", 1.0, low=0, high=200, basis="demo",
        source="invented; replace by the owner's records",
    )  # fmt: skip
    repairs_growth: float = quantity(
        "rate", "Growth of these repairs each year", 0.08, low=-0.2, high=1, basis="demo",
        source="invented; replace by the owner's records",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)
        if not self.layers:
            raise CaseError("layers", [], "at least one layer")
