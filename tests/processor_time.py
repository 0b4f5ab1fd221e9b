"""Limits of processor time that mean the same on a slower machine, and beside other work.

A second of processor is not the same everywhere: a neighbour on the same core, a smaller cache or
an older machine makes all work slower by a like factor. The yardstick is a fixed piece of plain
Python, text and small arrays; what it takes here over what it took on the machine where the limits
were set is the factor. A faster machine keeps the limit as it stands.
"""

import time
from contextlib import contextmanager
from statistics import median

import numpy as np

# Least of 100 on the machine where the limits were set (2 cores, CPython 3.11.7).
YARDSTICK_S = 0.037
ROWS = [f"Building {row},{row % 90},{row * 37 % 1009}.5" for row in range(30_000)]
SMALL = np.linspace(0.0, 1.0, 16)


def yardstick():
    """Do the fixed piece of work."""
    by_age = {}
    for row in ROWS:
        name, age, area = row.split(",")
        by_age.setdefault(int(age), []).append((float(area), name))
    for roofs in by_age.values():
        roofs.sort()
    for step in range(6000):
        np.maximum(SMALL * step - 1.0, 0.0).sum()
    return by_age


def processor_s(work):
    """Return what a piece of work takes of the processor, all threads together [s]."""
    began = time.process_time()
    work()
    return time.process_time() - began


def slower(yardsticks_s):
    """Return how much slower than the machine of the limits this one was, at least 1."""
    return max(1.0, yardsticks_s / YARDSTICK_S)


@contextmanager
def within(limit_s):
    """Let the work inside take at most so much of the processor [s]."""
    yardsticks = [processor_s(yardstick) for _ in range(2)]
    began = time.process_time()
    yield
    took = time.process_time() - began
    yardsticks += [processor_s(yardstick) for _ in range(2)]
    allowed_s = limit_s * slower(median(yardsticks))
    assert took < allowed_s, f"{took:.2f} s of processor; allowed: {allowed_s:.2f}"


def runs_within(limit_s, work, times=5):
    """Let the middle one of several runs take at most so much of the processor [s].

    `work` is called with the number of the run. Return the last answer.
    """
    took, yardsticks, answer = [], [], None
    for number in range(times):
        yardsticks.append(processor_s(yardstick))
        began = time.process_time()
        answer = work(number)
        took.append(time.process_time() - began)
    allowed_s = limit_s * slower(median(yardsticks))
    assert median(took) < allowed_s, f"{median(took):.3f} s; allowed: {allowed_s:.3f} s"
    return answer
