"""Pieces of work: what is done to a roof in one year is one job."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from lcc.cost import work
from web.charts.figure import Reply

CENT = 0.01  # sums below it are none [money]
REST = ", other work"  # of a fee in two parts; a reader needs its name once


@dataclass(frozen=True)
class ChartJob:
    """All that is done to a roof in one year: a new covering first, else the dearest part."""

    year: int
    parts: tuple[str, ...]
    why: str
    cost: float

    @property
    def what(self) -> str:
        """All parts in one line."""
        return "; ".join(self.parts)


def jobs(alternative: Reply) -> Iterator[ChartJob]:
    """Return the work of an alternative by year.

    Examples
    --------
    >>> torn = {"year": 2, "what": "Tear-off", "why": "two in place", "cost": 30.0, "duty": ""}
    >>> laid = {**torn, "what": "EPDM laid", "why": "end", "cost": 10.0, "duty": "covering"}
    >>> [(job.year, job.what, job.why, job.cost) for job in jobs({"events": [torn, laid]})]
    [(2, 'EPDM laid; Tear-off', 'end', 40.0)]
    """
    ordered = sorted(alternative["events"], key=lambda event: (event["year"], -event["cost"]))
    for year, group in groupby(ordered, key=lambda event: event["year"]):
        events = sorted(group, key=lambda event: event["duty"] != "covering")
        yield ChartJob(
            year,
            tuple(dict.fromkeys(event["what"].removesuffix(REST) for event in events)),
            events[0]["why"],
            sum(event["cost"] for event in events),
        )


def granted(alternative: Reply, year: int) -> float:
    """Return the grants paid in a year, negative [money]."""
    return -work.granted(((one["name"], one["by_year"]) for one in alternative["costs"]), year)


def beyond_the_bid(alternative: Reply) -> float:
    """Return what of the first job the price entered does not hold [money], 0 below a cent."""
    found = sum(one["estimated"] for one in alternative["quotations"] if one["taken"])
    return float(found) if found >= CENT else 0.0
