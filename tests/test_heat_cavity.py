"""The cavity under a panel: its air changes, its balances by hand, and its limits."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lcc.case import Cavity
from lcc.heat.cavity import VentedCavity
from lcc.heat.exterior import BareRoof, Outdoors

SIGMA = 5.670374e-8
OPENINGS = Cavity(ventilation="openings", inlet_area_m2=4.0, outlet_area_m2=3.0,
                  stack_height_m=2.0, mean_height_m=0.5)  # fmt: skip
ROOF_M2 = 2000.0


class PlainFilm:
    """4 + 4 v W/m²K whatever the temperatures, so that balances can be done by hand."""

    def __init__(self, wind):
        self.coefficient = np.array([4 + 4 * wind])

    def carried(self, excess_k):
        """Return flux and slope."""
        return self.coefficient * excess_k, self.coefficient


def hour(air=30.0, sun=800.0, sky=400.0, wind=2.0):
    return Outdoors(*(np.array([float(value)]) for value in (air, sun, sky, wind)))


def under(cavity, wind=2.0, **weather):
    panel = BareRoof(hour(wind=wind, **weather), 0.4, 0.85, PlainFilm(wind))
    return VentedCavity(cavity, panel, ROOF_M2, tolerance_k=1e-9)


def changes(cavity, air_c, **weather):
    return float(under(cavity, **weather).air_changes(np.array([air_c]))[0])


def test_wind_alone_by_hand():
    """0.3 · 3 m² · 2 m/s through the smaller opening, over a cavity of 1,000 m³."""
    assert changes(OPENINGS, 30.0) == pytest.approx(0.3 * 3 * 2 * 3600 / 1000)


def test_warmth_alone_by_hand():
    """0.6 A √(2 g Δh ΔT/T) through 4 and 3 m² in series, which are 2.4 m², at 10 K and 40 °C."""
    flow = 0.6 * 2.4 * math.sqrt(2 * 9.81 * 2.0 * 10 / 313.15)
    assert changes(OPENINGS, 40.0, wind=0.0) == pytest.approx(flow * 3600 / 1000)
    # Air as much colder falls out by the same law.
    assert changes(OPENINGS, 20.0, wind=0.0) == pytest.approx(flow * 3600 / 1000, rel=0.05)


def test_wind_and_warmth_add_by_their_squares():
    wind, warmth = changes(OPENINGS, 30.0), changes(OPENINGS, 40.0, wind=0.0)
    assert changes(OPENINGS, 40.0) == pytest.approx(math.hypot(wind, warmth))


@pytest.mark.parametrize("shut", [{"inlet_area_m2": 0.0}, {"outlet_area_m2": 0.0}])
def test_one_opening_closed_is_a_sealed_cavity(shut):
    low = np.array([45.0])
    closed = under(replace(OPENINGS, **shut)).solve(low)
    sealed = under(replace(OPENINGS, ventilation="sealed")).solve(low)
    assert closed.air_changes_per_h == sealed.air_changes_per_h == 0
    assert closed.panel_c == pytest.approx(sealed.panel_c)


@pytest.mark.parametrize("low", [10.0, 45.0, 80.0])
def test_both_balances_close_by_hand(low):
    """Every term written out again from Walton's coefficients and grey parallel faces."""
    cavity, out = Cavity(air_changes_per_h=5.0, mean_height_m=0.4), hour()
    state = under(cavity).solve(np.array([low]))
    panel, air = float(state.panel_c[0]), float(state.air_c[0])

    def convection(excess, warm, cool):
        return (warm if excess > 0 else cool) * abs(excess) ** (1 / 3) * excess

    grey = 1 / (1 / 0.85 + 1 / 0.9 - 1)
    radiated = grey * SIGMA * ((low + 273.15) ** 4 - (panel + 273.15) ** 4)
    upper, lower = convection(panel - air, 0.76, 1.51), convection(low - air, 1.51, 0.76)
    outside = 0.6 * 800 + 12 * (30 - panel) + 0.85 * (400 - SIGMA * (panel + 273.15) ** 4)
    carried = 1.2 * 1006 * 0.4 * 5.0 / 3600 * (float(out.air_c[0]) - air)
    assert outside - upper + radiated == pytest.approx(0, abs=1e-4)
    assert upper + lower + carried == pytest.approx(0, abs=1e-4)
    assert float(state.flux_w_m2[0]) == pytest.approx(-lower - radiated, abs=1e-4)


def test_a_gale_through_the_cavity_leaves_outdoor_air_in_it():
    state = under(Cavity(air_changes_per_h=200.0, mean_height_m=10.0)).solve(np.array([45.0]))
    assert float(state.air_c[0]) == pytest.approx(30.0, abs=0.5)


def test_a_bright_underside_sends_less_down():
    flux = [
        float(under(Cavity(panel_lower_emittance=e)).solve(np.array([35.0])).flux_w_m2[0])
        for e in (0.1, 0.5, 0.9)
    ]
    assert flux == sorted(flux)
    assert flux[0] < 0.5 * flux[-1]


@pytest.mark.parametrize("ventilation", ["air-changes", "openings", "sealed"])
def test_the_fall_is_the_slope_of_the_flux(ventilation):
    face = under(replace(OPENINGS, ventilation=ventilation))
    below, above = (face.solve(np.array([45.0 + step])).flux_w_m2 for step in (-0.01, 0.01))
    fall = face.solve(np.array([45.0])).fall_w_m2k
    # With openings the slope leaves out that warmer air flows faster.
    assert fall == pytest.approx(
        (below - above) / 0.02, rel=0.1 if ventilation == "openings" else 1e-3
    )


def test_the_flux_is_carried_along_the_last_newton_step():
    """What the product's tolerance of 0.1 K leaves is of second order: under 0.01 W/m² of 26."""
    fine = under(OPENINGS)
    coarse = replace(fine, tolerance_k=VentedCavity.tolerance_k)
    left = coarse.solve(np.array([45.0])).flux_w_m2 - fine.solve(np.array([45.0])).flux_w_m2
    assert 0 < abs(float(left[0])) < 0.01
