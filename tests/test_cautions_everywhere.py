"""Every caution of a case, and every flag of its survey, is in every output: one list."""

import copy
import io
import json
import re
from html import unescape
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from lcc.caution_texts import CLIMB, DANGERS, FIRE, FOR_THE_CREW, STRUCTURE
from lcc.checks.run import run_checks
from lcc.model_notes import BESIDE_METERS, ENERGY_IN_BRIEF, ENERGY_LEAVES_OUT
from web.cli import main

NO_ENERGY = {"flags alone", "engineer alone", "crew alone"}
FIVE_BUILDINGS = (
    "austin_retail_ac_kwh_day", "field_sacramento_store", "field_san_marcos_school",
    "field_cocoa_mall_day", "field_cocoa_school_year",
)  # fmt: skip
DEMO = Path(__file__).parents[1] / "data" / "demo" / "case.json"


@pytest.fixture(scope="module")
def flagged():
    """A survey of half of the roof, without bracing, over wet insulation."""
    document = copy.deepcopy(json.loads(DEMO.read_text(encoding="utf-8")))
    document["uncertainty"] = {"draws": 0}
    document["roof"]["wet_fraction"] = 0.2
    document["alternatives"] = document["alternatives"][:1]
    framing = document["alternatives"][0]["framing"]
    framing["rectangles"][0]["width"] = 60.0
    framing["bracing"] = False
    return document


def _squeezed(text):
    """A text without white space, hyphens and feet of pages, so that no line end matters."""
    foot = r"Demo: school wing in Tulsa \(invented\) Proposal page \d+ of \d+"
    text = re.sub(foot, "", str(text))
    return "".join(str(text).replace("\u200b", "").replace("-", "").split())


def _said(reply):
    return "\n".join([*reply["cautions"], *reply["notes"]])


def _outputs(document, page_client, form_in, pdf_text, tmp_path):
    """What every way out says, as text without white space."""
    case = tmp_path / "case.json"
    case.write_text(json.dumps(document), encoding="utf-8")
    opened = page_client.post("/open", data={"file": (io.BytesIO(case.read_bytes()), "case.json")})
    form = form_in(opened.text)
    book = openpyxl.load_workbook(
        io.BytesIO(page_client.post("/figures.xlsx", data=form).data), read_only=True
    )
    yield "page", unescape(opened.text)
    yield "page, live", unescape(page_client.post("/answer", json=document).json["html"])
    yield "paper", pdf_text(page_client.post("/v1/proposals", json=document).data)
    for part in ("letter", "comparison", "flags", "engineer", "crew"):
        made = page_client.post(f"/v1/proposals?parts={part}", json=document).data
        yield f"{part} alone", pdf_text(made)
    yield "compare", CliRunner().invoke(main, ["compare", str(case)]).output
    as_json = CliRunner().invoke(main, ["compare", str(case), "--json"]).output
    yield "compare, JSON", _said(json.loads(as_json))
    resolved = page_client.post("/v1/comparisons?include=resolved", json=document).json
    yield "JSON", _said(resolved)
    yield "csv", page_client.post("/figures.csv", data=form).text.replace('""', '"')
    yield "xlsx", "\n".join(str(cell) for sheet in book for row in sheet.iter_rows(values_only=True)
                            for cell in row)  # fmt: skip


def test_every_output_has_every_caution_and_flag(flagged, page_client, form_in, pdf_text, tmp_path):
    reply = page_client.post("/v1/comparisons", json=flagged).json
    flags = reply["alternatives"][1]["quantities"]["flags"]
    assert {"bracing", "rectangles"} <= {flag["field"] for flag in flags}
    said = reply["cautions"]
    assert [f["message"] for f in flags if f["message"] not in "\n".join(said)] == []
    for name, text in _outputs(flagged, page_client, form_in, pdf_text, tmp_path):
        squeezed = _squeezed(text)
        # An annex of energy alone has no page for cautions.
        due = [] if name == "comparison alone" else said
        assert [one for one in due if _squeezed(one) not in squeezed] == [], name
        if name not in NO_ENERGY:
            energy = ENERGY_IN_BRIEF if name == "letter alone" else ENERGY_LEAVES_OUT
            assert _squeezed(energy) in squeezed, name


def test_what_energy_leaves_out_is_sized_by_the_kept_figures():
    """The range in the sentence is that of the five measured buildings in the evidence."""
    found = [one for one in run_checks((12,), kept=True) if one.id in FIVE_BUILDINGS]
    parts = [one.ours / one.expected for one in found]
    assert len(parts) == 5
    assert f"{min(parts):.1f} to {max(parts):.1f} times" in ENERGY_LEAVES_OUT


TABLE = """name,climate,roof_area,age,roof_type,covering,condition,wet_fraction
Hall,chicago-il,20000,16,steel-deck-perlite,epdm-black,poor,0.3
Shed,tulsa-ok,9000,4,steel-deck-perlite,epdm-black,good,0
"""


def _portfolio_outputs(page_client, pdf_text, tmp_path):
    """What every way out of a portfolio says, as text without white space."""
    rows = tmp_path / "roofs.csv"
    rows.write_text(TABLE, encoding="utf-8")
    for ending in ("csv", "xlsx", "json", "pdf"):
        command = ["portfolio", str(rows), "--out", f"{tmp_path}/r.{ending}", "--workers", "1"]
        done = CliRunner().invoke(main, command)
        assert done.exit_code == 0, done.output
    yield "csv", (tmp_path / "r.notes.csv").read_text(encoding="utf-8").replace('""', '"')
    book = openpyxl.load_workbook(tmp_path / "r.xlsx", read_only=True)
    cells = (cell for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row)
    yield "xlsx", "\n".join(map(str, cells))
    kept = json.loads((tmp_path / "r.json").read_text(encoding="utf-8"))
    yield "json", "\n".join([*(one["text"] for one in kept["cautions"]), *kept["notes"]])
    file = {"file": (io.BytesIO(TABLE.encode()), "roofs.csv"), "units": "ip"}
    yield "page", unescape(page_client.post("/portfolio", data=file).text)
    yield "board", pdf_text((tmp_path / "r.pdf").read_bytes())


@pytest.mark.thorough
def test_every_output_of_a_portfolio_has_every_caution(page_client, pdf_text, tmp_path):
    """Each roof's own cautions; the board's pages name the sheet of those for the crew."""
    body, kind = TABLE.encode(), {"Content-Type": "text/csv"}
    told = page_client.post("/v1/portfolios", data=body, headers=kind).json["cautions"]
    said = [one["text"] for one in told]
    assert len(said) > 30
    for number in (1, 2):
        asked = f"/v1/portfolios?show=case&building={number}"
        case = page_client.post(asked, data=body, headers=kind).json
        own = page_client.post("/v1/comparisons", json=case).json["cautions"]
        known = {re.sub(r"\d[\d.,]*", "#", one) for one in said}
        assert [one for one in own if re.sub(r"\d[\d.,]*", "#", one) not in known] == []
    for name, text in _portfolio_outputs(page_client, pdf_text, tmp_path):
        due = said
        if name == "board":
            due = [one[:20] for one in said if one not in FOR_THE_CREW]
            assert _squeezed("They stand whole in the sheet “Cautions”") in _squeezed(text)
        squeezed = _squeezed(text)
        energy = BESIDE_METERS if name == "board" else ENERGY_LEAVES_OUT
        assert _squeezed(energy) in squeezed, name
        assert [one for one in due if _squeezed(one) not in squeezed] == [], name


def test_the_crew_reads_of_structure_too_where_an_annex_has_the_rest(
    flagged, page_client, pdf_text
):
    """Drains, stacked loads, wet and ponded decks; the figures stay in the annex."""
    flagged = {**flagged, "roof": {**flagged["roof"], "ponding": "stands-48-hours"}}
    made = page_client.post("/v1/proposals?parts=crew,flags", json=flagged).data
    sheet = _squeezed(pdf_text(made).partition("Sheet for the crew")[2])
    groups = {one: set() for one in (CLIMB, STRUCTURE, FIRE)}
    for one in DANGERS:
        groups[one.group].add(one.text)
    said = page_client.post("/v1/comparisons", json=flagged).json["cautions"]
    for group, texts in groups.items():
        due = [one for one in said if one in texts]
        assert due, group
        assert [one for one in due if _squeezed(one) not in sheet] == [], group
    assert any("Water stands" in one for one in said)
    assert "Theseprices" not in sheet
