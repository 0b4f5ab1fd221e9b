"""Numbers as people type them: each spelling has one answer or is refused with what to type."""

import io

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.portfolio.reading.any_table import open_table
from api.portfolio.reading.number_text import MarkError, Marks, plain_number, proof, readings

HEADER = (
    "name,climate,roof_area_m2,roof_type,covering,age,wet_fraction,"
    "insulation_h_ft2_degf_btu,electricity_price_per_kwh"
)
GOOD = {
    "name": "A", "climate": "tulsa-ok", "roof_area_m2": "1000", "roof_type": "steel-deck-perlite",
    "covering": "epdm-black", "age": "3", "wet_fraction": "", "insulation_h_ft2_degf_btu": "",
    "electricity_price_per_kwh": "",
}  # fmt: skip
ATTRIBUTES = {
    "roof_area_m2": "roof_area_m2", "age": "age_y", "wet_fraction": "wet_fraction",
    "insulation_h_ft2_degf_btu": "insulation_m2k_w",
    "electricity_price_per_kwh": "electricity_price_per_kwh",
}  # fmt: skip
# 1 h ft2 degF/Btu = 0.1761102 m2 K/W (NIST SP 811, appendix B.9)
R_VALUE = 0.1761102


def read(cells, delimiter=",", other=(), **options):
    """One row with `cells`, after rows of `other` areas: what was read of it, and its faults."""
    rows = [{**GOOD, "name": f"Other {i}", "roof_area_m2": area} for i, area in enumerate(other)]
    rows.append({**GOOD, **cells})
    lines = [HEADER.replace(",", delimiter)]
    lines += [
        delimiter.join(f'"{cell}"' if delimiter in cell else cell for cell in row.values())
        for row in rows
    ]
    checker = open_table(io.BytesIO("\n".join(lines).encode()), **options)
    runs = list(checker.runs())
    frame = pd.concat([run.frame for run in runs])
    faults = [fault for run in runs for record, told in run.bad for fault in told]
    mine = frame[frame["name"] == "A"]
    return (mine.iloc[0] if len(mine) else None), faults


def value(column, text, delimiter=",", other=(), **options):
    row, faults = read({column: text}, delimiter, other, **options)
    return (
        [fault.rule for fault in faults if fault.value == text]
        if row is None
        else row[ATTRIBUTES[column]]
    )


@pytest.mark.parametrize(
    ("text", "delimiter", "other", "decimal"),
    [
        ("20000", ",", (), "auto"),
        ("20,000", ",", (), "auto"),  # commas part the cells: the point is the decimal mark
        ("20,000.0", ";", (), "auto"),
        ("20.000,0", ",", (), "comma"),
        ("20 000", ",", (), "auto"),
        ("20 000", ";", (), "auto"),
        ("20\u00a0000", "\t", (), "auto"),
        ("20\u202f000", "\t", (), "auto"),
        ("20'000", ";", (), "auto"),
        ("20\u2019000", ",", (), "auto"),
        ("20'000.0", ";", (), "auto"),
        ("20,000", ";", ("1250.5",), "auto"),  # another cell proves the decimal point
        ("20,000", "\t", ("1250.5",), "auto"),
        ("20.000", ";", ("1250,5",), "auto"),
        ("20.000", "\t", ("1.234.567,5",), "auto"),
        ("20,000", ";", ("1,234,567",), "auto"),  # two like marks are thousands
        ("20.000", ";", (), "comma"),
        ("20,000", ";", (), "point"),
        ("2e4", ";", (), "auto"),
        ("20000,0", ";", (), "auto"),
    ],
)
def test_every_spelling_of_20000_is_20000(text, delimiter, other, decimal):
    assert value("roof_area_m2", text, delimiter, other, decimal=decimal) == 20000


@pytest.mark.parametrize(
    ("text", "delimiter", "other"),
    [
        ("20,000", ";", ()),
        ("24,500", ";", ()),
        ("20,000", "\t", ()),
        ("20.000", ",", ()),
        ("20.000", ";", ()),
        ("20.000", ",", ("1250.5",)),  # a decimal point elsewhere does not make it 20
        ("20,000", ";", ("1250,5",)),
        ("20,000", ";", ("1250,5", "1250.5")),  # both marks are proved, so neither is
        ("20,000", ",", ("1250,5",)),
    ],
)
def test_what_could_be_a_thousand_times_wrong_is_refused_with_both_readings(text, delimiter, other):
    (rule,) = value("roof_area_m2", text, delimiter, other)
    grouped = text.replace(",", "").replace(".", "")
    assert rule.startswith(f"this could be {grouped} or ")
    assert "type one of them, or state the decimal mark" in rule


def test_a_whole_column_of_semicolon_thousands_is_refused_and_not_a_thousandth():
    row, faults = read({"roof_area_m2": "20,000"}, ";", ["21,731", "23,462", "26,924"])
    assert row is None
    assert [fault.value for fault in faults] == ["21,731", "23,462", "26,924", "20,000"]


def test_what_was_told_to_be_typed_is_read():
    for typed, expected in (("21731", 21731), ("21,7310", 21.731)):
        assert value("roof_area_m2", typed, ";") == expected


@pytest.mark.parametrize(
    ("column", "text", "expected"),
    [
        ("age", "12.125", 12.125),  # 12,125 years are none
        ("electricity_price_per_kwh", "1.125", 1.125),
        ("electricity_price_per_kwh", "0.125", 0.125),
        ("wet_fraction", ".125", 0.125),
        ("roof_area_m2", "1250.125", 1250.125),
    ],
)
def test_three_decimals_are_read_where_no_other_reading_is_possible(column, text, expected):
    assert value(column, text) == expected


@pytest.mark.parametrize(
    ("column", "text", "expected"),
    [
        ("electricity_price_per_kwh", "$0.12", 0.12),
        ("electricity_price_per_kwh", "$ 0.12", 0.12),
        ("electricity_price_per_kwh", "US$0.12", 0.12),
        ("electricity_price_per_kwh", "USD 0.12", 0.12),
        ("wet_fraction", "10%", 0.1),
        ("wet_fraction", "35 %", 0.35),  # 35 x 0.01 would be 0.35000000000000003
        ("wet_fraction", "12.5%", 0.125),
        ("wet_fraction", "0.1", 0.1),
    ],
)
def test_signs_of_a_columns_kind_are_read_exactly(column, text, expected):
    assert value(column, text) == expected


@pytest.mark.parametrize("text", ["R-11", "R11", "r-11", "R 11", "11", "R-11.0"])
def test_an_r_value_is_read_as_the_trade_writes_it(text):
    assert value("insulation_h_ft2_degf_btu", text) == pytest.approx(11 * R_VALUE, rel=1e-6)


def test_an_r_value_of_us_units_is_refused_in_a_metric_column():
    content = HEADER.replace("h_ft2_degf_btu", "m2_k_w") + "\n"
    content += ",".join({**GOOD, "insulation_h_ft2_degf_btu": "R-11"}.values())
    (run,) = open_table(io.BytesIO(content.encode())).runs()
    ((_, (fault,)),) = run.bad
    assert "US units" in fault.rule


@pytest.mark.parametrize(
    ("column", "text", "told"),
    [
        ("age", "1999", "an age, not a year or a date: type the number of years, at least 0"),
        ("age", "06/15/1998", "an age, not a year or a date"),
        ("age", "1998-06-15 00:00:00", "an age, not a year or a date"),  # a spreadsheet's date
        ("wet_fraction", "10", "for a percentage type the sign too: 10%"),
        ("roof_area_m2", "45000 sf", "such as 12500 or 0.5; allowed: at least 1, at most"),
        ("roof_area_m2", "$5000", "type digits alone"),
        ("age", "10%", "type digits alone"),
        ("electricity_price_per_kwh", "€0.12", "type digits alone"),
        ("roof_area_m2", "12,5", "the table's decimal mark is a point; type 12.5, or state"),
        ("roof_area_m2", "1,23,456", "type digits alone"),
        ("roof_area_m2", "1,234 567", "type digits alone"),
        ("roof_area_m2", "0 123", "type digits alone"),
    ],
)
def test_a_number_that_cannot_be_used_is_told_what_to_type(column, text, told):
    (rule,) = value(column, text)
    assert told in rule


def test_how_the_marks_were_understood_is_told():
    def told(text, delimiter):
        content = HEADER.replace(",", delimiter) + "\n"
        content += delimiter.join({**GOOD, "roof_area_m2": text}.values())
        return open_table(io.BytesIO(content.encode())).table.read_as

    assert told("12,5", ";") == "utf-8, semicolon, decimal comma, as its cells show"
    assert told("12.5", ";") == "utf-8, semicolon, decimal point, as its cells show"
    assert told("12,500", ";") == "utf-8, semicolon, decimal comma, which no cell proves"


CONVENTIONS = st.sampled_from([("point", ",", "."), ("comma", ".", ",")])


@settings(max_examples=200)
@given(st.integers(1, 999_999_999), st.integers(0, 99), CONVENTIONS)
def test_grouped_numbers_with_cents_have_one_reading_whatever_the_convention(whole, cents, marks):
    name, group, decimal = marks
    text = f"{whole:,}".replace(",", group) + f"{decimal}{cents:02d}"
    assert readings(text) == {name: f"{whole}.{cents:02d}"}
    assert proof(text) == name


@settings(max_examples=200)
@given(st.text("0123456789.,' ", min_size=1, max_size=9), st.sampled_from(["point", "comma"]))
def test_no_reading_that_nobody_stated_is_a_thousandth_of_another(text, decimal):
    try:
        plain = plain_number(text, Marks(decimal, "proved"), lambda _: True)
    except MarkError:
        return
    others = [float(other) for other in readings(text).values()]
    assert float(plain) == max(others)
