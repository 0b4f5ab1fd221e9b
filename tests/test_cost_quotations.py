"""Several quotations for one alternative, brought to one scope."""

import dataclasses
import math

import pytest

from lcc.case import Coating, Membrane, MetalRetrofit, Prices, Quotation
from lcc.case.duty_prices import DUTIES
from lcc.errors import CaseError
from lcc.figures import more_or_less, said

KNOWN = {"wet_fraction": 0.1, "ponding": "none", "asbestos": "found", "flashing_height_m": 0.4,
         "rooftop_units": 3, "skylights": 2, "penetrations": 5}  # fmt: skip
LAYING = Quotation("Anders", 100.0)
SOME = Quotation("Best", 160.0, ("laying", "wet-insulation", "on-costs"))
ALL = Quotation("Crown", 235.0, ("everything",))
KINDS = {
    "membrane": Membrane(start="now", method="tear-off"),
    "recover": Membrane(start="now"),
    "metal": MetalRetrofit(),
    "coating": Coating(),
}


@pytest.fixture
def answered(compared, flat_case):
    def answer(choice, **more):
        roof = dataclasses.replace(flat_case.roof, **KNOWN)
        case = dataclasses.replace(
            flat_case, roof=roof, prices=Prices(), base_case=Membrane(),
            alternatives=(dataclasses.replace(choice, **more),),
        )  # fmt: skip
        return compared(case)

    return answer


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("taken", ["", "Anders", "Best", "Crown"])
def test_a_quotation_and_what_it_leaves_out_are_what_the_first_job_costs(answered, kind, taken):
    """The levelled price of the one taken is the first job of the programme, duty by duty."""
    told = answered(KINDS[kind], quotations=(LAYING, SOME, ALL), quotation_taken=taken)
    own = told.alternatives[1]
    (bid,) = (each for each in own.quotations if each.taken)
    assert bid.bidder == (taken or min(own.quotations, key=lambda b: b.levelled_cost).bidder)
    first = [event for event in own.events if event.year == 0 and event.duty != "service"]
    spent = math.fsum(event.cost for event in first)
    assert bid.levelled_cost == pytest.approx(spent, rel=1e-12)
    assert bid.quoted_cost == pytest.approx(bid.price_per_m2 * 2000, rel=1e-12)
    added = math.fsum(each.cost for each in bid.left_out)
    assert bid.quoted_cost + added == pytest.approx(spent, rel=1e-9)
    first_costs = {row.key: row.alternatives[1].first_cost for row in told.scope}
    for each in bid.left_out:
        if each.key != "on-costs":
            assert each.cost == pytest.approx(first_costs[each.key], rel=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_a_quotation_alone_is_the_price_entered(answered, kind):
    for offer in (LAYING, SOME, ALL):
        alone = answered(KINDS[kind], quotations=(offer,)).alternatives[1]
        entered = answered(
            KINDS[kind], price_per_m2=offer.price_per_m2, price_includes=offer.price_includes
        ).alternatives[1]
        assert alone.life_cycle_cost == pytest.approx(entered.life_cycle_cost, rel=1e-12)
        assert alone.quotations[0].left_out == entered.quotations[0].left_out


def test_what_a_quotation_does_not_state_is_asked_by_the_name_of_the_duty(answered):
    told = answered(KINDS["membrane"], quotations=(LAYING, SOME, ALL))
    laying, some, everything = told.alternatives[1].quotations
    assert (everything.left_out, everything.questions) == ((), ())
    for bid in (laying, some):
        keys = {each.key for each in bid.left_out}
        assert {"tear-off", "insulation", "asbestos", "warranty"} <= keys
        for key in keys - {"on-costs"}:
            name = DUTIES[key][:1].lower() + DUTIES[key][1:]
            assert any(f"“{name}”" in line for line in bid.questions)
            asked = (line for line in told.questions if line.startswith(f"{bid.bidder}, for"))
            assert any(f"“{name}”" in line for line in asked)
    assert "wet-insulation" not in {each.key for each in some.left_out}


def test_the_lowest_as_quoted_is_not_always_the_lowest_at_one_scope(answered):
    own = answered(KINDS["membrane"], quotations=(LAYING, ALL)).alternatives[1]
    by_quote, by_scope = (
        min(own.quotations, key=lambda bid: getattr(bid, name)).bidder
        for name in ("quoted_cost", "levelled_cost")
    )
    assert (by_quote, by_scope) == ("Anders", "Crown")
    assert "“Crown” is the lowest" in own.quotations_note
    assert "“Anders” quotes the least" in own.quotations_note


def test_one_of_two_prices_is_refused():
    with pytest.raises(CaseError, match=r"price is 90\.0; allowed: nothing beside quotations"):
        Membrane(price_per_m2=90.0, quotations=(LAYING,))
    with pytest.raises(CaseError, match="each bidder once"):
        Coating(quotations=(LAYING, LAYING))
    with pytest.raises(CaseError, match="the name of a bidder: Anders"):
        MetalRetrofit(quotations=(LAYING,), quotation_taken="Nobody")


@pytest.mark.parametrize("kind", KINDS)
def test_a_price_below_what_it_is_said_to_hold_is_answered_and_said(answered, kind):
    """1 $/m² for everything: the first job costs it, and a sentence says what it should hold."""
    low = Quotation("Low", 1.0, ("everything",))
    found = answered(KINDS[kind], quotations=(LAYING, low))
    own = found.alternatives[1]
    bid = own.quotations[1]
    assert bid.taken
    assert bid.quoted_cost == pytest.approx(bid.levelled_cost, rel=1e-9)
    year = own.events[0].year
    first = sum(each.cost for each in own.events if each.year == year)
    assert first == pytest.approx(bid.quoted_cost, abs=1e-6)
    parts = sum(e.cost for e in own.events if e.year == year and e.cost > 0)
    assert bid.short == pytest.approx(parts - first, rel=1e-9)
    said_so = f"usually costs about {said(bid.quoted_cost + bid.short)}"
    assert any(said_so in each for each in found.answer.conditions)
    assert own.life_cycle_cost > 0


@pytest.mark.parametrize("taken", ["", "Anders", "Best", "Crown"])
def test_a_quotation_that_turns_the_answer_is_named_beside_it(answered, taken):
    """Each other one has a sentence where the case with it taken has the opposite sign."""
    offers = {"quotations": (LAYING, SOME, ALL, Quotation("Dear", 600.0))}

    def net(bidder):
        told = answered(KINDS["metal"], **offers, quotation_taken=bidder)
        return told.alternatives[1].measures.net_savings.value, told.answer.conditions

    saved, said_beside = net(taken)
    found = [one for one in said_beside if one.startswith("The answer holds for the quotation")]
    others = {bidder: net(bidder)[0] for bidder in ("Anders", "Best", "Crown", "Dear")}
    turning = {name: other for name, other in others.items() if (other > 0) != (saved > 0)}
    assert turning
    assert len(found) == len(turning)
    for sentence, (name, other) in zip(found, turning.items(), strict=True):
        assert f"At the price of “{name}”" in sentence
        assert f"costs about {more_or_less(other)} than" in sentence
