"""The main inputs of a comparison, each with the range in which it may lie and be looked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from functools import partial

import numpy as np
from numpy.typing import NDArray

from lcc import tables
from lcc.case import Alternative, Case, Coating, Membrane, MetalRetrofit, Uncertainty
from lcc.case.fields import Basis, facts_of
from lcc.cost.metal import price_per_m2
from lcc.cost.setting import Setting, resolved

Array = NDArray[np.float64]
BASE = "base_case"


@dataclass(frozen=True)
class Lever:
    """One input that is varied alone.

    `side` tells whose terms it changes: those of the base case, of the alternative, or of both
    ("both"); `term` is the name in `lcc.cost.terms.Terms`, and `as_term` makes values of
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


def levers(case: Case, index: int) -> tuple[Lever, ...]:
    """Return the inputs that bear on an alternative against the base case.

    Parameters
    ----------
    case : Case
        The case, its framing surveys already taken into the alternatives.
    index : int
        Place of the alternative in `case.alternatives`.
    """
    own = f"alternatives.{index}"
    return (
        *_of_choice(case, case.base_case, BASE, "base"),
        *_of_choice(case, case.alternatives[index], own, "own"),
        *_of_roof(case),
        *_of_rates(case),
        *_of_energy(case),
    )


def _of_choice(case: Case, choice: Alternative, path: str, side: str) -> Iterator[Lever]:
    if isinstance(choice, MetalRetrofit):
        price, life = price_per_m2(choice), choice.service_life_y
        yield from _price(case, path, "retrofit", choice.name, price, side, "price")
        yield _life(case, path, "retrofit", choice.name, life, side)
        return
    if isinstance(choice, Coating):
        price = _of_covering(choice, "price_per_m2")
        yield from _price(case, path, "membrane", choice.name, price, side, "coating_price")
        name = f"Membrane after {choice.name}"
        yield from _of_membrane(case, choice.replacement, f"{path}.replacement", name, side)
        return
    yield from _of_membrane(case, choice, path, choice.name, side)


def _of_membrane(case: Case, choice: Membrane, path: str, name: str, side: str) -> Iterator[Lever]:
    price, life = _of_covering(choice, "price_per_m2"), _of_covering(choice, "service_life_y")
    what = "price of laying" if choice.price_covers == "everything" else "price"
    yield from _price(case, path, "membrane", name, price, side, "price", what)
    yield _life(case, path, "membrane", name, life, side)


def _of_covering(choice: Membrane | Coating, name: str) -> float:
    entered = getattr(choice, name)
    return float(tables.rows("coverings")[choice.covering][name] if entered is None else entered)


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


def _life(case: Case, path: str, what: str, name: str, current: float, side: str) -> Lever:
    part, basis, source = _range(case.uncertainty, f"{what}_life_spread")
    least, most = (10.0, 100.0) if what == "retrofit" else (4.0, 60.0)
    return Lever(
        f"{path}.service_life", f"{name}: service life", "years", current,
        max(1.0, current * (1 - part)), current * (1 + part), min(least, current),
        max(most, current), basis, source, side, "life",
        lambda values: (values / current)[:, np.newaxis], whole_years=True,
    )  # fmt: skip


def _of_roof(case: Case) -> Iterator[Lever]:
    current = Setting.of(case.roof, case.prices, 0).remaining_life_y
    half, basis, source = _range(case.uncertainty, "remaining_life_range_y")
    yield Lever(
        "roof.remaining_life", "Remaining life of the covering in place", "years", current,
        max(0.0, current - half), current + half, 0.0, max(30.0, current), basis, source,
        "both", "more_remaining", lambda values: values - current, whole_years=True,
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
    prices = resolved(case.prices)
    part, basis, source = _range(case.uncertainty, "energy_price_range")
    for carrier in ("electricity", "gas"):
        current = float(getattr(prices, f"{carrier}_per_kwh"))
        if current:
            yield Lever(
                f"prices.{carrier}", f"Price of {carrier}", "price_per_energy", current,
                current * (1 - part), current * (1 + part), 0.0, 5 * current, basis, source,
                "both", f"{carrier}_price", partial(_over, current),
            )  # fmt: skip
    part, basis, source = _range(case.uncertainty, "energy_saving_range")
    yield Lever(
        "energy_saving", "Energy saving over what the model finds", "ratio", 1.0, 1 - part,
        1 + part, 0.0, 5.0, basis, source, "both", "energy_saving", np.asarray,
    )  # fmt: skip


def _over(current: float, values: Array) -> Array:
    return values / current


def _range(uncertainty: Uncertainty, name: str) -> tuple[float, Basis, str]:
    """Return a range with its origin: the default's, or entered."""
    value = float(getattr(uncertainty, name))
    default = {f.name: f.default for f in fields(uncertainty)}[name]
    facts = facts_of(Uncertainty)[name]
    return (
        (value, facts.basis, facts.source) if value == default else (value, "entered", "the case")
    )
