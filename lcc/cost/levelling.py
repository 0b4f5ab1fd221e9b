"""Entered prices brought to one scope: the price of laying alone in whatever was quoted."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

from lcc.cost.duties import rulings
from lcc.cost.roof_job import Job

# What an entered price may hold and a later job does not need alike: taken out of it by its own
# price, so that the first job costs what was quoted.
SPLIT = (
    "ballast", "asbestos", "tear-off", "wet-insulation", "insulation", "drainage", "units",
    "skylights", "protection",
)  # fmt: skip


class Laying(NamedTuple):
    """The price of laying alone, and what a quotation asks less than its parts [money/m²]."""

    price_per_m2: float
    less_per_m2: float = 0.0


def laying_price(price_per_m2: float, job: Job, usual_per_m2: float) -> Laying:
    """Return the price of laying alone in the price entered for a job.

    Parameters
    ----------
    price_per_m2 : float
        The price entered for the first job [money/m²].
    job : Job
        That job, with the duties that the price holds.
    usual_per_m2 : float
        What laying costs where nobody quotes it [money/m²].

    Notes
    -----
    From the price are taken, at their own prices, the duties that it holds and, where it holds
    them, permit, general conditions, bond and tax, so that the first job costs what was quoted.
    Later jobs cost the laying so found and the duties that they need themselves. Where the duties
    that the price is said to hold come to more than it, the first job still costs what was quoted:
    its laying is counted at the usual price, less what the quotation asks less than its parts.
    """
    if job.holds.isdisjoint((*SPLIT, "on-costs")):
        return Laying(price_per_m2)
    unpriced = rulings(replace(job, laid_per_m2=0.0))
    held = {each.duty: each.cost / job.area_m2 for each in unpriced if each.duty in job.holds}
    rest = math.fsum(held.get(duty, 0.0) for duty in SPLIT if duty != "protection")
    rate = float(job.setting.duty_prices.on_costs_rate or 0) if "on-costs" in job.holds else 0.0
    left = (price_per_m2 - held.get("protection", 0.0)) / (1 + rate) - rest
    if left >= 0:
        return Laying(left)
    return Laying(usual_per_m2, (usual_per_m2 - left) * (1 + rate))
