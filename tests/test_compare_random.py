"""Random cases over the ranges that the fields state: each is answered or refused by field."""

import dataclasses
import json
import math

import numpy as np
import pytest

from api import schemas
from lcc import tables
from lcc.case import (
    Case,
    Coating,
    Economics,
    Framing,
    Layer,
    Membrane,
    MetalRetrofit,
    Prices,
    Rectangle,
    Roof,
    Site,
    Tax,
    Uncertainty,
    UnitPrices,
)
from lcc.case.fields import facts_of
from lcc.errors import CaseError
from lcc.results import Comparison

NAMES = ("", "roof", "A: b", "{kept} %s", "two\nlines", "<b>", "=1+1", "Price of gas")
LAYERS = (
    Layer(material="built-up-roofing"),
    Layer(material="perlite-board", thickness_m=0.05, moisture=0.1),
    Layer(material="steel-deck"),
    Layer(resistance_m2k_w=3.0),
)
PARTS = {"tax": Tax, "replacement": Membrane, "unit_prices": UnitPrices}


def number(rng, facts):
    """A value in range: now and then an end, else by its size or evenly."""
    low, high = facts.low or 0.0, facts.high
    inside = 1e-9 * (high - low)
    ends = (low + inside * facts.low_open, high - inside * facts.high_open)
    if rng.random() < 0.3:
        return float(rng.choice(ends))
    if low >= 0 and rng.random() < 0.6:
        return float(np.clip(np.exp(rng.uniform(np.log(max(low, 1e-3)), np.log(high))), *ends))
    return float(rng.uniform(*ends))


def stated(rng, facts):
    if facts.type == "whole":
        return round(number(rng, facts))
    if facts.type == "quantity":
        return number(rng, facts)
    options = {"key": tables.keys(facts.table) if facts.table else (), "text": NAMES,
               "choice": facts.options, "flag": (True, False)}[facts.type]  # fmt: skip
    return options[int(rng.integers(len(options)))]


def made(rng, cls, part=0.35, **fixed):
    """An instance of which a part of the fields is drawn and the others keep their defaults."""
    values = dict(fixed)
    for name, facts in facts_of(cls).items():
        if name in values or (rng.random() > part and name != "name"):
            continue
        if facts.type == "part" and name in PARTS:
            values[name] = made(rng, PARTS[name], part, **_given(PARTS[name], rng))
        elif facts.type not in ("part", "parts"):
            values[name] = stated(rng, facts)
    return cls(**values)


def _given(cls, rng):
    return {"rate": float(rng.uniform(0, 0.6))} if cls is Tax else {}


def alternative(rng):
    kind = (Membrane, Coating, MetalRetrofit)[int(rng.integers(3))]
    if kind is not MetalRetrofit:
        return made(rng, kind)
    survey = None
    if rng.random() < 0.5:
        sizes = np.exp(rng.uniform(1, 5, 2))
        rectangle = made(rng, Rectangle, length_m=float(sizes[0]), width_m=float(sizes[1]))
        survey = made(rng, Framing, 0.15, rectangles=(rectangle,), wet_area_m2=0.0)
    layers = LAYERS[3:] if rng.random() < 0.5 else ()
    return made(rng, MetalRetrofit, framing=survey, layers=layers)


def drawn(rng):
    roof = made(rng, Roof, layers=LAYERS[:3], area_m2=float(np.exp(rng.uniform(0, 13))))
    return Case(
        site=Site(climate="tulsa-ok"),
        roof=roof,
        name=NAMES[int(rng.integers(len(NAMES)))],
        prices=made(rng, Prices),
        economics=made(rng, Economics),
        uncertainty=made(rng, Uncertainty, draws=int(rng.choice([0, 40]))),
        base_case=alternative(rng),
        alternatives=tuple(alternative(rng) for _ in range(int(rng.integers(1, 4)))),
    )


@pytest.mark.parametrize("seed", range(8))
def test_every_random_case_is_answered_or_refused_by_field(compared, seed):
    rng = np.random.default_rng(seed)
    answered, refused = [], []
    for _ in range(25):
        try:
            answered.append(compared(drawn(rng)))
        except CaseError as error:
            refused.append(error)
    assert all(error.field and error.allowed for error in refused)
    assert len(answered) > len(refused)
    for found in answered:
        _is_sound(found)


def _is_sound(found):
    """Finite in JSON and in words, its costs adding up, its alternatives told apart."""
    reply = schemas.schema_for(Comparison, "ip", reply=True)().dump(found)
    assert json.dumps(reply, allow_nan=False)
    for text in (found.headline, found.verdict):
        assert text.endswith(".")
        assert not {"nan", "inf", "None"} & set(text.replace("$", " ").split())
    for each in found.alternatives:
        parts = [category.present_value for category in each.costs]
        scale = 1e-9 * max(1.0, sum(map(abs, parts)))
        assert math.isfinite(each.life_cycle_cost)
        assert sum(parts) == pytest.approx(each.life_cycle_cost, abs=scale)
    assert len({each.name for each in found.alternatives}) == len(found.alternatives)


def test_each_field_s_ends_are_drawn():
    """The draws reach both ends of a range, an open one from inside."""
    facts = facts_of(Economics)["discount_rate"]
    rng = np.random.default_rng(1)
    values = [number(rng, facts) for _ in range(200)]
    assert max(values) == facts.high
    assert facts.low < min(values) < facts.low + 1e-6
    assert dataclasses.replace(Economics(), discount_rate=min(values)).discount_rate < 0
