"""One plain sentence for each word of the trade or of finance that the page uses."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Term:
    """A word and what it means."""

    word: str
    meaning: str


TERMS: dict[str, Term] = {
    "life-cycle-cost": Term(
        "Life-cycle cost",
        "Everything the roof costs over the study period, work and energy, each year’s amount "
        "brought back to today’s money with the discount rate (ASTM E917).",
    ),
    "annual-cost": Term(
        "Equivalent uniform annual cost",
        "The same amount every year that would add up to the life-cycle cost.",
    ),
    "residual-value": Term(
        "Residual value",
        "What the roof is still worth at the end, from the years it has left, straight line. "
        "Insulation and framing below it count by a life of their own.",
    ),
    "net-savings": Term(
        "Net savings",
        "How much less the alternative costs than the base case over the whole study period, in "
        "today’s money (ASTM E1074).",
    ),
    "sir": Term(
        "Savings-to-investment ratio (SIR)",
        "Energy, repairs and upkeep saved for each extra dollar of roofing work over the study "
        "period, less what the roofs are worth at its end; above 1 it pays (ASTM E964, NIST "
        "Handbook 135).",
    ),
    "airr": Term(
        "Adjusted internal rate of return (AIRR)",
        "The yearly return on the extra money spent on work when savings are put aside at the "
        "discount rate (ASTM E1057).",
    ),
    "irr": Term(
        "Internal rate of return",
        "The discount rate at which both choices would cost the same; some series of payments "
        "have none, or several.",
    ),
    "simple-payback": Term(
        "Simple payback",
        "First year from which all that is spent so far stays at or below what the base case has "
        "cost, without interest (ASTM E1121); none where net savings are negative.",
    ),
    "discounted-payback": Term(
        "Discounted payback",
        "First year from which all that is spent so far stays at or below what the base case has "
        "cost, each year’s cost counted in today’s money (ASTM E1121).",
    ),
    "discount-rate": Term(
        "Discount rate",
        "The yearly return that money could earn elsewhere; the higher it is, the less a cost "
        "far in the future counts today.",
    ),
    "r-value": Term(
        "R-value",
        "How strongly a layer resists heat; twice the R-value lets half the heat through.",
    ),
    "u-value": Term(
        "U-value",
        "Heat that passes through a whole roof for each degree between inside and outside; the "
        "inverse of its R-value with the air films counted in.",
    ),
    "reflectance": Term(
        "Solar reflectance",
        "The part of the sun’s energy that a surface sends back: 0 is all taken in, 1 is all "
        "sent back; surfaces grow darker with age, so use an aged value.",
    ),
    "emittance": Term(
        "Thermal emittance",
        "How readily a warm surface gives its heat to the sky: most surfaces about 0.9, bare "
        "metal far less.",
    ),
    "covering": Term(
        "Covering",
        "One complete roof membrane. Built-up: layers of felt in hot asphalt. Modified bitumen: "
        "asphalt sheets. Single-ply: one sheet of EPDM (rubber), TPO or PVC (plastic). Laid over "
        "an old one it is a recover; a tear-off takes the old ones away first.",
    ),
    "roof-build": Term(
        "Deck and insulation",
        "The deck is the steel, wood or concrete that carries the roof. Perlite is a brittle grey "
        "board of puffed rock, usual under old roofs; polyisocyanurate (polyiso) is a stiff yellow "
        "foam board, usual since about 1985.",
    ),
    "price-includes": Term(
        "What a price includes",
        "Laying is the new roof alone, with its edges and pipes. Everything, the whole job, adds "
        "tear-off and disposal of the old roof, insulation that the code asks for, wet insulation, "
        "rooftop units, permits, fees and warranty.",
    ),
    "wet-insulation": Term(
        "Wet insulation",
        "Insulation that a leak has soaked. A moisture scan and core cuts show how much of it "
        "there is.",
    ),
    "ponding": Term(
        "Ponding",
        "Water that still stands on the roof 48 hours after rain. It is heavy, and it ages the "
        "roof.",
    ),
    "therm": Term("Therm", "How gas is billed: 100,000 Btu, about 100 cubic feet of gas."),
    "escalation": Term(
        "Price rise above inflation",
        "How much faster than all other prices this one rises each year (escalation); 0 means "
        "that it only keeps up.",
    ),
    "random-run": Term(
        "Random run",
        "The case worked out again with lives, prices and rates drawn at random within their "
        "ranges, the same ones for every alternative.",
    ),
    "eer": Term(
        "EER",
        "Cooling in Btu per hour for each watt of electricity, rated at 95 °F outdoors; higher "
        "is better.",
    ),
    "take-off": Term(
        "Take-off",
        "The list of all pieces and areas that a plan of the work needs, measured from it and each "
        "priced.",
    ),
    "recover": Term(
        "Recover",
        "A new membrane laid over the old one, which stays. A tear-off takes the old ones away "
        "down to the deck first.",
    ),
    "curb": Term(
        "Curb",
        "The raised frame around an opening of the roof on which a rooftop unit or a skylight "
        "stands, so that water cannot run in.",
    ),
    "diaphragm": Term(
        "Diaphragm",
        "The deck as one stiff plate that carries wind and earthquake from the roof into the "
        "walls.",
    ),
    "bond": Term(
        "Bond",
        "A surety’s promise to pay if the contractor does not finish the work or does not pay his "
        "suppliers; its fee is a part of the price. General conditions are the cost of running "
        "the site.",
    ),
    "weibull": Term(
        "Weibull",
        "The usual way to draw how long a thing lasts: few fail early, most near the middle, some "
        "last far longer.",
    ),
    "base-case": Term(
        "Base case", "What happens to the roof if nothing new is decided: the yardstick."
    ),
}
# Words that sentences of the reply use, where no entry stands to ask about them.
IN_SENTENCES = ("take-off", "recover", "curb", "diaphragm", "bond")


def words_in(texts: Iterable[str]) -> tuple[str, ...]:
    """Return the terms whose word stands in some sentences.

    Examples
    --------
    >>> words_in(["Units on curbs are bonded.", "It is recovered once."])
    ('curb',)
    """
    said = " ".join(texts).lower()
    return tuple(word for word in IN_SENTENCES if re.search(rf"\b{word}s?\b", said))
