"""Entered prices brought to one scope: the price of laying alone in whatever was quoted."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from lcc.arrays import Array
from lcc.cost.duties import rulings
from lcc.cost.metal import TAKEOFF
from lcc.cost.roof_job import Job

# Duties that a quoted price may hold, but that later jobs may need less of. Their own prices are
# taken off it to find the price of laying; the first job still costs what was quoted.
SPLIT = (
    "ballast", "asbestos", "tear-off", "wet-insulation", "insulation", "drainage", "units",
    "skylights", "protection",
)  # fmt: skip


@dataclass(frozen=True)
class Quoted:
    """A price entered for a job, what of it is not laying, and at what part of usual prices.

    Attributes
    ----------
    price_per_m2 : float
        The price as entered [money/m²].
    held_per_m2, apart_per_m2 : float
        Other work that it holds: what permit and fees are charged on, and what not [money/m²].
    usual_per_m2 : float
        The least that laying is counted at, if the price entered is no less [money/m²].
    fees : float
        Permit, general conditions, bond and tax, as a part of the work before them.
    holds_fees : bool
        Whether the price holds those.
    holds : frozenset of str
        The duties that it holds with a price of their own, and laying; none of laying alone.
    """

    price_per_m2: float
    held_per_m2: float = 0.0
    apart_per_m2: float = 0.0
    usual_per_m2: float = 0.0
    fees: float = 0.0
    holds_fees: bool = False
    holds: frozenset[str] = frozenset()

    @property
    def rate(self) -> float:
        """By how much the price rises with one more unit of money for laying."""
        return 1 + self.fees * self.holds_fees

    def laid(self, price: ArrayLike) -> Array:
        """Return the price of laying alone in a price for the same work [money/m²].

        Notes
        -----
        From the price are taken, at their own prices, the duties that it holds and, where it holds
        them, permit, general conditions, bond and tax, so that the first job costs what was
        quoted. Later jobs cost the laying so found and the duties that they need themselves. Where
        less than the usual price is left for laying, that price is counted, with the warranty if
        the price entered holds it, though never more than the price entered: a bid that is low
        for all that it holds makes no later laying cheap. The first job still costs what was
        quoted, see `share`. A price that holds more is so never dearer, in any job.
        """
        whole = self._whole(price)
        return np.maximum(whole - self.held_per_m2, np.clip(whole, 0.0, self.usual_per_m2))

    def share(self, price: ArrayLike) -> Array:
        """Return at what part of its own price each work in such a price is done in the first job.

        Notes
        -----
        The same part for all of them, so that they add up to the price, and what is left of each
        at the end is what was paid for it; 1 where the price is no lower than they come to.

        Examples
        --------
        A price of 10 for laying at 12, and other work for 8.

        >>> bid = Quoted(10.0, held_per_m2=8.0, usual_per_m2=12.0)
        >>> float(bid.laid(10.0)), round(float(bid.share(10.0)), 3)
        (10.0, 0.556)
        """
        parts = self.rate * (self.laid(price) + self.held_per_m2) + self.apart_per_m2
        return np.where(parts > 0, np.asarray(price, float) / np.where(parts > 0, parts, 1.0), 1.0)

    def left_for_laying(self, price: ArrayLike) -> Array:
        """Return what is left for laying, all else at its own price, below 0 too [money/m²]."""
        return self._whole(price) - self.held_per_m2

    def taken_off(self, price: ArrayLike) -> Array:
        """Return what such a price and its fees are below what its parts come to [money/m²]."""
        charged = (1 + self.fees) * (self.laid(price) + self.held_per_m2)
        return (1 - self.share(price)) * (charged + self.apart_per_m2)

    def _whole(self, price: ArrayLike) -> Array:
        """Return the work in a price that fees are charged on, without them [money/m²]."""
        return np.asarray((np.asarray(price, float) - self.apart_per_m2) / self.rate)

    @property
    def kinks(self) -> tuple[float, ...]:
        """Prices at which the price of laying begins to follow the price entered another way."""
        wholes = 0.0, self.usual_per_m2, self.usual_per_m2 + self.held_per_m2
        return tuple(self.apart_per_m2 + self.rate * whole for whole in wholes)


def quoted(price_per_m2: float, job: Job, usual_per_m2: float) -> Quoted:
    """Return a price entered for a job, with what of it is laying.

    Parameters
    ----------
    price_per_m2 : float
        The price entered for the first job [money/m²].
    job : Job
        That job, with the duties that the price holds.
    usual_per_m2 : float
        What laying costs where nobody quotes it [money/m²]; a take-off's price is its own.
    """
    usual_per_m2 *= job.price_from != TAKEOFF
    prices = job.setting.duty_prices
    fees, holds_fees = float(prices.on_costs_rate or 0), "on-costs" in job.holds
    if job.holds.isdisjoint((*SPLIT, "on-costs")):
        return Quoted(price_per_m2, fees=fees)
    unpriced = rulings(replace(job, laid_per_m2=0.0))
    held = {each.duty: each.cost / job.area_m2 for each in unpriced if each.duty in job.holds}
    apart = held.pop("protection", 0.0)
    rest = math.fsum(held.get(duty, 0.0) for duty in SPLIT)
    fee = float(prices.warranty_per_m2 or 0) / (1 + fees) if "warranty" in job.holds else 0.0
    holds = frozenset({"covering", "protection", *SPLIT}) & job.holds
    return Quoted(price_per_m2, rest, apart, usual_per_m2 + fee, fees, holds_fees, holds)
