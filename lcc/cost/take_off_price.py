"""What the answer is at the take-off's price, where that is not the price entered."""

from collections.abc import Iterator
from dataclasses import replace

from lcc.case import Alternative, Case, MetalRetrofit
from lcc.case.framing import Framing
from lcc.case.kept import kept
from lcc.cost.costed import Costed
from lcc.cost.remarks import Remark, beside_the_best, turned_by
from lcc.cost.verdict import difference
from lcc.figures import money, said
from lcc.quantities.first_cost import usual_labour
from lcc.results import AlternativeResult
from lcc.units import FOOT_M

FEW = 0.03  # of the build-up: a larger difference is reported
GENERAL = "general_conditions_rate"


def differs(own: AlternativeResult) -> bool:
    """Return whether a price entered and the take-off of the same plan are far apart."""
    cost = own.quantities.first_cost if own.quantities else None
    return cost is not None and abs(cost.difference or 0.0) > FEW * cost.build_up


def taken_off(found: Costed) -> Iterator[Remark]:
    """Yield by how much a price entered differs from its take-off, and the answer at that price.

    For the alternative that the headline names, and for others whose answer changes. First, where
    the take-off is the price of the one that the headline names, unusual hours in it.
    """
    base, best = found.pair
    yield from map(Remark, unusual_labour(best))
    for place, own in enumerate(found.alternatives):
        if differs(own):
            built = found.otherwise.built.get(place)
            cost = own.life_cycle_cost if built is None else built
            then = [(f"at the take-off’s price of “{own.name}”", base.life_cycle_cost, cost)]
            turned = turned_by(base, own, then)
            if own is best or turned:
                yield Remark(
                    f"{_gap(own)}{_answer(base, own, built, over=bool(turned))}"
                    f"{beside_the_best(best, own, cost)}",
                    turned,
                    "the take-off’s price is the right one",
                    "the price entered is the right one",
                )


def unusual_labour(own: AlternativeResult) -> Iterator[str]:
    """Yield that a build-up which is the price has unusual hours, and what the likely ones cost.

    Notes
    -----
    Hours of a build-up are those of its unit prices unless hours or a productivity are entered.
    """
    taken = own.quantities
    if taken is None or taken.first_cost.quotation is not None:
        return
    cost, plan_ft2 = taken.first_cost, taken.surface.plan_area_m2 / FOOT_M**2
    if usual_labour(cost, taken.surface.plan_area_m2):
        return
    by_crew = {one.productivity: one for one in taken.labour}
    low, likely, high = (f"{by_crew[name].hours_h / plan_ft2:.2g}"
                         for name in ("high", "likely", "low"))  # fmt: skip
    yield (
        f"The price of “{own.name}” rests on a build-up of {money(cost.build_up)} with labour at "
        f"{cost.labour_h / plan_ft2:.2g} h/ft²; {low} to {high} is usual: at the likely {likely} "
        f"the build-up is {money(by_crew['likely'].build_up)}."
    )


def _gap(own: AlternativeResult) -> str:
    assert own.quantities is not None
    cost = own.quantities.first_cost
    gap = cost.difference or 0.0
    side = "below" if gap < 0 else "above"
    part = f" ({abs(gap) / cost.build_up:.0%})" if cost.build_up else ""
    return (
        f"The price entered for “{own.name}” is {said(abs(gap))}{part} {side} the take-off of its "
        f"plan{_left_out(own)}."
    )


def _left_out(own: AlternativeResult) -> str:
    """Say that the build-up has no general conditions, where they are not priced in it."""
    assert own.quantities is not None
    if any(line.key == GENERAL for line in own.quantities.first_cost.lines):
        return ""
    return ", which has no general conditions, bond, sales tax or warranty fee"


def _answer(
    base: AlternativeResult, own: AlternativeResult, built: float | None, *, over: bool
) -> str:
    if built is None:
        return ""
    return (
        f" {'The answer changes: at' if over else 'At'} the price entered, “{own.name}” costs over "
        f"the study period {difference(base.life_cycle_cost, own.life_cycle_cost)}; at the "
        f"take-off’s price it costs {difference(base.life_cycle_cost, built, base.name)}."
    )


def at_take_off(case: Case, place: int) -> Case:
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
