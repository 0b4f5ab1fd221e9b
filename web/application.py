"""The service with its pages as one application, and how a weather file comes with a form."""

from collections.abc import Mapping
from typing import IO, Any
from urllib.parse import parse_qsl

from flask import Flask, Request, Response
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.formparser import FormDataParser

import api
from api import service
from web import pages, portfolio_pages
from web.charts.palette import look, marker_path
from web.drawings.roof_section import corrugation
from web.format import money
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
    """Return the service with its pages as one application; for the settings see the API's."""
    app = api.create_app(config)
    app.request_class = PageRequest
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
        money=money,
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


TEXT = "site.weather.text"  # the entry that holds the file
FORM_AND_WEATHER = "application/x-form-and-weather"

Parsed = tuple[IO[bytes], MultiDict[str, str], MultiDict[str, FileStorage]]


class _FormParser(FormDataParser):
    """Reads forms; a live page sends its form in one line, its weather file as it is below that.

    In a multipart form the megabyte takes 30 ms to find the end of, at each move of a
    slider.
    """

    def parse(
        self,
        stream: IO[bytes],
        mimetype: str,
        content_length: int | None,
        options: dict[str, str] | None = None,
    ) -> Parsed:
        if mimetype != FORM_AND_WEATHER:
            return super().parse(stream, mimetype, content_length, options)
        line, _, file = stream.read().partition(b"\n")
        form = parse_qsl(line.decode("ascii", "replace"), keep_blank_values=True)
        return stream, self.cls([*form, (TEXT, file.decode("utf-8", "replace"))]), self.cls()


class PageRequest(Request):
    """A request whose form may come with a weather file below it."""

    form_data_parser_class = _FormParser
