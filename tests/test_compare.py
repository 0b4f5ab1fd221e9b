"""The front door: a case in, an honest comparison out."""

import dataclasses
import math
import re

import numpy as np
import numpy_financial as npf
import pytest

from lcc.case import (
    Case,
    Coating,
    DutyPrices,
    Economics,
    Framing,
    Membrane,
    MetalRetrofit,
    Prices,
    Rectangle,
    Site,
)
from lcc.case.fields import BASES, facts_of
from lcc.errors import CaseError
from lcc.figures import shown


def with_choices(case, base=None, *alternatives):
    return dataclasses.replace(
        case, base_case=base or case.base_case, alternatives=alternatives or case.alternatives
    )


def at(case, **economics):
    return dataclasses.replace(case, economics=dataclasses.replace(case.economics, **economics))


@pytest.fixture(scope="module")
def many(flat_case):
    """Every kind of alternative at once."""
    return with_choices(
        flat_case,
        Membrane(name="Recover, then tear-off"),
        Membrane(name="Tear-off", start="now", method="tear-off", insulation_target_m2k_w=6.0),
        Coating(name="Coating"),
        MetalRetrofit(name="Metal now"),
        MetalRetrofit(name="Metal later", start="end-of-life"),
    )


def test_the_base_case_comes_first_then_the_order_of_the_case(compared, many):
    found = compared(many)
    names = [each.name for each in found.alternatives]
    assert names == ["Recover, then tear-off", "Tear-off", "Coating", "Metal now", "Metal later"]
    assert found.alternatives[0].measures is None
    assert all(each.measures for each in found.alternatives[1:])


def test_a_life_cycle_cost_is_the_discounted_sum_of_the_flow_shown(compared, many):
    """What the reader sees by year, discounted with numpy-financial, gives the totals."""
    for each in compared(many).alternatives:
        assert npf.npv(0.03, each.cash_flow) == pytest.approx(each.life_cycle_cost, rel=1e-12)
        assert sum(c.present_value for c in each.costs) == pytest.approx(
            each.life_cycle_cost, rel=1e-12
        )
        by_year = np.sum([category.by_year for category in each.costs], axis=0)
        assert by_year.tolist() == pytest.approx(each.cash_flow, rel=1e-12, abs=1e-6)
        assert each.cumulative_present_value[-1] == pytest.approx(each.life_cycle_cost, rel=1e-12)
        annual = -npf.pmt(0.03, 50, each.life_cycle_cost)
        assert each.equivalent_annual_cost == pytest.approx(annual, rel=1e-12)
        assert each.yearly_cost_per_m2 == pytest.approx(annual / 2000, rel=1e-12)


def test_the_events_are_the_capital_in_the_flow(compared, many):
    """Work listed in the programme, year by year, is all that is paid but running costs."""
    running = {"Repairs", "Electricity", "Demand charges", "Gas", "Residual value"}
    for each in compared(many).alternatives:
        paid = np.sum([c.by_year for c in each.costs if c.name not in running], axis=0)
        work = np.zeros(51)
        for event in each.events:
            work[event.year] += event.cost
        upkeep = 0.2 * 2000 if each.kind == "metal-retrofit" else 0.0
        since = next((e.year for e in each.events if e.what.startswith("Metal")), 50)
        work[since + 1 :] += upkeep
        assert paid.tolist() == pytest.approx(work.tolist(), rel=1e-12)


def test_every_year_has_one_state_of_the_roof(compared, many):
    for each in compared(many).alternatives:
        assert sorted(year for state in each.energy for year in state.years) == [*range(1, 51)]


def test_insulation_raised_at_tear_off_changes_the_bill_from_that_year_on(compared, flat_case):
    """The covering of age 5 has 15 of 20 years left, and its recover 18: tear-off in year 33."""
    recover = dataclasses.replace(flat_case.base_case, method="recover-where-allowed")
    base = compared(dataclasses.replace(flat_case, base_case=recover)).alternatives[0]
    electricity = next(c.by_year for c in base.costs if c.name == "Electricity")
    torn = next(event.year for event in base.events if event.what.startswith("Tear-off"))
    assert torn == 33
    assert electricity[torn + 1] < 0.6 * electricity[torn]


def test_net_savings_are_the_difference_of_the_life_cycle_costs(compared, many):
    base, *others = compared(many).alternatives
    for each in others:
        saved = base.life_cycle_cost - each.life_cycle_cost
        assert each.measures.net_savings.value == pytest.approx(saved, rel=1e-9)


def test_swapping_base_case_and_alternative_flips_the_sign(compared, flat_case):
    swapped = with_choices(flat_case, flat_case.alternatives[0], flat_case.base_case)
    forth = compared(flat_case).alternatives[1].measures.net_savings.value
    back = compared(swapped).alternatives[1].measures.net_savings.value
    assert forth == pytest.approx(-back, rel=1e-12)


def test_a_ratio_above_one_goes_with_savings(compared, many):
    for each in compared(many).alternatives[1:]:
        ratio = each.measures.savings_to_investment_ratio
        if ratio.value is not None:
            assert (ratio.value > 1) == (each.measures.net_savings.value > 0)


def test_an_alternative_like_the_base_case_is_words(compared, flat_case):
    """Zero investment difference: every measure but net savings is a reason."""
    found = compared(with_choices(flat_case, Membrane(), Membrane(name="the same"))).alternatives[1]
    assert found.measures.net_savings.value == 0.0
    for name in ("savings_to_investment_ratio", "simple_payback", "internal_rate_of_return"):
        measure = getattr(found.measures, name)
        assert measure.value is None
        assert "both cost the same in every year" in measure.reason
    assert found.payback.year is None


def test_the_same_case_in_real_and_nominal_rates(compared, many):
    """Life-cycle costs agree; rates of return are in the kind of rate that the case speaks."""
    nominal = at(many, rate_kind="nominal", discount_rate=1.03 * 1.025 - 1, inflation=0.025)
    for one, other in zip(compared(many).alternatives, compared(nominal).alternatives, strict=True):
        assert one.life_cycle_cost == pytest.approx(other.life_cycle_cost, rel=1e-12)
        if one.measures and one.measures.adjusted_internal_rate_of_return.value is not None:
            real = one.measures.adjusted_internal_rate_of_return.value
            found = other.measures.adjusted_internal_rate_of_return.value
            assert found == pytest.approx((1 + real) * 1.025 - 1, rel=1e-9)
            for part in ("internal_rate_of_return", "adjusted_internal_rate_of_return"):
                told = [getattr(way.measures, part).convention for way in (one, other)]
                assert told[0].endswith("above inflation, as is the discount rate of 3%")
                rate = shown(nominal.economics.discount_rate, "rate")
                assert told[1].endswith(f"as a bank quotes it, as is the discount rate of {rate}")


def test_a_study_period_shorter_than_one_life(compared, flat_case):
    """In five years nothing is laid: the metal roof is an investment that cannot pay."""
    found = compared(at(flat_case, study_period_y=5))
    base, metal = found.alternatives
    assert base.events == ()
    assert metal.measures.net_savings.value < 0
    assert "never pays back" in metal.measures.discounted_payback.reason
    one = compared(at(flat_case, study_period_y=1)).alternatives[1].measures.simple_payback
    assert one.reason == "never pays back within the study period of 1 year"
    assert found.answer.state == "costs-more"


def test_an_alternative_without_work_in_the_period(compared, flat_case):
    later = with_choices(flat_case, MetalRetrofit(), Membrane(name="wait"))
    ratio = compared(at(later, study_period_y=5)).alternatives[1].measures
    assert "no work within the study period" in ratio.savings_per_dollar.reason


def test_a_retrofit_that_pays_says_from_when(compared, flat_case):
    cheap = with_choices(flat_case, Membrane(start="now"), MetalRetrofit(price_per_m2=90.0))
    found = compared(cheap)
    metal = found.alternatives[1]
    assert metal.measures.discounted_payback.value == metal.payback.year
    assert "costs about $" in found.headline
    assert f"learly ahead from year {metal.payback.clear_from}" in metal.payback.sentence


def test_a_dear_retrofit_is_said_not_to_pay(compared, flat_case):
    found = compared(with_choices(flat_case, None, MetalRetrofit(price_per_m2=900.0)))
    assert found.answer.state == "costs-more"
    assert re.match(r"“Metal retrofit” costs about \$[\d,]+ more than ", found.headline)


def test_each_state_is_computed_once(flat_case, plain_energy):
    """Alternatives that share a state share its energy year."""
    from lcc.comparison import compare

    seen = []

    def counted(climate, building, area_m2, assembly, *rest):
        seen.append(assembly)
        return plain_energy(climate, building, area_m2, assembly, *rest)

    twice = with_choices(flat_case, Membrane(), Membrane(name="the same"), MetalRetrofit())
    compare(twice, energy=counted)
    assert len(seen) == len(set(seen)) == 5


def test_every_assumption_has_a_basis_and_a_source(compared, many):
    used = compared(many).assumptions
    assert len({each.field for each in used}) == len(used)
    for each in used:
        assert each.basis in BASES
        assert each.source
        assert not isinstance(each.value, float) or math.isfinite(each.value)


ORIGINS = {
    "roof.area": ("entered", 2000.0),
    "economics.discount_rate": ("published", 0.03),
    "prices.electricity": ("second-hand", 0.1241),
    "prices.tear_off": ("demo", 21.5),
    "alternatives.0.price": ("demo", 172.2),
    "base_case.service_life": ("common practice", 20.0),
    "base_case.price": ("demo", 72.7),
    "roof.remaining_life": ("common practice", 15.0),
    "alternatives.0.solar_reflectance": ("common practice", 0.57),
    "building.equipment.heating_efficiency": ("published", 0.8),
    "insulation_minimums.3.resistance": ("from memory", 4.4028),
}


@pytest.mark.parametrize(("field", "origin"), ORIGINS.items())
def test_where_a_figure_comes_from(compared, flat_case, field, origin):
    """Entered, default, or the table row that stands in for an unset field."""
    found = {each.field: each for each in compared(flat_case).assumptions}[field]
    assert (found.basis, found.value) == origin


def test_an_entered_figure_says_so(compared, flat_case):
    priced = dataclasses.replace(flat_case, prices=Prices(electricity_per_kwh=0.2))
    found = {each.field: each for each in compared(priced).assumptions}["prices.electricity"]
    assert (found.basis, found.value, found.kind) == ("entered", 0.2, "price_per_energy")


def said(compared, case):
    return " ".join(compared(case).cautions)


def test_a_reflectance_claim_is_questioned(compared, flat_case):
    """A dark finish above 0.45 is questioned and the ageing 0.2 + 0.7 (0.5 - 0.2) is offered."""
    dark = MetalRetrofit(panel="painted-dark", solar_reflectance=0.5)
    assert "much for a dark finish" in said(compared, with_choices(flat_case, None, dark))
    assert "it would be 0.41" in said(compared, with_choices(flat_case, None, dark))
    new = Membrane(start="now", covering="tpo-white", solar_reflectance=0.85)
    assert "above the aged value of its class, 0.62" in said(
        compared, with_choices(flat_case, None, new)
    )
    low = MetalRetrofit(panel="painted-dark", solar_reflectance=0.3)
    assert "reflectance" not in said(compared, with_choices(flat_case, None, low))


def test_a_flat_slope_is_cautioned(compared, flat_case):
    assert "1507.4.2" in said(
        compared, with_choices(flat_case, None, MetalRetrofit(slope=0.1 / 12))
    )
    assert "1507.4.2" not in said(
        compared, with_choices(flat_case, None, MetalRetrofit(slope=0.25 / 12))
    )


def test_invented_prices_are_said_to_be(compared, flat_case):
    assert "These prices are invented (marked demo): " in said(compared, flat_case)


def test_of_invented_prices_those_of_this_case_are_listed_and_percentages_too(compared, flat_case):
    """Without skylights, pipes or wet areas none of their prices; with four leaks, theirs."""
    roof = dataclasses.replace(flat_case.roof, leaks=4.0, wet_fraction=0.0, rooftop_units=0)
    found = compared(dataclasses.replace(flat_case, roof=roof, prices=Prices()))
    (told,) = (each for each in found.cautions if "These prices are invented" in each)
    for name in ("Permit, general conditions, bond and sales tax", "Structural check and design",
                 "Each leak, found and repaired, $3,000", "Tear-off of one covering"):  # fmt: skip
        assert name in told
    for name in ("Skylight", "Pipe or conduit", "Setting up again", "Wet area", "rooftop unit"):
        assert name not in told


def test_a_survey_gives_the_price_where_none_is_entered(compared, flat_case):
    """The takeoff of a framing survey stands in for the price of the table."""
    survey = Framing((Rectangle(50.0, 40.0),))
    surveyed = compared(with_choices(flat_case, None, MetalRetrofit(framing=survey)))
    plain = compared(flat_case)
    closed = dataclasses.replace(
        flat_case, prices=dataclasses.replace(flat_case.prices, disruption_per_m2=0.0)
    )
    assert surveyed.alternatives[1].first_cost != plain.alternatives[1].first_cost
    entered = MetalRetrofit(framing=survey, price_per_m2=100.0)
    first = compared(with_choices(closed, None, entered)).alternatives[1].first_cost
    assert first == pytest.approx(200000.0, rel=1e-12)


def test_an_unknown_climate_names_its_field(flat_case):
    from lcc.comparison import compare

    with pytest.raises(CaseError, match="climate"):
        compare(dataclasses.replace(flat_case, site=Site(climate="nowhere")))


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda case: dataclasses.replace(case, alternatives=()), "alternatives"),
        (lambda case: Economics(study_period_y=0), "study_period"),
        (lambda case: Membrane(service_life_y=0.0), "service_life"),
        (lambda case: Membrane(solar_reflectance=1.2), "solar_reflectance"),
        (lambda case: dataclasses.replace(case.roof, layers=()), "layers"),
        (lambda case: Economics(discount_rate=float("nan")), "discount_rate"),
    ],
)
def test_an_input_that_cannot_be_used_is_named(flat_case, make, field):
    with pytest.raises(CaseError) as refused:
        make(flat_case)
    assert refused.value.field == field


def test_the_same_case_gives_the_same_answer(compared, many):
    assert compared(many) == compared(many)


def test_a_comparison_has_only_finite_numbers(compared, many):
    """Over odd but valid cases: one year, no prices, one covering of no life left."""
    free = Prices(
        **dict.fromkeys(set(facts_of(Prices)) - {"duties"}, 0.0),
        duties=DutyPrices(**dict.fromkeys(facts_of(DutyPrices), 0.0)),
    )
    odd = [
        at(many, study_period_y=1),
        at(many, discount_rate=-0.04),
        at(many, discount_rate=0.0, study_period_y=100),
        dataclasses.replace(many, prices=free),
        Case(site=many.site, roof=dataclasses.replace(many.roof, remaining_life_y=0.0)),
    ]
    for case in odd:
        assert all(math.isfinite(number) for number in numbers(compared(case)))


def numbers(value):
    """Yield every number inside nested dataclasses and tuples."""
    if dataclasses.is_dataclass(value):
        for f in dataclasses.fields(value):
            yield from numbers(getattr(value, f.name))
    elif isinstance(value, tuple):
        for each in value:
            yield from numbers(each)
    elif isinstance(value, float | int):
        yield value


def test_a_payback_by_residual_value_alone_is_said(compared, flat_case):
    """Fourteen years hold one short-lived membrane; the metal roof has 36 of 50 years left."""
    metal = MetalRetrofit(service_life_y=50.0, price_per_m2=150.7)
    brief = Membrane(price_per_m2=100.0, service_life_y=3.0, recover_life_ratio=1.0)
    short = with_choices(at(flat_case, study_period_y=14, discount_rate=0.0), brief, metal)
    short = dataclasses.replace(short, roof=dataclasses.replace(short.roof, remaining_life_y=12.0))
    found = compared(short)
    payback = found.alternatives[1].measures.simple_payback
    assert payback.value == 14
    assert payback.reason is None
    assert payback.warning == "only by the residual value at the end of the study period"
    assert "It costs less only by what it is still worth in year 14" in found.verdict
    assert "but only by what it is worth at the end" in found.headline


def test_a_loss_in_present_value_has_no_payback_at_all(compared, flat_case):
    """What saves a little each year pays back undiscounted, and not at a rate of 9 %."""
    quick = MetalRetrofit(price_per_m2=150.7, service_life_y=50.0)
    case = with_choices(at(flat_case, study_period_y=40, discount_rate=0.09), Membrane(), quick)
    base, own = compared(case).alternatives
    found = own.measures
    assert found.net_savings.value < 0
    assert found.simple_payback.value is None
    assert found.discounted_payback.value is None
    patient = compared(at(case, discount_rate=0.0)).alternatives[1].measures
    assert patient.net_savings.value > 0
    behind = np.cumsum(own.cash_flow) > np.cumsum(base.cash_flow)
    year = np.flatnonzero(behind)[-1] + 1
    assert patient.simple_payback.value is not None
    assert found.simple_payback.reason == (
        "none, since net savings are negative: with no interest counted it pays back in year "
        f"{year}, with interest never"
    )
    assert "none where net savings are negative" in found.simple_payback.convention
    assert "none where" not in found.discounted_payback.convention
    assert "spent so far, in today's money, it never pays back" in compared(case).verdict


def test_a_payback_undone_and_won_back_by_residual_value_alone_is_said(compared, flat_case):
    """Coated now, a membrane in year 8 that is worth most of its cost in year 12."""
    roof = dataclasses.replace(flat_case.roof, remaining_life_y=2.0, coverings=2)
    lasting = Membrane(service_life_y=18.0, price_per_m2=75.0)
    case = with_choices(
        at(dataclasses.replace(flat_case, roof=roof), study_period_y=12),
        Membrane(service_life_y=16.0, price_per_m2=75.0),
        Coating(life_gain_y=6.0, replacement=lasting),
    )
    payback = compared(case).alternatives[1].measures.discounted_payback
    assert payback.value == 12
    assert payback.warning == (
        "ahead as early as year 2, but a later cost undoes it, then only by the residual value at "
        "the end of the study period"
    )


def test_without_exploring_only_states_within_the_period_are_computed(flat_case, plain_energy):
    """The point result is the same; what would change it is left out, and so is its heat."""
    from lcc.comparison import compare

    for years in (5, 15, 50):
        seen = []

        def counted(climate, building, area_m2, assembly, *rest, seen=seen):
            seen.append(assembly)
            return plain_energy(climate, building, area_m2, assembly, *rest)

        case = at(flat_case, study_period_y=years)
        plain = compare(case, energy=counted, explore=False)
        full = compare(case, energy=plain_energy)
        for one, other in zip(plain.alternatives, full.alternatives, strict=True):
            assert one == dataclasses.replace(other, break_even=(), swings=(), starting_years=None)
        held = {state.assembly for each in plain.alternatives for state in each.energy}
        assert {assembly.name for assembly in seen} == held
