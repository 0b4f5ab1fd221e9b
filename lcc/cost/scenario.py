"""What may vary between draws: rates, prices, amounts of work and lives, as arrays over draws."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from lcc.arrays import Array
from lcc.case.economics import Economics
from lcc.cost.present_value import growth, real_discount_rate
from lcc.cost.work import (
    COVERING,
    DISRUPTION,
    FEES,
    FEES_ON_LAYING,
    FLASHINGS,
    INSULATION,
    TEAR_OFF,
    UNITS,
)

# What follows the price of what is laid.
PRICED = (COVERING, FEES_ON_LAYING)
# Factor of a scenario on each category of work; the others keep their cost.
WORK_FACTORS = {
    TEAR_OFF: "tear_off",
    INSULATION: "insulation",
    UNITS: "units",
    DISRUPTION: "disruption",
    FLASHINGS: "other_work",
    FEES: "other_work",
}
FACTORS = (
    "electricity_price",
    "gas_price",
    "energy_saving",
    "price",
    "coating_price",
    *dict.fromkeys(WORK_FACTORS.values()),
    "repairs",
    "upkeep",
    "wet_area",
    "life_gain",
)
# What nobody may know of the roof, by the duty that it bears on.
UNKNOWNS = {
    "asbestos": "found_asbestos",
    "wet-insulation": "found_wet",
    "drainage": "found_drainage",
    "units": "found_units",
    "structure": "found_structure",
}
# What moves with the price of laying where a bid holds other work.
AT_BID = {"price": "at_bid", "coating_price": "coating_at_bid"}
WORK_RISES, KEEPING_RISES = "work_escalation", "repairs_escalation"
ESCALATIONS = (WORK_RISES, KEEPING_RISES, "electricity_escalation", "gas_escalation")


@dataclass(frozen=True)
class Scenario:
    """What may vary between draws, each of shape (draws,) but for `life`.

    Rates are real [1/year]. `more_remaining` [years] is added to what is left of the covering in
    place today. The others are factors on the figures of the case: `price` on what coverings and
    panels cost, `coating_price` on coatings, `tear_off` to `other_work` on other work, `wet_area`
    on the work on wet insulation, `life` (draws, generations) on the life of each covering laid,
    `life_gain` on the years that a coating adds, `energy_saving` on the difference that a state
    of the roof makes to the energy bill of today's. `found_asbestos` to `found_structure` are the
    parts, 0 to 1, of what an open question of the first job costs if its answer is the bad one.
    `at_bid` and `coating_at_bid` are factors on the share at which a bid counts what it holds.
    """

    discount_rate: Array
    work_escalation: Array
    repairs_escalation: Array
    electricity_escalation: Array
    gas_escalation: Array
    electricity_price: Array
    gas_price: Array
    energy_saving: Array
    price: Array
    coating_price: Array
    tear_off: Array
    insulation: Array
    units: Array
    disruption: Array
    other_work: Array
    repairs: Array
    upkeep: Array
    wet_area: Array
    life_gain: Array
    life: Array
    more_remaining: Array
    found_asbestos: Array
    found_wet: Array
    found_drainage: Array
    found_units: Array
    found_structure: Array
    at_bid: Array
    coating_at_bid: Array

    @classmethod
    def of(cls, economics: Economics, **varied: Any) -> "Scenario":
        """Return the terms of a case, in which `varied` replaces some by arrays over draws."""
        terms: dict[str, Array] = dict.fromkeys(FACTORS, np.ones(1))
        terms |= dict.fromkeys(AT_BID.values(), np.ones(1))
        terms |= dict.fromkeys(("more_remaining", *UNKNOWNS.values()), np.zeros(1))
        terms["life"] = np.ones((1, 1))
        terms["discount_rate"] = np.array([real_discount_rate(economics)])
        for name in ESCALATIONS:
            terms[name] = np.array([getattr(economics, name)])
        return cls(**(terms | varied))

    def part(self, draws: slice) -> "Scenario":
        """Return some of the draws; what is one array stays one."""
        cut = {id(array): array[draws] for array in vars(self).values() if len(array) > 1}
        return Scenario(**{name: cut.get(id(array), array) for name, array in vars(self).items()})

    @property
    def draws(self) -> int:
        """The number of draws: the longest of the arrays."""
        return max(len(array) for array in vars(self).values())


def factors_today(terms: Scenario, years: int) -> dict[str, Array]:
    """Return escalation and discount to today for each escalation, and for none ("").

    Each has the shape (draws, n + 1), and is the same for every programme.
    """
    discount = 1 + terms.discount_rate
    ratios = {"": 1 / discount - 1}
    ratios |= {name: (1 + getattr(terms, name)) / discount - 1 for name in ESCALATIONS}
    return {name: growth(ratio, years) for name, ratio in ratios.items()}
