"""What stands beside the headline: prices that are unclear, other starts, a wet area near a limit.

And what a few years more or fewer would make of the answer.
"""

import dataclasses
import re
from types import SimpleNamespace

import pytest

from lcc import answer_headline
from lcc.case import Coating, DutyPrices, Economics, Membrane, MetalRetrofit, Prices, Quotation
from lcc.case.duty_prices import EVERYTHING
from lcc.case.resolution import resolve
from lcc.cost.verdict import point_state
from lcc.errors import CaseError
from lcc.figures import said

KNOWN = {"ponding": "none", "asbestos": "none-found", "flashing_height_m": 0.4,
         "wet_fraction": 0.05, "coverings": 2}  # fmt: skip
LAYING = ("laying",)
PRICES = Prices()
BASE = Membrane(price_per_m2=70.0, price_includes=LAYING)
# A recover that lasts a tenth as long costs more than a tear-off.
TORN_BY_COST = dataclasses.replace(BASE, start="now", recover_life_ratio=0.1)
METAL = MetalRetrofit(price_per_m2=160.0, price_includes=LAYING)


@pytest.fixture
def answered(compared, flat_case):
    def answer(base=BASE, own=METAL, *others, years=50, prices=PRICES, rate=0.03, **surveyed):
        roof = dataclasses.replace(flat_case.roof, **(KNOWN | surveyed))
        economics = Economics(study_period_y=years, discount_rate=rate)
        return compared(dataclasses.replace(
            flat_case, roof=roof, base_case=base, alternatives=(own, *others), economics=economics,
            prices=prices,
        ))  # fmt: skip

    return answer


def net(found):
    return found.alternatives[1].measures.net_savings.value


def words(saved):
    return f"about {said(abs(saved))} {'less' if saved > 0 else 'more'}"


@pytest.mark.thorough
def test_a_price_that_does_not_say_what_it_holds_is_read_both_ways(answered):
    """Each of the three other readings is the case that states it."""
    everything = {"price_includes": ("everything",)}
    base, own = Membrane(price_per_m2=170.0), MetalRetrofit(price_per_m2=180.0)
    (told,) = (one for one in answered(base, own).answer.conditions if "Nobody has entered" in one)
    whole_base = dataclasses.replace(base, **everything)
    whole_own = dataclasses.replace(own, **everything)
    stated = dataclasses.replace(base, price_includes=LAYING)
    own_stated = dataclasses.replace(own, price_includes=LAYING)
    for pair, phrase in (
        (
            (stated, own_stated),
            "Read as the price of laying alone, “Metal retrofit” costs {} than ",
        ),
        ((whole_base, own_stated), "“New membrane” includes everything, {}"),
        ((stated, whole_own), "“Metal retrofit” includes everything, {}"),
        ((whole_base, whole_own), "if both prices include everything, {}"),
    ):
        assert phrase.format(words(net(answered(*pair)))) in told


def test_a_price_of_a_recover_is_read_as_all_work_over_the_old_roof(answered):
    """What a tear-off alone needs is in no price for laying over: the case that ticks the rest."""
    base = Membrane(price_per_m2=170.0)
    rest = tuple(each for each in EVERYTHING if each not in ("tear-off", "insulation"))
    found = answered(base, coverings=1)
    there = answered(dataclasses.replace(base, price_includes=rest), coverings=1)
    (told,) = (one for one in found.answer.conditions if "Nobody has entered" in one)
    assert f"includes everything, laid over the old roof, {words(net(there))}" in told
    assert not any(each.duty == "tear-off" and each.year < 5
                   for each in there.alternatives[0].events)  # fmt: skip


def test_a_price_nearest_to_the_usual_one_with_tear_off_is_answered_so(answered):
    """$127 a square metre as in a bid of $11.80/ft², laid for 72.70 by the table (data/coverings).

    With the tear-off of two coverings the usual price lies nearer. The answer is that of the case
    that states it, the headline says it, and so does what would flip.
    """
    base = Membrane(price_per_m2=127.0, start="now")
    found = answered(base)
    stated = dataclasses.replace(base, price_includes=("laying", "tear-off"))
    there = words(net(answered(stated)))
    assert there != words(net(found))
    assert f"; more likely {there} (see below)." in found.headline
    likelier = f" Likelier at usual prices: {there}, if the other’s price includes its tear-off."
    assert likelier in found.turning.sentence
    assert "the price is for laying alone" in found.answer.runs_assume
    told = found.answer.conditions[0]
    assert f"includes its tear-off, {there}" in told
    assert "So it more likely includes its tear-off: ask in writing." in told
    near = answered(Membrane(price_per_m2=75.0, start="now"))
    assert "likelier" not in near.headline
    assert not any("more likely" in one for one in near.answer.conditions)


def test_a_price_too_high_for_the_laying_that_it_is_said_to_hold_is_doubted(answered):
    """More than a third above the usual price, and nearer to that with the tear-off; not below."""
    for price, doubted in ((127.0, True), (80.0, False)):
        base = Membrane(price_per_m2=price, price_includes=LAYING, start="now")
        found = answered(base)
        told = [one for one in found.answer.conditions if "too high for what it is said" in one]
        assert bool(told) is doubted
        stated = dataclasses.replace(base, price_includes=("laying", "tear-off"))
        assert all(words(net(answered(stated))) in one for one in told)


def test_stated_prices_have_one_reading(answered):
    found = answered()
    assert not any("obody has entered" in one for one in found.answer.conditions)
    assert "laying alone" not in found.headline


def test_what_is_added_to_a_price_of_unknown_scope_is_said_first(answered):
    """Its sums are the first job's and the price entered, and the two dearest duties added.

    Where the reading of the price turns the answer, that alone comes before it.
    """
    found = answered(Membrane(price_per_m2=70.0, start="now", method="tear-off"))
    (bid,) = found.alternatives[0].quotations
    first, second = sorted(bid.left_out, key=lambda each: -each.cost)[:2]
    others = [one for one in found.answer.conditions if "official" not in one]
    turned, told, *_ = (one for one in others if not one.startswith("Better to wait"))
    assert "unless the other’s price already includes all work (" in found.headline
    assert "the price is for laying alone" in found.answer.runs_assume
    assert "and the answer depends on it" in turned
    sums = f"{said(bid.levelled_cost)}, not {said(140_000.0)}: nobody has entered"
    assert told.startswith(f"The first job of “New membrane” comes to about {sums}")
    assert {first.key, second.key} == {"insulation", "tear-off"}
    assert f"{first.key} ({said(first.cost)}) and {second.key} ({said(second.cost)})" in told


def test_what_is_added_to_a_price_of_stated_scope_is_said(answered):
    """A bid for tear-off and laying: insulation, the dearest duty it does not name, comes on it."""
    holds = ("tear-off", "laying")
    found = answered(
        Membrane(price_per_m2=70.0, start="now", method="tear-off", price_includes=holds)
    )
    (bid,) = found.alternatives[0].quotations
    insulation = next(each for each in bid.left_out if each.key == "insulation")
    (told,) = (one for one in found.answer.conditions if "The first job of “New membrane" in one)
    assert f"{said(bid.levelled_cost)}, not {said(140_000.0)}: work that its price does not" in told
    assert f"insulation ({said(insulation.cost)})" in told


def _of_starts(found):
    return " ".join(each for each in found.answer.conditions if "both begin" in each)


def test_starts_that_differ_are_said_with_what_the_same_start_makes(answered):
    """Metal now against a membrane in year 4: begun in year 4 too it is the case that waits."""
    told = _of_starts(answered(remaining_life_y=4.0))
    waits = answered(own=dataclasses.replace(METAL, wait_y=4.0), remaining_life_y=4.0)
    assert "now, 4 years before “New membrane” begins in year 4" in told
    assert f"“Metal retrofit” costs {words(net(waits))} if both begin in year 4" in told
    now = dataclasses.replace(BASE, start="now")
    at_once = answered(now, remaining_life_y=4.0)
    assert f"{words(net(at_once))} if both begin now (“New membrane" in told
    assert not _of_starts(at_once)
    metal_waits = answered(now, dataclasses.replace(METAL, wait_y=4.0), remaining_life_y=4.0)
    told = _of_starts(metal_waits)
    assert f"{words(net(at_once))} if both begin now." in told  # the membrane begins now anyway


def test_a_start_that_makes_it_too_close_says_so_and_that_waiting_pays(answered):
    """Metal at 8 %, priced so that with the membrane in year 5 it is level: now it costs more.

    Costs are linear in the price: level where the line through two prices is, and 1 $/m² above.
    """

    def begun(price, wait_y=None):
        own = dataclasses.replace(METAL, price_per_m2=price, wait_y=wait_y)
        return answered(own=own, remaining_life_y=5.0, rate=0.08)

    low, high = (net(begun(price, 5.0)) for price in (100.0, 200.0))
    price = 100.0 + 100.0 * low / (low - high) + 1.0
    found, waits = begun(price), begun(price, 5.0)
    assert net(found) < 0 > net(waits)
    assert found.answer.state == "costs-more"
    assert "unless both begin in year 5 (then too close to call" in found.headline
    together, advice = found.answer.conditions[:2]
    assert together.startswith(f"Begun together, “Metal retrofit” costs {words(net(waits))}")
    assert advice == (
        "Better to wait until year 5: “Metal retrofit” then costs about "
        f"{said(net(waits) - net(found))} less over the study period than begun now. That is "
        f"{words(net(waits))} than “New membrane”, too close to call. "
        "“New membrane” begins in year 5, as entered."
    )


@pytest.mark.thorough
@pytest.mark.parametrize(("share", "near"), [(0.15, False), (0.2, True), (0.3, True), (0.4, False)])
def test_a_wet_area_near_a_quarter_is_said_with_what_the_other_side_costs(answered, share, near):
    """Known within 30 %: 20 % may be 26 %, 30 % may be 21 %; 15 and 40 % stay on their side."""
    now = dataclasses.replace(BASE, start="now", method="recover-where-allowed")
    found = answered(now, coverings=1, wet_fraction=share)
    told = [one for one in found.answer.conditions if "lies near a quarter" in one]
    assert bool(told) == near
    if near:
        other = answered(now, coverings=1, wet_fraction=0.26 if share < 0.25 else 0.25)
        change = other.alternatives[0].first_cost - found.alternatives[0].first_cost
        assert f"its first job costs {words(-change)}" in told[0]
        assert re.search(rf"then (still )?costs {re.escape(words(net(other)))} than", told[0])


def test_a_wet_area_near_a_quarter_is_priced_on_the_part_of_the_roof_done_first(answered):
    half = dataclasses.replace(
        BASE, start="now", method="recover-where-allowed", share_first=0.5, rest_after_y=6.0
    )
    found, other = (answered(half, coverings=1, wet_fraction=share) for share in (0.24, 0.26))
    (told,) = (one for one in found.answer.conditions if "lies near a quarter" in one)
    change = other.alternatives[0].first_cost - found.alternatives[0].first_cost
    assert f"its first job costs {words(-change)}" in told
    assert re.search(rf"then (still )?costs {re.escape(words(net(other)))} than", told)


def test_a_coating_that_more_wet_insulation_would_rule_out_is_said(answered):
    """At 24 % it may go on; above a quarter the roof must come off, and no coating is costed."""
    coating = Coating(price_per_m2=10.0, price_includes=LAYING)
    found = answered(dataclasses.replace(BASE, start="now"), coating, wet_fraction=0.24)
    (told,) = (one for one in found.answer.conditions if "lies near a quarter" in one)
    assert "above that no coating can go on" in told
    assert "a coating" not in " ".join(answered(BASE, METAL, wet_fraction=0.24).answer.conditions)


def test_metal_takes_out_wet_areas_at_any_share_and_says_what_the_code_leaves(answered):
    """At 30 % wet only that is cut out; a tear-off by choice costs what the sentence says."""
    now = dataclasses.replace(BASE, start="now")
    found = answered(now, wet_fraction=0.3)
    torn = answered(now, dataclasses.replace(METAL, wet_insulation="torn-off"), wet_fraction=0.3)
    more = torn.alternatives[1].first_cost - found.alternatives[1].first_cost
    assert more > 0
    (told,) = (one for one in found.answer.conditions if "Some local codes" in one)
    assert f"its first job costs about {said(more)} more" in told
    assert re.search(rf"” (still )?costs {re.escape(words(net(torn)))} than", told)


def test_all_of_the_old_roof_comes_off_under_metal_where_that_is_cheaper(answered):
    """All wet, and patches dear: cutting it out by the patch would cost more than a tear-off."""
    dear = Prices(duties=DutyPrices(wet_patch_per_m2=90.0))
    removed, torn = (
        answered(own=dataclasses.replace(METAL, wet_insulation=way), prices=dear, wet_fraction=1.0)
        for way in ("removed", "torn-off")
    )
    assert removed.alternatives[1].life_cycle_cost == torn.alternatives[1].life_cycle_cost


def test_a_price_for_framing_over_the_old_roof_holds_no_tear_off_of_all_of_it(answered):
    """30 % wet, a metal roof at 160 $/m² for everything: wet areas go, 320,000 $, no tear-off."""
    found = answered(own=dataclasses.replace(METAL, price_includes=("everything",)),
                     wet_fraction=0.3)  # fmt: skip
    first = {row.key: row.alternatives[1].first_cost for row in found.scope}
    assert first["tear-off"] == 0 < first["wet-insulation"]
    assert sum(first.values()) == pytest.approx(160.0 * 2000, rel=1e-9)


def test_at_a_price_that_holds_a_tear_off_the_old_roof_comes_off(answered):
    """Asbestos outside the price, 15 years: a recover at it costs less, and is none of its jobs.

    By hand: 170 $/m² on 2,000 m² is 340,000 $ of covering and tear-off together.
    """
    bid = Membrane(price_per_m2=170.0, price_includes=("laying", "tear-off"), start="now")
    offers = Quotation("Low", 169.0, bid.price_includes), Quotation("Lay", 400.0, LAYING)
    several = Membrane(start="now", quotations=offers)
    recover, torn = (
        dataclasses.replace(bid, method=f"{how}") for how in ("recover-where-allowed", "tear-off")
    )
    found, covered, entered, bids = (
        answered(base, asbestos="found", coverings=1, years=15,
                 prices=Prices(insulation_per_m2=0.0))
        for base in (bid, recover, torn, several)
    )  # fmt: skip
    costs = [each.alternatives[0].life_cycle_cost for each in (found, covered, entered, bids)]
    assert costs[1] < costs[0] == costs[2]
    assert 0 < costs[0] - costs[3] < 2 * 2000  # the lower bid of a tear-off, by 1 $/m², is taken
    own = _tear_off(found)
    assert (own.status, own.reason) == ("done", "the price entered holds the tear-off")
    paid = [row.alternatives[0].first_cost for row in found.scope
            if row.key in ("covering", "edges", "penetrations", "tear-off")]  # fmt: skip
    assert sum(paid) == pytest.approx(340_000, rel=1e-9)
    told = [any("holds a tear-off, so" in one for one in each.answer.conditions)
            for each in (found, covered, entered)]  # fmt: skip
    assert told == [True, False, False]


@pytest.mark.parametrize(
    "years", [40, *(pytest.param(each, marks=pytest.mark.thorough) for each in (22, 41))]
)
def test_a_few_years_more_or_fewer_are_the_case_over_them(answered, years):
    """Each figure is the net savings of that study period; a change of the answer is marked."""
    found = answered(years=years)
    assert len(found.turning.study_periods) == 4
    for one in found.turning.study_periods:
        again = net(answered(years=one.study_period_y))
        assert one.net_savings == pytest.approx(again, rel=1e-9, abs=1e-6)
        turned = again * net(found) < 0
        assert not turned or f" over {one.study_period_y}" in found.turning.sentence


def test_a_wet_area_is_a_share_of_the_roof(answered):
    by_area = answered(wet_fraction=None, wet_area_m2=300.0)
    assert net(by_area) == pytest.approx(net(answered(wet_fraction=0.15)), rel=1e-12)
    with pytest.raises(CaseError, match="wet_area"):
        answered(wet_area_m2=300.0)
    with pytest.raises(CaseError, match="at most the roof area"):
        answered(wet_fraction=None, wet_area_m2=3000.0)


def test_a_price_that_leaves_little_for_laying_is_doubted(answered):
    """20 $/m² for metal where 160 and more is usual; a plain price is not doubted."""
    low = dataclasses.replace(METAL, price_per_m2=20.0)
    bids = MetalRetrofit(quotations=(Quotation("Low", 20.0, LAYING), Quotation("High", 170.0)))
    for own in (low, bids):
        assert any("looks too low" in one for one in answered(own=own).answer.conditions)
    assert not any("looks too low" in one for one in answered().answer.conditions)


def test_a_price_a_quarter_below_what_it_holds_is_doubted_whatever_it_holds(answered):
    """Each kind of roof, laying alone and everything, on either side of three quarters."""
    everything = ("everything",)
    for scope in (LAYING, everything):
        for place, kind in enumerate((BASE, METAL)):
            bare = dataclasses.replace(kind, price_per_m2=1.0, price_includes=scope)
            pair = [BASE, METAL]
            pair[place] = bare
            (bid,) = answered(*pair).alternatives[place].quotations
            usual = (bid.quoted_cost + bid.short) / bid.quoted_cost
            for part, doubted in ((0.74, True), (0.76, False)):
                pair[place] = dataclasses.replace(bare, price_per_m2=part * usual)
                own = answered(*pair)
                told = [one for one in own.answer.conditions if "looks too low" in one]
                name = own.alternatives[place].name
                half = own.alternatives[place].quotations[0]
                little = half.laying_cost < half.usual_laying_cost / 2
                found = any(f"“{name}” looks too low" in one for one in told)
                assert found == (doubted or little)
                if found:
                    assert f"usually costs about {said(usual * bid.quoted_cost)}." in told[0]


def test_a_price_too_low_has_the_answer_at_the_usual_price_beside_it(answered):
    """The case with that price entered; where it turns the answer, the headline says so."""
    whole = {"price_includes": ("everything",)}
    own = dataclasses.replace(METAL, price_per_m2=190.0, **whole)
    base = Membrane(price_per_m2=100.0, start="now", **whole)
    found = answered(base, own)
    (bid,) = found.alternatives[0].quotations
    usual = (bid.quoted_cost + bid.short) / 2000.0
    then = net(answered(dataclasses.replace(base, price_per_m2=usual), own))
    (told,) = (one for one in found.answer.conditions if "looks too low" in one)
    assert net(found) < 0 < then
    assert (f"At about {said(2000.0 * usual)} for “New membrane”, “Metal retrofit” "
            f"costs {words(then)} than “New membrane”.") in told  # fmt: skip
    (turns,) = (one for one in found.turning.choices if "usual price" in one.what)
    assert turns.net_savings == pytest.approx(then, rel=1e-9)
    assert "unless the other’s price is the usual one" in found.headline


def test_a_bid_laid_over_two_coverings_is_said_to_be_read_as_a_tear_off(answered):
    over = dataclasses.replace(BASE, price_includes=("laying", "units", "on-costs"))
    told = answered(over).answer.conditions[0]
    assert told.startswith("No new covering may go over the 2 in place (International Building")
    assert "cannot be built" in told
    for base, coverings in ((over, 1), (BASE, 2)):
        others = answered(base, coverings=coverings).answer.conditions
        assert not any("No new covering" in one for one in others)


def test_a_year_that_nobody_entered_is_said_to_be_a_default(answered):
    """Of a covering that usually lasts 20 years, 15 old; entered, it is as entered."""
    told = _of_starts(answered(age_y=15.0))
    assert "a default by the age of today’s roof (usually 20 years, less its 15)" in told
    assert "as entered" not in told
    assert "in year 5, as entered." in _of_starts(answered(age_y=15.0, remaining_life_y=5.0))


def test_a_price_far_above_the_usual_and_an_age_far_past_the_life_are_doubted(answered):
    """Three times the table's price of laying, and twice the covering's likely life; not below."""
    high = dataclasses.replace(METAL, price_per_m2=1200.0)
    (told,) = (one for one in answered(own=high).answer.conditions if "looks too high" in one)
    assert "Check its decimal point" in told
    assert not any("looks too high" in one for one in answered().answer.conditions)
    old = [any("Check the age" in one for one in answered(age_y=age).answer.conditions)
           for age in (25.0, 70.0)]  # fmt: skip
    assert old == [False, True]


def test_an_energy_price_far_from_the_table_is_doubted_and_cents_are_asked(answered):
    """More than five times the usual price or less than a fifth; nothing is free by mistake."""
    usual = resolve(PRICES)
    for name in ("electricity_per_kwh", "gas_per_kwh"):
        for times, doubted in zip((0.0, 0.19, 0.21, 4.9, 5.1), (0, 1, 0, 0, 1), strict=True):
            prices = Prices(**{name: times * getattr(usual, name)})
            told = answered(prices=prices).answer.conditions
            assert any("Check its decimal point and its unit" in one for one in told) == doubted
    (gas,) = (one for one in answered(prices=Prices(gas_per_kwh=28 / 29.3001)).answer.conditions
              if one.startswith("Gas is entered at $28.00 a therm"))  # fmt: skip
    assert gas.endswith("If 28 cents a therm is meant, type 0.28.")


def test_a_tear_off_that_the_base_case_needs_is_run_under_the_metal_roof_too(answered):
    """Both sums are those of the same case with the tear-off entered, its fees and energy too."""
    base = dataclasses.replace(BASE, start="now", method="tear-off")
    found = answered(base)
    torn = answered(base, dataclasses.replace(METAL, wet_insulation="torn-off"))
    more = torn.alternatives[1].first_cost - found.alternatives[1].first_cost
    told = next(one for one in found.answer.conditions if "official" in one)
    assert told.startswith("If the building official asks for the tear-off and the insulation")
    assert f"costs {words(net(torn))} than" in told
    assert f"first job costs about {said(more)} more (" in told
    assert "permit, fees and tax" in told
    over = answered(dataclasses.replace(BASE, start="now", method="recover-where-allowed"),
                    coverings=1)  # fmt: skip
    assert not any("official asks" in one for one in over.answer.conditions)


def test_the_parts_of_a_tear_off_come_to_its_sum(answered):
    """Wet insulation that the framed roof would cut out anyway is taken off, and said."""
    found = answered(dataclasses.replace(BASE, start="now", method="tear-off"), wet_fraction=0.2)
    told = next(one for one in found.answer.conditions if "official" in one)
    whole, parts = re.search(r"costs about \$([\d,]+) more \((.+?)\), and", told).groups()
    assert re.search(r", less wet insulation \$[\d,]+$", parts)
    each = [
        (-1 if one.startswith("less ") else 1) * float(one.rpartition("$")[2].replace(",", ""))
        for one in re.split(r"(?<=\d), ", parts)
    ]
    assert len(each) > 3
    assert sum(each) == pytest.approx(float(whole.replace(",", "")), rel=0.01)  # three figures each


@pytest.mark.parametrize(("below", "told"), [("epdm-black", 0), ("built-up-smooth", 1)])
def test_a_price_for_everything_is_asked_about_asbestos_where_some_may_be(answered, below, told):
    """Nobody has tested: a roof all of single-ply sheets has nothing to test."""
    every = ("everything",)
    found = answered(
        Membrane(price_per_m2=300.0, price_includes=every, start="now", method="tear-off"),
        covering="epdm-black", covering_below=below, asbestos="not-tested",
    )  # fmt: skip
    said_so = [one for one in found.answer.conditions if "holding asbestos" in one]
    assert len(said_so) == told


def test_what_the_official_asks_is_said_of_each_metal_roof_that_it_turns(answered):
    """One that tears off anyway then costs least, and a dear one no longer saves."""
    base = dataclasses.replace(BASE, start="now", method="tear-off", price_per_m2=100.0)
    torn = dataclasses.replace(METAL, name="Torn", price_per_m2=145.0, wet_insulation="torn-off")
    dear = dataclasses.replace(METAL, name="Dear", price_per_m2=185.0)
    found = answered(base, METAL, torn, dear)
    off = answered(base, *(dataclasses.replace(one, wet_insulation="torn-off")
                           for one in (METAL, torn, dear)))  # fmt: skip
    costs, then = ([each.life_cycle_cost for each in one.alternatives] for one in (found, off))
    of_best, of_dear = sorted((one for one in found.answer.conditions if "official" in one),
                              key=lambda one: "“Dear”" in one)  # fmt: skip
    assert f"“Dear” costs {words(costs[0] - then[3])} than" in of_dear
    assert "“Torn” costs least then." in of_best
    assert of_best.endswith("before deciding.")
    assert "costs least then" not in of_dear
    assert costs[2] < min(then[1], then[3])
    assert "For “Dear” the answer changes if the building official" in found.turning.sentence


def test_a_tear_off_that_nobody_entered_is_the_tools_choice(answered):
    """Of one sound, dry covering, least cost; entered, it is the owner's."""
    entered = dataclasses.replace(BASE, start="now", method="tear-off")
    torn = [_tear_off(answered(base, coverings=1)) for base in (entered, TORN_BY_COST)]
    assert torn[0].source == "the owner's choice"
    assert torn[0].reason == "tear-off is entered"
    assert torn[1].source == "cheapest over the study period"
    assert torn[1].reason.startswith("not entered; the tool takes tear-off, the cheapest")


def test_a_way_that_the_tool_took_is_said_where_the_other_matters(answered):
    """The sum and the verdict are those of the case that enters the other way; entered: nothing."""
    recover = dataclasses.replace(TORN_BY_COST, method="recover-where-allowed")
    found, other = (answered(base, coverings=1) for base in (TORN_BY_COST, recover))
    costs = [each.alternatives[0].life_cycle_cost for each in (found, other)]
    assert costs[1] > 1.05 * costs[0]
    (told,) = (one for one in found.answer.conditions if "You did not say which way" in one)
    assert "tears the old roof off. You" in told
    assert f"about {said(costs[1] - costs[0])} cheaper" in told
    turns = point_state(costs[0], found.alternatives[1].life_cycle_cost) != point_state(
        costs[1], other.alternatives[1].life_cycle_cost
    )
    assert turns == (f"costs {words(net(other))} than" in told)
    assert turns == any("leaves the old roof" in one.what for one in found.turning.choices)
    for silent in (other, answered(TORN_BY_COST, coverings=2)):
        assert not any("You did not say which way" in one for one in silent.answer.conditions)


def _tear_off(found):
    return next(row.alternatives[0] for row in found.scope if row.key == "tear-off")


def test_a_high_rate_above_inflation_is_also_read_as_a_banks(answered):
    """6.5 % typed: the answer with it as nominal is that of the case with the rate freed of 2 %."""
    cheap = dataclasses.replace(METAL, price_per_m2=72.0)
    found = answered(own=cheap, rate=0.065)
    there = answered(own=cheap, rate=1.065 / 1.02 - 1)
    (told,) = (one for one in found.answer.conditions if "read as above inflation" in one)
    assert "with inflation of 2% that is 8.63% as a bank quotes it" in told
    assert f"costs {words(net(there))} than “{found.alternatives[0].name}”" in told
    assert (net(there) > 0) != (net(found) > 0)
    assert any("rate with inflation" in one.what for one in found.turning.choices)
    assert not any("read as above inflation" in one for one in there.answer.conditions)


def test_a_banks_rate_without_inflation_is_freed_of_the_usual_one(compared, flat_case):
    """Left blank, inflation is that of the remark, and is said; entered, as entered and silent."""
    cheap = dataclasses.replace(METAL, price_per_m2=72.0)
    case = dataclasses.replace(flat_case, base_case=BASE, alternatives=(cheap,))
    rates = [Economics(discount_rate=0.065, rate_kind="nominal", inflation=each)
             for each in (None, 0.02, 0.0)]  # fmt: skip
    rates.append(Economics(discount_rate=1.065 / 1.02 - 1))
    blank, usual, none, real = (
        compared(dataclasses.replace(case, economics=each)) for each in rates
    )
    assert net(blank) == net(usual) == pytest.approx(net(real), rel=1e-9)
    assert abs(net(none) - net(blank)) > 1000
    said_of = [
        [one for one in found.answer.conditions if "Inflation is not entered" in one]
        for found in (blank, usual, none)
    ]
    assert [len(each) for each in said_of] == [1, 0, 0]
    assert "2% a year is taken out of the 6.5%" in said_of[0][0]


@pytest.mark.parametrize(("price", "leads"), [(200.0, True), (400.0, False)])
def test_a_wait_that_is_half_of_the_difference_is_said_first(answered, price, leads):
    """Metal now against a membrane in year 6: where both now halve the sum, that stands first."""
    own = dataclasses.replace(METAL, price_per_m2=price)
    found = answered(own=own, remaining_life_y=6.0, rate=0.06)
    both_now = answered(
        dataclasses.replace(BASE, start="now"), own, remaining_life_y=6.0, rate=0.06
    )
    assert (net(both_now) > net(found) / 2) == leads
    assert found.answer.conditions[0].startswith("Begun together, “Metal retrofit”") == leads
    assert f"{words(net(both_now))} if both begin now" in _of_starts(found)


def test_what_is_added_to_one_price_is_told_of_the_other_alike(answered):
    """A bid of 40 to which more than a quarter is added, a metal roof of 160 to which some is."""
    found = answered(dataclasses.replace(BASE, price_per_m2=40.0))
    told = [one for one in found.answer.conditions if "The first job of" in one]
    assert [one.partition("”")[0] for one in told] == [
        f"The first job of “{each.name}" for each in found.alternatives[:2]
    ]
    bids = [each.quotations[0] for each in found.alternatives[:2]]
    parts = [bid.levelled_cost / bid.quoted_cost - 1 for bid in bids]
    assert parts[0] > 0.25 > parts[1] > 0.05


def test_the_answer_if_a_price_held_what_is_added_to_it_is_said(answered):
    """As the case in which the same price is entered as one for everything."""
    bid = dataclasses.replace(BASE, price_per_m2=40.0)
    found = answered(bid)
    whole = answered(dataclasses.replace(bid, price_includes=("everything",)))
    (told,) = (one for one in found.answer.conditions if "The first job of “New membrane" in one)
    then = f"holds all of it, “Metal retrofit” costs {words(net(whole))} than “New membrane"
    assert f"If that price {then}" in told


def test_what_the_word_laying_is_read_to_hold_is_asked_of_the_bidder(answered):
    """Edges and pipes by name are in the price; by “laying” alone they are so read, and asked."""
    named = dataclasses.replace(METAL, price_includes=("laying", "edges", "penetrations"))
    for own, asked in ((METAL, True), (named, False)):
        found = answered(own=own)
        rows = {row.key: row.alternatives[1] for row in found.scope}
        for key in ("edges", "penetrations"):
            assert rows[key].reason.startswith("in the price entered")
            assert ("a part of laying: ask the bidder" in rows[key].reason) == asked
        (told,) = (one for one in found.questions if "for “Metal retrofit”: does" in one)
        assert ("“edges, drains and gutters”, “flash pipes and conduits”" in told) == asked


def test_what_is_renewed_in_part_says_how_much_and_by_which_rule(answered):
    """A finish of 35 years due in year 35 of 40: 5 of 35 are left, four times that is 57 %."""
    found = answered(own=dataclasses.replace(METAL, service_life_y=40.0, finish_interval_y=35.0))
    service = next(row.alternatives[1] for row in found.scope if row.key == "service")
    assert service.reason.endswith(
        "; done in part only: “Finish renewed” in year 35 by 57%, four times the 5 of its 35 years "
        "that are left"
    )


@pytest.mark.parametrize(
    ("middle", "told"),
    [
        (-34_010.0, "about $34,000 behind."),
        (-20_000.0, "about $20,000 behind, not about $34,000 behind as entered: the runs also "
         "count the cost of what is not known of the roof."),
    ],
)  # fmt: skip
def test_the_middle_run_is_set_against_the_entered_only_where_they_differ_as_said(middle, told):
    drawn = SimpleNamespace(net_savings=SimpleNamespace(p50=middle))
    own = SimpleNamespace(spread=SimpleNamespace(against_base=drawn))
    pair = SimpleNamespace(own=own, saved=-34_023.0, costs_less=None)
    found = list(answer_headline._middle(pair, {"wet insulation": ""}))
    assert found == [f"The middle run comes out {told}"]
