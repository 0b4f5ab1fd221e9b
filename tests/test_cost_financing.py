"""How a roof is paid: loans and leases against a library, a published table and sums by hand."""

import dataclasses

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lcc.case import Economics, Financing, Membrane, MetalRetrofit, Tax
from lcc.cost.financing import interest_by_month, monthly_payments
from lcc.figures import said

# Consumer Financial Protection Bureau, the example in the README of its `amortize`: $180,000 at
# 4.25 % over 360 months, after 60 of them. All to the cent.
PUBLISHED = {"payment": 885.49, "interest": 36583.36, "principal": 16546.15, "balance": 163453.85}


def test_a_published_amortization_table():
    terms = Financing("loan", rate=0.0425, years=30, down_payment=0.0)
    payments = monthly_payments(180_000.0, terms)
    interest = interest_by_month(180_000.0, payments, 0.0425)[:60].sum()
    principal = payments[:60].sum() - interest
    found = (payments[0], interest, principal, 180_000.0 - principal)
    assert found == pytest.approx(tuple(PUBLISHED.values()), abs=0.005)


# Documentation of numpy-financial 1.0, `ipmt`: $2,500 at 8.24 % over a year, as printed.
MONTHS = [17.17, 15.79, 14.40, 13.01, 11.60, 10.18, 8.76, 7.32, 5.88, 4.42, 2.96, 1.49]


def test_the_interest_of_each_month_as_printed():
    terms = Financing("loan", rate=0.0824, years=1, down_payment=0.0)
    payments = monthly_payments(2500.0, terms)
    interest = interest_by_month(2500.0, payments, 0.0824)
    assert interest == pytest.approx(MONTHS, abs=0.005)
    assert interest.sum() == pytest.approx(112.98, abs=0.005)


@given(st.floats(1e3, 1e7), st.just(0.0) | st.floats(0.001, 0.3), st.integers(1, 40))
def test_a_loan_is_that_of_numpy_financial(principal, rate, years):
    payments = monthly_payments(principal, Financing("loan", rate=rate, years=years))
    assert payments == pytest.approx(-npf.pmt(rate / 12, 12 * years, principal), rel=1e-7)
    interest = interest_by_month(principal, payments, rate)
    months = np.arange(1, 12 * years + 1)
    theirs = -npf.ipmt(rate / 12, months, 12 * years, principal) if rate else 0.0 * months
    assert interest == pytest.approx(theirs, rel=1e-6, abs=1e-6 * principal)


@given(st.floats(0.0, 0.3), st.floats(0.0, 0.2), st.integers(1, 20))
def test_a_lease_is_worth_what_it_pays_for(rate, rise, years):
    """Each month's payment over (1 + r/12)^k comes to the sum lent; payments rise by the year."""
    terms = Financing("lease", rate=rate, years=years, escalation=rise)
    payments = monthly_payments(1000.0, terms)
    worth = sum(paid / (1 + rate / 12) ** k for k, paid in enumerate(payments, 1))
    assert worth == pytest.approx(1000.0, rel=1e-9)
    assert payments[12:] == pytest.approx(payments[:-12] * (1 + rise), rel=1e-9)


@pytest.fixture(scope="module")
def paid(compared, flat_case):
    """A retrofit of 300,000 now against membranes, paid as said, without inflation unless so."""

    def alternatives(financing, inflation=0.0, **economics):
        case = dataclasses.replace(
            flat_case,
            base_case=Membrane(price_per_m2=150.0, service_life_y=16.0),
            alternatives=(MetalRetrofit(price_per_m2=150.0),),
            economics=Economics(financing=financing, inflation=inflation, **economics),
        )
        return compared(case, explore=False).alternatives

    return alternatives


def test_nothing_is_said_unless_asked(paid):
    assert all(each.financed is None for each in paid(None))


def test_cash_is_the_plain_difference_without_the_residual_value(paid):
    base, own = paid(Financing("cash"))
    found, left = own.financed, [each.residual_value for each in (base, own)]
    difference = np.array(base.cash_flow) - own.cash_flow
    difference[-1] += left[0] - left[1]
    assert found.yearly_difference == pytest.approx(difference.tolist(), rel=1e-9, abs=1e-6)
    assert found.total_interest == 0.0
    assert found.sentence.startswith("Paid in cash: about $300,000 at once.")


def _first_job(own):
    year = min(event.year for event in own.events)
    return year, sum(event.cost for event in own.events if event.year == year)


def test_a_loan_by_hand(paid):
    """Of 300,000 a fifth at once; the rest at 6 % over 10 years: 2,664.49 a month (pmt).

    The membrane's first work is paid the same way, in the year in which it is due.
    """
    _, plain = paid(Financing("cash"))
    base, own = paid(Financing("loan", rate=0.06, years=10, down_payment=0.2))
    found = own.financed
    assert found.paid_at_once == pytest.approx(60_000.0, rel=1e-12)
    assert found.monthly_payment == pytest.approx(2664.49, abs=0.005)
    assert found.total_interest == pytest.approx(120 * 2664.4920 - 240_000, abs=0.1)
    assert sum(found.interest_by_year) == pytest.approx(found.total_interest, rel=1e-9)
    moved = np.array(found.yearly_difference) - plain.financed.yearly_difference
    year, cost = _first_job(base)
    lent = np.zeros(51)
    lent[0], lent[1:11] = 240_000.0, -12 * 2664.4920
    lent[year] -= 0.8 * cost
    lent[year + 1 : year + 11] += 12 * 0.8 * cost * 2664.4920 / 240_000
    assert 0 < year < 40
    assert moved == pytest.approx(lent, abs=0.2)
    assert base.financed.paid_at_once == pytest.approx(0.2 * cost, rel=1e-12)
    assert base.financed.sentence.endswith("they take the work as paid in cash.")
    then = f"Paid by loan from year {year} on, in the money of that year: about"
    assert base.financed.sentence.startswith(then)
    assert found.sentence.startswith("Paid by loan: about $60,000 at first, then about $2,660 a")
    assert found.due_later == pytest.approx(0.0, abs=1e-6)


def test_years_are_those_of_the_difference(paid):
    found = paid(Financing("loan", years=15))[1].financed
    positive = [year for year, each in enumerate(found.yearly_difference) if each > 0.005]
    assert found.first_positive_year == positive[0]
    so_far = np.cumsum(found.yearly_difference)
    assert (so_far[found.ahead_from :] >= 0).all()
    assert so_far[found.ahead_from - 1] < 0
    assert f"from year {found.ahead_from} on: about" in found.sentence


def test_a_loan_says_that_its_interest_is_in_no_other_sum(paid):
    found = paid(Financing("loan", years=15))[1].financed
    interest, total = said(found.total_interest), said(sum(found.yearly_difference))
    assert (
        f"Of that about {interest} is interest, which the costs over 50 years do not count: they "
        "take the work as paid in cash."
    ) in found.sentence
    told = f"about {total} less by year 50, in the money of each year (the headline is in today’s"
    assert told in found.sentence


def test_inflation_makes_later_costs_dearer_but_not_the_loan(paid):
    steady = paid(Financing("loan"), inflation=0.0)[1].financed
    inflated = paid(Financing("loan"), inflation=0.03)[1].financed
    assert inflated.monthly_payment == pytest.approx(steady.monthly_payment, rel=1e-12)
    assert inflated.yearly_difference[40] == pytest.approx(
        steady.yearly_difference[40] * 1.03**40, rel=1e-9
    )


def test_payments_after_the_study_period_are_told_apart(paid):
    found = paid(Financing("loan", years=20, down_payment=0.0), study_period_y=8)[1].financed
    assert found.due_later == pytest.approx(12 * 12 * found.monthly_payment, rel=1e-9)


@pytest.mark.parametrize(("price", "rate", "turns"), [(150.0, 0.06, False), (150.0, 0.5, True)])
def test_whether_the_loan_turns_the_answer_is_said(compared, flat_case, price, rate, turns):
    """By the annuity's own formula: 120 payments, at a twelfth of 5.06 % a month (3 and 2 %)."""
    terms = Financing("loan", rate=rate, years=10, down_payment=0.2)
    found = compared(dataclasses.replace(
        flat_case, base_case=Membrane(price_per_m2=150.0, service_life_y=16.0),
        alternatives=(MetalRetrofit(price_per_m2=price),),
        economics=Economics(financing=terms, discount_rate=0.03),
    ))  # fmt: skip
    base, own = found.alternatives
    annuity = (rate / 12) / (1 - (1 + rate / 12) ** -120)
    month = (1.03 * 1.02 - 1) / 12
    part = 0.8 * (annuity * (1 - (1 + month) ** -120) / month - 1)
    more, (year, cost) = part * 2000 * price, _first_job(base)
    others = part * cost / 1.03**year
    assert own.financed.more_than_cash == pytest.approx(more, rel=1e-9)
    assert base.financed.more_than_cash == pytest.approx(others, rel=1e-9)
    saved = base.life_cycle_cost + others - own.life_cycle_cost - more
    assert (saved < 0) == turns
    still, which = ("", "more") if turns else ("still ", "less")
    (told,) = (one for one in found.answer.conditions if "Paid by loan as entered" in one)
    assert f"costs about {said(more)} more than in cash in today’s money, and" in told
    assert f"” about {said(others)} more than in cash: both borrow for the first work" in told
    assert (
        f"“{own.name}” then {still}costs about {said(abs(saved))} {which} than “{base.name}”."
        in told
    )
    assert ("paid by loan as entered" in found.headline) == turns
    assert turns == any("paid by loan" in one.what for one in found.turning.choices)


def test_a_base_case_without_work_is_not_said_to_borrow(compared, flat_case):
    """The roof of today outlasts the study period: nothing is lent for it, by card or sentence."""
    found = compared(dataclasses.replace(
        flat_case, roof=dataclasses.replace(flat_case.roof, remaining_life_y=60.0),
        base_case=Membrane(price_per_m2=150.0), alternatives=(MetalRetrofit(price_per_m2=150.0),),
        economics=Economics(financing=Financing("loan"), tax=Tax(0.3)),
    ), explore=False)  # fmt: skip
    base, own = found.alternatives
    assert base.financed.sentence == "No first work falls within the study period."
    assert base.financed.financed == base.financed.more_than_cash == 0.0
    assert "for the other choice" in own.financed.sentence
    (told,) = (one for one in found.answer.conditions if "Paid by loan as entered" in one)
    assert not any(word in told + own.financed.sentence for word in (" both ", " too", "$0"))


@pytest.mark.parametrize("terms", [
    {"discount_rate": 1.065 / 1.02 - 1},
    {"discount_rate": 0.065, "inflation": 0.0},
    {"discount_rate": 0.065, "rate_kind": "nominal"},
    {"discount_rate": 0.065, "rate_kind": "nominal", "inflation": 0.025},
    {"discount_rate": 1.065 / 1.025 - 1, "inflation": 0.025},
])  # fmt: skip
@pytest.mark.parametrize(("start", "down"), [("now", 0.0), ("end-of-life", 0.1)])
def test_a_loan_at_the_nominal_discount_rate_costs_what_cash_does(
    compared, flat_case, terms, start, down
):
    """However the rate is entered, and by numpy_financial at any other rate."""

    def lent(rate):
        loan = Financing("loan", rate=rate, years=10, down_payment=down)
        own = MetalRetrofit(price_per_m2=150.0, start=start)
        found = compared(dataclasses.replace(
            flat_case, base_case=Membrane(price_per_m2=150.0, service_life_y=16.0),
            alternatives=(own,), economics=Economics(financing=loan, **terms),
        ))  # fmt: skip
        (told,) = (one for one in found.answer.conditions if "Paid by loan as entered" in one)
        assert "discounted by the month at 6.5% a year, the discount rate with inflation" in told
        year = next(event.year for event in found.alternatives[1].events)
        return found.alternatives[1].financed, told, year

    level, told, _ = lent(0.065)
    assert level.more_than_cash == pytest.approx(0.0, abs=0.005)
    assert "costs the same as in cash in today’s money" in told
    dearer, told, year = lent(0.09)
    pay = -npf.pmt(0.09 / 12, 120, dearer.financed)
    worth = -npf.pv(0.065 / 12, 120, pay)
    assert dearer.more_than_cash == pytest.approx((worth - dearer.financed) / 1.065**year, rel=1e-9)
    assert dearer.more_than_cash > 0
    assert f"costs about {said(dearer.more_than_cash)} more than in cash" in told
