"""What the answer is at the take-off's price, where that is not the price entered."""

import math
from collections.abc import Iterator
from dataclasses import replace

from lcc.case import Alternative, Case, MetalRetrofit, Roof
from lcc.case.framing import Framing
from lcc.case.kept import kept
from lcc.cost.costed import Costed
from lcc.cost.remarks import Remark, beside_the_best, turned_by
from lcc.cost.result import Account
from lcc.cost.verdict import difference
from lcc.figures import money, said
from lcc.quantities import Quantities, held
from lcc.quantities.trade_limits import COVER, UNUSUAL
from lcc.results import AlternativeResult

SMALL_DIFFERENCE = 0.03  # of the build-up: a larger difference is reported


def differs(own: AlternativeResult) -> bool:
    """Return whether a price entered and the take-off of the same plan are far apart."""
    cost = own.quantities.first_cost if own.quantities else None
    return cost is not None and abs(cost.difference or 0.0) > SMALL_DIFFERENCE * cost.build_up


def taken_off(found: Costed) -> Iterator[Remark]:
    """Yield by how much a price entered differs from its take-off, and the answer at that price.

    For the alternative that the headline names, and for others whose answer changes. First, where
    the take-off is the price of the one that the headline names, unusual hours in it.
    """
    base, best = found.pair
    taken = best.quantities
    if taken and taken.first_cost.quotation is None and (hours := _hours(taken)):
        yield Remark(f"The price of “{best.name}” is its take-off’s. {hours}")
    for place, own in enumerate(found.alternatives):
        if differs(own):
            built = found.otherwise.built.get(place)
            cost = own.life_cycle_cost if built is None else built
            then = [(f"at the take-off’s price of “{own.name}”", base.life_cycle_cost, cost)]
            turned = turned_by(base, own, then)
            answer = (
                f" {'The answer changes: at' if turned else 'At'} the price entered, “{own.name}” "
                "costs over the study period "
                f"{difference(base.life_cycle_cost, own.life_cycle_cost)}; at the take-off’s price "
                f"it costs {difference(base.life_cycle_cost, cost, base.name)}."
            ) * (built is not None)
            if own is best or turned:
                yield Remark(
                    f"{_gap(own)}{answer}{beside_the_best(best, own, cost)}",
                    turned,
                    "the take-off’s price is the right one",
                    "the price entered is the right one",
                )


def _hours(taken: Quantities) -> str:
    """Say that a take-off's hours are not usual, and what it comes to with those that are."""
    least, likely, most = (money(one.build_up) for one in taken.labour)
    return " ".join(
        f"{one} At usual hours the take-off is {least} to {most}, likely {likely}, "
        f"not {money(taken.first_cost.build_up)}."
        for one in taken.price_notes if one.endswith(UNUSUAL)
    )  # fmt: skip


def _gap(own: AlternativeResult) -> str:
    """Say what the work of a take-off costs by the price entered, and by the take-off itself."""
    assert own.quantities is not None
    cost = own.quantities.first_cost
    whole, gap = cost.quotation or 0.0, cost.difference or 0.0
    part = f" ({abs(gap) / cost.build_up:.0%})" if cost.build_up else ""
    told = [
        f"The work that the take-off of “{own.name}” counts comes to {said(whole)} with the price "
        f"entered, {said(abs(gap))}{part} {'below' if gap < 0 else 'above'} the take-off’s "
        f"{said(cost.build_up)}."
    ]
    told += [flag.message for flag in own.quantities.flags if flag.message.startswith(COVER)]
    return " ".join(filter(None, [*told, _hours(own.quantities)]))


def as_counted(own: Account, choice: MetalRetrofit, roof: Roof) -> float:
    """Return what the work that a survey counts costs by the price entered beside it [money].

    Parameters
    ----------
    own : Account
        The alternative at that price.
    choice : MetalRetrofit
        It, with its survey.
    roof : Roof
        The completed roof.

    Notes
    -----
    Of the first job: on the survey's part of the roof's area what its lines hold, and of rooftop
    units, pipes and skylights as many as it counts. No permit, protection or other fees, unless
    the lines have general conditions.
    """
    framing = choice.framing
    assert framing is not None
    share, work = framing.plan_m2 / roof.area_m2, framing.other_work
    wet = ("wet-insulation",) if framing.wet_area_m2 else ()
    parts = dict.fromkeys((*held(framing), *wet), share)
    counts = {"units": (framing.rooftop_units, roof.rooftop_units),
              "penetrations": (framing.penetrations, roof.penetrations),
              "skylights": (work.skylights, roof.skylights)}  # fmt: skip
    parts |= {duty: min(1.0, count / max(1, of)) for duty, (count, of) in counts.items()}
    rulings = [each for part in own.parts or (own,) for each in part.ledger.programme.rulings]
    return math.fsum(parts.get(each.duty, 0.0) * each.cost for each in rulings)


def at_takeoff(case: Case, place: int) -> Case:
    """Return a case with one alternative alone, at the price of its survey's lines."""
    return replace(case, alternatives=(_by_lines(case.alternatives[place - 1]),))


@kept(32)
def _by_lines(own: Alternative) -> MetalRetrofit:
    assert isinstance(own, MetalRetrofit)
    assert own.framing is not None
    dropped = ("price_per_m2", "price_includes", "quotations", "quotation_taken")
    known = {name: one for name, one in (own.origins or {}).items() if name not in dropped}
    return replace(own, price_per_m2=None, price_includes=("laying",), quotations=(),
                     quotation_taken="", framing=_lines(own.framing), origins=known)  # fmt: skip


@kept(32)
def _lines(framing: Framing) -> Framing:
    return replace(framing, quotation=None, quotation_from="")
