"""The proposal as a PDF: two pages of letter, every figure, every caution, on every machine."""

import base64
import copy
import dataclasses
import json
import re
import struct
import subprocess
import zlib
from itertools import pairwise, takewhile
from pathlib import Path

import pvlib
import pytest
from click.testing import CliRunner

from api import service
from api.problems import Problem
from lcc.case import Proposal
from lcc.figures import shown
from web.assumptions_table import rests
from web.cli import main
from web.format import cut_length
from web.proposal import document as printed
from web.proposal import letter, typesetting

DEMO = Path(__file__).parents[1] / "data" / "demo" / "case.json"
SCRIPTS = "משרד العربية 学校 "
LONG = "A roof that is described in as many words as its field takes, and then some more of them. "
PARTIES = {
    "company": "Example Roofing (invented) " + "and Partners " * 4,
    "company_address": "1 Sample Street, Springfield, telephone 555 0100 " * 2,
    "licence": "L-000000", "owner": "Unified School District of an Invented Place",
    "owner_address": "2 Sample Street " * 7, "address": "3 Sample Street " * 7,
    "number": "2027-014", "date": "2027-04-01", "valid_until": "2027-07-01",
    "includes": "\n".join(["- an item that is included in the price"] * 12),
    "excludes": "Whatever is not named. " * 25, "terms": "Payment in thirty days. " * 49,
}  # fmt: skip


def _squeezed(text):
    """A text without white space and hyphens, so that line ends do not matter."""
    return "".join(str(text).replace("\u200b", "").replace("-", "").split())


def _made(document, parts=printed.USUAL, paper="by-units"):
    loaded = service.load_case(document)
    return printed.proposal_pdf(loaded.case, loaded.units, parts, paper)


@pytest.fixture(scope="module")
def proposed(demo, demo_reply):
    """Make the paper of the demo with its own words of a proposal, without a new comparison."""
    case = service.load_case(demo).case

    def make(parts=("letter",), **words):
        own = dataclasses.replace(case, proposal=Proposal(**words))
        return printed.pdf(own, demo_reply, parts)

    return make


def _facts(pdf):
    done = subprocess.run(["pdfinfo", "-"], input=pdf, capture_output=True, check=True)
    return dict(re.findall(r"^([^:]+):\s+(.*)$", done.stdout.decode(), re.M))


@pytest.fixture(scope="module")
def demo():
    document = json.loads(DEMO.read_text(encoding="utf-8"))
    return {**document, "uncertainty": {"draws": 200}}


@pytest.fixture(scope="module")
def demo_reply(demo):
    loaded = service.load_case(demo)
    return service.comparison_reply(loaded.case, loaded.units)


@pytest.fixture(scope="module")
def demo_pdf(demo):
    return _made(demo, tuple(printed.PARTS))


def test_every_figure_of_the_reply_is_on_the_paper(demo_reply, demo_pdf, pdf_text):
    """Read back by poppler: measures, work, energy, assumptions, cautions, notes."""
    words = pdf_text(demo_pdf)
    answer = demo_reply["answer"]
    told = [answer["headline"], *answer["disagreements"], *answer["conditions"],
            *answer["reasons"], *answer["certainty"], letter.turned(demo_reply),
            demo_reply["name"], *demo_reply["cautions"], *demo_reply["notes"]]  # fmt: skip
    for one in demo_reply["alternatives"]:
        told += [shown(one[name], "money") for name in ("first_cost", "life_cycle_cost",
                 "equivalent_annual_cost", "residual_value")]  # fmt: skip
        told += [event["what"].removesuffix(", other work") for event in one["events"]]
        longest = max(one["energy"], key=lambda year: len(year["years"]))
        told += [shown(longest["cooling_electricity"], "electricity")]
        if one["measures"]:
            told += [shown(one["measures"]["net_savings"]["value"], "money")]
            told += [shown(swing["net_savings_low"], "money") for swing in one["swings"][:6]]
        if one["quantities"]:
            told += [line["name"] for line in one["quantities"]["first_cost"]["lines"]]
            told += [cut_length(row["tallest"], "ip") for row in one["quantities"]["posts"]]
    for row in demo_reply["scope"]:
        told += [one[name] for one in row["alternatives"] for name in ("reason", "source")]
    told += demo_reply["questions"]
    told += [item.label for rest in rests(demo_reply) for item in rest.items]
    told += [item.value for rest in rests(demo_reply) for item in rest.items]
    foot = r"Demo: school wing in Tulsa \(invented\) Proposal page \d+ of \d+"
    squeezed = _squeezed(re.sub(foot, "", words))
    assert [one for one in told if _squeezed(one) not in squeezed] == []
    assert "NaN" not in words


def test_it_is_a_tagged_document_with_headings_tables_and_figures(demo_pdf):
    """PDF/UA-1, to which typst's own checker holds it; the structure is read by poppler.

    Poppler warns of ``Suspects false``, which ISO 32000-1 table 321 allows: it knows only true.
    """
    facts = _facts(demo_pdf)
    assert facts["Tagged"] == "yes"
    assert facts["Title"].startswith("Proposal: Demo")
    assert b"pdfuaid:part" in demo_pdf
    assert b"/Suspects false" in demo_pdf
    tree = _structure(demo_pdf)
    tags = [tag for tag, _, _ in tree]
    assert {"H1", "H2", "H3", "P", "Table", "Figure", "L", "LI"} <= set(tags)
    assert tags.count("H1") == len(printed.PARTS)
    levels = [int(tag[1]) for tag in tags if re.fullmatch("H[1-6]", tag)]
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_table_has_header_cells_and_every_figure_a_text(demo_pdf):
    """Each column has a header cell with its scope, and each cell names its header."""
    tree = _structure(demo_pdf)
    tables = [place for place, (tag, _, _) in enumerate(tree) if tag == "Table"]
    assert len(tables) > 15
    for place in tables:
        inside = list(takewhile(lambda one, own=tree[place]: one[1] > own[1], tree[place + 1 :]))
        heads = [more for tag, _, more in inside if tag == "TH"]
        cells = [more for tag, _, more in inside if tag == "TD"]
        assert heads
        assert all("/Scope /Column" in one for one in heads)
        assert all("/Headers [(" in one for one in cells)
    figures = [line for line in demo_pdf.splitlines() if b"/S/Figure" in line]
    assert len(figures) == sum(tag == "Figure" for tag, _, _ in tree) >= 6
    assert all(re.search(rb"/Alt\s*[(<].", line) for line in figures)


def _structure(pdf):
    """The structure tree: each element's tag, its depth, and its attributes as text."""
    done = subprocess.run(["pdfinfo", "-struct", "-"], input=pdf, capture_output=True,
                          check=True).stdout.decode(errors="replace")  # fmt: skip
    found = []
    for line in done.splitlines():
        depth = len(line) - len(line.lstrip())
        if line.lstrip()[:1] in ("/", ""):
            if found:
                found[-1][2] += line.strip() + "\n"
        else:
            found.append([re.match(r"\w*", line.lstrip())[0], depth, ""])
    return found


def test_page_service_and_command_line_make_the_same_bytes(page_client, form_in, tmp_path):
    """The page's form, the case that the page saves, posted, and the same read from a file."""
    sent = form_in(page_client.get("/").text)
    sent["proposal.date"], sent["proposal.terms"] = "2027-04-01", "Half now,\r\nhalf later."
    saved = page_client.post("/save", data=sent)
    assert saved.json["proposal"]["terms"] == "Half now,\nhalf later."
    posted = page_client.post("/v1/proposals", json=saved.json)
    assert posted.mimetype == "application/pdf"
    case, out = tmp_path / "case.json", tmp_path / "x.pdf"
    case.write_bytes(saved.data)
    done = CliRunner().invoke(main, ["proposal", str(case), "--out", str(out)])
    assert done.exit_code == 0
    assert out.read_bytes() == posted.data == page_client.post("/proposal", data=sent).data
    base = saved.json["base_case"]["name"]
    own = saved.json | {"proposal": saved.json["proposal"] | {"recommended": base}}
    done = CliRunner().invoke(main, ["proposal", str(case), "--for", base, "--out", str(out)])
    assert done.exit_code == 0
    assert out.read_bytes() == page_client.post("/v1/proposals", json=own).data != posted.data


def test_what_was_not_entered_is_a_line_and_what_was_is_printed(proposed, pdf_text):
    empty = pdf_text(proposed())
    for label in ("Company", "Date", "Proposal no.", "Valid until", "For", "License"):
        assert label.lower() in empty.lower()
    full = pdf_text(proposed(**PARTIES))
    told = ["April 1, 2027", "July 1, 2027", *(PARTIES[n] for n in ("company", "owner", "terms"))]
    assert [one for one in told if _squeezed(one) not in _squeezed(full)] == []


def test_the_parts_asked_for_begin_a_page_each(page_client, demo, pdf_text):
    reply = page_client.post("/v1/proposals?parts=crew,flags&paper=a4", json=demo)
    words = pdf_text(reply.data)
    assert "Annex A: Flags and cautions" in words
    assert "Sheet for the crew" in words
    assert "Terms" not in words
    assert "A4" in _facts(reply.data)["Page size"]
    wrong = page_client.post("/v1/proposals?parts=banker", json=demo)
    assert wrong.status_code == 422
    assert "letter, comparison" in wrong.text
    other = page_client.post("/v1/proposals", json=demo, headers={"Accept": "application/json"})
    assert (other.status_code, "application/pdf" in other.text) == (406, True)


@pytest.mark.parametrize(
    "text",
    ["#sys.inputs *bold* $x$ @ref <label> \\ `raw`", '"#import \\"/etc/passwd\\": *"',
     "= Heading\n- item", "a\u202eb\u2066c", "http://example.org/x", "</svg><image href='/x'/>"],
)  # fmt: skip
def test_hostile_words_are_printed_as_they_stand(proposed, pdf_text, text):
    words = _squeezed(pdf_text(proposed(terms=text, owner=text.replace("\n", " "))))
    kept = _squeezed(re.sub("[\u202e\u2066]", "", text))
    assert words.count(kept) >= 2


def test_a_hostile_name_is_printed_as_it_stands(demo, pdf_text):
    own = copy.deepcopy(demo)
    name = own["alternatives"][0]["name"] = '#import "/etc/passwd" *b* $x$'
    assert _squeezed(name) in _squeezed(pdf_text(_made(own)))


def test_letters_that_the_font_lacks_are_named_and_never_dropped(proposed, pdf_text):
    words = pdf_text(proposed(owner="学校", company="שלום"))
    assert "□□" in words
    assert letter.LACKING in words
    assert letter.LACKING not in pdf_text(proposed())


def test_letters_of_a_weather_file_are_not_missed_on_paper(demo, pdf_text):
    own = copy.deepcopy(demo)
    text = (Path(pvlib.__file__).parent / "data" / "703165TY.csv").read_text("latin-1")
    weather = {"name": "own.csv", "text": text.replace("SAND POINT", "東京", 1)}
    assert "東京" in weather["text"]
    own["site"] = {"weather": weather, "climate_zone": "7"}
    assert letter.LACKING not in pdf_text(_made(own))


def _png(width, height, rows=None):
    def chunk(kind, data):
        whole = kind + data
        return struct.pack(">I", len(data)) + whole + struct.pack(">I", zlib.crc32(whole))

    pixels = zlib.compress(b"".join(b"\0" + b"\x20\x60\xa0" * width for _ in range(rows or height)))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", pixels)
            + chunk(b"IEND", b""))  # fmt: skip


SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20">{}</svg>'
GOOD = {"png": _png(80, 40), "svg": SVG.format('<rect width="40" height="20"/>').encode()}
BAD = {
    "ten megabytes": b"\x89PNG\r\n\x1a\n" + bytes(10_000_000),
    "too many pixels": _png(40_000, 2, rows=1),
    "cut short": _png(80, 40)[:60],
    "text": b"hello",
    "file": SVG.format('<image href="file:///etc/passwd"/>').encode(),
    "host": SVG.format('<rect fill="url(http://example.org/x)"/>').encode(),
    "style": SVG.format("<style>@import 'http://example.org/x'</style>").encode(),
    "copies": SVG.format('<use href="#a"/>').encode(),
    "entity": b'<!DOCTYPE svg [<!ENTITY a SYSTEM "/etc/passwd">]>' + SVG.format("&a;").encode(),
    "doctype": b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://example.org/svg11.dtd">'
    + SVG.format("").encode(),
    "other letters": SVG.format("").encode("utf-16"),
}


# What the message says, where it must say more than what a logo may be.
WHY = {
    "ten megabytes": "270000 characters", "too many pixels": "40000 by 2 pixels",
    "entity": "DOCTYPE",
    "doctype": "DOCTYPE", "file": "<image>", "host": "refers to another file", "style": "<style>",
    "text": "neither a PNG nor an SVG",
}  # fmt: skip


@pytest.mark.parametrize("kind", GOOD)
def test_a_logo_is_printed(proposed, kind):
    assert proposed(logo=base64.b64encode(GOOD[kind]).decode()) != proposed()


@pytest.mark.parametrize("kind", BAD)
def test_a_logo_that_is_none_or_reaches_elsewhere_is_refused(demo, proposed, kind):
    own = {"logo": base64.b64encode(BAD[kind]).decode()}
    with pytest.raises(Problem) as refused:
        _ = service.load_case({**demo, "proposal": own}), proposed(**own)
    assert refused.value.errors[0]["pointer"] == "#/proposal/logo"
    said = refused.value.errors[0]["detail"]
    assert WHY.get(kind, "") in said
    assert said.count("neither a PNG nor an SVG") <= 1


@pytest.mark.parametrize(
    ("name", "value"),
    [("date", "1 April"), ("valid_until", "2027-02-30"), ("recommended", "No such roof"),
     ("terms", "\n" * 13), ("company", "x" * 81), ("logo", "школа"),
     ("logo", "data:image/png;base64,é")],
)  # fmt: skip
def test_what_cannot_be_printed_is_refused_by_field(demo, proposed, name, value):
    with pytest.raises(Problem) as refused:
        _ = service.load_case({**demo, "proposal": {name: value}}), proposed(**{name: value})
    assert refused.value.errors[0]["pointer"] == f"#/proposal/{name}"


def test_another_alternative_can_be_proposed(demo, demo_reply, proposed, pdf_text):
    name = demo["alternatives"][1]["name"]
    costs = [one["life_cycle_cost"] for one in demo_reply["alternatives"]]
    words = pdf_text(proposed(recommended=name))
    apart = costs[2] - costs[0]
    level = abs(apart) <= 0.02 * max(costs[0], costs[2])
    title = letter.TOO_CLOSE if level else letter.DEARER if apart > 0 else letter.PROPOSED
    assert f"{title}: {name}" in words
    assert ("more over the study period than" in words) == (costs[2] > min(costs))


def test_no_letters_on_paper_are_smaller_than_nine_points():
    """But for the words within the letter's chart, 8.5 point."""
    sizes = {
        path.name: [float(one) for one in re.findall(r"size: ([\d.]+)pt", path.read_text("utf-8"))]
        for path in typesetting.TEMPLATE.glob("*.typ")
    }
    assert min(sizes.pop("chart.typ")) == 8.5
    assert min(size for found in sizes.values() for size in found) >= 9


def test_the_template_reads_no_file_but_its_own():
    source = "".join(path.read_text("utf-8") for path in typesetting.TEMPLATE.glob("*.typ"))
    assert set(re.findall(r'#import "([^"]+)"', source)) == {
        "look.typ", "chart.typ", "letter.typ", "layers.typ",
    }  # fmt: skip
    assert re.findall(r"\b(?:read|plugin|csv|toml|yaml|xml|eval)\(", source) == []
