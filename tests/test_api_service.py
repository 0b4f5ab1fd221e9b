"""Reading a case, writing a case, and the answer to one."""

import copy
import json
import re

import pytest

from api import service
from api.problems import Problem
from lcc import __version__, tables, units
from lcc import case as cases
from lcc.case.case_document import members
from lcc.case.fields import case_name, facts_of
from lcc.errors import CaseError
from lcc.results import Comparison
from web.form import form_units


@pytest.fixture(scope="module")
def demo():
    return tables.read_json("demo/case.json")


@pytest.fixture(scope="module")
def demo_case(demo):
    return service.load_case(demo).case


def every_class(cls, found=None):
    """Return a dataclass and all that it nests."""
    found = set() if found is None else found
    found.add(cls)
    for member in members(cls):
        for inner in member.kinds.values():
            if inner not in found:
                every_class(inner, found)
    return found


CLASSES = sorted(every_class(cases.Case) | every_class(Comparison), key=lambda cls: cls.__name__)


def at(document, pointer):
    """Return the value at a JSON pointer."""
    for part in pointer.removeprefix("#/").split("/"):
        document = document[int(part)] if isinstance(document, list) else document[part]
    return document


def faults(payload):
    """Return the errors that a payload is refused with, by pointer."""
    with pytest.raises(Problem) as caught:
        service.load_case(payload)
    return {error["pointer"]: error for error in caught.value.errors}


def with_value(demo, pointer, value):
    """Return the demo case with one value put at a JSON pointer."""
    payload = copy.deepcopy(demo)
    *path, last = pointer.removeprefix("#/").split("/")
    place = payload
    for part in path:
        place = place[int(part)] if isinstance(place, list) else place[part]
    place[int(last) if isinstance(place, list) else last] = value
    return payload


@pytest.mark.parametrize("cls", CLASSES, ids=lambda cls: cls.__name__)
def test_names_of_a_case_do_not_collide(cls):
    """Without its unit suffix every field of a dataclass still has a name of its own."""
    names = [case_name(name, facts) for name, facts in facts_of(cls).items()]
    assert len(names) == len(set(names)) == len(facts_of(cls))
    # Where the API adds a word of its own, the class must not use it.
    assert not ({"units", "kind"} & set(names) and cls.__module__.startswith("lcc.case"))


@pytest.mark.parametrize("system", units.SYSTEMS)
def test_a_case_written_and_read_again_is_the_same_case(demo_case, system):
    """The echo of the inputs after defaults is itself a case document of the same case."""
    document = service.case_document(demo_case, system)
    again = service.load_case(json.loads(service.to_json(document))).case
    assert service.case_document(again, system) == document
    if system == "si":
        assert again == demo_case


def test_si_and_ip_of_one_case_agree(demo_case):
    """Both forms of a case give the same numbers of the core to 1e-9."""
    numbers = []
    for system in units.SYSTEMS:
        case = service.load_case(service.case_document(demo_case, system)).case
        flat = json.loads(service.to_json(service.case_document(case, "si")))
        numbers.append(list(leaves(flat)))
    for first, second in zip(*numbers, strict=True):
        if isinstance(first, float):
            assert first == pytest.approx(second, rel=1e-9)
        else:
            assert first == second or {first, second} == {"ip", "si"}


def leaves(value):
    """Yield every value that is neither an object nor a list."""
    if isinstance(value, dict):
        for inner in value.values():
            yield from leaves(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from leaves(inner)
    else:
        yield value


def test_texts_with_their_own_unit_mean_the_same_in_both_systems(demo):
    """A text quantity is read by its own unit, whatever the units of the request."""
    for system in units.SYSTEMS:
        payload = {"units": system, "site": {"climate": "tulsa-ok"}, "roof": {
            "area": "24000 ft^2", "layers": [{"resistance": "19 h*ft^2*degF/Btu"}]}}  # fmt: skip
        roof = service.load_case(payload).case.roof
        # 24,000 ft² and R-19 of the trade in SI: exact foot, 5.678 of the trade's own tables.
        assert roof.area_m2 == pytest.approx(2229.67296, rel=1e-12)
        assert roof.layers[0].resistance_m2k_w == pytest.approx(19 / 5.678263, rel=1e-6)


def test_all_faults_come_back_at_once(demo):
    """All faults of one request are reported, each with place, value, allowed, unit."""
    payload = copy.deepcopy(demo)
    payload["site"]["climate"] = "tulsa-okk"
    payload["roof"]["age"] = True
    payload["roof"]["coverings"] = 2.5
    payload["roof"]["layers"][0]["thickness"] = -1
    payload["roof"]["layers"].append({})
    payload["prices"]["gas"] = "1.05 $/ton"
    payload["base_case"]["kind"] = "membran"
    payload["alternatives"][0]["solar_reflectance"] = 1.2
    payload["nmae"] = payload.pop("name")
    found = faults(payload)
    assert set(found) == {
        "#/site/climate", "#/roof/age", "#/roof/coverings", "#/roof/layers/0/thickness",
        "#/roof/layers/4/thickness", "#/prices/gas", "#/base_case/kind",
        "#/alternatives/0/solar_reflectance", "#/nmae",
    }  # fmt: skip
    thickness = found["#/roof/layers/0/thickness"]
    assert thickness["value"] == -1
    assert thickness["unit"] == "in"
    assert "at most 78.7" in thickness["allowed"]
    assert "tulsa-ok" in found["#/site/climate"]["allowed"]
    assert "name" in found["#/nmae"]["detail"]


@pytest.mark.parametrize("units_given", [None, "metric", ["si"], 1])
def test_without_units_other_faults_are_told_but_no_ranges(demo, units_given):
    """A range cannot be judged without units, so only faults that need no units are reported."""
    payload = with_value(demo, "#/units", units_given)
    payload["roof"]["area"] = 0
    payload["economics"]["studyperiod"] = 3
    assert set(faults(payload)) == {"#/units", "#/economics/studyperiod"}


@pytest.mark.parametrize(
    ("pointer", "value", "said"),
    [
        ("#/economics/study_period", 0, "at least 1"),
        ("#/base_case/service_life", 0, "at least 1"),
        ("#/roof/layers", [], "at least 1"),
        ("#/alternatives", [], "at least 1"),
        ("#/roof/area", "24000 ft", "of length"),
        ("#/building/heating_setpoint", "20 K^2", "is not a unit of temperature"),
        ("#/building/heating_setpoint", 90, "less than the cooling set point, 24 °C (75.2 °F)"),
        ("#/base_case/covering", "TPO White", "the nearest: tpo-white"),
    ],
)
def test_a_bad_value_names_its_field_and_what_is_allowed(demo, pointer, value, said):
    """The field is named by pointer, and the words say what would have been accepted."""
    payload = with_value(demo, pointer, value)

    def answered():
        loaded = service.load_case(payload)
        return service.comparison_reply(loaded.case, loaded.units)

    with pytest.raises(Problem) as caught:
        answered()
    errors = caught.value.errors
    assert any(e["pointer"].startswith(pointer) and said in str(e) for e in errors), errors


def test_a_name_that_another_alternative_has_by_default_is_refused(demo):
    del demo["base_case"]["name"]
    payload = with_value(demo, "#/alternatives/0/name", "New membrane")
    assert set(faults(payload)) == {"#/alternatives/0/name"}


def test_an_error_of_the_core_in_mid_calculation_is_the_same_document(demo_case, monkeypatch):
    """What only the calculation finds out comes back with a pointer too."""

    def refuse(case, **_):
        raise CaseError("site.weather", "x.epw", "8,760 hours")

    monkeypatch.setattr(service, "compare", refuse)
    with pytest.raises(Problem) as caught:
        service.comparison_reply(demo_case, "ip")
    assert caught.value.status == 422
    assert caught.value.errors[0]["pointer"] == "#/site/weather"
    assert "8,760 hours" in caught.value.errors[0]["detail"]


def test_the_reply_names_versions_units_and_inputs(demo_case, demo):
    """A reply says which model and tables it rests on, and echoes the case it answers."""
    reply = service.comparison_reply(demo_case, "ip")
    assert reply["model_version"] == __version__
    assert len(reply["data_version"]) == 16
    assert reply["units"] == reply["inputs"]["units"] == "ip"
    assert reply["inputs"]["roof"]["area"] == demo["roof"]["area"]
    base, *others = reply["alternatives"]
    assert base["measures"] is None
    assert len(others) == len(demo["alternatives"])
    for other in others:
        for measure in other["measures"].values():
            assert measure["value"] is not None or measure["reason"]
    for assumption in reply["assumptions"]:
        assert assumption["source"]
        assert assumption["basis"]


def test_the_same_case_gives_the_same_bytes(demo):
    """Two loads of one document are answered byte by byte alike."""
    answers = set()
    for _ in range(2):
        loaded = service.load_case(copy.deepcopy(demo))
        answers.add(service.to_json(service.comparison_reply(loaded.case, loaded.units)))
    assert len(answers) == 1


def test_ip_and_si_replies_agree(demo_case):
    """Every number of a reply is the same quantity in both systems to 1e-9."""
    ip, si = (service.comparison_reply(demo_case, system) for system in ("ip", "si"))
    same(Comparison, ip, si)


def same(cls, ip, si):
    """Walk two replies along the members of a class and compare each quantity by its kind."""
    compared = 0
    for member in members(cls):
        compared += _same_value(member, ip[member.name], si[member.name])
    assert compared or not members(cls)
    return compared


def _words(text):
    return re.findall(r"[^\s()]+", text)


def _same_value(member, ip, si):
    if ip is None or isinstance(ip, str):
        # A sentence names the unit of the request first: the same words, perhaps in another order.
        assert ip == si or sorted(_words(ip)) == sorted(_words(si))
        return 1
    if isinstance(ip, list):
        assert len(ip) == len(si)
        return sum(_same_value(member, a, b) for a, b in zip(ip, si, strict=True)) + 1
    if isinstance(ip, dict):
        return same(next(iter(member.kinds.values())), ip, si)
    if kind := member.facts.kind:
        core = units.to_core(ip, kind, "ip")
        assert core == pytest.approx(si, rel=1e-9, abs=1e-9), member.facts.label
    return 1


def test_a_number_that_is_not_finite_is_never_written():
    """JSON knows no NaN: writing one is a defect that shows, not a silent null."""
    with pytest.raises(ValueError, match="JSON"):
        service.to_json({"value": float("nan")})


def test_data_version_follows_the_tables(monkeypatch):
    """The hash of the tables changes when a table does."""
    before = service.data_version()
    service.data_version.cache_clear()
    original = tables.read_text
    monkeypatch.setattr(tables, "read_text", lambda path: original(path) + "\n")
    assert service.data_version() != before
    service.data_version.cache_clear()
    monkeypatch.undo()
    assert service.data_version() == before


def test_the_form_is_described_by_the_facts_of_the_case():
    """Every field of the case, nested ones included, is described with label and unit."""

    def walk(fields):
        for field in fields:
            assert field.facts.label
            assert field.facts.kind in ("", "file", "lines", *units.KINDS)
            if field.facts.type in ("choice", "key"):
                assert form_units.options(field.facts)
            yield field
            for inner in field.kinds.values():
                yield from walk(members(inner))

    described = list(walk(members(cases.Case)))
    area = next(field for field in described if field.facts.label == "Roof area")
    shown = {system: form_units.unit_shown(area.facts.kind, system) for system in units.SYSTEMS}
    assert (shown, area.required) == ({"ip": "ft²", "si": "m²"}, True)
    assert len(described) > 100


def test_a_weather_file_is_named_and_not_echoed():
    """The echo would be megabytes; what was read keeps its text."""
    weather = {"name": "boise.epw", "text": "LOCATION,Boise"}
    document = {"units": "si", "site": {"climate_zone": "5B", "weather": weather}}
    named = service.without_weather(document)
    assert named["site"] == {"climate_zone": "5B", "weather": {"name": "boise.epw", "text": ""}}
    assert document["site"]["weather"] is weather
    assert service.without_weather({"units": "si"}) == {"units": "si"}
