"""A table of roofs reads the same from every encoding, delimiter and unit, and faults by cell."""

import io

import numpy as np
import openpyxl
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from processor_time import within

from api.portfolio.portfolio_requests import as_problem
from api.portfolio.reading.any_table import open_table
from api.portfolio.reading.cells import MAX_TEXT
from api.portfolio.reading.data_table import MAX_RECORDS
from api.portfolio.reading.fault_kinds import TableError
from api.portfolio.reading.headers import slug, titles
from lcc import tables
from lcc.portfolio.columns import columns

HEADER = ["name", "climate", "roof_area_m2", "roof_type", "covering", "age", "gas_price_per_kwh"]
ROOFS = [
    ["Öhringen „Süd“, hall 1", "tulsa-ok", "1250.5", "steel-deck-perlite", "epdm-black", "12", ""],
    ['Two\nlines "quoted"', "Austin, TX", "800", "concrete-deck-bare", "tpo-white", "3.5", "0.04"],
    ["007", "miami-fl", "2e3", "plywood-deck-bare", "built-up-gravel", "0", "0.05"],
]
ENCODINGS = {
    "utf-8": "utf-8",
    "utf-8 with mark": "utf-8-sig",
    "utf-16 little end with mark": "utf-16",
    "utf-16 big end with mark": "utf-16-be",
    "utf-16 little end without mark": "utf-16-le",
    "windows-1252": "cp1252",
}


def written(rows, delimiter=",", ending="\n", decimal="."):
    """Rows as delimited text; every cell with a delimiter, quote or line end in quotes."""

    def cell(text):
        text = text.replace(".", decimal) if text[:1].isdigit() else text
        quoted = any(mark in text for mark in (delimiter, '"', "\n"))
        return '"' + text.replace('"', '""') + '"' if quoted else text

    return ending.join(delimiter.join(map(cell, row)) for row in rows) + ending


def encoded(text, encoding):
    mark = "\ufeff" if encoding == "utf-16-be" else ""
    return (mark + text).encode(encoding)


def checked(content, **options):
    checker = open_table(io.BytesIO(content), **options)
    runs = list(checker.runs(rows=options.pop("rows", 10_000)))
    frame = pd.concat([run.frame for run in runs])
    faults = [fault for run in runs for _, faults in run.bad for fault in faults]
    return frame, faults, checker


def table(*rows, header=HEADER):
    return written([header, *rows]).encode()


REFERENCE = checked(written([HEADER, *ROOFS]).encode())[0]


def test_the_reference_is_what_was_written():
    assert REFERENCE["name"].tolist() == [row[0] for row in ROOFS]
    assert REFERENCE["climate"].tolist() == ["tulsa-ok", "austin-tx", "miami-fl"]
    assert REFERENCE["roof_area_m2"].tolist() == [1250.5, 800.0, 2000.0]
    assert REFERENCE["gas_price_per_kwh"].tolist() == [None, 0.04, 0.05]


@pytest.mark.parametrize("encoding", ENCODINGS.values(), ids=ENCODINGS)
@pytest.mark.parametrize("delimiter", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"], ids=["lf", "crlf", "cr"])
def test_every_encoding_delimiter_and_line_end_gives_one_answer(encoding, delimiter, ending):
    text = written([HEADER, *ROOFS], delimiter, ending, "," if delimiter == ";" else ".")
    frame, faults, checker = checked(encoded(text, encoding))
    assert not faults
    pd.testing.assert_frame_equal(frame, REFERENCE)
    assert ("decimal comma" in checker.table.read_as) == (delimiter == ";")


def test_a_spreadsheet_gives_the_same_answer():
    book = openpyxl.Workbook()
    book.active.append(HEADER)
    for row in ROOFS:
        numbers = [float(cell) if cell else None for cell in (row[2], row[5], row[6])]
        book.active.append([row[0], row[1], numbers[0], row[3], row[4], *numbers[1:]])
    file = io.BytesIO()
    book.save(file)
    frame, faults, _ = checked(file.getvalue())
    assert not faults
    pd.testing.assert_frame_equal(frame, REFERENCE)


def test_a_line_that_states_the_delimiter_is_no_header():
    text = "sep=;\r\n" + written([HEADER, *ROOFS], ";", "\r\n", ",")
    pd.testing.assert_frame_equal(checked(text.encode())[0], REFERENCE)


def test_a_decimal_point_in_a_semicolon_file_is_read_where_stated_or_proved_by_every_cell():
    text = written([HEADER, *ROOFS], ";").encode()
    pd.testing.assert_frame_equal(checked(text, decimal="point")[0], REFERENCE)
    pd.testing.assert_frame_equal(checked(text)[0], REFERENCE)
    mixed = text.replace(b"3.5", b"3,5")  # both marks are proved, so neither is
    _, faults, _ = checked(mixed)
    assert {fault.value for fault in faults} == {"1250.5", "0.04", "0.05"}


def test_every_title_is_one_column_in_one_unit():
    seen = {}
    for column in columns():
        for title, (owner, unit) in titles("si").items():
            if owner is column:
                assert seen.setdefault(title, unit) == unit
    assert set(seen) == set(titles("si"))


@pytest.mark.parametrize(
    ("title", "cell", "expected"),
    [
        # Exact by definition: foot 0.3048 m; US therm 1.054804e8 J (NIST SP 811, appendix B).
        ("roof_area_ft2", "24000", 24000 * 0.3048**2),
        ("Roof area [ft²]", "24000", 24000 * 0.3048**2),
        ("roof-area (m2)", "24000", 24000.0),
        ("roof_area", "24000", 24000 * 0.3048**2),
    ],
)
def test_the_unit_of_a_title_is_obeyed(title, cell, expected):
    header = [title if name == "roof_area_m2" else name for name in HEADER]
    row = [cell if name == "roof_area_m2" else value for name, value in zip(HEADER, ROOFS[0])]  # noqa: B905
    frame, _, _ = checked(table(row, header=header))
    assert frame["roof_area_m2"].iloc[0] == pytest.approx(expected, rel=1e-12)


def test_a_price_by_the_therm_is_a_price_by_the_kilowatt_hour():
    header = [name.replace("gas_price_per_kwh", "gas_price_per_therm") for name in HEADER]
    frame, _, _ = checked(table([*ROOFS[0][:-1], "1.05"], header=header))
    # 1 US therm = 1.054804e8 J = 29.3001 kWh (NIST SP 811, appendix B)
    assert frame["gas_price_per_kwh"].iloc[0] == pytest.approx(1.05 / 29.30011, rel=1e-6)


def test_unknown_missing_and_repeated_columns_come_together_with_the_nearest_names():
    header = ["name", "climte", "roof_area_ft2", "roof_area_m2", "colour", "roof_type", "age"]
    with pytest.raises(TableError) as caught:
        open_table(io.BytesIO(table(header=header)))
    told = {(fault.column, fault.letter): fault.rule for fault in caught.value.faults}
    assert "climate" in told["climte", "B"]
    assert "twice" in told["roof_area_m2", "D"]
    assert "no known name" in told["colour", "E"]
    assert "missing" in told["climate", ""]
    assert "missing" in told["covering", ""]
    assert len(told) == 5


def test_unknown_columns_are_passed_over_when_asked():
    content = table([*ROOFS[0], "red"], header=[*HEADER, "colour"])
    frame, faults, checker = checked(content, ignore_unknown=True)
    assert not faults
    assert len(frame) == 1
    assert checker.header.passed_over == ("colour",)


def test_every_bad_cell_is_told_by_line_record_column_letter_value_and_rule():
    bad = ["B", "nowhere", "12 acres", "steel-deck-perlite", "epdm-blak", "-3", "1,234"]
    frame, faults, _ = checked(table(ROOFS[1], bad, ROOFS[2]))
    assert len(frame) == 2
    assert all((fault.line, fault.record) == (4, 2) for fault in faults)  # row 1 has two lines
    told = {fault.column: fault for fault in faults}
    assert told["climate"].letter == "B"
    assert told["roof_area_m2"].value == "12 acres"
    assert "at least 1, at most 1,000,000 m²" in told["roof_area_m2"].rule
    assert "epdm-black" in told["covering"].rule
    assert "at least 0, at most 100 y" in told["age"].rule
    assert told["gas_price_per_kwh"].rule == "at least 0, at most 1 $/kWh"  # 1234


@pytest.mark.parametrize("cell", ["nan", "inf", "1_000", "٣", "0x10", "1e999", "--1", "1 2", "=1"])
def test_what_a_programming_language_reads_as_a_number_is_not_one_here(cell):
    row = [*ROOFS[0][:2], cell, *ROOFS[0][3:]]
    frame, faults, _ = checked(table(row))
    assert frame.empty
    assert [fault.value for fault in faults] == [cell]


def test_a_range_is_told_in_the_unit_of_the_column():
    header = [name.replace("roof_area_m2", "roof_area_ft2") for name in HEADER]
    _, faults, _ = checked(table([*ROOFS[0][:2], "5", *ROOFS[0][3:]], header=header))
    assert "at least 10.8, at most 10,700,000 ft²" in faults[0].rule


def test_a_name_comes_once_and_an_empty_needed_cell_is_a_fault():
    frame, faults, _ = checked(table(ROOFS[0], ROOFS[0], ["", *ROOFS[0][1:]]))
    assert len(frame) == 1
    assert "line 2 has it too" in faults[0].rule
    assert "every building needs it" in faults[1].rule


def test_a_row_with_more_or_fewer_cells_than_the_header_is_one_fault():
    frame, faults, _ = checked(table(ROOFS[2][:4], [*ROOFS[0], "", ""], [*ROOFS[1], "more"]))
    assert len(frame) == 1  # empty cells beyond the header are forgiven
    assert ["as many cells" in fault.rule for fault in faults] == [True, True]


def test_a_quotation_mark_that_is_never_closed_is_told_by_its_line():
    content = table(ROOFS[0]) + b'"open,tulsa-ok,1\n' + b"x,y,z\n" * 50_000
    with pytest.raises(TableError, match="line 3: a quotation mark"):
        checked(content)


@pytest.mark.parametrize(
    ("content", "status"),
    [
        (b"", 422),
        (b"\n\n,,,\n", 422),
        (b"%PDF-1.7", 415),
        (b"\x89PNG\r\n\x1a\n", 415),
        (b"\xd0\xcf\x11\xe0rest", 415),
        (b"name\0;climate", 415),  # NULs are no text
        (b"name\x81\xff", 415),
        (b"PK\x03\x04 broken", 422),
    ],
)
def test_what_is_no_table_is_refused_with_a_fitting_status(content, status):
    with pytest.raises(TableError) as caught:
        open_table(io.BytesIO(content))
    assert caught.value.status == status
    assert [fault.line for fault in caught.value.faults] == [int(b"\0" in content)]


def test_names_with_control_characters_or_of_great_length_are_refused():
    rows = [["a\x07b", *ROOFS[0][1:]], ["x" * (MAX_TEXT + 1), *ROOFS[0][1:]]]
    frame, faults, _ = checked(table(*rows))
    assert frame.empty
    assert len(faults) == 2


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.text(max_size=12), min_size=7, max_size=7), max_size=6))
def test_any_text_is_either_good_or_bad_and_the_counts_add_up(rows):
    content = written([HEADER, *rows]).encode("utf-8", "replace")
    try:
        checker = open_table(io.BytesIO(content))
        runs = list(checker.runs(rows=2))
    except TableError:
        return
    good = sum(len(run.frame) for run in runs)
    bad = sum(len(run.bad) for run in runs)
    assert good + bad == checker.records


def large(rows):
    rng = np.random.default_rng(1)
    keys = [tables.keys(name) for name in ("climates", "roof_types", "coverings", "building_uses")]
    picks = [rng.choice(some, rows) for some in keys]
    area = rng.uniform(3e3, 9e4, rows).round(1)
    age = rng.uniform(0, 20, rows).round(1)
    lines = (
        f"B{i:07d},{picks[0][i]},{area[i]},{picks[1][i]},{picks[2][i]},{age[i]},{picks[3][i]}"
        for i in range(rows)
    )
    header = "name,climate,roof_area_ft2,roof_type,covering,age,use\n"
    return (header + "\n".join(lines)).encode()


@pytest.mark.thorough
def test_100_000_rows_are_checked_within_five_seconds():
    content = large(100_000)
    with within(5):
        checker = open_table(io.BytesIO(content))
        good = sum(len(run.frame) for run in checker.runs())
    assert good == 100_000


@pytest.mark.thorough
def test_more_rows_than_one_table_may_have_are_refused():
    with pytest.raises(TableError, match=f"at most {MAX_RECORDS:,} rows") as caught:
        open_table(io.BytesIO(large(MAX_RECORDS + 1)))
    assert as_problem(caught.value).name == "too-many-rows"


def test_units_end_titles_without_any_two_of_a_kind_alike():
    assert slug("$/10^6 Btu") == "per_million_btu"
    assert slug("m^2*K/W") != slug("h*ft^2*degF/Btu")
