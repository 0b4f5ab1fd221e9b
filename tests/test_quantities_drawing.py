"""The drawing of the framing: to scale, self-contained, readable by all, safe under the policy."""

import copy
import math
import re
from dataclasses import replace
from itertools import combinations, pairwise
from xml.etree import ElementTree as Xml

import numpy as np
import pytest

from lcc.case import Framing, Rectangle
from lcc.case.other_work import OtherWork
from lcc.case.rectangle import RoofDrain
from lcc.case.wind_and_snow import WindAndSnow
from lcc.quantities import quantities
from lcc.quantities.engineer_questions import SEAT
from web.charts.placing import met
from web.drawings.framing_plan import mark_box, plan
from web.drawings.framing_section import section
from web.drawings.part_plan import LINE_TEXT, part_plan
from web.drawings.sheet import BLUE, GREEN, INK, MUTED, ORANGE, ROW

SVG = "{http://www.w3.org/2000/svg}"
L_SHAPE = Framing(
    (Rectangle(40.0, 20.0, "ridge"), Rectangle(15.0, 12.0, drains_to="left", y_m=20.0)),
    insulation_thickness_m=0.15,
)  # fmt: skip


def parsed(drawing):
    return Xml.fromstring(drawing)


def of_class(drawing, name):
    return [each for each in parsed(drawing).iter() if each.get("class") == name]


def points(element):
    return [tuple(map(float, pair.split(","))) for pair in element.get("points").split()]


def span(element):
    (x1, y1), (x2, y2) = points(element)[:2]
    return math.hypot(x2 - x1, y2 - y1)


@pytest.fixture(params=["plan", "section", "second section"])
def drawing(request):
    return {
        "plan": plan(L_SHAPE, "ip"),
        "section": section(L_SHAPE, "ip"),
        "second section": section(L_SHAPE, "si", 1, prefix="other"),
    }[request.param]


def test_it_stands_under_the_strict_policy(drawing):
    """No script, no style, no link to anywhere, no event handler."""
    for element in parsed(drawing).iter():
        assert element.tag.removeprefix(SVG) in {
            "svg", "title", "desc", "polyline", "polygon", "text",
        }  # fmt: skip
        names = set(element.attrib)
        assert "style" not in names
        assert not [name for name in names if name.startswith("on") or "href" in name]
    assert "url(" not in drawing


def test_it_has_a_title_and_a_reading(drawing):
    root = parsed(drawing)
    assert root.get("role") == "img"
    names = root.get("aria-labelledby").split()
    texts = {each.get("id"): each.text for each in root if each.get("id")}
    assert list(texts) == names
    assert all(len(text) > 10 for text in texts.values())


def test_every_coordinate_is_on_the_sheet(drawing):
    root = parsed(drawing)
    _, _, wide, high = map(float, root.get("viewBox").split())
    for element in root.iter():
        for x, y in points(element) if element.get("points") else ():
            assert -1 <= x <= wide + 1
            assert -1 <= y <= high + 1


def test_the_same_survey_is_the_same_bytes(drawing):
    assert drawing in (plan(L_SHAPE, "ip"), section(L_SHAPE, "ip"),
                       section(L_SHAPE, "si", 1, prefix="other"))  # fmt: skip


def test_the_plan_is_to_one_scale():
    eaves = of_class(plan(L_SHAPE, "si"), "eave")
    lengths = sorted(span(each) for each in eaves)  # 12, 25 (40 less the wing) and 40 m
    assert lengths[1] / lengths[0] == pytest.approx(25 / 12, rel=1e-3)
    assert lengths[2] / lengths[0] == pytest.approx(40 / 12, rel=1e-3)


def test_the_plan_shows_every_post_and_bracing_line():
    drawn, members = plan(L_SHAPE, "si"), quantities(L_SHAPE).members
    dots = 0
    for row in of_class(drawn, "post"):
        gap = float(row.get("stroke-dasharray").split()[1])
        dots += round(span(row) / gap) + 1
    assert dots == members.posts
    assert len(of_class(drawn, "brace")) == members.bracing_lines


def test_a_section_shows_the_walls_of_higher_and_lower_parts():
    """Slope 1/24. Eaves 12 ft apart; a ridge of 12 + 4/3 + 30/24 ft over 10 + 4/3 + 40/24: 1.58."""
    foot = 0.3048
    school = Framing((
        Rectangle(200 * foot, 60 * foot, "ridge", roof_level_m=12 * foot),
        Rectangle(100 * foot, 80 * foot, "ridge", y_m=60 * foot, roof_level_m=24 * foot),
        Rectangle(40 * foot, 60 * foot, drains_to="right", x_m=200 * foot, roof_level_m=10 * foot),
    ), slope=1 / 24)  # fmt: skip
    for part, text in enumerate(("part 2: up to 12'-0\" higher", "part 1: up to 12'-0\" lower",
                                 "part 1: up to 1'-7\" higher")):  # fmt: skip
        drawn = section(school, "ip", part)
        assert len(of_class(drawn, "step")) == 1
        assert f">{text}<" in drawn
        (panel,) = of_class(drawn, "panel")
        highest = min(float(at.split(",")[1]) for at in panel.get("points").split())
        (at,) = re.findall(rf'<text [^>]*y="([^"]+)"[^>]*>{text}<', drawn)
        assert float(at) < highest - ROW, "the words stand clear above the roof"


def test_the_key_names_no_line_that_is_not_drawn():
    """Where no joist, valley or step is surveyed, nobody looks for one."""
    bare = plan(Framing((Rectangle(40.0, 20.0),)), "si")
    full = plan(replace(L_SHAPE, rectangles=tuple(
        replace(one, bearing_spacing_m=1.5) for one in L_SHAPE.rectangles)), "si")  # fmt: skip
    for name, drawn in (("joists", "bearing"), ("valley", "valley"), ("bracing", "brace")):
        for made in (bare, full):
            named = bool(of_class(made, f"legend-{name}"))
            assert named == bool(of_class(made, drawn)), name
    assert not of_class(bare, "legend-joists")
    assert of_class(full, "legend-valley")


MARKED = r'<text x="([^"]+)" y="([^"]+)"([^>]*)>([BDFLRVWX]+[0-9-][^<]{0,9})<'


def test_no_mark_of_a_parts_plan_is_written_over_another():
    """Bracing lines and downspouts share the strip outside an eave; short purlins have no posts."""
    foot = 0.3048
    school = Framing((
        Rectangle(100 * foot, 60 * foot, "ridge", hip_ends=("right",), y_m=50 * foot,
                  bearing_spacing_m=5 * foot),
        Rectangle(60 * foot, 50 * foot, "ridge", drains_to="left", x_m=40 * foot,
                  bearing_spacing_m=5 * foot, bearing_runs="left-right"),
    ), slope=1 / 24, wind_and_snow=WindAndSnow(basic_wind_m_s=51.0, roof_height_m=7.0),
        other_work=OtherWork(rain_hour_m=0.09))  # fmt: skip
    for place in range(2):
        drawn = part_plan(school, "ip", place)
        marks = re.findall(MARKED, drawn)
        boxes = np.array([mark_box(float(x), float(y), text, upright="rotate" in turned,
                                   high=LINE_TEXT["rotate" in turned])
                          for x, y, turned, text in marks])  # fmt: skip
        assert len(boxes) > 30
        shared = met(boxes, boxes) - 1  # each shares its room with itself
        assert [text for (*_, text), others in zip(marks, shared, strict=True) if others] == []


def test_the_plan_shows_every_ventilator_and_downspout():
    wet = replace(L_SHAPE, other_work=OtherWork(rain_hour_m=0.1))
    drawn, taken = plan(wet, "si"), quantities(wet)
    assert len(of_class(drawn, "ventilator")) == taken.cavity.ventilators
    assert len(of_class(drawn, "downspout")) == sum(each.downspouts for each in taken.drainage)
    along = [row for row in taken.along if not row.what.startswith("panel")]
    assert sum(row.number for row in along) == taken.cavity.ventilators + sum(
        each.downspouts for each in taken.drainage)  # fmt: skip
    assert {row.mark[:2] for row in along} == {"V1", "V2", "D1", "D2"}


def test_posts_that_would_merge_are_left_out_and_the_reading_says_so():
    large = Framing((Rectangle(400.0, 200.0),))
    assert of_class(plan(large, "si"), "post") == []
    assert "too close to be shown" in plan(large, "si")
    assert "too close" not in plan(L_SHAPE, "si")


def test_the_section_s_posts_stand_at_their_heights():
    rows = [row for row in quantities(L_SHAPE).posts if row.rectangle == 2]
    drawn = [span(each) for each in of_class(section(L_SHAPE, "si", 1), "post")]
    assert len(drawn) == len(rows)
    for shown, row in zip(drawn, rows, strict=True):
        assert shown / drawn[0] == pytest.approx(row.height_m / rows[0].height_m, rel=2e-3)


def test_a_ridge_section_has_both_sides():
    rows = [row for row in quantities(L_SHAPE).posts if row.rectangle == 1]
    drawn = of_class(section(L_SHAPE, "si"), "post")
    assert len(drawn) == sum(row.rows for row in rows)
    (panel,) = of_class(section(L_SHAPE, "si"), "panel")
    low, high, other = (y for _, y in points(panel))
    assert low == other > high  # y runs down


def test_the_section_says_how_much_heights_are_stretched():
    low = section(L_SHAPE, "ip")
    stretch = int(re.search(r"Heights are drawn (\d+) times", low).group(1))
    (panel,) = of_class(low, "panel")
    (x1, y1), (x2, y2), _ = points(panel)
    assert (y1 - y2) / (x2 - x1) == pytest.approx(L_SHAPE.slope * stretch, rel=2e-3)
    steep = section(replace(L_SHAPE, slope=0.5, lowest_post_m=2.0), "ip")
    assert "Heights to scale" in steep
    assert "Heights are drawn" not in steep


@pytest.mark.parametrize(("system", "words"), [("ip", "0.5 in 12"), ("si", "4.17%")])
def test_dimensions_are_in_the_request_s_units(system, words):
    drawn = section(L_SHAPE, system)
    assert words in drawn
    unit = {"ip": " ft<", "si": " m<"}[system]
    assert unit in drawn


def luminance(colour):
    channels = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


# WCAG 2.2, 1.4.11 (3:1 for graphics) and 1.4.3 (4.5:1 for text), by its formula of contrast.
@pytest.mark.parametrize(
    ("colour", "least"), [(BLUE, 3), (ORANGE, 3), (GREEN, 3), (MUTED, 3), (INK, 4.5)]
)
def test_colours_have_contrast_on_white(colour, least):
    assert 1.05 / (luminance(colour) + 0.05) >= least


def test_the_smallest_and_the_widest_roof_can_be_drawn():
    for framing in (
        Framing((Rectangle(1.0, 1.0),), lowest_post_m=5.0),
        Framing((Rectangle(1000.0, 1.0),)),
        Framing((Rectangle(1.0, 1000.0),), slope=0.01),
        Framing((Rectangle(30.0, 20.0),), bracing=False, air_changes_per_h=0.0),
    ):
        cut = section(framing, "ip")
        assert parsed(plan(framing, "ip")) is not None
        assert parsed(cut) is not None
        assert of_class(cut, "panel")


def test_plan_section_schedule_and_cut_list_carry_the_same_marks():
    taken = quantities(L_SHAPE)
    assert sum(c.pieces for c in taken.cut_list if c.what == "post") == taken.members.posts
    cut = sum(c.pieces * c.length_m for c in taken.cut_list if c.what == "post")
    assert cut == pytest.approx(taken.members.posts_height_m, rel=1e-3)
    purlins = [c for c in taken.cut_list if c.what.startswith("purlin")]
    whole = sum(c.pieces * c.length_m for c in purlins)
    assert whole == pytest.approx(taken.members.purlins_m, rel=1e-9)
    assert max(c.length_m for c in purlins) <= 6.096
    assert sum(c.pieces for c in taken.cut_list if c.what == "panel") == taken.members.panels
    bracing = [c.pieces * c.length_m for c in taken.cut_list if c.what.startswith("diagonal")]
    assert sum(bracing) == pytest.approx(taken.members.bracing_m, rel=1e-9)
    marks = {c.mark.partition("-")[0] for c in taken.cut_list}
    assert len({c.mark for c in taken.cut_list}) == len(taken.cut_list)
    drawn = [t.text for t in parsed(plan(L_SHAPE, "ip")).iter(f"{SVG}text")]
    posted: dict[str, list[str]] = {}
    for row in taken.set_out:
        posted.setdefault(row.line.rstrip("0123456789"), []).append(row.line)
    ends = {line for lines in posted.values() for line in (lines[0], lines[-1])}
    assert len(ends) >= 6
    assert ends <= set(drawn)  # the first and the last line of every fall
    cut_through = [t.text for t in parsed(section(L_SHAPE, "ip", 1)).iter(f"{SVG}text")]
    scheduled = {row.mark for row in taken.posts}
    for text in (*drawn, *cut_through):
        if re.fullmatch(r"P?\d\.[A-Z]\d+", text):
            assert text in marks
    assert {mark.partition(",")[0] for mark in scheduled} <= marks


FOOT = 0.3048
# A ridge of 80 by 50 ft with a lower wing of 40 by 30 ft at its right, a drain in the middle of
# each, one below the ridge and a ventilator.
STEPPED = Framing(
    (Rectangle(80 * FOOT, 50 * FOOT, "ridge", roof_level_m=6 * FOOT, bearing_spacing_m=5 * FOOT),
     Rectangle(40 * FOOT, 30 * FOOT, drains_to="right", x_m=80 * FOOT,
               bearing_spacing_m=5 * FOOT)),
    slope=1 / 12, wind_and_snow=WindAndSnow(basic_wind_m_s=50.0, roof_height_m=7.0),
    drains=(RoofDrain(40 * FOOT, 25 * FOOT), RoofDrain(100 * FOOT, 15 * FOOT)),
)  # fmt: skip


@pytest.mark.parametrize("framing", [Framing((Rectangle(60.0, 36.0, "ridge"),)), STEPPED])
def test_no_mark_of_the_plan_lies_over_another_or_hides_a_ventilator_or_drain(framing):
    drawn = plan(framing, "ip")
    boxes = [points(each) for each in of_class(drawn, "mark")]
    assert len(boxes) > 2 * len(framing.rectangles) + 3
    spans = [[f(c) for c in zip(*one, strict=True) for f in (min, max)] for one in boxes]
    for (a, b, c, d), (e, f, g, h) in combinations(spans, 2):
        assert min(b, f) <= max(a, e) or min(d, h) <= max(c, g)
    shown = [points(each) for name in ("ventilator", "drain") for each in of_class(drawn, name)]
    middles = [[sum(c) / len(c) for c in zip(*one, strict=True)] for one in shown]
    assert len(middles) >= quantities(framing).cavity.ventilators > 0
    assert not [at for at in middles for a, b, c, d in spans if a < at[0] < b and c < at[1] < d]
    # Drains are drawn after all that they lie under on the roof.
    names = [each.get("class") for each in parsed(drawn).iter()]
    under = max(names.index(each) for each in ("ventilator", "ridge", "brace"))
    assert all(k > under for k, name in enumerate(names) if name == "drain")
    assert names.count("drain") == len(framing.drains)
    taken = quantities(framing)
    crossed = sum(row.pieces for row in taken.cut_list if row.mark[0] == "X")
    assert names.count("cross-member") == crossed
    assert names.count("legend-cross member") == (crossed > 0)
    # The ridge's line stands on the posts of the other fall, not on cross members.
    assert "purlin on cross members" not in [row.what for row in taken.laid]


@pytest.mark.parametrize("framing", [
    L_SHAPE, STEPPED, Framing((Rectangle(60.0, 36.0, "ridge", hip_ends=("right",)),), slope=0.25),
])  # fmt: skip
def test_a_plan_of_each_part_names_every_line_and_writes_no_mark_over_another(framing):
    """At 9 point and more on paper: 12 units of a sheet that is printed 480 pt wide on A4."""
    taken, named = quantities(framing), set()
    for place in range(len(framing.rectangles)):
        drawn = part_plan(framing, "ip", place)
        words = [t.text for t in parsed(drawn).iter(f"{SVG}text")]
        for sort, letters in (("P", ""), ("U", ""), ("X", "X"), ("B", "B"), ("D", "D")):
            whole = re.compile(rf"{letters}([FBLR])(\d*)((?:-.*)?)$")
            named |= {f"{sort}{place + 1}.{found[1]}{found[2]}{found[3]}"
                      for found in map(whole.match, words) if found}  # fmt: skip
        boxes = [points(each) for each in of_class(drawn, "mark")]
        spans = [[f(c) for c in zip(*one, strict=True) for f in (min, max)] for one in boxes]
        for (a, b, c, d), (e, f, g, h) in combinations(spans, 2):
            assert min(b, f) <= max(a, e) or min(d, h) <= max(c, g)
        assert parsed(drawn).get("font-size") == "12"
        assert 480 / float(parsed(drawn).get("viewBox").split()[2]) * 12 >= 9
    marks = {one.mark.partition("-")[0] for one in taken.cut_list if one.mark[0] in "PUX"}
    headers = {one.mark.partition("-")[0] for one in taken.cut_list if one.what[0] == "h"}
    marks |= {one.mark for one in (*taken.bracing, *taken.along) if one.mark[0] in "BD"}
    assert len(marks) > 20
    assert marks - headers <= named
    crossed = any(one.what == "cross member" for one in taken.cut_list)
    assert (SEAT in taken.questions) == crossed


def test_the_plan_shows_valleys_hips_structure_and_zones_of_wind():
    nave = Rectangle(36.0, 15.0, "ridge", hip_ends=("right",), bearing_spacing_m=1.5)
    wing = Rectangle(11.0, 12.0, "ridge", "left", y_m=15.0)
    windy = WindAndSnow(basic_wind_m_s=50.0, roof_height_m=5.0)
    framing = Framing((nave, wing), slope=0.25, wind_and_snow=windy)
    taken = quantities(framing)
    drawn, edges = plan(framing, "si"), taken.edges
    words = [t.text for t in parsed(drawn).iter(f"{SVG}text")]
    assert [each.mark for each in taken.valleys] == ["W1", "W2"]
    assert {"W1", "W2", "A"} <= set(words)
    assert words.count("A") == 2
    scale = span(of_class(drawn, "eave")[0]) / 36.0
    in_plan = sum(span(each) for each in of_class(drawn, "valley")) / scale
    assert in_plan * math.sqrt(1 + 0.25**2 / 2) == pytest.approx(edges.valley_m, rel=2e-3)
    hips = sum(span(each) for each in of_class(drawn, "hip")) / scale
    assert hips * math.sqrt(1 + 0.25**2 / 2) == pytest.approx(edges.hip_m, rel=2e-3)
    assert len(of_class(drawn, "bearing")) == 25
    assert of_class(drawn, "zone-edge")
    assert of_class(drawn, "zone-corner")


def test_the_plan_has_a_key_to_what_it_shades_and_walls_and_says_what_front_is():
    """Parapets stand outside free edges only; nothing is in the key that the plan has not."""
    walled = Rectangle(24.0, 15.0, "ridge", parapet_left_m=0.6, parapet_back_m=0.6)
    wing = Rectangle(12.0, 9.0, "ridge", "left", x_m=12.0, y_m=15.0)
    windy = WindAndSnow(basic_wind_m_s=50.0, roof_height_m=6.0)
    drawn = plan(Framing((walled, wing), wind_and_snow=windy), "si")
    named = {each.get("class"): each for each in parsed(drawn).iter() if each.get("class")}
    bare = plan(L_SHAPE, "si")
    for zone in ("edge", "corner"):
        key = named[f"legend-wind-{zone}"]
        assert key.get("fill-opacity") == named[f"zone-{zone}"].get("fill-opacity")
        assert not of_class(bare, f"legend-wind-{zone}")
    scale = span(of_class(drawn, "eave")[0]) / 24.0
    walls, flashed = (sum(span(each) for each in of_class(drawn, name)) / scale
                      for name in ("parapet-wall", "parapet"))  # fmt: skip
    assert walls == pytest.approx(15.0 + 12.0, rel=2e-3)  # left, and the back beside the wing
    # The eave's panel is 0.4064 m over the deck (1 ft and a purlin of 4 in) and rises 1 in 24.
    assert flashed == pytest.approx(12.0 + 2 * 24 * (0.6 - 0.4064), rel=2e-3)
    for key in ("legend-parapet", "legend-flashed parapet"):
        assert named[key] is not None
        assert not of_class(bare, key)
    texts = [(each.text, float(each.get("y"))) for each in parsed(drawn).iter(f"{SVG}text")]
    rows = sorted({y for text, y in texts if not re.fullmatch(r"[\d.A-Z]+( m|-\d+ to \d+)?", text)})
    assert min(after - before for before, after in pairwise(rows)) >= 15  # none on another
    assert any(text.startswith("The front is the edge at the foot") for text, _ in texts)


def test_the_section_says_how_many_purlins_it_leaves_out_and_the_plan_that_a_ridge_shares_posts():
    """Purlins drawn in plan across the cut are those drawn in section and those it counts."""
    windy = WindAndSnow(basic_wind_m_s=50.0, roof_height_m=6.0)
    survey = Framing((Rectangle(24.0, 15.0),), wind_and_snow=windy)
    drawn, cut = plan(survey, "si"), section(survey, "si")
    (at, _), _ = points(of_class(drawn, "cut")[0])
    ends = [sorted(x for x, _ in points(each)) for each in of_class(drawn, "purlin")]
    crossed = sum(low <= at <= high for low, high in ends)
    left_out = int(re.search(r"Purlins of wind zones, not drawn: (\d+)", cut)[1])
    assert left_out > 0
    assert crossed == len(of_class(cut, "purlin")) + left_out
    assert "not drawn" not in section(replace(survey, wind_and_snow=WindAndSnow()), "si")
    assert "share one row of posts" not in drawn
    ridge = plan(Framing((Rectangle(24.0, 15.0, "ridge"),)), "si")
    assert "share one row of posts" in ridge
    assert of_class(ridge, "legend-rake")


def test_the_plan_shows_old_drains_in_place_and_the_section_the_deck_that_falls_to_them():
    """A drain 10 m from the left and 5 m from the front; its deck rises on both sides of it.

    The cut at 8.4 m meets the deck 1.6 m beside the drain, level from 3.4 to 6.6 m.
    """
    part = Rectangle(20.0, 15.0, deck_slope=1 / 24)
    survey = Framing((part,), drains=(RoofDrain(10.0, 5.0),))
    drawn = plan(survey, "si")
    (dot,), eaves = of_class(drawn, "drain"), of_class(drawn, "eave")
    along = [x for each in eaves for x, _ in points(each)]
    assert points(dot)[0][0] == pytest.approx((min(along) + max(along)) / 2, abs=0.1)
    (deck,) = of_class(section(survey, "si"), "old-roof")
    down = [y for _, y in points(deck)]
    assert down[0] < max(down) > down[-1]
    low = [k for k, each in enumerate(down) if each == max(down)]
    assert (low[0] + low[-1]) / 2 == pytest.approx(len(down) / 3, abs=2)
    # One fall over a deck to its middle, and a ridge that does not stand over that middle.
    middle = replace(part, deck_drains_to="middle")
    for one in (middle, replace(middle, form="ridge", ridge_at_m=11.0)):
        (deck,) = of_class(section(Framing((one,)), "si"), "old-roof")
        down = [y for _, y in points(deck)]
        assert down[0] == down[-1] < max(down)
        assert down.index(max(down)) == pytest.approx(len(down) / 2, abs=1)


def test_the_plan_says_that_units_pipes_and_skylights_are_not_in_place():
    with_pipes = plan(replace(L_SHAPE, penetrations=3), "si")
    assert "their places not surveyed, not drawn" in with_pipes
    assert "not surveyed" not in plan(L_SHAPE, "si")


# A school as it is entered on the page: one list of figures a part, all others left as they are.
SCHOOL = [
    {"length": 200, "width": 60, "form": "ridge", "roof_level": 12, "bearing_spacing": 5},
    {"length": 60, "width": 90, "form": "ridge", "drains_to": "left", "y": 60, "roof_level": 12,
     "bearing_runs": "left-right", "bearing_spacing": 5},
    {"length": 100, "width": 80, "form": "ridge", "x": 200, "roof_level": 24},
    {"length": 40, "width": 30, "x": 100, "y": 60, "roof_level": 10, "drains_to": "back"},
]  # fmt: skip


@pytest.mark.thorough
def test_an_l_shaped_school_on_three_levels_is_few_figures_drawn_as_they_are_typed(
    page_client, demo_document
):
    """The page draws the plan anew after each part; the service takes the same document."""
    assert sum(len(part) for part in SCHOOL) <= 30
    document = {**copy.deepcopy(demo_document), "units": "ip"}
    metal = document["alternatives"][0]
    for count in (1, 2, 4):
        metal["framing"] = {"slope": 0.5, "rectangles": SCHOOL[:count]}
        answer = page_client.post("/answer", json=document).json
        drawn = answer["html"]
        assert drawn.count('class="number"') == count
        assert 'class="bearing"' in drawn
    assert 'class="valley"' in drawn
    assert 'class="step"' in drawn
    sent = {"units": "ip", "framing": metal["framing"]}
    reply = page_client.post("/v1/quantities", json=sent)
    assert reply.status_code == 200
    assert len(reply.json["cut_list"]) > 100
