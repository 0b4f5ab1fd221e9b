"""How a process that solves many years holds its memory."""

import ctypes
import gc
import os

TRIM_THRESHOLD = -1  # M_TRIM_THRESHOLD of glibc's malloc.h
KEPT_BYTES = 64 * 2**20


def keep_freed_memory(kept_bytes: int = KEPT_BYTES) -> bool:
    """Let this process keep memory it has freed, since the next year asks for as much again.

    Parameters
    ----------
    kept_bytes : int
        Free memory above which it is given back to the system [byte].

    Returns
    -------
    bool
        Whether the process's allocator took the query; another than glibc's does not know it.

    Notes
    -----
    Without it the arrays of every step are given back and fetched anew, page by page, which is
    a fifth of the time of a year. For processes of our own: a program that only calls the core
    has its allocator left alone. Who set MALLOC_TRIM_THRESHOLD_ is not overruled.
    """
    if "MALLOC_TRIM_THRESHOLD_" in os.environ:
        return False
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    return mallopt is not None and mallopt(TRIM_THRESHOLD, kept_bytes) == 1


def give_back_freed_memory() -> None:
    """Give what this process has freed back to the system, where its allocator can.

    Notes
    -----
    For after a request that was large and is refused: nothing will ask for as much again soon.
    """
    gc.collect()
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)
    if trim is not None:
        trim(0)
