"""Weather and roofs at the edge of sense: a year converges, or says which input and why not."""

from dataclasses import replace

import numpy as np
import pytest

from lcc.case import Assembly, Building, Cavity, Layer, Site
from lcc.errors import CaseError
from lcc.heat import climate as climates
from lcc.heat.climate import digest_of
from lcc.heat.roof_model import solve

HOUSTON = climates.load(Site(climate="houston-tx"))
ZERO = np.zeros(8760)
DECK, COVERING = Layer(material="steel-deck"), Layer(material="built-up-roofing")
CONCRETE = Layer(material="concrete-structural", thickness_m=1.0)
BLANKET = Layer(material="glass-fibre-blanket", thickness_m=0.15)
OPEN = Cavity(ventilation="openings", inlet_area_m2=5.0, outlet_area_m2=5.0)
ROOFS = {
    "bare steel": Assembly(layers=(DECK,), solar_reflectance=0.6),
    "very thick": Assembly(
        layers=(CONCRETE, Layer(material="eps-board", thickness_m=0.5), CONCRETE)
    ),
    "cavity": Assembly(layers=(BLANKET, COVERING, DECK), cavity=Cavity()),
    "cavity with openings": Assembly(layers=(BLANKET, COVERING, DECK), cavity=OPEN),
    "shiny both sides": Assembly(
        layers=(BLANKET, DECK), cavity=Cavity(panel_lower_emittance=0.02, ventilation="sealed"),
        thermal_emittance=0.02,
    ),
}  # fmt: skip
NO_SUN = {"ghi_w_m2": ZERO, "dhi_w_m2": ZERO}
WEATHER = {
    "no sun": NO_SUN,
    "polar night": NO_SUN | {"dry_bulb_c": ZERO - 45, "dew_point_c": ZERO - 50,
                             "sky_longwave_w_m2": ZERO + 110},
    "the same all year": NO_SUN | {"dry_bulb_c": ZERO + 20, "dew_point_c": ZERO + 10,
                                   "wind_speed_m_s": ZERO + 3, "sky_longwave_w_m2": ZERO + 350},
    "60 degrees": {"dry_bulb_c": ZERO + 60, "dew_point_c": ZERO + 20},
    "no wind": {"wind_speed_m_s": ZERO},
    "storm and calm by turns": {"wind_speed_m_s": np.where(np.arange(8760) % 2, 55.0, 0.0)},
    "half a year late": {name: np.roll(getattr(HOUSTON, name), 4380) for name in (
        "dry_bulb_c", "dew_point_c", "wind_speed_m_s", "ghi_w_m2", "dhi_w_m2",
        "sky_longwave_w_m2")},
}  # fmt: skip


def under(weather):
    return replace(HOUSTON, digest=digest_of(*weather, *weather.values()), **weather)


@pytest.mark.parametrize("use", ["school", "warehouse-unconditioned"])
@pytest.mark.parametrize("roof", ROOFS)
@pytest.mark.parametrize("weather", WEATHER)
def test_hostile_weather_converges(weather, roof, use):
    solved = solve(under(WEATHER[weather]), Building(use=use), 2000.0, ROOFS[roof])
    assert solved.heat.residual_k <= 2e-3
    assert solved.heat.iterations < 60
    for hours in (solved.heat.surface_c, solved.heat.indoor_c, solved.heat.roof_flux_w_m2):
        assert np.isfinite(hours).all()


def test_constant_weather_has_constant_surfaces():
    air = {"use": "warehouse-unconditioned", "gains_w_m2": 0.0, "window_fraction": 0.0}
    same = under(WEATHER["the same all year"])
    solved = solve(same, Building(**air), 2000.0, ROOFS["cavity"], tolerance_k=1e-8)
    assert np.ptp(solved.heat.surface_c) < 0.2  # ventilation still follows the hours of use


def test_a_year_that_does_not_converge_is_refused_with_the_reason():
    """A tolerance of nothing is never met, as with weather that has no solution."""
    with pytest.raises(CaseError, match="converges") as caught:
        solve(HOUSTON, Building(use="school"), 2000.0, ROOFS["bare steel"], tolerance_k=0.0)
    assert caught.value.field == "climate"


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Layer(material="polyiso-board", thickness_m=-0.05), "thickness"),
        (lambda: Layer(thickness_m=0.1, conductivity_w_mk=0.0), "conductivity"),
        (lambda: Layer(material="unobtainium"), "material"),
        (lambda: Layer(resistance_m2k_w=float("nan")), "resistance"),
        (lambda: Assembly(solar_reflectance=1.2), "solar_reflectance"),
        (lambda: Assembly(thermal_emittance=-0.1), "thermal_emittance"),
        (lambda: Cavity(mean_height_m=0.0), "mean_height"),
        (lambda: Cavity(ventilation="breezy"), "ventilation"),
        (lambda: Building(use="castle"), "use"),
        (lambda: solve(HOUSTON, Building(), 100.0, Assembly(layers=())), "layers"),
        (lambda: solve(HOUSTON, Building(), 100.0, Assembly(layers=(Layer(),))),
         "layers.0.thickness"),
        (lambda: solve(HOUSTON, Building(), 100.0, Assembly(layers=(Layer(thickness_m=0.1),))),
         "layers.0.density"),
        (lambda: solve(HOUSTON, Building(heating_setpoint_c=25.0, cooling_setpoint_c=24.0),
                       100.0, ROOFS["cavity"]), "heating_setpoint"),
    ],
)  # fmt: skip
def test_bad_input_names_its_field(make, field):
    with pytest.raises(CaseError) as caught:
        make()
    assert caught.value.field == field
