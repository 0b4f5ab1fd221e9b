"""A table as people keep it becomes usable by one mapping, and no cell is silently misread."""

import io
import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import xlsxwriter
from click.testing import CliRunner

from api.portfolio.intake import from_rows, from_table
from api.portfolio.mapping import as_document, from_document, from_text, headed, propose, report
from api.portfolio.mapping.propose import words_of
from api.portfolio.reading.any_table import any_table, open_table
from api.portfolio.reading.fault_kinds import TableError
from api.portfolio.table_template import bad_rows
from api.problems import Problem
from lcc.place import locate
from web.cli import main
from web.portfolio_mapping import meanings

YEAR = 2026
FT2 = 0.3048**2  # the international foot, exactly
R = 0.17611  # of 1 h·ft²·°F/Btu, m²K/W
TITLES = [
    "AssetID", "FacilityName", "City", "St", "ZipCode", "GrossFloorArea(SF)", "# of Floors",
    "Existing Roof", "Yr. Roof Installed", "PrimaryUse", "% Wet", "Electricity Use (kWh)",
    "DataYear", "Notes",
]  # fmt: skip
# What the table says, and what it means.
USES = {
    "Office": "office", "BUSINESS": "office", "Education": "school", "K-12 School": "school",
    "elementary  school": "school", "Storage": "warehouse-heated", "Health Care": "health-clinic",
    "Worship": "worship", "Gym": "gymnasium", "Retail Store": "retail", "Fire Station": "office",
    "unknown": None,
}  # fmt: skip
COVERINGS = {
    "EPDM": "epdm-black", "epdm (60 mil)": "epdm-black", "BUR": "built-up-gravel",
    "Tar and Gravel": "built-up-gravel", "Mod. Bit.": "modified-bitumen-cap",
    "Modified Bitumen": "modified-bitumen-cap", "TPO ": "tpo-white", "PVC": "pvc-white",
    "N/A": None,
}  # fmt: skip
TOWNS = [
    ("Joliet", "IL", "60431"), ("Peabody", "MA", "1960"), ("Round Rock", "TX", "78664"),
    ("Mesa", "AZ", "85201"), ("Kent", "WA", "98030"),
]  # fmt: skip


def messy(rows, seed):
    """A table of twenty oddities, and what each of its rows truly is.

    Titles below a heading and an empty row, run together, with units and signs; floor area and
    storeys, with thousands marks, words, about-signs, in thousands, as ranges; years, dates, 0 and
    words for unknown; towns without a station, ZIP codes that lost their zero; others' words, odd
    capitals and blanks; names that repeat, made distinct by a number; percentages with the sign;
    columns that mislead, notes, empty rows, and a row of totals.
    """
    draw = np.random.default_rng(seed)
    lines = [["Facilities inventory, all regions"] + [""] * 13, [""] * 14, TITLES]
    truth = []
    for row in range(rows):
        area, floors = int(draw.integers(4, 300)) * 500, int(draw.choice([1, 1, 1, 2, 3]))
        year, kind = int(draw.integers(2004, YEAR)), int(draw.integers(0, 6))
        town, state, code = TOWNS[draw.integers(len(TOWNS))]
        use, cover = (str(draw.choice(list(words))) for words in (USES, COVERINGS))
        sizes = [
            f"{area:,}", f"~{area}", f"{area:,} SF", f"{area / 1000:g}k",
            f"{area - 500}-{area + 500}", f"{area} sq. ft.",
        ]  # fmt: skip
        dates = [str(year), f"5/1/{year}", f"{year}-05-01", f"May {year}", "0", "unknown"]
        lines.append(
            [
                f"A-{row:04d}", f"Hall {row % 900}", town.upper() if row % 7 == 0 else f"{town} ",
                state, code, sizes[kind], f"{floors} stories" if row % 5 == 0 else str(floors),
                cover, dates[row % 6], use, f"{row % 4 * 5}%" if row % 3 else "-",
                "120,000", "2025", "call first" if row % 11 == 0 else "",
            ]
        )  # fmt: skip
        truth.append(
            {
                "owner_id": f"A-{row:04d}",
                "climate": locate(f"{town}, {state}").station.key,
                "roof_area_m2": area / floors * FT2,
                "age_y": YEAR - year if row % 6 < 4 else None,
                "use": USES[use],
                "covering": COVERINGS[cover],
                "wet_fraction": row % 4 * 0.05 if row % 3 else None,
            }
        )
        if row % 97 == 0:
            lines.append([""] * 14)
    lines.append(["", "Total", "", "", "", "99,000,000", "", "", "", "", "", "", "", ""])
    return lines, pd.DataFrame(truth).set_index("owner_id")


def as_csv(lines):
    frame = pd.DataFrame(lines)
    return io.BytesIO(frame.to_csv(header=False, index=False).encode())


def as_workbook(lines):
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as book:
        book.add_worksheet("Cover").write(0, 0, "Confidential")
        sheet = book.add_worksheet("2026")
        for number, line in enumerate(lines):
            for column, cell in enumerate(line):
                whole = column != 4 and cell.isdecimal()
                sheet.write(number, column, int(cell) if whole else cell)
    file.seek(0)
    return file


def usable(file, mapping):
    checker = open_table(file, "ip", "auto", False, mapping)
    return pd.concat([run.frame for run in checker.runs()]), checker.records


@pytest.mark.parametrize("written", [as_csv, as_workbook])
@pytest.mark.parametrize("rows", [1000, pytest.param(2000, marks=pytest.mark.thorough)])
def test_a_messy_table_is_usable_after_one_mapping_and_nothing_is_misread(written, rows):
    lines, truth = messy(rows, seed=1)
    file = written(lines)
    mapping = propose(headed(any_table(file)), "ip", YEAR)
    frame, records = usable(file, mapping)
    assert records == rows  # the row of totals is none
    assert len(frame) >= 0.95 * rows
    found = frame.set_index("owner_id")
    told = truth.loc[found.index]
    assert (found["climate"] == told["climate"]).all()
    # a range's middle is the size itself; sizes in thousands keep six digits
    assert np.allclose(found["roof_area_m2"].astype(float), told["roof_area_m2"], rtol=1e-5)
    for name, default in (("age_y", 10.0), ("covering", "epdm-black"), ("use", None)):
        expected = told[name].astype(object).where(told[name].notna(), default)
        assert [None if pd.isna(one) else one for one in found[name]] == [
            None if pd.isna(one) else one for one in expected
        ], name
    wet = told["wet_fraction"].astype(float)
    assert np.allclose(found["wet_fraction"].astype(float), wet, equal_nan=True)
    assumed = found["assumed"].fillna("").str.contains("age")
    assert (assumed == told["age_y"].isna()).all()  # and so it is said of each row


SURVEY = [  # a district's own way to write: what its cells say, and what they are
    ["Roof inventory, August 2026 (sq ft unless noted)"] + [""] * 10,
    ["School", "Zip", "Roof Size", "Roof Type", "Installed", "Deck", "Insul.", "Stories", "Cond.",
     "Leaks last yr", "Warranty exp."],
    ["Gym", "61602", "1,000 m2", "BUR w/ gravel", "c. 1994", "Stl", "none", "two", "fair/poor",
     "none", "6/30/2031"],
    ["Shop", "61602", "9,000 sq ft", "Mod bit", "Summer 2001", "Tectum", '2" polyiso', "1", "Good",
     "several", "expired"],
    ["Hall", "61602", "4,000 SF", "TPO white", "2010", "Conc.", "3 inches", "1", "FAILED", "2-3",
     "N/A"],
    ["Annex", "61602", "1.200 m2", "PVC", "2011", "Stl", "R-20", "1", "Good", "1", "2019"],
    ["TOTAL", "61602", "99,000", "PVC", "2011", "Stl", "R-20", "1", "Good", "1", "2019"],
]  # fmt: skip


@pytest.mark.parametrize("words", ["TOTAL (60)", "Total, 60 buildings", "Total of all 60 roofs"])
def test_a_row_of_totals_that_counts_roofs_is_named_and_no_roof(words):
    file = as_csv([*SURVEY[:-1], [words, *SURVEY[-1][1:]]])
    table = headed(any_table(file))
    mapping = propose(table, "ip", YEAR)
    told = {line["said"]: line for line in report(table, mapping)}
    assert told["lines 7"]["note"] == "totals and notes, no roofs"
    frame, _ = usable(file, mapping)
    assert words not in frame["name"].tolist()


def test_mixed_units_words_for_numbers_and_a_row_of_totals_are_not_misread():
    """Areas in m² in a column of ft² are converted; an unnamed number is said to be unknown."""
    file = as_csv(SURVEY)
    table = headed(any_table(file))
    mapping = propose(table, "ip", YEAR)
    told = {line["said"]: line for line in report(table, mapping)}
    for said in ("insulation: 3 inches", "leaks: several"):
        assert (told[said]["means"], told[said]["rows"]) == ("", 1)
    assert (
        told['insulation: 2" polyiso']["means"] == "11.2"
    )  # 5.6 an inch, as its board's name says
    assert told["lines 7"]["part"] == "line"  # the totals
    frame, _ = usable(file, mapping)
    assert frame["name"].tolist() == ["Gym", "Shop", "Hall"]  # of "1.200 m2" nobody knows
    found = frame.set_index("name").T
    gym, shop, hall = (found[name].to_dict() for name in found)
    areas = [one["roof_area_m2"] for one in (gym, shop, hall)]
    assert areas == pytest.approx([1000.0, 9000 * FT2, 4000 * FT2], rel=1e-5)
    assert [one["age_y"] for one in (gym, shop, hall)] == [32, 25, 16]
    words = ("covering", "roof_type", "condition")
    assert [gym[one] for one in words] == ["built-up-gravel", "steel-deck-polyiso", "poor"]
    numbers = ("insulation_m2k_w", "storeys", "leaks", "warranty_left_y")
    assert [gym[one] for one in numbers] == [0.0, 2, 0.0, 5.0]
    assert [shop[one] for one in numbers] == [pytest.approx(11.2 * R, rel=0.005), 1, None, 0.0]
    assert [hall[one] for one in numbers] == [None, 1, 2.5, None]
    kept = as_document(mapping)
    kept["values"]["insulation"]['2" polyiso'] = "11.4"  # corrected by hand
    again, _ = usable(file, from_document(kept))
    assert again["insulation_m2k_w"].tolist()[1] == pytest.approx(11.4 * R, rel=1e-4)


COUNTY = [  # groups said once, sums between them, ditto marks, lengths and widths
    ["Campus", "Location", "Asset #", "Bldg", "Roof section", "Size", "Last reroofed", "Flrs",
     "% wet", "Leak calls", "Warranty", "Grade"],
    ["North", "Aurora, Ill.", "0001", "Ward 1", "A", "50' x 90'", "FY08", "2 flrs", "<5%",
     "none reported", "exp. 2029", "B"],
    ["", '"', "0002", "Ward 1", "B", "92 squares", "18 yrs old", "2-3", "10%", "3 per yr", "no",
     "F"],
    ["", "ditto", "0003", "Ward 2", "A", "12.5k sf", "unk.", "B+2", "0", "many", "NDL 2031", "?"],
    ["Subtotal North", "", "", "", "", "26200"] + [""] * 6,
    ["South", "Kenosha (WI)", "0004", "Ward 1", "A", "18,810*", "2011/12", "1 story", "?", "1/yr",
     "12/31/2027", "A"],
    ["", '"', "0005", "Depot", "A", "~7,000", "2001", "1", "25 %", "2", "", "D"],
    ["", '"', "0006", "Depot", "B", "7,500", "2002", "1", "25 %", "2", "", "D"],
    ["TOTAL South", "", "", "", "", "33310"] + [""] * 6,
    ["Prepared by Facilities"] + [""] * 11,
]  # fmt: skip


def test_ditto_marks_groups_said_once_and_sizes_by_their_sides_are_read():
    file = as_csv(COUNTY)
    table = headed(any_table(file))
    mapping = propose(table, "ip", YEAR)
    frame, records = usable(file, mapping)
    assert (records, len(frame)) == (6, 6)  # sums and notes are no roofs
    assert frame["campus"].tolist() == ["North"] * 3 + ["South"] * 3
    assert frame["name"].tolist()[:2] == ["Ward 1, A, 0001", "Ward 1, B, 0002"]
    assert frame["climate"].tolist() == ["chicago-il"] * 3 + ["milwaukee-wi"] * 3
    sizes = [4500, 9200, 12_500, 18_810, 7000, 7500]
    assert np.allclose(frame["roof_area_m2"].astype(float), np.array(sizes) * FT2, rtol=1e-5)
    expected = {
        "age_y": [18, 18, 10, 15, 25, 24],  # 10 is the default
        "storeys": [2, None, None, 1, 1, 1],
        "wet_fraction": [None, 0.1, 0.0, None, 0.25, 0.25],
        "leaks": [0, 3, None, 1, 2, 2],
        "warranty_left_y": [3, 0, 5, 1, None, None],
        "condition": ["fair", "failed", None, "good", "poor", "poor"],
    }
    for name, values in expected.items():
        assert [None if pd.isna(one) else one for one in frame[name]] == values, name
    told = {line["said"]: line for line in report(table, mapping)}
    assert told["lines 5, 9, 10"]["part"] == "line"
    assert "once" in told["Campus"]["note"]
    kept = as_document(mapping)
    kept["places"]["Aurora, Ill."] = "Green Bay, WI"  # corrected as a town
    again, _ = usable(file, from_document(kept))
    assert set(again["climate"][:3]) == {locate("Green Bay, WI").station.key}


TITLED = [
    "Roof\nno.", "Building", "Zip", "Approx.\nroof area\n(sf)", "Membrane", "Deck",
    "Yr. (re)roofed", "Occupancy", "Cond. (1-5)", "Wty exp.", "Elec. rate", "Do first / hold",
]  # fmt: skip
REGISTER = [  # a name merged over its roofs, titles again on each page, remarks on figures
    TITLED,
    ["1-1", "Garage", "45840", "0.50 ac", "B.U.R., smooth", "lt wt conc on mtl deck", "94",
     "Garage, heated", "1", "exp. 2029", "12.4¢/kWh", "DO FIRST"],
    ["1-2", "", "45840", "80 x 50", "EPDM, white", "conc. w/ iso", "FY07", "Storage (unheated)",
     "5", "lapsed", "9.5 per kWh", "hold until 2028"],
    TITLED,
    ["2-1", "Library", "45840", "12,500 (2)", "EPDM, non-ballasted", "gyp. on steel", "2001",
     "Library", "5", "", "", ""],
    ["2-2", "", "45840", "9,000", "Mod bit, smooth", "gypsum board on steel deck", "11", "Library",
     "3", "", "", "not committed"],
    ["2-3", "", "45840", "9,100", "TPO over BUR", "wood", "1998/2011", "Jail", "3", "", "", ""],
]  # fmt: skip


def test_titles_said_again_and_words_in_any_order_are_read_and_what_has_two_meanings_stays_open():
    file = as_workbook(REGISTER)
    table = headed(any_table(file))
    mapping = propose(table, "ip", YEAR)
    frame, records = usable(file, mapping)
    assert (records, len(frame)) == (5, 3)  # a size and a year or age of 11 are faults
    told = {line["said"]: line["note"] for line in report(table, mapping)}
    opened = (
        "electricity_price: 9.5 per kWh",
        "roof_area: 12,500 (2)",
        "age: 11",
        "condition: 5",
        "use: Jail",
    )
    assert all(told[one] for one in (*opened, "lines 4"))
    kept = as_document(mapping)
    kept["values"]["age"]["11"], kept["values"]["roof_area"]["12,500 (2)"] = "15", "12500"
    kept["values"]["electricity_price"]["9.5 per kWh"] = "0.095"
    kept["values"]["condition"] |= {"1": "good", "5": "failed", "3": "fair"}
    frame, _ = usable(file, from_document(kept))
    expected = {
        "name": ["Garage, 1-1", "Garage, 1-2", "Library, 2-1", "Library, 2-2", "Library, 2-3"],
        "age_y": [32, 19, 25, 15, 15],
        "covering": ["built-up-smooth", "epdm-white", "epdm-black", "modified-bitumen-dark",
                     "tpo-white"],
        "roof_type": ["insulating-concrete", "concrete-deck-polyiso", "gypsum-deck-bare",
                      "steel-deck-polyiso", "plywood-deck-bare"],
        "use": ["warehouse-heated", "warehouse-unconditioned", "library", "library", None],
        "condition": ["good", "failed", "failed", "fair", "fair"],
        "warranty_left_y": [3, 0, None, None, None],
        "must": ["must-do-by-0", "not-before-2", None, None, None],
        "electricity_price_per_kwh": [0.124, 0.095, None, None, None],
    }  # fmt: skip
    for name, values in expected.items():
        assert [None if pd.isna(one) else one for one in frame[name]] == values, name
    sizes = np.array([21_780, 4000, 12_500, 9000, 9100])  # an acre is 43,560 ft²
    assert np.allclose(frame["roof_area_m2"].astype(float), sizes * FT2, rtol=1e-5)


def test_no_two_meanings_are_said_alike():
    said = [words for _, words in meanings() if words]
    assert len(said) == len({*said})


def test_what_is_read_with_doubt_is_listed_with_the_doubt_until_it_is_corrected():
    lines = [["Roof", "City", "Area (SF)", "Roofed in", "Membrane", "Deck", "Condition"]]
    oddities = [("9000", "1995/2012", "EPDM/TPO", "fair/poor"), ("12000", "05/06/07", "TPO?", "B"),
                ("20000", "2004", "single ply", "good"), ("330", "2004", "TPO over BUR", "good"),
                ("14000", "2004", "BUR w/ gravel", "good")]  # fmt: skip
    lines += [[f"R{at}", "Tulsa, OK", area, year, cover, "mtl", state]
              for at, (area, year, cover, state) in enumerate(oddities)]  # fmt: skip
    table = headed(any_table(as_csv(lines)))
    mapping = propose(table, "ip", YEAR)
    told = {one["said"]: one["note"] for one in report(table, mapping) if one["part"] == "word"}
    doubts = {"covering: EPDM/TPO": "two named", "covering: TPO?": "question mark",
              "covering: single ply": "which is it?", "covering: TPO over BUR": "top one",
              "condition: fair/poor": "the worse", "condition: B": "a grade",
              "age: 1995/2012": "the last one", "age: 05/06/07": "last two digits",
              "roof_area: 330": "another unit", "roof_type: mtl": "only the deck"}  # fmt: skip
    assert all(words in told[one] for one, words in doubts.items())
    assert {one for one, note in told.items() if note} == {*doubts}
    kept = as_document(mapping)
    kept["values"]["covering"]["EPDM/TPO"] = "tpo-white"
    told = {one["said"]: one["note"] for one in report(table, from_document(kept))}
    assert told["covering: EPDM/TPO"] == ""


def test_a_wood_deck_with_an_r_value_is_insulated_and_noted_and_the_price_of_metal_is_taken():
    lines = [["Name", "City", "Area (SF)", "Age", "Membrane", "Deck", "price_metal"]]
    decks = {"plywood deck R-19": "plywood-deck-batts", "wood, insulated": "plywood-deck-batts",
             "plywood deck": "plywood-deck-bare", "OSB, uninsulated": "plywood-deck-bare",
             "polyiso on wood deck": "plywood-deck-polyiso", "gypsum R-10": "gypsum-deck-bare",
             "wood rafters 16 oc": "plywood-deck-bare"}  # fmt: skip
    lines += [[f"R{at}", "Boise, ID", "9400", "12", "TPO", deck, "21.00"]
              for at, deck in enumerate(decks)]  # fmt: skip
    table = headed(any_table(as_csv(lines)))
    mapping = propose(table, "ip", YEAR)
    assert mapping.columns["price_metal"] == "retrofit_price"
    assert mapping.values["roof_type"] == decks
    told = {one["said"]: one["note"] for one in report(table, mapping) if one["part"] == "word"}
    noted = {
        deck for deck in decks if "enter the R-value in a column" in told[f"roof_type: {deck}"]
    }
    assert noted == {"plywood deck R-19", "wood, insulated", "gypsum R-10"}


def test_a_decade_is_corrected_once_for_all_its_roofs():
    rows = [["Roof", "City", "Area", "Roofed in", "Membrane", "Deck"]]
    rows += [[f"R{i}", "Aurora, IL", "9000", year, "TPO", "mtl"]
             for i, year in enumerate(["1990s", "1990s", "summer '99", "2004"])]  # fmt: skip
    table = headed(any_table(as_csv(rows)))
    mapping = propose(table, "ip", YEAR)
    assert len(usable(as_csv(rows), mapping)[0]) == 2
    (told,) = [line for line in report(table, mapping) if line["said"] == "age: 1990s"]
    assert told["rows"] == 2
    kept = as_document(mapping)
    kept["values"]["age"]["1990s"] = "31"
    frame, _ = usable(as_csv(rows), from_document(kept))
    assert frame["age_y"].tolist() == [31, 31, YEAR - 1999, YEAR - 2004]


def test_the_mapping_is_kept_and_applied_to_next_years_table():
    lines, _ = messy(150, seed=2)
    kept = json.loads(
        json.dumps(as_document(propose(headed(any_table(as_csv(lines))), "ip", YEAR)))
    )
    kept["values"]["use"]["Zorkery"] = "manufacturing"  # corrected by hand
    again, truth = messy(150, seed=3)
    again[5][9] = "Zorkery"
    frame, _ = usable(as_csv(again), from_document(kept))
    checked = open_table(as_csv(again), "ip", "auto", mapping=from_document(kept))
    assert from_table(checked).year == YEAR  # year 0 of a plan
    found = frame.set_index("owner_id")
    assert len(found) >= 0.95 * 150
    assert found.loc[again[5][0], "use"] == "manufacturing"
    others = found.index.drop(again[5][0])
    assert (found.loc[others, "climate"] == truth.loc[others, "climate"]).all()


def test_a_mapping_is_shown_grouped_with_counts_and_distances():
    lines, _ = messy(150, seed=2)
    table = headed(any_table(as_csv(lines)))
    told = report(table, propose(table, "ip", YEAR))
    means = {line["said"]: line for line in told}
    assert means["Electricity Use (kWh)"]["means"] == "not used"
    assert means["DataYear"]["means"] == "not used"
    assert means["Yr. Roof Installed"]["means"] == "year of the roof"
    assert means["GrossFloorArea(SF)"]["means"] == "floor area"
    place = next(line for line in told if line["part"] == "place" and line["said"] == "60431")
    assert (place["means"], "Chicago, IL" in place["note"]) == ("chicago-il", True)
    assert place["rows"] > 10
    default = next(line for line in told if line["part"] == "default" and line["said"] == "age")
    assert (default["rows"], default["note"]) == (50, "0 to 25 years")


@pytest.mark.parametrize(
    ("title", "words"),
    [("YearBuilt", "year_built"), ("RoofAreaSF", "roof_area_sf"), ("GFA (ft²)", "gfa_ft2")],
)
def test_titles_run_together_are_parted(title, words):
    assert words_of(title) == words


def test_a_plain_table_proposes_itself():
    titles = "name,climate,roof_area_m2,roof_type,covering,age"
    text = f"{titles}\nA,tulsa-ok,900,steel-deck-perlite,epdm-black,4"
    mapping = propose(headed(any_table(io.BytesIO(text.encode()))), "ip", YEAR)
    assert list(mapping.columns.values()) == text.splitlines()[0].split(",")
    frame, _ = usable(io.BytesIO(text.encode()), mapping)
    assert frame["roof_area_m2"].tolist() == [900.0]


@pytest.mark.parametrize("title", ["BuildingName", "Asset ID", "Facility"])
def test_a_table_without_names_of_roofs_names_them_by_what_it_has(title):
    text = f"{title},City,St,RoofSF,YrRoofInstalled\nA1,Mesa,AZ,9000,2010\nA2,Mesa,AZ,9500,2011"
    mapping = propose(headed(any_table(io.BytesIO(text.encode()))), "ip", YEAR)
    frame, _ = usable(io.BytesIO(text.encode()), mapping)
    assert frame["name"].tolist() == ["A1", "A2"]


def test_a_mapping_that_cannot_be_used_is_refused_with_all_its_faults():
    with pytest.raises(Problem) as caught:
        from_document(
            {"year": "now", "columns": {"A": "nonsense"}, "places": {"X": "atlantis"}, "more": 1}
        )
    assert [error["detail"].split()[1] for error in caught.value.errors] == [
        "'more'", "year", "columns:",
    ]  # fmt: skip
    with pytest.raises(Problem, match="1 fault") as caught:
        from_document({})
    assert "members are columns, defaults, places" in caught.value.errors[0]["detail"]
    with pytest.raises(Problem) as caught:
        from_document({"year": 2026, "columns": {"A": "nonsense"}, "places": {"X": "nowhere"}})
    assert [error["detail"].split(":")[1].strip() for error in caught.value.errors] == [
        "columns", "places",
    ]  # fmt: skip


def test_the_command_line_proposes_a_mapping_then_uses_it(tmp_path):
    lines, _ = messy(12, seed=4)
    roofs, kept, out = tmp_path / "roofs.csv", tmp_path / "map.json", tmp_path / "out.csv"
    roofs.write_bytes(as_csv(lines).getvalue())
    command = ["portfolio", str(roofs), "--out", str(out), "--mapping", str(kept), "--workers", "1"]
    unmapped = CliRunner().invoke(main, command[:4])
    assert unmapped.exit_code == 1
    assert "add --mapping mapping.json" in unmapped.output
    first = CliRunner().invoke(main, command)
    assert first.exit_code == 0, first.output
    assert "Look it over" in first.output
    assert not out.exists()
    second = CliRunner().invoke(main, command)
    assert second.exit_code == 0, second.output
    frame = pd.read_csv(out)
    assert len(frame[frame["note"] != "not used"]) == 12
    assert frame["assumed"].notna().any()
    this_year = json.loads(kept.read_text())["year"]
    assert frame["base_work_year"].min() >= this_year  # of the calendar, as in the plan's sheets
    assert frame["first_year"].min() >= this_year


MANAGER = """Bldg,Zip,Sq Ft,Roof Kind,Membrane,Last Reroof,Roof inspection date,Site Contact
Hall 1,6604,5000,metal deck,EPDM,2005,2025,Jo
Hall 2,06604,6000,concrete,TPO,2011,2024,Al
Hall 3,74101,6000,wood,BUR gravel,2015,2024,Al"""


@pytest.mark.parametrize("system", ["ip", "si"])
def test_titles_of_a_contractor_s_own_list_are_understood(system):
    means = {
        "Job No": "owner_id", "Customer / Bldg": "name", "City": "town", "ST": "state",
        "Sq Footage": "roof_area_ft2", "# Layers": "coverings_in_place",
        "# of RTUs": "rooftop_units", "Est. $/SF metal": "retrofit_price_per_sf",
    }  # fmt: skip
    rows = [[f"J-{at}", f"Shop {at}", "Tulsa", "OK", f"{8000 + at * 1700:,}", str(at % 2 + 1),
             str(at), f"{11 + at / 2}"] for at in range(5)]  # fmt: skip
    found = propose(headed(any_table(as_csv([[*means], *rows]))), system, YEAR).columns
    assert {title: found[title] for title in means} == means
    priced = [*[*means][:-1], "Retrofit $/SF"]
    found = propose(headed(any_table(as_csv([priced, *rows]))), system, YEAR).columns
    assert found["Retrofit $/SF"] == "retrofit_price_per_sf"


def test_a_missing_column_names_the_titles_that_are_not_used():
    file = as_csv([["Roof", "City", "Zorkage", "Deck"], ["A", "Tulsa, OK", "9000", "steel"]])
    mapping = propose(headed(any_table(file)), "ip", YEAR)
    with pytest.raises(TableError, match=r"roof_area.*not used: .*Zorkage"):
        open_table(file, "ip", "auto", False, mapping)


def test_a_manager_s_own_titles_and_a_zip_without_its_0_are_understood():
    """What kind of roof it is names no roof; an inspection is no new covering."""
    table = headed(any_table(io.BytesIO(MANAGER.encode())))
    mapping = propose(table, "ip", YEAR)
    assert [*mapping.columns.values()] == [
        "name", "ZIP code", "roof_area", "roof_type", "covering", "year of the roof", "not used",
        "not used",
    ]  # fmt: skip
    places = {line["said"]: line["note"] for line in report(table, mapping)}
    assert "type all five digits of a ZIP code; 06604 is Bridgeport, CT" in places["6604"]
    assert "five digits" not in places["06604"]


FACILITIES = """Asset No.,Site/Facility,Section,Twn,Sq. Ft.,Deck,# Layers,Bldg Fn,Quote metal $/sf
R-1,Bldg 1,Sec A,"Tulsa, OK",-500,conc. w/o insul,2,whse,14.50
R-2,Bldg 1,Sec B,"Tulsa, OK",9000,steel,1,Zork,15.00"""


def test_faults_of_a_mapped_table_name_the_owner_s_column():
    """Nor does insulation come in where the table says there is none, nor a use without a word."""
    file = io.BytesIO(FACILITIES.encode())
    mapping = propose(headed(any_table(file)), "ip", YEAR)
    assert [*mapping.columns.values()] == [
        "owner_id", "building_name", "name", "town", "roof_area", "roof_type",
        "coverings_in_place", "use", "retrofit_price_per_sf",
    ]  # fmt: skip
    (fault,) = from_table(open_table(file, "ip", "auto", False, mapping)).faults
    assert str(fault).startswith("line 2, column E (Sq. Ft., read as roof_area): '-500': at least")
    assert mapping.values["roof_type"]["conc. w/o insul"] == "concrete-deck-bare"
    told = {line["said"]: line for line in report(headed(any_table(file)), mapping)}
    assert told["use: whse"]["means"] == "warehouse-heated"
    assert told["use: Zork"]["note"] == "not understood: taken as school, as in an empty cell"
    kept = as_document(mapping)
    for part, wrong, words in (
        ("columns", kept["columns"] | {"Twnn": "state"}, "lacks: none; nearest: Twn"),
        (
            "columns",
            kept["columns"] | {"# Layers": "roof_area_m2"},
            "'# Layers' are both roof_area",
        ),
        ("sheet", "Sheet7", "a text has no sheets"),
        ("year", 1900, "from 2000 to 2100"),
        ("values", {"use": {"Zork": "gym"}}, "'gym' is no use"),
        ("defaults", {"covering": "tar"}, "'tar' is no covering"),
    ):
        with pytest.raises((Problem, TableError), match=words):
            open_table(file, "ip", "auto", False, from_document(kept | {part: wrong}))
    townless = from_document(kept | {"columns": kept["columns"] | {"Twn": "not used"}})
    with pytest.raises(TableError, match=r"climate: missing column; .* say in the mapping which"):
        open_table(file, "ip", "auto", False, townless)


def test_words_and_places_of_a_mapping_that_no_row_has_are_named():
    file = io.BytesIO(FACILITIES.encode())
    table = headed(any_table(file))
    proposed = as_document(propose(table, "ip", YEAR))
    assert not from_table(
        open_table(file, "ip", "auto", False, from_document(proposed))
    ).mapping_unused
    proposed["values"]["use"]["Zorc"] = "office"
    proposed["values"]["covering"] = {"SPF": "built-up-gravel"}  # of which there is no column
    proposed["places"]["Tulsa OK"] = "tulsa-ok"
    mapping = from_document(proposed)
    checked = from_table(open_table(file, "ip", "auto", False, mapping))
    named = ["values.use: Zorc", "values.covering: SPF", "places: Tulsa OK"]
    assert checked.document()["mapping_unused"] == named
    lines = [line for line in report(table, mapping) if "misspelt" in line["note"]]
    assert [(line["part"], line["said"], line["rows"]) for line in lines] == [
        ("word", "use: Zorc", 0), ("word", "covering: SPF", 0), ("place", "Tulsa OK", 0),
    ]  # fmt: skip


def test_the_service_proposes_a_mapping_and_takes_it(page_client):
    lines, _ = messy(5, seed=4)

    def sent(query, **more):
        form = {"file": (io.BytesIO(as_csv(lines).getvalue()), "roofs.csv"), **more}
        return page_client.post(f"/v1/portfolios?{query}", data=form)

    found = sent("show=mapping").get_json()
    assert {line["part"] for line in found["report"]} >= {"column", "word", "place", "default"}
    head = sent("show=check", mapping=json.dumps(found["mapping"])).get_json()
    assert (head["good"], head["bad"]) == (5, 0)
    used = {title for title, to in found["mapping"]["columns"].items() if to != "not used"}
    assert used.isdisjoint(head["columns_passed_over"])
    assert used | {*head["columns_passed_over"]} == {*found["mapping"]["columns"]}
    as_file = {"mapping": (io.BytesIO(json.dumps(found["mapping"]).encode()), "m.json")}
    assert sent("show=check", **as_file).get_json() == head
    misspelt = sent("show=check", mappin="x")
    assert (misspelt.status_code, "mappin" in misspelt.text) == (400, True)
    assert sent("show=check", mapping='{"year": 1}').status_code == 422
    kind = "multipart/form-data; boundary=b"  # a part without a name
    nameless = "--b\r\nContent-Disposition: form-data\r\n\r\nx\r\n--b--\r\n"
    assert page_client.post("/v1/portfolios", data=nameless, content_type=kind).status_code == 400


@pytest.mark.parametrize("text", ["year: 2026", " ", "0", '{"year": 2026, "year": 2027}', "[" * 99])
def test_a_text_that_is_no_mapping_is_a_fault_of_the_mapping(text):
    """Nothing is said of the body, which is a form and is well."""
    with pytest.raises(Problem) as refused:
        from_text(text.encode())
    assert refused.value.name == "invalid-input"
    assert {one["rule"] for one in refused.value.errors} == {"mapping"}


def test_the_same_roof_twice_counts_once_and_an_owner_s_number_stands_once():
    titles = "name,owner_id,climate,roof_area_m2,roof_type,covering,age"
    rows = ["A,1", "B,2", "A,1", "C,2", "A,3"]  # the third line of roofs is the first again
    lines = [f"{one},tulsa-ok,900,steel-deck-perlite,epdm-black,4" for one in rows]
    text = "\n".join([titles, *lines]).encode()
    mapping = propose(headed(any_table(io.BytesIO(text))), "ip", YEAR)
    checked = from_table(open_table(io.BytesIO(text), "ip", "auto", False, mapping))
    assert checked.frame["name"].tolist() == ["A, 1", "B, 2", "A, 3"]
    again, twice = {one.line: one for one in checked.bad_rows}.values()
    assert (again.line, twice.line) == (4, 5)
    assert "line 2 says the same in every column" in again.told
    assert "line 3 has it too" in twice.told
    told = {
        line["said"]: line["note"] for line in report(headed(any_table(io.BytesIO(text))), mapping)
    }
    assert "the same roof twice" in told["lines 2, 6"]
    grouped = text.replace(b"name,owner", b"name,building_name,owner").replace(b",2,", b",Hall,2,")
    grouped = grouped.replace(b",1,", b",Hall,1,").replace(b",3,", b",Hall,3,")
    plain = open_table(io.BytesIO(grouped), "ip", "auto")
    assert [one.line for one in from_table(plain).bad_rows] == [4, 6]  # for their names alone
    row = {"climate": "tulsa-ok", "roof_area": 900, "roof_type": "steel-deck-perlite", "age": 4}
    row |= {"covering": "epdm-black", "owner_id": "1"}
    (fault,) = from_rows([row | {"name": name} for name in "AB"], "ip").faults
    assert (fault.record, fault.column) == (2, "owner_id")


def test_a_town_without_its_state_is_shown_with_its_states_and_corrected_in_the_mapping():
    lines = [["Roof", "City", "Area", "Roofed in", "Membrane", "Deck"]]
    lines += [[town[:4] or "Hall", town, "9000", "2004", "TPO", "mtl"]
              for town in ("Springfield", "Nowhereville", "Joliet, IL", "")]  # fmt: skip
    table = headed(any_table(as_csv(lines)))
    mapping = propose(table, "ip", YEAR)
    checker = open_table(as_csv(lines), "ip", "auto", False, mapping)
    first, second, _ = from_table(checker).faults  # the last names no place at all
    assert str(first) == (
        "line 2, column B (City, read as climate): 'Springfield': a town with its state; "
        "Springfield is in IL, MA, MO, VA, OH, OR, ...: write the state, here or among the "
        "places of the mapping"
    )
    assert "'Nowhereville': a place that is known; type a ZIP code" in str(second)
    (header, row, *_) = bad_rows(open_table(as_csv(lines), "ip", "auto", False, mapping))
    assert row[header.index("climate")] == "Springfield"
    told = {line["said"]: line["note"] for line in report(table, mapping)}
    assert "Springfield is in IL, MA" in told["Springfield"]
    assert told["Nowhereville"].startswith("a place that is known; type")
    assert told["Springfield"].endswith("write the state, among the places of the mapping")
    kept = as_document(mapping)
    kept["places"]["Springfield"] = "Springfield, MO"
    frame, _ = usable(as_csv(lines), from_document(kept))
    assert frame["name"].tolist() == ["Spri", "Joli"]


def test_a_year_in_a_must_column_is_a_year_of_the_plan_or_stays_open():
    words = {"Do by FY28": "must-do-by-2", "by 2028": "must-do-by-2", "do by 2050": None,
             "Must do": "must-do", "do not touch": "must-not", "must do 2028": None,
             "hold until FY29": "not-before-3", "defer to after 2027": "not-before-2",
             "do first by 2028": "must-do-by-2", "wait 2028": None, "sell 2027": "must-not",
             "not required": None, "must do by year 2": None, "must do by fall": None,
             "hold until year 3": None, "must-do-by-4": "must-do-by-4"}  # fmt: skip
    lines = [["Roof", "City", "Area", "Roofed in", "Membrane", "Deck", "must"]]
    lines += [[f"R{at}", "Tulsa, OK", "9000", "2004", "TPO", "mtl", word]
              for at, word in enumerate(words)]  # fmt: skip
    table = headed(any_table(as_csv(lines)))
    mapping = propose(table, "ip", 2026)
    frame, _ = usable(as_csv(lines), mapping)
    assert [one if isinstance(one, str) else None for one in frame["must"]] == [*words.values()]
    told = {line["said"]: line["note"] for line in report(table, mapping)}
    assert told["must: by 2028"] == "work begun by 2028; the plan's year 0 is 2026"
    assert "write must-do-by-0 to must-do-by-9" in told["must: must do 2028"]
    assert told["must: hold until FY29"] == "no work before 2029; the plan's year 0 is 2026"
    assert all("which year?" in told[f"must: {one}"] for one in [*words][12:15])
    undated = [lines[0], *([*one[:-1], "by year 2"] for one in lines[1:])]
    table = headed(any_table(as_csv(undated)))
    (note,) = [one["note"] for one in report(table, propose(table, "ip", 2026))
               if one["said"] == "must: by year 2"]  # fmt: skip
    assert "which year?" in note  # and the column is used though none of its words is understood


OVER = """Building,"Roof
area (sf)",City,"Roofed
in",Covering,Condition
A,10000,"Tulsa, OK",39600,TPO over BUR,TBD
B,20000,"Tulsa, OK",20050,tbd,good
C,20000,"Tulsa, OK",2001,TPO over wood deck,n/a"""


def test_titles_on_several_lines_day_numbers_and_one_covering_over_another_are_read():
    file = io.BytesIO(OVER.encode())
    table = headed(any_table(file))
    assert table.header[:4] == ("Building", "Roof area (sf)", "City", "Roofed in")
    mapping = propose(table, "ip", YEAR)
    told = {line["said"]: (line["means"], line["note"]) for line in report(table, mapping)}
    assert told["age: 39600"] == (
        "18",
        "read as the date 2008-06-01, which a spreadsheet stores as this number",
    )
    assert "2 coverings are counted" in told["covering: TPO over BUR"][1]
    unknown = ("", "says unknown: taken as an empty cell")
    assert {told[f"condition: {one}"] for one in ("TBD", "n/a")} == {unknown}
    assert told["covering: tbd"] == unknown
    kept = as_document(mapping)
    kept["columns"]["Roof\narea (sf)"] = kept["columns"].pop("Roof area (sf)")  # as once written
    checked = from_table(open_table(file, mapping=from_document(kept)))
    assert checked.frame["coverings_in_place"].tolist() == [2, None]
    assert checked.frame["age_y"].tolist() == [18, 25]
    (mistyped,) = checked.faults
    assert (mistyped.line, mistyped.value) == (5, "20050")
    assert any_table(as_workbook([["Roof\narea", "Name"], ["1", "A"]])).header[0] == "Roof area"
    plain = OVER.replace('"Roofed\nin"', "age").replace('"Roof\narea (sf)"', "roof_area_sf")
    plain = plain.replace("City", "climate").replace("Building", "name")
    plain = plain.replace("Condition", "roof_type").replace("TBD", "steel-deck-perlite")
    plain = plain.replace("TPO over BUR", "tpo-white")
    first, *_ = from_table(open_table(io.BytesIO(plain.encode()))).faults
    assert str(first).startswith(
        "line 2, column D (age): '39600': an age; 39600 is how a spreadsheet stores 2008-06-01"
    )


def test_titles_whose_quotation_mark_is_not_closed_are_refused():
    with pytest.raises(TableError, match="line 1: a quotation mark that is opened here"):
        any_table(io.BytesIO(b'name,"roof area\n' + b"A,1\n" * 40))


DISTRICT = """Fac. #,"Town, ST",Zip,Rf Sys,Foot print (approx),Last re-roof,Deck?,Insul.,Fn.,\
# stories,retrofit_price,must
1,"Enid, OK",73701,BUR,"23,100",2001,metal deck,"1.5"" polyiso",office,1,$14.20/sf,x
2,"Enid, OK",73701,EPDM,"18,000-20,000",2002,metal deck,50 mm PIR,school,2,100 $/m2,not before 2028
3,"Enid, OK",7394,TPO/tar+gravel,"18,000",06/2009,metal deck,R-10,office,1,call,maybe"""


def test_titles_marks_and_prices_of_a_district_are_read_and_what_is_not_is_listed():
    file = io.BytesIO(DISTRICT.encode())
    table = headed(any_table(file))
    mapping = propose(table, "ip", YEAR)
    assert [*mapping.columns.values()] == [
        "name", "town", "ZIP code", "covering", "roof_area", "year of the roof", "roof_type",
        "insulation", "use", "storeys", "retrofit_price", "must",
    ]  # fmt: skip
    places = {**mapping.places, "7394": ""}  # as an earlier proposal left it: the town still counts
    frame, _ = usable(file, replace(mapping, places=places, values={}))
    assert frame["must"].tolist() == ["must-do", "not-before-2", None]
    assert frame["climate"].nunique() == 1
    priced, metric, no_price = frame["retrofit_price_per_m2"]
    assert (priced, metric) == (pytest.approx(14.2 / FT2, rel=1e-4), pytest.approx(100, rel=1e-4))
    assert no_price is None
    inches = [1.5 * 5.6 * R, 50 / 25.4 * 5.6 * R, 10 * R]
    assert frame["insulation_m2k_w"].tolist() == pytest.approx(inches, rel=0.01)
    told = {line["said"]: line["note"] for line in report(table, mapping)}
    assert told["must: x"].startswith("a mark alone: is must-do what it means?")
    assert told["roof_area: 18,000-20,000"] == "a range, of which the middle is taken"
    assert told["covering: TPO/tar+gravel"].startswith("two named")
    assert told["retrofit_price: call"].startswith("not understood")


def test_a_rebate_is_read_as_a_sum_and_a_share_or_a_price_an_area_is_not_taken_for_one():
    head, *rows = DISTRICT.splitlines()
    said = ("5%", "$0.40/sf", '"$12,000"')
    told = [f"{head},Rebate", *(f"{row},{one}" for row, one in zip(rows, said, strict=True))]
    table = headed(any_table(io.BytesIO("\n".join(told).encode())))
    mapping = propose(table, "ip", YEAR)
    assert mapping.columns["Rebate"] == "grant"
    notes = {line["said"]: line["note"] for line in report(table, mapping)}
    assert {one for one in notes if one.startswith("grant")} == {"grant: 5%", "grant: $0.40/sf"}
