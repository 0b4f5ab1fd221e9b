"""The JSON service as a Flask application."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Flask

from api import handlers, limits, openapi
from api.client_shares import Places
from api.jobs import changed_terms, job_routes
from api.jobs.job_runner import jobs_of
from api.portfolio import portfolio_routes as portfolios
from api.routes import blueprint, health


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
    app = Flask("api", static_folder=None)
    app.config.from_mapping(limits.DEFAULTS)
    app.config.from_prefixed_env("ROOF_LCC")
    app.config.from_mapping(config or {})
    share = app.config["CLIENT_SHARE"]
    app.extensions["calculations"] = limits.Calculations(app.config["TIME_LIMIT_S"], share)
    for places in ("portfolio_streams", "portfolio_checks"):
        most, again_s = app.config["PORTFOLIO_STREAMS"], limits.PORTFOLIO_RETRY_AFTER_S
        app.extensions[places] = Places(most, share, again_s)
    app.extensions["portfolio_jobs"] = Places(1)
    app.extensions["jobs"] = jobs_of(app)
    app.register_blueprint(blueprint)
    app.register_blueprint(portfolios.blueprint)
    app.register_blueprint(job_routes.blueprint)
    app.register_blueprint(changed_terms.blueprint)
    app.register_blueprint(openapi.blueprint)
    app.add_url_rule("/health", "health", health)
    handlers.install(app)
    return app
