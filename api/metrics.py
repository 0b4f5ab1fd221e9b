"""Requests and their durations, counted for whoever runs the service, in the open text format.

Nothing is counted without the setting ``METRICS``. With several processes each writes into the
folder that `FOLDER` names in the environment, and any of them answers for all.
"""

from __future__ import annotations

import os
import time
from typing import TYPE_CHECKING

from flask import Flask, Response, g, request

from api.jobs.job_runner import job_at_hand

if TYPE_CHECKING:
    from prometheus_client import CollectorRegistry

ADDRESS = "/metrics"
FOLDER = "PROMETHEUS_MULTIPROC_DIR"  # the library's own name
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
# Bounds of the histogram [s]: quick calls, comparisons, the time limit, portfolios.
BOUNDS_S = (0.005, 0.01, 0.025, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 30, 60, 300, 1800)


def install(app: Flask) -> None:
    """Count every answer of an application, and serve the counts."""
    # Loaded here: without the setting nobody needs the library.
    from prometheus_client import CollectorRegistry, Counter, Histogram  # noqa: PLC0415
    from prometheus_client.exposition import choose_encoder  # noqa: PLC0415

    own = CollectorRegistry()
    labels = ("method", "route")
    answers = Counter(
        "roof_lcc_requests", "Answers by method, route and status.", (*labels, "status"),
        registry=own,
    )  # fmt: skip
    seconds = Histogram(
        "roof_lcc_request_seconds", "Time to the end of an answer.", labels,
        registry=own, buckets=BOUNDS_S,
    )  # fmt: skip

    @app.after_request
    def count(response: Response) -> Response:
        asked = (method(), request.url_rule.rule if request.url_rule else "")
        started = g.get("started", time.perf_counter())

        def ended() -> None:
            answers.labels(*asked, str(response.status_code)).inc()
            seconds.labels(*asked).observe(time.perf_counter() - started)

        response.call_on_close(ended)
        return response

    @app.get(ADDRESS)
    def metrics() -> Response:
        write, kind = choose_encoder(request.headers.get("Accept", ""))
        return Response(write(_of_all_processes(own)), content_type=kind)


def method() -> str:
    """Return the method as log lines and counts name it.

    What a job asks of the application itself is no client's request.
    """
    if job_at_hand():
        return "job"
    return request.method if request.method in METHODS else "other"


def _of_all_processes(own: CollectorRegistry) -> CollectorRegistry:
    from prometheus_client import CollectorRegistry, multiprocess  # noqa: PLC0415

    if FOLDER not in os.environ:
        return own
    shared = CollectorRegistry()
    multiprocess.MultiProcessCollector(shared)  # type: ignore[no-untyped-call]
    return shared
