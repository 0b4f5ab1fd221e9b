"""The OpenAPI document: valid, its examples accepted, each of its bounds just where it says."""

import copy
import json
import math
from functools import cache

import pytest
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate

from api import create_app, schemas, service
from api.assemblies import AssembliesRequest
from api.openapi import document
from api.problems import Problem
from api.takeoff_service import QuantitiesRequest
from lcc import units
from lcc.case import Case
from lcc.case.case_document import members
from lcc.case.document_values import read
from lcc.case.fields import facts_of
from lcc.case.resolution import figures
from lcc.document_reader import DocumentError, read_document
from lcc.stated_case import load_case

DOCUMENT = document()
PARTS = DOCUMENT["components"]["schemas"]
REQUESTS = {
    f"{cls.__name__}{system.title()}": (cls, system)
    for cls in (Case, AssembliesRequest, QuantitiesRequest)
    for system in units.SYSTEMS
}


@pytest.fixture(scope="module")
def client():
    return create_app().test_client()


def name_of(ref):
    """Return the name that a reference ends with, or nothing."""
    return ref.get("$ref", "").rsplit("/", 1)[-1]


def reached(name, path=(), seen=()):
    """Yield every member of a schema and of those it nests: path, its schema, its own name."""
    for member, schema in PARTS[name]["properties"].items():
        yield (*path, member), schema, name
        inner = schema.get("items", schema)
        many = ("0",) if "items" in schema else ()
        for option in inner.get("oneOf", inner.get("anyOf", [inner])):
            if "properties" in PARTS.get(name_of(option), ()) and name_of(option) not in seen:
                nested = (*path, member, *many)
                yield from reached(name_of(option), nested, (*seen, name_of(option)))


def numbers():
    """Yield every bounded number of every request: schema, its class, member and bounds."""
    seen = set()
    for request in REQUESTS:
        for path, schema, owner in reached(request):
            number = next((s for s in schema.get("oneOf", [schema]) if "number" in kinds(s)), None)
            number = number or (schema if "integer" in kinds(schema) else None)
            if number and (owner, path[-1]) not in seen:
                seen.add((owner, path[-1]))
                yield owner, path[-1], number


def kinds(schema):
    """Return the JSON types of a schema as a list."""
    given = schema.get("type", [])
    return given if isinstance(given, list) else [given]


NUMBERS = list(numbers())
ARRAYS = [
    (owner, path[-1], schema)
    for request in REQUESTS
    for path, schema, owner in reached(request)
    if "maxItems" in schema or "minItems" in schema
]


def stem_of(owner):
    """Return the name of a schema without its system of units; parts without units have none."""
    return owner[:-2] if owner.endswith(("Ip", "Si")) else owner


@cache
def class_of(owner):
    """Return the class that a schema describes, by the schema's own name, and its units."""
    name, system = stem_of(owner), "si" if owner.endswith("Si") else "ip"
    for cls in set().union(*(classes(cls) for cls, _ in REQUESTS.values())):
        if name in (cls.__name__, f"{cls.__name__}Alternative"):
            return cls, system
    raise LookupError(owner)


@cache
def classes(cls):
    """Return a dataclass and all that its schemas nest."""
    found = {cls}
    for member in members(cls):
        for inner in member.kinds.values():
            found |= classes(inner)
    return found


def refusals(owner, member, value):
    """Return why a member takes no such value, whatever else its object would need."""
    cls, system = class_of(owner)
    try:
        read_document(cls, {member: value}, system, own_units=False)
    except DocumentError as refused:
        found = [error for path, error in refused.places if path[:1] == (member,)]
        return [error for error in found if error.rule != "consistency"]
    return []


def accepted(owner, member, value):
    """Tell whether a member takes a value."""
    return not refusals(owner, member, value)


def test_the_document_is_valid():
    """The validator of the OpenAPI specification finds nothing."""
    validate(DOCUMENT)


def test_the_document_is_not_dead():
    """It holds every operation, and requests of many members, so that tests of it test much."""
    operations = {(path, verb) for path, verbs in DOCUMENT["paths"].items() for verb in verbs}
    assert {("/v1/assemblies", "post"), ("/v1/comparisons", "post"), ("/v1/health", "get")} <= (
        operations
    )
    assert len(operations) >= 13
    assert len(NUMBERS) > 150
    assert len(list(reached("CaseIp"))) > 150


def test_every_route_is_documented_and_every_documented_path_is_served():
    """Nothing is served that the document does not name, and the other way round."""
    served = {
        rule.rule.replace("<", "{").replace(">", "}")
        for rule in create_app().url_map.iter_rules()
        if rule.rule.startswith("/v1")
    }
    assert served == set(DOCUMENT["paths"])


def test_references_lead_somewhere():
    """No reference of the document is dead."""
    text = json.dumps(DOCUMENT)
    for kind, parts in DOCUMENT["components"].items():
        text_refs = {f"#/components/{kind}/{name}" for name in parts}
        used = {ref for ref in refs(DOCUMENT) if ref.startswith(f"#/components/{kind}/")}
        assert used <= text_refs
    assert text.count("$ref") > 100


def refs(node):
    """Return every reference in a document."""
    if isinstance(node, dict):
        own = {node["$ref"]} if isinstance(node.get("$ref"), str) else set()
        return own.union(*(refs(inner) for inner in node.values()))
    if isinstance(node, list):
        return set().union(*(refs(inner) for inner in node))
    return set()


def examples():
    """Return every example of a JSON body: path, name, value, schema."""
    for path, verbs in DOCUMENT["paths"].items():
        media = verbs.get("post", {}).get("requestBody", {}).get("content", {})
        content = media.get("application/json", {})
        for name, example in content.get("examples", {}).items():
            yield pytest.param(path, example["value"], content["schema"], id=f"{path}-{name}")


@pytest.mark.parametrize(("path", "value", "schema"), list(examples()))
def test_examples_are_accepted_and_answered_as_documented(client, path, value, schema):
    """Each example keeps to its schema, is answered by 200, and the answer keeps to its own."""
    whole = {"components": DOCUMENT["components"]}
    Draft202012Validator({**whole, **schema}).validate(value)
    answer = client.post(path, json=value)
    assert answer.status_code == 200
    reply = DOCUMENT["paths"][path]["post"]["responses"]["200"]["content"]["application/json"]
    Draft202012Validator({**whole, **reply["schema"]}).validate(answer.json)


def test_each_operation_with_a_json_body_has_examples():
    """A reader finds a body to start from at every POST."""
    with_examples = {case.values[0] for case in examples()}
    assert {"/v1/assemblies", "/v1/comparisons"} <= with_examples


def test_bounds_are_where_the_document_says():
    """Just inside each documented bound a number is accepted, just outside it is refused."""
    for owner, member, number in NUMBERS:
        _check_bounds(owner, member, number)


def _check_bounds(owner, member, number):
    whole = "integer" in kinds(number)
    for key, outward in (
        ("minimum", -math.inf), ("maximum", math.inf),
        ("exclusiveMinimum", -math.inf), ("exclusiveMaximum", math.inf),
    ):  # fmt: skip
        if key not in number:
            continue
        bound = number[key]
        step = 1 if whole else abs(bound) * 1e-9 or 1e-12
        outside = bound + (step if outward > 0 else -step)
        inside = bound - (step if outward > 0 else -step)
        assert accepted(owner, member, inside), (owner, member, key, inside)
        assert not accepted(owner, member, outside), (owner, member, key, outside)
        assert not accepted(owner, member, math.nextafter(bound, outward)) or whole, (owner, member)
        assert accepted(owner, member, bound) is not key.startswith("exclusive"), (owner, key)


def test_numbers_take_no_other_shapes():
    """A text number, a bool, a list and an object are refused wherever a number is asked."""
    for owner, member, _ in NUMBERS:
        for value in ("1", "1.0", "", True, False, [1], {}, {"value": 1}, float("nan"), 10**400):
            assert not accepted(owner, member, value), (owner, member, value)
        may_be_null = "null" in str(PARTS[owner]["properties"][member])
        assert accepted(owner, member, None) == may_be_null, (owner, member)


def test_an_exclusive_bound_is_written_as_one():
    """The discount rate may come near to -5 % but not reach it."""
    rate = next(
        n for owner, member, n in NUMBERS if (owner, member) == ("EconomicsSi", "discount_rate")
    )
    assert rate["exclusiveMinimum"] == -0.05
    assert "minimum" not in rate


def test_lengths_of_lists_are_where_the_document_says():
    """One entry too few or too many is refused by the count, whatever the entries are."""
    for owner, member, array in ARRAYS:
        _check_lengths(owner, member, array)


def _check_lengths(owner, member, array):
    for count in (array.get("minItems", 0) - 1, array.get("maxItems", 0) + 1):
        if count >= 0 and count != 1:
            (error,) = refusals(owner, member, [{}] * count)
            assert "given" in error.detail
            assert error.rule == "range"


def dumped(value, schema):
    """Return a value as a generated client writes it: null for all that may be null and is not."""
    if isinstance(value, list):
        return [dumped(one, schema["items"]) for one in value]
    options = [name_of(one) for one in (schema, *schema.get("oneOf", ()), *schema.get("anyOf", ()))]
    parts = [PARTS[name] for name in options if "properties" in PARTS.get(name, ())]
    if not isinstance(value, dict) or not parts:
        return value
    kind = {"const": value.get("kind")}.items()
    part = next(
        (one for one in parts if kind <= one["properties"].get("kind", {}).items()), parts[0]
    )
    own = part["properties"]
    nulls = {name: None for name in own if "null" in str(own[name]) and name not in value}
    return {**{name: dumped(one, own[name]) for name, one in value.items()}, **nulls}


def test_a_dump_with_nulls_is_the_same_request():
    """Parts, lists and values that are null are as if they were not there, here and in the core."""
    written = {}
    for path, value, schema in (case.values for case in examples()):
        one = next(ref for ref in schema["oneOf"] if name_of(ref).endswith(value["units"].title()))
        full = dumped(value, one)
        cls, _ = REQUESTS[name_of(one)]
        read, small = service.load(cls, full)[0], service.load(cls, value)[0]
        assert read == small, path
        if cls is Case:
            assert [*figures(read)] == [*figures(small)]  # nothing more counts as entered
            assert load_case(full) == load_case(value)
        written[name_of(one)] = json.dumps(full).count("null")
    assert min(written.values()) > 10, written


@pytest.mark.parametrize("request_name", REQUESTS)
def test_every_unit_and_default_is_the_one_that_is_used(request_name):
    """The unit of each number is that of its system, and a stated default is what is assumed."""
    cls, system = REQUESTS[request_name]
    for inner in classes(cls):
        schema = schemas.schema_for(inner, system)()
        stems = (inner.__name__, f"{inner.__name__}Alternative")
        names = [name for stem in stems for name in (stem + system.title(), stem) if name in PARTS]
        part = PARTS[names[0]]
        for name, facts in facts_of(inner).items():
            field = schema.fields[name]
            member = part["properties"][field.data_key]
            if facts.type == "quantity":
                assert member.get("x-unit", "") == units.unit(facts.kind, system).text
            assert "default" not in member  # else a generated client sends it as entered
            if member.get("x-default") is not None and facts.type == "quantity":
                core = next(
                    f.default for f in inner.__dataclass_fields__.values() if f.name == name
                )
                assert read(facts, member["x-default"], system) == pytest.approx(core, rel=1e-11)
            if facts.basis != "entered" and not field.required:
                assert member["x-default-source"] == facts.source


def test_other_names_are_refused_as_documented():
    """Every object of a request says that it takes no other names, and its reader agrees."""
    for request, (cls, system) in REQUESTS.items():
        names = {owner for _, _, owner in reached(request)}
        assert all(PARTS[name]["additionalProperties"] is False for name in names)
        payload = {"units": system, "zzz": 1}
        with pytest.raises(Problem) as caught:
            service.load(cls, copy.deepcopy(payload))
        assert "#/zzz" in {error["pointer"] for error in caught.value.errors}


def test_the_document_is_served_as_it_is(client):
    """What is served is what is tested."""
    assert client.get("/v1/openapi.json").json == {**DOCUMENT, "servers": [{"url": "/"}]}
