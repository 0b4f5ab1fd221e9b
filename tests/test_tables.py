"""The tables of ``data``: every row has a source, plausible figures and known references."""

import io
import re

import pandas as pd
import pytest

from api.service import load_case
from lcc import tables
from lcc.case import MetalRetrofit, Prices
from lcc.case.fields import BASES, facts_of
from lcc.cost.covering_lives import life_range, sources

R_IP = 5.678263  # h·ft²·°F/Btu in one m²K/W


def _frame(table):
    return pd.DataFrame.from_dict(tables.rows(table), orient="index")


@pytest.mark.parametrize("table", tables.names())
def test_every_row_has_a_known_basis_and_a_source(table):
    frame = _frame(table)
    # Of lives, sellers' pages and warranties say what they claim: read there, and no more.
    assert set(frame["basis"]) <= {*BASES, *(["claimed"] if table == "life_sources" else [])}
    assert frame["source"].str.len().min() > 5


@pytest.mark.parametrize("table", tables.names())
def test_a_row_has_the_basis_of_its_weakest_figure(table):
    frame = _frame(table)
    remembered = frame[frame["source"].str.contains("from memory")]
    practice = frame[frame["source"].str.contains("common practice")]
    copied = frame[frame["source"].str.contains("read in a copy|ht prints")]
    ours = frame[frame["source"].str.contains("worked out")]
    assert not {"published", "second-hand"} & set(remembered["basis"])
    assert "published" not in set(copied["basis"])
    assert not {"published", "second-hand"} & set(ours["basis"])
    assert set(practice["basis"]) <= {"common practice", "demo"}


@pytest.mark.parametrize("table", tables.names())
def test_keys_are_unique_words(table):
    keys = tables.keys(table)
    assert len(set(keys)) == len(keys)
    assert all(key and key == key.strip() and " " not in key for key in keys)


@pytest.mark.parametrize("table", tables.names())
def test_rows_are_what_pandas_reads_with_empty_cells_as_none(table):
    rows = tables.rows(table)
    assert tuple(rows) == tables.keys(table)
    text = io.StringIO(tables.read_text(tables.file_of(table)))
    read = pd.read_csv(text, comment="#").to_dict("records")
    for row, other in zip(rows.values(), read, strict=True):
        known = {name: None if pd.isna(cell) else cell for name, cell in other.items()}
        assert row == known
        assert [*map(type, row.values())] == [*map(type, known.values())]


def test_an_unknown_table_is_refused():
    with pytest.raises(KeyError):
        tables.rows("nonsense")


def test_each_material_has_exactly_one_of_conductivity_and_resistance():
    frame = _frame("materials")
    assert (frame["conductivity_w_mk"].isna() != frame["resistance_m2k_w"].isna()).all()
    assert set(frame["role"]) <= {"covering", "insulation", "deck", "board", "other"}


@pytest.mark.parametrize(
    ("column", "low", "high"),
    [
        ("thickness_m", 0.0003, 0.3),
        ("conductivity_w_mk", 0.02, 60),
        ("density_kg_m3", 10, 8000),
        ("specific_heat_j_kgk", 400, 2000),
    ],
)
def test_material_properties_are_physical(column, low, high):
    assert _frame("materials")[column].dropna().between(low, high).all()


# In-service R per inch: NRCA/MRCA bulletin 1987 (5.6) and NRCA 2011 (5.0), to the first decimal.
@pytest.mark.parametrize(("key", "r_inch"), [("polyiso-board", 5.6), ("polyiso-board-cold", 5.0)])
def test_polyiso_has_its_published_resistance_per_inch(key, r_inch):
    conductivity = tables.rows("materials")[key]["conductivity_w_mk"]
    assert 0.0254 / conductivity * R_IP == pytest.approx(r_inch, abs=0.05)


def test_coverings_name_materials_and_carry_demo_prices():
    frame = _frame("coverings")
    assert set(frame["material"]) <= set(tables.keys("materials"))
    assert set(frame["kind"]) == {"membrane", "coating"}
    assert set(frame["price_basis"]) == {"demo"}
    assert frame["price_source"].str.contains("invented").all()


@pytest.mark.parametrize("table", ["coverings", "panels"])
def test_faces_have_aged_fractions(table):
    frame = _frame(table)
    assert frame["solar_reflectance"].between(0.05, 0.7).all()
    assert frame["thermal_emittance"].between(0.1, 0.95).all()


def test_panels_lie_within_the_common_range_of_their_colour_class():
    """Aged classes: dark 0.25 to 0.35, medium to 0.50, light to 0.65, white 0.60 to 0.70."""
    ranges = {
        "dark": (0.25, 0.35),
        "medium": (0.35, 0.5),
        "light": (0.5, 0.65),
        "white": (0.6, 0.7),
    }
    for row in tables.rows("panels").values():
        if row["colour_class"] in ranges:
            low, high = ranges[row["colour_class"]]
            assert low <= row["solar_reflectance"] <= high


def test_building_uses_have_hours_and_setpoints_in_order():
    frame = _frame("building_uses")
    assert set(frame["conditioning"]) == {"heated-and-cooled", "heated", "none"}
    assert (frame["weekday_start_h"] < frame["weekday_end_h"]).all()
    assert frame[["weekday_start_h", "weekday_end_h"]].stack().between(0, 24).all()
    assert (frame["cooling_setpoint_c"] >= frame["heating_setpoint_c"] + 1).all()
    assert frame[["saturday", "sunday"]].isin([0, 1]).all(axis=None)
    fractions = frame[["window_fraction", "unoccupied_gain_fraction"]].stack()
    assert fractions.between(0, 1).all()


def test_prices_are_those_of_the_case_and_of_the_retrofit():
    assert set(tables.keys("prices")) == set(facts_of(Prices)) - {"duties"} | {"retrofit_per_m2"}
    assert (_frame("prices")["value"] >= 0).all()


def test_prices_of_roofing_work_say_that_they_are_demo():
    """No price of roofing work is a published fact."""
    work = [key for key in tables.keys("prices") if key.endswith(("_m2", "per_kg", "lift"))]
    assert len(work) == 6
    assert {tables.rows("prices")[key]["basis"] for key in work} == {"demo"}


# ASHRAE 90.1-2019 Tables 5.5-0 to 5.5-8, insulation entirely above deck, whole R-values.
@pytest.mark.parametrize(("zone", "r_ip"), list(enumerate([25, 20, 25, 25, 30, 30, 30, 35, 35])))
def test_insulation_minimum_by_zone(zone, r_ip):
    row = tables.rows("insulation_minimums")[str(zone)]
    assert row["resistance_m2k_w"] * R_IP == pytest.approx(r_ip, abs=0.001)


def test_climates_have_a_file_a_zone_and_a_place_each():
    frame = _frame("climates")
    assert len(frame) == 160
    assert frame["climate_zone"].str.fullmatch(r"[0-8][ABC]?").all()
    assert frame["latitude_deg"].between(13, 72).all()
    assert frame["utc_offset_h"].drop("guam-gu").between(-10, -4).all()
    assert frame["utc_offset_h"]["guam-gu"] == 10
    assert len(set(frame["state"])) == 52  # 50 states, Puerto Rico, Guam


@pytest.mark.parametrize(
    "station",
    [
        pytest.param(key, marks=[pytest.mark.thorough] * bool(place % 8))
        for place, key in enumerate(tables.keys("climates"))
    ],
)
def test_a_climate_is_a_physical_year_of_three_hour_means(station):
    lines = tables.read_text(f"climates/{station}.csv.gz").splitlines()
    year = pd.DataFrame([line.split(",") for line in lines[1:]], columns=lines[0].split(","))
    year = year.astype(float)
    assert year.shape == (2920, 6)
    assert year["dry_bulb_c"].between(-50, 55).all()
    # In 87 of 467,200 blocks (70 of them of Bettles) the source's dew point passes its dry bulb by
    # more than rounding; read as a climate, it is held at the dry bulb.
    assert (year["dew_point_c"] > year["dry_bulb_c"] + 0.5).sum() <= 70 * (
        station == "bettles-ak"
    ) + 7
    assert year["sky_cover_tenths"].between(0, 10).all()
    # In 21 blocks the source's diffuse passes its global irradiance, by 23 W/m² at most.
    assert (year["dhi_w_m2"] <= year["ghi_w_m2"] + 25).all()


def test_degree_days_of_the_index_agree_with_the_tables():
    """Daily means of three-hour means are daily means of hours: base 18.333 °C, to 1 °C·d."""
    for station, row in tables.rows("climates").items():
        lines = tables.read_text(f"climates/{station}.csv.gz").splitlines()
        air = pd.Series([float(line.split(",")[0]) for line in lines[1:]])
        below = 65 / 1.8 - 32 / 1.8 - air.groupby(air.index // 8).mean()
        assert below.clip(lower=0).sum() == pytest.approx(row["heating_degree_days_18c"], abs=8)


def test_the_demo_says_that_it_is_invented_and_is_a_case_that_the_api_takes():
    demo = tables.read_json("demo/case.json")
    assert "invented" in demo["name"]
    loaded = load_case(demo)
    assert loaded.units == "ip"
    assert loaded.case.roof.area_m2 == pytest.approx(24000 * 0.3048**2)


@pytest.mark.parametrize("covering", tables.keys("coverings"))
def test_the_life_of_a_covering_is_central_among_its_sources(covering):
    """To half a year; at least three sources, of two kinds, each with its year and kind."""
    row = tables.rows("coverings")[covering]
    if row["life_family"] is None:
        return
    told = sources(row["life_family"])
    assert len(told) >= 3
    assert len({each["kind"] for each in told}) >= 2
    assert all(each["year"] and each["low_y"] <= each["high_y"] for each in told)
    assert row["service_life_y"] == pytest.approx(life_range(row["life_family"]).likely_y, abs=0.5)


def test_a_published_life_names_its_publisher_title_and_address():
    for each in tables.rows("life_sources").values():
        assert (each["basis"] == "claimed") == (each["kind"] in {"claimed", "warranty"}), each
        if each["basis"] in {"published", "claimed"}:
            assert re.search(r'^[^"]+, ".+".*\b\w+\.(com|org|design)\b', each["source"]), each


def test_the_life_of_metal_is_central_among_its_sources():
    assert MetalRetrofit().service_life_y == life_range("standing-seam").likely_y
