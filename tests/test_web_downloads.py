"""All figures of an answer as files: what stands in them, and that nothing in them is live."""

import copy
import csv
import io

import openpyxl
import pytest

from api import service
from web import format as fmt
from web import pages

HOSTILE = '=HYPERLINK("http://x","y")'
SHEETS = ["Answer", "Cash flow", "Costs", "Programme", "Measures", "Scope", "When to begin",
          "Break-evens", "Sensitivities", "What turns it", "Random runs", "Energy", "Assumptions",
          "Quantities 0"]  # fmt: skip


@pytest.fixture(scope="module")
def taken(web_app):
    """The demo's reply, and its form sent for both files, with a hostile name."""
    document = copy.deepcopy(pages.demo())
    document["name"] = document["alternatives"][0]["name"] = HOSTILE
    client = web_app.test_client()
    reply = client.post("/v1/comparisons", json=document).json
    return client, reply, document


def _files(taken, form_in):
    client, _, document = taken
    data = form_in(f'<form id="case">{client.post("/answer", json=document).json["form"]}</form>')
    return client.post("/figures.xlsx", data=data), client.post("/figures.csv", data=data)


@pytest.fixture(scope="module")
def files(taken, form_in):
    """The demo's two files, which nobody changes."""
    return _files(taken, form_in)


@pytest.fixture(scope="module")
def book(files):
    """The first of them, read."""
    return openpyxl.load_workbook(io.BytesIO(files[0].data))


def test_the_files_hold_the_replys_own_figures(taken, files, book):
    """Cash flow and present values exactly, every assumption with basis, every caution."""
    reply = taken[1]
    assert [each.status_code for each in files] == [200, 200]
    assert book.sheetnames == SHEETS
    flow = list(book["Cash flow"].values)[1:]
    roofs = reply["alternatives"]
    assert len(flow) == len(roofs[0]["cash_flow"])
    for year, *figures in flow:
        expected = [one[key][year] for one in roofs
                    for key in ("cash_flow", "cumulative_present_value")]  # fmt: skip
        assert figures == pytest.approx(expected, rel=1e-12)
    duties = list(book["Scope"].values)[1:]
    stated = [(row["duty"], one) for row in reply["scope"] for one in row["alternatives"]]
    for cells, (duty, one) in zip(duties, stated, strict=True):
        assert cells[:3] == (duty, one["name"], one["status"])
        assert cells[3:5] == pytest.approx((one["cost"], one["first_cost"]), rel=1e-12)
    assumed = list(book["Assumptions"].values)[1:]
    assert [row[4] for row in assumed] == [one["basis"] for one in reply["assumptions"]]
    said = [row[1] for row in book["Answer"].values if row[0] == "Caution"]
    assert said == reply["cautions"]
    invented = dict(row[:2] for row in book["Answer"].values)["Invented demo figures in it"]
    page = taken[0].post("/answer", json=taken[2]).json["html"]
    assert f"{invented} figures invented" in page
    numbers = sum(isinstance(one["value"], int | float) for one in reply["assumptions"])
    choices = len(reply["assumptions"]) - numbers
    assert f"{numbers} figures and {choices} choices, each with its source" in page


def _to_14_digits(value):
    """What follows them is what a computer's sums leave."""
    return float(f"{value:.14g}")


def test_every_figure_is_a_number_with_its_unit_in_a_column(taken, files, book):
    """Sums can be made of starts, break-evens, runs, ranges, energy and dew, as the page has."""
    reply, text = taken[1], files[1]
    sheets = {name: list(book[name].values) for name in SHEETS}
    base, own, *_ = roofs = reply["alternatives"]

    def rows(name, *first):
        return [row for row in sheets[name] if row[: len(first)] == first]

    saved = {row[1]: row[2] for row in rows("When to begin", own["name"])}
    begun = own["starting_years"]
    assert saved == pytest.approx(dict(zip(begun["years"], begun["net_savings"], strict=True)))
    for one in own["break_even"]:
        (row,) = rows("Break-evens", own["name"], one["field"])
        # In percent, and gas by the therm: 29.3001 kWh, as bills state it.
        each = {"rate": 100, "fraction": 100, "price_of_gas": 29.3001}
        told = each.get(one["current"]["kind"], 1) * one["current"]["value"]
        assert row[3] == pytest.approx(told, rel=1e-5)
        assert (row[7] == "$/therm (US)") == (one["current"]["kind"] == "price_of_gas")
        assert (row[4] is None) == (one["value"] is None)
    price = rows("Break-evens", own["name"], "base_case.price")[0]
    assert price[7] == "$/ft²"
    for one in own["swings"]:
        (row,) = rows("Sensitivities", own["name"], one["field"])
        assert row[6:8] == pytest.approx((one["net_savings_low"], one["net_savings_high"]))
    runs = {(row[2], row[3]): row[5:] for row in rows("Random runs", own["name"])}
    draws = own["spread"]["against_base"]
    middle = runs["Net savings", "50th percentile, the median"]
    assert middle == (_to_14_digits(draws["net_savings"]["p50"]), "$")
    less = runs["Against the base case", "Chance that it costs less than the base case"]
    assert less == (pytest.approx(100 * draws["costs_less"], rel=1e-9), "%")
    year = {row[3]: row[5:] for row in rows("Energy", own["name"], own["energy"][-1]["assembly"],
                                            "The year")}  # fmt: skip
    assert year["Gas"] == (pytest.approx(own["energy"][-1]["gas"], rel=1e-9), "therm (US)")
    months = rows("Energy", base["name"], base["energy"][0]["assembly"], "By month")
    assert len([row for row in months if row[3] == "Gas"]) == 12
    assert rows("Energy", own["name"], own["energy"][-1]["assembly"], "Hot day, by hour")
    spent = sum(row[4] for row in sheets["Programme"][1:])
    assert spent == pytest.approx(sum(each["cost"] for one in roofs for each in one["events"]))
    measures = {row[:2]: row[2:4] for row in sheets["Measures"]}
    saved = _to_14_digits(own["measures"]["net_savings"]["value"])
    assert measures[own["name"], "Net savings"] == (saved, "$")
    assert all(type(row[0]) is int for row in sheets["Programme"][1:])
    assert {"When to begin", "Break-evens", "Random runs"} <= {
        row[0] for row in csv.reader(io.StringIO(text.text)) if row
    }


def test_the_measures_after_tax_are_in_the_files_too(taken, form_in):
    """Where a tax rate is entered: costs of every roof, net savings of each alternative."""
    client, _, document = taken
    taxed = copy.deepcopy(document)
    taxed.setdefault("economics", {})["tax"] = {"rate": 0.3}
    reply = client.post("/v1/comparisons", json=taxed).json
    xlsx, _ = _files((client, reply, taxed), form_in)
    rows = list(openpyxl.load_workbook(io.BytesIO(xlsx.data))["Measures"].values)
    for label, name in (("Life-cycle cost after tax", "life_cycle_cost"),
                        ("Net savings after tax", "net_savings")):  # fmt: skip
        expected = [one["after_tax"][name] for one in reply["alternatives"]]
        found = [row[2] for row in rows if row[1] == label]
        assert found == pytest.approx([each for each in expected if each is not None], rel=1e-12)
        assert found


def test_the_tax_of_each_year_can_be_checked(taken, form_in):
    """A share of all that a year deducts is the tax that it saves; the costs less it are left.

    Over the whole period work is deducted once, less what is left of the roof.
    """
    client, _, document = taken
    taxed = copy.deepcopy(document)
    taxed.setdefault("economics", {})["tax"] = {"rate": 0.3}
    reply = client.post("/v1/comparisons", json=taxed).json
    xlsx, _ = _files((client, reply, taxed), form_in)
    head, *rows = openpyxl.load_workbook(io.BytesIO(xlsx.data))["Tax by year"].values
    assert len(head) == 2 + len(reply["alternatives"][0]["cash_flow"])
    assert len(rows) == 6 * len(reply["alternatives"])
    for place, one in enumerate(reply["alternatives"]):
        running, work, sold, deducted, tax, left = (
            row[2:] for row in rows[6 * place : 6 * place + 6]
        )
        assert deducted == pytest.approx(
            [sum(each) for each in zip(running, work, sold, strict=True)], abs=1e-6
        )
        assert tax == pytest.approx([-0.3 * each for each in deducted], abs=1e-6)
        assert left == pytest.approx(
            [sum(each) for each in zip(one["cash_flow"], tax, strict=True)], abs=1e-6
        )
        assert sold[:-1] == pytest.approx([0.0] * (len(sold) - 1), abs=1e-6)
        energy = sum(cost["by_year"][1] for cost in one["costs"]
                     if cost["name"] in ("Electricity", "Electricity demand", "Gas"))  # fmt: skip
        assert running[1] >= energy > 0


def test_no_cell_is_live(files, book):
    """A name that is a formula stays text in both files."""
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "f" not in kinds
    cells = [cell for row in csv.reader(io.StringIO(files[1].text)) for cell in row]
    assert f"'{HOSTILE}" in cells
    assert not [cell for cell in cells if cell.startswith(("=", "@"))]


def test_quotations_stand_side_by_side_on_the_page_and_in_the_files(web_app, form_in):
    """Each as quoted, what it leaves out duty by duty, what both come to, and which is taken."""
    document = copy.deepcopy(pages.demo())
    del document["base_case"]["price"]
    document["base_case"]["quotations"] = [
        {"bidder": "Anders", "price": 6.5},
        {"bidder": "Crown", "price": 14.0, "price_includes": ["everything"]},
    ]
    client = web_app.test_client()
    bids = client.post("/v1/comparisons", json=document).json["alternatives"][0]["quotations"]
    answered = client.post("/answer", json=document).json
    page = answered["html"]
    form = form_in(f'<form id="case">{answered["form"]}</form>')
    book = openpyxl.load_workbook(io.BytesIO(client.post("/figures.xlsx", data=form).data))
    rows = [row for row in book["Quotations"].values if row[0] == "New membrane"]
    assert len(rows) == len(bids) == 2
    for (_, bidder, quoted, left_out, level, taken), bid in zip(rows, bids, strict=True):
        assert (bidder, taken) == (bid["bidder"], "yes" if bid["taken"] else "no")
        assert quoted == fmt.shown(bid["price"], "price_per_area")
        assert level == fmt.shown(bid["levelled_price"], "price_per_area")
        assert left_out.count(";") == max(0, len(bid["left_out"]) - 1)
        assert all(fmt.shown(one["price"], "price_per_area") in left_out
                   for one in bid["left_out"])  # fmt: skip
        assert all(cell in page for cell in (bidder, quoted, level))


def test_thicknesses_in_si_are_read_in_mm(web_app, form_in):
    """The reply keeps its metres; page and files say a thousand times as many millimetres."""
    client = web_app.test_client()
    metric = service.case_document(service.load_case(pages.demo()).case, "si")
    reply = client.post("/v1/comparisons", json=metric).json
    thick = {one["field"]: one["value"] for one in reply["assumptions"]
             if one["kind"] == "thickness"}  # fmt: skip
    assert len(thick) > 5
    answered = client.post("/answer", json=metric).json
    form = form_in(f'<form id="case">{answered["form"]}</form>')
    book = openpyxl.load_workbook(io.BytesIO(client.post("/figures.xlsx", data=form).data))
    read = {row[0]: row[2:4] for row in book["Assumptions"].values if row[0] in thick}
    assert {unit for _, unit in read.values()} == {"mm"}
    assert [value for value, _ in read.values()] == pytest.approx(
        [1000 * thick[field] for field in read], rel=1e-9
    )
    shown = [f"{fmt.shown(1000 * value)} mm" for value in thick.values() if value]
    assert [one for one in shown if one not in answered["html"]] == []
    assert not [one for value in thick.values() if value
                for one in [f">{fmt.shown(value)} m<"] if one in answered["html"]]  # fmt: skip
