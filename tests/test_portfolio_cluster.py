"""A portfolio on a Dask cluster: the same bits, also when a worker is killed in the middle."""

import os
import signal
import sys

import pandas as pd
import pytest
from click.testing import CliRunner

from lcc.portfolio.evaluation import evaluate
from web.cli import main

distributed = pytest.importorskip("distributed")
pytestmark = pytest.mark.thorough

FRAME = pd.DataFrame(
    {
        "name": [f"Roof {i}" for i in range(24)],
        "climate": "tulsa-ok",
        "roof_area_m2": [1000.0 + 100 * (i % 6) for i in range(24)],
        "roof_type": "steel-deck-perlite",
        "covering": "epdm-black",
        "age_y": [float(i % 14) for i in range(24)],
    }
)


@pytest.fixture(scope="module")
def cluster():
    """Two workers in processes of their own, on this machine."""
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as local:
        yield local


def test_a_killed_worker_changes_no_bit(cluster):
    here = pd.concat(list(evaluate(FRAME)), ignore_index=True)
    with distributed.Client(cluster.scheduler_address, set_as_default=False) as client:
        client.wait_for_workers(2)
        workers = [info["pid"] for info in client.run(_about).values()]
        flow = evaluate(FRAME, executor=client.get_executor(), partition_rows=2)
        frames = [next(flow)]
        assert any(client.processing().values())  # there is work left to be lost
        os.kill(workers[0], signal.SIGKILL)
        frames += list(flow)
    there = pd.concat(frames, ignore_index=True)
    pd.testing.assert_frame_equal(there, here, check_exact=True)


def _about():
    return {"pid": os.getpid()}


def test_the_command_line_works_on_a_cluster_by_its_address(cluster, tmp_path):
    roofs = tmp_path / "roofs.csv"
    rows = [f"R{i},tulsa-ok,1000,steel-deck-perlite,epdm-black,{i}" for i in range(6)]
    roofs.write_text("\n".join(["name,climate,roof_area_m2,roof_type,covering,age", *rows]))
    written = []
    for more in (["--workers", "1"], ["--cluster", cluster.scheduler_address]):
        out = tmp_path / f"{len(written)}.csv"
        result = CliRunner().invoke(main, ["portfolio", str(roofs), "--out", str(out), *more])
        assert result.exit_code == 0, result.output
        written.append(out.read_bytes())
    assert written[0] == written[1]


def test_without_the_extra_the_command_line_says_what_to_install(monkeypatch, tmp_path):
    roofs = tmp_path / "roofs.csv"
    roofs.write_text(
        "name,climate,roof_area_m2,roof_type,covering,age\n"
        "A,tulsa-ok,1000,steel-deck-perlite,epdm-black,3\n"
    )
    monkeypatch.setitem(sys.modules, "distributed", None)
    arguments = ["portfolio", str(roofs), "--out", str(tmp_path / "o.csv"), "--cluster", "tcp://x"]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 1
    assert "roof-lcc[cluster]" in result.output
