"""Headers and words of an ordinary spreadsheet: each message says what to write."""

import io

import openpyxl
import pytest

from api.portfolio.column_aliases import _OTHERS, meant, tells_a_year
from api.portfolio.reading.any_table import open_table
from api.portfolio.reading.fault_kinds import TableError
from api.portfolio.reading.headers import plain, titles
from api.portfolio.vocabulary import fold, known_words, nearest
from lcc import tables
from lcc.portfolio.columns import columns

NEEDED = ["name", "climate", "roof_area_ft2", "roof_type", "covering", "age"]
ROOF = ["A", "tulsa-ok", "20000", "steel-deck-perlite", "epdm-black", "3"]
FACTS = {column.name: column.facts for column in columns()}


def told(header):
    """The message for each column of a header that is refused."""
    with pytest.raises(TableError) as caught:
        open_table(io.BytesIO(",".join(f'"{title}"' for title in header).encode()))
    return {fault.column: fault.rule for fault in caught.value.faults}


@pytest.mark.parametrize(
    ("title", "rule"),
    [
        ("Building", "if it is the name, name it name"),
        ("City", "if it is the climate, name it climate"),
        ("Square footage", "if it is the roof_area, name it roof_area_ft2 or roof_area_m2"),
        ("Existing roof", "if it is the covering, name it covering"),
        ("Layers", "if it is the coverings_in_place, name it coverings_in_place"),
        (
            "R-value",
            "if it is the insulation, name it insulation_h_ft2_degf_btu or insulation_m2_k_w",
        ),
        ("RTUs", "if it is the rooftop_units, name it rooftop_units"),
        ("Wet insulation %", "if it is the wet_fraction, name it wet_fraction_percent"),
        ("Gas ($/therm)", "if it is the gas_price, name it gas_price_per_therm"),
        ("Year installed", "name it age and give the years since then, not the year or date"),
        ("Notes", "no known name is near; delete it, or have columns that are not understood"),
        ("climte", "the nearest known names are climate"),
    ],
)
def test_a_title_that_is_not_understood_is_told_what_to_name_it(title, rule):
    assert told([*NEEDED, title])[title].startswith(f"unknown column; {rule}")


def test_the_suggested_names_are_understood_and_no_suggested_title_is_one_already():
    known = titles("ip")
    for column, others in _OTHERS.items():
        assert column in known
        for other in others:
            assert other == plain(other)
            assert other not in known
            assert meant(other) == (column, "") or tells_a_year(other)
    assert set(_OTHERS) == {column.name for column in columns()}


@pytest.mark.parametrize("title", ["Roof area (sq ft)", "roof_area_sf", "Roof area [sq ft]"])
def test_square_feet_are_understood_as_people_write_them(title):
    header = ",".join(NEEDED).replace("roof_area_ft2", title)
    checker = open_table(io.BytesIO(f"{header}\n{','.join(ROOF)}".encode()))
    (run,) = checker.runs()
    assert run.frame["roof_area_m2"].iloc[0] == pytest.approx(20000 * 0.3048**2, rel=1e-12)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("header", [NEEDED, ["Building", "City", "Area", "Deck", "Membrane"]])
def test_a_title_above_the_header_is_one_fault_that_says_to_delete_it(delimiter, header):
    text = f"Unified School District 12\n\n{delimiter.join(header)}\n{delimiter.join(ROOF)}\n"
    with pytest.raises(TableError) as caught:
        open_table(io.BytesIO(text.encode()))
    (fault,) = caught.value.faults
    assert fault.line == 1
    assert "rows 1 to 2 look like a title; delete it" in fault.rule
    assert "begins with row 3" in fault.rule


def test_a_title_in_a_spreadsheet_is_one_fault():
    book = openpyxl.Workbook()
    for row in (["Unified School District - roof inventory 2026"], NEEDED, ROOF):
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    with pytest.raises(TableError) as caught:
        open_table(file)
    (fault,) = caught.value.faults
    assert "row 1 looks like a title; delete it" in fault.rule


def test_a_header_without_any_known_title_is_not_taken_for_a_title_row():
    assert len(told(["colour", "shade"])) == 2 + 6


@pytest.mark.parametrize(
    ("column", "text", "key"),
    [
        ("covering", "EPDM black", "epdm-black"),
        ("covering", "EPDM single-ply, black", "epdm-black"),
        ("covering", "built up gravel", "built-up-gravel"),
        ("use", "Warehouse, heated", "warehouse-heated"),
        ("use", "SCHOOL", "school"),
        ("roof_type", "Steel deck, 2 in of polyisocyanurate board", "steel-deck-polyiso"),
        ("heating", "Heat pump", "heat-pump"),
        ("climate", "Tulsa, OK", "tulsa-ok"),
        ("climate", "tulsa ok", "tulsa-ok"),
        ("climate", "Dallas, TX", "dallas-tx"),
        ("climate", "Fort Worth, TX", "dallas-tx"),
        ("climate", "Denver, CO", "golden-co"),  # the table says "Golden (Denver area)"
        ("climate", "Tacoma, WA", "tacoma-wa"),
        ("climate", "New York, NY", "new-york-ny"),
        ("climate", "Charleston, WV", "charleston-wv"),
    ],
)
def test_a_name_of_a_table_is_as_good_as_its_key(column, text, key):
    assert known_words(FACTS[column]).get(text) == key


def test_no_two_rows_of_a_table_are_written_alike():
    for column in ("climate", "roof_type", "covering", "use", "panel"):
        words = known_words(FACTS[column])
        for key, row in tables.rows(FACTS[column].table).items():
            assert words.get(key) == key
            name = f"{row['city']}, {row['state']}" if column == "climate" else row["name"]
            assert words.folded[fold(name)] == key


@pytest.mark.parametrize(
    ("column", "text", "suggested"),
    [
        ("use", "gym", '"gymnasium"'),
        ("covering", "BUR gravel", '"built-up-gravel"'),
        ("covering", "epdm-blak", '"epdm-black"'),
        ("climate", "Saint Clair, MO", '"Kansas City, MO"'),
        ("climate", "Tulsa", '"Tulsa, OK"'),
        ("climate", "Portland, ME", '"Portland, OR"'),
    ],
)
def test_a_word_that_is_not_known_is_told_the_nearest_in_quotes_and_the_way_to_all(
    column, text, suggested
):
    words = known_words(FACTS[column])
    assert words.get(text) is None
    rule = nearest(text, words)
    assert suggested in rule
    assert rule.endswith("the data dictionary lists all")


def test_a_place_far_from_any_is_told_no_place_that_is_only_spelled_alike():
    words = known_words(FACTS["climate"])
    assert "Tulsa" not in nearest("Saint Clair, MO", words)
    assert nearest("nowhere", words) == words.rule


@pytest.mark.thorough
def test_many_words_that_are_not_known_take_no_long_time():
    rows = [",".join([f"R{i}", f'"town {i}, zz"', *ROOF[2:]]) for i in range(9_999)]
    checker = open_table(io.BytesIO("\n".join([",".join(NEEDED), *rows]).encode()))
    faults = [fault for run in checker.runs() for _, told in run.bad for fault in told]
    assert len(faults) == 9_999  # one more and the table is refused
    assert all("a place with a climate" in fault.rule for fault in faults)
