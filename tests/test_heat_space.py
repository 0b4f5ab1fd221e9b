"""The space under the roof: schedules, set points, equipment and the scan that solves it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lcc import tables
from lcc.case import Assembly, Building, Equipment, Layer, Prices, Site
from lcc.errors import CaseError
from lcc.heat import climate as climates
from lcc.heat.clipped_recurrence import ClippedRecurrence
from lcc.heat.coil_moisture import room_moisture
from lcc.heat.design_day import design_cooling_w_m2, hot_day, hours_of
from lcc.heat.energy import energy_year
from lcc.heat.equipment import consumption, cooling_performance, heating_performance
from lcc.heat.roof_model import solve, wind_at_roof
from lcc.heat.schedule import hours_until, occupied_hours, setback_part
from lcc.heat.zone import completed, zone_of

TULSA = climates.load(Site(climate="tulsa-ok"))
DECK = Layer(material="steel-deck")
ROOF = Assembly(layers=(Layer(material="polyiso-board", thickness_m=0.05), DECK))


def plain_scan(gain, drive, low, high):
    """The recurrence step by step, many times round."""
    value = 0.0
    for _ in range(60):
        out = []
        for a, c, bottom, top in zip(gain, drive, low, high, strict=True):
            value = min(max(a * value + c, bottom), top)
            out.append(value)
    return np.array(out)


@given(st.integers(0, 2**32 - 1), st.integers(2, 40))
def test_the_scan_agrees_with_the_recurrence_step_by_step(seed, size):
    random = np.random.default_rng(seed)
    gain, drive = random.uniform(0, 0.9, size), random.normal(0, 5, size)
    low = np.where(random.random(size) < 0.5, -np.inf, random.normal(-3, 1, size))
    high = np.where(random.random(size) < 0.5, np.inf, np.maximum(random.normal(3, 1, size), low))
    start = random.normal(0, 50, size)
    maps = np.tile(np.stack([low, high, drive]), 20)
    found = ClippedRecurrence(np.tile(gain, 20)).solve(maps, np.tile(start, 20))
    assert found[:size] == pytest.approx(plain_scan(gain, drive, low, high), abs=1e-9)


def test_a_store_that_never_forgets_starts_from_what_it_is_given():
    drive = np.array([1.0, 1.0, -5.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    never = ClippedRecurrence(np.ones(8))
    film = never.solve(np.stack([np.zeros(8), np.full(8, np.inf), drive]), np.zeros(8))
    assert film.tolist() == [1.0, 2.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]


def test_hours_of_use_follow_the_week():
    hours = occupied_hours(8, 17, True, False).reshape(365, 24).sum(axis=1)
    assert hours[:7].tolist() == [9, 9, 9, 9, 9, 9, 0]


def test_the_setback_ramps_back_before_opening():
    part = setback_part(occupied_hours(8, 17, True, True), 4)
    assert part[:9].tolist() == [1, 1, 1, 1, 0.75, 0.5, 0.25, 0, 0]


@pytest.mark.parametrize("use", ["school", "office", "retail"])
def test_the_hour_of_opening_is_not_the_hottest_of_the_year(use):
    """Under a dark roof the highest cooling load is in the afternoon, as plants are sized."""
    solved = solve(TULSA, Building(use=use), 2000.0, replace(ROOF, solar_reflectance=0.1))
    assert 12 <= int(np.argmin(solved.load_w_m2)) % 24 <= 18


def test_where_nobody_comes_the_wait_has_no_end():
    assert np.isinf(hours_until(np.zeros(4, dtype=bool))).all()


@pytest.mark.parametrize("use", tables.keys("building_uses"))
def test_every_use_runs_and_is_served_as_it_says(use):
    building = Building(use=use)
    kind = completed(building).conditioning
    year = energy_year(TULSA, building, 2000.0, ROOF, Prices())
    assert (year.cooling_load_kwh > 0) == (kind == "heated-and-cooled")
    assert (year.heating_load_kwh > 0) == (kind != "none")
    assert sum(year.monthly.gas_kwh) == pytest.approx(year.gas_kwh)
    assert year.mean_indoor_c < year.peak_indoor_c


def test_entered_fields_win_over_the_use():
    zone = zone_of(Building(use="school", cooling_setpoint_c=26.5, setback_k=0.0), TULSA, 2000.0)
    assert set(zone.high_c) == {26.5}


def test_window_sun_turns_with_the_building():
    def west(bearing):
        building = Building(use="office", long_axis_azimuth_deg=bearing, length_to_width=4.0)
        return zone_of(building, TULSA, 2000.0).gains_w_m2

    assert not np.allclose(west(0.0), west(90.0))
    assert west(90.0) == pytest.approx(west(270.0))


def test_cooling_falls_with_outdoor_heat():
    """About 1.2 % a °F (2.16 % a K) above 95 °F; common practice in the trade."""
    rated, hot = cooling_performance(Equipment(cooling_eer=10.0), np.array([35.0, 40.0]))
    assert rated == pytest.approx(10 / 3.412, rel=1e-4)
    assert hot / rated == pytest.approx(1 - 0.0216 * 5)


@pytest.mark.parametrize("heating", ["gas", "resistance"])
def test_no_flame_and_no_wire_gives_more_heat_than_it_takes(heating):
    with pytest.raises(CaseError) as caught:
        Equipment(heating=heating, heating_efficiency=2.5)
    assert caught.value.field == "heating_efficiency"
    assert Equipment(heating="heat-pump", heating_efficiency=2.5).heating_efficiency == 2.5


def test_the_other_faces_of_the_space_by_hand():
    """63.2 by 31.6 m, 4 m high: walls 0.379 m² per m² of roof at a mean U of 1.2; by day air.

    School of the table: windows 0.2, infiltration 0.4 an hour, outdoor air 1.2 L/s per m².
    """
    shore = replace(TULSA, place=replace(TULSA.place, elevation_m=0.0), digest="by the sea")
    zone = zone_of(Building(use="school"), shore, 2000.0)
    walls = 2 * (4000**0.5 + 1000**0.5) * 4 / 2000 * (0.8 * 0.7 + 0.2 * 3.2)
    leaks, fresh = 1.2 * 1006 * 0.4 * 4 / 3600, 1.2 * 1006 * 0.0012
    assert zone.conductance_w_m2k[3] == pytest.approx(walls + leaks)
    assert zone.conductance_w_m2k[10] == pytest.approx(walls + leaks + fresh)
    assert zone.storage_w_m2k == pytest.approx(165e3 / 3600)
    assert (zone.low_c[1], zone.low_c[10], zone.high_c[1], zone.high_c[10]) == (16, 21, 29, 24)


def test_thin_air_carries_less_heat():
    """A mile up the standard atmosphere has 0.823 of its pressure at sea level."""
    mile = replace(TULSA, place=replace(TULSA.place, elevation_m=1609.0), digest="a mile up")
    shore = replace(TULSA, place=replace(TULSA.place, elevation_m=0.0), digest="by the sea")
    drafty, tight = (Building(infiltration_per_h=n, ventilation_m3_s_m2=0.0) for n in (1.0, 0.0))
    high, low = (
        zone_of(drafty, place, 2000.0).conductance_w_m2k
        - zone_of(tight, place, 2000.0).conductance_w_m2k
        for place in (mile, shore)
    )
    assert low == pytest.approx(np.full(8760, 1.2 * 1006 * 4.0 / 3600))
    assert high / low == pytest.approx(np.full(8760, 0.823), abs=0.001)


def test_a_heat_pump_is_never_worse_than_resistance():
    cold = heating_performance(Equipment(heating="heat-pump"), np.array([-40.0, 8.333]))
    assert cold[0] == 1.0
    assert cold[1] == pytest.approx(3.2, rel=1e-3)


@pytest.mark.parametrize("heating", ["gas", "resistance", "heat-pump"])
def test_each_heat_source_uses_its_own_carrier(heating):
    used = consumption(
        Equipment(heating=heating), np.array([80.0, -30.0, 0.0]), np.full(3, 10.0), np.full(3, True)
    )
    assert bool(used.gas[0]) == (heating == "gas")
    assert bool(used.heating_electricity[0]) == (heating != "gas")
    assert used.cooling_electricity.tolist()[::2] == [0.0, 0.0]
    assert used.cooling_electricity[1] > 0


def test_bills_follow_prices_without_new_heat():
    plain = energy_year(TULSA, Building(), 2000.0, ROOF, Prices(electricity_per_kwh=0.10))
    dear = energy_year(TULSA, Building(), 2000.0, ROOF, Prices(electricity_per_kwh=0.20))
    assert dear.electricity_cost == pytest.approx(2 * plain.electricity_cost)
    assert dear.monthly is plain.monthly  # the remembered heat


def test_the_plant_is_sized_on_a_hot_day_repeated():
    """Near the year's highest hour where the weather is steady; less sun taken in, less plant."""
    dark, white = (
        energy_year(TULSA, Building(), 2000.0, replace(ROOF, solar_reflectance=r), Prices())
        for r in (0.1, 0.7)
    )
    assert dark.design_cooling_kw == pytest.approx(dark.peak_cooling_kw, rel=0.1)
    assert white.design_cooling_kw < 0.97 * dark.design_cooling_kw
    none = energy_year(TULSA, Building(use="warehouse-heated"), 2000.0, ROOF, Prices())
    assert none.design_cooling_kw == 0


def test_damp_air_takes_electricity_and_dry_air_none():
    """The heat is the same, since moisture comes after it; a dry coil takes the sensible heat's."""
    damp, dry = (
        energy_year(
            replace(TULSA, dew_point_c=TULSA.dew_point_c + shift, digest=f"dew point {shift}"),
            Building(moisture_gains_w_m2=0.0), 2000.0, ROOF, Prices(),
        )
        for shift in (0.0, -25.0)
    )  # fmt: skip
    assert damp.cooling_load_kwh == pytest.approx(dry.cooling_load_kwh)
    assert 1.1 < damp.cooling_electricity_kwh / dry.cooling_electricity_kwh < 1.5


def test_a_year_without_its_plant_sized_is_the_same_in_all_else():
    given = (TULSA, Building(), 2000.0, ROOF, Prices())
    sized, plain = energy_year(*given), energy_year(*given, sized=False)
    assert sized.design_cooling_kw > 0
    assert plain == replace(sized, design_cooling_kw=None)


def test_a_repeated_day_is_what_a_year_of_that_day_comes_to():
    """The 24 hours solved alone, and tiled into 8,760 over the same weekday every day."""
    day = hours_of(hot_day(TULSA))
    names = ("dry_bulb_c", "dew_point_c", "wind_speed_m_s", "ghi_w_m2", "dhi_w_m2",
             "sky_longwave_w_m2")  # fmt: skip
    tiled = {name: np.tile(getattr(TULSA, name)[day], 365) for name in names}
    same = replace(TULSA, digest="one hot day", **tiled)
    always = Building(use="hospital-ward", window_fraction=0.0)  # no week in its hours
    solved = solve(same, always, 2000.0, ROOF, tolerance_k=1e-6)
    sensible = np.maximum(-solved.load_w_m2, 0)
    wet = room_moisture(always, same).removed_w_m2(sensible, solved.heat.indoor_c)
    found = (sensible + wet).max()
    alone = design_cooling_w_m2(TULSA, always, 2000.0, ROOF, "suburban")
    assert alone == pytest.approx(found, rel=1e-4)


def test_demand_is_charged_by_the_month():
    year = energy_year(TULSA, Building(), 2000.0, ROOF, Prices(demand_per_kw=10.0))
    assert year.demand_cost == pytest.approx(10 * sum(year.monthly.peak_kw))


def test_a_ceiling_keeps_heat_out_of_the_room_and_the_u_value_is_that_of_the_roof():
    bare, lined = (
        energy_year(TULSA, Building(overhead=kind), 2000.0, ROOF, Prices())
        for kind in ("open-deck", "suspended-ceiling")
    )
    assert lined.u_value_down_w_m2k == bare.u_value_down_w_m2k
    assert lined.heating_load_kwh < bare.heating_load_kwh


@given(st.floats(2, 60))
def test_wind_rises_with_height_and_falls_with_shelter(height):
    station = np.array(5.0)
    speeds = [float(wind_at_roof(station, t, height)) for t in ("open", "suburban", "urban")]
    assert speeds == sorted(speeds, reverse=True)
    assert float(wind_at_roof(station, "open", 10.0)) == pytest.approx(5.0)


def test_above_the_boundary_layer_the_wind_rises_no_more():
    station = np.array(5.0)
    assert wind_at_roof(station, "urban", 460.0) == wind_at_roof(station, "urban", 6000.0)
