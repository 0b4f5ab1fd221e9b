"""The case: everything a comparison is computed from, as frozen dataclasses in SI."""

from dataclasses import dataclass
from typing import Annotated

from lcc.case.alternatives import (
    KINDS,
    Alternative,
    Coating,
    LaterMembrane,
    Membrane,
    MetalRetrofit,
    Quotation,
    kind_of,
)
from lcc.case.building import Building, Equipment, Site, WeatherFile
from lcc.case.duty_prices import DutyPrices
from lcc.case.economics import Economics, Financing, Prices, Tax
from lcc.case.fields import CasePart, Part, Parts, Text
from lcc.case.framing import Framing
from lcc.case.layers import Assembly, Cavity, Fasteners, Layer
from lcc.case.proposal import Proposal
from lcc.case.rectangle import Rectangle
from lcc.case.roof import Roof
from lcc.case.uncertainty import Uncertainty
from lcc.case.unit_prices import UnitPrices
from lcc.errors import CaseError

__all__ = [
    "KINDS", "Alternative", "Assembly", "Building", "Case", "Cavity", "Coating", "DutyPrices",
    "Economics", "Equipment", "Fasteners", "Financing", "Framing", "LaterMembrane", "Layer",
    "Membrane", "MetalRetrofit", "Prices", "Proposal", "Quotation", "Rectangle", "Roof", "Site",
    "Tax", "Uncertainty", "UnitPrices", "WeatherFile", "kind_of",
]  # fmt: skip

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Case(CasePart):
    """One building's question: the roof today, the base case and the alternatives to it."""

    site: Annotated[Site, Part("Site")]
    roof: Annotated[Roof, Part("Roof as it is today")]
    name: Annotated[str, Text("Name", advanced=False)] = "Roof"
    building: Annotated[Building, Part("Building")] = Building()
    prices: Annotated[Prices, Part("Prices")] = Prices()
    economics: Annotated[Economics, Part("Economics")] = Economics()
    uncertainty: Annotated[Uncertainty, Part("Uncertainty")] = Uncertainty()
    base_case: Annotated[Alternative, Part("Base case")] = Membrane()
    alternatives: Annotated[tuple[Alternative, ...], Parts("Alternatives", low=1, high=20)] = (
        MetalRetrofit(),
    )
    proposal: Annotated[Proposal, Part("Proposal")] = Proposal()

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.alternatives:
            raise CaseError("alternatives", [], "at least one alternative")
        self._check_names()

    @property
    def choices(self) -> tuple[Alternative, ...]:
        """The base case first, then the alternatives."""
        return (self.base_case, *self.alternatives)

    def _check_names(self) -> None:
        """Refuse a stated name that another has before it; default names are numbered later."""
        places = ["base_case", *(f"alternatives.{at}" for at in range(len(self.alternatives)))]
        taken: set[str] = set()
        for place, choice in zip(places, self.choices, strict=True):
            name = " ".join(choice.name.split())
            if name in taken and choice.states("name"):
                raise CaseError(f"{place}.name", choice.name, "a name that nothing else here has")
            taken.add(name)
