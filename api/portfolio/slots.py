"""How many portfolios a process computes at once."""

from __future__ import annotations

from threading import BoundedSemaphore, Lock

from api.problems import Problem

RETRY_AFTER_S = 20


class Streams:
    """A few slots for long answers, so that short ones find a thread."""

    def __init__(self, most: int) -> None:
        self._places = BoundedSemaphore(most)

    def enter(self) -> Slot:
        """Take a slot.

        Raises
        ------
        Problem
            503 "busy" when every slot is taken.
        """
        if not self._places.acquire(blocking=False):
            detail = "Other portfolios are being computed; send this one again in a while."
            raise Problem("busy", detail, headers={"Retry-After": str(RETRY_AFTER_S)})
        return Slot(self._places)

    def look(self) -> None:
        """Raise the same problem, without taking a slot."""
        self.enter().leave()


class Slot:
    """A slot in use, given back once by its last user."""

    def __init__(self, places: BoundedSemaphore) -> None:
        self._places = places
        self._lock = Lock()
        self._taken = True

    def leave(self) -> None:
        """Give the slot back; a second call does nothing."""
        with self._lock:
            taken, self._taken = self._taken, False
        if taken:
            self._places.release()
