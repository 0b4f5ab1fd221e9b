"""The alternatives: membranes again and again, a coating, or a metal retrofit."""

from dataclasses import dataclass
from typing import Annotated

from lcc import tables
from lcc.case.duty_prices import LAYING, PRICE_INCLUDES
from lcc.case.fields import (
    CasePart,
    Choice,
    Choices,
    Flag,
    Key,
    Part,
    Parts,
    Quantity,
    TableRow,
    Text,
    facts_of,
)
from lcc.case.framing import Framing
from lcc.case.layers import Cavity, Layer
from lcc.errors import CaseError

COVERING = TableRow("coverings", "covering")
# A quotation stands in for the price of the table.
COVERING_PRICE = TableRow("coverings", "covering", unless="quotations")
PANEL = TableRow("panels", "panel")
START = ("end-of-life", "now")
METHODS = ("least-cost", "recover-where-allowed", "tear-off-first", "tear-off")

SHARE = Quantity(
    "fraction", "Part of the roof done first", low=0.05, high=1,
    basis="common practice", source="the whole roof at once",
    help="The rest keeps today's roof, its repairs, leaks and energy, until it is done too.",
)  # fmt: skip
REST = Quantity(
    "years", "The rest is done in year", low=0, high=50, when_unset="all is done at once"
)
WAIT = Quantity(
    "years", "Wait for the first job", low=0, high=50, when_unset="as chosen above",
    help="Past the expected life leak damage grows each year.",
)  # fmt: skip
INCLUDES = Choices(
    "The price entered includes", PRICE_INCLUDES, basis="common practice",
    source="a price by area is usually for laying, with edges and pipes",
    help="Work that the price holds; what it leaves out is added at its own price.",
)  # fmt: skip
REFLECTANCE = Quantity("fraction", "Aged solar reflectance", low=0, high=1, row=COVERING)
EMITTANCE = Quantity("fraction", "Thermal emittance", low=0, high=1, row=COVERING)
SLOWER = "At the usual life; slower for a roof that lasts longer, faster for a shorter one."
GRANT = Quantity(
    "money", "Grant or rebate", low=0, high=1e8, basis="common practice",
    source="none unless promised", help="Paid to the owner with the first work.",
)  # fmt: skip
INSURANCE = Quantity(
    "money", "Insurance premium a year, over that of today's roof", low=-1e7, high=1e7,
    basis="common practice", source="none unless the insurer says so",
    help="While this roof is in place; less than 0 where it is lower.",
)  # fmt: skip
QUOTATIONS = Parts(
    "Quotations side by side",
    high=10,
    help="In place of one price: each is brought to one scope, and the lowest is taken.",
)
TAKEN = Text(
    "Quotation taken, by its bidder",
    high=80,
    help="The lowest once all are brought to one scope, where none is named.",
)

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Quotation(CasePart):
    """What a bidder asks for the first job, and what he says his price includes."""

    bidder: Annotated[str, Text("Bidder", high=80, advanced=False)]
    price_per_m2: Annotated[float, Quantity(
        "price_per_area", "Price quoted", low=0, high=5000, advanced=False)]
    price_includes: Annotated[tuple[str, ...], Choices(
        "It says that it includes", PRICE_INCLUDES, advanced=False, basis="common practice",
        source="a price by area is usually for laying, with edges and pipes",
        help="What it does not state is priced, added, and asked of the bidder.")] = ("laying",)


@dataclass(frozen=True)
class LaterMembrane(CasePart):
    """A membrane laid when the roof before it fails, and again each time it fails."""

    name: Annotated[str, Text("Name", advanced=False)] = "New membrane"
    covering: Annotated[str, Key(
        "coverings", "New covering", advanced=False, basis="common practice",
        source="usual for a membrane laid over an old roof or a tear-off; ask the roofer for his")
    ] = "epdm-black"
    method: Annotated[str, Choice(
        "Method", METHODS,
        help="A new membrane (a recover) may go over one sound, dry one; otherwise all are torn "
        "off. Tear-off first: now, and over the old one later where allowed. Least cost: the one "
        "that costs least over the study period; at a price that holds a tear-off, one that begins "
        "with it.",
        basis="published",
        source="International Building Code 2021, 1511.3.1.1")] = "least-cost"
    service_life_y: Annotated[float | None, Quantity(
        "years", "Service life", low=1, high=100, row=COVERING, advanced=False)] = None
    recover_life_ratio: Annotated[float, Quantity(
        "ratio", "Life of a membrane over the old one, as a part of a new one's", low=0.1, high=1.5,
        basis="common practice", source="0.8 to 1 of a new one; sources differ")] = 0.9
    price_per_m2: Annotated[float | None, Quantity(
        "price_per_area", "Price of the membrane", low=0, high=2000, row=COVERING_PRICE,
        advanced=False)] = None
    price_includes: Annotated[tuple[str, ...], Choices(
        "The price entered includes", PRICE_INCLUDES, advanced=False, basis="common practice",
        source="a price by area is usually for laying, with edges and pipes",
        help="Work that the price of the first job holds. What it leaves out is added at its own "
        "price. For later jobs what it holds beside laying is taken off. The rest is the price of "
        "laying: at least the usual price, but never more than the price entered.")] = ("laying",)
    solar_reflectance: Annotated[float | None, REFLECTANCE] = None
    thermal_emittance: Annotated[float | None, EMITTANCE] = None
    raise_insulation: Annotated[bool, Flag(
        "Insulation raised to the minimum at tear-off", basis="second-hand",
        source="ASHRAE 90.1-2019 Tables 5.5-0 to 5.5-8, above deck, read in a copy")] = True
    insulation_target_m2k_w: Annotated[float | None, Quantity(
        "resistance", "R-value of the insulation after tear-off", low=0, high=30,
        when_unset="the climate zone's minimum, if insulation is raised at all",
        help="What insulation above the deck is brought up to; more than the minimum if "
        "wanted.")] = None
    recover_board_m2k_w: Annotated[float, Quantity(
        "resistance", "R-value of boards under the first membrane over the old one", low=0, high=30,
        basis="common practice", source="none unless wanted")] = 0.0
    tapered: Annotated[bool, Flag(
        "Tapered insulation at the first job", basis="common practice",
        source="none unless water stands on the roof",
        help="Laid in any case where water stands for 48 hours.")] = False
    repairs_per_m2: Annotated[float, Quantity(
        "price_per_area", "Repairs in a covering's first year", low=0, high=200, basis="demo",
        source="invented; replace by the owner's records")] = 0.3
    repairs_growth: Annotated[float, Quantity(
        "rate", "Growth of repairs with each year of age", low=-0.2, high=1, basis="demo",
        help=SLOWER,
        source="invented; replace by the owner's records")] = 0.08
    grant: Annotated[float, GRANT] = 0.0
    insurance_premium: Annotated[float, INSURANCE] = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        _check_priced(self)
        _check_kind(self.covering, "membrane", "a membrane; enter a coating as a coating")

    def begun(self, start: str) -> "Membrane":
        """Return the same membrane as one that is laid on the roof of today."""
        values = {name: getattr(self, name) for name in facts_of(LaterMembrane)}
        return Membrane(**values, start=start, origins=self.origins)


@dataclass(frozen=True)
class Membrane(LaterMembrane):
    """A membrane covering laid again each time the one in place fails."""

    start: Annotated[str, Choice(
        "First replacement", START, advanced=False,
        help="When the membrane in place ends, or now.")] = "end-of-life"
    wait_y: Annotated[float | None, WAIT] = None
    share_first: Annotated[float, SHARE] = 1.0
    rest_after_y: Annotated[float | None, REST] = None
    quotations: Annotated[tuple[Quotation, ...], QUOTATIONS] = ()
    quotation_taken: Annotated[str, TAKEN] = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        _check_quotations(self)
        _check_parts(self)


def _check_parts(choice: "Membrane | MetalRetrofit") -> None:
    """Check that a roof done in two parts says when the rest follows, and only such a roof."""
    whole, year = choice.share_first == 1, choice.rest_after_y
    if whole != (year is None):
        allowed = "nothing where all is done first" if whole else "the year of the rest"
        raise CaseError("rest_after", year, allowed)
    if year is not None and choice.wait_y is not None and year < choice.wait_y:
        raise CaseError("rest_after", year, f"no year before the first part, {choice.wait_y:g}")


def _check_priced(choice: "LaterMembrane | Coating | MetalRetrofit") -> None:
    if choice.price_per_m2 is None and set(choice.price_includes) - {"laying", *LAYING}:
        raise CaseError("price", None, "the price quoted, or nothing under what it includes")


def _check_quotations(choice: "Membrane | Coating | MetalRetrofit") -> None:
    bidders = [each.bidder for each in choice.quotations]
    if choice.quotations and choice.price_per_m2 is not None:
        allowed = "nothing beside quotations: enter it as one of them"
        raise CaseError("price", choice.price_per_m2, allowed)
    if len(set(bidders)) < len(bidders):
        raise CaseError("quotations", ", ".join(bidders), "each bidder once, with his own name")
    if choice.quotation_taken not in ("", *bidders):
        allowed = f"the name of a bidder: {', '.join(bidders) or 'no quotation is entered'}"
        raise CaseError("quotation_taken", choice.quotation_taken, allowed)


def _check_kind(covering: str, kind: str, allowed: str) -> None:
    if tables.rows("coverings")[covering]["kind"] != kind:
        raise CaseError("covering", covering, allowed)


@dataclass(frozen=True)
class Coating(CasePart):
    """A reflective coating on the covering in place, renewed, then a membrane."""

    name: Annotated[str, Text("Name", advanced=False)] = "Reflective coating, renewed"
    covering: Annotated[str, Key(
        "coverings", "Coating", basis="demo", source="the usual choice")] = "white-coating"
    price_per_m2: Annotated[float | None, Quantity(
        "price_per_area", "Coating, laid", low=0, high=2000, row=COVERING_PRICE,
        advanced=False)] = None
    price_includes: Annotated[tuple[str, ...], INCLUDES] = ("laying",)
    renewal_y: Annotated[float | None, Quantity(
        "years", "Renewed every", low=1, high=100,
        row=TableRow("coverings", "covering", "service_life_y"))] = None
    solar_reflectance: Annotated[float | None, REFLECTANCE] = None
    thermal_emittance: Annotated[float | None, EMITTANCE] = None
    life_gain_y: Annotated[float, Quantity(
        "years", "Years the coating adds to the covering below", low=0, high=50, basis="demo",
        source="invented; ask the coating maker's warranty")] = 5.0
    replacement: Annotated[LaterMembrane, Part(
        "Membrane when the covering ends")] = LaterMembrane()
    quotations: Annotated[tuple[Quotation, ...], QUOTATIONS] = ()
    quotation_taken: Annotated[str, TAKEN] = ""
    grant: Annotated[float, GRANT] = 0.0
    insurance_premium: Annotated[float, INSURANCE] = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        _check_priced(self)
        _check_kind(self.covering, "coating", "a coating; enter a membrane as a membrane")
        _check_quotations(self)


@dataclass(frozen=True)
class MetalRetrofit(CasePart):
    """A sloped metal roof framed over the old one, with insulation and a vented cavity."""

    name: Annotated[str, Text("Name", advanced=False)] = "Metal retrofit"
    start: Annotated[str, Choice("When", ("now", "end-of-life"), advanced=False)] = "now"
    price_per_m2: Annotated[float | None, Quantity(
        "price_per_area", "Metal roof price, installed", low=0, high=5000,
        when_unset="from the quantities, or the prices table", advanced=False,
        row=TableRow("prices", "retrofit_per_m2", "value", unless="quotations"),
        help="Framing, insulation, panels, edges and pipes. Other work is added by the same unit "
        "prices for every alternative, as far as each needs it: wet insulation is cut out under a "
        "metal roof but goes with a membrane’s tear-off; rooftop units are lifted for a metal "
        "roof, often only re-flashed for a membrane.")] = None
    price_includes: Annotated[tuple[str, ...], INCLUDES] = ("laying",)
    panel: Annotated[str, Key(
        "panels", "Panel finish", advanced=False, basis="common practice",
        source="usual for a metal roof that is not seen from the street")] = "painted-light"
    solar_reflectance: Annotated[float | None, Quantity(
        "fraction", "Aged solar reflectance of the panel", low=0, high=1,
        row=PANEL)] = None
    thermal_emittance: Annotated[float | None, Quantity(
        "fraction", "Thermal emittance of the panel", low=0, high=1,
        row=PANEL)] = None
    layers: Annotated[tuple[Layer, ...], Parts(
        "Layers laid on the old roof, outside to inside", high=50)] = ()
    cavity: Annotated[Cavity, Part("Cavity")] = Cavity()
    framing: Annotated[Framing | None, Part(
        "Framing from a survey", when_unset="price, slope and cavity as entered")] = None
    slope: Annotated[float, Quantity(
        "slope", "Slope (rise over run)", low=0, high=0.5, basis="demo",
        source="1/2 in 12, above the 1/4 in 12 that the International Building Code "
        "asks")] = 0.5 / 12
    service_life_y: Annotated[float, Quantity(
        "years", "Service life", low=1, high=150, basis="from memory",
        source="central among the sources of the lives table, 25 to 60 years")] = 40.0
    renewal_share: Annotated[float, Quantity(
        "fraction", "New panels on the same framing, part of the first price", low=0, high=1.5,
        basis="demo",
        source="invented: panels, clips, trim and their labor without the framing")] = 0.6
    wet_insulation: Annotated[str, Choice(
        "Wet insulation", ("removed", "left", "torn-off"), basis="common practice",
        source="wet insulation is taken out before a roof is covered",
        help="Removed: cut out where it is wet. Left: it stays under the vented cavity and may "
        "never dry; the energy results show how long it would take. Torn off: the whole old roof "
        "comes off, as some local codes ask above a quarter wet.")] = "removed"
    wait_y: Annotated[float | None, WAIT] = None
    share_first: Annotated[float, SHARE] = 1.0
    rest_after_y: Annotated[float | None, REST] = None
    quotations: Annotated[tuple[Quotation, ...], QUOTATIONS] = ()
    quotation_taken: Annotated[str, TAKEN] = ""
    repairs_per_m2: Annotated[float, Quantity(
        "price_per_area", "Repairs in the roof's first year", low=0, high=200, basis="demo",
        source="invented, a third of a membrane's; replace by the owner's records")] = 0.1
    repairs_growth: Annotated[float, Quantity(
        "rate", "Growth of repairs with each year of age", low=-0.2, high=1, basis="demo",
        help=SLOWER,
        source="invented: as many fold over its life as a membrane's over its own")] = 0.04
    upkeep_per_m2: Annotated[float, Quantity(
        "price_per_area", "Yearly upkeep", low=0, high=200, basis="demo", source="invented")] = 0.2
    service_interval_y: Annotated[float, Quantity(
        "years", "Sealant and ventilator service every", low=1, high=150, basis="demo",
        source="invented")] = 15.0
    service_per_m2: Annotated[float, Quantity(
        "price_per_area", "Sealant and ventilator service", low=0, high=1000, basis="demo",
        source="invented")] = 4.0
    finish_interval_y: Annotated[float, Quantity(
        "years", "Finish renewed every", low=1, high=150, basis="demo", source="invented")] = 35.0
    finish_per_m2: Annotated[float, Quantity(
        "price_per_area", "Finish renewal", low=0, high=1000, basis="demo",
        source="invented")] = 20.0
    grant: Annotated[float, GRANT] = 0.0
    insurance_premium: Annotated[float, INSURANCE] = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.framing is None:
            _check_priced(self)
        _check_quotations(self)
        _check_parts(self)

    @property
    def quoted(self) -> bool:
        """Whether a price is entered, alone or as quotations, and no take-off stands in for it."""
        return self.price_per_m2 is not None or bool(self.quotations)


# fmt: on


Alternative = Membrane | Coating | MetalRetrofit
KINDS: dict[str, type[Membrane] | type[Coating] | type[MetalRetrofit]] = {
    "membrane": Membrane,
    "coating": Coating,
    "metal-retrofit": MetalRetrofit,
}


def kind_of(alternative: Alternative) -> str:
    """Return the word that a case uses for the alternative's kind."""
    return next(kind for kind, cls in KINDS.items() if isinstance(alternative, cls))
