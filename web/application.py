"""The service with its pages as one application."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Flask, Response

import api
from api import service
from web import form_requests, pages, portfolio_pages
from web.charts.palette import look, marker_path
from web.drawings.roof_section import corrugation
from web.format import shown
from web.glossary import TERMS, words_in
from web.portfolio_words import brings, saved
from web.proposal import proposal_routes

# Everything from this origin, nothing inline, nothing evaluated; charts draw without either.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
NAVIGATION = (
    ("pages.case", "One roof"),
    ("portfolio.portfolio", "Many roofs"),
    ("pages.checks", "Checks"),
    ("docs.docs", "API"),
)


def create_app(config: Mapping[str, Any] | None = None) -> Flask:
    """Return the service with its pages as one application.

    Parameters
    ----------
    config : mapping, optional
        As for `api.create_app`.
    """
    app = api.create_app(config)
    app.request_class = form_requests.PageRequest
    app.register_blueprint(pages.blueprint)
    app.register_blueprint(portfolio_pages.blueprint)
    app.register_blueprint(proposal_routes.blueprint)
    app.extensions["openapi"] = (proposal_routes.describe,)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.globals.update(
        brings=brings,
        saved=saved,
        asset=pages.asset,
        look=look,
        marker_path=marker_path,
        money=lambda value: shown(value, "money"),
        corrugation=corrugation,
        terms=TERMS,
        words_in=words_in,
    )
    app.context_processor(lambda: {"navigation": NAVIGATION, **service.versions()})
    app.after_request(_page_policy)
    return app


def _page_policy(response: Response) -> Response:
    if response.mimetype == "text/html":
        response.headers.setdefault("Content-Security-Policy", POLICY)
    return response
