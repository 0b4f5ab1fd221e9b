"""The page of a portfolio: without a script, live in a browser, and open to everybody."""

import csv
import io
import json
import re
from contextlib import contextmanager
from pathlib import Path

import openpyxl
import pytest

from lcc import tables
from web.charts.portfolio import Roofs, figures
from web.charts.portfolio.roofs import COSTS, SAVES
from web.charts.svg import draw

HEADER = "name,climate,roof_area_ft2,roof_type,covering,age"
HOSTILE = '</script><img src=x onerror=alert(1)>""\'&{{7*7}}'
GOOD = [
    f"Roof {i},tulsa-ok,20000,steel-deck-perlite,epdm-black,{age}" for i, age in enumerate((2, 8))
]
BAD = "Roof x,nowhere,20000,steel-deck-perlite,epdm-black,5"
TABLE = "\n".join(
    [HEADER, *GOOD, BAD, f'"{HOSTILE}",tulsa-ok,20000,steel-deck-perlite,epdm-black,4']
)
DEMO = "\n".join(tables.read_text("demo/portfolio.csv").splitlines()[:13])
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
WATCH = """() => {
  window.told = [];
  const words = document.querySelector("#progress-words");
  new MutationObserver(() => window.told.push(words.textContent))
    .observe(words, { childList: true });
}"""
DONE = "() => document.querySelector('#status').textContent.startsWith('Done')"


def form(text=TABLE, **entries):
    return {"file": (io.BytesIO(text.encode()), "roofs.csv"), **entries}


def lines(response):
    assert response.status_code == 200, response.data
    return [json.loads(line) for line in response.data.splitlines()]


# --- without a browser --------------------------------------------------------------------------


def test_without_a_script_the_whole_answer_comes(page_client):
    html = page_client.post("/portfolio", data=form(budget="400000")).get_data(as_text=True)
    assert "3 of 3 roofs cost less" in html
    assert "1 of 4 rows" in html
    assert "one of the known words" in html
    assert html.count("<svg") >= 4
    assert HOSTILE.replace('""', '"') not in html
    assert "{{7*7}}" in html  # shown as written, not computed


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        ({"budget": "x"}, "budget is not usable"),
        ({"text": "name,clime"}, "unknown column"),
        ({"units": "furlongs"}, "furlongs"),
    ],
)
def test_what_cannot_be_answered_is_told_on_the_page(page_client, entries, told):
    response = page_client.post("/portfolio", data=form(**entries))
    assert response.status_code == 422
    assert told in response.get_data(as_text=True)


def test_the_stream_of_the_page_ends_with_ranks_and_a_view(page_client):
    events = lines(page_client.post("/portfolio/run", data=form(budget="400000")))
    kinds = [event["event"] for event in events]
    assert kinds[0] == "start"
    assert kinds[-3:] == ["ranked", "view", "end"]
    ranked = events[-3]["results"]
    assert sorted(row["rank"] for row in ranked) == [1, 2, 3]
    assert {row["in_budget"] for row in ranked} == {"yes", "no"}
    first = [event for event in events if event["event"] == "result"]
    assert [row["net_savings"] for row in first] == [row["net_savings"] for row in ranked]
    assert set(events[-2]["charts"]) == {"ranked", "curve", "worth", "need"}


def test_a_table_of_no_good_row_is_told_and_answers_nothing(page_client):
    events = lines(page_client.post("/portfolio/run", data=form("\n".join([HEADER, BAD]))))
    assert events[0]["good"] == 0
    assert events[-1]["event"] == "end"
    assert events[-2]["charts"] == {}


@pytest.mark.parametrize("form_of", ["csv", "xlsx"])
def test_rows_of_the_page_come_back_as_a_table_without_formulas(page_client, form_of):
    rows = [["name", "net_savings"], ["=1+1", 2.5], ["+x", None]]
    response = page_client.post("/portfolio/table", json={"format": form_of, "rows": rows})
    if form_of == "csv":
        found = list(csv.reader(io.StringIO(response.data.decode("utf-8-sig"))))
        assert found == [["name", "net_savings"], ["'=1+1", "2.5"], ["'+x", ""]]
    else:
        sheet = openpyxl.load_workbook(io.BytesIO(response.data))["Ranking"]
        assert [cell.data_type for cell in sheet["A"]] == ["s", "s", "s"]


@pytest.mark.parametrize("rows", [None, [1], [[{}]], [[True]]])
def test_what_is_no_table_does_not_come_back(page_client, rows):
    assert page_client.post("/portfolio/table", json={"rows": rows}).status_code == 422


def test_each_chart_draws_reads_and_tables_the_same_figures(page_client):
    events = lines(page_client.post("/portfolio/run", data=form(DEMO)))
    rows = next(event for event in events if event["event"] == "ranked")["results"]
    best = tuple(sorted(rows, key=lambda row: row["rank"]))
    roofs = Roofs(tuple(rows), best, ({"budget": 0.0, "net_savings": 0.0}, _all(rows)), "ip", 1e6)
    found = {figure.key: figure for figure in figures(roofs)}
    assert set(found) == {"ranked", "curve", "worth", "need"}
    for figure in found.values():
        assert figure.reading.endswith(".")
        assert draw(figure).startswith("<svg")
        assert figure.table.rows
    bars = found["ranked"]
    assert [row[2] for row in bars.table.rows] == [row["shown"] for row in bars.data["ranked"]]
    saving = [row for row in rows if row["net_savings"] > 0]
    assert bars.reading.startswith(f"{len(saving)} of {len(rows)} roofs save")
    series = {row["series"] for row in found["worth"].data["worth"]}
    assert series <= {SAVES, COSTS}


def _all(rows):
    saving = [row for row in rows if row["net_savings"] > 0]
    return {
        "budget": sum(row["first_cost"] for row in saving),
        "net_savings": sum(row["net_savings"] for row in saving),
    }


def test_no_results_have_no_charts():
    assert figures(Roofs((), (), (), "si")) == ()


# --- in a browser -------------------------------------------------------------------------------


@pytest.fixture
def tab(chromium, site):
    """Open the page in a tab whose errors and outside requests are asserted to be none."""

    @contextmanager
    def opened(width=1280, **options):
        context = chromium.new_context(viewport={"width": width, "height": 900}, **options)
        context.set_default_timeout(20_000)
        page = context.new_page()
        wrong, outside = [], []
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("dialog", lambda dialog: (wrong.append(dialog.message), dialog.dismiss()))
        page.on(
            "console",
            lambda said: (
                said.type == "error"
                and "422" not in said.text  # a refused table, which the page tells
                and wrong.append(said.text)
            ),
        )
        page.on(
            "request",
            lambda request: (
                request.url.startswith((site, "data:", "blob:")) or outside.append(request.url)
            ),
        )
        page.goto(f"{site}/portfolio")
        yield page
        context.close()
        assert wrong == []
        assert outside == []

    return opened


def drop(page, text, name="roofs.csv"):
    """Drop a file on the page as a pointer would."""
    page.evaluate(
        """([text, name]) => {
             const data = new DataTransfer();
             data.items.add(new File([text], name, { type: "text/csv" }));
             document.querySelector("#drop").dispatchEvent(
               new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
           }""",
        [text, name],
    )


@pytest.mark.browser
def test_drop_the_demo_watch_it_open_a_building_and_download_the_ranking(tab):
    with tab() as page:
        page.fill("#budget", "2000000")
        page.evaluate(WATCH)
        drop(page, DEMO)
        page.wait_for_function(DONE)
        told = page.evaluate("window.told")
        steps = [
            one for one in told if re.fullmatch(r"\d+ of 12 roofs; about \d+ seconds left\.", one)
        ]
        assert len(steps) > 3
        assert page.inner_text("#progress-words") == "12 roofs computed."
        assert "roofs cost less" in page.inner_text("#headline")
        page.wait_for_selector("#ranked .live:not(.arriving) svg")

        rows = page.locator("#ranking tbody tr")
        assert rows.count() == 12
        best = rows.first.locator(".open-roof").inner_text()
        page.get_by_role("button", name="Area, ft²").click()
        areas = [
            float(text.replace(",", ""))
            for text in page.locator("td:nth-child(4)").all_inner_texts()
            if text
        ]
        assert areas[:12] == sorted(areas[:12], reverse=True)
        page.fill("#filter", "warehouse")
        assert 0 < rows.count() < 12
        page.fill("#filter", "")
        page.get_by_role("button", name="Rank").click()
        assert rows.first.locator(".open-roof").inner_text() == best

        with page.context.expect_page() as opened:
            rows.first.locator(".open-roof").click()
        case = opened.value
        case.wait_for_function("name => document.title.startsWith(name)", arg=best)
        assert "Metal retrofit" in case.inner_text("#headline")
        case.close()

        with page.expect_download() as download:
            page.get_by_role("button", name="Download as CSV").click()
        text = Path(download.value.path()).read_text(encoding="utf-8-sig")
        found = list(csv.DictReader(io.StringIO(text)))
        assert [int(row["rank"]) for row in found] == list(range(1, 13))
        assert found[0]["name"] == best


@pytest.mark.browser
def test_a_stopped_run_keeps_its_results_and_bad_rows_can_be_downloaded(tab):
    many = [f"Big {i},miami-fl,{20000 + i},steel-deck-perlite,epdm-black,5" for i in range(400)]
    with tab() as page:
        drop(page, "\n".join([HEADER, BAD, *many]))
        page.wait_for_selector("#ranking tbody tr")
        page.get_by_role("button", name="Stop").click()
        page.wait_for_function(
            "() => document.querySelector('#status').textContent.startsWith('Stopped after')"
        )
        assert page.locator("#ranking tbody tr").count() > 0
        assert page.inner_text("#faults-words").startswith("1 of 401 rows")
        assert "climates" not in page.inner_text("#fault-rows")
        with page.expect_download() as download:
            page.get_by_role("button", name="Download these rows to mend").click()
        assert "nowhere" in Path(download.value.path()).read_text(encoding="utf-8-sig")


@pytest.mark.browser
def test_a_hostile_name_is_text_and_a_refused_table_is_told(tab):
    with tab() as page:
        drop(page, TABLE)
        page.wait_for_function(DONE)
        assert HOSTILE.replace('""', '"') in page.inner_text("#ranking")
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    with tab() as page:
        page.set_input_files("#file", {"name": "a.csv", "mimeType": "text/csv", "buffer": b"name"})
        page.wait_for_function("() => !document.querySelector('#notice').hidden")
        assert "missing column" in page.inner_text("#notice")


@pytest.mark.browser
@pytest.mark.parametrize("width", [1280, 360])
def test_the_page_is_open_to_everybody_in_each_state(tab, width):
    with tab(width) as page:
        found = {"empty": _axe(page), "wide": _wide(page)}
        drop(page, TABLE)
        page.wait_for_function(DONE)
        page.wait_for_selector("#ranked .live:not(.arriving) svg")
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        found |= {"answered": _axe(page), "wide then": _wide(page)}
    assert found == {"empty": [], "wide": 0, "answered": [], "wide then": 0}


def _axe(page):
    page.evaluate(AXE)
    result = page.evaluate(
        """async () => (await axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a",
           "wcag21aa", "wcag22aa", "best-practice"], resultTypes: ["violations"] })).violations
           .map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html)}`)"""
    )
    return [fault[:400] for fault in result]


def _wide(page):
    """How far the page scrolls sideways [px]."""
    return page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
