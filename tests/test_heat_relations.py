"""What must hold of any year of heat, whatever the roof: the metamorphic relations."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lcc.case import Assembly, Building, Cavity, Layer, Prices, Site
from lcc.heat import climate as climates
from lcc.heat.assembly import resolved_layers, steady
from lcc.heat.climate import digest_of
from lcc.heat.conduction import dynamic, film, year_response
from lcc.heat.coupled_solver import FixedAir, InsideFilms, solve_year
from lcc.heat.energy import energy_year
from lcc.heat.roof_model import exterior, outdoors, solve, solve_space
from lcc.heat.thermostat import Zone

TULSA = climates.load(Site(climate="tulsa-ok"))
SCHOOL = Building(use="school")
FIXED = FixedAir(np.full(8760, 22.0))
SMALL = settings(max_examples=8)

COVERING, DECK = Layer(material="built-up-roofing"), Layer(material="steel-deck")
thickness = st.floats(0.01, 0.3)
materials = st.sampled_from(["polyiso-board", "glass-fibre-blanket", "concrete-structural"])
middles = st.builds(lambda m, d: Layer(material=m, thickness_m=d), materials, thickness)
assemblies = st.builds(
    lambda middle, reflectance, cavity: Assembly(
        layers=(COVERING, middle, DECK), solar_reflectance=reflectance, cavity=cavity
    ),
    middles,
    st.floats(0.05, 0.85),
    st.sampled_from([None, Cavity(), Cavity(ventilation="sealed")]),
)


def altered(climate, **arrays):
    return replace(climate, digest=digest_of(climate.digest, *arrays.values()), **arrays)


def fixed_flux(assembly, climate=TULSA, tolerance_k=2e-3):
    return solve_space(
        climate, SCHOOL, 2000.0, assembly, FIXED, tolerance_k=tolerance_k
    ).roof_flux_w_m2


@SMALL
@given(assemblies)
def test_energy_closes_in_every_hour(assembly):
    """Outdoor exchange less flux into the layers: under 1e-6 W/m² at a tight tolerance."""
    heat = solve(TULSA, SCHOOL, 2000.0, assembly, tolerance_k=1e-9).heat
    face = exterior(assembly, outdoors(TULSA, SCHOOL, assembly, "suburban"), 2000.0)
    given_flux, _, _ = face.exchange(heat.surface_c, heat.exterior_state)
    assert np.abs(given_flux - heat.outer_flux_w_m2).max() < 1e-6


OFFICE_ROOF = Assembly(
    layers=(COVERING, Layer(material="polyiso-board", thickness_m=0.05), DECK),
    solar_reflectance=0.1,
)


def cooling_saved(building=SCHOOL, climate=TULSA, dark=OFFICE_ROOF):
    """Cooling that a face of reflectance 0.6 saves over a dark one, over the year [W/m²]."""
    light = replace(dark, solar_reflectance=0.6)
    loads = [np.minimum(solve(climate, building, 2000.0, roof).load_w_m2, 0).sum()
             for roof in (dark, light)]  # fmt: skip
    return loads[1] - loads[0]


def test_more_ceiling_resistance_saves_less():
    saved = [
        cooling_saved(replace(SCHOOL, overhead="suspended-ceiling", ceiling_resistance_m2k_w=r))
        for r in (0.0, 0.31, 1.0, 3.0)
    ]
    assert saved == sorted(saved, reverse=True)
    assert cooling_saved(replace(SCHOOL, overhead="open-deck")) > saved[0]


def test_ducts_above_the_ceiling_make_a_light_roof_save_more():
    kinds = ("suspended-ceiling", "ducts-above-ceiling")
    plain, ducts = (cooling_saved(replace(SCHOOL, overhead=kind)) for kind in kinds)
    leaks = replace(SCHOOL, overhead="ducts-above-ceiling", duct_loss=0.0)
    leaky, tight = (cooling_saved(replace(leaks, return_leak=part)) for part in (0.1, 0.0))
    assert ducts > leaky > plain
    assert tight == pytest.approx(plain, rel=1e-3)


def test_a_calmer_site_has_hotter_faces_and_saves_more():
    winds = [altered(TULSA, wind_speed_m_s=part * TULSA.wind_speed_m_s) for part in (1.5, 1, 0.5)]
    hottest = [solve(w, SCHOOL, 2000.0, OFFICE_ROOF).heat.surface_c.max() for w in winds]
    assert hottest == sorted(hottest)
    saved = [cooling_saved(climate=wind) for wind in winds]
    assert saved == sorted(saved)


def test_a_rougher_face_is_cooler_in_the_sun():
    roofs = [replace(OFFICE_ROOF, roughness=kind) for kind in ("smooth", "granular", "gravel")]
    hottest = [solve(TULSA, SCHOOL, 2000.0, roof).heat.surface_c.max() for roof in roofs]
    assert hottest == sorted(hottest, reverse=True)


@SMALL
@given(assemblies)
def test_the_space_keeps_its_energy_over_a_year(assembly):
    """Losses of the space equal its gains, roof flux and load; nothing is left in store."""
    solved = solve(TULSA, SCHOOL, 2000.0, assembly)
    zone, heat = solved.zone, solved.heat
    lost = zone.conductance_w_m2k * (heat.indoor_c - zone.outdoor_c)
    left = zone.gains_w_m2 + heat.room_flux_w_m2 + heat.load_w_m2 - lost
    assert abs(left.sum()) < 1e-6 * np.abs(lost).sum()


@SMALL
@given(assemblies)
def test_the_layers_keep_their_energy_over_a_year(assembly):
    heat = solve(TULSA, SCHOOL, 2000.0, assembly).heat
    assert heat.outer_flux_w_m2.sum() == pytest.approx(heat.roof_flux_w_m2.sum(), abs=1e-6)


@given(middles, st.floats(-30, 45), st.floats(15, 25))
@SMALL
def test_steady_weather_gives_u_times_the_difference(middle, outdoor, indoor):
    """With constant surroundings the flux is U (T_out - T_in), U by ISO 6946 with one film."""

    class Surroundings:
        def exchange(self, surface, before=None):
            return 25.0 * (outdoor - surface), np.full_like(surface, 25.0), None

        def first_guess(self):
            return np.full(8760, outdoor)

    assembly = Assembly(layers=(COVERING, middle), inside_resistance_m2k_w=0.13)
    response = year_response((*resolved_layers(assembly), film(0.13)))
    films, air = InsideFilms(0.13, 0.13, 0.13), FixedAir(np.full(8760, indoor))
    heat = solve_year(Surroundings(), response, films, air, 1e-10)
    expected = steady(assembly).u_w_m2k * (outdoor - indoor)
    assert heat.roof_flux_w_m2 == pytest.approx(np.full(8760, expected), abs=1e-7)


@given(st.floats(1.1, 4))
@SMALL
def test_area_scales_every_extensive_figure(factor):
    """At the same wall area for each floor area, energy goes with area.

    But for the outside film, which is weaker on a larger roof, by area to the power of 0.1.
    """
    walls = replace(SCHOOL, wall_u_w_m2k=0.05, window_fraction=0.0, storey_height_m=2.0)
    assembly = Assembly(layers=(COVERING, DECK))
    small = energy_year(TULSA, walls, 1000.0, assembly, Prices())
    # A plan longer by the square of the scale keeps perimeter over area.
    ratio = walls.length_to_width
    half = (ratio**0.5 + ratio**-0.5) * factor**0.5 / 2
    long = replace(walls, length_to_width=(half + (half**2 - 1) ** 0.5) ** 2)
    large = energy_year(TULSA, long, 1000.0 * factor, assembly, Prices())
    for name in ("cooling_electricity_kwh", "gas_kwh", "roof_heat_gain_kwh", "peak_cooling_kw"):
        assert getattr(large, name) == pytest.approx(factor * getattr(small, name), rel=0.03)


@SMALL
@given(middles, st.sampled_from([None, Cavity()]))
def test_no_absorption_and_no_sun_agree(middle, cavity):
    dark = altered(TULSA, ghi_w_m2=np.zeros(8760), dhi_w_m2=np.zeros(8760))
    white = Assembly(layers=(COVERING, middle), solar_reflectance=1.0, cavity=cavity)
    black = replace(white, solar_reflectance=0.0)
    assert fixed_flux(white) == pytest.approx(fixed_flux(black, dark), abs=1e-9)


@SMALL
@given(assemblies, st.floats(0.01, 0.14))
def test_higher_reflectance_never_raises_the_flux_inward(assembly, more):
    brighter = replace(assembly, solar_reflectance=assembly.solar_reflectance + more)
    gain = np.maximum(fixed_flux(assembly), 0).sum()
    assert np.maximum(fixed_flux(brighter), 0).sum() <= gain + 1e-6


@SMALL
@given(st.floats(0.01, 0.2), st.floats(0.01, 0.1), st.floats(0.05, 0.85))
def test_more_insulation_never_raises_the_sum_of_the_flux(depth, more, reflectance):
    def total(thickness_m):
        board = Layer(material="polyiso-board", thickness_m=thickness_m)
        assembly = Assembly(layers=(COVERING, board, DECK), solar_reflectance=reflectance)
        return np.abs(fixed_flux(assembly)).sum()

    assert total(depth + more) <= total(depth)


@SMALL
@given(assemblies, st.integers(1, 364))
def test_a_year_shifted_by_days_shifts_the_answer(assembly, days):
    names = ("dry_bulb_c", "dew_point_c", "wind_speed_m_s", "ghi_w_m2", "sky_longwave_w_m2")
    rolled = {name: np.roll(getattr(TULSA, name), 24 * days) for name in names}
    flat = replace(assembly, slope=0.0)
    late = fixed_flux(flat, altered(TULSA, **rolled))
    assert late == pytest.approx(np.roll(fixed_flux(flat), 24 * days), abs=1e-3)


@given(st.floats(0.01, 20))
def test_a_massless_assembly_has_no_lag(resistance):
    layers = resolved_layers(Assembly(layers=(Layer(resistance_m2k_w=resistance),)))
    figures = dynamic(layers, 0.13, 0.04)
    assert figures.time_lag_h == 0
    assert figures.decrement_factor == pytest.approx(1, abs=1e-12)


@SMALL
@given(middles, st.floats(0.05, 0.95))
def test_a_layer_cut_in_two_changes_nothing(middle, part):
    first = replace(middle, thickness_m=middle.thickness_m * part)
    second = replace(middle, thickness_m=middle.thickness_m * (1 - part))
    whole = year_response(resolved_layers(Assembly(layers=(COVERING, middle))))
    cut = year_response(resolved_layers(Assembly(layers=(COVERING, first, second))))
    for name in ("outer", "cross", "inner"):
        assert getattr(cut, name) == pytest.approx(getattr(whole, name), rel=1e-9, abs=1e-12)


def test_a_free_floating_space_has_no_load():
    solved = solve(TULSA, Building(use="warehouse-unconditioned"), 2000.0, Assembly(layers=(DECK,)))
    assert not solved.load_w_m2.any()
    assert np.isfinite(solved.heat.indoor_c).all()


def test_the_thermostat_holds_its_set_points():
    solved = solve(TULSA, SCHOOL, 2000.0, Assembly(layers=(COVERING, DECK)))
    zone: Zone = solved.zone
    assert (solved.heat.indoor_c[solved.load_w_m2 > 1] <= zone.high_c.max() + 1e-9).all()
    assert (solved.load_w_m2 > 0).any()
    assert (solved.load_w_m2 < 0).any()
