"""Bodies and headers that mean harm or are only careless: refused in words, never a 500."""

import json

import pytest

from api import create_app
from api.problems import MEDIA_TYPE, TYPES
from api.strict_json import loads

ASSEMBLY = {"units": "si", "assemblies": [{"layers": [{"resistance": 2.0}]}]}
LAYER = ("assemblies", 0, "layers", 0)


@pytest.fixture(scope="module")
def client():
    return create_app().test_client()


def changed(path, value):
    """Return the body of a good request with one value changed or added."""
    body = json.loads(json.dumps(ASSEMBLY))
    place = body
    for part in path[:-1]:
        place = place[part]
    place[path[-1]] = value
    return json.dumps(body).encode()


def raw(before, after=b""):
    """Return the body of a good request with raw bytes in place of the resistance 2.0."""
    good = json.dumps(ASSEMBLY).encode()
    return good.replace(b"2.0", before) + after


# Name -> body, and the place that the refusal must name ("" where the body is no JSON at all).
BODIES = {
    "empty": (b"", ""),
    "blank": (b" \r\n\t", ""),
    "a byte that is no text": (b"\xff\xfe{}", ""),
    "utf-16": (json.dumps(ASSEMBLY).encode("utf-16"), ""),
    "utf-32": (json.dumps(ASSEMBLY).encode("utf-32"), ""),
    "overlong utf-8": (raw(b'"\xc0\xaf"'), ""),
    "cut short": (json.dumps(ASSEMBLY).encode()[:-3], ""),
    "trailing comma": (raw(b"2.0,"), ""),
    "two values": (raw(b"2.0", b"{}"), ""),
    "comment": (raw(b"/* two */ 2.0"), ""),
    "single quotes": (b"{'units': 'si'}", ""),
    "bare words": (b"{units: si}", ""),
    "python literal": (raw(b"None"), ""),
    "leading zero": (raw(b"02.0"), ""),
    "plus sign": (raw(b"+2.0"), ""),
    "hexadecimal": (raw(b"0x2"), ""),
    "underscore": (raw(b"1_0"), ""),
    "digits of another script": (raw("\u0661".encode()), ""),
    "raw line end in a text": (b'{"units": "s\ni"}', ""),
    "a hundred thousand brackets": (b"[" * 100_000, ""),
    "fifty thousand nested objects": (b'{"a":' * 50_000 + b"1" + b"}" * 50_000, ""),
    "thirty levels": (raw(b"[" * 30 + b"]" * 30), "#/assemblies/0/layers/0/resistance/0"),
    "NaN": (raw(b"NaN"), "#/assemblies/0/layers/0/resistance"),
    "Infinity": (raw(b"Infinity"), "#/assemblies/0/layers/0/resistance"),
    "minus Infinity": (raw(b"-Infinity"), "#/assemblies/0/layers/0/resistance"),
    "a number out of reach": (raw(b"1e999"), "#/assemblies/0/layers/0/resistance"),
    "5,000 digits": (raw(b"9" * 5000), "#/assemblies/0/layers/0/resistance"),
    "5,000 digits after the point": (raw(b"-" + b"9" * 5000 + b".5"), "#/assemblies/0/layers/0"),
    "a name twice": (raw(b'2.0, "resistance": 3.0'), "#/assemblies/0/layers/0/resistance"),
    "units twice": (b'{"units": "si", "units": "ip", "assemblies": []}', "#/units"),
    "an empty name twice": (b'{"": 1, "": 2}', "#/"),
    "lone surrogate": (raw(b'2.0, "material": "\\ud800"'), "#/assemblies/0/layers/0/material"),
    "NUL": (raw(b'2.0, "material": "a\\u0000b"'), "#/assemblies/0/layers/0/material"),
    "lone surrogate in a name": (raw(b'2.0, "\\udfff": 1'), "#/assemblies/0/layers/0"),
    "a list": (b"[]", "#"),
    "a text": (b'"units"', "#"),
    "a number": (b"1", "#"),
    "null": (b"null", "#"),
    "no members": (b"{}", "#/units"),
    "units of no system": (changed(("units",), "metric"), "#/units"),
    "units as a list": (changed(("units",), ["si"]), "#/units"),
    "units null": (changed(("units",), None), "#/units"),
    "no assemblies": (changed(("assemblies",), []), "#/assemblies"),
    "assemblies as an object": (changed(("assemblies",), {"0": {}}), "#/assemblies"),
    "assembly as a text": (changed(("assemblies", 0), "x"), "#/assemblies/0"),
    "assembly null": (changed(("assemblies", 0), None), "#/assemblies/0"),
    "layers null": (changed(("assemblies", 0, "layers"), None), "#/assemblies/0/layers"),
    "fifty-one layers": (
        changed(("assemblies", 0, "layers"), [{"resistance": 1}] * 51), "#/assemblies/0/layers",
    ),
    "number as text": (changed((*LAYER, "resistance"), "2.0"), "#/assemblies/0/layers/0/resist"),
    "boolean as number": (changed((*LAYER, "resistance"), True), "#/assemblies/0/layers/0/resist"),
    "list as number": (changed((*LAYER, "resistance"), [2.0]), "#/assemblies/0/layers/0/resist"),
    "object as number": (changed((*LAYER, "resistance"), {}), "#/assemblies/0/layers/0/resist"),
    "below the range": (changed((*LAYER, "resistance"), -1e-9), "#/assemblies/0/layers/0/resist"),
    "above the range": (changed((*LAYER, "resistance"), 51), "#/assemblies/0/layers/0/resist"),
    "ambiguous text": (changed((*LAYER, "resistance"), "R-19"), "#/assemblies/0/layers/0/resist"),
    "power tower": (changed((*LAYER, "resistance"), "9**9**9 m"), "#/assemblies/0/layers/0/resist"),
    "code": (changed((*LAYER, "resistance"), "__import__('os')"), "#/assemblies/0/layers/0/resist"),
    "very long text": (changed((*LAYER, "resistance"), "1" * 10**6), "#/assemblies/0/layers/0"),
    "reflectance 1.2": (
        changed(("assemblies", 0, "solar_reflectance"), 1.2), "#/assemblies/0/solar_reflectance",
    ),
    "unknown material": (changed((*LAYER, "material"), "polyiso"), "#/assemblies/0/layers/0/mater"),
    "material of another shape": (changed((*LAYER, "material"), {}), "#/assemblies/0/layers/0/mat"),
    "unknown name": (changed((*LAYER, "thicknes"), 1), "#/assemblies/0/layers/0/thicknes"),
    "prototype name": (changed(("__proto__",), {}), "#/__proto__"),
    "marshmallow's own name": (changed(("_schema",), {}), "#"),
    "a name with slashes": (changed(("a/b~c",), 1), "#/a~1b~0c"),
    "control character in a name": (
        changed(("assemblies", 0, "name"), "a\x07b"), "#/assemblies/0/name",
    ),
    "line end at the end of a name": (
        changed(("assemblies", 0, "name"), "roof\n"), "#/assemblies/0/name",
    ),
    "name too long": (changed(("assemblies", 0, "name"), "x" * 201), "#/assemblies/0/name"),
    "name as a number": (changed(("assemblies", 0, "name"), 7), "#/assemblies/0/name"),
    "unknown climate": (changed(("climate",), "tulsa"), "#/climate"),
    "nothing says what the layer is": (
        changed(("assemblies", 0, "layers"), [{}]), "#/assemblies/0/layers/0",
    ),
}  # fmt: skip

JSON = "application/json"
# Name -> headers, status. The body is good; what is around it is not.
HEADERS = {
    "no media type": ({}, 415),
    "a form": ({"Content-Type": "application/x-www-form-urlencoded"}, 415),
    "text": ({"Content-Type": "text/plain"}, 415),
    "multipart": ({"Content-Type": "multipart/form-data; boundary=x"}, 415),
    "xml": ({"Content-Type": "application/xml"}, 415),
    "json of another vendor": ({"Content-Type": "application/vnd.api+json"}, 415),
    "media type that is no media type": ({"Content-Type": "json"}, 415),
    "two media types": ({"Content-Type": "application/json, text/plain"}, 415),
    "media type of 10,000 letters": ({"Content-Type": "a" * 10_000}, 415),
    "compressed body announced": ({"Content-Type": JSON, "Content-Encoding": "gzip"}, 400),
    "unknown encoding announced": ({"Content-Type": JSON, "Content-Encoding": "br, x"}, 415),
}


def refusal(answer, name):
    """Check that an answer is a problem document that says something, and return it."""
    assert 400 <= answer.status_code < 500, name
    assert answer.content_type == MEDIA_TYPE
    problem = json.loads(answer.data)
    assert problem["status"] == answer.status_code
    assert TYPES[problem["type"].rsplit("/", 1)[-1]][0] == answer.status_code
    assert problem["detail"]
    return problem


def test_the_corpus_is_large_enough():
    """At least 60 hostile bodies and headers, as promised."""
    assert len(BODIES) + len(HEADERS) >= 60


@pytest.mark.parametrize("name", BODIES)
def test_hostile_body(client, name):
    """Each body is refused with a problem document that names the place."""
    body, place = BODIES[name]
    problem = refusal(client.post("/v1/assemblies", data=body, content_type=JSON), name)
    pointers = [error["pointer"] for error in problem.get("errors", [])]
    if place:
        assert any(pointer.startswith(place) for pointer in pointers), (pointers, problem)
        for error in problem["errors"]:
            assert error["detail"]
    else:
        assert problem["type"].endswith("not-json")


@pytest.mark.parametrize("name", HEADERS)
def test_hostile_headers(client, name):
    """A good body in a wrong wrapping is refused with the status that the wrapping asks for."""
    headers, status = HEADERS[name]
    answer = client.post("/v1/assemblies", data=json.dumps(ASSEMBLY), headers=headers)
    assert refusal(answer, name)["status"] == status


def test_the_good_body_is_accepted(client):
    """The corpus differs from a body that is accepted, so each refusal has its own cause."""
    assert client.post("/v1/assemblies", json=ASSEMBLY).status_code == 200


@pytest.mark.parametrize(
    "content_type", ["application/json; charset=latin-1", "APPLICATION/JSON", f"{JSON}; a=b"]
)
def test_parameters_of_the_media_type_are_ignored(client, content_type):
    """RFC 8259 knows no parameters of application/json: the body is UTF-8 whatever they say."""
    data = json.dumps(ASSEMBLY)
    answer = client.post("/v1/assemblies", data=data, content_type=content_type)
    assert answer.status_code == 200


def test_a_byte_order_mark_is_ignored(client):
    """One mark before the text is read over, as RFC 8259 section 8.1 allows."""
    data = b"\xef\xbb\xbf" + json.dumps(ASSEMBLY).encode()
    assert client.post("/v1/assemblies", data=data, content_type=JSON).status_code == 200
    assert loads(b'\xef\xbb\xbf{"a": [1, 2.5, null]}') == {"a": [1, 2.5, None]}


def test_many_repeated_names_take_no_longer_than_as_many_names(client):
    """Two hundred thousand repeats of one name are refused at once, not in quadratic time."""
    body = b"{" + b",".join(b'"a":1' for _ in range(200_000)) + b"}"
    problem = refusal(client.post("/v1/assemblies", data=body, content_type=JSON), "repeats")
    assert [error["pointer"] for error in problem["errors"]] == ["#/a"]


@pytest.mark.parametrize(
    "query", ["units=ip&units=si", "units=metric", "unit=ip", "units=", "a=%00"]
)
def test_hostile_queries(client, query):
    """A query parameter that is unknown, empty, repeated or out of the list is refused."""
    refusal(client.get(f"/v1/materials?{query}"), query)


@pytest.mark.parametrize("path", ["/v1/health", "/v1/problems", "/v1/openapi.json"])
def test_addresses_without_query_take_none(client, path):
    """What takes no parameter says so instead of ignoring it."""
    problem = refusal(client.get(f"{path}?a=1"), path)
    assert problem["errors"][0]["parameter"] == "a"
