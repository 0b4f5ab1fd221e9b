"""The charts: figures that can be read in words and in a table, marks that all can tell apart."""

import copy
import json
import math
import re
from itertools import combinations

import pytest

from api import service
from web import charts
from web import format as fmt
from web.charts import palette, payback, svg
from web.charts.figure import paid_back
from web.charts.jobs import jobs

HOSTILE = "</script><img src=x onerror=alert(1)>\"'&\u2028{{7*7}}"


@pytest.fixture(scope="module")
def reply(demo_document):
    loaded = service.load_case(demo_document)
    return service.comparison_reply(loaded.case, loaded.units)


@pytest.fixture(scope="module")
def figures(reply):
    return {figure.key: figure for figure in charts.figures(reply)}


def test_every_chart_of_the_page_is_there(figures):
    assert list(figures) == [
        "payback", "spread", "heat-flow",
    ]  # fmt: skip


def test_a_specification_holds_no_figures_and_stays_the_same_for_other_figures(reply, figures):
    """So that new figures can be put into a chart that is already drawn."""
    other = copy.deepcopy(reply)
    for alternative in other["alternatives"]:
        steps = alternative["cumulative_present_value"]
        alternative["cumulative_present_value"] = [2 * cost for cost in steps]
    again = {figure.key: figure for figure in charts.figures(other)}
    assert again["payback"].spec == figures["payback"].spec
    assert again["payback"].data != figures["payback"].data
    for figure in figures.values():
        assert '"values": [{' not in json.dumps(figure.spec)
        named = set(re.findall(r'"data": \{"name": "(\w+)"\}', json.dumps(figure.spec)))
        assert named == set(figure.data), figure.key


@pytest.mark.parametrize(
    ("key", "name", "kind"),
    [("payback", "cost", "money"), ("heat-flow", "value", "flux")],
)  # fmt: skip
def test_what_is_drawn_is_what_is_shown(figures, key, name, kind):
    for row in figures[key].data[key.replace("-", "_")]:
        assert row["shown"] == fmt.shown(row[name], kind)


def test_the_payback_chart_draws_the_replys_own_figures(reply, figures):
    rows = figures["payback"].data["payback"]
    for index, alternative in enumerate(reply["alternatives"]):
        drawn = [row["cost"] for row in rows if row["series"] == f"s{index}"]
        assert drawn == [fmt.rounded(c, "money") for c in alternative["cumulative_present_value"]]


def test_every_job_is_marked_on_the_payback_chart_where_its_step_is(reply, figures):
    marks = figures["payback"].data["payback_events"]
    jobs_of = [job for alternative in reply["alternatives"] for job in jobs(alternative)]
    assert sorted(mark["year"] for mark in marks) == sorted(job.year for job in jobs_of)


def test_the_crossing_is_where_the_measure_says(reply, figures):
    """Discounted payback for good and the ring on the chart are one year."""
    crossing = figures["payback"].data["payback_ahead"][0]
    assert crossing["year"] == reply["alternatives"][1]["payback"]["year"]
    assert f"year {crossing['year']}" in figures["payback"].reading


@pytest.mark.parametrize(
    ("base", "other", "year", "word"),
    [([0, 5, 9], [9, 9, 12], None, "does not catch up"), ([5, 6, 9], [1, 2, 3], 0, "from day one"),
     ([0, 9, 9], [4, 5, 6], 1, "has cost no more than “Old” from year 1 on, and costs $3 less")],
)  # fmt: skip
def test_the_reading_follows_the_figures(base, other, year, word):
    alternatives = [
        {"name": name, "cumulative_present_value": steps, "life_cycle_cost": steps[-1],
         "payback": {"year": year, "clear_from": year, "by_worth": False, "likely": ""}}
        for name, steps in (("Old", base), ("New", other))
    ]  # fmt: skip
    sure = {"alternatives": alternatives, "answer": {"state": "costs-less"}}
    assert word in payback.reading(sure)
    alternatives[1]["payback"]["by_worth"] = True
    worth = "Ahead by its worth", "only by what the roof is worth then"
    assert paid_back(sure) == worth[0]
    assert (worth[1] in payback.reading(sure)) == bool(year)  # chart and card alike
    close = sure | {"answer": {"state": "too-close"}}
    assert payback.reading(close).startswith("Too close to call: as entered, after 2 years")


def test_readings_are_one_sentence(figures):
    for figure in figures.values():
        assert figure.reading.endswith(".")
        assert figure.reading.count(". ") == 0, figure.key
        assert "nan" not in figure.reading.lower()


def test_all_figures_are_finite(figures):
    for figure in figures.values():
        numbers = [
            value
            for rows in figure.data.values()
            for row in rows
            for value in row.values()
            if isinstance(value, float)
        ]
        assert all(math.isfinite(number) for number in numbers)
        json.dumps(figure.data, allow_nan=False)


@pytest.mark.parametrize("place", [f"s{index}" for index in range(6)] + [palette.TODAY])
def test_marks_stand_out_from_the_paper(place):
    """WCAG 2.2, 1.4.11: graphics have a contrast of at least 3:1."""
    assert _contrast(palette.look(place)[0], palette.PAPER) >= 3


@pytest.mark.parametrize("color", [palette.INK, palette.MUTED])
def test_text_in_charts_stands_out_from_the_paper(color):
    """WCAG 2.2, 1.4.3: text has a contrast of at least 4.5:1."""
    assert _contrast(color, palette.PAPER) >= 4.5


def test_series_differ_by_colour_and_dash_and_most_by_marker():
    looks = [palette.look(f"s{index}") for index in range(6)]
    for one, other in combinations(looks, 2):
        assert one[0] != other[0]
        assert one[2] != other[2]
    assert len({str(look[1]) for look in looks[1:]}) == 5  # lines are named at their ends too


def _contrast(one, other):
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(color):
    """Relative luminance, WCAG 2.2 definition."""
    parts = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_pictures_hold_no_style_no_script_and_no_name_unescaped(demo_document):
    document = {**copy.deepcopy(demo_document), "name": HOSTILE}
    document["base_case"]["name"], document["alternatives"][0]["name"] = HOSTILE, f"{HOSTILE}2"
    loaded = service.load_case(document)
    for figure in charts.figures(service.comparison_reply(loaded.case, loaded.units)):
        picture = svg.draw(figure)
        assert picture.startswith("<svg")
        assert " style=" not in picture
        assert "<img" not in picture
        assert "<script" not in picture.lower()


def test_two_alternatives_without_a_name_stay_apart(demo_document):
    document = copy.deepcopy(demo_document)
    metal = {key: value for key, value in document["alternatives"][0].items() if key != "name"}
    document["alternatives"] = [metal, metal]
    loaded = service.load_case(document)
    figure = payback.figure(service.comparison_reply(loaded.case, loaded.units))
    assert len({row["series"] for row in figure.data["payback"]}) == 3


def test_a_picture_cannot_make_the_server_fetch_anything(figures):
    """A specification with an address of its own is refused."""
    payback_figure = figures["payback"]
    spec = {"data": {"url": "http://127.0.0.1:9/x.csv"}, "mark": "point", "encoding": {}}
    other = type(payback_figure)("x", "x", "x", spec, {}, payback_figure.table)
    with pytest.raises(ValueError, match=r"(?i)url|base|allow"):
        svg.draw(other)
