"""The answer in words: one verdict that follows from the figures, whichever way they fall."""

import dataclasses
import re
import types

import pytest

from lcc import answer_headline
from lcc.case import (
    Coating,
    DutyPrices,
    Economics,
    Layer,
    Membrane,
    MetalRetrofit,
    Prices,
    Uncertainty,
)
from lcc.case.fields import facts_of
from lcc.cost.energy_phases import energy_by_start
from lcc.cost.payback_sentence import likely_years, payback_against
from lcc.cost.remarks import Remark
from lcc.figures import said
from lcc.results import (
    AfterTax,
    Category,
    Chances,
    Event,
    Financed,
    Measure,
    Percentiles,
    TurningChoice,
)

# Ten inches of blanket on the old roof, more than the minimum that a tear-off brings.
BLANKET = Layer(material="glass-fibre-blanket", thickness_m=0.25)
METAL = MetalRetrofit(layers=(BLANKET,))
TORN = Membrane(method="tear-off")


@pytest.fixture(scope="module")
def told(compared, flat_case):
    """Compare the base case and alternatives given; return the comparison."""

    def answer(base, *alternatives, **parts):
        return compared(
            dataclasses.replace(flat_case, base_case=base, alternatives=alternatives, **parts)
        )

    return answer


def test_energy_that_goes_by_who_begins_first_is_told(told, flat_case):
    """The bills of the three years before the membrane is laid, under either roof.

    At no discount, with prices that stay: three times the difference of two yearly bills.
    """
    roof = dataclasses.replace(flat_case.roof, remaining_life_y=3.0)
    found = told(
        Membrane(covering="tpo-white", method="tear-off"), METAL, roof=roof,
        economics=Economics(study_period_y=20, discount_rate=0.0),
    )  # fmt: skip
    old, new = (each.energy[0].electricity_cost + each.energy[0].gas_cost
                + each.energy[0].demand_cost for each in found.alternatives)  # fmt: skip
    told_so = " ".join(found.answer.reasons)
    way = "saved" if old > new else "lost"
    assert (
        f"About {said(3 * abs(old - new))} of energy is {way} in the 3 years in which only "
        f"“{METAL.name}” has begun; in years 4 to 20 the bill is about"
    ) in told_so


def test_the_energy_named_after_the_start_is_the_phase_that_moves_most(told):
    """Six dear years of a coating weigh more than twelve that hardly differ."""
    found = told(Membrane(), METAL).alternatives[1]
    spells = ((1, 2, 900.0), (3, 8, -3480.0), (9, 20, 400.0))
    phases = tuple(
        dataclasses.replace(found.energy_by_phase.phases[0], first_year=first, last_year=last,
                            what=f"Years {first} to {last}", bill_saved=saved)
        for first, last, saved in spells
    )  # fmt: skip
    by_phase = dataclasses.replace(found.energy_by_phase, phases=phases)
    begun = [Event(year, "", "", 1.0, "Roof coverings and panels", "") for year in (2, 0)]
    bills = [Category("Gas", 0.0, (0.0, bill, bill, *[0.0] * 18)) for bill in (2000.0, 1100.0)]
    base, own = (
        dataclasses.replace(found, events=(event,), costs=(bill,), energy_by_phase=by_phase)
        for event, bill in zip(begun, bills, strict=True)
    )
    (said_so,) = energy_by_start(base, own, 0.0, 0.0)
    assert said_so.startswith("About $1,800 of energy is saved in the 2 years")
    assert said_so.endswith("in years 3 to 8 the bill is about $3,480 more a year.")
    # Bills of 3,480 and 3,420 are alike: one figure, (6 · 3480 + 12 · 3420) / 18 = 3440, as on
    # the page's card.
    alike = (*phases[:2], dataclasses.replace(phases[2], bill_saved=-3420.0))
    own = dataclasses.replace(
        own, energy_by_phase=dataclasses.replace(by_phase, phases=alike))  # fmt: skip
    (said_so,) = energy_by_start(base, own, 0.0, 0.0)
    assert said_so.endswith("in years 3 to 20 the bill is about $3,440 more a year.")


def test_a_retrofit_that_pays(told):
    """What is cheaper, when, how much is energy, and what could turn it round."""
    found = told(Membrane(price_per_m2=90.0), dataclasses.replace(METAL, price_per_m2=105.0))
    base, own = found.alternatives
    net = own.measures.net_savings.value
    assert found.answer.state == "costs-less"
    assert found.answer.saved == pytest.approx(net, rel=1e-9)
    assert f"costs about {said(net)} less than" in found.headline
    assert f"“{own.name}” costs about {said(own.first_cost)} more today" in found.verdict
    assert own.payback.sentence[1:] in found.verdict
    energy = sum(
        sign * category.present_value
        for sign, each in ((1, base), (-1, own))
        for category in each.costs
        if category.name in ("Electricity", "Gas")
    )
    share = float(re.search(r"Of the saving, ([\d.]+)% is energy", found.verdict).group(1))
    assert share == pytest.approx(100 * energy / net, abs=0.5)
    assert "change" in found.verdict


def test_a_retrofit_that_does_not_pay(told):
    found = told(Membrane(), dataclasses.replace(METAL, price_per_m2=400.0))
    own = found.alternatives[1]
    lost = said(-own.measures.net_savings.value)
    assert found.answer.state == "costs-more"
    assert found.headline.startswith(f"“Metal retrofit” costs about {lost} more")
    assert own.payback.year is None
    assert "it never pays back within the study period of 50 years." in found.verdict
    assert "of energy, but its work costs" in found.verdict


def test_the_nearest_input_is_named(told):
    """The price at which it turns is inside its range, so it is said to be able to turn it."""
    even = told(Membrane(), MetalRetrofit())
    price = {e.field: e for e in even.alternatives[1].break_even}["alternatives.0.price"]
    close = told(Membrane(), MetalRetrofit(price_per_m2=price.value.value * 0.98))
    own = close.alternatives[1]
    nearest = next(e for e in own.break_even if e.field == "alternatives.0.price").value.value / (
        price.value.value * 0.98
    )
    assert nearest == pytest.approx(1 / 0.98, rel=1e-6)
    assert "What could change the answer: the " in close.verdict


def test_about_the_same(told):
    found = told(Membrane(), Membrane(name="the same"))
    assert found.answer.state == "too-close"
    assert "cost about the same" in found.headline
    assert "oth cost the same in every year" in found.verdict


def test_energy_that_gets_dearer_is_said(told):
    """A coated roof waits longer for its insulation: more energy, less work."""
    cheap = Coating(price_per_m2=5.0, life_gain_y=15.0, renewal_y=20.0, replacement=TORN)
    found = told(TORN, cheap, prices=Prices(electricity_per_kwh=0.4))
    assert re.search(
        r"Energy costs about \$[\d,]+ more with it; roofing work and repairs", found.verdict
    )
    assert re.search(r"\$[\d,]+ more on average", found.alternatives[1].energy_by_phase.sentence)


def test_the_draws_are_told(told):
    found = told(Membrane(), MetalRetrofit(), uncertainty=Uncertainty(draws=400))
    against = found.alternatives[1].spread.against_base
    assert "varied at random 400 times, “Metal retrofit” costs less in" in found.verdict
    assert said(abs(against.net_savings.p10)) in found.verdict
    assert found.answer.chance == against.costs_less


def test_several_alternatives_are_ranked(told):
    found = told(
        Membrane(), MetalRetrofit(name="dear", price_per_m2=500.0), MetalRetrofit(name="cheap")
    )
    assert found.answer.alternative == "cheap"
    lost = -found.alternatives[1].measures.net_savings.value
    assert f"“dear” costs about {said(lost)} more." in found.verdict


def test_never_not_a_number(told):
    """Odd cases stay in words: free everything, one year, a rate of nothing."""
    free = Prices(
        **dict.fromkeys(set(facts_of(Prices)) - {"duties"}, 0.0),
        duties=DutyPrices(**dict.fromkeys(facts_of(DutyPrices), 0.0)),
    )
    nothing = told(
        Membrane(price_per_m2=0.0, repairs_per_m2=0.0),
        MetalRetrofit(price_per_m2=0.0, upkeep_per_m2=0.0, service_per_m2=0.0, finish_per_m2=0.0),
        prices=free,
    )
    short = told(Membrane(), MetalRetrofit(), economics=Economics(study_period_y=1))
    for found in (nothing, short):
        for text in (found.headline, found.verdict):
            assert not re.search(r"\b(nan|inf|None)\b", text, re.IGNORECASE)
            assert text.endswith(".")
    assert "over 1 year." in short.headline


@pytest.mark.parametrize(("letters", "cut"), [(1, False), (39, False), (40, True), (200, True)])
def test_a_headline_cuts_no_name_that_fits_a_paper(told, letters, cut):
    """Names of 40 letters are whole, as in the tables of a paper; longer ones are cut there."""
    name = letters * "x"
    found = told(Membrane(name=name), MetalRetrofit(name=f"B{name}"), economics=Economics(100))
    assert ("…" in found.headline) == cut
    assert (f"“B{name}”" in found.headline) == (not cut)
    assert found.headline.endswith(".")


@pytest.fixture(scope="module")
def paid(told):
    """An alternative by what it has spent so far, of which a part is energy or worth at the end."""
    plain = told(Membrane(), Membrane()).alternatives[0]

    def result(name, so_far, residual=0.0, energy=0.0, taxed=None):
        work = so_far[-1] - residual - energy
        parts = {"Residual value": residual, "Gas": energy, "Roof coverings and panels": work}
        return dataclasses.replace(
            plain,
            name=name,
            events=(),
            first_cost=so_far[0],
            cumulative_present_value=tuple(so_far),
            life_cycle_cost=so_far[-1],
            last_life_ends=None,
            costs=tuple(Category(part, amount, ()) for part, amount in parts.items()),
            after_tax=None if taxed is None else AfterTax((), (), (), *taxed),
        )

    return result


BASE = [0.0, 100.0, 200.0, 300.0, 400.0]
# The state of each course of the costs so far against the base case's, and its payback in words.
COURSES = {
    "made up for in the last year": (
        [250.0, 280.0, 310.0, 340.0, 370.0], "costs-less", 4, "Clearly ahead from year 4."),
    "never": (
        [450.0, 450.0, 450.0, 450.0, 450.0], "costs-more", None,
        "Never pays back within the study period of 4 years."),
    "made up for, then undone": (
        [150.0, 150.0, 150.0, 500.0, 500.0], "costs-more", None,
        "Ahead in year 2 only: a later cost leaves it behind at the end of year 4."),
    "level for two years on the way": (
        [150.0, 150.0, 199.0, 297.0, 330.0], "costs-less", 2,
        "Has cost no more from year 2 on; about level until year 3; clearly ahead from year 4."),
    "level again on the way": (
        [50.0, 50.0, 199.0, 297.0, 330.0], "costs-less", 1,
        "Has cost no more from year 1 on; about level from year 2 to year 3; clearly ahead from "
        "year 4."),
    "level while it is still behind": (
        [150.0, 202.0, 203.0, 297.0, 330.0], "costs-less", 3,
        "About level from year 2 to year 3; has cost no more from year 3 on; clearly ahead from "
        "year 4."),
    "cheaper at all times": (
        [-50.0, 50.0, 150.0, 250.0, 350.0], "costs-less", 0, "Ahead from the first day."),
    "the same but for the last year": (
        [0.0, 100.0, 200.0, 300.0, 350.0], "costs-less", 0,
        "Never costs more; about level until year 3; clearly ahead from year 4."),
    "ahead by less than two per cent": (
        [150.0, 150.0, 199.0, 297.0, 396.0], "too-close", 2,
        "Has cost no more from year 2 on; about level to the end; ahead by less than 2% at the "
        "end."),
    "behind by less than two per cent": (
        [150.0, 150.0, 207.0, 306.0, 405.0], "too-close", None,
        "Never pays back within the study period of 4 years."),
}  # fmt: skip


@pytest.mark.parametrize(("so_far", "state", "year", "words"), COURSES.values(), ids=COURSES)
def test_each_course_of_the_costs_has_true_words(paid, so_far, state, year, words):
    base, own = paid("base", BASE), paid("own", so_far)
    found = payback_against(base, own)
    assert found.year == year
    assert found.sentence == words
    assert answer_headline.answer((base, own), 4).state == state


def test_worth_at_the_end_that_alone_decides_is_said(paid):
    base, own = paid("base", BASE), paid("own", [450.0, 450, 450, 450, 350], residual=-100.0)
    said_so = answer_headline.answer((base, own), 4)
    assert said_so.headline.endswith("but only by what it is worth at the end.")
    ahead = "Clearly ahead from year 4, by what the roof is worth then."
    assert payback_against(base, own).sentence == ahead
    asked = Remark("", (TurningChoice("own", "if torn", -1.0, False, ""),), "it is torn off", "")
    both = answer_headline.answer((base, own), 4, remarks=[asked]).headline
    assert both.endswith("only by what it is worth at the end, unless it is torn off.")
    assert said_so.disagreements == (
        "It costs less only by what it is still worth in year 4: without that it would cost about "
        "$50 more.",
    )
    level = paid("own", [450.0, 450, 450, 450, 350], residual=-45.0)
    said_so = answer_headline.answer((base, level), 4)
    assert said_so.headline.endswith("but only by what it is worth at the end.")
    assert said_so.disagreements[0].endswith(
        "without that it would cost about $5 less, too close to call."
    )


def test_a_base_case_that_wins_only_by_what_it_is_worth(paid):
    results = (paid("base", [*BASE[:4], 250.0], -150.0), paid("own", [200.0, 220, 240, 260, 280]))
    assert "only by what the other is worth" in answer_headline.answer(results, 4).headline
    assert answer_headline.answer(results, 4).disagreements == (
        "It costs more only by what “base” is still worth in year 4: without that it would cost "
        "about $120 less.",
    )


# After-tax life-cycle costs of base and alternative, the state, and what is said of them.
TAXED = {
    "turned round": ((300.0, 350.0), "too-close", "Tax decides: ", "after tax it costs about $50"),
    "about level": ((300.0, 302.0), "costs-less", "“own” costs about $100 less", "about the same"),
    "agrees": ((300.0, 220.0), "costs-less", "“own” costs about $100 less", None),
}


@pytest.mark.parametrize(("after", "state", "head", "words"), TAXED.values(), ids=TAXED)
def test_tax_is_read_together_with_the_rest(paid, after, state, head, words):
    """A saving of 100 before tax."""
    base = paid("base", BASE, taxed=(after[0], None))
    own = paid("own", [250.0, 260, 270, 280, 300], taxed=(after[1], after[0] - after[1]))
    found = answer_headline.answer((base, own), 4)
    assert found.state == state
    assert found.headline.startswith(head)
    assert ("and about the same after tax" in found.headline) == (words == "about the same")
    assert (words is None and not found.disagreements) or words in found.disagreements[0]
    assert ("After income tax it costs about $80 less." in found.explanation) == (words is None)
    assert ("(about $80 after tax)" in found.headline) == (words is None)


def test_a_verdict_that_less_than_four_in_five_draws_bear_out_is_probable(paid, told):
    """As the card shows the draws: 79.6 % are 80 of 100."""
    drawn = told(Membrane(), METAL, uncertainty=Uncertainty(draws=100)).alternatives[1].spread
    for often, probable in ((0.66, True), (0.794, True), (0.796, False), (1.0, False)):
        against = dataclasses.replace(drawn.against_base, costs_less=often)
        spread = dataclasses.replace(drawn, against_base=against)
        own = dataclasses.replace(paid("own", [250.0, 260, 270, 280, 300]), spread=spread)
        found = answer_headline.answer((paid("base", BASE), own), 4)
        assert found.state == "costs-less"
        assert found.headline.startswith(f"“own” {'probably ' * probable}costs about $100 less")
        assert ("fewer than 4 in 5 runs" in found.explanation) == probable


def test_a_headline_names_what_turns_it_and_cuts_no_name(paid):
    """The worst first, the others counted; after tax too."""
    base = paid("B" * 40, BASE, taxed=(300.0, None))
    own = paid("O" * 40, [250.0, 260, 270, 280, 300], taxed=(220.0, 80.0))
    turns = (TurningChoice(own.name, "", -100.0, False, ""),)
    remarks = [
        Remark(
            "", turns, "the building official asks for tear-off and insulation", "no more is asked"
        ),
        Remark(
            "",
            (TurningChoice("another", "", -100.0, False, ""),),
            "it begins later",
            "it begins now",
        ),
        Remark("", turns, "another quotation is taken", "these quotations are taken"),
    ]
    found = answer_headline.answer((base, own), 4, remarks=remarks)
    assert found.headline.endswith(
        "over 4 years (about $80 after tax), unless the building official asks for tear-off and "
        "insulation (1 more reason below)."
    )
    assert f"“{own.name}”" in found.headline
    assert f"“{base.name}”" in found.headline
    assert found.runs_assume == "no more is asked and these quotations are taken"
    only = answer_headline.answer((base, own), 4, remarks=remarks[1:]).headline
    assert only.endswith("unless another quotation is taken.")


def test_tax_choices_that_turn_the_verdict_are_named(paid):
    """A saving of 100 before tax and 60 by the line, with the choices a loss of 30."""
    base = paid("base", BASE, taxed=(300.0, None))
    own = paid("own", [250.0, 260, 270, 280, 300], taxed=(330.0, -30.0, 60.0))
    found = answer_headline.answer((base, own), 4)
    assert found.state == "too-close"
    assert found.disagreements[-1] == (
        "The tax choices decide: with them it costs about $30 more after tax, with all work "
        "written off year by year instead about $60 less. Ask your tax adviser."
    )


def test_interest_that_eats_up_the_saving_is_said(paid):
    """A saving of 100 in cash, and a loan whose payments are never made up for."""
    lent = Financed("loan", 10.0, 90.0, 3.0, 3.0, 60.4, (), (5.0, -25.0), None, None, 0.0, 0.0)
    own = dataclasses.replace(paid("own", [250.0, 260, 270, 280, 300]), financed=lent)
    for financed, too in ((None, ""), (lent, ", paid so too")):
        base = dataclasses.replace(paid("base", BASE), financed=financed)
        assert answer_headline.answer((base, own), 4).disagreements == (
            f"Paid by loan, all payments added up come to about $20 more than for “base”{too}; "
            "interest is about $60. The headline counts no interest, and later dollars for less.",
        )
    made_up = dataclasses.replace(own, financed=dataclasses.replace(lent, ahead_from=3))
    assert not answer_headline.answer((paid("base", BASE), made_up), 4).disagreements


def test_draws_that_say_otherwise_make_it_too_close(told):
    """Point result and draws of one case, then the same draws beside another point result."""
    found = told(Membrane(), MetalRetrofit(), uncertainty=Uncertainty(draws=300))
    base, own = found.alternatives
    dear = dataclasses.replace(base, life_cycle_cost=own.life_cycle_cost * 0.9)
    sure = own.spread.against_base.costs_less
    spread = dataclasses.replace(
        own.spread, against_base=dataclasses.replace(own.spread.against_base, costs_less=0.55)
    )
    answer = answer_headline.answer((dear, dataclasses.replace(own, spread=spread)), 50)
    assert answer.state == "too-close"
    assert "costs less than “New membrane” in 55% of random runs;" in answer.headline
    middle = said(abs(own.spread.against_base.net_savings.p50))
    assert f"as entered, but about {middle}" in answer.disagreements[0]
    unknown = answer_headline.answer(
        (dear, dataclasses.replace(own, spread=spread)), 50, "", {"Rot": ""}
    )
    assert "the runs also count the cost of what is not known" in unknown.disagreements[0]
    assert sure != 0.55
    level = dataclasses.replace(base, life_cycle_cost=own.life_cycle_cost * 1.01)
    leans = f"over 50 years, but “{own.name}” costs {{}} in 94% of random runs."
    ends = {0.94: leans.format("less"), 0.06: leans.format("more"), 0.55: "same over 50 years."}
    for often, end in ends.items():
        against = dataclasses.replace(own.spread.against_base, costs_less=often)
        leaning = dataclasses.replace(
            own, spread=dataclasses.replace(own.spread, against_base=against)
        )
        assert answer_headline.answer((level, leaning), 50).headline.endswith(end)


def test_energy_and_work_are_told_where_both_cost_about_the_same(paid):
    """The base case is worth 20 at the end, without which the alternative would win by 19."""
    own = paid("own", [450.0, 450, 450, 450, 401], energy=70.0)
    found = answer_headline.answer((paid("base", [*BASE[:4], 400.0], -20.0, energy=100.0), own), 4)
    assert "cost about the same" in found.headline
    assert "It saves about $30 of energy, but its work costs about $31 more." in found.explanation


def test_a_large_residual_value_within_a_saving_is_told(paid):
    own = paid("own", [250.0, 250, 250, 250, 200], residual=-60.0, energy=50.0)
    found = answer_headline.answer((paid("base", BASE, energy=100.0), own), 4).explanation
    assert "Of the saving, 25% is energy and 75% is lower cost of roofing work" in found
    worth = "is the roof’s higher worth at the end, not money you get unless you sell."
    assert f"about $60 of that {worth}" in found
    nearly = paid("own", [250.0, 250, 250, 250, 200], residual=-160.0, energy=100.0)
    found = answer_headline.answer((paid("base", BASE, energy=100.0), nearly), 4)
    assert found.reasons[0] == f"Nearly all of the saving, about $160 of $200, {worth}"
    assert found.explanation.count("higher worth at the end") == 1


# Energy and work saved, and how they read where not both are savings.
PARTS = {
    (30.0, -60.0): "It saves about $30 of energy, but its work costs about $60 more.",
    (30.0, 0.0): "It saves about $30 of energy.",
    (0.0, -20.0): "Energy costs the same; roofing work and repairs cost about $20 more.",
    (-30.0, -20.0): "Energy costs about $30 more with it; roofing work and repairs cost about $20 "
    "more.",
    (-30.0, 80.0): "Energy costs about $30 more with it; roofing work and repairs cost about $80 "
    "less.",
    (-30.0, 0.0): "Energy costs about $30 more with it.",
    (1.0, 0.9): "It saves about $1 of energy and $1 of roofing work.",
}


@pytest.mark.parametrize(("saved", "words"), PARTS.items())
def test_energy_and_work_are_told_apart(paid, saved, words):
    energy, work = saved
    own = paid("own", [*BASE[:4], 400 - energy - work], energy=100 - energy)
    assert words in answer_headline.answer((paid("base", BASE, energy=100.0), own), 4).explanation


def test_a_life_that_ends_with_the_study_period_is_named(paid):
    own = dataclasses.replace(paid("own", [50.0, 60, 70, 80, 90]), last_life_ends=4)
    said_so = answer_headline.answer((paid("base", BASE), own), 4).explanation
    assert "The next roof of “own” comes at about year 4, when the years counted end" in said_so


def test_nothing_is_said_of_inputs_that_were_not_looked_at(paid):
    found = answer_headline.answer((paid("base", BASE), paid("own", [50.0, 60, 70, 80, 90])), 4)
    assert "turn" not in found.explanation


def test_a_break_even_is_told_without_a_likely_range(told):
    """With every range 0 nothing is likely; the nearest figure is named up to a quarter away."""
    sure = {
        f.name: 0.0
        for f in dataclasses.fields(Uncertainty)
        if f.name.endswith(("_spread", "_range", "_range_y"))
    }
    far = told(Membrane(), MetalRetrofit(), uncertainty=Uncertainty(**sure))
    assert any(each.value for each in far.alternatives[1].break_even)
    assert "The nearest figure is" not in far.verdict
    near = told(Membrane(price_per_m2=130.0), MetalRetrofit(), uncertainty=Uncertainty(**sure))
    assert "The nearest figure is" in near.verdict


def test_all_and_none_of_the_draws_are_told_as_such(told):
    dear = told(Membrane(), MetalRetrofit(price_per_m2=900.0), uncertainty=Uncertainty(draws=50))
    assert "costs less in none of these runs;" in dear.verdict
    cheap = told(
        Membrane(start="now"), MetalRetrofit(price_per_m2=9.0), uncertainty=Uncertainty(draws=50)
    )
    assert "costs less in every one of these runs;" in cheap.verdict


def test_names_are_told_apart_and_read_on_one_line(told):
    """Twice none at all, one over two lines, and one that looks like a number."""
    found = told(
        Membrane(name="Roof"), MetalRetrofit(), MetalRetrofit(name=" \n"),
        Coating(name="White\ncoat"), Membrane(name="Roof (2)", start="now"),
    )  # fmt: skip
    names = [each.name for each in found.alternatives]
    assert names == ["Roof", "Metal retrofit", "Metal retrofit (2)", "White coat", "Roof (2)"]
    assert "\n" not in found.headline + found.verdict
    stated = Membrane(name="Metal retrofit", origins={"name": "entered"})
    assert told(stated, MetalRetrofit()).notes[-1].startswith('"Metal retrofit (2)" was sent')


def _year(value):
    return Measure(value, None if value is not None else "in most draws never", "")


# Percentiles 10 and 90 of the years, chance; by the rule: most never, one in ten never, all do.
@pytest.mark.parametrize(("low", "high", "share", "words"), [
    (33.0, None, 0.19, "81 of 100 random runs never pay back"),
    (None, None, 0.07, "93 of 100 random runs never pay back"),
    (33.0, None, 0.45, "55 of 100 random runs never pay back"),
    (13.0, None, 0.55, "likely: year 13 or later, in 45 of 100 random runs never"),
    (9.0, 17.0, 0.97, "likely: year 9 to 17"),
    (8.0, 38.0, 0.95, "likely: year 8 to 38"),
    (8.0, 39.0, 0.95, "could be any year from 8 to 39"),
    (2.0, None, 0.85, "could be any year from 2 on, in 15 of 100 runs never"),
    (9.0, 9.0, 1.0, "likely: year 9"),
])  # fmt: skip
def test_no_year_is_likely_where_most_runs_never_pay_back(low, high, share, words):
    zero = Percentiles(0.0, 0.0, 0.0, 0.0, 0.0)
    draws = Chances(zero, share, 0.0, (), 0.0, _year(low), _year(low), _year(high), (), ())
    found = likely_years(draws, 40)
    assert found[2] == words
    assert (found[0] is None) == (not words.startswith("likely"))


def test_after_a_loss_the_random_runs_keep_their_name(paid):
    zero = Percentiles(0.0, 0.0, 0.0, 0.0, 0.0)
    draws = Chances(zero, 0.19, 0.0, (), 0.0, _year(33.0), _year(33.0), _year(None), (), ())
    own = dataclasses.replace(
        paid("own", [1000.0, 1010, 1020, 1030, 1040]),
        spread=types.SimpleNamespace(against_base=draws),
    )
    sentence = payback_against(paid("base", BASE), own).sentence
    assert sentence.startswith("Never pays back")
    assert sentence.endswith("; 81 of 100 random runs never pay back.")
