"""``roof-lcc portfolio`` destroys no input, no file that is there, and nothing not its own."""

import errno
import hashlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from api.portfolio.job import EXACT_FROM
from api.portfolio.partitions import (
    Partitions,
    fingerprint,
    held,
    kept_rows,
    open_folder,
    remove_folder,
)
from lcc.portfolio.outcome import Outcome
from lcc.portfolio.ranking import best_set
from web.cli import main

HEADER = "name,climate,roof_area_ft2,roof_type,covering,age"
GOOD = [f"Roof {i},tulsa-ok,20000,steel-deck-perlite,epdm-black,{i}" for i in range(3)]
BAD = "Roof x,nowhere,20000,steel-deck-perlite,epdm-black,3"


def written(folder):
    path = folder / "roofs.csv"
    path.write_text("\n".join([HEADER, *GOOD, BAD]))
    return path


@pytest.fixture
def roofs(tmp_path):
    return written(tmp_path)


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory):
    """The ranking of a run that nothing stopped."""
    folder = tmp_path_factory.mktemp("undisturbed")
    out = folder / "out.csv"
    assert run(written(folder), out, "--partition-rows", 1).exit_code == 0
    return out.read_bytes()


def run(roofs, out, *more, workers=1):
    arguments = [roofs, "--out", out, "--workers", workers, *more]
    return CliRunner().invoke(main, ["portfolio", *map(str, arguments)])


def files(folder):
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


def refused_untouched(tmp_path, *arguments, **options):
    """A refusal in words, after which every file is what it was."""
    before = files(tmp_path)
    result = run(*arguments, **options)
    assert result.exit_code in (1, 2), result.output
    assert isinstance(result.exception, SystemExit)
    assert files(tmp_path) == before
    return result.output


def test_what_is_not_ours_in_the_folder_of_parts_stays_after_a_whole_run(roofs, tmp_path):
    parts = tmp_path / "out.csv.parts"
    (parts / "results").mkdir(parents=True)
    for mine in ("mine.txt", "results/mine.txt", "results/part-notes.txt"):
        (parts / mine).write_text("keep")
    assert run(roofs, tmp_path / "out.csv").exit_code == 0
    assert sorted(files(parts)) == ["mine.txt", "results/mine.txt", "results/part-notes.txt"]


def test_files_named_as_parts_that_no_job_marked_are_refused_and_stay(roofs, tmp_path):
    results = tmp_path / "out.csv.parts" / "results"
    results.mkdir(parents=True)
    (results / "part-000000.json").write_text("mine")
    result = run(roofs, tmp_path / "out.csv")
    assert result.exit_code == 1
    assert "not of ours; move them away" in result.output
    assert (results / "part-000000.json").read_text() == "mine"


def test_what_a_kill_left_half_written_is_removed_with_the_parts(tmp_path):
    folder = tmp_path / "parts"
    open_folder(folder, fingerprint(b"roofs"))
    Partitions(folder / "results", fingerprint(b"roofs"))[3] = [Outcome(building=1, name="A")]
    (folder / "results" / ".part-000004.json.4711").write_text("ha")
    (folder / ".job.json.4711").write_text("lf")
    assert open_folder(folder, fingerprint(b"roofs")) == 1  # halves are not counted
    remove_folder(folder)
    assert not folder.exists()


def test_a_second_run_on_one_output_is_refused_and_changes_nothing(roofs, tmp_path):
    out = tmp_path / "out.csv"
    with held(out, "last-year.csv"):
        before = files(tmp_path)
        result = run(roofs, out)
        assert result.exit_code == 1
        assert f"process {os.getpid()} on" in result.output
        assert "which reads last-year.csv. Wait for that run" in result.output
        assert files(tmp_path) == before
    assert run(roofs, out).exit_code == 0
    assert not list(tmp_path.glob(".*"))  # the lock goes with the run


def test_a_lock_whose_process_was_killed_holds_nobody(roofs, tmp_path):
    (tmp_path / ".out.csv.lock").write_text("process 1 on a machine that lost its power")
    assert run(roofs, tmp_path / "out.csv").exit_code == 0


def test_a_part_of_another_table_is_never_taken(roofs, tmp_path):
    """Also where it lies under the number that is asked for, or is damaged."""
    parts = Partitions(tmp_path, "this table")
    Partitions(tmp_path, "another table")[0] = [Outcome(building=1, name="A")]
    (tmp_path / "part-000001.json").write_text("{")
    (tmp_path / "part-000002.json").write_text("[]")
    assert [number in parts for number in range(3)] == [False] * 3
    with pytest.raises(KeyError):
        parts[0]


def test_kept_rows_are_read_once_until_a_part_changes(tmp_path):
    parts = Partitions(tmp_path, "job")
    rows = [Outcome(building=n, name="A", cautions=("one", "two")) for n in (2, 1)]
    parts[0] = rows
    first = kept_rows(tmp_path, "job")
    assert first == (rows[1], rows[0])
    assert kept_rows(tmp_path, "job") is first
    again = Outcome(building=1, name="A", net_savings=3.0)
    parts[EXACT_FROM + 1] = [again]
    assert kept_rows(tmp_path, "job") == (again, rows[0])


@pytest.mark.thorough
def test_two_runs_at_once_never_mix_their_tables(tmp_path):
    """Two tables, one output: one run writes its own ranking, the other is refused or follows."""
    alone, outs = {}, tmp_path / "shared.csv"
    for age in (3, 11):
        path = tmp_path / f"roofs-{age}.csv"
        rows = [f"R {i},tulsa-ok,{9000 + i},steel-deck-perlite,epdm-black,{age}" for i in range(60)]
        path.write_text("\n".join([HEADER, *rows]))
        assert run(path, tmp_path / f"alone-{age}.csv").exit_code == 0
        alone[age] = (tmp_path / f"alone-{age}.csv").read_bytes()
    command = [sys.executable, "-c", "from web.cli import main; main()", "portfolio"]
    more = ["--out", str(outs), "--workers", "1", "--partition-rows", "1", "--force"]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    runs = {
        age: subprocess.Popen(
            [*command, str(tmp_path / f"roofs-{age}.csv"), *more],
            env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        for age in alone
    }  # fmt: skip
    codes = {age: process.wait(120) for age, process in runs.items()}
    assert 0 in codes.values()
    assert outs.read_bytes() in [alone[age] for age, code in codes.items() if code == 0]


@pytest.mark.parametrize(
    ("write", "fits"),
    [
        ("os.fsync", 0),  # the name of the job
        ("os.fsync", 1),  # a part
        ("api.portfolio.workbook.one_table", 0),  # the ranking
    ],
)
def test_a_full_disk_is_told_and_the_next_run_ends_in_the_same_bytes(
    roofs, tmp_path, monkeypatch, undisturbed, write, fits
):
    done = []

    def full(*_):
        done.append(1)
        if len(done) > fits:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    out = tmp_path / "out.csv"
    with monkeypatch.context() as patched:
        patched.setattr(write, full)
        refused = run(roofs, out, "--partition-rows", 1)
    assert refused.exit_code == 1
    assert "No space left on device" in refused.output
    assert not out.exists()
    assert not list(tmp_path.rglob(".*.json.*"))
    (tmp_path / "out.bad-rows.csv").unlink(missing_ok=True)
    assert run(roofs, out, "--partition-rows", 1).exit_code == 0
    assert out.read_bytes() == undisturbed


@pytest.mark.parametrize("option", ["--out", "--bad-rows"])
def test_an_input_is_never_overwritten(roofs, tmp_path, option):
    (tmp_path / "sub").mkdir()
    same = tmp_path / "sub" / ".." / "roofs.csv"
    more = ["--bad-rows", same] if option == "--bad-rows" else []
    out = same if option == "--out" else tmp_path / "out.csv"
    said = refused_untouched(tmp_path, roofs, out, *more, "--force")
    assert f"{option} would overwrite" in said


def test_a_case_file_and_a_link_to_the_table_are_inputs_too(roofs, tmp_path):
    case = tmp_path / "case.json"
    case.write_text("{}")
    assert "would overwrite" in refused_untouched(tmp_path, roofs, case, "--case", case, "--force")
    link = tmp_path / "link.csv"
    link.symlink_to(roofs)
    assert "would overwrite" in refused_untouched(tmp_path, roofs, link, "--force")


def test_ranking_and_bad_rows_cannot_be_one_file(roofs, tmp_path):
    out = tmp_path / "out.csv"
    assert "the same file" in refused_untouched(tmp_path, roofs, out, "--bad-rows", out)


def test_an_output_that_is_there_is_replaced_only_when_forced(roofs, tmp_path):
    out = tmp_path / "out.csv"
    out.write_text("last year's ranking")
    assert "is there already" in refused_untouched(tmp_path, roofs, out)
    assert run(roofs, out, "--force").exit_code == 0
    assert "Roof 1" in out.read_text()


def test_bad_rows_that_are_there_are_replaced_only_when_forced(roofs, tmp_path):
    bad = tmp_path / "out.bad-rows.csv"
    bad.write_text("half mended")
    assert "is there already" in refused_untouched(tmp_path, roofs, tmp_path / "out.csv")
    assert run(roofs, tmp_path / "out.csv", "--force").exit_code == 0
    assert "nowhere" in bad.read_text()
    # the same rows again are no loss
    assert run(roofs, tmp_path / "again.csv", "--bad-rows", bad).exit_code == 0


def test_a_run_killed_after_its_ranking_was_written_ends_when_started_again(roofs, tmp_path):
    out = tmp_path / "out.csv"
    assert run(roofs, out).exit_code == 0
    before = out.read_bytes()
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("api.portfolio.partitions.remove_folder", lambda _: None)
        assert run(roofs, out, "--force").exit_code == 0
    assert Path(f"{out}.parts").exists()
    assert run(roofs, out).exit_code == 0
    assert out.read_bytes() == before
    assert not Path(f"{out}.parts").exists()


def test_a_table_without_a_good_row_fails_and_leaves_the_ranking_that_is_there(tmp_path):
    roofs, out = tmp_path / "roofs.csv", tmp_path / "out.csv"
    roofs.write_text("\n".join([HEADER, BAD]))
    out.write_text("last year's ranking")
    result = run(roofs, out, "--force")
    assert result.exit_code == 1
    assert "No row can be used, so no ranking is written" in result.output
    assert out.read_text() == "last year's ranking"
    assert "nowhere" in (tmp_path / "out.bad-rows.csv").read_text()  # to mend


def test_bad_rows_say_what_to_do_with_them_once_mended(roofs, tmp_path):
    assert "back into the table" in run(roofs, tmp_path / "out.csv").output


def test_a_folder_that_is_not_there_yet_is_made(roofs, tmp_path):
    out = tmp_path / "new" / "deeper" / "out.csv"
    result = run(roofs, out)
    assert result.exit_code == 0, result.output
    assert out.exists()
    assert (out.parent / "out.bad-rows.csv").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--out", "roofs.csv/out.csv"], "roofs.csv is a file and can hold no out.csv"),
        (["--out", "out.doc"], "--out ends in .csv, .xlsx, .json, .pdf, not 'out.doc'"),
        (["--out", "out.csv", "--bad-rows", "bad.xlsx"], "--bad-rows ends in .csv, .tsv, .txt"),
        (["--out", "out.csv", "--case", "none.json"], "does not exist"),
        (["--out", "out.csv", "--case", "roofs.csv"], "JSON"),
        (["--out", "out.csv", "--cluster", "nonsense"], "No Dask scheduler answers at 'nonsense'"),
        (["--out", "out.csv", "--budget-by-year", "2,000,000"], "2000000"),
    ],
)
def test_what_cannot_be_done_is_told_in_words(roofs, tmp_path, monkeypatch, arguments, said):
    if "--cluster" in arguments:
        pytest.importorskip("distributed")
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(main, ["portfolio", "roofs.csv", *arguments])
    assert result.exit_code in (1, 2)
    assert isinstance(result.exception, SystemExit), result.exception
    assert said in result.output.replace("\n", " ")
    assert not (tmp_path / "out.doc").exists()


def test_what_the_solver_says_on_its_own_is_kept_out_of_the_output(
    roofs, tmp_path, monkeypatch, capfd
):
    def talkative(*arguments, **options):
        os.write(1, b"HighsSomething::says\n")
        return best_set(*arguments, **options)

    monkeypatch.setattr("lcc.portfolio.ranking.best_set", talkative)
    result = run(roofs, tmp_path / "out.csv", "--budget", 1_000_000)
    assert result.exit_code == 0
    os.write(1, b"after\n")  # and the output is back afterwards
    assert capfd.readouterr().out == "after\n"


@pytest.mark.thorough
def test_the_same_table_makes_the_same_spreadsheet_to_the_byte(roofs, tmp_path):
    assert run(roofs, tmp_path / "a.xlsx", "--budget-by-year", "400000;400000").exit_code == 0
    time.sleep(2.1)  # an archive tells times to two seconds
    more = ["--bad-rows", tmp_path / "a.bad-rows.csv"]
    again = run(roofs, tmp_path / "b.xlsx", "--budget-by-year", "400,000; 400,000", *more)
    assert again.exit_code == 0
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()
    book = openpyxl.load_workbook(tmp_path / "a.xlsx")
    assert book.sheetnames[:2] == ["Ranking", "Money by year"]
    assert book.sheetnames[-4:] == ["Bad rows", "Defaults", "Cautions", "Columns"]
    told = {row[0] for row in book["Columns"].values}
    assert {cell.value for cell in book["Ranking"][1]} <= told


def children_of(parent):
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == parent and fields[0] != "Z":
            found.append(int(stat.parent.name))
    return found


def alive(pid):
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def until(holds, seconds):
    end = time.monotonic() + seconds
    while not holds() and time.monotonic() < end:
        time.sleep(0.05)
    return holds()


@pytest.mark.thorough
@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="reads processes from /proc")
def test_workers_end_when_the_run_that_started_them_is_killed(tmp_path):
    roofs = tmp_path / "roofs.csv"
    rows = (
        f"Roof {i},tulsa-ok,{20000 + i},steel-deck-perlite,epdm-black,{i % 14}" for i in range(2000)
    )
    roofs.write_text("\n".join([HEADER, *rows]))
    parts = tmp_path / "out.csv.parts" / "results"
    command = [
        sys.executable, "-c", "from web.cli import main; main()", "portfolio", str(roofs),
        "--out", str(tmp_path / "out.csv"), "--workers", "2", "--partition-rows", "1",
    ]  # fmt: skip
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    process = subprocess.Popen(
        command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        assert until(lambda: len(list(parts.glob("part-*.json"))) > 4, 40)
        workers = children_of(process.pid)
        assert len(workers) >= 2
    finally:
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
    assert until(lambda: not any(map(alive, workers)), 10)
