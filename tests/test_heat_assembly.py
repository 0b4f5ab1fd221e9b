"""Resistances and U-values: moisture, joints, openings, tapers and steel, by the standard."""

from dataclasses import replace
from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lcc import tables
from lcc.case import Assembly, Fasteners, Layer
from lcc.errors import CaseError
from lcc.heat import iso6946
from lcc.heat.assembly import kept_when_wet, resolved_layers, steady, thermal_layer
from lcc.heat.conduction import film, year_response
from lcc.heat.sri import solar_reflectance_index

BOARD = Layer(material="eps-board", thickness_m=0.1)
DECK, COVERING = Layer(material="steel-deck"), Layer(material="built-up-roofing")
POSTS = Fasteners(number_per_m2=0.45, section_m2=4e-4)


@pytest.mark.parametrize("material", tables.keys("materials"))
def test_every_material_resolves(material):
    solid = thermal_layer(Layer(material=material))
    assert solid.resistance_m2k_w > 0
    assert solid.capacity_j_m2k > 0


def test_a_u_value_by_hand():
    """ISO 6946: R = 0.10 + 0.059 + 0.1/0.0355 + 0.04, the deck's 1.5e-5 aside."""
    u_value = steady(Assembly(layers=(COVERING, BOARD, DECK))).u_up_w_m2k
    assert u_value == pytest.approx(1 / (0.10 + 0.059 + 0.1 / 0.0355 + 0.04), rel=1e-4)


def test_films_that_are_given_are_used():
    given_films = Assembly(
        layers=(BOARD,), inside_resistance_m2k_w=0.2, outside_resistance_m2k_w=0.1
    )
    assert 1 / steady(given_films).u_w_m2k == pytest.approx(0.3 + 0.1 / 0.0355)


def test_posts_through_insulation_by_hand():
    """ISO 6946 annex F: ΔU = 0.8 · 50 · 4e-4 · 0.45 / 0.1 · (R1/Rtot)²."""
    bare = Assembly(layers=(BOARD, DECK))
    held = Assembly(layers=(replace(BOARD, fasteners=POSTS), DECK))
    r1 = 0.1 / 0.0355
    total = 1 / steady(bare).u_w_m2k
    rise = 0.8 * 50 * 4e-4 * 0.45 / 0.1 * (r1 / total) ** 2
    assert steady(held).u_w_m2k == pytest.approx(steady(bare).u_w_m2k + rise, rel=1e-12)
    assert steady(held).fastener_share == pytest.approx(rise / steady(held).u_w_m2k)


def test_the_dynamic_model_has_the_steady_u():
    held = Assembly(layers=(COVERING, replace(BOARD, fasteners=POSTS), DECK))
    response = year_response((film(0.04), *resolved_layers(held), film(0.13)))
    assert response.cross[0].real == pytest.approx(steady(held).u_w_m2k, rel=1e-12)


def test_a_spacer_takes_most_of_the_posts_heat():
    spaced = replace(POSTS, spacer_k_w=100.0)
    shares = [
        steady(Assembly(layers=(replace(BOARD, fasteners=steel), DECK))).fastener_share
        for steel in (POSTS, spaced)
    ]
    assert shares[1] < 0.1 * shares[0]


def test_half_depth_fasteners_count_a_quarter_of_full_depth_ones():
    """ISO 6946 annex F: α and d₁ both halve, and R₁ is that of half the layer, so R₁² is 1/4."""
    half = replace(BOARD, fasteners=replace(POSTS, full_depth=False))
    full = replace(BOARD, fasteners=POSTS)
    u_half, u_full, u_bare = (
        steady(Assembly(layers=(layer,))).u_w_m2k for layer in (half, full, BOARD)
    )
    assert u_half - u_bare == pytest.approx((u_full - u_bare) / 4)


def test_steel_that_would_void_the_layer_is_refused():
    dense = Fasteners(number_per_m2=100.0, section_m2=0.01)
    with pytest.raises(CaseError) as caught:
        steady(Assembly(layers=(Layer(resistance_m2k_w=0.001, thickness_m=0.01, fasteners=dense),)))
    assert caught.value.field == "layers.0.fasteners.number"


def test_moisture_follows_the_conversion_of_iso_10456():
    """Expanded polystyrene, f = 4 per volume: exp(-4 · 0.1) of its resistance is kept."""
    wet = replace(BOARD, moisture=0.1)
    kept = thermal_layer(wet).resistance_m2k_w / thermal_layer(BOARD).resistance_m2k_w
    assert kept == pytest.approx(exp(-0.4))
    assert kept_when_wet(wet) == pytest.approx(exp(-0.4))
    water = 0.1 * 0.1 * 1000 * 4180
    assert thermal_layer(wet).capacity_j_m2k == pytest.approx(
        thermal_layer(BOARD).capacity_j_m2k + water
    )


def test_water_and_joints_count_in_a_layer_given_by_its_resistance():
    plain = Layer(resistance_m2k_w=2.0, thickness_m=0.1, moisture=0.05, joint_loss=0.1)
    solid = thermal_layer(plain)
    assert solid.resistance_m2k_w == pytest.approx(2.0 * exp(-4 * 0.05) * 0.9)
    assert solid.capacity_j_m2k == pytest.approx(0.05 * 0.1 * 1000 * 4180)


def test_a_resistance_with_density_and_heat_has_their_mass():
    massive = Layer(resistance_m2k_w=2.0, thickness_m=0.1, density_kg_m3=30.0,
                    specific_heat_j_kgk=1400.0)  # fmt: skip
    assert thermal_layer(massive).resistance_m2k_w == 2.0
    assert thermal_layer(massive).capacity_j_m2k == pytest.approx(0.1 * 30 * 1400)


@pytest.mark.parametrize(
    ("layer", "field"),
    [
        (Layer(resistance_m2k_w=3.0, fasteners=POSTS), "layers.0.thickness"),
        (Layer(resistance_m2k_w=3.0, taper_m=0.1), "layers.0.thickness"),
        (Layer(resistance_m2k_w=3.0, conductivity_w_mk=0.04), "layers.0.resistance"),
        (Layer(air_gap_m=0.05, moisture=0.1), "layers.0.air_gap"),
        (Layer(air_gap_m=0.05, material="eps-board"), "layers.0.air_gap"),
        (Layer(air_gap_m=0.05, fasteners=POSTS), "layers.0.air_gap"),
        (replace(BOARD, air_openings_mm2_m2=800.0), "layers.0.air_openings"),
    ],
)
def test_nothing_that_is_said_of_a_layer_is_ignored(layer, field):
    with pytest.raises(CaseError) as caught:
        steady(Assembly(layers=(layer,)))
    assert caught.value.field == field


def test_joints_take_their_part():
    kept = thermal_layer(replace(BOARD, joint_loss=0.08)).resistance_m2k_w
    assert kept == pytest.approx(0.92 * thermal_layer(BOARD).resistance_m2k_w)


@pytest.mark.parametrize(
    ("shape", "u_value"),
    [("rectangle", 0.402359), ("thick-apex", 0.505899), ("thin-apex", 0.29882)],
)
def test_tapers_agree_with_the_standards_formula(shape, u_value):
    """ISO 6946:2017 annex E with R0 = 1 and R2 = 4, within 1e-5."""
    layer = Layer(
        thickness_m=0.01, conductivity_w_mk=0.02, density_kg_m3=30.0, specific_heat_j_kgk=1400.0,
        taper_m=0.08, taper_shape=shape,
    )  # fmt: skip
    films = {"inside_resistance_m2k_w": 0.4, "outside_resistance_m2k_w": 0.1}
    assert steady(Assembly(layers=(layer,), **films)).u_w_m2k == pytest.approx(u_value, abs=1e-5)


@pytest.mark.parametrize("shape", ["rectangle", "thick-apex", "thin-apex"])
def test_a_slight_taper_passes_into_none(shape):
    """Just above and below where the formulas of the standard lose their figures."""
    above, below = (iso6946.tapered_u_value(2.0, taper, shape) for taper in (2.1e-6, 1.9e-6))
    assert above == pytest.approx(below, rel=1e-6)
    assert iso6946.tapered_u_value(2.0, 1e-160, shape) == 0.5


def test_a_slightly_ventilated_layer_by_hand():
    """1000 mm²/m²: half of the way between closed, and all outside the layer left out."""
    gap = Layer(air_gap_m=0.1, air_openings_mm2_m2=1000.0)
    outer, inner = Layer(resistance_m2k_w=0.05), Layer(resistance_m2k_w=2.0)
    found = 1 / steady(Assembly(layers=(outer, gap, inner))).u_down_w_m2k
    closed = 0.04 + 0.05 + iso6946.air_layer_resistance(0.1, "down") + 2.0 + 0.17
    opened = 0.17 + 2.0 + 0.17
    assert found == pytest.approx((closed + opened) / 2)


def test_openings_that_would_void_the_layer_are_refused():
    gap = Layer(air_gap_m=0.05, air_openings_mm2_m2=1400.0)
    with pytest.raises(CaseError) as caught:
        steady(Assembly(layers=(Layer(resistance_m2k_w=3.0), gap, DECK)))
    assert caught.value.field == "layers.1.air_openings"


@given(st.floats(0.005, 0.3), st.sampled_from(["up", "horizontal", "down"]))
def test_a_wider_air_layer_is_never_a_worse_one_until_it_moves(thickness, direction):
    narrow = iso6946.air_layer_resistance(thickness / 2, direction)
    assert narrow <= iso6946.air_layer_resistance(thickness, direction) + 1e-12


@given(st.floats(0.02, 0.98), st.floats(0.05, 0.95), st.sampled_from(["low", "medium", "high"]))
def test_a_brighter_face_never_has_a_lower_index(reflectance, emittance, wind):
    index = solar_reflectance_index(reflectance, emittance, wind)
    assert solar_reflectance_index(min(reflectance + 0.02, 1), emittance, wind) > index
