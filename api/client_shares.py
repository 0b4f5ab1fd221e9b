"""The places of a lane: how many are taken, and how many of them one client may hold at once.

A client is known by its address: that of the connection, or, behind trusted proxies, the one
they forward. An IPv6 client is its network of 64 bits, since each has as many addresses as it
likes.
"""

from __future__ import annotations

from collections import Counter
from ipaddress import IPv6Address, IPv6Network, ip_address
from threading import Lock
from typing import Self

from api.problems import later

RETRY_AFTER_S = 5
SHARE = 0.5  # of the places of a lane in one process


def client_of(address: str | None) -> str:
    """Return the client at an address.

    Examples
    --------
    >>> client_of("192.0.2.7"), client_of("::ffff:192.0.2.7"), client_of("2001:db8::1:2")
    ('192.0.2.7', '192.0.2.7', '2001:db8::/64')
    """
    try:
        known = ip_address(address or "")
    except ValueError:  # a socket file has no address
        return ""
    known = getattr(known, "ipv4_mapped", None) or known  # IPv4 at a socket that takes both
    if isinstance(known, IPv6Address):
        return str(IPv6Network((int(known), 64), strict=False))
    return str(known)


def check_share(held: int, most: int, share: float, retry_after_s: int) -> None:
    """Raise the problem 429 "past-share" where a client holds its share of so many places."""
    if held >= max(1, int(share * most)):
        detail = f"Your address has {held} requests of this kind in hand; wait until one ends."
        raise later("past-share", detail, retry_after_s)


class Places:
    """Some places, each taken by a client and given back once."""

    def __init__(self, most: int, share: float = SHARE, retry_after_s: int = RETRY_AFTER_S) -> None:
        self.most = most
        self.share = share
        self.retry_after_s = retry_after_s
        self._held: Counter[str] = Counter()
        self._lock = Lock()

    def take(self, client: str = "") -> TakenPlace:
        """Take a place.

        Raises
        ------
        Problem
            503 "busy" when every place is taken; 429 "past-share" when this client has its share.
        """
        with self._lock:
            if (taken := self._held.total()) >= self.most:
                detail = f"{taken} requests are before this one."
                raise later("busy", detail, self.retry_after_s)
            check_share(self._held[client], self.most, self.share, self.retry_after_s)
            self._held[client] += 1
        return TakenPlace(self, client)

    @property
    def held(self) -> int:
        """How many places are taken."""
        with self._lock:
            return self._held.total()

    def look(self, client: str = "") -> None:
        """Raise the same problems, without taking a place."""
        self.take(client).leave()

    def give_back(self, client: str) -> None:
        """Take a place back; called by the place itself."""
        with self._lock:
            self._held -= Counter({client: 1})  # forgets a client that holds none


class TakenPlace:
    """A place in use, given back once by its last user."""

    def __init__(self, places: Places, client: str) -> None:
        self._places = places
        self._client = client
        self._lock = Lock()
        self._taken = True

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.leave()

    def leave(self) -> None:
        """Give the place back; a second call does nothing."""
        with self._lock:
            taken, self._taken = self._taken, False
        if taken:
            self._places.give_back(self._client)
