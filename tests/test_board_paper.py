"""The board's paper: two pages always, every caution named, the same from page and command line."""

import io
import re
import subprocess
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from api.portfolio import job
from lcc.caution_texts import FOR_THE_CREW
from lcc.portfolio import evaluation, ranking
from lcc.portfolio.outcome import Outcome, as_frame
from lcc.portfolio.plan_tables import CapitalPlan, DeferredRoof, PlannedWork, YearOfPlan
from lcc.portfolio.ranking import CapitalProgramme, best_rows, totals
from web.cli import main
from web.portfolio_words import plan_headline
from web.proposal import board_paper

DEMO = Path(__file__).parents[1] / "data" / "demo" / "portfolio.csv"


def _table(rows, name=""):
    """Rows of the demo, each with a name that goes on for so long."""
    head, *lines = DEMO.read_text(encoding="utf-8").splitlines()
    return "\n".join([head, *(f"{line.split(',')[0]} {name},{line.partition(',')[2]}"
                              for line in lines[:rows])])  # fmt: skip


def _made(tmp_path, table, *options):
    """The paper and the cautions of the ranking that it is of."""
    rows, out = tmp_path / "roofs.csv", tmp_path / "board.pdf"
    rows.write_text(table, encoding="utf-8")
    command = ["portfolio", str(rows), "--out", str(out), "--workers", "1", *options]
    done = CliRunner().invoke(main, command)
    assert done.exit_code == 0, done.output
    return out.read_bytes()


def _pages(pdf):
    done = subprocess.run(["pdfinfo", "-"], input=pdf, capture_output=True, check=True)
    return re.search(rb"Pages:\s+(\d+)", done.stdout)[1]


@pytest.fixture
def told(monkeypatch):
    """The cautions that the paper was given."""
    given = []

    def kept(results):
        given[:] = job.cautions(results)
        return list(given)

    monkeypatch.setattr(board_paper, "cautions", kept)
    return given


def test_it_has_two_pages_with_cautions_of_the_money_first_and_says_where_the_others_are(
    tmp_path, pdf_text, told
):
    """Eleven years with little money and names of 200 letters: all tables are full."""
    budget = ["--budget-by-year", ";".join(["150000"] * 11)]
    pdf = _made(tmp_path, _table(6, 160 * "x"), *budget)
    assert _pages(pdf) == b"2"
    words = "".join(pdf_text(pdf).replace("\u200b", "").split())
    said = (
        "What is proposed",
        "Grants and rebates",
        "What waits",
        "Left out of the plan: the largest roofs that would save",
        "demo",
    )
    assert [one for one in said if one.replace(" ", "") not in words] == []
    others = ["".join(one["text"].split())[:12] for one in told
              if one["text"] not in FOR_THE_CREW]  # fmt: skip
    crew = len(told) - len(others)
    assert crew > 20
    assert f"{crew}morecautionsareforthosewhoclimbup" in words
    assert "sheet“Cautions”oftheranking’sworkbook" in words
    assert [one for one in others if one not in words] == []
    know = words[words.index("Whattoknow") :]
    assert know.index("Thesepricesareinvented") == min(know.index(one) for one in others)


def test_the_largest_roofs_give_way_where_a_page_is_full():
    best = pd.DataFrame(
        [{"building": one, "name": f"B{one}", "alternative": "metal", "first_cost": 9.0 - one,
          "net_savings": 1.0, "rank": 1.0, "rank_note": "", "planned_year": None, "in_budget": None}
         for one in range(8)]
    )  # fmt: skip
    (rows,) = [one for one in board_paper._largest(best, None) if one["kind"] == "table"]
    assert rows["least"] < len(rows["rows"]) == 8
    many = pd.concat(
        [best.assign(building=best["building"] + 8 * k) for k in range(3)], ignore_index=True
    )
    (rows,) = [one for one in board_paper._largest(many, None) if one["kind"] == "table"]
    assert (len(rows["rows"]), rows["of"]) == (10, 24)  # counts all that are left out


def test_a_budget_names_the_roofs_that_it_renews_and_those_that_it_leaves_out():
    roofs = pd.DataFrame(
        [{"building": one, "name": f"B{one}", "alternative": "metal", "first_cost": 9.0 - one,
          "net_savings": 1.0, "rank": 1.0, "rank_note": "", "planned_year": None,
          "in_budget": "no" if one else "yes"}
         for one in range(3)]
    )  # fmt: skip
    (within,) = [one for one in board_paper._bought(roofs) if one["kind"] == "table"]
    title, beyond = list(board_paper._largest(roofs, None))
    assert title["text"] == "Left out of the budget: the largest roofs that would save"
    assert ["B0" in str(one["rows"]) for one in (within, beyond)] == [True, False]
    assert (within["of"], beyond["of"]) == (1, 2)


def test_a_caution_with_figures_says_whose_they_are():
    told = [
        {"text": "Wet for 2,210 hours a year.", "figures_of": "East Wing", "buildings": 2},
        {"text": "Wet for 9 hours a day.", "figures_of": "Gym", "buildings": 1},
        {"text": "Keep drains open.", "figures_of": None, "buildings": 2},
    ]
    assert list(board_paper._named(told, 2)) == [
        "Wet for 2,210 hours a year (figures of East Wing).",
        "Wet for 9 hours a day (1 roof; figures of Gym).",
        "Keep drains open.",
    ]


def test_the_board_is_asked_for_a_sum_first_and_reads_why_each_roof_waits():
    """By hand: 100 and 50 in hand, A takes 90 in year 1, C 40 in year 2; B would take 70."""
    results = as_frame([
        Outcome(number, name, alternative="metal", net_savings=saves, first_cost=cost,
                base_work_year=0, base_life_cycle_cost=500.0, life_cycle_cost=500.0 - saves)
        for number, name, saves, cost in ((1, "A", 90.0, 90.0), (2, "B", 20.0, 70.0),
                                          (3, "C", 30.0, 40.0))
    ])  # fmt: skip
    plan = CapitalPlan(
        112.0, 1388.0, 0.0, 110.0, 7.0, 9.0, first_year=1,
        years=(YearOfPlan(0, 100.0, 95.0, 0.0, 0.0, 0.0), YearOfPlan(1, 50.0, 42.0, 0.0, 0.0, 0.0)),
        work=(PlannedWork(1, "A", "metal", "begins", 0, 90.0, 90.0),
              PlannedWork(2, "B", "", "patching", 0, 5.0),
              PlannedWork(2, "B", "", "patching", 1, 2.0),
              PlannedWork(3, "C", "metal", "begins", 1, 40.0, 30.0)),
        deferred=(DeferredRoof(2, "B", 0, None, 70.0, 7.0, 8.0),
                  DeferredRoof(3, "C", 0, 1, 40.0, 0.0, 1.0)),
    )  # fmt: skip
    whole = CapitalProgramme(totals(best_rows(results)), plan=plan)
    assert board_paper._in_one_sentence(plan, 3) == (
        "Asked for: $137 of $150 in year 1 (this year) to year 2, in the money of each year, for "
        "new roofs on 2 of 3: A, C. $7 of it is for patching and later work."
    )
    dated = replace(plan, first_year=2027)
    assert "in 2027 to 2028, in" in board_paper._in_one_sentence(dated, 3)
    (rows,) = [one["rows"] for one in board_paper._by_year(plan) if one["kind"] == "table"]
    assert [row[2:6] for row in rows] == [["1", "$90", "$5", "$95"], ["1", "$40", "$2", "$42"]]
    _, adds, less = board_paper._sums(whole, plan)
    assert "add to $120. The roofs without one cost $8 more than" in adds
    assert "the plan saves $112" in adds
    assert (
        "All 3 roofs that would save, each done as the ranking has it, would save $28 more" in less
    )
    (rows,) = [one["rows"] for one in board_paper._waiting(plan, results) if one["kind"] == "table"]
    assert [(row[0], row[2], row[-1]) for row in rows] == [
        ("B", "not", "only $8 is left in the end"), ("C", "2", "only $5 is left before")
    ]  # fmt: skip
    waits = plan_headline(whole)
    assert "1 done later in the plan, for $40 of what it spends" in waits
    assert "1 not done by its end, which would take $70 more" in waits


def test_what_stands_behind_the_figures_and_which_row_is_missing_is_said(tmp_path, pdf_text):
    head = "name,climate,roof_area_ft2,roof_type,covering,age,leaks"
    rows = [f"{name},tulsa-ok,{area},plywood-deck-bare,modified-bitumen-cap,12,{leaks}"
            for name, area, leaks in (("A", 20000, 2), ("Records Warehouse", "", 0),
                                      ("B", 9000, 0))]  # fmt: skip
    quoted = [f"{head},new_covering_price_per_ft2,retrofit_price_per_ft2",
              *(f"{row},8,15" for row in rows)]  # fmt: skip
    words = " ".join(pdf_text(_made(tmp_path, "\n".join(quoted))).split())
    assert "1 row of the table could not be used, in no figure here: Records Warehouse." in words
    assert "each leak a year $3,000 (demo: invented)" in words
    assert "past due 8% (demo: invented" in words
    assert "Prices entered for 2 roofs do not say what they include: each is taken for lay" in words
    words = " ".join(pdf_text(_made(tmp_path, "\n".join([head, *rows]), "--force")).split())
    assert "do not say what they include" not in words


def test_without_a_plan_it_has_two_pages_too(tmp_path, pdf_text):
    pdf = _made(tmp_path, _table(3))
    assert _pages(pdf) == b"2"
    assert "Sources of money" in pdf_text(pdf)


def test_the_page_gives_the_same_bytes(page_client, tmp_path):
    """By a button of the form, which needs no script."""
    page = page_client.get("/portfolio").text
    assert re.search(r'<button[^>]* form="roofs"[^>]* formaction="/portfolio/board.pdf"', page)
    posted = page_client.post("/portfolio/board.pdf", data=_sent())
    assert posted.mimetype == "application/pdf"
    assert posted.data == _made(tmp_path, _table(3), "--budget-by-year", "600000;600000")


def _sent():
    return {"file": (io.BytesIO(_table(3).encode()), "roofs.csv"), "units": "ip",
            "budget_by_year": "600000;600000"}  # fmt: skip


@pytest.mark.thorough
def test_a_run_that_is_kept_becomes_the_same_paper_without_being_computed_again(
    page_client, monkeypatch, ended
):
    asked = page_client.post("/portfolio/run", data=_sent(), headers={"Prefer": "respond-async"})
    assert ended(page_client, asked)["state"] == "done"
    at_once = page_client.post("/portfolio/board.pdf", data=_sent())
    monkeypatch.setattr(evaluation, "_compared", None)
    monkeypatch.setattr(ranking, "multi_year_plan", None)  # nor is the plan searched for again
    name = asked.headers["Location"].split("/")[-1]
    kept = page_client.post(f"/portfolio/jobs/{name}/board.pdf")
    assert kept.mimetype == "application/pdf"
    assert kept.data == at_once.data
    assert page_client.post("/portfolio/board.pdf", data=_sent()).status_code == 500
    assert page_client.post("/portfolio/jobs/none/board.pdf").status_code == 404


def test_a_table_too_long_for_the_page_is_sent_to_the_command_line(page_client):
    table = _table(1) + "\n" + "\n".join([_table(1).splitlines()[1]] * 1000)
    refused = page_client.post(
        "/portfolio/board.pdf", data={"file": (io.BytesIO(table.encode()), "roofs.csv")}
    )
    assert refused.status_code == 422
    assert "--out board.pdf" in refused.text


@pytest.mark.thorough
def test_names_keep_their_ends_and_roofs_that_must_be_done_are_named(tmp_path, pdf_text):
    """Roofs of one school differ at the end of their names; the owner's musts come first."""
    head, *rows = _table(2, name=30 * "x").splitlines()
    ends = (", roof 7", ", roof 8")
    lines = [f"{head},must"]
    for row, end, must in zip(rows, ends, ("must-do-by-1", "not-before-1"), strict=True):
        name, rest = row.split(",", 1)
        lines.append(f'"{name}{end}",{rest},{must}')
    words = pdf_text(_made(tmp_path, "\n".join(lines), "--budget-by-year", "900000;900000"))
    plain = " ".join(words.replace("\u200b", "").split())
    first, second = plain.index("Must be done:"), plain.index("Must wait:")
    assert ", roof 7 (year" in plain[first:second]
    assert ", by year 2)" in plain[first:second]
    assert ", roof 8 (not in the plan, not before year 2)" in plain[second : second + 120]
    poor = pdf_text(_made(tmp_path, "\n".join(lines), "--budget-by-year", "10;10", "--force"))
    plain = " ".join(poor.split())
    assert "The plan does not pay in time for 1 must-do roof: " in plain
    assert "1 roof of these costs more than the budgets pay for even with nothing else" in plain
    assert "The must-do roofs of year 2 and before take $" in plain
