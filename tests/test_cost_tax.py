"""The after-tax view against the tables of IRS Publication 946 and sums by hand."""

import dataclasses

import numpy as np
import pytest

from lcc.case import Economics, Membrane, MetalRetrofit, Tax
from lcc.cost.tax import depreciation_shares

# IRS Publication 946, Table A-7a, nonresidential real property, mid-month, 39 years straight
# line: per cent of year 1 and of year 40 by month placed in service; years 2 to 39 are 2.564.
# The table was computed with rounded steps, so agreement is to 0.005 per cent.
YEAR_1 = [2.461, 2.247, 2.033, 1.819, 1.605, 1.391, 1.177, 0.963, 0.749, 0.535, 0.321, 0.107]
YEAR_40 = YEAR_1[::-1]


@pytest.mark.parametrize("month", range(1, 13))
def test_shares_of_the_published_table(month):
    shares = 100 * depreciation_shares(month)
    assert len(shares) == 40
    assert shares[0] == pytest.approx(YEAR_1[month - 1], abs=0.005)
    assert shares[1:39] == pytest.approx([2.564] * 38, abs=0.005)
    assert shares[39] == pytest.approx(YEAR_40[month - 1], abs=0.005)
    assert shares.sum() == pytest.approx(100.0, rel=1e-12)


@pytest.fixture(scope="module")
def taxed(compared, flat_case):
    """The alternatives of a case under a tax, in order."""

    def results(tax, base=None, *alternatives, **economics):
        case = dataclasses.replace(
            flat_case,
            base_case=base or flat_case.base_case,
            alternatives=alternatives or flat_case.alternatives,
            economics=Economics(tax=tax, **economics),
        )
        return compared(case).alternatives

    return results


def test_no_tax_rate_no_after_tax_view(taxed):
    assert all(each.after_tax is None for each in taxed(None))


def test_a_tax_of_nothing_changes_nothing(taxed):
    for each in taxed(Tax(0.0)):
        assert each.after_tax.life_cycle_cost == pytest.approx(each.life_cycle_cost, rel=1e-12)
        assert not any(each.after_tax.tax_by_year)


def test_running_costs_are_deducted_in_their_year(taxed):
    """In five years nothing is laid: only repairs and energy, at 1 - 30 % of their cost."""
    base = taxed(Tax(0.3), study_period_y=5)[0]
    assert base.events == ()
    assert base.after_tax.life_cycle_cost == pytest.approx(0.7 * base.life_cycle_cost, rel=1e-12)
    assert not any(base.after_tax.depreciation_by_year)


def test_work_is_written_off_and_the_sale_taxed_by_hand(taxed):
    """A retrofit of 200,000 today, life 50, over ten years at no interest, placed in month 1.

    Deducted: 200,000 x (11.5/12 + 9)/39 = 51,068.38; residual 160,000; book value left
    148,931.62; so the sale adds 11,068.38 to what is taxed. All in all the tax at 25 % is
    25 % of (deductions less gain) saved, and likewise of upkeep and energy.
    """
    plain = MetalRetrofit(
        price_per_m2=100.0, upkeep_per_m2=0.0, service_interval_y=60.0, finish_interval_y=60.0
    )
    own = taxed(Tax(0.25), None, plain, study_period_y=10, discount_rate=1e-9)[1]
    deducted = 200000 * (11.5 / 12 + 9) / 39
    assert sum(own.after_tax.depreciation_by_year) == pytest.approx(deducted, rel=1e-9)
    gain = 160000 - (200000 - deducted)
    energy = sum(c.present_value for c in own.costs if c.name in ("Electricity", "Gas"))
    saved = 0.25 * (deducted - gain + energy)
    assert sum(own.after_tax.tax_by_year) == pytest.approx(-saved, rel=1e-7)
    assert own.after_tax.life_cycle_cost == pytest.approx(own.life_cycle_cost - saved, rel=1e-7)


def test_over_a_whole_life_everything_is_deducted_once(taxed):
    """At no interest and no inflation, work written off or sold at the end is deducted whole."""
    for each in taxed(Tax(0.4), discount_rate=1e-9):
        assert each.after_tax.life_cycle_cost == pytest.approx(0.6 * each.life_cycle_cost, rel=1e-6)


def test_inflation_shrinks_depreciation(taxed):
    """Deductions are fixed in money of the year of work, so the after-tax cost rises."""
    steady = taxed(Tax(0.3))[1].after_tax
    inflated = taxed(Tax(0.3), inflation=0.03)[1].after_tax
    assert inflated.life_cycle_cost > steady.life_cycle_cost
    shrunk = np.array(inflated.depreciation_by_year[1:5]) / steady.depreciation_by_year[1:5]
    # 4 % of service work in later years aside, the first years hold the retrofit alone.
    assert shrunk == pytest.approx(1.03 ** -np.arange(1, 5), rel=1e-12)


def test_real_and_nominal_agree_after_tax(taxed):
    real = taxed(Tax(0.3), inflation=0.02)
    nominal = taxed(Tax(0.3), inflation=0.02, rate_kind="nominal", discount_rate=1.03 * 1.02 - 1)
    for one, other in zip(real, nominal, strict=True):
        assert one.after_tax.life_cycle_cost == pytest.approx(
            other.after_tax.life_cycle_cost, rel=1e-12
        )


def test_net_savings_after_tax_are_the_difference(taxed):
    base, own = taxed(Tax(0.3), Membrane(start="now"))
    assert base.after_tax.net_savings is None
    assert own.after_tax.net_savings == pytest.approx(
        base.after_tax.life_cycle_cost - own.after_tax.life_cycle_cost, rel=1e-12
    )


def test_the_tax_view_carries_its_caution(compared, flat_case):
    with_tax = dataclasses.replace(flat_case, economics=Economics(tax=Tax(0.21)))
    assert any("tax adviser" in each for each in compared(with_tax).cautions)
    assert not any("tax adviser" in each for each in compared(flat_case).cautions)
