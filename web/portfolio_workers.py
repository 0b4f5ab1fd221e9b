"""Who works on a portfolio of the command line: this process, others of its own, or a cluster."""

import os
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import get_context, parent_process
from threading import Thread
from typing import Any

import click

from lcc.allocator import keep_freed_memory


@contextmanager
def workers(count: int, cluster: str | None) -> Iterator[Executor | None]:
    """Give processes on this machine, a cluster, or nothing where one process does the work."""
    if cluster:
        with _client(cluster) as client:
            yield client.get_executor()
    elif count == 1:
        keep_freed_memory()
        yield None
    else:
        apart = get_context("spawn")
        with ProcessPoolExecutor(count, apart, initializer=begin) as pool:
            yield pool


def begin() -> None:
    """Make a process a worker: it keeps its memory, and ends when who started it is gone."""
    keep_freed_memory()
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()  # also when it was killed and could not tell its workers
        os._exit(1)


def _client(address: str) -> Any:
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        text = "A cluster needs the optional extra: pip install 'roof-lcc[cluster]'."
        raise click.ClickException(text) from None
    try:
        return distributed.Client(address, set_as_default=False)
    except (OSError, ValueError) as error:  # also a TimeoutError
        text = f"No Dask scheduler answers at {address!a}; give one such as tcp://host:8786."
        raise click.ClickException(text) from error
