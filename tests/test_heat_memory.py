"""Freed memory is kept by processes of our own, and by no other."""

import subprocess
import sys

import pytest

from lcc.allocator import keep_freed_memory

# Forty arrays of 70 kB are held and let go, as in a step of a year, two hundred times.
FAULTS = """
import resource, sys
import numpy as np
from lcc.allocator import keep_freed_memory
if sys.argv[1] == "kept":
    assert keep_freed_memory()
def held():
    return [np.ones(8760) for _ in range(40)]
held()
before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
for _ in range(200):
    held()
print(resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before)
"""


def faults(how):
    """Pages asked of the system by a process that lets its memory go, or keeps it."""
    command = [sys.executable, "-c", FAULTS, how]
    return int(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


@pytest.mark.skipif(sys.platform != "linux", reason="the query is one of glibc")
def test_a_process_that_keeps_its_memory_asks_the_system_for_no_more(monkeypatch):
    monkeypatch.delenv("MALLOC_TRIM_THRESHOLD_", raising=False)
    given_back, kept = faults("given back"), faults("kept")
    # 40 arrays are 684 pages; what is left is the interpreter's own.
    assert given_back > 100 * 684
    assert kept < 684


def test_who_has_set_the_threshold_is_not_overruled(monkeypatch):
    monkeypatch.setenv("MALLOC_TRIM_THRESHOLD_", "131072")
    assert not keep_freed_memory()
