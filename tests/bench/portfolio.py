"""How long portfolios take: rows, workers, memory, and the ratio to single comparisons.

Run as ``python -m tests.bench.portfolio`` would need a package; it is a script:
``python tests/bench/portfolio.py --rows 100 1000 10000 --workers 1 2``, or for one alone
``python tests/bench/portfolio.py --cluster --one distinct 100000 2 "base and retrofit"``, which
prints seconds, CPU seconds, and peak MiB here and of a worker.

Two invented portfolios are timed. "prototypes": a chain that built each of twelve prototypes in
many places, so that many roofs share a heat problem while every age and price is its own.
"distinct": every roof has its own area, age and prices, of twelve prototypes in five climates, so
that heat is interpolated over areas. CPU seconds are of all processes together; memory is the
peak of the process that hands the work out, and of the largest worker. With ``--cluster`` the
workers are those of a Dask cluster on this machine.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from importlib import import_module
from multiprocessing import get_context
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np
import pandas as pd

from lcc import tables
from lcc.allocator import keep_freed_memory
from lcc.case import Coating
from lcc.comparison import compare
from lcc.portfolio.evaluation import evaluate
from lcc.portfolio.rows import case_of, template

BASES = {
    "base and retrofit": template(),
    "base and two": replace(template(), alternatives=(*template().alternatives, Coating())),
}
PROTOTYPES = 12
CLIMATES = 5


def portfolio(kind: str, rows: int) -> pd.DataFrame:
    """Return an invented portfolio."""
    rng = np.random.default_rng(rows)
    uses = ("school", "retail", "warehouse-heated", "office")
    types = tables.keys("roof_types")
    prototype = rng.integers(0, PROTOTYPES, rows)
    area = 800.0 + 350.0 * prototype if kind == "prototypes" else rng.uniform(500, 8000, rows)
    places = tables.keys("climates")[: None if kind == "prototypes" else CLIMATES]
    return pd.DataFrame(
        {
            "name": [f"Roof {i}" for i in range(rows)],
            "climate": rng.choice(places, rows),
            "roof_area_m2": area,
            "roof_type": [types[p % len(types)] for p in prototype],
            "covering": [("epdm-black", "built-up-gravel")[p % 2] for p in prototype],
            "age_y": rng.uniform(0, 17, rows).round(1),
            "use": [uses[p % len(uses)] for p in prototype],
            "electricity_price_per_kwh": rng.uniform(0.08, 0.2, rows).round(4),
            "retrofit_price_per_m2": rng.uniform(120, 170, rows).round(2),
        }
    )


@contextmanager
def at_work(workers: int, cluster: bool) -> Iterator[Executor | None]:
    """Give nothing, processes of this one, or a Dask cluster on this machine."""
    if cluster:
        distributed = import_module("distributed")
        with (
            distributed.LocalCluster(
                n_workers=workers, threads_per_worker=1, dashboard_address=None
            ) as local,
            distributed.Client(local, set_as_default=False) as client,
        ):
            yield client.get_executor()
    elif workers > 1:
        start = get_context("spawn")
        with ProcessPoolExecutor(workers, start, initializer=keep_freed_memory) as pool:
            yield pool
    else:
        yield None


def timed(kind: str, rows: int, workers: int, base: str, cluster: bool) -> tuple[float, ...]:
    """Return seconds, CPU seconds of all, peak memory of this process and of a worker [MiB]."""
    frame = portfolio(kind, rows)
    keep_freed_memory()
    start = time.perf_counter()
    with at_work(workers, cluster) as executor:
        done = 0
        flow = evaluate(frame, BASES[base], executor=executor, partition_rows=50, by_area=True)
        for results in flow:
            assert results["problem"].isna().all()
            done += results["building"].nunique()
    assert done == rows
    seconds = time.perf_counter() - start
    used = [resource.getrusage(who) for who in _WHOSE]
    cpu = sum(one.ru_utime + one.ru_stime for one in used)
    return seconds, cpu, *(one.ru_maxrss // 1024 for one in used)


_WHOSE = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)


def single(kind: str, base: str, calls: int = 40) -> float:
    """Return the seconds of one comparison whose heat is not known yet."""
    frame = portfolio(kind, 10_000).iloc[-calls:]
    cases = [case_of(row, BASES[base]) for row in frame.to_dict("records")]
    for climate in frame["climate"].unique():
        compare(case_of({**frame.iloc[0].to_dict(), "climate": climate}, BASES[base]))
    start = time.perf_counter()
    for case in cases:
        compare(case, explore=False)
    return (time.perf_counter() - start) / calls


def main() -> None:
    """Print the table, each measurement in a process of its own."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, nargs="+", default=[100, 1000, 10_000])
    parser.add_argument("--workers", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--kinds", nargs="+", default=["prototypes", "distinct"])
    parser.add_argument("--bases", nargs="+", default=["base and retrofit"], choices=list(BASES))
    parser.add_argument("--cluster", action="store_true")
    parser.add_argument("--one", nargs=4, help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.one:
        kind, rows, workers, base = chosen.one
        print(*timed(kind, int(rows), int(workers), base, chosen.cluster))
        return
    print(f"{'portfolio':11} {'alternatives':18} {'rows':>6} {'workers':>7} {'seconds':>8} "
          f"{'CPU s':>8} {'ms/row':>7} {'MiB here':>8} {'a worker':>8} {'x one':>8}")  # fmt: skip
    for kind in chosen.kinds:
        for base in chosen.bases:
            alone = single(kind, base)
            for rows in chosen.rows:
                for workers in chosen.workers:
                    seconds, cpu, here, peak = _apart(
                        *("--cluster",) * chosen.cluster, "--one", kind, rows, workers, base
                    )
                    print(f"{kind:11} {base:18} {rows:6} {workers:7} {seconds:8.1f} {cpu:8.1f} "
                          f"{1000 * seconds / rows:7.1f} {here:8.0f} {peak:8.0f} "
                          f"{seconds / rows / alone:8.2f}", flush=True)  # fmt: skip


def _apart(*what: object) -> list[float]:
    command = [sys.executable, __file__, *map(str, what)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return [float(figure) for figure in done.stdout.split()]


if __name__ == "__main__":
    main()
