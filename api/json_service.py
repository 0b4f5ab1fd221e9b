"""The JSON service as a Flask application."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Flask

from api import handlers, limits, openapi
from api.jobs import changed_terms, job_routes
from api.jobs.job_runner import jobs_of
from api.portfolio import portfolio_routes as portfolios
from api.portfolio.slots import Streams
from api.routes import blueprint


def create_app(config: Mapping[str, Any] | None = None) -> Flask:
    """Return the service as an application.

    Parameters
    ----------
    config : mapping, optional
        Settings that differ from `api.limits.DEFAULTS`: ``MAX_CONTENT_LENGTH`` [bytes],
        ``TIME_LIMIT_S`` [s], ``CORS_ORIGINS`` (origins whose pages may read answers),
        ``PORTFOLIO_STREAMS`` (portfolios that a process computes at once), ``JOBS_FOLDER`` (where
        jobs are kept; without it in a folder that goes with the process), ``JOBS_KEPT_H`` [h],
        ``METRICS`` (whether requests are counted and the counts served; see `api.metrics`).
        Environment variables ``ROOF_LCC_...`` set the same names.
    """
    app = Flask("api", static_folder=None)
    app.config.from_mapping(limits.DEFAULTS)
    app.config.from_prefixed_env("ROOF_LCC")
    app.config.from_mapping(config or {})
    app.extensions["calculations"] = limits.Calculations(app.config["TIME_LIMIT_S"])
    for places in ("portfolio_streams", "portfolio_checks"):
        app.extensions[places] = Streams(app.config["PORTFOLIO_STREAMS"])
    app.extensions["portfolio_jobs"] = Streams(1)
    app.extensions["jobs"] = jobs_of(app)
    app.register_blueprint(blueprint)
    app.register_blueprint(portfolios.blueprint)
    app.register_blueprint(job_routes.blueprint)
    app.register_blueprint(changed_terms.blueprint)
    app.register_blueprint(openapi.blueprint)
    handlers.install(app)
    return app
