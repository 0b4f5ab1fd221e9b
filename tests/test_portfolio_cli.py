"""``roof-lcc portfolio``: a run that is killed at any moment goes on to the same bytes."""

import json
import os
import random
import signal
import time
from concurrent.futures import BrokenExecutor
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from api import service
from api.portfolio.job import PortfolioJob
from api.portfolio.partitions import Partitions, fingerprint, open_folder
from lcc import tables
from lcc.portfolio import milp_calls
from lcc.portfolio.outcome import Outcome
from web.cli import main

# Few heat problems, so that a run takes a second, interpolated over areas; every row has an area
# and prices of its own.
ROWS = [
    "name,climate,roof_area_ft2,roof_type,covering,age,electricity_price_per_kwh,"
    "retrofit_price_per_ft2",
    *(
        f"Roof {i:02d},{('tulsa-ok', 'miami-fl')[i % 2]},{20000 + 250 * i},steel-deck-perlite,"
        f"epdm-black,{i % 14},{0.08 + i / 500:.3f},{9 + i / 5:g}"
        for i in range(40)
    ),
]


@pytest.fixture
def roofs(tmp_path):
    path = tmp_path / "roofs.csv"
    path.write_text("\n".join(ROWS))
    return path


def run(*arguments):
    return CliRunner().invoke(main, ["portfolio", *map(str, arguments)])


def ranking(roofs, out, *more):
    result = run(roofs, "--out", out, "--workers", 1, "--partition-rows", 2, *more)
    assert result.exit_code == 0, result.output
    return result


def test_the_ranking_is_written_best_first_with_sums_in_words(roofs, tmp_path):
    out = tmp_path / "ranked.csv"
    roofs.write_text("\n".join(ROWS[:13]))
    result = ranking(roofs, out, "--budget", 900_000, "--budget-by-year", "500000,500000")
    frame = pd.read_csv(out)
    assert frame["net_savings_per_cost"].is_monotonic_decreasing
    assert frame["rank"].tolist() == list(range(1, 13))
    assert set(frame["in_budget"]) == {"yes", "no"}
    assert frame.loc[frame["in_budget"] == "yes", "first_cost"].sum() <= 900_000
    assert frame["planned_year"].notna().any()
    assert "proved the best set" in result.output
    assert "Year 1" in result.output
    assert not Path(f"{out}.parts").exists()


@pytest.mark.thorough
def test_json_and_spreadsheet_hold_the_same_figures(roofs, tmp_path):
    ranking(roofs, tmp_path / "a.csv")
    ranking(roofs, tmp_path / "a.json")
    ranking(roofs, tmp_path / "a.xlsx")
    frame = pd.read_csv(tmp_path / "a.csv")
    document = json.loads((tmp_path / "a.json").read_text())
    assert [row["net_savings"] for row in document["results"]] == frame["net_savings"].tolist()
    sheet = pd.read_excel(tmp_path / "a.xlsx", engine="openpyxl")
    assert sheet["name"].tolist() == frame["name"].tolist()
    assert sheet["net_savings"].tolist() == pytest.approx(frame["net_savings"].tolist(), rel=1e-14)


@pytest.mark.thorough
def test_processes_write_the_same_bytes(roofs, tmp_path):
    ranking(roofs, tmp_path / "one.csv")
    result = run(roofs, "--out", tmp_path / "two.csv", "--workers", 2, "--partition-rows", 7)
    assert result.exit_code == 0, result.output
    assert (tmp_path / "two.csv").read_bytes() == (tmp_path / "one.csv").read_bytes()


def killed_after(seconds, roofs, out):
    """Run in a process of its own, kill -9 after a while; tell whether it had ended by then."""
    child = os.fork()
    if child == 0:
        try:
            ranking(roofs, out, "--budget-by-year", "400000,400000")
        finally:
            os._exit(0)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    return not os.WIFSIGNALED(status)


@pytest.mark.thorough
@pytest.mark.parametrize("most", [2, 10])
def test_a_run_killed_at_random_moments_ends_in_the_same_bytes(roofs, tmp_path, most):
    undisturbed = tmp_path / "undisturbed.csv"
    ranking(roofs, undisturbed, "--budget-by-year", "400000,400000")  # heat is known from here on
    start = time.perf_counter()
    ranking(roofs, tmp_path / "again.csv", "--budget-by-year", "400000,400000")
    usual = time.perf_counter() - start
    draw = random.Random(8)
    out = tmp_path / "killed.csv"
    parts = Path(f"{out}.parts")
    kills = 0
    while kills < most:
        left = len(list(parts.glob("*/part-*.json")))
        if killed_after(draw.uniform(0.02, usual / 5), roofs, out):
            out.unlink()
            continue
        now = len(list(parts.glob("*/part-*.json")))
        kills += now > 0  # after the first part
        assert now >= left  # nothing that was kept is lost
        assert not out.exists()
    result = ranking(roofs, out, "--budget-by-year", "400000,400000")
    assert "Going on from" in result.output
    assert out.read_bytes() == undisturbed.read_bytes()
    assert not parts.exists()


@pytest.mark.thorough
def test_a_worker_that_dies_is_told_and_the_next_run_ends_the_job(roofs, tmp_path, monkeypatch):
    out = tmp_path / "ranked.csv"

    def one_part_only(job):
        yield next(job.means.evaluated(job.intake.frame, job.base))
        raise BrokenExecutor

    with monkeypatch.context() as patched:
        patched.setattr(PortfolioJob, "run", one_part_only)
        result = run(roofs, "--out", out, "--workers", 1, "--partition-rows", 2)
    assert result.exit_code == 1
    assert "Start the same command again" in result.output
    assert "Going on from 1 parts" in ranking(roofs, out).output


def test_parts_of_another_job_are_not_used(tmp_path):
    folder = tmp_path / "parts"
    first, second = fingerprint(b"roofs", "a"), fingerprint(b"roofs", "b")
    assert open_folder(folder, first) == 0
    Partitions(folder / "results", first)[3] = [
        Outcome(building=1, name="A", net_savings=0.1 + 0.2)
    ]
    assert open_folder(folder, first) == 1
    kept = Partitions(folder / "results", first)
    assert kept[3] == [Outcome(building=1, name="A", net_savings=0.1 + 0.2)]
    assert (list(kept), len(kept), 2 in kept) == ([3], 1, False)
    assert open_folder(folder, second) == 0
    with pytest.raises(KeyError):
        Partitions(folder / "results", second)[3]


def test_a_folder_that_is_not_ours_is_left_alone(tmp_path):
    folder = tmp_path / "parts"
    folder.mkdir()
    (folder / "mine.txt").write_text("keep")
    open_folder(folder, "job")
    assert (folder / "mine.txt").read_text() == "keep"


def test_bad_rows_are_told_and_written_to_mend_and_the_mended_file_runs(roofs, tmp_path):
    roofs.write_text("\n".join([*ROWS[:4], ROWS[4].replace("epdm-black", "epdm-blak")]))
    result = ranking(roofs, tmp_path / "ranked.csv")
    assert "3 of 4 rows good" in result.output
    bad = tmp_path / "ranked.bad-rows.csv"
    frame = pd.read_csv(bad, dtype=str)
    assert frame["line"].tolist() == ["5"]
    assert "epdm-black" in frame["error"][0]
    bad.write_text(bad.read_text(encoding="utf-8-sig").replace("epdm-blak,", "epdm-black,"))
    mended = ranking(bad, tmp_path / "mended.csv")
    assert "1 of 1 rows good" in mended.output


def test_a_table_that_cannot_be_read_is_told_with_every_fault(tmp_path):
    path = tmp_path / "roofs.csv"
    path.write_text("name,clime\nA,B\n")
    result = run(path, "--out", tmp_path / "out.csv")
    assert result.exit_code == 1
    assert "unknown column; the nearest known names are climate" in result.output
    assert "roof_area: missing column" in result.output


def test_what_the_solver_prints_by_itself_is_not_in_what_the_command_says(
    roofs, tmp_path, monkeypatch, capfd
):
    """HiGHS now and then writes a line of its own to the standard output of the process."""

    def noisy(*given, **options):
        os.write(1, b"HighsMipSolverData::transformNewIntegerFeasibleSolution\n")
        return solve(*given, **options)

    solve = milp_calls.milp
    monkeypatch.setattr(milp_calls, "milp", noisy)
    roofs.write_text("\n".join(ROWS[:4]))
    given = [roofs, "--out", tmp_path / "o.json", "--workers", 1, "--budget-by-year", "400000"]
    main(["portfolio", *map(str, given)], standalone_mode=False)
    said = capfd.readouterr().out
    assert "Written: " in said
    assert "Highs" not in said


@pytest.mark.parametrize("budget", ["-5", "much", "1e9", "nan"])
def test_a_budget_that_is_no_sum_is_told(roofs, tmp_path, budget):
    result = run(roofs, "--out", tmp_path / "o.csv", "--workers", 1, "--budget", budget)
    assert result.exit_code == 1
    assert "Budget is" in result.output


@pytest.mark.thorough
def test_a_case_file_supplies_what_the_rows_do_not_say(roofs, tmp_path):
    document = tables.read_json("demo/case.json")
    case = tmp_path / "case.json"
    case.write_text(json.dumps(document))
    ranking(roofs, tmp_path / "ranked.csv", "--case", case)
    frame = pd.read_csv(tmp_path / "ranked.csv")
    names = [alternative["name"] for alternative in document["alternatives"]]
    assert set(frame["alternative"]) == set(names)
    assert len(frame) == 40 * len(names)
    assert service.load_case(document).case.base_case.name
