"""The inputs that are varied one at a time, each with its range and what it moves."""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from lcc import tables
from lcc.arrays import Array
from lcc.case import Alternative, Case, Coating, LaterMembrane, MetalRetrofit, Uncertainty
from lcc.case.fields import Basis, facts_of, known
from lcc.cost.bid_levelling import Quoted
from lcc.cost.covering_lives import METAL, around, life_range
from lcc.cost.ledger import Ledger
from lcc.cost.monte_carlo import saving_range
from lcc.cost.present_value import general_inflation, real_rate
from lcc.cost.scenario import AT_BID, UNKNOWNS
from lcc.cost.work import DISRUPTION, FEES, FLASHINGS, INSULATION, REPAIRS, TEAR_OFF, UNITS, UPKEEP

BASE = "base_case"
PRICE = "price"
REPLACEMENT = f".replacement.{PRICE}"


@dataclass(frozen=True)
class Lever:
    """One input that is varied alone.

    `side` says whose terms it changes: those of the base case, of the alternative, or of both
    ("both"); `term` is the name in `lcc.cost.scenario.Scenario`, and `as_term` makes values of
    the input, shape (values,), into that term. `least` to `most` is where a break-even is
    looked for, `low` and `high` the swing. `whole_years` marks lives, which act in whole years.
    A price is varied as it was entered, with all that it holds: `quoted` says what of it is laying.
    """

    field: str
    label: str
    kind: str
    current: float
    low: float
    high: float
    least: float
    most: float
    basis: Basis
    source: str
    side: str
    term: str
    as_term: Callable[[Array], Array]
    whole_years: bool = False
    quoted: Quoted | None = None

    def terms(self, values: Array) -> Iterator[tuple[str, Array]]:
        """Yield each term of a scenario that the input moves, with what its values make of it."""
        yield self.term, self.as_term(values)
        if self.quoted:
            now = self.quoted.share(self.current)
            yield AT_BID[self.term], self.quoted.share(values) / now

    def of(self, way: Ledger) -> "Lever | None":
        """Return the same price in another way of the same work, None where it has another one."""
        which = int(self.field.endswith(REPLACEMENT))
        quoted = way.programme.quoted[which]
        if quoted.price_per_m2 != self.current:
            return None
        return replace(self, quoted=quoted, as_term=partial(_of_laying, quoted))


def levers(case: Case, index: int, base: Ledger, own: Ledger) -> tuple[Lever, ...]:
    """Return the inputs that bear on an alternative against the base case.

    Parameters
    ----------
    case : Case
        The case, its framing surveys already taken into the alternatives.
    index : int
        Place of the alternative in `case.alternatives`.
    base, own : Ledger
        Costs of the base case and of that alternative: work that neither has is not varied.
    """
    return (
        *_of_choice(case, case.base_case, BASE, "base", base),
        *_of_choice(case, case.alternatives[index], f"alternatives.{index}", "own", own),
        *_of_roof(case),
        *_of_unknown(case, {*base.open, *own.open}),
        *_of_rates(case),
        *_of_energy(case),
        *_of_amounts(case, (base, own)),
    )


def _of_choice(
    case: Case, choice: Alternative, path: str, side: str, book: Ledger
) -> Iterator[Lever]:
    price, *later = book.programme.quoted
    if isinstance(choice, MetalRetrofit):
        yield from _price(case, path, "retrofit", choice.name, price, side, "price")
        yield _life(case, path, "retrofit", choice.name, choice.service_life_y, side, METAL)
        return
    if isinstance(choice, Coating):
        yield from _price(case, path, "membrane", choice.name, price, side, "coating_price")
        yield from _life_gain(case, path, choice, side)
        after = choice.replacement
        name = after.name if after.states("name") else f"Membrane after {choice.name}"
        yield from _of_membrane(case, after, f"{path}.replacement", name, side, *later)
        return
    yield from _of_membrane(case, choice, path, choice.name, side, price)


def _life_gain(case: Case, path: str, choice: Coating, side: str) -> Iterator[Lever]:
    current = choice.life_gain_y
    if not current:
        return
    part, basis, source = _range(case.uncertainty, "life_gain_range")
    yield Lever(
        f"{path}.life_gain", f"{choice.name}: added life", "years", current,
        current * (1 - part), current * (1 + part), 0.0, max(30.0, current), basis, source, side,
        "life_gain", partial(_over, current), whole_years=True,
    )  # fmt: skip


def _of_membrane(
    case: Case, choice: LaterMembrane, path: str, name: str, side: str, price: Quoted
) -> Iterator[Lever]:
    yield from _price(case, path, "membrane", name, price, side, "price")
    family = str(tables.rows("coverings")[choice.covering]["life_family"])
    yield _life(case, path, "membrane", name, known(choice.service_life_y), side, family)


def _price(
    case: Case, path: str, what: str, name: str, quoted: Quoted, side: str, term: str
) -> Iterator[Lever]:
    current = quoted.price_per_m2
    laid = float(quoted.laid(current))
    if not laid:
        return
    part, basis, source = _range(case.uncertainty, f"{what}_price_range")
    paid = laid * float(quoted.share(current)) * quoted.rate
    half = part * paid  # the draws vary the price of other work apart
    yield Lever(
        f"{path}.{PRICE}", f"{name}: price", "price_per_area", current,
        current - half, current + half, 0.0, 4 * current, basis, source,
        side, term, partial(_of_laying, quoted), quoted=quoted,
    )  # fmt: skip


def _of_laying(quoted: Quoted, values: Array) -> Array:
    """Return prices entered as factors on the price of laying."""
    return quoted.laid(values) / quoted.laid(quoted.price_per_m2)


def _life(
    case: Case, path: str, what: str, name: str, current: float, side: str, family: str
) -> Lever:
    low, high, basis, source = _life_range(case, f"{what}_life_spread", family, current)
    least, most = (10.0, 100.0) if what == "retrofit" else (4.0, 60.0)
    return Lever(
        f"{path}.service_life", f"{name}: service life", "years", current,
        max(1.0, low), high, min(least, current), max(most, current), basis, source, side, "life",
        lambda values: (values / current)[:, np.newaxis], whole_years=True,
    )  # fmt: skip


def _life_range(
    case: Case, spread: str, family: str, current: float
) -> tuple[float, float, Basis, str]:
    """Return low and high life with their origin: as entered, or by the sources of the table."""
    part, basis, source = _range(case.uncertainty, spread)
    if basis == "entered":
        return current * (1 - part), current * (1 + part), basis, source
    found = around(family, current)
    return found.low_y, found.high_y, "from memory", life_range(family).source


def _of_roof(case: Case) -> Iterator[Lever]:
    current = known(case.roof.remaining_life_y)
    half, basis, source = _range(case.uncertainty, "remaining_life_range_y")
    yield Lever(
        "roof.remaining_life", "Remaining life of the covering in place", "years", current,
        max(0.0, current - half), current + half, 0.0, max(30.0, current), basis, source,
        "both", "more_remaining", lambda values: values - current, whole_years=True,
    )  # fmt: skip


# Field, label and bad answer of what nobody may know, by the duty that it bears on.
NOT_KNOWN = {
    each["duty"]: (each["field"], each["not_known"], each["bad_answer"])
    for each in tables.words("duties")
    if each["field"]
}


def _of_unknown(case: Case, unknown: Collection[str]) -> Iterator[Lever]:
    """Yield each open question: none of its worst cost in the case, and up to all of it."""
    part, basis, source = _range(case.uncertainty, "unknown_range")
    for duty in (each for each in NOT_KNOWN if each in unknown and part):
        field, label, _ = NOT_KNOWN[duty]
        yield Lever(
            field, label, "fraction", 0.0, 0.0, part, 0.0, 1.0, basis, source, "both",
            UNKNOWNS[duty], np.asarray,
        )  # fmt: skip


def _of_rates(case: Case) -> Iterator[Lever]:
    economics = case.economics
    inflation = general_inflation(economics) if economics.rate_kind == "nominal" else 0.0
    current = economics.discount_rate
    half, basis, source = _range(case.uncertainty, "discount_rate_range")
    yield Lever(
        "economics.discount_rate", "Discount rate", "rate", current, current - half,
        current + half, min(0.0, current), max(0.2, current), basis, source, "both",
        "discount_rate",
        lambda values: real_rate(values, inflation),
    )  # fmt: skip
    ranges = {"work": "work", "repairs": "work", "electricity": "energy", "gas": "energy"}
    for what, named in ranges.items():
        half, basis, source = _range(case.uncertainty, f"{named}_escalation_range")
        name = f"{what}_escalation"
        current = getattr(economics, name)
        yield Lever(
            f"economics.{name}", facts_of(type(economics))[name].label, "rate", current,
            current - half, current + half, min(-0.05, current), max(0.1, current), basis,
            source, "both", name, np.asarray,
        )  # fmt: skip


def _of_energy(case: Case) -> Iterator[Lever]:
    prices = case.prices
    part, basis, source = _range(case.uncertainty, "energy_price_range")
    for carrier, kind in (("electricity", "price_per_energy"), ("gas", "price_of_gas")):
        current = float(getattr(prices, f"{carrier}_per_kwh"))
        if current:
            yield Lever(
                f"prices.{carrier}", f"Price of {carrier}", kind, current,
                current * (1 - part), current * (1 + part), 0.0, 5 * current, basis, source,
                "both", f"{carrier}_price", partial(_over, current),
            )  # fmt: skip
    saved = _factor(case, "energy_saving", "Energy saving over what the model finds", 5.0)
    part = saving_range(case)
    yield replace(saved, low=1 - part, high=1 + part)


# Amounts varied as a whole: the term of a scenario, its label, and how its costs are named.
AMOUNTS = {
    "tear_off": ("Cost of tear-off and disposal", (TEAR_OFF,)),
    "insulation": ("Cost of insulation", (INSULATION,)),
    "units": ("Cost of rooftop units", (UNITS,)),
    "disruption": ("Cost of disruption and interior damage", (DISRUPTION,)),
    "other_work": ("Cost of edges, flashings and fees", (FLASHINGS, FEES)),
    "repairs": ("Cost of repairs", (REPAIRS,)),
    "upkeep": ("Cost of upkeep and service", (UPKEEP,)),
}


def _of_amounts(case: Case, ledgers: Sequence[Ledger]) -> Iterator[Lever]:
    """Yield the kinds of work that one of the two has, and the wet area where it is paid for."""
    paid = {name for each in ledgers for name in (*each.works, *each.running)}
    paid |= {work.category for each in ledgers for work, _ in each.repeated}
    for term, (label, names) in AMOUNTS.items():
        if paid & set(names):
            yield _factor(case, term, label, 5.0)
    if any(part.wet.any() for each in ledgers for part in each.works.values()):
        whole = 1 / case.roof.wet_fraction if case.roof.wet_fraction else 5.0
        yield _factor(case, "wet_area", "Wet area", whole)


def _factor(case: Case, term: str, label: str, most: float) -> Lever:
    """Return a factor on an amount of the case, at most so many times it."""
    part, basis, source = _range(case.uncertainty, f"{term}_range")
    return Lever(
        term, label, "ratio", 1.0, 1 - part, min(1 + part, most), 0.0, most, basis, source,
        "both", term, np.asarray,
    )  # fmt: skip


def _over(current: float, values: Array) -> Array:
    return values / current


def _range(uncertainty: Uncertainty, name: str) -> tuple[float, Basis, str]:
    """Return a range with its origin."""
    origin = uncertainty.origin(name)
    return float(getattr(uncertainty, name)), origin.basis, origin.source
