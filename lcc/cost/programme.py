"""The roof programme: the steps an alternative goes through, in what state each leaves the roof.

The order of the steps follows from the coverings in place and not from the calendar, so a
programme is a list of steps and `lcc.cost.cash_flow` sets it in time: each step lasts its life in
whole years, then the next begins.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import fsum
from typing import Any, TypeVar

from lcc.case import (
    Alternative,
    Building,
    Coating,
    LaterMembrane,
    Membrane,
    MetalRetrofit,
    Prices,
    Quotation,
    Roof,
    kind_of,
)
from lcc.case.alternatives import METHODS
from lcc.case.duty_prices import DUTIES, included
from lcc.case.layers import Assembly
from lcc.case.resolution import from_row, resolve
from lcc.cost import coating, duties, membrane, metal
from lcc.cost.bid_levelling import Quoted, quoted
from lcc.cost.roof_job import BY_COST, BY_PRICE, DONE, OPEN, Job
from lcc.cost.roof_states import Setting
from lcc.cost.tear_off_rule import WET_LIMIT
from lcc.cost.work import FEES, SET_UP_AGAIN, Ruling, Step, Work, whole_years
from lcc.errors import CaseError, within

SMALLEST_M2 = 1.0
LOW = 0.995  # of what a price holds, part by part: below it is said; chosen
OVER_THE_OLD = METHODS[1]  # recovers wherever they are allowed
OF_TEAR_OFF = frozenset({"tear-off", "insulation"})  # what no roof over the old one needs
# What is counted on a roof, and shared out between two parts of it.
ROOF_COUNTS = ("rooftop_units", "skylights", "penetrations")
# The bad answer to what nobody knows of the roof: its field and value, by duty.
BAD_ANSWERS: dict[str, tuple[str, Any]] = {
    "asbestos": ("asbestos", "found"),
    "wet-insulation": ("wet_fraction", WET_LIMIT + 0.01),
    "drainage": ("ponding", "stands-48-hours"),
    "units": ("flashing_height_m", 0.0),
}


@dataclass(frozen=True)
class Programme:
    """An alternative's steps; after the last one they repeat from `repeat_from`.

    The steps cover `share` of the roof, an area of `area_m2`; `rest` is the programme of the rest.
    `quoted` has the price entered for the first job, and of a coating also the price of the
    membrane after it.
    """

    name: str
    kind: str
    steps: tuple[Step, ...]
    repeat_from: int
    area_m2: float = 0.0
    quoted: tuple[Quoted, ...] = ()
    share: float = 1.0
    rest: "Programme | None" = None

    @property
    def states(self) -> tuple[Assembly, ...]:
        """The distinct states of the roof, in the order in which they come."""
        rest = self.rest.states if self.rest else ()
        return tuple(dict.fromkeys((*(step.state for step in self.steps), *rest)))

    @property
    def rulings(self) -> tuple[Ruling, ...]:
        """What every duty comes to in the first job, which follows today's roof."""
        return self.steps[1].rulings

    @property
    def torn_off(self) -> bool:
        """Whether the first job tears the old roof off."""
        return any(one.duty == "tear-off" and one.status == DONE for one in self.rulings)

    def states_within(self, years: int) -> tuple[Assembly, ...]:
        """The distinct states that hold in a year of a study period, lives as planned."""
        reached = dict.fromkeys(self.rest.states_within(years) if self.rest else ())
        start = 0
        for generation, index in enumerate(self.order(years + 2)):
            step = self.steps[index]
            end = start + max(min(generation, 1), whole_years(step.life_y))
            if start >= years:
                break
            if end > start:
                reached[step.state] = None
            start = end
        return tuple(reached)

    def order(self, count: int) -> tuple[int, ...]:
        """Return which of `steps` the first `count` generations are."""
        return _order(len(self.steps), self.repeat_from, count)


@lru_cache(maxsize=256)
def _order(steps: int, repeat_from: int, count: int) -> tuple[int, ...]:
    cycle = steps - repeat_from
    return tuple(k if k < steps else repeat_from + (k - repeat_from) % cycle for k in range(count))


def plan(
    alternative: Alternative,
    roof: Roof,
    prices: Prices,
    zone: int,
    building: Building | None = None,
    design_wind_m_s: float | None = None,
    prices_quoted: Sequence[Quoted] = (),
    *,
    exposed: bool = True,
) -> Programme:
    """Return the programme of an alternative.

    Parameters
    ----------
    alternative : Membrane, Coating or MetalRetrofit
        What the owner does.
    roof : Roof
        The roof as it is today.
    prices : Prices
        Prices of the case; unset ones take the row of the prices table.
    zone : int
        Number of the climate zone, 0 to 8, for the minimum of insulation.
    building : Building, optional
        What is under the roof; a default building if not given.
    design_wind_m_s : float, optional
        Basic wind speed entered for the place [m/s].
    prices_quoted : sequence of Quoted
        The prices entered for the first job, and for the membrane after a coating.
    exposed : bool
        Whether open questions have their `exposure`, which draws and swings need.

    Returns
    -------
    Programme
        The steps, of which the first is the roof as it is today.

    Notes
    -----
    A covering ends after its service life less its age, or after the years entered; never below 0.
    Coverings are counted by `lcc.cost.tear_off_rule.recover_refusal`. A roof done in two parts
    has a programme for each, on its part of the area and of what was counted; each part is
    a plan like the whole, and setting up again is paid with the rest.

    References
    ----------
    International Building Code 2021, 1511.3.1.1.
    """
    whole_roof = Setting.of(roof, prices, zone, building, design_wind_m_s)
    if isinstance(alternative, Coating) or alternative.rest_after_y is None:
        return _planned(alternative, whole_roof, prices_quoted, exposed)
    share, premium = alternative.share_first, alternative.insurance_premium
    whole = replace(alternative, share_first=1.0, rest_after_y=None)
    first = replace(whole, insurance_premium=premium * share)
    later = replace(
        whole, insurance_premium=premium * (1 - share), grant=0.0, wait_y=alternative.rest_after_y
    )
    own, rest = parts_of(roof, share)
    begun, followed = (
        _planned(one, replace(whole_roof, roof=resolve(part)), prices_quoted, exposed)
        for one, part in ((first, own), (later, rest))
    )
    why = "the rest of the roof is a second job"
    cost = float(resolve(prices).duties.second_setup or 0)
    work = Work(SET_UP_AGAIN, why, FEES, cost, duty="on-costs")
    followed = replace(followed, steps=_with_work(followed.steps, work))
    return replace(begun, share=share, rest=replace(followed, share=1 - share))


def parts_of(roof: Roof, share: float) -> tuple[Roof, Roof]:
    """Return the part of a roof that is done first, and the rest; things counted stay whole.

    Examples
    --------
    >>> from lcc.case import Layer
    >>> roof = Roof(1000.0, rooftop_units=5, layers=(Layer("steel-deck"),))
    >>> [(part.area_m2, part.rooftop_units) for part in parts_of(roof, 0.25)]
    [(250.0, 1), (750.0, 4)]
    """
    if roof.area_m2 * min(share, 1 - share) < SMALLEST_M2:
        raise CaseError("share_first", share, "a share that leaves both parts a square metre")
    first = {name: round(getattr(roof, name) * share) for name in ROOF_COUNTS}
    rest = {name: getattr(roof, name) - count for name, count in first.items()}
    return (
        replace(roof, area_m2=roof.area_m2 * share, **first),
        replace(roof, area_m2=roof.area_m2 * (1 - share), **rest),
    )


def _with_work(steps: tuple[Step, ...], work: Work) -> tuple[Step, ...]:
    """Add a piece of work to the first job, under its duty."""
    today, first, *later = steps
    ruled = tuple(
        replace(each, works=(*each.works, work)) if each.duty == work.duty else each
        for each in first.rulings
    )
    return (today, replace(first, rulings=ruled), *later)


def _planned(
    alternative: Alternative, setting: Setting, bids: Sequence[Quoted], exposed: bool
) -> Programme:
    whole = resolve(alternative)
    found, repeat_from = _steps(whole, setting)
    steps = _exposed(tuple(found), whole, setting) if exposed else tuple(found)
    paid = _with_payments(alternative, steps)
    area = setting.roof.area_m2
    for job, bid in enumerate(bids, start=1):
        paid = (*paid[:job], _at_bid(paid[job], bid, area), *paid[job + 1 :])
    return Programme(alternative.name, kind_of(alternative), paid, repeat_from, area, tuple(bids))


def _at_bid(step: Step, bid: Quoted, area_m2: float) -> Step:
    """Count the work that a price entered holds, and the fees on it, at the share it pays of it."""
    share = float(bid.share(bid.price_per_m2))
    low = f"; the price is less than its parts come to: each is counted at {share:.0%} of its own"
    apart = {"covering", *duties.FREE_OF_FEES}
    other = fsum(each.cost for each in step.rulings if each.duty in bid.holds - apart)
    charged = {True: float(bid.laid(bid.price_per_m2)) * area_m2, False: other}

    def at_bid(work: Work) -> Work:
        held = work.cost if work.duty in bid.holds else 0.0
        if work.duty == "on-costs" and bid.holds:
            held = bid.fees * charged[work.on_laying]
        wet = work.wet_cost * (share if work.duty in bid.holds else 1.0)
        return replace(work, cost=work.cost - (1 - share) * held, wet_cost=wet, in_bid=share * held)

    def ruled(each: Ruling) -> Ruling:
        told = low * (each.duty == "covering" and each.duty in bid.holds and share < LOW)
        return replace(each, reason=each.reason + told, works=tuple(map(at_bid, each.works)))

    return replace(step, rulings=tuple(map(ruled, step.rulings)))


def _exposed(
    steps: tuple[Step, ...], alternative: Alternative, setting: Setting
) -> tuple[Step, ...]:
    """Add to the first job's open questions what the bad answer would make it cost more.

    Notes
    -----
    The job is ruled on as if the answer were known: just over a quarter of the insulation wet, so
    that the roof is torn off (a quarter patched under a coating, which is refused above it),
    water standing, asbestos found, curbs with no flashing left. What follows from it (tear-off,
    protection of rooms, permit and general conditions, less flat insulation) is so counted too.
    """
    today, first, *later = steps
    known = fsum(each.cost for each in first.rulings)

    def exposed(ruled: Ruling) -> Ruling:
        if ruled.status != OPEN or ruled.duty not in BAD_ANSWERS or not ruled.counted:
            return ruled
        name, answer = BAD_ANSWERS[ruled.duty]
        if isinstance(alternative, Coating) and name == "wet_fraction":
            answer = WET_LIMIT
        bad = replace(setting, roof=replace(setting.roof, **{name: answer}))
        return replace(ruled, exposure=max(0.0, first_job_cost(alternative, bad) - known))

    return (today, replace(first, rulings=tuple(map(exposed, first.rulings))), *later)


def first_job_cost(alternative: Alternative, setting: Setting) -> float:
    """Return what the first job costs, all its duties together [money]."""
    return fsum(each.cost for each in duties.rulings(first_job(alternative, setting)))


def _with_payments(alternative: Alternative, steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """Add grants and insurance premiums to the steps of an alternative, today's roof first."""
    today, first, *later = steps
    after = alternative.replacement if isinstance(alternative, Coating) else alternative
    own = replace(first, grant=alternative.grant, premium=alternative.insurance_premium)
    others = [replace(step, premium=after.insurance_premium) for step in later]
    if isinstance(alternative, Coating) and others:
        others[0] = replace(others[0], grant=after.grant)
    return (today, own, *others)


def _steps(alternative: Alternative, setting: Setting) -> tuple[Sequence[Step], int]:
    if isinstance(alternative, Membrane):
        return membrane.from_today(alternative, setting)
    if isinstance(alternative, Coating):
        return coating.steps(alternative, setting)
    return metal.steps(alternative, setting)


def candidates(alternative: Alternative, wet_fraction: float = 0.0) -> tuple[Alternative, ...]:
    """Return the ways in which an alternative can be carried out, of which the cheapest is taken.

    Parameters
    ----------
    alternative : Membrane, Coating or MetalRetrofit
        What the owner does.
    wet_fraction : float
        Part of the insulation that is wet.

    Notes
    -----
    A membrane of method "least-cost" is planned with recovers where they are allowed, with a
    tear-off first and recovers later, and with a tear-off each time: the owner would take the
    cheapest. The price is for the first job of each way. One that holds a tear-off is for a
    tear-off: at it no roof is laid over the old one, unless that method is entered. Under a framed
    roof wet areas are cut out, or all of the old roof comes off where more than a quarter is wet
    and that is cheaper: a price for framing over the old roof holds no such tear-off.

    Examples
    --------
    >>> [each.method for each in candidates(Membrane())]
    ['recover-where-allowed', 'tear-off-first', 'tear-off']
    >>> bid = Membrane(price_per_m2=100.0, price_includes=("laying", "tear-off"))
    >>> [each.method for each in candidates(bid)]
    ['tear-off-first', 'tear-off']
    """
    if isinstance(alternative, Coating):
        return tuple(
            replace(alternative, replacement=each) for each in _methods(alternative.replacement)
        )
    if isinstance(alternative, Membrane):
        return _methods(alternative)
    cut_out = alternative.wet_insulation == metal.CUT_OUT and wet_fraction > WET_LIMIT
    return (alternative, *((old_roof_off(alternative),) if cut_out else ()))


def old_roof_off(choice: MetalRetrofit) -> MetalRetrofit:
    """Return a framed roof with the old one torn off, which no price for framing over it holds."""
    held = (over_the_old(choice.price_includes), choice.origin("price_includes"))
    offers = tuple(
        replace(each, price_includes=over_the_old(each.price_includes))
        for each in choice.quotations
    )
    own = replace(choice, quotations=offers) if offers else choice
    return own.filled(wet_insulation=(metal.TORN_OFF, BY_COST), price_includes=held)


def over_the_old(settings: tuple[str, ...]) -> tuple[str, ...]:
    """Return what a price holds, without what only a tear-off needs."""
    held = included(settings)
    if held.isdisjoint(OF_TEAR_OFF):
        return settings
    return tuple(duty for duty in DUTIES if duty in held - OF_TEAR_OFF)


Laid = TypeVar("Laid", bound=LaterMembrane)


def _methods(choice: Laid) -> tuple[Laid, ...]:
    if choice.method != "least-cost":
        return (choice,)
    offers = may_be_taken(choice) if isinstance(choice, Membrane) else ()
    prices = [each.price_includes for each in offers] or [choice.price_includes]
    methods = [each for each in METHODS[1:] if any(is_for(held, each) for held in prices)]
    origin = BY_COST if OVER_THE_OLD in methods else BY_PRICE
    return tuple(choice.filled(method=(method, origin)) for method in methods)


def may_be_taken(choice: Membrane | Coating | MetalRetrofit) -> tuple[Quotation, ...]:
    """Return the quotation that the case names, else all of them."""
    named = (each for each in choice.quotations if each.bidder == choice.quotation_taken)
    return tuple(named) or choice.quotations


def is_for(price_includes: tuple[str, ...], method: str) -> bool:
    """Tell whether a price may be for a method: with a tear-off it is for none over the old."""
    return method != OVER_THE_OLD or "tear-off" not in included(price_includes)


def first_job(alternative: LaterMembrane | Coating | MetalRetrofit, setting: Setting) -> Job:
    """Return the first job of an alternative, on the roof of today, which a quotation is for."""
    if isinstance(alternative, Coating):
        return coating.first_job(alternative, setting)
    if isinstance(alternative, MetalRetrofit):
        return metal.first_job(alternative, setting)
    return membrane.first_job(alternative, setting)


Priced = TypeVar("Priced", bound=LaterMembrane | Coating | MetalRetrofit)


def levelled(alternative: Priced, setting: Setting) -> tuple[Priced, tuple[Quoted, ...]]:
    """Return an alternative at the price of laying alone, whatever its price includes.

    With it come the price entered for its first job, and of a coating for the membrane after it.

    Parameters
    ----------
    alternative : Membrane, Coating or MetalRetrofit
        With the price as entered.
    setting : Setting
        The roof and the prices of its duties.
    """
    own, bid = _laid_alone(alternative, lambda: first_job(alternative, setting))
    if not isinstance(own, Coating):
        return own, (bid,)
    with within("replacement"):
        after, later = _laid_alone(own.replacement, lambda: coating.job_after(own, setting))
    return replace(own, replacement=after), (bid, later)


def _laid_alone(choice: Priced, job: Callable[[], Job]) -> tuple[Priced, Quoted]:
    price = choice.price_per_m2
    if price is None:
        return choice, Quoted(0.0)
    bid = quoted(price, job(), usual_price(choice))
    return replace(choice, price_per_m2=float(bid.laid(price))), bid


def usual_price(alternative: Priced) -> float:
    """Return the price of laying in the tables [money/m²]."""
    found = from_row(alternative, "price_per_m2")
    return float(found[0]) if found else 0.0
