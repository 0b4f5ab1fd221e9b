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
    Later jobs cost the laying so found and the duties that they need themselves. Where less than
    the usual price is left for laying, that price is counted, with the warranty if the price
    entered holds it, though never more than the price entered: a bid that is low for all that it
    holds makes no later laying cheap. The first job still costs what was quoted: what it so asks
    less than its parts is taken off. A price that holds more is so never dearer, in any job.
    """
    if job.holds.isdisjoint((*SPLIT, "on-costs")):
        return Laying(price_per_m2)
    unpriced = rulings(replace(job, laid_per_m2=0.0))
    held = {each.duty: each.cost / job.area_m2 for each in unpriced if each.duty in job.holds}
    rest = math.fsum(held.get(duty, 0.0) for duty in SPLIT if duty != "protection")
    prices = job.setting.duty_prices
    bears = 1 + float(prices.on_costs_rate or 0)
    rate = bears if "on-costs" in job.holds else 1.0
    whole = (price_per_m2 - held.get("protection", 0.0)) / rate
    left = whole - rest
    fee = float(prices.warranty_per_m2 or 0) / bears if "warranty" in job.holds else 0.0
    least = min(max(0.0, whole), usual_per_m2 + fee)
    if left >= least:
        return Laying(left)
    return Laying(least, (least - left) * rate)
