"""The drawings of the page: layers to scale beside their words, and the survey's own sections."""

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from api.service import comparison_reply, load_case
from lcc.case import Framing, Layer, Rectangle
from lcc.quantities import quantities
from web import measures_table
from web.charts import palette
from web.drawings.roof_section import drawings
from web.quantities_table import takeoffs

INCH = 0.0254
BOARD = Layer(material="polyiso-board", thickness_m=2 * INCH)


@pytest.fixture(scope="module")
def case(demo_document):
    """The demo case, whose first alternative is a metal retrofit."""
    return load_case(demo_document).case


def with_old(case, layers):
    return replace(case, roof=replace(case.roof, layers=tuple(layers)))


@pytest.mark.parametrize("count", [1, 2, 3])
def test_layers_are_drawn_to_one_scale(case, count):
    layers = [replace(BOARD, thickness_m=(k + 1) * INCH) for k in range(count)]
    for drawing in drawings(with_old(case, layers), "ip", 0):
        boards = [band for band in drawing.bands if band.name.lower().startswith("polyiso")]
        assert [band.height for band in boards] == pytest.approx(
            [layer.thickness_m * drawing.scale for layer in layers]
        )
        solid = [band for band in drawing.bands if band.role not in ("panel", "cavity")]
        for above, below in pairwise(solid):
            assert above.top + above.height == pytest.approx(below.top)


@pytest.mark.parametrize("count", [1, 6, 12, 40])
def test_words_stay_on_the_sheet_and_off_one_another(case, count):
    for drawing in drawings(with_old(case, [BOARD] * count), "ip", 0):
        assert len(drawing.labels) == len(drawing.bands) + (2 if drawing.panel else 0)
        tops = [label.top for label in drawing.labels]
        ends = [label.top + 15 * (len(label.lines) + 1) for label in drawing.labels]
        assert tops[0] >= drawing.sheet_top >= 0
        assert ends[-1] <= drawing.sheet_foot
        assert all(end <= top for end, top in zip(ends, tops[1:], strict=False))


def test_the_roof_drawn_is_the_one_spoken_of(demo_document):
    second = {**demo_document["alternatives"][0], "name": "The cheaper one", "price": 9}
    given = {**demo_document, "alternatives": [*demo_document["alternatives"], second]}
    loaded = load_case(given)
    reply = comparison_reply(loaded.case, loaded.units)
    which = measures_table.retrofit_shown(reply)
    assert drawings(loaded.case, loaded.units, which)[1].title == "The cheaper one"
    words = measures_table.u_values(reply, measures_table.u_of_today(loaded.case, "ip"))
    assert "“The cheaper one”" in words
    # Insulation that the code asks for at a tear-off makes the base case's roof better as well.
    base = reply["alternatives"][0]
    assert base["energy"][0]["u_value_down"] > base["energy"][-1]["u_value_down"]
    assert re.search(f"“{base['name']}” [0-9.]+, for most of its years", words)


def test_the_roof_of_today_is_told_even_where_it_is_replaced_at_once(demo_document):
    """Its U-value is its own, not that of the covering laid in its place."""
    told = []
    for start in ("end-of-life", "now"):
        base = {**demo_document["base_case"], "start": start}
        loaded = load_case({**demo_document, "base_case": base})
        reply = comparison_reply(loaded.case, loaded.units)
        told.append(measures_table.u_values(reply, measures_table.u_of_today(loaded.case, "ip")))
        if start == "end-of-life":
            of_today = reply["alternatives"][0]["energy"][0]["u_value_down"]
            assert measures_table.u_of_today(loaded.case, "ip") == pytest.approx(
                of_today, rel=1e-12
            )
    assert told[0] == told[1]


def test_a_case_without_a_retrofit_has_one_drawing(case):
    assert [one.title for one in drawings(case, "si", None)] == ["Today"]


@pytest.mark.parametrize("inches", [3.0, 6.0])
def test_a_surveys_section_has_the_insulation_of_the_layers(demo_document, inches):
    loaded = load_case(demo_document)
    retrofit = replace(
        loaded.case.alternatives[0],
        layers=(Layer(material="glass-fibre-blanket", thickness_m=inches * INCH),),
        price_per_m2=None,
        framing=Framing((Rectangle(24.0, 12.0),)),
    )
    case = replace(loaded.case, alternatives=(retrofit,))
    drawn = takeoffs(case, comparison_reply(case, "ip"))[0].sections[0]
    post = _path(drawn, "post")
    blanket = _path(drawn, "insulation")
    high = post[0][1] - post[1][1]  # down the sheet
    deep = max(y for _, y in blanket) - min(y for _, y in blanket)
    # Heights of the section have one scale: the blanket against the post at the eave.
    eave = quantities(retrofit.framing).posts[0].height_m
    assert deep / high == pytest.approx(inches * INCH / eave, rel=0.01)


def _path(drawn, name):
    """Points of the first line or area of a name in a drawing."""
    points = re.search(rf'class="{name}" points="([^"]*)"', drawn)[1]
    return [tuple(map(float, pair.split(","))) for pair in points.split()]


def test_no_two_of_twenty_alternatives_look_alike():
    looks = [palette.look(f"s{k}") for k in range(21)]
    assert len({(colour, tuple(dash)) for colour, dash, _ in looks}) == 21
    assert all(look[0] != looks[0][0] for look in looks[1:])
