"""When the old roof must come off, and when another covering or a framed roof may go over it."""

import math

from lcc.cost.roof_job import (
    COATING,
    FRAMED,
    IBC_1511_3,
    IBC_FRAMED,
    NEW_PANELS,
    PRACTICE,
    Job,
    not_needed,
    ruling,
)
from lcc.cost.work import TEAR_OFF, Ruling, Work

# Above this wet share a membrane is laid on a torn-off roof; under metal what is wet is cut out.
WET_LIMIT = 0.25


def recover_refusal(coverings: int, wet_fraction: float) -> str | None:
    """Return why no recover may be laid, or None where it may.

    Parameters
    ----------
    coverings : int
        Roof coverings in place.
    wet_fraction : float
        Part of the insulation that is wet, 0 to 1; up to a quarter is cut out and patched.

    References
    ----------
    International Building Code 2021, 1511.3.1.1: no recover where the existing roof is water
    soaked, or where two or more coverings are in place.

    Examples
    --------
    >>> recover_refusal(1, 0.25) is None
    True
    >>> recover_refusal(2, 0.0)
    '2 coverings are in place: no new one may go over two or more'
    """
    if wet_fraction > WET_LIMIT:
        return "more than a quarter of the insulation is wet: the roof is water soaked"
    if coverings >= 2:
        return f"{coverings} coverings are in place: no new one may go over two or more"
    return None


def across_a_quarter(share: float, part: float) -> float | None:
    """Return a wet share on the other side of a quarter, None where it is known on which it lies.

    Parameters
    ----------
    share : float
        Part of the insulation that is wet as entered, 0 to 1.
    part : float
        The part of that by which it may be more or less.

    Examples
    --------
    >>> across_a_quarter(0.2, 0.3), across_a_quarter(0.3, 0.3), across_a_quarter(0.4, 0.3)
    (0.26, 0.25, None)
    """
    if share <= WET_LIMIT < share * (1 + part):
        return WET_LIMIT + 0.01
    return WET_LIMIT if share * (1 - part) <= WET_LIMIT < share else None


def tear_off(job: Job) -> Ruling:
    """All coverings come off where no recover is allowed, or where that is the choice.

    References
    ----------
    International Building Code 2021, 1511.3.1.1: no recover where the roof is water soaked or
    deteriorated, or where two or more coverings are in place; 1511.3.1: complete and separate
    systems that carry their loads to the structure need no removal.
    """
    duty = "tear-off"
    if not job.torn_off:
        return not_needed(duty, *_covered(job))
    count = len(job.place.coverings)
    kept = math.fsum(each.kg_m2 - each.loose_kg_m2 for each in job.place.coverings)
    prices, area = job.setting.prices, job.area_m2
    return ruling(
        duty, job.tear_off_why, job.tear_off_source,
        Work(
            f"Tear-off of {count} covering{'s' if count > 1 else ''}", job.tear_off_why,
            TEAR_OFF, float(prices.tear_off_per_m2 or 0) * count * area,
        ),
        Work(
            "Disposal of what was torn off", "paid by weight", TEAR_OFF,
            float(prices.disposal_per_kg or 0) * kept * area,
        ),
    )  # fmt: skip


def _covered(job: Job) -> tuple[str, str]:
    """Return why nothing is torn off, and who says so."""
    if job.kind == FRAMED:
        return (
            "a complete standing-seam system carried by the building's structure may stand over "
            "any coverings in place", IBC_FRAMED,
        )  # fmt: skip
    if job.kind == NEW_PANELS:
        return "new panels go on the framing in place", PRACTICE
    if job.kind == COATING:
        return "a coating is laid on the covering in place and is no roof covering", IBC_1511_3
    return "one sound, dry covering may be covered once", IBC_1511_3
