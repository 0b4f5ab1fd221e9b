"""What the owner can do with the roof: membranes again, a coating, or a metal retrofit."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import check, choice, flag, key, part, parts, quantity, text
from lcc.case.framing import Framing
from lcc.case.layers import Cavity, Layer
from lcc.errors import CaseError

COVERING = "from the coverings table"
START = ("end-of-life", "now")


@dataclass(frozen=True)
class Membrane:
    """A membrane covering laid again each time the one in place ends."""

    name: str = text("Name", "Membrane again and again", advanced=False)
    covering: str = key(
        "coverings", "New covering", "epdm-black", advanced=False, basis="demo",
        source="the demo school",
    )  # fmt: skip
    start: str = choice(
        "First replacement", START, "end-of-life", advanced=False,
        help="When the membrane in place ends, or now.",
    )  # fmt: skip
    method: str = choice(
        "Method", ("recover-where-allowed", "tear-off"), "recover-where-allowed",
        help="A recover is laid over one sound, dry covering; otherwise all are torn off.",
        basis="published", source="International Building Code 2012, 1510.3",
    )  # fmt: skip
    service_life_y: float | None = quantity(
        "years", "Service life", None, low=1, high=100, when_unset=COVERING, advanced=False
    )
    recover_life_ratio: float = quantity(
        "ratio", "Life of a recover over that of a new covering", 0.8, low=0.1, high=1.5,
        basis="common practice", source="about 0.8 of a new one",
    )  # fmt: skip
    price_per_m2: float | None = quantity(
        "price_per_area", "New covering", None, low=0, high=2000, when_unset=COVERING,
        advanced=False,
    )  # fmt: skip
    price_covers: str = choice(
        "This price covers", ("laying", "everything"), "laying", advanced=False,
        help="Laying alone: tear-off, disposal, insulation, lifting of units and disruption are "
        "added at their own prices. Everything: a quotation for the first replacement that "
        "leaves nothing to add; what those come to is taken out of it for what follows.",
    )  # fmt: skip
    solar_reflectance: float | None = quantity(
        "fraction", "Aged solar reflectance", None, low=0, high=1, when_unset=COVERING
    )
    thermal_emittance: float | None = quantity(
        "fraction", "Thermal emittance", None, low=0, high=1, when_unset=COVERING
    )
    raise_insulation: bool = flag(
        "Insulation raised to the minimum at tear-off", True,
        basis="published", source="ASHRAE 90.1-2019 Tables 5.5-0 to 5.5-8, above deck",
    )  # fmt: skip
    insulation_target_m2k_w: float | None = quantity(
        "resistance", "R-value of the insulation after tear-off", None, low=0, high=30,
        when_unset="the climate zone's minimum, if insulation is raised at all",
        help="What insulation above the deck is brought up to; more than the minimum if wanted.",
    )  # fmt: skip
    repairs_per_m2: float = quantity(
        "price_per_area", "Repairs in a covering's first year", 0.3, low=0, high=200,
        basis="demo", source="invented; replace by the owner's records",
    )  # fmt: skip
    repairs_growth: float = quantity(
        "rate", "Growth of repairs with each year of age", 0.08, low=-0.2, high=1,
        basis="demo", source="invented; replace by the owner's records",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)
        if self.price_covers == "everything" and self.price_per_m2 is None:
            raise CaseError("price", None, "the price quoted, where it is said to cover everything")


@dataclass(frozen=True)
class Coating:
    """A reflective coating on the covering in place, renewed, then a membrane."""

    name: str = text("Name", "Reflective coating, renewed", advanced=False)
    covering: str = key(
        "coverings", "Coating", "white-coating", basis="demo", source="the usual choice"
    )
    price_per_m2: float | None = quantity(
        "price_per_area", "Coating, laid", None, low=0, high=2000, when_unset=COVERING,
        advanced=False,
    )  # fmt: skip
    renewal_y: float | None = quantity(
        "years", "Renewed every", None, low=1, high=100, when_unset=COVERING
    )
    solar_reflectance: float | None = quantity(
        "fraction", "Aged solar reflectance", None, low=0, high=1, when_unset=COVERING
    )
    thermal_emittance: float | None = quantity(
        "fraction", "Thermal emittance", None, low=0, high=1, when_unset=COVERING
    )
    life_gain_y: float = quantity(
        "years", "Years the coating adds to the covering below", 5.0, low=0, high=50,
        basis="demo", source="invented; ask the coating maker's warranty",
    )  # fmt: skip
    replacement: Membrane = part("Membrane when the covering ends", Membrane)

    def __post_init__(self) -> None:
        check(self)


@dataclass(frozen=True)
class MetalRetrofit:
    """A sloped metal roof framed over the old one, with insulation and a vented cavity."""

    name: str = text("Name", "Metal retrofit", advanced=False)
    start: str = choice("Built", ("now", "end-of-life"), "now", advanced=False)
    price_per_m2: float | None = quantity(
        "price_per_area", "Retrofit, complete", None, low=0, high=5000, when_unset=(
            "from the quantities, or the prices table"), advanced=False,
        help="All of the work, with wet insulation torn out where that is to be; rooftop units "
        "are lifted at a price of their own.",
    )  # fmt: skip
    panel: str = key(
        "panels", "Panel finish", "painted-light", advanced=False, basis="demo",
        source="the demo school",
    )  # fmt: skip
    solar_reflectance: float | None = quantity(
        "fraction", "Aged solar reflectance of the panel", None, low=0, high=1,
        when_unset="from the panels table",
    )  # fmt: skip
    thermal_emittance: float | None = quantity(
        "fraction", "Thermal emittance of the panel", None, low=0, high=1,
        when_unset="from the panels table",
    )  # fmt: skip
    layers: tuple[Layer, ...] = parts("Layers laid on the old roof, outside to inside", (), high=50)
    cavity: Cavity = part("Cavity", Cavity)
    framing: Framing | None = part(
        "Framing from a survey", None, when_unset="price, slope and cavity as entered"
    )
    slope: float = quantity(
        "slope", "Slope (rise over run)", 0.5 / 12, low=0, high=0.5, basis="demo",
        source="1/2 in 12, above the 1/4 in 12 that the International Building Code asks",
    )  # fmt: skip
    service_life_y: float = quantity(
        "years", "Service life", 50.0, low=1, high=150, basis="common practice",
        source="structural standing seam 40 to 60 years and more",
    )  # fmt: skip
    upkeep_per_m2: float = quantity(
        "price_per_area", "Yearly upkeep", 0.2, low=0, high=200, basis="demo", source="invented"
    )
    service_interval_y: float = quantity(
        "years", "Sealant and ventilator service every", 15.0, low=1, high=150, basis="demo",
        source="invented",
    )  # fmt: skip
    service_per_m2: float = quantity(
        "price_per_area", "Sealant and ventilator service", 4.0, low=0, high=1000, basis="demo",
        source="invented",
    )  # fmt: skip
    finish_interval_y: float = quantity(
        "years", "Finish renewed every", 35.0, low=1, high=150, basis="demo", source="invented"
    )
    finish_per_m2: float = quantity(
        "price_per_area", "Finish renewal", 20.0, low=0, high=1000, basis="demo", source="invented"
    )

    def __post_init__(self) -> None:
        check(self)


Alternative = Membrane | Coating | MetalRetrofit
KINDS: dict[str, type[Membrane] | type[Coating] | type[MetalRetrofit]] = {
    "membrane": Membrane,
    "coating": Coating,
    "metal-retrofit": MetalRetrofit,
}


def kind_of(alternative: Alternative) -> str:
    """Return the word that a case uses for the alternative's kind."""
    return next(kind for kind, cls in KINDS.items() if isinstance(alternative, cls))
