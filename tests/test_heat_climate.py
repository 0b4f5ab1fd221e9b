"""Climates: the stations, rebuilt hours, and weather files of the user's."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from lcc import tables
from lcc.case import Assembly, Building, Site, WeatherFile
from lcc.checks.whole_years import days_of
from lcc.errors import CaseError
from lcc.heat import climate as climates
from lcc.heat.hour_interpolation import hours_from_blocks, irradiance_from_blocks
from lcc.heat.roof_model import outdoors
from lcc.heat.sky import clear_emissivity, longwave_w_m2
from lcc.heat.solar import on_plane, sun_over
from lcc.model_notes import notes

PVLIB_DATA = Path(pvlib.__file__).parent / "data"
ARRAYS = ("dry_bulb_c", "dew_point_c", "wind_speed_m_s", "ghi_w_m2", "dhi_w_m2")


def file_site(name, zone="3A", edit=None):
    text = (PVLIB_DATA / name).read_text(encoding="latin-1")
    return Site(weather=WeatherFile(name, edit(text) if edit else text), climate_zone=zone)


def as_epw(climate):
    """The climate written as an EPW file, by the format's published column order."""
    stamps = pd.date_range("2021-01-01", periods=8760, freq="h")
    place = climate.place
    head = (
        f"LOCATION,Testville,XX,USA,made,000000,{place.latitude_deg},{place.longitude_deg},"
        f"{place.utc_offset_h},{place.elevation_m}"
    )
    lines = [head, *["-"] * 6, "DATA PERIODS,1,1,Data,Friday,1/1,12/31"]
    for row, stamp in enumerate(stamps):
        figures = ["9999"] * 29
        figures[0:2] = [f"{climate.dry_bulb_c[row]:.3f}", f"{climate.dew_point_c[row]:.3f}"]
        figures[6] = f"{climate.sky_longwave_w_m2[row]:.3f}"
        figures[7] = f"{climate.ghi_w_m2[row]:.3f}"
        figures[9] = f"{climate.dhi_w_m2[row]:.3f}"
        figures[15], figures[17] = f"{climate.wind_speed_m_s[row]:.3f}", "5"
        lines.append(f"2021,{stamp.month},{stamp.day},{stamp.hour + 1},0,?," + ",".join(figures))
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    "station",
    [
        pytest.param(key, marks=[pytest.mark.thorough] * bool(place % 8))
        for place, key in enumerate(tables.keys("climates"))
    ],
)
def test_a_station_keeps_the_figures_of_its_index(station):
    """Index: degree days, mean temperature, sun and wind from the hourly TMY3 files.

    Wilcox and Marion 2008; rounding of the index and of the three-hour columns.
    """
    row = tables.rows("climates")[station]
    climate = climates.load(Site(climate=station))
    heating, cooling = days_of(climate)
    assert heating == pytest.approx(row["heating_degree_days_18c"], abs=6)
    assert cooling == pytest.approx(row["cooling_degree_days_18c"], abs=6)
    assert climate.dry_bulb_c.mean() == pytest.approx(row["mean_dry_bulb_c"], abs=0.02)
    assert climate.ghi_w_m2.sum() / 1000 == pytest.approx(row["annual_ghi_kwh_m2"], rel=0.002)
    assert climate.wind_speed_m_s.mean() == pytest.approx(row["mean_wind_speed_m_s"], abs=0.02)
    assert (climate.dew_point_c <= climate.dry_bulb_c).all()
    assert (climate.dhi_w_m2 <= climate.ghi_w_m2 + 1e-9).all()
    assert climate.zone == row["climate_zone"]


def test_rebuilt_hours_keep_the_means_of_their_blocks():
    means = np.random.default_rng(1).uniform(-10, 30, 2920)
    assert hours_from_blocks(means).reshape(-1, 3).mean(axis=1) == pytest.approx(means, abs=1e-9)
    wind = np.random.default_rng(2).uniform(0, 9, 2920)
    hours = hours_from_blocks(wind, low=0.0)
    assert hours.min() >= 0
    assert hours.reshape(-1, 3).mean(axis=1) == pytest.approx(wind, abs=1e-9)


def test_irradiance_keeps_its_block_mean_even_before_a_clear_sky_would_shine():
    ghi, dhi = irradiance_from_blocks(np.array([30.0]), np.array([40.0]), np.zeros(3))
    assert ghi.tolist() == [30.0] * 3
    assert dhi.tolist() == [30.0] * 3


def test_the_tmy3_file_of_greensboro_is_read():
    """723170TYA.CSV ships in pvlib; coordinates and sums from the file itself."""
    climate = climates.load(file_site("723170TYA.CSV"))
    frame = pd.read_csv(PVLIB_DATA / "723170TYA.CSV", skiprows=1)
    assert climate.place.latitude_deg == 36.1
    assert climate.place.utc_offset_h == -5
    assert climate.ghi_w_m2.sum() == frame["GHI (W/m^2)"].sum()
    assert climate.dry_bulb_c == pytest.approx(frame["Dry-bulb (C)"].to_numpy(float))
    daily = frame["Dry-bulb (C)"].to_numpy(float).reshape(365, 24).mean(axis=1) - 55 / 3
    heating, cooling = days_of(climate)
    assert heating == pytest.approx(-daily[daily < 0].sum(), abs=1e-6)
    assert cooling == pytest.approx(daily[daily > 0].sum(), abs=1e-6)


def test_the_tmy2_file_of_miami_is_read():
    """12839.tm2 ships in pvlib; first row of the file: 20.0 °C, dew point 15.0 °C."""
    climate = climates.load(file_site("12839.tm2", "1A"))
    assert climate.name == "Miami, FL"
    assert (climate.dry_bulb_c[0], climate.dew_point_c[0]) == (20.0, 15.0)
    assert 1700 < climate.ghi_w_m2.sum() / 1000 < 1900
    assert climate.zone == "1A"


def test_the_sun_stands_right_over_greensboro():
    """Extraterrestrial horizontal irradiance of the TMY3 file, within 5 W/m² rms of ours."""
    climate = climates.load(file_site("723170TYA.CSV"))
    frame = pd.read_csv(PVLIB_DATA / "723170TYA.CSV", skiprows=1)
    sun = sun_over(climate.place)
    ours = sun.extraterrestrial_normal_w_m2 * np.cos(np.radians(sun.zenith_deg))
    difference = np.maximum(ours, 0) - frame["ETR (W/m^2)"].to_numpy(float)
    assert np.sqrt(np.mean(difference**2)) < 7


def test_an_epw_file_gives_the_climate_it_was_written_from():
    station = climates.load(Site(climate="boise-id"))
    own = WeatherFile("boise.epw", as_epw(station))
    read = climates.load(Site(weather=own, climate_zone="5B", sky="of-the-file"))
    for name in (*ARRAYS, "sky_longwave_w_m2"):
        assert getattr(read, name) == pytest.approx(getattr(station, name), abs=6e-4), name
    assert read.name == "Testville, XX"


def test_tables_and_files_have_one_sky():
    """A file's own infrared is left aside for its dew point and cover, unless it is asked for."""
    station = climates.load(Site(climate="boise-id"))
    brighter = replace(station, sky_longwave_w_m2=station.sky_longwave_w_m2 + 20)
    own = WeatherFile("boise.epw", as_epw(brighter))
    plain, asked = (
        climates.load(Site(weather=own, climate_zone="5B", sky=sky)).sky_longwave_w_m2
        for sky in ("computed", "of-the-file")
    )
    half = longwave_w_m2(station.dry_bulb_c, station.dew_point_c, np.full(8760, 0.5))
    assert plain == pytest.approx(half, abs=0.01)
    assert asked == pytest.approx(station.sky_longwave_w_m2 + 20, abs=1e-3)


def test_implausible_long_wave_falls_back_on_the_dew_point():
    station = climates.load(Site(climate="boise-id"))
    broken = replace(station, sky_longwave_w_m2=np.full(8760, 9999.0))
    site = Site(weather=WeatherFile("boise.epw", as_epw(broken)), climate_zone="5B")
    longwave = climates.load(site).sky_longwave_w_m2
    assert 150 < longwave.min() < longwave.max() < 500


def test_a_leap_day_is_left_out():
    station = climates.load(Site(climate="boise-id"))
    lines = as_epw(station).splitlines()
    february_28 = lines[8 + 57 * 24 + 24 : 8 + 58 * 24 + 24]
    leap = [line.replace("2021,2,28,", "2021,2,29,") for line in lines[8 + 58 * 24 : 8 + 59 * 24]]
    assert len(february_28) == 24
    text = "\n".join([*lines[: 8 + 59 * 24], *leap, *lines[8 + 59 * 24 :]]) + "\n"
    site = Site(weather=WeatherFile("leap.epw", text), climate_zone="5B")
    assert climates.load(site).dry_bulb_c == pytest.approx(station.dry_bulb_c, abs=6e-4)


def drop_last_row(text):
    return "\n".join(text.splitlines()[:-1]) + "\n"


def swap_two_days(text):
    lines = text.splitlines()
    return "\n".join([*lines[:2], *lines[26:50], *lines[2:26], *lines[50:]]) + "\n"


def blank_a_temperature(text):
    lines = text.splitlines()
    cells = lines[1002].split(",")
    cells[31] = ""
    return "\n".join([*lines[:1002], ",".join(cells), *lines[1003:]]) + "\n"


def with_cells(**named):
    """An edit that gives every hour the same figures in the columns named."""

    def edit(text):
        first, rest = text.split("\n", 1)
        frame = pd.read_csv(io.StringIO(rest), dtype=str).assign(**named)
        return first + "\n" + frame.to_csv(index=False)

    return edit


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        (drop_last_row, "8,759"),
        (swap_two_days, "hours in order (row 1 should be 1/1 hour 1)"),
        (blank_a_temperature, "65 °C in every hour (wrong in 1, first in row 1,001: no number)"),
        (lambda text: "hello", "an EPW, TMY3 or TMY2 file"),
        (lambda text: "", "an EPW, TMY3 or TMY2 file"),
        (lambda text: text[:3000], "8,760 hourly rows"),
        (
            lambda text: text.replace("Dry-bulb (C)", "Wet"),
            "file (this one has no dry-bulb temperature)",
        ),
        (lambda text: text.replace("36.100", "north", 1), "a readable EPW, TMY3 or TMY2 file"),
        (lambda text: text.replace("36.100", "99", 1), "a latitude from -90 to 90"),
        (lambda text: text.rstrip()[:-150], "none cut short (row 8760 has "),
        (with_cells(**{"GHI (W/m^2)": 500, "DHI (W/m^2)": 100}), "no sun at night (this file has"),
        (with_cells(**{"GHI (W/m^2)": 0, "DHI (W/m^2)": 0}), "(this file has no sun in any hour)"),
        (with_cells(**{"Dew-point (C)": 45.0}), "more than 1 °C above it in 8,760 hours)"),
    ],
)
def test_a_broken_file_is_refused_with_field_and_reason(edit, told):
    with pytest.raises(CaseError, match="weather") as caught:
        climates.load(file_site("723170TYA.CSV", edit=edit))
    assert caught.value.field == "weather"
    assert told in caught.value.allowed
    assert caught.value.detail.startswith("The weather file '723170TYA.CSV' cannot be used; allo")


def test_a_sun_of_another_time_zone_is_refused():
    station = climates.load(Site(climate="boise-id"))
    abroad = replace(station, place=replace(station.place, utc_offset_h=0.0))
    site = Site(weather=WeatherFile("utc.epw", as_epw(abroad)), climate_zone="5B")
    with pytest.raises(CaseError) as caught:
        climates.load(site)
    assert caught.value.field == "weather"
    assert "h early" in caught.value.allowed


def test_the_note_of_the_built_in_years_is_left_out_beside_a_file(flat_case):
    own = replace(flat_case, site=file_site("723170TYA.CSV"))
    assert any("1976 to 2005" in note for note in notes(flat_case))
    assert not any("1976 to 2005" in note for note in notes(own))
    assert "The weather is the one year of the weather file, repeated." in notes(own)


def test_missing_diffuse_is_split_from_the_global():
    """Sum of the year within 15 % of the file's own, hour by hour never above the global."""
    station = climates.load(Site(climate="boise-id"))
    without = replace(station, dhi_w_m2=np.full(8760, 9999.0))
    read = climates.load(Site(weather=WeatherFile("b.epw", as_epw(without)), climate_zone="5B"))
    assert read.dhi_w_m2.sum() == pytest.approx(station.dhi_w_m2.sum(), rel=0.15)
    assert (read.dhi_w_m2 <= read.ghi_w_m2 + 1e-9).all()


def test_sky_cover_is_asked_only_where_the_long_wave_is_missing():
    station = climates.load(Site(climate="boise-id"))

    def site(climate):
        text = "\n".join(
            ",".join([*cells[:22], "99", "99", *cells[24:]]) if len(cells) > 30 else ",".join(cells)
            for cells in (line.split(",") for line in as_epw(climate).splitlines())
        )
        return Site(weather=WeatherFile("bare.epw", text), climate_zone="5B")

    read = climates.load(site(station))
    assert read.sky_longwave_w_m2 == pytest.approx(station.sky_longwave_w_m2, abs=6e-4)
    with pytest.raises(CaseError, match="opaque sky cover from 0 to 1"):
        climates.load(site(replace(station, sky_longwave_w_m2=np.full(8760, 9999.0))))


def test_a_file_needs_a_climate_zone():
    with pytest.raises(CaseError, match="climate_zone"):
        climates.load(file_site("723170TYA.CSV", zone=None))


def test_an_unknown_climate_names_its_neighbours():
    with pytest.raises(CaseError, match="tulsa-ok"):
        Site(climate="tulsa-okay")


def test_a_site_needs_a_place_a_climate_or_a_file():
    with pytest.raises(CaseError, match="place is missing"):
        climates.load(Site())


def test_equal_contents_are_one_climate():
    assert climates.load(Site(climate="boise-id")) == climates.load(Site(climate="boise-id"))
    assert climates.load(Site(climate="boise-id")) != climates.load(Site(climate="tulsa-ok"))
    other_zone = climates.load(Site(climate="boise-id", climate_zone="6B"))
    assert other_zone != climates.load(Site(climate="boise-id"))


def test_a_plane_that_faces_the_sky_has_the_horizontal_sun():
    climate = climates.load(Site(climate="boise-id"))
    level = on_plane(climate.place, climate.ghi_w_m2, climate.dhi_w_m2, 0.0, 180.0)
    nearly = on_plane(climate.place, climate.ghi_w_m2, climate.dhi_w_m2, 1e-6, 180.0)
    assert nearly.sum() == pytest.approx(level.sum(), rel=0.02)


def test_sun_on_falls_follows_their_bearing_and_without_one_their_mean():
    """On 0.02 of slope four sides together see the sky's own sun within 0.1 %."""
    climate = climates.load(Site(climate="boise-id"))
    face = Assembly(slope=0.02)
    north, south, none = (
        outdoors(climate, Building(), replace(face, azimuth_deg=azimuth), "open").irradiance_w_m2
        for azimuth in (0.0, 180.0, None)
    )
    level = climate.ghi_w_m2.sum()
    assert north.sum() < 0.995 * level < 1.005 * level < south.sum()
    assert none.sum() == pytest.approx(level, rel=0.001)


def test_a_steep_face_sees_less_of_a_cold_sky():
    climate = climates.load(Site(climate="boise-id"))
    flat, steep = (
        outdoors(climate, Building(), Assembly(slope=slope), "open").longwave_w_m2
        for slope in (0.0, 1.0)
    )
    assert flat is climate.sky_longwave_w_m2
    around = 5.670374e-8 * (climate.dry_bulb_c + 273.15) ** 4
    seen = (1 + 0.5**0.5) / 2  # 45 degrees
    assert steep == pytest.approx(seen * flat + (1 - seen) * around)


def test_a_warmer_dew_point_never_dims_the_sky():
    dew_points = np.linspace(-20, 30, 101)
    assert (np.diff(clear_emissivity(dew_points)) > 0).all()
