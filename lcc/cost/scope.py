"""The scope table: every duty in every alternative, its cost, and where they differ."""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from lcc.case.document_values import spoken
from lcc.case.duty_prices import DUTIES, read_as_laying
from lcc.cost.ledger import part_done
from lcc.cost.result import Account, not_renewed
from lcc.cost.roof_job import DONE, ITS_PRICE, LEFT_OUT, NOT_NEEDED, OPEN
from lcc.cost.work import Ruling
from lcc.figures import when
from lcc.results import AlternativeResult, ScopeEntry, ScopeRow
from lcc.units.typed_quantities import both_loads

_NONE = Ruling("", NOT_NEEDED, "no work falls within the study period", "the study period")
_SERVICE = Ruling("service", DONE, "renewed and serviced at its intervals", "the case")
_NO_SERVICE = Ruling("service", NOT_NEEDED, "repairs are counted apart", "the case")
# Duties whose absence is shown beside the headline; the others follow from the kind of roof.
TOLD = ("tear-off", "wet-insulation", "insulation", "drainage", "asbestos")


def scope(
    accounts: Sequence[Account], results: Sequence[AlternativeResult]
) -> tuple[ScopeRow, ...]:
    """Return the scope table of a comparison.

    Parameters
    ----------
    accounts : sequence of Account
        Programmes with their timing, the base case first.
    results : sequence of AlternativeResult
        Their results, whose events are what the table sums.

    Notes
    -----
    A duty is done where any job of the study period does it; otherwise it stands as the first
    job leaves it. The costs of all rows of an alternative add up to the costs of its events.
    """
    pairs = list(zip(accounts, results, strict=True))
    return tuple(
        ScopeRow(key, duty, tuple(_entry(key, own, result) for own, result in pairs))
        for key, duty in DUTIES.items()
    )


def _jobs(own: Account) -> Iterator[tuple[int, tuple[Ruling, ...]]]:
    """Yield the year and the rulings of every job of one part of the roof."""
    programme, begun = own.ledger.programme, [0, *own.starts]
    for step, start in zip(programme.order(len(begun)), begun, strict=True):
        if start < own.ledger.years and programme.steps[step].rulings:
            yield start, programme.steps[step].rulings


def _entry(key: str, own: Account, result: AlternativeResult) -> ScopeEntry:
    events = [event for event in result.events if event.duty == key]
    found = [job for part in own.parts or (own,) for job in _jobs(part)]
    jobs = sorted(found, key=lambda job: job[0])
    told = _told(key, jobs) if key != "service" else (_SERVICE if events else _NO_SERVICE)
    first = next((each.cost for each in (jobs[0][1] if jobs else ()) if each.duty == key), 0.0)
    cost = math.fsum(event.cost for event in events)
    reason = "".join([told.reason, *(f"; {more}" for more in _more(key, told, own, result))])
    return ScopeEntry(result.name, told.status, cost, first, reason, told.source)


def _more(key: str, told: Ruling, own: Account, result: AlternativeResult) -> Iterator[str]:
    """Yield what the answer knows of a duty beyond what its rule says."""
    if key == "service" and (left := not_renewed(own)):  # in proportion below a quarter: part_done
        parts = (
            f"“{work.what}” in year {year} by {float(part_done(work, end - year)):.0%}, four times "
            f"the {end - year} of its {work.every_y:g} years that are left"
            for work, year, end in left
        )
        yield f"done in part only: {', '.join(parts)}"
    if key == "wet-insulation" and told.status == LEFT_OUT:
        yield _drying(result)
    if key == "ballast" and told.works and result.quantities:
        yield f"the new roof adds {both_loads(result.quantities.total_load_kg_m2)}"
    bid = next((each for each in result.quotations if each.taken), None)
    if bid and told.source == ITS_PRICE and key in read_as_laying(bid.price_includes):
        yield "read as a part of laying: ask the bidder"


def _drying(result: AlternativeResult) -> str:
    """Return how long the water that is left would take to leave by way of the cavity."""
    states = [year.condensation for year in result.energy if year.condensation]
    found = next((each.drying for each in states if each.drying), None)
    if found is None:
        return "state the water in the old roof to see how long it would take to dry"
    if found.days_to_dry is None:
        return "by the model no water leaves by way of the cavity"
    return (
        f"by the model the water stated takes {found.days_to_dry:.0f} days to leave by the cavity"
    )


def _told(key: str, jobs: Sequence[tuple[int, tuple[Ruling, ...]]]) -> Ruling:
    """Return the ruling that speaks for a duty: an open one, else one done, else the first.

    A question that only a later job opens has its year.
    """
    found = [(year, each) for year, job in jobs for each in job if each.duty == key]
    for status in (OPEN, LEFT_OUT, DONE):
        for year, each in found:
            if each.status == status:
                later = status == OPEN and year > jobs[0][0]
                return replace(each, reason=f"{when(year)}: {each.reason}") if later else each
    return found[0][1] if found else _NONE


def note(rows: Sequence[ScopeRow]) -> str:
    """Return where the alternatives do other work, in one plain sentence; empty if none does.

    Parameters
    ----------
    rows : sequence of ScopeRow
        The scope table.
    """
    said = [*_left_out(rows), *_unequal(rows)]
    if not said:
        return ""
    return f"The bids do not cover the same work: {'; '.join(said)}."


def _left_out(rows: Sequence[ScopeRow]) -> Iterator[str]:
    for row in rows:
        for each in row.alternatives:
            if each.status == LEFT_OUT:
                yield f"“{each.name}” leaves out “{spoken(row.duty)}” ({each.reason})"


def _unequal(rows: Sequence[ScopeRow]) -> Iterator[str]:
    spared: dict[str, list[str]] = {}
    for row in (each for each in rows if each.key in TOLD):
        if any(each.status == DONE for each in row.alternatives):
            for each in (one for one in row.alternatives if one.status == NOT_NEEDED):
                spared.setdefault(each.name, []).append(f"{spoken(row.duty)} ({each.reason})")
    alike: dict[str, list[str]] = {}
    for name, duties in spared.items():
        alike.setdefault(", nor ".join(duties), []).append(f"“{name}”")
    for said, names in alike.items():
        yield f"{', '.join(names)} {'do' if len(names) > 1 else 'does'} not {said}"


def questions(rows: Sequence[ScopeRow]) -> tuple[str, ...]:
    """Return what to find out before bids are asked: every open question, once.

    Parameters
    ----------
    rows : sequence of ScopeRow
        The scope table.
    """
    asked: dict[str, str] = {}  # what is open today and in a later job is asked of today
    for row in rows:
        for each in (one for one in row.alternatives if one.status == OPEN):
            told = f"{row.duty}: {each.reason}."
            plain = re.sub(r": in year \d+: ", ": ", told, count=1)
            asked[plain] = min(asked.get(plain, told), told, key=len)
    return tuple(asked.values())
