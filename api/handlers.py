"""What happens around every view: problems, security headers, CORS, compression, log lines."""

import gzip
import logging
import re
import secrets
import time
import traceback
from contextlib import suppress
from functools import lru_cache
from typing import Any

import flask
from flask import Flask, Response, g, request
from werkzeug.exceptions import HTTPException, MethodNotAllowed
from werkzeug.middleware.proxy_fix import ProxyFix
from werkzeug.routing import RequestRedirect

from api import metrics, service
from api.deprecation import DEPRECATED
from api.problems import FULL, MEDIA_TYPE, Problem
from api.requests import unpack
from lcc.allocator import give_back_freed_memory

POLICY = "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
SECURITY_HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
SMALLEST_COMPRESSED = 1024
LARGE = 64 * 1024  # bytes of a request after whose refusal memory is given back
COMPRESSIBLE = ("application/json", MEDIA_TYPE, "text/", "application/javascript", "image/svg+xml")
MOST_DRAINED = 32 * 1024 * 1024
DRAIN_STEP = 64 * 1024
REQUEST_ID = "X-Request-ID"
# Headers that a page of another origin may send, and read: where a job is, when to ask again.
ALLOWED = f"Content-Type, Content-Encoding, Prefer, {REQUEST_ID}"
EXPOSED = f"Location, Retry-After, ETag, Deprecation, Sunset, {REQUEST_ID}"
_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
requests_log = logging.getLogger("roof_lcc.requests")
failures_log = logging.getLogger("roof_lcc.failures")

# Status of an error of the framework -> problem type and our own words.
_FRAMEWORK = {
    400: ("bad-request", "The request line, headers or body cannot be read."),
    404: ("not-found", "Nothing is served here; GET /v1/openapi.json lists every address."),
    413: ("body-too-large", "The body holds more than {limit} bytes."),
    414: ("address-too-long", "The address is too long."),
    415: ("media-type", "Send the body as application/json."),
    431: ("headers-too-large", "The headers are too large."),
}


def install(app: Flask) -> None:
    """Put the handlers around every view of an application."""
    app.register_error_handler(Problem, problem_response)
    app.register_error_handler(HTTPException, _framework_error)
    app.register_error_handler(Exception, _failure)
    app.before_request(_begin)
    app.before_request(lambda: unpack(request))
    if app.config["METRICS"]:
        metrics.install(app)
    app.after_request(_log)
    app.after_request(_compress)
    app.after_request(_headers)
    app.after_request(_cors)
    if count := app.config["TRUSTED_PROXIES"]:
        # Anybody can send these headers, so only the stated number of proxies is trusted.
        app.wsgi_app = ProxyFix(app.wsgi_app, *(count,) * 5)  # type: ignore[method-assign]


def problem_response(problem: Problem) -> Response:
    """Return a problem as its document."""
    body = service.to_json(problem.document(request.root_path))
    return Response(body, problem.status, problem.headers, content_type=MEDIA_TYPE)


def _framework_error(error: HTTPException) -> Response | HTTPException:
    if isinstance(error, RequestRedirect):
        return error
    if isinstance(error, MethodNotAllowed):
        allowed = ", ".join(sorted(error.valid_methods or ()))
        detail = f"{request.method[:20]!a} is not possible here; allowed: {allowed}."
        return problem_response(Problem("method-not-allowed", detail, headers={"Allow": allowed}))
    status = error.code or 500
    if status >= 500:
        return _failure(error)
    if status == 413:
        _drain()
    name, detail = _FRAMEWORK.get(status, _FRAMEWORK[400])
    return problem_response(Problem(name, detail.format(limit=request.max_content_length)))


def _drain() -> None:
    """Read on for a while, so that a client still sending a large body gets to read the answer."""
    stream = request.environ["wsgi.input"]
    with suppress(Exception):  # what is left of the body may be broken
        for _ in range(MOST_DRAINED // DRAIN_STEP):
            if not stream.read(DRAIN_STEP):
                return


def _failure(error: Exception) -> Response:
    return problem_response(failure(error))


def failure(error: Exception) -> Problem:
    """Return a defect as a problem without its details; log the place, not the values.

    A full disk is no defect of the service, and has a problem of its own.
    """
    frames = traceback.extract_tb(error.__traceback__)[-8:]
    where = [f"{frame.filename.rsplit('/', 2)[-1]}:{frame.lineno} {frame.name}" for frame in frames]
    failures_log.error({"failure": type(error).__name__, "where": where})
    if isinstance(error, OSError) and error.errno in FULL:
        return Problem("no-room", "The disk of the service is full; send the request again later.")
    detail = "The service failed on this request; it is a defect of the service, not of the values."
    return Problem("internal-error", detail)


def _begin() -> None:
    """Start the clock, and take the request's id from the client or make one."""
    g.started = time.perf_counter()
    given = request.headers.get(REQUEST_ID, "")
    g.bytes_in = request.headers.get("Content-Length", type=int)  # of gzip as it was sent
    g.request_id = given if _ID.fullmatch(given) else secrets.token_hex(8)


def _log(response: Response) -> Response:
    """Write one line without what was sent: no body, query, or unknown address."""
    started = g.get("started", time.perf_counter())
    response.headers[REQUEST_ID] = g.get("request_id", "")
    line = {
        "request_id": g.get("request_id"),
        "method": metrics.method(),
        "route": request.url_rule.rule if request.url_rule else None,
        "status": response.status_code,
        "milliseconds": round(1000 * (time.perf_counter() - started), 2),
        "bytes_in": g.get("bytes_in"),
        "bytes_out": response.content_length,
    }
    requests_log.info(line)
    if response.status_code >= 400 and request.method == "POST" and _was_large():
        response.call_on_close(give_back_freed_memory)
    return response


def _was_large() -> bool:
    """Tell whether the request may have taken much memory to read."""
    size = request.content_length
    return size is None or size > LARGE


def _headers(response: Response) -> Response:
    for name, value in SECURITY_HEADERS.items():
        response.headers.setdefault(name, value)
    response.headers["X-Model-Version"], response.headers["X-Data-Version"] = (
        service.versions().values()
    )
    rule = request.url_rule.rule if request.url_rule else ""
    if old := DEPRECATED.get((request.method, rule.replace("<", "{").replace(">", "}"))):
        response.headers.update(old.headers)
    if not response.headers.get("Cache-Control"):
        is_table = request.method in ("GET", "HEAD") and response.status_code < 400
        response.headers["Cache-Control"] = "no-cache" if is_table else "no-store"
    return response


def _cors(response: Response) -> Response:
    """Let the pages of configured origins read answers; none by default."""
    origins = flask.current_app.config["CORS_ORIGINS"]
    if not origins:
        return response
    response.headers.add("Vary", "Origin")
    if request.headers.get("Origin") in origins:
        response.headers["Access-Control-Allow-Origin"] = request.headers["Origin"]
        response.headers["Access-Control-Expose-Headers"] = EXPOSED
        response.headers["Cross-Origin-Resource-Policy"] = "cross-origin"
        if request.method == "OPTIONS":
            response.headers["Access-Control-Allow-Methods"] = response.headers.get("Allow", "GET")
            response.headers["Access-Control-Allow-Headers"] = ALLOWED
            response.headers["Access-Control-Max-Age"] = "600"
    return response


def _compress(response: Response) -> Response:
    """Compress large answers, and give answers to GET an entity tag of the bytes sent."""
    if response.is_streamed and not response.direct_passthrough:
        return response
    if response.status_code == 304 or not _compressible(response):
        return _tagged(response)
    response.headers.add("Vary", "Accept-Encoding")
    if request.accept_encodings.quality("gzip") > 0:
        response.direct_passthrough = False
        tag, _ = response.get_etag()
        response.set_data(_gzipped(response.get_data()))
        response.headers["Content-Encoding"] = "gzip"
        if tag:
            response.set_etag(tag + "-gzip")
    return _tagged(response)


def _compressible(response: Response) -> bool:
    known = (response.mimetype or "").startswith(COMPRESSIBLE)
    size = response.content_length or 0
    return known and size >= SMALLEST_COMPRESSED and "Content-Encoding" not in response.headers


@lru_cache(maxsize=32)
def _gzipped(data: bytes) -> bytes:
    # Without the time of day, so that the same reply is the same bytes.
    return gzip.compress(data, compresslevel=8, mtime=0)


def _tagged(response: Response) -> Response:
    if request.method not in ("GET", "HEAD") or response.status_code != 200:
        return response
    if not response.direct_passthrough and not response.get_etag()[0]:
        response.add_etag()
    answered: Any = response.make_conditional(request)
    return answered  # type: ignore[no-any-return]
