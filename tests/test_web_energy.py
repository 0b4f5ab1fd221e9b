"""What the page tells of a year beside the charts: plant, uncooled rooms, drying."""

import pytest

from api import service
from lcc import tables
from web import answer_tables
from web.charts.figure import series_of, typical
from web.energy_table import energy_table


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


@pytest.mark.parametrize(("units", "hot"), [("ip", "85 °F"), ("si", "29.4 °C")])
def test_rooms_that_nothing_cools_are_told_by_their_temperature(units, hot):
    """85 °F is (85 - 32) / 1.8 = 29.44 °C."""
    table = energy_table(reply_of(use="warehouse-unconditioned", units=units))
    assert [name.split(",")[0] for name in table.columns[-3:]] == [
        "Highest indoors", "Mean indoors", f"Above {hot} indoors",
    ]  # fmt: skip


@pytest.mark.parametrize("water", [0.0, 0.4])
def test_drying_is_told_where_water_is_stated(water):
    reply = reply_of(water=water)
    retrofit = reply["alternatives"][1]
    said = answer_tables.dew_reading(reply, series_of(reply)[1], typical(retrofit)["condensation"])
    assert ("leaves in about" in said) == (water > 0)
    assert ("under a sealed cavity" in said) == (water > 0)
