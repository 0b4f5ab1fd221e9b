"""How the service is run: gunicorn with threads, in one place."""

import socket
from collections.abc import Callable
from contextlib import suppress
from http import HTTPStatus
from typing import Any

from flask import Flask
from gunicorn import util
from gunicorn.app.base import BaseApplication
from gunicorn.http import errors

from api import logs, service
from api.problems import MEDIA_TYPE, Problem
from api.slow_clients import PatientWorker, TooSlowError
from lcc.allocator import keep_freed_memory

HOST = "127.0.0.1"
PORT = 8000
WORKERS = 2
THREADS = 16


def settings(host: str, port: int, workers: int, threads: int) -> dict[str, Any]:
    """Return gunicorn's settings.

    Notes
    -----
    Threads rather than plain workers, so that a client that stalls in mid-upload holds one thread
    and not a whole process. On SIGTERM answers in progress are finished within
    ``graceful_timeout``. No control socket: containers may have no home, and two instances may run.
    The application is made after the fork: chart conversion and thread pools do not survive it.
    """
    return {
        "bind": f"[{host}]:{port}" if ":" in host else f"{host}:{port}",
        "workers": workers,
        "threads": threads,
        "worker_class": Worker,
        "preload_app": False,
        "timeout": 60,
        "graceful_timeout": 35,
        "keepalive": 5,
        "limit_request_line": 4094,
        "limit_request_fields": 50,
        "limit_request_field_size": 8190,
        "control_socket_disable": True,
        "accesslog": None,
        "logconfig_dict": logs.CONFIGURATION,
    }


def is_free(host: str, port: int) -> bool:
    """Tell whether an address can be listened on, before the server tries it again and again."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        # As gunicorn does: a port that was left a moment ago may be taken again.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            return False
    return True


class Worker(PatientWorker):
    """Gunicorn's worker, which answers unreadable requests with problem documents too."""

    def init_process(self) -> None:
        """Begin to serve."""
        keep_freed_memory()
        super().init_process()

    def handle_error(self, req: Any, client: Any, addr: Any, exc: Exception) -> None:
        """Answer a request that never reached the application; nothing of it is logged."""
        del req, addr
        problem = _problem_of(exc)
        self.log.warning("%s before the application: %s", problem.status, type(exc).__name__)
        body = service.to_json(problem.document())
        head = (
            f"HTTP/1.1 {problem.status} {HTTPStatus(problem.status).phrase}\r\n"
            f"Connection: close\r\nContent-Type: {MEDIA_TYPE}\r\n"
            f"X-Content-Type-Options: nosniff\r\nContent-Length: {len(body)}\r\n\r\n"
        )
        with suppress(OSError):  # the client may be gone
            util.write_nonblock(client, head.encode() + body)


def _problem_of(error: Exception) -> Problem:
    if isinstance(error, TooSlowError):
        return Problem("too-slow", "The request did not arrive whole in its time; send it again.")
    if isinstance(error, errors.LimitRequestLine):
        return Problem("address-too-long", "The request line is too long.")
    if isinstance(error, errors.LimitRequestHeaders):
        return Problem("headers-too-large", "The headers are too many or too long.")
    if isinstance(error, errors.UnsupportedTransferCoding):
        return Problem("transfer-coding", "Send the body plain or chunked.")
    if isinstance(error, errors.ParseException):
        return Problem("bad-request", "The request line or a header cannot be read.")
    return Problem("internal-error", "The service failed on this request.")


class _Server(BaseApplication):  # type: ignore[misc]
    def __init__(self, app_factory: Callable[[], Flask], options: dict[str, Any]) -> None:
        self.app_factory = app_factory
        self.options = options
        super().__init__()

    def load_config(self) -> None:
        for name, value in self.options.items():
            if name in self.cfg.settings:  # older versions have no control socket to disable
                self.cfg.set(name, value)

    def load(self) -> Flask:
        app = self.app_factory()
        app.extensions["jobs"].go_on()
        return app


def run(
    app_factory: Callable[[], Flask],
    host: str = HOST,
    port: int = PORT,
    workers: int = WORKERS,
    threads: int = THREADS,
) -> None:
    """Serve an application until a signal ends it.

    Parameters
    ----------
    app_factory : callable
        Returns the Flask application; called in every worker after the fork.
    host : str
        Address to listen on; the loopback address unless the service is meant for others.
    port : int
    workers : int
        Processes.
    threads : int
        Requests that each process can have in hand.
    """
    _Server(app_factory, settings(host, port, workers, threads)).run()
