"""A gunicorn worker whose threads are not held by clients that send slowly.

Requests arrive outside the threads: the event loop reads the headers, and a small body with them,
and hands a request to a thread only when it is whole. A larger body is read by a thread, but only
some of the threads may do that at once, and each within a time that follows from its length.
"""

import re
import selectors
import socket
import struct
import time
from collections import deque
from dataclasses import dataclass, field
from typing import Any

from gunicorn import http
from gunicorn.workers.gthread import ThreadWorker

# Headers and a small body must have come within this time [s].
ARRIVAL_S = 10.0
SMALL_BYTES = 64 * 1024
# A larger body has the time above and as much more as it takes at this rate [bytes/s].
SLOWEST_BYTES_S = 64 * 1024
LONGEST_BODY_S = 120.0
# A client that sends nothing, or reads nothing, for so long is let go.
STALL_S = 10
UNREAD_S = 60
PIECE = 64 * 1024
_LENGTH = re.compile(rb"\r\ncontent-length:[ \t]*(\d{1,12})[ \t]*\r\n", re.IGNORECASE)


class TooSlowError(Exception):
    """A request that did not arrive in its time."""


def body_bytes(head: bytes) -> int | None:
    r"""Return the length of the body that a head announces, or None where it is not known.

    Examples
    --------
    >>> body_bytes(b"POST / HTTP/1.1\r\nContent-Length: 12\r\n\r\n")
    12
    >>> body_bytes(b"GET / HTTP/1.1\r\nHost: a\r\n\r\n")
    0
    >>> body_bytes(b"POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n") is None
    True
    """
    low = head.lower()
    if b"\r\ntransfer-encoding:" in low or b"\r\nexpect:" in low:
        return None
    found = _LENGTH.search(head)
    return int(found[1]) if found else 0


@dataclass
class Arrival:
    """A connection on which a request is coming in."""

    conn: Any
    deadline: float
    received: bytearray = field(default_factory=bytearray)
    large: bool = False

    @property
    def body_s(self) -> float:
        """How long the rest of a large body may take [s]."""
        length = body_bytes(bytes(self.received[: self.received.find(b"\r\n\r\n") + 4]))
        if length is None:
            return LONGEST_BODY_S
        return min(LONGEST_BODY_S, ARRIVAL_S + length / SLOWEST_BYTES_S)

    def is_ready(self) -> bool:
        """Tell whether a thread can take the request; says too whether its body is large."""
        end = self.received.find(b"\r\n\r\n")
        if end < 0:
            return len(self.received) > SMALL_BYTES  # too long: the parser refuses it
        length = body_bytes(bytes(self.received[: end + 4]))
        whole = end + 4 + (length or 0)
        self.large = length is None or whole > SMALL_BYTES
        return self.large or len(self.received) >= whole


class PatientWorker(ThreadWorker):  # type: ignore[misc]
    """Gunicorn's thread worker with requests that arrive outside the threads."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.arriving: dict[Any, Arrival] = {}  # by socket, in the order of their deadlines
        self.waiting: deque[Arrival] = deque()  # large bodies without a thread yet
        self.large: dict[Any, float] = {}  # connections whose body a thread reads: its deadline

    def enqueue_req(self, conn: Any) -> None:
        """Begin to receive a request; it goes to a thread when it is whole."""
        if conn.parser is not None and conn.parser.unreader.buf.getvalue():
            super().enqueue_req(conn)  # the next request came with the last one
            return
        conn.sock.setblocking(False)
        self.arriving[conn.sock] = Arrival(conn, time.monotonic() + ARRIVAL_S)
        self.poller.register(conn.sock, selectors.EVENT_READ, self._receive)
        self._receive(conn.sock)

    def _receive(self, sock: Any) -> None:
        arrival = self.arriving[sock]
        try:
            piece = sock.recv(PIECE)
        except BlockingIOError:
            return
        except OSError:
            piece = b""
        arrival.received += piece
        if not piece:
            self._drop(arrival)
        elif arrival.is_ready():
            self._arrived(arrival)

    def _arrived(self, arrival: Arrival) -> None:
        self._forget(arrival)
        if not arrival.large:
            self._hand_over(arrival)
        elif len(self.large) < max(1, self.cfg.threads // 2):
            self.large[arrival.conn] = time.monotonic() + arrival.body_s
            self._hand_over(arrival)
        else:
            arrival.deadline = time.monotonic() + LONGEST_BODY_S
            self.waiting.append(arrival)

    def _hand_over(self, arrival: Arrival) -> None:
        conn = arrival.conn
        if conn.parser is None:
            conn.parser = http.get_parser(self.cfg, conn.sock, conn.client)
        conn.parser.unreader.unread(bytes(arrival.received))
        conn.data_ready = True
        super().enqueue_req(conn)

    def _forget(self, arrival: Arrival) -> None:
        self.poller.unregister(arrival.conn.sock)
        del self.arriving[arrival.conn.sock]

    def _drop(self, arrival: Arrival) -> None:
        self._forget(arrival)
        self.nr_conns -= 1
        arrival.conn.close()

    def finish_request(self, conn: Any, fs: Any) -> None:
        """Take a request's connection back, and give its place to the next large body."""
        self.large.pop(conn, None)
        super().finish_request(conn, fs)
        if self.waiting and len(self.large) < max(1, self.cfg.threads // 2):
            arrival = self.waiting.popleft()
            self.large[arrival.conn] = time.monotonic() + arrival.body_s
            self._hand_over(arrival)

    def murder_pending(self) -> None:
        """Close connections past their deadline: called by the event loop at least every second."""
        super().murder_pending()
        now = time.monotonic()
        for arrival in [one for one in self.arriving.values() if one.deadline < now]:
            if arrival.received:
                self.handle_error(None, arrival.conn.sock, arrival.conn.client, TooSlowError())
            self._drop(arrival)
        while self.waiting and self.waiting[0].deadline < now:
            self.nr_conns -= 1
            self.waiting.popleft().conn.close()
        for conn in [conn for conn, deadline in self.large.items() if deadline < now]:
            self.large[conn] = float("inf")
            # The thread that reads the body finds its end, and answers that it is not whole.
            conn.sock.shutdown(socket.SHUT_RD)

    def handle(self, conn: Any) -> Any:
        """Serve a connection; the kernel ends a read or write that waits too long."""
        for option, limit_s in ((socket.SO_RCVTIMEO, STALL_S), (socket.SO_SNDTIMEO, UNREAD_S)):
            conn.sock.setsockopt(socket.SOL_SOCKET, option, struct.pack("ll", limit_s, 0))
        return super().handle(conn)
