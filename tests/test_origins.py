"""Where figures come from is recorded on every way that a figure goes, and never guessed."""

import copy
import dataclasses
import json
import pickle
from collections import Counter

import pytest
from werkzeug.datastructures import MultiDict

from api import service
from api.problems import Problem
from lcc import tables
from lcc.case import Case, Economics, Layer, Roof, Site
from lcc.case.fields import Origin
from lcc.case.resolution import figures
from lcc.errors import CaseError
from lcc.stated_case import load_case
from web import answer, pages
from web.form import form_fields


def bases(reply):
    """How many figures of each basis a reply rests on."""
    return Counter(one["basis"] for one in reply["assumptions"])


def listed(reply):
    return {one["field"]: one for one in reply["assumptions"]}


@pytest.fixture
def asked():
    """Ask for the answer to a document."""

    def ask(document):
        loaded = service.load_case(document)
        return service.comparison_reply(loaded.case, loaded.units, loaded.document)

    return ask


@pytest.fixture
def demo():
    document = copy.deepcopy(tables.read_json("demo/case.json"))
    return {**document, "uncertainty": {"draws": 0}}


def test_all_that_the_demo_states_is_demo(asked, demo):
    """Nothing that was invented for the demo prints as the owner's."""
    assert demo["origins"] == {"": "demo"}
    assert bases(asked(demo))["entered"] == 0


def test_what_is_entered_over_the_demo_is_entered(asked, demo):
    """Figures equal to the demo's or to a default are still those of who stated them."""
    demo["origins"] |= {"/roof/area": "entered", "/economics": "entered"}
    found = {name for name, one in listed(asked(demo)).items() if one["basis"] == "entered"}
    assert found == {
        "roof.area", "economics.study_period", "economics.discount_rate", "economics.rate_kind",
    }  # fmt: skip


def test_inputs_come_back_as_typed_and_give_the_same_bytes(page_client, demo):
    """The echo holds what was typed, and posted again it is answered by the same bytes."""
    demo["roof"]["area"] = "62000 ft^2"
    demo["economics"]["discount_rate"] = 0.03
    first = page_client.post("/v1/comparisons", json=demo)
    assert first.status_code == 200
    assert first.json["inputs"] == demo
    again = page_client.post("/v1/comparisons", data=service.to_json(first.json["inputs"]),
                        content_type="application/json")  # fmt: skip
    assert again.data == first.data


def test_the_resolved_case_has_every_default_and_is_there_only_on_request(page_client, demo):
    """What was left out stands in `resolved`; another reply has no such member."""
    del demo["roof"]["remaining_life"], demo["prices"]
    plain = page_client.post("/v1/comparisons", json=demo).json
    asked = "inputs,assumptions,hot_day,resolved"
    whole = page_client.post(f"/v1/comparisons?include={asked}", json=demo).json
    assert "resolved" not in plain
    assert whole.pop("resolved")["prices"]["tear_off"] > 0
    assert whole == plain
    assert "remaining_life" not in plain["inputs"]["roof"]


def test_a_resolved_case_sent_again_is_the_same_case(page_client):
    """Every figure, range and source is as before; a default that was changed is refused."""
    case = {
        "units": "ip", "site": {"place": "Tulsa, OK"}, "uncertainty": {"draws": 0},
        "roof": {"area": 24000, "layers": [{"material": "steel-deck"}], "leaks": 2},
        "alternatives": [{"kind": "membrane", "covering": "tpo-white"}] * 2,
    }  # fmt: skip
    ask = "/v1/comparisons?include=resolved,assumptions"
    first = page_client.post(ask, json=case).json
    whole = first["resolved"]
    assert (listed(first)["roof.leaks"]["value"], listed(first)["roof.leaks"]["basis"]) == (
        2,
        "entered",
    )
    assert page_client.post(ask, json=whole).json == first
    assert [*figures(load_case(whole))] == [*figures(service.load_case(case).case)]
    whole["economics"]["stays"] = 60
    told = page_client.post(ask, json=whole).json["errors"]
    assert [(one["pointer"], one["value"]) for one in told] == [("#/economics/stays", 60)]
    with pytest.raises(CaseError, match="is marked as a default and is 60"):
        load_case(whole)
    whole["origins"] = {p: b for p, b in whole["origins"].items() if "/economics" not in p}
    assert listed(page_client.post(ask, json=whole).json)["economics.stays"]["basis"] == "entered"


def test_long_parts_of_a_reply_are_there_as_asked(page_client, demo):
    """`include` leaves out the request, the assumptions or the hours, and changes nothing else."""
    usual = page_client.post("/v1/comparisons", json=demo).json
    bare = page_client.post("/v1/comparisons?include=none", json=demo).json
    some = page_client.post("/v1/comparisons?include=assumptions&include=hot_day", json=demo).json
    assert usual.pop("inputs") == demo
    assert some == usual
    years = [year for each in usual["alternatives"] for year in each["energy"]]
    assert len({len(year.pop("hot_day")["outdoor"]) for year in years}) == 1
    assert usual.pop("assumptions")
    assert bare == usual
    asked = {"units": "si", "assemblies": [{"layers": [{"resistance": 2}]}]}
    whole, short = (
        page_client.post(f"/v1/assemblies?include={part}", json=asked).json
        for part in ("inputs", "none")
    )
    assert whole.pop("inputs") == asked
    assert short == whole
    wrong = page_client.post("/v1/comparisons?include=inputs,secrets", json=demo)
    assert wrong.status_code == 422
    assert "the text 'secrets'" in wrong.json["errors"][0]["detail"]


@pytest.mark.parametrize(
    ("origins", "pointer", "rule"),
    [
        ({"/roof/areaa": "demo"}, "#/origins/~1roof~1areaa", "consistency"),
        ({"/roof/layers/²": "demo"}, "#/origins/~1roof~1layers~1%C2%B2", "consistency"),
        ({"/" + "9" * 5000: "demo"}, "#/origins/~1" + "9" * 5000, "consistency"),
        ({"/roof/area": "invented"}, "#/origins/~1roof~1area", "type"),
        (["demo"], "#/origins", "type"),
    ],
    ids=["no such name", "no digit", "no such number", "no basis", "no object"],
)
def test_an_origin_of_nothing_is_refused(demo, origins, pointer, rule):
    """A pointer that leads nowhere is a conflict of values, which no schema can state."""
    with pytest.raises(Problem) as told:
        service.load_case({**demo, "origins": origins})
    assert [(error["pointer"], error["rule"]) for error in told.value.errors] == [(pointer, rule)]


def posted(page_client, form_in, document, **entries):
    """The document of the form that shows a case, after some entries were changed."""
    html = page_client.post("/answer", json=document).json["form"]
    data = MultiDict(form_in(f'<form id="case">{html}</form>'))
    for name, value in entries.items():
        data.setlist(name.replace("__", "."), [value])
    return form_fields.document(data)


def test_counts_of_each_basis_stay_on_the_way_through_the_page(page_client, form_in, asked):
    """The demo opened, posted, saved, opened and posted again: no count moves."""
    shown = pages.demo()
    start = bases(asked(shown))
    first = posted(page_client, form_in, shown)
    saved = json.loads(json.dumps(first))
    second = posted(page_client, form_in, saved)
    assert bases(asked(first)) == bases(asked(second)) == start
    assert start["entered"] == 0


def test_one_entry_changed_is_one_figure_entered(page_client, form_in, asked):
    """An entry that was typed is the user's, and keeps its text; all others stay as they were."""
    shown = pages.demo()
    found = posted(page_client, form_in, shown, roof__area="62000 ft^2")
    assert found["roof"]["area"] == "62000 ft^2"
    before, after = bases(asked(shown)), bases(asked(found))
    assert after["entered"] == 1
    assert after["demo"] == before["demo"] - 1
    again = posted(page_client, form_in, found)
    assert bases(asked(again)) == after


def test_bases_follow_what_is_removed(demo):
    """After a layer is taken out, the next ones keep their bases."""
    demo["origins"] = {"/roof/layers/0": "demo", "/roof/layers/2/thickness": "published"}
    left = form_fields.changed(demo, "remove:roof.layers.0")
    assert left["origins"] == {"/roof/layers/1/thickness": "published"}


@pytest.mark.parametrize("area", [62000.0, 24000.0, 101.5, 19.5, 31234.0])
def test_units_there_and_back_leave_figures_as_typed(demo, area):
    """No 61,999.99: five digits come back as they were."""
    demo["roof"]["area"] = area
    there = answer.in_units(demo, "si")
    back = answer.in_units(there, "ip")
    assert back["roof"]["area"] == area
    assert back["base_case"]["price"] == demo["base_case"]["price"]


def test_in_python_what_is_given_is_entered_and_what_is_replaced_too():
    """A default is never taken for an entry, nor an entry equal to it for a default."""
    layers = (Layer(material="steel-deck"),)
    roof = Roof(1000.0, layers=layers)
    case = Case(Site(climate="tulsa-ok"), roof, economics=Economics(discount_rate=0.03))
    later = dataclasses.replace(
        case, economics=dataclasses.replace(case.economics, study_period_y=30)
    )
    entered = {one.field for one in figures(later) if one.origin.basis == "entered"}
    assert entered == {
        "site.climate", "roof.area", "roof.layers.0.material",
        "economics.discount_rate", "economics.study_period",
    }  # fmt: skip
    told = later.economics.filled(inflation=(0.02, Origin("published", "a forecast")))
    assert told.origin("inflation").source == "a forecast"
    again = dataclasses.replace(told, inflation=0.025)
    assert again.origin("inflation").basis == "entered"


def test_a_case_sent_to_another_process_keeps_its_origins(demo):
    """Also where it is changed there: what is invented stays marked so in a portfolio's workers."""
    case = service.load_case(demo).case
    sent = pickle.loads(pickle.dumps(case))
    here, there = ([(each.field, each.origin) for each in _repriced(one)] for one in (case, sent))
    assert here == there
    assert Counter(origin.basis for _, origin in there)["demo"] > 20


def _repriced(case):
    """The figures of a case whose retrofit has another price."""
    metal = dataclasses.replace(case.alternatives[0], name="Metal", price_per_m2=99.0)
    return figures(dataclasses.replace(case, name="there", alternatives=(metal,)))
