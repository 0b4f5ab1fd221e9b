"""The form and the case document: one from the other, without loss and without invention."""

import copy
import datetime
import io
import json
import re
from urllib.parse import urlencode

import pytest
from werkzeug.datastructures import MultiDict
from werkzeug.test import EnvironBuilder

from api import service
from api.problems import Problem
from lcc.case import Case
from lcc.case.case_document import members
from lcc.case.fields import Quantity
from web import answer, application, new_roof, sliders
from web.form import field_faults, form_fields, form_layout, form_units
from web.proposal import document as proposal

RECTANGLE = {"length": 200.0, "width": 120.0}


@pytest.fixture
def rich_document(demo_document):
    """The demo case with a survey, an own layer, an air layer and a membrane beside."""
    document = copy.deepcopy(demo_document)
    document["alternatives"][0]["framing"] = {"rectangles": [RECTANGLE]}
    document["roof"]["layers"][1:1] = [
        {"thickness": 2.0, "conductivity": 0.3, "density": 2.0, "specific_heat": 0.35},
        {"air_gap": 1.0},
        {"resistance": 3.0},
    ]
    document["alternatives"].append({"kind": "membrane", "name": "White now", "start": "now"})
    return document


def _cases(page_client, form_in, document, units):
    """The case of a document, and the case of the form that shows it."""
    loaded = service.load_case(document).case
    there = service.case_document(loaded, units)
    html = page_client.post("/answer", json=there).json["form"]
    return loaded, form_fields.document(form_in(f'<form id="case">{html}</form>'))


@pytest.mark.parametrize("units", ["ip", "si"])
@pytest.mark.parametrize(
    "name", [pytest.param("demo_document", marks=pytest.mark.thorough), "rich_document"]
)
def test_the_form_states_the_case_that_it_shows(page_client, form_in, request, name, units):
    """Every entry of every kind of alternative survives the way through the page."""
    case, back = _cases(page_client, form_in, request.getfixturevalue(name), units)
    again = service.load_case(back)
    assert again.units == units
    there = service.case_document(case, units)
    here = service.case_document(again.case, units)
    assert here == there


def test_an_entry_left_empty_takes_its_default_and_a_needed_one_is_told(demo_document):
    data = MultiDict({"units": "ip", "prices.electricity": "", "economics.study_period": ""})
    stated = form_fields.document(data)
    assert stated == {"units": "ip"}
    needed = form_fields.document(MultiDict({"units": "ip", "roof.area": ""}))
    with pytest.raises(Problem) as told:
        service.load_case({**demo_document, "roof": {**demo_document["roof"], **needed["roof"]}})
    assert [error["pointer"] for error in told.value.errors] == ["#/roof/area"]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("24,000", 24000.0), ("$14.00", 14.0), (" 6.4 ", 6.4), (".5", 0.5),
        ("24000 ft^2", "24000 ft^2"), ("1,5", "1,5"), ("1e3", "1e3"), ("٣", "٣"), ("--2", "--2"),
    ],
)  # fmt: skip
def test_a_number_is_read_only_where_it_can_be_meant_in_one_way(text, value):
    assert form_units.from_entry(text, Quantity("area", "Roof area"), "ip") == value


@pytest.mark.parametrize("kind", ["membrane", "coating", "metal-retrofit"])
def test_an_alternative_added_can_be_answered_at_once(demo_document, kind):
    more = form_fields.changed(demo_document, f"add:alternatives:{kind}")
    assert len(more["alternatives"]) == len(demo_document["alternatives"]) + 1
    assert service.load_case(more).case.alternatives[-1]
    fewer = form_fields.changed(more, f"remove:alternatives.{len(more['alternatives']) - 1}")
    assert fewer == demo_document


@pytest.mark.parametrize(
    "action",
    ["", "add:", "add:nothing", "add:alternatives:other", "remove:roof.layers.99", "remove:name.x",
     "remove:roof.layers.x", "add:roof.layers.0.nothing", "boil:roof", "add:roof.area"],
)  # fmt: skip
def test_an_action_that_does_not_fit_changes_nothing_that_matters(demo_document, action):
    """Nobody can make the server fail with a made-up button."""
    before = copy.deepcopy(demo_document)
    form_fields.changed(demo_document, action)
    assert demo_document == before


def test_layers_are_added_and_removed(demo_document):
    more = form_fields.changed(demo_document, "add:roof.layers")
    assert len(more["roof"]["layers"]) == 5
    assert form_fields.changed(more, "remove:roof.layers.4") == demo_document
    steel = form_fields.changed(demo_document, "add:roof.layers.2.fasteners")
    assert "fasteners" in steel["roof"]["layers"][2]
    assert form_fields.changed(steel, "remove:roof.layers.2.fasteners") == demo_document


@pytest.mark.parametrize(
    "document",
    [{}, {"units": "ip"}, {"units": [], "roof": []}, {"alternatives": {}, "site": 3},
     {"roof": {"layers": "x", "area": {"a": 1}}}, {"alternatives": [None, 5, {"kind": "x"}]},
     {"base_case": {"kind": ["a"]}, "name": {"a": []}}],
)  # fmt: skip
def test_any_document_can_be_shown(document):
    """A file that is no case is shown with its faults, never a failure."""
    groups = form_layout.groups(document, {}, {})
    assert [group.id for group in groups][:3] == ["building", "roof", "base"]


def test_units_change_there_and_back(demo_document):
    there = answer.in_units(demo_document, "si")
    back = answer.in_units(there, "ip")
    assert there["roof"]["area"] == pytest.approx(2229.67296, rel=1e-6)
    priced = [service.load_case(one).case.prices.gas_per_kwh for one in (demo_document, back)]
    assert priced[0] == pytest.approx(priced[1], rel=1e-5)
    assert without_gas(back) == without_gas(demo_document)


def without_gas(document):
    """All that is stated but the price of gas, which the demo gives by the therm."""
    rest = {name: value for name, value in document.items() if name != "origins"}
    return {**rest, "prices": {k: v for k, v in rest["prices"].items() if k != "gas"}}


def test_every_part_of_a_case_has_a_place_in_the_form(demo_document):
    """A part that a later version adds is not forgotten."""
    groups = form_layout.groups(demo_document, {}, {})
    shown = {
        entry.path.split(".")[0]
        for group in groups
        for entry in [*group.lead, *(one for rest in group.rest for one in rest.all_entries())]
    }
    assert shown == {member.name for member in members(Case)}


def test_a_fault_of_a_layer_names_the_layer(page_client, demo_document):
    """Several layers have the same entries; the list of faults tells them apart."""
    document = copy.deepcopy(demo_document)
    for layer in document["roof"]["layers"]:
        layer["thickness"] = -1.0
    document["alternatives"][0]["layers"][0]["thickness"] = -1.0
    html = page_client.post("/answer", json=document).json["form"]
    told = re.findall(r'<li><a href="#f-[^"]*">([^<]*)</a>', html)
    assert told == [f"The roof today, Layer {n}, Thickness" for n in (1, 2, 3, 4)] + [
        "Alternative 1: metal retrofit, Layer 1, Thickness"
    ]


@pytest.mark.parametrize(("action", "details"), [
    ("add:roof.layers", "more-roof"), ("remove:roof.layers.1", "more-roof"),
    ("add:site.weather", "more-building"), ("add:roof.layers.2.fasteners", "more-roof.layers.2"),
])  # fmt: skip
def test_what_a_button_changed_is_not_hidden(page_client, form_in, action, details):
    """Without JavaScript the page comes anew: the part that was changed comes opened."""
    data = form_in(page_client.get("/").text)
    data["do"] = action
    html = page_client.post("/", data=data).text
    assert f'id="{details}" open' in html
    assert html.count("<details") - html.count(" open>") > 5


@pytest.mark.parametrize("system", ["ip", "si"])
def test_every_slider_has_its_value_on_a_step_of_its_range(demo_document, system):
    """The browser counts steps from the low end; 1e-6 is the rounding of an entry's digits."""
    document = answer.in_units(demo_document, system)
    given = answer.answer(document, lambda run, *told: run(*told), drawn=False)
    found = sliders.sliders(document, answer.resolved(given), given)
    assert len(found) == 8
    for one in found:
        low, high, step, value = (float(x) for x in (one.low, one.high, one.step, one.value))
        assert low <= value <= high
        steps = (value - low) / step
        assert steps == pytest.approx(round(steps), abs=1e-4), one.label


def test_years_that_were_entered_outlast_another_covering(page_client, form_in):
    """The demo roof's own two years go with its covering; five that somebody entered stay."""
    for years, kept in (("2", None), ("5", 5.0)):
        data = form_in(page_client.get("/").text)
        data.setlist("roof.covering", ["tpo-white"])
        data.setlist("roof.remaining_life", [years])
        data.setlist("do", ["layers"])
        laid = page_client.post("/answer", data=data).json["document"]["roof"]
        assert laid.get("remaining_life") == kept
        assert laid["layers"][0]["material"] == "single-ply-membrane"


def test_a_light_form_states_the_whole_case(page_client, form_in, demo_document):
    """The first page leaves entries out; what they state stays, and a kind clears it even so."""
    data = form_in(page_client.get("/").text)
    assert "building.equipment.heating_efficiency" not in data
    assert form_fields.document(data) == demo_document
    data["building.equipment.heating"] = "heat-pump"
    data["do"] = "change"
    reply = page_client.post("/answer", data=data).json
    assert "heating_efficiency" not in reply["document"]["building"]["equipment"]
    assert "heating efficiency of 0.8 was cleared" in reply["notice"]
    assert "building.equipment.cooling_capacity" in reply["form"]


def test_a_price_that_cannot_hold_its_work_is_answered_and_said(page_client, form_in):
    """A price of $1/ft² for everything: an answer, and beside it what the work usually costs."""
    data = form_in(page_client.get("/").text)
    data["base_case.price"] = "1"
    data.setlist("base_case.price_includes", ["", "everything"])
    data["do"] = "change"
    told = page_client.post("/answer", data=data).json
    assert not told["faults"]
    assert "looks too low: about $24,000 for the roof" in told["html"]


LEAST = {"units": "ip", "roof": {"area": 24000.0}, "site": {"place": "Tulsa, OK"}}
CHOSEN = {"units", "document", "was", "has", "do"}  # of the form itself, no entry of the case


def test_a_default_of_no_kind_of_field_is_posted(page_client, form_in):
    """A case that states a few entries, shown with all: the form sends those and kinds alone."""
    framed = {"kind": "metal-retrofit", "framing": {"rectangles": [RECTANGLE]}}
    least = {**LEAST, "base_case": {"kind": "membrane"},
             "alternatives": [framed, {"kind": "coating"}]}  # fmt: skip
    shown = page_client.post("/open", data={"file": (io.BytesIO(json.dumps(least).encode()), "c")})
    data = form_in(shown.text)
    sent = {name: text for name, text in data.items() if text and name not in CHOSEN}
    assert sent.pop("uncertainty.draws") == "10000"  # what the page asks for, and says so
    kinds = {name for name in sent if name.rpartition(".")[2] == "kind"}
    stated = {"roof.area": "24000", "site.place": "Tulsa, OK",
              "alternatives.0.framing.rectangles.0.length": "200",
              "alternatives.0.framing.rectangles.0.width": "120"}  # fmt: skip
    assert {name: sent[name] for name in sent.keys() - kinds} == stated
    assert len(data) > 250
    controls = set(re.findall(r'class="field ([a-z]+)', shown.text))
    assert controls >= {"number", "select", "checks", "text", "file", "lines"}
    assert set(re.findall(r'<i class="origin (\w+)">', shown.text)) == {"yours", "usual"}


def test_choices_carry_their_origin_as_numbers_do(page_client, form_in):
    """The demo's covering and heating are marked as the demo's, a choice of one's own as yours."""
    held = {f"{at}.price_includes": "laying" for at in ("base_case", "alternatives.0")}
    own = {"site.place": "Joliet, IL", "building.use": "office", **held}
    asked = form_in(page_client.get("/new").text) | own | {"do": "change"}
    form = page_client.post("/answer", data=asked).json["form"]
    marks = re.findall(r'<label for="f-([^"]*)">[^/]*</label>.*?<i class="origin (\w+)">', form)
    assert dict(marks) == {path.replace(".", "-"): "yours" for path in own}
    html = page_client.get("/?all=yes").text
    for path in ("roof-covering", "building-equipment-heating", "site-climate"):
        label = re.search(rf'<label for="f-{path}">.*?</div>', html)
        assert 'class="origin demo">demo<' in label[0], path


def test_a_figure_of_another_kind_is_cleared_and_told(page_client, form_in):
    """Gas heat at 0.8 must not become a heat pump with a COP of 0.8; one entered with it stays."""
    data = form_in(page_client.get("/?all=yes").text)
    assert data["building.equipment.heating_efficiency"] == "0.8"
    data["building.equipment.heating"] = "heat-pump"
    data["do"] = "change"
    reply = page_client.post("/answer", data=data).json
    equipment = reply["document"]["building"]["equipment"]
    assert "heating_efficiency" not in equipment
    assert "heating efficiency of 0.8 was cleared" in reply["notice"]
    data["building.equipment.heating_efficiency"] = "3.4"
    kept = page_client.post("/answer", data=data).json
    assert kept["document"]["building"]["equipment"]["heating_efficiency"] == 3.4
    assert kept["notice"] == ""


def test_a_heat_pump_below_a_cop_of_one_is_refused(demo_document):
    document = copy.deepcopy(demo_document)
    document["building"]["equipment"] = {"heating": "heat-pump", "heating_efficiency": 0.8}
    with pytest.raises(Problem) as told:
        service.load_case(document)
    assert told.value.errors[0]["pointer"] == "#/building/equipment/heating_efficiency"


def test_new_roof_answers_from_place_and_size(page_client, form_in):
    """Two entries are enough, and nothing that was not entered goes into the case as entered."""
    data = form_in(page_client.get("/new").text)
    waiting = page_client.post("/answer", data={**data, "do": "change"}).json
    assert "where it is and how large it is" in waiting["html"]
    assert waiting["faults"] == {}
    pressed = page_client.post("/answer", data={**data, "do": "compare"}).json
    assert pressed["faults"].keys() == {"site.place", "roof.area"}
    told = {**data, "site.place": "Joliet, IL", "roof.area": "31,000", "do": "change"}
    reply = page_client.post("/answer", data=told).json
    assert reply["ok"] is True
    document = reply["document"]
    assert document["site"] == {"place": "Joliet, IL"}
    assert {name for name in document["roof"] if name != "layers"} == {"area"}
    assert "price" not in document.get("base_case", {})


def test_new_roof_asks_what_lies_below_where_two_are_said(page_client, form_in):
    """Under one there is nothing to ask; what is said is laid under the top one."""
    data = form_in(page_client.get("/new").text)
    below = "roof.covering_below"
    assert below not in data
    told = {**data, "site.place": "Joliet, IL", "roof.area": "31,000", "do": "change",
            "roof.covering": "modified-bitumen-cap", "roof.coverings": "2"}  # fmt: skip
    asked = page_client.post("/answer", data=told).json["form"]
    assert "What lies under the top one" in asked
    assert "Not sure: like the top one." in asked
    document = page_client.post("/answer", data={**told, below: "built-up-gravel"}).json["document"]
    assert [one["material"] for one in document["roof"]["layers"][:2]] == [
        "modified-bitumen-sheet", "built-up-roofing",
    ]  # fmt: skip


@pytest.mark.parametrize("kept", [5, "discount_rate", [], None])
def test_new_roof_refuses_money_that_is_no_object_and_does_not_fail(page_client, kept):
    sent = {"new": "1", "do": "change", "site.place": "Joliet, IL", "roof.area": "31,000",
            "inside": ["site", "roof"], "document": json.dumps({"economics": kept})}  # fmt: skip
    reply = page_client.post("/answer", data=sent)
    assert (reply.status_code, reply.json["ok"]) == (200, kept is None)


def test_new_roof_counts_the_insulation_that_the_metal_price_includes(page_client, form_in):
    """Left blank, the usual blanket counts and shows its origin; 0 counts none and says so."""
    r_value = "alternatives.0.layers.0.resistance"
    data = {**form_in(page_client.get("/new").text), "do": "change"}
    data |= {"site.place": "Joliet, IL", "roof.area": "31,000"}
    blank = page_client.post("/answer", data=data).json
    document = blank["document"]
    assert document["alternatives"][0]["layers"] == [{"material": "glass-fibre-blanket"}]
    assert document["origins"]["/alternatives/0/layers/0/material"] == "common practice"
    # 0.1524 m / 0.043 W/(m·K) = 3.54 m²·K/W, R 20 (data/materials.csv)
    assert 'placeholder="20"' in blank["form"]
    sent = {**data, "document": json.dumps(document)}
    entered = page_client.post("/answer", data={**sent, r_value: "30"}).json["document"]
    assert entered["alternatives"][0]["layers"] == [{"resistance": 30.0}]
    assert "/alternatives/0/layers/0/material" not in entered["origins"]
    reply = page_client.post("/answer", data={**sent, r_value: "30"}).json
    text = re.sub("<[^>]*>", "", reply["html"])
    whose = "First guess until both prices are entered: 2 figures are yours, "
    assert whose in text  # area and R-value; no place, no name
    assert reply["headline"].startswith("First guess: “")
    assert re.search("(paid back|pays back|ahead for good), first guess", text)
    moving = page_client.post("/answer", data={**sent, r_value: "30", "do": "move"}).json
    assert whose in re.sub("<[^>]*>", "", moving["html"])  # a slider on a first guess
    loaded = service.load_case(reply["document"])
    own = service.comparison_reply(loaded.case, loaded.units)
    paper = proposal.document(loaded.case, own, ("letter",), "us-letter")["parts"]
    assert paper[0]["headline"].startswith("First guess: “")
    none = page_client.post("/answer", data={**sent, r_value: "0"}).json
    told = "No insulation is counted under “Metal roof”"
    assert told in none["html"]
    assert told not in blank["html"]
    slid = page_client.post("/answer", data=sent | {"alternatives.0.layers.0.thickness": "4"}).json
    assert (
        "4 in of glass-fiber blanket is counted, about R 13: as the slider stands" in slid["form"]
    )
    again = {**data, "document": json.dumps(none["document"]), r_value: ""}
    layers = page_client.post("/answer", data=again).json["document"]["alternatives"][0]["layers"]
    assert layers == [{"material": "glass-fibre-blanket"}]


def test_a_form_with_its_weather_file_below_is_the_form_with_it_in_a_part():
    """What a live page sends reads as what a browser without scripts sends."""
    text = "LOCATION,Laredo,TX\nä line = 1 & more\n\n"
    fields = [("roof.area", "24,000"), ("seen", "why"), ("seen", "heat"), ("site.weather.name", "")]
    read = []
    for kind, data in (
        ("multipart/form-data", MultiDict([*fields, ("site.weather.text", text)])),
        ("application/x-form-and-weather", f"{urlencode(fields)}\n{text}"),
    ):
        environ = EnvironBuilder(method="POST", content_type=kind, data=data).get_environ()
        read.append(application.PageRequest(environ).form)
    assert read[0] == read[1]
    assert read[1].getlist("seen") == ["why", "heat"]


def test_a_survey_begins_with_one_part_and_counts_once(demo_document):
    """Its first part waits for two figures; what it counts is not asked for of the roof too."""
    bare = copy.deepcopy(demo_document)
    bare["alternatives"][0].pop("framing")
    begun = form_fields.changed(bare, "add:alternatives.0.framing")
    assert begun["alternatives"][0]["framing"] == {"rectangles": [{}]}
    found = []
    for document in (bare, begun):
        groups = form_layout.groups(document, {}, {})
        found.append({one.path for group in groups for one in group.all_entries()})
    assert "roof.skylights" in found[0] - found[1]
    assert "roof.rooftop_units" in found[1]  # stated there, so it stays to be changed
    size = {f"alternatives.0.framing.rectangles.0.{side}" for side in ("length", "width")}
    assert size <= found[1] - found[0]


@pytest.mark.parametrize(
    ("path", "typed", "said"),
    [
        ("base_case.price", "9,80", "such as 9.80 or 980"),
        ("roof.age", "about 20", "such as 20"),
        ("site.place", "8710", "8710: a ZIP code has five digits; type them all, or the town"),
        ("roof.area", "-14,800", "-14800 cannot be used; type 14,800 without the minus."),
        ("prices.electricity", "13.1 cents", "please type a number, such as 0.131."),
        ("prices.electricity", "13.1 ¢", "please type a number, such as 0.131."),
        ("roof.rooftop_units", "many", "a whole number, such as 2."),
        ("site.place", "3740", "3740: a ZIP code has five digits; 03740 is Bath, NH."),
        (
            "economics.study_period",
            "0",
            "Years to count: 0 cannot be used; type a whole number, at",
        ),
        ("base_case.price", "many", "Price of the membrane: please type"),
        ("roof.coverings", "0", "How many, one over the other: 0 cannot be used"),
        ("site.place", "99999", "There is no ZIP code 99999. Type another, or the town"),
        ("roof.rooftop_units", "1,5", "a whole number, such as 15."),
        ("roof.coverings", "two", "a whole number, such as 2."),
        ("site.place", "Nowhere, XX", "Place “Nowhere, XX” was not found. Type a ZIP code"),
        ("site.place", "Springfield", "Type a town with its state: Springfield, IL; Springfield"),
        ("site.place", "Columbos, OH", "longitude. Did you mean Columbus, OH?"),
        ("site.place", "40.1, -200", "Type latitude from -90 to 90 and longitude from"),
    ],
)
def test_a_fault_says_what_to_type_in_place_of_what_was_typed(page_client, path, typed, said):
    sent = new_roof.KINDS | {"new": "1", "site.place": "74103", "roof.area": "42000", path: typed}
    faults = page_client.post("/answer", data=sent).json["faults"]
    assert list(faults) == [path]  # and nothing that follows from it
    assert said in faults[path]


@pytest.mark.parametrize("content", [b"\x89PNG\r\n\x1a\n\x00", b"\xff\xd8\xff\xe0\x00"])
def test_a_photo_as_a_weather_file_is_named_where_the_file_is_missing(
    page_client, form_in, demo_document, content
):
    """The file itself is named at its entry, and nothing asks for the file's name."""
    whole = page_client.post("/answer", json=demo_document).json["form"]
    sent = form_in(f'<form id="case">{whole}</form>')
    sent["do"] = "add:site.weather"
    added = page_client.post("/answer", data=sent).json["form"]
    sent = form_in(f'<form id="case">{added}</form>')
    sent["do"], sent["site.weather.text.file"] = "compare", (io.BytesIO(content), "roof.png")
    reply = page_client.post("/answer", data=sent).json
    assert list(reply["faults"]) == ["site.weather.text"]
    assert reply["faults"]["site.weather.text"].startswith("“roof.png” is a picture")
    assert "Choose an EPW, TMY3 or TMY2 file." in reply["faults"]["site.weather.text"]


def test_a_number_that_does_not_fit_another_entry_is_refused_by_that_reason(demo_document):
    """It is within its range, so the range would not say what is wrong."""
    bad = copy.deepcopy(demo_document)
    bad["building"]["equipment"] |= {"heating": "heat-pump", "heating_efficiency": 0.8}
    with pytest.raises(Problem) as refused:
        service.load_case(bad)
    (told,) = field_faults.by_path(refused.value, bad).values()
    assert "at least 1 for a heat pump" in told


def test_an_age_that_is_a_year_is_answered_with_the_age(page_client):
    sent = new_roof.KINDS | {"new": "1", "site.place": "74103", "roof.area": "42000"}
    year = datetime.date.today().year
    told = page_client.post("/answer", data={**sent, "roof.age": f"{year - 17}"}).json["faults"]
    assert told["roof.age"].endswith(f"For a roof of {year - 17} type 17.")


def test_a_bid_that_says_what_it_holds_but_has_no_price_is_told_of_both_ways_out(page_client):
    """The layers, which wait for another entry, are not asked for: they have no entry here."""
    sent = new_roof.KINDS | {
        "new": "1", "site.place": "74103", "roof.area": "42000", "roof.coverings": "0",
        "scope": "apart", "alternatives.0.price": "",
        "alternatives.0.price_includes": "everything",
    }  # fmt: skip
    told = page_client.post("/answer", data=sent).json["faults"]
    assert "roof.layers" not in told
    sent["roof.coverings"] = "2"
    told = page_client.post("/answer", data=sent).json["faults"]
    wanted = "Type the price, or choose “Not sure” below it."
    assert told == {"alternatives.0.price": wanted}


@pytest.mark.parametrize(
    ("path", "typed", "read"),
    [
        ("roof.area", "31,500 sq ft", 31500.0),
        ("roof.area", "31,500 square feet", 31500.0),
        ("base_case.price", "$8.10 per sq. ft.", 8.1),
        ("prices.gas", "$1.05/therm", "1.05 $/therm_US"),
    ],
)
def test_a_number_may_be_typed_with_the_unit_that_stands_beside_it(page_client, path, typed, read):
    sent = new_roof.KINDS | {"new": "1", "site.place": "74103", "roof.area": "42000", path: typed}
    document = page_client.post("/answer", data=sent).json["document"]
    assert form_fields.at(document, path.split(".")) == read


def test_no_figure_of_an_own_case_is_the_demos_or_of_work_that_is_not_on_the_roof(page_client):
    """Ballast, skylights, a taper and a second set-up touch nothing of this roof."""
    sent = new_roof.KINDS | {
        "new": "1", "site.place": "74103", "roof.area": "42000", "roof.ponding": "none",
        "roof.covering": "epdm-black", "building.use": "manufacturing",
    }  # fmt: skip
    document = page_client.post("/answer", data=sent).json["document"]
    reply = page_client.post("/v1/comparisons?include=assumptions", json=document).json
    found = {one["field"]: one for one in reply["assumptions"]}
    assert not any("demo" in one["source"] or "school" in one["source"] for one in found.values())
    for idle in ("ballast", "skylight_reflash", "skylight_raise", "taper_rate", "second_setup"):
        assert f"prices.duties.{idle}" not in found
    assert "prices.duties.edge" in found
    assert found["building.storeys"]["source"].startswith("usual for")


LOAN = {"economics.financing.how": "loan", "economics.financing.rate": "6.4",
        "economics.financing.years": "12"}  # fmt: skip


@pytest.mark.parametrize(("sent", "told"), [
    ({"economics.tax.rate": "0.27"}, "The income tax rate is read as 0.27%, not 27%."),
    (LOAN | {"economics.financing.rate": "0.064"},
     "The interest rate is read as 0.064%, not 6.4%."),
    (LOAN | {"economics.tax.rate": "27"}, ""),
])  # fmt: skip
def test_a_loan_and_tax_are_asked_among_the_questions(page_client, form_in, sent, told):
    """Added there, they are answered there; a rate not typed in percent is doubted."""
    data = form_in(page_client.get("/new").text)
    data |= {"site.place": "74103", "roof.area": "24000"}
    form = page_client.post("/answer", data=data | {"do": "add:economics.tax"}).json["form"]
    assert 'name="new"' in form
    assert 'name="economics.tax.rate"' in form
    has = sorted({name.rpartition(".")[0] for name in sent})
    data |= sent | {"has": has}
    reply = page_client.post("/answer", data=data | {"do": "change"}).json
    assert reply["notice"] == told
    assert sorted(f"economics.{one}" for one in ("financing", "tax")
                  if one in reply["document"]["economics"]) == has  # fmt: skip
    without = page_client.post("/answer", data=data | {"do": f"remove:{has[-1]}"}).json["form"]
    assert 'name="new"' in without
    assert f'name="{has[-1]}.rate"' not in without


def test_gas_typed_in_cents_is_refused_as_electricity_is(page_client, form_in):
    data = form_in(page_client.get("/new").text)
    data |= {"site.place": "74103", "roof.area": "24000", "prices.gas": "98", "do": "change"}
    fault = page_client.post("/answer", data=data).json["faults"]["prices.gas"]
    assert fault.endswith("For 98 cents type 0.98.")


def test_gas_has_a_slider_where_it_is_burned(page_client, form_in):
    for heating, entries in (("gas", {"electricity", "gas"}), ("resistance", {"electricity"})):
        data = form_in(page_client.get("/new").text)
        data |= {"site.place": "55802", "roof.area": "24000", "do": "change",
                 "building.equipment.heating": heating}  # fmt: skip
        html = page_client.post("/answer", data=data).json["html"]
        assert set(re.findall(r'id="w-prices-(\w+)"', html)) == entries
