"""POST /v1/quantities: one survey in two unit systems, refused inputs, tables without formulas."""

import csv
import io
from dataclasses import asdict

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import api
from api import service
from api.takeoff_service import XLSX, QuantitiesRequest
from lcc.case import Framing, Rectangle
from lcc.case.fields import case_name, facts_of
from lcc.quantities import quantities
from lcc.results.takeoff_result import Members
from lcc.units import from_core, unit

SURVEY_IP = {
    "rectangles": [
        {"length": 200, "width": 120, "form": "ridge"},
        {"length": 60, "width": 50, "y": 120, "drains_to": "left"},
    ],
    "slope": 0.5, "lowest_post": 1.0, "post_spacing": 5, "purlin_spacing": 5, "clip_travel": 1.25,
    "rooftop_units": 6, "wet_area": 400, "unit_prices": {"panel": 4.0, "purlin": 2.5, "clip": 2},
}  # fmt: skip
FOOT, INCH = 0.3048, 0.0254
SURVEY_SI = {
    "rectangles": [
        {"length": 200 * FOOT, "width": 120 * FOOT, "form": "ridge"},
        {"length": 60 * FOOT, "width": 50 * FOOT, "y": 120 * FOOT, "drains_to": "left"},
    ],
    "slope": 0.5 / 12, "lowest_post": FOOT, "post_spacing": 5 * FOOT, "purlin_spacing": 5 * FOOT,
    "clip_travel": 1.25 * INCH, "rooftop_units": 6, "wet_area": 400 * FOOT**2,
    "unit_prices": {"panel": 4.0 / FOOT**2, "purlin": 2.5 / FOOT, "clip": 2},
}  # fmt: skip
BLANKET = [{"material": "glass-fibre-blanket", "thickness": 6}]


@pytest.fixture(scope="module")
def client():
    return api.create_app().test_client()


def post(client, body, **headers):
    return client.post("/v1/quantities", json=body, headers=headers)


@pytest.fixture(scope="module")
def both(client):
    ip = {"units": "ip", "framing": SURVEY_IP, "coldest_panel": -4, "hottest_panel": 158}
    si = {"units": "si", "framing": SURVEY_SI, "coldest_panel": -20, "hottest_panel": 70}
    return post(client, ip).get_json(), post(client, si).get_json()


def figures(part, cls, system):
    """The numbers of a reply's part, put back into SI by the reply's own units."""
    found = {}
    for name, facts in facts_of(cls).items():
        key = case_name(name, facts)
        if isinstance(part[key], float | int):
            found[name] = part[key] if facts.type == "whole" else back(part[key], facts, system)
    return found


def back(value, facts, system):
    one = unit(facts.kind, system)
    return (value - one.zero) * one.factor


def test_both_unit_systems_take_off_the_same_roof(both):
    """Counts are equal and quantities agree to the reply's twelve digits."""
    from lcc.results import takeoff_result as results

    ip, si = both
    parts = {"surface": results.Surface, "members": Members, "edges": results.Edges,
             "cavity": results.CavityShape, "services": results.Services,
             "movement": results.Movement, "first_cost": results.FirstCost}  # fmt: skip
    for name, cls in parts.items():
        left, right = figures(ip[name], cls, "ip"), figures(si[name], cls, "si")
        assert left == pytest.approx(right, rel=1e-9), name
    assert ip["members"]["posts"] == si["members"]["posts"]
    for left, right in zip(ip["posts"], si["posts"], strict=True):
        assert left["posts"] == right["posts"]
        assert left["height"] * FOOT == pytest.approx(right["height"], rel=1e-9)
    assert ip["flags"] == si["flags"]


quarters = st.integers(2, 60).map(lambda n: n / 4)


@pytest.mark.thorough
@settings(max_examples=60)
@given(st.integers(8, 400), st.integers(8, 300), quarters, quarters, quarters, st.booleans())
def test_no_count_hangs_on_the_rounding_of_a_unit(long, wide, posts, purlins, cover, ridge):
    """Feet that divide exactly do so in metres too: every count is the same in both systems."""
    plan = {"length": long, "width": wide, "form": "ridge" if ridge else "one-way"}
    spacings = {"post_spacing": posts + 1, "purlin_spacing": purlins + 1}
    ip = {"rectangles": [plan], "panel_cover": cover + 7.5, "slope": 0.25, **spacings}
    si = {
        "rectangles": [plan | {side: plan[side] * FOOT for side in ("length", "width")}],
        "panel_cover": (cover + 7.5) * INCH, "slope": 0.25 / 12,
        **{name: value * FOOT for name, value in spacings.items()},
    }  # fmt: skip
    taken = [
        quantities(
            service.load(QuantitiesRequest, {"units": system, "framing": framing})[0].framing
        )
        for system, framing in (("ip", ip), ("si", si))
    ]
    assert asdict(taken[0].members) == pytest.approx(asdict(taken[1].members), rel=1e-9)
    assert [row.posts for row in taken[0].posts] == [row.posts for row in taken[1].posts]
    assert taken[0].cavity.ventilators == taken[1].cavity.ventilators
    assert taken[0].flags == taken[1].flags


def test_lines_are_in_the_request_s_units(both):
    ip, si = both
    for left, right in zip(ip["first_cost"]["lines"], si["first_cost"]["lines"], strict=True):
        assert left["cost"] == pytest.approx(right["cost"], rel=1e-9)
        assert left["amount"]["value"] * left["price"]["value"] == pytest.approx(left["cost"])
    panel = next(line for line in ip["first_cost"]["lines"] if line["key"] == "panel_per_m2")
    assert panel["price"] == {"value": 4.0, "kind": "price_per_area", "unit": "$/ft^2"}
    assert panel["amount"]["unit"] == "ft^2"
    assert panel["basis"] == "entered"


def test_sentences_and_faults_name_the_request_s_unit_first(client):
    """A parapet of 40 ft is flagged and an overlap of 10 ft refused, feet first for feet."""
    part = {"length": 100, "width": 60, "parapet_left": 40}
    flagged = post(client, {"units": "ip", "framing": {"rectangles": [part]}}).get_json()["flags"]
    assert any("is 40.0 ft (12.19 m) high" in each["message"] for each in flagged)
    metric = {"length": 100 * FOOT, "width": 60 * FOOT, "parapet_left": 40 * FOOT}
    flagged = post(client, {"units": "si", "framing": {"rectangles": [metric]}}).get_json()["flags"]
    assert any("is 12.19 m (40.0 ft) high" in each["message"] for each in flagged)
    beside = {"length": 30, "width": 60, "x": 90}
    fault = post(client, {"units": "ip", "framing": {"rectangles": [part, beside]}}).get_json()
    assert "overlaps part 1 by 10.0 ft (3.05 m) along x" in fault["errors"][0]["detail"]
    hip = {"length": 30, "width": 60, "x": 100, "hip_ends": ["left"]}
    fault = post(client, {"units": "ip", "framing": {"rectangles": [part, hip]}}).get_json()
    told = fault["errors"][0]["detail"]
    assert told.startswith("Part 2: The part has a single fall, to the front")
    assert told.endswith("Take the hip at the left out, or choose the form ridge.")


def test_the_reply_is_the_core_s_answer(client):
    body = {"units": "si", "framing": {"rectangles": [{"length": 24, "width": 12}]}}
    reply = post(client, body).get_json()
    taken = quantities(Framing((Rectangle(24.0, 12.0),)))
    assert reply["members"]["posts"] == taken.members.posts
    assert reply["surface"]["panel_area"] == from_core(taken.surface.panel_area_m2, "area", "si")
    assert reply["first_cost"]["build_up"] == taken.first_cost.build_up
    assert reply["movement"] is None
    assert reply["inputs"] == body
    assert reply["units"] == "si"
    assert reply["model_version"]
    assert reply["data_version"]


def test_the_same_request_is_answered_by_the_same_bytes(client):
    body = {"units": "ip", "framing": SURVEY_IP}
    assert post(client, body).data == post(client, body).data
    first, second = (post(client, body, Accept="text/csv").data for _ in range(2))
    assert first == second


def test_the_echoed_inputs_give_the_same_quantities(client):
    reply = post(client, {"units": "ip", "framing": SURVEY_IP, "layers": BLANKET}).get_json()
    again = post(client, reply["inputs"]).get_json()
    assert again["members"] == reply["members"]
    assert again["first_cost"]["build_up"] == pytest.approx(reply["first_cost"]["build_up"])


def test_a_climate_gives_the_panel_s_temperatures(client):
    body = {"units": "si", "framing": SURVEY_SI, "climate": "tulsa-ok",
            "layers": [{"material": "glass-fibre-blanket", "thickness": 0.15}]}  # fmt: skip
    reply = post(client, body).get_json()
    moved = reply["movement"]
    assert -35 < moved["coldest"] < 0  # clear winter nights of a continental climate
    assert 45 < moved["hottest"] < 85  # light panel, full sun
    length = moved["free_length"]
    hand = 12e-6 * length * (moved["hottest"] - moved["coldest"])
    assert moved["movement"] == pytest.approx(hand, rel=1e-9)
    assert reply["surface"]["insulation_volume"] == pytest.approx(
        0.15 * reply["surface"]["plan_area"]
    )


@pytest.mark.parametrize(
    ("change", "pointer", "allowed"),
    [
        ({"purlin_spacing": 0}, "#/framing/purlin_spacing", "at least 0.3"),
        ({"slope": 0.6}, "#/framing/slope", "at most 0.5"),
        ({"lowest_post": -1}, "#/framing/lowest_post", "at least 0.03"),
        ({"rectangles": []}, "#/framing/rectangles", "at least 1"),
        ({"wet_area": 1e5}, "#/framing/wet_area", "at most the plan area"),
        ({"fixed_point": "somewhere"}, "#/framing/fixed_point", "one of eave"),
        ({"insulation_thickness": 1.5}, "#/framing/insulation_thickness", "a thickness that"),
        ({"wind": 0, "warmth": 0}, "#/framing/wind", "more than 0"),
        ({"rectangles": [{"length": 9, "width": 9}] * 2}, "#/framing/rectangles/1/x", "a place"),
        ({"gutters": 3}, "#/framing/gutters", "the names"),
    ],
)
def test_bad_input_is_refused_with_its_place_and_range(client, change, pointer, allowed):
    framing = {"rectangles": [{"length": 24, "width": 12}], **change}
    answer = post(client, {"units": "si", "framing": framing})
    assert answer.status_code == 422
    assert answer.mimetype == "application/problem+json"
    (error,) = answer.get_json()["errors"]
    assert error["pointer"] == pointer
    assert allowed in error["allowed"]


def test_every_fault_comes_back_at_once(client):
    framing = {"rectangles": [{"length": 0, "width": "wide"}], "slope": 9, "post_spacing": 0}
    answer = post(client, {"units": "ip", "framing": framing, "coldest_panel": 1e6})
    pointers = {error["pointer"] for error in answer.get_json()["errors"]}
    assert pointers == {
        "#/framing/rectangles/0/length", "#/framing/rectangles/0/width", "#/framing/slope",
        "#/framing/post_spacing", "#/coldest_panel",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"units": "si", "coldest_panel": 3}, "#/hottest_panel"),
        ({"units": "si", "coldest_panel": 40, "hottest_panel": 20}, "#/framing/coldest_panel"),
        ({"units": "si", "climate": "tulsa-ok"}, "#/layers"),
    ],
)
def test_panel_temperatures_must_fit_together(client, body, pointer):
    answer = post(client, {"framing": {"rectangles": [{"length": 24, "width": 12}]}, **body})
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.get_json()["errors"]] == [pointer]


HOSTILE = ["=1+1", "+1+cmd", "-2+3", "@SUM(A1)", '=HYPERLINK("http://x")']


@pytest.mark.parametrize("text", HOSTILE)
def test_no_text_of_a_table_can_become_a_formula(client, text):
    body = {"units": "ip", "framing": {**SURVEY_IP, "quotation": 5e5, "quotation_from": text}}
    answer = post(client, body, Accept="text/csv")
    assert answer.mimetype == "text/csv"
    rows = list(csv.reader(io.StringIO(answer.data.decode("utf-8-sig"))))
    cells = [cell for row in rows for cell in row]
    assert f"'{text}" in cells
    for cell in cells:
        assert not cell.startswith(("=", "+", "@", "\t")), cell
        assert not cell.startswith("-") or float(cell) < 0

    sheet = post(client, body, Accept=XLSX)
    book = openpyxl.load_workbook(io.BytesIO(sheet.data))
    kinds = [cell for tab in book for row in tab for cell in row if cell.value is not None]
    assert text in [cell.value for cell in kinds]
    assert not [cell for cell in kinds if cell.data_type == "f"]


def test_tables_hold_the_figures_of_the_reply(client):
    body = {"units": "ip", "framing": SURVEY_IP, "coldest_panel": 0, "hottest_panel": 150}
    reply = post(client, body).get_json()
    answer = post(client, body, Accept="text/csv")
    assert answer.headers["Content-Disposition"].endswith('filename="quantities.csv"')
    rows = list(csv.DictReader(io.StringIO(answer.data.decode("utf-8-sig"))))
    by_item = {(row["Part"], row["Item"]): row for row in rows}
    assert float(by_item["Areas", "Plan area"]["Quantity"]) == reply["surface"]["plan_area"]
    assert by_item["Areas", "Plan area"]["Unit"] == "ft²"
    assert int(by_item["Framing and panels", "Posts"]["Quantity"]) == reply["members"]["posts"]
    total = sum(float(row["Cost, $"]) for row in rows if row["Part"] == "First cost")
    assert total == pytest.approx(reply["first_cost"]["build_up"], rel=1e-9)
    posts = sum(int(row["Quantity"]) for row in rows if row["Part"] == "Posts")
    assert posts == reply["members"]["posts"]
    assert float(by_item["Thermal movement", "Coldest panel"]["Quantity"]) == 0.0

    book = openpyxl.load_workbook(io.BytesIO(post(client, body, Accept=XLSX).data))
    costs = list(book["First cost"].values)
    assert costs[0] == ("Item", "Quantity", "Unit", "Unit price", "Price unit", "Labour, h",
                        "Cost, $", "Basis", "Source")  # fmt: skip
    assert sum(row[6] for row in costs[1:]) == pytest.approx(reply["first_cost"]["build_up"])


def test_a_media_type_that_is_not_made_is_refused(client):
    answer = post(client, {"units": "ip", "framing": SURVEY_IP}, Accept="image/png")
    assert (answer.status_code, answer.mimetype) == (406, "application/problem+json")
    made = post(client, {"units": "ip", "framing": SURVEY_IP}, Accept="text/csv")
    assert (made.mimetype, "Accept" in made.headers["Vary"]) == ("text/csv", True)


def test_a_comparison_holds_the_same_quantities(client):
    """The survey in a case and the survey alone are taken off alike.

    General conditions are among the lines, so that the comparison adds nothing to them.
    """
    survey = {**SURVEY_IP, "other_work": {"general_conditions": True}}
    layers = [{"material": "built-up-roofing"}, {"material": "steel-deck"}]
    roof = {"area": 27000, "covering": "built-up-smooth", "layers": layers}
    retrofit = {"kind": "metal-retrofit", "framing": survey, "layers": BLANKET}
    case = {
        "units": "ip",
        "site": {"climate": "tulsa-ok"},
        "roof": roof,
        "prices": {"disruption": 0},
        "alternatives": [retrofit],
    }
    compared = client.post("/v1/comparisons", json=case).get_json()["alternatives"][1]
    alone = post(client, {"units": "ip", "framing": survey, "layers": BLANKET}).get_json()
    for part in (
        "surface",
        "posts",
        "members",
        "edges",
        "cavity",
        "services",
        "first_cost",
        "loads",
    ):
        assert compared["quantities"][part] == alone[part]
    assert compared["first_cost"] == pytest.approx(alone["first_cost"]["build_up"], rel=1e-9)
    assert compared["quantities"]["movement"]["clip_travel"] == 1.25


def test_the_document_describes_the_call(client):
    document = client.get("/v1/openapi.json").get_json()
    call = document["paths"]["/v1/quantities"]["post"]
    assert set(call["responses"]["200"]["content"]) == {"application/json", "text/csv", XLSX}
    for example in call["requestBody"]["content"]["application/json"]["examples"].values():
        assert post(client, example["value"]).status_code == 200
