"""Random draws: their laws, their seed, their convergence, and the point result at no spread."""

import dataclasses
import functools

import numpy as np
import pytest

from lcc.case import Coating, Membrane, MetalRetrofit, Uncertainty
from lcc.case.fields import facts_of
from lcc.cost import monte_carlo

NO_SPREAD = {
    f.name: 0.0
    for f in dataclasses.fields(Uncertainty)
    if f.name.endswith(("_range", "_range_y", "_spread"))
}


@pytest.fixture(scope="module")
def compared(compared):
    """Compare with the draws alone: nothing here looks at what else is explored."""
    return functools.partial(compared, explore=False, draw=True)


@pytest.fixture(scope="module")
def case(flat_case):
    return dataclasses.replace(
        flat_case,
        base_case=Membrane(price_per_m2=66.0),
        alternatives=(
            MetalRetrofit(price_per_m2=165.0, service_life_y=50.0),
            Coating(),
            Membrane(method="tear-off"),
        ),
    )


def drawn(case, **ranges):
    return dataclasses.replace(case, uncertainty=Uncertainty(**ranges))


def test_no_draws_unless_asked_for(compared, case):
    assert all(each.spread is None for each in compared(case, explore=True).alternatives)


@pytest.mark.parametrize("law", ["weibull", "triangular"])
def test_without_spread_every_draw_is_the_point_result(compared, case, law):
    found = compared(drawn(case, draws=50, life_distribution=law, **NO_SPREAD))
    for each in found.alternatives:
        cost = each.spread.life_cycle_cost
        for figure in (cost.p10, cost.p50, cost.p90, cost.mean):
            assert figure == pytest.approx(each.life_cycle_cost, rel=1e-12)
        assert cost.standard_error == pytest.approx(0.0, abs=1e-6)
        if each.measures:
            against = each.spread.against_base
            net = each.measures.net_savings.value
            assert against.net_savings.p50 == pytest.approx(net, rel=1e-9)
            assert against.costs_less == (net > 0)


def test_the_same_seed_gives_the_same_draws(compared, case):
    one, same, other = (
        compared(drawn(case, draws=500, seed=seed)).alternatives[1].spread for seed in (7, 7, 8)
    )
    assert one == same
    assert one.life_cycle_cost != other.life_cycle_cost


@pytest.mark.parametrize("spread", [0.1, 0.25, 0.4])
@pytest.mark.parametrize("law", ["weibull", "triangular"])
def test_lives_have_the_mean_and_the_spread_asked_for(law, spread):
    """100,000 draws: the mean within five standard errors, the spread within 2 %."""
    asked = Uncertainty(draws=10000, life_distribution=law, life_share=0.0)
    lives = monte_carlo.lives(np.random.default_rng(5), spread, asked, np.zeros(10000))
    error = spread / np.sqrt(lives.size)
    assert lives.mean() == pytest.approx(1.0, abs=5 * error)
    assert lives.std() == pytest.approx(spread, rel=0.02)
    assert lives.min() >= monte_carlo.SHORTEST


@pytest.mark.parametrize("law", ["weibull", "triangular"])
def test_the_share_in_common_is_a_share_of_the_variance(law):
    """Of scores that are normal: the correlation of two generations is the share, within 0.02."""
    asked = Uncertainty(draws=20000, life_distribution=law, life_share=0.5)
    rng = np.random.default_rng(4)
    lives = monte_carlo.lives(rng, 0.2, asked, rng.standard_normal(20000))
    first, second = (np.argsort(np.argsort(lives[:, k])) for k in (0, 1))
    # Rank correlation of a normal copula with correlation 1/2: 6/π asin(1/4) = 0.4826.
    assert np.corrcoef(first, second)[0, 1] == pytest.approx(0.4826, abs=0.02)
    assert lives.std() == pytest.approx(0.2, rel=0.02)


@pytest.mark.parametrize("choice", [Membrane(), MetalRetrofit(), Coating()])
def test_a_twin_of_the_base_case_saves_nothing_in_any_draw(compared, flat_case, choice):
    """Once lives are wholly shared; with lives of their own the two differ by luck alone."""
    twins = dataclasses.replace(
        flat_case, base_case=choice, alternatives=(dataclasses.replace(choice, name="twin"),)
    )
    together = compared(drawn(twins, draws=400, life_share=1.0)).alternatives[1].spread.against_base
    assert together.net_savings.p10 == together.net_savings.p90 == 0.0
    assert together.net_savings.standard_error == 0.0
    apart = compared(drawn(twins, draws=400, life_share=0.0)).alternatives[1].spread.against_base
    assert apart.net_savings.p10 < 0 < apart.net_savings.p90


def test_a_larger_share_leaves_less_to_luck(compared, case):
    """The tear-off membrane against the recover one: alike lives leave a narrower difference."""
    widths = []
    for share in (0.0, 0.5, 1.0):
        only = drawn(case, draws=4000, **(NO_SPREAD | {"membrane_life_spread": 0.25}),
                     life_share=share)  # fmt: skip
        savings = compared(only).alternatives[3].spread.against_base.net_savings
        widths.append(savings.p90 - savings.p10)
    assert widths[0] > widths[1] > widths[2]


def test_the_loss_if_wrong_and_the_cheapest_of_all(compared, case):
    """Twelve draws by hand; chances of being the cheapest add up to one."""
    assert monte_carlo.worst_tenth(np.array([5.0, -3.0, *range(18)])) == pytest.approx(-1.5)
    found = compared(drawn(case, draws=500)).alternatives
    assert sum(each.spread.cheapest for each in found) == pytest.approx(1.0, abs=1e-12)
    against = found[1].spread.against_base
    assert against.worst_tenth <= against.net_savings.p10


# Shape of a Weibull law by coefficient of variation: k = 1 is exponential (1), k = 2 Rayleigh
# (sqrt(4/pi - 1) = 0.52272), both exact.
@pytest.mark.parametrize(("spread", "shape"), [(1.0, 1.0), (0.5227232, 2.0)])
def test_the_weibull_shape_of_known_laws(spread, shape):
    assert monte_carlo.weibull_shape(spread) == pytest.approx(shape, rel=1e-6)


@pytest.mark.parametrize("spread", [0.001, 0.01, 0.99])
def test_the_weibull_shape_exists_over_the_range(spread):
    assert monte_carlo.weibull_shape(spread) > 0.9


def test_a_triangle_is_symmetric_within_its_half_width():
    """Variance of a symmetric triangle of half width w: w²/6."""
    values = monte_carlo.triangular(np.random.default_rng(2), 0.3, 200000)
    assert np.abs(values).max() <= 0.3
    assert values.mean() == pytest.approx(0.0, abs=5 * 0.3 / np.sqrt(6 * values.size))
    assert values.var() == pytest.approx(0.3**2 / 6, rel=0.02)


def test_the_estimate_converges_as_its_standard_error_says(compared, case):
    """Sixteen times the draws, a quarter of the error; two seeds agree within five errors."""
    few = compared(drawn(case, draws=500)).alternatives[1].spread.against_base
    many = compared(drawn(case, draws=8000)).alternatives[1].spread.against_base
    other = compared(drawn(case, draws=8000, seed=9)).alternatives[1].spread.against_base
    ratio = few.net_savings.standard_error / many.net_savings.standard_error
    assert ratio == pytest.approx(4.0, rel=0.15)
    apart = abs(many.net_savings.mean - other.net_savings.mean)
    assert apart < 5 * np.sqrt(2) * many.net_savings.standard_error
    assert many.costs_less_standard_error == pytest.approx(
        np.sqrt(many.costs_less * (1 - many.costs_less) / 8000), rel=1e-12
    )


def test_the_estimate_on_its_way_is_told():
    """Eight draws that save, save, lose, save, lose, lose, lose, lose: 1/1, 2/2, 3/4, 3/8."""
    saving = np.array([2.0, 1.0, -1.0, 3.0, -2.0, -2.0, -1.0, -1.0])
    found = monte_carlo.chances(saving, np.ones(8), 50)
    assert found.costs_less_so_far == (1.0, 1.0, 0.75, 0.375)
    assert found.costs_less == 0.375


def test_percentiles_are_in_order(compared, case):
    for each in compared(drawn(case, draws=1000)).alternatives:
        cost = each.spread.life_cycle_cost
        assert cost.p10 <= cost.p50 <= cost.p90


@pytest.fixture(scope="module")
def rich(flat_case):
    """A case in which every kind of work, repair and upkeep occurs: wet, with rooftop units."""
    wet = (
        *flat_case.roof.layers[:1],
        dataclasses.replace(flat_case.roof.layers[1], moisture=0.1),
        *flat_case.roof.layers[2:],
    )
    roof = dataclasses.replace(flat_case.roof, rooftop_units=3, wet_fraction=0.2, layers=wet)
    return dataclasses.replace(
        flat_case, roof=roof, alternatives=(MetalRetrofit(upkeep_per_m2=1.0), Coating())
    )


@pytest.mark.parametrize("name", [name for name in NO_SPREAD if name != "energy_price_range"])
def test_every_range_alone_spreads_the_cost(compared, rich, name):
    """One range of 0.2 (years: 3; rates: 0.01), all the others 0."""
    width = 3.0 if name.endswith("_y") else 0.01 if "rate" in name or "escal" in name else 0.2
    only = drawn(rich, draws=200, **(NO_SPREAD | {name: width}))
    found = compared(only).alternatives
    errors = [each.spread.life_cycle_cost.standard_error for each in found]
    assert max(errors) > 0
    label = facts_of(Uncertainty)[name].label
    fixed = " ".join(found[0].spread.not_drawn)
    assert label.split(" of ", 1)[1].removeprefix("the ") not in fixed
    assert fixed.startswith("whether the old membrane is torn off")


def test_a_factor_acts_on_its_own_costs(compared, rich):
    """Mean of the draws against the point result: a symmetric triangle leaves it as it is."""
    for name in ("tear_off_range", "disruption_range", "repairs_range", "wet_area_range"):
        only = drawn(rich, draws=20000, **(NO_SPREAD | {name: 0.5}))
        for each in compared(only).alternatives:
            cost = each.spread.life_cycle_cost
            allowed = 5 * cost.standard_error + 1e-6 * each.life_cycle_cost
            assert cost.mean == pytest.approx(each.life_cycle_cost, abs=allowed)


def test_wider_ranges_spread_the_outcome(compared, case):
    narrow = drawn(case, draws=2000, **(NO_SPREAD | {"retrofit_price_range": 0.1}))
    wide = drawn(case, draws=2000, **(NO_SPREAD | {"retrofit_price_range": 0.3}))
    widths = []
    for each in (narrow, wide):
        cost = compared(each).alternatives[1].spread.life_cycle_cost
        widths.append(cost.p90 - cost.p10)
    assert widths[1] == pytest.approx(3 * widths[0], rel=1e-9)


def test_the_price_alone_spreads_the_cost_as_its_triangle(compared, case):
    """10 % of a symmetric triangle of half width w lie below -w (1 - √0.2): quantile by hand."""
    only = drawn(case, draws=20000, **(NO_SPREAD | {"retrofit_price_range": 0.2}))
    metal = compared(only).alternatives[1]
    laid = 165.0 * 2000 * 0.2 * (1 - np.sqrt(0.2))
    below = metal.life_cycle_cost - metal.spread.life_cycle_cost.p10
    assert below == pytest.approx(laid, rel=0.03)


def test_membrane_prices_move_together(compared, case):
    """Two membrane alternatives meet one market: a common price draw leaves less difference."""
    only = drawn(case, draws=2000, **(NO_SPREAD | {"membrane_price_range": 0.3}))
    base, _, _, other = compared(only).alternatives
    apart = other.spread.against_base.net_savings
    alone = base.spread.life_cycle_cost
    assert apart.p90 - apart.p10 < 0.5 * (alone.p90 - alone.p10)


def test_payback_for_good_is_a_year_or_words(compared, flat_case):
    never = dataclasses.replace(flat_case, alternatives=(MetalRetrofit(price_per_m2=900.0),))
    chances = compared(drawn(never, draws=300)).alternatives[1].spread.against_base
    assert chances.costs_less == 0.0
    assert chances.payback_p50.value is None
    assert "never pays back within the study period of 50 years" in chances.payback_p50.reason
    cheap = dataclasses.replace(
        flat_case, base_case=Membrane(start="now"), alternatives=(MetalRetrofit(price_per_m2=90),)
    )
    chances = compared(drawn(cheap, draws=300)).alternatives[1].spread.against_base
    assert chances.costs_less == 1.0
    assert chances.payback_p10.value <= chances.payback_p50.value <= chances.payback_p90.value
