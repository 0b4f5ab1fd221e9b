"""How far the figures of a case may be off: ranges for the swings and for the random draws."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import check, choice, quantity, whole


@dataclass(frozen=True)
class Uncertainty:
    """Ranges about the figures of the case, and how many random draws are made within them.

    A range is half the width of a symmetric triangle about the figure of the case; a spread of
    lives is a standard deviation over the mean. A range of 0 keeps the figure as it is.
    """

    draws: int = whole(
        "Random draws", 0, low=0, high=200000, basis="common practice",
        source="none unless asked for; 10,000 leave half a per cent of chance",
        help="Number of random draws of all inputs at once; 0 for none.",
    )  # fmt: skip
    seed: int = whole(
        "Seed", 1, low=0, high=2**31 - 1, basis="common practice", source="any fixed number",
        help="The same seed gives the same draws.",
    )  # fmt: skip
    life_distribution: str = choice(
        "Lives are drawn from", ("weibull", "triangular"), "weibull", basis="common practice",
        source="ASTM E1369 names the methods; Weibull is the usual law of wear-out",
    )  # fmt: skip
    membrane_life_spread: float = quantity(
        "fraction", "Spread of membrane lives", 0.25, low=0, high=1, basis="common practice",
        source="single roofs scatter more than the means, which Cash 1997 gives within 2 years",
        help="Standard deviation over the mean.",
    )  # fmt: skip
    retrofit_life_spread: float = quantity(
        "fraction", "Spread of metal roof lives", 0.2, low=0, high=1, basis="common practice",
        source="40 to 60 years and more about a mean of 50",
        help="Standard deviation over the mean.",
    )  # fmt: skip
    remaining_life_range_y: float = quantity(
        "years", "Range of the years the covering has left", 2.0, low=0, high=30,
        basis="from memory", source="Cash 1997, mean lives within 2 years",
    )  # fmt: skip
    membrane_price_range: float = quantity(
        "fraction", "Range of membrane and coating prices", 0.15, low=0, high=1,
        basis="common practice", source="spread of quotations",
    )  # fmt: skip
    retrofit_price_range: float = quantity(
        "fraction", "Range of the retrofit's price", 0.15, low=0, high=1,
        basis="common practice", source="spread of quotations",
    )  # fmt: skip
    energy_price_range: float = quantity(
        "fraction", "Range of energy prices", 0.2, low=0, high=1, basis="common practice",
        source="about the change of United States commercial prices from 2020 to 2022",
    )  # fmt: skip
    energy_saving_range: float = quantity(
        "fraction", "Range of the energy saving", 0.25, low=0, high=1, basis="common practice",
        source="modelled against metered savings",
    )  # fmt: skip
    discount_rate_range: float = quantity(
        "rate", "Range of the discount rate", 0.01, low=0, high=0.2, basis="common practice",
        source="one point either way",
    )  # fmt: skip
    work_escalation_range: float = quantity(
        "rate", "Range of the roofing and repair price rise", 0.01, low=0, high=0.1,
        basis="common practice", source="one point either way",
    )  # fmt: skip
    energy_escalation_range: float = quantity(
        "rate", "Range of the energy price rise", 0.01, low=0, high=0.1,
        basis="common practice", source="one point either way",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)
