"""The core as a library: what `import lcc` gives, and an answer as tables."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import lcc
from api import service
from lcc import tables
from lcc.case.resolution import figures

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "data/demo/case.json"


@pytest.fixture(scope="module")
def answer():
    return lcc.compare(lcc.read_case(DEMO))


def test_the_example_of_the_readme_runs_without_a_web_framework():
    """Two roofs compared in at most fifteen lines, run as they are printed.

    Then a case is read and compared, without the service, the pages or their libraries.
    """
    section = (ROOT / "README.md").read_text().split("\n## As a library\n")[1].split("\n## ")[0]
    (program,) = re.findall(r"```python\n(.*?)```", section, re.DOTALL)
    assert len(program.strip().splitlines()) <= 15
    program += (
        "\nimport sys, lcc; case = lcc.read_case('data/demo/case.json'); lcc.compare(case); "
        "outer = {'api', 'web', 'flask', 'marshmallow', 'apispec', 'altair'}; "
        "print(sorted(outer & {name.split('.')[0] for name in sys.modules}))"
    )
    run = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    assert "TPO again and again" in run.stdout
    assert "net_savings" in run.stdout
    assert run.stdout.strip().splitlines()[-1] == "[]"


def test_every_public_name_is_there():
    """`import lcc` gives every name of `__all__`, and says what it has not."""
    for name in lcc.__all__:
        assert callable(getattr(lcc, name)), name
    with pytest.raises(AttributeError, match="no attribute 'Rof'"):
        lcc.Rof  # noqa: B018


def test_a_case_is_read_from_a_file_or_a_document():
    document = tables.read_json("demo/case.json")
    assert lcc.read_case(DEMO) == lcc.load_case(document)
    for part, message in (
        ({"area": -1}, r"^roof.area: Roof area is -1; allowed: at least 10.8, .* ft\^2.$"),
        ({"area": "9 acres"}, "^roof.area: Roof area: 'acres' is not a unit of area"),
        ({"aera": 1}, "did you mean 'area'"),
        ({"layers": []}, "^roof.layers: .* 0 given; allowed: a list of objects, at least 1"),
        ({"layers": [{"material": "steel deck"}]}, "^roof.layers.0.material: .* the nearest"),
    ):
        with pytest.raises(lcc.CaseError, match=message):
            lcc.load_case({**document, "roof": {**document["roof"], **part}})
    with pytest.raises(lcc.CaseError, match=r"^base_case.kind: .*one of membrane, coating"):
        lcc.load_case({**document, "base_case": {"kind": "membran"}})
    with pytest.raises(lcc.CaseError, match=r"^roof: Please enter"):
        lcc.load_case({name: part for name, part in document.items() if name != "roof"})


def test_the_core_reads_a_case_as_the_service_does():
    """One reader of values: the same case, with the same origins, on both ways."""
    document = tables.read_json("demo/case.json")
    document["roof"]["area"] = "24000 ft^2"
    document["origins"]["/roof/area"] = "published"
    ours, served = lcc.load_case(document), service.load_case(document).case
    assert ours == served
    assert [each.origin for each in figures(ours)] == [each.origin for each in figures(served)]


def test_an_answer_prints_in_a_few_lines(answer):
    """Its repr was 97,622 characters long."""
    assert len(repr(answer)) < 500
    assert all(one.name in repr(answer) for one in answer.alternatives)
    assert answer.headline.split("“")[0] in answer._repr_html_()


def test_an_answer_as_tables_holds_its_own_figures(answer):
    """Alternatives by measures, years by alternatives, figures by basis."""
    measured, flow, rests = answer.to_frame(), answer.cash_flow(), answer.assumptions_frame()
    names = [one.name for one in answer.alternatives]
    assert list(measured.index) == list(flow.columns) == names
    own = answer.alternatives[1]
    assert measured.loc[own.name, "net_savings"] == own.measures.net_savings.value
    assert measured.loc[names[0], measured.columns[5:]].isna().all()
    assert flow[own.name].tolist() == list(own.cash_flow)
    assert flow.index.tolist() == list(range(len(own.cash_flow)))
    assert len(rests) == len(answer.assumptions)
    assert set(rests.columns) == {"label", "value", "kind", "basis", "source"}
