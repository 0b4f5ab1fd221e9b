"""Cautions fit the case: told where they apply, and only there."""

from dataclasses import replace

import pytest

from lcc.case import Case, Cavity, Economics, Layer, Membrane, MetalRetrofit, Roof, Site
from lcc.compare import compare

BOARD = Layer(material="perlite-board", thickness_m=0.025)
OLD = (Layer(material="built-up-roofing"), BOARD, Layer(material="steel-deck"))
BLANKET = Layer(material="glass-fibre-blanket", thickness_m=0.15)
RETROFIT = MetalRetrofit(layers=(BLANKET,), cavity=Cavity(), name="Metal")
CASE = Case(
    site=Site(climate="san-francisco-ca"),
    roof=Roof(area_m2=1500.0, covering="built-up-smooth", layers=OLD, age_y=20.0),
    base_case=Membrane(raise_insulation=False),
    alternatives=(RETROFIT,),
)


def told(case):
    return " ".join(compare(case, explore=False).cautions)


def with_retrofit(**changes):
    return replace(CASE, alternatives=(replace(RETROFIT, **changes),))


def test_the_usual_cautions_are_always_told():
    for word in ("fall protection", "structural engineer", "asbestos", "authority having"):
        assert word in told(CASE), word


def test_a_rise_of_heating_is_told():
    """A white face on the same layers takes in less of the winter sun than a black one."""
    black = replace(CASE.base_case, solar_reflectance=0.05, start="now")
    white = replace(black, name="White", solar_reflectance=0.7)
    lighter = replace(CASE, base_case=black, alternatives=(white,))
    assert "White needs" in told(lighter)
    assert "more heating over the study period" in told(lighter)
    darker = replace(CASE, base_case=white, alternatives=(black,))
    assert "more heating" not in told(darker)
    assert "more cooling over the study period" in told(darker)


@pytest.mark.parametrize(("moisture", "said"), [(0.0, False), (0.02, False), (0.1, True)])
def test_soaked_insulation_is_told_below_80_percent_of_its_dry_resistance(moisture, said):
    """Perlite at f = 4: exp(-0.08) = 0.92 is kept at 2 % by volume, exp(-0.4) = 0.67 at 10 %."""
    layers = (OLD[0], replace(BOARD, moisture=moisture), OLD[2])
    case = replace(CASE, roof=replace(CASE.roof, layers=layers))
    assert ("of its dry resistance" in told(case)) == said


def test_a_claim_above_the_class_is_asked_about():
    assert "third-party-rated" in told(with_retrofit(panel="painted-dark", solar_reflectance=0.6))
    assert "third-party-rated" not in told(with_retrofit(solar_reflectance=0.4))


def test_a_slope_under_the_code_minimum_is_told():
    assert "1507.10.1" in told(with_retrofit(slope=0.1 / 12))
    assert "1507.10.1" not in told(CASE)


@pytest.mark.parametrize(
    ("economics", "said"),
    [
        (Economics(rate_kind="nominal", discount_rate=0.05), True),
        (Economics(rate_kind="nominal", discount_rate=0.05, inflation=0.02), False),
        (Economics(), False),
    ],
)
def test_a_nominal_rate_without_inflation_is_told(economics, said):
    assert ("counts as a real rate" in told(replace(CASE, economics=economics))) == said
