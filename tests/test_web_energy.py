"""What the page tells of a year beside the charts: plant, uncooled rooms, drying."""

import pytest

from api import service
from lcc import tables
from web import answer_tables, new_roof
from web.charts.figure import series_of, typical
from web.energy_table import energy_table


def fmt_number(text):
    return float(text.strip("$").replace(",", ""))


def reply_of(use="school", water=0.0, units="ip"):
    document = tables.read_json("demo/case.json")
    document["building"]["use"] = use
    document["alternatives"] = document["alternatives"][:1]
    document["alternatives"][0]["cavity"]["roof_moisture"] = water
    document["uncertainty"] = {"draws": 0}
    loaded = service.load_case(document)
    return service.comparison_reply(loaded.case, units)


def test_the_plant_before_and_after_is_in_the_table():
    table = energy_table(reply_of())
    place = next(i for i, name in enumerate(table.columns) if name.startswith("Cooling plant"))
    assert all(float(cells[place].replace(",", "")) > 0 for _, cells in table.rows)
    assert not any("indoors" in name for name in table.columns)


def test_the_saving_of_each_spell_of_years_is_found_by_subtraction():
    """A white membrane before it is insulated has a row, so that no bill is without one."""
    roof = {"units": "ip", "site": {"place": "74103"}, "building": {"use": "office"},
            "roof": {"area": 42_000.0, "covering": "epdm-black", "age": 19.0},
            "base_case": {"kind": "membrane", "covering": "tpo-white", "price": 7.4},
            "alternatives": [{"kind": "metal-retrofit", "price": 13.2}],
            "economics": {"study_period": 40}}  # fmt: skip
    loaded = service.load_case(new_roof.completed(roof, ""))
    reply = service.comparison_reply(loaded.case, loaded.units)
    rows = {cells[0]: fmt_number(cells[-1]) for _, cells in energy_table(reply).rows}
    metal = rows["Metal roof"]
    lasting = [one for one in reply["alternatives"][1]["energy_by_phase"]["phases"]
               if one["last_year"] > one["first_year"]]  # fmt: skip
    assert len(lasting) > 1
    for one in lasting:
        years = f"years {one['first_year']} to {one['last_year']}"
        own = rows[f"New membrane, {years}"]
        assert own - metal == pytest.approx(one["bill_saved"], abs=1.0)  # as they are rounded


@pytest.mark.parametrize(("units", "hot"), [("ip", "85 °F"), ("si", "29.4 °C")])
def test_rooms_that_nothing_cools_are_told_by_their_temperature(units, hot):
    """85 °F is (85 - 32) / 1.8 = 29.44 °C."""
    table = energy_table(reply_of(use="warehouse-unconditioned", units=units))
    assert [name.split(",")[0] for name in table.columns[-3:]] == [
        "Highest indoors", "Mean indoors", f"Above {hot} indoors",
    ]  # fmt: skip
    assert "doors and windows are counted as shut" in table.note
    assert not energy_table(reply_of(use="office", units=units)).note


@pytest.mark.parametrize("water", [0.0, 0.4])
def test_drying_is_told_where_water_is_stated(water):
    reply = reply_of(water=water)
    retrofit = reply["alternatives"][1]
    said = answer_tables.dew_reading(reply, series_of(reply)[1], typical(retrofit)["condensation"])
    assert ("leaves in about" in said) == (water > 0)
    assert ("under a sealed cavity" in said) == (water > 0)


def test_a_membrane_laid_at_once_is_not_the_roof_of_today():
    """Over the old one now and after a tear-off later: both are the new membrane's years."""
    document = tables.read_json("demo/case.json")
    document["base_case"] |= {"method": "recover-where-allowed", "start": "now"}
    document["roof"] |= {"coverings": 1, "wet_fraction": 0.0, "ponding": "none"}
    document["uncertainty"] = {"draws": 0}
    reply = service.comparison_reply(service.load_case(document).case, "ip")
    base = reply["alternatives"][0]
    assert len(base["energy"]) > 1
    names = [cells[0] for _, cells in energy_table(reply).rows]
    assert not any("today" in name for name in names)
    assert f"{base['name']}, years 1 to {base['energy'][0]['years'][-1]}" in names
