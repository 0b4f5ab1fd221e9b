"""Cautions fit the case: they stand where they apply, and only there."""

from dataclasses import fields, replace

import pytest

from lcc import cautions
from lcc.case import (
    Building,
    Case,
    Cavity,
    Coating,
    Economics,
    Framing,
    Layer,
    Membrane,
    MetalRetrofit,
    Rectangle,
    Roof,
    Site,
)
from lcc.case.fields import Origin
from lcc.case.other_work import OtherWork
from lcc.case.wind_and_snow import WindAndSnow
from lcc.caution_ranking import ranked
from lcc.caution_texts import CLIMB, DANGERS, GROUPS, RoofWork, dangers
from lcc.comparison import compare
from lcc.quantities import quantities
from lcc.stated_case import completed

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


def told_work(case):
    return cautions.roof_work(completed(case), compare(case, explore=False).alternatives)


# Mild work: two sound recovers within a short study on a dry, bare roof that nobody is under.
SHED = Building(use="warehouse-unconditioned", ventilation_m3_s_m2=0.0, overhead="open-deck")
SHEET = Membrane(covering="epdm-black", start="now", raise_insulation=False)
MILD = Case(
    site=Site(climate="san-francisco-ca"),
    building=SHED,
    roof=Roof(
        area_m2=1500.0,
        covering="epdm-black",
        layers=(Layer(material="single-ply-membrane"), BOARD, Layer(material="steel-deck")),
        wet_fraction=0.0,
        ponding="none",
        asbestos="none-found",
        rooftop_units=0,
        skylights=0,
        solar_panels=False,
        lightning_protection=False,
    ),
    base_case=SHEET,
    alternatives=(replace(SHEET, covering="epdm-white"),),
    economics=Economics(study_period_y=5),
)
WOOD_DECK = (*MILD.roof.layers[:2], Layer(material="plywood"))
COLD = Building(use="warehouse-heated", heating_setpoint_c=4.0, cooling_setpoint_c=8.0,
                conditioning="heated-and-cooled", overhead="open-deck")  # fmt: skip
GYPSUM = (*MILD.roof.layers[:2], Layer(material="gypsum-deck"))
WET_BOARD = (MILD.roof.layers[0], replace(BOARD, moisture=0.1), MILD.roof.layers[2])


def with_roof(**changes):
    return replace(MILD, roof=replace(MILD.roof, **changes))


def with_choice(choice):
    return replace(MILD, alternatives=(choice,))


SEVERE = {
    "metal": with_choice(RETROFIT),
    "tear_off": with_choice(replace(SHEET, method="tear-off")),
    "membrane": MILD,
    "recover": MILD,
    "ballast": with_choice(replace(SHEET, covering="epdm-ballasted")),
    "insulation": with_choice(RETROFIT),
    "foam": with_choice(replace(SHEET, covering="spray-foam")),
    "asbestos_untested": with_roof(asbestos="not-tested"),
    "asbestos_found": with_roof(asbestos="found"),
    "ponding": with_roof(ponding="stands-48-hours"),
    "coal_tar": with_roof(covering="coal-tar-gravel"),
    "wet": with_roof(layers=WET_BOARD),
    "shut_in_wet": replace(with_roof(wet_fraction=0.1), alternatives=(Coating(),)),
    "wood_deck": with_roof(layers=WOOD_DECK),
    "units": with_roof(rooftop_units=2),
    "solar_panels": with_roof(solar_panels=True),
    "lightning_protection": with_roof(lightning_protection=True),
    "too_flat": with_choice(replace(RETROFIT, slope=0.1 / 12)),
    "wet_unknown": with_roof(wet_fraction=None),
    "ponding_unknown": with_roof(ponding="not-known"),
    "care": replace(MILD, building=Building(use="hospital-ward")),
    "patients": replace(MILD, building=Building(use="health-clinic")),
    "ceiling": replace(MILD, building=replace(SHED, overhead="suspended-ceiling")),
    "cold": replace(MILD, building=COLD),
    "two_parts": with_choice(replace(SHEET, share_first=0.5, rest_after_y=3.0)),
    "burns": with_roof(layers=WOOD_DECK),
    "skylights_under_metal": replace(with_roof(skylights=4), alternatives=(RETROFIT,)),
    "weak_deck": with_roof(layers=GYPSUM),
    "deck_unknown": with_roof(layers=(Layer("polyiso-board", thickness_m=0.05),)),
    "public": replace(MILD, building=Building(use="grocery")),
    "bitumen_unknown": with_roof(covering="built-up-gravel"),
    "stone_off": with_roof(covering="epdm-ballasted"),
}
NO_RECOVER = replace(SHEET, method="tear-off")


def test_every_kind_of_work_has_a_case_of_its_own():
    assert set(SEVERE) == {field.name for field in fields(RoofWork)}


@pytest.mark.parametrize("kind", SEVERE)
def test_a_kind_of_work_is_seen_in_its_case_and_not_in_the_mild_one(kind):
    mild = MILD
    if kind == "recover":
        mild = replace(MILD, base_case=NO_RECOVER, alternatives=(NO_RECOVER,))
    if kind == "membrane":
        mild = replace(with_choice(RETROFIT), base_case=replace(RETROFIT, name="Other metal"))
    assert getattr(told_work(SEVERE[kind]), kind)
    assert not getattr(told_work(mild), kind)


# Cautions that are printed only where none of these is.
WITHOUT = {"asbestos_none_found": ("asbestos_found", "asbestos_untested")}


@pytest.mark.parametrize("danger", DANGERS, ids=lambda one: one.text[:40])
def test_a_danger_is_named_with_its_work_and_only_with_it(danger):
    severe = RoofWork(**{field.name: True for field in fields(RoofWork)})
    if danger.when in WITHOUT:
        assert danger not in dangers(severe)
        severe = replace(severe, **dict.fromkeys(WITHOUT[danger.when], False))
    assert danger in dangers(severe)
    assert (danger in dangers(RoofWork())) == (danger.when in {"", *WITHOUT})


@pytest.mark.parametrize("wet", [None, 0.4])
def test_a_deck_that_fails_when_wet_is_named_first_and_beside_the_headline(wet):
    """Poured gypsum entered as a layer or found by a survey, and how much of the roof is wet."""
    layered = replace(MILD.roof, layers=GYPSUM, wet_fraction=wet)
    told_of = "nobody has surveyed it" if wet is None else "40% of the roof is wet"
    for case in (
        replace(MILD, roof=layered),
        replace(with_survey(OtherWork(deck_kind="gypsum")), roof=layered),
    ):
        answer = compare(case, explore=False)
        named = answer.cautions[0]
        assert named.startswith("Nobody walks on this deck")
        assert f"it is poured gypsum, and {told_of}" in named
        assert named in answer.verdict
        assert "lightweight fill lose" not in " ".join(answer.cautions)
    assert "Nobody walks on this deck" not in told(MILD)
    assert "lightweight fill lose" not in told(MILD)  # its deck is steel, as entered
    assert "lightweight fill lose" in told(SEVERE["deck_unknown"])


def test_old_drains_stay_open_until_the_new_gutters_carry_the_rain():
    """A survey closes old drains: no sentence asks to keep them open for good."""
    (drains,) = (one.text for one in DANGERS if one.text.startswith("Keep every drain"))
    assert "stays open until the new gutters carry the rain away" in drains
    assert "after the work" not in drains


def test_a_risk_category_that_nobody_entered_is_asked_about_under_a_school():
    """A school is III above 250 people; what is stated, or has no crowd below, is not asked."""
    school, office = (replace(CASE, building=Building(use=use)) for use in ("school", "office"))
    wind = WindAndSnow(basic_wind_m_s=51.4, roof_height_m=6.0)
    entered = replace(wind, origins={"risk_category": ("II", Origin("entered", "the case"))})
    for case, site, asked in (
        (school, wind, True), (school, entered, False), (school, WindAndSnow(), False),
        (school, replace(wind, risk_category="III"), False), (office, wind, False),
    ):  # fmt: skip
        framed = replace(RETROFIT, framing=Framing((Rectangle(50.0, 30.0),), wind_and_snow=site))
        text = told(replace(case, alternatives=(framed,)))
        assert ("risk category II, which nobody has entered" in text) == asked


@pytest.mark.parametrize(
    ("work", "heavier"),
    [
        (RoofWork(metal=True), True),
        (RoofWork(recover=True), True),
        (RoofWork(tear_off=True), False),
    ],
)
def test_added_weight_is_checked_for_earthquakes(work, heavier):
    assert any("earthquake" in one.text for one in dangers(work)) == heavier


def test_standing_water_is_told_before_anyone_climbs_up():
    assert {one.group for one in DANGERS if one.when.startswith("ponding")} == {CLIMB}


def test_skylights_that_were_found_put_their_caution_first():
    said = [one.text for one in DANGERS if not one.when]
    (first,) = (one.text for one in DANGERS if one.finding)
    assert said.index(first) > 0
    for skylights, expected in ((0, (said, 0)), (3, ([first], 1))):
        case = replace(CASE, roof=replace(CASE.roof, skylights=skylights))
        order, count = ranked(case, said)
        assert (order[: len(expected[0])], count) == expected


def test_a_ceiling_that_nobody_has_stated_may_be_there_and_may_be_an_attic():
    """A shed's use supposes an open deck; what counts is who has looked up."""
    unset = replace(MILD, building=replace(SHED, overhead=None))
    assert completed(unset).building.overhead == "open-deck"
    for case, may_be in ((unset, True), (MILD, False)):
        work = told_work(case)
        assert (work.ceiling, work.burns) == (may_be, may_be)


def test_asbestos_that_was_found_is_no_longer_asked_about():
    may_hold = "may hold asbestos"
    assert may_hold not in told(with_roof(asbestos="found"))
    assert may_hold in told(with_roof(asbestos="not-tested"))
    clear = told(with_roof(asbestos="none-found"))
    assert may_hold not in clear
    assert "was tested for asbestos and none was found" in clear
    found = told_work(replace(with_survey(OtherWork(asbestos="found")),
                              roof=replace(MILD.roof, asbestos="not-tested")))  # fmt: skip
    assert (found.asbestos_found, found.asbestos_untested) == (True, False)


@pytest.mark.parametrize(
    ("covering", "layer", "unknown"),
    [("built-up-gravel", "built-up-roofing", True), ("epdm-black", "built-up-roofing", True),
     ("built-up-smooth", "built-up-roofing", False), ("coal-tar-gravel", "built-up-roofing", False),
     ("epdm-black", "single-ply-membrane", False)],
)  # fmt: skip
def test_old_felts_ask_which_bitumen_holds_them(covering, layer, unknown):
    layers = (Layer(material=layer), *MILD.roof.layers[1:])
    work = told_work(with_roof(covering=covering, layers=layers))
    assert work.bitumen_unknown == unknown


def test_the_mildest_work_still_names_falls_asbestos_trades_fire_structure_and_law():
    said = told(MILD)
    for words in (
        "fall protection",
        "skylight",
        "asbestos",
        "licensed trades",
        "weak under",
        "works on a roof alone",
        "After dark",
        "silica",
        "lead",
        "antenna",
        "enter by air intakes",
        "exits",
        "structural engineer",
        "fire class",
        "authority having jurisdiction",
        "Licensed engineers, architects and contractors",
        "approval",
        "hot-work permit",
        "Lock ladders",
        "N95",
        "42 in",
        "hung under",
        "LP cylinders",
    ):
        assert words in said, words
    for words in (
        "concealed space",
        "ballast weighs",
        "Look for what is not stated",
        "Children",
        "Solar panels",
        "Before a rooftop unit",
    ):
        assert words not in said, words


def test_a_metal_roof_over_a_wood_deck_names_the_concealed_space_and_its_draft_stops():
    said = told(replace(with_choice(RETROFIT), roof=replace(MILD.roof, layers=WOOD_DECK)))
    for words in ("concealed space", "draft-stopping, sprinklers", "3,000 ft²", "None may end in"):
        assert words in said, words
    assert "3,000 ft²" not in told(with_choice(RETROFIT))


def test_the_bidders_of_a_metal_roof_over_a_wood_deck_are_asked_for_its_draft_stops():
    wood = replace(with_choice(RETROFIT), roof=replace(MILD.roof, layers=WOOD_DECK))
    asked = [
        " ".join(compare(one, explore=False).questions) for one in (wood, with_choice(RETROFIT))
    ]
    assert ["draft-stops in the space under the metal roof" in one for one in asked] == [
        True,
        False,
    ]


def test_cautions_stand_in_their_groups():
    """The groups tell how many of the cautions, in their order, stand under each heading."""
    answer = compare(with_choice(RETROFIT), explore=False)
    titles = [one.title for one in answer.caution_groups]
    assert titles == [title for title in GROUPS if title in titles]
    assert sum(one.count for one in answer.caution_groups) == len(answer.cautions)
    assert answer.caution_groups[0].count >= 6
    assert answer.cautions[0].startswith("Work at height")


def test_a_survey_alone_names_the_dangers_of_a_metal_roof_and_takes_the_unknown_for_the_worst():
    """In the same words as a comparison."""
    said = quantities(Framing((Rectangle(24.0, 12.0),))).cautions
    never = ("foam", "asbestos_found", "ponding", "membrane", "recover", "ballast", "insulation",
             "too_flat", "two_parts", "coal_tar", "stone_off", "asbestos_none_found")  # fmt: skip
    assert {one.text for one in DANGERS if one.when not in never} <= set(said)
    assert not {one.text for one in DANGERS if one.when in never} & set(said)


def test_a_survey_alone_is_quiet_on_what_it_has_looked_for():
    work = OtherWork(
        deck_kind="steel", asbestos="none-found", solar_panels="no", lightning_protection="no",
        skylights_carried=0, skylights_covered=0,
    )  # fmt: skip
    framing = Framing((Rectangle(24.0, 12.0),), rooftop_units=0, wet_area_m2=0.0, other_work=work)
    looked = ("asbestos_untested", "metal_over_wood", "solar_panels", "lightning_protection",
              "units", "skylights_under_metal", "tear_off", "wet", "wet_unknown",
              "shut_in_wet")  # fmt: skip
    said = set(quantities(framing).cautions)
    assert not {one.text for one in DANGERS if one.when in looked} & said


FOUND = {
    "metal_over_wood": OtherWork(deck_kind="wood"),
    "burns": OtherWork(deck_kind="wood"),
    "asbestos_found": OtherWork(asbestos="found"),
    "solar_panels": OtherWork(solar_panels="yes"),
    "lightning_protection": OtherWork(lightning_protection="yes"),
    "skylights_under_metal": OtherWork(skylights_covered=5),
}


def with_survey(work=None, **found):
    work = work or OtherWork()
    framing = Framing((Rectangle(50.0, 30.0),), other_work=work, **found)
    return with_choice(replace(RETROFIT, framing=framing))


@pytest.mark.parametrize("kind", FOUND)
def test_what_a_survey_finds_is_named_by_the_comparison_too(kind):
    """Against the roof as entered: steel deck, no asbestos, nothing on it; so it is flagged."""
    text = {one.text for one in DANGERS if one.when == kind}
    answer = compare(with_survey(FOUND[kind]), explore=False)
    assert text <= set(answer.cautions)
    assert any("do not agree on the" in one for one in answer.cautions)
    plain = compare(with_survey(), explore=False)
    assert not text & set(plain.cautions)
    assert not any("do not agree on the" in one for one in plain.cautions)


@pytest.mark.parametrize(
    ("kinds", "found"),
    [(("units",), {"rooftop_units": 3}),
     (("wet", "shut_in_wet", "tear_off"), {"wet_area_m2": 100.0})],
)  # fmt: skip
def test_units_and_wet_area_of_a_survey_are_named_by_the_comparison_too(kinds, found):
    for kind in kinds:
        assert getattr(told_work(with_survey(**found)), kind), kind
        assert not getattr(told_work(with_survey()), kind), kind


@pytest.mark.parametrize("kind", ["units", "skylights_under_metal", "solar_panels",
                                  "lightning_protection"])  # fmt: skip
def test_what_nobody_has_stated_may_be_there(kind):
    """A roof of the same figures whose file leaves them out."""
    bare = Roof(area_m2=1500.0, covering="epdm-black", layers=MILD.roof.layers)
    unstated = replace(with_choice(RETROFIT), roof=bare)
    assert getattr(told_work(unstated), kind)
    assert not getattr(told_work(with_choice(RETROFIT)), kind)
    names = "rooftop units, skylights, solar panels, lightning protection"
    assert f"not stated of this roof: {names}." in told(unstated)
    assert "not stated of this roof" not in told(with_choice(RETROFIT))
    work = OtherWork(solar_panels="no", lightning_protection="no", skylights_covered=0)
    framing = Framing((Rectangle(50.0, 30.0),), other_work=work, rooftop_units=0)
    seen = replace(unstated, alternatives=(replace(RETROFIT, framing=framing),))
    assert "not stated of this roof" not in told(seen)


BURNING = {
    "foam under metal": with_choice(
        replace(RETROFIT, layers=(Layer(material="eps-board", thickness_m=0.1),))
    ),
    "old foam": with_roof(layers=(Layer(material="spray-polyurethane-foam"), WOOD_DECK[1],
                                  MILD.roof.layers[2])),
    "a covering of foam": with_roof(covering="spray-foam"),
    "polyiso": with_roof(layers=(Layer(material="polyiso-board", thickness_m=0.05),
                                 MILD.roof.layers[2])),
    "a deck not known": with_roof(layers=MILD.roof.layers[:2]),
    "a plain resistance": with_roof(layers=(*MILD.roof.layers, Layer(resistance_m2k_w=1.0))),
    "foam boards laid at a tear-off": with_choice(
        replace(
            SHEET, method="tear-off", raise_insulation=True, insulation_target_m2k_w=4.0
        )
    ),
    "an attic": replace(MILD, building=replace(SHED, overhead="attic")),
}  # fmt: skip


@pytest.mark.parametrize("case", BURNING.values(), ids=BURNING)
def test_what_burns_unseen_is_named(case):
    assert told_work(case).burns
    assert not told_work(with_choice(RETROFIT)).burns


def test_coal_tar_under_the_top_covering_is_named():
    two = with_roof(coverings=2, covering_below="coal-tar-gravel")
    assert told_work(two).coal_tar
    assert not told_work(with_roof(coverings=2, covering_below="built-up-gravel")).coal_tar


def test_water_that_nobody_has_looked_for_stays_in_too():
    unknown = with_roof(wet_fraction=None)
    assert told_work(unknown).shut_in_wet
    off = replace(unknown, base_case=NO_RECOVER, alternatives=(NO_RECOVER,))
    assert not told_work(off).shut_in_wet


@pytest.mark.parametrize(
    ("use", "care", "patients", "public"),
    [("gymnasium", True, False, False), ("hotel", True, False, False),
     ("assembly", True, False, False), ("worship", True, False, False),
     ("cold-store", False, False, False), ("library", True, False, False),
     ("school", True, False, False), ("hospital-ward", True, True, False),
     ("office", False, False, True), ("retail", False, False, True),
     ("restaurant", False, False, True)],
)  # fmt: skip
def test_people_below_are_named(use, care, patients, public):
    work = told_work(replace(MILD, building=Building(use=use)))
    assert (work.care, work.patients, work.public) == (care, patients, public)


def test_a_cold_store_is_stated_by_its_use():
    """A cold store has its own cautions and energy note; a warehouse has neither."""
    store, shed = (replace(MILD, building=Building(use=use)) for use in ("cold-store", "office"))
    assert told_work(store).cold
    assert not told_work(shed).cold
    assert [told(case).count("cold store") for case in (store, shed)] == [3, 0]


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
    assert "1507.4.2" in told(with_retrofit(slope=0.1 / 12))
    assert "1507.4.2" not in told(CASE)


@pytest.mark.parametrize(
    ("economics", "said"),
    [
        (Economics(rate_kind="nominal", discount_rate=0.05, inflation=0.0), True),
        (Economics(rate_kind="nominal", discount_rate=0.05), False),
        (Economics(rate_kind="nominal", discount_rate=0.05, inflation=0.02), False),
        (Economics(), False),
    ],
)
def test_a_nominal_rate_with_no_inflation_in_it_is_told(economics, said):
    assert ("counts as a real rate" in told(replace(CASE, economics=economics))) == said
