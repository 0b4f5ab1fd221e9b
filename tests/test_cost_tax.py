"""The after-tax view against the tables of IRS Publication 946 and sums by hand."""

import dataclasses

import numpy as np
import pytest

from lcc.case import Coating, Economics, Membrane, MetalRetrofit, Tax
from lcc.cost.tax import depreciation_shares
from lcc.cost.terms_of_money import as_taxed

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
    """The alternatives of a case under a tax, in order, without inflation unless stated."""

    def results(tax, base=None, *alternatives, inflation=0.0, **economics):
        case = dataclasses.replace(
            flat_case,
            prices=dataclasses.replace(flat_case.prices, disruption_per_m2=0.0),
            base_case=base or flat_case.base_case,
            alternatives=alternatives or flat_case.alternatives,
            economics=Economics(tax=tax, inflation=inflation, **economics),
        )
        return compared(case, explore=False).alternatives

    return results


def test_without_inflation_entered_write_offs_shrink_by_the_usual_one(taxed):
    """The same as 2 % entered: one inflation for loans and write-offs, whichever the rate is."""
    usual, entered, none = (taxed(Tax(0.27), inflation=each)[1].after_tax.net_savings
                            for each in (None, 0.02, 0.0))  # fmt: skip
    assert usual == entered != none


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
        service_life_y=50.0,
        price_per_m2=100.0,
        renewal_share=1.0,
        repairs_per_m2=0.0,
        upkeep_per_m2=0.0,
        service_interval_y=60.0,
        finish_interval_y=60.0,
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


# --- The adviser's switches, each against sums by hand -------------------------------------------

PLAIN = MetalRetrofit(
    price_per_m2=100.0, upkeep_per_m2=0.0, service_interval_y=60.0, finish_interval_y=60.0
)


def _after(own, deductions, rate=0.25, discount=0.03):
    """Life-cycle cost after tax: what is deducted by year lowers the tax of that year."""
    running = np.array(own.cash_flow)
    running[0] -= 200_000.0
    running[-1] += own.residual_value
    saved = running + deductions
    saved[-1] -= own.residual_value
    years = np.arange(len(saved))
    return own.life_cycle_cost - rate * (saved / (1 + discount) ** years).sum()


def _by_line(cost, years):
    """Deductions of work of year 0 over 39 years from January of year 1, the rest at the end."""
    shares = np.array([0.0, 11.5 / 12, *[1.0] * (years - 1)]) * cost / 39
    shares[-1] += cost - shares.sum()
    return shares


def test_section_179_deducts_the_retrofit_in_its_first_year_of_service(taxed):
    """200,000 spent at the end of year 0 is deducted whole in year 1; nothing is left to sell."""
    own = taxed(Tax(0.25, expensing="metal"), None, PLAIN, study_period_y=10)[1]
    deducted = np.zeros(11)
    deducted[1] = 200_000.0
    assert own.after_tax.life_cycle_cost == pytest.approx(_after(own, deducted), rel=1e-9)
    line = taxed(Tax(0.25), None, PLAIN, study_period_y=10)[1]
    assert own.after_tax.net_savings_by_line == pytest.approx(line.after_tax.net_savings, rel=1e-12)
    assert line.after_tax.net_savings_by_line is None


def test_section_179_stops_at_its_limit(taxed):
    """Of 200,000 the first 50,000 at once, the other 150,000 by the line."""
    tax = Tax(0.25, expensing="all", expensing_limit=50_000.0)
    own = taxed(tax, None, PLAIN, study_period_y=10)[1]
    deducted = _by_line(150_000.0, 10)
    deducted[1] += 50_000.0
    assert own.after_tax.life_cycle_cost == pytest.approx(_after(own, deducted), rel=1e-9)


def test_section_179_shrinks_over_its_threshold(taxed):
    """200,000 is 50,000 over 150,000, so of a limit of 80,000 there are 30,000 left."""
    tax = Tax(0.25, expensing="all", expensing_limit=80_000.0, expensing_threshold=150_000.0)
    own = taxed(tax, None, PLAIN, study_period_y=10)[1]
    deducted = _by_line(170_000.0, 10)
    deducted[1] += 30_000.0
    assert own.after_tax.life_cycle_cost == pytest.approx(_after(own, deducted), rel=1e-9)


def test_a_shorter_life_and_a_later_month_by_hand(taxed):
    """200,000 over 15 years from July: 5.5/12 of a fifteenth in year 1, then a fifteenth a year."""
    tax = Tax(0.25, depreciation_life_y=15, month=7)
    own = taxed(tax, None, PLAIN, study_period_y=10)[1]
    deducted = np.array([0.0, 5.5 / 12, *[1.0] * 9]) * 200_000.0 / 15
    deducted[-1] += 200_000.0 - deducted.sum()
    assert own.after_tax.life_cycle_cost == pytest.approx(_after(own, deducted), rel=1e-9)


def test_section_179_for_metal_leaves_membranes_on_the_line(taxed):
    base, line = (
        taxed(Tax(0.25, expensing=which), Membrane(start="now"))[0] for which in ("metal", "none")
    )
    assert base.after_tax.life_cycle_cost == pytest.approx(line.after_tax.life_cycle_cost)


def _spent(own, year, *names):
    return sum(category.by_year[year] for category in own.costs if category.name in names)


WORK = ("Roof coverings and panels", "Tear-off and disposal", "Rooftop units",
        "Disruption and interior damage")  # fmt: skip


def test_a_membrane_as_repair_is_deducted_in_its_year_but_for_insulation(taxed):
    """Torn off and laid now: all but the added insulation is deducted at the end of year 0."""
    membrane = Membrane(start="now", method="tear-off", service_life_y=30.0)
    base = taxed(Tax(0.25, membrane_as_repair=True), membrane, study_period_y=10)[0]
    deducted = base.after_tax.depreciation_by_year
    assert deducted[0] == pytest.approx(_spent(base, 0, *WORK), rel=1e-12)
    insulation = _spent(base, 0, "Insulation")
    assert insulation > 0
    assert deducted[2] == pytest.approx(insulation / 39, rel=1e-9)


def test_a_coating_as_repair_leaves_its_membrane_on_the_line(taxed):
    coating = Coating(price_per_m2=20.0, life_gain_y=0.0, renewal_y=100.0)
    own = taxed(Tax(0.25, coating_as_repair=True), None, coating, study_period_y=20)[1]
    deducted = own.after_tax.depreciation_by_year
    assert deducted[0] == pytest.approx(40_000.0, rel=1e-12)
    laid = min(event.year for event in own.events if event.year > 0)
    assert not any(deducted[1 : laid + 1])
    assert 0 < deducted[laid + 2] < _spent(own, laid, *WORK) / 38


def test_insulation_that_stays_is_written_off_to_its_end_when_its_roof_is_torn_off(taxed):
    """A membrane laid now with insulation and torn off in year 5: the insulation stays.

    Of it only 1/39 a year goes on being deducted, 5.5/12 of that in the first (July).
    """
    membrane = Membrane(start="now", method="tear-off", service_life_y=5.0)
    tax = Tax(0.25, month=7, partial_disposition=True)
    base = taxed(tax, membrane, study_period_y=9)[0]
    insulation, work = _spent(base, 0, "Insulation"), _spent(base, 0, *WORK)
    assert insulation > 0
    deducted = base.after_tax.depreciation_by_year
    assert sum(deducted[:6]) == pytest.approx(work + insulation * (5.5 / 12 + 4) / 39, rel=1e-9)


def test_a_roof_torn_off_is_written_off_at_once(taxed):
    """A membrane of 5 years laid now by tear-off: in year 5 all of its cost has been deducted."""
    membrane = Membrane(start="now", method="tear-off", service_life_y=5.0, raise_insulation=False)
    base = taxed(Tax(0.25, partial_disposition=True), membrane, study_period_y=9)[0]
    deducted = base.after_tax.depreciation_by_year
    cost = _spent(base, 0, *WORK)
    assert deducted[1:5] == pytest.approx([11.5 / 12 * cost / 39, *[cost / 39] * 3], rel=1e-9)
    assert sum(deducted[:6]) == pytest.approx(cost, rel=1e-9)


def test_todays_roof_is_written_off_by_the_year_or_at_once(taxed):
    """40,000 not written off yet: 2,000 a year under metal, all of it where it is torn off."""
    tax = Tax(0.25, partial_disposition=True, old_roof_basis=40_000.0, old_roof_years=20)
    plain = Tax(0.25, partial_disposition=True)
    torn = Membrane(start="now", method="tear-off")
    with_basis, without = (taxed(each, torn, PLAIN, study_period_y=10) for each in (tax, plain))
    moved = [
        np.subtract(one.after_tax.depreciation_by_year, other.after_tax.depreciation_by_year)
        for one, other in zip(with_basis, without, strict=True)
    ]
    assert moved[0] == pytest.approx([40_000.0, *[0.0] * 10], abs=1e-6)
    assert moved[1] == pytest.approx([0.0, *[2_000.0] * 10], rel=1e-9, abs=1e-9)


def test_a_discount_rate_after_tax_of_its_own(taxed):
    own = taxed(Tax(0.25, discount_rate=0.05), discount_rate=0.03)[1].after_tax
    years = np.arange(len(own.cash_flow))
    assert own.life_cycle_cost == pytest.approx((own.cash_flow / 1.05**years).sum(), rel=1e-12)


@pytest.mark.parametrize(
    ("economics", "told"),
    [
        (Economics(discount_rate=0.071, rate_kind="nominal"), ("7.1%", "4.97%")),
        # (1.03 x 1.02 - 1) x 0.7 = 3.542 %, less inflation: 1.03542 / 1.02 - 1
        (Economics(inflation=0.02), ("3% above inflation", "1.51% above inflation")),
    ],
)
def test_sums_after_tax_name_their_rate_and_that_rate_less_the_tax(economics, told):
    taxed = dataclasses.replace(economics, tax=Tax(0.3))
    (remark,) = as_taxed(taxed)
    before, after = told
    assert remark.text.startswith(
        f"Sums after tax are discounted at the rate before tax, {before}. Less the tax it is "
        f"{after}: "
    )
    assert not [*as_taxed(dataclasses.replace(economics, tax=Tax(0.3, discount_rate=0.04)))]


def test_a_deduction_for_metal_alone_is_told_as_unequal():
    first, _ = as_taxed(Economics(tax=Tax(0.3, expensing="metal")))
    assert "the choices are not taxed alike" in first.text
    assert len([*as_taxed(Economics(tax=Tax(0.3, expensing="all")))]) == 1
