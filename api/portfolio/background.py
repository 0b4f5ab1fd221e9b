"""Long work in its own thread, so that the caller can report progress or leave."""

from collections.abc import Callable, Generator
from concurrent.futures import Future, wait
from threading import BoundedSemaphore, Event, Thread
from typing import TypeVar

T = TypeVar("T")
EVERY_S = 1.0
# Abandoned work still runs to its end, so no more than this is begun at once.
_AT_ONCE = BoundedSemaphore(2)


def patiently(work: Callable[[], T], every_s: float = EVERY_S) -> Generator[None, None, T]:
    """Do some work, yielding at intervals until it is done; return its answer.

    Parameters
    ----------
    work : callable
        What is done. Once begun it is not stopped, so it must end by itself.
    every_s : float
        Seconds between two yields [s].

    Notes
    -----
    A generator that is closed before gives up its turn where the work has not begun.

    Examples
    --------
    >>> def asked():
    ...     answer = yield from patiently(lambda: 42)
    ...     assert answer == 42
    >>> list(asked())
    []
    """
    outcome: Future[T] = Future()
    left = Event()
    Thread(target=_in_turn, args=(work, outcome, left), daemon=True).start()
    try:
        while not wait([outcome], every_s).done:
            yield
        return outcome.result()
    finally:
        left.set()


def _in_turn(work: Callable[[], T], outcome: Future[T], left: Event) -> None:
    while not _AT_ONCE.acquire(timeout=EVERY_S):
        if left.is_set():
            return
    try:
        outcome.set_result(work())
    except BaseException as error:  # any error is passed to the thread that waits
        outcome.set_exception(error)
    finally:
        _AT_ONCE.release()
