"""How much one request may ask for, in one place, and the clock that a calculation runs against."""

import math
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as OutOfTime
from contextlib import contextmanager
from threading import Lock, local
from typing import Any, TypeVar

from api.client_shares import RETRY_AFTER_S, SHARE, Places
from api.problems import Problem, later

T = TypeVar("T")

# A weather file of 8,760 hours is 1 to 2 MiB; JSON escapes make it longer.
MOST_BODY_BYTES = 5 * 1024 * 1024
MOST_UPLOAD = 64 << 20  # a table of roofs
MOST_JSON = 16 << 20  # rows of roofs: parsed as a whole, which takes several times its size
MOST_TABLE = 32 << 20  # a ranking that the page sends back
MOST_ASSEMBLIES = 5000
MOST_WITH_CLIMATE = 200
TIME_LIMIT_S = 30.0
# Threads of each lane in a process, and how many requests may wait for one of them. Short answers
# have threads of their own, so that they do not wait behind comparisons.
LANES = {"quick": (4, 60), "comparisons": (2, 12)}
# Each open portfolio holds one of a process's threads; other requests need theirs.
PORTFOLIO_STREAMS = 2
PORTFOLIO_RETRY_AFTER_S = 20
LOOK_AT_LANE_S = 0.02

DEFAULTS: dict[str, Any] = {
    "MAX_CONTENT_LENGTH": MOST_BODY_BYTES,
    "MAX_FORM_MEMORY_SIZE": MOST_BODY_BYTES,
    "TIME_LIMIT_S": TIME_LIMIT_S,
    "CORS_ORIGINS": (),
    "PORTFOLIO_STREAMS": PORTFOLIO_STREAMS,
    "TRUSTED_PROXIES": 0,
    "CLIENT_SHARE": SHARE,
    "METRICS": False,
    "JOBS_FOLDER": "",
    "JOBS_KEPT_H": 24.0,
}


class Calculations:
    """Runs calculations in a few threads a lane, and stops waiting for one that takes too long."""

    def __init__(self, time_limit_s: float, share: float) -> None:
        self._lanes = {name: Lane(time_limit_s, *sizes, share) for name, sizes in LANES.items()}

    def run(self, function: Callable[..., T], *arguments: Any, lane: str, client: str) -> T:
        """Return what a function returns; see `Lane.run`."""
        return self._lanes[lane].run(function, *arguments, client=client)

    def give_way(self, lane: str, most_s: float) -> None:
        """Wait while a lane has calculations in hand, but no longer than so many seconds."""
        ends = time.monotonic() + most_s
        while self._lanes[lane].places.held and time.monotonic() < ends:
            time.sleep(LOOK_AT_LANE_S)


_clock = local()


@contextmanager
def time_limit(limit_s: float) -> Iterator[None]:
    """Bound the reading that this thread does inside, which asks `check_time` as it goes."""
    _clock.limit_s, _clock.ends = limit_s, time.monotonic() + limit_s
    try:
        yield
    finally:
        _clock.ends = math.inf


def check_time() -> None:
    """Raise the problem 503 "time-limit" where this thread's reading has taken too long."""
    if time.monotonic() > getattr(_clock, "ends", math.inf):
        raise _out_of_time(_clock.limit_s)


def time_left() -> float:
    """Return what is left of this thread's limit [s]; infinite without one."""
    return max(0.0, float(getattr(_clock, "ends", math.inf)) - time.monotonic())


class Lane:
    """A few threads, and a bounded queue before them.

    An abandoned calculation still ends, since its inputs are bounded.
    While such leftovers hold every thread, new requests get the answer that the service is busy.
    """

    def __init__(self, time_limit_s: float, workers: int, waiting: int, share: float) -> None:
        self.time_limit_s = time_limit_s
        self.workers = workers
        self.places = Places(workers + waiting, share)
        self._pool: ThreadPoolExecutor | None = None
        self._left = 0
        self._lock = Lock()

    def run(self, function: Callable[..., T], *arguments: Any, client: str) -> T:
        """Return what a function returns to a client.

        Raises
        ------
        Problem
            503 "time-limit" when it takes longer than the limit, of which reading the request has
            taken its part; "busy" when too many requests wait already, or leftovers of earlier
            requests hold every thread; 429 "past-share" when too many of them are this client's.
        """
        with self._lock:
            if self._left >= self.workers:
                raise later("busy", "Earlier requests still hold every thread.", RETRY_AFTER_S)
            place = self.places.take(client)
            # Made here and not earlier: threads do not survive the server's fork.
            self._pool = self._pool or ThreadPoolExecutor(self.workers, "calculation")
            future = self._pool.submit(function, *arguments)
        future.add_done_callback(lambda _: place.leave())
        try:
            return future.result(min(self.time_limit_s, time_left()))
        except OutOfTime:
            if future.done():
                raise
            self._leave(future)
            raise _out_of_time(self.time_limit_s) from None

    def _leave(self, future: Future[T]) -> None:
        with self._lock:
            self._left += 1
        future.add_done_callback(self._left_ended)

    def _left_ended(self, _: Future[T]) -> None:
        with self._lock:
            self._left -= 1


def _out_of_time(limit_s: float) -> Problem:
    detail = f"The answer took longer than {limit_s:g} s; ask for less at once."
    return later("time-limit", detail, RETRY_AFTER_S)
