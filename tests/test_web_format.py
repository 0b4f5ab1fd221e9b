"""The one rounding rule: what is shown never misleads, and never shows what is no figure."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lcc import units
from lcc.case.fields import SUFFIX
from web import format as fmt

KINDS = sorted(SUFFIX)
FIGURES = st.floats(-1e12, 1e12, allow_nan=False)


@given(FIGURES, st.sampled_from(KINDS))
def test_no_minus_zero_and_no_exponent(value, kind):
    text = fmt.shown(value, kind)
    assert not any(mark in text for mark in ("e+", "e-", "nan", "inf", "-"))
    digits = text.strip(f"{fmt.MINUS}$%")
    assert not (text.startswith(fmt.MINUS) and set(digits) <= set("0.,"))


@given(FIGURES, st.sampled_from(KINDS))
def test_rounding_twice_changes_nothing(value, kind):
    once = fmt.rounded(value, kind)
    assert fmt.rounded(once, kind) == once
    assert not (once == 0 and math.copysign(1, once) < 0)


@given(st.floats(1e-6, 1e12), st.sampled_from([kind for kind in KINDS if kind != "rate"]))
def test_what_is_shown_is_the_rounded_figure(value, kind):
    shown = float(fmt.shown(value, kind).strip("$").replace(",", ""))
    assert shown == pytest.approx(fmt.rounded(value, kind), abs=5e-11)


@given(st.floats(1e-3, 1e9))
def test_energy_keeps_three_significant_digits(value):
    assert fmt.rounded(value, "electricity") == pytest.approx(value, rel=5.001e-3)


@given(FIGURES)
def test_money_is_whole(value):
    assert fmt.rounded(value, "money") == round(value)
    assert "." not in fmt.shown(value, "money")


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_figure_is_refused(value):
    with pytest.raises(ValueError, match="finite"):
        fmt.rounded(value, "money")


@given(st.floats(1e-6, 1e9))
def test_an_entry_reads_back_to_seven_digits(value):
    text = fmt.entry(value)
    assert "e" not in text
    assert float(text) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize("system", ["ip", "si"])
def test_every_figure_in_dollars_shows_the_sign(system):
    dollars = [kind for kind in units.KINDS if "$" in units.unit(kind, system).display]
    assert {"money", "price_per_volume", "price_per_resistance"} <= set(dollars)
    for kind in units.KINDS:
        assert fmt.shown(1.5, kind).startswith("$") == (kind in dollars), kind


@given(st.floats(0, 1))
def test_a_chance_is_certain_only_where_it_is(share):
    text = fmt.chance(share)
    assert (text == "100%") == (share == 1)
    assert (text == "0%") == (share == 0)
