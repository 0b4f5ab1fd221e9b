"""Quotations side by side: what each leaves out, its price at one scope, and which is taken."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple, TypeVar

from lcc.case import Coating, Membrane, MetalRetrofit, Quotation
from lcc.case.document_values import capital, spoken
from lcc.case.duty_prices import DUTIES, LAYING, included, read_as_laying
from lcc.case.fields import known
from lcc.cost import duties
from lcc.cost.costed import Costed
from lcc.cost.programme import first_job, is_for, levelled, may_be_taken, over_the_old, usual_price
from lcc.cost.remarks import Remark, costs_then, turned_by
from lcc.cost.result import Account
from lcc.cost.roof_job import BY_COST, BY_PRICE, NOT_NEEDED, OPEN, Job
from lcc.cost.roof_states import Setting
from lcc.cost.verdict import difference
from lcc.cost.work import Ruling
from lcc.errors import within
from lcc.figures import CENTS, said
from lcc.results import AlternativeResult, LeftOut, LevelledQuotation

ENTERED_PRICE = "The price entered"
HOLDS_ALL, USUAL = "The price entered, holding all work", "The usual price"
HOLDS_TEAR_OFF = "The price entered, holding the tear-off"
NEGLIGIBLE = 1e-6  # money
# Common practice: a price is doubted that is lower than its parts usually cost by more than a
# quarter of that, or leaves less than half of the usual price for laying.
TOO_LOW, SUSPECT = 0.25, 0.5
SLIP = 3.0  # of the usual price of laying: more is probably typed wrong; common practice
# Chosen: work added to a price is said beside the headline from a quarter of that price on. Then
# what is added to the other price is said too, from a twentieth of it on.
MUCH, SOME = 0.25, 0.05
# Duties in the middle of a sentence, where their keys do not read well.
WORK = {
    "wet-insulation": "wet insulation", "on-costs": "permit, fees and tax",
    "structure": "structural design", "units": "rooftop units",
}  # fmt: skip
Priced = TypeVar("Priced", bound=Membrane | Coating | MetalRetrofit)


def offered(
    choice: Priced, setting: Setting, *, entered: bool
) -> Iterator[tuple[Priced, tuple[LevelledQuotation, ...]]]:
    """Yield an alternative at each quotation that may be taken, with all of them at one scope.

    Parameters
    ----------
    choice : Membrane, Coating or MetalRetrofit
        With the method of its first job; every quotation is for that job.
    setting : Setting
        The roof, and the prices of what a quotation leaves out.
    entered : bool
        Whether a single price is the user's own, and not a table's or a take-off's.

    Notes
    -----
    What a quotation does not state is priced as in every other alternative, and added. The one
    named by the case may be taken, else any: of these, as of the methods, the one of least
    life-cycle cost is used. So another bid makes no alternative dearer. At one that holds a
    tear-off the old roof comes off, unless another method is entered.
    """
    offers = choice.quotations
    if not offers:
        own = (replace(_levelled(choice, setting, ENTERED_PRICE), taken=True),) if entered else ()
        yield choice, own
        return
    bids = []
    for index, each in enumerate(offers):
        with within("quotations", index):
            bids.append(_levelled(_with(choice, each), setting, each.bidder))
    method = choice.method if isinstance(choice, Membrane) else ""
    method = method if method and choice.origin("method") == BY_COST else ""
    for offer in may_be_taken(choice):
        if not is_for(offer.price_includes, method):
            continue  # laid after the tear-off, as another method of the same choice
        marked = (replace(bid, taken=each is offer) for each, bid in zip(offers, bids, strict=True))
        yield _with(choice, offer), tuple(marked)


def _with(choice: Priced, offer: Quotation | LevelledQuotation) -> Priced:
    return replace(
        choice, price_per_m2=offer.price_per_m2, price_includes=offer.price_includes,
        quotations=(), quotation_taken="",
    )  # fmt: skip


def _levelled(
    choice: Membrane | Coating | MetalRetrofit, setting: Setting, bidder: str
) -> LevelledQuotation:
    laid, (bid, *_) = levelled(choice, setting)
    price, holds = known(choice.price_per_m2), included(choice.price_includes)
    job = first_job(laid, setting)
    ruled = duties.rulings(job)
    off = float(bid.taken_off(price)) * job.area_m2
    whole = math.fsum(each.cost for each in ruled) - off
    quoted, usual = price * job.area_m2, usual_price(choice)
    return LevelledQuotation(
        bidder=bidder,
        price_per_m2=price,
        price_includes=choice.price_includes,
        quoted_cost=quoted,
        left_out=tuple(_left_out(ruled, holds, whole - quoted, job)),
        levelled_price_per_m2=whole / job.area_m2,
        levelled_cost=whole,
        estimated=max(whole - quoted, 0.0),
        taken=False,
        questions=tuple(_questions(ruled, holds)),
        short=max(0.0, _usual_cost(replace(job, laid_per_m2=usual)) - quoted),
        laying_cost=float(bid.left_for_laying(price)) * job.area_m2,
        usual_laying_cost=usual * job.area_m2,
    )


def _usual_cost(job: Job) -> float:
    """Return what the work that a price holds costs at usual prices, with fees where it has them.

    Each duty is priced as where no price holds it, so the sum is that of the same job unquoted.
    """
    unquoted = duties.rulings(replace(job, holds=included(("laying",))))
    parts = {one.duty: one.cost for one in unquoted if one.duty in {*job.holds, "covering"}}
    parts.pop("on-costs", None)
    charged = math.fsum(cost for duty, cost in parts.items() if duty not in duties.FREE_OF_FEES)
    fees = float(job.setting.duty_prices.on_costs_rate or 0)
    return math.fsum(parts.values()) + fees * charged * ("on-costs" in job.holds)


def _left_out(
    ruled: Sequence[Ruling], holds: frozenset[str], added: float, job: Job
) -> Iterator[LeftOut]:
    """Yield what is added to a quotation; on-costs are what its other duties do not come to."""
    apart = {each.duty: each.cost for each in ruled if each.duty not in holds and each.cost}
    others = math.fsum(cost for duty, cost in apart.items() if duty != "on-costs")
    apart["on-costs"] = added - others
    for duty in DUTIES:
        if abs(apart.get(duty, 0.0)) > NEGLIGIBLE:
            yield LeftOut(duty, DUTIES[duty], apart[duty], apart[duty] / job.area_m2)


def _questions(ruled: Sequence[Ruling], holds: frozenset[str]) -> Iterator[str]:
    for each in ruled:
        if each.duty in holds or not (each.cost or each.status == OPEN):
            continue
        asked = f"Does the price include “{spoken(DUTIES[each.duty])}”?"
        cost = f"about {said(each.cost)} is added" if each.cost else "whether it is needed is open"
        yield f"{asked} It does not say so; {cost}."


def taken(bids: Iterable[LevelledQuotation]) -> LevelledQuotation | None:
    """Return the quotation at which an alternative is costed, None where it has none."""
    return next((bid for bid in bids if bid.taken), None)


def unsaid(found: Costed) -> dict[int, float]:
    """Return what costs come to where a price does not say what it holds, if it holds all work."""
    by_place = found.otherwise.prices.items()
    return {place: costs[ENTERED_PRICE] for place, costs in by_place if ENTERED_PRICE in costs}


class Likelier(NamedTuple):
    """What a price more likely holds than what it is read as holding, and why that is so.

    `cost` is the life-cycle cost if it does, 0 where that was not worked out [money].
    """

    name: str
    what: str
    cost: float
    why: str
    doubtful: bool


def likelier(found: Costed) -> dict[int, Likelier]:
    """Return by place each price that is nearer to the usual one of more work than it is read for.

    Notes
    -----
    The nearest, by ratio, of the usual prices of what it is read as holding, of that with the
    tear-off, and of everything. A price too high even for everything is probably typed wrong.
    """
    more: dict[int, Likelier] = {}
    for place, one in enumerate(found.alternatives):
        bid, choice = taken(one.quotations), found.case.choices[place]
        if bid is None or not bid.quoted_cost:
            continue
        job = replace(first_job(choice, found.setting(place)), laid_per_m2=usual_price(choice))
        job, known_costs = replace(job, holds=included(bid.price_includes)), found.otherwise.prices
        as_read, costs = _usual_cost(job), known_costs.get(place, {})
        over = one.kind == "membrane" and not job.torn_off
        whole = included(over_the_old(("everything",)) if over else ("everything",))
        scopes = {"all work": (replace(job, holds=whole),
                               costs.get(ENTERED_PRICE, costs.get(HOLDS_ALL, 0.0)))}  # fmt: skip
        if torn := costs.get(HOLDS_TEAR_OFF):
            off = replace(job, holds=job.holds | {"tear-off"}, torn_off=True)
            scopes["its tear-off"] = off, torn
        usual = [(_usual_cost(each), what, cost) for what, (each, cost) in scopes.items()]
        paid = bid.quoted_cost
        most, what, cost = min(usual, key=lambda each: abs(math.log(paid / each[0])))
        if paid**2 > as_read * most > as_read**2 and (1 - TOO_LOW) * paid <= most:
            why = (
                f"comes to about {said(paid)} for the roof: what we read it as including usually "
                f"costs about {said(as_read)}, with {what} about {said(most)}. So it more likely "
                f"includes {what}: ask in writing."
            )
            doubtful = as_read < (1 - TOO_LOW) * paid
            more[place] = Likelier(one.name, what, cost, why, doubtful)
    return more


def added(found: Costed) -> Iterator[str]:
    """Yield what a first job comes to where much is added to its price, of unknown scope or not.

    Where the scope is stated, also the answer if the price held that work too.
    """
    results, (base, own), unknown = found.alternatives, found.pair, unsaid(found)
    bids = {at: taken(results[at].quotations) for at in sorted({0, found.best, *unknown})}
    much = any(bid and bid.estimated >= MUCH * bid.quoted_cost for bid in bids.values())
    for place, bid in bids.items():
        result = results[place]
        if not much or bid is None or bid.estimated < SOME * bid.quoted_cost:
            continue
        most = sorted(bid.left_out, key=lambda each: -each.cost)[:2]
        parts = " and ".join(f"{WORK.get(one.key, one.key)} ({said(one.cost)})" for one in most)
        why = ("nobody has entered what its price includes, and work that it may already hold"
               if place in unknown else "work that its price does not name")  # fmt: skip
        told = ""
        if cost := found.otherwise.prices.get(place, {}).get(HOLDS_ALL):
            then = difference(*found.costs_with({place: cost}), base.name)
            told = f" If that price holds all of it, “{own.name}” costs {then}."
        yield (
            f"The first job of “{result.name}” comes to about {said(bid.levelled_cost)}, not "
            f"{said(bid.quoted_cost)}: {why} is added at usual prices, "
            f"{'most of it ' * (len(bid.left_out) > 2)}{parts}.{told}"
        )


def at_other_prices(
    given: Priced, priced: Priced, bids: Sequence[LevelledQuotation], over: bool
) -> Iterator[tuple[str, Priced]]:
    """Yield an alternative at each price that was not taken, with its bidder.

    Parameters
    ----------
    given, priced : Membrane, Coating or MetalRetrofit
        As the case states it, and as it is costed.
    bids : sequence of LevelledQuotation
        Its quotations.
    over : bool
        Whether it is planned over the old roof.

    Notes
    -----
    A single price that does not say what it holds is read as laying alone; the other price is
    then the same for everything that is so planned: over the old roof, without a tear-off.
    """
    if given.price_per_m2 is not None and given.price_includes != ("everything",):
        whole = HOLDS_ALL if given.states("price_includes") else ENTERED_PRICE
        held = over_the_old(("everything",)) if over else ("everything",)
        yield whole, replace(priced, price_includes=held)
        torn = (*given.price_includes, "tear-off")
        dear = any(bid.laying_cost > bid.usual_laying_cost for bid in bids)
        left = "tear-off" not in given.price_includes
        if isinstance(priced, Membrane) and left and dear and is_for(torn, priced.method):
            yield HOLDS_TEAR_OFF, replace(priced, price_includes=torn)
    for bid in bids:
        if not bid.taken:
            yield bid.bidder, replace(priced, quotation_taken=bid.bidder)
        elif _price_too_low(bid) and bid.short and bid.quoted_cost:
            usual = bid.price_per_m2 * (1 + bid.short / bid.quoted_cost)
            yield USUAL, _with(priced, replace(bid, price_per_m2=usual))


def laid_over(own: Account) -> bool:
    """Tell whether a membrane is planned over the old roof."""
    programme = own.ledger.programme
    return programme.kind == "membrane" and not programme.torn_off


def other_bids(found: Costed) -> Iterator[Remark]:
    """Yield each quotation not taken that turns the answer, or costs less over the study period."""
    results, (base, own) = found.alternatives, found.pair
    for place, by_bidder in found.otherwise.prices.items():
        bid, name = taken(results[place].quotations), results[place].name
        picked = bid.bidder if bid else ""
        ours = (ENTERED_PRICE, HOLDS_ALL, HOLDS_TEAR_OFF, USUAL)
        quoted = {bidder: cost for bidder, cost in by_bidder.items() if bidder not in ours}
        for bidder, cost in quoted.items():
            then = found.costs_with({place: cost})
            what = f"if the quotation of “{bidder}” for “{name}” is taken"
            turned = turned_by(base, own, [(what, *then)])
            if turned:
                yield Remark(
                    f"The answer holds for the quotation of “{picked}” for “{name}”. At the price "
                    f"of “{bidder}”, “{own.name}” costs {difference(*then, base.name)}.",
                    turned,
                    "another quotation is taken",
                    "these quotations are taken",
                )
        yield from map(Remark, _cheaper_over_the_years(results[place], picked, quoted))
        if results[place].quotations_note:
            yield Remark(results[place].quotations_note)


def _cheaper_over_the_years(
    own: AlternativeResult, picked: str, quoted: Mapping[str, float]
) -> Iterator[str]:
    """Yield that a quotation named by the case costs more over the study period than another."""
    least = min(quoted, key=lambda bidder: quoted[bidder], default="")
    if least and (more := own.life_cycle_cost - quoted[least]) > CENTS:
        yield (
            f"Over the study period “{own.name}” costs about {said(more)} more by the quotation of "
            f"“{picked}”, which is taken as entered, than by that of “{least}”."
        )


def note(name: str, bids: Sequence[LevelledQuotation], *, named: bool = False) -> str:
    """Return which quotation is taken and why, in plain words; `named` where the case says it."""
    if len(bids) < 2:
        return ""
    picked = next(each for each in bids if each.taken)
    level = min(bids, key=lambda each: each.levelled_cost)
    cheap = min(bids, key=lambda each: each.quoted_cost)
    why = "as entered" if named else "which costs least over the study period"
    costs = ", ".join(f"“{each.bidder}” about {said(each.levelled_cost)}" for each in bids)
    told = (
        f"“{name}”: the quotation of “{picked.bidder}” is taken, {why}. With the same work in each "
        f"the first job costs: {costs}"
    )
    if cheap is not level and cheap is not picked:
        told += (
            f". “{cheap.bidder}” quotes the least, about {said(cheap.quoted_cost)}, but leaves out "
            f"about {said(cheap.estimated)}"
        )
    return f"{told}."


def asbestos_held(found: Costed) -> Iterator[str]:
    """Yield whose price for everything is read as holding asbestos work that a job may meet."""
    names, whole = [], unsaid(found)
    for place, own in enumerate(found.alternatives):
        bid = taken(own.quotations)
        rulings = found.accounts[place].ledger.programme.rulings
        work = next(one for one in rulings if one.duty == "asbestos")
        met = work.status != NOT_NEEDED and work.counted
        if bid and met and ("everything" in bid.price_includes or place in whole):
            names.append(f"“{own.name}”")
    if names:
        yield (
            "A price for everything is read as holding asbestos work too, which few prices do: "
            f"for {' and '.join(names)} ask in writing."
        )


def prices_doubted(found: Costed, more: Mapping[int, Likelier]) -> Iterator[Remark]:
    """Yield for each price taken that is too low or too high what it would have to come to."""
    unknown = unsaid(found)
    for place, one in enumerate(found.alternatives):
        bid = taken(one.quotations)
        high = more.get(place) if place not in unknown else None
        if high and high.doubtful:
            yield _too_high(found, place, high)
        elif bid and bid.laying_cost > SLIP * bid.usual_laying_cost > 0:
            yield Remark(
                f"The price of “{one.name}” looks too high: about {said(bid.laying_cost)} for "
                f"laying, for which the table counts {said(bid.usual_laying_cost)}. "
                "Check its decimal point, and that it is by area."
            )
        if bid and _price_too_low(bid):
            yield _doubted(found, place, bid)


def _too_high(found: Costed, place: int, high: Likelier) -> Remark:
    """Return what a price too high for what it holds more likely holds, with the answer then."""
    (base, own), what = found.pair, f"if the price of “{high.name}” includes {high.what}"
    then = found.costs_with({place: high.cost} if high.cost else {})
    turned = turned_by(base, own, [(what, *then)])
    answer = f" {capital(what)}, “{own.name}” {costs_then(base, then, turned=bool(turned))}."
    return Remark(
        f"The price of “{high.name}” looks too high for what it is said to hold. It {high.why}"
        f"{answer * bool(high.cost)}",
        turned,
        f"{'its' if place else 'the other’s'} price includes {high.what}",
        "the prices hold what is entered",
    )


def _price_too_low(bid: LevelledQuotation) -> bool:
    little = bid.laying_cost < SUSPECT * bid.usual_laying_cost
    return little or bid.short > TOO_LOW * (bid.quoted_cost + bid.short)


def _doubted(found: Costed, place: int, bid: LevelledQuotation) -> Remark:
    """Return what a low price usually is, with the answer then where the headline speaks of it."""
    (base, own), name = found.pair, found.alternatives[place].name
    usual, then = f"about {said(bid.quoted_cost + bid.short)}", ""
    cost = found.otherwise.prices.get(place, {}).get(USUAL)
    costs = found.costs_with({} if cost is None else {place: cost})
    turned = turned_by(base, own, [(f"at the usual price of “{name}”, {usual}", *costs)])
    if cost is not None:
        answer = costs_then(base, costs, turned=bool(turned))
        then = f" At {usual} for “{name}”, “{own.name}” {answer}."
    return Remark(
        f"The price of “{name}” looks too low: about {said(bid.quoted_cost)} for the roof, where "
        f"the work that we read it as including usually costs {usual}.{then} The first job is "
        "counted as quoted. Later ones are laid at the usual price, about "
        f"{said(bid.usual_laying_cost)} plus permit and fees, or at the price quoted where that "
        "is lower. Ask in writing what the price holds.",
        turned,
        f"{'its' if place else 'the other’s'} price is the usual one",
        "the low price entered is the right one",
    )


def no_third(found: Costed) -> Iterator[str]:
    """Yield each price for more than laying, without a tear-off, where no recover is allowed."""
    count = found.stated.roof.coverings
    for place in {0, found.best} if count > 1 else ():
        own, programme = found.alternatives[place], found.accounts[place].ledger.programme
        bid = taken(own.quotations)
        more = set(bid.price_includes if bid else ()) - {*LAYING, "laying", "warranty"}
        if more.isdisjoint(("everything", "tear-off")) and more and programme.torn_off:
            yield (
                f"No new covering may go over the {count} in place (International Building Code "
                f"2021, 1511.3.1.1). So the price of “{own.name}” is read as a "
                "tear-off: what it does not name of that is added. If it holds the tear-off, "
                "enter that it includes the whole job. If it is for a roof laid over the old one, "
                "that roof cannot be built: ask for another price."
            )


def torn_as_priced(found: Costed) -> Iterator[str]:
    """Yield each roof that is torn off because its price holds that, and need not be."""
    for place in (0, found.best):
        rulings = found.accounts[place].ledger.programme.rulings
        if any(one.duty == "tear-off" and one.reason == BY_PRICE.source for one in rulings):
            yield (
                f"The price of “{found.alternatives[place].name}” holds a tear-off, so the old "
                "roof comes off. The model code would let a new roof be laid over it, at a price "
                "that nobody has entered: ask for one too."
            )


def asked(results: Iterable[AlternativeResult]) -> Iterator[str]:
    """Yield for each bidder the duties that his prices do not state, in one question for alike."""
    found: dict[tuple[str, str], list[str]] = {}
    for one, bid in ((own, bid) for own in results for bid in own.quotations):
        laid = read_as_laying(bid.price_includes) if one.kind != "coating" else []
        titles = (*(DUTIES[key] for key in laid), *(each.duty for each in bid.left_out))
        if duty := [f"“{spoken(title)}”" for title in titles]:
            whose = bid.bidder if bid.bidder != ENTERED_PRICE else "The bidder"
            found.setdefault((whose, ", ".join(duty)), []).append(f"“{one.name}”")
    for (whose, held), names in found.items():
        each = "each price" if len(names) > 1 else "the price"
        yield f"{whose}, for {', '.join(names)}: does {each} include {held}?"
