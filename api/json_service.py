"""The JSON service as a Flask application."""

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
    """Return the service as an application; for the settings see `api.create_app`."""
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
