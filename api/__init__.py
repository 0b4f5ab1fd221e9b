"""The JSON service over the core."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flask import Flask

__all__ = ["create_app"]


def create_app(config: Mapping[str, Any] | None = None) -> Flask:
    """Return the service as an application.

    Parameters
    ----------
    config : mapping, optional
        Settings that differ from `api.limits.DEFAULTS`: ``MAX_CONTENT_LENGTH`` [bytes],
        ``TIME_LIMIT_S`` [s], ``CORS_ORIGINS`` (origins whose pages may read answers),
        ``PORTFOLIO_STREAMS`` (portfolios that a process computes at once), ``CLIENT_SHARE`` (of the
        places of each lane that one client may hold; 1 for all), ``JOBS_FOLDER`` (where
        jobs are kept; without it in a folder that goes with the process), ``JOBS_KEPT_H`` [h],
        ``METRICS`` (whether requests are counted and the counts served; see `api.metrics`).
        Environment variables ``ROOF_LCC_...`` set the same names.
    """
    # Loaded here, since commands on one case read and answer it without a service.
    from api.json_service import create_app as create  # noqa: PLC0415

    return create(config)
