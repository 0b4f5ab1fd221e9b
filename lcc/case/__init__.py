"""The case: everything a comparison is computed from, as frozen dataclasses in SI."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.alternatives import KINDS, Alternative, Coating, Membrane, MetalRetrofit, kind_of
from lcc.case.building import Building, Equipment, Site, WeatherFile
from lcc.case.economics import Economics, Prices, Tax
from lcc.case.fields import check, part, parts, text
from lcc.case.framing import Framing, Rectangle
from lcc.case.layers import Assembly, Cavity, Fasteners, Layer
from lcc.case.roof import Roof
from lcc.case.uncertainty import Uncertainty
from lcc.case.unit_prices import UnitPrices
from lcc.errors import CaseError

__all__ = [
    "KINDS",
    "Alternative",
    "Assembly",
    "Building",
    "Case",
    "Cavity",
    "Coating",
    "Economics",
    "Equipment",
    "Fasteners",
    "Framing",
    "Layer",
    "Membrane",
    "MetalRetrofit",
    "Prices",
    "Rectangle",
    "Roof",
    "Site",
    "Tax",
    "Uncertainty",
    "UnitPrices",
    "WeatherFile",
    "kind_of",
]


@dataclass(frozen=True)
class Case:
    """One building's question: the roof today, the base case and the alternatives to it."""

    site: Site = part("Site")
    roof: Roof = part("Roof as it is today")
    name: str = text("Name", "Roof", advanced=False)
    building: Building = part("Building", Building)
    prices: Prices = part("Prices", Prices)
    economics: Economics = part("Economics", Economics)
    uncertainty: Uncertainty = part("Uncertainty", Uncertainty)
    base_case: Alternative = part("Base case", Membrane)
    alternatives: tuple[Alternative, ...] = parts(
        "Alternatives", lambda: (MetalRetrofit(),), low=1, high=20
    )

    def __post_init__(self) -> None:
        check(self)
        if not self.alternatives:
            raise CaseError("alternatives", [], "at least one alternative")
