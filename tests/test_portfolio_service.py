"""POST /v1/portfolios: the same figures in every form, bad rows reported, nothing live, bounded."""

import csv
import io
import json
import os
import re
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openapi_spec_validator import validate

from api import create_app
from api.client_shares import Places
from api.portfolio import intake, portfolio_routes
from api.portfolio.query import MONEY, sums
from api.portfolio.reading.any_table import open_table
from api.portfolio.reading.headers import titles
from api.portfolio.tables_out import as_text, csv_lines, guarded, unguarded, write_xlsx
from api.problems import Problem
from lcc import tables

HEADER = "name,climate,roof_area_ft2,roof_type,covering,age"
GOOD = [
    f"Roof {i},{place},20000,steel-deck-perlite,epdm-black,{age}"
    for i, (place, age) in enumerate([("tulsa-ok", 13), ('"Miami, FL"', 13), ("tulsa-ok", 20)])
]
BAD = "Roof x,nowhere,-1,steel-deck-perlite,epdm-black,3"
TABLE = "\n".join([HEADER, GOOD[0], BAD, *GOOD[1:]])
NDJSON, XLSX = portfolio_routes.NDJSON, portfolio_routes.XLSX
ADDRESS = "/v1/portfolios"


@pytest.fixture(scope="module")
def client():
    return create_app().test_client()


def sent(client, table=TABLE, query="", accept="application/json", media_type="text/csv"):
    data = table.encode() if isinstance(table, str) else table
    headers = {"Accept": accept, "Content-Type": media_type}
    return client.post(ADDRESS + query, data=data, headers=headers)


def lines(response):
    return [json.loads(line) for line in response.data.splitlines()]


def rows_of(csv_bytes):
    return list(csv.DictReader(io.StringIO(csv_bytes.decode("utf-8-sig"))))


@pytest.fixture(scope="module")
def document(client):
    response = sent(client)
    assert response.status_code == 200
    return response.get_json()


def test_good_rows_are_computed_bad_ones_told_and_the_counts_add_up(document):
    assert (document["rows"], document["good"], document["bad"]) == (4, 3, 1)
    assert [row["building"] for row in document["results"]] == [1, 3, 4]
    assert [(fault["line"], fault["column"]) for fault in document["faults"]] == [
        (3, "climate"),
        (3, "roof_area_ft2"),
    ]
    assert document["computed"] == 3


def test_a_must_do_roof_whose_row_cannot_be_used_is_named_with_what_is_not_done(client):
    rows = [f"{GOOD[0]},", "Gym" + BAD[6:] + ",must do by 1", "Hall" + BAD[6:] + ",must-not"]
    found = sent(client, "\n".join([f"{HEADER},must", *rows])).get_json()
    told = found["programme"]["must_undone"]
    assert told.startswith(
        "1 must-do roof is in no figure here, because its row cannot be used: Gym ("
    )
    assert "Hall" not in told


def test_a_word_of_a_json_row_that_is_not_known_is_answered_with_the_words():
    row = {"name": "A", "climate": "tulsa-ok", "must": "do"}
    told = " ".join(str(one) for one in intake.from_rows([row], "ip").faults)
    assert "must-do-by-9" in told
    assert "a key of the table" not in told


def test_the_stream_tells_start_results_progress_and_end(client, document):
    events = lines(sent(client, accept=NDJSON))
    kinds = [event.pop("event") for event in events]
    assert kinds[0] == "start"
    assert kinds[-1] == "end"
    progress = [event for kind, event in zip(kinds, events, strict=True) if kind == "progress"]
    done = [one["done"] for one in progress]  # roofs that share their heat are done together
    assert done == sorted(set(done))
    assert progress[-1] == {"done": 3, "of": 3}
    results = [event for kind, event in zip(kinds, events, strict=True) if kind == "result"]
    whole = [{name: row[name] for name in results[0]} for row in document["results"]]
    assert results == whole
    end = events[-1]
    assert end["programme"] == document["programme"]
    assert events[0]["faults_total"] == 2


def test_the_same_request_is_answered_by_the_same_bytes(client):
    for accept in ("application/json", NDJSON, "text/csv", XLSX):
        assert sent(client, accept=accept).data == sent(client, accept=accept).data


def test_csv_and_spreadsheet_hold_the_figures_of_the_document(client, document):
    figures = [row["net_savings"] for row in document["results"]]
    text = rows_of(sent(client, accept="text/csv").data)
    used = [row for row in text if row["note"] != "not used"]
    assert [float(row["net_savings"]) for row in used] == figures
    left = [row for row in text if row["note"] == "not used"]  # bad rows do not vanish
    assert len(left) == document["bad"]
    assert all(row["problem"] and row["building"] for row in left)
    book = openpyxl.load_workbook(io.BytesIO(sent(client, accept=XLSX).data))
    cells = list(book["Ranking"].values)
    column = cells[0].index("net_savings")
    assert [row[column] for row in cells[1:]] == pytest.approx(figures, rel=1e-14)


def test_the_order_asked_for_is_kept(client):
    found = sent(client, query="?rank_by=net-savings").get_json()["results"]
    savings = [row["net_savings"] for row in found]
    assert savings == sorted(savings, reverse=True)
    assert [row["rank"] for row in found] == [1, 2, 3]


def test_both_unit_systems_give_one_answer(client, document):
    metric = sent(client, query="?units=si").get_json()
    # the international foot, exactly
    assert metric["results"][0]["roof_area"] == pytest.approx(20000 * 0.3048**2)
    for one, other in zip(metric["results"], document["results"], strict=True):
        assert one["net_savings"] == pytest.approx(other["net_savings"], rel=1e-9)


def test_budget_and_plan_are_answered(client):
    found = sent(client, query="?budget=400000&budget_by_year=380000,380000").get_json()
    chosen = [row for row in found["results"] if row["in_budget"] == "yes"]
    assert 0 < sum(row["first_cost"] for row in chosen) <= 400_000
    assert found["programme"]["in_budget"]["buildings"] == len(chosen)
    assert [year["year"] for year in found["plan"]["years"]] == [0, 1]
    start = found["frontier"][0]  # what is due is patched at least, and waiting costs
    assert start["budget"] > 0 > start["net_savings"]


@pytest.mark.parametrize(
    "query",
    [
        "budget=-1", "budget=1,2", "budget=x", "budget=1,23", "budget=1000000;2", "budget=1.234",
        "budget_by_year=1e5",
        # each could be one sum or several
        "budget_by_year=2,000,000", "budget_by_year=500,000,500,000", "budget_by_year=2000,000",
        "budget_by_year=1,500000", "budget_by_year=100,200",
        "budget_by_year=1000" + ",1000" * 15, "budget_by_year=1" + ";1" * 15,
    ],
)  # fmt: skip
def test_a_budget_that_is_no_sum_is_refused(client, query):
    response = sent(client, query=f"?{query}")
    assert response.status_code == 422
    (error,) = response.get_json()["errors"]
    assert error["parameter"] == query.partition("=")[0]
    assert "allowed:" in error["detail"]


def test_thousands_marks_between_years_are_told_what_to_type(client):
    found = sent(client, query="?budget_by_year=2,000,000").get_json()["errors"]
    assert found[0]["allowed"] == (
        "2000000 for one year; for several put semicolons between, such as 500,000; 250,000"
    )


def test_faults_of_both_budgets_come_at_once(client):
    found = sent(client, query="?budget=x&budget_by_year=y").get_json()
    assert [error["parameter"] for error in found["errors"]] == ["budget", "budget_by_year"]
    assert found["detail"] == "2 values cannot be used."


@pytest.mark.parametrize(
    ("entered", "expected"),
    [
        ("2000000", [2e6]),
        ("2,000,000; 2,000,000", [2e6, 2e6]),
        ("2000000;0;500.25", [2e6, 0, 500.25]),
        ("500000,500000", [5e5, 5e5]),
        ("500000, 0", [5e5, 0]),
        ("0,0,1000", [0, 0, 1000]),
        ("", []),
    ],
)
def test_every_way_to_write_budgets_by_year_has_one_meaning(entered, expected):
    assert sums("budget_by_year", entered, 15) == expected
    assert re.fullmatch(MONEY["budget_by_year"], entered)
    assert sums("budget", "2,000,000.50", 1) == [2000000.5]


@given(st.from_regex(MONEY["budget_by_year"], fullmatch=True, alphabet="0123456789,;. "))
@settings(max_examples=100)
def test_whatever_the_document_allows_is_a_list_of_sums(entered):
    assert len(sums("budget_by_year", entered, 15)) <= 15


def test_check_tells_the_faults_without_computing(client):
    found = sent(client, query="?show=check").get_json()
    assert found["bad"] == 1
    assert "results" not in found


def test_bad_rows_come_back_as_a_table_that_can_be_mended_and_sent_again(client):
    response = sent(client, query="?show=bad-rows")
    assert response.mimetype == "text/csv"
    (row,) = rows_of(response.data)
    assert row["line"] == "3"
    assert "climate: a place with a climate, such as" in row["error"]
    mended = response.data.decode().replace("nowhere", "boise-id").replace(",-1,", ",9000,")
    again = sent(client, mended).get_json()
    assert (again["good"], again["bad"]) == (1, 0)


def test_a_bad_row_of_a_decimal_comma_table_keeps_its_marks(client):
    table = TABLE.replace(",", ";").replace(";3", ";3,5").replace('"Miami; FL"', "miami-fl")
    bad = sent(client, table, query="?show=bad-rows").data.decode("utf-8-sig")
    assert bad.splitlines()[1].startswith("Roof x;nowhere;-1;")
    assert "3,5" in bad


def test_one_building_comes_back_as_a_case_that_compares_to_the_same_figures(client, document):
    case = sent(client, query="?show=case&building=3").get_json()
    reply = client.post("/v1/comparisons", json=case).get_json()
    saved = reply["alternatives"][1]["measures"]["net_savings"]["value"]
    row = next(row for row in document["results"] if row["building"] == 3)
    assert saved == pytest.approx(row["net_savings"], rel=1e-9)
    assert case["name"] == "Roof 1"


@pytest.mark.parametrize("building", ["2", "99", "x", "-1", ""])
def test_a_building_that_is_no_good_row_has_no_case(client, building):
    response = sent(client, query=f"?show=case&building={building}")
    assert response.status_code == 404


def test_json_rows_are_strict_and_good_ones_still_come_back(client):
    good = {
        "name": "A", "climate": "tulsa-ok", "roof_area": "20000 ft^2",
        "roof_type": "steel-deck-perlite", "covering": "epdm-black", "age": 3,
    }  # fmt: skip
    rows = [good, {**good, "name": "B", "age": "3"}, {**good, "name": "C", "colour": 1}, good]
    found = client.post(ADDRESS, json={"units": "ip", "rows": rows}).get_json()
    assert (found["good"], found["bad"]) == (1, 3)
    assert {(fault["record"], fault["column"]) for fault in found["faults"]} == {
        (2, "age"), (3, "colour"), (4, "name"),
    }  # fmt: skip
    table = sent(client, "\n".join([HEADER, "A,tulsa-ok,20000,steel-deck-perlite,epdm-black,3"]))
    assert table.get_json()["results"] == found["results"]
    placed = client.post(ADDRESS, json={"units": "ip", "rows": [good | {"climate": "Tulsa, OK"}]})
    assert placed.get_json()["results"] == found["results"]


def test_faults_of_json_rows_name_the_row_and_the_rule_as_those_of_a_table_do(client):
    rows = [{"name": "A", "climate": "Tulsa", "roof_area": True, "age": None}, 3]
    found = client.post(f"{ADDRESS}?show=check", json={"units": "ip", "rows": rows}).get_json()
    told = [fault["text"] for fault in found["faults"]]
    assert "row 1, roof_area: 'true': a number, at least 10.8, at most 10,700,000 ft^2" in told
    assert "row 1, age: Please enter the age of the top covering." in told
    assert [one for one in told if one.startswith("row 2: '3': an object with members such as")]
    climate = next(one for one in told if "climate" in one)
    assert climate == "row 1, climate: 'Tulsa': a key of the table climates; the nearest: tulsa-ok"


@pytest.mark.parametrize(
    "body", [[], {"rows": []}, {"rows": 3}, {"units": "metric", "rows": [{}]}, {"lines": []}]
)
def test_json_that_is_no_portfolio_is_refused(client, body):
    assert client.post(ADDRESS, json=body).status_code == 422


def test_json_rows_are_in_the_units_that_their_body_states(client):
    """A body in SI needs no query; the reply is in SI; a query that says otherwise is refused."""
    row = {
        "name": "A", "climate": "tulsa-ok", "roof_area": 2000,
        "roof_type": "steel-deck-perlite", "covering": "epdm-black", "age": 3,
    }  # fmt: skip
    found = client.post(ADDRESS, json={"units": "si", "rows": [row]}).get_json()
    assert (found["units"], found["results"][0]["roof_area"]) == ("si", 2000)
    agreeing = client.post(ADDRESS + "?units=si", json={"rows": [row]}).get_json()
    assert agreeing["results"] == found["results"]
    quarrel = client.post(ADDRESS + "?units=ip", json={"units": "si", "rows": [row], "row": 1})
    errors = {error["pointer"]: error for error in quarrel.get_json()["errors"]}
    assert errors["#/units"]["allowed"] == "ip, as the query says"
    assert "did you mean 'rows'?" in errors["#/row"]["detail"]


def test_faults_of_a_case_beside_json_rows_have_their_places_in_the_body(client):
    row = {
        "name": "A", "climate": "tulsa-ok", "roof_area": 20000,
        "roof_type": "steel-deck-perlite", "covering": "epdm-black", "age": 3,
    }  # fmt: skip
    found = client.post(ADDRESS, json={"rows": [row], "case": {"units": "ip"}}).get_json()
    assert [error["pointer"] for error in found["errors"]] == ["#/case/site", "#/case/roof"]


def test_more_json_rows_than_one_request_may_have_are_refused(client, monkeypatch):
    monkeypatch.setattr(intake, "MAX_RECORDS", 2)
    found = client.post(ADDRESS, json={"rows": [{}] * 3})
    assert found.status_code == 422
    assert found.get_json()["type"].endswith("/too-many-rows")
    assert "at most 2 rows" in found.get_json()["errors"][0]["detail"]


def test_a_case_document_supplies_what_the_rows_do_not_say(client):
    case = tables.read_json("demo/case.json")
    form = {"file": (io.BytesIO(TABLE.encode()), "roofs.csv"), "case": json.dumps(case)}
    found = client.post(ADDRESS, data=form).get_json()
    computed = {row["alternative"] for row in found["results"] if row["problem"] is None}
    assert computed == {alternative["name"] for alternative in case["alternatives"]}


@pytest.mark.parametrize(
    ("table", "media_type", "status"),
    [
        (TABLE, "application/pdf", 415),
        (b"%PDF-1.7", "text/csv", 415),
        (b"", "text/csv", 422),
        (HEADER, "text/csv", 422),
        ("name,clime", "text/csv", 422),
        (b"PK\x03\x04 no spreadsheet", XLSX, 422),
    ],
)
def test_what_is_no_table_is_a_problem_document(client, table, media_type, status):
    response = sent(client, table, media_type=media_type)
    assert response.status_code == status
    assert response.mimetype == "application/problem+json"
    assert response.get_json()["status"] == status


def test_a_form_without_a_file_is_a_problem(client):
    assert client.post(ADDRESS, data={"other": "1"}).status_code in (400, 415)


def test_template_and_dictionary_tell_every_column(client):
    header = rows_of(client.get(ADDRESS + "/template").data + b"\n" + b"," * 25)[0].keys()
    meanings = rows_of(client.get(ADDRESS + "/dictionary").data)
    assert [row["column"] for row in meanings] == list(header)
    assert all(row["meaning"] for row in meanings)
    assert all(row["allowed"] for row in meanings)
    told = {row["column"]: row for row in meanings}
    assert "9.3" not in told["roof_area_ft2"]["allowed"]
    assert told["use"]["when_left_out"] == "school"
    assert told["use"]["source"].startswith("demo")
    metric = rows_of(client.get(ADDRESS + "/dictionary?units=si").data)
    assert "roof_area_m2" in {row["column"] for row in metric}
    assert client.get(ADDRESS + "/template?format=xlsx").mimetype == XLSX


def test_the_template_asks_for_gas_by_the_therm_and_the_dictionary_tells_every_other_unit(client):
    told = {row["column"]: row for row in rows_of(client.get(ADDRESS + "/dictionary").data)}
    gas = told["gas_price_per_therm"]
    others = "gas_price_per_kwh | gas_price_per_mwh | gas_price_per_million_btu"
    assert (gas["unit"], gas["titles_in_other_units"]) == ("$/therm", others)
    # 5 $/kWh; 1 US therm = 29.3001 kWh (NIST SP 811, appendix B)
    assert gas["allowed"] == "at least 0, at most 29.3 $/therm"
    assert told["roof_area_ft2"]["titles_in_other_units"].startswith("roof_area_m2 |")
    assert "epdm-black (EPDM single-ply, black)" in told["covering"]["allowed"]


@pytest.mark.parametrize("units", ["ip", "si"])
def test_every_title_of_the_template_and_the_dictionary_is_understood(client, units):
    meanings = rows_of(client.get(f"{ADDRESS}/dictionary?units={units}").data)
    for row in meanings:
        for title in [row["column"], *filter(None, row["titles_in_other_units"].split(" | "))]:
            assert title in titles(units)


@pytest.mark.parametrize("units", ["ip", "si"])
def test_every_column_of_a_ranking_has_its_meaning_and_unit(client, units):
    told = rows_of(client.get(f"{ADDRESS}/results-dictionary?units={units}").data)
    ranked = sent(client, query=f"?units={units}", accept="text/csv").data.decode("utf-8-sig")
    titles = next(csv.reader([ranked.splitlines()[0]]))
    assert [row["column"] for row in told] == titles
    assert all(row["meaning"] for row in told)
    by_name = {row["column"]: row["unit"] for row in told}
    area = {"ip": ("roof_area_ft2", "ft²"), "si": ("roof_area_m2", "m²")}[units]
    assert by_name[area[0]] == area[1]
    assert by_name["net_savings"] == "$"
    answer = sent(client, query=f"?units={units}&budget_by_year=400000", accept=XLSX).data
    book = openpyxl.load_workbook(io.BytesIO(answer))
    assert book.sheetnames[0] == "Ranking"
    assert set(book.sheetnames) >= {"Money by year", "Plan", "Defaults", "Cautions", "Columns"}
    assert [row[0] for row in book["Columns"].values][1:] == [row["column"] for row in told]
    taken = {title: value for title, value, *_ in book["Defaults"].values}
    # 1 US therm = 29.3001 kWh (NIST SP 811, appendix B); four digits are shown
    gas = {"ip": ("gas_price_per_therm", 29.3001), "si": ("gas_price_per_kwh", 1.0)}[units]
    per_kwh = float(tables.rows("prices")["gas_per_kwh"]["value"])
    assert float(taken[gas[0]]) == pytest.approx(per_kwh * gas[1], rel=5e-4)


def test_the_demo_portfolio_is_good_and_says_that_it_is_invented(client):
    demo = client.get(ADDRESS + "/demo").data
    found = sent(client, demo, query="?show=check").get_json()
    assert (found["rows"], found["good"]) == (60, 60)
    rows = rows_of(demo)
    assert all("(invented)" in row["name"] for row in rows)
    assert len({row["climate"] for row in rows}) >= 20


@pytest.mark.thorough
def test_the_document_describes_the_calls(client):
    paths = client.get("/v1/openapi.json").get_json()["paths"]
    called = {path for path in paths if path.startswith(ADDRESS)}
    routed = {rule.rule for rule in client.application.url_map.iter_rules() if ADDRESS in rule.rule}
    assert called == routed
    post = paths[ADDRESS]["post"]
    assert {parameter["name"] for parameter in post["parameters"]} >= {"units", "show", "budget"}
    validate(client.get("/v1/openapi.json").get_json())


# --- nothing live -------------------------------------------------------------------------------

LIVE = ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "＝1", "＋1", '=HYPERLINK("http://x")', "'=1"]  # noqa: RUF001


@pytest.mark.parametrize("text", LIVE)
def test_no_text_can_become_a_formula(client, text):
    quoted = '"' + text.replace('"', '""') + '"'
    table = "\n".join([HEADER, GOOD[0].replace("Roof 0", quoted), BAD.replace("nowhere", quoted)])
    ranked = sent(client, table, accept="text/csv").data
    bad = sent(client, table, query="?show=bad-rows").data
    for found in (ranked, bad):
        for row in csv.reader(io.StringIO(found.decode("utf-8-sig"))):
            assert not any(cell.startswith(routes_live()) for cell in row if not number(cell))
    book = openpyxl.load_workbook(io.BytesIO(sent(client, table, accept=XLSX).data))
    assert not any(cell.data_type == "f" for row in book["Ranking"] for cell in row)


def routes_live():
    return ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")  # noqa: RUF001


def number(cell):
    try:
        float(cell.replace(",", "."))
    except ValueError:
        return False
    return True


def test_a_number_that_is_negative_stays_a_number():
    assert as_text(-5.25) == "-5.25"
    assert guarded("-5,25") == "-5,25"
    assert guarded("-5 apples") == "'-5 apples"


@given(st.text(max_size=20))
def test_what_is_guarded_reads_back(text):
    assert unguarded(guarded(text)) == text


@settings(max_examples=50)
@given(st.lists(st.lists(st.one_of(st.text(max_size=8), st.floats()), max_size=4), max_size=4))
def test_any_cells_make_a_spreadsheet_without_formulas_and_a_csv_that_reads_back(rows):
    file = io.BytesIO()
    write_xlsx(file, {"Sheet": rows})
    sheet = openpyxl.load_workbook(file)["Sheet"]
    assert not any(cell.data_type == "f" for row in sheet for cell in row)
    read = list(csv.reader(io.StringIO("".join(csv_lines(rows)), newline="")))
    assert [len(row) for row in read if row] == [len(row) for row in rows if row]


def test_floats_of_a_csv_are_exact():
    value = 0.1 + 0.2
    assert float(as_text(value)) == value


def test_what_is_exported_reads_as_it_was_and_exports_to_the_same_bytes(client):
    rows = [[text, *GOOD[0].split(",")[1:]] for text in [*LIVE, "Hall 1", "-5", "''quoted"]]
    first = "".join(csv_lines([HEADER.split(","), *rows])).encode()
    checker = open_table(io.BytesIO(first))
    read = [[unguarded(cell) for cell in record.cells] for record in checker.table.records()]
    assert read == rows
    (run,) = checker.runs()
    assert run.frame["name"].tolist() == [row[0] for row in rows]
    assert "".join(csv_lines([HEADER.split(","), *read])).encode() == first
    ranked = rows_of(sent(client, first, accept="text/csv").data)
    assert [unguarded(row["name"]) for row in ranked] == [row[0] for row in rows]


# --- bounded ------------------------------------------------------------------------------------


def test_more_streams_than_there_are_places_are_told_to_come_again():
    app = create_app({"PORTFOLIO_STREAMS": 1})
    client = app.test_client()
    headers = {"Accept": NDJSON, "Content-Type": "text/csv"}
    held = client.post(ADDRESS, data=TABLE.encode(), headers=headers)
    second = client.post(ADDRESS, data=TABLE.encode(), headers=headers)
    assert second.status_code == 503
    assert int(second.headers["Retry-After"]) > 0
    assert client.get("/v1/health").status_code == 200
    held.close()
    with client.post(ADDRESS, data=TABLE.encode(), headers=headers) as third:
        assert third.status_code == 200


def test_a_plan_of_roofs_that_are_all_refused_is_empty(client):
    row = dict(zip(HEADER.replace("_ft2", "").split(","), GOOD[0].split(","), strict=True))
    row |= {"roof_area": 20000, "age": 3, "insulation": 1e-110}
    answer = client.post(f"{ADDRESS}?budget_by_year=1000;1000", json={"rows": [row]})
    assert (answer.status_code, answer.json["computed"], answer.json["refused"]) == (200, 0, 1)
    assert len(answer.json["plan"]["years"]) == 2


def test_a_place_is_given_back_once_even_if_left_twice():
    places = Places(1)
    place = places.take()
    place.leave()
    place.leave()
    places.take()
    with pytest.raises(Problem) as caught:
        places.take()
    assert caught.value.status == 503


def test_a_refused_request_gives_its_place_back():
    client = create_app({"PORTFOLIO_STREAMS": 1}).test_client()
    for _ in range(3):
        assert sent(client, b"%PDF").status_code == 415
    assert sent(client, query="?show=check").status_code == 200


def test_a_failure_in_the_middle_is_the_last_line_of_the_stream(client, monkeypatch):
    monkeypatch.setattr("lcc.portfolio.evaluation.costed_surely", lambda *_, **__: 1 / 0)
    events = lines(sent(client, accept=NDJSON))
    assert [event["event"] for event in events] == ["start", "problem"]
    assert events[-1]["status"] == 500
    assert "ZeroDivision" not in json.dumps(events)


@pytest.fixture
def server(tmp_path):
    """A real server in a process of its own, for uploads that a test client would hold twice."""
    code = (
        "import sys; sys.path[:0] = sys.argv[2].split('|'); from api import create_app, server; "
        "server.run(create_app, port=int(sys.argv[1]), workers=1, threads=4)"
    )
    port = 8600 + os.getpid() % 300
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(port), "|".join(sys.path)],
        cwd=tmp_path, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    try:
        for _ in range(100):
            try:
                with urllib.request.urlopen(f"{address}/v1/health"):
                    break
            except OSError:
                time.sleep(0.1)
        yield process.pid, address
    finally:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


def peak_mib(parent):
    """The highest memory that any process of the server has held."""
    found = []
    for status in Path("/proc").glob("[0-9]*/status"):
        try:
            text = status.read_text()
        except OSError:
            continue
        facts = dict(line.split(":", 1) for line in text.splitlines() if ":" in line)
        if parent in (int(facts["Pid"]), int(facts["PPid"])) and "VmHWM" in facts:
            found.append(int(facts["VmHWM"].split()[0]) / 1024)
    return max(found)


@pytest.mark.thorough
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="reads memory from /proc")
def test_an_upload_of_36_megabytes_is_refused_by_its_rows_in_bounded_memory(server):
    parent, address = server
    ask = urllib.request.Request(
        address + ADDRESS, (HEADER + "\n" + GOOD[0]).encode(), {"Content-Type": "text/csv"}
    )
    with urllib.request.urlopen(ask) as reply:
        assert reply.status == 200
    before = peak_mib(parent)
    row = (GOOD[0].replace("Roof 0", "Roof {:07d}") + "\n").format
    head = HEADER.encode() + b"\n"
    body = head + "".join(row(i) for i in range(36 * 2**20 // len(row(0)))).encode()
    ask = urllib.request.Request(address + ADDRESS, body, {"Content-Type": "text/csv"})
    with pytest.raises(urllib.error.HTTPError) as caught:
        urllib.request.urlopen(ask)
    with caught.value as reply:
        told = json.load(reply)
        assert (reply.code, told["type"]) == (422, "/v1/problems/too-many-rows")
        assert "200,000 rows" in told["errors"][0]["detail"]
    assert peak_mib(parent) - before < 200


@pytest.mark.thorough
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="reads memory from /proc")
def test_a_table_of_36_megabytes_within_the_rows_allowed_is_read_in_bounded_memory(server):
    parent, address = server
    rows = 190_000
    place = GOOD[0].partition(",")[2]
    length = 36 * 2**20 // rows - len(place) - 2
    body = HEADER + "\n" + "\n".join(f"{i:0{length}d},{place}" for i in range(rows))
    assert len(body) > 35 * 2**20
    ask = urllib.request.Request(
        address + ADDRESS + "?show=check", body.encode(), {"Content-Type": "text/csv"}
    )
    before = peak_mib(parent)
    with urllib.request.urlopen(ask) as reply:
        told = json.load(reply)
    assert (told["rows"], told["good"], told["bad"]) == (rows, rows, 0)
    assert peak_mib(parent) - before < 400
