"""Which inputs decide: break-even values and low/high swings, one input at a time."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from lcc import tables
from lcc.case import (
    Alternative,
    Case,
    Coating,
    Economics,
    LaterMembrane,
    MetalRetrofit,
    Uncertainty,
)
from lcc.case.duty_prices import LAYING
from lcc.case.fields import Basis, facts_of, known
from lcc.cost.cash_flow import life_cycle_costs
from lcc.cost.ledger import Ledger
from lcc.cost.lives import METAL, around, life_range
from lcc.cost.monte_carlo import saving_range
from lcc.cost.scenario import FACTORS, UNKNOWNS, Scenario
from lcc.cost.work import DISRUPTION, FEES, FLASHINGS, INSULATION, REPAIRS, TEAR_OFF, UNITS, UPKEEP
from lcc.results import BreakEven, Swing
from lcc.results.takeoff_result import Amount

Array = NDArray[np.float64]
BASE = "base_case"


@dataclass(frozen=True)
class Lever:
    """One input that is varied alone.

    `side` says whose terms it changes: those of the base case, of the alternative, or of both
    ("both"); `term` is the name in `lcc.cost.scenario.Scenario`, and `as_term` makes values of
    the input, shape (values,), into that term. `least` to `most` is where a break-even is
    looked for, `low` and `high` the swing. `whole_years` marks lives, which act in whole years.
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
        *_of_choice(case, case.base_case, BASE, "base"),
        *_of_choice(case, case.alternatives[index], f"alternatives.{index}", "own"),
        *_of_roof(case),
        *_of_unknown(case, {*base.open, *own.open}),
        *_of_rates(case),
        *_of_energy(case),
        *_of_amounts(case, (base, own)),
    )


def _of_choice(case: Case, choice: Alternative, path: str, side: str) -> Iterator[Lever]:
    if isinstance(choice, MetalRetrofit):
        price, life = known(choice.price_per_m2), choice.service_life_y
        yield from _price(case, path, "retrofit", choice.name, price, side, "price")
        yield _life(case, path, "retrofit", choice.name, life, side, METAL)
        return
    if isinstance(choice, Coating):
        price = known(choice.price_per_m2)
        yield from _price(case, path, "membrane", choice.name, price, side, "coating_price")
        yield from _life_gain(case, path, choice, side)
        after = choice.replacement
        name = after.name if after.states("name") else f"Membrane after {choice.name}"
        yield from _of_membrane(case, after, f"{path}.replacement", name, side)
        return
    yield from _of_membrane(case, choice, path, choice.name, side)


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
    case: Case, choice: LaterMembrane, path: str, name: str, side: str
) -> Iterator[Lever]:
    price, life = known(choice.price_per_m2), known(choice.service_life_y)
    held = set(choice.price_includes) - {"laying", *LAYING}
    what = "price of laying" if held else "price"
    yield from _price(case, path, "membrane", name, price, side, "price", what)
    family = str(tables.rows("coverings")[choice.covering]["life_family"])
    yield _life(case, path, "membrane", name, life, side, family)


def _price(
    case: Case, path: str, what: str, name: str, current: float, side: str, term: str,
    called: str = "price",
) -> Iterator[Lever]:  # fmt: skip
    if not current:
        return
    part, basis, source = _range(case.uncertainty, f"{what}_price_range")
    yield Lever(
        f"{path}.price", f"{name}: {called}", "price_per_area", current,
        current * (1 - part), current * (1 + part), 0.0, 4 * current, basis, source,
        side, term, partial(_over, current),
    )  # fmt: skip


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
    "asbestos": ("roof.asbestos", "Asbestos, not tested", "asbestos is found"),
    "wet-insulation": (
        "roof.wet_fraction",
        "Wet insulation, not surveyed",
        "just over a quarter of it is wet",
    ),
    "drainage": ("roof.ponding", "Fall to drain, not looked at", "water stands for 48 hours"),
    "units": (
        "roof.flashing_height",
        "Height of the curbs, not measured",
        "no flashing is left on them",
    ),
    "structure": (
        "prices.duties.structure_rate",
        "Strength of the structure, not checked",
        "it must be checked and designed for",
    ),
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
    inflation = economics.inflation if economics.rate_kind == "nominal" else 0.0
    current = economics.discount_rate
    half, basis, source = _range(case.uncertainty, "discount_rate_range")
    yield Lever(
        "economics.discount_rate", "Discount rate", "rate", current, current - half,
        current + half, min(0.0, current), max(0.2, current), basis, source, "both",
        "discount_rate",
        lambda values: (1 + values) / (1 + inflation) - 1,
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
    for carrier in ("electricity", "gas"):
        current = float(getattr(prices, f"{carrier}_per_kwh"))
        if current:
            yield Lever(
                f"prices.{carrier}", f"Price of {carrier}", "price_per_energy", current,
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
    if any(each.wet for each in ledgers):
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


Trial = tuple[Lever, Array]


def net_savings(
    base: Ledger, own: Ledger, economics: Economics, trials: Sequence[Trial]
) -> list[Array]:
    """Return the net savings at each value of each input, the others as in the case.

    Parameters
    ----------
    base, own : Ledger
        Costs of the base case and of the alternative.
    economics : Economics
        Scenario of the case.
    trials : sequence of (Lever, ndarray)
        Inputs and the values to try, each of shape (values,).

    Returns
    -------
    list of ndarray
        For each trial, net savings of shape (values,).
    """
    return combined_savings(base, own, economics, [(trial,) for trial in trials])


def combined_savings(
    base: Ledger, own: Ledger, economics: Economics, trials: Sequence[Sequence[Trial]]
) -> list[Array]:
    """Return the net savings as several inputs of each trial take their values together.

    Parameters
    ----------
    base, own : Ledger
        Costs of the base case and of the alternative.
    economics : Economics
        Scenario of the case.
    trials : sequence of sequence of (Lever, ndarray)
        In each trial inputs and their values, all of one length; no two move the same term.
    """
    costs = [
        life_cycle_costs(ledger, _terms(economics, trials, side))
        for ledger, side in ((base, "base"), (own, "own"))
    ]
    bounds = np.cumsum([len(trial[0][1]) for trial in trials])[:-1]
    return np.split(costs[0] - costs[1], bounds)


def _terms(economics: Economics, trials: Sequence[Sequence[Trial]], side: str) -> Scenario:
    """Return one draw for each value of each trial, in which only that trial's terms differ."""
    point = Scenario.of(economics)
    size = sum(len(trial[0][1]) for trial in trials)
    terms: dict[str, Array] = {
        f.name: np.repeat(getattr(point, f.name), size, axis=0) for f in fields(point)
    }
    start = 0
    for trial in trials:
        end = start + len(trial[0][1])
        for lever, values in trial:
            if lever.side in (side, "both"):
                terms[lever.term][start:end] = lever.as_term(values)
        start = end
    return Scenario(**terms)


Places = NDArray[np.intp]
# Net savings follow these terms in a straight line, so two values tell all.
STRAIGHT = (*(set(FACTORS) - {"life_gain"}), *UNKNOWNS.values())
# Rates are looked at so many times over their range, and closer about each crossing.
LOOKS, CLOSER = 17, 41
# Net savings that change by less than this part of themselves do not change.
ROUNDING = 1e-9


def explored(
    base: Ledger, own: Ledger, economics: Economics, inputs: Sequence[Lever]
) -> tuple[tuple[BreakEven, ...], tuple[Swing, ...]]:
    """Return the break-even and the swing of each input of a comparison.

    Parameters
    ----------
    base, own : Ledger
        Costs of the base case and of the alternative.
    economics : Economics
        Terms of the case.
    inputs : sequence of Lever
        What is varied, one at a time.

    Returns
    -------
    tuple of tuple
        Break-evens in the order of the inputs, and swings with the widest first.

    Notes
    -----
    Only money is computed: the energy of each state of the roof is in the ledgers. All inputs are
    looked at over their ranges in one calculation and closed in on in a second. Lives act in
    whole years, so their break-even is a straight line between the two whole years of life
    between which the cheaper choice changes.
    """
    looked = [(lever, grid(lever)) for lever in inputs]
    swung = [(lever, np.array([lever.low, lever.high])) for lever in inputs]
    found = net_savings(base, own, economics, [*looked, *swung])
    seen, swings = found[: len(looked)], found[len(looked) :]
    roots = _roots(base, own, economics, looked, seen)
    break_evens = map(_break_even, inputs, seen, (roots[lever.field] for lever in inputs))
    return tuple(break_evens), tuple(sorted(map(_swing, inputs, swings), key=_size, reverse=True))


def grid(lever: Lever) -> Array:
    """Return the values at which an input is looked at over its range."""
    if lever.whole_years:
        return np.arange(np.ceil(lever.least), np.floor(lever.most) + 1)
    return np.linspace(lever.least, lever.most, 2 if lever.term in STRAIGHT else LOOKS)


def _roots(
    base: Ledger, own: Ledger, economics: Economics, looked: Sequence[Trial], seen: Sequence[Array]
) -> dict[str, list[float]]:
    """Return where net savings are nothing: of rates after a closer look about each crossing."""
    roots: dict[str, list[float]] = {lever.field: [] for lever, _ in looked}
    closer: list[Trial] = []
    for (lever, values), savings in zip(looked, seen, strict=True):
        if lever.whole_years or lever.term in STRAIGHT:
            roots[lever.field] = interpolated(values, savings)
        else:
            ends = [values[k : k + 2] for k in crossings(savings)]
            closer += [(lever, np.linspace(low, high, CLOSER)) for low, high in ends]
    again = net_savings(base, own, economics, closer) if closer else []
    for (lever, values), savings in zip(closer, again, strict=True):
        roots[lever.field] += interpolated(values, savings)
    return roots


def interpolated(values: Array, savings: Array) -> list[float]:
    """Return where savings are nothing on the straight lines between values, each place once.

    Examples
    --------
    >>> interpolated(np.array([10.0, 11.0, 12.0]), np.array([30.0, 10.0, -10.0]))
    [11.5]
    """
    at = crossings(savings)
    part = savings[at] / (savings[at] - savings[at + 1])
    found = values[at] + part * (values[at + 1] - values[at])
    return sorted(set(found.tolist()))


def crossings(savings: Array) -> Places:
    """Return the places after which net savings reach or pass nothing.

    Examples
    --------
    >>> crossings(np.array([3.0, 1.0, -1.0, -2.0, 0.0])).tolist()
    [1, 3]
    """
    return np.flatnonzero((savings[:-1] * savings[1:] <= 0) & (savings[:-1] != savings[1:]))


def _swing(lever: Lever, savings: Array) -> Swing:
    return Swing(
        lever.field,
        lever.label,
        Amount(lever.low, lever.kind),
        Amount(lever.high, lever.kind),
        float(savings[0]),
        float(savings[1]),
        lever.basis,
        lever.source,
    )


def _size(swing: Swing) -> float:
    return abs(swing.net_savings_high - swing.net_savings_low)


def _break_even(lever: Lever, savings: Array, roots: list[float]) -> BreakEven:
    nearest = min(roots, key=lambda root: abs(root - lever.current), default=None)
    return BreakEven(
        lever.field,
        lever.label,
        Amount(lever.current, lever.kind),
        None if nearest is None else Amount(nearest, lever.kind),
        Amount(lever.least, lever.kind),
        Amount(lever.most, lever.kind),
        _reason(lever, savings, len(roots)),
    )


def _reason(lever: Lever, savings: Array, roots: int) -> str | None:
    if np.ptp(savings) <= ROUNDING * np.abs(savings).max():
        return "it has no effect on the difference"
    if not roots:
        which = "less" if savings[0] > 0 else "more"
        return f"none in its range; the alternative costs {which} at every value"
    words = [f"the nearest of {roots} such values"] * (roots > 1)
    words += ["lives count in whole years, so the answer changes near it"] * lever.whole_years
    return "; ".join(words) or None
