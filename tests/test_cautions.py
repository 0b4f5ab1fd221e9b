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
from lcc.caution_texts import DANGERS, GROUPS, RoofWork, dangers
from lcc.comparison import compare
from lcc.quantities import quantities

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
    return cautions.roof_work(case, compare(case, explore=False).alternatives)


# Mild work: two sound recovers within a short study on a dry, bare roof that nobody is under.
SHED = Building(use="warehouse-unconditioned", ventilation_m3_s_m2=0.0)
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
    ),
    base_case=SHEET,
    alternatives=(replace(SHEET, covering="epdm-white"),),
    economics=Economics(study_period_y=5),
)
WOOD_DECK = (*MILD.roof.layers[:2], Layer(material="plywood"))
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
    "hot": with_choice(replace(SHEET, covering="modified-bitumen-cap")),
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
    "hot_over_wood": replace(
        with_roof(layers=WOOD_DECK),
        alternatives=(replace(SHEET, covering="modified-bitumen-cap"),),
    ),
    "skylights_under_metal": replace(with_roof(skylights=4), alternatives=(RETROFIT,)),
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


@pytest.mark.parametrize("danger", DANGERS, ids=lambda one: one.text[:40])
def test_a_danger_is_named_with_its_work_and_only_with_it(danger):
    severe = RoofWork(**{field.name: True for field in fields(RoofWork)})
    assert danger in dangers(severe)
    assert (danger in dangers(RoofWork())) == (danger.when == "")


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
    ):
        assert words in said, words
    for words in (
        "concealed space",
        "ballast weighs",
        "Torches",
        "Solar panels",
        "Before a rooftop unit",
    ):
        assert words not in said, words


def test_a_metal_roof_over_a_wood_deck_names_the_concealed_space_and_its_draft_stops():
    said = told(replace(with_choice(RETROFIT), roof=replace(MILD.roof, layers=WOOD_DECK)))
    for words in ("concealed space", "draft-stopping, sprinklers", "3,000 ft²", "None may end in"):
        assert words in said, words
    assert "3,000 ft²" not in told(with_choice(RETROFIT))


def test_cautions_stand_in_their_groups():
    """The groups tell how many of the cautions, in their order, stand under each heading."""
    answer = compare(with_choice(RETROFIT), explore=False)
    titles = [one.title for one in answer.caution_groups]
    assert titles == [title for title in GROUPS if title in titles]
    assert sum(one.count for one in answer.caution_groups) == len(answer.cautions)
    assert answer.caution_groups[0].count >= 6
    assert answer.cautions[0].startswith("Work at height")


def test_a_survey_alone_names_the_dangers_of_a_metal_roof():
    """In the same words as a comparison."""
    said = quantities(Framing((Rectangle(24.0, 12.0),), rooftop_units=1)).cautions
    metal = {one.text for one in DANGERS if one.when in ("", "metal", "opened", "hot", "units")}
    assert metal <= set(said)
    assert not any("partly wet" in one for one in said)


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
        (Economics(rate_kind="nominal", discount_rate=0.05), True),
        (Economics(rate_kind="nominal", discount_rate=0.05, inflation=0.02), False),
        (Economics(), False),
    ],
)
def test_a_nominal_rate_without_inflation_is_told(economics, said):
    assert ("counts as a real rate" in told(replace(CASE, economics=economics))) == said
