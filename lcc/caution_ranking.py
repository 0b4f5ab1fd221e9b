"""Cautions in the order of a job: first what the survey found, then what it did not look at."""

from collections.abc import Iterator, Sequence

from lcc.case import Case, MetalRetrofit
from lcc.case.framing import Framing
from lcc.caution_texts import DANGERS, Caution
from lcc.cautions import CARE, PATIENTS, WEAK_DECK
from lcc.heat.assembly import kept_when_wet
from lcc.quantities.trade_limits import DISAGREE

# The worst first: findings, then what the survey contradicts, then what is still to be found out.
FOUND = (
    "asbestos_found", "weak_deck", "ponding", "wet", "coal_tar", "solar_panels", "patients", "care",
    "skylights",
)  # fmt: skip
NOT_LOOKED_AT = ("asbestos_untested", "wet_unknown", "ponding_unknown")
THIS_DECK = WEAK_DECK.partition("{")[0]
_BY_TEXT = {one.text: one for one in DANGERS}


def ranked(case: Case, said: Sequence[str]) -> tuple[list[str], int]:
    """Return cautions with those of this job's findings first, and how many those are.

    Parameters
    ----------
    case : Case
        The case, as stated.
    said : sequence of str
        Its cautions.
    """
    found = set(findings(case))
    order = {name: place for place, name in enumerate((*FOUND, DISAGREE, *NOT_LOOKED_AT))}
    places = [order.get(_finding(text, found), len(order)) for text in said]
    first = sorted(range(len(said)), key=lambda k: places[k])
    return [said[k] for k in first], sum(place < len(order) for place in places)


def _finding(text: str, found: set[str]) -> str:
    """Return which finding calls for a caution; empty where every roof of its kind has it."""
    if DISAGREE in text:
        return DISAGREE
    if text.startswith(THIS_DECK):
        return "weak_deck"
    one = _BY_TEXT.get(text, Caution("", ""))
    calls = one.finding or one.when
    return calls if calls in found or calls in NOT_LOOKED_AT else ""


def findings(case: Case) -> Iterator[str]:
    """Yield what roof, building and framing surveys of a case say that is there."""
    roof, use = case.roof, case.building.use
    surveys = [one.framing for one in case.alternatives
               if isinstance(one, MetalRetrofit) and one.framing]  # fmt: skip
    soaked = any(kept_when_wet(layer) < 1 for layer in roof.layers)
    there = {
        "asbestos_found": roof.asbestos == "found",
        "ponding": roof.ponding == "stands-48-hours",
        "wet": bool(roof.wet_fraction) or soaked,
        "coal_tar": any(str(key).startswith("coal-tar")
                        for key in (roof.covering, roof.covering_below)),
        "solar_panels": roof.solar_panels,
        "patients": use in PATIENTS,
        "care": use in CARE,
        "skylights": roof.skylights > 0,
    }  # fmt: skip
    yield from (name for name, is_there in there.items() if is_there)
    yield from (name for each in surveys for name in _surveyed(each))


def _surveyed(framing: Framing) -> Iterator[str]:
    work = framing.other_work
    there = {
        "asbestos_found": work.asbestos == "found",
        "wet": framing.wet_area_m2 > 0,
        "solar_panels": work.solar_panels == "yes",
        "skylights": work.skylights > 0,
    }
    yield from (name for name, is_there in there.items() if is_there)
