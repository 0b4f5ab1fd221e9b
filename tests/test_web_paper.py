"""The proposal on paper: tagged, at most four pages, with everything a banker asks for."""

import copy
import re
import subprocess

import pytest
from click.testing import CliRunner

from api.problems import Problem
from web import assumptions, paper
from web.answer import Answer, answer, in_units
from web.cli import main

SECTIONS = ("What it costs, year by year", "The two roofs", "Programme of work", "Measures",
            "Energy in a typical year", "Before anyone climbs up",
            "What was entered and what is assumed, with sources", "Agreed")  # fmt: skip


def _facts(pdf):
    said = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
    return dict(re.findall(r"^([^:]+):\s+(.*)$", said, re.M))


def _words(pdf):
    done = subprocess.run(["pdftotext", pdf, "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


@pytest.fixture
def heavy_document(demo_document):
    """Five alternatives, one with a survey, long names: as much as a proposal may hold."""
    document = copy.deepcopy(demo_document)
    rectangles = [{"length": 200.0, "width": 120.0}, {"length": 60.0, "width": 40.0, "x": 200.0}]
    document["alternatives"][0]["framing"] = {"rectangles": rectangles}
    document["alternatives"] += [
        {"kind": "membrane", "name": "White membrane laid now", "start": "now"},
        {"kind": "metal-retrofit", "name": "A second retrofit, with boards in place of blanket",
         "layers": [{"material": "polyiso-board", "thickness": 3.0}]},
    ]  # fmt: skip
    return document


@pytest.mark.parametrize(
    ("name", "units", "size"),
    [("demo_document", "ip", "letter"), ("demo_document", "si", "A4"),
     ("heavy_document", "ip", "letter")],
)  # fmt: skip
def test_the_pdf_is_tagged_and_short(request, tmp_path, name, units, size):
    """Letter paper with inch-pound units, A4 otherwise."""
    document = request.getfixturevalue(name)
    out = tmp_path / "proposal.pdf"
    paper.print_pdf(in_units(document, units), out)
    facts = _facts(out)
    assert facts["Tagged"] == "yes"
    assert facts["Title"] == f"Proposal: {document['name']}"
    assert int(facts["Pages"]) <= 4
    assert size in facts["Page size"]
    words = _words(out)
    assert [title for title in SECTIONS if title not in words] == []
    for word in ("Owner", "Date", "Consultant or contractor", "Model 0.", "data ", "asbestos",
                 "structural engineer", "invented"):  # fmt: skip
        assert word in words
    assert "NaN" not in words


def test_every_assumption_is_told_under_its_source(page_client, demo_document):
    """None of the reply's is left out; what repeats with the same value is told once."""
    reply = page_client.post("/v1/comparisons", json=demo_document).json
    told = {
        (item.label, rest.basis, item.source)
        for rest in assumptions.rests(reply)
        for item in rest.items
    }
    labels = {(one["label"], one["basis"]) for one in reply["assumptions"]}
    assert {(label, basis) for label, basis, _ in told} == labels


def test_entered_figures_come_first():
    rows = [
        assumptions.Assumed("a", "1", "demo", "invented"),
        assumptions.Assumed("b", "2", "entered", "the case"),
    ]
    assert [rest.basis for rest in assumptions.grouped(rows)] == ["entered", "demo"]


def test_without_a_browser_the_message_says_what_to_do(monkeypatch, tmp_path, demo_document):
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("ROOF_LCC_CHROMIUM", raising=False)
    with pytest.raises(paper.PrintError, match="Install Chromium"):
        paper.print_pdf(demo_document, tmp_path / "x.pdf")
    assert not (tmp_path / "x.pdf").exists()


def test_a_browser_that_fails_is_told(tmp_path, demo_document):
    broken = tmp_path / "broken"
    broken.write_text("#!/bin/sh\necho no display >&2\nexit 3\n")
    broken.chmod(0o755)
    with pytest.raises(paper.PrintError, match="no display"):
        paper.print_pdf(demo_document, tmp_path / "x.pdf", str(broken))


def test_a_case_that_is_none_is_refused_before_anything_prints(tmp_path):
    with pytest.raises(Problem):
        paper.print_pdf({"units": "ip"}, tmp_path / "x.pdf")


def test_the_command_prints_and_tells(tmp_path):
    case = tmp_path / "case.json"
    case.write_text("{}")
    done = CliRunner().invoke(main, ["proposal", str(case), "--out", str(tmp_path / "x.pdf")])
    assert done.exit_code == 1
    assert "#/roof" in done.output
    assert "Traceback" not in done.output


def test_the_answer_is_shown_as_a_whole(demo_document):
    done = answer(demo_document, lambda function, *given: function(*given), drawn=False)
    assert isinstance(done, Answer)
    assert done.years == 50
    assert done.verdict.startswith("It costs")
