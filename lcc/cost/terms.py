"""What may vary between draws of a calculation: rates, prices, lives, the energy saving."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lcc.case.economics import Economics
from lcc.cost.present_value import real_discount_rate

Array = NDArray[np.float64]
FACTORS = ("electricity_price", "gas_price", "energy_saving", "price", "coating_price")
ESCALATIONS = (
    "work_escalation",
    "repairs_escalation",
    "electricity_escalation",
    "gas_escalation",
)


@dataclass(frozen=True)
class Terms:
    """What may vary between draws, each of shape (draws,) but for `life`.

    Rates are real [1/year]. `more_remaining` [years] is added to what is left of the covering in
    place today. The others are factors on the figures of the case: `price` on what coverings and
    panels cost, `coating_price` on coatings, `life` (draws, generations) on the life of each
    covering laid, `energy_saving` on the difference that a state of the roof makes to the energy
    bill of today's.
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
    life: Array
    more_remaining: Array

    @classmethod
    def of(cls, economics: Economics, **varied: Any) -> Terms:
        """Return the terms of a case, in which `varied` replaces some by arrays over draws."""
        terms: dict[str, Array] = dict.fromkeys(FACTORS, np.ones(1))
        terms["life"], terms["more_remaining"] = np.ones((1, 1)), np.zeros(1)
        terms["discount_rate"] = np.array([real_discount_rate(economics)])
        for name in ESCALATIONS:
            terms[name] = np.array([getattr(economics, name)])
        return cls(**(terms | varied))

    @property
    def draws(self) -> int:
        """The number of draws: the longest of the arrays."""
        return max(len(array) for array in vars(self).values())
