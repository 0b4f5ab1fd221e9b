"""The proposal on paper: tagged, at most four pages, with everything a banker asks for."""

import copy
import re
import subprocess
from pathlib import Path

import pvlib
import pytest
from click.testing import CliRunner

from api.problems import Problem
from web import assumptions_table, on_paper, paper, weather
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


LONG = "A roof that is told in as many words as its field takes, and then some more of them. "


def _crowded(document, count, years=50, letters=0, life=16):
    """So many alternatives over so many years, with names of so many letters."""
    made = copy.deepcopy(document)
    kinds = [*made["alternatives"], {"kind": "membrane", "start": "now", "service_life": life}]
    made["alternatives"] = [copy.deepcopy(kinds[place % 3]) for place in range(count)]
    made["economics"]["study_period"] = years
    made["base_case"]["service_life"] = life
    for place, one in enumerate([made, made["base_case"], *made["alternatives"]]):
        one["name"] = f"{place} {4 * LONG}"[:letters].strip() or one.get("name", f"Roof {place}")
    return made


@pytest.fixture
def long_names(demo_document):
    return _crowded(demo_document, 2, letters=60)


@pytest.fixture
def six(demo_document):
    return _crowded(demo_document, 6)


@pytest.fixture
def most(demo_document):
    """Twenty alternatives over a hundred years, lives of a year, the longest names."""
    return _crowded(demo_document, 20, years=100, letters=200, life=1)


@pytest.fixture
def layered(demo_document):
    """As many layers as a roof may have, each with figures of its own."""
    made = _crowded(demo_document, 5, years=100, letters=200, life=3)
    layer = {"thickness": 0.4, "conductivity": 0.6, "density": 10.0, "specific_heat": 0.2}
    layers = [{**layer, "density": 10.0 + n, "moisture": n / 200} for n in range(50)]
    for one in (made["roof"], made["alternatives"][0]):
        one["layers"] = copy.deepcopy(layers)
    del made["alternatives"][0]["framing"]
    made["alternatives"][0]["cavity"] = {"mean_height": 3.0}
    return made


@pytest.mark.parametrize(
    ("name", "units", "size"),
    [("demo_document", "ip", "letter"), ("demo_document", "si", "A4"),
     ("heavy_document", "ip", "letter"), ("long_names", "ip", "letter"), ("six", "ip", "letter"),
     ("most", "ip", "letter"), ("most", "si", "A4"), ("layered", "ip", "letter")],
)  # fmt: skip
def test_the_pdf_is_tagged_and_short(request, tmp_path, name, units, size):
    """Letter paper with inch-pound units, A4 otherwise."""
    document = request.getfixturevalue(name)
    out = tmp_path / "proposal.pdf"
    paper.print_pdf(in_units(document, units), out)
    facts = _facts(out)
    assert facts["Tagged"] == "yes"
    assert facts["Title"] == f"Proposal: {document['name']}".strip()
    assert int(facts["Pages"]) <= 5
    assert size in facts["Page size"]
    words = _words(out)
    assert [title for title in SECTIONS if title not in words] == []
    whole = words.replace(" ", "")
    names = [one["name"] for one in (document["base_case"], *document["alternatives"])]
    told = [name for name in names if name.replace(" ", "") in whole]
    assert len(told) >= min(len(names), 1 + on_paper.MOST)
    for word in ("Owner", "Date", "Consultant or contractor", "Model 0.", "data ", "asbestos",
                 "structural engineer", "invented"):  # fmt: skip
        assert word in words
    assert "NaN" not in words


def test_every_assumption_is_told_under_its_source(page_client, demo_document):
    """None of the reply's is left out; what repeats with the same value is told once."""
    reply = page_client.post("/v1/comparisons", json=demo_document).json
    told = {
        (item.label, rest.basis, item.source)
        for rest in assumptions_table.rests(reply)
        for item in rest.items
    }
    labels = {(one["label"], one["basis"]) for one in reply["assumptions"]}
    assert {(label, basis) for label, basis, _ in told} == labels


def _printed(document):
    done = answer(document, lambda function, *given: function(*given), drawn=False)
    return on_paper.sheet(done, paper.ROOM)


def test_every_entered_figure_names_its_owner(demo_document):
    entered = [rest for rest in _printed(demo_document).rests if rest.heading == "Entered"]
    items = [item for rest in entered for item in rest.items]
    assert [item for item in items if not (item.owner and item.value)] == []
    lives = {item.owner: item.value for item in items if item.label == "Service life"}
    assert lives == {"Base case": "16 y", "Alternative 2, replacement": "18 y"}
    thick = {item.owner: item.value for item in items if item.label == "Thickness"}
    assert thick["Roof today, layer 3 (perlite board)"] == "1.5 in"
    assert thick["Alternative 1, layer 1 (glass fibre blanket)"] == "6 in"


def test_a_weather_file_stands_in_place_of_the_station(demo_document):
    """The hourly TMY3 file that pvlib ships."""
    text = (Path(pvlib.__file__).parent / "data" / "723170TYA.CSV").read_text(encoding="utf-8")
    document, _ = weather.into(copy.deepcopy(demo_document), "greensboro.csv", text)
    document["uncertainty"] = {"draws": 0}
    done = answer(document, lambda function, *given: function(*given), drawn=False)
    site = [item for rest in done.rests for item in rest.items if item.owner == "Site"]
    told = {item.label: item.value for item in site}
    assert told["Weather file"] == "greensboro.csv"
    assert "Climate" not in told


def test_many_alternatives_are_cut_to_the_best_and_that_is_told(most):
    printed = _printed(most)
    whole = answer(most, lambda function, *given: function(*given), drawn=False).reply
    costs = [one["life_cycle_cost"] for one in whole["alternatives"]]
    shown = [one["life_cycle_cost"] for one in printed.answer.reply["alternatives"]]
    assert shown[0] == costs[0]
    assert sorted(shown[1:]) == sorted(costs[1:])[: on_paper.MOST]
    assert printed.more.startswith("20 alternatives were compared; the 4 printed")
    always = ("structural engineer", "asbestos", "Work at height", "authority having jurisdiction")
    assert [word for word in always if word not in " ".join(printed.cautions)] == []


@pytest.mark.parametrize("name", ["Work at height", "A", "Local code"])
def test_no_name_can_hide_a_caution(most, name):
    most["alternatives"][-1]["name"] = name
    said = _printed(most).cautions
    assert any(one.startswith("Work at height: fall protection") for one in said)
    assert any(one.startswith("A metal roof over the old one adds dead load") for one in said)


def test_no_print_is_smaller_than_seven_points():
    style = (Path(paper.__file__).parent / "static" / paper.STYLE).read_text(encoding="utf-8")
    sizes = re.findall(r"font(?:-size)?:[^;]*?([\d.]+)pt", style)
    assert min(map(float, sizes)) >= 7


def test_entered_figures_come_first():
    rows = [
        assumptions_table.Assumed("a", "1", "demo", "invented"),
        assumptions_table.Assumed("b", "2", "entered", "the case"),
    ]
    assert [rest.basis for rest in assumptions_table.grouped(rows)] == ["entered", "demo"]


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
