"""A client that a generator makes from the document, as an integrator would, runs every call."""

import importlib
import io
import json
import pkgutil
import subprocess
import sys
import time
import types

import pytest

from lcc import tables
from web import create_app

pytestmark = pytest.mark.thorough
# Bodies and answers that the generator knows no name for are bytes.
BYTES = (
    "text/csv", "text/plain", "text/tab-separated-values", "application/pdf",
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
)  # fmt: skip
ROW = {
    "name": "A", "climate": "tulsa-ok", "roof_area": 20000, "age": 3,
    "roof_type": "steel-deck-perlite", "covering": "epdm-black",
}  # fmt: skip


@pytest.fixture(scope="module")
def generated(tmp_path_factory):
    """The package of the client; a warning of the generator is a failure."""
    folder = tmp_path_factory.mktemp("client")
    document = create_app().test_client().get("/v1/openapi.json").get_data()
    (folder / "openapi.json").write_bytes(document)
    overrides = dict.fromkeys(BYTES, "application/octet-stream")
    config = {"content_type_overrides": overrides, "post_hooks": []}
    (folder / "config.yml").write_text(json.dumps(config))
    done = subprocess.run(
        [sys.executable, "-m", "openapi_python_client", "generate", "--path", "openapi.json",
         "--config", "config.yml", "--meta", "none", "--output-path", "roofs", "--fail-on-warning"],
        cwd=folder, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "arning" not in done.stdout
    sys.path.insert(0, str(folder))
    yield importlib.import_module("roofs")
    sys.path.remove(str(folder))


@pytest.fixture(scope="module")
def calls(generated):
    """The modules of the operations by name, and a record of those that were called."""
    found = {}
    for info in pkgutil.walk_packages(importlib.import_module("roofs.api").__path__, "roofs.api."):
        if not info.ispkg:
            found[info.name.rpartition(".")[2]] = importlib.import_module(info.name)
    return types.SimpleNamespace(found=found, called=set())


@pytest.fixture
def call(generated, calls, site):
    """Call an operation by its name; the answer is what the client made of it."""
    client = generated.Client(base_url=site, timeout=60)

    def one(name, *path, status=200, **members):
        calls.called.add(name)
        answer = calls.found[name].sync_detailed(*path, client=client, **members)
        assert answer.status_code == status, answer.content[:300]
        return answer.parsed

    yield one
    client.get_httpx_client().close()


@pytest.fixture(scope="module")
def models(generated):
    """The classes of the document."""
    return importlib.import_module("roofs.models")


def test_names_are_those_that_a_person_would_give(models):
    """No class is numbered or named after its place in the document."""
    names = [name for name in dir(models) if name[0].isupper()]
    assert len(names) > 150
    assert not [name for name in names if any(letter.isdigit() for letter in name.strip("0"))
                and "Response200" not in name]  # fmt: skip
    assert {"CaseIp", "ComparisonReply", "Station", "RowFault", "ResultEvent", "Fault"} <= {*names}


def test_tables_and_places(call):
    """Rows come as objects with their columns."""
    assert call("get_health").ready is True
    assert call("get_openapi").to_dict()["openapi"] == "3.1.0"
    assert call("get_problems").problems[0].status == 400
    assert call("get_problem", "busy").status == 503
    assert call("get_climates").rows[0].climate_zone
    for name in ("materials", "coverings", "panels", "building_uses", "prices"):
        assert call(f"get_{name}").rows[0].source
    assert call("get_insulation_minimums").rows[0].zone == 0
    assert call("get_places", query="Joliet, IL").matches[0].climate.key == "chicago-il"


def test_one_roof(call, models):
    """A case is built by its classes, compared, taken off and put on paper."""
    layers = [models.LayerIp(material=models.LayerMaterial("steel-deck"))]
    roof = models.RoofIp(area="24000 ft^2", layers=layers)
    case = models.CaseIp(
        units="ip", site=models.Site(climate=models.Climate("tulsa-ok")), roof=roof
    )
    reply = call("post_comparisons", body=case)
    assert reply.alternatives[1].measures.net_savings.value is not None
    typed = {"roof": {"area": "24000 ft^2", "layers": [{"material": "steel-deck"}]},
             "site": {"climate": "tulsa-ok"}, "units": "ip"}  # fmt: skip
    assert case.to_dict() == reply.inputs.to_dict() == typed  # no default is sent as entered
    again = call("post_comparisons", body=models.CaseIp.from_dict(reply.inputs.to_dict()))
    assert again.to_dict() == reply.to_dict()
    assert call("post_proposals", body=case).payload.read(4) == b"%PDF"
    assembly = models.AssemblySi(layers=[models.LayerSi(resistance=2.0)])
    asked = models.AssembliesRequestSi(units="si", assemblies=[assembly])
    assert call("post_assemblies", body=asked).assemblies[0].resistance == pytest.approx(2.0)
    bad = models.AssembliesRequestSi(units="si", assemblies=[])
    assert call("post_assemblies", body=bad, status=422).errors[0].pointer == "#/assemblies"
    framing = models.FramingSi.from_dict({"rectangles": [{"length": 30, "width": 20}]})
    taken = call("post_quantities", body=models.QuantitiesRequestSi(units="si", framing=framing))
    assert taken.total_load


def test_many_roofs(call, generated, models):
    """Rows in JSON and a file in a form give the same ranking."""
    row = models.RoofRowIp.from_dict(ROW)
    reply = call("post_portfolios", body=models.PortfolioRows(rows=[row], units=models.Units.IP))
    assert reply.good == 1
    assert reply.results[0].building == 1
    table = tables.read_text("demo/portfolio.csv").encode()
    file = importlib.import_module("roofs.types").File(io.BytesIO(table), "roofs.csv", "text/csv")
    form = models.PortfolioForm(file=file)
    checked = call("post_portfolios", body=form, show=models.PortfoliosShow.CHECK)
    assert checked.rows == checked.good > 1
    for name in ("template", "dictionary", "results_dictionary", "demo"):
        assert b"," in call(f"get_portfolio_{name}")


def test_a_job(call, models):
    """A portfolio is kept as a job, asked after, answered, ranked anew and ended."""
    row = models.RoofRowIp.from_dict(ROW)
    body = models.PortfolioRows(rows=[row], units=models.Units.IP)
    kept = call("post_portfolios", body=body, prefer=models.Prefer("respond-async"), status=202)
    until = time.monotonic() + 60
    while (state := call("get_job", kept.id)).ended is None and time.monotonic() < until:
        time.sleep(0.1)
    assert (state.state.value, state.done) == ("done", 1)
    reply = call("get_job_result", kept.id)
    assert reply.results[0].net_savings is not None
    assert call("get_job_table", kept.id).good == 1
    terms = models.WhatIfIp(units="ip", budget="100000")
    again = call("post_job_what_if", kept.id, body=terms)
    assert again.ranking[0].in_budget in ("yes", "no")
    assert call("delete_job", kept.id).state.value == "done"


def test_every_operation_was_called(calls):
    """None is left out."""
    assert {*calls.found} == calls.called
