"""Every field of the roof, the alternatives and the duties' prices changes an answer."""

import dataclasses
import types

import pytest

from lcc.case import (
    Case,
    Cavity,
    Coating,
    DutyPrices,
    Economics,
    Framing,
    LaterMembrane,
    Layer,
    Membrane,
    MetalRetrofit,
    Prices,
    Quotation,
    Rectangle,
    Roof,
    Site,
)
from lcc.case.fields import facts_of
from lcc.comparison import compare

BIDS = (Quotation("Anders", 80.0), Quotation("Best", 90.0))
# What is asked of a field: what must be so for it to matter, and another value of its own.
ROOF = {
    "area_m2": ({}, 2500.0),
    "covering": ({}, "modified-bitumen-cap"),
    "age_y": ({}, 9.0),
    "remaining_life_y": ({}, 2.0),
    "coverings": ({}, 2),
    "covering_below": ({"coverings": 2}, "built-up-gravel"),
    "wet_fraction": ({}, 0.1),
    "leaks": ({}, 3.0),
    "wet_area_m2": ({"wet_fraction": None}, 400.0),
    "asbestos": ({}, "found"),
    "deck_fall": ({"ponding": "not-known"}, 0.03),
    "ponding": ({}, "stands-48-hours"),
    "rooftop_units": ({}, 3),
    "solar_panels": ({}, True),
    "lightning_protection": ({}, True),
    "units_on": ({"rooftop_units": 3, "flashing_height_m": 0.5}, "sleepers"),
    "flashing_height_m": ({"rooftop_units": 3}, 0.2),
    "skylights": ({}, 2),
    "penetrations": ({}, 4),
    "layers": ({}, (Layer("built-up-roofing"), Layer("steel-deck"))),
    "solar_reflectance": ({}, 0.5),
    "thermal_emittance": ({}, 0.5),
    "repairs_per_m2": ({}, 2.0),
    "repairs_growth": ({}, 0.02),
    "leak_damage_per_m2": ({}, 2.0),
}
LATER = {
    "name": ({}, "Another"),
    "covering": ({}, "tpo-white"),
    "method": ({}, "tear-off"),
    "service_life_y": ({}, 13.0),
    "recover_life_ratio": ({"method": "recover-where-allowed"}, 0.6),
    "price_per_m2": ({}, 55.0),
    "price_includes": ({"price_per_m2": 300.0}, ("laying", "warranty")),
    "solar_reflectance": ({}, 0.5),
    "thermal_emittance": ({}, 0.5),
    "raise_insulation": ({"method": "tear-off"}, False),
    "insulation_target_m2k_w": ({"method": "tear-off"}, 6.0),
    "recover_board_m2k_w": ({"method": "recover-where-allowed"}, 1.0),
    "tapered": ({}, True),
    "repairs_per_m2": ({}, 1.0),
    "repairs_growth": ({}, 0.02),
    "grant": ({}, 5000.0),
    "insurance_premium": ({}, 500.0),
}
PHASED = {
    "wait_y": ({}, 4.0),
    "share_first": ({"share_first": 0.5, "rest_after_y": 25.0}, 0.7),
    "rest_after_y": ({"share_first": 0.5, "rest_after_y": 25.0}, 29.0),
    "quotations": ({"quotations": BIDS}, BIDS[1:]),
    "quotation_taken": ({"quotations": BIDS}, "Best"),
}
OWN = {"grant": ({}, 5000.0), "insurance_premium": ({}, 500.0)}
FACE = {name: LATER[name] for name in ("name", "solar_reflectance", "thermal_emittance")}
ALTERNATIVES = {
    Membrane: LATER | PHASED | {"start": ({}, "now")},
    LaterMembrane: LATER,
    Coating: FACE
    | OWN
    | {
        "covering": ({}, "aluminium-coating"),
        "price_per_m2": ({}, 20.0),
        "price_includes": LATER["price_includes"],
        "renewal_y": ({}, 4.0),
        "life_gain_y": ({}, 9.0),
        "replacement": ({}, LaterMembrane(covering="pvc-white")),
        "quotations": PHASED["quotations"],
        "quotation_taken": PHASED["quotation_taken"],
    },
    MetalRetrofit: FACE
    | OWN
    | PHASED
    | {
        "start": ({}, "end-of-life"),
        "price_per_m2": ({}, 150.0),
        "price_includes": LATER["price_includes"],
        "panel": ({}, "painted-dark"),
        "layers": ({}, (Layer("glass-fibre-blanket", thickness_m=0.1),)),
        "cavity": ({}, Cavity(mean_height_m=2.0)),
        "framing": ({}, Framing((Rectangle(50.0, 40.0),))),
        "slope": ({}, 0.1),
        "service_life_y": ({}, 25.0),
        "renewal_share": ({}, 0.9),
        "wet_insulation": ({}, "left"),
        "repairs_per_m2": ({}, 1.0),
        "repairs_growth": ({}, 0.2),
        "upkeep_per_m2": ({}, 1.0),
        "service_interval_y": ({}, 8.0),
        "service_per_m2": ({}, 9.0),
        "finish_interval_y": ({}, 20.0),
        "finish_per_m2": ({}, 30.0),
    },
}
CASES = [(cls, name) for cls, table in ALTERNATIVES.items() for name in table]


@pytest.fixture(scope="module")
def answer(plain_energy):
    """Compare with an energy that also follows the face, the slope and the cavity of a roof."""
    zone = types.SimpleNamespace(zone="3A", name="a plain place")

    def energy(climate, building, area_m2, assembly, prices, terrain="suburban"):
        year = plain_energy(climate, building, area_m2, assembly, prices, terrain)
        cavity = assembly.cavity.mean_height_m if assembly.cavity else 0.0
        face = 3 * assembly.solar_reflectance + 2 * assembly.thermal_emittance
        more = area_m2 * (face + assembly.slope + 0.01 * cavity) / 100
        return dataclasses.replace(year, electricity_cost=year.electricity_cost + more)

    def compared(roof, base, *others, duties=None, explore=False):
        prices = Prices(duties=duties or DutyPrices())
        case = Case(Site(climate="tulsa-ok"), roof, prices=prices, base_case=base,
                    alternatives=others, economics=Economics(study_period_y=80))  # fmt: skip
        found = compare(case, energy, climate=lambda site: zone, explore=explore)
        return found.alternatives, found.scope, found.questions, found.cautions, found.notes

    return compared


def roof_of(flat_roof, **surveyed):
    return dataclasses.replace(flat_roof, **({"ponding": "none", "wet_fraction": 0.05} | surveyed))


def test_every_field_is_asked_for_here():
    assert set(facts_of(Roof)) == set(ROOF)
    for cls, table in ALTERNATIVES.items():
        assert set(facts_of(cls)) == set(table), cls


@pytest.mark.parametrize("name", ROOF)
def test_every_field_of_the_roof_changes_an_answer(answer, flat_roof, name):
    before, value = ROOF[name]
    laying = {"price_per_m2": 90.0, "price_includes": ("covering",)}
    choices = (Membrane(**laying), MetalRetrofit(**laying, wait_y=15.0), Coating())
    first, then = (
        answer(roof_of(flat_roof, **surveyed), *choices)
        for surveyed in (before, before | {name: value})
    )
    assert first != then


@pytest.mark.parametrize(("cls", "name"), CASES, ids=[f"{c.__name__}-{n}" for c, n in CASES])
def test_every_field_of_an_alternative_changes_an_answer(answer, flat_roof, cls, name):
    before, value = ALTERNATIVES[cls][name]
    first, then = (
        answer(roof_of(flat_roof), Membrane(), Coating(replacement=one) if cls is LaterMembrane
               else one, explore=(cls, name) == (LaterMembrane, "name"))
        for one in (cls(**before), cls(**(before | {name: value})))
    )  # fmt: skip
    assert first != then


@pytest.mark.parametrize("name", facts_of(DutyPrices))
def test_every_price_of_a_duty_changes_an_answer(answer, flat_roof, name):
    """On a roof that has everything: ballast, asbestos, wet and flat areas, units, skylights."""
    roofs = [
        roof_of(flat_roof, covering="epdm-ballasted", asbestos="found", wet_fraction=wet,
                ponding="stands-48-hours", rooftop_units=2, flashing_height_m=0.6, skylights=2,
                penetrations=5)
        for wet in (0.1, 0.3)
    ]  # fmt: skip
    bare = {"price_per_m2": 90.0, "price_includes": ("covering",)}
    metal = MetalRetrofit(**bare, share_first=0.5, rest_after_y=4.0, wet_insulation="torn-off")
    choices = (Membrane(**bare), metal)
    first, then = (
        [answer(roof, *choices, duties=DutyPrices(**{name: price})) for roof in roofs]
        for price in (0.1, 0.2)
    )
    assert first != then
